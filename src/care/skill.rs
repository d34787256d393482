//! Which skill comes before which, and when is one steady (G5)?
//!
//! Steady means the mastery rule: enough right with little help, in several
//! sessions, places and days, so that one good morning does not count. With five
//! items a session a student who is right 70 % of the time still meets it often
//! (`statistics.md`, B.4): it says "met the rule", never "has learned it".
//! Does not know rates or trends; those are in `vision::stats`.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::codes::codes;
use super::ids::SessionId;

codes! {
    /// What an exercise trains.
    pub enum Skill {
        Handling = "handling" : "handling",
        Focusing = "focusing" : "focusing",
        Spotting = "spotting" : "spotting",
        Scanning = "scanning" : "scanning",
        Tracing = "tracing" : "tracing",
        Tracking = "tracking" : "tracking",
        Copying = "copying" : "copying",
        Stamina = "stamina" : "stamina",
        Choosing = "choosing" : "choosing device, seat and light",
        RealSetting = "real_setting" : "a real setting",
    }

    /// How much help an exercise took, from most to none.
    pub enum Prompt {
        HandOverHand = "0" : "hand over hand",
        PartHelp = "1" : "part help",
        Shown = "2" : "shown",
        Told = "3" : "told what to do",
        Hint = "4" : "a hint or a question",
        None = "5" : "no prompt",
    }
}

impl Skill {
    /// The skills that have an order (G5).
    pub const ORDER: &[Self] =
        &[Self::Focusing, Self::Spotting, Self::Scanning, Self::Tracing, Self::Tracking, Self::RealSetting];

    /// The skills that should be steady before this one, in order.
    ///
    /// Handling, copying, stamina and choosing have no place in the order.
    pub fn earlier(self) -> impl Iterator<Item = Self> {
        let before = Self::ORDER.iter().position(|skill| *skill == self).unwrap_or(0);
        Self::ORDER.iter().copied().take(before)
    }
}

impl Prompt {
    /// The level as it is counted, 0 to 5; higher is more independent.
    #[must_use]
    pub const fn level(self) -> u8 {
        match self {
            Self::HandOverHand => 0,
            Self::PartHelp => 1,
            Self::Shown => 2,
            Self::Told => 3,
            Self::Hint => 4,
            Self::None => 5,
        }
    }
}

/// One exercise as the mastery rule needs it: what was right, with which help,
/// where and when. `P` is whatever tells two places apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exercise<P> {
    /// The session it was part of.
    pub session: SessionId,
    /// The day of the session.
    pub on: Date,
    /// Where it was done.
    pub place: P,
    /// The skill it trained.
    pub skill: Skill,
    /// The help it took.
    pub prompt: Prompt,
    /// Items tried.
    pub tried: u32,
    /// Items right, of those tried.
    pub right: u32,
}

/// When a skill counts as steady. A goal may carry other numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MasteryRule {
    /// The least share right in a session, in hundredths.
    pub percent: u32,
    /// The fewest items tried in a session.
    pub items: u32,
    /// The most help that still counts.
    pub prompt: Prompt,
    /// In how many sessions.
    pub sessions: usize,
    /// In how many places.
    pub places: usize,
    /// On how many dates.
    pub dates: usize,
}

impl Default for MasteryRule {
    /// 80 % right (4 of 5) with a hint at most, in 3 sessions, in 2 places, on 2
    /// dates. Source: `practice.md` 2.7, common practice.
    fn default() -> Self {
        Self { percent: 80, items: 5, prompt: Prompt::Hint, sessions: 3, places: 2, dates: 2 }
    }
}

impl MasteryRule {
    /// Whether these exercises make the skill steady.
    ///
    /// The items of one session in one place are counted together; those done
    /// with more help than the rule allows are left out.
    #[must_use]
    pub fn met<P: Ord + Copy>(&self, skill: Skill, exercises: &[Exercise<P>]) -> bool {
        let mut tally: BTreeMap<(SessionId, P, Date), (u64, u64)> = BTreeMap::new();
        for exercise in exercises {
            if exercise.skill == skill && exercise.prompt.level() >= self.prompt.level() {
                let (right, tried) = tally.entry((exercise.session, exercise.place, exercise.on)).or_default();
                *right += u64::from(exercise.right.min(exercise.tried));
                *tried += u64::from(exercise.tried);
            }
        }
        let good: Vec<_> = tally
            .into_iter()
            .filter(|(_, (right, tried))| {
                *tried >= u64::from(self.items.max(1)) && right * 100 >= tried * u64::from(self.percent)
            })
            .map(|(key, _)| key)
            .collect();
        let sessions: BTreeSet<_> = good.iter().map(|(session, ..)| session).collect();
        let places: BTreeSet<_> = good.iter().map(|(_, place, _)| place).collect();
        let dates: BTreeSet<_> = good.iter().map(|(.., on)| on).collect();
        sessions.len() >= self.sessions && places.len() >= self.places && dates.len() >= self.dates
    }

    /// The skills of the order that these exercises make steady.
    #[must_use]
    pub fn steady<P: Ord + Copy>(&self, exercises: &[Exercise<P>]) -> BTreeSet<Skill> {
        Skill::ORDER.iter().copied().filter(|skill| self.met(*skill, exercises)).collect()
    }
}
