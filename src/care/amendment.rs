//! What was corrected: which field, what stood there before, what stands there
//! after, why, when and by whom.
//!
//! Nothing is overwritten without leaving both texts (G16). A [`Correction`] is
//! checked before it can be stored: it changes something, and says why where
//! the record was locked or signed. Does not know where records are kept.

use std::fmt::{self, Display};

use jiff::Timestamp;

use super::codes::codes;
use super::ids::{
    CardId, ContactId, DecisionId, EvaluationId, LoanId, ObservationId, OwnDeviceId, PostId, PrescriptionId,
    ReadinessId, RequestId, SeatId, SessionId, StudentId, SummaryId, VisualTaskId,
};

codes! {
    /// The kind of record that was corrected.
    pub enum Kind {
        Intake = "intake" : "intake",
        Contact = "contact" : "contact",
        Request = "evaluation_request" : "request for an evaluation",
        Task = "visual_task" : "thing to see",
        Seat = "seat" : "seat",
        Goal = "reading_goal" : "reading goals",
        Observation = "observation" : "observation",
        Loan = "loan" : "loan",
        OwnDevice = "own_device" : "own device",
        Readiness = "readiness" : "readiness list",
        Session = "training_session" : "training session",
        Post = "post" : "post",
        Evaluation = "evaluation" : "evaluation",
        Summary = "summary" : "training summary",
        Decision = "decision" : "decision",
        Prescription = "prescription" : "prescription",
        Card = "card" : "classroom card",
    }
}

/// One record that can be corrected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subject {
    kind: Kind,
    id: String,
}

impl Subject {
    /// The intake of a student: there is one.
    #[must_use]
    pub fn intake_of(student: StudentId) -> Self {
        Self { kind: Kind::Intake, id: student.to_string() }
    }

    /// The reading goals of a student: there is one set.
    #[must_use]
    pub fn goals_of(student: StudentId) -> Self {
        Self { kind: Kind::Goal, id: student.to_string() }
    }

    /// A record by its kind and its id as text, as a list of corrections names it.
    #[must_use]
    pub fn named(kind: Kind, id: String) -> Self {
        Self { kind, id }
    }

    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        self.kind
    }
}

impl Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.id)
    }
}

macro_rules! subjects {
    ($($id:ident: $kind:ident),+ $(,)?) => {$(
        impl From<$id> for Subject {
            fn from(id: $id) -> Self {
                Self { kind: Kind::$kind, id: id.to_string() }
            }
        }
    )+};
}

subjects! {
    ContactId: Contact,
    RequestId: Request,
    VisualTaskId: Task,
    SeatId: Seat,
    ObservationId: Observation,
    LoanId: Loan,
    OwnDeviceId: OwnDevice,
    ReadinessId: Readiness,
    SessionId: Session,
    PostId: Post,
    EvaluationId: Evaluation,
    SummaryId: Summary,
    DecisionId: Decision,
    PrescriptionId: Prescription,
    CardId: Card,
}

/// One field with both its texts, as people read them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The field, by the label of its form.
    pub field: String,
    /// What stood there; empty, nothing did.
    pub before: String,
    /// What stands there now; empty, nothing does.
    pub after: String,
}

impl Change {
    /// A field with both its texts.
    pub fn of(field: impl Into<String>, before: impl Into<String>, after: impl Into<String>) -> Self {
        Self { field: field.into(), before: before.into(), after: after.into() }
    }
}

/// The texts of one record before and after, both under the same labels, in the
/// same order.
#[must_use]
pub fn changes<L: Into<String>>(before: Vec<(L, String)>, after: Vec<(L, String)>) -> Vec<Change> {
    before.into_iter().zip(after).map(|((field, before), (_, after))| Change::of(field, before, after)).collect()
}

/// Why a correction cannot be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Every field says what it said before.
    #[error("nothing was changed")]
    Nothing,
    /// It does not say why.
    #[error("a correction says why")]
    NoReason,
}

