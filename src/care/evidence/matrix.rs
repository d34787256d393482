//! Which device serves which task, and how sure is that?
//!
//! A cell takes the entries of the setting where the task is met; where these
//! are not enough, those of the device in all settings, and says so. The band is
//! told by its probability, never by the point. Nothing is added up into one
//! score.

use std::collections::BTreeMap;

use super::gather::{Gathered, Question, Sized, Tallied};
use super::{Contrast, Device, DeviceKey, Drill, Source};
use crate::care::ids::VisualTaskId;
use crate::care::observation::Setting;
use crate::care::skill::Skill;
use crate::care::task::{Seat, VisualTask};
use crate::care::through::{self, OwnTimes, Seen, own_times_of};
use crate::vision::skill::Level;
use crate::vision::stats::Enough;
use crate::vision::stats::better::{Band, band};
use crate::vision::stats::everyday::task::{Success, Task};
use crate::vision::stats::everyday::{self as model, Cell};
use crate::vision::stats::rate::{PerMinute, per_minute};
use crate::vision::units::{Fraction, OutOfRange, Seconds};

/// Whose entries stand behind a cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Those of the setting where the task is met.
    Here,
    /// Those of the same device in other settings.
    AllSettings,
    /// None are enough.
    NotEnough,
}

/// One device at one task.
#[derive(Debug, Clone, PartialEq)]
pub struct MatrixCell {
    /// The place of the column.
    pub column: usize,
    /// The cell of the model.
    pub at: Cell,
    /// How probable success is.
    pub success: Success,
    /// In which band that lies; none, not enough was observed.
    pub band: Option<Band>,
    /// Whose entries stand behind it.
    pub basis: Basis,
    /// What would be enough.
    pub enough: Enough,
    /// The entries behind it.
    pub entries: Vec<Source>,
    /// What was counted in this very task, whatever the size.
    pub tally: Option<Tallied>,
    /// The probability that more is right with this device than without; none
    /// for the column without one, or where either is not enough.
    pub better: Option<f64>,
    /// The share of the board seen at once, and how many looks follow a line.
    pub board: Option<(Fraction, usize)>,
}

/// One task.
#[derive(Debug, Clone, PartialEq)]
pub struct MatrixRow {
    /// Which.
    pub task: VisualTaskId,
    /// Its place in the list of tasks.
    pub place: usize,
    /// What it asks.
    pub asks: Task,
    /// Which contrast it is judged in.
    pub contrast: Contrast,
    /// Where it is met.
    pub setting: Option<Setting>,
    /// One cell for each column.
    pub cells: Vec<MatrixCell>,
}

/// What is told under a column, whatever the task.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Foot {
    /// How long spotting takes, from exercises without help; or how many there are.
    pub spotting: Option<Result<OwnTimes, usize>>,
    /// Found of tried in spotting, without help: what was not found is counted.
    pub found: Option<(u32, u32)>,
    /// The exercises behind both.
    pub spotted: Vec<Source>,
    /// Losses a minute of a moving target, without help.
    pub losses: Option<PerMinute>,
    /// The exercises behind it.
    pub followed: Vec<Source>,
    /// How it felt: the words, and how often.
    pub comfort: BTreeMap<&'static str, usize>,
}

/// Tasks by devices.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Matrix {
    /// The tasks that have a size.
    pub rows: Vec<MatrixRow>,
    /// Under each column.
    pub feet: Vec<Foot>,
}

impl Matrix {
    /// Whether there is a finding in any cell.
    #[must_use]
    pub fn tells(&self) -> bool {
        self.rows.iter().flat_map(|row| &row.cells).any(|cell| cell.band.is_some())
    }
}

impl Gathered {
    /// The matrix of this track.
    ///
    /// # Errors
    /// None but those of a fault in the arithmetic.
    pub fn matrix(&self, question: &Question<'_>) -> Result<Matrix, OutOfRange> {
        let feet = self.columns.iter().map(|column| self.foot(question, column.key(), &column.comfort)).collect();
        let mut matrix = Matrix { rows: Vec::new(), feet };
        for sized in &self.sized {
            matrix.rows.push(self.row(question, sized)?);
        }
        self.compare(&mut matrix)?;
        Ok(matrix)
    }

    fn row(&self, question: &Question<'_>, sized: &Sized) -> Result<MatrixRow, OutOfRange> {
        let task = &question.tasks[sized.task];
        let seat = question.seats.iter().find(|seat| Some(seat.id) == task.what.seat);
        let mut cells = Vec::new();
        for column in 0..self.columns.len() {
            cells.extend(self.cell(sized, column, (question, task, seat))?);
        }
        Ok(MatrixRow {
            task: task.id,
            place: sized.task,
            asks: sized.asks,
            contrast: sized.contrast,
            setting: sized.setting,
            cells,
        })
    }

