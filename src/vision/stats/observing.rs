//! How likely is what was observed, if the threshold were known?
//!
//! The model of one observation: how the chance of a right answer rises with
//! the size of the target, how tallies scatter more than coin flips because a
//! good day is good for all its items, and what a word such as "most" says.
//! One entry in fifty is taken for a slip, so that a slip cannot drag anything.
//!
//! The size of a target is its demand in object space: what it really shows
//! from where the student stands. It is never multiplied by a magnification.
//!
//! Does not know more than one observation at a time. Read next: the everyday acuity, which puts
//! them together.

use super::special::{normal_below, normal_quantile};
use crate::vision::acuity::LogMar;
use crate::vision::demand::{sight_distance, target_size};
use crate::vision::units::{Fraction, Magnification, Metres, OutOfRange, above_zero, within};
use statrs::function::gamma::ln_gamma;

/// Strokes of a letter in its height.
const STROKES: f64 = 5.0;

/// The share of tallies taken for slips: any count as likely as any other.
pub(super) const SLIPS: f64 = 0.02;

/// The share of words taken for misuse, over four words.
pub(super) const MISUSED: f64 = 0.05;

/// A word without a count stands for so many items.
pub const ITEMS_OF_A_WORD: u32 = 5;

/// More items than this are no tally.
const MOST_ITEMS: f64 = 200.0;

/// Which demand does a target in the field show?
///
/// **Formula** log10(60 atan((h/5)/d)), in degrees: the angle of one stroke at
/// the middle. **Source** geometry (derived); letters five strokes high (common
/// practice). **Range** h 1 mm to 2 m, d 0.1 to 60 m: beyond, a wrong unit.
///
/// ```
/// use farpoint::vision::{stats::observing::field_demand, units::Metres};
/// assert!((field_demand(Metres::new(0.03)?, Metres::new(3.0)?)?.get() - 0.837).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A height or distance outside the range.
pub fn field_demand(letter_height: Metres, distance: Metres) -> Result<LogMar, OutOfRange> {
    let h = within("letter height", "m", target_size(letter_height)?, 0.001..=2.0)?;
    let d = within("distance", "m", sight_distance(distance)?, 0.1..=60.0)?;
    LogMar::new((60.0 * (h / STROKES / d).atan().to_degrees()).log10())
}

/// How alike the items of one tally are, from nearly 0, like coin flips, to
/// nearly 1, all right or all wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overdispersion(f64);

impl Overdispersion {
    /// A correlation between the items of a tally.
    ///
    /// # Errors
    /// Outside 0.000001 to 0.999.
    pub fn new(rho: f64) -> Result<Self, OutOfRange> {
        within("overdispersion", "", rho, 1e-6..=0.999).map(Self)
    }

    /// The correlation.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The number that the beta-binomial distribution takes.
    pub(super) fn precision(self) -> f64 {
        1.0 / self.0 - 1.0
    }
}

/// So many right of so many shown at one size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Tally {
    right: u32,
    tried: u32,
}

impl Tally {
    /// So many right of so many.
    ///
    /// ```
    /// use farpoint::vision::stats::observing::Tally;
    /// let refused = Tally::new(11, 10).unwrap_err();
    /// assert_eq!(refused.to_string(), "right ones must be at least 0 and at most 10, not 11");
    /// ```
    ///
    /// # Errors
    /// None tried, more than 200 tried, or more right than tried.
    pub fn new(right: u32, tried: u32) -> Result<Self, OutOfRange> {
        let n = within("items tried", "", f64::from(tried), 1.0..=MOST_ITEMS)?;
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
}

/// How much was read, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Word {
    /// Nothing.
    None,
    /// Less than half.
    Some,
    /// Half or more, and not all.
    Most,
    /// All.
    All,
}

impl Word {
    /// Which counts does it stand for, of so many items?
    ///
    /// **Formula** none 0, some below half, most from half on, all n. **Source**
    /// common practice. **Range** 3 items and more leave room for every word.
    ///
    /// ```
    /// use farpoint::vision::stats::observing::Word;
    /// assert_eq!(Word::Most.counts(5), 3..=4);
    /// ```
    pub fn counts(self, items: u32) -> std::ops::RangeInclusive<u32> {
        let half = items.div_ceil(2);
        match self {
            Self::None => 0..=0,
            Self::Some => 1..=half.saturating_sub(1),
            Self::Most => half..=items.saturating_sub(1),
            Self::All => items..=items,
        }
    }
}

/// How many items a word was said about.
///
/// A count below 3 leaves no room between the words, and counts as unknown.
pub const fn items_of_word(items: Option<u32>) -> u32 {
    match items {
        Some(items) if items >= 3 => items,
        _ => ITEMS_OF_A_WORD,
    }
}

