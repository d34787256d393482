//! The line that recomputes the figures of one track outside of the page.
//!
//! One question holds every entry that counts, what was assumed, the tasks and
//! what was compared; what of its answer stands on the page is collected while
//! the page is worded. Nothing of it for a reader with plain words: the
//! assumptions are the clinic's.

use serde_json::{Map, Value, json};

use super::super::outside::{self, Asked};
use super::Track;
use crate::care::evidence::WANTED;
use crate::care::track;
use crate::vision::stats::everyday::{Cell, Observation, Saw};
use crate::vision::stats::observing::Word;

/// Figures of the answer that stand on the page, each as it is printed.
#[derive(Default)]
pub(in crate::web) struct Lines {
    given: Vec<(String, String)>,
}

impl Lines {
    /// A figure, with its key in the answer.
    pub(super) fn gives(&mut self, key: impl Into<String>, text: &str) {
        self.given.push((key.into(), text.to_owned()));
    }

    /// An interval as printed: "0.80 to 0.97", with its unit at the end.
    pub(super) fn interval(&mut self, keys: (&str, &str), of: &str, (low, high): (&str, &str)) {
        self.gives(format!("{}:{of}", keys.0), &format!("{low} to {high}"));
        self.gives(format!("{}:{of}", keys.1), high);
    }
}

fn observation(seen: &Observation) -> Value {
    let mut told = Map::new();
    told.insert("x".to_owned(), json!(seen.size().get()));
    match seen.saw() {
        Saw::Tally(tally) => {
            told.insert("kind".to_owned(), json!("tally"));
            told.insert("k".to_owned(), json!(tally.right()));
            told.insert("n".to_owned(), json!(tally.tried()));
        }
        Saw::Word(word, items) => {
            let word = match word {
                Word::None => "none",
                Word::Some => "some",
                Word::Most => "most",
                Word::All => "all",
            };
            told.insert("kind".to_owned(), json!("word"));
            told.insert("word".to_owned(), json!(word));
            if let Some(items) = items {
                told.insert("n".to_owned(), json!(items));
            }
        }
    }
    told.insert("g".to_owned(), json!(seen.guess().get()));
    told.insert("sid".to_owned(), json!(seen.session()));
    if seen.weight() < 1.0 {
        told.insert("w".to_owned(), json!(seen.weight()));
    }
    told.into()
}

impl Track<'_> {
    /// How a cell is called in the question.
    pub(super) fn cell_name(&self, at: Cell) -> String {
        self.gathered.lines.get(at.device).map(|line| line.cell_name(at.setting)).unwrap_or_default()
    }

    /// How a task at a column is called in the question.
    pub(super) fn task_name(place: usize, column: usize) -> String {
        format!("task-{}/{column}", place + 1)
    }

    /// The question, with what of its answer stands on the page.
    pub(super) fn asked(&self, lines: Lines) -> Option<Asked> {
        if self.plain() {
            return None;
        }
        let (mut cells, mut priors, mut powers) = (Map::new(), Map::new(), Map::new());
        for line in &self.gathered.lines {
            priors.insert(line.name.clone(), json!([line.prior.mean().get(), line.prior.deviation()]));
            for (place, cell) in line.cells.iter().enumerate() {
                let all: Vec<Value> = cell.observations.iter().map(observation).collect();
                cells.insert(line.cell_name(place), all.into());
            }
            let spec = self.column(line.column).and_then(|column| column.device.as_ref()?.spec.as_ref());
            if let Some(power) = spec.filter(|spec| spec.kind.is_telescope()).and_then(|spec| spec.power)
                && self.gathered.track == track::Track::Distance
            {
                powers.insert(line.name.clone(), json!(power.get()));
            }
        }
        let name = |line: usize| self.gathered.lines.get(line).map(|line| line.name.clone()).unwrap_or_default();
        let mut contrasts: Vec<Value> =
            self.overall.iter().map(|one| json!([name(one.lines.0), name(one.lines.1)])).collect();
        contrasts.extend(
            self.gains
                .iter()
                .filter(|gain| gain.setting.is_some())
                .map(|gain| json!([self.cell_name(gain.at.0), self.cell_name(gain.at.1)])),
        );
        let mut asked = outside::ask("everyday_acuity_by_setting")
            .nested("cells", cells.into())
            .nested("priors", priors.into())
            .nested("contrasts", contrasts.into())
            .nested("nominal_power", powers.into())
            .with("size_for", WANTED.get())
            .nested("tasks", self.tasks_asked().into());
        if self.apart.iter().any(|apart| apart.compared.adjusted.is_some()) {
            asked = asked.nested("settings", json!("compared"));
        }
        for (key, text) in lines.given {
            asked = asked.gives(key, &text);
        }
        Some(asked)
    }

    fn tasks_asked(&self) -> Map<String, Value> {
        let mut tasks = Map::new();
        for row in &self.matrix.rows {
            for cell in row.cells.iter().filter(|cell| cell.band.is_some()) {
                let mut asked = Map::new();
                asked.insert("cell".to_owned(), self.cell_name(cell.at).into());
                asked.insert("x".to_owned(), json!(row.asks.size.get()));
                asked.insert("guess".to_owned(), json!(row.asks.guess.get()));
                asked.insert("crit".to_owned(), json!(row.asks.wanted.get()));
                asked.insert("n".to_owned(), json!(row.asks.items));
                if let (Some(_), Some(bare)) = (cell.better, row.cells.first()) {
                    asked.insert("against".to_owned(), self.cell_name(bare.at).into());
                }
                tasks.insert(Self::task_name(row.place, cell.column), asked.into());
            }
        }
        tasks
    }
}
