//! What is due soon, what is overdue, and for how long it is shown.
//!
//! Nothing here blocks anything (G11): a date is told to whoever can act on it.
//! Days before are common practice and stand beside each rule. Does not know
//! which screen shows a line, nor who may read it. Consents are in [`super::consent`].

use jiff::ToSpan;
use jiff::civil::Date;

/// An evaluation is told of so many days ahead, and again, as an urgent matter,
/// so many days ahead (common practice).
const EVALUATION_DAYS: (i64, i64) = (60, 30);
/// A loan that is due back is told of so many days ahead (common practice).
pub const LOAN_DAYS: i64 = 14;
/// The own device is followed up so many days after it was received (common practice).
const FOLLOW_UP_DAYS: (i64, i64) = (30, 90);
/// A follow-up is told of so many days ahead, and for so long after (common practice).
const FOLLOW_UP_SHOWN: (i64, i64) = (7, 30);

/// How near a day is that something is due on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Near {
    /// It comes.
    Coming,
    /// It comes soon: somebody should act now.
    Soon,
    /// It is past.
    Over,
}

/// How near the day of the next evaluation is; none, too far off to be told.
///
/// On the day itself it counts as over, as `evaluation due` beside a stage does.
#[must_use]
pub fn evaluation(due: Date, today: Date) -> Option<Near> {
    let (ahead, soon) = EVALUATION_DAYS;
    if due <= today {
        Some(Near::Over)
    } else if due <= today.saturating_add(soon.days()) {
        Some(Near::Soon)
    } else {
        (due <= today.saturating_add(ahead.days())).then_some(Near::Coming)
    }
}

/// How near the day is that a loan is due back.
#[must_use]
pub fn loan(due: Date, today: Date) -> Option<Near> {
    if due < today { Some(Near::Over) } else { (due <= today.saturating_add(LOAN_DAYS.days())).then_some(Near::Soon) }
}

/// A follow-up of the own device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FollowUp {
    /// How many days after the receipt.
    pub days: i64,
    /// The day it is due.
    pub on: Date,
    /// How near that is.
    pub near: Near,
}

/// Both follow-ups of a device received on a day: how many days after, and the day.
#[must_use]
pub fn follow_ups_of(received: Date) -> [(i64, Date); 2] {
    [FOLLOW_UP_DAYS.0, FOLLOW_UP_DAYS.1].map(|days| (days, received.saturating_add(days.days())))
}

/// The follow-up to be told of, for a device received on a day.
///
/// One at a time: the second takes the place of the first once it is near. That
/// it was held is not recorded here, so a line goes away by itself.
#[must_use]
pub fn follow_up(received: Date, today: Date) -> Option<FollowUp> {
    let (ahead, after) = FOLLOW_UP_SHOWN;
    let [first, second] = follow_ups_of(received);
    let of = |(days, on): (i64, Date)| {
        let near = if on < today { Near::Over } else { Near::Soon };
        let shown = on.saturating_sub(ahead.days()) <= today && today <= on.saturating_add(after.days());
        shown.then_some(FollowUp { days, on, near })
    };
    of(second).or_else(|| of(first))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    const TODAY: Date = date(2026, 11, 25);

    #[test]
    fn an_evaluation_is_told_of_two_months_ahead_and_never_goes_away_when_over() {
        assert_eq!(evaluation(date(2027, 1, 25), TODAY), None);
        assert_eq!(evaluation(date(2027, 1, 24), TODAY), Some(Near::Coming));
        assert_eq!(evaluation(date(2026, 12, 26), TODAY), Some(Near::Coming));
        assert_eq!(evaluation(date(2026, 12, 25), TODAY), Some(Near::Soon));
        assert_eq!(evaluation(TODAY, TODAY), Some(Near::Over));
        assert_eq!(evaluation(date(2020, 1, 1), TODAY), Some(Near::Over));
    }

    #[test]
    fn a_device_is_followed_up_twice() {
        let received = date(2026, 9, 1);
        let on = |day| follow_up(received, day).map(|one| (one.days, one.near));
        assert_eq!(on(date(2026, 9, 23)), None);
        assert_eq!(on(date(2026, 9, 24)), Some((30, Near::Soon)));
        assert_eq!(on(date(2026, 10, 1)), Some((30, Near::Soon)));
        assert_eq!(on(date(2026, 10, 2)), Some((30, Near::Over)));
        assert_eq!(on(date(2026, 11, 1)), None);
        assert_eq!(on(date(2026, 11, 23)), Some((90, Near::Soon)));
        assert_eq!(on(date(2026, 12, 30)), Some((90, Near::Over)));
        assert_eq!(on(date(2026, 12, 31)), None);
    }
}
