//! What somebody saw the student do: one task, the device or not, and how much
//! was right.
//!
//! Closed lists of the trade and the checked entry. A result is a count or one
//! of a few words, never both. What comes from the task says so, so that a
//! later correction of the task does not rewrite what was seen.
//! Does not know who may enter where; read [`super::meaning`] for what an entry
//! says to its reader.

pub mod possible;
pub mod sheet;
pub mod suspect;
pub mod texts;

use jiff::civil::Date;

use super::codes::codes;
use super::ids::VisualTaskId;
use super::task::{ContrastClass, TargetClass, TaskCode};
use crate::vision::units::{Metres, Millimetres};

codes! {
    /// Where in the student's life it was seen.
    pub enum Setting {
        Classroom = "classroom" : "classroom",
        Home = "home" : "home",
        Community = "community" : "community",
        Training = "training" : "training",
    }

    /// Where exactly. "Walking" is no place: nobody looks through a device on the move.
    pub enum Place {
        OwnClass = "own_class" : "own classroom",
        OtherClass = "other_class" : "another classroom",
        QuietRoom = "quiet_room" : "a quiet room at school",
        Hallway = "hallway" : "hallway, standing still",
        Gym = "gym" : "gym",
        Cafeteria = "cafeteria" : "cafeteria",
        Stage = "stage" : "assembly hall",
        Home = "home" : "at home",
        Shop = "shop" : "in a shop",
        Transport = "transport" : "in a bus, train or car, seated",
        Library = "library" : "in a library",
        Playground = "playground" : "park or playground, standing still",
        Street = "street" : "at a street, standing still",
        Elsewhere = "other" : "somewhere else",
    }

    /// Whether the device was out.
    pub enum DeviceOut {
        Yes = "yes" : "yes",
        Forgot = "forgot" : "no, it was forgotten",
        ChoseNot = "chose_not" : "no, the student chose not to",
        NotAllowed = "not_allowed" : "no, it was not allowed",
        Broken = "broken" : "no, it is lost or broken",
        NotNeeded = "not_needed" : "not needed, or there is none",
    }

    /// Why a device stayed away. Kept apart, because each asks for another answer.
    pub enum NonUse {
        NotHelpful = "not_helpful" : "it was not helpful",
        Embarrassed = "embarrassed" : "embarrassed or teased",
        LostOrBroken = "lost_or_broken" : "lost or broken",
        NoTime = "no_time" : "no time",
        NotSaid = "not_said" : "not said",
    }

    /// How much was right, in words.
    pub enum Graded {
        All = "all" : "all of it",
        Most = "most" : "most, more than half but not all",
        Some = "some" : "some, half or less",
        None = "none" : "none of it",
        NotSure = "not_sure" : "not sure",
        DidNotTry = "did_not_try" : "did not try",
    }

    /// How much help it took.
    pub enum Help {
        None = "none" : "alone",
        ToldOnce = "told_once" : "told once",
        Helped = "helped" : "with help",
        PeerRead = "peer_read" : "somebody else read it",
    }

    /// How fast it went.
    pub enum Pace {
        Quick = "quick" : "quick",
        Slow = "slow" : "slow",
        TooSlow = "too_slow" : "too slow to keep up",
    }

    /// How the eyes felt.
    pub enum Comfort {
        Fine = "fine" : "fine",
        Tired = "tired" : "tired",
        SoreEyes = "sore_eyes" : "sore eyes",
        Headache = "headache" : "headache",
    }

    /// How the student felt about it.
    pub enum Mood {
        Willing = "willing" : "willing",
        Neutral = "neutral" : "neutral",
        Upset = "upset" : "upset",
        Proud = "proud" : "proud",
        Ok = "ok" : "OK",
        Bored = "bored" : "bored",
        Shy = "shy" : "shy",
    }

    /// How long before the student was tired.
    pub enum Tired {
        UnderFive = "under_5" : "under 5 minutes",
        FiveToFifteen = "5_to_15" : "5 to 15 minutes",
        FifteenToThirty = "15_to_30" : "15 to 30 minutes",
        OverThirty = "over_30" : "over 30 minutes",
    }

    /// About how far, without a tape.
    pub enum Band {
        ArmsLength = "arms_length" : "arm's length",
        AcrossTable = "across_table" : "across the table",
        AcrossRoom = "across_room" : "across the room",
        AcrossStreet = "across_street" : "across the street",
        Farther = "farther" : "farther",
    }

    /// Whose idea it was.
    pub enum Suggested {
        Child = "child" : "the child",
        Adult = "adult" : "an adult",
    }

    /// Whether glasses were worn.
    pub enum Glasses {
        On = "on" : "on",
        Off = "off" : "off",
        HasNone = "has_none" : "has none",
    }
}

impl Place {
    /// The setting a place belongs to.
    #[must_use]
    pub const fn setting(self) -> Setting {
        match self {
            Self::OwnClass
            | Self::OtherClass
            | Self::QuietRoom
            | Self::Hallway
            | Self::Gym
            | Self::Cafeteria
            | Self::Stage => Setting::Classroom,
            Self::Home => Setting::Home,
            Self::Shop | Self::Transport | Self::Library | Self::Playground | Self::Street | Self::Elsewhere => {
                Setting::Community
            }
        }
    }
}

