//! While training: does the skill come in its order (G5), and is nothing paused
//! for safety (G9)?
//!
//! Does not know when a skill is steady; that is [`crate::care::skill`].

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;

use super::{Blocked, Gate, Ready, Reason};
use crate::care::flag::{Clearing, Note, PAUSED, Pause};
use crate::care::journey::step::Act;
use crate::care::skill::Skill;

/// What kind of lesson an exercise is part of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lesson {
    /// Teaching with a device.
    WithDevice,
    /// A baseline probe without teaching, once readiness is signed.
    Baseline(Ready),
    /// Eyes and glasses only.
    WithoutDevice,
}

/// G5: the skill may be practised now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SkillInOrder {
    skill: Skill,
    order: InOrder,
}

/// Why a skill may be practised now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum InOrder {
    /// Every earlier skill is steady.
    EarlierSteady,
    /// This kind of lesson, or this skill, has no order.
    NoOrder,
    /// The teacher wrote why an earlier skill is skipped.
    Reason {
        /// The earliest skill that is not steady.
        before: Skill,
        /// The reason, kept with the exercise.
        reason: Reason,
    },
}

impl SkillInOrder {
    /// The skill.
    #[must_use]
    pub const fn skill(&self) -> Skill {
        self.skill
    }

    /// Why it may be practised now.
    #[must_use]
    pub const fn order(&self) -> &InOrder {
        &self.order
    }
}

/// G5: may this skill be practised, given the skills that are steady?
///
/// # Errors
/// An earlier skill is not steady and no reason is written.
pub fn skill_in_order(
    skill: Skill,
    lesson: Lesson,
    steady: &BTreeSet<Skill>,
    reason: Option<&str>,
) -> Result<SkillInOrder, Blocked> {
    let order = match (lesson, skill.earlier().find(|earlier| !steady.contains(earlier))) {
        (Lesson::Baseline(_) | Lesson::WithoutDevice, _) => InOrder::NoOrder,
        (Lesson::WithDevice, None) if Skill::ORDER.contains(&skill) => InOrder::EarlierSteady,
        (Lesson::WithDevice, None) => InOrder::NoOrder,
        (Lesson::WithDevice, Some(before)) => match Reason::given(reason) {
            Some(reason) => InOrder::Reason { before, reason },
            None => {
                return Err(Blocked::at(
                    Gate::OrderOfSkills,
                    Act::PractiseEarlier,
                    format!(
                        "{} comes before {} and is not steady yet. Practise it first, or write \
                         why you go on.",
                        before.words(),
                        skill.words()
                    ),
                ));
            }
        },
    };
    Ok(SkillInOrder { skill, order })
}

/// G9: no red flag paused training at that time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotPaused {
    day: Date,
}

impl NotPaused {
    /// The day it holds for.
    #[must_use]
    pub const fn day(self) -> Date {
        self.day
    }
}

/// G9: may a device be trained with on that day?
///
/// The pause is the student's, for every track. `started` is when the session
/// began, if known: the session in which a flag came up began before it.
///
/// # Errors
/// A flag was raised and not cleared by then.
pub fn not_paused(pauses: &[Pause], day: Date, started: Option<Timestamp>) -> Result<NotPaused, Blocked> {
    let paused = pauses.iter().any(|pause| {
        let before = pause.raised_on == day && started.is_some_and(|started| started < pause.raised_at);
        pause.raised_on <= day && !before && pause.cleared_on.is_none_or(|cleared| day < cleared)
    });
    if paused {
        return Err(Blocked::at(Gate::SafetyPause, Act::ClearFlag, PAUSED));
    }
    Ok(NotPaused { day })
}

/// G9: a flag may be cleared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MayClear {
    clearing: Clearing,
}

impl MayClear {
    /// Who clears it, and on what ground.
    #[must_use]
    pub const fn clearing(self) -> Clearing {
        self.clearing
    }
}

/// G9: may a flag be cleared in this way?
///
/// # Errors
/// A steward without an eye doctor's written note.
pub fn may_clear(clearing: Clearing) -> Result<MayClear, Blocked> {
    match clearing {
        Clearing::ByClinician | Clearing::BySteward(Note::Attached) => Ok(MayClear { clearing }),
        Clearing::BySteward(Note::Missing) => {
            Err(Blocked::at(Gate::SafetyPause, Act::AttachNote, "Attach the eye doctor's written note first."))
        }
    }
}
