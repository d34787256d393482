//! What can the student see in everyday life, by device and setting?
//!
//! All observations of one student are taken together: how gradually success
//! rises with size, lapses, and how alike the items of a tally are belong to
//! the student and are shared; settings of one device lean on one another as
//! far as they agree; devices stand alone, each on its own assumption.
//!
//! | question | module |
//! |---|---|
//! | What was observed, what is assumed before? | [`Observation`], [`Prior`] |
//! | Which threshold, and is there enough to tell it? | [`threshold`] |
//! | Which size is needed, how probable is success at a task? | [`task`] |
//! | How much does a device give, which is better? | [`gain`] |
//! | Do settings disagree? | [`settings`] |
//! | May an entry be mistyped? | [`suspect`] |
//! | Which size next? | [`next`] |
//!
//! **Formula** a tally of n is beta-binomial around g + (1−g−l) Φ((x−t)/s), one
//! in fifty a slip; the mean of a cell's days t ~ N(θ, 0.08²/S), S the
//! effective sessions; θ ~ N(μ, τ²) around the device's μ, μ from its prior; ln
//! s ~ N(ln 0.10, 0.5²), l ~ Beta(1, 19), √ρ ~ Beta(2, 6), τ half-normal 0.10.
//! Integrated on fixed nodes by message passing, what lapses decide also between
//! them; no chance enters. **Source**
//! the psychometric function with beta-binomial tallies as in psignifit
//! (Schütt et al. 2016); slope of letter acuity, pubmed 28211180 (seen); the
//! shift from clinic to field and 0.08 were set by simulation.
//!
//! Does not know names: devices and cells are places in lists.

use std::collections::{BTreeMap, BTreeSet};

use super::observing::{ITEMS_OF_A_WORD, Tally, Word, effective_sessions, items_of_word};
use super::{Refused, counted};
use crate::vision::acuity::LogMar;
use crate::vision::units::{Fraction, OutOfRange, within};

mod evidence;
pub mod gain;
mod grid;
mod lapses;
pub mod next;
mod posterior;
mod prior;
pub mod settings;
mod shelf;
pub mod suspect;
mod table;
pub mod task;
pub mod threshold;

use evidence::Evidence;
pub use posterior::Posterior;
pub use prior::{Prior, print_demand, print_of};

/// More devices, settings of one, or observations than this are a mistake.
const MOST_DEVICES: usize = 24;
const MOST_CELLS: usize = 24;
const MOST_OBSERVATIONS: usize = 1_000_000;

/// The share right by guessing, by kind of target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guess(f64);

impl Guess {
    /// Words and faces nobody could guess.
    pub const OPEN: Self = Self(0.0);
    /// Letters: one of 26, rounded.
    pub const LETTERS: Self = Self(0.04);
    /// Digits.
    pub const DIGITS: Self = Self(0.10);

    /// A share right by guessing.
    ///
    /// # Errors
    /// Outside 0 to 0.5.
    pub fn new(share: f64) -> Result<Self, OutOfRange> {
        within("guess rate", "", share, 0.0..=0.5).map(Self)
    }

    /// How often does guessing hit, with so many choices?
    ///
    /// **Formula** 1/m. **Source** definition. **Range** 2 to 100 choices.
    ///
    /// ```
    /// use farpoint::vision::stats::everyday::Guess;
    /// assert_eq!(Guess::one_of(4)?.get(), 0.25);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Fewer than two choices, or more than a hundred.
    pub fn one_of(choices: u32) -> Result<Self, OutOfRange> {
        Ok(Self(1.0 / within("choices", "", f64::from(choices), 2.0..=100.0)?))
    }

    /// The share.
    pub const fn get(self) -> f64 {
        self.0
    }
}

/// What was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Saw {
    /// So many right of so many.
    Tally(Tally),
    /// A word, about so many items if they were counted.
    Word(Word, Option<u32>),
}

impl Saw {
    /// How many items does it count as?
    ///
    /// **Formula** those tried; five for a word without a count. **Source** common
    /// practice. **Range** any.
    ///
    /// ```
    /// use farpoint::vision::stats::{everyday::Saw, observing::Word};
    /// assert_eq!(Saw::Word(Word::Most, None).items(), 5);
    /// ```
    pub fn items(self) -> u32 {
        match self {
            Self::Tally(tally) => tally.tried(),
            Self::Word(_, items) => items.unwrap_or(ITEMS_OF_A_WORD),
        }
    }

    /// The share right, roughly: for telling passes from failures only.
    fn roughly(self) -> f64 {
        match self {
            Self::Tally(tally) => f64::from(tally.right()) / f64::from(tally.tried()),
            Self::Word(Word::None, _) => 0.0,
            Self::Word(Word::Some, _) => 0.3,
            Self::Word(Word::Most, _) => 0.7,
            Self::Word(Word::All, _) => 1.0,
        }
    }

    /// The same, written one way only.
    fn plain(self) -> Self {
        match self {
            Self::Tally(_) => self,
            Self::Word(word, items) => Self::Word(word, Some(items_of_word(items))),
        }
    }
}

/// One observation in the field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    size: LogMar,
    guess: Guess,
    session: u64,
    saw: Saw,
    weight: f64,
}

