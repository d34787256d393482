//! How does training go, skill by skill, and how sure is that?
//!
//! Sessions of one skill with one device are put in order and into bands of
//! size, because an easier target looks like progress. What was done without
//! help makes the figures; what took help, what was led by hand, what the
//! student refused and what was entered in error is counted apart and never
//! enters one.
//!
//! | question | module |
//! |---|---|
//! | Which sizes are alike enough to be one series? | [`band`] |
//! | What was measured in a session, and which way is better? | [`measure`] |
//! | Where was it, where is it, and is that progress? | [`finding`] |
//! | Is the rule of the order met, and how often is that chance? | [`rule`] |
//! | What comes next? | [`next`] |
//!
//! Does not know who asks, nor names of devices; the arithmetic is
//! [`crate::vision::stats`].

pub mod band;
pub mod finding;
pub mod measure;
pub mod next;
pub mod rule;

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::gates::Named;
use super::ids::SessionId;
use super::skill::{Prompt, Skill};
use super::track::Track;
use super::training::{NewExercise, Place, Session};
use crate::vision::skill::median_time;
use crate::vision::units::Seconds;
use band::{Bands, Size};

/// A session in which half or more was not found has no typical time: it took
/// longer than any that was taken. The form takes five minutes at the most.
pub const NOT_REACHED: Seconds = Seconds::literal(3_600.0);

/// How much help a mark stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Help {
    /// None: the only marks that figures are made of.
    Alone,
    /// Some, from a touch to a hint.
    Helped,
    /// Hand over hand.
    Led,
}

impl Help {
    const fn of(prompt: Prompt) -> Self {
        match prompt {
            Prompt::None => Self::Alone,
            Prompt::HandOverHand => Self::Led,
            Prompt::PartHelp | Prompt::Shown | Prompt::Told | Prompt::Hint => Self::Helped,
        }
    }
}

/// Before training of this skill with this device began, or since.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// A baseline probe before the first session with teaching.
    Before,
    /// A session with teaching, or a probe after one.
    During,
}

/// The typical time of a mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Time {
    /// Nobody took it.
    NotTaken,
    /// Half or more was not found, so it is longer than any that was taken.
    NotReached,
    /// The median of the exercises' medians, with the fastest and the slowest.
    Typical {
        /// The median.
        median: Seconds,
        /// The fastest exercise.
        least: Seconds,
        /// The slowest one.
        most: Seconds,
    },
}

/// Something counted in a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// How many.
    pub count: u32,
    /// In what time.
    pub time: Seconds,
}

/// What one session says of a skill at one size, with one measure of help.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The session.
    pub session: SessionId,
    /// Its day.
    pub on: Date,
    /// Where it was.
    pub place: Place,
    /// Before training began, or since.
    pub phase: Phase,
    /// Whether it was a probe without teaching.
    pub probe: bool,
    /// How much help it took.
    pub help: Help,
    /// The most help that one of its exercises took.
    pub prompt: Prompt,
    /// The size of its targets.
    pub size: Option<Size>,
    /// The place of its band in [`Practised::bands`].
    pub band: usize,
    /// Right ones.
    pub right: u32,
    /// Of so many tried; none, nothing was counted.
    pub tried: u32,
    /// How long one try took.
    pub time: Time,
    /// How often a moving target was lost, in the time it was shown.
    pub losses: Option<Counted>,
    /// Right ones in the time of all tries.
    pub right_in: Option<Counted>,
}

/// Exercises that are counted, and make no figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Apart {
    /// Done with help.
    pub helped: u32,
    /// Done hand over hand.
    pub led: u32,
    /// Of sessions in which the student refused.
    pub refused: u32,
    /// Of sessions entered in error.
    pub in_error: u32,
}

/// Everything there is of one skill with one device.
#[derive(Debug, Clone, PartialEq)]
pub struct Practised {
    /// The track.
    pub track: Track,
    /// The skill.
    pub skill: Skill,
    /// The device.
    pub device: Named,
    /// The size each band began with, in the order of their first day; none,
    /// the size was not noted.
    pub bands: Vec<Option<Size>>,
    /// The marks by day.
    pub marks: Vec<Mark>,
    /// What counts apart.
    pub apart: Apart,
}

impl Practised {
    /// The marks of a band that figures are made of.
    pub fn alone(&self, band: usize, phase: Phase) -> impl Iterator<Item = &Mark> {
        self.marks.iter().filter(move |mark| mark.band == band && mark.phase == phase && mark.help == Help::Alone)
    }

    /// The band that the finding is about: the one with most sessions without
    /// help since training began, and of several such the one used last.
    #[must_use]
    pub fn main_band(&self) -> usize {
        let weight = |band: &usize| {
            let last = self.marks.iter().rposition(|mark| mark.band == *band);
            (self.alone(*band, Phase::During).count(), last)
        };
        (0..self.bands.len()).max_by_key(weight).unwrap_or(0)
    }
}

