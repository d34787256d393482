//! Reading a form: each call reads one field, and says beside it what would be
//! right when it is not.
//!
//! Validation is collected, not thrown: all faults of a form are shown at once.
//! Messages name the field and how to mend it; they never blame.

use std::ops::RangeInclusive;
use std::str::FromStr;

use jiff::civil::Date;

use super::form::{Entry, Faults};
use crate::care::typed::Typed;
use crate::vision::length;
use crate::vision::units::Metres;

/// The longest free text of a record, in characters.
pub const LONG_TEXT: usize = 2_000;
/// The longest name.
pub const NAME: usize = 120;
/// The longest short text.
pub const SHORT_TEXT: usize = 240;

/// A form being read.
pub struct Check<'a> {
    entry: &'a Entry,
    faults: Faults,
}

impl<'a> Check<'a> {
    /// Starts reading a form.
    pub fn new(entry: &'a Entry) -> Self {
        Self { entry, faults: Faults::default() }
    }

    /// What was typed, for reading a field in a way of its own.
    pub fn typed(&self, name: &str) -> &'a str {
        self.entry.get(name).trim()
    }

    /// What was typed, spaces and all: for passwords.
    pub fn raw(&self, name: &str) -> &'a str {
        self.entry.get(name)
    }

    /// Says what is wrong with a field.
    pub fn fault(&mut self, name: impl Into<String>, message: impl Into<String>) {
        self.faults.add(name, message);
    }

    /// Whether nothing is wrong with a field so far.
    pub fn is_whole(&self, name: &str) -> bool {
        self.faults.of(name).is_none()
    }

    /// Text that must be there, at most `most` characters.
    pub fn text(&mut self, name: &str, label: &str, most: usize) -> String {
        let text = self.opt_text(name, label, most);
        if text.is_empty() && self.faults.of(name).is_none() {
            self.fault(name, format!("{label} is needed."));
        }
        text
    }

    /// Text that may be left out.
    pub fn opt_text(&mut self, name: &str, label: &str, most: usize) -> String {
        let text = self.typed(name).replace("\r\n", "\n");
        let length = text.chars().count();
        if length > most {
            self.fault(name, format!("{label} has {length} characters. Up to {most} fit here."));
        }
        if text.chars().any(|c| c.is_control() && c != '\n' && c != '\t') {
            self.fault(name, format!("{label} holds a control character that cannot be kept. Type it again."));
        }
        text
    }

    /// One choice of a list, which must be made.
    pub fn code<T: FromStr>(&mut self, name: &str, label: &str) -> Option<T> {
        if self.typed(name).is_empty() {
            self.fault(name, format!("Choose an answer for {}.", lower(label)));
            return None;
        }
        self.opt_code(name, label)
    }

    /// One choice of a list, which may be left open.
    pub fn opt_code<T: FromStr>(&mut self, name: &str, label: &str) -> Option<T> {
        let typed = self.typed(name);
        if typed.is_empty() {
            return None;
        }
        match typed.parse() {
            Ok(code) => Some(code),
            Err(_) => {
                self.fault(name, format!("Choose one of the answers listed for {}.", lower(label)));
                None
            }
        }
    }

    /// One of a few words that are no list of the trade.
    pub fn one_of(&mut self, name: &str, label: &str, words: &[&'static str]) -> Option<&'static str> {
        let typed = self.typed(name);
        let found = words.iter().copied().find(|word| *word == typed);
        if found.is_none() {
            self.fault(name, format!("Choose an answer for {}.", lower(label)));
        }
        found
    }

    /// Any number of choices of a list.
    pub fn codes<T: FromStr>(&mut self, name: &str, label: &str) -> Vec<T> {
        let mut chosen = Vec::new();
        for typed in self.entry.all(name) {
            match typed.parse() {
                Ok(code) => chosen.push(code),
                Err(_) => self.fault(name, format!("Choose among the answers listed for {}.", lower(label))),
            }
        }
        chosen
    }

    /// A yes or no that must be answered.
    pub fn yes_no(&mut self, name: &str, label: &str) -> Option<bool> {
        match self.typed(name) {
            "yes" => Some(true),
            "no" => Some(false),
            _ => {
                self.fault(name, format!("Answer yes or no for {}.", lower(label)));
                None
            }
        }
    }

    /// A box that is ticked or not.
    pub fn ticked(&self, name: &str) -> bool {
        self.typed(name) == "yes"
    }

    /// A date that must be there, within a range.
    pub fn date(&mut self, name: &str, label: &str, range: RangeInclusive<Date>) -> Option<Date> {
        if self.typed(name).is_empty() {
            self.fault(name, format!("{label} is needed, for example 2026-09-14."));
            return None;
        }
        self.opt_date(name, label, range)
    }

    /// A date that may be left out.
    pub fn opt_date(&mut self, name: &str, label: &str, range: RangeInclusive<Date>) -> Option<Date> {
        let typed = self.typed(name);
        if typed.is_empty() {
            return None;
        }
        let date = (typed.len() == 10).then(|| typed.parse::<Date>().ok()).flatten();
        match date {
            Some(date) if range.contains(&date) => Some(date),
            Some(_) => {
                self.fault(name, format!("{label} must lie between {} and {}.", range.start(), range.end()));
                None
            }
            None => {
                self.fault(name, format!("Write {} as year, month, day, for example 2026-09-14.", lower(label)));
                None
            }
        }
    }

    /// A whole number that must be there, within a range.
    pub fn whole(&mut self, name: &str, label: &str, range: RangeInclusive<i64>) -> Option<i64> {
        if self.typed(name).is_empty() {
            self.fault(name, format!("{label} is needed: a whole number from {} to {}.", range.start(), range.end()));
            return None;
        }
        self.opt_whole(name, label, range)
    }

    /// A whole number that may be left out.
    pub fn opt_whole(&mut self, name: &str, label: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let typed = self.typed(name);
        if typed.is_empty() {
            return None;
        }
        match typed.parse::<i64>() {
            Ok(number) if range.contains(&number) => Some(number),
            _ => {
                self.fault(name, format!("{label} must be a whole number from {} to {}.", range.start(), range.end()));
                None
            }
        }
    }

    /// A number whose unit stands in its label, within a range; a decimal comma
    /// is read as a point, and the unit may be typed behind it.
    pub fn opt_number(&mut self, name: &str, label: &str, unit: &str, range: RangeInclusive<f64>) -> Option<f64> {
        let typed = self.typed(name);
        if typed.is_empty() {
            return None;
        }
        let bare = without_unit(typed, unit).trim().replace(',', ".").replace('\u{2212}', "-");
        match bare.parse::<f64>() {
            Ok(number) if range.contains(&number) => Some(number),
            _ => {
                self.fault(name, format!("{label} must be a number from {} to {} {unit}.", range.start(), range.end()));
                None
            }
        }
    }

    /// The same, where the number must be there.
    pub fn number(&mut self, name: &str, label: &str, unit: &str, range: RangeInclusive<f64>) -> Option<f64> {
        if self.typed(name).is_empty() {
            self.fault(name, format!("{label} is needed: a number from {} to {} {unit}.", range.start(), range.end()));
            return None;
        }
        self.opt_number(name, label, unit, range)
    }

    /// A length with its unit, which must be there, within a range of metres.
    pub fn length(&mut self, name: &str, label: &str, range: RangeInclusive<f64>) -> Option<Typed<Metres>> {
        if self.typed(name).is_empty() {
            self.fault(name, format!("{label} is needed, with its unit, for example 4.6 m or 15 ft."));
            return None;
        }
        self.opt_length(name, label, range)
    }

    /// A length with its unit, which may be left out.
    pub fn opt_length(&mut self, name: &str, label: &str, range: RangeInclusive<f64>) -> Option<Typed<Metres>> {
        let typed = self.typed(name);
        if typed.is_empty() {
            return None;
        }
        match length::parse(typed) {
            Ok(metres) if range.contains(&metres.get()) => Some(Typed::new(typed, metres)),
            Ok(_) => {
                let (low, high) = (shown_metres(*range.start()), shown_metres(*range.end()));
                self.fault(name, format!("{label} must lie between {low} and {high}. Check the unit."));
                None
            }
            Err(error) => {
                self.fault(name, format!("{label}: {error}."));
                None
            }
        }
    }

    /// Gives the checked thing when nothing was wrong, and the faults otherwise.
    ///
    /// # Errors
    /// The faults, when there are any.
    pub fn build<T>(self, make: impl FnOnce() -> Option<T>) -> Result<T, Faults> {
        if !self.faults.is_empty() {
            return Err(self.faults);
        }
        make().ok_or(self.faults)
    }
}

/// The figures before a unit, as the unit or as people type it.
fn without_unit<'t>(typed: &'t str, unit: &str) -> &'t str {
    let also: &[&str] = match unit {
        "\u{d7}" => &["x", "X"],
        "degrees" => &["\u{b0}", "deg", "degree"],
        "D" => &["d", "dpt"],
        "lux" => &["lx"],
        _ => &[],
    };
    std::iter::once(&unit).chain(also).find_map(|written| typed.strip_suffix(written)).unwrap_or(typed)
}

fn lower(label: &str) -> String {
    let mut letters = label.chars();
    match letters.next() {
        // An abbreviation such as ID keeps its capitals.
        Some(first) if !letters.as_str().starts_with(char::is_uppercase) => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => label.to_owned(),
    }
}

fn shown_metres(metres: f64) -> String {
    if metres < 0.01 {
        format!("{} mm", metres * 1_000.0)
    } else if metres < 1.0 {
        format!("{} cm", (metres * 1_000.0).round() / 10.0)
    } else {
        format!("{metres} m")
    }
}
