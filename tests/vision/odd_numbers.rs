//! Numbers that no instrument gives, put to every function that takes one.
//!
//! Not a number, infinite, nothing, negative, tiny and huge, one at a time, two
//! at a time and at random: the answer is finite, or a refusal that names what
//! is wrong and what would be right, exactly. Nothing panics.

use std::collections::BTreeSet;
use std::error::Error;
use std::ops::RangeBounds;

use farpoint::vision::units::OutOfRange;
use proptest::prelude::*;

use super::documented::{files, functions};

mod devices;
mod sight;
mod use_of_sight;

/// The figures of an answer, or why there are none.
type Answer = Result<Vec<f64>, Box<dyn Error>>;

/// One function, with numbers that it usually gets.
struct Question {
    /// Its module and name.
    name: &'static str,
    usual: &'static [f64],
    ask: fn(&[f64]) -> Answer,
}

/// The modules all of whose functions are put to the question here.
const HERE: [&str; 26] = [
    "acuity",
    "acuity::letters",
    "acuity::near",
    "contrast",
    "contrast::screen",
    "demand",
    "length",
    "length::shown",
    "light",
    "magnifier",
    "reading",
    "reading::copying",
    "reading::curve",
    "reading::fit",
    "reading::performance",
    "refraction",
    "refraction::check",
    "reserve",
    "reserve::advice",
    "seat_print",
    "skill",
    "telescope",
    "telescope::coverage",
    "telescope::field",
    "telescope::near",
    "telescope::optics",
];

const ODD: [f64; 22] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    0.0,
    -0.0,
    5e-324,
    -5e-324,
    1e-12,
    -1e-12,
    1e-5,
    0.5,
    1.0,
    -1.0,
    25.0,
    -60.0,
    1_000.0,
    -1_000.0,
    1e6,
    4_294_967_295.0,
    1e300,
    f64::MAX,
    f64::MIN,
];

fn questions() -> Vec<&'static Question> {
    sight::QUESTIONS.iter().chain(devices::QUESTIONS).chain(use_of_sight::QUESTIONS).collect()
}

/// A whole number for a function that counts.
fn whole(number: f64) -> Result<u32, Box<dyn Error>> {
    if (0.0..=4_294_967_295.0).contains(&number) && number.fract() == 0.0 {
        Ok(number as u32)
    } else {
        Err("a count must be a whole number".into())
    }
}

/// What is wrong with an answer to odd numbers.
fn complaint(answer: &Answer) -> Option<String> {
    match answer {
        Ok(figures) if figures.iter().all(|figure| figure.is_finite()) => None,
        Ok(figures) => Some(format!("answered {figures:?}")),
        Err(refusal) => {
            let words = refusal.to_string();
            if words.is_empty() || words.contains("NaN") || words.contains("inf ") || words.ends_with("inf") {
                return Some(format!("refused with {words:?}"));
            }
            let exact = refusal.downcast_ref::<OutOfRange>()?;
            let wrong = exact.quantity.is_empty() || !words.contains(exact.quantity) || !words.contains("must be");
            let inside = exact.given.is_finite() && (exact.low, exact.high).contains(&exact.given);
            (wrong || inside).then(|| format!("refused what was right: {words}"))
        }
    }
}

fn ask(question: &Question, numbers: &[f64]) -> Option<String> {
    complaint(&(question.ask)(numbers)).map(|what| format!("{} of {numbers:?} {what}", question.name))
}

#[test]
fn usual_numbers_are_answered() {
    for question in questions() {
        let answer = (question.ask)(question.usual);
        assert!(answer.is_ok_and(|figures| !figures.is_empty()), "{} of {:?}", question.name, question.usual);
    }
}

