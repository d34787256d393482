//! Which skill, at which size, from how far and with how many targets next?
//!
//! A proposal for the next session, with its reasons. The vision teacher takes it
//! over or does not; nothing here opens a gate, and the session is asked for all
//! of them when it is saved. Sizes aim at four of five right: easy enough to go
//! on, hard enough to learn by.
//!
//! Does not know whether training is allowed today, nor names of devices. Read
//! next: [`crate::vision::stats::everyday::next`].

use std::collections::BTreeSet;

use super::band::Size;
use super::finding::has_size;
use crate::care::evidence::{Assumed, assumed};
use crate::care::gates::Named;
use crate::care::ids::VisualTaskId;
use crate::care::sight::{AtHand, Sight};
use crate::care::skill::{Prompt, Skill};
use crate::care::task::{TargetClass, VisualTask};
use crate::care::track::Track;
use crate::care::training::{Comfort, NewExercise, Session};
use crate::vision::acuity::LogMar;
use crate::vision::demand::letter_height;
use crate::vision::length::shown::{self, Units, letter_rounded_up};
use crate::vision::stats::everyday::next::{AIM, NextSize, SoFar};
use crate::vision::stats::everyday::{Cell, Device, Guess, Observation, Prior, Saw, everyday, print_of};
use crate::vision::stats::observing::Tally;
use crate::vision::units::{Arcminutes, Metres, OutOfRange};

/// So many targets tell eight of ten from seven of ten in a few sessions; five
/// do not (`statistics.md`, B.4).
pub const TARGETS: u32 = 10;
/// So many for a student who was tired, the fewest that count as a session.
pub const FEW_TARGETS: u32 = 5;

/// From this height on letters are rounded as all advice on writing is; smaller
/// ones to millimetres, and print to tenths of one.
const BY_HAND_FROM: f64 = 0.02;
const PER_METRE: f64 = 1_000.0;
const PRINT_PER_METRE: f64 = 10_000.0;

/// What is known for a proposal.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// The track.
    pub track: Track,
    /// The sessions, newest first or in any order.
    pub sessions: &'a [Session],
    /// Skills that the rule calls steady.
    pub steady: &'a BTreeSet<Skill>,
    /// The device to be used, as the gates let it.
    pub device: Named,
    /// It and the others of its strength that were used: a bridge loan goes on
    /// where the own device left off.
    pub alike: &'a [Named],
    /// The same with its figures, where they may be read.
    pub at_hand: Option<&'a AtHand>,
    /// How the student sees, as far as it may be read.
    pub sight: &'a Sight,
    /// What is to be seen, on this track.
    pub tasks: &'a [VisualTask],
}

/// Why this skill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhySkill {
    /// The first of the order that is not steady yet.
    NextInOrder,
    /// It was practised last, though an earlier one is not steady.
    PractisedLast,
}

/// Why so many targets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyTargets {
    /// Fewer could not tell four of five from less.
    ToTell,
    /// The student was tired last time, wanted to stop or refused.
    Tired,
}

/// The size of a proposal, and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposed {
    /// The height of the small letters, as computed; [`prepared`] rounds it.
    pub height: Metres,
    /// From how far; none where print is held as the lens wants it.
    pub distance: Option<Metres>,
    /// Whether the distance was pushed out to where the device can be focused.
    pub pushed_out: bool,
    /// The size on the axis of sizes.
    pub next: NextSize,
    /// What was practised so far.
    pub so_far: SoFar,
    /// What was observed of this skill: size, right, tried and session number.
    pub observed: Vec<(LogMar, Tally, u64)>,
    /// What was assumed before.
    pub prior: Prior,
    /// Whether the assumption is from a figure of the clinic.
    pub from_clinic: bool,
    /// The guess rate of its targets.
    pub guess: Guess,
}

/// Why a proposal has no size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSize {
    /// The skill has none.
    OfTheSkill,
    /// Neither a figure of the clinic nor an exercise without help says where to begin.
    NothingKnown,
    /// No distance was ever noted, and no task has one.
    NoDistance,
    /// No size is expected to bring four of five right.
    NoneReaches,
    /// The numbers lie outside what the formula holds for.
    Beyond,
}

/// What to practise in the next session.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The skill.
    pub skill: Skill,
    /// Why this one.
    pub why: WhySkill,
    /// The device.
    pub device: Named,
    /// Its size, or why there is none.
    pub size: Result<Proposed, NoSize>,
    /// How many targets.
    pub targets: u32,
    /// Why so many.
    pub why_targets: WhyTargets,
    /// What it practised last time.
    pub task: Option<VisualTaskId>,
}

