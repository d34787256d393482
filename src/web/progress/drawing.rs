//! The picture of one skill: sessions along the days, help in the shape of the
//! mark, the trend with its band, and below it the size of the targets.
//!
//! Filled is without help, open with it, a square hand over hand; smaller marks
//! are those of another size, which make no figure. Where the trend is not told
//! yet its place is hatched. Nothing is computed here but places on paper.

use askama::Template;
use askama::filters::HtmlSafe;
use jiff::civil::Date;

use super::Known;
use super::told::percent;
use crate::care::progress::measure::{Measure, Value};
use crate::care::progress::{Help, Mark, Phase, Time};
use crate::web::part::Table;
use crate::web::picture::{At, Frame, Label, WIDE, label};

/// Room for the numbers of the upright scale, in the larger text of a phone.
const LEFT: f64 = 66.0;
const RIGHT: f64 = WIDE - 12.0;
/// Where the plot begins and how tall it is; a line of text stands above it.
const TOP: f64 = 58.0;
const TALL: f64 = 170.0;
/// The room of one line of text.
const LINE: f64 = 24.0;
/// The height of the strip of sizes, and of its smallest bar.
const STRIP: f64 = 34.0;
const LEAST_BAR: f64 = 6.0;
/// The half width of a mark, of one at another size, and of a bar of the strip.
const MARK: f64 = 6.0;
const SMALL: f64 = 3.5;
const BAR: f64 = 4.0;
/// The gap between the lines of the hatching.
const HATCH: f64 = 14.0;

/// A mark as it is drawn.
pub(super) struct Drawn {
    x: At,
    y: At,
    r: At,
    full: bool,
    square: bool,
    /// Half or more was not found: an open triangle at the top.
    triangle: bool,
    /// The bar from end to end.
    bar: Option<(At, At)>,
}

impl Drawn {
    const fn across(&self) -> At {
        At(2.0 * self.r.0)
    }
}

/// The line of the trend and the corners of its band.
pub(super) struct TrendDrawn {
    line: (At, At, At, At),
    band: [(At, At); 6],
}

/// The picture.
#[derive(Template)]
#[template(path = "picture/progress.html")]
pub(super) struct Drawing {
    frame: Frame<String>,
    plot: (At, At, At, At),
    above: Label,
    ticks: Vec<(At, Label)>,
    dates: Vec<Label>,
    begins: Option<(At, Label)>,
    trend: Option<TrendDrawn>,
    hatch: String,
    hatch_label: Option<Label>,
    marks: Vec<Drawn>,
    not_found: Option<Label>,
    strip_label: Label,
    strip: Vec<(At, At, At, At)>,
    strip_foot: At,
    strip_words: Label,
}

impl HtmlSafe for Drawing {}

impl Drawing {
    /// Half the width of the triangle of what was not found.
    const fn half(&self) -> At {
        At(MARK)
    }

    const fn width(&self) -> At {
        At(2.0 * MARK)
    }
}

/// The scales of one picture.
struct Scales {
    first: Date,
    days: f64,
    top: f64,
}

impl Scales {
    fn x(&self, day: f64) -> f64 {
        let inner = RIGHT - LEFT - 4.0 * MARK;
        let along = if self.days > 0.0 { day / self.days } else { 0.5 };
        LEFT + 2.0 * MARK + inner * along
    }

    fn day(&self, on: Date) -> f64 {
        on.since(self.first).map_or(0.0, |span| f64::from(span.get_days()))
    }

    fn y(&self, value: f64) -> f64 {
        TOP + TALL * (1.0 - value / self.top)
    }
}

