//! What a clinician finds and answers: acuity rows, refraction, the other
//! findings, and one answer per track.
//!
//! Plain data with the lists of the trade. An acuity row keeps what was written
//! beside the value it was read as; a category has no value and never gets one.
//! Does not know what was typed into which field of a form, nor who may read
//! it. Read next: [`crate::vision::acuity`], then `store::evaluation`.

pub mod comparable;

mod lists;
mod paper;
mod texts;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::ids::{AccountId, AcuityId, EvaluationId};
use super::journey::fact::Safe;
use super::named_device::NamedDevice;
use super::track::{DeviceKind, Track};
use super::typed::Typed;
use crate::vision::acuity::letters::Chart;
use crate::vision::acuity::{Acuity, Category, LogMar, notation};
use crate::vision::refraction::Lens;
use crate::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres, OutOfRange};

pub use paper::{ConfirmedBy, MAY_BE_UNSTATED, NewPaper, NewStated, Paper, Report, Stated};

pub use lists::{
    Alignment, ChartType, ColourVision, ContrastMethod, Correction, Course, Effort, FieldMethod, FieldPattern, Gaze,
    Glare, HowRecorded, Nystagmus, Onset, OtherAdvice, PreferredEye, PrismBase, RefractionMethod, RoomLight, Section,
    Sight, State, TestedEye, TrackChoice,
};

/// The farthest a near test is read, in metres. Common practice.
pub const NEAR_LIMIT_M: f64 = 0.6;

impl From<notation::Notation> for HowRecorded {
    fn from(notation: notation::Notation) -> Self {
        match notation {
            notation::Notation::Feet => Self::Feet,
            notation::Notation::Metres => Self::Metres,
            notation::Notation::PrintedFraction => Self::PrintedFraction,
            notation::Notation::Decimal => Self::Decimal,
            notation::Notation::LogMar => Self::LogMar,
            notation::Notation::Var => Self::Var,
            notation::Notation::Letters => Self::Letters,
            notation::Notation::Near => Self::Near,
            notation::Notation::Category => Self::Category,
        }
    }
}

impl HowRecorded {
    /// The notation as `vision` names it, for reading the text again.
    #[must_use]
    pub const fn notation(self) -> notation::Notation {
        match self {
            Self::Feet => notation::Notation::Feet,
            Self::Metres => notation::Notation::Metres,
            Self::PrintedFraction => notation::Notation::PrintedFraction,
            Self::Decimal => notation::Notation::Decimal,
            Self::LogMar => notation::Notation::LogMar,
            Self::Var => notation::Notation::Var,
            Self::Letters => notation::Notation::Letters,
            Self::Near => notation::Notation::Near,
            Self::Category => notation::Notation::Category,
        }
    }
}

/// What a test of sight found: a value, or a category without one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// A value that may be computed with.
    Measured(LogMar),
    /// A category; how far the fingers were stands in what was written.
    Category(Sight),
}

impl From<Acuity> for Finding {
    fn from(acuity: Acuity) -> Self {
        match acuity {
            Acuity::Measured(measured) => Self::Measured(measured.logmar()),
            Acuity::Category(Category::CountsFingers { .. }) => Self::Category(Sight::CountsFingers),
            Acuity::Category(Category::HandMovement { .. }) => Self::Category(Sight::HandMovement),
            Acuity::Category(Category::LightPerception) => Self::Category(Sight::LightPerception),
            Acuity::Category(Category::NoLightPerception) => Self::Category(Sight::NoLightPerception),
        }
    }
}

impl Finding {
    /// The value, if there is one.
    #[must_use]
    pub const fn logmar(self) -> Option<LogMar> {
        match self {
            Self::Measured(logmar) => Some(logmar),
            Self::Category(_) => None,
        }
    }
}

/// The device that an acuity was measured through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThroughDevice {
    /// Its kind.
    pub kind: DeviceKind,
    /// Its power, for a telescope or an electronic device.
    pub power: Option<Magnification>,
    /// Its equivalent power, for a magnifier.
    pub equivalent: Option<Dioptres>,
}

/// The rows of the letter chart that a count refers to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ChartRows {
    /// The logMAR of the largest row.
    pub top: f64,
    /// The step from row to row, in log units.
    pub step: f64,
    /// Letters in a row.
    pub letters: u32,
    /// The distance for which the rows are named, in metres; none, the test distance.
    pub named_for_m: Option<f64>,
}

