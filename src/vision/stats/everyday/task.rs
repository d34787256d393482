//! Which size is needed, and how probable is success at a task?
//!
//! Two questions that differ a lot and are told apart: whether the student's
//! *usual* success reaches the wanted share, and whether it does so *next
//! time*, on a day like any other, of so many items.
//!
//! Does not know what else limits a task: contrast, light, field, time.

use std::sync::Arc;

use super::grid::{WIDTH, dot, place};
use super::lapses::Lapses;
use super::shelf::{self, Day, Of};
use super::table::Table;
use super::{Behind, Cell, Guess, Posterior, grid, wanted};
use crate::vision::acuity::LogMar;
use crate::vision::skill::Level;
use crate::vision::stats::special::crossing;
use crate::vision::stats::{Enough, Interval};
use crate::vision::units::{Fraction, OutOfRange, within};

/// Where the search for a size begins and ends: beyond any target.
const FARTHEST: (f64, f64) = (-4.0, 6.0);

/// A task, as far as its size limits it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Task {
    /// The demand of its targets, in object space.
    pub size: LogMar,
    /// What guessing gives.
    pub guess: Guess,
    /// How many items make one go.
    pub items: u32,
    /// The share to be right.
    pub wanted: Fraction,
}

impl Task {
    /// The fewest right ones that reach the wanted share.
    fn needed(&self) -> u32 {
        // The share is typed in decimals: 0.7 of 10 is 7, not the next above.
        (self.wanted.get() * f64::from(self.items) - 1e-9).ceil() as u32
    }

    fn checked(&self) -> Result<(), OutOfRange> {
        within("size of the task", "logMAR", self.size.get(), grid::LOWEST..=grid::HIGHEST)?;
        within("items of the task", "", f64::from(self.items), 1.0..=200.0)?;
        wanted(self.wanted).map(drop)
    }
}

/// How probable success at a task is.
#[derive(Debug, Clone, PartialEq)]
pub struct Success {
    /// "The usual success there reaches the wanted share."
    pub usually: f64,
    /// "On a given day at least the wanted share is right."
    pub on_a_day: f64,
    /// The same on an average day, without the scatter of days.
    pub on_an_average_day: f64,
    /// The expected share right.
    pub rate: f64,
    /// Nine tenths of what is possible lie between.
    pub rates: Interval,
    /// How many right ones of the items reach the share.
    pub needed: u32,
    /// How much was observed of this device in this setting.
    pub behind: Behind,
    /// Whether that is enough to tell it.
    pub enough: Enough,
}

/// The size at which success reaches a share.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeNeeded {
    /// The middle of what is possible; none when it more probably is at no size.
    pub median: Option<LogMar>,
    /// The lower end of nine tenths of what is possible.
    pub low: Option<LogMar>,
    /// The upper end; none when it may be at no size.
    pub high: Option<LogMar>,
    /// How probable it is that no size reaches it.
    pub never: f64,
    /// How much was observed.
    pub behind: Behind,
    /// Whether that is enough to tell it.
    pub enough: Enough,
}

/// The table of these counts of the task's items.
fn counts(task: &Task, (least, most): (u32, u32), day: Day) -> Arc<Table> {
    shelf::table(task.guess, Of::Count { items: task.items, least, most, day })
}

impl Posterior {
    /// How probable is success at this task, with this device in this setting?
    ///
    /// **Formula** usually: P(ψ(x) ≥ c) = Σ W F(x − s Φ⁻¹((c−g)/(1−g−l))), the
    /// weight of the nodes of l spread over all l between them; on a day: θ with the scatter of days, then the chance of ⌈c n⌉ and more of n.
    /// **Source** as [`super::everyday`] (derived, and by simulation). **Range**
    /// sizes −0.6 to 2.4, 1 to 200 items, c 0.01 to 0.99.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Fraction};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Prior, everyday, task::Task};
    /// let unseen = Device { prior: Prior::bare(Some(LogMar::new(0.9)?))?, settings: vec![vec![]] };
    /// let task = Task { size: LogMar::new(1.6)?, guess: Guess::LETTERS, items: 10, wanted: Fraction::new(0.8)? };
    /// let found = everyday(&[unseen])?.success(Cell { device: 0, setting: 0 }, task)?;
    /// assert!(found.usually > 0.6 && found.rates.holds(found.rate) && !found.enough.is_met());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not, or a task outside the range.
    pub fn success(&self, cell: Cell, task: Task) -> Result<Success, OutOfRange> {
        task.checked()?;
        self.success_with(self.evidence.cell(cell)?, &task)
    }