/// Every skill that was practised, with each device, in the order of skills.
///
/// Sessions entered in error arrive apart: they are counted and say nothing.
/// `same` gives two loans of one pool device the same key.
#[must_use]
pub fn practised(
    track: Track,
    (sessions, in_error): (&[Session], &[Session]),
    same: impl Fn(Named) -> String,
) -> Vec<Practised> {
    let mut sorted: Vec<&Session> = sessions.iter().filter(|session| session.entered.track == track).collect();
    sorted.sort_by_key(|session| (session.entered.held_on, session.entered_at, session.id));
    let mut all: BTreeMap<(Skill, String), Gathered> = BTreeMap::new();
    let began = |skill: Skill, device: Named| {
        let teaches = |session: &&&Session| {
            let entered = &session.entered;
            !entered.baseline
                && same(entered.device) == same(device)
                && entered.exercises.iter().any(|one| one.skill == skill)
        };
        sorted.iter().find(teaches).map(|session| session.entered.held_on)
    };
    for session in &sorted {
        let entered = &session.entered;
        for exercise in &entered.exercises {
            let key = (exercise.skill, same(entered.device));
            let gathered = all.entry(key).or_insert_with(|| Gathered::new(track, exercise.skill, entered.device));
            if entered.refused.is_some() {
                gathered.practised.apart.refused += 1;
                continue;
            }
            // A probe on the first day of teaching comes before it.
            let before =
                entered.baseline && began(exercise.skill, entered.device).is_none_or(|day| entered.held_on <= day);
            gathered.takes(session, exercise, if before { Phase::Before } else { Phase::During });
        }
    }
    for session in in_error.iter().filter(|session| session.entered.track == track) {
        for exercise in &session.entered.exercises {
            let key = (exercise.skill, same(session.entered.device));
            if let Some(gathered) = all.get_mut(&key) {
                gathered.practised.apart.in_error += 1;
            }
        }
    }
    all.into_values().map(Gathered::done).collect()
}

/// Exercises on their way to marks.
struct Gathered {
    practised: Practised,
    bands: Bands,
    /// What belongs to each mark, by its place.
    exercises: Vec<Vec<NewExercise>>,
}

impl Gathered {
    const fn new(track: Track, skill: Skill, device: Named) -> Self {
        let practised = Practised {
            track,
            skill,
            device,
            bands: Vec::new(),
            marks: Vec::new(),
            apart: Apart { helped: 0, led: 0, refused: 0, in_error: 0 },
        };
        Self { practised, bands: Bands::new(), exercises: Vec::new() }
    }

    fn takes(&mut self, session: &Session, exercise: &NewExercise, phase: Phase) {
        let help = Help::of(exercise.prompt);
        match help {
            Help::Alone => {}
            Help::Helped => self.practised.apart.helped += 1,
            Help::Led => self.practised.apart.led += 1,
        }
        let size = Size::of(self.practised.track, exercise);
        let band = self.bands.place(size.as_ref());
        // Sessions arrive one after the other, so only the last marks are this one's.
        let marks = &self.practised.marks;
        let from = marks.iter().rposition(|mark| mark.session != session.id).map_or(0, |last| last + 1);
        let same = |mark: &Mark| mark.help == help && mark.band == band;
        if let Some(at) = marks[from..].iter().position(same).map(|place| from + place) {
            let mark = &mut self.practised.marks[at];
            mark.prompt = if exercise.prompt.level() < mark.prompt.level() { exercise.prompt } else { mark.prompt };
            self.exercises[at].push(exercise.clone());
            return;
        }
        self.practised.marks.push(Mark {
            session: session.id,
            on: session.entered.held_on,
            place: session.entered.place,
            phase,
            probe: session.entered.baseline,
            help,
            prompt: exercise.prompt,
            size,
            band,
            right: 0,
            tried: 0,
            time: Time::NotTaken,
            losses: None,
            right_in: None,
        });
        self.exercises.push(vec![exercise.clone()]);
    }

    fn done(mut self) -> Practised {
        for (mark, exercises) in self.practised.marks.iter_mut().zip(&self.exercises) {
            for exercise in exercises {
                if let (Some(tried), Some(right)) = (exercise.tries, exercise.right) {
                    mark.tried = mark.tried.saturating_add(tried);
                    mark.right = mark.right.saturating_add(right.min(tried));
                }
            }
            mark.time = time_of(exercises);
            mark.losses = in_time(exercises, |exercise| exercise.losses);
            mark.right_in = in_time(exercises, |exercise| exercise.right);
        }
        self.practised.bands = self.bands.into_sizes();
        self.practised
    }
}

/// The typical time of some exercises; those of which half or more was not
/// found count as longer than all others.
fn time_of(exercises: &[NewExercise]) -> Time {
    let times: Vec<Seconds> = exercises
        .iter()
        .filter_map(|exercise| {
            // Nothing takes no time: a 0 was not taken.
            let median = exercise.median.filter(|median| median.get() > 0.0)?;
            let failed = exercise.tries.zip(exercise.right).is_some_and(|(tried, right)| right * 2 <= tried);
            Some(if failed { NOT_REACHED } else { median })
        })
        .collect();
    typical(&times)
}

/// The median of times, some of which were not reached.
pub(super) fn typical(times: &[Seconds]) -> Time {
    let mut sorted = times.to_vec();
    sorted.sort_unstable();
    let ends = sorted.first().copied().zip(sorted.last().copied());
    match (ends, median_time(times, NOT_REACHED).ok().map(|found| found.median)) {
        (Some((least, most)), Some(Some(median))) => Time::Typical { median, least, most },
        (Some(_), Some(None)) => Time::NotReached,
        _ => Time::NotTaken,
    }
}

/// What was counted of some exercises, in the time of all of them; nothing
/// where one of them has the count without its time.
fn in_time(exercises: &[NewExercise], count: impl Fn(&NewExercise) -> Option<u32>) -> Option<Counted> {
    let (mut counted, mut seconds) = (None, 0.0);
    for exercise in exercises {
        let Some(count) = count(exercise) else { continue };
        seconds += exercise.shown.map(Seconds::get).filter(|time| *time > 0.0)?;
        counted = Some(counted.unwrap_or(0_u32).saturating_add(count));
    }
    Some(Counted { count: counted?, time: Seconds::new(seconds).ok()? })
}
