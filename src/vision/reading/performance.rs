//! What may honestly be said of speed against print size?
//!
//! A curve can be drawn through few passages, but a greatest speed and a
//! critical print are findings only when sizes lie on both limbs. Where they
//! do not, the answer is the highest speed that was really read, and which
//! sizes are missing.
//!
//! Does not know the reading acuity: a fitted curve never stands for it.
//! Read next: [`crate::vision::magnifier::power_for`] for the print that is wanted.

use super::WordsPerMinute;
use super::fit::{Estimate, ExponentialFit, FitError, Passage, TwoLimbFit, fit_exponential, fit_two_limb};
use crate::vision::acuity::LogMar;
use crate::vision::units::{Fraction, OutOfRange, within};

/// The least sizes for a finding, and how many of them on each limb.
const SIZES: usize = 5;
const ON_EACH_LIMB: usize = 2;
/// A critical print vaguer than this, in log units, is none.
const VAGUE: f64 = 0.10;
/// The largest print this many scatters below the curve is read more slowly.
const SLOWER_BY: f64 = 2.0;

/// Why there is no critical print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// Fewer than five sizes were read.
    Sizes {
        /// How many were.
        read: usize,
    },
    /// Fewer than two sizes are read more slowly than at best: try smaller print.
    SmallPrint,
    /// Speed still rises at the largest size: try larger print.
    LargePrint,
    /// The passages scatter too much, or no curve fits.
    Certainty,
}

/// A speed with the interval that holds it nine times of ten.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SpeedFound {
    /// The best guess.
    pub speed: WordsPerMinute,
    /// It is hardly lower.
    pub low: WordsPerMinute,
    /// It is hardly higher.
    pub high: WordsPerMinute,
}

/// What the curve says, when the passages suffice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// The greatest speed.
    pub greatest: SpeedFound,
    /// The smallest print read at the criterion's part of it.
    pub critical_print: LogMar,
    /// How sure that is: half the width of the interval that holds it nine times of ten.
    pub critical_print_within: f64,
    /// The criterion.
    pub criterion: Fraction,
    /// The curve.
    pub exponential: ExponentialFit,
    /// Two limbs through the same passages, as a check.
    pub two_limbs: TwoLimbFit,
}

/// Speed against print size, with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Performance {
    /// The highest of the medians by size: what was really read.
    pub highest_median: WordsPerMinute,
    /// At which size that was.
    pub at: LogMar,
    /// The finding, or what is missing for one.
    pub found: Result<Found, Missing>,
    /// The largest print was read clearly more slowly than the curve says: the
    /// field may hold too few letters of that size.
    pub largest_is_slower: bool,
    /// Passages read.
    pub passages: usize,
    /// Passages that could not be read.
    pub not_read: usize,
    /// Different sizes read.
    pub sizes: usize,
}

/// What do these passages say of the greatest speed and the critical print?
///
/// **Formula** the highest of the median speeds by size; and, from five sizes
/// of which two lie below and two on the plateau of [`fit_two_limb`], two above
/// the critical print, and its standard error at most 0.10: greatest speed and
/// critical print of [`fit_exponential`] with t-intervals of n − 3. **Source**
/// the rule of five sizes and the limit of 0.10 are common practice; that some
/// readers slow at very large print (a published study found 22 %, seen) is why
/// the plateau is not the largest size. **Range** 1 to 1000 passages, one of
/// them read; criterion 0.5 to 0.99.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::reading::{USUAL_CRITERION, WordsPerMinute};
/// use farpoint::vision::reading::{fit::Passage, performance::{Missing, performance}};
/// let at = |size, speed| Ok::<_, farpoint::vision::units::OutOfRange>(Passage {
///     size: LogMar::new(size)?, speed: WordsPerMinute::new(speed)? });
/// let few = [at(0.4, 0.0)?, at(0.6, 48.0)?, at(0.8, 83.0)?, at(0.8, 91.0)?];
/// let said = performance(&few, USUAL_CRITERION)?;
/// assert_eq!(said.highest_median.get(), 87.0);
/// assert_eq!(said.found.map(|found| found.critical_print), Err(Missing::Sizes { read: 2 }));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No passage was read, or a number outside the range.
pub fn performance(passages: &[Passage], criterion: Fraction) -> Result<Performance, OutOfRange> {
    super::criterion(criterion)?;
    let medians = medians(passages);
    let read = passages.iter().filter(|passage| passage.speed.get() > 0.0).count();
    let given = u32::try_from(read).unwrap_or(u32::MAX);
    within("passages read", "", f64::from(given), 1.0..=1_000.0)?;
    let mut best = (LogMar::literal(0.0), WordsPerMinute::literal(0.0));
    for (size, speed) in &medians {
        if *speed > best.1 {
            best = (*size, *speed);
        }
    }
    let (found, largest_is_slower) = match fit_exponential(passages) {
        Ok(curve) => {
            let slower = medians.last().is_some_and(|(size, speed)| {
                speed.get().log10() < curve.log_speed_at(size.get()) - SLOWER_BY * curve.residual_sd
            });
            (finding(passages, &medians, curve, criterion), slower)
        }
        Err(FitError::TooFewSizes { .. }) => (Err(Missing::Sizes { read: medians.len() }), false),
        Err(FitError::NotRising) if medians.len() >= SIZES => (Err(Missing::SmallPrint), false),
        Err(FitError::NotDetermined | FitError::OutOfRange(_)) if medians.len() >= SIZES => {
            (Err(Missing::Certainty), false)
        }
        Err(_) => (Err(Missing::Sizes { read: medians.len() }), false),
    };
    Ok(Performance {
        highest_median: best.1,
        at: best.0,
        found,
        largest_is_slower,
        passages: read,
        not_read: passages.len().saturating_sub(read),
        sizes: medians.len(),
    })
}

