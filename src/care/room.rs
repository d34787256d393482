//! Where do the seats of a room stand, and is enough known to draw them?
//!
//! A [`Layout`] is what was entered about the rows of a room, each part as typed
//! and each of them optional; [`Layout::grid`] is the rows as arithmetic knows
//! them, or what is [`Missing`]. The usual seat is measured on its own, and
//! [`Layout::disagreement`] says where the two do not fit.
//! Does not know how anybody sees. Read next: `room/plan.rs`, which judges each
//! seat, and `room/quiet.rs` for the side to sit on.

pub mod plan;
pub mod quiet;

use super::codes::codes;
use super::task::{Aside, NewSeat};
use super::typed::Typed;
use crate::vision::demand;
use crate::vision::room::{Grid, Place};
use crate::vision::units::{Metres, OutOfRange};

/// More rows than this are no classroom: a typing error.
pub const MOST_ROWS: u32 = 15;
/// More seats in a row than this are no classroom.
pub const MOST_SEATS: u32 = 12;
/// No seat farther than this from a board, as everywhere in the record.
pub const FARTHEST_SEAT: Metres = Metres::literal(30.0);

codes! {
    /// What has to be entered before a plan can be drawn.
    pub enum Missing {
        Rows = "rows" : "the number of rows",
        RowSeats = "row_seats" : "the number of seats in a row",
        FirstRow = "first_row" : "the distance of the first row to the board",
        RowGap = "row_gap" : "the distance from row to row",
        SeatGap = "seat_gap" : "the distance from seat to seat",
        BoardWidth = "board_width" : "the width of the board",
    }
}

/// What was entered about the rows of seats of a room.
#[derive(Clone, PartialEq, Default)]
pub struct Layout {
    /// How many rows.
    pub rows: Option<u32>,
    /// How many seats in each.
    pub row_seats: Option<u32>,
    /// From the eyes of the first row straight to the board.
    pub first_row: Option<Typed<Metres>>,
    /// From row to row.
    pub row_gap: Option<Typed<Metres>>,
    /// From seat to seat.
    pub seat_gap: Option<Typed<Metres>>,
    /// The centre of the board beside the middle of the rows, where it is not in
    /// the middle.
    pub board_aside: Option<(Typed<Metres>, Aside)>,
    /// The row and the seat of the usual seat.
    pub usual: Option<Place>,
    /// The side of the room with the windows, facing the board.
    pub window: Option<Aside>,
}

/// Where the usual seat as it was measured is not where the rows would have it:
/// what the rows say.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Disagreement {
    /// How far that row is from the board.
    pub row: Option<Metres>,
    /// How far that seat is to the right of the board's centre; left of it, less
    /// than nothing.
    pub seat: Option<Metres>,
}

/// A length to the right of something as one number: left is less than nothing.
#[must_use]
pub fn to_the_right(aside: Option<&(Typed<Metres>, Aside)>) -> Metres {
    match aside {
        None => Metres::literal(0.0),
        Some((far, Aside::Right)) => far.value,
        Some((far, Aside::Left)) => -far.value,
    }
}

/// The usual seat as it was measured.
#[must_use]
pub fn as_measured(seat: &NewSeat) -> demand::Seat {
    demand::Seat { to_the_board: seat.distance.value, aside: to_the_right(seat.aside.as_ref()) }
}

/// Half of the way to the next seat is still this seat; people and chairs move
/// by as much as this.
const CHAIRS_MOVE: f64 = 0.3;

impl Layout {
    /// Whether nothing at all was entered.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// The rows, or what is missing to know where each seat stands.
    ///
    /// # Errors
    /// What has to be entered first, in the order of the form.
    pub fn grid(&self) -> Result<Grid, Vec<Missing>> {
        let nothing = Metres::literal(0.0);
        let value = |typed: &Option<Typed<Metres>>| typed.as_ref().map(|typed| typed.value);
        // One row has no next one, and one seat no neighbour.
        let row_gap = if self.rows == Some(1) { Some(nothing) } else { value(&self.row_gap) };
        let seat_gap = if self.row_seats == Some(1) { Some(nothing) } else { value(&self.seat_gap) };
        let (first_row, board_aside) = (value(&self.first_row), to_the_right(self.board_aside.as_ref()));
        match (self.rows, self.row_seats, first_row, row_gap, seat_gap) {
            (Some(rows), Some(row_seats), Some(first_row), Some(row_gap), Some(seat_gap)) => {
                Ok(Grid { rows, row_seats, first_row, row_gap, seat_gap, board_aside })
            }
            _ => Err([
                (self.rows.is_none(), Missing::Rows),
                (self.row_seats.is_none(), Missing::RowSeats),
                (first_row.is_none(), Missing::FirstRow),
                (row_gap.is_none(), Missing::RowGap),
                (seat_gap.is_none(), Missing::SeatGap),
            ]
            .into_iter()
            .filter_map(|(missing, what)| missing.then_some(what))
            .collect()),
        }
    }

