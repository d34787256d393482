//! When does somebody get an e-mail, what does it say, and how long is it tried?
//!
//! A letter says how much is new and where to sign in. It names no student, not
//! even by initials, and uses no word about health: it may be read on a shared
//! telephone or reach a wrong address. Does not know what is new to whom, nor
//! how a letter travels.

use jiff::SignedDuration;
use jiff::civil::{DateTime, Time, time};

use super::codes::codes;

codes! {
    /// How often somebody wants to be told by e-mail.
    pub enum Often {
        Never = "never" : "not at all",
        Daily = "daily" : "once a day, in the afternoon",
        AtOnce = "at_once" : "when something is new",
    }

    /// What became of a letter.
    pub enum LetterState {
        Waiting = "waiting" : "waiting to be sent",
        Sending = "sending" : "being sent",
        Sent = "sent" : "sent",
        GivenUp = "given_up" : "given up",
        Dropped = "dropped" : "dropped by a records officer",
    }
}

/// The hour from which the one letter of the day may go: school is over
/// (common practice).
pub const DAILY_FROM: Time = time(16, 0, 0, 0);

/// Whoever is told at once is left alone for this long after a letter, so that
/// ten entries of one lesson are one letter.
pub const PAUSE: SignedDuration = SignedDuration::from_mins(10);

/// After each failure a letter waits for this long; after the last it is given
/// up: some fifteen hours, so that a mail server may be down for a night.
const WAITS: [SignedDuration; 5] = [
    SignedDuration::from_mins(1),
    SignedDuration::from_mins(5),
    SignedDuration::from_mins(30),
    SignedDuration::from_hours(2),
    SignedDuration::from_hours(12),
];

/// Whether it is time to see what is new for somebody who was last told then.
/// Both are times of day where the schools are.
///
/// ```
/// use farpoint::care::mail::{Often, is_time};
/// use jiff::civil::date;
/// let yesterday = date(2026, 9, 15).at(16, 2, 0, 0);
/// assert!(!is_time(Often::Daily, yesterday, date(2026, 9, 16).at(15, 59, 0, 0)));
/// assert!(is_time(Often::Daily, yesterday, date(2026, 9, 16).at(16, 0, 0, 0)));
/// ```
#[must_use]
pub fn is_time(often: Often, told: DateTime, now: DateTime) -> bool {
    match often {
        Often::Never => false,
        Often::Daily => {
            let today = now.date().to_datetime(DAILY_FROM);
            let last = if now < today { today.saturating_sub(jiff::Span::new().days(1)) } else { today };
            told < last
        }
        Often::AtOnce => told.saturating_add(PAUSE) <= now,
    }
}

/// How long a letter waits after it failed this many times; nothing, it is given up.
#[must_use]
pub fn wait_after(failures: i64) -> Option<SignedDuration> {
    let which = usize::try_from(failures.checked_sub(1)?).ok()?;
    WAITS.get(which).copied()
}

/// The line over a letter.
#[must_use]
pub fn subject(entries: i64, questions: i64) -> String {
    match (entries, questions) {
        (_, 1) => "Farpoint: a question waits for you".to_owned(),
        (_, 2..) => format!("Farpoint: {questions} questions wait for you"),
        (1, _) => "Farpoint: one new entry".to_owned(),
        _ => format!("Farpoint: {entries} new entries"),
    }
}

/// The letter itself; `address` is where people sign in.
#[must_use]
pub fn body(entries: i64, questions: i64, address: &str) -> String {
    let new =
        if entries == 1 { "There is one new entry".to_owned() } else { format!("There are {entries} new entries") };
    let asked = match questions {
        0 => String::new(),
        1 => "\nOne question waits for your answer.".to_owned(),
        _ => format!("\n{questions} questions wait for your answer."),
    };
    format!(
        "{new} for you to read.{asked}\n\nSign in: {address}/today\n\n\
         This letter names nobody on purpose. Nobody reads answers to it.\n\
         How often it comes: {address}/account\n"
    )
}
