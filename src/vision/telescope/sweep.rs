//! Where do the looks go that follow one line of writing across a board?
//!
//! The first look begins at the left edge of the board, the last ends at the
//! right edge, and between them the looks stand evenly in angle, because that
//! is how an arm moves. How many there are is counted by
//! [`views_from_the_side`]; here they get their places.
//!
//! Does not know the height of a board: whole boards straight ahead are
//! counted by [`super::coverage::board_coverage`].
//! Read next: [`crate::vision::skill`] for how well a student does it.

use super::coverage::views_from_the_side;
use super::outline::{Outline, field_on_board};
use crate::vision::demand::{Seat, sight_distance};
use crate::vision::units::{Degrees, Fraction, Metres, OutOfRange, within};

/// One look of a sweep. Places are measured along the board from its left
/// edge, as the student sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Its number, from 1 on, left to right.
    pub number: u32,
    /// Its direction from straight ahead, to the right.
    pub direction: Degrees,
    /// Where the line of sight meets the board.
    pub at: Metres,
    /// What of the board's plane it shows; it may reach beyond the board.
    pub shown: Outline,
    /// Where the part of the board that it shows begins.
    pub from: Metres,
    /// Where that part ends.
    pub to: Metres,
}

impl Look {
    /// How much of the board's width does it show?
    ///
    /// **Formula** to − from. **Source** definition. **Range** all.
    ///
    /// ```
    /// use farpoint::vision::demand::Seat;
    /// use farpoint::vision::telescope::sweep::along_a_line;
    /// use farpoint::vision::units::{Degrees, Fraction, Metres};
    /// let seat = Seat::in_front(Metres::new(4.0)?);
    /// let sweep = along_a_line(Metres::new(2.4)?, seat, Degrees::new(9.0)?, Fraction::new(0.2)?)?;
    /// assert!((sweep.looks[2].width().get() - 0.6296).abs() < 0.0001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn width(&self) -> Metres {
        self.to - self.from
    }
}

/// The looks that follow one line across a board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sweep {
    /// The angle that the board fills.
    pub board: Degrees,
    /// The point straight before the eye, from the left edge of the board: what
    /// an [`Outline`] measures from.
    pub ahead: Metres,
    /// The share of that angle seen at once.
    pub seen_at_once: Fraction,
    /// How much neighbouring looks overlap, as a share of the field; nothing
    /// when one look takes in the whole board.
    pub overlap: Option<Fraction>,
    /// The looks, left to right.
    pub looks: Vec<Look>,
}

/// Through which looks does a line across this board go?
///
/// A seat left of the middle of the board, as the student sees it, has a
/// negative [`Seat::aside`].
///
/// **Formula** n and A as in [`views_from_the_side`], a the left edge: look i
/// goes to a + t/2 + i(A − t)/(n − 1), a single one to the middle of A; share
/// t/A, at most 1; overlap 1 − (A − t)/(t(n − 1)), never less than asked.
/// **Source** geometry (derived), checked against rays one by one. **Range** as
/// there and as [`field_on_board`]; up to 1000 looks.
///
/// ```
/// use farpoint::vision::demand::Seat;
/// use farpoint::vision::telescope::sweep::along_a_line;
/// use farpoint::vision::units::{Degrees, Fraction, Metres};
/// let sweep = along_a_line(
///     Metres::new(2.4)?,
///     Seat::in_front(Metres::new(4.0)?),
///     Degrees::new(9.0)?,
///     Fraction::new(0.2)?,
/// )?;
/// assert_eq!(sweep.looks.len(), 5);
/// assert!((sweep.board.get() - 33.398).abs() < 0.001);
/// assert!((sweep.seen_at_once.get() - 0.2695).abs() < 0.0001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn along_a_line(board_width: Metres, seat: Seat, field: Degrees, overlap: Fraction) -> Result<Sweep, OutOfRange> {
    let counted = views_from_the_side(board_width, seat, field, overlap)?;
    let n = within("number of looks", "", f64::from(counted.views_across), 1.0..=1_000.0)?;
    let (d, width, t) = (sight_distance(seat.to_the_board)?, board_width.get(), field.get());
    let angle = counted.board.get();
    // The point straight before the eye, from the left edge of the board.
    let ahead = width / 2.0 + seat.aside.get();
    let left = (-ahead / d).atan().to_degrees();
    let step = if counted.views_across == 1 { 0.0 } else { (angle - t) / (n - 1.0) };
    let first = if counted.views_across == 1 { left + angle / 2.0 } else { left + t / 2.0 };
    let looks = (0..counted.views_across).map(|index| {
        let direction = Degrees::new(first + f64::from(index) * step)?;
        let shown = field_on_board(seat.to_the_board, direction, field)?;
        // What a look shows beyond the board is not of the board.
        let on_board = |along: Metres| Metres::new((along.get() + ahead).clamp(0.0, width));
        Ok(Look {
            number: index + 1,
            direction,
            at: Metres::new(shown.looked_at.get() + ahead)?,
            shown,
            from: on_board(shown.left())?,
            to: on_board(shown.right())?,
        })
    });
    Ok(Sweep {
        board: counted.board,
        ahead: Metres::new(ahead)?,
        // A field wider than the board shows all of it, and no more.
        seen_at_once: Fraction::new((t / angle).min(1.0))?,
        overlap: match counted.views_across {
            1 => None,
            // Rounding must not make an overlap of nothing less than that.
            _ => Some(Fraction::new((1.0 - step / t).max(0.0))?),
        },
        looks: looks.collect::<Result<_, OutOfRange>>()?,
    })
}
