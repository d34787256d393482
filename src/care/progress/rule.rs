//! Is the rule of the order of skills met, how often is that chance, and does
//! the help fade?
//!
//! The rule is [`MasteryRule`], the trade's: four of five with a hint at most,
//! in three sessions, two places, on two dates. It stays the one that opens the
//! next skill (G5), because all it opens is a form without a question for the
//! reason: nobody is certified by it. But a student who is right seven times of
//! ten meets it by and by, so wherever it is told, its own error stands beside
//! it, for the number of sessions and items that this student had; and beside
//! that how sure the stricter reckoning is, of sessions without help alone.
//! `DEVELOPERS.md` tells why.

use std::collections::BTreeMap;

use super::{Mark, Practised};
use crate::care::gates::Named;
use crate::care::skill::{self, MasteryRule, Prompt, Skill};
use crate::care::track::Track;
use crate::care::training::{Place, Session};
use crate::vision::stats::mastery::{Rule, chances};
use crate::vision::stats::observing::Overdispersion;
use crate::vision::units::Fraction;

/// The student whom the rule should not pass: right seven times of ten.
pub const BELOW: Fraction = Fraction::literal(0.7);

/// How alike the items of a session are. Common practice, as in
/// [`crate::vision::stats::mastery`].
pub const ALIKE: f64 = 0.05;

/// So many sessions at each end say whether help fades; apart, so twice as many
/// are needed. As in a summary.
pub const AT_EACH_END: usize = 3;

/// Whether the rule is met, and its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steady {
    /// Whether it is met.
    pub met: bool,
    /// Sessions that are long enough and took a hint at most.
    pub sessions: u32,
    /// The rule for sessions of so many items as the middle one of these.
    pub rule: Rule,
    /// How often a student of [`BELOW`] meets it in so many such sessions, at
    /// the most: that it takes two places and two dates makes it less.
    pub by_chance: f64,
}

impl Steady {
    /// Whether there are sessions enough for the rule to be met at all.
    #[must_use]
    pub fn could_be_met(&self) -> bool {
        self.sessions as usize >= MasteryRule::default().sessions
    }
}

/// The rule for a skill on a track, as the gate asks it: with any device, at any
/// size. None where no session is long enough.
#[must_use]
pub fn steady(track: Track, skill: Skill, sessions: &[Session]) -> Option<Steady> {
    let rule = MasteryRule::default();
    let of_track =
        sessions.iter().filter(|session| session.entered.track == track && session.entered.device != Named::NoDevice);
    let exercises: Vec<skill::Exercise<Place>> = of_track
        .flat_map(|session| session.entered.exercises.iter().map(move |exercise| (session, exercise)))
        .filter_map(|(session, exercise)| {
            Some(skill::Exercise {
                session: session.id,
                on: session.entered.held_on,
                place: session.entered.place,
                skill: exercise.skill,
                prompt: exercise.prompt,
                tried: exercise.tries?,
                right: exercise.right?,
            })
        })
        .collect();
    let mut items: BTreeMap<_, u32> = BTreeMap::new();
    for one in exercises.iter().filter(|one| one.skill == skill && one.prompt.level() >= rule.prompt.level()) {
        let all = items.entry(one.session).or_default();
        *all = all.saturating_add(one.tried);
    }
    let mut items: Vec<u32> = items.into_values().filter(|items| *items >= rule.items).collect();
    items.sort_unstable();
    let middle = *items.get(items.len().saturating_sub(1) / 2)?;
    let sessions = u32::try_from(items.len()).ok()?;
    let of_items = Rule {
        items: middle,
        criterion: Fraction::new(f64::from(rule.percent) / 100.0).ok()?,
        running: u32::try_from(rule.sessions).ok()?,
        days: 1,
    };
    let alike = Overdispersion::new(ALIKE).ok()?;
    Some(Steady {
        met: rule.met(skill, &exercises),
        sessions,
        rule: of_items,
        by_chance: chances(of_items, BELOW, Some(alike), sessions).ok()?.in_any_order,
    })
}

/// How the help a skill takes has changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fading {
    /// The middle of the first sessions with teaching.
    pub first: Prompt,
    /// The middle of the last ones.
    pub last: Prompt,
    /// How many sessions with teaching there are.
    pub sessions: usize,
    /// How many of the last ones in a row took no help.
    pub alone_running: usize,
}

/// How help fades; none before there is a session with teaching.
#[must_use]
pub fn fading(practised: &Practised) -> Option<Fading> {
    let mut sessions: BTreeMap<_, Prompt> = BTreeMap::new();
    for mark in practised.marks.iter().filter(|mark| !mark.probe) {
        let most = sessions.entry((mark.on, mark.session)).or_insert(mark.prompt);
        if mark.prompt.level() < most.level() {
            *most = mark.prompt;
        }
    }
    let levels: Vec<Prompt> = sessions.into_values().collect();
    let ends = AT_EACH_END.min(levels.len());
    Some(Fading {
        first: middle(&levels[..ends])?,
        last: middle(&levels[levels.len() - ends..])?,
        sessions: levels.len(),
        alone_running: levels.iter().rev().take_while(|level| **level == Prompt::None).count(),
    })
}

impl Fading {
    /// Whether both ends are apart, so that they may be compared.
    #[must_use]
    pub const fn is_apart(&self) -> bool {
        self.sessions >= 2 * AT_EACH_END
    }
}

/// The middle level; between two, the one with more help, so that nothing looks
/// more independent than it was.
fn middle(levels: &[Prompt]) -> Option<Prompt> {
    let mut sorted = levels.to_vec();
    sorted.sort_by_key(|level| level.level());
    sorted.get(sorted.len().saturating_sub(1) / 2).copied()
}

/// Whether a mark is one that took help.
#[must_use]
pub const fn took_help(mark: &Mark) -> bool {
    !matches!(mark.prompt, Prompt::None)
}