/// The picture of a skill; none where fewer than two sessions have a place on it.
pub(super) fn of(known: &Known<'_>, id: String, heading: &str, caption: &str, table: &Table) -> Option<Drawing> {
    let (marks, finding) = (&known.practised.marks, known.finding);
    let measure = finding.measure;
    let values: Vec<(&Mark, Option<Value>)> = marks
        .iter()
        .map(|mark| (mark, measure.of(mark)))
        .filter(|(mark, value)| value.is_some() || (measure == Measure::Seconds && mark.time == Time::NotReached))
        .collect();
    let (first, last) = (values.first()?.0.on, values.last()?.0.on);
    if values.len() < 2 {
        return None;
    }
    let highest = values.iter().filter_map(|(mark, value)| Some(shown_high(mark, finding.band, value.as_ref()?)));
    let (step, top) = rounded(measure, highest.fold(0.0, f64::max));
    let mut scales = Scales { first, days: 0.0, top };
    scales.days = scales.day(last);
    let drawn: Vec<Drawn> =
        values.iter().map(|(mark, value)| drawn(&scales, mark, value.as_ref(), finding.band)).collect();
    let bottom = TOP + TALL;
    let (strip_top, sizes) = (bottom + 2.0 * LINE + 8.0, values.iter().map(|(mark, _)| *mark));
    let strip = strip(&scales, sizes.clone(), strip_top);
    let foot = strip_top + STRIP;
    let height = At(foot + LINE);
    let begins = begins(&scales, &values, if known.reader.plain { "practice begins" } else { "training begins" });
    let trend = trend(known, &scales);
    let hatched = trend.is_none();
    let from = begins.as_ref().map_or(LEFT, |(x, _)| x.0);
    let not_found =
        drawn.iter().find(|mark| mark.triangle).map(|mark| beside(mark.x.0, mark.y.0 + 5.0, "not found", 2.0 * MARK));
    Some(Drawing {
        frame: Frame {
            id,
            title: heading.to_owned(),
            description: description(known, measure, values.len()),
            height,
            caption: caption.to_owned(),
            table: table.clone(),
        },
        plot: (At(LEFT), At(TOP), At(RIGHT - LEFT), At(TALL)),
        above: label(0.0, 18.0, axis(known, measure), "start"),
        ticks: ticks(&scales, measure, step),
        dates: dates(&scales, first, last),
        begins,
        hatch: if hatched { hatch(from) } else { String::new() },
        hatch_label: hatched.then(|| {
            let words = if known.reader.plain { "too early to say" } else { "no trend yet" };
            label((from + RIGHT) / 2.0, TOP + 20.0, words, "middle")
        }),
        trend,
        marks: drawn,
        not_found,
        strip_label: label(0.0, strip_top - 8.0, "Size of the targets", "start"),
        strip,
        strip_foot: At(foot),
        strip_words: label(0.0, foot + LINE - 6.0, sizes_told(known, sizes), "start"),
    })
}

/// What stands over the plot: the measure and which way is better.
fn axis(known: &Known<'_>, measure: Measure) -> String {
    let word = known.right_word();
    match measure {
        Measure::Seconds => "Seconds of one try; lower is better".to_owned(),
        Measure::RightAMinute => format!("{} a minute; higher is better", crate::web::words::capital(word)),
        Measure::LossesAMinute => "Lost, times a minute; lower is better".to_owned(),
        Measure::Share => format!("{} of tried; higher is better", crate::web::words::capital(word)),
    }
}

fn description(known: &Known<'_>, measure: Measure, sessions: usize) -> String {
    if known.reader.plain {
        return format!(
            "{sessions} marks by date. Filled marks are without help, open ones with help, squares hand over hand; small marks are of another size. The strip below shows how big the targets were: a taller bar is a bigger, easier one."
        );
    }
    let trend = if known.finding.trend.is_ok() {
        "The line is the trend, with its band."
    } else {
        "No trend is drawn: there is not enough for one yet."
    };
    let bars = match measure {
        Measure::Seconds => "A bar spans the fastest and the slowest exercise.",
        _ => "A bar is the range that fits the count, 90 in 100.",
    };
    format!(
        "{sessions} marks by date. Filled marks are without help, open ones with help, squares hand over hand; small marks are of another size. {bars} {trend} The strip below shows the size of the targets: a taller bar is a larger, easier target."
    )
}

/// The upper end of what is drawn of a mark.
fn shown_high(mark: &Mark, band: usize, value: &Value) -> f64 {
    if has_bar(mark, band) { value.high } else { value.at }
}

const fn has_bar(mark: &Mark, band: usize) -> bool {
    matches!(mark.help, Help::Alone) && mark.band == band
}

/// A round step and a round top of the scale.
fn rounded(measure: Measure, highest: f64) -> (f64, f64) {
    if measure == Measure::Share {
        return (0.5, 1.0);
    }
    let steps = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0];
    let step = steps.into_iter().find(|step| highest <= 4.0 * step).unwrap_or(1_000.0);
    (step, ((highest / step).ceil()).max(1.0) * step)
}

fn ticks(scales: &Scales, measure: Measure, step: f64) -> Vec<(At, Label)> {
    let mut all = Vec::new();
    let mut value = 0.0;
    while value <= scales.top + step / 1e6 {
        let words = match measure {
            Measure::Share => percent(value),
            Measure::Seconds => format!("{value} s"),
            Measure::RightAMinute | Measure::LossesAMinute => value.to_string(),
        };
        let y = scales.y(value);
        all.push((At(y), label(LEFT - 8.0, y + 6.0, words, "end")));
        value += step;
    }
    all
}

fn short(day: Date) -> String {
    day.strftime("%-d %b").to_string()
}

fn dates(scales: &Scales, first: Date, last: Date) -> Vec<Label> {
    let y = TOP + TALL + LINE;
    if scales.days <= 0.0 {
        return vec![label(scales.x(0.0), y, short(first), "middle")];
    }
    vec![label(LEFT, y, short(first), "start"), label(RIGHT, y, short(last), "end")]
}

