//! What do the pooled entries of one student say, by device and setting?
//!
//! From the entries that one reader may read, the clinic's figures beside them
//! and the things to be seen: thresholds with their interval, what a device
//! gives, which of two is better, how probable success is at each task, and
//! where settings disagree. Every figure keeps the entries behind it; an entry
//! that may not stand in a figure is counted with its reason, never as a failure.
//!
//! | question | file |
//! |---|---|
//! | Which entries count, and what goes into the model? | `gather.rs` |
//! | What is assumed before any entry? | `assumed.rs` |
//! | Thresholds, devices, settings | `finding.rs` |
//! | Which device for which task? | `matrix.rs` |
//!
//! Computed anew whenever it is asked for; nothing is kept.
//! Does not know who asks: what the reader may not read was never handed in.

mod assumed;
mod finding;
mod gather;
mod matrix;

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;

use super::codes::codes;
use super::device::DeviceSpec;
use super::ids::{AccountId, DeviceId, ExerciseId, NotAnId, ObservationId, OwnDeviceId, SessionId, VisualTaskId};
use super::observation::{DeviceOut, NonUse, Outcome, Setting};
use super::sight::{AtHand, AtHandAs};
use super::skill::Skill;
use super::task::{ContrastClass, TargetClass};
use super::track::Track;
use crate::vision::units::{Fraction, Metres, Millimetres, Seconds};

pub use assumed::{Assumed, From, assumed};
pub use finding::{Apart, Cause, Gain, Overall, Row};
pub use gather::{Cell, Column, Gathered, Line, Question, Tallied, WANTED_ITEMS, gather};
pub use matrix::{Basis, Foot, Matrix, MatrixCell, MatrixRow};

/// The success that is wanted: four of five. Common practice.
pub const WANTED: Fraction = Fraction::literal(0.8);

/// An entry that a figure rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    /// What somebody saw.
    Observation(ObservationId),
    /// An exercise of a training session.
    Exercise(SessionId, ExerciseId),
}

/// Tells one device from another: a pool device is one however often it was lent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DeviceKey {
    /// Of the loan pool.
    Lent(DeviceId),
    /// The student's own.
    Own(OwnDeviceId),
}

impl fmt::Display for DeviceKey {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Lent(id) => write!(out, "lent-{id}"),
            Self::Own(id) => write!(out, "own-{id}"),
        }
    }
}

impl FromStr for DeviceKey {
    type Err = NotAnId;

    fn from_str(text: &str) -> Result<Self, NotAnId> {
        match text.split_once('-') {
            Some(("lent", id)) => id.parse().map(Self::Lent),
            Some(("own", id)) => id.parse().map(Self::Own),
            _ => Err(NotAnId),
        }
    }
}

/// A device that was used, or is at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Device {
    /// Which.
    pub key: DeviceKey,
    /// The track it is used on.
    pub track: Track,
    /// What it is, with the eye it was lent for; none where the reader may not
    /// read about devices.
    pub spec: Option<DeviceSpec>,
    /// The day it first came.
    pub from: Date,
    /// Whether the student has it now.
    pub at_hand: bool,
}

impl Device {
    /// The same as sight and views take it.
    #[must_use]
    pub fn in_hand(&self) -> Option<AtHand> {
        let source = match self.key {
            DeviceKey::Lent(_) => AtHandAs::Loan,
            DeviceKey::Own(_) => AtHandAs::Own,
        };
        Some(AtHand { spec: self.spec.clone()?, track: self.track, source })
    }
}

/// How much help an entry says it took.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Helped {
    /// None.
    Alone,
    /// Some, or somebody else read it.
    Helped,
    /// Nobody said.
    NotSaid,
}

