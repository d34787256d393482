//! What is assumed before any observation, from the clinic's figures.
//!
//! It is shown beside what the observations made of it, in words. Field acuity
//! is rarely better than the clinic's lane, and a device that nobody measured
//! is not assumed to give all that is printed on it.
//!
//! Does not know where a figure of the clinic stands, or whether it is in force.

use super::grid::{HIGHEST, LOWEST, SIZES, size};
use crate::vision::acuity::LogMar;
use crate::vision::acuity::near::MUnits;
use crate::vision::units::{Magnification, Metres, OutOfRange, within};

/// How much worse it is in the field than in the clinic.
const FIELD: f64 = 0.05;

/// How much less an unmeasured device gives than its power.
const UNTESTED: f64 = 0.10;

/// How much larger a target of low contrast must be.
const LOW_CONTRAST: f64 = 0.15;

/// The distance for which print sizes stand on the axis of sizes.
const READING_DISTANCE: f64 = 0.4;

/// The heavy tail: a mistyped clinic value must lose to the observations.
const TAIL: (f64, f64) = (0.1, 0.60);

/// What is assumed of a threshold before any observation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    mean: LogMar,
    deviation: f64,
}

impl Prior {
    /// A prior with this middle and spread.
    ///
    /// **Formula** 0.9 N(m, s²) + 0.1 N(m, 0.60²). **Source** common practice, set
    /// by simulation. **Range** m −0.6 to 2.4, s 0.05 to 1.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::everyday::Prior};
    /// let prior = Prior::new(LogMar::new(0.95)?, 0.2)?;
    /// assert_eq!(prior.mean().get(), 0.95);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Values outside the range.
    pub fn new(mean: LogMar, deviation: f64) -> Result<Self, OutOfRange> {
        within("assumed threshold", "logMAR", mean.get(), LOWEST..=HIGHEST)?;
        Ok(Self { mean, deviation: within("spread of the assumption", "logMAR", deviation, 0.05..=1.0)? })
    }

    /// What is assumed without a device?
    ///
    /// **Formula** V + 0.05, spread 0.20; without a figure 0.80, spread 0.60.
    /// **Source** common practice, set by simulation. **Range** V both eyes, as
    /// worn in class.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::everyday::Prior};
    /// assert!((Prior::bare(Some(LogMar::new(0.9)?))?.mean().get() - 0.95).abs() < 1e-12);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// An acuity whose everyday value lies off the scale.
    pub fn bare(clinic: Option<LogMar>) -> Result<Self, OutOfRange> {
        match clinic {
            Some(acuity) => Self::new(LogMar::new(acuity.get() + FIELD)?, 0.20),
            None => Ok(Self::nothing_known()),
        }
    }

    /// What is assumed where the clinic has no figure at all?
    ///
    /// **Formula** 0.80, spread 0.60. **Source** as [`Prior::bare`]. **Range** one
    /// value.
    ///
    /// ```
    /// use farpoint::vision::stats::everyday::Prior;
    /// assert_eq!(Prior::nothing_known().mean().get(), 0.8);
    /// ```
    pub const fn nothing_known() -> Self {
        Self { mean: LogMar::literal(0.80), deviation: 0.60 }
    }

    /// What is assumed with a device through which the clinic measured?
    ///
    /// **Formula**, **Source** as [`Prior::bare`]. **Range** the acuity through it.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::everyday::Prior};
    /// assert!((Prior::measured_through(LogMar::new(0.4)?)?.mean().get() - 0.45).abs() < 1e-12);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// As [`Prior::bare`].
    pub fn measured_through(acuity: LogMar) -> Result<Self, OutOfRange> {
        Self::bare(Some(acuity))
    }

