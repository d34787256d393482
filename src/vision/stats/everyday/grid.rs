//! The fixed grids on which the posterior is computed, and kernels over them.
//!
//! Fixed nodes make the answer the same on every machine and at every call.
//! The nodes were held against brute-force integration: means within 0.002.
//!
//! Does not know what is observed or asked.

/// Thresholds from −0.60 to 2.40 in steps of 0.02.
pub(super) const SIZES: usize = 151;
pub(super) const LOWEST: f64 = -0.6;
pub(super) const HIGHEST: f64 = 2.4;
pub(super) const STEP: f64 = 0.02;

/// A row over the thresholds; the last place only fills a register, and is 0.
pub(super) const WIDTH: usize = 152;
pub(super) type Row = [f32; WIDTH];

/// Nodes of the spread: evenly in its logarithm; median 0.10, log-SD 0.5.
const SPREADS: usize = 8;
const SPREAD_ENDS: (f64, f64) = (0.03, 0.40);

/// Gauss-Jacobi nodes and weights of Beta(1, 19) for lapses.
pub(super) const LAPSES: [(f64, f64); 4] =
    [(0.014_235_4, 0.535_726_3), (0.074_742_8, 0.396_277_8), (0.183_144_5, 0.066_111_5), (0.343_261_9, 0.001_884_4)];

/// The squares of those of Beta(2, 6), for how alike the items of a tally are.
const ALIKE: [(f64, f64); 4] =
    [(0.005_162_26, 0.245_424_4), (0.052_410_83, 0.502_072_5), (0.197_396_92, 0.230_599_0), (0.467_165, 0.021_904_0)];

/// Gauss nodes and weights of a half-normal of 0.10, for how far settings differ.
pub(super) const APART: [(f64, f64); 4] = [
    (0.018_918_85, 0.367_065_1),
    (0.088_292_84, 0.475_168_5),
    (0.189_863_52, 0.150_573_7),
    (0.319_989_08, 0.007_192_7),
];

/// How far days differ, in logMAR.
pub(super) const DAYS_DIFFER: f64 = 0.08;

/// All courses (spread and lapse), and with the four ways items are alike.
pub(super) const COURSES: usize = SPREADS * LAPSES.len();
pub(super) const NODES: usize = COURSES * ALIKE.len();

/// What is shared by everything one student does.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
    pub(super) spread: f64,
    pub(super) lapse: f64,
    pub(super) alike: f64,
    /// The logarithm of its weight before any observation.
    pub(super) log_weight: f64,
}

/// The node of an index; nodes of one course follow one another.
pub(super) fn node(index: usize) -> Node {
    let ratio = (SPREAD_ENDS.1 / SPREAD_ENDS.0).ln() / (SPREADS - 1) as f64;
    let spread = |at: usize| SPREAD_ENDS.0 * (ratio * at as f64).exp();
    let weight = |spread: f64| (-0.5 * ((spread / 0.10).ln() / 0.5).powi(2)).exp();
    let total: f64 = (0..SPREADS).map(|at| weight(spread(at))).sum();
    let (course, alike) = (index / ALIKE.len(), ALIKE[index % ALIKE.len()]);
    let lapse = LAPSES[course % LAPSES.len()];
    let spread = spread(course / LAPSES.len());
    let log_weight = (weight(spread) / total * lapse.1 * alike.1).ln();
    Node { spread, lapse: lapse.0, alike: alike.0, log_weight }
}

/// The course of a node.
pub(super) const fn course_of(index: usize) -> usize {
    index / ALIKE.len()
}

/// How many nodes a course has.
pub(super) const ALIKES: usize = ALIKE.len();

/// The threshold at a place of the grid.
pub(super) fn size(at: usize) -> f64 {
    LOWEST + STEP * at as f64
}

/// A number between two places: the lower place, and how far beyond it.
pub(super) fn place(x: f64) -> (usize, f64) {
    // Sizes were checked to lie on the scale; rounding may put one beside it.
    let exact = ((x - LOWEST) / STEP).clamp(0.0, (SIZES - 1) as f64);
    let lower = exact.floor();
    let beyond = exact - lower;
    // A size typed in hundredths lies on the grid but for rounding.
    if beyond < 1e-6 {
        (lower as usize, 0.0)
    } else if beyond > 1.0 - 1e-6 {
        (lower as usize + 1, 0.0)
    } else {
        (lower as usize, beyond)
    }
}

/// A normal distribution around each place, cut at 3.6 deviations and at the
/// ends of the grid, where what is left is made whole again.
pub(super) struct Kernel {
    taps: Vec<f32>,
    whole: Row,
}

impl Kernel {
    pub(super) fn normal(deviation: f64) -> Self {
        // There are no places beyond the grid to reach.
        let reach = ((3.6 * deviation / STEP).ceil() as usize).min(SIZES);
        let density = |at: usize| (-0.5 * ((at as f64 - reach as f64) * STEP / deviation).powi(2)).exp();
        let sum: f64 = (0..=2 * reach).map(density).sum();
        let taps = (0..=2 * reach).map(|at| (density(at) / sum) as f32).collect();
        let mut kernel = Self { taps, whole: [1.0; WIDTH] };
        let mut ones = [1.0; WIDTH];
        ones[SIZES] = 0.0;
        kernel.whole = kernel.spread(&ones);
        kernel.whole[SIZES] = 1.0;
        kernel
    }

