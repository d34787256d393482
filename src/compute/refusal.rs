//! Why an operation gives no figure: the key at fault, and what would be right.
//!
//! [`Refusal`] is what the outside reads. Inside, a function of `vision` says
//! what is wrong in its own words and knows no keys; a [`Fault`] carries that
//! until the input it speaks of is found.

use std::fmt;

use serde_json::Value;
use thiserror::Error;

use super::inputs::Inputs;
use crate::vision::acuity::AcuityError;
use crate::vision::length::METRES_PER_FOOT;
use crate::vision::magnifier::StandError;
use crate::vision::reading::fit::FitError;
use crate::vision::refraction::check::RefractionError;
use crate::vision::stats::Refused;
use crate::vision::telescope::optics::OpticsError;
use crate::vision::units::OutOfRange;

/// Why there is no figure.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{key}: {why}")]
pub struct Refusal {
    key: String,
    why: String,
}

/// How many names or keys are offered instead of an unknown one.
const OFFERED: usize = 3;

/// More of a wrong value than this is not repeated.
const REPEATED: usize = 40;

impl Refusal {
    pub(super) fn at(key: impl Into<String>, why: impl Into<String>) -> Self {
        Self { key: key.into(), why: why.into() }
    }

    pub(super) fn no_operation(name: &str, known: impl Iterator<Item = &'static str>) -> Self {
        let near = nearest(name, known).join(", ");
        Self::at("op", format!("{} is no operation; the nearest are {near}", short(name)))
    }

    /// The key at fault; `op` when it is the name of the operation. Several
    /// keys, separated by commas, when only together they are wrong.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// What is wrong with it, and what would be right.
    pub fn why(&self) -> &str {
        &self.why
    }
}

/// Something wrong, on the way to the key it is about.
#[derive(Debug)]
pub(super) enum Fault {
    /// With the key already known.
    At(&'static str, String),
    /// A number outside a range: whose it is follows from the number.
    Range(OutOfRange),
    /// In words, about no single key.
    Words(String),
}

impl Fault {
    pub(super) fn at(key: &'static str, why: impl fmt::Display) -> Self {
        Self::At(key, why.to_string())
    }

    pub(super) fn words(why: impl fmt::Display) -> Self {
        Self::Words(why.to_string())
    }

    /// Finds the input at fault.
    ///
    /// A number that `vision` refuses is one of the inputs, perhaps in another
    /// unit, or it was computed from them; then all of them are named. Where
    /// two inputs are equal, the words of the refusal decide.
    pub(super) fn blamed_on(self, inputs: &Inputs<'_>) -> Refusal {
        match self {
            Self::At(key, why) => Refusal::at(key, why),
            Self::Words(why) => Refusal::at(inputs.keys().join(", "), why),
            Self::Range(refused) => {
                let suspects: Vec<_> = inputs
                    .given_numbers()
                    .filter(|(_, number)| is_from(*number, refused.given))
                    .map(|(input, _)| (input.key, said_of(&refused, input.key, input.what)))
                    .collect();
                let most = suspects.iter().map(|(_, words)| *words).max();
                let blamed: Vec<&str> =
                    suspects.iter().filter(|(_, words)| Some(*words) == most).map(|(key, _)| *key).collect();
                let keys = if blamed.is_empty() { inputs.keys() } else { blamed };
                Refusal::at(keys.join(", "), refused.to_string())
            }
        }
    }
}

/// Whether a refused number is this input, as it is or in another unit.
fn is_from(input: f64, refused: f64) -> bool {
    let same = |value: f64| (value - refused).abs() <= 1e-12 * refused.abs();
    [1.0, -1.0, METRES_PER_FOOT, 1_000.0, 0.001].iter().any(|unit| same(input * unit))
}

/// How many words of a refusal the key and its description say, too.
fn said_of(refused: &OutOfRange, key: &str, what: &str) -> usize {
    let known: Vec<String> = key.split('_').chain(what.split(' ')).map(str::to_lowercase).collect();
    refused.quantity.split(' ').filter(|word| known.iter().any(|other| other == word)).count()
}

impl From<OutOfRange> for Fault {
    fn from(refused: OutOfRange) -> Self {
        Self::Range(refused)
    }
}

/// Errors of `vision` that may hold a number outside a range.
macro_rules! in_words {
    ($($error:ident),+) => {$(
        impl From<$error> for Fault {
            fn from(error: $error) -> Self {
                match error {
                    $error::OutOfRange(refused) => Self::Range(refused),
                    other => Self::words(other),
                }
            }
        }
    )+};
}

in_words!(AcuityError, FitError, RefractionError, StandError, Refused);

impl From<OpticsError> for Fault {
    fn from(error: OpticsError) -> Self {
        match error {
            OpticsError::OutOfRange(refused) => Self::Range(refused),
            OpticsError::ObjectiveNotPlus => Self::at("objective_power_D", error),
            OpticsError::OcularTooWeak => Self::at("ocular_power_D", error),
            OpticsError::ErrorTooLarge => Self::at("refractive_error_at_ocular_D", error),
            other => Self::words(other),
        }
    }
}

/// The names most like this one.
pub(super) fn nearest(name: &str, known: impl Iterator<Item = &'static str>) -> Vec<&'static str> {
    // A name far longer than any is like none of them; comparing it costs time.
    let start: String = name.chars().take(80).collect();
    let mut all: Vec<(usize, &str)> = known.map(|other| (changes(&start, other), other)).collect();
    all.sort_by_key(|(changes, _)| *changes);
    all.into_iter().take(OFFERED).map(|(_, other)| other).collect()
}

/// How many letters must be put in, taken out or changed to make one word the other.
fn changes(one: &str, other: &str) -> usize {
    let other: Vec<char> = other.to_lowercase().chars().collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, letter) in one.to_lowercase().chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        for (cell, wanted) in row.iter_mut().skip(1).zip(&other) {
            let kept = diagonal + usize::from(letter != *wanted);
            diagonal = *cell;
            left = kept.min(left + 1).min(*cell + 1);
            *cell = left;
        }
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
    }
    row.last().copied().unwrap_or(0)
}

/// A value as it is repeated in a refusal.
pub(super) fn repeated(value: &Value) -> String {
    match value {
        Value::Null => "null".to_owned(),
        Value::Array(list) if list.is_empty() => "an empty list".to_owned(),
        Value::Array(_) => "a list".to_owned(),
        Value::Object(_) => "an object".to_owned(),
        Value::String(text) => format!("the text \u{201c}{}\u{201d}", short(text)),
        other => short(&other.to_string()),
    }
}

/// Words from outside, cut where they get long.
pub(super) fn short(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(REPEATED).collect();
    if text.chars().count() > REPEATED { format!("{clean}\u{2026}") } else { clean }
}
