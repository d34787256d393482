//! Devices by tasks, as a real table: a word for the band, the probability, the
//! share right with its interval, and what it rests on.
//!
//! A disc filled in quarters stands beside the word, never for it; what is not
//! enough yet is hatched and says what would be. Under the tasks stand the things
//! that no size decides: what is seen at once, times, losses, comfort.

use askama::Template;
use askama::filters::HtmlSafe;

use super::super::words;
use super::asked::Lines;
use super::told::{at, band_words, behind_words, counted, lacking, percent};
use super::{Track, is_specialist};
use crate::care::device::same_strength;
use crate::care::evidence::{Basis, Foot, MatrixCell, MatrixRow};
use crate::vision::stats::better::Band;

/// The disc of a band: how many quarters are full, or hatched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Template)]
#[template(path = "evidence/disc.html")]
struct Disc {
    quarters: Option<u8>,
}

impl HtmlSafe for Disc {}

impl Disc {
    const fn of(band: Option<Band>) -> Self {
        Self {
            quarters: match band {
                None => None,
                Some(Band::Likely) => Some(4),
                Some(Band::Rather) => Some(3),
                Some(Band::Unclear) => Some(2),
                Some(Band::RatherNot) => Some(1),
                Some(Band::Unlikely) => Some(0),
            },
        }
    }

    /// The filled part as a path around the middle of the disc, clockwise from
    /// the top; nothing for none of it.
    fn part(self) -> &'static str {
        match self.quarters {
            Some(4) => "M10 2a8 8 0 1 1 0 16a8 8 0 1 1 0-16Z",
            Some(3) => "M10 10V2a8 8 0 1 1-8 8Z",
            Some(2) => "M10 10V2a8 8 0 0 1 0 16Z",
            Some(1) => "M10 10V2a8 8 0 0 1 8 8Z",
            Some(_) => "",
            None => "M4.5 15.5L15.5 4.5M2.5 11.5L11.5 2.5M8.5 17.5L17.5 8.5",
        }
    }
}

/// A line of a cell; where a figure rests on entries, the link to exactly these.
struct LineView {
    words: String,
    href: String,
}

impl LineView {
    const fn plain(words: String) -> Self {
        Self { words, href: String::new() }
    }
}

/// One cell of the table.
struct CellView {
    head: String,
    disc: Disc,
    word: &'static str,
    lines: Vec<LineView>,
}

/// One task.
struct RowView {
    name: String,
    note: String,
    cells: Vec<CellView>,
}

/// A column's head.
struct HeadView {
    name: String,
    notes: Vec<String>,
}