/// The finding, if the passages suffice for one.
fn finding(
    passages: &[Passage],
    medians: &[(LogMar, WordsPerMinute)],
    exponential: ExponentialFit,
    criterion: Fraction,
) -> Result<Found, Missing> {
    if medians.len() < SIZES {
        return Err(Missing::Sizes { read: medians.len() });
    }
    let two_limbs = fit_two_limb(passages).map_err(|_| Missing::SmallPrint)?;
    if two_limbs.sizes_below < ON_EACH_LIMB {
        return Err(Missing::SmallPrint);
    }
    let critical = exponential.critical_print(criterion).map_err(|_| Missing::Certainty)?;
    let above = medians.iter().filter(|(size, _)| size.get() >= critical.value).count();
    if two_limbs.sizes_on_plateau < ON_EACH_LIMB || above < ON_EACH_LIMB {
        return Err(Missing::LargePrint);
    }
    let error = critical.standard_error.filter(|error| *error <= VAGUE).ok_or(Missing::Certainty)?;
    let times = t_of_ninety(exponential.freedom);
    Ok(Found {
        greatest: speeds(exponential.log_greatest, times).ok_or(Missing::Certainty)?,
        critical_print: LogMar::new(critical.value).map_err(|_| Missing::Certainty)?,
        critical_print_within: times * error,
        criterion,
        exponential,
        two_limbs,
    })
}

/// A logarithm with its error as speeds; none where they would be no speeds of reading aloud.
fn speeds(log: Estimate, times: f64) -> Option<SpeedFound> {
    let half = times * log.standard_error?;
    let speed = |power: f64| WordsPerMinute::new(10_f64.powf(power)).ok();
    Some(SpeedFound { speed: speed(log.value)?, low: speed(log.value - half)?, high: speed(log.value + half)? })
}

/// The sizes at which something was read, from small to large, with their median speeds.
fn medians(passages: &[Passage]) -> Vec<(LogMar, WordsPerMinute)> {
    let mut read: Vec<Passage> = passages.iter().copied().filter(|passage| passage.speed.get() > 0.0).collect();
    read.sort_by(|one, other| one.size.cmp(&other.size).then(one.speed.cmp(&other.speed)));
    read.chunk_by(|one, other| other.size.get() - one.size.get() <= 1e-9)
        .filter_map(|same| {
            let upper = same.get(same.len() / 2)?.speed;
            let lower = same.get(same.len().saturating_sub(1) / 2)?.speed;
            let median = WordsPerMinute::new((lower.get() + upper.get()) / 2.0).ok()?;
            Some((same.first()?.size, median))
        })
        .collect()
}

/// Student's t for an interval that holds the value nine times of ten.
///
/// Computed by numerical integration of the density (derived): a table up to
/// 10, beyond it the Cornish-Fisher expansion about the normal quantile, right
/// to four decimals there.
fn t_of_ninety(freedom: u32) -> f64 {
    const FIRST: [f64; 10] =
        [6.313_752, 2.919_986, 2.353_363, 2.131_847, 2.015_048, 1.943_180, 1.894_579, 1.859_548, 1.833_113, 1.812_461];
    let place = usize::try_from(freedom.saturating_sub(1)).unwrap_or(usize::MAX);
    if let Some(exact) = FIRST.get(place) {
        return *exact;
    }
    let (z, v) = (1.644_853_626_951_472_2_f64, f64::from(freedom));
    let first = (z.powi(3) + z) / (4.0 * v);
    let second = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / (96.0 * v * v);
    let third = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / (384.0 * v.powi(3));
    z + first + second + third
}

#[cfg(test)]
mod tests {
    use super::t_of_ninety;

    #[test]
    fn quantiles_of_t_are_those_of_the_tables() {
        // Tables of Student's t, 0.95 one-sided, as in any textbook of statistics (from memory).
        for (freedom, table) in [(1, 6.314), (3, 2.353), (10, 1.812), (11, 1.796), (30, 1.697), (120, 1.658)] {
            assert!((t_of_ninety(freedom) - table).abs() < 0.000_6, "{freedom}: {}", t_of_ninety(freedom));
        }
        assert!(t_of_ninety(u32::MAX) < 1.644_854 && t_of_ninety(u32::MAX) > 1.644_853);
    }
}
