//! May an entry be mistyped: 5 mm where the rest says 5 cm?
//!
//! An entry that does not fit is never corrected and never dropped; it loses
//! its pull by itself. What follows from it is a question to whoever wrote it.

use std::collections::BTreeMap;

use super::grid::{HIGHEST, LOWEST, NODES, Row, SIZES, WIDTH, add_scaled, dot, place};
use super::shelf::{self, Of};
use super::{Cell, Guess, Posterior, Saw};
use crate::vision::units::{OutOfRange, within};

/// From here on an entry is more probably a slip than not.
const SUSPECT: f64 = 0.5;

/// Below this an entry with another unit would fit.
const FITS: f64 = 0.1;

/// What may have been mistyped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// Millimetres for centimetres, or the other way round.
    TenTimes,
    /// Centimetres for inches, or the other way round.
    Inches,
    /// Metres for feet, or the other way round.
    Feet,
    /// The distance doubled or halved.
    Double,
    /// Metres for centimetres, or the other way round.
    HundredTimes,
}

/// The mistakes of units and distance, each with the shift it makes, in logMAR.
const SLIPS: [(Slip, f64); 5] = [
    (Slip::TenTimes, 1.0),
    (Slip::Inches, 0.405),
    (Slip::Feet, 0.516),
    (Slip::Double, 0.301),
    (Slip::HundredTimes, 2.0),
];

/// A shift that would make an entry fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// What may have been mistyped.
    pub slip: Slip,
    /// By how much the target would be larger then, in logMAR.
    pub by: f64,
    /// How probable a slip is after the shift.
    pub remaining: f64,
}

/// An entry to ask its writer about.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// The cell.
    pub cell: Cell,
    /// The place of the entry in its list.
    pub entry: usize,
    /// How probable it is that the entry is a slip.
    pub probability: f64,
    /// What would make it fit, the best first; empty if nothing does.
    pub shifts: Vec<Shift>,
}

/// An entry asked about, with the size moved by so much.
#[derive(Debug, Clone, Copy)]
struct Asked {
    cell: usize,
    entry: usize,
    by: f64,
}

impl Posterior {
    /// How probable is it of each entry of a cell that it is a slip?
    ///
    /// **Formula** the posterior share of the uniform part: its chance over the
    /// whole likelihood, averaged over nodes and the cell's days. **Source**
    /// mixture models, any textbook (derived). **Range** in the order of entries.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Observation, Prior, Saw, everyday};
    /// use farpoint::vision::stats::observing::Tally;
    /// let seen = |size, session, right| {
    ///     Observation::new(LogMar::new(size)?, Guess::LETTERS, session, Saw::Tally(Tally::new(right, 10)?))
    /// };
    /// let entries = vec![seen(1.1, 1, 9)?, seen(0.9, 1, 6)?, seen(0.7, 2, 1)?, seen(1.0, 3, 8)?, seen(1.75, 4, 1)?];
    /// let device = Device { prior: Prior::new(LogMar::new(0.95)?, 0.2)?, settings: vec![entries] };
    /// let found = everyday(&[device])?;
    /// assert!(found.slips(Cell { device: 0, setting: 0 })?[4] > 0.9);
    /// let ask = &found.suspects()?[0];
    /// assert_eq!(ask.entry, 4);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not.
    pub fn slips(&self, cell: Cell) -> Result<Vec<f64>, OutOfRange> {
        let at = self.evidence.cell(cell)?;
        let entries = 0..self.evidence.cells[at].observations.len();
        Ok(self.slips_at(&entries.map(|entry| Asked { cell: at, entry, by: 0.0 }).collect::<Vec<_>>()))
    }

    /// How probable would a slip be, were the target of this entry larger by so much?
    ///
    /// **Formula**, **Source** as [`Posterior::slips`]. **Range** none where the
    /// shift leads off the scale of sizes.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Prior, everyday};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let refused = unseen.slip_if_moved(Cell { device: 0, setting: 0 }, 0, -1.0).unwrap_err();
    /// assert!(refused.to_string().starts_with("place of the entry"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell or an entry that there is not.
    pub fn slip_if_moved(&self, cell: Cell, entry: usize, by: f64) -> Result<Option<f64>, OutOfRange> {
        let at = self.evidence.cell(cell)?;
        let entries = &self.evidence.cells[at].observations;
        within("place of the entry", "", entry as f64, 0.0..entries.len() as f64)?;
        within("shift", "logMAR", by, -3.0..=3.0)?;
        let on_scale = (LOWEST..=HIGHEST).contains(&(entries[entry].size.get() + by));
        Ok(on_scale.then(|| self.slips_at(&[Asked { cell: at, entry, by }])).and_then(|found| found.first().copied()))
    }

