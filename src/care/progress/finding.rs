//! Where was it, where is it, and is that progress?
//!
//! One finding for a skill with a device, made of the sessions without help in
//! its main band. Each figure is there with its count and its interval, or with
//! what would be enough to tell it. Baseline probes are compared only with
//! sessions of the same band.
//!
//! Does not know words; those are made where the reader is known.

use jiff::civil::Date;

use super::measure::Measure;
use super::{Mark, NOT_REACHED, Phase, Practised, Time, typical};
use crate::care::skill::Skill;
use crate::vision::skill::{Level, SuccessRate, success_rate};
use crate::vision::stats::growth::{
    Direction, Growth, RateOnDay, direction, enough_for_a_slope, weekly_growth, widened_slopes,
};
use crate::vision::stats::mastery::{Mastery, Practice, Rule, mastery};
use crate::vision::stats::overlap::{Better, Overlap, all_pairs};
use crate::vision::stats::rate::{PerMinute, per_minute};
use crate::vision::stats::trend::{Line, Point, by_day, theil_sen};
use crate::vision::stats::{Enough, Interval, Lacking};
use crate::vision::units::Seconds;

/// So many sessions say where it is now.
pub const LATEST: usize = 3;

/// Why a figure is not told.
#[derive(Debug, Clone, PartialEq)]
pub enum NotYet {
    /// There is too little, and this is lacking.
    Lacks(Vec<Lacking>),
    /// The size of the targets was not noted, so nothing says that they were alike.
    NoSize,
    /// No baseline probe was held.
    NoProbe,
    /// The baseline probes were of another size.
    ProbeOfAnotherSize,
    /// Every session was the same, so nothing can be said of a change.
    Alike,
    /// Nothing was counted or timed without help.
    Nothing,
    /// The numbers lie outside what the formula holds for.
    Beyond,
}

/// A figure, or why it is not told.
pub type Told<T> = Result<T, NotYet>;

/// A trend of sessions: the straight line that most of them agree with.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// The line; its slope is that of a week, its 0 the first session.
    pub line: Line,
    /// The slopes that fit, with what sessions that follow one another have in common.
    pub widened: Interval,
    /// The days it rests on, in weeks from the first, with their values.
    pub points: Vec<Point>,
}

/// Where the student stood in some sessions.
#[derive(Debug, Clone, PartialEq)]
pub struct Stand {
    /// How many sessions.
    pub sessions: usize,
    /// The first and the last day.
    pub days: (Date, Date),
    /// Right of tried, all together; none, nothing was counted.
    pub share: Option<SuccessRate>,
    /// Right ones of all that were tried.
    pub right: u32,
    /// How long a try took: the median of the sessions.
    pub time: Time,
    /// The times that the median is of, those not reached as such.
    pub times: Vec<Seconds>,
    /// How many a minute, for a measure that is a rate.
    pub a_minute: Option<PerMinute>,
}

/// Baseline probes against the sessions since.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// The overlap.
    pub overlap: Overlap,
    /// The values of the probes.
    pub before: Vec<f64>,
    /// The values since.
    pub during: Vec<f64>,
    /// Which way is better.
    pub better: Better,
}

/// What all of it says.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// It gets better, surely.
    Improving,
    /// It gets faster and less accurate, which is no improvement.
    FasterLessAccurate,
    /// It gets worse, surely.
    Worsening,
    /// No change was seen, which is not "no change".
    NoChangeSeen,
    /// Nothing can be said yet.
    NotYet(NotYet),
}

/// The finding for one skill with one device.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The band it is about.
    pub band: usize,
    /// What was measured.
    pub measure: Measure,
    /// Where it was: the baseline probes, else the first session without help.
    pub was: Option<Stand>,
    /// Whether that was before training began.
    pub was_before: bool,
    /// Where it is: the last sessions without help.
    pub is: Option<Stand>,
    /// Sessions without help since training began, with something counted or timed.
    pub sessions: usize,
    /// The trend of the measure, a week.
    pub trend: Told<Trend>,
    /// The trend of the share right, beside a time or a rate.
    pub accuracy: Told<Trend>,
    /// The factor of a week, of a time or a rate; a time grows as its pace.
    pub growth: Told<(Growth, Vec<RateOnDay>, Vec<f64>)>,
    /// Against the baseline probes.
    pub compared: Told<Compared>,
    /// How sure it is that four of five are right, and whether ten of ten rules are met.
    pub mastery: Told<(Mastery, Vec<Practice>)>,
    /// What it says.
    pub verdict: Verdict,
}

/// Whether a skill is practised at a size at all.
pub(super) const fn has_size(skill: Skill) -> bool {
    !matches!(skill, Skill::Handling | Skill::Stamina | Skill::Choosing)
}

