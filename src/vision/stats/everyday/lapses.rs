//! How often does a student miss what is large enough to be read?
//!
//! The posterior is computed at four lapses, which is plenty for a threshold: it
//! is a mean over them. Whether the usual success reaches four of five is not. It
//! ends at 1 − lapse, and of the four nodes two lie below a lapse of 0.2 and one
//! just under it, so that a student who is right three times of four would be
//! told as one of four of five, with an interval of no width. Here the weight of
//! the nodes is spread over all lapses: the logarithm of the likelihood is drawn
//! as a parabola through the weightiest three, over the square root of the lapse, and
//! the assumption put beside it again.
//!
//! Held against Beta(1 + n - k, 19 + k), exact where every size is far above the
//! threshold: within 0.02 for counts from 8 of 10 to 160 of 200, where the four
//! nodes alone were off by up to 0.86.
//!
//! Does not know what is observed, or with which device.

use super::grid::{ALIKES, Bins, COURSES, LAPSES, Row, SIZES, dot, node};
use crate::vision::stats::special::normal_quantile;

/// The edges of the lapses that are told apart; none above is assumed (1 in 50,000).
const EDGES: [f64; 22] = [
    0.0, 0.01, 0.02, 0.03, 0.045, 0.06, 0.075, 0.09, 0.105, 0.12, 0.135, 0.15, 0.165, 0.18, 0.19, 0.2, 0.21, 0.225,
    0.25, 0.28, 0.33, 0.45,
];

/// Beta(1, 19), as assumed of lapses.
fn assumed_below(lapse: f64) -> f64 {
    1.0 - (1.0 - lapse).powi(19)
}

/// What weighs less than this part of all is left out.
const NOTHING: f64 = 1e-6;

/// A rate is told in hundredths and looked for to a quarter of a thousandth.
const HALVINGS: usize = 11;

/// So many nodes the curve of the likelihood is drawn through.
const THROUGH: usize = 3;

/// A lapse at which the posterior was computed, with one spread.
#[derive(Clone, Copy)]
struct Node {
    /// Its place among the courses.
    place: usize,
    lapse: f64,
    weight: f64,
    /// Its weight for each share that is assumed of it.
    likely: f64,
}

/// One lapse with one spread, and what it weighs.
struct Between {
    spread: f64,
    lapse: f64,
    weight: f64,
    /// The places of the two courses it lies between, and the share of the second.
    of: (usize, usize),
    second: f64,
}

/// The courses of a cell with the lapses between them.
pub(super) struct Lapses {
    /// Each course's distribution of thresholds.
    bins: Vec<Bins>,
    courses: Vec<(usize, Row)>,
    between: Vec<Between>,
}

impl Lapses {
    /// Takes the weight of each course with its thresholds.
    pub(super) fn of(courses: Vec<(usize, Row)>) -> Self {
        let mut between = Vec::new();
        for spread in 0..COURSES / LAPSES.len() {
            let mut nodes: Vec<Node> = courses
                .iter()
                .enumerate()
                .filter(|(_, (course, _))| course / LAPSES.len() == spread)
                .map(|(place, (course, row))| (place, LAPSES[course % LAPSES.len()], weight(row)))
                .filter(|(.., weight)| *weight > 0.0)
                .map(|(place, (lapse, assumed), weight)| Node { place, lapse, weight, likely: weight / assumed })
                .collect();
            let all: f64 = nodes.iter().map(|one| one.weight).sum();
            // A node that is far off would bend the curve where the weight lies.
            if nodes.len() > THROUGH {
                nodes.sort_by(|a, b| b.weight.total_cmp(&a.weight));
                nodes.truncate(THROUGH);
                nodes.sort_by(|a, b| a.lapse.total_cmp(&b.lapse));
            }
            if let Some(first) = nodes.first() {
                spread_out(&nodes, node(courses[first.place].0 * ALIKES).spread, all, &mut between);
            }
        }
        let all: f64 = between.iter().map(|one| one.weight).sum();
        between.retain(|one| one.weight > NOTHING * all);
        between.sort_by(|a, b| a.lapse.total_cmp(&b.lapse));
        let bins = courses.iter().map(|(_, row)| Bins::over_sizes(row[..SIZES].iter().map(|share| f64::from(*share))));
        Self { bins: bins.collect(), courses, between }
    }

    /// The weight of everything.
    pub(super) fn weight(&self) -> f64 {
        self.between.iter().map(|one| one.weight).sum()
    }

    /// The weight of lapses that leave less than this share, whatever the size.
    pub(super) fn never(&self, guess: f64, share: f64) -> f64 {
        self.between.iter().filter(|one| reach(one.lapse, guess, share).is_none()).map(|one| one.weight).sum()
    }

