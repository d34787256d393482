//! Whose rights they are: what an order leaves to an adult, and how a student
//! of age said what a parent may read (G10).
//!
//! A limit is proposed by one records officer and in force from the confirmation
//! by a second; where it stands on a day is derived here. Does not know who may
//! see it; to the adult it is about it is never said.

use jiff::civil::Date;

use super::codes::codes;

codes! {
    /// What an order leaves to an adult. Less than full rights opens nothing of
    /// the record here; the words tell the office which order it is.
    pub enum Ordered {
        NoneByOrder = "none_by_order" : "no rights, by order",
        EducationDecisionsOnly = "education_decisions_only" : "decisions about education only",
        ContactOnly = "contact_only" : "contact with the child only",
    }

    /// How a student of age said what a parent may read.
    pub enum Told {
        Said = "said" : "said it in person",
        Wrote = "wrote" : "wrote it, on paper or on screen",
        Signed = "signed" : "signed a paper",
        Interpreted = "interpreted" : "said or signed it through an interpreter",
    }

    /// Where an access limit stands.
    pub enum LimitState {
        Waiting = "waiting" : "waiting for a second records officer",
        Withdrawn = "withdrawn" : "withdrawn before it was confirmed",
        StartsLater = "starts_later" : "confirmed, starts later",
        InForce = "in_force" : "in force",
        Ended = "ended" : "ended",
        Lifted = "lifted" : "lifted",
    }
}

/// What of an access limit decides where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The first day it counts, once confirmed.
    pub starts_on: Date,
    /// The last day it counts; none, until lifted.
    pub ends_on: Option<Date>,
    /// Whether a second records officer confirmed it.
    pub confirmed: bool,
    /// Whether it was withdrawn before that.
    pub withdrawn: bool,
    /// Whether two records officers lifted it.
    pub lifted: bool,
}

impl Span {
    /// Where it stands on a day.
    #[must_use]
    pub fn on(&self, day: Date) -> LimitState {
        if self.withdrawn {
            LimitState::Withdrawn
        } else if !self.confirmed {
            LimitState::Waiting
        } else if self.lifted {
            LimitState::Lifted
        } else if day < self.starts_on {
            LimitState::StartsLater
        } else if self.ends_on.is_some_and(|end| end < day) {
            LimitState::Ended
        } else {
            LimitState::InForce
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    const DAY: Date = date(2026, 11, 25);

    fn span() -> Span {
        Span { starts_on: DAY, ends_on: None, confirmed: true, withdrawn: false, lifted: false }
    }

    #[test]
    fn a_limit_counts_from_its_first_to_its_last_day_once_confirmed() {
        assert_eq!(span().on(DAY), LimitState::InForce);
        assert_eq!(Span { confirmed: false, ..span() }.on(DAY), LimitState::Waiting);
        assert_eq!(Span { confirmed: false, withdrawn: true, ..span() }.on(DAY), LimitState::Withdrawn);
        assert_eq!(Span { starts_on: date(2026, 11, 26), ..span() }.on(DAY), LimitState::StartsLater);
        assert_eq!(Span { ends_on: Some(DAY), ..span() }.on(DAY), LimitState::InForce);
        assert_eq!(Span { ends_on: Some(date(2026, 11, 24)), ..span() }.on(DAY), LimitState::Ended);
        assert_eq!(Span { lifted: true, ..span() }.on(DAY), LimitState::Lifted);
    }
}