/// What is found of a skill with a device.
#[must_use]
pub fn finding(practised: &Practised) -> Finding {
    let band = practised.main_band();
    let during: Vec<&Mark> = practised.alone(band, Phase::During).filter(says_something).collect();
    let before: Vec<&Mark> = practised.alone(band, Phase::Before).filter(says_something).collect();
    let measure = Measure::chosen(practised.skill, during.iter().copied());
    let sizeless = has_size(practised.skill) && practised.bands.get(band).is_some_and(Option::is_none);
    let trend = if sizeless { Err(NotYet::NoSize) } else { trend(&during, measure) };
    let accuracy = if sizeless { Err(NotYet::NoSize) } else { trend_of_share(&during, measure) };
    let growth = if sizeless { Err(NotYet::NoSize) } else { growth(&during, measure) };
    let (was, since) = match (before.is_empty(), during.split_first()) {
        (false, _) => (stand(&before, measure), &during[..]),
        (true, Some((first, rest))) => (stand(std::slice::from_ref(first), measure), rest),
        (true, None) => (None, &during[..]),
    };
    let verdict = verdict(measure, &trend, &accuracy, &growth);
    Finding {
        band,
        measure,
        was,
        was_before: !before.is_empty(),
        is: stand(&since[since.len().saturating_sub(LATEST)..], measure),
        sessions: during.len(),
        compared: if sizeless { Err(NotYet::NoSize) } else { compared(practised, (&before, &during), measure) },
        mastery: mastered(&during),
        trend,
        accuracy,
        growth,
        verdict,
    }
}

fn says_something(mark: &&Mark) -> bool {
    mark.tried > 0 || mark.time != Time::NotTaken || mark.losses.is_some()
}

fn stand(marks: &[&Mark], measure: Measure) -> Option<Stand> {
    let days = (marks.first()?.on, marks.last()?.on);
    let sum = |of: &dyn Fn(&Mark) -> u32| marks.iter().map(|mark| of(mark)).fold(0_u32, u32::saturating_add);
    let (right, tried) = (sum(&|mark| mark.right), sum(&|mark| mark.tried));
    let times: Vec<Seconds> = marks
        .iter()
        .filter_map(|mark| match mark.time {
            Time::Typical { median, .. } => Some(median),
            Time::NotReached => Some(NOT_REACHED),
            Time::NotTaken => None,
        })
        .collect();
    let counted = |mark: &&&Mark| if measure == Measure::LossesAMinute { mark.losses } else { mark.right_in };
    let rates: Vec<_> = marks.iter().filter_map(|mark| counted(&mark)).collect();
    let in_all = Seconds::new(rates.iter().map(|one| one.time.get()).sum()).ok();
    let count = rates.iter().fold(0_u32, |sum, one| sum.saturating_add(one.count));
    let is_rate = matches!(measure, Measure::RightAMinute | Measure::LossesAMinute);
    Some(Stand {
        sessions: marks.len(),
        days,
        share: success_rate(right, tried, Level::Ninety).ok(),
        right,
        time: typical(&times),
        times,
        a_minute: in_all.filter(|_| is_rate).and_then(|time| per_minute(count, time, Level::Ninety).ok()),
    })
}

/// The days of marks from the first of them.
fn days(marks: &[&Mark]) -> Vec<f64> {
    let from = marks.first().map(|mark| mark.on);
    marks.iter().map(|mark| f64::from(from.map_or(0, |first| days_between(first, mark.on)))).collect()
}

fn days_between(first: Date, day: Date) -> i32 {
    day.since(first).map_or(0, |span| span.get_days())
}

fn lacking(enough: &Enough) -> Told<()> {
    match enough {
        Enough::Yes => Ok(()),
        Enough::NotYet(lacking) => Err(NotYet::Lacks(lacking.clone())),
    }
}

/// The trend of a measure; sessions of one day count as one.
fn trend(marks: &[&Mark], measure: Measure) -> Told<Trend> {
    let values = days(marks).into_iter().zip(marks).filter_map(|(day, mark)| Some((day, measure.of(mark)?.at)));
    let points: Vec<Point> = values.filter_map(|(day, value)| Point::new(day / 7.0, value).ok()).collect();
    if points.is_empty() {
        return Err(NotYet::Nothing);
    }
    let points = by_day(&points);
    lacking(&enough_for_a_slope(&points.iter().map(|point| point.at() * 7.0).collect::<Vec<f64>>()))?;
    if points.windows(2).all(|pair| pair[0].value().total_cmp(&pair[1].value()).is_eq()) {
        // An interval of no width would claim a certainty that nothing gave.
        return Err(NotYet::Alike);
    }
    let line = theil_sen(&points, Level::Ninety).map_err(|_| NotYet::Beyond)?;
    let widened = widened_slopes(&points, &line).map_err(|_| NotYet::Beyond)?;
    Ok(Trend { line, widened, points })
}

/// The share right beside a measure that is another one.
fn trend_of_share(marks: &[&Mark], measure: Measure) -> Told<Trend> {
    if measure == Measure::Share { Err(NotYet::Nothing) } else { trend(marks, Measure::Share) }
}

