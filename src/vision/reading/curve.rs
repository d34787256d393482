//! How does the speed of reading depend on the size of print?
//!
//! Below some size reading slows, above it speed stays the same: three
//! published shapes of one fact. **They live on different axes**: the first is
//! words a minute against logMAR, the second words a minute against MAR, the
//! third the *logarithm* of words a minute against logMAR. Their parameters are
//! not interchangeable, and each shape has its own type for that reason.
//!
//! None of them can say that very large print is read more slowly, as it is
//! when a field holds only few letters; [`super::performance`] looks for that.
//! Does not know any passages; see [`super::fit`].

use super::{WordsPerMinute, criterion};
use crate::vision::acuity::LogMar;
use crate::vision::units::{Arcminutes, Fraction, OutOfRange, within};

/// The checked greatest speed of a curve.
fn greatest(speed: WordsPerMinute) -> Result<f64, OutOfRange> {
    // With less than two words a minute there is no curve to speak of.
    within("greatest speed", "words/min", speed.get(), 2.0..=400.0)
}

/// A rising limb and a plateau: words a minute against logMAR.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoLimb {
    /// The smallest print that is read at full speed.
    pub critical_print: LogMar,
    /// The speed on the plateau.
    pub greatest: WordsPerMinute,
    /// How much speed is lost in one log unit of size below it.
    pub slope: f64,
}

impl TwoLimb {
    /// How fast is print of this size read, by two limbs?
    ///
    /// **Formula** R = Ropt for sizes of at least the critical print, else Ropt
    /// − m (CPS − size); where that falls below nothing, the print is not read
    /// and R is 0. **Source** IOVS article 2199982 (2001), its two equations
    /// (seen). **Range** greatest speed 2 to 400 words a minute, slope 0 to
    /// 10 000 words a minute a log unit.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::reading::{WordsPerMinute, curve::TwoLimb};
    /// let reader = TwoLimb {
    ///     critical_print: LogMar::new(0.7)?, greatest: WordsPerMinute::new(140.0)?, slope: 180.0 };
    /// assert!((reader.speed_at(LogMar::new(0.5)?)?.get() - 104.0).abs() < 1e-9);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Parameters outside the range.
    pub fn speed_at(self, size: LogMar) -> Result<WordsPerMinute, OutOfRange> {
        let plateau = greatest(self.greatest)?;
        let slope = within("slope", "words/min a log unit", self.slope, 0.0..=10_000.0)?;
        let short = self.critical_print.get() - size.get();
        if short <= 0.0 {
            return WordsPerMinute::new(plateau);
        }
        let speed = plateau - slope * short;
        WordsPerMinute::new(if speed > 0.0 { speed } else { 0.0 })
    }
}

/// The published rate of the exponential in MAR: ten to the base e, rounded.
const ROUNDED_LN_TEN: f64 = 2.3;

/// An exponential in MAR: words a minute against minutes of arc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ExponentialInMar {
    /// The print at which the speed is nothing.
    pub threshold: Arcminutes,
    /// The print read at nine tenths of the greatest speed.
    pub critical: Arcminutes,
    /// The speed that it approaches.
    pub greatest: WordsPerMinute,
}