impl ChartRows {
    /// The chart these rows make.
    ///
    /// # Errors
    /// A row, a step or a count that no chart has.
    pub fn chart(self) -> Result<Chart, OutOfRange> {
        let chart = Chart::new(LogMar::new(self.top)?, self.step, self.letters)?;
        match self.named_for_m {
            Some(metres) => Ok(chart.designed_for(Metres::new(metres)?)),
            None => Ok(chart),
        }
    }
}

/// One acuity row: eye, correction, distance and notation, or it is not one.
#[derive(Clone, PartialEq)]
pub struct NewAcuity {
    /// The eye.
    pub eye: TestedEye,
    /// What was worn.
    pub correction: Correction,
    /// How far away the chart or the page was.
    pub distance: Typed<Metres>,
    /// How it was written down.
    pub notation: HowRecorded,
    /// What was written, which is the record.
    pub as_recorded: String,
    /// What it was read as.
    pub finding: Finding,
    /// What was shown.
    pub chart: Option<ChartType>,
    /// The rows of the chart, for a count of letters.
    pub rows: Option<ChartRows>,
    /// How far it may be relied on.
    pub effort: Option<Effort>,
    /// The light of the room.
    pub light: Option<RoomLight>,
    /// The device it was measured through; none unless the correction says so.
    pub device: Option<ThroughDevice>,
    /// Anything else.
    pub note: String,
    /// What was unusual and confirmed.
    pub confirmed: String,
}

impl NewAcuity {
    /// Whether it is a near acuity.
    #[must_use]
    pub fn is_near(&self) -> bool {
        self.distance.value.get() <= NEAR_LIMIT_M
    }
}

/// An acuity row as it stands in an evaluation.
#[derive(Clone, PartialEq)]
pub struct AcuityRow {
    /// Its id.
    pub id: AcuityId,
    /// The evaluation it stands in.
    pub evaluation: EvaluationId,
    /// The day of the examination, once it is known.
    pub examined_on: Option<Date>,
    /// What was found.
    pub row: NewAcuity,
}

/// The refraction of one eye.
#[derive(Clone, PartialEq)]
pub struct Refraction {
    /// Sphere, cylinder and axis.
    pub lens: Lens,
    /// The near addition.
    pub add: Option<Dioptres>,
    /// The prism, with its base.
    pub prism: Option<(f64, PrismBase)>,
    /// How it was found.
    pub method: Option<RefractionMethod>,
    /// The line as typed.
    pub typed: String,
    /// What was unusual and confirmed.
    pub confirmed: String,
}

/// Contrast sensitivity.
#[derive(Clone, PartialEq)]
pub struct Contrast {
    /// As typed.
    pub typed: String,
    /// In log units.
    pub log: f64,
    /// The eye.
    pub eye: Option<TestedEye>,
    /// How it was measured.
    pub method: Option<ContrastMethod>,
}

/// The widest extent of a field, in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Extent {
    /// Across.
    pub across: Option<Degrees>,
    /// Up and down.
    pub upright: Option<Degrees>,
}

/// Whatever is found beside acuity and refraction.
#[derive(Clone, PartialEq, Default)]
pub struct Findings {
    /// Contrast sensitivity.
    pub contrast: Option<Contrast>,
    /// How the field was measured.
    pub field_method: Option<FieldMethod>,
    /// What it looks like.
    pub field_pattern: Vec<FieldPattern>,
    /// The field in the clinician's words.
    pub field_note: String,
    /// The right eye's field.
    pub field_right: Extent,
    /// The left eye's field.
    pub field_left: Extent,
    /// Both eyes' field.
    pub field_both: Extent,
    /// Colour vision.
    pub colour: Option<ColourVision>,
    /// Glare indoors.
    pub glare_indoor: Option<Glare>,
    /// Glare outdoors.
    pub glare_outdoor: Option<Glare>,
    /// The filter tried.
    pub filter_note: String,
    /// Its transmission in percent.
    pub filter_transmission: Option<i64>,
    /// How the eyes stand to each other.
    pub alignment: Option<Alignment>,
    /// Which eye, how much, always or at times.
    pub alignment_note: String,
    /// Nystagmus.
    pub nystagmus: Option<Nystagmus>,
    /// When it began.
    pub nystagmus_onset: Option<Onset>,
    /// Where the eyes look when they see best.
    pub best_gaze: Option<Gaze>,
    /// How far to that side, in degrees.
    pub best_gaze_degrees: Option<i64>,
    /// The preferred eye.
    pub preferred_eye: Option<PreferredEye>,
    /// The pupil in ordinary room light.
    pub pupil: Option<Millimetres>,
    /// Amplitude of accommodation.
    pub accommodation: Option<Dioptres>,
    /// The diagnosis in the clinician's own words.
    pub diagnosis: String,
    /// Where it is going.
    pub course: Option<Course>,
    /// Advice on light.
    pub lighting_advice: String,
    /// The light that suits, in lux.
    pub lighting_lux: Option<i64>,
    /// Advice on the seat.
    pub seating_advice: String,
    /// Advice that needs no device.
    pub other_advice: Vec<OtherAdvice>,
    /// The same in words.
    pub other_advice_note: String,
}

