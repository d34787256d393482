//! Which curve fits these passages best, and how sure are its parameters?
//!
//! Least squares on the logarithm of the speed, every passage alike. Both
//! curves are fitted by looking through one parameter, for which the other two
//! follow exactly: the same passages always give the same answer, in any
//! order, and no start value decides.
//!
//! Does not know whether the passages suffice for saying anything;
//! [`super::performance`] does, and is what should be shown.
//! Read next: [`super::performance`].

use thiserror::Error;

use super::{WordsPerMinute, criterion};
use crate::vision::acuity::LogMar;
use crate::vision::units::{Fraction, OutOfRange, within};

mod squares;

use squares::{Straight, diagonal, inverse, straight};

/// One passage: its print size and how fast it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passage {
    /// The size of the print at the distance used.
    pub size: LogMar,
    /// The speed; 0 for a passage that could not be read.
    pub speed: WordsPerMinute,
}

/// Why no curve can be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum FitError {
    /// Three parameters need at least four sizes.
    #[error("a curve needs passages read at four sizes or more, not {sizes}")]
    TooFewSizes {
        /// The sizes at which something was read.
        sizes: usize,
    },
    /// Large print is not read faster than small print.
    #[error("speed does not rise with print size here: add smaller print")]
    NotRising,
    /// The best curve lies at the edge of what curves of readers look like.
    #[error("these passages do not determine a curve: add sizes between the smallest read and the fastest")]
    NotDetermined,
    /// Far more passages than one examination has.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// A fitted parameter and its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The parameter.
    pub value: f64,
    /// Its standard error; none where the passages do not determine one.
    pub standard_error: Option<f64>,
}

/// The passages that were read, as numbers: size, and log10 of the speed.
struct Samples {
    points: Vec<(f64, f64)>,
    sizes: usize,
}

impl Samples {
    fn of(passages: &[Passage]) -> Result<Self, FitError> {
        let count = u32::try_from(passages.len()).unwrap_or(u32::MAX);
        within("passages", "", f64::from(count), 0.0..=1_000.0)?;
        let mut points: Vec<(f64, f64)> = passages
            .iter()
            .filter(|passage| passage.speed.get() > 0.0)
            .map(|passage| (passage.size.get(), passage.speed.get().log10()))
            .collect();
        // One order of summation, whatever the order of the passages.
        points.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)));
        let sizes = 1 + points.windows(2).filter(|pair| pair[1].0 - pair[0].0 > 1e-9).count();
        if points.is_empty() || sizes < 4 {
            return Err(FitError::TooFewSizes { sizes: if points.is_empty() { 0 } else { sizes } });
        }
        Ok(Self { points, sizes })
    }

    fn smallest(&self) -> f64 {
        self.points.first().map_or(0.0, |point| point.0)
    }

    fn largest(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.0)
    }

    /// Passages beyond the three that any such curve passes through.
    fn freedom(&self) -> u32 {
        u32::try_from(self.points.len()).unwrap_or(u32::MAX).saturating_sub(3)
    }

    /// s² times the inverse of J′J, for the slopes of the curve at each size.
    fn covariance(&self, squares: f64, slopes: impl Fn(f64) -> [f64; 3]) -> Option<[[f64; 3]; 3]> {
        let mut products = [[0.0; 3]; 3];
        for (x, _) in &self.points {
            let slope = slopes(*x);
            for (row, one) in products.iter_mut().zip(slope) {
                for (cell, other) in row.iter_mut().zip(slope) {
                    *cell += one * other;
                }
            }
        }
        let variance = squares / f64::from(self.freedom());
        inverse(products).map(|found| found.map(|row| row.map(|cell| cell * variance)))
    }
}

/// An exponential in logMAR that fits the passages: y = a (1 − exp(−e^b (x − c))).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExponentialFit {
    /// a: log10 of the speed that it approaches.
    pub log_greatest: Estimate,
    /// b: the natural logarithm of the rate.
    pub ln_rate: Estimate,
    /// c: the size, in logMAR, read at one word a minute. Never shown as an acuity.
    pub one_word_a_minute: Estimate,
    /// The scatter of the passages about the curve, in log10 words a minute.
    pub residual_sd: f64,
    /// Passages beyond the three parameters.
    pub freedom: u32,
    /// The sizes at which something was read.
    pub sizes: usize,
    covariance: Option<[[f64; 3]; 3]>,
}

/// Bounds of e^b: flatter is no plateau, steeper is a step.
const RATES: (f64, f64) = (0.5, 30.0);
/// Bounds of a: from 3 to 1000 words a minute.
const LOG_SPEEDS: (f64, f64) = (0.5, 3.0);
/// The smallest c, in logMAR.
const SMALLEST_INTERCEPT: f64 = -1.0;

