//! Cuts a typed length into numbers and the words after them.
//!
//! Knows digits, decimal marks and fractions. Does not know what the words
//! mean; [`super::parse`] does.
//! Read next: [`super::parse`].

use super::LengthError;

/// Longer than any length a person writes; a pasted page is not read.
const LONGEST: usize = 60;

/// A number and the word that follows it, if one does.
#[derive(Debug, PartialEq)]
pub(super) struct Piece {
    /// The number as typed, for the answer.
    pub(super) number: String,
    /// Its value.
    pub(super) value: f64,
    /// The word or mark behind it, in lower case; empty when there is none.
    pub(super) unit: String,
}

/// The numbers of a typed length, each with its word, in order.
pub(super) fn pieces(text: &str) -> Result<Vec<Piece>, LengthError> {
    let plain = plain(text);
    let mut rest = plain.trim();
    if rest.is_empty() {
        return Err(LengthError::Empty);
    }
    if rest.chars().count() > LONGEST {
        return Err(LengthError::Unreadable);
    }
    if let Some(behind) = rest.strip_prefix('-') {
        return Err(if behind.trim_start().starts_with(|c: char| c.is_ascii_digit()) {
            LengthError::NotPositive
        } else {
            LengthError::Unreadable
        });
    }
    let mut pieces = Vec::new();
    while !rest.is_empty() {
        let (number, value, behind) = number(rest)?;
        let behind = behind.trim_start();
        let word: String = unit(behind).into();
        rest = behind[word.len()..].trim_start();
        // "1e999" is a computer's number, not a person's.
        if word == "e" {
            return Err(LengthError::Unreadable);
        }
        // "15'-6" writes the gap between feet and inches as a dash.
        if matches!(word.as_str(), "'" | "ft" | "ft.") {
            rest = rest.strip_prefix('-').unwrap_or(rest).trim_start();
        }
        pieces.push(Piece { number, value, unit: word });
    }
    Ok(pieces)
}

/// Lower case, one kind of quotation mark, plain fractions, plain spaces.
fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{2019}' | '\u{2018}' | '\u{2032}' | '`' | '\u{b4}' => plain.push('\''),
            '\u{201d}' | '\u{201c}' | '\u{2033}' => plain.push('"'),
            '\u{2212}' | '\u{2013}' => plain.push('-'),
            '\u{2044}' => plain.push('/'),
            '½' => plain.push_str(" 1/2"),
            '¼' => plain.push_str(" 1/4"),
            '¾' => plain.push_str(" 3/4"),
            '⅛' => plain.push_str(" 1/8"),
            '⅜' => plain.push_str(" 3/8"),
            '⅝' => plain.push_str(" 5/8"),
            '⅞' => plain.push_str(" 7/8"),
            c if c.is_whitespace() => plain.push(' '),
            c => plain.extend(c.to_lowercase()),
        }
    }
    plain.replace("''", "\"")
}

/// The word or mark at the head of the text.
fn unit(text: &str) -> &str {
    if text.starts_with(['\'', '"']) {
        return &text[..1];
    }
    let end = text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len());
    // "15 ft. 6 in." carries full stops that belong to the words.
    if end > 0 && text[end..].starts_with('.') {
        return &text[..=end];
    }
    &text[..end]
}

/// The number at the head of the text: as typed, its value, and what follows.
fn number(text: &str) -> Result<(String, f64, &str), LengthError> {
    let (first, behind) = decimal(text)?;
    if let Some(below) = behind.trim_start().strip_prefix('/') {
        let (fraction, behind) = over(first, below)?;
        return Ok((taken(text, behind), fraction, behind));
    }
    // "1 1/2" and "1-1/2": a whole number and a fraction.
    let next = behind.trim_start();
    let next = next.strip_prefix('-').unwrap_or(next).trim_start();
    if next.len() < behind.len()
        && let Ok((above, slash)) = decimal(next)
        && let Some(below) = slash.trim_start().strip_prefix('/')
    {
        if first.fract() > 0.0 {
            return Err(LengthError::Unreadable);
        }
        let (fraction, behind) = over(above, below)?;
        return Ok((taken(text, behind), first + fraction, behind));
    }
    Ok((taken(text, behind), first, behind))
}

/// What was read, as it was typed.
fn taken(text: &str, behind: &str) -> String {
    text[..text.len() - behind.len()].trim().to_owned()
}

/// A fraction, from its upper number and the text below the line.
fn over(above: f64, below: &str) -> Result<(f64, &str), LengthError> {
    let (below, behind) = decimal(below.trim_start())?;
    if above.fract() > 0.0 || below.fract() > 0.0 {
        return Err(LengthError::Unreadable);
    }
    if below < 1.0 {
        return Err(LengthError::NothingBelowTheLine);
    }
    Ok((above / below, behind))
}

/// Digits with at most one decimal mark.
fn decimal(text: &str) -> Result<(f64, &str), LengthError> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(text.len());
    let digits = &text[..end];
    let marks = digits.matches(['.', ',']).count();
    let (whole, part) = digits.split_once(['.', ',']).unwrap_or((digits, ""));
    if marks > 1 || (whole.is_empty() && part.is_empty()) {
        return Err(LengthError::Unreadable);
    }
    let grouped = digits.contains(',') && part.len() == 3 && (1..=3).contains(&whole.len());
    if grouped && !whole.starts_with('0') {
        return Err(LengthError::AmbiguousComma {
            decimal: format!("{whole}.{part}"),
            thousands: format!("{whole}{part}"),
        });
    }
    let value: f64 = digits.replace(',', ".").parse().map_err(|_| LengthError::Unreadable)?;
    if !value.is_finite() {
        return Err(LengthError::Unreadable);
    }
    Ok((value, &text[end..]))
}
