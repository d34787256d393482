//! What does a prescription say, and what must it say before it is signed?
//!
//! Lenses per eye, devices per track, limits and advice. Signed, it never
//! changes. Does not know gates: that devices need evidence is
//! [`super::gates::finalise`]. Does not know what was typed.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::{Timestamp, ToSpan};

use super::caution::Caution;
use super::codes::codes;
use super::document::{Look, Worded};
use super::evaluation::Refraction;
use super::ids::{AccountId, DecisionId, EvaluationId, PrescriptionId};
use super::named_device::NamedDevice;
use super::track::Track;

/// Months after which a prescription runs out unless another day is written.
/// Source: common practice; a state's law may say otherwise.
pub const EXPIRES_MONTHS: i32 = 24;

codes! {
    /// Where a prescription stands.
    pub enum State {
        Draft = "draft" : "draft",
        Active = "active" : "in force",
        Superseded = "superseded" : "superseded",
        Cancelled = "cancelled" : "cancelled",
        EnteredInError = "entered_in_error" : "entered in error",
    }
}

/// What a prescription says.
#[derive(Clone, Default, PartialEq)]
pub struct Contents {
    /// The lens for the right eye.
    pub right: Option<Refraction>,
    /// The lens for the left eye.
    pub left: Option<Refraction>,
    /// About the lenses: tint, material, frame.
    pub lens_note: String,
    /// The devices of each track.
    pub devices: BTreeMap<Track, Vec<NamedDevice>>,
    /// Where and how the devices are not to be used.
    pub limits: String,
    /// Lighting advice.
    pub lighting: String,
    /// Seating advice.
    pub seating: String,
    /// Why devices are prescribed without a summary; empty, there is one.
    pub no_summary_reason: String,
    /// When to look again.
    pub review_on: Option<Date>,
    /// The last day it may be filled.
    pub expires_on: Option<Date>,
}

/// A prescription as its reader is shown it.
#[derive(Clone)]
pub struct Prescription {
    /// Which prescription.
    pub id: PrescriptionId,
    /// Its number, as printed.
    pub number: String,
    /// Where it stands.
    pub state: State,
    /// What it says.
    pub contents: Contents,
    /// Who began it.
    pub author: AccountId,
    /// The signed one whose place it takes.
    pub supersedes: Option<PrescriptionId>,
    /// The evaluation its lenses come from.
    pub evaluation: Option<EvaluationId>,
    /// The decision it carries out.
    pub decision: Option<DecisionId>,
    /// The form as it was typed, field by field.
    pub entry: Vec<(String, String)>,
    /// The day it was signed.
    pub written_on: Option<Date>,
    /// Name, credential and licence of who signed it.
    pub prescriber_line: String,
    /// Who began it, by name.
    pub by: String,
    /// When it was signed.
    pub signed_at: Option<Timestamp>,
    /// For edits by two people.
    pub version: i64,
}

impl Contents {
    /// Every device with its track.
    pub fn named(&self) -> impl Iterator<Item = (Track, &NamedDevice)> {
        self.devices.iter().flat_map(|(track, devices)| devices.iter().map(|device| (*track, device)))
    }

    /// What must be there before it can be signed and is not: the field and
    /// what would be right.
    #[must_use]
    pub fn missing(&self) -> Vec<(&'static str, &'static str)> {
        let lenses = self.right.is_some() || self.left.is_some();
        let device = self.named().next().is_some();
        [
            (lenses || device, "right_sphere", "Write a lens for at least one eye, or name a device."),
            (!device || !self.limits.is_empty(), "limits", "Say where and how the device is not to be used."),
            (self.review_on.is_some(), "review_on", "Say when to look again."),
            (self.expires_on.is_some(), "expires_on", "Say until when it may be filled."),
        ]
        .into_iter()
        .filter_map(|(there, field, words)| (!there).then_some((field, words)))
        .collect()
    }
}

impl Worded for Prescription {
    /// Lenses, devices and days are never amended: for those it is superseded.
    fn each_text(&mut self, look: &mut Look<'_>) {
        let contents = &mut self.contents;
        let device = contents.devices.values().any(|devices| !devices.is_empty());
        look("lens_note", "About the lenses", false, &mut contents.lens_note);
        look("limits", "Limits", device, &mut contents.limits);
        look("lighting", "Lighting advice", false, &mut contents.lighting);
        look("seating", "Seating advice", false, &mut contents.seating);
        for (track, devices) in &mut contents.devices {
            for (place, device) in devices.iter_mut().enumerate() {
                let at = |what: &str| format!("{}_device_{}_{what}", track.code(), place + 1);
                let label = |what: &str| format!("{what} of device {}, {} track", place + 1, track.words());
                look(&at("purpose"), &label("Purpose"), false, &mut device.purpose);
                look(&at("limits"), &label("Limits"), false, &mut device.limits);
            }
        }
    }
}

/// The day a prescription written on that day usually runs out.
#[must_use]
pub fn usual_expiry(written_on: Date) -> Date {
    written_on.saturating_add(EXPIRES_MONTHS.months())
}

/// The limits that a prescription of these devices starts from: the cautions
/// that stand on every telescope and magnifier.
#[must_use]
pub fn usual_limits<'a>(devices: impl Iterator<Item = &'a NamedDevice>) -> String {
    let mut cautions: Vec<Caution> = Vec::new();
    for device in devices {
        let kind = device.spec.kind;
        let always = Caution::ALWAYS.iter().copied();
        let fire = kind.is_magnifier().then_some(Caution::Fire);
        for caution in always.chain(fire) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
    }
    cautions.iter().map(|caution| caution.words()).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::care::device::DeviceSpec;
    use crate::care::track::DeviceKind;

    #[test]
    fn nothing_is_signed_that_says_nothing() {
        let empty = Contents::default();
        let fields: Vec<_> = empty.missing().into_iter().map(|(field, _)| field).collect();
        assert_eq!(fields, ["right_sphere", "review_on", "expires_on"]);
    }

    #[test]
    fn a_device_carries_its_limits() {
        let device = NamedDevice::of(DeviceSpec::of(DeviceKind::StandMagnifier));
        let limits = usual_limits([&device].into_iter());
        assert!(limits.contains("sun") && limits.contains("fire") && limits.contains("Stand still"), "{limits}");
        let mut contents = Contents::default();
        contents.devices.insert(Track::Near, vec![device]);
        assert!(contents.missing().iter().any(|(field, _)| *field == "limits"));
    }

    #[test]
    fn two_years_from_a_leap_day_end_in_february() {
        assert_eq!(usual_expiry(jiff::civil::date(2028, 2, 29)), jiff::civil::date(2030, 2, 28));
    }
}
