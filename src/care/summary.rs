//! What does a training summary say, in figures?
//!
//! [`Figures`] are drafted from plain rows by [`draft`] and, once sent, frozen
//! as JSON: every name carries its unit, every rate its count. A figure from
//! fewer than [`ENOUGH`] tries is the bare count and no rate.
//! Does not know who may read what: [`Scope`] says which settings may go in, and
//! what was left out is named. Does not know tables; `store::summary` makes the
//! rows. Read next: [`draft`].

mod counted;
mod draft;
mod told;

use std::collections::BTreeSet;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::codes::codes;
use super::consent::{Category, Consent, Direction, Party};
use super::device::DeviceSpec;
use super::ids::{ObservationId, SessionId};
use super::skill::{Prompt, Skill};
use super::track::Track;
use crate::vision::skill::{Level, success_rate};

pub use super::observation::Setting;
pub use counted::{Counted, CountedEntry, EntryId, counted};
pub use draft::draft;
pub use told::rate_words;

/// The fewest tries from which a rate is told. Source: common practice, the
/// items of one session in the mastery rule.
pub const ENOUGH: u32 = 5;
/// Sessions at each end whose prompt levels are compared. Source:
/// `practice.md` 2.9, common practice.
pub const PROMPT_SESSIONS: usize = 3;
/// The fewest sessions, on [`LEAST_DATES`] dates, that need no reason.
/// Source: `practice.md` 2.9, common practice.
pub const LEAST_SESSIONS: u32 = 3;
/// The fewest dates those sessions are on.
pub const LEAST_DATES: u32 = 2;
/// The most quotes of one speaker in a summary; the rest are counted.
pub const MOST_QUOTES: usize = 8;

codes! {
    /// Whose words are quoted.
    pub enum Speaker {
        Student = "student" : "the student",
        Parent = "parent" : "a parent",
        ClassroomTeacher = "classroom_teacher" : "the classroom teacher",
        VisionTeacher = "vision_teacher" : "the vision teacher",
    }

    /// What kind of session an exercise was part of.
    pub enum Trial {
        WithDevice = "with_device" : "with the device",
        WithoutDevice = "without_device" : "without a device",
        Baseline = "baseline" : "baseline, no teaching",
    }

    /// What was changed between entries.
    pub enum Changed {
        Seat = "seat" : "seat",
        Letters = "letters" : "size of the small letters",
        Contrast = "contrast" : "contrast",
        Light = "light" : "light",
    }
}

/// What may go in: the categories of the consents that cover the clinic.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Scope(pub BTreeSet<Category>);

impl Scope {
    /// What the consents in force on a day let go to one clinic.
    #[must_use]
    pub fn toward(consents: &[Consent], clinic: Option<&Party>, on: Date) -> Self {
        let way = Direction::SchoolToClinic;
        let covering = consents.iter().filter(|consent| Some(&consent.to) == clinic && consent.counts(on, way));
        Self(covering.flat_map(|consent| consent.categories.iter().copied()).filter(|one| one.goes(way)).collect())
    }

    /// Whether records of this kind may go in.
    #[must_use]
    pub fn has(&self, category: Category) -> bool {
        self.0.contains(&category)
    }

    /// What the summary would count and may not, in words.
    #[must_use]
    pub fn left_out(&self) -> Vec<String> {
        [Category::Training, Category::ClassObservations, Category::HomeObservations, Category::Devices]
            .into_iter()
            .filter(|category| !self.has(*category))
            .map(|category| category.words().to_owned())
            .collect()
    }
}

/// A device in a session or an observation: which one, of those in [`Rows`].
pub type DeviceKey = String;

/// A device that was used, on loan or own.
#[derive(Clone, PartialEq)]
pub struct DeviceRow {
    /// Tells it apart.
    pub key: DeviceKey,
    /// Kind and strength.
    pub short: String,
    /// The whole specification in one line.
    pub line: String,
    /// Its tag; empty when none.
    pub tag: String,
    /// The eye it is used with, in words.
    pub eye: String,
    /// What it is, for the rules.
    pub spec: DeviceSpec,
    /// Whether it is the student's own.
    pub own: bool,
    /// The day it came.
    pub from: Date,
    /// The day it went back; none, it is still here.
    pub to: Option<Date>,
}

/// A training session.
#[derive(Clone, PartialEq)]
pub struct SessionRow {
    /// Which session.
    pub id: SessionId,
    /// The version it stands at.
    pub version: i64,
    /// The day.
    pub on: Date,
    /// How long.
    pub minutes: u32,
    /// The place.
    pub place: String,
    /// The light, a code; empty when not said.
    pub light: String,
    /// The device used.
    pub device: Option<DeviceKey>,
    /// Whether it was a probe without teaching.
    pub baseline: bool,
    /// How it felt, a code; empty when not said.
    pub comfort: String,
    /// Symptoms, as codes.
    pub symptoms: Vec<String>,
    /// Whether the student refused.
    pub refused: bool,
    /// Why, a code or words.
    pub refused_reason: String,
    /// Why a later skill came before an earlier one was steady; empty, none did.
    pub order_reason: String,
    /// What was practised.
    pub exercises: Vec<ExerciseRow>,
}

