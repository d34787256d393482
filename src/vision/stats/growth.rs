//! By what factor does the rate grow in a week, and is it growth?
//!
//! Rates grow by factors, so the line is fitted to their logarithms. Sessions
//! that follow one another resemble one another; an interval that does not
//! allow for it is too narrow, so the one to show is the widened one.
//!
//! Does not know the accuracy; [`direction`] takes its trend beside.

use super::special::t_quantile;
use super::trend::{Line, Point, theil_sen};
use super::{Enough, Interval, Refused, counted};
use crate::vision::skill::Level;
use crate::vision::units::{OutOfRange, Seconds, above_zero, within};

/// More sessions than this are no series.
const MOST: usize = 3_000;

/// Sessions for a slope to be told, and the days they span. Common practice.
const SESSIONS_FOR_A_SLOPE: usize = 6;
const DAYS_FOR_A_SLOPE: usize = 21;

/// Two ways of fitting that differ by more than this factor differ by an
/// outlier. Common practice.
const AGREEMENT: f64 = 1.1;

/// The autocorrelation taken for granted in a series too short to show it,
/// from how many on it is measured, from where on it counts, and the most that
/// is allowed for. Common practice.
const ASSUMED: f64 = 0.2;
const MEASURED_FROM: usize = 12;
const COUNTS_FROM: f64 = 0.2;
const AT_MOST: f64 = 0.5;

/// The rate of one session, and its day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateOnDay {
    day: f64,
    per_minute: f64,
    none: bool,
}

impl RateOnDay {
    /// A rate that is known as such.
    ///
    /// # Errors
    /// A rate of nothing has no logarithm: give its count instead.
    pub fn new(day: f64, per_minute: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            day: within("day", "", day, -1e6..=1e6)?,
            per_minute: within("rate", "a minute", per_minute, above_zero(1e6))?,
            none: false,
        })
    }

    /// Which rate does a count give, when none counted must have a logarithm, too?
    ///
    /// **Formula** 60 k/t, with ½ for none, which is marked. **Source** common
    /// practice. **Range** a tenth of a second to a day.
    ///
    /// ```
    /// use farpoint::vision::{stats::growth::RateOnDay, units::Seconds};
    /// assert_eq!(RateOnDay::counted(3.0, 0, Seconds::new(60.0)?)?.per_minute(), 0.5);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// No time, or values outside the range.
    pub fn counted(day: f64, right: u32, time: Seconds) -> Result<Self, OutOfRange> {
        let k = within("right ones", "", f64::from(right), 0.0..=1e6)?;
        let minutes = within("time", "s", time.get(), 0.1..=86_400.0)? / 60.0;
        let taken = if right == 0 { 0.5 } else { k };
        Ok(Self { day: within("day", "", day, -1e6..=1e6)?, per_minute: taken / minutes, none: right == 0 })
    }

    /// The rate that the fit takes.
    pub const fn per_minute(self) -> f64 {
        self.per_minute
    }
}

/// How a rate grows.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// The factor of a week; below 1 it shrinks.
    pub per_week: f64,
    /// The factors that fit, were the sessions independent.
    pub interval: Interval,
    /// The factors that fit, with what neighbours have in common: the one to show.
    pub widened: Interval,
    /// The factor by the median of the slopes, which no odd session can turn.
    pub per_week_by_median: f64,
    /// Whether both ways agree; otherwise an odd session drives the first.
    pub agree: bool,
    /// How many sessions there are.
    pub sessions: usize,
    /// In how many of them nothing was found.
    pub with_none: usize,
    /// Whether there is enough to tell a slope.
    pub enough: Enough,
}

/// By what factor does the rate grow in a week?
///
/// **Formula** 10^b, b the least-squares slope of log10(rate) over weeks, with
/// the interval of Student's t on n − 2; beside it 10 to the median slope. The
/// widened interval is that of b, times √((1+r)/(1−r)) as [`widening`] says.
/// **Source** least squares, any textbook; [`theil_sen`]; half a one for none,
/// 6 sessions over 21 days and the factor 1.1 are common practice. **Range** 3
/// to 3 000 sessions on two days or more.
///
/// ```
/// use farpoint::vision::{skill::Level, stats::growth::{RateOnDay, weekly_growth}};
/// let doubling = [(0.0, 2.0), (7.0, 4.1), (14.0, 7.9), (21.0, 16.0)];
/// let rates = doubling.iter().map(|(day, rate)| RateOnDay::new(*day, *rate)).collect::<Result<Vec<_>, _>>()?;
/// let found = weekly_growth(&rates, Level::Ninety)?;
/// assert!((found.per_week - 2.0).abs() < 0.02 && found.interval.holds(2.0));
/// assert!(!found.enough.is_met());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Too few sessions, too many, or all on one day.
pub fn weekly_growth(rates: &[RateOnDay], level: Level) -> Result<Growth, Refused> {
    counted("sessions", rates.len(), 3, MOST)?;
    let mut sorted = rates.to_vec();
    sorted.sort_by(|a, b| a.day.total_cmp(&b.day));
    let points: Vec<Point> = sorted
        .iter()
        .map(|rate| Point::new(rate.day / 7.0, rate.per_minute.log10()))
        .collect::<Result<_, OutOfRange>>()?;
    let line = least_squares(&points)?;
    let median = theil_sen(&points, level)?;
    let reach = t_quantile((points.len() - 2) as f64, (1.0 + level.share()) / 2.0) * line.slope_error;
    let slopes = Interval { low: line.slope - reach, high: line.slope + reach, level };
    let factor = widening(line.neighbours, points.len());
    let powers = |of: Interval| Interval { low: 10_f64.powf(of.low), high: 10_f64.powf(of.high), level };
    let days: Vec<f64> = sorted.iter().map(|rate| rate.day).collect();
    Ok(Growth {
        per_week: 10_f64.powf(line.slope),
        interval: powers(slopes),
        widened: powers(slopes.widened(line.slope, factor)),
        per_week_by_median: 10_f64.powf(median.slope),
        agree: (line.slope - median.slope).abs() <= AGREEMENT.log10(),
        sessions: points.len(),
        with_none: rates.iter().filter(|rate| rate.none).count(),
        enough: enough_for_a_slope(&days),
    })
}