    /// Which entries should their writers be asked about?
    ///
    /// **Formula** a slip more probable than 0.5; of the shifts by a factor of
    /// ten or a hundred, inches, feet and double distance those after which it is
    /// below 0.1. **Source** common practice, set by simulation. **Range** all
    /// entries of all cells.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Device, Prior, everyday};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// assert!(unseen.suspects()?.is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// None but those of a fault in the arithmetic.
    pub fn suspects(&self) -> Result<Vec<Suspect>, OutOfRange> {
        let mut asked = Vec::new();
        for (cell, known) in self.evidence.cells.iter().enumerate() {
            asked.extend((0..known.observations.len()).map(|entry| Asked { cell, entry, by: 0.0 }));
        }
        let first = self.slips_at(&asked);
        let odd: Vec<(Asked, f64)> = asked.into_iter().zip(first).filter(|(_, slip)| *slip > SUSPECT).collect();
        let ways = || SLIPS.into_iter().flat_map(|(slip, size)| [(slip, size), (slip, -size)]);
        let on_scale = |asked: &Asked, by: f64| {
            (LOWEST..=HIGHEST).contains(&(self.evidence.cells[asked.cell].observations[asked.entry].size.get() + by))
        };
        let mut moved = Vec::new();
        let mut whose = Vec::new();
        for (at, (asked, _)) in odd.iter().enumerate() {
            for (slip, by) in ways().filter(|(_, by)| on_scale(asked, *by)) {
                moved.push(Asked { by, ..*asked });
                whose.push((at, slip));
            }
        }
        let after = self.slips_at(&moved);
        let mut found: Vec<Suspect> = odd
            .into_iter()
            .map(|(asked, probability)| {
                let cell = self.address(asked.cell);
                Suspect { cell, entry: asked.entry, probability, shifts: Vec::new() }
            })
            .collect();
        for ((asked, remaining), (at, slip)) in moved.iter().zip(after).zip(whose) {
            if remaining < FITS {
                found[at].shifts.push(Shift { slip, by: asked.by, remaining });
            }
        }
        for suspect in &mut found {
            suspect.shifts.sort_by(|a, b| a.remaining.total_cmp(&b.remaining));
        }
        Ok(found)
    }

    /// The device and setting of a cell's place in the list of all.
    fn address(&self, place: usize) -> Cell {
        let devices = self.evidence.devices.iter().enumerate();
        let mut of = devices.filter(|(_, known)| known.cells.contains(&place));
        of.next().map_or(Cell { device: 0, setting: place }, |(device, known)| Cell {
            device,
            setting: place - known.cells.start,
        })
    }

    /// Several slips, kind by kind, so that each table is made once.
    fn slips_at(&self, asked: &[Asked]) -> Vec<f64> {
        let seen = |asked: &Asked| self.evidence.cells[asked.cell].observations[asked.entry];
        let mut kinds: BTreeMap<(u64, Saw), (Guess, Vec<usize>)> = BTreeMap::new();
        let mut days: BTreeMap<usize, Vec<(usize, Row)>> = BTreeMap::new();
        for (at, one) in asked.iter().enumerate() {
            let entry = seen(one);
            let key = (entry.guess.get().to_bits(), entry.saw.plain());
            kinds.entry(key).or_insert_with(|| (entry.guess, Vec::new())).1.push(at);
            days.entry(one.cell).or_insert_with(|| self.days(one.cell));
        }
        let mut all = vec![0.0; asked.len()];
        for ((_, saw), (guess, places)) in kinds {
            let table = shelf::table(guess, Of::Slip(saw));
            // Between two places of the grid it goes in a straight line, so that
            // the places are enough.
            let mut known: BTreeMap<(usize, usize), f64> = BTreeMap::new();
            let mut slip = |cell: usize, size: usize| -> f64 {
                let sum = || days[&cell].iter().map(|(node, row)| dot(&row[..SIZES], table.row(*node, size))).sum();
                *known.entry((cell, size)).or_insert_with(sum)
            };
            for at in places {
                let one = &asked[at];
                let (lower, beyond) = place(seen(one).size.get() + one.by);
                let here = slip(one.cell, lower);
                let there = if beyond > 0.0 { slip(one.cell, lower + 1) } else { here };
                // Sums of thousands of shares may miss the ends by their rounding.
                all[at] = (here + (there - here) * beyond).clamp(0.0, 1.0);
            }
        }
        all
    }

    /// The mean of a cell's days, by node, each in sum its weight.
    fn days(&self, cell: usize) -> Vec<(usize, Row)> {
        let known = &self.evidence.cells[cell];
        let mut all: Vec<Option<Row>> = vec![None; NODES];
        for given in &self.given {
            let Some(likely) = known.nodes.get(given.node) else { continue };
            // What all else says of the threshold, then what it says of the days.
            let mut rest = given.cells[cell];
            rest.iter_mut()
                .zip(&likely.threshold)
                .for_each(|(rest, own)| *rest = if *own > 0.0 { *rest / own } else { 0.0 });
            let mut row = known.days.given(&rest);
            row.iter_mut().zip(&likely.days).for_each(|(row, days)| *row *= days);
            let sum: f32 = row.iter().sum();
            if sum > 0.0 {
                let into = all[given.node].get_or_insert([0.0; WIDTH]);
                add_scaled(into, given.weight as f32 / sum, &row);
            }
        }
        all.into_iter().enumerate().filter_map(|(at, row)| Some((at, row?))).collect()
    }
}
