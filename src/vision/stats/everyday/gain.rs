//! How much does a device give, and which of two is better?
//!
//! On the distance track only: a magnifier's label rests on a viewing distance
//! that nobody used, so near work compares print sizes.
//!
//! Does not know a label of a magnifier, nor which setting is the right one.

use super::grid::{Bins, Row, SIZES, STEP, WIDTH, add_scaled};
use super::posterior::{kernels, scaled};
use super::threshold::ninety;
use super::{Behind, Cell, Posterior};
use crate::vision::stats::better::{Band, band};
use crate::vision::stats::{Enough, Interval};
use crate::vision::units::{Magnification, OutOfRange, within};

/// The part of its power that a device must give: one chart line short of all.
const GIVES: f64 = 0.8;

/// From here on it is said, and up to the rest it is denied.
const SURE: f64 = 0.90;

/// Shares below this change nothing that is printed.
const NOTHING: f32 = 1e-9;

/// How far two thresholds are apart: the first less the second.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// The mean, in logMAR; positive where the second sees smaller things.
    pub mean: f64,
    /// Nine tenths of what is possible lie between.
    pub interval: Interval,
    /// The probability that the first is larger, half of the ties with it.
    pub first_larger: f64,
    /// How much was observed of each.
    pub behind: (Behind, Behind),
    /// Whether both may be told.
    pub enough: (Enough, Enough),
    bins: Bins,
}

impl Difference {
    /// How probable is it that the difference is at least so large?
    ///
    /// **Formula** the share of its distribution above. **Source** definition.
    /// **Range** any number.
    ///
    /// ```
    /// use farpoint::vision::stats::everyday::{Device, Prior, everyday};
    /// let nothing = || -> Result<Device, farpoint::vision::units::OutOfRange> {
    ///     Ok(Device { prior: Prior::bare(None)?, settings: vec![vec![]] })
    /// };
    /// let apart = everyday(&[nothing()?, nothing()?])?.difference_over_settings(0, 1)?;
    /// assert!((apart.at_least(0.0) - 0.5).abs() < 1e-6 && apart.at_least(4.0) == 0.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn at_least(&self, value: f64) -> f64 {
        1.0 - self.bins.below(value)
    }
}

/// Which cells a figure compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Both were seen in one setting.
    OneSetting,
    /// They never were; each over its settings, with a wider interval.
    OverSettings,
}

/// Whether a device gives what is printed on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// It does: with probability 0.9, at most one chart line short.
    Delivers,
    /// It does not, with the same probability.
    FallsShort,
    /// The observations leave both open.
    CannotTell,
    /// Too little was observed, with and without or in either.
    NotYet(Enough, Enough),
}

/// What a telescope gives in everyday life.
#[derive(Debug, Clone, PartialEq)]
pub struct Effective {
    /// How much finer a detail is seen with it: the middle of what is possible.
    pub median: Magnification,
    /// Nine tenths of what is possible lie between.
    pub interval: Interval,
    /// log of it over log of the power; none at a power of 1.
    pub log_efficiency: Option<f64>,
    /// The probability that it gives at least 0.8 of its power.
    pub delivers: f64,
    /// What may be said.
    pub verdict: Verdict,
    /// What was compared.
    pub basis: Basis,
    /// How much was observed without it, and with it.
    pub behind: (Behind, Behind),
}

/// How surely one is better than another.
#[derive(Debug, Clone, PartialEq)]
pub enum Which {
    /// The first.
    First,
    /// The second.
    Second,
    /// No clear difference yet.
    Neither,
    /// Too little was observed of either.
    NotYet(Enough, Enough),
}

/// Distributions of differences reach over twice the grid.
type Apart = [f64; 2 * SIZES - 1];

/// Where a row is more than nothing.
fn support(row: &[f32]) -> std::ops::Range<usize> {
    let from = row.iter().position(|share| *share > NOTHING).unwrap_or(0);
    let upto = row.iter().rposition(|share| *share > NOTHING).map_or(0, |last| last + 1);
    // The last place only fills a register.
    from..upto.min(SIZES)
}

