//! A request to a clinician: what the school wants to know.
//!
//! Does not know whether it may be read yet; that is the consent's question.

use jiff::Timestamp;
use jiff::civil::Date;

use super::ids::{AccountId, RequestId};

/// A request as checked from a form.
#[derive(Clone, PartialEq, Eq)]
pub struct NewRequest {
    /// What the school wants to know.
    pub question: String,
    /// How soon, and why, in words.
    pub urgency: String,
    /// The day it was asked.
    pub requested_on: Date,
}

/// A request to evaluate.
#[derive(Clone)]
pub struct EvaluationRequest {
    /// Its id.
    pub id: RequestId,
    /// What was asked.
    pub what: NewRequest,
    /// The day the clinic will see the student.
    pub appointment_on: Option<Date>,
    /// When it was entered.
    pub entered_at: Timestamp,
    /// Who entered it.
    pub entered_by: AccountId,
    /// The same by name.
    pub by: String,
    /// When it was taken back.
    pub withdrawn_at: Option<Timestamp>,
    /// For edits by two people.
    pub version: i64,
}
