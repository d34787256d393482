//! Acuity over time as a drawing: one strip for each eye and correction, time
//! along, better sight up.
//!
//! Marks are the clinic's diamond. Only comparable rows are joined. Around the
//! newest value lies the band of what two tests differ by, so that noise is not
//! read as change. All strips have one scale, so that slopes may be compared.

use askama::Template;
use askama::filters::HtmlSafe;
use jiff::civil::Date;

use super::super::super::picture::{At, Frame, Label, WIDE, label, wrapped};
use super::{log_words, verdict, worn_at};
use crate::care::evaluation::comparable::Series;
use crate::care::evaluation::{AcuityRow, Finding};
use crate::vision::acuity::change::NOISE;
use crate::vision::acuity::equivalents::equivalents;
use crate::vision::acuity::{LogMar, Measured};
use crate::web::page::Context;
use crate::web::part::{self, Table};
use crate::web::words::{self, capital};

/// Left of this stands the scale in logMAR, right of that the fraction.
const LEFT: f64 = 50.0;
const RIGHT: f64 = WIDE - 78.0;
/// What a line of text needs on a narrow page.
const LINE: f64 = 26.0;
/// Units of the drawing for one log unit.
const LOG_UNIT: f64 = 160.0;
/// Log units between two lines of the scale.
const STEP: f64 = 0.2;
/// No strip shows less than this, in log units.
const LEAST: f64 = 0.6;
/// How many letters fit into a line of a heading.
const LETTERS: usize = 34;
/// Half of a mark.
const MARK: f64 = 8.0;

/// A measurement: a diamond.
struct Point {
    x: At,
    y: At,
}

impl Point {
    fn diamond(&self) -> String {
        let (x, y, r) = (self.x.0, self.y.0, MARK);
        format!("M{} {}L{} {}L{} {}L{} {}Z", At(x), At(y - r), At(x + r), At(y), At(x), At(y + r), At(x - r), At(y))
    }
}

/// One eye with one correction.
struct Strip {
    heading: Vec<Label>,
    lines: Vec<(At, Label, Label)>,
    /// The band around the newest value: its top and height.
    band: Option<(At, At)>,
    /// The path from mark to mark; empty with one mark.
    path: String,
    points: Vec<Point>,
    values: Vec<Label>,
    /// Lines across what is not known yet.
    hatch: String,
    /// What is missing, in lines that stay clear of the right scale.
    missing: Vec<Label>,
}

/// The drawing with its frame.
#[derive(Template)]
#[template(path = "picture/acuity_over_time.html")]
pub(in crate::web) struct AcuityPicture {
    frame: Frame,
    strips: Vec<Strip>,
    days: Vec<(At, At, Option<Label>)>,
    unit: Label,
}

impl HtmlSafe for AcuityPicture {}

impl AcuityPicture {
    /// What it shows, as a heading over it.
    pub(in crate::web) fn title(&self) -> &str {
        &self.frame.title
    }

    const fn left(&self) -> At {
        At(LEFT)
    }

    const fn right(&self) -> At {
        At(RIGHT)
    }

    const fn wide(&self) -> At {
        At(RIGHT - LEFT)
    }
}