impl ExponentialInMar {
    /// How fast is print of this size read, by an exponential in MAR?
    ///
    /// **Formula** R = Rmax (1 − exp(−2.3 (P − P₀)/(Pc − P₀))); 0 at P₀ and
    /// below. As 2.3 is a rounded ln 10, R(Pc) is 89.97 % of Rmax. **Source**
    /// ARVO abstract 2413112, 50 low-vision patients (seen). **Range** critical
    /// print above the threshold, greatest speed 2 to 400 words a minute.
    ///
    /// ```
    /// use farpoint::vision::reading::{WordsPerMinute, curve::ExponentialInMar};
    /// use farpoint::vision::units::Arcminutes;
    /// let reader = ExponentialInMar {
    ///     threshold: Arcminutes::new(1.6)?, critical: Arcminutes::new(4.0)?,
    ///     greatest: WordsPerMinute::new(150.0)? };
    /// assert!((reader.speed_at(Arcminutes::new(4.0)?)?.get() - 134.96).abs() < 0.01);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A critical print that is not larger than the threshold, or a speed
    /// outside the range.
    pub fn speed_at(self, print: Arcminutes) -> Result<WordsPerMinute, OutOfRange> {
        let plateau = greatest(self.greatest)?;
        let threshold = self.threshold.get();
        let bounds = (std::ops::Bound::Excluded(threshold), std::ops::Bound::Included(21_600.0));
        let critical = within("critical print", "arcmin", self.critical.get(), bounds)?;
        if print.get() <= threshold {
            return WordsPerMinute::new(0.0);
        }
        let along = (print.get() - threshold) / (critical - threshold);
        WordsPerMinute::new(plateau * (1.0 - (-ROUNDED_LN_TEN * along).exp()))
    }
}

/// An exponential in logMAR: the logarithm of words a minute against logMAR.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogExponential {
    /// The speed that it approaches.
    pub greatest: WordsPerMinute,
    /// The natural logarithm of its rate.
    pub ln_rate: f64,
    /// The print read at one word a minute.
    pub one_word_a_minute: LogMar,
}

impl LogExponential {
    /// Greatest speed as a power of ten, and the rate.
    fn parameters(self) -> Result<(f64, f64), OutOfRange> {
        let power = greatest(self.greatest)?.log10();
        let rate = within("logarithm of the rate", "", self.ln_rate, -3.0..=6.0)?.exp();
        Ok((power, rate))
    }

    /// How fast is print of this size read, by an exponential in logMAR?
    ///
    /// **Formula** log10 R = a (1 − exp(−e^b (x − x₀))), a = log10 of the
    /// greatest speed. **Source** Cheung, Kallie, Legge and Cheong 2008, IOVS
    /// 49:828-835 (equation from memory). **Range** greatest speed 2 to 400
    /// words a minute, b −3 to 6; print smaller than x₀ is read at less than a
    /// word a minute, which is not at all.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::reading::{WordsPerMinute, curve::LogExponential};
    /// let reader = LogExponential {
    ///     greatest: WordsPerMinute::new(200.0)?, ln_rate: 1.9,
    ///     one_word_a_minute: LogMar::new(-0.25)? };
    /// assert!((reader.speed_at(LogMar::new(0.15)?)?.get() - 138.8).abs() < 0.1);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Parameters outside the range.
    pub fn speed_at(self, size: LogMar) -> Result<WordsPerMinute, OutOfRange> {
        let (power, rate) = self.parameters()?;
        let beyond = size.get() - self.one_word_a_minute.get();
        // Written as a part of the greatest speed, so that rounding never exceeds it.
        WordsPerMinute::new(self.greatest.get() * 10_f64.powf(-power * (-rate * beyond).exp()))
    }

    /// Which is the smallest print read at this part of the greatest speed?
    ///
    /// **Formula** x₀ − ln(−log10 q / a) / e^b, q the part of the greatest
    /// *speed*. **Source** as [`LogExponential::speed_at`], solved for the size
    /// (derived); q = 0.9 in one published analysis (seen). **Range** q 0.5 to
    /// 0.99, parameters as there.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::reading::{USUAL_CRITERION, WordsPerMinute, curve::LogExponential};
    /// let reader = LogExponential {
    ///     greatest: WordsPerMinute::new(200.0)?, ln_rate: 1.9,
    ///     one_word_a_minute: LogMar::new(-0.25)? };
    /// assert!((reader.critical_print(USUAL_CRITERION)?.get() - 0.336).abs() < 0.001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A criterion or parameters outside the range.
    pub fn critical_print(self, part: Fraction) -> Result<LogMar, OutOfRange> {
        let (power, rate) = self.parameters()?;
        let missing = -criterion(part)?.log10() / power;
        LogMar::new(self.one_word_a_minute.get() - missing.ln() / rate)
    }
}
