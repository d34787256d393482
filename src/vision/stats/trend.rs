//! Do the values rise or fall with the days, and by how much?
//!
//! Both answers rest on pairs of values, so that one odd session cannot turn
//! them. Sizes are never mixed in one series: easier targets look like
//! progress. Targets that adapt to the student keep the accuracy flat by
//! design; their trend is that of the threshold.
//!
//! Does not know what the values are. Read next: [`super::growth`].

use super::special::normal_below;
use super::{Enough, Interval, Refused, counted};
use crate::vision::skill::Level;
use crate::vision::units::{OutOfRange, within};

/// More values than this are no series of sessions.
const MOST: usize = 3_000;

/// From here on a test of the trend can find anything: with four sessions the
/// smallest two-sided p is 0.083.
const SESSIONS_FOR_A_TEST: usize = 5;

/// One value of a series, and when it was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    at: f64,
    value: f64,
}

impl Point {
    /// A value and when it was, usually in days since the first session.
    ///
    /// ```
    /// use farpoint::vision::stats::trend::Point;
    /// assert!(Point::new(7.0, f64::NAN).is_err());
    /// ```
    ///
    /// # Errors
    /// Numbers that are none, or beyond 1 000 000 000.
    pub fn new(at: f64, value: f64) -> Result<Self, OutOfRange> {
        Ok(Self { at: within("time", "", at, -1e9..=1e9)?, value: within("value", "", value, -1e9..=1e9)? })
    }

    /// When it was.
    pub const fn at(self) -> f64 {
        self.at
    }

    /// The value.
    pub const fn value(self) -> f64 {
        self.value
    }
}

/// Which values do the days have, when sessions of one day count as one?
///
/// **Formula** the mean of each day, in order of days. **Source** common practice:
/// sessions of one day are not sessions of two. **Range** any number.
///
/// ```
/// use farpoint::vision::stats::trend::{Point, by_day};
/// let all = [Point::new(3.0, 8.0)?, Point::new(0.0, 4.0)?, Point::new(3.0, 6.0)?];
/// assert_eq!(by_day(&all), [Point::new(0.0, 4.0)?, Point::new(3.0, 7.0)?]);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn by_day(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.at.total_cmp(&b.at));
    sorted
        .chunk_by(|a, b| a.at.total_cmp(&b.at).is_eq())
        .filter_map(|day| {
            let sum: f64 = day.iter().map(|point| point.value).sum();
            day.first().map(|first| Point { at: first.at, value: sum / day.len() as f64 })
        })
        .collect()
}

/// The middle value of a sorted list; none of an empty one.
pub(super) fn middle(sorted: &[f64]) -> Option<f64> {
    let half = sorted.len() / 2;
    let upper = *sorted.get(half)?;
    if sorted.len() % 2 == 1 { Some(upper) } else { Some(f64::midpoint(*sorted.get(half.checked_sub(1)?)?, upper)) }
}

fn median_of(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    middle(&values)
}

/// How often each value comes, for the values that come more than once.
fn ties(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    sorted.chunk_by(|a, b| a.total_cmp(b).is_eq()).filter(|run| run.len() > 1).map(|run| run.len() as f64).collect()
}

fn sum_over(ties: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    ties.iter().map(|t| of(*t)).sum()
}

/// A straight line through most of the values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// How much the value changes in one unit of time.
    pub slope: f64,
    /// The value where time is 0.
    pub intercept: f64,
    /// The slopes that fit the values.
    pub interval: Interval,
    /// How many values there are.
    pub points: usize,
}

