//! How many right ones a minute, and how sure is that?
//!
//! A rate is shown beside its accuracy, never alone: a rate that rises while
//! the accuracy falls is no progress. Found with help counts apart.
//!
//! Does not know what was counted.

use super::special::gamma_quantile;
use super::{Interval, Refused};
use crate::vision::skill::Level;
use crate::vision::units::{Seconds, within};

/// A count per minute with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PerMinute {
    /// How many a minute.
    pub rate: f64,
    /// The rates that fit the count.
    pub interval: Interval,
    /// How many were counted.
    pub count: u32,
    /// In how many minutes.
    pub minutes: f64,
}

/// How many a minute, when so many were counted in this time?
///
/// **Formula** c = 60 k/t; exact Poisson limits χ²(α/2; 2k)/2 and
/// χ²(1−α/2; 2k+2)/2, over the minutes; with none counted the lower is 0.
/// **Source** Garwood 1936 (from memory), recomputed independently (derived).
/// **Range** up to 1 000 000 counted, a tenth of a second to a day. For right
/// ones, for losses of a moving target, for prompts alike.
///
/// ```
/// use farpoint::vision::{skill::Level, stats::rate::per_minute, units::Seconds};
/// let found = per_minute(8, Seconds::new(120.0)?, Level::Ninety)?;
/// assert_eq!(found.rate, 4.0);
/// assert!((found.interval.low - 1.99).abs() < 0.01 && (found.interval.high - 7.22).abs() < 0.01);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// No time, or values outside the range.
pub fn per_minute(count: u32, time: Seconds, level: Level) -> Result<PerMinute, Refused> {
    let k = within("count", "", f64::from(count), 0.0..=1e6)?;
    let minutes = within("time", "s", time.get(), 0.1..=86_400.0)? / 60.0;
    let tail = (1.0 - level.share()) / 2.0;
    let low = if count == 0 { 0.0 } else { gamma_quantile(k, tail) / minutes };
    let high = gamma_quantile(k + 1.0, 1.0 - tail) / minutes;
    Ok(PerMinute { rate: k / minutes, interval: Interval { low, high, level }, count, minutes })
}
