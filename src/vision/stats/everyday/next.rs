//! Which size next: for practice, and for learning most?
//!
//! The two differ. Practice aims at about four of five right; a threshold is
//! learnt fastest where half is right. Practice sizes follow the student, so
//! that their accuracy stays flat by design: progress is the threshold's.
//!
//! Does not know which sizes there are in the classroom.

use super::grid::{HIGHEST, LOWEST, SIZES, STEP, dot, size};
use super::shelf;
use super::{Behind, Cell, Guess, Posterior, wanted};
use crate::vision::acuity::LogMar;
use crate::vision::units::{Fraction, OutOfRange, within};

/// Sizes for practice go in steps of this.
const GRAIN: f64 = 0.05;

/// No practice size lies further from the last one. Common practice.
const FARTHEST: f64 = 0.20;

/// One step of difficulty: one chart line. Common practice.
const LINE: f64 = 0.10;

/// What practice aims at unless asked otherwise. Common practice: about four of
/// five, near what Wilson et al. 2019 derived for learners of two choices.
pub const AIM: Fraction = Fraction::literal(0.8);

/// What practice was like so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct SoFar {
    /// The size practised last.
    pub last: Option<LogMar>,
    /// The smallest size ever passed, with four of five right.
    pub smallest_passed: Option<LogMar>,
}

/// The next size for practice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextSize {
    /// Where success is expected to be as aimed at.
    pub exact: LogMar,
    /// The same in steps of 0.05, near the last size and not far below what was passed.
    pub practical: LogMar,
    /// How much was observed.
    pub behind: Behind,
}

impl Posterior {
    /// Which size should be practised next?
    ///
    /// **Formula** the x with E[ψ(x)] = aim; rounded to 0.05, at most 0.20 from
    /// the last size, no more than 0.10 below the smallest passed. **Source** as
    /// [`super::everyday`] (derived); the limits are common practice. **Range** aim
    /// 0.5 to 0.95; none where no size is expected to reach it. With little
    /// observed it is deliberately easy.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// use farpoint::vision::stats::everyday::next::{AIM, SoFar};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Prior, everyday};
    /// let unseen = Device { prior: Prior::bare(Some(LogMar::new(0.9)?))?, settings: vec![vec![]] };
    /// let first = everyday(&[unseen])?.next_size(Cell { device: 0, setting: 0 }, Guess::LETTERS, AIM, SoFar::default())?;
    /// assert!(first.is_some_and(|next| next.exact.get() > 1.1));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not, or values outside the range.
    pub fn next_size(
        &self,
        cell: Cell,
        guess: Guess,
        aim: Fraction,
        so_far: SoFar,
    ) -> Result<Option<NextSize>, OutOfRange> {
        let at = self.evidence.cell(cell)?;
        wanted(aim)?;
        let aim = within("aim", "", aim.get(), 0.5..=0.95)?;
        for size in [so_far.last, so_far.smallest_passed].into_iter().flatten() {
            within("size practised", "logMAR", size.get(), LOWEST..=HIGHEST)?;
        }
        let (curve, courses) = (shelf::curve(guess), self.by_course(at));
        let expected =
            |at: usize| courses.iter().map(|(course, row)| dot(&row[..SIZES], curve.chances(*course, at))).sum::<f64>();
        if expected(SIZES - 1) < aim {
            return Ok(None);
        }
        // Success rises with size: the first place that reaches the aim.
        let (mut below, mut reaches) = (0, SIZES - 1);
        while below + 1 < reaches {
            let middle = usize::midpoint(below, reaches);
            if expected(middle) < aim { below = middle } else { reaches = middle }
        }
        let (low, high) = (expected(below), expected(reaches));
        let part = if low >= aim { 0.0 } else { (aim - low) / (high - low) };
        let exact = size(below) + STEP * part;
        Ok(Some(NextSize {
            exact: LogMar::new(exact)?,
            practical: LogMar::new(practical(exact, so_far))?,
            behind: self.evidence.cells[at].behind,
        }))
    }

    /// Which size would say most about the threshold?
    ///
    /// **Formula** where half is right, the threshold's median, and the size for
    /// four of five, in turn; 0.1 smaller than the latter after nothing but
    /// passes, larger after nothing but failures. **Source** common practice.
    /// **Range** a cell of the posterior.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Magnification};
    /// use farpoint::vision::stats::everyday::{Cell, Device, Guess, Prior, everyday};
    /// let (acuity, power) = (LogMar::new(0.9)?, Magnification::new(4.0)?);
    /// let bare = Device { prior: Prior::bare(Some(acuity))?, settings: vec![vec![]] };
    /// let four = Device { prior: Prior::by_power(Some(acuity), power)?, settings: vec![vec![]] };
    /// let unseen = everyday(&[bare, four])?;
    /// let size = unseen.most_telling_size(Cell { device: 0, setting: 0 }, Guess::LETTERS)?;
    /// assert!((size.get() - 0.95).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A cell that there is not, or a guess rate of four of five.
    pub fn most_telling_size(&self, cell: Cell, guess: Guess) -> Result<LogMar, OutOfRange> {
        let at = self.evidence.cell(cell)?;
        let entries = &self.evidence.cells[at].observations;
        let median = self.threshold(cell)?.median;
        let needed = self.size_needed(cell, guess, AIM)?.median.unwrap_or(median);
        let all = |of: &dyn Fn(f64) -> bool| !entries.is_empty() && entries.iter().all(|seen| of(seen.saw.roughly()));
        let wanted = if all(&|share| share >= 0.7) {
            needed.get() - LINE
        } else if all(&|share| share <= 0.5) {
            needed.get() + LINE
        } else if entries.len().is_multiple_of(2) {
            median.get()
        } else {
            needed.get()
        };
        // There are no targets off the scale of sizes.
        LogMar::new(wanted.clamp(LOWEST, HIGHEST))
    }
}

/// A size that may be put before a student.
fn practical(exact: f64, so_far: SoFar) -> f64 {
    // Steps that adults can prepare, changes that do not frighten.
    let mut next = exact;
    if let Some(last) = so_far.last {
        // A larger change from one session to the next frightens.
        next = next.clamp(last.get() - FARTHEST, last.get() + FARTHEST);
    }
    if let Some(passed) = so_far.smallest_passed {
        // A size far below any that was ever read discourages.
        next = next.max(passed.get() - LINE);
    }
    // In twentieths, so that 0.15 is that number and not the sum of three.
    (next / GRAIN).round() / (1.0 / GRAIN)
}
