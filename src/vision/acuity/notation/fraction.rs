//! Reads fractions: test distance over letter distance, with letters missed or
//! added at the end.
//!
//! Knows that the number above the line is a distance and compares it with the
//! distance of the test. Does not accept metres over feet.
//! Read next: [`super::parse`], which asks back.

use super::{
    AcuityError, AcuityQuestion, Caveat, LogMar, METRES_PER_FOOT, Metres, Notation, Setup, agree, fraction_for, number,
    same,
};
use crate::vision::units::{above_zero, within};

/// What one letter is worth on rows of five letters in steps of 0.1.
const FIVE_LETTER_WORTH: f64 = 0.02;
/// The letters of such a row.
const FIVE_LETTERS: u32 = 5;

/// A unit written behind a number of the fraction.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Unit {
    Feet,
    Metres,
}

/// The logMAR of a fraction and whether it is in feet or metres.
pub(super) fn read(value: &str, setup: Setup, caveats: &mut Vec<Caveat>) -> Result<(LogMar, Notation), AcuityError> {
    let (above, below) = value.split_once('/').ok_or(AcuityError::Unreadable)?;
    let (below, letters) = split_letters(below.trim())?;
    let (above, above_unit) = with_unit(above.trim())?;
    let (below, below_unit) = with_unit(below.trim())?;
    let unit = match (above_unit, below_unit) {
        (Some(one), Some(other)) if one != other => return Err(AcuityQuestion::MixedUnits.into()),
        // One unit written once holds for both sides.
        (one, other) => one.or(other),
    };
    let d = number(above)?;
    let far = number(below)?;
    if d <= 0.0 || far <= 0.0 {
        return Err(AcuityError::ZeroInFraction);
    }
    within("number above the line", "", d, above_zero(10_000.0))?;
    within("number below the line", "", far, above_zero(1_000_000.0))?;
    let notation = unit_of_the_test(d, unit, setup.distance);
    let notation = match (notation, setup.notation) {
        // The answer to the question below.
        (_, Some(Notation::PrintedFraction)) => Notation::PrintedFraction,
        (Some(notation), chosen) => {
            agree(notation, chosen)?;
            notation
        }
        (None, _) => {
            return Err(AcuityQuestion::AnotherDistance {
                above: above.to_owned(),
                below: below.to_owned(),
                distance: setup.distance,
                likely: fraction_for(setup.distance, below),
            }
            .into());
        }
    };
    let logmar = LogMar::new((far / d).log10())?;
    Ok((shifted(logmar, letters, setup, caveats)?, notation))
}

/// In which unit the number above the line is the distance of the test.
fn unit_of_the_test(above: f64, unit: Option<Unit>, distance: Metres) -> Option<Notation> {
    let is = |metres: f64| Metres::new(metres).is_ok_and(|written| same(written, distance));
    match unit {
        Some(Unit::Feet) => is(above * METRES_PER_FOOT).then_some(Notation::Feet),
        Some(Unit::Metres) => is(above).then_some(Notation::Metres),
        None if is(above * METRES_PER_FOOT) => Some(Notation::Feet),
        None => is(above).then_some(Notation::Metres),
    }
}

/// A number and the unit written behind it.
fn with_unit(text: &str) -> Result<(&str, Option<Unit>), AcuityError> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(text.len());
    let unit = match text[end..].trim() {
        "" => None,
        "ft" | "ft." | "feet" | "foot" | "'" => Some(Unit::Feet),
        "m" | "metre" | "metres" | "meter" | "meters" => Some(Unit::Metres),
        _ => return Err(AcuityError::Unreadable),
    };
    Ok((&text[..end], unit))
}

/// Cuts "-2" or "+ 1" off the end: how many letters more are worse.
fn split_letters(below: &str) -> Result<(&str, Option<i32>), AcuityError> {
    let Some(sign) = below.rfind(['-', '+']) else {
        return Ok((below, None));
    };
    let digits = below[sign + 1..].trim();
    if digits.is_empty() || digits.len() > 2 || !digits.chars().all(|c| c.is_ascii_digit()) {
        return Err(AcuityError::Unreadable);
    }
    let letters: i32 = digits.parse().map_err(|_| AcuityError::Unreadable)?;
    let missed = if below[sign..].starts_with('-') { letters } else { -letters };
    Ok((&below[..sign], Some(missed)))
}

/// Adds the letters missed, or takes away the letters gained.
fn shifted(row: LogMar, letters: Option<i32>, setup: Setup, caveats: &mut Vec<Caveat>) -> Result<LogMar, AcuityError> {
    let Some(letters) = letters else {
        return Ok(row);
    };
    let per_row = setup.chart.map_or(FIVE_LETTERS, |chart| chart.letters_per_row());
    let worth = setup.chart.map_or(FIVE_LETTER_WORTH, |chart| chart.letter_worth());
    let allowed = per_row.saturating_sub(1);
    // A whole row more or less is another row, and is written as such.
    if letters.unsigned_abs() > allowed {
        return Err(AcuityError::TooManyLetters { given: letters.unsigned_abs(), allowed });
    }
    if setup.chart.is_none() {
        caveats.push(Caveat::FiveLettersARow);
    }
    Ok(row.worse_by(worth * f64::from(letters))?)
}