/// Adds the distribution of a difference of two independent rows.
fn add(to: &mut Apart, first: &Row, second: &Row, weight: f64) {
    let (here, there) = (support(first), support(second));
    if there.is_empty() {
        return;
    }
    // The second runs back, so that the differences run forward.
    let mut turned = [0.0_f32; WIDTH];
    let count = there.len();
    for (turned, share) in turned.iter_mut().zip(second[there.clone()].iter().rev()) {
        *turned = *share;
    }
    let mut sums = [0.0_f32; 2 * WIDTH];
    let lowest = here.start;
    for at in here {
        add_scaled(&mut sums[at - lowest..at - lowest + count], first[at], &turned);
    }
    let from = SIZES + lowest - there.end;
    for (to, sum) in to[from..].iter_mut().zip(&sums) {
        *to += weight * f64::from(*sum);
    }
}

impl Posterior {
    /// How far apart are two thresholds, of devices or of settings?
    ///
    /// **Formula** the distribution of θ₁ − θ₂, node by node: rows of different
    /// devices are independent given a node, settings of one device given also
    /// its own threshold. **Source** as [`super::everyday`] (derived). **Range** any
    /// two cells; the same twice is 0. Settings lean on one another here; to ask
    /// whether they differ, see [`super::settings`].
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Prior, everyday};
    /// let acuity = LogMar::new(0.9)?;
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let six = Device { prior: Prior::by_power(Some(acuity), Magnification::new(6.0)?)?, settings: vec![vec![]] };
    /// let apart = everyday(&[bare, six])?.difference(Cell { device: 0, setting: 0 }, Cell { device: 1, setting: 0 })?;
    /// assert!((apart.mean - 0.678).abs() < 0.02 && apart.first_larger > 0.9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not.
    pub fn difference(&self, first: Cell, second: Cell) -> Result<Difference, OutOfRange> {
        let (one, other) = (self.evidence.cell(first)?, self.evidence.cell(second)?);
        let mut apart = [0.0; 2 * SIZES - 1];
        if one == other {
            apart[SIZES - 1] = 1.0;
        } else if first.device == second.device {
            self.within_a_device(&mut apart, first.device, one, other);
        } else {
            for given in &self.given {
                add(&mut apart, &given.cells[one], &given.cells[other], given.weight);
            }
        }
        let cells = &self.evidence.cells;
        let behind = (cells[one].behind, cells[other].behind);
        Ok(difference(&apart, behind, (self.enough_in(one), self.enough_in(other))))
    }

    /// How far apart would two thresholds be, did settings of one device not lean
    /// on one another?
    ///
    /// **Formula** the distribution of θ₁ − θ₂ from the marginals of each node.
    /// **Source** as [`super::everyday`]. **Range** for different devices it is
    /// [`Posterior::difference`]; for settings of one device it is wider than
    /// that, and less sure. Figures computed elsewhere are compared with it.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Prior, everyday};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let (without, with) = (Cell { device: 0, setting: 0 }, Cell { device: 1, setting: 0 });
    /// assert_eq!(unseen.difference_alone(without, with)?, unseen.difference(without, with)?);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not.
    pub fn difference_alone(&self, first: Cell, second: Cell) -> Result<Difference, OutOfRange> {
        let (one, other) = (self.evidence.cell(first)?, self.evidence.cell(second)?);
        let mut apart = [0.0; 2 * SIZES - 1];
        for given in &self.given {
            add(&mut apart, &given.cells[one], &given.cells[other], given.weight);
        }
        let cells = &self.evidence.cells;
        let behind = (cells[one].behind, cells[other].behind);
        Ok(difference(&apart, behind, (self.enough_in(one), self.enough_in(other))))
    }

    /// How far apart are the thresholds of two devices over their settings?
    ///
    /// **Formula**, **Source** as [`Posterior::difference`], of μ. **Range** any two
    /// devices; the same twice is 0.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Device, Prior, everyday};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// assert!(unseen.difference_over_settings(0, 1)?.first_larger > 0.8);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A device that there is not.
    pub fn difference_over_settings(&self, first: usize, second: usize) -> Result<Difference, OutOfRange> {
        let (one, other) = (self.over_settings(first)?, self.over_settings(second)?);
        let mut apart = [0.0; 2 * SIZES - 1];
        if first == second {
            apart[SIZES - 1] = 1.0;
        } else {
            for given in &self.given {
                add(&mut apart, &given.devices[first], &given.devices[second], given.weight);
            }
        }
        let rule = |device: usize| -> Result<Enough, OutOfRange> {
            let known = self.evidence.device(device)?;
            let mut told = known.cells.clone().map(|cell| self.enough_in(cell));
            let best = told.clone().find(Enough::is_met).or_else(|| told.next());
            Ok(best.unwrap_or(Enough::Yes))
        };
        Ok(difference(&apart, (one.behind, other.behind), (rule(first)?, rule(second)?)))
    }

    /// Two settings of one device, which lean on its common threshold.
    fn within_a_device(&self, apart: &mut Apart, device: usize, one: usize, other: usize) {
        let kernels = kernels();
        let known = &self.evidence.devices[device];
        let prior = known.prior.density();
        let flat = [1.0; WIDTH];
        for given in &self.given {
            let kernel = &kernels[given.apart];
            let star = self.evidence.star(device, given.node, (given.apart, kernel), &prior);
            let said = |cell: usize| star.says[cell - known.cells.start];
            // The device's threshold by all but these two.
            let mut rest = star.middle;
            for said in [said(one), said(other)].into_iter().flatten() {
                rest.iter_mut().zip(said).for_each(|(rest, said)| *rest /= f64::from(*said));
            }
            let rest = scaled(&rest);
            let likely = |cell: usize| self.evidence.cells[cell].nodes.get(given.node).map_or(&flat, |l| &l.threshold);
            let around = |cell: usize, middle: usize| -> Row {
                let mut row = [0.0; WIDTH];
                for (at, value) in row[..SIZES].iter_mut().enumerate() {
                    *value = likely(cell)[at] * kernel.tap_from(middle, at);
                }
                row
            };
            let mut here = [0.0; 2 * SIZES - 1];
            for (middle, weight) in rest[..SIZES].iter().enumerate().filter(|(_, weight)| **weight > NOTHING) {
                add(&mut here, &around(one, middle), &around(other, middle), f64::from(*weight));
            }
            let sum: f64 = here.iter().sum();
            if sum > 0.0 {
                apart.iter_mut().zip(&here).for_each(|(apart, here)| *apart += given.weight * here / sum);
            }
        }
    }

    /// How much does a telescope give in everyday life, against its power?
    ///
    /// **Formula** 10^(θ without − θ with), its distribution; delivers where
    /// P(at least 0.8 M) ≥ 0.90, falls short where ≤ 0.10. **Source** definition;
    /// 0.8 (one chart line) and 0.90 are common practice. **Range** both in one
    /// setting, M 1 to 100; distance only.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Prior, everyday, gain::Verdict};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let found = unseen.effective(Cell { device: 0, setting: 0 }, Cell { device: 1, setting: 0 }, power)?;
    /// assert!(matches!(found.verdict, Verdict::NotYet(..)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not, or a power below 1.
    pub fn effective(&self, without: Cell, with: Cell, power: Magnification) -> Result<Effective, OutOfRange> {
        effective(&self.difference(without, with)?, power, Basis::OneSetting)
    }

    /// How much does a telescope give, never used where it was done without?
    ///
    /// **Formula** as [`Posterior::effective`], of each device over its settings.
    /// **Source** as [`Posterior::effective`]. **Range** as there; the interval is
    /// wider by how far settings differ.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Device, Prior, everyday};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let found = unseen.effective_over_settings(0, 1, power)?;
    /// assert!((found.median.get() - 3.18).abs() < 0.1 && found.interval.low < 2.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As there.
    pub fn effective_over_settings(
        &self,
        without: usize,
        with: usize,
        power: Magnification,
    ) -> Result<Effective, OutOfRange> {
        effective(&self.difference_over_settings(without, with)?, power, Basis::OverSettings)
    }

    /// Does the student see smaller things with one device than with another?
    ///
    /// **Formula** P(θ₁ < θ₂) ≥ 0.90 the first, ≤ 0.10 the second. **Source**
    /// common practice. **Range** both cells with enough behind them.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Prior, everyday, gain::Which};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let (which, _) = unseen.which(Cell { device: 0, setting: 0 }, Cell { device: 1, setting: 0 })?;
    /// assert!(matches!(which, Which::NotYet(..)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not.
    pub fn which(&self, first: Cell, second: Cell) -> Result<(Which, Difference), OutOfRange> {
        let apart = self.difference(first, second)?;
        let which = if !(apart.enough.0.is_met() && apart.enough.1.is_met()) {
            Which::NotYet(apart.enough.0.clone(), apart.enough.1.clone())
        } else {
            // It is a probability but for rounding.
            match band(apart.first_larger.clamp(0.0, 1.0))? {
                Band::Likely => Which::Second,
                Band::Unlikely => Which::First,
                Band::Rather | Band::RatherNot | Band::Unclear => Which::Neither,
            }
        };
        Ok((which, apart))
    }

    /// How probable is each of several to be the best?
    ///
    /// **Formula** Σ p(θ) Π P(θ other > θ), node by node, ties shared. **Source**
    /// as [`super::everyday`] (derived). **Range** one cell for each of several
    /// devices, in one setting.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Prior, everyday};
    /// let by = |power| -> Result<Device, farpoint::vision::units::OutOfRange> {
    ///     Ok(Device { prior: Prior::by_power(Some(LogMar::new(0.9)?), Magnification::new(power)?)?, settings: vec![vec![]] })
    /// };
    /// let cells = [0, 1].map(|device| Cell { device, setting: 0 });
    /// let best = everyday(&[by(4.0)?, by(8.0)?])?.best_of(&cells)?;
    /// assert!(best[1] > 0.6 && (best[0] + best[1] - 1.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not.
    pub fn best_of(&self, cells: &[Cell]) -> Result<Vec<f64>, OutOfRange> {
        let places: Vec<usize> = cells.iter().map(|cell| self.evidence.cell(*cell)).collect::<Result<_, _>>()?;
        let mut best = vec![0.0; places.len()];
        for given in &self.given {
            // What lies above each place, half of the place itself with it.
            let above: Vec<[f64; SIZES]> = places
                .iter()
                .map(|cell| {
                    let mut sum = 0.0;
                    let mut all = [0.0; SIZES];
                    for (above, share) in all.iter_mut().zip(&given.cells[*cell][..SIZES]).rev() {
                        *above = sum + 0.5 * f64::from(*share);
                        sum += f64::from(*share);
                    }
                    all
                })
                .collect();
            for (at, cell) in places.iter().enumerate() {
                let better = |place: usize| -> f64 {
                    above.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, above)| above[place]).product()
                };
                let shares = given.cells[*cell][..SIZES].iter().enumerate();
                best[at] += given.weight * shares.map(|(place, share)| f64::from(*share) * better(place)).sum::<f64>();
            }
        }
        let sum: f64 = best.iter().sum();
        best.iter_mut().for_each(|share| *share /= sum);
        Ok(best)
    }
}

