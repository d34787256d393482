//! What is written down about a training session and its exercises?
//!
//! Counts and times as they were counted, the help an exercise took, and where
//! it was done; whatever a figure about progress needs later is kept with the
//! exercise: distance, height of the target, tries, right ones, help.
//! Does not know rates or whether a skill is steady; read [`super::skill`].

pub mod texts;

use jiff::Timestamp;
use jiff::civil::Date;

use super::codes::codes;
use super::flag::Sign;
use super::gates::Named;
use super::ids::{AccountId, ExerciseId, SessionId, VisualTaskId};
use super::skill::{Prompt, Skill};
use super::task::LightLevel;
use super::track::Track;
use super::typed::Typed;
use crate::vision::units::{Metres, Seconds};

/// The most exercises one session holds.
pub const MOST_EXERCISES: usize = 5;

codes! {
    /// Where training takes place. Two of them are two places to the mastery rule.
    pub enum Place {
        QuietRoom = "quiet_room" : "quiet room",
        OwnClass = "own_class" : "own class",
        OtherClass = "other_class" : "another class",
        Hallway = "hallway" : "hallway",
        Gym = "gym" : "gym",
        Cafeteria = "cafeteria" : "cafeteria",
        Stage = "stage" : "assembly or stage",
        Playground = "playground" : "playground",
        Street = "street" : "street or crossing",
        Transport = "transport" : "bus or car",
        Shop = "shop" : "shop",
        Library = "library" : "library",
        Home = "home" : "home",
        Other = "other" : "another place",
    }

    /// How the student is placed. Nobody walks while looking through a device.
    pub enum Body {
        Seated = "seated" : "seated",
        StandingStill = "standing_still" : "standing still",
        InVehicle = "in_vehicle" : "seated in a vehicle",
    }

    /// Whether the student wore glasses.
    pub enum Glasses {
        On = "on" : "on",
        Off = "off" : "off",
        HasNone = "none" : "has none",
    }

    /// How the student felt.
    pub enum Comfort {
        Fine = "0" : "fine",
        BitTired = "1" : "a bit tired",
        Tired = "2" : "tired",
        Stop = "3" : "wanted to stop",
    }

    /// What the student felt that is no red flag; a red flag is a [`Sign`].
    pub enum Symptom {
        SoreEyes = "sore_eyes" : "sore eyes",
        Watering = "watering" : "watering eyes",
        Headache = "headache" : "headache",
        Dizzy = "dizzy" : "dizzy",
        Sick = "sick" : "felt sick",
        TiredArm = "tired_arm" : "tired arm or neck",
    }
}

impl Place {
    /// Whether only a mobility specialist trains there.
    #[must_use]
    pub const fn for_mobility_only(self) -> bool {
        matches!(self, Self::Street)
    }
}

/// A session as it is entered.
#[derive(Clone, PartialEq)]
pub struct NewSession {
    /// The track it is part of.
    pub track: Track,
    /// The device used, or none.
    pub device: Named,
    /// A probe without teaching, to compare with later.
    pub baseline: bool,
    /// The day.
    pub held_on: Date,
    /// How long it took, in minutes, 1 to 120.
    pub minutes: i64,
    /// Where.
    pub place: Place,
    /// The light there.
    pub light: Option<LightLevel>,
    /// How the student was placed.
    pub body: Body,
    /// Glasses on or off.
    pub glasses: Option<Glasses>,
    /// How the student felt.
    pub comfort: Option<Comfort>,
    /// What the student felt.
    pub symptoms: Vec<Symptom>,
    /// Red flags that came up.
    pub signs: Vec<Sign>,
    /// Why the student refused, if so; may be empty.
    pub refused: Option<String>,
    /// Why a later skill came before an earlier one was steady; may be empty.
    pub order_reason: String,
    /// Anything else.
    pub note: String,
    /// The exercises, in order; none only when the student refused.
    pub exercises: Vec<NewExercise>,
}

/// An exercise as it is entered.
#[derive(Clone, PartialEq)]
pub struct NewExercise {
    /// What it trains.
    pub skill: Skill,
    /// What was done, in a few words.
    pub item: String,
    /// The thing to be seen that it practises.
    pub task: Option<VisualTaskId>,
    /// How far away the target was.
    pub distance: Option<Typed<Metres>>,
    /// How tall its small letters were.
    pub x_height: Option<Typed<Metres>>,
    /// Items tried.
    pub tries: Option<u32>,
    /// Items right, of those tried.
    pub right: Option<u32>,
    /// The median time of an item.
    pub median: Option<Seconds>,
    /// How long a moving target was in view.
    pub in_view: Option<Seconds>,
    /// How long the exercise went on, over which what was right or lost is
    /// counted a minute; for a moving target, how long it was shown.
    pub shown: Option<Seconds>,
    /// How often it was lost.
    pub losses: Option<u32>,
    /// The help it took.
    pub prompt: Prompt,
    /// How often help was given.
    pub prompt_count: Option<u32>,
    /// Whether the student noticed and mended a mistake alone.
    pub self_corrected: bool,
}

/// A session as it is kept.
#[derive(Clone, PartialEq)]
pub struct Session {
    /// Which session.
    pub id: SessionId,
    /// What was entered; its exercises stand in [`Session::exercises`].
    pub entered: NewSession,
    /// The exercises' own ids, in the order of the exercises.
    pub exercise_ids: Vec<ExerciseId>,
    /// Who entered it.
    pub by: AccountId,
    /// Who entered it, by name.
    pub by_name: String,
    /// When it was entered.
    pub entered_at: Timestamp,
}

impl Session {
    /// The exercises with their ids.
    pub fn exercises(&self) -> impl Iterator<Item = (ExerciseId, &NewExercise)> {
        self.exercise_ids.iter().copied().zip(&self.entered.exercises)
    }
}

/// An exercise without any help, as an observation of the setting `training`.
#[derive(Clone, PartialEq)]
pub struct Unprompted {
    /// Which exercise.
    pub exercise: ExerciseId,
    /// The session it was part of.
    pub session: SessionId,
    /// The day.
    pub on: Date,
    /// The track.
    pub track: Track,
    /// The device used, or none.
    pub device: Named,
    /// The thing to be seen that it practised.
    pub task: Option<VisualTaskId>,
    /// How far away the target was, in metres.
    pub distance: Metres,
    /// How tall its small letters were, in metres.
    pub x_height: Metres,
    /// Items tried.
    pub tries: u32,
    /// Items right, of those tried.
    pub right: u32,
}

impl Session {
    /// The exercises that took no help and say how far, how tall and how many
    /// were right: each is an observation of the setting `training`.
    pub fn unprompted(&self) -> impl Iterator<Item = Unprompted> {
        self.exercises().filter(|(_, exercise)| exercise.prompt == Prompt::None).filter_map(|(id, exercise)| {
            Some(Unprompted {
                exercise: id,
                session: self.id,
                on: self.entered.held_on,
                track: self.entered.track,
                device: self.entered.device,
                task: exercise.task,
                distance: exercise.distance.as_ref()?.value,
                x_height: exercise.x_height.as_ref()?.value,
                tries: exercise.tries.filter(|tries| *tries > 0)?,
                right: exercise.right?,
            })
        })
    }
}