    /// How probable is success at each task, device by device and setting by setting?
    ///
    /// **Formula** as [`Posterior::success`]; one row for each cell, in the order
    /// given. **Source** as there. **Range** as there.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::{Fraction, Magnification}};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Prior, everyday, task::Task};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let cells = [0, 1].map(|device| Cell { device, setting: 0 });
    /// let task = Task { size: LogMar::new(0.7)?, guess: Guess::LETTERS, items: 10, wanted: Fraction::new(0.8)? };
    /// let matrix = unseen.successes(&cells, &[task])?;
    /// assert!(matrix[1][0].usually > matrix[0][0].usually);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As there.
    pub fn successes(&self, cells: &[Cell], tasks: &[Task]) -> Result<Vec<Vec<Success>>, OutOfRange> {
        tasks.iter().try_for_each(Task::checked)?;
        cells
            .iter()
            .map(|cell| {
                let at = self.evidence.cell(*cell)?;
                tasks.iter().map(|task| self.success_with(at, task)).collect()
            })
            .collect()
    }

    fn success_with(&self, cell: usize, task: &Task) -> Result<Success, OutOfRange> {
        let (x, guess, share) = (task.size.get(), task.guess.get(), wanted(task.wanted)?);
        let (lapses, at) = (Lapses::of(self.by_course(cell)), place(x));
        let needed = (task.needed(), task.items);
        let (average, any) = (counts(task, needed, Day::Average), counts(task, needed, Day::Any));
        let curve = shelf::curve(task.guess);
        let chances = |course: usize| {
            let mut chances = [0.0; WIDTH];
            chances.iter_mut().zip(curve.chances(course, at.0)).for_each(|(to, from)| *to = *from);
            if at.1 > 0.0 {
                let next = curve.chances(course, at.0 + 1);
                chances.iter_mut().zip(next).for_each(|(to, next)| *to += (next - *to) * at.1 as f32);
            }
            chances
        };
        let all = lapses.weight();
        let end = |part: f64| lapses.rate_below(x, guess, part);
        let (mut on_a_day, mut on_an_average_day) = (0.0, 0.0);
        for (node, row) in self.by_node(cell) {
            on_a_day += dot(&row, &any.at(node, at));
            on_an_average_day += dot(&row, &average.at(node, at));
        }
        // Sums of thousands of shares may miss the ends by their rounding.
        let share_of = |sum: f64| sum.clamp(0.0, 1.0);
        Ok(Success {
            usually: share_of(lapses.reaching(guess, share)(x) / all),
            on_a_day: share_of(on_a_day),
            on_an_average_day: share_of(on_an_average_day),
            rate: share_of(lapses.mean(guess, chances) / all),
            rates: Interval { low: end(0.05), high: end(0.95), level: Level::Ninety },
            needed: task.needed(),
            behind: self.evidence.cells[cell].behind,
            enough: self.enough_in(cell),
        })
    }

    /// How probable is it that at least so many items of a task are right?
    ///
    /// **Formula** as [`Posterior::success`] on a day, for any count: first on an
    /// average day, then on a day like any other. **Source** as there. **Range** 0 to
    /// the items of the task.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::{Fraction, Magnification}};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Prior, everyday, task::Task};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let task = Task { size: LogMar::new(1.2)?, guess: Guess::LETTERS, items: 10, wanted: Fraction::new(0.8)? };
    /// let (_, none_or_more) = unseen.at_least(Cell { device: 0, setting: 0 }, task, 0)?;
    /// assert!((none_or_more - 1.0).abs() < 1e-6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As there, or more right ones than items.
    pub fn at_least(&self, cell: Cell, task: Task, right: u32) -> Result<(f64, f64), OutOfRange> {
        task.checked()?;
        let cell = self.evidence.cell(cell)?;
        within("right ones", "", f64::from(right), 0.0..=f64::from(task.items))?;
        let wanted = (right, task.items);
        let (average, any) = (counts(&task, wanted, Day::Average), counts(&task, wanted, Day::Any));
        let at = place(task.size.get());
        let sum = |table: &Table| -> f64 {
            let all: f64 = self.by_node(cell).iter().map(|(node, row)| dot(row, &table.at(*node, at))).sum();
            // Sums of thousands of shares may miss the ends by their rounding.
            all.clamp(0.0, 1.0)
        };
        Ok((sum(&average), sum(&any)))
    }

