//! Reads counting fingers, hand movement and light perception.
//!
//! Knows their words and the distance behind them. Gives no number, ever.
//! Read next: [`super::super::Category`].

use super::AcuityError;
use crate::vision::acuity::Category;
use crate::vision::length;
use crate::vision::units::Metres;

/// Counting fingers and below, with the distance if it was said.
pub(super) fn read(text: &str) -> Result<Option<Category>, AcuityError> {
    const FINGERS: [&str; 5] = ["counting fingers", "counts fingers", "count fingers", "finger counting", "cf"];
    const HAND: [&str; 5] = ["hand movements", "hand movement", "hand motions", "hand motion", "hm"];
    match text.trim_end_matches('.') {
        "lp" | "light perception" | "perception of light" => {
            return Ok(Some(Category::LightPerception));
        }
        "nlp" | "no light perception" | "no perception of light" => {
            return Ok(Some(Category::NoLightPerception));
        }
        _ => {}
    }
    let after = |words: &[&str]| {
        words.iter().find_map(|word| {
            let rest = text.strip_prefix(word)?;
            // "cfx" is no category.
            (!rest.starts_with(char::is_alphabetic)).then(|| rest.trim().to_owned())
        })
    };
    if let Some(rest) = after(&FINGERS) {
        return Ok(Some(Category::CountsFingers { at: place(&rest)? }));
    }
    if let Some(rest) = after(&HAND) {
        return Ok(Some(Category::HandMovement { at: place(&rest)? }));
    }
    Ok(None)
}

/// The distance behind a category; nothing said is nothing known.
fn place(rest: &str) -> Result<Option<Metres>, AcuityError> {
    let rest = rest.strip_prefix('@').or(rest.strip_prefix("at ")).unwrap_or(rest);
    if rest.trim().is_empty() {
        return Ok(None);
    }
    Ok(Some(length::parse(rest)?))
}