/// A least-squares line.
struct Fitted {
    slope: f64,
    slope_error: f64,
    /// How neighbours resemble one another; none when the line meets all points.
    neighbours: Option<f64>,
}

fn least_squares(points: &[Point]) -> Result<Fitted, Refused> {
    let n = points.len() as f64;
    let mean = |of: &dyn Fn(&Point) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (at, value) = (mean(&|p| p.at()), mean(&|p| p.value()));
    let spread: f64 = points.iter().map(|p| (p.at() - at).powi(2)).sum();
    if spread <= 0.0 {
        return Err(Refused::AllAlike { what: "days" });
    }
    let slope = points.iter().map(|p| (p.at() - at) * (p.value() - value)).sum::<f64>() / spread;
    let residuals: Vec<f64> = points.iter().map(|p| p.value() - value - slope * (p.at() - at)).collect();
    let squares: f64 = residuals.iter().map(|r| r * r).sum();
    let size: f64 = points.iter().map(|p| (p.value() - value).powi(2)).sum();
    let along: f64 = residuals.windows(2).map(|pair| pair[0] * pair[1]).sum();
    // What is left after a line through all points is rounding, and its pattern means nothing.
    let neighbours = (squares > 1e-24 * size.max(1e-12)).then(|| along / squares);
    Ok(Fitted { slope, slope_error: (squares / (n - 2.0) / spread).sqrt(), neighbours })
}

/// How much sessions that follow one another resemble one another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Autocorrelation {
    /// Lag one, of what is left after the straight line.
    pub r1: f64,
    /// With the small-sample shift, 1/n more.
    pub shifted: f64,
    /// By how much an interval of the trend is to be widened for it.
    pub widening: f64,
    /// How many sessions there are.
    pub sessions: usize,
}

/// How much do sessions that follow one another resemble one another?
///
/// **Formula** r₁ = Σ eₜeₜ₊₁ / Σ eₜ², e what is left after the least-squares
/// line over the index; r₁ + 1/n beside it. **Source** definition; that below
/// 20 sessions the estimate is nearly noise: Shadish et al. 2013 (abstract
/// seen). **Range** 4 to 3 000 sessions, in order, not all on one line.
///
/// ```
/// use farpoint::vision::stats::growth::autocorrelation;
/// let found = autocorrelation(&[5.0, 5.0, 6.0, 5.0, 7.0, 7.0, 6.0, 8.0])?;
/// assert!((found.r1 + 0.602).abs() < 0.001);
/// # Ok::<(), farpoint::vision::stats::Refused>(())
/// ```
///
/// # Errors
/// Too few sessions, too many, or all on one line.
pub fn autocorrelation(values: &[f64]) -> Result<Autocorrelation, Refused> {
    counted("sessions", values.len(), 4, MOST)?;
    let points: Vec<Point> = (0_u32..)
        .zip(values)
        .map(|(index, value)| Point::new(f64::from(index), *value))
        .collect::<Result<_, OutOfRange>>()?;
    let r1 = least_squares(&points)?.neighbours.ok_or(Refused::AllAlike { what: "distances from the line" })?;
    let shifted = r1 + 1.0 / values.len() as f64;
    Ok(Autocorrelation { r1, shifted, widening: widening(Some(r1), values.len()), sessions: values.len() })
}