    /// Which size does the student need for the usual success to reach a share?
    ///
    /// **Formula** x = θ + s Φ⁻¹((c−g)/(1−g−l)), over all nodes; nodes whose
    /// lapses leave less than c count as no size. **Source** as
    /// [`super::everyday`] (derived). **Range** c more than the guess rate, up to
    /// 0.99.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Fraction};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Prior, everyday};
    /// let unseen = Device { prior: Prior::bare(Some(LogMar::new(0.9)?))?, settings: vec![vec![]] };
    /// let needed = everyday(&[unseen])?.size_needed(Cell { device: 0, setting: 0 }, Guess::LETTERS, Fraction::new(0.8)?)?;
    /// assert!(needed.median.is_some_and(|size| size.get() > 0.95) && needed.never < 0.05);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not, or a share that guessing gives.
    pub fn size_needed(&self, cell: Cell, guess: Guess, share: Fraction) -> Result<SizeNeeded, OutOfRange> {
        let at = self.evidence.cell(cell)?;
        wanted(share)?;
        let above = (std::ops::Bound::Excluded(guess.get()), std::ops::Bound::Included(0.99));
        let share = within("wanted success", "", share.get(), above)?;
        let lapses = Lapses::of(self.by_course(at));
        let all = lapses.weight();
        let never = lapses.never(guess.get(), share);
        let below = lapses.reaching(guess.get(), share);
        let quantile = |part: f64| -> Result<Option<LogMar>, OutOfRange> {
            let target = part * all;
            let found = || LogMar::new(crossing(FARTHEST.0, FARTHEST.1, target, &below));
            (target < all - never).then(found).transpose()
        };
        let (low, median) = (quantile(0.05)?, quantile(0.5)?);
        // No-size nodes lie above every size.
        let high = quantile(0.95)?;
        Ok(SizeNeeded {
            median,
            low,
            high,
            // Rounding may put it below nothing.
            never: (never / all).clamp(0.0, 1.0),
            behind: self.evidence.cells[at].behind,
            enough: self.enough_in(at),
        })
    }

    /// How probable is it that more is right with one device than with another?
    ///
    /// **Formula** Σ over nodes of P(k₁ > k₂) + ½ P(k₁ = k₂), k of the task's
    /// items, each on a day of its own. **Source** as [`super::everyday`]
    /// (derived). **Range** as [`Posterior::success`]; the same cell twice is ½.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::{Fraction, Magnification}};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Prior, everyday, task::Task};
    /// let acuity = LogMar::new(0.9)?;
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), Magnification::new(4.0)?)?, settings: vec![vec![]] };
    /// let task = Task { size: LogMar::new(0.7)?, guess: Guess::LETTERS, items: 10, wanted: Fraction::new(0.8)? };
    /// let better = everyday(&[bare, four])?.better_at(
    ///     Cell { device: 1, setting: 0 },
    ///     Cell { device: 0, setting: 0 },
    ///     task,
    /// )?;
    /// assert!(better > 0.7);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As [`Posterior::success`].
    pub fn better_at(&self, first: Cell, second: Cell, task: Task) -> Result<f64, OutOfRange> {
        task.checked()?;
        let (one, other) = (self.evidence.cell(first)?, self.evidence.cell(second)?);
        if one == other {
            return Ok(0.5);
        }
        let at = place(task.size.get());
        let tables: Vec<Arc<Table>> = (0..=task.items).map(|k| counts(&task, (k, k), Day::Any)).collect();
        let mut better = 0.0;
        for given in &self.given {
            let mut lower = 0.0;
            for table in &tables {
                let row = table.at(given.node, at);
                let (here, there) = (dot(&given.cells[one], &row), dot(&given.cells[other], &row));
                better += given.weight * here * (lower + 0.5 * there);
                lower += there;
            }
        }
        // Sums of thousands of shares may miss the ends by their rounding.
        Ok(better.clamp(0.0, 1.0))
    }
}
