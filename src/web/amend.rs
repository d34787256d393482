//! Corrections on a page: what was amended, and the line that says so in a list.
//!
//! Does not know any one record; each area shows its own.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::part::{Amended, amended};
use super::words;
use crate::care::amendment::Amendment;

/// The corrections of one record, finished for its page.
pub fn shown(amendments: &[Amendment], zone: &TimeZone) -> Amended {
    amendments.iter().fold(amended(), |part, one| {
        let when = words::instant(one.at, zone);
        part.field([&one.by, &when, &one.reason], [&one.field, &one.before, &one.after])
    })
}

/// The word in a list: amended on 9 March 2027.
pub fn on(at: Timestamp, zone: &TimeZone) -> String {
    format!("amended on {}", words::date(at.to_zoned_datetime(zone.clone()).date()))
}