/// One entry as the evidence needs it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Which.
    pub source: Source,
    /// The day.
    pub on: Date,
    /// Who wrote it.
    pub by: AccountId,
    /// Where in the student's life.
    pub setting: Setting,
    /// The track of its task, its device or the kind of thing; none, nothing says.
    pub track: Option<Track>,
    /// The student's own task.
    pub task: Option<VisualTaskId>,
    /// Whether the device was out.
    pub device_out: DeviceOut,
    /// The device in hand.
    pub device: Option<DeviceKey>,
    /// Why a device stayed away.
    pub non_use: Option<NonUse>,
    /// From how far.
    pub distance: Option<Metres>,
    /// How tall the small letters were.
    pub x_height: Option<Millimetres>,
    /// How strongly it stood out.
    pub contrast: Option<ContrastClass>,
    /// What had to be recognised.
    pub target: Option<TargetClass>,
    /// Among how many.
    pub choices: Option<i64>,
    /// How much was right.
    pub outcome: Outcome,
    /// How much help it took.
    pub helped: Helped,
    /// How it felt, in words.
    pub comfort: Option<&'static str>,
    /// Entered in error.
    pub in_error: bool,
    /// Its writer was asked about a length and has not answered.
    pub unit_asked: bool,
}

/// An exercise as times and losses need it.
#[derive(Debug, Clone, PartialEq)]
pub struct Drill {
    /// Which.
    pub source: Source,
    /// The day.
    pub on: Date,
    /// The track.
    pub track: Track,
    /// The device in hand.
    pub device: Option<DeviceKey>,
    /// What it trained.
    pub skill: Skill,
    /// Whether it took no help.
    pub alone: bool,
    /// Right of tried, where both were counted.
    pub counted: Option<(u32, u32)>,
    /// The median time of an item.
    pub median: Option<Seconds>,
    /// How long a moving target was in view.
    pub in_view: Option<Seconds>,
    /// How often it was lost.
    pub losses: Option<u32>,
}

/// A session that the student refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RefusedSession {
    /// The track.
    pub track: Track,
    /// The day.
    pub on: Date,
}

codes! {
    /// Why an entry stands in no figure. It is counted with its reason.
    pub enum Left {
        InError = "in_error" : "entered in error",
        UnitAsked = "unit_asked" : "its writer is being asked about a unit",
        Refused = "refused" : "the student chose not to, or did not try",
        NotSure = "not_sure" : "the writer was not sure how much was right",
        Helped = "helped" : "it took help",
        HelpNotSaid = "help_not_said" : "whether it took help was not said",
        WhichDevice = "which_device" : "a device was out, and which one was not said",
        NoSize = "no_size" : "the size of the letters or the distance is not known",
        NoChoices = "no_choices" : "among how many it was chosen is not known",
        OffScale = "off_scale" : "size, distance or count lie outside what can be right",
        OlderDevice = "older_device" : "with a device before the last ones",
    }

    /// How strongly the target stood out. Each is estimated for itself.
    pub enum Contrast {
        High = "high" : "high contrast",
        Lower = "lower" : "lower contrast",
    }
}

/// Whether an entry may stand in a threshold; otherwise why not, as far as it can
/// be said without computing its size.
#[must_use]
pub fn left_out(entry: &Entry) -> Option<Left> {
    use super::observation::Graded;
    if entry.in_error {
        return Some(Left::InError);
    }
    if entry.unit_asked {
        return Some(Left::UnitAsked);
    }
    if entry.device_out == DeviceOut::ChoseNot || entry.outcome == Outcome::Graded(Graded::DidNotTry) {
        return Some(Left::Refused);
    }
    if entry.outcome == Outcome::Graded(Graded::NotSure) {
        return Some(Left::NotSure);
    }
    match entry.helped {
        Helped::Helped => return Some(Left::Helped),
        // Help that is not stated is not "no help": as in a summary.
        Helped::NotSaid => return Some(Left::HelpNotSaid),
        Helped::Alone => {}
    }
    if entry.device_out == DeviceOut::Yes && entry.device.is_none() {
        return Some(Left::WhichDevice);
    }
    // No size or distance: it counts as use only.
    (entry.x_height.is_none() || entry.distance.is_none()).then_some(Left::NoSize)
}

/// All that is known of one student for the evidence, as far as one reader may read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Known {
    /// Every entry, those entered in error among them.
    pub entries: Vec<Entry>,
    /// Every exercise with a time, a count or a loss.
    pub drills: Vec<Drill>,
    /// Sessions that the student refused.
    pub refused: Vec<RefusedSession>,
    /// Devices used or at hand.
    pub devices: Vec<Device>,
}
