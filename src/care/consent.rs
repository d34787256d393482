//! May this kind of record cross between school and clinic on that day (G7)?
//!
//! Two consents, one per direction. Each names its categories, its purpose, the
//! two parties, its start and end, who signed, how, and in which language.
//! Does not know roles or rights holders: whoever may sign is decided in
//! `access`. The gate itself is in [`super::gates`].

mod due;

use std::collections::BTreeSet;
use std::fmt;

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};

use super::codes::codes;
use super::ids::{AccountId, ConsentId};
pub use due::{Due, REMEMBERED_DAYS, WARNING_DAYS, due};

codes! {
    /// Which way records flow.
    pub enum Direction {
        SchoolToClinic = "school_to_clinic" : "from the school to the clinic",
        ClinicToSchool = "clinic_to_school" : "from the clinic to the school",
    }

    /// A kind of record that a consent may name.
    pub enum Category {
        Contacts = "contacts" : "family contacts",
        Intake = "intake" : "intake and functional check",
        ClassObservations = "class_observations" : "what was seen in class, with tasks and seats",
        HomeObservations = "home_observations" : "what was seen at home and in the community",
        Evaluation = "evaluation" : "evaluation reports",
        Devices = "devices" : "devices, loans and the classroom card",
        Training = "training" : "readiness and training",
        Summary = "summary" : "training summaries",
        Prescription = "prescription" : "decisions and prescriptions",
    }

    /// How a consent was given.
    pub enum Given {
        OnScreen = "on_screen" : "on screen",
        Paper = "paper" : "on paper, with a scan",
        InPerson = "in_person" : "in person, before a witness",
    }

    /// Whose right it is that a signer uses.
    pub enum SignerKind {
        ParentOrGuardian = "parent_or_guardian" : "parent or guardian",
        StudentOfAge = "student_of_age" : "the student, of age",
    }
}

impl Direction {
    /// The categories a consent in this direction can name, in reading order.
    pub fn categories(self) -> impl Iterator<Item = Category> {
        Category::ALL.iter().copied().filter(move |category| category.goes(self))
    }
}

impl Category {
    /// Whether records of this kind flow that way.
    ///
    /// Evaluations flow both ways: signed ones to the school, and reports that
    /// the school transcribed to the clinic.
    #[must_use]
    pub const fn goes(self, direction: Direction) -> bool {
        match self {
            Self::Evaluation => true,
            Self::Prescription => matches!(direction, Direction::ClinicToSchool),
            Self::Contacts
            | Self::Intake
            | Self::ClassObservations
            | Self::HomeObservations
            | Self::Devices
            | Self::Training
            | Self::Summary => matches!(direction, Direction::SchoolToClinic),
        }
    }
}

/// A clinic or a service that a consent names.
///
/// Two spellings that differ only in letter case or spacing are one party.
#[derive(Clone, Eq)]
pub struct Party(String);

/// A party needs a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a party needs a name")]
pub struct NamelessParty;

impl Party {
    /// Names a party; blank text is refused.
    ///
    /// # Errors
    /// Text without a visible character.
    pub fn new(name: &str) -> Result<Self, NamelessParty> {
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        if name.is_empty() { Err(NamelessParty) } else { Ok(Self(name)) }
    }

    /// The name as it was given.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0
    }
}

impl PartialEq for Party {
    fn eq(&self, other: &Self) -> bool {
        self.0.to_lowercase() == other.0.to_lowercase()
    }
}

impl fmt::Debug for Party {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Party(..)")
    }
}

/// A signed consent in one direction.
#[derive(Clone, PartialEq, Eq)]
pub struct Consent {
    /// Which consent.
    pub id: ConsentId,
    /// The way it lets records flow.
    pub direction: Direction,
    /// The kinds of record it names.
    pub categories: BTreeSet<Category>,
    /// What the records are for, in the signer's language.
    pub purpose: String,
    /// Who gives records away.
    pub from: Party,
    /// Who receives them.
    pub to: Party,
    /// The first day it counts.
    pub start: Date,
    /// The last day it counts; none, until withdrawn.
    pub end: Option<Date>,
    /// Who signed, by name and relation.
    pub signer: String,
    /// How it was given.
    pub given: Given,
    /// The language it was given in, as a language tag such as `es`.
    pub language: String,
    /// The day it was withdrawn; that day it no longer counts.
    pub withdrawn: Option<Date>,
}

impl fmt::Debug for Consent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Names and purpose stay out of logs.
        f.debug_struct("Consent").field("id", &self.id).finish_non_exhaustive()
    }
}

impl Consent {
    /// Whether it lets records of this kind flow that way on that day.
    #[must_use]
    pub fn in_force(&self, on: Date, direction: Direction, category: Category) -> bool {
        self.counts(on, direction) && category.goes(direction) && self.categories.contains(&category)
    }

    /// Whether it lets anything flow that way on that day.
    ///
    /// Records without a category of their own need any consent that way.
    #[must_use]
    pub fn counts(&self, on: Date, direction: Direction) -> bool {
        self.direction == direction
            && self.start <= on
            && self.end.is_none_or(|end| on <= end)
            && self.withdrawn.is_none_or(|withdrawn| on < withdrawn)
    }
}

/// How long an emergency opens one category. Source: the project's own rule G7.
pub const EMERGENCY: SignedDuration = SignedDuration::from_hours(24);

/// A category opened in an emergency, for 24 hours, with a reason that is logged.
#[derive(Clone, PartialEq, Eq)]
pub struct Emergency {
    /// The vision teacher or clinician who opened it.
    pub by: AccountId,
    /// The way it lets records flow.
    pub direction: Direction,
    /// The one kind of record it opens.
    pub category: Category,
    /// Why; never blank.
    pub reason: String,
    /// When it was opened.
    pub from: Timestamp,
}

impl fmt::Debug for Emergency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Emergency").field("by", &self.by).finish_non_exhaustive()
    }
}

impl Emergency {
    /// Whether it opens this kind of record that way at that instant.
    #[must_use]
    pub fn in_force(&self, at: Timestamp, direction: Direction, category: Category) -> bool {
        self.direction == direction
            && self.category == category
            && category.goes(direction)
            && !self.reason.trim().is_empty()
            && self.from <= at
            && at.duration_since(self.from) < EMERGENCY
    }

    /// Whether it opens anything that way at that instant, for records without
    /// a category of their own.
    #[must_use]
    pub fn counts(&self, at: Timestamp, direction: Direction) -> bool {
        self.in_force(at, direction, self.category)
    }
}