/// How probable is each count from 0 to n?
///
/// **Formula** beta-binomial: α = pν, β = (1−p)ν, ν = 1/ρ − 1; C(n,k) B(k+α, n−k+β)/B(α,β).
/// **Source** definition, any textbook. **Range** up to 200 items; a rate of 0
/// or 1 leaves one count.
///
/// ```
/// use farpoint::vision::{stats::observing::{Overdispersion, tally_chances}, units::Fraction};
/// let chances = tally_chances(10, Fraction::new(0.8)?, Overdispersion::new(0.05)?);
/// assert!((chances[7] - 0.169).abs() < 0.001 && (chances.iter().sum::<f64>() - 1.0).abs() < 1e-12);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn tally_chances(items: u32, rate: Fraction, alike: Overdispersion) -> Vec<f64> {
    let spread = alike.precision();
    let (p, last) = (rate.get(), items as usize);
    let (alpha, beta) = (p * spread, (1.0 - p) * spread);
    if alpha <= 0.0 || beta <= 0.0 {
        let only = if alpha <= 0.0 { 0 } else { last };
        return (0..=last).map(|k| f64::from(u8::from(k == only))).collect();
    }
    let n = f64::from(items);
    let whole = ln_gamma(spread) - ln_gamma(alpha) - ln_gamma(beta) + ln_gamma(n + 1.0) - ln_gamma(n + spread);
    (0..=items)
        .map(f64::from)
        .map(|k| {
            let ways = ln_gamma(k + 1.0) + ln_gamma(n - k + 1.0);
            (whole + ln_gamma(k + alpha) + ln_gamma(n - k + beta) - ways).exp()
        })
        .collect()
}

/// How likely an observation is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likelihood {
    /// By the model alone.
    pub chance: f64,
    /// With slips and misuse allowed for, as a natural logarithm.
    pub robust_log: f64,
}

/// How likely is this tally at a true rate?
///
/// **Formula** the beta-binomial chance; robust: 0.98 of it and 0.02/(n+1).
/// **Source** definition; 0.02 is common practice, set by simulation. **Range**
/// as [`Tally`].
///
/// ```
/// use farpoint::vision::{stats::observing::{Overdispersion, Tally, of_tally}, units::Fraction};
/// let found = of_tally(Tally::new(7, 10)?, Fraction::new(0.8)?, Overdispersion::new(0.05)?);
/// assert!((found.robust_log + 1.787).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn of_tally(tally: Tally, rate: Fraction, alike: Overdispersion) -> Likelihood {
    let chance = tally_chances(tally.tried, rate, alike)[tally.right as usize];
    let slip = SLIPS / (f64::from(tally.tried) + 1.0);
    Likelihood { chance, robust_log: ((1.0 - SLIPS) * chance + slip).ln() }
}

/// How likely is this word at a true rate?
///
/// **Formula** the sum of the beta-binomial chances of the counts that the word
/// stands for; robust: 0.95 of it and 0.05/4. **Source** definition; the
/// meaning of the words and 0.05 are common practice. **Range** up to 200
/// items; fewer than 3, or none given, counts as 5.
///
/// ```
/// use farpoint::vision::{stats::observing::{Overdispersion, Word, of_word}, units::Fraction};
/// let most = of_word(Word::Most, None, Fraction::new(0.7)?, Overdispersion::new(0.05)?)?;
/// assert!((most.chance - 0.61).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// More than 200 items, or none of them.
pub fn of_word(
    word: Word,
    items: Option<u32>,
    rate: Fraction,
    alike: Overdispersion,
) -> Result<Likelihood, OutOfRange> {
    if let Some(items) = items {
        within("items", "", f64::from(items), 1.0..=MOST_ITEMS)?;
    }
    let n = items_of_word(items);
    let chances = tally_chances(n, rate, alike);
    let chance: f64 = word.counts(n).filter_map(|k| chances.get(k as usize)).sum();
    Ok(Likelihood { chance, robust_log: ((1.0 - MISUSED) * chance + MISUSED / 4.0).ln() })
}