/// What an evaluation answers for one track.
#[derive(Clone, PartialEq)]
pub struct TrackAnswer {
    /// The track.
    pub track: Track,
    /// The answer.
    pub choice: TrackChoice,
    /// Whether training is safe; `not stated` where no device is trained with.
    pub safe: Safe,
    /// Limits, or why it is not safe.
    pub limits: String,
    /// What to train for.
    pub training_tasks: String,
    /// The devices, any of which will do; only with [`TrackChoice::Devices`].
    pub devices: Vec<NamedDevice>,
}

/// An evaluation, whole.
#[derive(Clone)]
pub struct Evaluation {
    /// Its id.
    pub id: EvaluationId,
    /// Where it stands.
    pub state: State,
    /// The day of the examination.
    pub examined_on: Option<Date>,
    /// Who examined, by name.
    pub examiner: String,
    /// Where.
    pub place: String,
    /// Who entered it.
    pub created_by: AccountId,
    /// When it was begun.
    pub created_at: Timestamp,
    /// Acuity rows, in order.
    pub acuities: Vec<AcuityRow>,
    /// The right eye's refraction.
    pub right: Option<Refraction>,
    /// The left eye's refraction.
    pub left: Option<Refraction>,
    /// The other findings.
    pub findings: Findings,
    /// The answers given so far.
    pub answers: Vec<TrackAnswer>,
    /// When the next evaluation is due.
    pub next_due_on: Option<Date>,
    /// When it was signed, or filed.
    pub signed_at: Option<Timestamp>,
    /// The signed one whose place it takes.
    pub supersedes: Option<EvaluationId>,
    /// What a transcribed report has besides; none for one made here.
    pub paper: Option<Paper>,
    /// For edits by two people.
    pub version: i64,
}

/// An evaluation in which nothing is missing, at one version of its draft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Complete {
    evaluation: EvaluationId,
    examined_on: Date,
    version: i64,
}

impl Complete {
    /// Which evaluation.
    #[must_use]
    pub const fn evaluation(self) -> EvaluationId {
        self.evaluation
    }

    /// The day of the examination.
    #[must_use]
    pub const fn examined_on(self) -> Date {
        self.examined_on
    }

    /// The version of the draft that was looked at.
    #[must_use]
    pub const fn version(self) -> i64 {
        self.version
    }
}

impl Evaluation {
    /// The evidence that it may be signed.
    ///
    /// # Errors
    /// What is missing, in words.
    pub fn complete(&self) -> Result<Complete, Vec<&'static str>> {
        let missing = self.missing();
        match self.examined_on {
            Some(examined_on) if missing.is_empty() => {
                Ok(Complete { evaluation: self.id, examined_on, version: self.version })
            }
            _ => Err(missing),
        }
    }

    /// The answer for a track, if it was given.
    #[must_use]
    pub fn answer(&self, track: Track) -> Option<&TrackAnswer> {
        self.answers.iter().find(|answer| answer.track == track)
    }

    /// What is missing before it can be signed, in words; empty, nothing.
    #[must_use]
    pub fn missing(&self) -> Vec<&'static str> {
        [
            (self.examined_on.is_some(), "the day of the examination"),
            (!self.acuities.is_empty(), "at least one acuity row"),
            (self.answer(Track::Distance).is_some(), "an answer for the distance track"),
            (self.answer(Track::Near).is_some(), "an answer for the near track"),
            (self.next_due_on.is_some(), "the day the next evaluation is due"),
        ]
        .into_iter()
        .filter_map(|(there, what)| (!there).then_some(what))
        .collect()
    }
}