/// What comes next: the skill that is next in order, and the one practised last
/// where that is another.
#[must_use]
pub fn proposals(question: &Question<'_>) -> Vec<Proposal> {
    let in_order = Skill::ORDER.iter().copied().find(|skill| !question.steady.contains(skill));
    let newest = question.of_device().max_by_key(|session| (session.entered.held_on, session.entered_at));
    let last = newest.and_then(|session| session.entered.exercises.last()).map(|exercise| exercise.skill);
    let last = last.filter(|skill| Some(*skill) != in_order && !question.steady.contains(skill));
    let both = [(in_order, WhySkill::NextInOrder), (last, WhySkill::PractisedLast)];
    both.into_iter().filter_map(|(skill, why)| Some(question.proposal(skill?, why, newest))).collect()
}

impl Question<'_> {
    fn of_device(&self) -> impl Iterator<Item = &Session> {
        self.sessions
            .iter()
            .filter(|session| session.entered.track == self.track && self.alike.contains(&session.entered.device))
    }

    fn proposal(&self, skill: Skill, why: WhySkill, newest: Option<&Session>) -> Proposal {
        let tired = newest.is_some_and(|session| {
            session.entered.refused.is_some() || matches!(session.entered.comfort, Some(Comfort::Tired | Comfort::Stop))
        });
        let (targets, why_targets) =
            if tired { (FEW_TARGETS, WhyTargets::Tired) } else { (TARGETS, WhyTargets::ToTell) };
        let done = self.done(skill);
        let task = done.iter().rev().find_map(|(_, exercise)| exercise.task);
        let task = task.filter(|task| self.tasks.iter().any(|known| known.id == *task));
        let size = if has_size(skill) { self.size(&done, task) } else { Err(NoSize::OfTheSkill) };
        Proposal { skill, why, device: self.device, size, targets, why_targets, task }
    }

    /// The exercises of a skill with this device that were not refused, by day.
    fn done(&self, skill: Skill) -> Vec<(&Session, &NewExercise)> {
        let mut sessions: Vec<&Session> =
            self.of_device().filter(|session| session.entered.refused.is_none()).collect();
        sessions.sort_by_key(|session| (session.entered.held_on, session.entered_at));
        let exercises = sessions
            .into_iter()
            .flat_map(|session| session.entered.exercises.iter().map(move |exercise| (session, exercise)));
        exercises.filter(|(_, exercise)| exercise.skill == skill).collect()
    }

    fn size(&self, done: &[(&Session, &NewExercise)], task: Option<VisualTaskId>) -> Result<Proposed, NoSize> {
        let mut so_far = SoFar::default();
        let mut observed = Vec::new();
        for (number, (session, exercise)) in (0_u64..).zip(done) {
            let Some(size) = Size::of(self.track, exercise) else { continue };
            so_far.last = Some(size.demand);
            let counted = exercise.tries.zip(exercise.right).filter(|_| exercise.prompt == Prompt::None);
            let Some(tally) = counted.and_then(|(tried, right)| Tally::new(right, tried).ok()) else { continue };
            // Exercises of one session share its good or bad day.
            let of_session = done.iter().position(|(other, _)| other.id == session.id);
            let of_session = of_session.and_then(|at| u64::try_from(at).ok()).unwrap_or(number);
            observed.push((size.demand, tally, of_session));
            let passed = f64::from(tally.right()) >= AIM.get() * f64::from(tally.tried()) - 1e-9;
            if passed && so_far.smallest_passed.is_none_or(|smallest| size.demand < smallest) {
                so_far.smallest_passed = Some(size.demand);
            }
        }
        let known = self.at_hand.map(|device| assumed(self.track, Some(device), self.sight, None));
        // The power alone says where to begin for an eye that nobody knows.
        let known = known.filter(Assumed::from_the_clinic);
        if known.is_none() && observed.is_empty() {
            return Err(NoSize::NothingKnown);
        }
        let from_clinic = known.is_some();
        let prior = known.unwrap_or_else(Assumed::nothing).prior;
        let guess = self.guess(task);
        let next = next_size(&observed, prior, guess, so_far).map_err(|_| NoSize::Beyond)?;
        let next = next.ok_or(NoSize::NoneReaches)?;
        let beyond = |_: OutOfRange| NoSize::Beyond;
        let (height, distance, pushed_out) = match self.track {
            Track::Near => {
                let print = print_of(next.practical).and_then(|print| print.height()).map_err(beyond)?;
                (print.in_metres(), None, false)
            }
            Track::Distance => {
                let (distance, pushed_out) = self.distance(done, task).ok_or(NoSize::NoDistance)?;
                let detail = Arcminutes::new(next.practical.mar_arcminutes()).map_err(beyond)?;
                let tall = letter_height(detail, distance).map_err(beyond)?.height;
                (tall, Some(distance), pushed_out)
            }
        };
        Ok(Proposed { height, distance, pushed_out, next, so_far, observed, prior, from_clinic, guess })
    }

    /// From how far: as last time in this skill, else as the task is seen, else
    /// as last time in any; never nearer than the device can be focused.
    fn distance(&self, done: &[(&Session, &NewExercise)], task: Option<VisualTaskId>) -> Option<(Metres, bool)> {
        let noted = |exercise: &NewExercise| exercise.distance.as_ref().map(|typed| typed.value);
        let of_task = || {
            let task = self.tasks.iter().find(|known| Some(known.id) == task).or_else(|| self.tasks.first());
            task.and_then(|task| task.distance()).map(|typed| typed.value)
        };
        let of_any = || {
            let newest = self.of_device().max_by_key(|session| (session.entered.held_on, session.entered_at));
            newest.and_then(|session| session.entered.exercises.iter().find_map(noted))
        };
        let wanted = done.iter().rev().find_map(|(_, exercise)| noted(exercise)).or_else(of_task).or_else(of_any)?;
        let nearest = self.at_hand.and_then(|device| device.spec.near_focus).filter(|nearest| *nearest > wanted);
        Some((nearest.unwrap_or(wanted), nearest.is_some()))
    }

    /// How often a guess at the task's targets is right; of words, where nobody says.
    fn guess(&self, task: Option<VisualTaskId>) -> Guess {
        let Some(task) = self.tasks.iter().find(|known| Some(known.id) == task) else { return Guess::OPEN };
        match task.what.target {
            TargetClass::Letters => Guess::LETTERS,
            TargetClass::Digits => Guess::DIGITS,
            TargetClass::Choice => {
                let choices = task.what.choices.and_then(|choices| u32::try_from(choices).ok());
                choices.and_then(|choices| Guess::one_of(choices).ok()).unwrap_or(Guess::OPEN)
            }
            TargetClass::Words | TargetClass::Pictures => Guess::OPEN,
        }
    }
}

