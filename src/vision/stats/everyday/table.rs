//! What an observation says at every distance between its size and the threshold.
//!
//! A likelihood depends on the size only by its distance to the threshold, so
//! one table serves all observations of one kind ("7 of 10 letters"), wherever
//! they stand: an observation is then one addition per place of the grid.
//!
//! Does not know cells or sizes, only distances.

use statrs::function::gamma::ln_gamma;

use super::grid::{ALIKES, COURSES, NODES, SIZES, STEP, WIDTH, add_scaled, course_of, node};
use super::{Guess, Saw};
use crate::vision::stats::observing::{MISUSED, SLIPS, items_of_word};
use crate::vision::stats::special::{ln_choose, normal_below};

/// Distances from −150 to 150 steps, and one place so that a row always fits.
const DISTANCES: usize = 2 * SIZES;

/// Chances lie on a grid of their logits, which reaches beyond what the lapses leave.
const CHANCES: usize = 256;
const LOGITS: (f64, f64) = (-9.0, 4.5);

/// Above so many items, products of factors give way to logarithms of factorials.
const FACTORS: u32 = 32;

/// Where the chance at each distance lies on the grid of logits, for one guess rate.
pub(super) struct Curve {
    /// The chance itself, per course and distance.
    chances: Vec<f32>,
    places: Vec<(u16, f32)>,
}

/// The chance at a place of the grid of logits.
fn chance(at: usize) -> f64 {
    let logit = LOGITS.0 + (LOGITS.1 - LOGITS.0) * at as f64 / (CHANCES - 1) as f64;
    1.0 / (1.0 + (-logit).exp())
}

impl Curve {
    pub(super) fn of(guess: Guess) -> Self {
        let (mut places, mut chances) = (Vec::new(), Vec::new());
        for course in 0..COURSES {
            let node = node(course * ALIKES);
            let span = 1.0 - guess.get() - node.lapse;
            for at in 0..DISTANCES {
                // The threshold runs forward, so the distance runs back.
                let distance = (SIZES as f64 - 1.0 - at as f64) * STEP;
                let p = guess.get() + span * normal_below(distance / node.spread);
                let logit = (p / (1.0 - p)).ln();
                // Beyond the ends of the grid a likelihood no longer changes.
                let exact = (logit - LOGITS.0) / (LOGITS.1 - LOGITS.0) * (CHANCES - 1) as f64;
                // Beyond the ends of the grid a likelihood no longer changes.
                let lower = exact.floor().clamp(0.0, (CHANCES - 2) as f64);
                // The same.
                places.push((lower as u16, (exact - lower).clamp(0.0, 1.0) as f32));
                chances.push(p as f32);
            }
        }
        Self { chances, places }
    }

    /// The chances of a course when the target has the size of this place.
    pub(super) fn chances(&self, course: usize, size: usize) -> &[f32] {
        let from = course * DISTANCES + SIZES - 1 - size;
        &self.chances[from..from + SIZES]
    }
}

/// What a table takes in memory.
pub(super) const TABLE_BYTES: usize = NODES * DISTANCES * size_of::<f32>();

/// A value per node and distance.
pub(super) struct Table(Vec<f32>);

impl Table {
    /// The values of a node for a target of this size, over the thresholds.
    pub(super) fn row(&self, node: usize, size: usize) -> &[f32] {
        let from = node * DISTANCES + SIZES - 1 - size;
        &self.0[from..from + SIZES]
    }

    /// Builds the rows of all nodes.
    fn build(curve: &Curve, of: impl Fn(f64) -> Vec<f64>) -> Self {
        let mut all = vec![0.0; NODES * DISTANCES];
        let profiles: Vec<Vec<f32>> =
            (0..ALIKES).map(|at| of(1.0 / node(at).alike - 1.0).into_iter().map(|v| v as f32).collect()).collect();
        for (index, row) in all.chunks_exact_mut(DISTANCES).enumerate() {
            let (course, profile) = (course_of(index), &profiles[index % ALIKES]);
            let places = &curve.places[course * DISTANCES..(course + 1) * DISTANCES];
            for (value, (lower, beyond)) in row.iter_mut().zip(places) {
                let lower = usize::from(*lower);
                *value = profile[lower] + (profile[lower + 1] - profile[lower]) * beyond;
            }
        }
        Self(all)
    }

    /// The robust log-likelihood of what was seen.
    pub(super) fn log_likelihood(curve: &Curve, saw: Saw) -> Self {
        Self::build(curve, |spread| robust(saw, spread).into_iter().map(f64::ln).collect())
    }

    /// The probability that what was seen is a slip.
    pub(super) fn slip(curve: &Curve, saw: Saw) -> Self {
        let by_chance = slip_chance(saw);
        Self::build(curve, |spread| robust(saw, spread).into_iter().map(|all| by_chance / all).collect())
    }

    /// The chance of exactly so many, or of so many and more, of so many.
    pub(super) fn count(curve: &Curve, items: u32, counts: std::ops::RangeInclusive<u32>) -> Self {
        Self::build(curve, |spread| chance_of(items, counts.clone(), spread))
    }

