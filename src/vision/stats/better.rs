//! Which of two is better at one task, by counts alone?
//!
//! For tasks that size does not limit: scanning, tracking, finding a line
//! again. Where size limits, the threshold knows more; see the everyday acuity.

use super::special::{beta_below, beta_quantile};
use super::{Enough, Interval, Refused};
use crate::vision::skill::Level;
use crate::vision::units::{OutOfRange, within};

/// Sessions and items for a cell of the comparison to be told. Common practice.
const SESSIONS: usize = 2;
const ITEMS: usize = 10;

/// Steps of the integral; half of them already give eight digits.
const STEPS: u32 = 800;

/// So many right of so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Count {
    right: u32,
    tried: u32,
}

impl Count {
    /// So many right of so many.
    ///
    /// ```
    /// use farpoint::vision::stats::better::Count;
    /// assert_eq!(Count::new(7, 5).unwrap_err().to_string(), "right ones must be at least 0 and at most 5, not 7");
    /// ```
    ///
    /// # Errors
    /// More than 100 000 tried, or more right than tried.
    pub fn new(right: u32, tried: u32) -> Result<Self, OutOfRange> {
        let n = within("items tried", "", f64::from(tried), 0.0..=100_000.0)?;
        within("right ones", "", f64::from(right), 0.0..=n)?;
        Ok(Self { right, tried })
    }

    /// Right ones.
    pub const fn right(self) -> u32 {
        self.right
    }

    /// How many were tried.
    pub const fn tried(self) -> u32 {
        self.tried
    }

    /// The two shapes of the beta distribution of the true rate, by Jeffreys.
    fn shapes(self) -> (f64, f64) {
        (f64::from(self.right) + 0.5, f64::from(self.tried - self.right) + 0.5)
    }

    /// Which true rates fit the count?
    ///
    /// **Formula** quantiles of Beta(k + ½, n − k + ½). **Source** Jeffreys'
    /// prior, any textbook (derived). **Range** also none tried: then hardly
    /// anything is excluded.
    ///
    /// ```
    /// use farpoint::vision::{skill::Level, stats::better::Count};
    /// let nine_of_twelve = Count::new(9, 12)?.rates(Level::Ninety);
    /// assert!(nine_of_twelve.holds(0.75) && nine_of_twelve.low > 0.5);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn rates(self, level: Level) -> Interval {
        let ((a, b), tail) = (self.shapes(), (1.0 - level.share()) / 2.0);
        Interval { low: beta_quantile(a, b, tail), high: beta_quantile(a, b, 1.0 - tail), level }
    }
}

/// How probable is it that one true rate is higher than another?
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// The probability that the first is higher.
    pub first_higher: f64,
    /// The counts behind it.
    pub counts: (Count, Count),
}

/// How probable is it that the true rate behind the first count is higher?
///
/// **Formula** ∫ f₁ F₂ dp, f and F of Beta(k + ½, n − k + ½); Simpson's rule
/// over φ, p = sin²φ, where the density has no poles. **Source** Jeffreys'
/// prior, any textbook (derived, and by simulation). **Range** up to 100 000
/// tried; with none tried in both it is ½.
///
/// ```
/// use farpoint::vision::stats::better::{Count, compare};
/// let found = compare(Count::new(5, 6)?, Count::new(2, 6)?);
/// assert!((found.first_higher - 0.962).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn compare(first: Count, second: Count) -> Comparison {
    let ((a, b), (c, d)) = (first.shapes(), second.shapes());
    // All but a billionth of a billionth of the density, so that the steps are fine where it is.
    let (from, to) = (beta_quantile(a, b, 1e-14).sqrt().asin(), beta_quantile(a, b, 1.0 - 1e-14).sqrt().asin());
    let step = (to - from) / f64::from(STEPS);
    let peak = (a / (a + b)).sqrt().asin();
    let log = |angle: f64| {
        let part = |base: f64, times: f64| if times > 0.0 { times * base.ln() } else { 0.0 };
        part(angle.sin(), 2.0 * a - 1.0) + part(angle.cos(), 2.0 * b - 1.0)
    };
    let top = log(peak);
    let (mut density, mut higher) = (0.0, 0.0);
    for at in 0..=STEPS {
        let angle = from + step * f64::from(at);
        let weight = if at == 0 || at == STEPS { 1.0 } else { f64::from(2 + 2 * (at % 2)) };
        let here = weight * (log(angle) - top).exp();
        density += here;
        higher += here * beta_below(c, d, angle.sin().powi(2));
    }
    Comparison { first_higher: higher / density, counts: (first, second) }
}

