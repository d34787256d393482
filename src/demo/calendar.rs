//! The calendar of the stories, and where it lies in real time.
//!
//! The stories are written as of Tuesday 9 March 2027. The same number of days is
//! added to or taken from every date, so that their last day is the newest
//! Tuesday that is not to come: weekdays stay, and so do the ages of children.

use jiff::civil::{Date, Time, date};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

/// The day that the stories lead up to; nothing happens on it or after it.
const LAST: Date = date(2027, 3, 9);

/// The day before the first story begins.
pub(super) const FIRST: Date = date(2026, 8, 28);

/// Where the stories lie in real time.
#[derive(Clone, Copy)]
pub(super) struct Calendar {
    days: i64,
}

impl Calendar {
    /// The stories as they lead up to a real day.
    pub(super) fn up_to(today: Date) -> Self {
        // From a Tuesday to the same weekday as today, and back by that much.
        let since_tuesday = i64::from((today.weekday().to_monday_zero_offset() - 1).rem_euclid(7));
        let apart = LAST.until(today).map_or(0, |span| i64::from(span.get_days()));
        Self { days: apart - since_tuesday }
    }

    /// The real day of a day of the stories.
    pub(super) fn day(self, story: Date) -> Date {
        story.saturating_add(self.days.days())
    }

    /// The real instant of an hour of a day of the stories.
    pub(super) fn instant(self, story: Date, hour: i8, minute: i8, zone: &TimeZone) -> Timestamp {
        let time = Time::new(hour, minute, 0, 0).unwrap_or(Time::midnight());
        zone.to_timestamp(self.day(story).to_datetime(time)).unwrap_or(Timestamp::UNIX_EPOCH)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::Weekday;

    #[test]
    fn the_last_day_is_the_newest_tuesday_and_weekdays_stay() {
        for step in 0..800 {
            let today = date(2026, 1, 1).saturating_add(step.days());
            let calendar = Calendar::up_to(today);
            let last = calendar.day(LAST);
            assert_eq!(last.weekday(), Weekday::Tuesday, "{today}");
            let ago = last.until(today).map(|span| span.get_days());
            assert!(ago.is_ok_and(|days| (0..7).contains(&days)), "{today}");
            let friday = date(2026, 9, 11);
            assert_eq!(calendar.day(friday).weekday(), friday.weekday());
        }
    }
}