/// Where training begins, between the last probe before it and the first session.
fn begins(scales: &Scales, values: &[(&Mark, Option<Value>)], words: &str) -> Option<(At, Label)> {
    let of = |phase| values.iter().filter(move |(mark, _)| mark.phase == phase).map(|(mark, _)| scales.day(mark.on));
    let (probe, session) = (of(Phase::Before).fold(f64::NAN, f64::max), of(Phase::During).fold(f64::NAN, f64::min));
    if probe.is_nan() || session.is_nan() {
        return None;
    }
    let x = f64::midpoint(scales.x(probe), scales.x(session));
    let label = beside(x, TOP - 10.0, words, 4.0);
    Some((At(x), label))
}

/// Words beside a place: to its right, or to its left where there is no room.
fn beside(x: f64, y: f64, words: &str, gap: f64) -> Label {
    // About 10 units a letter in the larger text of a phone.
    let room = words.len() as f64 * 10.0;
    if x + gap + room <= WIDE { label(x + gap, y, words, "start") } else { label(x - gap, y, words, "end") }
}

fn drawn(scales: &Scales, mark: &Mark, value: Option<&Value>, band: usize) -> Drawn {
    let of_band = mark.band == band;
    let y = value.map_or(TOP + MARK, |value| scales.y(value.at.min(scales.top)));
    Drawn {
        x: At(scales.x(scales.day(mark.on))),
        y: At(y),
        r: At(if of_band { MARK } else { SMALL }),
        full: mark.help == Help::Alone,
        square: mark.help == Help::Led,
        triangle: value.is_none(),
        bar: value
            .filter(|value| has_bar(mark, band) && value.low < value.high)
            .map(|value| (At(scales.y(value.low)), At(scales.y(value.high.min(scales.top))))),
    }
}

/// The line through most of the sessions, and the flattest and the steepest
/// that fit, turned about the middle of the sessions.
fn trend(known: &Known<'_>, scales: &Scales) -> Option<TrendDrawn> {
    let trend = known.finding.trend.as_ref().ok()?;
    let (from, to) = (trend.points.first()?.at(), trend.points.last()?.at());
    let band = known.finding.band;
    let began = known.practised.alone(band, Phase::During).next()?.on;
    let x = |week: f64| scales.x(scales.day(began) + week * 7.0);
    let middle = f64::midpoint(from, to);
    let at_middle = trend.line.intercept + trend.line.slope * middle;
    let at = |slope: f64, week: f64| At(scales.y(at_middle + slope * (week - middle)));
    let (low, high) = (trend.widened.low, trend.widened.high);
    Some(TrendDrawn {
        line: (At(x(from)), at(trend.line.slope, from), At(x(to)), at(trend.line.slope, to)),
        band: [
            (At(x(from)), at(low, from)),
            (At(x(middle)), at(0.0, middle)),
            (At(x(to)), at(low, to)),
            (At(x(to)), at(high, to)),
            (At(x(middle)), at(0.0, middle)),
            (At(x(from)), at(high, from)),
        ],
    })
}

/// Slanted lines over the place where a trend would be.
fn hatch(from: f64) -> String {
    let (bottom, mut path) = (TOP + TALL, String::new());
    let mut x = from - TALL;
    while x < RIGHT {
        // Each line rises to the right at 45 degrees, cut off at the sides.
        let (low, high) = (x.max(from), (x + TALL).min(RIGHT));
        if high > low {
            path.push_str(&format!("M{} {}L{} {}", At(low), At(bottom - (low - x)), At(high), At(bottom - (high - x))));
        }
        x += HATCH;
    }
    path
}

/// The bars of the strip: one a mark, taller for a larger target.
fn strip<'a>(scales: &Scales, marks: impl Iterator<Item = &'a Mark> + Clone, top: f64) -> Vec<(At, At, At, At)> {
    let sizes = marks.clone().filter_map(|mark| Some(mark.size?.demand.get()));
    let (low, high) = sizes.fold((f64::MAX, f64::MIN), |(low, high), size| (low.min(size), high.max(size)));
    marks
        .filter_map(|mark| {
            let size = mark.size?.demand.get();
            // All alike: all of the same, middle height.
            let share = if high > low { (size - low) / (high - low) } else { 0.5 };
            let tall = LEAST_BAR + (STRIP - LEAST_BAR) * share;
            let x = scales.x(scales.day(mark.on));
            Some((At(x - BAR), At(top + STRIP - tall), At(2.0 * BAR), At(tall)))
        })
        .collect()
}

/// The smallest and the largest target, under the strip.
fn sizes_told<'a>(known: &Known<'_>, marks: impl Iterator<Item = &'a Mark> + Clone) -> String {
    let sizes = || marks.clone().filter_map(|mark| mark.size);
    let smallest = sizes().min_by(|a, b| a.demand.get().total_cmp(&b.demand.get()));
    let largest = sizes().max_by(|a, b| a.demand.get().total_cmp(&b.demand.get()));
    match (smallest, largest) {
        (Some(small), Some(large)) if small.demand < large.demand => {
            format!("{} to {}", known.size(&small), known.size(&large))
        }
        (Some(small), _) => format!("all about {}", known.size(&small)),
        _ => "not noted".to_owned(),
    }
}