/// An exercise of a session.
#[derive(Clone, PartialEq)]
pub struct ExerciseRow {
    /// The skill.
    pub skill: Skill,
    /// The task it served, by name.
    pub task: Option<String>,
    /// Items tried.
    pub tried: Option<u32>,
    /// Items right.
    pub right: Option<u32>,
    /// The help it took.
    pub prompt: Option<Prompt>,
    /// Distance, in metres.
    pub distance_m: Option<f64>,
    /// Height of the small letters, in millimetres.
    pub x_height_mm: Option<f64>,
}

/// What somebody saw outside training.
#[derive(Clone, PartialEq)]
pub struct ObservationRow {
    /// Which observation.
    pub id: ObservationId,
    /// The version it stands at.
    pub version: i64,
    /// The day.
    pub on: Date,
    /// Where.
    pub setting: Setting,
    /// The task, by name.
    pub task: String,
    /// The track of the task or the device; none when neither says.
    pub track: Option<Track>,
    /// The device used.
    pub device: Option<DeviceKey>,
    /// Whether the device was out, a code.
    pub device_out: String,
    /// Why it was not, a code.
    pub non_use_reason: String,
    /// Distance, in metres.
    pub distance_m: Option<f64>,
    /// Height of the small letters, in millimetres.
    pub x_height_mm: Option<f64>,
    /// Contrast class, a code.
    pub contrast: String,
    /// Right ones.
    pub right: Option<u32>,
    /// Of those tried.
    pub tried: Option<u32>,
    /// The graded answer, a code.
    pub graded: String,
    /// The help it took, a code.
    pub help: String,
    /// How it felt, a code.
    pub comfort: String,
    /// The note, in the words of whoever entered it.
    pub note: String,
    /// Who speaks.
    pub by: Speaker,
    /// Whether its text may be read by others than the one who entered it.
    pub locked: bool,
    /// What its writer was asked about a length and has not answered; empty,
    /// nothing waits.
    pub asked: String,
}

/// Everything a draft is made of, for one track and range of days.
#[derive(Clone, Default, PartialEq)]
pub struct Rows {
    /// Devices on loan or own, in the range.
    pub devices: Vec<DeviceRow>,
    /// Sessions of the track.
    pub sessions: Vec<SessionRow>,
    /// Observations of the track, and those that name no track.
    pub observations: Vec<ObservationRow>,
}

/// Right ones of those tried, unprompted, with what makes it honest.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Counts {
    /// Right ones.
    pub right: u32,
    /// Tried.
    pub tried: u32,
    /// Entries they come from.
    pub entries: u32,
    /// Wilson's interval, 95 in 100, as shares from 0 to 1; none from fewer
    /// than [`ENOUGH`] tries.
    pub interval_95: Option<(f64, f64)>,
}

impl Counts {
    /// Adds an entry.
    pub fn add(&mut self, right: u32, tried: u32) {
        self.right += right.min(tried);
        self.tried += tried;
        self.entries += 1;
        let known = success_rate(self.right, self.tried, Level::NinetyFive).ok();
        self.interval_95 = known.filter(|_| self.tried >= ENOUGH).map(|rate| (rate.low.get(), rate.high.get()));
    }
}

/// Answers in words, which are counted apart from right of tried.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Graded {
    /// None right.
    pub none: u32,
    /// Some.
    pub some: u32,
    /// More than half, but not all.
    pub most: u32,
    /// All.
    pub all: u32,
}

/// The smallest and the largest of a measure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Range {
    /// The smallest.
    pub low: f64,
    /// The largest.
    pub high: f64,
}

/// One task in one setting, with one device or without.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TaskFigures {
    /// The task.
    pub task: String,
    /// Where.
    pub setting: Setting,
    /// The device, kind and strength; empty, without one.
    pub device: String,
    /// Unprompted items.
    pub counts: Counts,
    /// Unprompted answers in words.
    pub graded: Graded,
    /// Entries with help, refused, not sure or without a result: counted as use
    /// only.
    pub use_only: u32,
    /// Distances, in metres.
    pub distance_m: Option<Range>,
    /// Heights of the small letters, in millimetres.
    pub x_height_mm: Option<Range>,
}

/// A device and how much it was trained with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DeviceFigures {
    /// Which device, as the rows tell it apart.
    pub key: DeviceKey,
    /// Kind and strength.
    pub short: String,
    /// The whole specification.
    pub device: String,
    /// Its tag; empty when none, or outside the consent.
    pub tag: String,
    /// The eye, in words.
    pub eye: String,
    /// Whether it is the student's own.
    pub own: bool,
    /// The day it came.
    pub from: Date,
    /// The day it went back; none, it is still here.
    pub to: Option<Date>,
    /// Sessions with it.
    pub sessions: u32,
    /// Their minutes together.
    pub minutes: u32,
}

