//! The classroom card: what a class needs to know, in a class's words.
//!
//! A vision teacher writes it and releases it; a released edition never changes.
//! The figures are copied at release, so that the card and what is said from it
//! stay one. No diagnosis, no acuity, no strength of a lens has a place on it.
//! Does not compute the figures; they come from [`crate::vision::seat_print`].

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::flag::Sign;
use crate::vision::length::shown::{Units, distance, letter_height, letter_rounded_up, seat_rounded_down};
use crate::vision::units::Metres;

/// The numbers behind a card, unrounded; they are rounded to the safe side when
/// told. Millimetres and metres.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Figures {
    /// The height of the measured writing's small letters.
    pub size_mm: Option<f64>,
    /// The usual seat's distance.
    pub usual_m: Option<f64>,
    /// The farthest seat for the measured writing.
    pub seat_m: Option<f64>,
    /// The least height of small letters for the usual seat.
    pub letter_mm: Option<f64>,
    /// The farthest seat with the device.
    pub with_device_seat_m: Option<f64>,
    /// The least height with the device.
    pub with_device_letter_mm: Option<f64>,
}

impl Figures {
    /// Whether there is any number to show.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Whether both say the same, but for the last bits that a number can lose
    /// on its way through text.
    #[must_use]
    pub fn same(&self, other: &Self) -> bool {
        let all = |one: &Self| {
            [one.size_mm, one.usual_m, one.seat_m, one.letter_mm, one.with_device_seat_m, one.with_device_letter_mm]
        };
        all(self).into_iter().zip(all(other)).all(|pair| match pair {
            (Some(one), Some(other)) => (one - other).abs() <= 1e-9 * one.abs().max(1.0),
            (one, other) => one.is_none() && other.is_none(),
        })
    }

    /// The line in words, "within 2.6 m, or small letters 7 cm tall": seats
    /// rounded down, letters up. None where the card has no such number.
    #[must_use]
    pub fn words(&self, with_device: bool, units: Units) -> Option<String> {
        let seat_m = if with_device { self.with_device_seat_m } else { self.seat_m };
        let seat = seat_m
            .and_then(|metres| Metres::new(metres).ok())
            .and_then(|seat| seat_rounded_down(seat, units))
            .map(|seat| format!("within {}", distance(seat, units)));
        let letter = self
            .letter(with_device)
            .and_then(|mm| Metres::new(mm / 1_000.0).ok())
            .and_then(|least| letter_rounded_up(least, units).ok())
            .map(|least| format!("small letters {} tall", letter_height(least, units)));
        match (seat, letter) {
            (Some(seat), Some(letter)) => Some(format!("{seat}, or {letter}")),
            (seat, letter) => seat.or(letter),
        }
    }

    /// The least height at the usual seat, without or with the device.
    #[must_use]
    pub const fn letter(&self, with_device: bool) -> Option<f64> {
        if with_device { self.with_device_letter_mm } else { self.letter_mm }
    }
}

/// What a card says, as checked from its form.
#[derive(Clone, PartialEq, Default)]
pub struct Wording {
    /// Seat: row, side.
    pub seat: String,
    /// Board: marker, ground.
    pub board: String,
    /// Letters: how tall.
    pub letters: String,
    /// Light.
    pub light: String,
    /// Print on paper.
    pub print_size: String,
    /// The device, by what it is.
    pub device: String,
    /// When it is used; who chooses.
    pub device_when: String,
    /// Glasses.
    pub glasses: String,
    /// What is said of a head turn; empty, nothing.
    pub head_turn: String,
    /// Breaks.
    pub rest: String,
    /// Tests.
    pub tests: String,
    /// Whom to call.
    pub call: String,
    /// Whether the class should ask the vision teacher about extra care.
    pub extra_care: bool,
    /// The day it is looked at again.
    pub review_on: Option<Date>,
}

/// What the card says of a head turn.
pub const HEAD_TURN: &str = "Turning the head is helpful. Do not correct it.";

/// What the card says where extra care is needed; never why.
pub const EXTRA_CARE: &str = "Extra care: ask the vision teacher.";

