//! May a length of an entry carry another unit than was meant: 5 mm where the
//! rest says 5 cm?
//!
//! Nothing is corrected here and nothing dropped: a doubt becomes a question to
//! whoever wrote the entry, and until it is answered the entry is in no figure.
//! A length that came from the task is not the writer's and is not asked about.
//! Does not know who may answer, nor where questions are kept. The size of a
//! slip against the whole model is another question: see
//! [`crate::vision::stats::everyday`].

use serde::{Deserialize, Serialize};

use super::{Graded, Length, NewObservation, Outcome};
use crate::care::codes::codes;
use crate::care::track::Track;
use crate::vision::demand::straight_on;
use crate::vision::length;
use crate::vision::units::{Metres, Millimetres};

codes! {
    /// Which length is asked about.
    pub enum Which {
        Distance = "distance" : "distance",
        XHeight = "x_height" : "height of the small letters",
    }

    /// What makes a length odd.
    pub enum Why {
        Rest = "rest" : "it differs from what else is known of this by as much as one unit from another",
        Kind = "kind" : "things of this kind are seldom so",
        Sight = "sight" : "writing so small from there is finer than full sight reads",
    }
}

/// One question to the writer of an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Question {
    /// Which length.
    pub which: Which,
    /// What was typed.
    pub typed: String,
    /// What else it may have been, the likeliest first; none, only whether it is so.
    pub others: Vec<String>,
    /// Why it is asked.
    pub why: Why,
    /// Whether it was answered.
    pub answered: bool,
}

impl Question {
    fn new(which: Which, typed: &str, why: Why, others: Vec<String>) -> Self {
        Self { which, typed: typed.to_owned(), others, why, answered: false }
    }

    /// The question: "5 mm or 5 cm?".
    #[must_use]
    pub fn words(&self) -> String {
        match self.others.as_slice() {
            [] => format!("{}, is that right?", self.typed),
            [only] => format!("{} or {only}?", self.typed),
            [first, rest @ ..] => format!("{}, {first} or {}?", self.typed, rest.join(" or ")),
        }
    }
}

/// What became of the questions about an entry.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Doubt {
    /// Every question that was asked, answered ones among them.
    pub questions: Vec<Question>,
}

impl Doubt {
    /// Those that wait for the writer.
    pub fn open(&self) -> impl Iterator<Item = &Question> {
        self.questions.iter().filter(|question| !question.answered)
    }

    /// Whether the writer has not answered: such an entry is in no figure.
    #[must_use]
    pub fn waits(&self) -> bool {
        self.open().next().is_some()
    }

    /// The questions that wait, in one line.
    #[must_use]
    pub fn words(&self) -> String {
        self.open().map(Question::words).collect::<Vec<_>>().join(" ")
    }

    /// The first question that waits.
    #[must_use]
    pub fn first(&self) -> Option<&Question> {
        self.open().next()
    }

    /// The same with one question answered.
    #[must_use]
    pub fn answering(&self, which: Which) -> Self {
        let mut doubt = self.clone();
        for question in &mut doubt.questions {
            question.answered |= question.which == which;
        }
        doubt
    }

    /// The doubts about an entry as it reads now: what was answered about the very
    /// same words is not asked again.
    #[must_use]
    pub fn renewed(&self, found: Vec<Question>) -> Self {
        let answered: Vec<Question> = self.questions.iter().filter(|known| known.answered).cloned().collect();
        let fresh =
            |asked: &Question| !answered.iter().any(|known| known.which == asked.which && known.typed == asked.typed);
        let fresh: Vec<Question> = found.into_iter().filter(fresh).collect();
        Self { questions: answered.into_iter().chain(fresh).collect() }
    }
}

/// The lengths of an entry, and what else the question needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Lengths {
    /// The track of what was looked at.
    pub track: Track,
    /// From how far.
    pub distance: Option<Length<Metres>>,
    /// How tall the small letters were.
    pub x_height: Option<Length<Millimetres>>,
    /// How much was right.
    pub outcome: Outcome,
}

impl Lengths {
    /// Those of an entry about something of this track.
    #[must_use]
    pub fn of(entry: &NewObservation, track: Track) -> Self {
        Self { track, distance: entry.distance.clone(), x_height: entry.x_height.clone(), outcome: entry.outcome }
    }