/// One drawing for what is read across a room and one for what is read in the
/// hand; none where nothing was measured.
pub(super) fn pictures(all: &[Series<'_>], context: &Context) -> Vec<AcuityPicture> {
    let near = |series: &Series<'_>| series.rows.iter().any(|(_, row)| row.row.is_near());
    let (hand, far): (Vec<&Series<'_>>, Vec<&Series<'_>>) = all.iter().partition(|series| near(series));
    let kinds =
        [("acuity-far", "Acuity over time, beyond 60 cm", far), ("acuity-near", "Acuity over time, in the hand", hand)];
    kinds.into_iter().filter_map(|(id, title, series)| picture((id, title), &series, context)).collect()
}

/// The series that are drawn: those with two figures or more; with none of these,
/// the newest with one, as all that can be said yet.
fn drawn<'s, 'a>(series: &[&'s Series<'a>]) -> Vec<&'s Series<'a>> {
    let with = |least: usize| series.iter().copied().filter(move |one| one.measured().count() >= least);
    let joined: Vec<&Series<'_>> = with(2).collect();
    if joined.is_empty() { with(1).take(1).collect() } else { joined }
}

fn picture((id, title): (&'static str, &str), series: &[&Series<'_>], context: &Context) -> Option<AcuityPicture> {
    let shown = drawn(series);
    let days: Vec<Date> = shown.iter().flat_map(|one| one.measured().map(|(on, _, _)| on)).collect();
    let time = Time::of(&days)?;
    let mut y = 16.0;
    let mut strips = Vec::new();
    for one in &shown {
        let (strip, foot) = strip(one, &time, y, context);
        strips.push(strip);
        y = foot + 34.0;
    }
    let foot = y - 22.0;
    let frame = Frame {
        id,
        title: title.to_owned(),
        description: described(&shown),
        height: At(foot + 2.0 * LINE + 4.0),
        caption: found(&shown, series.len() - shown.len()),
        table: table(title, series, context),
    };
    Some(AcuityPicture {
        frame,
        strips,
        days: time.marks(foot),
        unit: label(LEFT - 8.0, foot + 2.0 * LINE - 4.0, "logMAR, better upwards".to_owned(), "start"),
    })
}

/// Days along the drawing.
struct Time {
    days: Vec<Date>,
}

impl Time {
    fn of(days: &[Date]) -> Option<Self> {
        let mut days = days.to_vec();
        days.sort();
        days.dedup();
        (!days.is_empty()).then_some(Self { days })
    }

    fn x(&self, day: Date) -> f64 {
        let (from, to) = (LEFT + 18.0, RIGHT - 18.0);
        let (Some(first), Some(last)) = (self.days.first(), self.days.last()) else { return to };
        let all = between(*first, *last);
        if all <= 0.0 { to } else { from + (to - from) * between(*first, day) / all }
    }

    /// A short line for each day; words where they fit beside each other.
    fn marks(&self, y: f64) -> Vec<(At, At, Option<Label>)> {
        let mut right_of = f64::NEG_INFINITY;
        let last = self.days.len() - 1;
        let last_x = self.x(self.days[last]);
        let mut marks = Vec::new();
        for (place, day) in self.days.iter().enumerate() {
            let x = self.x(*day);
            // Nine letters at the larger size are this wide.
            let wide = 92.0;
            let fits = x - wide / 2.0 > right_of && (place == last || x + wide < last_x);
            let words = fits.then(|| {
                right_of = x + wide / 2.0;
                label(x, y + LINE - 4.0, day.strftime("%b %Y").to_string(), "middle")
            });
            marks.push((At(x), At(y), words));
        }
        marks
    }
}

/// Days from one to the other.
fn between(from: Date, to: Date) -> f64 {
    from.until(to).map_or(0.0, |span| f64::from(span.get_days()))
}

/// The values of a strip, downwards: the smallest logMAR is up.
struct Scale {
    top: f64,
    /// The logMAR at the top.
    best: f64,
    worst: f64,
}

impl Scale {
    fn of(values: &[Measured], top: f64) -> Self {
        let newest = values.last().map_or(0.0, |value| value.logmar().get());
        let all = values.iter().map(|value| value.logmar().get());
        let (mut best, mut worst) = (newest - NOISE, newest + NOISE);
        for value in all {
            best = best.min(value);
            worst = worst.max(value);
        }
        best = ((best - 0.02) / STEP).floor() * STEP;
        worst = ((worst + 0.02) / STEP).ceil() * STEP;
        if worst - best < LEAST - 1e-9 {
            worst = best + LEAST;
        }
        Self { top, best, worst }
    }

    fn y(&self, logmar: f64) -> f64 {
        self.top + (logmar - self.best) * LOG_UNIT
    }

    fn foot(&self) -> f64 {
        self.y(self.worst)
    }

    fn lines(&self, context: &Context) -> Vec<(At, Label, Label)> {
        let mut lines = Vec::new();
        let mut at = self.best;
        while at <= self.worst + 1e-9 {
            // To the tenth it stands for, not to what binary steps add up to.
            if let Ok(logmar) = LogMar::new((at * 10.0).round() / 10.0) {
                let equal = equivalents(logmar);
                let fraction = if context.imperial() { equal.feet } else { equal.metres };
                let y = self.y(at);
                let tenths = format!("{:.1}", logmar.get()).replace("-0.0", "0.0");
                lines.push((
                    At(y),
                    label(LEFT - 8.0, y + 5.0, tenths, "end"),
                    label(RIGHT + 8.0, y + 5.0, fraction, "start"),
                ));
            }
            at += STEP;
        }
        lines
    }
}

fn heading(series: &Series<'_>) -> (String, String) {
    series
        .rows
        .last()
        .map_or_else(Default::default, |(_, row)| (capital(row.row.eye.words()), capital(&worn_at(&row.row))))
}

fn strip(series: &Series<'_>, time: &Time, top: f64, context: &Context) -> (Strip, f64) {
    let (eye, worn) = heading(series);
    let lines = std::iter::once(eye).chain(wrapped(&worn, LETTERS));
    let headings: Vec<Label> =
        lines.enumerate().map(|(place, words)| label(0.0, top + LINE * (place as f64), words, "start")).collect();
    let values: Vec<(Date, &AcuityRow, Measured)> = series.measured().collect();
    let figures: Vec<Measured> = values.iter().map(|(_, _, value)| *value).collect();
    let scale = Scale::of(&figures, top + LINE * (headings.len() as f64));
    let points: Vec<Point> = values
        .iter()
        .map(|(on, _, value)| Point { x: At(time.x(*on)), y: At(scale.y(value.logmar().get())) })
        .collect();
    let mut path = String::new();
    if points.len() > 1 {
        for (place, point) in points.iter().enumerate() {
            path.push_str(&format!("{}{} {}", if place == 0 { "M" } else { "L" }, point.x, point.y));
        }
    }
    let newest = figures.last().map(|value| value.logmar().get());
    let band = newest.map(|newest| (At(scale.y(newest - NOISE)), At(2.0 * NOISE * LOG_UNIT)));
    let single = points.len() < 2;
    let strip = Strip {
        heading: headings,
        lines: scale.lines(context),
        band,
        path,
        values: value_labels(&values, &points),
        points,
        hatch: if single { hatched(scale.top, scale.foot()) } else { String::new() },
        missing: if single { missing(scale.foot()) } else { Vec::new() },
    };
    (strip, scale.foot())
}

/// What is not known yet, above the foot of a strip.
fn missing(foot: f64) -> Vec<Label> {
    vec![
        label(LEFT + 4.0, foot - 8.0 - LINE, "not enough yet:", "start"),
        label(LEFT + 4.0, foot - 8.0, "measured once", "start"),
    ]
}

/// What was written, beside the first and the newest mark, away from the line.
fn value_labels(values: &[(Date, &AcuityRow, Measured)], points: &[Point]) -> Vec<Label> {
    let last = points.len().saturating_sub(1);
    let mut labels = Vec::new();
    for (place, ((_, row, _), point)) in values.iter().zip(points).enumerate() {
        if place != 0 && place != last {
            continue;
        }
        let neighbour = if place == 0 { points.get(1) } else { points.get(last.saturating_sub(1)) };
        let goes_up = neighbour.is_some_and(|other| other.y < point.y);
        let y = if goes_up { point.y.0 + 28.0 } else { point.y.0 - 14.0 };
        let (x, anchor) = if place == last { (RIGHT - 4.0, "end") } else { (LEFT + 4.0, "start") };
        labels.push(label(x, y, row.row.as_recorded.clone(), anchor));
    }
    labels
}

/// Slanted lines over the part of a strip about which nothing is known.
fn hatched(top: f64, foot: f64) -> String {
    let mut path = String::new();
    let (from, to) = (LEFT, RIGHT - 90.0);
    let height = foot - top;
    let mut x = from;
    while x + 12.0 <= to {
        path.push_str(&format!("M{} {}L{} {}", At(x), At(top + height * 0.72), At(x + 12.0), At(top + 6.0)));
        x += 18.0;
    }
    path
}

/// What somebody who does not see it should know.
fn described(shown: &[&Series<'_>]) -> String {
    let strips = shown.len();
    let most = shown.iter().map(|one| one.measured().count()).max().unwrap_or(0);
    let times = if most == 1 { "one measurement".to_owned() } else { format!("up to {most} measurements") };
    let plural = if strips == 1 { "strip" } else { "strips" };
    format!(
        "{strips} {plural}, one for each eye and correction, with {times}, better sight up. A band of 0.15 log units to both sides lies around each newest value."
    )
}

/// The finding, a sentence for each strip.
fn found(shown: &[&Series<'_>], others: usize) -> String {
    let mut said: Vec<String> = shown.iter().map(|series| finding(series)).collect();
    if others > 0 {
        let were = if others == 1 { "1 other row stands".to_owned() } else { format!("{others} other rows stand") };
        said.push(format!("{were} in the table: measured once, at another distance, or without a figure."));
    }
    said.push("The band is what two tests of one eye differ by although nothing changed.".to_owned());
    said.join(" ")
}

fn finding(series: &Series<'_>) -> String {
    let (eye, worn) = heading(series);
    let values: Vec<(Date, &AcuityRow, Measured)> = series.measured().collect();
    let named = format!("{eye}, {}", worn.to_lowercase());
    match (values.as_slice(), series.newest_difference()) {
        ([.., (before, old, _), (now, new, _)], Some(difference)) => format!(
            "{named}: {} on {}, {} on {}. In log units {}: {}.",
            old.row.as_recorded,
            words::date(*before),
            new.row.as_recorded,
            words::date(*now),
            log_words(&difference),
            verdict(&difference).0,
        ),
        ([(on, row, _)], _) => format!("{named}: {} on {}, measured once.", row.row.as_recorded, words::date(*on)),
        _ => format!("{named}: no figure."),
    }
}

/// Every row, also those that are not drawn.
fn table(title: &str, series: &[&Series<'_>], context: &Context) -> Table {
    let head = if context.imperial() { "20/x" } else { "6/x" };
    let mut table = part::table(&format!("{title}, every row"))
        .note("Rows of one eye and correction at one distance follow each other.")
        .column("Eye, correction and distance")
        .column("Examined on")
        .column("As written")
        .number("logMAR")
        .number(head);
    for one in series {
        for (on, row) in &one.rows {
            let (logmar, fraction) = match row.row.finding {
                Finding::Measured(logmar) => {
                    let equal = equivalents(logmar);
                    (equal.logmar, if context.imperial() { equal.feet } else { equal.metres })
                }
                Finding::Category(_) => ("no figure".to_owned(), "no figure".to_owned()),
            };
            let named = format!("{}, {}", capital(row.row.eye.words()), worn_at(&row.row));
            table.push([named, words::date(*on), row.row.as_recorded.clone(), logmar, fraction]);
        }
    }
    table
}