/// What stands under the tasks: the name of the row, and one line a column.
type FootView = (&'static str, Vec<(String, LineView)>);

/// How a row below the tasks is told, nothing where nothing was entered; and which
/// entries of the column stand behind it.
type FootTold = (fn(&Foot) -> Option<String>, &'static str);

/// The table.
#[derive(Template)]
#[template(path = "evidence/matrix.html")]
pub(super) struct MatrixView {
    id: &'static str,
    caption: String,
    note: String,
    findings: Vec<String>,
    /// Whether the table unfolds: a family reads the words first.
    folded: bool,
    heads: Vec<HeadView>,
    rows: Vec<RowView>,
    feet: Vec<FootView>,
}

impl HtmlSafe for MatrixView {}

impl Track<'_> {
    /// The table of this track; none without a task that has a size.
    pub(super) fn matrix_view(&self, lines: &mut Lines) -> Option<MatrixView> {
        if self.matrix.rows.is_empty() {
            return None;
        }
        let heads: Vec<HeadView> = (0..self.gathered.columns.len()).map(|place| self.head(place)).collect();
        let rows = self.matrix.rows.iter().map(|row| self.task_row(row, &heads, lines)).collect();
        let feet = self.feet(&heads);
        Some(MatrixView {
            id: if self.near() { "t-matrix-near" } else { "t-matrix-distance" },
            caption: if self.near() {
                "Print by device".to_owned()
            } else {
                "Tasks by device".to_owned()
            },
            note: "How likely it is that the student usually reads at least 8 of 10 there. What people entered. Not a test result.".to_owned(),
            findings: self.serves(),
            folded: self.plain(),
            heads,
            rows,
            feet,
        })
    }

    fn head(&self, place: usize) -> HeadView {
        let mut notes = Vec::new();
        if let Some(spec) = self.column(place).and_then(|column| column.device.as_ref()?.spec.as_ref()) {
            let track = self.gathered.track;
            let shown = self.visit.tracks().iter().find(|shown| shown.journey.track == track);
            if let Some(journey) = shown.map(|shown| &shown.journey) {
                let same = |other: &crate::care::device::DeviceSpec| same_strength(track, other, spec);
                if journey.recommendation.as_ref().is_some_and(|now| now.devices.iter().any(same)) {
                    notes.push("recommended now".to_owned());
                }
                if journey.prescription.as_ref().is_some_and(|signed| signed.devices.iter().any(same)) {
                    notes.push("prescribed".to_owned());
                }
            }
        }
        let name = if place == 0 { "No device".to_owned() } else { words::capital(&self.device(place)) };
        HeadView { name, notes }
    }

    fn task_row(&self, row: &MatrixRow, heads: &[HeadView], lines: &mut Lines) -> RowView {
        let task = self.loaded.tasks.get(row.place);
        let size = self.tall_words(row.asks.size);
        let seat = match self.gathered.usual {
            Some(usual) if !self.near() => format!(", as if from {}", words::distance(usual, self.context)),
            _ => String::new(),
        };
        let note = if self.plain() {
            String::new()
        } else if self.near() {
            format!("{}, small letters {size}", self.figure(row.asks.size))
        } else {
            format!("{} logMAR: small letters {size}{seat}", self.figure(row.asks.size))
        };
        RowView {
            name: task.map(|task| task.what.name.clone()).unwrap_or_default(),
            note,
            cells: row.cells.iter().map(|cell| self.cell_view(row, cell, heads, lines)).collect(),
        }
    }

    fn cell_view(&self, row: &MatrixRow, cell: &MatrixCell, heads: &[HeadView], lines: &mut Lines) -> CellView {
        let name = Self::task_name(row.place, cell.column);
        let mut told = Vec::new();
        let word = match cell.band {
            None => "not enough yet",
            Some(band) => band_words(band),
        };
        match (cell.band, self.plain()) {
            (Some(_), false) => {
                let (share, regular) = percent(cell.success.usually);
                if regular {
                    lines.gives(format!("usually:{name}"), &share);
                }
                let (low, high) = (
                    format!("{:.0}", (100.0 * cell.success.rates.low).round()),
                    format!("{:.0} %", (100.0 * cell.success.rates.high).round()),
                );
                lines.gives(format!("rate_q05:{name}"), &format!("{low} to {high}"));
                lines.gives(format!("rate_q95:{name}"), &high);
                told.push(LineView::plain(share));
                told.push(LineView::plain(format!("{low} to {high} right")));
                if let Some(better) = cell.better {
                    let (share, regular) = percent(better);
                    if regular {
                        lines.gives(format!("better:{name}"), &share);
                    }
                    told.push(LineView::plain(format!("better than without: {share}")));
                }
            }
            (None, _) if !cell.entries.is_empty() => {
                told.push(LineView::plain(format!("would take {}", lacking(&cell.enough))));
            }
            _ => {}
        }
        if let Some(tally) = &cell.tally {
            told.push(LineView {
                words: format!("seen here: {} of {}", tally.right, tally.tried),
                href: self.entries_at(cell.column, &format!("task={}", row.task)),
            });
        }
        if let Some((share, looks)) = cell.board.filter(|_| !self.plain()) {
            told.push(LineView::plain(format!(
                "{:.0} % of the board at once, {}",
                (100.0 * share.get()).round(),
                counted(looks, "look", "looks")
            )));
        }
        told.push(self.behind_cell(row, cell));
        let head = heads.get(cell.column).map(|head| head.name.clone()).unwrap_or_default();
        CellView { head, disc: Disc::of(cell.band), word, lines: told }
    }

    fn behind_cell(&self, row: &MatrixRow, cell: &MatrixCell) -> LineView {
        if cell.entries.is_empty() {
            return LineView::plain("no entry".to_owned());
        }
        let setting = row.setting.filter(|_| cell.basis == Basis::Here);
        LineView { words: self.rests_on(row, cell), href: self.cell_at(cell.column, setting, row.contrast) }
    }

    fn rests_on(&self, row: &MatrixRow, cell: &MatrixCell) -> String {
        let behind = &cell.success.behind;
        let rests = if self.plain() { counted(behind.observations, "note", "notes") } else { behind_words(behind) };
        match (cell.basis, row.setting) {
            (Basis::Here, Some(setting)) => format!("{rests} {}", at(setting)),
            (Basis::AllSettings, _) => format!("{rests}, from all settings"),
            _ => rests,
        }
    }

    /// One sentence a task: which device serves it.
    fn serves(&self) -> Vec<String> {
        self.matrix
            .rows
            .iter()
            .map(|row| {
                let name = self.loaded.tasks.get(row.place).map_or("", |task| task.what.name.as_str());
                let told: Vec<&MatrixCell> = row.cells.iter().filter(|cell| cell.band.is_some()).collect();
                if told.is_empty() {
                    return format!("{name}: not enough yet to say which device serves it.");
                }
                let each: Vec<String> = told
                    .iter()
                    .filter_map(|cell| {
                        let figure = match self.plain() {
                            true => String::new(),
                            false => format!(" ({})", percent(cell.success.usually).0),
                        };
                        Some(format!("{} {}{figure}", self.with(cell.column), band_words(cell.band?)))
                    })
                    .collect();
                let missing: Vec<String> =
                    row.cells.iter().filter(|cell| cell.band.is_none()).map(|cell| self.with(cell.column)).collect();
                let rest = match words::list(&missing) {
                    missing if missing.is_empty() => String::new(),
                    missing => format!(" Not enough yet {missing}."),
                };
                format!("{name}: {}.{rest}", each.join("; "))
            })
            .collect()
    }

    fn feet(&self, heads: &[HeadView]) -> Vec<FootView> {
        let specialist = is_specialist(self.visit.role());
        let rows: [(&'static str, FootTold, bool); 3] = [
            ("Time to spot", (spotting, "skill=spotting"), specialist),
            ("Losses a minute of a moving target", (losses, "skill=tracking"), specialist),
            ("How it felt", (comfort, "felt=yes"), true),
        ];
        rows.into_iter()
            .filter(|(_, (told, _), shown)| *shown && self.matrix.feet.iter().any(|foot| told(foot).is_some()))
            .map(|(name, (told, behind), _)| {
                let texts = self.matrix.feet.iter().zip(heads).enumerate().map(|(column, (foot, head))| {
                    let line = match told(foot) {
                        Some(words) => LineView { words, href: self.entries_at(column, behind) },
                        None => LineView::plain("not entered".to_owned()),
                    };
                    (head.name.clone(), line)
                });
                (name, texts.collect())
            })
            .collect()
    }
}

/// How long spotting takes, with what was not found counted.
fn spotting(foot: &Foot) -> Option<String> {
    let found = foot.found.map(|(right, tried)| {
        let missed = tried.saturating_sub(right);
        format!("found {right} of {tried}, {missed} not found")
    });
    let time = foot.spotting.as_ref().map(|times| match times {
        Ok(times) => format!(
            "{:.0} s in the middle ({:.0} to {:.0} s, {} exercises)",
            times.median.get(),
            times.least.get(),
            times.most.get(),
            times.exercises
        ),
        Err(timed) => format!("not enough yet for a time ({} timed)", counted(*timed, "exercise", "exercises")),
    });
    match (time, found) {
        (None, None) => None,
        (time, found) => Some([time, found].into_iter().flatten().collect::<Vec<_>>().join("; ")),
    }
}

fn losses(foot: &Foot) -> Option<String> {
    foot.losses.as_ref().map(|found| {
        format!(
            "{:.1} ({:.1} to {:.1}, 90 %), in {:.1} minutes",
            found.rate, found.interval.low, found.interval.high, found.minutes
        )
    })
}

fn comfort(foot: &Foot) -> Option<String> {
    if foot.comfort.is_empty() {
        return None;
    }
    Some(foot.comfort.iter().map(|(felt, times)| format!("{felt} {times}\u{d7}")).collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_band_has_a_disc_of_its_own() {
        let bands = [
            None,
            Some(Band::Likely),
            Some(Band::Rather),
            Some(Band::Unclear),
            Some(Band::RatherNot),
            Some(Band::Unlikely),
        ];
        let mut parts: Vec<&str> = bands.iter().map(|band| Disc::of(*band).part()).collect();
        parts.sort_unstable();
        parts.dedup();
        assert_eq!(parts.len(), bands.len());
    }
}