    /// A length with the words it was typed in, unless it came from the task.
    fn typed(&self, which: Which) -> Option<(&str, Metres)> {
        match which {
            Which::Distance => typed(self.distance.as_ref(), |far| far),
            Which::XHeight => typed(self.x_height.as_ref(), Millimetres::in_metres),
        }
    }

    fn value(&self, which: Which) -> Option<Metres> {
        match which {
            Which::Distance => self.distance.as_ref().map(|length| length.value),
            Which::XHeight => self.x_height.as_ref().map(|length| length.value.in_metres()),
        }
    }

    /// Whether more than half was right.
    fn went_well(&self) -> bool {
        match self.outcome {
            Outcome::Counted { right, tried } => right.saturating_mul(2) > tried,
            Outcome::Graded(graded) => matches!(graded, Graded::All | Graded::Most),
        }
    }
}

fn typed<T: Copy>(length: Option<&Length<T>>, metres: impl Fn(T) -> Metres) -> Option<(&str, Metres)> {
    let length = length.filter(|length| !length.from_task && !length.typed.is_empty())?;
    Some((&length.typed, metres(length.value)))
}

/// What else is known of the same thing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Known {
    /// Distances of the other entries that are in no doubt.
    pub distances: Vec<Metres>,
    /// Letter heights of the other entries that are in no doubt.
    pub x_heights: Vec<Metres>,
    /// The distance of the task itself.
    pub task_distance: Option<Metres>,
    /// The letter height of the task itself.
    pub task_x_height: Option<Metres>,
}

impl Known {
    /// Adds what another entry says.
    pub fn add(&mut self, entry: &Lengths) {
        // A length copied from the task says nothing that the task does not.
        self.distances.extend(entry.typed(Which::Distance).map(|(_, metres)| metres));
        self.x_heights.extend(entry.typed(Which::XHeight).map(|(_, metres)| metres));
    }

    /// What speaks for a length: each entry once, the task twice, because it was
    /// measured to be used again.
    fn votes(&self, which: Which) -> Vec<f64> {
        let (entries, task) = match which {
            Which::Distance => (&self.distances, self.task_distance),
            Which::XHeight => (&self.x_heights, self.task_x_height),
        };
        entries.iter().copied().chain(task).chain(task).map(Metres::get).collect()
    }
}

/// Fewer votes than these are no rest to differ from.
const FEWEST: usize = 2;

/// What a length of a track usually is, in metres. Common practice, wide on
/// purpose: from print on a label to a hall's projector, from a page at a strong
/// magnifier to a bus across the square.
fn usual(track: Track, which: Which) -> std::ops::RangeInclusive<f64> {
    match (track, which) {
        (Track::Distance, Which::XHeight) => 0.002..=1.0,
        (Track::Distance, Which::Distance) => 0.2..=60.0,
        (Track::Near, Which::XHeight) => 0.001..=0.06,
        (Track::Near, Which::Distance) => 0.02..=1.5,
    }
}

/// Writing that looks smaller than this, in logMAR, is read by nobody whose sight
/// is in question: 0.0 is full sight. Common practice.
const FULL_SIGHT: f64 = -0.1;

/// Which lengths of an entry should its writer be asked about?
///
/// A length is odd when (1) most of what else is known of the same thing fits it
/// in another unit and hardly anything as it stands; (2) it lies outside what
/// things of its track usually are; (3) more than half was read of writing finer
/// than full sight reads. Source: the project's notes on statistics, wrong
/// units; the bounds are common practice.
#[must_use]
pub fn questions(entry: &Lengths, known: &Known) -> Vec<Question> {
    let mut found: Vec<Question> =
        [Which::XHeight, Which::Distance].into_iter().filter_map(|which| asked(entry, known, which)).collect();
    if found.is_empty() {
        found.extend(too_fine(entry));
    }
    found
}

