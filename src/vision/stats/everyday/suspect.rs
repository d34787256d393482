//! May an entry be mistyped: 5 mm where the rest says 5 cm?
//!
//! An entry that does not fit is never corrected and never dropped; it loses
//! its pull by itself. What follows from it is a question to whoever wrote it.

use std::collections::BTreeMap;

use super::grid::{HIGHEST, LOWEST, NODES, Row, WIDTH, dot, place};
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
        let days = self.days(at);
        let mut tables = Tables::default();
        let mut known = BTreeMap::new();
        Ok(self.evidence.cells[at]
            .observations
            .iter()
            .map(|seen| {
                let key = (seen.guess.get().to_bits(), seen.saw.plain(), seen.size.get().to_bits());
                *known.entry(key).or_insert_with(|| tables.slip(&days, seen.guess, seen.saw, seen.size.get()))
            })
            .collect())
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
        Ok(on_scale.then(|| Tables::default().slip(&self.days(at), seen.guess, seen.saw, moved)))
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
        for (device, known) in self.evidence.devices.iter().enumerate() {
            for setting in 0..known.cells.len() {
                let cell = Cell { device, setting };
                for (entry, probability) in self.slips(cell)?.into_iter().enumerate() {
                    if probability > SUSPECT {
                        found.push(Suspect { cell, entry, probability, shifts: self.shifts(cell, entry)? });
                    }
                }
            }
        }
        Ok(found)
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

/// Tables of slips, made once for all entries of one kind.
#[derive(Default)]
struct Tables {
    curves: BTreeMap<u64, Curve>,
    tables: BTreeMap<(u64, Saw), Table>,
}

impl Tables {
    fn slip(&mut self, days: &[(usize, Row)], guess: Guess, saw: Saw, size: f64) -> f64 {
        let bits = guess.get().to_bits();
        let curve = self.curves.entry(bits).or_insert_with(|| Curve::of(guess));
        let table = self.tables.entry((bits, saw.plain())).or_insert_with(|| Table::slip(curve, saw));
        let at = place(size);
        let sum: f64 = days.iter().map(|(node, row)| dot(row, &table.at(*node, at))).sum();
        sum.clamp(0.0, 1.0)
    }
}
