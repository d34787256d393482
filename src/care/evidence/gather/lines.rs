//! How are entries put together into lines, cells and sessions?
//!
//! A device in one contrast is a line, each setting in it a cell. One day,
//! setting and observer are a session; two adults who tallied the same task at
//! the same size on one day saw one session, and each counts half.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::seen::Kept;
use super::{Cell, Column, Line, Sized};
use crate::care::evidence::{Contrast, Entry, Source};
use crate::care::ids::{AccountId, VisualTaskId};
use crate::care::observation::Setting;
use crate::vision::stats::everyday::Observation;

/// Numbers the sessions: one day, setting and observer each.
#[derive(Default)]
struct Sessions(BTreeMap<(Date, Setting, String), u64>);

impl Sessions {
    fn number(&mut self, entry: &Entry) -> u64 {
        let who = match entry.source {
            Source::Observation(_) => entry.by.to_string(),
            Source::Exercise(session, _) => session.to_string(),
        };
        let next = self.0.len() as u64 + 1;
        *self.0.entry((entry.on, entry.setting, who)).or_insert(next)
    }
}

/// How many adults tallied the same task at the same size on the same day.
fn observers(kept: &[Kept<'_>], one: &Kept<'_>) -> usize {
    let Some(task) = one.entry.task.filter(|_| matches!(one.entry.source, Source::Observation(_))) else { return 1 };
    let same = |other: &&Kept<'_>| {
        other.entry.task == Some(task)
            && other.entry.on == one.entry.on
            && other.entry.setting == one.entry.setting
            && other.column == one.column
            && other.seen.size == one.seen.size
            && matches!(other.entry.source, Source::Observation(_))
    };
    kept.iter().filter(same).map(|other| other.entry.by).collect::<BTreeSet<_>>().len().max(1)
}

/// The lines of the model: each device in each contrast, its settings as cells.
pub(super) fn lines(columns: &[Column], kept: &[Kept<'_>], sized: &[Sized]) -> Vec<Line> {
    let mut sessions = Sessions::default();
    let mut found: BTreeMap<(usize, Contrast, Setting), Vec<(Observation, Source)>> = BTreeMap::new();
    let by_task = same_day(kept);
    for one in kept {
        let weight = match by_task.contains(&one.entry.source) {
            true => 1.0 / observers(kept, one) as f64,
            false => 1.0,
        };
        let session = sessions.number(one.entry);
        let seen = Observation::new(one.seen.size, one.seen.guess, session, one.seen.saw)
            .and_then(|seen| if weight < 1.0 { seen.weighing(weight) } else { Ok(seen) });
        if let Ok(seen) = seen {
            let cell = (one.column, one.seen.contrast, one.entry.setting);
            found.entry(cell).or_default().push((seen, one.entry.source));
        }
    }
    let mut lines = Vec::new();
    for (place, column) in columns.iter().enumerate() {
        for contrast in Contrast::ALL {
            let asked: BTreeSet<Option<Setting>> =
                sized.iter().filter(|task| task.contrast == *contrast).map(|task| task.setting).collect();
            let mut cells: Vec<Cell> = Vec::new();
            for setting in Setting::ALL {
                let seen = found.remove(&(place, *contrast, *setting)).unwrap_or_default();
                if !seen.is_empty() || asked.contains(&Some(*setting)) {
                    let (observations, entries) = seen.into_iter().unzip();
                    cells.push(Cell { setting: Some(*setting), observations, entries });
                }
            }
            if asked.contains(&None) || (cells.is_empty() && *contrast == Contrast::High) {
                cells.push(Cell { setting: None, observations: Vec::new(), entries: Vec::new() });
            }
            if !cells.is_empty() {
                lines.push(line(place, column, *contrast, cells));
            }
        }
    }
    lines
}

fn line(place: usize, column: &Column, contrast: Contrast, cells: Vec<Cell>) -> Line {
    let (prior, faint) = match contrast {
        Contrast::High => (column.assumed.prior, ""),
        Contrast::Lower => (column.assumed.prior.at_low_contrast().unwrap_or(column.assumed.prior), "-lower"),
    };
    let name = if place == 0 { format!("none{faint}") } else { format!("device-{place}{faint}") };
    Line { column: place, contrast, prior, cells, name }
}

/// Entries of a day on which another adult saw the same task, so that only these
/// are held against each other: the list stays linear in the entries.
fn same_day(kept: &[Kept<'_>]) -> BTreeSet<Source> {
    let mut by: BTreeMap<(Date, VisualTaskId), BTreeSet<AccountId>> = BTreeMap::new();
    let key = |one: &Kept<'_>| Some((one.entry.on, one.entry.task?));
    for one in kept {
        if let Some(key) = key(one) {
            by.entry(key).or_default().insert(one.entry.by);
        }
    }
    let several = |one: &&Kept<'_>| key(one).and_then(|key| by.get(&key)).is_some_and(|who| who.len() > 1);
    kept.iter().filter(several).map(|one| one.entry.source).collect()
}
