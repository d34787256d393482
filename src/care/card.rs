//! The classroom card: what a class needs to know, in a class's words.
//!
//! A vision teacher writes it and releases it; a released edition never changes.
//! The figures are copied at release, so that the card and what is said from it
//! stay one. No diagnosis, no acuity, no strength of a lens has a place on it.
//! Does not compute the figures; they come from [`crate::vision::seat_print`].

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::flag::Sign;

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
    /// What to try at home; released with the card, read on its own.
    pub try_at_home: String,
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