fn difference(apart: &Apart, behind: (Behind, Behind), enough: (Enough, Enough)) -> Difference {
    let bins = Bins::new(-STEP * (SIZES - 1) as f64, STEP, apart.iter().copied());
    // Sums of thousands of shares may miss the ends by their rounding.
    let first_larger = (1.0 - bins.below(0.0)).clamp(0.0, 1.0);
    Difference { mean: bins.mean(), interval: ninety(&bins), first_larger, behind, enough, bins }
}

fn effective(apart: &Difference, power: Magnification, basis: Basis) -> Result<Effective, OutOfRange> {
    let printed = within("power", "×", power.get(), 1.0..=100.0)?;
    let median = apart.bins.quantile(0.5);
    let delivers = apart.at_least((GIVES * printed).log10());
    let verdict = if !(apart.enough.0.is_met() && apart.enough.1.is_met()) {
        Verdict::NotYet(apart.enough.0.clone(), apart.enough.1.clone())
    } else if delivers >= SURE {
        Verdict::Delivers
    } else if delivers <= 1.0 - SURE {
        Verdict::FallsShort
    } else {
        Verdict::CannotTell
    };
    let Interval { low, high, level } = apart.interval;
    Ok(Effective {
        median: Magnification::new(10_f64.powf(median))?,
        interval: Interval { low: 10_f64.powf(low), high: 10_f64.powf(high), level },
        log_efficiency: (printed > 1.0).then(|| median / printed.log10()),
        delivers,
        verdict,
        basis,
        behind: apart.behind,
    })
}
