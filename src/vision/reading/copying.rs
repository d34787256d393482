//! How fast is writing copied from the board, and what does looking up cost?
//!
//! A child's own speed from a page on the desk is the control: handwriting,
//! spelling and fatigue are in both, so that the ratio of the two tells of
//! the board. Norms by school year tell of handwriting and are not used.
//!
//! Does not know whether a device was in use; that belongs to the record.
//! Read next: [`crate::vision::skill`] for what else is timed.

use crate::vision::units::{Fraction, OutOfRange, Ratio, Seconds, above_zero, quantity, within};

quantity! {
    /// A speed of copying, in characters a minute.
    CharactersPerMinute: "speed of copying", "characters/min", 0.0..=1_000.0
}

/// What was copied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Copied {
    /// Characters written, right or wrong.
    pub characters: u32,
    /// Characters wrong or left out.
    pub errors: u32,
    /// How long it took, looking up included.
    pub time: Seconds,
}

/// How copying went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CopyRate {
    /// Characters a minute, right or wrong.
    pub all: CharactersPerMinute,
    /// Right characters a minute.
    pub correct: CharactersPerMinute,
    /// Errors, of all characters.
    pub error_rate: Fraction,
}

/// How fast and how correctly was it copied?
///
/// **Formula** 60 characters/t, 60 (characters − errors)/t, errors/characters.
/// **Source** definitions (derived). **Range** 1 to 100 000 characters, no more
/// errors than characters, a second to a day.
///
/// ```
/// use farpoint::vision::{reading::copying::{Copied, copy_rate}, units::Seconds};
/// let board = copy_rate(Copied { characters: 120, errors: 4, time: Seconds::new(600.0)? })?;
/// assert!((board.correct.get() - 11.6).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn copy_rate(copied: Copied) -> Result<CopyRate, OutOfRange> {
    let all = within("characters copied", "", f64::from(copied.characters), 1.0..=100_000.0)?;
    let wrong = within("character errors", "", f64::from(copied.errors), 0.0..=all)?;
    let t = within("copying time", "s", copied.time.get(), 1.0..=86_400.0)?;
    Ok(CopyRate {
        all: CharactersPerMinute::new(60.0 * all / t)?,
        correct: CharactersPerMinute::new(60.0 * (all - wrong) / t)?,
        error_rate: Fraction::new(wrong / all)?,
    })
}

/// Which part of the desk speed is left at the board?
///
/// **Formula** board / desk, both in characters a minute of one kind. **Source**
/// derived; the child's own desk speed as control is common practice. **Range**
/// both above nothing. Above 1 the board was the easier page.
///
/// ```
/// use farpoint::vision::reading::copying::{CharactersPerMinute, board_to_desk};
/// let left = board_to_desk(CharactersPerMinute::new(12.0)?, CharactersPerMinute::new(40.0)?)?;
/// assert!((left.get() - 0.3).abs() < 1e-12);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A speed of nothing.
pub fn board_to_desk(board: CharactersPerMinute, desk: CharactersPerMinute) -> Result<Ratio, OutOfRange> {
    let board = within("board speed", "characters/min", board.get(), above_zero(1_000.0))?;
    let desk = within("desk speed", "characters/min", desk.get(), above_zero(1_000.0))?;
    Ratio::new(board / desk)
}

/// How many characters does one look at the board carry?
///
/// **Formula** characters / glances. **Source** definition (derived). **Range**
/// 1 to 100 000 characters, 1 to 100 000 glances.
///
/// ```
/// use farpoint::vision::reading::copying::characters_per_glance;
/// assert_eq!(characters_per_glance(120, 48)?, 2.5);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Nothing copied, or no glance counted.
pub fn characters_per_glance(characters: u32, glances: u32) -> Result<f64, OutOfRange> {
    let all = within("characters copied", "", f64::from(characters), 1.0..=100_000.0)?;
    Ok(all / within("glances", "", f64::from(glances), 1.0..=100_000.0)?)
}
