//! What the clinic finds, recommends and prescribes, as rows.

use jiff::Timestamp;
use jiff::civil::Date;

use super::Coded;
use crate::care::device::DeviceSpec;
use crate::care::prescription::State;
use crate::care::track::{DeviceKind, Track};

/// A signed evaluation.
#[derive(Clone)]
pub struct Evaluation {
    /// Id.
    pub id: String,
    /// Day of the examination.
    pub examined_on: Option<Date>,
    /// Who examined, by name.
    pub examiner: String,
    /// The account of a clinician who made it here; none for a transcription.
    pub examiner_id: Option<String>,
    /// Who wrote it down.
    pub author_id: String,
    /// When it was signed or filed.
    pub signed_at: Timestamp,
    /// Where it stands.
    pub standing: Standing,
    /// The diagnosis in the clinician's words.
    pub diagnosis: String,
    /// Acuity rows.
    pub acuities: Vec<Acuity>,
    /// Refraction, at most one row for each eye.
    pub refractions: Vec<Refraction>,
    /// What it answers for the tracks.
    pub answers: Vec<Answer>,
    /// How often it was saved.
    pub version: i64,
}

/// How far a signed document counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It counts.
    Final,
    /// Transcribed from paper, and no clinician confirmed it yet.
    Unconfirmed,
    /// A newer one has taken its place.
    Superseded,
    /// It counts as never signed.
    EnteredInError,
}

impl Standing {
    /// Its code in a table.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Final => "final",
            Self::Unconfirmed => "transcribed_not_confirmed",
            Self::Superseded => "superseded",
            Self::EnteredInError => "entered_in_error",
        }
    }
}

/// One acuity row.
#[derive(Clone)]
pub struct Acuity {
    /// Id.
    pub id: String,
    /// The eye.
    pub eye: Coded,
    /// What was worn.
    pub correction: Coded,
    /// Test distance in metres.
    pub distance_m: f64,
    /// Test distance as typed.
    pub distance_typed: String,
    /// Whether it is a near acuity.
    pub near: bool,
    /// How it was written down.
    pub notation: Coded,
    /// What was written down.
    pub as_recorded: String,
    /// The value; none for a category.
    pub logmar: Option<f64>,
    /// The category; none for a value.
    pub category: Option<Coded>,
    /// What was shown.
    pub target: Option<Coded>,
    /// The light of the room.
    pub light: Option<Coded>,
    /// How far it may be relied on.
    pub effort: Option<Coded>,
    /// The device it was measured through.
    pub through: Option<Through>,
    /// Anything else.
    pub note: String,
}

/// The device an acuity was measured through.
#[derive(Debug, Clone, Copy)]
pub struct Through {
    /// Its kind.
    pub kind: DeviceKind,
    /// Its magnification.
    pub power: Option<f64>,
    /// Its equivalent power in dioptres.
    pub equivalent_d: Option<f64>,
}

/// A lens for one eye: found, or prescribed.
#[derive(Debug, Clone, PartialEq)]
pub struct Refraction {
    /// Whether it is the right eye; else the left.
    pub right: bool,
    /// Sphere in dioptres.
    pub sphere_d: f64,
    /// Cylinder in dioptres; none, there is none.
    pub cylinder_d: Option<f64>,
    /// Axis of the cylinder in whole degrees, 1 to 180.
    pub axis_deg: Option<u16>,
    /// Near addition in dioptres.
    pub add_d: Option<f64>,
    /// Prism in prism dioptres.
    pub prism_d: Option<f64>,
    /// Where its base points.
    pub prism_base: Option<Coded>,
    /// How it was found.
    pub method: Option<Coded>,
    /// As typed.
    pub typed: String,
}

/// What an evaluation answers for one track.
#[derive(Clone)]
pub struct Answer {
    /// The track.
    pub track: Track,
    /// The answer.
    pub choice: Coded,
    /// Whether training is safe.
    pub safe: Coded,
    /// Limits, as written.
    pub limits: String,
    /// The devices recommended, any of which will do.
    pub devices: Vec<Named>,
}

/// A device by specification.
#[derive(Clone)]
pub struct Named {
    /// What it is.
    pub spec: DeviceSpec,
    /// What is printed on it.
    pub label: String,
    /// What it is for.
    pub purpose: String,
    /// Where it is not to be used.
    pub limits: String,
}

/// A signed prescription.
#[derive(Clone)]
pub struct Prescription {
    /// Id.
    pub id: String,
    /// Its number, as printed.
    pub number: String,
    /// Where it stands.
    pub state: State,
    /// The lenses.
    pub lenses: Vec<Refraction>,
    /// About the lenses.
    pub lens_note: String,
    /// The devices.
    pub devices: Vec<(Track, Named)>,
    /// Limits, light and seat, as written.
    pub limits: String,
    /// Lighting advice.
    pub lighting: String,
    /// Seating advice.
    pub seating: String,
    /// The one whose place it took.
    pub supersedes: Option<String>,
    /// Day it was written.
    pub written_on: Date,
    /// When it was signed.
    pub signed_at: Timestamp,
    /// The day to look again.
    pub review_on: Option<Date>,
    /// The last day it may be filled.
    pub expires_on: Option<Date>,
    /// Who signed.
    pub prescriber_id: String,
    /// Name, credential and licence of who signed.
    pub prescriber_line: String,
}