/// A correction that changes something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    changes: Vec<Change>,
    reason: String,
}

/// The field in which an entry in error is told, and its two texts.
pub const COUNTS: (&str, &str, &str) = ("Entry", "counted", "entered in error, counted nowhere");

impl Correction {
    /// A correction of something locked or signed, which says why. Fields whose
    /// text stayed the same are left out.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn because(changes: impl IntoIterator<Item = Change>, reason: &str) -> Result<Self, Refused> {
        let edit = Self::edit(changes)?;
        if reason.trim().is_empty() {
            return Err(Refused::NoReason);
        }
        Ok(Self { reason: reason.trim().to_owned(), ..edit })
    }

    /// A change of something that may still be changed without a reason; both
    /// texts are kept all the same.
    ///
    /// # Errors
    /// [`Refused::Nothing`].
    pub fn edit(changes: impl IntoIterator<Item = Change>) -> Result<Self, Refused> {
        let changes: Vec<Change> = changes.into_iter().filter(|change| change.before != change.after).collect();
        if changes.is_empty() { Err(Refused::Nothing) } else { Ok(Self { changes, reason: String::new() }) }
    }

    /// An entry marked as entered in error.
    ///
    /// # Errors
    /// [`Refused::NoReason`].
    pub fn in_error(reason: &str) -> Result<Self, Refused> {
        let (field, counted, in_error) = COUNTS;
        Self::because([Change::of(field, counted, in_error)], reason)
    }

    /// An entry that was no error after all.
    ///
    /// # Errors
    /// [`Refused::NoReason`].
    pub fn no_error(reason: &str) -> Result<Self, Refused> {
        let (field, counted, in_error) = COUNTS;
        Self::because([Change::of(field, in_error, counted)], reason)
    }

    /// A correction as it is asked for: with a reason where the record is locked,
    /// and without one before.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn asked(changes: impl IntoIterator<Item = Change>, reason: Option<&str>) -> Result<Self, Refused> {
        match reason {
            Some(reason) => Self::because(changes, reason),
            None => Self::edit(changes),
        }
    }

    /// The fields that changed; never none.
    #[must_use]
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// Why; empty where none was asked for.
    #[must_use]
    pub fn reason(&self) -> &str {
        &self.reason
    }
}

/// One field of a stored correction.
#[derive(Clone, PartialEq, Eq)]
pub struct Amendment {
    /// Which field, by the label of its form.
    pub field: String,
    /// What stood there.
    pub before: String,
    /// What has stood there since.
    pub after: String,
    /// Why; empty where none was asked for.
    pub reason: String,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_correction_changes_something_and_says_why() {
        let same = || [Change::of("Right", "3", "3")];
        let other = || [Change::of("Right", "3", "4"), Change::of("Tried", "8", "8")];
        assert_eq!(Correction::because(same(), "a slip").unwrap_err(), Refused::Nothing);
        assert_eq!(Correction::edit(same()).unwrap_err(), Refused::Nothing);
        assert_eq!(Correction::because(other(), " \n").unwrap_err(), Refused::NoReason);
        let kept = Correction::because(other(), " a slip ").expect("something changed, with a reason");
        assert_eq!(kept.changes(), [Change::of("Right", "3", "4")]);
        assert_eq!(kept.reason(), "a slip");
    }

    #[test]
    fn an_entry_in_error_and_its_undoing_are_corrections_with_a_reason() {
        assert_eq!(Correction::in_error("").unwrap_err(), Refused::NoReason);
        assert_eq!(Correction::no_error("").unwrap_err(), Refused::NoReason);
        let (out, back) = (Correction::in_error("wrong child"), Correction::no_error("it was right"));
        let (out, back) = (out.expect("a reason"), back.expect("a reason"));
        assert_eq!(out.changes()[0].after, back.changes()[0].before);
    }
}
