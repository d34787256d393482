//! Dates for a calendar program: that something is on a day, and nothing about
//! what or whom.
//!
//! **Source** RFC 5545, and `practice.md` 6.7: one event for a date, a name of its
//! own that stays, private, no name, no health word, no alarm. All are whole days,
//! so no time zone can shift them. Does not know whose dates they are, nor who may
//! know them.

use icalendar::{Calendar, Class, Component, Event, Property};
use jiff::Timestamp;
use jiff::civil::Date;
use sha2::{Digest, Sha256};

/// What is on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// Somebody is seen somewhere.
    Appointment,
    /// Something has to be looked at.
    Due,
}

/// One date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The day.
    pub on: Date,
    /// What is on.
    pub what: What,
    /// What tells it apart for good: kind and id of the record. It is hashed, never shown.
    pub key: String,
}

/// The feed: every date as an event of a whole day.
#[must_use]
pub fn text(entries: &[Entry], now: Timestamp, address: &str) -> String {
    let mut calendar = Calendar::new();
    calendar.name("Farpoint");
    for entry in entries {
        let name = hex::encode(&Sha256::digest(entry.key.as_bytes())[..16]);
        let summary = match entry.what {
            What::Appointment => "Farpoint: an appointment, sign in",
            What::Due => "Farpoint: something is due, sign in",
        };
        let mut event = Event::new();
        event.uid(&format!("{name}@farpoint"));
        event.summary(summary);
        event.url(&format!("{address}/today"));
        event.class(Class::Private);
        event.add_property("DTSTAMP", now.strftime("%Y%m%dT%H%M%SZ").to_string());
        event.add_property("TRANSP", "TRANSPARENT");
        let mut day = Property::new("DTSTART", entry.on.strftime("%Y%m%d").to_string());
        day.add_parameter("VALUE", "DATE");
        event.append_property(day);
        calendar.push(event.done());
    }
    calendar.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn one(key: &str) -> String {
        let entries = [Entry { on: date(2026, 12, 1), what: What::Due, key: key.to_owned() }];
        text(&entries, "2026-11-26T12:00:00Z".parse().expect("an instant"), "https://farpoint.example")
    }

    #[test]
    fn a_date_is_a_private_event_of_a_whole_day() {
        let text = one("loan 1");
        for line in [
            "BEGIN:VCALENDAR",
            "VERSION:2.0",
            "DTSTART;VALUE=DATE:20261201",
            "DTSTAMP:20261126T120000Z",
            "CLASS:PRIVATE",
            "SUMMARY:Farpoint: something is due\\, sign in",
            "END:VCALENDAR",
        ] {
            assert!(text.split("\r\n").any(|found| found == line), "{line} in {text}");
        }
        assert!(!text.contains("loan") && !text.contains("VALARM"), "{text}");
        assert!(text.split("\r\n").all(|line| line.len() <= 75), "a line longer than 75 octets: {text}");
    }

    #[test]
    fn an_event_keeps_its_name_and_two_never_share_one() {
        let name = |key: &str| one(key).lines().find(|line| line.starts_with("UID:")).map(str::to_owned);
        assert_eq!(name("loan 1"), name("loan 1"));
        assert_ne!(name("loan 1"), name("loan 2"));
    }
}
