//! How fast is print read aloud, and which print is just read?
//!
//! Speed in words a minute from what was timed, the acuity of continuous text,
//! and how large a change must be before it is a change. A *standard word* is
//! six characters with the space behind it, so that long words do not count
//! less than short ones.
//!
//! Everything here is read **aloud**: nobody can count the errors of silent
//! reading. Speeds are compared only for the same language, level of text and
//! lens. Does not know what was read, nor whether it was understood.
//! Read next: [`curve`] for speed against print size, [`fit`] for finding such
//! a curve in passages, [`performance`] for what may be said of it, and
//! [`copying`] for writing from a board.

use super::acuity::LogMar;
use super::units::{Fraction, Metres, OutOfRange, Seconds, above_zero, quantity, within};

pub mod copying;
pub mod curve;
pub mod fit;
pub mod performance;

quantity! {
    /// A speed of reading aloud, in words a minute.
    ///
    /// Nobody reads more than 400 words a minute aloud: such a figure is a slip
    /// of the watch or of the count, or the reading was silent.
    ///
    /// ```
    /// use farpoint::vision::reading::WordsPerMinute;
    /// assert!(WordsPerMinute::new(160.0).is_ok());
    /// assert!(WordsPerMinute::new(640.0).is_err());
    /// ```
    WordsPerMinute: "speed of reading aloud", "words/min", 0.0..=400.0
}

/// Characters of a standard word, with the space behind it: by convention.
const CHARACTERS_A_WORD: f64 = 6.0;

/// The checked time of a reading: less than a second cannot be timed by hand.
fn timed(time: Seconds) -> Result<f64, OutOfRange> {
    within("reading time", "s", time.get(), 1.0..=86_400.0)
}

/// How fast was a text of so many characters read?
///
/// **Formula** 60 · (characters / 6) / t, that is 10 · characters / seconds.
/// **Source** the convention of the standard word, six characters with spaces
/// (seen). **Range** 1 to 100 000 characters, a second or more, up to 400 words
/// a minute aloud. The time is that of the reading alone, without instructions.
///
/// ```
/// use farpoint::vision::{reading::standard_length_speed, units::Seconds};
/// let speed = standard_length_speed(612, Seconds::new(95.0)?)?;
/// assert!((speed.get() - 64.4).abs() < 0.1);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range, or a speed that nobody reads aloud.
pub fn standard_length_speed(characters: u32, time: Seconds) -> Result<WordsPerMinute, OutOfRange> {
    let count = within("characters", "with spaces", f64::from(characters), 1.0..=100_000.0)?;
    WordsPerMinute::new(60.0 * count / CHARACTERS_A_WORD / timed(time)?)
}

/// How fast was a passage read, when words missed or misread do not count?
///
/// **Formula** 60 (n − errors)/t, n the standard words of the passage; with
/// more errors than words it was not read, and the speed is 0. **Source**
/// common practice. **Range** 1 to 10 000 words, up to 10 000 errors, a second
/// or more, up to 400 words a minute aloud. A sentence read before does not
/// count: the second time it is remembered.
///
/// ```
/// use farpoint::vision::{reading::passage_speed, units::Seconds};
/// let speed = passage_speed(10.0, 2, Seconds::new(6.5)?)?;
/// assert!((speed.get() - 73.8).abs() < 0.1);
/// assert_eq!(passage_speed(10.0, 12, Seconds::new(9.0)?)?.get(), 0.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range, or a speed that nobody reads aloud.
pub fn passage_speed(standard_words: f64, word_errors: u32, time: Seconds) -> Result<WordsPerMinute, OutOfRange> {
    let words = within("standard words", "", standard_words, 1.0..=10_000.0)?;
    let errors = within("word errors", "", f64::from(word_errors), 0.0..=10_000.0)?;
    let t = timed(time)?;
    if errors >= words {
        return WordsPerMinute::new(0.0);
    }
    WordsPerMinute::new(60.0 * (words - errors) / t)
}

