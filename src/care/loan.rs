//! What is written down about a pool device, a loan and a device in hand?
//!
//! Plain records and the few words a device is told by. Does not know whether a
//! device may be lent or used; that is [`super::gates::loan`], and
//! [`InHand`] carries the gate's answer. Read [`super::device`] first.

pub mod texts;
pub mod trials;

use jiff::civil::Date;

use super::codes::codes;
use super::device::{Condition, DeviceSpec};
use super::gates::{Blocked, Named, Purpose};
use super::ids::{DeviceId, LoanId, OwnDeviceId};
use super::named_device::NamedDevice;
use super::track::{DeviceKind, Eye, Track};

/// The usual length of a loan in days. Common practice.
pub const LOAN_DAYS: i32 = 60;
/// The shortest usual loan in days. Common practice; a shorter one is kept.
pub const SHORT_LOAN_DAYS: i32 = 30;
/// The longest loan in days before somebody looks at it again. Common practice.
pub const LONG_LOAN_DAYS: i32 = 120;

codes! {
    /// Whose a pool device is.
    pub enum Owner {
        ClinicPool = "clinic_pool" : "clinic pool",
        DistrictPool = "district_pool" : "district pool",
        Family = "family" : "family",
        Student = "student" : "student",
        Insurer = "insurer" : "insurer",
        Charity = "charity" : "charity",
    }

    /// Who keeps a lent device now.
    pub enum HeldBy {
        Student = "student" : "the student",
        SchoolOffice = "school_office" : "the school office",
        Home = "home" : "home",
        VisionTeacher = "vision_teacher" : "the vision teacher",
        Clinic = "clinic" : "the clinic",
    }

    /// What a loan is for.
    pub enum LoanPurpose {
        Trial = "trial" : "trial",
        Bridge = "bridge" : "bridge until the own device arrives",
        RepairCover = "repair_cover" : "cover while the own device is repaired",
    }

    /// Who agreed to a loan.
    pub enum AgreedBy {
        Parent = "parent" : "a parent",
        Student = "student" : "the student, of age",
        School = "school" : "the school, for use at school only",
    }
}

/// A pool device as it is entered.
#[derive(Clone, PartialEq)]
pub struct NewDevice {
    /// Our tag, unique in the pool.
    pub tag: String,
    /// Whose it is.
    pub owner: Owner,
    /// What it is.
    pub device: NamedDevice,
    /// Its weight in grams.
    pub weight_g: Option<i64>,
    /// Whether a strap is with it.
    pub strap: bool,
    /// Whether a case is with it.
    pub carry_case: bool,
    /// Its condition.
    pub condition: Condition,
    /// The day it was last cleaned.
    pub cleaned_on: Option<Date>,
}

/// A loan as it is entered; the device is named by the gate's token.
#[derive(Clone, PartialEq, Eq)]
pub struct NewLoan {
    /// The track it is for.
    pub track: Track,
    /// The eye it is lent for.
    pub eye: Eye,
    /// The day it goes out.
    pub lent_on: Date,
    /// The day it is due.
    pub due_on: Date,
    /// Its condition as it goes out.
    pub condition_out: Condition,
    /// Whether the strap goes with it.
    pub strap: bool,
    /// Whether the case goes with it.
    pub carry_case: bool,
    /// Whether it may be used at home.
    pub home_use: bool,
    /// Who agreed.
    pub agreement_by: AgreedBy,
    /// Who keeps it.
    pub held_by: HeldBy,
    /// What it is for.
    pub purpose: LoanPurpose,
}

/// A loan as it is kept.
#[derive(Clone, PartialEq)]
pub struct LoanRecord {
    /// Which loan.
    pub id: LoanId,
    /// The pool device.
    pub device: DeviceId,
    /// The device's tag.
    pub tag: String,
    /// The device's specification, with the eye it is lent for.
    pub spec: DeviceSpec,
    /// What was entered.
    pub entered: NewLoan,
    /// The warnings that were shown and accepted, by code.
    pub warnings: Vec<super::device::Warning>,
    /// The day it came back.
    pub returned_on: Option<Date>,
    /// Its condition as it came back.
    pub condition_in: Option<Condition>,
    /// Who entered it, by name.
    pub entered_by: String,
    /// How often it was saved.
    pub version: i64,
}

