//! What was measured in a session, and which way is better?
//!
//! One measure a skill, chosen by what was written down in every session without
//! help, never by what looks best: a time where each session has one, else the
//! share found. Does not know trends; read [`super::finding`].

use super::{Mark, Time};
use crate::care::skill::Skill;
use crate::vision::skill::{Level, success_rate};
use crate::vision::stats::overlap::Better;
use crate::vision::stats::rate::per_minute;

/// What a mark stands at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Seconds of one try.
    Seconds,
    /// Right ones a minute.
    RightAMinute,
    /// Times a moving target was lost, a minute.
    LossesAMinute,
    /// The share of targets found, or of tries that were right.
    Share,
}

/// A value with the ends of its bar: the fastest and the slowest exercise of a
/// time, the 90 % interval of a share or a rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// The value.
    pub at: f64,
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Measure {
    /// What is measured first in a skill.
    const fn of_skill(skill: Skill) -> Self {
        match skill {
            Skill::Focusing | Skill::Spotting => Self::Seconds,
            Skill::Tracking => Self::LossesAMinute,
            Skill::Scanning | Skill::Tracing | Skill::Copying => Self::RightAMinute,
            Skill::Handling | Skill::Stamina | Skill::Choosing | Skill::RealSetting => Self::Share,
        }
    }

    /// The measure of these marks: the skill's own where every one of them has
    /// it, else the share.
    ///
    /// A session without a typical time, because half or more was not found,
    /// has none; leaving it out would make the rest look faster.
    pub(super) fn chosen<'a>(skill: Skill, marks: impl Iterator<Item = &'a Mark> + Clone) -> Self {
        let first = Self::of_skill(skill);
        let mut any = marks.clone().peekable();
        if any.peek().is_some() && marks.clone().all(|mark| first.of(mark).is_some()) { first } else { Self::Share }
    }

    /// Which way is better.
    #[must_use]
    pub const fn better(self) -> Better {
        match self {
            Self::Seconds | Self::LossesAMinute => Better::Lower,
            Self::RightAMinute | Self::Share => Better::Higher,
        }
    }

    /// What a mark stands at, where it says so.
    #[must_use]
    pub fn of(self, mark: &Mark) -> Option<Value> {
        match self {
            Self::Seconds => match mark.time {
                Time::Typical { median, least, most } => {
                    Some(Value { at: median.get(), low: least.get(), high: most.get() })
                }
                Time::NotTaken | Time::NotReached => None,
            },
            Self::RightAMinute | Self::LossesAMinute => {
                let counted = if self == Self::RightAMinute { mark.right_in } else { mark.losses };
                let found = counted.and_then(|one| per_minute(one.count, one.time, Level::Ninety).ok())?;
                Some(Value { at: found.rate, low: found.interval.low, high: found.interval.high })
            }
            Self::Share => {
                let found = success_rate(mark.right, mark.tried, Level::Ninety).ok()?;
                Some(Value { at: found.rate.get(), low: found.low.get(), high: found.high.get() })
            }
        }
    }
}