/// The factor of a week, day by day.
fn growth(marks: &[&Mark], measure: Measure) -> Told<(Growth, Vec<RateOnDay>, Vec<f64>)> {
    let of_mark = |day: f64, mark: &Mark| match measure {
        Measure::Share => None,
        // So many tries a minute at the typical pace.
        Measure::Seconds => RateOnDay::new(day, 60.0 / measure.of(mark)?.at).ok(),
        Measure::RightAMinute => mark.right_in.and_then(|one| RateOnDay::counted(day, one.count, one.time).ok()),
        Measure::LossesAMinute => mark.losses.and_then(|one| RateOnDay::counted(day, one.count, one.time).ok()),
    };
    let on = days(marks);
    let rates: Vec<(f64, RateOnDay)> =
        on.iter().zip(marks).filter_map(|(day, mark)| Some((*day, of_mark(*day, mark)?))).collect();
    if rates.is_empty() {
        return Err(NotYet::Nothing);
    }
    let (on, rates): (Vec<f64>, Vec<RateOnDay>) = rates.into_iter().unzip();
    let mut different = on.clone();
    different.dedup();
    lacking(&enough_for_a_slope(&different))?;
    if rates.windows(2).all(|pair| pair[0].per_minute().total_cmp(&pair[1].per_minute()).is_eq()) {
        return Err(NotYet::Alike);
    }
    let growth = weekly_growth(&rates, Level::Ninety).map_err(|_| NotYet::Beyond)?;
    Ok((growth, rates, on))
}

/// Baseline probes against the sessions since, of one band.
fn compared(practised: &Practised, (before, during): (&[&Mark], &[&Mark]), measure: Measure) -> Told<Compared> {
    if before.is_empty() {
        let elsewhere = practised.marks.iter().any(|mark| mark.phase == Phase::Before);
        return Err(if elsewhere { NotYet::ProbeOfAnotherSize } else { NotYet::NoProbe });
    }
    // Only the order counts here, so what was not reached is longer than all.
    let value = |mark: &&Mark| match (measure, mark.time) {
        (Measure::Seconds, Time::NotReached) => Some(NOT_REACHED.get()),
        _ => measure.of(mark).map(|value| value.at),
    };
    let of = |marks: &[&Mark]| marks.iter().filter_map(value).collect::<Vec<f64>>();
    let (before, during) = (of(before), of(during));
    if before.is_empty() || during.is_empty() {
        return Err(NotYet::Nothing);
    }
    let better = measure.better();
    let overlap = all_pairs(&before, &during, better, Level::Ninety).map_err(|_| NotYet::Beyond)?;
    lacking(&overlap.enough)?;
    Ok(Compared { overlap, before, during, better })
}

fn mastered(marks: &[&Mark]) -> Told<(Mastery, Vec<Practice>)> {
    let counted = marks.iter().filter(|mark| mark.tried > 0);
    let first = marks.first().map(|mark| mark.on);
    let practices: Vec<Practice> = counted
        .map(|mark| Practice {
            day: first.map_or(0, |first| days_between(first, mark.on)),
            right: mark.right,
            tried: mark.tried,
        })
        .collect();
    if practices.is_empty() {
        return Err(NotYet::Nothing);
    }
    let found = mastery(&practices, Rule::USUAL).map_err(|_| NotYet::Beyond)?;
    lacking(&found.enough)?;
    Ok((found, practices))
}

fn verdict(
    measure: Measure,
    trend: &Told<Trend>,
    accuracy: &Told<Trend>,
    growth: &Told<(Growth, Vec<RateOnDay>, Vec<f64>)>,
) -> Verdict {
    let surely = |ends: Interval, nothing: f64, better: Better| {
        let (up, down) = (ends.low > nothing, ends.high < nothing);
        match (up, down, better) {
            (true, _, Better::Higher) | (_, true, Better::Lower) => Verdict::Improving,
            (true, _, Better::Lower) | (_, true, Better::Higher) => Verdict::Worsening,
            _ => Verdict::NoChangeSeen,
        }
    };
    if measure == Measure::Share {
        return match trend {
            Ok(trend) => surely(trend.widened, 0.0, Better::Higher),
            Err(why) => Verdict::NotYet(why.clone()),
        };
    }
    match (growth, accuracy) {
        (Ok((growth, ..)), _) if measure == Measure::LossesAMinute => surely(growth.widened, 1.0, Better::Lower),
        (Ok((growth, ..)), Ok(accuracy)) => match direction(growth, &accuracy.line) {
            Direction::Improving => Verdict::Improving,
            Direction::FasterLessAccurate => Verdict::FasterLessAccurate,
            Direction::Slowing => Verdict::Worsening,
            Direction::NoChangeSeen => Verdict::NoChangeSeen,
            Direction::NotYet(enough) => Verdict::NotYet(lacking(&enough).err().unwrap_or(NotYet::Beyond)),
        },
        // The share was the same every time: it did not fall.
        (Ok((growth, ..)), Err(_)) => surely(growth.widened, 1.0, Better::Higher),
        (Err(why), _) => Verdict::NotYet(why.clone()),
    }
}