    /// What is assumed with a telescope of which only the power is known?
    ///
    /// **Formula** V + 0.15 − log10 M, spread 0.25; without V 0.90 − log10 M,
    /// spread 0.60. **Source** common practice, set by simulation. **Range** V of
    /// the eye or eyes that use it.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::everyday::Prior, units::Magnification};
    /// let four = Prior::by_power(Some(LogMar::new(0.9)?), Magnification::new(4.0)?)?;
    /// assert!((four.mean().get() - 0.448).abs() < 0.001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// As [`Prior::bare`], or a power below 1.
    pub fn by_power(clinic: Option<LogMar>, power: Magnification) -> Result<Self, OutOfRange> {
        let gain = within("power", "×", power.get(), 1.0..=100.0)?.log10();
        match clinic {
            Some(acuity) => Self::new(LogMar::new(acuity.get() + FIELD + UNTESTED - gain)?, 0.25),
            None => Self::new(LogMar::new(0.80 + UNTESTED - gain)?, 0.60),
        }
    }

    /// What is assumed of print, with or without a magnifier?
    ///
    /// **Formula** log10 M = near logMAR + log10 of the equivalent viewing
    /// distance, on the axis of [`print_demand`]; spread 0.25. **Source**
    /// definition of M units (derived); the spread is common practice. **Range**
    /// the viewing distance 1 cm to 1 m; no label of a magnifier enters.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::everyday::Prior, units::Metres};
    /// let prior = Prior::print(LogMar::new(1.0)?, Metres::new(0.1)?)?;
    /// assert!((prior.mean().get() - (1.0 + 0.25_f64.log10())).abs() < 1e-12);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Values outside the range.
    pub fn print(near: LogMar, viewing: Metres) -> Result<Self, OutOfRange> {
        let distance = within("viewing distance", "m", viewing.get(), 0.01..=1.0)?;
        Self::new(LogMar::new(near.get() + (distance / READING_DISTANCE).log10())?, 0.25)
    }

    /// What is assumed for targets of low contrast, which form cells of their own?
    ///
    /// **Formula** m + 0.15. **Source** common practice. **Range** as [`Prior::new`].
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::everyday::Prior};
    /// let prior = Prior::new(LogMar::new(0.9)?, 0.2)?.at_low_contrast()?;
    /// assert!((prior.mean().get() - 1.05).abs() < 1e-12);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A middle that would lie off the scale.
    pub fn at_low_contrast(self) -> Result<Self, OutOfRange> {
        Self::new(LogMar::new(self.mean.get() + LOW_CONTRAST)?, self.deviation)
    }

    /// Its middle.
    pub const fn mean(self) -> LogMar {
        self.mean
    }

    /// Its spread without the tail.
    pub const fn deviation(self) -> f64 {
        self.deviation
    }

    /// The same middle with another spread, for telling settings apart.
    pub(super) const fn as_wide_as(self, deviation: f64) -> Self {
        Self { mean: self.mean, deviation }
    }

    /// Its density over the thresholds, in sum 1.
    pub(super) fn density(self) -> [f64; SIZES] {
        let normal = |x: f64, s: f64| (-0.5 * ((x - self.mean.get()) / s).powi(2)).exp() / s;
        let mut all: [f64; SIZES] = std::array::from_fn(|at| {
            (1.0 - TAIL.0) * normal(size(at), self.deviation) + TAIL.0 * normal(size(at), TAIL.1)
        });
        let sum: f64 = all.iter().sum();
        all.iter_mut().for_each(|density| *density /= sum);
        all
    }
}

/// Where does a print size stand on the axis of sizes?
///
/// **Formula** log10(M/0.4 m): the demand of that print at 40 cm. **Source**
/// definition of M units (seen). **Range** any print. For the near track only
/// print sizes are compared, at the distance each was read.
///
/// ```
/// use farpoint::vision::{acuity::near::MUnits, stats::everyday::print_demand};
/// assert!((print_demand(MUnits::new(4.0)?)?.get() - 1.0).abs() < 1e-12);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A print off the scale.
pub fn print_demand(print: MUnits) -> Result<LogMar, OutOfRange> {
    LogMar::new((print.get() / READING_DISTANCE).log10())
}

/// Which print stands at this place of the axis of sizes?
///
/// **Formula** the inverse of [`print_demand`]. **Source** as there. **Range** any
/// demand of a print.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, stats::everyday::print_of};
/// assert!((print_of(LogMar::new(1.0)?)?.get() - 4.0).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A place at which there is no print.
pub fn print_of(demand: LogMar) -> Result<MUnits, OutOfRange> {
    MUnits::new(READING_DISTANCE * 10_f64.powf(demand.get()))
}
