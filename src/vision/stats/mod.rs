//! What do many small observations say together, and how surely?
//!
//! | question | module |
//! |---|---|
//! | How likely is a tally or a word, if the threshold were known? | [`observing`] |
//! | What can the student see in everyday life, by device and setting? | [`everyday`] |
//! | How many right ones a minute? | [`rate`] |
//! | Do values rise or fall with the days, and how fast? | [`trend`], [`growth`] |
//! | How much better than the baseline? | [`overlap`] |
//! | Is a skill mastered, or was it chance? | [`mastery`] |
//! | How long until it is spotted, when some searches fail? | [`spotting`] |
//! | Which of two is better at one task, by their counts? | [`better`] |
//!
//! No figure comes without its count, and none without an interval where one
//! can be had. "Not enough yet" is an answer, and it says what would be enough
//! ([`Enough`]). Intervals are those of [`Level`], 90 in 100 unless asked
//! otherwise. On the logMAR axis higher is *worse*.
//!
//! Does not know student, device or calendar: days are plain numbers.

use thiserror::Error;

use super::skill::Level;
use super::units::OutOfRange;

pub mod better;
pub mod everyday;
pub mod growth;
pub mod mastery;
pub mod observing;
pub mod overlap;
pub mod rate;
mod special;
pub mod spotting;
pub mod trend;

/// Why a question about many values has no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum Refused {
    /// A number outside what the question can take.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Fewer values than the arithmetic needs.
    #[error("{what} must be at least {needed}, not {given}")]
    TooFew {
        /// Of what there are too few.
        what: &'static str,
        /// How many the arithmetic needs.
        needed: usize,
        /// How many there are.
        given: usize,
    },
    /// More values than the arithmetic can take.
    #[error("{what} must be at most {most}, not {given}")]
    TooMany {
        /// Of what there are too many.
        what: &'static str,
        /// How many can be taken.
        most: usize,
        /// How many there are.
        given: usize,
    },
    /// All values alike where a difference is needed.
    #[error("{what} must not all be alike")]
    AllAlike {
        /// What is alike.
        what: &'static str,
    },
}

/// Lets a list through that is neither too short nor too long.
pub(super) const fn counted(what: &'static str, given: usize, needed: usize, most: usize) -> Result<(), Refused> {
    if given < needed {
        return Err(Refused::TooFew { what, needed, given });
    }
    if given > most {
        return Err(Refused::TooMany { what, most, given });
    }
    Ok(())
}

/// The ends between which the true value lies, as surely as the level says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The true value is hardly lower.
    pub low: f64,
    /// The true value is hardly higher.
    pub high: f64,
    /// How sure the interval is.
    pub level: Level,
}

impl Interval {
    /// How far apart are the ends?
    ///
    /// **Formula** high − low. **Source** definition. **Range** any.
    ///
    /// ```
    /// use farpoint::vision::{skill::Level, stats::Interval};
    /// assert_eq!(Interval { low: 1.0, high: 3.0, level: Level::Ninety }.width(), 2.0);
    /// ```
    pub fn width(self) -> f64 {
        self.high - self.low
    }

    /// Does a value lie between the ends?
    ///
    /// **Formula** low ≤ x ≤ high. **Source** definition. **Range** any.
    ///
    /// ```
    /// use farpoint::vision::{skill::Level, stats::Interval};
    /// assert!(Interval { low: 1.0, high: 3.0, level: Level::Ninety }.holds(1.0));
    /// ```
    pub fn holds(self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// The interval about the same estimate, each half longer by a factor.
    pub(super) fn widened(self, estimate: f64, factor: f64) -> Self {
        Self {
            low: estimate - (estimate - self.low) * factor,
            high: estimate + (self.high - estimate) * factor,
            level: self.level,
        }
    }
}

/// Whether a figure rests on enough to be told, and what would be enough.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Enough {
    /// The rule for telling it is met.
    Yes,
    /// It is not met; each lacking thing with how many more.
    NotYet(Vec<Lacking>),
}

/// Something there is too little of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lacking {
    /// What is lacking, in words.
    pub what: &'static str,
    /// How many the rule asks for.
    pub needed: usize,
    /// How many there are.
    pub given: usize,
}

impl Enough {
    /// Judges a list of what is needed.
    pub(super) fn of(rule: &[(&'static str, usize, usize)]) -> Self {
        let lacking: Vec<Lacking> = rule
            .iter()
            .filter(|(_, needed, given)| given < needed)
            .map(|&(what, needed, given)| Lacking { what, needed, given })
            .collect();
        if lacking.is_empty() { Self::Yes } else { Self::NotYet(lacking) }
    }

    /// Whether the rule is met.
    pub const fn is_met(&self) -> bool {
        matches!(self, Self::Yes)
    }
}
