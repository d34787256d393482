//! How much better are the sessions of training than those before?
//!
//! Every pair of a session before and a session during training is compared.
//! The order within a phase does not enter: with a baseline that already rises
//! the overlap says little, and the page says so.

use super::special::crossing;
use super::{Enough, Interval, Refused, counted};
use crate::vision::skill::Level;
use crate::vision::units::{OutOfRange, within};

/// More sessions than this are no phase.
const MOST: usize = 3_000;

/// Sessions of a phase for its overlap to be told. Common practice.
const SESSIONS_PER_PHASE: usize = 3;

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// Higher: right ones, rates.
    Higher,
    /// Lower: seconds, losses.
    Lower,
}

/// The share of pairs in which the later phase is better.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlap {
    /// From 0, always worse, by 0.5, no difference, to 1, always better.
    pub share: f64,
    /// The shares that fit.
    pub interval: Interval,
    /// The same as published programs print it: where every pair is better (or
    /// none) it is a single point, which no few sessions can prove.
    pub as_published: Interval,
    /// The standard error. None with a phase of one session; 0, and not to be
    /// shown, where every pair is better or none.
    pub error: Option<f64>,
    /// Sessions before.
    pub before: usize,
    /// Sessions during.
    pub during: usize,
    /// Whether both phases are long enough.
    pub enough: Enough,
}

/// In what share of pairs is the session during training the better one?
///
/// **Formula** NAP = mean of 1, ½ (ties), 0 over all pairs; standard error
/// √{[NAP − (m+n−1)NAP² + nQ₁ + mQ₂ − 2Q₃]/[(m−1)(n−1)]}; interval the roots t
/// of (NAP−t)² = z²ht(1−t)/(mn) · [1/h + (1−t)/(2−t) + t/(1+t)], h = (m+n)/2 − 1.
/// **Source** Parker and Vannest 2009; Sen 1967; Newcombe 2006, method 5; as in
/// the SingleCaseES package (seen). At NAP = 1 the equation has a second root
/// at 1, which published programs take for the lower end; the interval here
/// takes the inner one. **Range** 1 to 3 000 sessions in each phase.
///
/// ```
/// use farpoint::vision::{skill::Level, stats::overlap::{Better, all_pairs}};
/// let found = all_pairs(&[4.0, 5.0, 4.5], &[6.0, 7.0, 6.5, 5.0], Better::Higher, Level::Ninety)?;
/// assert!((found.share - 11.5 / 12.0).abs() < 1e-12 && found.interval.low < 0.75);
/// # Ok::<(), farpoint::vision::stats::Refused>(())
/// ```
///
/// # Errors
/// An empty phase, too many sessions, or a value that is no number.
pub fn all_pairs(before: &[f64], during: &[f64], better: Better, level: Level) -> Result<Overlap, Refused> {
    counted("sessions before", before.len(), 1, MOST)?;
    counted("sessions during", during.len(), 1, MOST)?;
    let signed = |what, values: &[f64]| -> Result<Vec<f64>, OutOfRange> {
        let one = |value: &f64| within(what, "", *value, -1e9..=1e9);
        values.iter().map(one).map(|value| value.map(|v| if better == Better::Lower { -v } else { v })).collect()
    };
    let (a, b) = (signed("value before", before)?, signed("value during", during)?);
    let (m, n) = (a.len() as f64, b.len() as f64);
    let score = |i: f64, j: f64| {
        if j > i {
            1.0
        } else if j < i {
            0.0
        } else {
            0.5
        }
    };
    let over = |i: f64| b.iter().map(|j| score(i, *j)).sum::<f64>();
    let under = |j: f64| a.iter().map(|i| score(*i, j)).sum::<f64>();
    let pairs = m * n;
    let share = a.iter().map(|i| over(*i)).sum::<f64>() / pairs;

    let q1 = a.iter().map(|i| over(*i).powi(2)).sum::<f64>() / (m * n * n);
    let q2 = b.iter().map(|j| under(*j).powi(2)).sum::<f64>() / (m * m * n);
    let q3 = a.iter().map(|i| b.iter().map(|j| score(*i, *j).powi(2)).sum::<f64>()).sum::<f64>() / pairs;
    let variance = (share - (m + n - 1.0) * share * share + n * q1 + m * q2 - 2.0 * q3) / ((m - 1.0) * (n - 1.0));
    // The estimate of the variance is unbiased, so it can fall below zero by
    // chance; by rounding, at the ends. Far below, nothing is known.
    let error = (m > 1.0 && n > 1.0 && variance > -1e-12).then(|| variance.max(0.0).sqrt());

    let low = if share > 0.0 { lower(share, m, n, level) } else { 0.0 };
    // Turned round, the upper end is a lower one.
    let high = if share < 1.0 { 1.0 - lower(1.0 - share, m, n, level) } else { 1.0 };
    let interval = Interval { low, high, level };
    let single = Interval { low: share, high: share, level };
    let as_published = if share <= 0.0 || share >= 1.0 { single } else { interval };
    let enough = Enough::of(&[
        ("sessions before", SESSIONS_PER_PHASE, before.len()),
        ("sessions during", SESSIONS_PER_PHASE, during.len()),
    ]);
    Ok(Overlap { share, interval, as_published, error, before: before.len(), during: during.len(), enough })
}

/// The lower root of Newcombe's equation, of two when the share is 1.
fn lower(share: f64, m: f64, n: f64, level: Level) -> f64 {
    let (h, z) = ((m + n) / 2.0 - 1.0, level.quantile());
    // The quadratic divided by 1 − t where the share is 1, so that the root at 1 is gone.
    let left = |t: f64| if share >= 1.0 { 1.0 - t } else { (share - t).powi(2) / (1.0 - t) };
    let right = |t: f64| z * z * t / (m * n) * (1.0 + h * ((1.0 - t) / (2.0 - t) + t / (1.0 + t)));
    crossing(0.0, share, 0.0, |t| right(t) - left(t))
}