impl Sign {
    /// The sign in the few words that fit a card; the red-flag screen has the whole.
    #[must_use]
    pub const fn on_a_card(self) -> &'static str {
        match self {
            Self::SuddenLoss => "sudden loss of sight",
            Self::Flashes => "flashes, many new spots, a curtain or shadow",
            Self::HitOrSplash => "eye hit, or something in it",
            Self::Pain => "bad eye pain, or red eye with pain",
            Self::DoubleVision => "new double vision",
            Self::TurnedEye => "new turned eye, drooping lid or uneven pupils",
            Self::ShakingEyes => "new or changed shaking of the eyes",
            Self::WhitePupil => "white glow in the pupil",
            Self::Headache => "headache with vomiting, changed sight or sleepiness",
            Self::LookedAtSun => "looked at the sun or a laser",
            Self::SlowWorsening => "slow worsening, new bumping into things",
            Self::ChildSays => "child says sight is different",
        }
    }
}

/// What in a text belongs to the clinic and not on a card: an acuity or the
/// strength of a lens, as the trade writes them. Gives the piece that was found.
///
/// It catches the usual notations, not every way of saying it; the person who
/// releases the card reads it once more.
#[must_use]
pub fn clinical(text: &str) -> Option<&str> {
    text.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')'))
        .map(|word| word.trim_matches(|c: char| matches!(c, '.' | ':' | '!' | '?')))
        .find(|word| is_clinical(word))
}

fn is_clinical(word: &str) -> bool {
    let lower = word.to_lowercase();
    let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || c == '.');
    let fraction = lower.split_once('/').is_some_and(|(above, below)| {
        matches!(above, "20" | "10" | "6" | "3")
            && digits(below)
            && below.parse::<f64>().is_ok_and(|below| below >= 6.0)
    });
    let power = lower.strip_suffix(['x', '\u{d7}']).is_some_and(digits)
        || lower.split_once(['x', '\u{d7}']).is_some_and(|(power, objective)| digits(power) && digits(objective));
    fraction
        || power
        || ["logmar", "acuity", "dioptre", "diopter", "diagnos"].iter().any(|start| lower.starts_with(start))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_card_is_told_in_the_readers_units_and_to_the_safe_side() {
        let figures = Figures {
            seat_m: Some(2.64),
            letter_mm: Some(68.0),
            with_device_letter_mm: Some(21.0),
            ..Figures::default()
        };
        assert_eq!(figures.words(false, Units::Metric).as_deref(), Some("within 2.6 m, or small letters 7 cm tall"));
        assert_eq!(
            figures.words(false, Units::Imperial).as_deref(),
            Some("within 8 ft 6 in, or small letters 2 3/4 in tall")
        );
        assert_eq!(figures.words(true, Units::Metric).as_deref(), Some("small letters 2.5 cm tall"));
        assert_eq!(Figures::default().words(false, Units::Metric), None);
    }

    #[test]
    fn figures_frozen_before_a_field_was_added_are_still_read() {
        let read: Figures = serde_json::from_str("{\"seat_m\": 2.6}").expect("missing numbers are none");
        assert_eq!(read, Figures { seat_m: Some(2.6), ..Figures::default() });
        assert!(!read.is_empty() && Figures::default().is_empty());
    }

    #[test]
    fn figures_are_the_same_after_a_way_through_text() {
        let figures =
            Figures { seat_m: Some(1.497_321_987_654_321_7), letter_mm: Some(119.3 / 0.7), ..Figures::default() };
        let text = serde_json::to_string(&figures).expect("numbers");
        let read: Figures = serde_json::from_str(&text).expect("numbers");
        assert!(figures.same(&read));
        assert!(!figures.same(&Figures { seat_m: Some(1.5), ..figures }));
        assert!(!figures.same(&Figures { usual_m: Some(5.0), ..figures }));
    }

    #[test]
    fn the_notations_of_the_clinic_are_found_and_a_classs_own_are_not() {
        for (text, found) in [
            ("Sees 20/200 with glasses", "20/200"),
            ("acuity is low", "acuity"),
            ("Uses a 6x16 telescope.", "6x16"),
            ("Uses a 4\u{d7} telescope", "4\u{d7}"),
            ("0.9 logMAR", "logMAR"),
        ] {
            assert_eq!(clinical(text), Some(found), "{text}");
        }
        for text in [
            "Row 2, left of the middle, within 2.6 m",
            "Extra time: 1/2 more",
            "Print 24 point, 3/4 in letters",
            "Call ext. 20 before 6/3",
            "Telescope for the board; she chooses when",
        ] {
            assert_eq!(clinical(text), None, "{text}");
        }
    }
}