/// Which exponential in logMAR fits these passages?
///
/// **Formula** least squares for y = log10 R = a (1 − exp(−e^b (x − c))); for
/// each rate a and c follow from a straight line in exp(−e^b x). Standard
/// errors √diag(s²(J′J)⁻¹), s² = SSE/(n − 3). **Source** a three-parameter
/// exponential is the published form (IOVS 2641356, abstract seen); agrees with
/// an independent curve fit (derived). **Range** four sizes or more with a
/// speed above 0, a 0.5 to 3, e^b 0.5 to 30, c from −1 to the largest size. A
/// passage that was not read has no logarithm and is left out.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::reading::{WordsPerMinute, fit::{Passage, fit_exponential}};
/// let read = [(0.2, 4.53), (0.4, 32.8), (0.6, 76.9), (0.8, 95.3), (1.0, 100.3), (1.2, 114.1)];
/// let passages = read
///     .map(|(size, speed)| Ok::<_, farpoint::vision::units::OutOfRange>(Passage {
///         size: LogMar::new(size)?, speed: WordsPerMinute::new(speed)? }))
///     .into_iter().collect::<Result<Vec<_>, _>>()?;
/// let fitted = fit_exponential(&passages)?;
/// assert!((fitted.log_greatest.value - 2.054).abs() < 0.001);
/// assert!((fitted.log_greatest.standard_error.expect("six sizes") - 0.018).abs() < 0.001);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Too few sizes, no rise, or a best curve outside the range.
pub fn fit_exponential(passages: &[Passage]) -> Result<ExponentialFit, FitError> {
    let samples = Samples::of(passages)?;
    let start = samples.smallest();
    let line = |b: f64| {
        let rate = b.exp();
        straight(&samples.points, |x| (-rate * (x - start)).exp())
    };
    let misfit = |b: f64| line(b).map_or(f64::INFINITY, |line| line.squares);
    let (low, high) = (RATES.0.ln(), RATES.1.ln());
    let b = smallest_of(misfit, low, high, 410);
    let at = line(b).ok_or(FitError::NotDetermined)?;
    // y = level + slope · exp(−rate (x − start)): it rises if the slope is negative.
    if at.slope >= 0.0 {
        return Err(FitError::NotRising);
    }
    let (a, rate) = (at.level, b.exp());
    let c = start + (-at.slope / a).ln() / rate;
    let inside = b - low > 1e-6
        && high - b > 1e-6
        && (LOG_SPEEDS.0..=LOG_SPEEDS.1).contains(&a)
        && (SMALLEST_INTERCEPT..=samples.largest()).contains(&c);
    if !inside {
        return Err(FitError::NotDetermined);
    }
    let slopes = |x: f64| {
        let left = (-rate * (x - c)).exp();
        [1.0 - left, a * left * rate * (x - c), -a * left * rate]
    };
    let covariance = samples.covariance(at.squares, slopes);
    let errors = covariance.map(diagonal);
    let estimate =
        |value: f64, place: usize| Estimate { value, standard_error: errors.and_then(|e| e.get(place).copied()) };
    Ok(ExponentialFit {
        log_greatest: estimate(a, 0),
        ln_rate: estimate(b, 1),
        one_word_a_minute: estimate(c, 2),
        residual_sd: (at.squares / f64::from(samples.freedom())).sqrt(),
        freedom: samples.freedom(),
        sizes: samples.sizes,
        covariance,
    })
}

impl ExponentialFit {
    /// Which size is read at this part of the greatest speed, and how sure is it?
    ///
    /// **Formula** c − ln(−log10 f / a)/e^b; its standard error by the slopes
    /// of that formula and the covariance of a, b and c. **Source** the fitted
    /// curve solved for the size (derived). **Range** f 0.5 to 0.99; print f
    /// beside the figure, for others use another.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::reading::{USUAL_CRITERION, WordsPerMinute};
    /// use farpoint::vision::reading::fit::{Passage, fit_exponential};
    /// let read = [(0.2, 4.53), (0.4, 32.8), (0.6, 76.9), (0.8, 95.3), (1.0, 100.3), (1.2, 114.1)];
    /// let passages = read
    ///     .map(|(size, speed)| Ok::<_, farpoint::vision::units::OutOfRange>(Passage {
    ///         size: LogMar::new(size)?, speed: WordsPerMinute::new(speed)? }))
    ///     .into_iter().collect::<Result<Vec<_>, _>>()?;
    /// let critical = fit_exponential(&passages)?.critical_print(USUAL_CRITERION)?;
    /// assert!((critical.value - 0.894).abs() < 0.001);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A criterion outside the range.
    pub fn critical_print(&self, part: Fraction) -> Result<Estimate, OutOfRange> {
        let (a, rate) = (self.log_greatest.value, self.ln_rate.value.exp());
        let missing = (-criterion(part)?.log10() / a).ln();
        let slopes = [1.0 / (a * rate), missing / rate, 1.0];
        let variance = self.covariance.map(|covariance| {
            let rows = covariance.iter().zip(slopes);
            rows.map(|(row, one)| one * row.iter().zip(slopes).map(|(cell, other)| cell * other).sum::<f64>()).sum()
        });
        Ok(Estimate {
            value: self.one_word_a_minute.value - missing / rate,
            standard_error: variance.filter(|found: &f64| *found >= 0.0).map(f64::sqrt),
        })
    }