impl Observation {
    /// What was seen at a target of this size, in this session.
    ///
    /// The size is the demand in object space, also with a device. A session is
    /// one day, setting and observer, numbered in any way. A word about items
    /// takes 1 to 200 of them.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::stats::everyday::{Guess, Observation, Saw};
    /// use farpoint::vision::stats::observing::Tally;
    /// let seen = Observation::new(LogMar::new(0.9)?, Guess::LETTERS, 1, Saw::Tally(Tally::new(6, 10)?))?;
    /// assert_eq!(seen.size().get(), 0.9);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A size off the scale from −0.6 to 2.4, or a word about too many items.
    pub fn new(size: LogMar, guess: Guess, session: u64, saw: Saw) -> Result<Self, OutOfRange> {
        within("size of the target", "logMAR", size.get(), grid::LOWEST..=grid::HIGHEST)?;
        if let Saw::Word(_, Some(items)) = saw {
            within("items", "", f64::from(items), 1.0..=200.0)?;
        }
        Ok(Self { size, guess, session, saw, weight: 1.0 })
    }

    /// What if it counts less: an old one, or one of two tallies of one session?
    ///
    /// **Formula** the weight multiplies its log-likelihood and its items.
    /// **Source** common practice: 0.5 for each of two adults who tally one
    /// session. **Range** more than 0, up to 1.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::stats::everyday::{Guess, Observation, Saw};
    /// use farpoint::vision::stats::observing::Word;
    /// let seen = Observation::new(LogMar::new(0.9)?, Guess::LETTERS, 1, Saw::Word(Word::Most, None))?;
    /// assert!(seen.weighing(0.5).is_ok() && seen.weighing(0.0).is_err());
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A weight that is nothing, or more than 1.
    pub fn weighing(self, weight: f64) -> Result<Self, OutOfRange> {
        let weight = within("weight", "", weight, (std::ops::Bound::Excluded(0.0), std::ops::Bound::Included(1.0)))?;
        Ok(Self { weight, ..self })
    }

    /// The size of the target.
    pub const fn size(&self) -> LogMar {
        self.size
    }

    /// What was seen.
    pub const fn saw(&self) -> Saw {
        self.saw
    }

    /// What guessing gives.
    pub const fn guess(&self) -> Guess {
        self.guess
    }

    /// The number of its session.
    pub const fn session(&self) -> u64 {
        self.session
    }

    /// How much it counts, up to 1.
    pub const fn weight(&self) -> f64 {
        self.weight
    }
}

/// A device, or none, with what was seen in each setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Device {
    /// What is assumed of its threshold.
    pub prior: Prior,
    /// The observations of each setting; a list may be empty.
    pub settings: Vec<Vec<Observation>>,
}

/// A device in one setting: its place in the list, and the setting's place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cell {
    /// The place of the device.
    pub device: usize,
    /// The place of the setting.
    pub setting: usize,
}

/// How much lies behind a threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Behind {
    /// Entries.
    pub observations: usize,
    /// Sessions: day, setting and observer.
    pub sessions: usize,
    /// Items tried; a word without a count as five.
    pub items: usize,
}

fn behind(observations: &[Observation]) -> Behind {
    Behind {
        observations: observations.len(),
        sessions: observations.iter().map(|seen| seen.session).collect::<BTreeSet<_>>().len(),
        items: observations.iter().map(|seen| seen.saw.items() as usize).sum(),
    }
}

/// The effective sessions of a cell; an empty one counts as one.
fn sessions(observations: &[Observation]) -> Result<f64, OutOfRange> {
    let mut items = BTreeMap::new();
    for seen in observations {
        *items.entry(seen.session).or_insert(0.0) += f64::from(seen.saw.items()) * seen.weight;
    }
    effective_sessions(&items.into_values().collect::<Vec<f64>>())
}

/// What do all observations of one student say together?
///
/// **Formula** as at the head of this module. **Source** as there. **Range** 1 to 24
/// devices of 1 to 24 settings, up to a million observations; an empty setting
/// is told from the others and from the assumption.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Observation, Prior, Saw, everyday};
/// use farpoint::vision::stats::observing::Tally;
/// let seen = |size, session, right| {
///     Observation::new(LogMar::new(size)?, Guess::LETTERS, session, Saw::Tally(Tally::new(right, 10)?))
/// };
/// let bare = Device {
///     prior: Prior::new(LogMar::new(0.95)?, 0.2)?,
///     settings: vec![vec![seen(1.1, 1, 9)?, seen(0.9, 1, 6)?, seen(0.7, 2, 1)?]],
/// };
/// let found = everyday(&[bare])?.threshold(Cell { device: 0, setting: 0 })?;
/// assert!((found.mean - 0.882).abs() < 0.01 && found.behind.items == 30);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// No devices or settings, or too many of anything.
pub fn everyday(devices: &[Device]) -> Result<Posterior, Refused> {
    Ok(Posterior::of(Evidence::of(devices)?))
}

fn checked(devices: &[Device]) -> Result<(), Refused> {
    counted("devices", devices.len(), 1, MOST_DEVICES)?;
    let mut observations = 0;
    for device in devices {
        counted("settings of a device", device.settings.len(), 1, MOST_CELLS)?;
        observations += device.settings.iter().map(Vec::len).sum::<usize>();
    }
    counted("observations", observations, 0, MOST_OBSERVATIONS)
}

/// A share that a page may ask for: more than guessing, less than certain.
fn wanted(share: Fraction) -> Result<f64, OutOfRange> {
    within("wanted success", "", share.get(), 0.01..=0.99)
}
