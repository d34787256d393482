//! What must a student show before training with a device, on each track (G3)?
//!
//! The two lists as data, with the items that nobody can pass over: the safety
//! rules and the student's own agreement. An evaluation must come first.
//! Does not decide whether a list may be signed; that is
//! [`super::gates::may_sign_readiness`].

use std::collections::BTreeMap;
use std::fmt;

use jiff::civil::Date;

use super::codes::codes;
use super::ids::ReadinessId;
use super::track::Track;

codes! {
    /// One item of a readiness list.
    pub enum Item {
        Parts = "parts" : "knows the parts and their names",
        StrapAndCare = "strap_and_care" : "puts the strap on and takes care of the device",
        HoldingAndBracing = "holding_and_bracing" : "holds the device and braces the arm",
        EyeAndGlasses = "eye_and_glasses" : "knows which eye to use, and glasses on or off",
        InFocus = "in_focus" : "knows what \u{201c}in focus\u{201d} means",
        LargeTarget = "large_target" : "finds a large target without the device",
        SunRule = "sun_rule" : "shows the sun rule back",
        StandStillRule = "stand_still_rule" : "shows the stand-still rule back",
        LightAndCare = "light_and_care" : "switches the light and takes care of the device",
        RightSide = "right_side" : "puts the right side to the page",
        FocusDistance = "focus_distance" : "finds the distance where the page is clear",
        SunAndFireRule = "sun_and_fire_rule" : "shows the sun-and-fire rule back",
        AgreesToTry = "agrees_to_try" : "agrees to try",
    }

    /// How far a student is with one item.
    pub enum Mark {
        Yes = "yes" : "yes",
        WithHelp = "with_help" : "with help",
        NotYet = "not_yet" : "not yet",
        NotApplicable = "not_applicable" : "not applicable",
    }
}

const DISTANCE: &[Item] = &[
    Item::Parts,
    Item::StrapAndCare,
    Item::HoldingAndBracing,
    Item::EyeAndGlasses,
    Item::InFocus,
    Item::LargeTarget,
    Item::SunRule,
    Item::StandStillRule,
    Item::AgreesToTry,
];

const NEAR: &[Item] = &[
    Item::LightAndCare,
    Item::RightSide,
    Item::FocusDistance,
    Item::EyeAndGlasses,
    Item::SunAndFireRule,
    Item::AgreesToTry,
];

impl Item {
    /// The readiness list of a track, in the order it is gone through.
    #[must_use]
    pub const fn list(track: Track) -> &'static [Self] {
        match track {
            Track::Distance => DISTANCE,
            Track::Near => NEAR,
        }
    }

    /// Whether a teacher may pass over it with a reason.
    #[must_use]
    pub const fn passable(self) -> bool {
        !matches!(self, Self::SunRule | Self::StandStillRule | Self::SunAndFireRule | Self::AgreesToTry)
    }

    /// Whether some devices give no occasion for it: one worn in a frame is not
    /// held, and a screen has no side to put to the page.
    #[must_use]
    pub const fn may_not_apply(self) -> bool {
        matches!(self, Self::HoldingAndBracing | Self::RightSide)
    }

    /// Whether this mark is enough for the item.
    #[must_use]
    pub const fn met_by(self, mark: Mark) -> bool {
        match mark {
            Mark::Yes | Mark::WithHelp => true,
            Mark::NotYet => false,
            Mark::NotApplicable => self.may_not_apply(),
        }
    }
}

/// The marks of one readiness list; an item left out has no mark yet.
pub type Marks = BTreeMap<Item, Mark>;

/// A list item by item, under the labels of its form: what an amendment sets side
/// by side.
#[must_use]
pub fn texts(
    track: Track,
    marks: &Marks,
    agreed_words: &str,
    passed: Option<(Item, &str)>,
) -> Vec<(&'static str, String)> {
    let mut all: Vec<_> = Item::list(track)
        .iter()
        .map(|item| (item.words(), marks.get(item).map_or("no mark", |mark| mark.words()).to_owned()))
        .collect();
    let (over, why) = passed.map_or(("", ""), |(item, why)| (item.words(), why));
    all.push(("Item passed over", over.to_owned()));
    all.push(("Why training may begin without it", why.to_owned()));
    all.push(("The student\u{2019}s own words", agreed_words.to_owned()));
    all
}

/// One item passed over, with the teacher's reason.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Pass<'a> {
    /// The item.
    pub item: Item,
    /// Why training may begin without it.
    pub reason: &'a str,
}

impl fmt::Debug for Pass<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // The reason may be about the student.
        f.debug_struct("Pass").field("item", &self.item).finish_non_exhaustive()
    }
}

/// A readiness list that a vision teacher signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SignedReadiness {
    /// Which list.
    pub id: ReadinessId,
    /// The track it is for.
    pub track: Track,
    /// The day it was signed.
    pub signed_on: Date,
}