/// A device the student has in hand on a day, as far as the reader may know it.
#[derive(Clone, PartialEq)]
pub struct InHand {
    /// The track.
    pub track: Track,
    /// The loan or the own device; never none.
    pub named: Named,
    /// Its kind.
    pub kind: DeviceKind,
    /// A few words, such as `6× telescope, loan LOAN-T-014`; without figures
    /// for a reader who may know its name only.
    pub words: String,
    /// Its specification, for a reader who may read the loan itself.
    pub spec: Option<DeviceSpec>,
    /// The first day an entry may name it.
    pub from: Date,
    /// The day it came back.
    pub returned_on: Option<Date>,
    /// The day a loan is due, by agreement or by the rules.
    pub due_on: Option<Date>,
    /// What stands against a training session that names it.
    pub against_session: Option<Blocked>,
    /// What stands against an observation that names it.
    pub against_observation: Option<Blocked>,
}

impl InHand {
    /// The code under which forms name it; [`named_of`] reads it.
    #[must_use]
    pub fn code(&self) -> String {
        code_of(self.named)
    }

    /// What stands against an entry of this kind that names it; nothing, it may
    /// be used.
    #[must_use]
    pub const fn against(&self, purpose: Purpose) -> Option<&Blocked> {
        match purpose {
            Purpose::Session => self.against_session.as_ref(),
            Purpose::Observation => self.against_observation.as_ref(),
        }
    }

    /// Whether it is a loan.
    #[must_use]
    pub const fn is_loan(&self) -> bool {
        matches!(self.named, Named::Loan(_))
    }
}

/// The code under which a form names a device: `none`, `loan:…` or `own:…`.
#[must_use]
pub fn code_of(named: Named) -> String {
    match named {
        Named::NoDevice => "none".to_owned(),
        Named::Loan(id) => format!("loan:{id}"),
        Named::Own(id) => format!("own:{id}"),
    }
}

/// The device that such a code names, if it is one.
#[must_use]
pub fn named_of(code: &str) -> Option<Named> {
    if code == "none" {
        return Some(Named::NoDevice);
    }
    let (which, id) = code.split_once(':')?;
    match which {
        "loan" => id.parse::<LoanId>().ok().map(Named::Loan),
        "own" => id.parse::<OwnDeviceId>().ok().map(Named::Own),
        _ => None,
    }
}

/// The everyday word for a kind of device, without any figure.
#[must_use]
pub const fn plain_word(kind: DeviceKind) -> &'static str {
    match kind {
        DeviceKind::HandheldMonocular => "telescope",
        DeviceKind::HandheldBinocular => "two-eyed telescope",
        DeviceKind::SpectacleTelescope => "telescope on glasses",
        DeviceKind::HighAdd => "reading glasses",
        DeviceKind::ElectronicHandheld => "electronic magnifier",
        other => other.words(),
    }
}

/// The few words a device is told by, with its strength: `6× telescope`,
/// `20 D stand magnifier`.
#[must_use]
pub fn short_words(spec: &DeviceSpec) -> String {
    let word = plain_word(spec.kind);
    let strength = if spec.kind.is_magnifier() {
        spec.equivalent_power.map(|power| format!("{} D", power.get()))
    } else {
        spec.power.map(|power| format!("{}×", power.get()))
    };
    let cap = spec.reading_cap.map(|cap| format!(" with a +{} D reading cap", cap.get())).unwrap_or_default();
    match strength {
        Some(strength) => format!("{strength} {word}{cap}"),
        None => format!("{word}{cap}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vision::units::{Dioptres, Magnification};

    #[test]
    fn a_device_is_told_by_its_strength_and_its_everyday_word() {
        let six =
            DeviceSpec { power: Some(Magnification::literal(6.0)), ..DeviceSpec::of(DeviceKind::HandheldMonocular) };
        assert_eq!(short_words(&six), "6× telescope");
        let stand = DeviceSpec {
            equivalent_power: Some(Dioptres::literal(12.5)),
            ..DeviceSpec::of(DeviceKind::StandMagnifier)
        };
        assert_eq!(short_words(&stand), "12.5 D stand magnifier");
        assert_eq!(short_words(&DeviceSpec::of(DeviceKind::StandMagnifier)), "stand magnifier");
    }

    #[test]
    fn a_code_names_one_device_and_nothing_else_does() {
        let loan = "0197f1a0-0000-7000-8000-000000000001".parse().map(Named::Loan);
        let loan = loan.unwrap_or(Named::NoDevice);
        assert_eq!(named_of(&code_of(loan)), Some(loan));
        assert_ne!(loan, Named::NoDevice);
        assert_eq!(named_of("none"), Some(Named::NoDevice));
        for wrong in ["", "loan", "loan:", "loan:1", "pool:0197f1a0-0000-7000-8000-000000000001"] {
            assert_eq!(named_of(wrong), None, "{wrong}");
        }
    }
}
