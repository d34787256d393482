//! Which step comes first? The gates G1 to G9 of the project.
//!
//! Each gate is a pure function over facts that returns a token, the evidence
//! that the write behind the gate demands, or [`Blocked`] with the reason and
//! the step that comes first. Tokens have private fields and one way to be made.
//! A token says what was proven about the facts handed in; that these facts are
//! the student's own, `store` proves by loading them through its access proof.
//! Does not know roles; those are in `access`.
//!
//! Read [`start`] for G1 to G3, [`loan`] for G4 and G6, [`exception`] for the
//! ways past these two, [`lesson`] for G5 and G9, [`sharing`] for G7 and
//! [`finalise`] for G8.

pub mod exception;
pub mod filing;
pub mod finalise;
pub mod lesson;
pub mod loan;
pub mod sharing;
pub mod start;

pub use exception::{
    AnotherDevice, MayExtend, MayRepair, MaySettle, another_device, may_extend, may_repair, may_settle, nearest,
};
pub use filing::{MayFileReport, may_file_report, missing_for_filing};
pub use finalise::{Evidence, MayFinalise, may_finalise};
pub use lesson::{InOrder, Lesson, MayClear, NotPaused, SkillInOrder, may_clear, not_paused, skill_in_order};
pub use loan::{DeviceOfTheTrack, Named, PoolDevice, Purpose, RightLoan, Why, device_of_the_track, right_loan};
pub use sharing::{Crossing, Ground, MayCross, may_cross};
pub use start::{
    MayFile, MaySignReadiness, Purposeful, Ready, SafeToTrain, Transcript, ask_with_purpose, may_file,
    may_sign_readiness, ready, safe_to_train,
};

use std::fmt;

use super::codes::codes;
use super::journey::step::Act;

codes! {
    /// A gate of the project.
    pub enum Gate {
        AskWithPurpose = "g1" : "ask with purpose",
        EvaluationFirst = "g2" : "evaluation first",
        ReadinessFirst = "g3" : "readiness first",
        RightLoan = "g4" : "the right loan",
        OrderOfSkills = "g5" : "order of skills",
        OwnDeviceOnly = "g6" : "own device only",
        Consent = "g7" : "consent",
        Finalise = "g8" : "finalise",
        SafetyPause = "g9" : "safety pause",
    }
}

/// A gate is closed: why, in plain words, and what comes first.
///
/// Not a failure of the program: it is shown as a page with a link.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Blocked {
    /// The gate.
    pub gate: Gate,
    /// Why, to the person who asked; names no student.
    pub message: String,
    /// The step that comes first, and so the screen to go to.
    pub first: Act,
}

impl Blocked {
    fn at(gate: Gate, first: Act, message: impl Into<String>) -> Self {
        Self { gate, message: message.into(), first }
    }
}

/// Why somebody went past a gate that lets a reason pass; never blank.
///
/// Kept with the record; its text stays out of logs.
#[derive(Clone, PartialEq, Eq)]
pub struct Reason(String);

impl Reason {
    /// Takes what was written, if it says something.
    #[must_use]
    pub fn given(written: Option<&str>) -> Option<Self> {
        let written = written?.trim();
        (!written.is_empty()).then(|| Self(written.to_owned()))
    }

    /// The reason as written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Reason(..)")
    }
}
