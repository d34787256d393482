//! How is a length told to a person?
//!
//! Metric or feet and inches, as the reader's account says. Seats and letter
//! heights that are *advised* are rounded to the safe side: a seat never
//! farther, a letter never smaller than computed.
//!
//! Does not know whose account it is. Read next: [`crate::vision::seat_print`],
//! which uses the roundings.

use super::{METRES_PER_FOOT, METRES_PER_INCH, Metres};
use crate::vision::units::OutOfRange;

/// The units a reader has chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// Metres and centimetres.
    #[default]
    Metric,
    /// Feet and inches.
    Imperial,
}

/// A distance in the reader's units: how far is that?
///
/// **Formula** nearest centimetre from 1 m on and nearest millimetre below;
/// nearest inch from 3 ft on and nearest quarter inch below. **Source** common
/// practice. **Range** any length; a negative one is told as its size.
///
/// ```
/// use farpoint::vision::length::shown::{Units, distance};
/// use farpoint::vision::units::Metres;
/// let seat = Metres::new(2.6)?;
/// assert_eq!(distance(seat, Units::Metric), "2.6 m");
/// assert_eq!(distance(seat, Units::Imperial), "8 ft 6 in");
/// assert_eq!(distance(Metres::new(0.4)?, Units::Metric), "40 cm");
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn distance(length: Metres, units: Units) -> String {
    let metres = length.get().abs();
    match units {
        Units::Metric if metres < 0.9995 => format!("{} cm", trimmed(metres * 100.0, 1)),
        Units::Metric => format!("{} m", trimmed(metres, 2)),
        Units::Imperial if metres < 3.0 * METRES_PER_FOOT => inches(metres, 4.0),
        Units::Imperial => {
            let inches = (metres / METRES_PER_INCH).round();
            let (feet, inches) = ((inches / 12.0).floor(), inches % 12.0);
            if inches < 0.5 { format!("{feet} ft") } else { format!("{feet} ft {inches} in") }
        }
    }
}

/// A letter height in the reader's units: how tall is that?
///
/// **Formula** nearest millimetre from 1 cm on and nearest tenth of one below;
/// nearest eighth of an inch. **Source** common practice. **Range** any length.
///
/// ```
/// use farpoint::vision::length::shown::{Units, letter_height};
/// use farpoint::vision::units::Metres;
/// let letter = Metres::new(0.035)?;
/// assert_eq!(letter_height(letter, Units::Metric), "3.5 cm");
/// assert_eq!(letter_height(letter, Units::Imperial), "1 3/8 in");
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn letter_height(length: Metres, units: Units) -> String {
    let metres = length.get().abs();
    match units {
        Units::Metric if metres < 0.009_95 => format!("{} mm", trimmed(metres * 1_000.0, 1)),
        Units::Metric => format!("{} cm", trimmed(metres * 100.0, 1)),
        Units::Imperial => inches(metres, 8.0),
    }
}

/// Where may the student sit at the farthest, rounded to the near side?
///
/// **Formula** down to 0.1 m or half a foot. **Source** common practice.
/// **Range** a seat; nearer than one step there is nothing to say, so `None`.
///
/// ```
/// use farpoint::vision::length::shown::{Units, distance, seat_rounded_down};
/// use farpoint::vision::units::Metres;
/// let farthest = Metres::new(2.69)?;
/// let metric = seat_rounded_down(farthest, Units::Metric).expect("a seat");
/// assert_eq!(distance(metric, Units::Metric), "2.6 m");
/// let imperial = seat_rounded_down(farthest, Units::Imperial).expect("a seat");
/// assert_eq!(distance(imperial, Units::Imperial), "8 ft 6 in");
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn seat_rounded_down(seat: Metres, units: Units) -> Option<Metres> {
    let steps_per_metre = match units {
        Units::Metric => 10.0,
        Units::Imperial => 2.0 / METRES_PER_FOOT,
    };
    let steps = (seat.get() * steps_per_metre + ROUNDING_SLACK).floor();
    if steps < 1.0 {
        return None;
    }
    Metres::new(steps / steps_per_metre).ok()
}

/// How tall must one write at the least, rounded to the large side?
///
/// **Formula** up to half a centimetre or a quarter inch. **Source** common
/// practice. **Range** a letter height of more than nothing.
///
/// ```
/// use farpoint::vision::length::shown::{Units, letter_height, letter_rounded_up};
/// use farpoint::vision::units::Metres;
/// let least = Metres::new(0.0671)?;
/// let metric = letter_rounded_up(least, Units::Metric)?;
/// assert_eq!(letter_height(metric, Units::Metric), "7 cm");
/// let imperial = letter_rounded_up(least, Units::Imperial)?;
/// assert_eq!(letter_height(imperial, Units::Imperial), "2 3/4 in");
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A height so large that the step above it is no length any more.
pub fn letter_rounded_up(letter: Metres, units: Units) -> Result<Metres, OutOfRange> {
    let steps_per_metre = match units {
        Units::Metric => 200.0,
        Units::Imperial => 4.0 / METRES_PER_INCH,
    };
    let steps = (letter.get() * steps_per_metre - ROUNDING_SLACK).ceil();
    Metres::new(steps / steps_per_metre)
}

/// A billionth of a step: what binary arithmetic loses must not cost a step.
const ROUNDING_SLACK: f64 = 1e-9;

/// A number with at most so many decimals and no idle zeros.
fn trimmed(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Inches with a vulgar fraction, to the nearest of so many parts.
fn inches(metres: f64, parts: f64) -> String {
    let steps = (metres / METRES_PER_INCH * parts).round();
    let (whole, mut above) = ((steps / parts).floor(), steps % parts);
    if above < 0.5 {
        return if whole < 0.5 { format!("less than 1/{parts} in") } else { format!("{whole} in") };
    }
    let mut below = parts;
    while above % 2.0 < 0.5 {
        above /= 2.0;
        below /= 2.0;
    }
    if whole < 0.5 { format!("{above}/{below} in") } else { format!("{whole} {above}/{below} in") }
}
