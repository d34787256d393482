//! What stands beside the stage of every track: pause, hold, close, and an
//! evaluation that is due.
//!
//! Pause, hold and close are recorded events; `evaluation due` follows from
//! dates. None of them changes a stage, and the last never blocks training (G11).
//! Does not know which screen shows them.

use jiff::civil::Date;
use jiff::{Timestamp, ToSpan};

use crate::care::codes::codes;
use crate::care::flag::Pause;

codes! {
    /// What was recorded about the student's service as a whole.
    pub enum Change {
        Held = "held" : "put on hold",
        Resumed = "resumed" : "taken off hold",
        Closed = "closed" : "closed",
        Reopened = "reopened" : "reopened",
    }
}

/// A recorded change of the student's service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Event {
    /// Its own date.
    pub on: Date,
    /// When it was entered, which orders events of one date.
    pub entered: Timestamp,
    /// What changed.
    pub change: Change,
}

/// What stands beside the stages; each with the day it began.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Overlay {
    /// A red flag pauses training with devices.
    pub paused: Option<Date>,
    /// The family or the school asked to wait.
    pub on_hold: Option<Date>,
    /// The service ended.
    pub closed: Option<Date>,
    /// An evaluation has been due since that day.
    pub evaluation_due: Option<Date>,
}

impl Overlay {
    /// How things stood at the end of a day.
    ///
    /// `evaluation_due` is the day from [`evaluation_due`], in the past or not.
    #[must_use]
    pub fn on(day: Date, events: &[Event], pauses: &[Pause], evaluation_due: Option<Date>) -> Self {
        let mut counted: Vec<_> = events.iter().filter(|event| event.on <= day).collect();
        counted.sort_by_key(|event| (event.on, event.entered, event.change));
        let mut overlay = Self {
            paused: pauses
                .iter()
                .filter(|pause| pause.raised_on <= day)
                .filter(|pause| pause.cleared_on.is_none_or(|cleared| day < cleared))
                .map(|pause| pause.raised_on)
                .min(),
            evaluation_due: evaluation_due.filter(|due| *due <= day),
            ..Self::default()
        };
        for event in counted {
            match event.change {
                Change::Held => overlay.on_hold = overlay.on_hold.or(Some(event.on)),
                Change::Resumed => overlay.on_hold = None,
                Change::Closed => overlay.closed = overlay.closed.or(Some(event.on)),
                Change::Reopened => overlay.closed = None,
            }
        }
        overlay
    }
}

/// The day the next evaluation is due, counted from the newest examination.
///
/// A month that is shorter ends earlier: a year after 29 February is 28 February.
#[must_use]
pub fn evaluation_due(examined_on: Date, interval_months: u16) -> Date {
    examined_on.saturating_add(i32::from(interval_months).months())
}

codes! {
    /// Why a student's service waits.
    pub enum HoldReason {
        Family = "family" : "the family asked to wait",
        School = "school" : "the school asked to wait",
        Health = "health" : "health comes first",
        Other = "other" : "another reason",
    }

    /// Why a student's service ended.
    pub enum CloseReason {
        Moved = "moved" : "moved away",
        Declined = "declined" : "the family declined",
        Graduated = "graduated" : "graduated",
        NotEligible = "not_eligible" : "not eligible",
        Other = "other" : "another reason",
    }
}

impl Change {
    /// Whether it can follow upon how things stand.
    #[must_use]
    pub const fn may_follow(self, overlay: &Overlay) -> bool {
        match self {
            Self::Held => overlay.on_hold.is_none() && overlay.closed.is_none(),
            Self::Resumed => overlay.on_hold.is_some(),
            Self::Closed => overlay.closed.is_none(),
            Self::Reopened => overlay.closed.is_some(),
        }
    }
}

#[cfg(test)]
mod service_tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn what_is_closed_is_reopened_and_what_is_held_is_resumed() {
        let day = Some(date(2026, 9, 16));
        let open = Overlay::default();
        let (held, closed) = (Overlay { on_hold: day, ..open }, Overlay { closed: day, ..open });
        let allowed = |overlay: &Overlay| -> Vec<Change> {
            Change::ALL.iter().copied().filter(|change| change.may_follow(overlay)).collect()
        };
        assert_eq!(allowed(&open), [Change::Held, Change::Closed]);
        assert_eq!(allowed(&held), [Change::Resumed, Change::Closed]);
        assert_eq!(allowed(&closed), [Change::Reopened]);
    }
}
