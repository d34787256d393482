//! The computations as pages show them, typed in as people type them and held
//! against the reference cases or against figures worked by hand.
//!
//! The functions themselves are tested in `vision/`; here it is that a page
//! shows the right one of them, from the right inputs, rounded as it says.

mod acuity;
mod devices;
mod tasks;

use serde_json::Value;

/// The cases of one operation in a reference file.
fn cases(text: &str, operation: &str) -> Vec<Value> {
    let all: Vec<Value> = serde_json::from_str(text).expect("a reference file");
    let found: Vec<Value> = all.into_iter().filter(|case| case["op"] == operation).collect();
    assert!(!found.is_empty(), "no case of {operation}");
    found
}

/// Whether a number as shown is this one, rounded to the decimals shown.
#[track_caller]
fn is_shown(shown: &str, expected: f64, what: &str) {
    let bare: String =
        shown.chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '\u{2212}')).collect();
    let number: f64 =
        bare.replace('\u{2212}', "-").parse().unwrap_or_else(|_| panic!("{what}: {shown:?} is no number"));
    let decimals = bare.split_once('.').map_or(0, |(_, behind)| behind.len());
    let half = 0.5 * 10_f64.powi(-i32::try_from(decimals).expect("a few")) + 1e-9;
    assert!((number - expected).abs() <= half, "{what}: {shown} is not {expected}");
}
