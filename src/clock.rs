//! The only reader of "now" and of randomness.
//!
//! Everything else is handed instants, dates and ids, so that tests can say
//! what day it is. Does not know records or requests.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use uuid::Uuid;

/// Tells the time in the installation's time zone.
#[derive(Clone)]
pub struct Clock {
    zone: TimeZone,
    fixed: Option<Arc<AtomicI64>>,
}

impl Clock {
    /// The machine's clock, read in `zone`.
    pub fn system(zone: TimeZone) -> Self {
        Self { zone, fixed: None }
    }

    /// A clock that stands at `now` until it is moved.
    pub fn fixed(zone: TimeZone, now: Timestamp) -> Self {
        let at = Arc::new(AtomicI64::new(now.as_millisecond()));
        Self { zone, fixed: Some(at) }
    }

    /// Moves a fixed clock on; the machine's clock is not moved.
    pub fn advance(&self, by: SignedDuration) {
        if let Some(at) = &self.fixed {
            let millis = i64::try_from(by.as_millis()).unwrap_or(0);
            at.fetch_add(millis, Ordering::SeqCst);
        }
    }

    /// Sets a fixed clock; the machine's clock is not moved.
    pub fn move_to(&self, at: Timestamp) {
        if let Some(fixed) = &self.fixed {
            fixed.store(at.as_millisecond(), Ordering::SeqCst);
        }
    }

    /// This instant, to the millisecond.
    pub fn now(&self) -> Timestamp {
        let millis = match &self.fixed {
            Some(at) => at.load(Ordering::SeqCst),
            None => {
                #[expect(clippy::disallowed_methods, reason = "the one place that reads the machine's clock")]
                let now = Timestamp::now();
                now.as_millisecond()
            }
        };
        Timestamp::from_millisecond(millis).unwrap_or(Timestamp::UNIX_EPOCH)
    }

    /// Today where the installation is.
    pub fn today(&self) -> Date {
        self.date_of(self.now())
    }

    /// The civil date of an instant where the installation is.
    pub fn date_of(&self, at: Timestamp) -> Date {
        at.to_zoned_datetime(self.zone.clone()).date()
    }

    /// The installation's time zone.
    pub fn zone(&self) -> &TimeZone {
        &self.zone
    }

    /// The first instant of a day where the installation is.
    pub fn start_of(&self, day: Date) -> Timestamp {
        let midnight = day.to_datetime(jiff::civil::Time::midnight());
        self.zone.to_timestamp(midnight).unwrap_or(Timestamp::UNIX_EPOCH)
    }
}

/// A fresh uuid that sorts by the time it was made.
#[expect(clippy::disallowed_methods, reason = "the one place that makes ids")]
pub fn fresh_uuid() -> Uuid {
    Uuid::now_v7()
}

/// 32 bytes nobody can guess, for session tokens, links and keys.
pub fn secret() -> [u8; 32] {
    rand::random()
}
