//! Which entries went into a summary, and what else was it made under?
//!
//! Kept beside the figures when a summary is sent, so that it can be said later
//! which of its entries were corrected. Ids and versions only, no content.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{Rows, Scope, draft};
use crate::care::consent::Category;
use crate::care::ids::{ObservationId, SessionId};

/// One entry at the version it stood at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CountedEntry {
    /// Its id.
    pub id: String,
    /// The version that was counted.
    pub version: i64,
}

/// What a summary was made of.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Counted {
    /// Sessions; none, it was sent before such lists were kept.
    pub sessions: Option<Vec<CountedEntry>>,
    /// Observations.
    pub observations: Option<Vec<CountedEntry>>,
    /// The answer of the intake on glasses, a code.
    pub glasses: Option<String>,
}

/// One entry of the rows a draft is made of.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum EntryId {
    /// A training session.
    Session(SessionId),
    /// An observation.
    Observation(ObservationId),
}

/// The entries that a draft of these rows counts, with their day and version.
#[must_use]
pub fn counted(rows: &Rows, scope: &Scope, (from, to): (Date, Date)) -> Vec<(EntryId, Date, i64)> {
    let within = |on: Date| from <= on && on <= to;
    let sessions = rows
        .sessions
        .iter()
        .filter(|row| within(row.on) && scope.has(Category::Training))
        .map(|row| (EntryId::Session(row.id), row.on, row.version));
    let observations = rows
        .observations
        .iter()
        .filter(|row| within(row.on) && scope.has(draft::category(row.setting)))
        .map(|row| (EntryId::Observation(row.id), row.on, row.version));
    sessions.chain(observations).collect()
}

impl Counted {
    /// The list of these entries.
    #[must_use]
    pub fn of(entries: &[(EntryId, Date, i64)], glasses: Option<String>) -> Self {
        let (mut sessions, mut observations) = (Vec::new(), Vec::new());
        for (id, _, version) in entries {
            match id {
                EntryId::Session(id) => sessions.push(CountedEntry { id: id.to_string(), version: *version }),
                EntryId::Observation(id) => observations.push(CountedEntry { id: id.to_string(), version: *version }),
            }
        }
        Self { sessions: Some(sessions), observations: Some(observations), glasses }
    }
}
