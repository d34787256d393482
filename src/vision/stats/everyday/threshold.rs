//! Which threshold, how surely, and may it be told?
//!
//! Does not know devices by name, nor who may read the figure.

use super::grid::Bins;
use super::{Behind, Cell, Observation, Posterior, Prior, behind};
use crate::vision::acuity::LogMar;
use crate::vision::skill::Level;
use crate::vision::stats::{Enough, Interval};
use crate::vision::units::OutOfRange;

/// For a threshold to be told. Common practice.
const OBSERVATIONS: usize = 3;
const SESSIONS: usize = 2;
const ITEMS: usize = 15;

/// A share right from which a size counts as passed, and up to which as failed.
const PASSED: f64 = 0.7;
const FAILED: f64 = 0.5;

/// Above this part of the spread assumed, what is told is mostly the assumption.
const MOSTLY_ASSUMED: f64 = 0.6;

/// What may be said of a threshold.
#[derive(Debug, Clone, PartialEq)]
pub enum Telling {
    /// The threshold, with its interval.
    Measured,
    /// The same, "mostly the clinic value".
    MostlyAssumed,
    /// All was read: "reads at least down to" this size, and no more.
    AtLeast(LogMar),
    /// Nothing was read: "needs larger than" this size, and no more.
    MoreThan(LogMar),
    /// Too little, and what would be enough.
    NotYet(Enough),
}

/// What a student's threshold is, with all that stands behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Threshold {
    /// The mean, in logMAR.
    pub mean: f64,
    /// The standard deviation.
    pub deviation: f64,
    /// Half of what is possible lies below.
    pub median: LogMar,
    /// Nine tenths of what is possible lie between.
    pub interval: Interval,
    /// What was assumed before any observation, to be shown beside it.
    pub prior: Prior,
    /// How much was observed.
    pub behind: Behind,
    /// What may be said.
    pub telling: Telling,
}

/// Nine tenths of a distribution.
pub(super) fn ninety(bins: &Bins) -> Interval {
    Interval { low: bins.quantile(0.05), high: bins.quantile(0.95), level: Level::Ninety }
}

/// Are these observations enough for a threshold to be told?
///
/// **Formula** 3 observations in 2 sessions, 15 items, and both a size read (70 of
/// 100) and another not (50). **Source** common practice. **Range** any list.
///
/// ```
/// use farpoint::vision::stats::everyday::threshold::enough;
/// assert!(!enough(&[]).is_met());
/// ```
pub fn enough(observations: &[Observation]) -> Enough {
    let found = behind(observations);
    let sizes = |of: &dyn Fn(f64) -> bool| -> Vec<f64> {
        observations.iter().filter(|seen| of(seen.saw.roughly())).map(|seen| seen.size.get()).collect()
    };
    let (passed, failed) = (sizes(&|share| share >= PASSED), sizes(&|share| share <= FAILED));
    let apart = passed.iter().any(|passed| failed.iter().any(|failed| (passed - failed).abs() > 1e-9));
    Enough::of(&[
        ("observations", OBSERVATIONS, found.observations),
        ("sessions", SESSIONS, found.sessions),
        ("items tried", ITEMS, found.items),
        ("sizes of which most was read", 1, passed.len()),
        ("sizes of which at most half was read", 1, failed.len()),
        ("sizes, one read and another not", 2, if apart { 2 } else { 1 }),
    ])
}

/// What is said when all went one way.
fn one_sided(observations: &[Observation], interval: Interval) -> Result<Option<Telling>, OutOfRange> {
    let all =
        |of: &dyn Fn(f64) -> bool| !observations.is_empty() && observations.iter().all(|seen| of(seen.saw.roughly()));
    Ok(if all(&|share| share >= PASSED) {
        Some(Telling::AtLeast(LogMar::new(interval.high)?))
    } else if all(&|share| share <= FAILED) {
        Some(Telling::MoreThan(LogMar::new(interval.low)?))
    } else {
        None
    })
}

impl Posterior {
    /// Which size does the student just see, with this device in this setting?
    ///
    /// **Formula** the marginal of θ, at its 5, 50 and 95 hundredths. It may be
    /// told with 3 observations in 2 sessions, 15 items, and both a size read (70
    /// of 100) and another not (50). All read or none is told from one side.
    /// **Source** as [`super::everyday`]; the rule is common practice. **Range** a
    /// cell of the posterior.
    ///
    /// ```
    /// use farpoint::vision::stats::everyday::{Cell, Device, Prior, everyday, threshold::Telling};
    /// let nothing = Device { prior: Prior::bare(None)?, settings: vec![vec![]] };
    /// let found = everyday(&[nothing])?.threshold(Cell { device: 0, setting: 0 })?;
    /// assert!(matches!(found.telling, Telling::NotYet(_)) && found.interval.width() > 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not.
    pub fn threshold(&self, cell: Cell) -> Result<Threshold, OutOfRange> {
        let at = self.evidence.cell(cell)?;
        let known = &self.evidence.cells[at];
        self.told(&self.cell_bins(at), self.evidence.devices[cell.device].prior, &known.observations)
    }

    /// Which size does the student just see with this device, over all settings?
    ///
    /// **Formula** the marginal of μ. **Source** as [`Posterior::threshold`].
    /// **Range** any device.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Device, Prior, everyday};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// assert!(unseen.over_settings(0)?.mean > unseen.over_settings(1)?.mean + 0.4);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A device that there is not.
    pub fn over_settings(&self, device: usize) -> Result<Threshold, OutOfRange> {
        let known = self.evidence.device(device)?;
        let all: Vec<Observation> =
            known.cells.clone().flat_map(|cell| self.evidence.cells[cell].observations.iter().copied()).collect();
        self.told(&self.device_bins(device), known.prior, &all)
    }

    fn told(&self, bins: &Bins, prior: Prior, observations: &[Observation]) -> Result<Threshold, OutOfRange> {
        let (deviation, interval, rule) = (bins.deviation(), ninety(bins), enough(observations));
        let telling = match one_sided(observations, interval)? {
            Some(one_sided) => one_sided,
            None if !rule.is_met() => Telling::NotYet(rule),
            None if deviation > MOSTLY_ASSUMED * prior.deviation() => Telling::MostlyAssumed,
            None => Telling::Measured,
        };
        Ok(Threshold {
            mean: bins.mean(),
            deviation,
            median: LogMar::new(bins.quantile(0.5))?,
            interval,
            prior,
            behind: behind(observations),
            telling,
        })
    }

    /// Whether a cell may be told, by the rule.
    pub(super) fn enough_in(&self, cell: usize) -> Enough {
        enough(&self.evidence.cells[cell].observations)
    }
}
