//! Can a thing of this height be looked at from there at all?
//!
//! What cannot be is refused where it is entered, with the reason in the units
//! of whoever typed it. What can be and is odd is kept and asked about: that is
//! [`super::suspect`]. Does not know forms.

use std::ops::RangeInclusive;

use crate::vision::demand::straight_on;
use crate::vision::length::shown::{Units, distance, letter_height};
use crate::vision::units::Metres;

/// From how far anything is looked at, in metres. Source: the project's data
/// dictionary, common practice.
pub const DISTANCE_M: RangeInclusive<f64> = 0.02..=500.0;

/// How tall small letters are, in metres. Source: the project's data dictionary,
/// common practice.
pub const X_HEIGHT_M: RangeInclusive<f64> = 0.001..=3.0;

/// How many are tried in one entry at most. Source: the project's notes on
/// statistics, entry gates (common practice).
pub const MOST_TRIED: i64 = 200;

/// How large letters look that can be read at all, in logMAR. Source: as
/// [`MOST_TRIED`]; 0.0 is full sight.
const DEMAND: RangeInclusive<f64> = -0.6..=2.4;

/// Why a length is none that was looked at from anywhere; nothing, it may be.
#[must_use]
pub fn distance_refused(far: Metres, units: Units) -> Option<String> {
    refused(far, &DISTANCE_M, ("nearer than an eye comes to a page", "farther than anything is seen from"), |metres| {
        distance(metres, units)
    })
}

/// Why a length is no height of small letters; nothing, it may be.
#[must_use]
pub fn x_height_refused(tall: Metres, units: Units) -> Option<String> {
    refused(tall, &X_HEIGHT_M, ("smaller than any print", "taller than any writing"), |metres| {
        letter_height(metres, units)
    })
}

fn refused(
    length: Metres,
    range: &RangeInclusive<f64>,
    (below, above): (&str, &str),
    told: impl Fn(Metres) -> String,
) -> Option<String> {
    let side = match length.get() {
        metres if metres < *range.start() => below,
        metres if metres > *range.end() => above,
        _ => return None,
    };
    let end = |metres: &f64| Metres::new(*metres).map(&told).unwrap_or_default();
    let (low, high) = (end(range.start()), end(range.end()));
    Some(format!("{} is {side}. From {low} to {high} fits here. Check the unit", told(length)))
}

/// Why letters of this height are read from this distance by nobody; nothing,
/// somebody may.
///
/// Both lengths are possible and their pair is not: one of the units is wrong.
#[must_use]
pub fn pair_refused(tall: Metres, far: Metres, units: Units) -> Option<String> {
    // Off the scale altogether on the side of the smaller length.
    let beyond = if tall.get() < far.get() { f64::NEG_INFINITY } else { f64::INFINITY };
    let demand = straight_on(tall, far).map_or(beyond, |demand| demand.get());
    let looks = match demand {
        demand if demand < *DEMAND.start() => "finer than any eye sees",
        demand if demand > *DEMAND.end() => "too large for one look",
        _ => return None,
    };
    Some(format!(
        "Small letters of {} from {} away would be {looks}. Check both units, or leave one of them out",
        letter_height(tall, units),
        distance(far, units)
    ))
}