/// One skill, in one kind of session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SkillFigures {
    /// The skill.
    pub skill: Skill,
    /// In which kind of session.
    pub trial: Trial,
    /// Unprompted items.
    pub unprompted: Counts,
    /// Items done with help: found with help, never in the rate.
    pub helped_right: u32,
    /// Of those tried with help.
    pub helped_tried: u32,
}

/// Prompt levels at both ends; 5 is no prompt.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Prompts {
    /// Sessions with a prompt level.
    pub sessions: u32,
    /// The median of all their exercises.
    pub median_all: Option<f64>,
    /// The median of the first three sessions; needs six.
    pub median_first_3: Option<f64>,
    /// The median of the last three.
    pub median_last_3: Option<f64>,
}

/// How often something was said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// What, a code.
    pub what: String,
    /// How often.
    pub times: u32,
}

/// Use outside sessions.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct UseOutside {
    /// Days in class with an answer to "device out?".
    pub class_days_asked: u32,
    /// Of those, days on which it was out.
    pub class_days_out: u32,
    /// Entries from home.
    pub home_entries: u32,
    /// Of those, with the device out.
    pub home_out: u32,
    /// Entries from the community.
    pub community_entries: u32,
    /// Of those, with the device out.
    pub community_out: u32,
    /// Answers to "device out?" other than yes, each apart.
    pub not_out: Vec<Tally>,
    /// Reasons for not using it, each apart.
    pub reasons: Vec<Tally>,
    /// Sessions the student refused, by reason: data, not a failure.
    pub refused_sessions: Vec<Tally>,
}

/// What was changed, and how it went at each value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChangeFigures {
    /// What was changed.
    pub changed: Changed,
    /// To what.
    pub to: String,
    /// With which device, kind and strength; empty, without one.
    pub device: String,
    /// Unprompted items at that value with that device, all tasks together.
    pub counts: Counts,
}

/// Somebody's words.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Quote {
    /// Whose.
    pub by: Speaker,
    /// The day they are about.
    pub on: Date,
    /// Where.
    pub setting: Setting,
    /// The words as entered.
    pub words: String,
}

/// An entry left out until its writer answers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unanswered {
    /// The day.
    pub on: Date,
    /// Where.
    pub setting: Setting,
    /// What was asked.
    pub asked: String,
}

/// One session as the appendix lists it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionFigures {
    /// The day.
    pub on: Date,
    /// How long.
    pub minutes: u32,
    /// The device; empty, none.
    pub device: String,
    /// Whether it was a probe without teaching.
    pub baseline: bool,
    /// Whether the student refused.
    pub refused: bool,
    /// The skills practised, in words.
    pub skills: String,
    /// Why a later skill came first (G5); empty, none did. Summaries sent before
    /// this was told hold nothing here.
    #[serde(default)]
    pub order_reason: String,
    /// Unprompted items.
    pub counts: Counts,
}

/// The figures of a summary.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// The track.
    pub track: Track,
    /// The first day counted.
    pub from: Date,
    /// The last day counted.
    pub to: Date,
    /// Sessions held, refused ones too.
    pub sessions: u32,
    /// Dates they were held on.
    pub session_dates: u32,
    /// Their minutes together.
    pub minutes: u32,
    /// Devices, oldest first.
    pub devices: Vec<DeviceFigures>,
    /// Tasks by setting and device.
    pub tasks: Vec<TaskFigures>,
    /// Skills.
    pub skills: Vec<SkillFigures>,
    /// Prompts.
    pub prompts: Prompts,
    /// Use outside sessions.
    pub outside: UseOutside,
    /// How it felt, all settings.
    pub comfort: Vec<Tally>,
    /// Symptoms in sessions.
    pub symptoms: Vec<Tally>,
    /// What was changed.
    pub changes: Vec<ChangeFigures>,
    /// Words of others, newest first.
    pub quotes: Vec<Quote>,
    /// Notes not quoted: younger than the lock, or beyond the most quoted.
    pub quotes_more: u32,
    /// Every session.
    pub session_list: Vec<SessionFigures>,
    /// Observations whose task and device name no track: in no table.
    pub without_track: u32,
    /// Observations whose writer has not answered a question about a length: in no
    /// figure of results or sizes. Summaries sent before this was asked hold none.
    #[serde(default)]
    pub unanswered: Vec<Unanswered>,
    /// What the consent does not cover, in words.
    pub left_out: Vec<String>,
}

impl Figures {
    /// The specifications of the devices these figures are about.
    #[must_use]
    pub fn covered(&self, rows: &Rows) -> Vec<DeviceSpec> {
        let about = |device: &&DeviceRow| self.devices.iter().any(|one| one.key == device.key);
        rows.devices.iter().filter(about).map(|device| device.spec.clone()).collect()
    }

    /// Whether fewer sessions were held than a summary without a reason needs.
    #[must_use]
    pub const fn few(&self) -> bool {
        self.sessions < LEAST_SESSIONS || self.session_dates < LEAST_DATES
    }
}