#[test]
fn an_odd_number_is_answered_or_refused_exactly() {
    let mut wrong = Vec::new();
    for question in questions() {
        for place in 0..question.usual.len() {
            for odd in ODD {
                let mut numbers = question.usual.to_vec();
                numbers[place] = odd;
                wrong.extend(ask(question, &numbers));
                let refused = (question.ask)(&numbers).is_err();
                if !odd.is_finite() && !refused {
                    wrong.push(format!("{} took {odd} as number {place}", question.name));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn two_odd_numbers_are_answered_or_refused_exactly() {
    let mut wrong = Vec::new();
    for question in questions() {
        let count = question.usual.len();
        for (first, second) in (0..count).flat_map(|one| (one + 1..count).map(move |other| (one, other))) {
            for (one, other) in ODD.into_iter().flat_map(|one| ODD.into_iter().map(move |other| (one, other))) {
                let mut numbers = question.usual.to_vec();
                (numbers[first], numbers[second]) = (one, other);
                wrong.extend(ask(question, &numbers));
            }
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

proptest! {
    #[test]
    fn any_numbers_are_answered_or_refused_exactly(
        parts in prop::collection::vec((prop::bool::ANY, -6.0_f64..6.0, prop::num::f64::ANY, 0_u8..4), 8),
    ) {
        for question in questions() {
            // Near the usual, scaled by some powers of ten, negative, or anything at all.
            let numbers: Vec<f64> = question.usual.iter().zip(&parts).map(|(usual, (minus, power, any, kind))| {
                let sign = if *minus { -1.0 } else { 1.0 };
                match kind {
                    0 => *usual,
                    1 => usual * 10_f64.powf(*power),
                    2 => sign * 10_f64.powf(*power),
                    _ => *any,
                }
            }).collect();
            prop_assert_eq!(ask(question, &numbers), None);
        }
    }
}

/// Types whose values are numbers.
const NUMBERS: [&str; 21] = [
    "f64",
    "u32",
    "Metres",
    "Millimetres",
    "Dioptres",
    "Degrees",
    "Arcminutes",
    "Ratio",
    "Fraction",
    "Magnification",
    "Seconds",
    "Lux",
    "Luminance",
    "LogMar",
    "MUnits",
    "Weber",
    "LogContrastSensitivity",
    "WordsPerMinute",
    "CharactersPerMinute",
    "Axis",
    "Chart",
];

#[test]
fn every_function_that_takes_a_number_is_asked() {
    let asked: BTreeSet<&str> = questions().iter().map(|question| question.name).collect();
    let mut missing = Vec::new();
    let mut known = 0;
    for (path, text) in files() {
        let module = path.trim_start_matches("src/vision/").trim_end_matches(".rs").replace('/', "::");
        if !HERE.contains(&module.as_str()) {
            continue;
        }
        for function in functions(&path, &text) {
            let name = format!("{module}::{}", function.name);
            let inputs = function.signature.split("->").next().unwrap_or_default();
            let takes = NUMBERS
                .iter()
                .any(|number| inputs.contains(&format!(": {number},")) || inputs.contains(&format!(": {number})")));
            if takes && function.computes() {
                known += 1;
                if !asked.contains(name.as_str()) {
                    missing.push(name);
                }
            }
        }
    }
    assert!(known > 80, "only {known} functions were found: the search is broken");
    assert!(missing.is_empty(), "nobody asks these odd numbers:\n{}", missing.join("\n"));
}

#[test]
fn an_answer_that_is_no_number_would_be_noticed() {
    assert!(complaint(&Ok(vec![1.0, f64::NAN])).is_some());
    assert!(complaint(&Ok(vec![f64::INFINITY])).is_some());
    assert!(complaint(&Err("NaN is wrong".into())).is_some());
    let low = std::ops::Bound::Included(0.0);
    let wrong = OutOfRange { quantity: "length", unit: "m", low, high: std::ops::Bound::Included(2.0), given: 1.0 };
    assert!(complaint(&Err(Box::new(wrong))).is_some_and(|what| what.contains("refused what was right")));
}
