//! May an entry be mistyped: 5 mm where the rest says 5 cm?
//!
//! An entry that does not fit is never corrected and never dropped; it loses
//! its pull by itself. What follows from it is a question to whoever wrote it.

use std::collections::BTreeMap;

use super::grid::{HIGHEST, LOWEST, NODES, Row, SIZES, WIDTH, dot, place};
use super::table::{Curve, Table};
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
const SLIPS: [(Slip, f64); 5] =
    [(Slip::TenTimes, 1.0), (Slip::Inches, 0.405), (Slip::Feet, 0.516), (Slip::Double, 0.301), (Slip::HundredTimes, 2.0)];

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
        let mut all = self.slips_of(at..at + 1);
        Ok(all.pop().unwrap_or_default())
    }

    /// How probable would a slip be, were the target of this entry larger by so much?
    ///
    /// **Formula**, **Source** as [`Posterior::slips`]. **Range** none where the
    /// shift leads off the scale of sizes.
    ///
    /// # Errors
    /// A cell or an entry that there is not.
    pub fn slip_if_moved(&self, cell: Cell, entry: usize, by: f64) -> Result<Option<f64>, OutOfRange> {
        let at = self.evidence.cell(cell)?;
        let entries = &self.evidence.cells[at].observations;
        within("place of the entry", "", entry as f64, 0.0..=entries.len() as f64 - 1.0)?;
        let seen = entries[entry];
        let moved = seen.size.get() + within("shift", "logMAR", by, -3.0..=3.0)?;
        let on_scale = (LOWEST..=HIGHEST).contains(&moved);
        Ok(on_scale.then(|| slip_at(&self.days(at), seen.guess, seen.saw, moved)))
    }

    /// Which entries should their writers be asked about?
    ///
    /// **Formula** a slip more probable than 0.5; of the shifts by a factor of
    /// ten or a hundred, inches, feet and double distance those after which it is
    /// below 0.1. **Source** common practice, set by simulation. **Range** all
    /// entries of all cells.
    ///
    /// # Errors
    /// None but those of a fault in the arithmetic.
    pub fn suspects(&self) -> Result<Vec<Suspect>, OutOfRange> {
        let mut found = Vec::new();
        let all = self.slips_of(0..self.evidence.cells.len());
        for (device, known) in self.evidence.devices.iter().enumerate() {
            for (setting, at) in known.cells.clone().enumerate() {
                let cell = Cell { device, setting };
                for (entry, probability) in all[at].iter().enumerate().filter(|(_, slip)| **slip > SUSPECT) {
                    let shifts = self.shifts(cell, entry)?;
                    found.push(Suspect { cell, entry, probability: *probability, shifts });
                }
            }
        }
        Ok(found)
    }

    /// The slips of several cells, kind by kind, so that each table is made once.
    fn slips_of(&self, cells: std::ops::Range<usize>) -> Vec<Vec<f64>> {
        let mut kinds: BTreeMap<(u64, Saw), (Guess, Vec<(usize, usize)>)> = BTreeMap::new();
        for (at, cell) in cells.clone().enumerate() {
            for (entry, seen) in self.evidence.cells[cell].observations.iter().enumerate() {
                let key = (seen.guess.get().to_bits(), seen.saw.plain());
                kinds.entry(key).or_insert_with(|| (seen.guess, Vec::new())).1.push((at, entry));
            }
        }
        let days: Vec<Vec<(usize, Row)>> = cells.clone().map(|cell| self.days(cell)).collect();
        let mut kept = [false; NODES];
        days.iter().flatten().for_each(|(node, _)| kept[*node] = true);
        let mut all: Vec<Vec<f64>> =
            cells.clone().map(|cell| vec![0.0; self.evidence.cells[cell].observations.len()]).collect();
        let mut curve: Option<(Guess, Curve)> = None;
        for ((_, saw), (guess, entries)) in kinds {
            let of_guess = match curve.take() {
                Some((of, curve)) if of == guess => curve,
                _ => Curve::of(guess),
            };
            let table = Table::slip(&of_guess, saw, |node| kept[node]);
            // Between two places of the grid it goes in a straight line, so that
            // the places are enough.
            let mut known: BTreeMap<(usize, usize), f64> = BTreeMap::new();
            let mut slip = |cell: usize, size: usize| -> f64 {
                let sum = || days[cell].iter().map(|(node, row)| dot(&row[..SIZES], table.row(*node, size))).sum();
                *known.entry((cell, size)).or_insert_with(sum)
            };
            for (cell, entry) in entries {
                let observations = &self.evidence.cells[cells.start + cell].observations;
                let (lower, beyond) = place(observations[entry].size.get());
                let here = slip(cell, lower);
                let there = if beyond > 0.0 { slip(cell, lower + 1) } else { here };
                all[cell][entry] = (here + (there - here) * beyond).clamp(0.0, 1.0);
            }
            curve = Some((guess, of_guess));
        }
        all
    }

    fn shifts(&self, cell: Cell, entry: usize) -> Result<Vec<Shift>, OutOfRange> {
        let mut shifts = Vec::new();
        for (slip, size) in SLIPS {
            for by in [size, -size] {
                if let Some(remaining) = self.slip_if_moved(cell, entry, by)?.filter(|left| *left < FITS) {
                    shifts.push(Shift { slip, by, remaining });
                }
            }
        }
        shifts.sort_by(|a, b| a.remaining.total_cmp(&b.remaining));
        Ok(shifts)
    }

    /// The mean of a cell's days, by node, each in sum its weight.
    fn days(&self, cell: usize) -> Vec<(usize, Row)> {
        let known = &self.evidence.cells[cell];
        let mut all: Vec<Option<Row>> = vec![None; NODES];
        for given in &self.given {
            let Some(likely) = known.nodes.get(given.node) else { continue };
            // What all else says of the threshold, then what it says of the days.
            let mut rest = given.cells[cell];
            rest.iter_mut().zip(&likely.threshold).for_each(|(rest, own)| *rest = if *own > 0.0 { *rest / own } else { 0.0 });
            let mut row = known.days.given(&rest);
            row.iter_mut().zip(&likely.days).for_each(|(row, days)| *row *= days);
            let sum: f32 = row.iter().sum();
            if sum > 0.0 {
                let weight = given.weight as f32 / sum;
                let into = all[given.node].get_or_insert([0.0; WIDTH]);
                into.iter_mut().zip(&row).for_each(|(into, value)| *into += weight * value);
            }
        }
        all.into_iter().enumerate().filter_map(|(at, row)| Some((at, row?))).collect()
    }
}

/// How probable a slip is at a size that nobody typed.
fn slip_at(days: &[(usize, Row)], guess: Guess, saw: Saw, size: f64) -> f64 {
    let (curve, at) = (Curve::of(guess), place(size));
    let table = Table::slip(&curve, saw, |node| days.iter().any(|(kept, _)| *kept == node));
    let sum: f64 = days.iter().map(|(node, row)| dot(row, &table.at(*node, at))).sum();
    // Sums of thousands of shares may miss the ends by their rounding.
    sum.clamp(0.0, 1.0)
}