fn next_size(
    observed: &[(LogMar, Tally, u64)],
    prior: Prior,
    guess: Guess,
    so_far: SoFar,
) -> Result<Option<NextSize>, OutOfRange> {
    let seen = observed
        .iter()
        .map(|(size, tally, session)| Observation::new(*size, guess, *session, Saw::Tally(*tally)))
        .collect::<Result<Vec<_>, _>>()?;
    let Ok(posterior) = everyday(&[Device { prior, settings: vec![seen] }]) else { return Ok(None) };
    posterior.next_size(Cell { device: 0, setting: 0 }, guess, AIM, so_far)
}

/// A height that an adult can prepare, in words of the reader's units; never
/// smaller than computed.
#[must_use]
pub fn prepared(height: Metres, track: Track, units: Units) -> String {
    // A billionth of a step: what binary arithmetic loses must not cost one.
    let up = |steps: f64| Metres::new((height.get() * steps - 1e-9).ceil() / steps);
    let by_hand = track == Track::Distance && height.get() >= BY_HAND_FROM;
    let (rounded, units) = match track {
        Track::Distance if by_hand => (letter_rounded_up(height, units), units),
        Track::Distance => (up(PER_METRE), Units::Metric),
        Track::Near => (up(PRINT_PER_METRE), Units::Metric),
    };
    shown::letter_height(rounded.unwrap_or(height), units)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_prepared_height_is_never_smaller_than_computed() {
        let tall = |metres, track, units| prepared(Metres::literal(metres), track, units);
        assert_eq!(tall(0.0262, Track::Distance, Units::Metric), "3 cm");
        assert_eq!(tall(0.0262, Track::Distance, Units::Imperial), "1 1/4 in");
        assert_eq!(tall(0.0121, Track::Distance, Units::Imperial), "1.3 cm");
        assert_eq!(tall(0.00201, Track::Near, Units::Imperial), "2.1 mm");
        assert_eq!(tall(0.025, Track::Distance, Units::Metric), "2.5 cm");
    }
}
