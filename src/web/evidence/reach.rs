//! What can be read from where, on one axis: letters large and easy on the left,
//! small and hard on the right.
//!
//! One row for each device and setting, a mark where 8 of 10 words are read, its
//! interval as a bar, a thin tail to the easy side. The tasks are lines through
//! all rows: a task is in reach of a row where its line crosses the tail. What
//! may not be told yet is hatched, with what is missing in words.

use askama::Template;
use askama::filters::HtmlSafe;

use super::super::part::{self, Cell, Table};
use super::super::picture::{At, Frame, Label, WIDE, label, wrapped};
use super::super::words;
use super::Track;
use super::axis::{Axis, LEFT, RIGHT, anchor, axis, hatch, mark};
use super::told::{at, at_contrast, behind_words, counted, lacking};
use crate::care::evidence::{From, Row};
use crate::care::observation::Setting;
use crate::vision::acuity::LogMar;
use crate::vision::acuity::equivalents::equivalents;
use crate::vision::acuity::near::MUnits;
use crate::vision::length::METRES_PER_INCH;
use crate::vision::length::shown::{Units, letter_height};
use crate::vision::stats::everyday::print_demand;
use crate::vision::stats::everyday::threshold::Telling;
use crate::vision::stats::observing::field_demand;
use crate::vision::units::Metres;

/// What a line of text needs on a narrow page.
const LINE: f64 = 26.0;
/// From the words of a row to its bar.
const BAR: f64 = 16.0;
/// From the bar of one row to the words of the next.
const GAP: f64 = 44.0;
/// Letters of a row's words that fit into a line.
const LETTERS: usize = 36;
/// Two labels of a scale stand at least this far apart.
const APART: f64 = 62.0;
/// Letters of a name that fit beside its line.
const NAME: usize = 30;

/// A task: its line and its name.
struct TaskLine {
    x: At,
    from: At,
    label: Label,
}

/// A row with its bar.
struct Bar {
    words: Vec<Label>,
    y: At,
    /// The tail to the easy side, up to here.
    tail: Option<At>,
    /// The bar, hatched or not.
    bar: Option<(At, At)>,
    hatch: String,
    /// The mark as a path; open where only one side is known.
    mark: String,
    open: bool,
}

/// The drawing with its frame.
#[derive(Template)]
#[template(path = "picture/reach.html")]
pub(in crate::web) struct ReachPicture {
    frame: Frame,
    tasks: Vec<TaskLine>,
    foot: At,
    scale_y: At,
    scale_word: Label,
    ticks: Vec<(At, Label)>,
    rows: Vec<Bar>,
    bottom_y: At,
    bottom: Vec<(At, Vec<Label>)>,
    bottom_word: Option<Label>,
}

impl HtmlSafe for ReachPicture {}

impl ReachPicture {
    fn left(&self) -> At {
        At(LEFT)
    }

    fn right(&self) -> At {
        At(RIGHT)
    }
}

/// The lower scale: its labels, the word under it, and where the drawing ends.
struct Bottom {
    ticks: Vec<(At, Vec<Label>)>,
    word: Option<Label>,
    height: f64,
}

fn short(name: &str) -> String {
    if name.chars().count() <= NAME {
        return name.to_owned();
    }
    let cut: String = name.chars().take(NAME - 1).collect();
    format!("{}\u{2026}", cut.trim_end())
}

/// What a row shows, and how it is told in the table.
struct Shown {
    words: String,
    setting: Option<Setting>,
    /// The mark, and the ends of the bar: large letters first.
    at: Option<(f64, f64, f64)>,
    telling: Kind,
    n: String,
    size: String,
}

#[derive(PartialEq)]
enum Kind {
    Told,
    OneSided,
    NotYet,
}

