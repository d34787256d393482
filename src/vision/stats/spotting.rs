//! How long until the target is spotted, when some searches fail?
//!
//! A failed search is longer than the time it was given; how much longer
//! nobody knows. It is never dropped and never counted as a time.
//!
//! Does not know devices. Read next: [`super::better`] for counts.

use super::special::normal_below;
use super::{Enough, Interval, Refused, counted};
use crate::vision::skill::{Level, SuccessRate, success_rate};
use crate::vision::units::{Seconds, above_zero, within};

/// More searches than this are no trial of a device.
const MOST: usize = 10_000;

/// Timed trials for a time to be told. Common practice.
const TRIALS: usize = 6;

/// One search for a target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Search {
    /// Found after this time.
    Found(Seconds),
    /// Given up, or stopped, at this time.
    Stopped(Seconds),
}

impl Search {
    const fn seconds(self) -> f64 {
        match self {
            Self::Found(time) | Self::Stopped(time) => time.get(),
        }
    }

    const fn is_found(self) -> bool {
        matches!(self, Self::Found(_))
    }
}

/// How long the searches take.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeToSpot {
    /// The time by which half are found; none when half never are.
    pub median: Option<Seconds>,
    /// Times that fit as the median; an end that is none was not reached.
    pub median_between: (Option<Seconds>, Option<Seconds>),
    /// The mean time spent, up to the cap.
    pub mean_to_cap: Seconds,
    /// The means that fit; none when nothing was found, or all at once.
    pub interval: Option<Interval>,
    /// How many were found, of all, with its interval.
    pub found: SuccessRate,
    /// Whether there is enough to tell a time.
    pub enough: Enough,
}

/// One step down of the share not yet found.
struct Step {
    at: f64,
    share: f64,
    /// The sum of d/(n(n−d)) up to here.
    greenwood: f64,
    risk: f64,
    found: f64,
}

fn steps(sorted: &[Search]) -> Vec<Step> {
    let mut all = Vec::new();
    let (mut risk, mut share, mut greenwood) = (sorted.len() as f64, 1.0, 0.0);
    for same in sorted.chunk_by(|a, b| a.seconds() == b.seconds()) {
        let found = same.iter().filter(|search| search.is_found()).count() as f64;
        if found > 0.0 {
            share *= 1.0 - found / risk;
            greenwood += found / (risk * (risk - found));
            all.push(Step { at: same[0].seconds(), share, greenwood, risk, found });
        }
        risk -= same.len() as f64;
    }
    all
}

fn checked(searches: &[Search], cap: f64) -> Result<Vec<Search>, Refused> {
    counted("searches", searches.len(), 1, MOST)?;
    for search in searches {
        within("time", "s", search.seconds(), above_zero(cap))?;
    }
    let mut sorted = searches.to_vec();
    sorted.sort_by(|a, b| a.seconds().total_cmp(&b.seconds()));
    Ok(sorted)
}