    /// Where the usual seat is not where these rows have it; nothing where it
    /// is, or where not enough is known to say.
    ///
    /// The two agree when no other row and no other seat is nearer to where it
    /// was measured, and always within 30 cm.
    ///
    /// # Errors
    /// A usual seat that the rows do not have.
    pub fn disagreement(&self, measured: demand::Seat) -> Result<Option<Disagreement>, OutOfRange> {
        let (Some(usual), Ok(grid)) = (self.usual, self.grid()) else { return Ok(None) };
        let stands = grid.seat(usual)?;
        let apart = |one: Metres, other: Metres, gap: Metres| {
            let slack = (gap.get() / 2.0).max(CHAIRS_MOVE) + 1e-9;
            ((one.get() - other.get()).abs() > slack).then_some(one)
        };
        let found = Disagreement {
            row: apart(stands.to_the_board, measured.to_the_board, grid.row_gap),
            seat: apart(stands.aside, measured.aside, grid.seat_gap),
        };
        Ok((found != Disagreement::default()).then_some(found))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn metres(value: f64) -> Option<Typed<Metres>> {
        Some(Typed::new(format!("{value} m"), Metres::literal(value)))
    }

    /// Four rows of five, 2 m from the board, 1.2 m behind and 0.8 m beside each other.
    fn rows() -> Layout {
        Layout {
            rows: Some(4),
            row_seats: Some(5),
            first_row: metres(2.0),
            row_gap: metres(1.2),
            seat_gap: metres(0.8),
            usual: Some(Place { row: 2, seat: 4 }),
            ..Layout::default()
        }
    }

    fn measured(to_the_board: f64, aside: f64) -> demand::Seat {
        demand::Seat { to_the_board: Metres::literal(to_the_board), aside: Metres::literal(aside) }
    }

    #[test]
    fn what_is_missing_is_named_and_one_row_needs_no_next_one() {
        assert_eq!(
            Layout::default().grid(),
            Err(vec![Missing::Rows, Missing::RowSeats, Missing::FirstRow, Missing::RowGap, Missing::SeatGap])
        );
        let bench = Layout { rows: Some(1), row_gap: None, ..rows() };
        assert!(bench.grid().is_ok());
        let desk = Layout { row_seats: Some(1), seat_gap: None, ..rows() };
        assert!(desk.grid().is_ok());
        assert_eq!(Layout { row_gap: None, ..rows() }.grid(), Err(vec![Missing::RowGap]));
    }

    #[test]
    fn the_usual_seat_stands_where_it_was_measured_or_the_rows_say_where() {
        // Row 2 is 3.2 m from the board and seat 4 of 5 is 0.8 m to the right.
        let fits = |far, aside| rows().disagreement(measured(far, aside)).expect("a seat of the rows");
        assert_eq!(fits(3.2, 0.8), None);
        assert_eq!(fits(3.8, 1.2), None);
        assert_eq!(fits(2.6, 0.4), None);
        let row = fits(3.9, 0.8).expect("nearer to row 3");
        assert_eq!((row.row.map(Metres::get), row.seat), (Some(3.2), None));
        let mirrored = fits(3.2, -0.8).expect("the other side");
        assert_eq!(mirrored.row, None);
        assert!(mirrored.seat.is_some_and(|seat| (seat.get() - 0.8).abs() < 1e-12));
        // A board that hangs 40 cm to the left of the middle puts each seat farther right of it.
        let board = Layout { board_aside: metres(0.4).map(|far| (far, Aside::Left)), ..rows() };
        assert_eq!(board.disagreement(measured(3.2, 1.2)), Ok(None));
    }

    #[test]
    fn a_seat_that_the_rows_do_not_have_is_an_error_and_half_known_rows_say_nothing() {
        let beyond = Layout { usual: Some(Place { row: 5, seat: 1 }), ..rows() };
        assert!(beyond.disagreement(measured(3.2, 0.8)).is_err());
        let half = Layout { first_row: None, ..beyond };
        assert_eq!(half.disagreement(measured(9.0, 0.0)), Ok(None));
    }
}
