//! Where does each seat of a room stand before the board, and how does it see it?
//!
//! Rows and columns of seats, all measured from the eyes of whoever sits there.
//! A seat is told as [`demand::Seat`](Seat), with its offset to the right as the
//! room faces the board, so that what is known about one seat holds for each.
//!
//! Does not know who sits there, nor whether anything is readable: that is
//! [`crate::vision::readable`]. Read next: [`crate::vision::demand`].

use super::demand::Seat;
use super::units::{Degrees, Metres, OutOfRange, above_zero, within};

/// Rows of seats in a grid before a board.
///
/// Rows count from the board, seats from the left as the room faces it; both
/// from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grid {
    /// How many rows.
    pub rows: u32,
    /// How many seats in each.
    pub row_seats: u32,
    /// From the eyes of the first row straight to the plane of the board.
    pub first_row: Metres,
    /// From one row to the next.
    pub row_gap: Metres,
    /// From one seat to the next in a row.
    pub seat_gap: Metres,
    /// The centre of the board, to the right of the middle of the rows; left of
    /// it, less than nothing.
    pub board_aside: Metres,
}

/// One place of a grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The row, from the board.
    pub row: u32,
    /// The seat, from the left as faced.
    pub seat: u32,
}

impl Grid {
    /// How far back and how far to the right of the board's centre is this place?
    ///
    /// **Formula** D = first row + (row − 1) × row gap; X = (seat − (n + 1)/2) ×
    /// seat gap − the offset of the board's centre, right of it positive.
    /// **Source** geometry (derived). **Range** a place of this grid.
    ///
    /// ```
    /// use farpoint::vision::room::{Grid, Place};
    /// use farpoint::vision::units::Metres;
    /// let room = Grid {
    ///     rows: 4,
    ///     row_seats: 5,
    ///     first_row: Metres::new(2.0)?,
    ///     row_gap: Metres::new(1.2)?,
    ///     seat_gap: Metres::new(0.8)?,
    ///     board_aside: Metres::new(0.0)?,
    /// };
    /// let seat = room.seat(Place { row: 3, seat: 5 })?;
    /// assert!((seat.to_the_board.get() - 4.4).abs() < 1e-12);
    /// assert!((seat.aside.get() - 1.6).abs() < 1e-12);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A row or a seat that the grid does not have.
    pub fn seat(&self, place: Place) -> Result<Seat, OutOfRange> {
        let row = within("row", "", f64::from(place.row), 1.0..=f64::from(self.rows))?;
        let seat = within("seat in the row", "", f64::from(place.seat), 1.0..=f64::from(self.row_seats))?;
        let back = self.first_row.get() + (row - 1.0) * self.row_gap.get();
        let middle = (f64::from(self.row_seats) + 1.0) / 2.0;
        let right = (seat - middle) * self.seat_gap.get() - self.board_aside.get();
        Ok(Seat { to_the_board: Metres::new(back)?, aside: Metres::new(right)? })
    }

    /// Which places are there, row by row from the board and from the left?
    ///
    /// **Formula** every row with every seat. **Source** definition. **Range** any
    /// grid; without rows or seats there are none.
    ///
    /// ```
    /// use farpoint::vision::{room::Grid, units::Metres};
    /// let one = Metres::new(1.0)?;
    /// let aside = Metres::new(0.0)?;
    /// let room = Grid { rows: 2, row_seats: 3, first_row: one, row_gap: one, seat_gap: one, board_aside: aside };
    /// assert_eq!(room.places().count(), 6);
    /// assert_eq!(room.places().nth(3).map(|place| (place.row, place.seat)), Some((2, 1)));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn places(&self) -> impl Iterator<Item = Place> + use<> {
        let seats = self.row_seats;
        (1..=self.rows).flat_map(move |row| (1..=seats).map(move |seat| Place { row, seat }))
    }
}

/// How a board lies before a seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BoardSeen {
    /// From the eye to the middle of the board.
    pub to_the_middle: Metres,
    /// How far from straight on the middle is seen.
    pub middle: Degrees,
    /// The same for the nearest point of the board: nothing for a seat before it.
    pub near_edge: Degrees,
    /// The same for the far edge, where letters are hardest to see.
    pub far_edge: Degrees,
}

/// How far is the board from this seat, and how far from straight on is it seen?
///
/// **Formula** r = √(D² + X²) to the middle; φ = atan(|X|/D) to the middle,
/// atan(max(|X| − W/2, 0)/D) to the nearest point and atan((|X| + W/2)/D) to the
/// far edge. **Source** geometry (derived). **Range** D more than zero, a board
/// of more than nothing up to 100 m.
///
/// ```
/// use farpoint::vision::demand::Seat;
/// use farpoint::vision::room::board_seen;
/// use farpoint::vision::units::Metres;
/// let aside = Seat { to_the_board: Metres::new(3.0)?, aside: Metres::new(-2.2)? };
/// let seen = board_seen(aside, Metres::new(2.4)?)?;
/// assert!((seen.near_edge.get() - 18.43).abs() < 0.01);
/// assert!((seen.far_edge.get() - 48.58).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No distance to the board, or a board of no width.
pub fn board_seen(from: Seat, board_width: Metres) -> Result<BoardSeen, OutOfRange> {
    let half = within("board width", "m", board_width.get(), above_zero(100.0))? / 2.0;
    let aside = from.aside.get().abs();
    let to = |aside: f64| Seat { aside: Metres::new(aside)?, ..from }.obliquity();
    Ok(BoardSeen {
        middle: from.obliquity()?,
        // Before the board itself its nearest point lies straight ahead.
        near_edge: to((aside - half).max(0.0))?,
        far_edge: to(aside + half)?,
        to_the_middle: Metres::new(from.to_the_board.get().hypot(aside))?,
    })
}
