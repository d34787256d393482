//! Did this eye change, or was it only tested twice?
//!
//! The same child on the same chart scatters by more than a row. Below that a
//! difference is noise and is never told as progress or loss. Values are
//! compared only for the same eye, glasses and kind of chart.
//!
//! Does not know which those were. Read next: [`super::Measured`].

use super::Measured;

/// How an acuity differs from an earlier one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Now minus before, in log units; positive is worse.
    pub log_units: f64,
    /// Whether it is more than two tests of the same eye differ by.
    pub beyond_noise: bool,
    /// Whether a clinician should look, better or worse.
    pub for_the_clinician: bool,
}

/// Less than this between two tests is noise.
pub const NOISE: f64 = 0.15;
/// From here on a clinician should look. Common practice.
const REFER: f64 = 0.2;
/// A hair of binary rounding must not decide.
const SLACK: f64 = 1e-9;

/// Did the acuity change, and by how much?
///
/// **Formula** now − before; noise below 0.15, for the clinician from 0.2 log
/// units. **Source** 95 % limits of ±0.136 for children on letter charts
/// (IOVS 2163356, abstract seen), rounded up; 0.2 is common practice. **Range**
/// measured values only; a category has no difference.
///
/// ```
/// use farpoint::vision::acuity::{LogMar, Measured, change::difference};
/// let of = |value| Measured::new(LogMar::new(value).expect("a logMAR")).expect("measured");
/// assert!(!difference(of(0.8), of(0.9)).beyond_noise);
/// assert!(difference(of(0.8), of(1.0)).for_the_clinician);
/// ```
pub fn difference(before: Measured, now: Measured) -> Difference {
    let log_units = now.logmar().get() - before.logmar().get();
    let size = log_units.abs() + SLACK;
    Difference { log_units, beyond_noise: size >= NOISE, for_the_clinician: size >= REFER }
}