/// How much does the value change per unit of time, whatever one odd value says?
///
/// **Formula** the median of the slopes of all pairs; intercept median(y) −
/// slope × median(x); interval by ranks of the sorted slopes, σ² = [n(n−1)(2n+5)
/// − Σ t(t−1)(2t+5)]/18 over ties in x and in y. **Source** Theil 1950, Sen
/// 1968, with the ranks as in SciPy's `theilslopes` (seen). **Range** 2 to 3 000
/// values on two days or more. Where ties leave no σ², every slope is possible
/// and the interval says so.
///
/// ```
/// use farpoint::vision::{skill::Level, stats::trend::{Point, theil_sen}};
/// let days = [(0.0, 3.0), (7.0, 4.0), (14.0, 4.0), (21.0, 6.0), (28.0, 5.0)];
/// let points = days.iter().map(|(at, value)| Point::new(*at, *value)).collect::<Result<Vec<_>, _>>()?;
/// let line = theil_sen(&points, Level::Ninety)?;
/// assert!((line.slope * 7.0 - 0.5).abs() < 1e-12 && line.interval.low == 0.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Too few values, too many, or all at one time.
pub fn theil_sen(points: &[Point], level: Level) -> Result<Line, Refused> {
    counted("values", points.len(), 2, MOST)?;
    let mut slopes = Vec::with_capacity(points.len() * (points.len() - 1) / 2);
    for (i, one) in points.iter().enumerate() {
        for other in &points[i + 1..] {
            let apart = other.at - one.at;
            if apart != 0.0 {
                // A negative zero would sort before zero and break no tie, but print a sign.
                slopes.push((other.value - one.value) / apart + 0.0);
            }
        }
    }
    slopes.sort_by(f64::total_cmp);
    let none = Refused::AllAlike { what: "times" };
    let (slope, last) = (middle(&slopes).ok_or(none)?, slopes.len() - 1);
    let at = median_of(points.iter().map(|point| point.at).collect()).ok_or(none)?;
    let value = median_of(points.iter().map(|point| point.value).collect()).ok_or(none)?;

    let n = points.len() as f64;
    let tied = |values: Vec<f64>| sum_over(&values, |t| t * (t - 1.0) * (2.0 * t + 5.0));
    let variance = (n * (n - 1.0) * (2.0 * n + 5.0)
        - tied(ties(points.iter().map(|point| point.at)))
        - tied(ties(points.iter().map(|point| point.value))))
        / 18.0;
    let spread = if variance > 0.0 { level.quantile() * variance.sqrt() } else { f64::INFINITY };
    // Ranks beyond the list mean its ends.
    let rank = |ranked: f64| ((ranked / 2.0).round_ties_even().max(0.0) as usize).min(last);
    let all = slopes.len() as f64;
    // Where ties leave no spread, the rank is the last.
    let high = slopes[rank((all + spread).min(2.0 * all))];
    let low = slopes[rank(2.0 * (((all - spread) / 2.0).round_ties_even() - 1.0))];
    let interval = Interval { low, high, level };
    Ok(Line { slope, intercept: value - slope * at, interval, points: points.len() })
}

/// Whether two things rise together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Concord {
    /// From −1, always against each other, to 1, always together.
    pub tau_b: f64,
    /// Pairs that agree, less pairs that disagree.
    pub score: i64,
    /// How often chance alone does at least this, either way.
    pub p_two_sided: f64,
    /// How many values there are.
    pub points: usize,
}

impl Concord {
    /// Are there values enough for the test to find anything?
    ///
    /// **Formula** five sessions. **Source** the smallest two-sided p of four
    /// values is 0.083 (derived). **Range** any.
    ///
    /// ```
    /// use farpoint::vision::stats::trend::{Point, kendall};
    /// let four = [0.0, 1.0, 2.0, 3.0].map(|day| Point::new(day, day));
    /// let four = four.into_iter().collect::<Result<Vec<_>, _>>()?;
    /// assert!(!kendall(&four)?.enough().is_met());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn enough(&self) -> Enough {
        Enough::of(&[("sessions", SESSIONS_FOR_A_TEST, self.points)])
    }
}

