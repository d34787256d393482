//! Do settings disagree, at a known rate of false alarms?
//!
//! Settings lean on one another in every other figure, which hides exactly the
//! difference asked for here. So they are taken apart: each stands on the
//! assumption alone. A disagreement names no setting as the right one; light,
//! glare, the distance really used, other words, another adult and who
//! prompted are the things to look at.
//!
//! Does not know which of two settings is right.

use std::sync::Arc;

use super::evidence::{Evidence, KnownDevice};
use super::gain::Difference;
use super::{Cell, Posterior};
use crate::vision::stats::Enough;
use crate::vision::units::OutOfRange;

/// The spread of the assumption of each setting. Set by simulation.
const SPREAD: f64 = 0.30;

/// The false alarms of all questions of one page together. Common practice.
pub const FALSE_ALARMS: f64 = 0.10;

/// A smaller difference matters to nobody. Common practice.
const MATTERS: f64 = 0.10;

/// What is said of two settings of one device.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// They disagree, at the stated rate of false alarms.
    Disagree,
    /// No disagreement was seen, which does not mean that there is none.
    NoneSeen,
    /// Too little was observed in either.
    NotYet(Enough, Enough),
}

/// Two settings of one device, compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// The one.
    pub first: Cell,
    /// The other.
    pub second: Cell,
    /// How far apart they are when neither leans on the other; none where
    /// nothing may be asked.
    pub apart: Option<Difference>,
    /// 2 min(g, 1−g), g the probability that the first is larger; adjusted for
    /// the number of pairs asked about. None where nothing may be asked.
    pub adjusted: Option<f64>,
    /// What may be said.
    pub finding: Finding,
}

/// How small is each of several probabilities, for being one of several?
///
/// **Formula** sorted, the i-th times (K − i), never below the one before, at
/// most 1. **Source** Holm's step-down rule, 1979 (from memory; derived). **Range** any number.
///
/// ```
/// use farpoint::vision::stats::everyday::settings::holm;
/// assert_eq!(holm(&[0.04, 0.01, 0.5]), [0.08, 0.03, 0.5]);
/// ```
pub fn holm(chances: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|a, b| chances[*a].total_cmp(&chances[*b]));
    let mut adjusted = vec![0.0; chances.len()];
    let mut most: f64 = 0.0;
    for (rank, at) in order.into_iter().enumerate() {
        // Holm: never below the one before, and no probability above 1.
        most = most.max((chances[at] * (chances.len() - rank) as f64).min(1.0));
        adjusted[at] = most;
    }
    adjusted
}

impl Posterior {
    /// In which settings does the student see differently with the same device?
    ///
    /// **Formula** each setting with a prior of its own, spread 0.30; g = P(θ₁ >
    /// θ₂); they disagree where Holm's adjustment of 2 min(g, 1−g) over all pairs
    /// asked about is at most 0.10 and the means are more than 0.10 apart.
    /// **Source** as [`super::everyday`]; the rule was set by simulation: one pair
    /// raises a false alarm in 4 to 5 of 100, a page in fewer than 10. **Range**
    /// pairs with enough in both; the others are named with what they lack.
    ///
    /// ```
    /// use farpoint::vision::stats::everyday::{Device, Prior, everyday, settings::Finding};
    /// let device = Device { prior: Prior::bare(None)?, settings: vec![vec![], vec![]] };
    /// let pairs = everyday(&[device])?.disagreements()?;
    /// assert!(matches!(pairs[0].finding, Finding::NotYet(..)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// None but those of a fault in the arithmetic.
    pub fn disagreements(&self) -> Result<Vec<Compared>, OutOfRange> {
        let mut pairs = Vec::new();
        for (device, known) in self.evidence.devices.iter().enumerate() {
            let count = known.cells.len();
            for first in 0..count {
                for second in first + 1..count {
                    pairs.push((Cell { device, setting: first }, Cell { device, setting: second }));
                }
            }
        }
        let mut found: Vec<Compared> = pairs
            .into_iter()
            .map(|(first, second)| {
                let rule = |cell| -> Result<Enough, OutOfRange> { Ok(self.enough_in(self.evidence.cell(cell)?)) };
                let finding = match (rule(first)?, rule(second)?) {
                    (Enough::Yes, Enough::Yes) => Finding::NoneSeen,
                    (one, other) => Finding::NotYet(one, other),
                };
                Ok(Compared { first, second, apart: None, adjusted: None, finding })
            })
            .collect::<Result<_, OutOfRange>>()?;
        let asked: Vec<usize> = (0..found.len()).filter(|at| found[*at].finding == Finding::NoneSeen).collect();
        if asked.is_empty() {
            return Ok(found);
        }
        let apart = self.apart();
        let alone =
            |cell: Cell| -> Result<Cell, OutOfRange> { Ok(Cell { device: self.evidence.cell(cell)?, setting: 0 }) };
        let differences: Vec<Difference> = asked
            .iter()
            .map(|at| apart.difference(alone(found[*at].first)?, alone(found[*at].second)?))
            .collect::<Result<_, _>>()?;
        let chances: Vec<f64> =
            // Two-sided: twice the smaller tail.
            differences.iter().map(|apart| 2.0 * apart.first_larger.min(1.0 - apart.first_larger)).collect();
        for ((at, adjusted), apart) in asked.into_iter().zip(holm(&chances)).zip(differences) {
            let pair = &mut found[at];
            if adjusted <= FALSE_ALARMS && apart.mean.abs() > MATTERS {
                pair.finding = Finding::Disagree;
            }
            (pair.adjusted, pair.apart) = (Some(adjusted), Some(apart));
        }
        Ok(found)
    }

    /// The same evidence with every setting on its own assumption.
    fn apart(&self) -> Self {
        let devices = self
            .evidence
            .devices
            .iter()
            .flat_map(|known| {
                known
                    .cells
                    .clone()
                    .map(|cell| KnownDevice { prior: known.prior.as_wide_as(SPREAD), cells: cell..cell + 1 })
            })
            .collect();
        Self::of(Evidence { devices, cells: Arc::clone(&self.evidence.cells) })
    }
}