/// How long does the student search, with failed searches counted as such?
///
/// **Formula** S(t) = Π (1 − d/n) over the times at which something was found;
/// median the first t with S ≤ ½, its interval where log(−log S) less than z
/// errors from that of ½; mean ∫S to the cap, variance Σ (∫ₜS)² d/(n(n−d)).
/// **Source** Kaplan and Meier 1958, Greenwood 1926, Brookmeyer and Crowley
/// 1982 (from memory), recomputed independently (derived). **Range** 1 to 10 000
/// searches, each longer than nothing and not beyond the cap.
///
/// ```
/// use farpoint::vision::{skill::Level, stats::spotting::{Search, time_to_spot}, units::Seconds};
/// let s = |time| Seconds::new(time);
/// let all = [Search::Found(s(3.0)?), Search::Found(s(5.0)?), Search::Found(s(8.0)?), Search::Stopped(s(60.0)?)];
/// let found = time_to_spot(&all, s(60.0)?, Level::Ninety)?;
/// assert_eq!(found.median, Some(s(5.0)?));
/// assert_eq!(found.mean_to_cap.get(), 19.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// No searches, too many, a time of nothing, or one beyond the cap.
pub fn time_to_spot(searches: &[Search], cap: Seconds, level: Level) -> Result<TimeToSpot, Refused> {
    let limit = within("cap", "s", cap.get(), above_zero(86_400.0))?;
    let sorted = checked(searches, limit)?;
    let steps = steps(&sorted);
    let z = level.quantile();
    // How far log(−log S) lies from that of one half, in its own errors.
    let distance = |step: &Step| {
        let log = step.share.ln();
        if step.share <= 0.0 {
            f64::INFINITY
        } else {
            ((-log).ln() - 0.5_f64.ln().abs().ln()) / (step.greenwood.sqrt() / -log)
        }
    };
    let first = |holds: &dyn Fn(&Step) -> bool| -> Result<Option<Seconds>, Refused> {
        Ok(steps.iter().find(|step| holds(step)).map(|step| Seconds::new(step.at)).transpose()?)
    };
    let median = first(&|step| step.share <= 0.5 + 1e-12)?;
    let median_between = (first(&|step| distance(step) >= -z)?, first(&|step| distance(step) > z)?);

    let ends = steps.iter().skip(1).map(|step| step.at).chain([limit]);
    let areas: Vec<f64> = steps.iter().zip(ends).map(|(step, end)| step.share * (end - step.at)).collect();
    let before = steps.first().map_or(limit, |step| step.at);
    let mean = before + areas.iter().sum::<f64>();
    let mut variance = 0.0;
    let mut remaining: f64 = areas.iter().sum();
    for (step, area) in steps.iter().zip(&areas) {
        if remaining > 0.0 && step.risk > step.found {
            variance += remaining.powi(2) * step.found / (step.risk * (step.risk - step.found));
        }
        remaining -= area;
    }
    // No time is below nothing, and no mean to the cap beyond it.
    let (low, high) = ((mean - z * variance.sqrt()).max(0.0), (mean + z * variance.sqrt()).min(limit));
    let found = sorted.iter().filter(|search| search.is_found()).count();
    let count = |of: usize| u32::try_from(of).unwrap_or(u32::MAX);
    Ok(TimeToSpot {
        median,
        median_between,
        mean_to_cap: Seconds::new(mean)?,
        interval: (variance > 0.0).then_some(Interval { low, high, level }),
        found: success_rate(count(found), count(sorted.len()), level)?,
        enough: Enough::of(&[("timed searches", TRIALS, sorted.len())]),
    })
}

/// Whether one of two is found sooner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sooner {
    /// Found with the first, less those expected were both alike; positive is
    /// sooner with the first.
    pub excess: f64,
    /// How often chance alone does at least this, either way; none if nothing
    /// was found with either.
    pub p_two_sided: Option<f64>,
    /// Searches with the first and with the second.
    pub searches: (usize, usize),
}

/// Is the target spotted sooner with one device than with the other?
///
/// **Formula** the log-rank test: Σ (d₁ − d n₁/n) over its standard deviation,
/// hypergeometric variance d (n₁/n)(1 − n₁/n)(n − d)/(n − 1). **Source** Mantel
/// 1966 (from memory), recomputed independently (derived). **Range** 1 to 10 000
/// searches each, all within a day.
///
/// ```
/// use farpoint::vision::{stats::spotting::{Search, spotted_sooner}, units::Seconds};
/// let of = |all: &[f64]| all.iter().map(|s| Seconds::new(*s).map(Search::Found)).collect::<Result<Vec<_>, _>>();
/// let found = spotted_sooner(&of(&[3.0, 4.0, 4.5, 5.0, 6.0])?, &of(&[9.0, 11.0, 12.0, 15.0, 20.0])?)?;
/// assert!(found.excess > 0.0 && found.p_two_sided.is_some_and(|p| p < 0.01));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// No searches with one of them, too many, or a time of nothing.
pub fn spotted_sooner(first: &[Search], second: &[Search]) -> Result<Sooner, Refused> {
    let (one, other) = (checked(first, 86_400.0)?, checked(second, 86_400.0)?);
    let mut times: Vec<f64> =
        one.iter().chain(&other).filter(|search| search.is_found()).map(|search| search.seconds()).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let (mut excess, mut variance) = (0.0, 0.0);
    for time in times {
        // Sorted lists: how many last at least so long, and how many end right now.
        let at_risk = |all: &[Search]| (all.len() - all.partition_point(|search| search.seconds() < time)) as f64;
        let found = |all: &[Search]| {
            let from = all.partition_point(|search| search.seconds() < time);
            all[from..].iter().take_while(|s| s.seconds() <= time).filter(|s| s.is_found()).count() as f64
        };
        let (n1, n2, d1, d2) = (at_risk(&one), at_risk(&other), found(&one), found(&other));
        let (n, d) = (n1 + n2, d1 + d2);
        excess += d1 - d * n1 / n;
        if n > 1.0 {
            variance += d * (n1 / n) * (1.0 - n1 / n) * (n - d) / (n - 1.0);
        }
    }
    let p_two_sided = (variance > 0.0).then(|| 2.0 * normal_below(-excess.abs() / variance.sqrt()));
    Ok(Sooner { excess, p_two_sided, searches: (one.len(), other.len()) })
}
