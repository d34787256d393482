//! The table of thresholds, and how the figures of a track came about.

use super::super::part::{self, Cell, How, Table};
use super::super::{guidance, words};
use super::Track;
use super::asked::Lines;
use super::told::{at_contrast, behind_words, lacking};
use crate::care::evidence::{From, Row};
use crate::care::sight::Used;
use crate::vision::acuity::LogMar;
use crate::vision::stats::everyday::threshold::Telling;

impl Track<'_> {
    /// The table of thresholds.
    pub(super) fn thresholds(&self, lines: &mut Lines) -> Table {
        let title = match (self.near(), self.plain()) {
            (false, false) => "Everyday acuity, by device and setting",
            (true, false) => "Threshold print, by device and setting",
            (false, true) => "What can be read far away",
            (true, true) => "What print can be read",
        };
        let mut table = part::table(title).column("With").column("Where");
        if !self.plain() {
            table = table.column(if self.near() { "Threshold (90 %)" } else { "Threshold, logMAR (90 %)" });
            table = table.column("Assumed before");
        }
        let small = match self.gathered.usual {
            Some(usual) if !self.near() => {
                format!("Small letters read 8 times of 10, from {}", words::distance(usual, self.context))
            }
            _ => "Small letters read 8 times of 10".to_owned(),
        };
        table = table.column(&small).column("From").column("Entries");
        table = table.note("What people entered. Not a test result.");
        for row in &self.rows {
            let name = self.cell_name(row.at);
            let who = format!("{}{}", words::capital(&self.with(row.column)), at_contrast(row.contrast));
            let mut cells: Vec<Cell> = vec![who.into(), Cell::mark(row.setting.code())];
            if !self.plain() {
                cells.push(self.threshold_cell(row, &name, lines).into());
                cells.push(self.assumed_short(row).into());
            }
            cells.push(self.size_cell(row).into());
            cells.push(behind_words(&row.threshold.behind).into());
            cells.push(Cell::link(&self.behind(row), &format!("{}", row.entries.len())));
            table.push(cells);
        }
        table.none("No entry counts yet.")
    }

    fn threshold_cell(&self, row: &Row, name: &str, lines: &mut Lines) -> String {
        let found = &row.threshold;
        match &found.telling {
            Telling::NotYet(_) => "not enough yet".to_owned(),
            Telling::AtLeast(_) => "everything was read".to_owned(),
            Telling::MoreThan(_) => "hardly anything was read".to_owned(),
            Telling::Measured | Telling::MostlyAssumed => {
                let ends = (LogMar::new(found.interval.low), LogMar::new(found.interval.high));
                let (Ok(low), Ok(high)) = ends else { return "not computed".to_owned() };
                if self.near() {
                    return format!("{} ({} to {})", self.figure(found.median), self.figure(low), self.figure(high));
                }
                let (middle, low, high) = (self.figure(found.median), self.figure(low), self.figure(high));
                lines.gives(format!("theta_q50:{name}"), &middle);
                lines.interval(("theta_q05", "theta_q95"), name, (&low, &high));
                let mostly =
                    if found.telling == Telling::MostlyAssumed { ", mostly the clinic\u{2019}s value" } else { "" };
                format!("{middle} ({low} to {high}), {}{mostly}", self.fraction(found.median))
            }
        }
    }

    fn assumed_short(&self, row: &Row) -> String {
        let prior = row.threshold.prior;
        format!("{} \u{b1} {:.2}", self.figure(prior.mean()), prior.deviation())
    }

    fn size_cell(&self, row: &Row) -> String {
        match &row.threshold.telling {
            Telling::AtLeast(size) => format!("{} or smaller", self.tall_words(*size)),
            Telling::MoreThan(size) => format!("taller than {}", self.tall_words(*size)),
            Telling::NotYet(enough) => format!("not enough yet: {}", lacking(enough)),
            Telling::Measured | Telling::MostlyAssumed => match (row.needed.median, row.needed.low, row.needed.high) {
                (Some(size), Some(low), Some(high)) => {
                    format!("{} ({} to {})", self.tall_words(size), self.tall_words(low), self.tall_words(high))
                }
                (Some(size), ..) => format!("about {}, or at no size", self.tall_words(size)),
                (None, ..) => "maybe at no size".to_owned(),
            },
        }
    }

    /// How the figures of this track came about. The assumptions are the clinic's:
    /// a family reads the same in words, and no panel.
    pub(super) fn how(&self, lines: Lines) -> Option<How> {
        if self.plain() {
            return None;
        }
        let axis = if self.near() {
            "Size of the print: log10(M \u{f7} 0.4), M the x-height over that of 1 M. With a device or without, print sizes are compared; no magnification of a label enters."
        } else {
            "Demand of an entry: log10(60 atan((height \u{f7} 5) \u{f7} distance)), of the small letters where they really are; with a device, too."
        };
        let mut how = part::how(&[
            axis,
            "Right of tried: beta-binomial around g + (1 \u{2212} g \u{2212} l) \u{3a6}((x \u{2212} \u{3b8}) \u{f7} s); a word counts as the counts it stands for, of five. One entry in fifty is taken for a slip.",
            "Settings of one device lean on one another as far as they agree; devices stand alone, each on what is assumed of it. Two adults who tallied one task on one day count half each. Intervals hold 90 in 100.",
            "Told with 3 entries in 2 sessions, 15 items, and both a size read and another not; otherwise what is missing is told.",
        ])
        .summary(if self.near() { "How the near figures were computed" } else { "How the distance figures were computed" })
        .source("Sch\u{fc}tt and others 2016 (beta-binomial psychometric function); slope of letter acuity, PubMed 28211180; what is assumed and the rules for telling: common practice, set by simulation");
        for (place, column) in self.gathered.columns.iter().enumerate() {
            let prior = column.assumed.prior;
            how = how.input(
                &format!("Assumed {}", self.with(place)),
                &format!(
                    "{} \u{b1} {:.2}, {}",
                    self.figure(prior.mean()),
                    prior.deviation(),
                    assumed_words(&column.assumed.from)
                ),
            );
        }
        Some(how.input("Entries that count", &self.gathered.counted.to_string()).asks_all(self.asked(lines)))
    }
}

fn assumed_words(from: &From) -> String {
    let used = |used: &Used| guidance::used_words(used);
    match from {
        From::Clinic(acuity) => format!("from the clinic\u{2019}s acuity and 0.05 for the field: {}", used(acuity)),
        From::Through(acuity) => format!("measured through it in the clinic, and 0.05 for the field: {}", used(acuity)),
        From::Power(Some(acuity), power) => format!(
            "from the power {}\u{d7} and 0.15 for the field and for an untested device: {}",
            power.get(),
            used(acuity)
        ),
        From::Power(None, power) => format!("from the power {}\u{d7} alone; no acuity can be read here", power.get()),
        From::Print(acuity, held) => format!("from the near acuity, held at {:.2} m: {}", held.get(), used(acuity)),
        From::Nothing => "no figure of the clinic can be read here, so it is wide".to_owned(),
    }
}