/// How a cell of the comparison is told: by its probability, never by its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Band {
    /// 0.1 or less; shown as "unlikely", without a small figure.
    Unlikely,
    /// Up to 0.3.
    RatherNot,
    /// Between: cannot tell.
    Unclear,
    /// 0.7 and more.
    Rather,
    /// 0.9 and more.
    Likely,
}

/// In which band does a probability lie?
///
/// **Formula** 0.1, 0.3, 0.7, 0.9. **Source** common practice. **Range** 0 to 1.
///
/// ```
/// use farpoint::vision::stats::better::{Band, band};
/// assert_eq!(band(0.93)?, Band::Likely);
/// assert_eq!(band(0.5)?, Band::Unclear);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No probability.
pub fn band(probability: f64) -> Result<Band, OutOfRange> {
    let p = within("probability", "", probability, 0.0..=1.0)?;
    Ok(if p >= 0.9 {
        Band::Likely
    } else if p >= 0.7 {
        Band::Rather
    } else if p > 0.3 {
        Band::Unclear
    } else if p > 0.1 {
        Band::RatherNot
    } else {
        Band::Unlikely
    })
}

/// Is there enough behind a cell of the comparison to colour it?
///
/// **Formula** two sessions and ten items. **Source** common practice.
/// **Range** any counts.
///
/// ```
/// use farpoint::vision::stats::better::enough_for_a_cell;
/// assert!(enough_for_a_cell(2, 12).is_met());
/// assert!(!enough_for_a_cell(1, 12).is_met());
/// ```
pub fn enough_for_a_cell(sessions: usize, items: usize) -> Enough {
    Enough::of(&[("sessions", SESSIONS, sessions), ("items", ITEMS, items)])
}

/// How probable is each of several to be the best, by counts alone?
///
/// **Formula** as [`compare`], each against all others: the mean of the
/// products of their F under f. Ties cannot be. **Source** as [`compare`].
/// **Range** 2 to 20 counts.
///
/// ```
/// use farpoint::vision::stats::better::{Count, best};
/// let found = best(&[Count::new(9, 10)?, Count::new(4, 10)?, Count::new(5, 10)?])?;
/// assert!(found[0] > 0.9 && (found.iter().sum::<f64>() - 1.0).abs() < 1e-6);
/// # Ok::<(), farpoint::vision::stats::Refused>(())
/// ```
///
/// # Errors
/// Fewer than two, or more than twenty.
pub fn best(counts: &[Count]) -> Result<Vec<f64>, Refused> {
    super::counted("counts", counts.len(), 2, 20)?;
    let step = std::f64::consts::FRAC_PI_2 / f64::from(4 * STEPS);
    let rates: Vec<f64> = (0..=4 * STEPS).map(|at| (step * f64::from(at)).sin().powi(2)).collect();
    // Shares of each distribution between neighbouring rates, and below their middle.
    let below: Vec<Vec<f64>> = counts
        .iter()
        .map(|count| {
            let (a, b) = count.shapes();
            rates.iter().map(|rate| beta_below(a, b, *rate)).collect()
        })
        .collect();
    let share = |index: usize| -> f64 {
        (1..rates.len())
            .map(|at| {
                let others = below.iter().enumerate().filter(|(other, _)| *other != index);
                let worse: f64 = others.map(|(_, f)| f64::midpoint(f[at - 1], f[at])).product();
                (below[index][at] - below[index][at - 1]) * worse
            })
            .sum()
    };
    Ok((0..counts.len()).map(share).collect())
}
