//! A report on paper, as it was transcribed: what an evaluation from elsewhere has
//! beside what one made here has.
//!
//! Whatever the paper leaves out is said to be left out, as text; no figure is
//! computed from it (G2). Does not decide whether a report may be filed; that is
//! [`crate::care::gates::may_file_report`].

use jiff::Timestamp;
use jiff::civil::Date;

use super::lists::{Correction, Section, TestedEye};
use crate::care::codes::codes;
use crate::care::ids::AcuityId;

codes! {
    /// Which kind of paper was transcribed.
    pub enum Report {
        LowVision = "low_vision" : "a report of a low-vision evaluation",
        Eye = "eye" : "an ordinary eye report",
    }
}

/// The head of a transcribed report, as far as it is filled in.
#[derive(Clone, PartialEq, Default)]
pub struct NewPaper {
    /// Which kind of report.
    pub report: Option<Report>,
    /// The clinician's name as on the report.
    pub clinician: String,
    /// The day of the examination.
    pub examined_on: Option<Date>,
    /// Where.
    pub place: String,
    /// When the next evaluation is due, if the report says so.
    pub next_due_on: Option<Date>,
}

/// An acuity that lacks what a row needs.
#[derive(Clone, PartialEq)]
pub struct NewStated {
    /// As the paper says it.
    pub as_recorded: String,
    /// The eye, if it is stated.
    pub eye: Option<TestedEye>,
    /// What was worn, if it is stated.
    pub correction: Option<Correction>,
    /// The test distance as the paper says it; empty, not stated.
    pub distance: String,
    /// Anything else.
    pub note: String,
}

/// The same, stored.
#[derive(Clone, PartialEq)]
pub struct Stated {
    /// Its id.
    pub id: AcuityId,
    /// What it says.
    pub what: NewStated,
}

/// Who confirmed a report, and when.
#[derive(Clone, PartialEq)]
pub struct ConfirmedBy {
    /// The clinician's name.
    pub name: String,
    /// When.
    pub at: Timestamp,
}

/// What a transcribed report has beside its findings.
#[derive(Clone, PartialEq, Default)]
pub struct Paper {
    /// Which kind of report; none, not said yet.
    pub report: Option<Report>,
    /// The parts that the report does not state.
    pub not_stated: Vec<Section>,
    /// Acuities that lack what a row needs.
    pub stated: Vec<Stated>,
    /// Files of the paper that are attached.
    pub files: usize,
    /// Who confirmed it.
    pub confirmed: Option<ConfirmedBy>,
}

/// The parts that may be ticked as not stated; the answers for the tracks have a
/// choice of their own for it.
pub const MAY_BE_UNSTATED: [Section; 5] =
    [Section::Acuity, Section::Refraction, Section::Sight, Section::Eyes, Section::Advice];