/// How far down a page of shrinking sentences was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadDown {
    /// The smallest size of which anything was read, as the page names it.
    pub smallest: LogMar,
    /// The step from size to size, in log units.
    pub step: f64,
    /// The words of one size.
    pub words_a_size: u32,
    /// The words missed or misread, at this size and all larger ones.
    pub word_errors: u32,
    /// The distance for which the page names its sizes.
    pub named_for: Metres,
    /// The distance at which it was read.
    pub read_at: Metres,
}

/// What acuity is it, when a page of shrinking sentences was read down to here?
///
/// **Formula** smallest + step · errors / words + log10(d₀/d), d₀ the distance
/// the page is made for. **Source** letter scoring applied to words (derived);
/// the page's step and words are inputs, never constants. **Range** step 0.01
/// to 1 log unit, 1 to 200 words a size, errors up to 20 sizes' worth,
/// distances 1 cm to 10 m.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, reading::{ReadDown, reading_acuity}, units::Metres};
/// let page = ReadDown {
///     smallest: LogMar::new(0.8)?, step: 0.1, words_a_size: 10, word_errors: 3,
///     named_for: Metres::new(0.4)?, read_at: Metres::new(0.2)? };
/// assert!((reading_acuity(page)?.get() - 1.131).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn reading_acuity(page: ReadDown) -> Result<LogMar, OutOfRange> {
    let step = within("step from size to size", "log units", page.step, 0.01..=1.0)?;
    let words = within("words of one size", "", f64::from(page.words_a_size), 1.0..=200.0)?;
    let errors = within("word errors", "", f64::from(page.word_errors), 0.0..=20.0 * words)?;
    let named = within("distance the page is made for", "m", page.named_for.get(), 0.01..=10.0)?;
    let used = within("reading distance", "m", page.read_at.get(), 0.01..=10.0)?;
    page.smallest.worse_by(step * errors / words + (named / used).log10())
}

/// A figure of reading that is followed over time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Followed {
    /// The smallest print read, in logMAR.
    ReadingAcuity,
    /// The smallest print read at full speed, in logMAR.
    CriticalPrint,
    /// The logarithm of the greatest speed.
    LogMaximumSpeed,
}

/// How much must this figure differ before it is more than the noise of testing?
///
/// **Formula** a table in log units: reading acuity 0.142, critical print
/// 0.193, greatest speed 0.077 (19 %). **Source** 95 % limits of repeated tests
/// of schoolchildren (Virgili et al. 2004, abstract seen). **Range** children
/// reading continuous text; no smaller limits are known for low vision.
///
/// ```
/// use farpoint::vision::reading::{Followed, noise};
/// assert_eq!(noise(Followed::CriticalPrint), 0.193);
/// ```
pub const fn noise(figure: Followed) -> f64 {
    match figure {
        Followed::ReadingAcuity => 0.142,
        Followed::CriticalPrint => 0.193,
        Followed::LogMaximumSpeed => 0.077,
    }
}

/// Did the greatest speed change by more than testing it twice would?
///
/// **Formula** |log10(now/before)| above the [`noise`] of a speed, 0.077.
/// **Source** as there. **Range** both speeds above nothing.
///
/// ```
/// use farpoint::vision::reading::{WordsPerMinute, speed_changed};
/// let before = WordsPerMinute::new(80.0)?;
/// assert!(!speed_changed(before, WordsPerMinute::new(92.0)?)?);
/// assert!(speed_changed(before, WordsPerMinute::new(98.0)?)?);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A speed of nothing has no ratio.
pub fn speed_changed(before: WordsPerMinute, now: WordsPerMinute) -> Result<bool, OutOfRange> {
    let before = within("speed before", "words/min", before.get(), above_zero(400.0))?;
    let now = within("speed now", "words/min", now.get(), above_zero(400.0))?;
    Ok((now / before).log10().abs() > noise(Followed::LogMaximumSpeed))
}

/// The part of the greatest speed at which print counts as critical.
///
/// One published analysis used 0.9, others 0.8; whichever is used is printed.
pub const USUAL_CRITERION: Fraction = Fraction::literal(0.9);

/// The checked criterion: the part of the greatest *speed*, not of its logarithm.
fn criterion(part: Fraction) -> Result<f64, OutOfRange> {
    within("criterion of critical print", "of the greatest speed", part.get(), 0.5..=0.99)
}
