//! How many minutes of training were held, week by week and device by device?
//!
//! A week begins on Monday; a week without a session counts as one. A session
//! that the student refused is counted apart, for its minutes trained nothing.
//! Does not know how training went; read [`super::finding`].

use std::collections::BTreeMap;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::care::gates::Named;
use crate::care::track::Track;
use crate::care::training::Session;

/// What was held in one week with one device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Held {
    /// Minutes of all sessions.
    pub minutes: i64,
    /// How many sessions.
    pub sessions: u32,
}

/// One device with its weeks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfDevice {
    /// The device.
    pub device: Named,
    /// What was held, by the Monday of the week; weeks without a session are not there.
    pub weeks: BTreeMap<Date, Held>,
}

impl OfDevice {
    /// All weeks together.
    #[must_use]
    pub fn sum(&self) -> Held {
        self.weeks.values().fold(Held::default(), |sum, held| sum.and(*held))
    }
}

impl Held {
    const fn and(self, other: Self) -> Self {
        Self { minutes: self.minutes + other.minutes, sessions: self.sessions + other.sessions }
    }
}

/// The minutes of a track.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Minutes {
    /// The Mondays of the first and of the last week with a session.
    pub weeks: (Date, Date),
    /// How many weeks these span.
    pub number: i64,
    /// Each device, in the order of its first week.
    pub devices: Vec<OfDevice>,
    /// Sessions that the student refused.
    pub refused: u32,
}

impl Minutes {
    /// What was held in a week with any device.
    #[must_use]
    pub fn of_week(&self, monday: Date) -> Held {
        let held = self.devices.iter().filter_map(|one| one.weeks.get(&monday));
        held.fold(Held::default(), |sum, held| sum.and(*held))
    }

    /// All weeks and devices together.
    #[must_use]
    pub fn sum(&self) -> Held {
        self.devices.iter().fold(Held::default(), |sum, one| sum.and(one.sum()))
    }

    /// The weeks from the first to the last without any session.
    #[must_use]
    pub fn empty_weeks(&self) -> i64 {
        let mut mondays: Vec<Date> = self.devices.iter().flat_map(|one| one.weeks.keys().copied()).collect();
        mondays.sort_unstable();
        mondays.dedup();
        self.number - i64::try_from(mondays.len()).unwrap_or(i64::MAX)
    }
}

/// The Monday of the week of a day.
fn monday(day: Date) -> Date {
    day.saturating_sub(i64::from(day.weekday().to_monday_zero_offset()).days())
}

/// The minutes of a track; none where no session was held. `same` gives two
/// loans of one pool device the same key.
#[must_use]
pub fn minutes(track: Track, sessions: &[Session], same: impl Fn(Named) -> String) -> Option<Minutes> {
    let mut all: BTreeMap<String, OfDevice> = BTreeMap::new();
    let mut refused = 0;
    for session in sessions.iter().filter(|session| session.entered.track == track) {
        let entered = &session.entered;
        if entered.refused.is_some() {
            refused += 1;
            continue;
        }
        let empty = || OfDevice { device: entered.device, weeks: BTreeMap::new() };
        let held =
            all.entry(same(entered.device)).or_insert_with(empty).weeks.entry(monday(entered.held_on)).or_default();
        *held = held.and(Held { minutes: entered.minutes, sessions: 1 });
    }
    let mut devices: Vec<OfDevice> = all.into_values().collect();
    devices.sort_by_key(|one| one.weeks.keys().next().copied());
    let first = devices.iter().filter_map(|one| one.weeks.keys().next()).min().copied()?;
    let last = devices.iter().filter_map(|one| one.weeks.keys().next_back()).max().copied()?;
    let number = first.until(last).map_or(1, |span| i64::from(span.get_days()) / 7 + 1);
    Some(Minutes { weeks: (first, last), number, devices, refused })
}
