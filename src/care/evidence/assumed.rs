//! What is assumed of a threshold before any entry, and from which figure?
//!
//! The arithmetic is [`Prior`]; here is picked what the clinic knows of the eye
//! or eyes that look. It is shown beside what the entries made of it.

use crate::care::device::Strength;
use crate::care::sight::{AtHand, Sight, Used};
use crate::care::track::Track;
use crate::vision::readable::Basis;
use crate::vision::stats::everyday::Prior;
use crate::vision::units::{Magnification, Metres};

/// Where print is held when nobody says how far. Common practice.
const READING_DISTANCE: Metres = Metres::literal(0.4);

/// The figure that an assumption rests on.
#[derive(Clone, PartialEq)]
pub enum From {
    /// The clinic's acuity without a device.
    Clinic(Used),
    /// The acuity measured through the device.
    Through(Used),
    /// The power of a telescope, and the acuity of the eye that uses it if known.
    Power(Option<Used>, Magnification),
    /// A near row, and the distance at which print is held.
    Print(Used, Metres),
    /// Nothing that the reader may read: the assumption is wide.
    Nothing,
}

/// What is assumed, and from what.
#[derive(Clone, PartialEq)]
pub struct Assumed {
    /// The assumption.
    pub prior: Prior,
    /// The figure behind it.
    pub from: From,
}

impl Assumed {
    /// Nothing is known.
    #[must_use]
    pub const fn nothing() -> Self {
        Self { prior: Prior::nothing_known(), from: From::Nothing }
    }

    /// Whether a figure of the clinic stands behind it: the power of a telescope
    /// alone says nothing of an eye.
    #[must_use]
    pub const fn from_the_clinic(&self) -> bool {
        !matches!(self.from, From::Nothing | From::Power(None, _))
    }
}

/// What is assumed without a device, or with this one. A figure off the scale
/// counts as not known.
///
/// The pooled entries and the next size in training rest on this one rule. `held`
/// is how far away print was seen to be held without a device, where that is known.
#[must_use]
pub fn assumed(track: Track, device: Option<&AtHand>, sight: &Sight, held: Option<Metres>) -> Assumed {
    let found = match (track, device) {
        (Track::Distance, None) => bare(sight),
        (Track::Distance, Some(device)) => through(device, sight),
        (Track::Near, device) => print(device, sight, held),
    };
    found.unwrap_or_else(Assumed::nothing)
}

fn bare(sight: &Sight) -> Option<Assumed> {
    let used = sight.unaided(Track::Distance).ok()?;
    let prior = Prior::bare(Some(used.acuity.acuity)).ok()?;
    Some(Assumed { prior, from: From::Clinic(used) })
}

fn through(in_hand: &AtHand, sight: &Sight) -> Option<Assumed> {
    if let Ok(used) = sight.through(in_hand)
        && used.acuity.basis == Basis::MeasuredThroughDevice
        && let Ok(prior) = Prior::measured_through(used.acuity.acuity)
    {
        return Some(Assumed { prior, from: From::Through(used) });
    }
    let power = in_hand.spec.power.filter(|_| in_hand.spec.kind.is_telescope())?;
    let eye = sight.before_a_telescope(in_hand.spec.eye, in_hand.spec.with_glasses).ok();
    let of_eye = eye.and_then(|used| {
        let prior = Prior::by_power(Some(used.acuity.acuity), power).ok()?;
        Some(Assumed { prior, from: From::Power(Some(used), power) })
    });
    of_eye.or_else(|| Some(Assumed { prior: Prior::by_power(None, power).ok()?, from: From::Power(None, power) }))
}

/// Print is compared at the distance it is held: without a device where it was
/// seen to be held, with a magnifier at its equivalent viewing distance. No label
/// enters.
fn print(device: Option<&AtHand>, sight: &Sight, held: Option<Metres>) -> Option<Assumed> {
    let viewing = match device {
        None => held.unwrap_or(READING_DISTANCE),
        Some(device) => match device.spec.strength(Track::Near)? {
            Strength::Dioptres(power) => power.focal_length().ok()?,
            Strength::Times(_) => return None,
        },
    };
    let used = sight.unaided(Track::Near).ok()?;
    let prior = Prior::print(used.acuity.acuity, viewing).ok()?;
    Some(Assumed { prior, from: From::Print(used, viewing) })
}
