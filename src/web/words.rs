//! Words for values: dates, times, lengths in the reader's units, stages.
//!
//! Rust picks the words, templates print them. Does not know any one page.

use jiff::Timestamp;
use jiff::civil::Date;

use super::page::Context;
use crate::care::journey::Stage;
use crate::store::journey::Shown;
use crate::vision::length::shown::{self, Units};
use crate::vision::units::Metres;

/// A date as people write it: 9 March 2027.
pub fn date(day: Date) -> String {
    day.strftime("%-d %B %Y").to_string()
}

/// A date with its weekday: Tuesday 9 March.
pub fn weekday(day: Date) -> String {
    day.strftime("%A %-d %B").to_string()
}

/// An instant where the installation is: 9 March 2027, 07:30.
pub fn instant(at: Timestamp, zone: &jiff::tz::TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%-d %B %Y, %H:%M").to_string()
}

/// An instant of the coming days: Thursday 14:20.
pub fn until(at: Timestamp, zone: &jiff::tz::TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%A %H:%M").to_string()
}

/// How much time is left: 23 hours and 12 minutes; the last minute is a whole one.
pub fn left(now: Timestamp, until: Timestamp) -> String {
    let minutes = (until.duration_since(now).as_secs().max(0) + 59) / 60;
    let part = |number: i64, word: &str| match number {
        0 => None,
        1 => Some(format!("1 {word}")),
        many => Some(format!("{many} {word}s")),
    };
    let parts: Vec<String> = [part(minutes / 60, "hour"), part(minutes % 60, "minute")].into_iter().flatten().collect();
    list(&parts)
}

/// How long something has lasted: today, for 1 day, for 6 days.
pub fn since(day: Date, today: Date) -> String {
    let days = today.since(day).map_or(0, |span| span.get_days());
    match days {
        ..=0 => "today".to_owned(),
        1 => "for 1 day".to_owned(),
        days => format!("for {days} days"),
    }
}

/// How long ago a day was: today, yesterday, 6 days ago, or its date.
pub fn ago(day: Date, today: Date) -> String {
    match today.since(day).map_or(0, |span| span.get_days()) {
        ..=0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        days @ ..=60 => format!("{days} days ago"),
        _ => date(day),
    }
}

/// A list in a sentence: a, b and c.
pub fn list<T: AsRef<str>>(items: &[T]) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// The units a reader chose.
pub fn units(context: &Context) -> Units {
    if context.imperial() { Units::Imperial } else { Units::Metric }
}

/// A distance in the reader's units.
pub fn distance(metres: Metres, context: &Context) -> String {
    shown::distance(metres, units(context))
}

/// A height of writing in the reader's units.
pub fn height(height: Metres, context: &Context) -> String {
    shown::letter_height(height, units(context))
}

/// The stage of each track, one line each; a track still at intake is left out
/// unless both are.
pub fn stages(tracks: &[Shown]) -> Vec<String> {
    let lines: Vec<String> = tracks
        .iter()
        .filter(|shown| shown.journey.stage != Stage::Intake || shown.waiting_for_consent)
        .map(|shown| {
            let words = if shown.waiting_for_consent { "waiting for consent" } else { shown.journey.stage.words() };
            format!("{}: {words}", capital(shown.journey.track.words()))
        })
        .collect();
    if lines.is_empty() { vec!["Intake".to_owned()] } else { lines }
}

/// The same words with a capital at the start.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The choices of a closed list for a form.
#[macro_export]
macro_rules! options {
    ($list:ty) => {
        <$list>::ALL.iter().map(|one| (one.code(), $crate::web::words::capital(one.words()))).collect::<Vec<_>>()
    };
}
pub use options;