    fn cell(
        &self,
        sized: &Sized,
        column: usize,
        (question, task, seat): (&Question<'_>, &VisualTask, Option<&Seat>),
    ) -> Result<Option<MatrixCell>, OutOfRange> {
        let Ok(posterior) = &self.posterior else { return Ok(None) };
        let of_column = |line: &super::Line| line.column == column && line.contrast == sized.contrast;
        let Some(device) = self.lines.iter().position(of_column) else { return Ok(None) };
        let line = &self.lines[device];
        let Some(setting) = line.place(sized.setting) else { return Ok(None) };
        let at = Cell { device, setting };
        let success = posterior.success(at, sized.asks)?;
        let all = posterior.over_settings(device)?;
        let enough_in_all = all_enough(line);
        let (basis, enough) = match (&success.enough, enough_in_all) {
            (Enough::Yes, _) => (Basis::Here, Enough::Yes),
            (Enough::NotYet(_), Enough::Yes) => (Basis::AllSettings, Enough::Yes),
            // What is lacking is told of the fuller of the two.
            (Enough::NotYet(_), lacking) => (Basis::NotEnough, lacking),
        };
        let entries = match basis {
            Basis::Here => line.cells[setting].entries.clone(),
            Basis::AllSettings | Basis::NotEnough => {
                line.cells.iter().flat_map(|cell| cell.entries.iter().copied()).collect()
            }
        };
        let mut success = success;
        if basis != Basis::Here {
            success.behind = all.behind;
        }
        let band = match basis {
            Basis::NotEnough => None,
            Basis::Here | Basis::AllSettings => Some(band(success.usually)?),
        };
        let board = self.columns[column].device.as_ref().and_then(|device| board(question, device, task, seat));
        let tally = self.tallies.get(&(task.id, column)).cloned();
        Ok(Some(MatrixCell { column, at, success, band, basis, enough, entries, tally, better: None, board }))
    }

    /// Each device against none, at each task where both may be told.
    fn compare(&self, matrix: &mut Matrix) -> Result<(), OutOfRange> {
        let Ok(posterior) = &self.posterior else { return Ok(()) };
        for row in &mut matrix.rows {
            let Some(bare) = row.cells.first().filter(|cell| cell.column == 0 && cell.band.is_some()) else { continue };
            let bare = bare.at;
            let told: Vec<usize> = (1..row.cells.len()).filter(|at| row.cells[*at].band.is_some()).collect();
            for at in told {
                row.cells[at].better = Some(posterior.better_at(row.cells[at].at, bare, row.asks)?);
            }
        }
        Ok(())
    }

    fn foot(&self, question: &Question<'_>, key: Option<DeviceKey>, comfort: &BTreeMap<&'static str, usize>) -> Foot {
        let of_column = |drill: &&Drill| drill.track == self.track && drill.device == key && drill.alone;
        let drills: Vec<&Drill> = question.known.drills.iter().filter(of_column).collect();
        let of = |skill: Skill| drills.iter().filter(move |drill| drill.skill == skill);
        let times: Vec<Seconds> = of(Skill::Spotting).filter_map(|drill| drill.median).collect();
        let sum = of(Skill::Spotting)
            .filter_map(|drill| drill.counted)
            .fold((0, 0), |sum: (u32, u32), (right, tried)| (sum.0 + right, sum.1 + tried));
        let spotted = of(Skill::Spotting).filter(|drill| drill.median.is_some() || drill.counted.is_some());
        let spotted = spotted.map(|drill| drill.source).collect();
        let tracked = || of(Skill::Tracking).filter_map(|drill| Some((drill.source, drill.losses.zip(drill.in_view)?)));
        let followed: Vec<(u32, Seconds)> = tracked().map(|(_, counted)| counted).collect();
        let seconds: f64 = followed.iter().map(|(_, time)| time.get()).sum();
        let lost = followed.iter().map(|(losses, _)| losses).sum();
        Foot {
            spotting: (!times.is_empty()).then(|| own_times_of(times)),
            found: Some(sum).filter(|(_, tried)| *tried > 0),
            spotted,
            followed: tracked().map(|(source, _)| source).collect(),
            losses: Seconds::new(seconds).ok().and_then(|time| per_minute(lost, time, Level::Ninety).ok()),
            comfort: comfort.clone(),
        }
    }
}

/// Whether all entries of a line together are enough.
fn all_enough(line: &super::Line) -> Enough {
    let all: Vec<model::Observation> = line.cells.iter().flat_map(|cell| cell.observations.iter().copied()).collect();
    model::threshold::enough(&all)
}

/// How much of the board a device shows at once, and in how many looks a line of it.
fn board(
    question: &Question<'_>,
    device: &Device,
    task: &VisualTask,
    seat: Option<&Seat>,
) -> Option<(Fraction, usize)> {
    let device = device.in_hand()?;
    let asked = through::Question { task, seat, sight: question.sight, device: &device };
    match through::view(&asked).ok()?.seen {
        Seen::Board { sweep, .. } => Some((sweep.seen_at_once, sweep.looks.len())),
        Seen::Spot(_) | Seen::Page(_) => None,
    }
}