    /// The speed of the curve at this size, in log10 words a minute.
    pub(super) fn log_speed_at(&self, size: f64) -> f64 {
        let beyond = size - self.one_word_a_minute.value;
        self.log_greatest.value * (1.0 - (-self.ln_rate.value.exp() * beyond).exp())
    }
}

/// A rising limb and a plateau that fit the passages: y = P, below the break P − s (cps − x).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoLimbFit {
    /// Where the limbs meet, in logMAR.
    pub critical_print: Estimate,
    /// The plateau, log10 of words a minute.
    pub plateau: Estimate,
    /// The slope below it, log10 words a minute a log unit of size.
    pub slope: Estimate,
    /// The sum of squared residuals.
    pub squares: f64,
    /// Sizes smaller than the break.
    pub sizes_below: usize,
    /// Sizes at the break and larger.
    pub sizes_on_plateau: usize,
}

/// The step of the search for the break, in logMAR.
const BREAK_STEP: f64 = 0.000_5;

/// Which two limbs fit these passages?
///
/// **Formula** least squares for y = log10 R = P at sizes of at least the break,
/// else P − s (cps − x), s ≥ 0; the break is sought in steps of 0.0005 between
/// the smallest and the largest size, P and s follow from a straight line.
/// Standard errors as in [`fit_exponential`], with the break as third
/// parameter. **Source** profile least squares, computed a second way
/// (derived). **Range** four sizes or more with a speed above 0. A check on the
/// exponential: the two breaks differ by construction.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::reading::{WordsPerMinute, fit::{Passage, fit_two_limb}};
/// let read = [(0.2, 4.53), (0.4, 32.8), (0.6, 76.9), (0.8, 95.3), (1.0, 100.3), (1.2, 114.1)];
/// let passages = read
///     .map(|(size, speed)| Ok::<_, farpoint::vision::units::OutOfRange>(Passage {
///         size: LogMar::new(size)?, speed: WordsPerMinute::new(speed)? }))
///     .into_iter().collect::<Result<Vec<_>, _>>()?;
/// let fitted = fit_two_limb(&passages)?;
/// assert!((fitted.critical_print.value - 0.508).abs() < 0.001);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Too few sizes, or no rise.
pub fn fit_two_limb(passages: &[Passage]) -> Result<TwoLimbFit, FitError> {
    let samples = Samples::of(passages)?;
    let (start, end) = (samples.smallest(), samples.largest());
    let mut best: Option<(f64, Straight)> = None;
    // Whole steps, so that no rounding adds up; the range of logMAR bounds them.
    let steps = ((end - start) / BREAK_STEP).floor() as u32;
    for step in 1..=steps {
        let edge = start + BREAK_STEP * f64::from(step);
        let limb = straight(&samples.points, |x| below(edge, x)).filter(|line| line.slope <= 0.0);
        if let Some(line) = limb
            && best.is_none_or(|(_, least)| line.squares < least.squares)
        {
            best = Some((edge, line));
        }
    }
    let (edge, line) = best.ok_or(FitError::NotRising)?;
    let slope = -line.slope;
    let covariance = samples.covariance(line.squares, |x| {
        let short = below(edge, x);
        [1.0, -short, if short > 0.0 { -slope } else { 0.0 }]
    });
    let errors = covariance.map(diagonal);
    let estimate =
        |value: f64, place: usize| Estimate { value, standard_error: errors.and_then(|e| e.get(place).copied()) };
    let mut sizes: Vec<f64> = samples.points.iter().map(|point| point.0).collect();
    sizes.dedup_by(|one, other| (*one - *other).abs() <= 1e-9);
    let sizes_below = sizes.iter().filter(|size| **size < edge).count();
    Ok(TwoLimbFit {
        critical_print: estimate(edge, 2),
        plateau: estimate(line.level, 0),
        slope: estimate(slope, 1),
        squares: line.squares,
        sizes_below,
        sizes_on_plateau: samples.sizes.saturating_sub(sizes_below),
    })
}

/// How far a size lies below the break; nothing above it, which is the plateau.
fn below(edge: f64, x: f64) -> f64 {
    if x < edge { edge - x } else { 0.0 }
}

/// Where a function is smallest: the best of so many even steps, then narrowed.
fn smallest_of(misfit: impl Fn(f64) -> f64, low: f64, high: f64, steps: u32) -> f64 {
    let step = (high - low) / f64::from(steps);
    let place = |index: u32| low + step * f64::from(index);
    let best = (0..=steps).fold((0, f64::INFINITY), |best, index| {
        let here = misfit(place(index));
        if here < best.1 { (index, here) } else { best }
    });
    // One step to either side, where there is one.
    let (mut left, mut right) = (place(best.0.saturating_sub(1)), place((best.0 + 1).min(steps)));
    // Golden section: sixty steps shrink the interval below what a number can tell.
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..60 {
        let (one, other) = (right - golden * (right - left), left + golden * (right - left));
        if misfit(one) <= misfit(other) { right = other } else { left = one }
    }
    (left + right) / 2.0
}