impl Track<'_> {
    fn shown(&self, row: &Row) -> Shown {
        let found = &row.threshold;
        let n = behind_words(&found.behind);
        let words =
            format!("{}, {}{}", words::capital(at(row.setting)), self.with(row.column), at_contrast(row.contrast));
        let needed = &row.needed;
        let bar = needed.median.zip(needed.low).map(|(middle, low)| {
            let high = needed.high.map_or(middle.get() + (middle.get() - low.get()), LogMar::get);
            (middle.get(), high, low.get())
        });
        let (at, telling, size) = match &found.telling {
            Telling::Measured | Telling::MostlyAssumed => {
                let told = needed.median.map_or_else(String::new, |size| self.tall_words(size));
                let ends = needed.low.zip(needed.high);
                let between = ends.map_or_else(String::new, |(low, high)| {
                    format!(" ({} to {})", self.tall_words(low), self.tall_words(high))
                });
                (bar, Kind::Told, format!("{told}{between}"))
            }
            Telling::AtLeast(size) => (
                Some((size.get(), size.get(), size.get())),
                Kind::OneSided,
                format!("{} or smaller", self.tall_words(*size)),
            ),
            Telling::MoreThan(size) => (bar, Kind::NotYet, format!("taller than {}", self.tall_words(*size))),
            Telling::NotYet(enough) => (bar, Kind::NotYet, format!("not enough yet: {}", lacking(enough))),
        };
        Shown { words, setting: Some(row.setting), at, telling, n, size }
    }

    /// The clinic's acuity, which stands first.
    fn clinic(&self) -> Option<Shown> {
        let assumed = &self.gathered.columns.first()?.assumed;
        let (used, size) = match &assumed.from {
            From::Clinic(used) => (used, used.acuity.acuity),
            From::Print(used, held) => {
                (used, print_demand(MUnits::just_read_by(used.acuity.acuity, *held).ok()?).ok()?)
            }
            _ => return None,
        };
        Some(Shown {
            words: "Clinic, without a device".to_owned(),
            setting: None,
            at: Some((size.get(), size.get(), size.get())),
            telling: Kind::Told,
            n: words::date(used.on),
            size: self.tall_words(size),
        })
    }

    /// The picture; none where nothing counts yet.
    pub(super) fn drawn(&self) -> Option<ReachPicture> {
        if self.rows.is_empty() || (self.gathered.usual.is_none() && !self.near()) {
            return None;
        }
        let shown: Vec<Shown> = self.clinic().into_iter().chain(self.rows.iter().map(|row| self.shown(row))).collect();
        let tasks: Vec<(String, f64)> = self
            .gathered
            .sized
            .iter()
            .filter_map(|sized| Some((self.loaded.tasks.get(sized.task)?.what.name.clone(), sized.asks.size.get())))
            .collect();
        let sizes = shown.iter().filter_map(|one| one.at).flat_map(|(mark, easy, hard)| [mark, easy, hard]);
        let axis = axis(&sizes.chain(tasks.iter().map(|(_, size)| *size)).collect::<Vec<f64>>());
        let mut y = 20.0;
        let mut lines = Vec::new();
        for (name, size) in &tasks {
            let x = axis.x(*size);
            let (at, anchor) = if x < WIDE / 2.0 { (x + 5.0, "start") } else { (x - 5.0, "end") };
            lines.push(TaskLine { x: At(x), from: At(y - 14.0), label: label(at, y, short(name), anchor) });
            y += LINE;
        }
        let scale_word_y = y + 6.0;
        let scale_y = scale_word_y + LINE + 10.0;
        let ticks = self.top_ticks(&axis, scale_y);
        let mut rows = Vec::new();
        let mut row_y = scale_y + 34.0;
        for one in &shown {
            let drawn = bar(one, &axis, row_y);
            row_y = drawn.y.0 + GAP;
            rows.push(drawn);
        }
        let foot = row_y - GAP + 18.0;
        let bottom = self.bottom(&axis, foot + 8.0);
        Some(ReachPicture {
            frame: self.frame(&shown, &tasks, At(bottom.height)),
            tasks: lines,
            foot: At(foot),
            scale_y: At(scale_y),
            scale_word: label(LEFT, scale_word_y, self.scale_words(), "start"),
            ticks,
            rows,
            bottom_y: At(foot + 8.0),
            bottom: bottom.ticks,
            bottom_word: bottom.word,
        })
    }

    fn scale_words(&self) -> String {
        match self.gathered.usual {
            Some(usual) if !self.near() => {
                format!("small letters from {}", words::distance(usual, self.context))
            }
            _ => "small letters of print".to_owned(),
        }
    }

    /// Round heights on the top scale.
    fn top_ticks(&self, axis: &Axis, y: f64) -> Vec<(At, Label)> {
        let imperial = words::units(self.context) == Units::Imperial && !self.near();
        let (unit, heights): (f64, &[f64]) = match (self.near(), imperial) {
            (true, _) => (0.001, &[1.0, 2.0, 4.0, 8.0, 0.5, 16.0, 1.5, 3.0, 6.0, 32.0, 0.25]),
            (false, false) => (0.01, &[1.0, 5.0, 10.0, 2.0, 20.0, 50.0, 0.5, 3.0, 7.0, 15.0, 30.0, 100.0, 0.2]),
            (false, true) => (METRES_PER_INCH, &[1.0, 2.0, 4.0, 0.5, 8.0, 0.25, 16.0, 1.5, 3.0, 6.0, 12.0, 24.0, 40.0]),
        };
        let mut taken: Vec<f64> = Vec::new();
        let mut ticks = Vec::new();
        for height in heights {
            let Ok(metres) = Metres::new(height * unit) else { continue };
            let Some(size) = self.axis_of(metres).filter(|size| axis.holds(*size)) else { continue };
            let x = axis.x(size);
            if taken.iter().any(|other| (other - x).abs() < APART) {
                continue;
            }
            taken.push(x);
            let units = if imperial { Units::Imperial } else { Units::Metric };
            let anchor = anchor(x);
            ticks.push((At(x), label(x, y - 12.0, letter_height(metres, units), anchor)));
        }
        ticks
    }

    fn axis_of(&self, height: Metres) -> Option<f64> {
        let found = if self.near() {
            MUnits::of_height(height.in_millimetres()).and_then(print_demand)
        } else {
            field_demand(height, self.gathered.usual?)
        };
        found.ok().map(LogMar::get)
    }

    /// The clinician's scale: logMAR and its fraction, or M units.
    fn bottom(&self, axis: &Axis, y: f64) -> Bottom {
        if self.plain() {
            return Bottom { ticks: Vec::new(), word: None, height: y + 8.0 };
        }
        let mut ticks = Vec::new();
        let mut taken: Vec<f64> = Vec::new();
        if self.near() {
            for print in [1.0, 2.0, 4.0, 0.5, 8.0, 1.5, 3.0, 6.0, 16.0, 0.25, 32.0] {
                let Some(size) = MUnits::new(print).and_then(print_demand).ok().map(LogMar::get) else { continue };
                let x = axis.x(size);
                if axis.holds(size) && taken.iter().all(|other| (other - x).abs() >= APART) {
                    taken.push(x);
                    ticks.push((At(x), vec![label(x, y + LINE, format!("{print} M"), anchor(x))]));
                }
            }
            return Bottom { ticks, word: None, height: y + LINE + 14.0 };
        }
        let steps = (axis.low * 10.0).ceil() as i32..=(axis.high * 10.0).floor() as i32;
        // The even tenths first; others where there is room.
        let (even, odd): (Vec<i32>, Vec<i32>) = steps.partition(|tenth| tenth % 2 == 0);
        for tenth in even.into_iter().chain(odd) {
            let size = f64::from(tenth) / 10.0;
            let x = axis.x(size);
            if taken.iter().any(|other| (other - x).abs() < APART) {
                continue;
            }
            let Ok(acuity) = LogMar::new(size) else { continue };
            taken.push(x);
            let same = equivalents(acuity);
            let fraction = if self.context.imperial() { same.feet } else { same.metres };
            let anchor = anchor(x);
            ticks.push((
                At(x),
                vec![label(x, y + LINE, format!("{size:.1}"), anchor), label(x, y + 2.0 * LINE, fraction, anchor)],
            ));
        }
        let word = label(LEFT, y + 3.0 * LINE, "logMAR, and the same as a fraction".to_owned(), "start");
        Bottom { ticks, word: Some(word), height: y + 3.0 * LINE + 14.0 }
    }

    fn frame(&self, shown: &[Shown], tasks: &[(String, f64)], height: At) -> Frame {
        let caption_of = if self.near() { "Print, up close" } else { "What can be read far away" };
        let mut table: Table = part::table(if self.near() { "Print as drawn" } else { "Far away as drawn" })
            .column("Row")
            .column("Small letters read 8 times of 10")
            .column("From");
        for one in shown {
            table.push([Cell::from(one.words.clone()), one.size.clone().into(), one.n.clone().into()]);
        }
        for (name, size) in tasks {
            let tall = LogMar::new(*size).map(|size| self.tall_words(size)).unwrap_or_default();
            table.push([Cell::from(format!("Task: {name}")), tall.into(), self.scale_words().into()]);
        }
        let told = shown.iter().filter(|one| one.telling == Kind::Told && one.setting.is_some());
        let mut reach: Vec<String> = told
            .filter_map(|one| {
                let (mark, ..) = one.at?;
                let within = tasks.iter().filter(|(_, size)| *size >= mark).count();
                Some(format!("{}: {within} of {} tasks in reach.", one.words, tasks.len()))
            })
            .collect();
        if tasks.is_empty() {
            reach = vec!["No task has a size yet to hold against it.".to_owned()];
        }
        if reach.is_empty() {
            reach = vec!["No row has enough entries yet; what is drawn hatched may change.".to_owned()];
        }
        Frame {
            id: if self.near() { "reach-near" } else { "reach-distance" },
            title: caption_of.to_owned(),
            description: format!(
                "An axis of letter size, large and easy on the left, small and hard on the right. {}, each with a mark where 8 of 10 words are read, its interval as a bar and a tail toward larger letters. Vertical lines: {}; a line that crosses a tail is in reach of that row. The clinic\u{2019}s row marks the size just read there.",
                counted(shown.len(), "row", "rows"),
                counted(tasks.len(), "task", "tasks")
            ),
            height,
            caption: reach.join(" "),
            table,
        }
    }
}

fn bar(one: &Shown, axis: &Axis, y: f64) -> Bar {
    let lines = wrapped(&one.words, LETTERS);
    let at = y + LINE * (lines.len() as f64 - 1.0) + BAR;
    let words = lines.into_iter().enumerate();
    let mut drawn = Bar {
        words: words.map(|(place, line)| label(LEFT, y + LINE * place as f64, line, "start")).collect(),
        y: At(at),
        tail: None,
        bar: None,
        hatch: String::new(),
        mark: String::new(),
        open: one.telling == Kind::OneSided,
    };
    let Some((middle, easy, hard)) = one.at else { return drawn };
    let (from, to) = (axis.x(easy), axis.x(hard));
    match one.telling {
        Kind::NotYet => drawn.hatch = hatch(from, to.max(from + 14.0), at),
        Kind::OneSided | Kind::Told => {
            drawn.tail = Some(At(axis.x(middle)));
            if to > from {
                drawn.bar = Some((At(from), At(to)));
            }
            drawn.mark = mark(one.setting, axis.x(middle), at);
        }
    }
    drawn
}
