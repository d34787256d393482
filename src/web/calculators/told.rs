//! How is a figure of an answer told to a person?
//!
//! Rounds for reading: 0.01 logMAR, a quarter dioptre, a tenth of a device's
//! power, a centimetre of a distance; and states beside it the figure before
//! rounding, in metres where it is a length. Advised seats are rounded down and
//! advised writing up. Computes nothing.

use serde_json::Value as Json;

use super::entry::{Shows, Told};
use crate::vision::acuity::LogMar;
use crate::vision::acuity::equivalents::equivalents;
use crate::vision::length::shown::{Units, distance, letter_height, letter_rounded_up, seat_rounded_down};
use crate::vision::units::Metres;
use crate::web::outside::{Rounding, Shown};
use crate::web::part::{self, Figure};

/// A number to five figures, without idle zeros; what the rounding of double
/// precision leaves of nothing is nothing.
pub(super) fn exact(number: f64) -> String {
    if number.abs() < 1e-12 {
        return "0".to_owned();
    }
    let rounded: f64 = format!("{number:.4e}").parse().unwrap_or(number);
    // A negative zero would be printed as one.
    (rounded + 0.0).to_string()
}

/// The figure at a key of the answer, and what of the answer stands in it; none
/// where it is told as a word or as a row of a chart.
pub(super) fn figure(shows: &Shows, value: &Json, units: Units) -> (Figure, Option<Shown>) {
    let Some(number) = value.as_f64() else {
        let word = value.as_str().unwrap_or_default().replace('_', " ");
        return (part::figure(shows.label, &word), None);
    };
    let (told, before) = words(shows, number, units);
    let figure = part::figure(shows.label, &told);
    let stands = rounding(shows.told).map(|rounding| Shown { key: shows.key.into(), text: told, rounding });
    (if before.is_empty() { figure } else { figure.basis(&format!("before rounding: {before}")) }, stands)
}

fn rounding(told: Told) -> Option<Rounding> {
    match told {
        Told::OverTwenty | Told::OverSix | Told::Word => None,
        Told::Seat => Some(Rounding::Down),
        Told::Writing => Some(Rounding::Up),
        Told::Dioptres | Told::Lens => Some(Rounding::Quarter),
        _ => Some(Rounding::Nearest),
    }
}

fn words(shows: &Shows, number: f64, units: Units) -> (String, String) {
    let metres = if shows.key.ends_with("_mm") { number / 1_000.0 } else { number };
    let before = |unit: &str| if unit.is_empty() { exact(number) } else { format!("{} {unit}", exact(number)) };
    match shows.told {
        Told::Distance => length(metres, |length| Some(distance(length, units))),
        Told::Letter => length(metres, |length| Some(letter_height(length, units))),
        Told::Seat => length(metres, |length| Some(distance(seat_rounded_down(length, units)?, units))),
        Told::Writing => length(metres, |length| Some(letter_height(letter_rounded_up(length, units).ok()?, units))),
        Told::Millimetres => {
            (format!("{} mm", decimals(metres * 1_000.0, 1)), format!("{} mm", exact(metres * 1_000.0)))
        }
        Told::LogMar => (format!("{} logMAR", decimals(number, 2)), before("logMAR")),
        Told::OverTwenty => (notation(number).0, String::new()),
        Told::OverSix => (notation(number).1, String::new()),
        Told::Dioptres => (format!("{} D", decimals(quarter(number), 2)), before("D")),
        Told::Lens => (format!("{:+.2} D", quarter(number) + 0.0), before("D")),
        Told::Times => (format!("{} \u{d7}", decimals(number, 1)), before("\u{d7}")),
        Told::Percent => (format!("{} %", decimals(number * 100.0, 0)), format!("{} %", exact(number * 100.0))),
        Told::Number(places, unit) => {
            (format!("{} {unit}", decimals(number, places)).trim_end().to_owned(), before(unit))
        }
        Told::Count(what) => (format!("{} {what}", exact(number)).trim_end().to_owned(), String::new()),
        Told::Word => (exact(number), String::new()),
    }
}

/// A length in words and in metres; where it cannot be told in words, in metres alone.
fn length(metres: f64, tell: impl Fn(Metres) -> Option<String>) -> (String, String) {
    let before = format!("{} m", exact(metres));
    match Metres::new(metres).ok().and_then(tell) {
        // The words tell its size; which way it goes stands before them.
        Some(told) if metres < 0.0 => (format!("\u{2212}{told}"), before),
        Some(told) => (told, before),
        None => (before, String::new()),
    }
}

/// The fraction over 20 feet and over 6 metres.
fn notation(logmar: f64) -> (String, String) {
    match LogMar::new(logmar).map(equivalents) {
        Ok(same) => (same.feet, same.metres),
        Err(_) => (exact(logmar), exact(logmar)),
    }
}

fn quarter(dioptres: f64) -> f64 {
    (dioptres * 4.0).round() / 4.0
}

/// A number with so many decimals; one that rounds to nothing has no sign.
fn decimals(number: f64, places: usize) -> String {
    let text = format!("{number:.places$}");
    if text.trim_start_matches(['-', '0', '.']).is_empty() { text.trim_start_matches('-').to_owned() } else { text }
}
