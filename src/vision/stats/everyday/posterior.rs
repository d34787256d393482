//! Assumptions and observations together, by exact message passing.
//!
//! Given what all cells share (a node) and how far settings differ (τ), the
//! devices are independent, and each is a star: its own threshold in the
//! middle, its settings around it. So every marginal is a few sums over the
//! grid, and the whole is their mean over the nodes, weighted by how well each
//! explains everything.
//!
//! Does not know what will be asked. Read next: `threshold.rs`.

use super::evidence::Evidence;
use super::grid::{APART, Bins, COURSES, Kernel, NODES, Row, SIZES, WIDTH, add_scaled, course_of, node};

/// Nodes this far below the best, in natural logarithms, cannot matter.
const TOO_FAR: f64 = 7.0;

/// The share of the weight that the nodes kept must hold.
const KEPT: f64 = 0.998;

/// The node of τ with the most weight, with which the others are sifted.
const SIFT: usize = 1;

/// One node, with everything that holds given it.
pub(super) struct Given {
    pub(super) weight: f64,
    pub(super) node: usize,
    pub(super) apart: usize,
    /// Each device's threshold over its settings, in sum 1.
    pub(super) devices: Vec<Row>,
    /// Each cell's threshold, in sum 1.
    pub(super) cells: Vec<Row>,
}

/// What is known of all devices and settings of one student.
pub struct Posterior {
    pub(super) evidence: Evidence,
    pub(super) given: Vec<Given>,
}

impl std::fmt::Debug for Posterior {
    /// How much there is, and nothing of what was observed.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (devices, cells) = (self.evidence.devices.len(), self.evidence.cells.len());
        write!(f, "Posterior of {devices} devices in {cells} cells, over {} nodes", self.given.len())
    }
}

/// The messages of one device at one node.
pub(super) struct Star<'a> {
    /// Over the device's threshold, with all its cells.
    pub(super) middle: [f64; SIZES],
    /// What each cell says of the device's threshold; none without observations.
    pub(super) says: Vec<Option<&'a Row>>,
    /// The logarithm of the sum of the middle.
    pub(super) log_sum: f64,
}

/// Kernels for all four τ.
pub(super) fn kernels() -> [Kernel; APART.len()] {
    APART.map(|(apart, _)| Kernel::normal(apart))
}

impl Evidence {
    pub(super) fn star(&self, device: usize, node: usize, apart: (usize, &Kernel), prior: &[f64; SIZES]) -> Star<'_> {
        let known = &self.devices[device];
        let mut middle = *prior;
        let mut log_sum = 0.0;
        let mut says = Vec::with_capacity(known.cells.len());
        for cell in known.cells.clone() {
            let said = self.cells[cell].nodes.get(node).map(|likely| {
                log_sum += likely.scale;
                likely.says[apart.0].get_or_init(|| apart.1.mean(&likely.threshold))
            });
            if let Some(said) = said {
                middle.iter_mut().zip(said).for_each(|(middle, said)| *middle *= f64::from(*said));
            }
            says.push(said);
        }
        let sum: f64 = middle.iter().sum();
        Star { middle, says, log_sum: log_sum + sum.ln() }
    }
}

/// Scaled so that the sum is 1; a row of nothing stays one.
fn whole(row: &mut Row) {
    let sum: f32 = row.iter().sum();
    if sum > 0.0 {
        row.iter_mut().for_each(|value| *value /= sum);
    }
}

/// A row of products as 32-bit numbers, the largest 1.
pub(super) fn scaled(values: &[f64; SIZES]) -> Row {
    let most = values.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let mut row = [0.0; WIDTH];
    row.iter_mut().zip(values).for_each(|(row, value)| *row = (value / most) as f32);
    row
}