/// How many sessions is this worth, when some were much shorter than others?
///
/// **Formula** (Σ items)²/Σ items². **Source** Kish's effective number (from
/// memory; derived). **Range** none counts as one, so that nothing is divided
/// by nothing; weights of old sessions may be parts of items.
///
/// ```
/// use farpoint::vision::stats::observing::effective_sessions;
/// assert_eq!(effective_sessions(&[10.0, 10.0, 10.0])?, 3.0);
/// assert!(effective_sessions(&[20.0, 2.0])? < 1.25);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A session of nothing, or of more than a million items.
pub fn effective_sessions(items: &[f64]) -> Result<f64, OutOfRange> {
    let (mut sum, mut squares) = (0.0, 0.0);
    for of_one in items {
        let n = within("items of a session", "", *of_one, above_zero(1e6))?;
        sum += n;
        squares += n * n;
    }
    Ok(if squares > 0.0 { sum * sum / squares } else { 1.0 })
}

/// The course of success over size, for one student and one kind of target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// The size at which half of what is not guessed is read.
    pub threshold: LogMar,
    /// How gradually it rises: the standard deviation, in logMAR.
    pub spread: f64,
    /// The share missed however large it is.
    pub lapse: Fraction,
    /// The share right by guessing however small it is.
    pub guess: Fraction,
}

impl Course {
    fn checked(self) -> Result<Self, OutOfRange> {
        within("spread", "logMAR", self.spread, 0.001..=2.0)?;
        within("guess and lapse together", "", self.guess.get() + self.lapse.get(), 0.0..=0.99)?;
        Ok(self)
    }

    /// How probable is a right answer at this size?
    ///
    /// **Formula** g + (1 − g − l) Φ((x − θ)/s). **Source** definition of the
    /// psychometric function, any textbook. **Range** s 0.001 to 2, g + l up to 0.99.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::observing::Course, units::Fraction};
    /// let letters = Course { threshold: LogMar::new(0.9)?, spread: 0.1, lapse: Fraction::new(0.02)?, guess: Fraction::new(0.04)? };
    /// assert!((letters.success(LogMar::new(0.9)?)?.get() - 0.51).abs() < 1e-9);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A spread, guess or lapse outside the range.
    pub fn success(self, size: LogMar) -> Result<Fraction, OutOfRange> {
        self.checked()?;
        let (g, l) = (self.guess.get(), self.lapse.get());
        Fraction::new(g + (1.0 - g - l) * normal_below((size.get() - self.threshold.get()) / self.spread))
    }

    /// At which size does success reach this share?
    ///
    /// **Formula** θ + s Φ⁻¹((c − g)/(1 − g − l)). **Source** inversion of
    /// [`Course::success`] (derived). **Range** none when no size reaches it:
    /// lapses leave less, or guessing alone gives as much.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, stats::observing::Course, units::Fraction};
    /// let letters = Course { threshold: LogMar::new(0.9)?, spread: 0.1, lapse: Fraction::new(0.02)?, guess: Fraction::new(0.04)? };
    /// let size = letters.size_for(Fraction::new(0.8)?)?.expect("four of five are within reach");
    /// assert!((size.get() - 0.987).abs() < 0.001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A spread, guess or lapse outside the range.
    pub fn size_for(self, share: Fraction) -> Result<Option<LogMar>, OutOfRange> {
        self.checked()?;
        let (g, l) = (self.guess.get(), self.lapse.get());
        let part = (share.get() - g) / (1.0 - g - l);
        if part <= 0.0 || part >= 1.0 {
            return Ok(None);
        }
        LogMar::new(self.threshold.get() + self.spread * normal_quantile(part)).map(Some)
    }
}

/// What a device gives, against what is printed on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Delivered {
    /// How much finer a detail is resolved with it.
    pub effective: Magnification,
    /// That, over the power printed on it.
    pub ratio: f64,
    /// log of the one over log of the other; none at a power of 1.
    pub log_efficiency: Option<f64>,
}

/// How much does a telescope really give, if both thresholds were known?
///
/// **Formula** 10^(θ without − θ with); over M; log over log M. **Source**
/// definition (derived). **Range** distance only: the label of a magnifier
/// depends on a viewing distance that nobody used. M from 1 to 100.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, stats::observing::delivered, units::Magnification};
/// let found = delivered(LogMar::new(1.1)?, LogMar::new(0.45)?, Magnification::new(6.0)?)?;
/// assert!((found.effective.get() - 4.47).abs() < 0.01 && (found.ratio - 0.74).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A power below 1, or thresholds further apart than any device brings them.
pub fn delivered(without: LogMar, with: LogMar, nominal: Magnification) -> Result<Delivered, OutOfRange> {
    let power = within("power", "×", nominal.get(), 1.0..=100.0)?;
    let gain = without.get() - with.get();
    let effective = Magnification::new(10_f64.powf(gain))?;
    let log_efficiency = (power > 1.0).then(|| gain / power.log10());
    Ok(Delivered { effective, ratio: effective.get() / power, log_efficiency })
}