    /// The weight of students whose usual success reaches a share, by size.
    pub(super) fn reaching(&self, guess: f64, share: f64) -> impl Fn(f64) -> f64 + '_ {
        let mut last = None;
        let moved: Vec<(f64, &Between)> = self
            .between
            .iter()
            .filter_map(|one| {
                // They stand in the order of lapses: each quantile is asked for once.
                let spreads = match last {
                    Some((lapse, spreads)) if lapse == one.lapse.to_bits() => spreads,
                    _ => reach(one.lapse, guess, share),
                };
                last = Some((one.lapse.to_bits(), spreads));
                spreads.map(|spreads| (spreads * one.spread, one))
            })
            .collect();
        move |size| {
            let of = |(by, one): &(f64, &Between)| {
                let below = |place: usize| self.bins[place].below(size - by);
                let first = below(one.of.0);
                one.weight * if one.second > 0.0 { first + one.second * (below(one.of.1) - first) } else { first }
            };
            moved.iter().map(of).sum()
        }
    }

    /// The rate that so much of the weight lies below, at a size.
    pub(super) fn rate_below(&self, size: f64, guess: f64, part: f64) -> f64 {
        let all = self.weight();
        let (mut low, mut high) = (guess, 1.0);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if all - self.reaching(guess, middle)(size) < part * all { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    }

    /// The weighted mean of the usual success, from each course's chances at a size.
    pub(super) fn mean(&self, guess: f64, chances: impl Fn(usize) -> Row) -> f64 {
        // How far the curve itself rises, guesses and lapses apart.
        let risen: Vec<f64> = self
            .courses
            .iter()
            .map(|(course, row)| {
                let mean = dot(&row[..SIZES], &chances(*course)[..SIZES]) / weight(row);
                (mean - guess) / (1.0 - guess - LAPSES[course % LAPSES.len()].0)
            })
            .collect();
        let of = |one: &Between| {
            let rises = risen[one.of.0] + one.second * (risen[one.of.1] - risen[one.of.0]);
            one.weight * (guess + (1.0 - guess - one.lapse) * rises)
        };
        self.between.iter().map(of).sum()
    }
}

fn weight(row: &Row) -> f64 {
    row[..SIZES].iter().map(|share| f64::from(*share)).sum()
}

/// How many spreads above the threshold the share is reached; none where lapses
/// leave less.
fn reach(lapse: f64, guess: f64, share: f64) -> Option<f64> {
    let part = (share - guess) / (1.0 - guess - lapse);
    // Guessing alone gives as much: any size does, however small.
    (part < 1.0).then(|| normal_quantile(part.max(f64::MIN_POSITIVE)))
}

/// Spreads the weight of the nodes of one spread over the lapses between them.
fn spread_out(nodes: &[Node], spread: f64, all: f64, to: &mut Vec<Between>) {
    if let [only] = nodes {
        to.push(Between { spread, lapse: only.lapse, weight: all, of: (only.place, only.place), second: 0.0 });
        return;
    }
    let from = to.len();
    for edges in EDGES.windows(2) {
        let lapse = f64::midpoint(edges[0], edges[1]);
        // The curve goes on beyond the outer nodes: the next two draw it there.
        let upper = nodes.iter().position(|node| node.lapse >= lapse).unwrap_or(nodes.len() - 1).max(1);
        let (low, high) = (nodes[upper - 1], nodes[upper]);
        to.push(Between {
            spread,
            lapse,
            weight: (assumed_below(edges[1]) - assumed_below(edges[0])) * likelihood(nodes, lapse),
            of: (low.place, high.place),
            // Thresholds do not: beyond a node its own stand.
            second: ((lapse - low.lapse) / (high.lapse - low.lapse)).clamp(0.0, 1.0),
        });
    }
    let sum: f64 = to[from..].iter().map(|one| one.weight).sum();
    to[from..].iter_mut().for_each(|one| one.weight *= all / sum);
}

/// The likelihood at a lapse, of the best node's: its logarithm through all nodes
/// over the root of the lapse. Beyond the last node it never rises again.
fn likelihood(nodes: &[Node], lapse: f64) -> f64 {
    let best = nodes.iter().map(|node| node.likely).fold(f64::MIN_POSITIVE, f64::max);
    let log_of = |node: &Node| (node.likely / best).ln();
    let mut log = 0.0;
    for (place, node) in nodes.iter().enumerate() {
        let others = nodes.iter().enumerate().filter(|(other, _)| *other != place).map(|(_, other)| other.lapse.sqrt());
        let part: f64 = others.map(|other| (lapse.sqrt() - other) / (node.lapse.sqrt() - other)).product();
        log += part * log_of(node);
    }
    // Below the lowest of all lapses the curve goes on; elsewhere an end is an end
    // because what lies beyond it explains less.
    let lowest = nodes.first().filter(|node| lapse < node.lapse && node.lapse > LAPSES[0].0);
    let highest = nodes.last().filter(|node| lapse > node.lapse);
    for end in lowest.into_iter().chain(highest) {
        // A curve through few points may turn up again where nothing was looked at.
        log = log.min(log_of(end));
    }
    log.exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vision::stats::everyday::grid::WIDTH;

    /// Courses of one spread whose likelihood is that of so many right of tried, all
    /// of them far above the threshold.
    fn far_above(right: i32, tried: i32) -> Lapses {
        let mut courses = Vec::new();
        for (at, (lapse, assumed)) in LAPSES.into_iter().enumerate() {
            let likely = (1.0 - lapse).powi(right) * lapse.powi(tried - right);
            let mut row = [0.0; WIDTH];
            row[10] = (assumed * likely * 1e20) as f32;
            courses.push((3 * LAPSES.len() + at, row));
        }
        Lapses::of(courses)
    }

    #[test]
    fn a_student_of_three_of_four_is_not_told_as_one_of_four_of_five() {
        // Beta(1 + 20, 19 + 60) of the lapse: below 0.2 it lies in 0.421 of all cases;
        // the four nodes alone say 0.983 (SciPy, beta.cdf).
        let found = far_above(60, 80);
        let share = found.reaching(0.0, 0.8)(2.0) / found.weight();
        assert!((share - 0.421).abs() < 0.03, "{share}");
        assert!((found.never(0.0, 0.8) / found.weight() - (1.0 - share)).abs() < 1e-6);
    }

    #[test]
    fn where_nothing_is_missed_the_ends_of_the_success_are_those_of_the_lapse() {
        // Beta(1, 19 + 40) of the lapse: the rate reaches 0.955 in 1 − 0.955⁵⁹ = 0.934.
        let found = far_above(40, 40);
        let share = found.reaching(0.0, 0.955)(2.0) / found.weight();
        assert!((share - 0.934).abs() < 0.02, "{share}");
    }
}
