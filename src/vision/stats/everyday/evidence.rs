//! What the observations of each cell say at every node, before any assumption.
//!
//! Does not know the assumptions. Read next: `posterior.rs`.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use super::grid::{APART, DAYS_DIFFER, Kernel, NODES, Row, SIZES, WIDTH, add_scaled, place};
use super::shelf::{self, Of};
use super::{Behind, Cell, Device, Guess, Observation, Prior, Saw, behind, checked, sessions};
use crate::vision::stats::Refused;
use crate::vision::units::{OutOfRange, within};

/// No likelihood is taken for less than this part of the best: a product of
/// several must stay above nothing.
const FLOOR: f32 = 1e-30;

/// One cell at one node.
pub(super) struct Likely {
    /// The logarithm of its largest value.
    pub(super) scale: f64,
    /// Over the mean of its days, the largest 1.
    pub(super) days: Row,
    /// Over its threshold: the same with the days' scatter around it.
    pub(super) threshold: Row,
    /// What it says of the device's threshold, by how far settings differ: kept,
    /// because settings are also looked at apart from one another.
    pub(super) says: [OnceLock<Row>; APART.len()],
}

/// What is known of one cell.
pub(super) struct KnownCell {
    pub(super) observations: Vec<Observation>,
    pub(super) behind: Behind,
    /// The scatter of the mean of its days.
    pub(super) days: Kernel,
    /// Per node; empty without observations.
    pub(super) nodes: Vec<Likely>,
}

/// What is known of one device.
pub(super) struct KnownDevice {
    pub(super) prior: Prior,
    /// The places of its cells.
    pub(super) cells: std::ops::Range<usize>,
}

/// All observations, as likelihoods.
pub(super) struct Evidence {
    pub(super) devices: Vec<KnownDevice>,
    /// Shared, because settings are also looked at apart from one another.
    pub(super) cells: Arc<[KnownCell]>,
}

/// Observations of one kind: per cell and place of the grid, their weight.
type Kind = (Guess, Saw, BTreeMap<(usize, usize), f64>);

impl Evidence {
    pub(super) fn of(devices: &[Device]) -> Result<Self, Refused> {
        checked(devices)?;
        let (mut known, mut cells) = (Vec::new(), Vec::new());
        for device in devices {
            let first = cells.len();
            for observations in &device.settings {
                cells.push(KnownCell {
                    behind: behind(observations),
                    days: Kernel::normal(DAYS_DIFFER / sessions(observations)?.sqrt()),
                    observations: observations.clone(),
                    nodes: Vec::new(),
                });
            }
            known.push(KnownDevice { prior: device.prior, cells: first..cells.len() });
        }
        add_up(&mut cells);
        Ok(Self { devices: known, cells: cells.into() })
    }

    /// The place of a cell in the list of all.
    pub(super) fn cell(&self, cell: Cell) -> Result<usize, OutOfRange> {
        let device = self.device(cell.device)?;
        let last = device.cells.len() as f64 - 1.0;
        within("place of the setting", "", cell.setting as f64, 0.0..=last)?;
        Ok(device.cells.start + cell.setting)
    }

    pub(super) fn device(&self, device: usize) -> Result<&KnownDevice, OutOfRange> {
        within("place of the device", "", device as f64, 0.0..=self.devices.len() as f64 - 1.0)?;
        Ok(&self.devices[device])
    }
}

fn likely(sum: &Row, days: &Kernel) -> Likely {
    let best = sum[..SIZES].iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let mut row = [0.0; WIDTH];
    for (value, log) in row.iter_mut().zip(&sum[..SIZES]) {
        // The floor: see FLOOR.
        *value = (log - best).exp().max(FLOOR);
    }
    Likely { scale: f64::from(best), days: row, threshold: days.mean(&row), says: Default::default() }
}

/// Observations of one kind have one table.
fn kinds(cells: &[KnownCell]) -> BTreeMap<(u64, Saw), Kind> {
    let mut kinds: BTreeMap<(u64, Saw), Kind> = BTreeMap::new();
    for (cell, known) in cells.iter().enumerate() {
        for seen in &known.observations {
            let saw = seen.saw.plain();
            let key = (seen.guess.get().to_bits(), saw);
            let (_, _, places) = kinds.entry(key).or_insert_with(|| (seen.guess, saw, BTreeMap::new()));
            // A size between two places counts for both, by its distance from each.
            let (lower, beyond) = place(seen.size.get());
            *places.entry((cell, lower)).or_insert(0.0) += seen.weight * (1.0 - beyond);
            if beyond > 0.0 {
                *places.entry((cell, lower + 1)).or_insert(0.0) += seen.weight * beyond;
            }
        }
    }
    kinds
}

fn add_up(cells: &mut [KnownCell]) {
    let mut sums: Vec<Vec<Row>> = cells
        .iter()
        .map(|cell| if cell.observations.is_empty() { Vec::new() } else { vec![[0.0; WIDTH]; NODES] })
        .collect();
    for (guess, saw, places) in kinds(cells).into_values() {
        let table = shelf::table(guess, Of::Likelihood(saw));
        // Node by node, so that one row of the table and the sums of that node stay
        // close to the processor while all places are added.
        (0..NODES).for_each(|node| {
            for ((cell, size), weight) in &places {
                let row = table.row(node, *size);
                add_scaled(&mut sums[*cell][node][..row.len()], *weight as f32, row);
            }
        });
    }
    for (cell, sums) in cells.iter_mut().zip(sums) {
        cell.nodes = sums.iter().map(|sum| likely(sum, &cell.days)).collect();
    }
}