impl Posterior {
    pub(super) fn of(evidence: Evidence) -> Self {
        let kernels = kernels();
        let priors: Vec<[f64; SIZES]> = evidence.devices.iter().map(|device| device.prior.density()).collect();
        let log_weight = |index: usize, apart: usize| -> (f64, Vec<Star<'_>>) {
            let stars: Vec<Star<'_>> = priors
                .iter()
                .enumerate()
                .map(|(device, prior)| evidence.star(device, index, (apart, &kernels[apart]), prior))
                .collect();
            let log = stars.iter().map(|star| star.log_sum).sum::<f64>();
            (node(index).log_weight + APART[apart].1.ln() + log, stars)
        };
        let mut all: Vec<(f64, usize, usize, Vec<Star<'_>>)> = Vec::new();
        for index in 0..NODES {
            let (log, stars) = log_weight(index, SIFT);
            all.push((log, index, SIFT, stars));
        }
        let best = all.iter().map(|(log, ..)| *log).fold(f64::NEG_INFINITY, f64::max);
        all.retain(|(log, ..)| *log >= best - TOO_FAR);
        let sifted: Vec<usize> = all.iter().map(|(_, index, ..)| *index).collect();
        for apart in (0..APART.len()).filter(|apart| *apart != SIFT) {
            for index in &sifted {
                let (log, stars) = log_weight(*index, apart);
                all.push((log, *index, apart, stars));
            }
        }
        // Sorting is stable, so that equal weights keep their order.
        all.sort_by(|a, b| b.0.total_cmp(&a.0));
        let best = all.first().map_or(0.0, |(log, ..)| *log);
        let total: f64 = all.iter().map(|(log, ..)| (log - best).exp()).sum();
        let mut kept = 0.0;
        let mut given = Vec::new();
        for (log, index, apart, stars) in all {
            if kept >= KEPT {
                break;
            }
            let weight = (log - best).exp() / total;
            kept += weight;
            given.push(evidence.given(weight, (index, apart), &stars, &kernels[apart]));
        }
        for one in &mut given {
            one.weight /= kept;
        }
        Self { evidence, given }
    }

    /// The threshold of a cell over all nodes.
    pub(super) fn cell_bins(&self, cell: usize) -> Bins {
        self.bins(|given| &given.cells[cell])
    }

    /// The threshold of a device over its settings, over all nodes.
    pub(super) fn device_bins(&self, device: usize) -> Bins {
        self.bins(|given| &given.devices[device])
    }

    fn bins<'a>(&'a self, row: impl Fn(&'a Given) -> &'a Row) -> Bins {
        let mut sum = [0.0; SIZES];
        for given in &self.given {
            sum.iter_mut().zip(row(given)).for_each(|(sum, share)| *sum += given.weight * f64::from(*share));
        }
        Bins::over_sizes(sum)
    }

    /// A cell's threshold by node, over all τ, each with its weight; empty rows left out.
    pub(super) fn by_node(&self, cell: usize) -> Vec<(usize, Row)> {
        self.grouped(cell, NODES, |given| given.node)
    }

    /// The same by course: how alike items are does not matter to a true rate.
    pub(super) fn by_course(&self, cell: usize) -> Vec<(usize, Row)> {
        self.grouped(cell, COURSES, |given| course_of(given.node))
    }

    fn grouped(&self, cell: usize, groups: usize, of: impl Fn(&Given) -> usize) -> Vec<(usize, Row)> {
        let mut all: Vec<Option<Row>> = vec![None; groups];
        for given in &self.given {
            let row = all[of(given)].get_or_insert([0.0; WIDTH]);
            add_scaled(row, given.weight as f32, &given.cells[cell]);
        }
        all.into_iter().enumerate().filter_map(|(at, row)| Some((at, row?))).collect()
    }

    /// Do the results vary a lot from tally to tally?
    ///
    /// **Formula** the mean of ρ above 0.15. **Source** common practice. **Range** shown as
    /// these words, never as a figure.
    ///
    /// ```
    /// use farpoint::vision::stats::everyday::{Device, Prior, everyday};
    /// let nothing = Device { prior: Prior::bare(None)?, settings: vec![vec![]] };
    /// assert!(!everyday(&[nothing])?.varies_a_lot());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn varies_a_lot(&self) -> bool {
        self.given.iter().map(|given| given.weight * node(given.node).alike).sum::<f64>() > 0.15
    }
}

impl Evidence {
    fn given(&self, weight: f64, (index, apart): (usize, usize), stars: &[Star<'_>], kernel: &Kernel) -> Given {
        let mut given = Given { weight, node: index, apart, devices: Vec::new(), cells: Vec::new() };
        for (known, star) in self.devices.iter().zip(stars) {
            let mut middle = scaled(&star.middle);
            whole(&mut middle);
            for (cell, said) in known.cells.clone().zip(&star.says) {
                // What all but this cell say of the device, and from there to the cell.
                let mut row = kernel.given(&others(star, *said));
                if let Some(likely) = self.cells[cell].nodes.get(index) {
                    row.iter_mut().zip(&likely.threshold).for_each(|(row, likely)| *row *= likely);
                }
                whole(&mut row);
                given.cells.push(row);
            }
            given.devices.push(middle);
        }
        given
    }
}

/// What a device is taken for without one of its cells.
fn others(star: &Star<'_>, said: Option<&Row>) -> Row {
    match said {
        None => scaled(&star.middle),
        // Likelihoods have a floor, so that this never divides by nothing.
        Some(said) => {
            let mut rest = star.middle;
            rest.iter_mut().zip(said).for_each(|(rest, said)| *rest /= f64::from(*said));
            scaled(&rest)
        }
    }
}
