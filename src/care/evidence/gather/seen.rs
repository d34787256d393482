//! What is the model told of one entry?
//!
//! Its size on the axis of the track, how often a guess is right, what was read
//! of it, and in which contrast it is judged. Does not know devices nor sessions.

use super::super::{Contrast, Entry, Left};
use crate::care::observation::{Graded, Outcome};
use crate::care::task::{ContrastClass, TargetClass};
use crate::care::track::Track;
use crate::vision::acuity::LogMar;
use crate::vision::acuity::near::MUnits;
use crate::vision::stats::everyday::{Guess, Observation, Saw, print_demand};
use crate::vision::stats::observing::{Tally, Word, field_demand};
use crate::vision::units::{Metres, Millimetres};

/// An entry that counts, and what the model is told of it.
pub(super) struct Kept<'a> {
    pub(super) entry: &'a Entry,
    pub(super) column: usize,
    pub(super) seen: Seen,
}

/// What the model is told of an entry.
#[derive(Clone, Copy)]
pub(super) struct Seen {
    pub(super) size: LogMar,
    pub(super) guess: Guess,
    pub(super) saw: Saw,
    pub(super) contrast: Contrast,
}

/// Where a print size, or letters at a distance, stand on the axis of a track.
fn size(track: Track, x_height: Millimetres, distance: Metres) -> Option<LogMar> {
    let found = match track {
        Track::Distance => field_demand(x_height.in_metres(), distance),
        Track::Near => MUnits::of_height(x_height).and_then(print_demand),
    };
    found.ok()
}

/// How often a guess is right; none where it depends on a number nobody gave.
pub(super) fn guess(target: Option<TargetClass>, choices: Option<i64>) -> Option<Guess> {
    match target {
        Some(TargetClass::Letters) => Some(Guess::LETTERS),
        Some(TargetClass::Digits) => Some(Guess::DIGITS),
        Some(TargetClass::Choice) => {
            choices.and_then(|choices| u32::try_from(choices).ok()).and_then(|m| Guess::one_of(m).ok())
        }
        // Nobody guesses a word or a face; what was not said is taken for words.
        Some(TargetClass::Words | TargetClass::Pictures) | None => Some(Guess::OPEN),
    }
}

/// Which contrast a target is judged in; what was not said is taken for high.
pub(super) const fn contrast(class: Option<ContrastClass>) -> Contrast {
    match class {
        Some(ContrastClass::Medium | ContrastClass::Low) => Contrast::Lower,
        Some(ContrastClass::High) | None => Contrast::High,
    }
}

/// What the model is told of an entry; otherwise why it stands in no figure.
pub(super) fn seen(track: Track, entry: &Entry) -> Result<Seen, Left> {
    let (tall, far) = entry.x_height.zip(entry.distance).ok_or(Left::NoSize)?;
    let size = size(track, tall, far).ok_or(Left::OffScale)?;
    let guess = guess(entry.target, entry.choices).ok_or(Left::NoChoices)?;
    let saw = match entry.outcome {
        Outcome::Counted { right, tried } => {
            let counts = u32::try_from(right).ok().zip(u32::try_from(tried).ok()).ok_or(Left::OffScale)?;
            Saw::Tally(Tally::new(counts.0, counts.1).map_err(|_| Left::OffScale)?)
        }
        Outcome::Graded(Graded::All) => Saw::Word(Word::All, None),
        Outcome::Graded(Graded::Most) => Saw::Word(Word::Most, None),
        Outcome::Graded(Graded::Some) => Saw::Word(Word::Some, None),
        Outcome::Graded(Graded::None) => Saw::Word(Word::None, None),
        Outcome::Graded(Graded::NotSure) => return Err(Left::NotSure),
        Outcome::Graded(Graded::DidNotTry) => return Err(Left::Refused),
    };
    // Off the scale of the model is off the scale of what can be right.
    Observation::new(size, guess, 0, saw).map_err(|_| Left::OffScale)?;
    Ok(Seen { size, guess, saw, contrast: contrast(entry.contrast) })
}