impl Mood {
    /// What a school form offers.
    pub const IN_CLASS: &[Self] = &[Self::Willing, Self::Neutral, Self::Upset];
    /// What a family's form offers.
    pub const AT_HOME: &[Self] = &[Self::Proud, Self::Ok, Self::Bored, Self::Shy, Self::Upset];
}

impl TaskCode {
    /// What a family's form offers besides the student's own tasks.
    pub const AT_HOME: &[Self] = &[
        Self::Tv,
        Self::FridgeList,
        Self::PriceLabel,
        Self::ShopMenuBoard,
        Self::GameBoard,
        Self::ComicOrBook,
        Self::Mail,
        Self::Phone,
        Self::HobbyOther,
    ];
    /// Whether it is met at school and seldom elsewhere.
    #[must_use]
    pub const fn is_of_school(self) -> bool {
        matches!(
            self,
            Self::BoardWords
                | Self::BoardMaths
                | Self::Projector
                | Self::TeacherDemo
                | Self::ClassChart
                | Self::ScienceDemo
                | Self::AssemblyStage
                | Self::HallwayDoorNumber
                | Self::NameOnLocker
                | Self::CafeteriaMenuBoard
                | Self::Worksheet
                | Self::Textbook
        )
    }

    /// Whether it is met at home or in town and seldom at school.
    #[must_use]
    pub const fn is_of_home(self) -> bool {
        matches!(
            self,
            Self::Tv
                | Self::FridgeList
                | Self::Mail
                | Self::MedicineLabel
                | Self::Recipe
                | Self::LabelClothing
                | Self::HouseNumber
                | Self::ShopAisleSign
                | Self::ShopMenuBoard
                | Self::PriceLabel
        )
    }

    /// What a school form offers besides the student's own tasks.
    pub const IN_CLASS: &[Self] = &[
        Self::BoardWords,
        Self::Projector,
        Self::ClassChart,
        Self::Worksheet,
        Self::Textbook,
        Self::ScreenTablet,
        Self::HobbyOther,
    ];
}

/// What was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// One of the student's own tasks.
    Task(VisualTaskId),
    /// Something of this kind.
    Kind(TaskCode),
}

/// A length in an entry: as typed or as the task has it, and which of the two.
#[derive(Debug, Clone, PartialEq)]
pub struct Length<T> {
    /// The text, with its unit.
    pub typed: String,
    /// The value.
    pub value: T,
    /// Whether it was copied from the task or its seat.
    pub from_task: bool,
}

/// How much was right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// A count.
    Counted {
        /// Right.
        right: i64,
        /// Of tried, at least one.
        tried: i64,
    },
    /// A word.
    Graded(Graded),
}

impl Outcome {
    /// A count that makes sense: at least one tried, no more right than tried.
    #[must_use]
    pub fn counted(right: i64, tried: i64) -> Option<Self> {
        (tried >= 1 && (0..=tried).contains(&right)).then_some(Self::Counted { right, tried })
    }
}

/// An entry as checked from a form. The device named stands in the gate's token.
#[derive(Clone)]
pub struct NewObservation {
    /// The day it was seen.
    pub seen_on: Date,
    /// Who told of it, as a relation and never a name; empty, the writer saw it.
    pub informant: String,
    /// What was looked at.
    pub seen: Seen,
    /// What it was, in the writer's words.
    pub what: String,
    /// Where.
    pub place: Option<Place>,
    /// Whether the device was out.
    pub device_out: DeviceOut,
    /// Why not.
    pub non_use: Option<NonUse>,
    /// Glasses on or off.
    pub glasses: Option<Glasses>,
    /// From how far.
    pub distance: Option<Length<Metres>>,
    /// About how far.
    pub band: Option<Band>,
    /// How tall the small letters were.
    pub x_height: Option<Length<Millimetres>>,
    /// How strongly it stood out.
    pub contrast: Option<ContrastClass>,
    /// What had to be recognised.
    pub target: Option<TargetClass>,
    /// Among how many.
    pub choices: Option<i64>,
    /// How much was right.
    pub outcome: Outcome,
    /// How much help.
    pub help: Option<Help>,
    /// How fast.
    pub pace: Option<Pace>,
    /// How the eyes felt.
    pub comfort: Option<Comfort>,
    /// How the student felt.
    pub mood: Option<Mood>,
    /// How long before tired.
    pub tired: Option<Tired>,
    /// Whose idea.
    pub suggested: Option<Suggested>,
    /// Anything else, in the writer's words.
    pub note: String,
    /// The language of the note.
    pub language: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_count_of_more_than_was_tried_is_none() {
        assert_eq!(Outcome::counted(3, 8), Some(Outcome::Counted { right: 3, tried: 8 }));
        for (right, tried) in [(9, 8), (-1, 8), (0, 0), (1, -1)] {
            assert_eq!(Outcome::counted(right, tried), None, "{right} of {tried}");
        }
    }

    #[test]
    fn no_form_of_a_family_or_a_class_offers_a_street_task() {
        for code in TaskCode::AT_HOME.iter().chain(TaskCode::IN_CLASS) {
            assert!(!code.for_mobility_specialist(), "{code}");
        }
    }

    #[test]
    fn no_place_is_walked_through() {
        for place in Place::ALL {
            assert!(!place.words().contains("walk"), "{place}");
        }
    }
}