/// By which factor is the interval of a trend to be widened?
///
/// **Formula** √((1+r)/(1−r)): below 12 sessions r = 0.2 always; from 12 on r =
/// r₁ + 1/n where that is above 0.2, at most 0.5, else 1. **Source** the
/// variance inflation of a first-order autoregression (derived); the limits are
/// common practice, set by simulation. **Range** any; no r₁ counts as none.
///
/// ```
/// use farpoint::vision::stats::growth::widening;
/// assert!((widening(Some(-0.3), 8) - 1.2247).abs() < 0.0001);
/// assert_eq!(widening(Some(0.05), 20), 1.0);
/// ```
pub fn widening(r1: Option<f64>, sessions: usize) -> f64 {
    let r = if sessions < MEASURED_FROM {
        ASSUMED
    } else {
        let shifted = r1.unwrap_or(0.0) + 1.0 / sessions as f64;
        // Above the limit the few sessions say more about themselves than about r.
        if shifted > COUNTS_FROM { shifted.min(AT_MOST) } else { 0.0 }
    };
    ((1.0 + r) / (1.0 - r)).sqrt()
}

/// Which slopes fit, when sessions that follow one another resemble one another?
///
/// **Formula** the interval of [`theil_sen`], each half times the factor of
/// [`widening`], r₁ that of what is left after least squares over the same
/// times. **Source** as [`widening`]. **Range** the values of the line, 2 to 3 000.
///
/// ```
/// use farpoint::vision::{skill::Level, stats::growth::widened_slopes, stats::trend::{Point, theil_sen}};
/// let days = [(0.0, 3.0), (7.0, 4.0), (14.0, 4.0), (21.0, 6.0), (28.0, 5.0)];
/// let points = days.iter().map(|(at, value)| Point::new(*at, *value)).collect::<Result<Vec<_>, _>>()?;
/// let line = theil_sen(&points, Level::Ninety)?;
/// // Five sessions: each half is 1.22 times as long.
/// let upper = (line.interval.high - line.slope) * (1.2_f64 / 0.8).sqrt();
/// assert!((widened_slopes(&points, &line)?.high - line.slope - upper).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Too few values, too many, or all at one time.
pub fn widened_slopes(points: &[Point], line: &Line) -> Result<Interval, Refused> {
    counted("sessions", points.len(), 2, MOST)?;
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.at().total_cmp(&b.at()));
    let neighbours = least_squares(&sorted)?.neighbours;
    Ok(line.interval.widened(line.slope, widening(neighbours, sorted.len())))
}

/// Are there sessions enough for a slope to be told?
///
/// **Formula** six sessions, 21 days from the first to the last. **Source** common
/// practice. **Range** the day of each session, counted from any day.
///
/// ```
/// use farpoint::vision::stats::growth::enough_for_a_slope;
/// assert!(!enough_for_a_slope(&[0.0, 1.0, 2.0, 3.0, 4.0, 5.0]).is_met());
/// assert!(enough_for_a_slope(&[0.0, 5.0, 9.0, 12.0, 16.0, 21.0]).is_met());
/// ```
pub fn enough_for_a_slope(days: &[f64]) -> Enough {
    let ends = days.iter().fold(None, |ends: Option<(f64, f64)>, day| match ends {
        Some((low, high)) => Some((if *day < low { *day } else { low }, if *day > high { *day } else { high })),
        None => Some((*day, *day)),
    });
    let spans = ends.map_or(0, |(low, high)| (high - low).round() as usize);
    Enough::of(&[
        ("sessions", SESSIONS_FOR_A_SLOPE, days.len()),
        ("days from the first to the last", DAYS_FOR_A_SLOPE, spans),
    ])
}

/// What a series of rates and its accuracy say together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Direction {
    /// The rate surely rises and the accuracy does not surely fall.
    Improving,
    /// The rate surely rises while the accuracy surely falls: no improvement.
    FasterLessAccurate,
    /// The rate surely falls.
    Slowing,
    /// The interval holds both: no change was seen, which is not "no change".
    NoChangeSeen,
    /// Too little to tell, with what is lacking.
    NotYet(Enough),
}

/// Is this progress?
///
/// **Formula** improving: the lower end of the widened interval of the factor
/// above 1, and the upper end of the accuracy's slope not below 0. **Source**
/// common practice. **Range** series of the same skill, device and size band.
///
/// ```
/// use farpoint::vision::{skill::Level, stats::growth::{Direction, RateOnDay, direction, weekly_growth}};
/// use farpoint::vision::stats::trend::{Point, theil_sen};
/// let rates = [4.0, 4.6, 5.1, 5.9, 6.4, 7.3, 8.1];
/// let days = [0.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0];
/// let series = days.iter().zip(rates).map(|(day, rate)| RateOnDay::new(*day, rate)).collect::<Result<Vec<_>, _>>()?;
/// let right = days.iter().map(|day| Point::new(*day, 0.9)).collect::<Result<Vec<_>, _>>()?;
/// let found = direction(&weekly_growth(&series, Level::Ninety)?, &theil_sen(&right, Level::Ninety)?);
/// assert_eq!(found, Direction::Improving);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn direction(rate: &Growth, accuracy: &Line) -> Direction {
    if !rate.enough.is_met() {
        Direction::NotYet(rate.enough.clone())
    } else if rate.widened.low > 1.0 {
        if accuracy.interval.high < 0.0 { Direction::FasterLessAccurate } else { Direction::Improving }
    } else if rate.widened.high < 1.0 {
        Direction::Slowing
    } else {
        Direction::NoChangeSeen
    }
}