fn asked(entry: &Lengths, known: &Known, which: Which) -> Option<Question> {
    let (typed, metres) = entry.typed(which)?;
    let readings = readings(typed, metres);
    let votes = known.votes(which);
    let mut fitting: Vec<(usize, &Reading)> = readings
        .iter()
        .map(|reading| (votes.iter().filter(|vote| reading.fits(**vote)).count(), reading))
        .filter(|(count, _)| votes.len() >= FEWEST && 2 * count > votes.len())
        .collect();
    fitting.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
    if let Some((_, best)) = fitting.first() {
        let as_it_stands = votes.iter().filter(|vote| best.stays(**vote)).count();
        if 4 * as_it_stands <= votes.len() {
            return Some(Question::new(which, typed, Why::Rest, vec![best.typed.clone()]));
        }
    }
    let usual = usual(entry.track, which);
    let agreed = votes.iter().any(|vote| (vote / metres.get()).ln().abs() <= NEAR.ln());
    if usual.contains(&metres.get()) || agreed {
        return None;
    }
    let mut within: Vec<&Reading> = readings.iter().filter(|reading| usual.contains(&reading.metres.get())).collect();
    let middle = (usual.start() * usual.end()).sqrt();
    within.sort_by(|a, b| a.away(middle).total_cmp(&b.away(middle)));
    let others = within.into_iter().take(MOST_READINGS).map(|reading| reading.typed.clone()).collect();
    Some(Question::new(which, typed, Why::Kind, others))
}

/// Within this factor two lengths are alike: a task is written a little larger on
/// one day than on another. Common practice.
const NEAR: f64 = 1.6;

/// More ways to read a number than these are no question any more.
const MOST_READINGS: usize = 2;

/// (3): both lengths are likely, and together they cannot be read.
fn too_fine(entry: &Lengths) -> Option<Question> {
    let (tall, far) = (entry.value(Which::XHeight)?, entry.value(Which::Distance)?);
    let demand = |tall, far| straight_on(tall, far).map_or(f64::NEG_INFINITY, |demand| demand.get());
    if demand(tall, far) >= FULL_SIGHT || !entry.went_well() {
        return None;
    }
    [Which::XHeight, Which::Distance].into_iter().find_map(|which| {
        let (typed, metres) = entry.typed(which)?;
        let usual = usual(entry.track, which);
        let others: Vec<String> = readings(typed, metres)
            .into_iter()
            .filter(|reading| usual.contains(&reading.metres.get()))
            .filter(|reading| {
                FULL_SIGHT
                    <= match which {
                        Which::XHeight => demand(reading.metres, far),
                        Which::Distance => demand(tall, reading.metres),
                    }
            })
            .take(MOST_READINGS)
            .map(|reading| reading.typed)
            .collect();
        Some(Question::new(which, typed, Why::Sight, others))
    })
}

/// The number as typed with another unit.
struct Reading {
    typed: String,
    metres: Metres,
    /// The length as it stands.
    stands: f64,
}

impl Reading {
    /// By which factor the unit changes the length.
    fn factor(&self) -> f64 {
        (self.metres.get() / self.stands).ln().abs()
    }

    /// Whether a vote is this length: nearer than a fifth of the way between the
    /// two units, so that a seat three times nearer is no slip of metres for feet
    /// unless the number is nearly the same.
    fn fits(&self, vote: f64) -> bool {
        self.away(vote) <= self.factor() / 5.0
    }

    /// Whether a vote is nearer to the length as it stands.
    fn stays(&self, vote: f64) -> bool {
        (vote / self.stands).ln().abs() <= self.factor() / 2.0
    }

    fn away(&self, from: f64) -> f64 {
        (self.metres.get() / from).ln().abs()
    }
}

const UNITS: [&str; 5] = ["mm", "cm", "m", "in", "ft"];

/// What the number that was typed is in the other units; nothing for a length of
/// two parts, whose units speak for each other.
fn readings(typed: &str, stands: Metres) -> Vec<Reading> {
    let unit = |c: char| {
        c.is_alphabetic() || matches!(c, '\'' | '"' | '\u{2019}' | '\u{2032}' | '\u{201d}' | '\u{2033}' | '.')
    };
    let number = typed.trim().trim_end_matches(unit).trim_end();
    if number.is_empty() || number.chars().any(unit_letter) {
        return Vec::new();
    }
    UNITS
        .iter()
        .filter_map(|unit| {
            let typed = format!("{number} {unit}");
            let metres = length::parse(&typed).ok()?;
            let reading = Reading { typed, metres, stands: stands.get() };
            (reading.factor() > 1e-9).then_some(reading)
        })
        .collect()
}

fn unit_letter(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '\'' | '"' | '\u{2019}' | '\u{2032}' | '\u{201d}' | '\u{2033}')
}