    /// The same on a day like any other, not on an average one.
    pub(super) fn on_any_day(&self, deviation: f64) -> Self {
        let reach = (3.6 * deviation / STEP).ceil() as usize;
        let density = |at: usize| (-0.5 * ((at as f64 - reach as f64) * STEP / deviation).powi(2)).exp();
        let sum: f64 = (0..=2 * reach).map(density).sum();
        let taps: Vec<f32> = (0..=2 * reach).map(|at| (density(at) / sum) as f32).collect();
        let mut all = Vec::with_capacity(self.0.len());
        for row in self.0.chunks_exact(DISTANCES) {
            // Three logMAR from the threshold nothing changes any more: the ends go on as they are.
            let (first, last) = (row[0], row[DISTANCES - 1]);
            let padded: Vec<f32> = std::iter::repeat_n(first, reach)
                .chain(row.iter().copied())
                .chain(std::iter::repeat_n(last, reach))
                .collect();
            let mut out = vec![0.0_f32; DISTANCES];
            for (at, tap) in taps.iter().enumerate() {
                add_scaled(&mut out, *tap, &padded[at..]);
            }
            all.extend(out);
        }
        Self(all)
    }

    /// All values between the rows of two neighbouring sizes, for one size between them.
    pub(super) fn at(&self, node: usize, place: (usize, f64)) -> [f32; WIDTH] {
        let mut row = [0.0; WIDTH];
        row[..SIZES].copy_from_slice(self.row(node, place.0));
        if place.1 > 0.0 {
            let beyond = place.1 as f32;
            for (value, next) in row.iter_mut().zip(self.row(node, place.0 + 1)) {
                *value += (next - *value) * beyond;
            }
        }
        row
    }
}

/// How likely what was seen is if it was a slip.
fn slip_chance(saw: Saw) -> f64 {
    match saw {
        Saw::Tally(tally) => SLIPS / (f64::from(tally.tried()) + 1.0),
        Saw::Word(..) => MISUSED / 4.0,
    }
}

fn robust(saw: Saw, spread: f64) -> Vec<f64> {
    let (items, counts, sound) = match saw {
        Saw::Tally(tally) => (tally.tried(), tally.right()..=tally.right(), 1.0 - SLIPS),
        Saw::Word(word, items) => {
            let items = items_of_word(items);
            (items, word.counts(items), 1.0 - MISUSED)
        }
    };
    let slip = slip_chance(saw);
    chance_of(items, counts, spread).into_iter().map(|chance| sound * chance + slip).collect()
}

/// The beta-binomial chance of these counts, at each chance of the grid.
fn chance_of(items: u32, counts: std::ops::RangeInclusive<u32>, spread: f64) -> Vec<f64> {
    let more_than_half = counts.end() + 1 > counts.start() + items.div_ceil(2) + 1;
    // The rest, when it is shorter to add up.
    if more_than_half {
        let (start, end) = counts.into_inner();
        let below = (0..start).map(|k| chance_of_one(items, k, spread));
        let above = (end + 1..=items).map(|k| chance_of_one(items, k, spread));
        let mut left = vec![1.0; CHANCES];
        for one in below.chain(above) {
            left.iter_mut().zip(one).for_each(|(left, one)| *left -= one);
        }
        // A rest below nothing is rounding.
        left.iter_mut().for_each(|left| *left = left.max(0.0));
        return left;
    }
    let mut sum = vec![0.0; CHANCES];
    for k in counts {
        sum.iter_mut().zip(chance_of_one(items, k, spread)).for_each(|(sum, one)| *sum += one);
    }
    sum
}

fn chance_of_one(items: u32, right: u32, spread: f64) -> Vec<f64> {
    let wrong = items - right;
    if items > FACTORS {
        let (n, k, w) = (f64::from(items), f64::from(right), f64::from(wrong));
        let whole = ln_choose(n, k) + ln_gamma(spread) - ln_gamma(n + spread);
        let rising = |from: f64, count: f64| ln_gamma(from + count) - ln_gamma(from);
        return (0..CHANCES)
            .map(|at| {
                let p = chance(at);
                (whole + rising(p * spread, k) + rising((1.0 - p) * spread, w)).exp()
            })
            .collect();
    }
    // C(n,k) times rising products, factor by factor, so that nothing grows large.
    let factor = |at: u32| {
        let at = f64::from(at);
        (at, 1.0 / (spread + at))
    };
    let first: Vec<(f64, f64)> =
        (0..right).map(factor).map(|(at, over)| (at, over * (f64::from(items) - at) / (at + 1.0))).collect();
    let second: Vec<(f64, f64)> =
        (0..wrong).map(|at| (f64::from(at), 1.0 / (spread + f64::from(right + at)))).collect();
    (0..CHANCES)
        .map(|at| {
            let (alpha, beta) = (chance(at) * spread, (1.0 - chance(at)) * spread);
            let hits: f64 = first.iter().map(|(at, over)| (alpha + at) * over).product();
            hits * second.iter().map(|(at, over)| (beta + at) * over).product::<f64>()
        })
        .collect()
}