    fn reach(&self) -> usize {
        self.taps.len() / 2
    }

    /// The share that goes from one place to another; 0 beyond the reach.
    pub(super) fn tap_from(&self, from: usize, to: usize) -> f32 {
        let apart = from.abs_diff(to);
        if apart > self.reach() { 0.0 } else { self.taps[self.reach() + apart] / self.whole[from] }
    }

    /// The mean around each place.
    pub(super) fn mean(&self, row: &Row) -> Row {
        let mut out = self.spread(row);
        for (value, whole) in out.iter_mut().zip(&self.whole) {
            *value /= whole;
        }
        out
    }

    /// The way back: each place gives its share to its neighbours.
    pub(super) fn given(&self, row: &Row) -> Row {
        let mut shares = *row;
        for (value, whole) in shares.iter_mut().zip(&self.whole) {
            *value /= whole;
        }
        self.spread(&shares)
    }

    fn spread(&self, row: &Row) -> Row {
        let mut padded = [0.0_f32; WIDTH + 2 * SIZES];
        let reach = self.reach();
        padded[reach..reach + SIZES].copy_from_slice(&row[..SIZES]);
        let mut out = [0.0; WIDTH];
        for (tap, from) in self.taps.iter().zip(0..) {
            add_scaled(&mut out, *tap, &padded[from..from + WIDTH]);
        }
        out[SIZES] = 0.0;
        out
    }
}

/// Adds a multiple of a row to one that is not longer, place by place.
///
/// Counted by hand: optimised it is what an iterator gives, and unoptimised,
/// where tests spent a fifth of their time here, a quarter of it.
pub(super) fn add_scaled(to: &mut [f32], by: f32, row: &[f32]) {
    let row = &row[..to.len()];
    let mut at = 0;
    while at < row.len() {
        to[at] += by * row[at];
        at += 1;
    }
}

/// The sum of products of two rows, in eight sums that the processor can add side by side.
pub(super) fn dot(one: &[f32], other: &[f32]) -> f64 {
    let mut sums = [0.0_f32; 8];
    let (a, b) = (one.chunks_exact(8), other.chunks_exact(8));
    let rest: f32 = a.remainder().iter().zip(b.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a.zip(b) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    f64::from(sums.iter().sum::<f32>() + rest)
}

/// A distribution in equal bins: over thresholds, or over their differences.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bins {
    /// The middle of the first bin, and the width of all.
    pub(super) first: f64,
    pub(super) width: f64,
    /// The share up to the upper edge of each bin; the last is 1.
    upto: Vec<f64>,
}

impl Bins {
    /// Takes weights that need not sum to one.
    pub(super) fn new(first: f64, width: f64, weights: impl IntoIterator<Item = f64>) -> Self {
        let mut sum = 0.0;
        let mut upto: Vec<f64> = weights
            .into_iter()
            .map(|weight| {
                sum += weight;
                sum
            })
            .collect();
        for share in &mut upto {
            *share /= sum;
        }
        Self { first, width, upto }
    }

    pub(super) fn over_sizes(weights: impl IntoIterator<Item = f64>) -> Self {
        Self::new(LOWEST, STEP, weights)
    }

    fn shares(&self) -> impl Iterator<Item = (f64, f64)> {
        let before = std::iter::once(0.0).chain(self.upto.iter().copied());
        let middles = (0..self.upto.len()).map(|at| self.first + self.width * at as f64);
        middles.zip(self.upto.iter().zip(before).map(|(upto, before)| upto - before))
    }

    pub(super) fn mean(&self) -> f64 {
        self.shares().map(|(middle, share)| middle * share).sum()
    }

    pub(super) fn deviation(&self) -> f64 {
        let mean = self.mean();
        self.shares().map(|(middle, share)| share * (middle - mean).powi(2)).sum::<f64>().sqrt()
    }

    /// The share below a value, even within each bin.
    pub(super) fn below(&self, value: f64) -> f64 {
        let place = (value - self.first) / self.width + 0.5;
        if place <= 0.0 {
            return 0.0;
        }
        let bin = place.floor() as usize;
        match self.upto.get(bin) {
            None => 1.0,
            Some(upto) => {
                let before = if bin == 0 { 0.0 } else { self.upto[bin - 1] };
                before + (upto - before) * (place - place.floor())
            }
        }
    }

    /// The value below which a share lies.
    pub(super) fn quantile(&self, share: f64) -> f64 {
        // The last bin ends at 1, which rounding may put above it.
        let bin = self.upto.partition_point(|upto| *upto < share).min(self.upto.len() - 1);
        let before = if bin == 0 { 0.0 } else { self.upto[bin - 1] };
        let within = self.upto[bin] - before;
        let part = if within > 0.0 { (share - before) / within } else { 0.5 };
        self.first + self.width * (bin as f64 - 0.5 + part)
    }
}