/// Do the values go steadily up or down?
///
/// **Formula** τ_b = S/√((N − T_x)(N − T_y)), N pairs, T tied ones; p exact
/// without ties up to 33 values, else normal with the variance corrected for
/// ties. **Source** Kendall 1970; the choice between exact and normal as SciPy's
/// `kendalltau` (seen). **Range** 2 to 3 000 values, neither side all alike.
///
/// ```
/// use farpoint::vision::stats::trend::{Point, kendall};
/// let week = [(0.0, 4.0), (2.0, 5.0), (4.0, 5.5), (7.0, 7.0), (9.0, 8.0)];
/// let points = week.iter().map(|(at, value)| Point::new(*at, *value)).collect::<Result<Vec<_>, _>>()?;
/// let found = kendall(&points)?;
/// assert_eq!((found.tau_b, found.score), (1.0, 10));
/// assert!((found.p_two_sided - 2.0 / 120.0).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Too few values, too many, or one side all alike.
pub fn kendall(points: &[Point]) -> Result<Concord, Refused> {
    counted("values", points.len(), 2, MOST)?;
    let mut score = 0_i64;
    let mut discordant = 0_u32;
    for (i, one) in points.iter().enumerate() {
        for other in &points[i + 1..] {
            let way = (other.at - one.at).total_cmp(&0.0) as i64 * (other.value - one.value).total_cmp(&0.0) as i64;
            score += if other.at == one.at || other.value == one.value { 0 } else { way };
            discordant += u32::from(way < 0 && other.at != one.at && other.value != one.value);
        }
    }
    let n = points.len() as f64;
    let pairs = n * (n - 1.0) / 2.0;
    let at = ties(points.iter().map(|point| point.at));
    let value = ties(points.iter().map(|point| point.value));
    let tied = |ties: &[f64]| sum_over(ties, |t| t * (t - 1.0) / 2.0);
    let (tied_at, tied_value) = (tied(&at), tied(&value));
    for (what, tied) in [("times", tied_at), ("values", tied_value)] {
        if tied >= pairs {
            return Err(Refused::AllAlike { what });
        }
    }
    // Rounding may pass the ends.
    let tau_b = (score as f64 / ((pairs - tied_at).sqrt() * (pairs - tied_value).sqrt())).clamp(-1.0, 1.0);
    // Two-sided: the smaller of both counts.
    let fewer = f64::from(discordant).min(pairs - f64::from(discordant));
    let p_two_sided = if tied_at + tied_value == 0.0 && (points.len() <= 33 || fewer <= 1.0) {
        exact(points.len(), fewer)
    } else {
        let m = n * (n - 1.0);
        let five = |ties: &[f64]| sum_over(ties, |t| t * (t - 1.0) * (2.0 * t + 5.0));
        let three = |ties: &[f64]| sum_over(ties, |t| t * (t - 1.0) * (t - 2.0));
        let cubic = three(&at) * three(&value);
        // With two values there are no triples, and the term would be 0/0.
        let triples = if cubic > 0.0 { cubic / (9.0 * m * (n - 2.0)) } else { 0.0 };
        let variance =
            (m * (2.0 * n + 5.0) - five(&at) - five(&value)) / 18.0 + 2.0 * tied_at * tied_value / m + triples;
        2.0 * normal_below(-(score as f64).abs() / variance.sqrt())
    };
    // Twice a tail that holds the middle passes 1.
    Ok(Concord { tau_b, score, p_two_sided: p_two_sided.min(1.0), points: points.len() })
}

/// How often a random order has so few inversions, or so many, of n values.
fn exact(n: usize, inversions: f64) -> f64 {
    // Shares instead of counts: each further value puts 0 to j new inversions
    // into the order, all alike likely.
    let upto = inversions as usize;
    let mut share = vec![0.0; upto + 1];
    share[0] = 1.0;
    for j in 1..n {
        let mut next = vec![0.0; upto + 1];
        for (total, cell) in next.iter_mut().enumerate() {
            let from = total.saturating_sub(j);
            *cell = share[from..=total].iter().sum::<f64>() / (j + 1) as f64;
        }
        share = next;
    }
    2.0 * share.iter().sum::<f64>()
}
