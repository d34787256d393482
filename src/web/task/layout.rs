//! The rows of seats of a room: their part of the seat form, and how they read.

use crate::care::room::{self, Layout, MOST_ROWS, MOST_SEATS};
use crate::care::task::{Aside, NewSeat, Seat};
use crate::care::typed::Typed;
use crate::vision::demand;
use crate::vision::length::shown::{self, Units};
use crate::vision::room::Place;
use crate::vision::units::Metres;
use crate::web::check::Check;
use crate::web::form::{Entry, FormView};
use crate::web::page::Context;
use crate::web::words;

use super::typed_length;

/// The fields of this part, in their order.
const FIELDS: [&str; 10] = [
    "rows",
    "row_seats",
    "first_row",
    "row_gap",
    "seat_gap",
    "board_aside",
    "board_side",
    "usual_row",
    "usual_seat",
    "window_side",
];

/// Whether this part stands open: something is typed in it or wrong with it.
pub(super) fn is_open(form: &FormView) -> bool {
    FIELDS.iter().any(|field| !form.entry.get(field).is_empty() || form.faults.of(field).is_some())
}

fn count(check: &mut Check<'_>, name: &str, label: &str, most: u32) -> Option<u32> {
    check.opt_whole(name, label, 1..=i64::from(most)).and_then(|number| u32::try_from(number).ok())
}

/// Reads this part of the form.
pub(super) fn read(check: &mut Check<'_>) -> Layout {
    let rows = count(check, "rows", "Number of rows", MOST_ROWS);
    let row_seats = count(check, "row_seats", "Seats in a row", MOST_SEATS);
    let first_row = check.opt_length("first_row", "From the first row to the board", 0.3..=30.0);
    let row_gap = check.opt_length("row_gap", "From row to row", 0.4..=5.0);
    let seat_gap = check.opt_length("seat_gap", "From seat to seat", 0.4..=5.0);
    let board_aside = check.opt_length("board_aside", "How far the board hangs to one side", 0.01..=10.0);
    let board_side: Option<Aside> = check.opt_code("board_side", "To which side the board hangs");
    if board_aside.is_some() && board_side.is_none() {
        check.fault("board_side", "Say to which side of the middle of the rows the board hangs, facing it.");
    }
    if board_aside.is_none() && board_side.is_some() && check.typed("board_aside").is_empty() {
        check.fault("board_aside", "Write how far to the side, for example 50 cm, or leave the side open.");
    }
    let usual = usual(check, rows, row_seats);
    let window: Option<Aside> = check.opt_code("window_side", "Side of the windows");
    let layout = Layout {
        rows,
        row_seats,
        first_row,
        row_gap,
        seat_gap,
        board_aside: board_aside.zip(board_side),
        usual,
        window,
    };
    if let Ok(grid) = layout.grid()
        && let Ok(last) = grid.seat(Place { row: grid.rows, seat: 1 })
        && last.to_the_board > room::FARTHEST_SEAT
    {
        let field = if layout.row_gap.is_some() { "row_gap" } else { "first_row" };
        check.fault(
            field,
            format!(
                "The last row would be {} from the board, and 30 m is the farthest. Check the rows and the distances between them.",
                both_units(last.to_the_board)
            ),
        );
    }
    layout
}

/// The usual seat's row and its place in it: both, and both in the room.
fn usual(check: &mut Check<'_>, rows: Option<u32>, row_seats: Option<u32>) -> Option<Place> {
    let row = count(check, "usual_row", "Row of the usual seat", MOST_ROWS);
    let seat = count(check, "usual_seat", "Seat in that row", MOST_SEATS);
    let mut within = |field: &str, number: Option<u32>, of: Option<u32>, what: &str, missing: &str| match (number, of) {
        (Some(number), Some(most)) if number > most => {
            check.fault(field, format!("There are {most} {what}: write a number from 1 to {most}."));
        }
        (Some(_), None) if check.typed(missing).is_empty() => {
            check.fault(missing, format!("Write how many {what} there are, or leave the usual seat open."));
        }
        _ => {}
    };
    within("usual_row", row, rows, "rows", "rows");
    within("usual_seat", seat, row_seats, "seats in a row", "row_seats");
    if row.is_some() && seat.is_none() && check.typed("usual_seat").is_empty() {
        check.fault("usual_seat", "Write which seat of that row it is, counted from the left facing the board.");
    }
    if seat.is_some() && row.is_none() && check.typed("usual_row").is_empty() {
        check.fault("usual_row", "Write which row it is, counted from the board.");
    }
    row.zip(seat).map(|(row, seat)| Place { row, seat })
}

/// Says beside the usual seat when the rows have it elsewhere than it was measured.
pub(super) fn agree(check: &mut Check<'_>, layout: &Layout, measured: demand::Seat) {
    // A seat that the rows do not have was told beside its own field.
    let Ok(Some(found)) = layout.disagreement(measured) else { return };
    let Some(usual) = layout.usual else { return };
    if let Some(row) = found.row {
        check.fault(
            "usual_row",
            format!(
                "By these rows, row {} is {} from the board, and the seat was entered as {}. Mend whichever is wrong.",
                usual.row,
                both_units(row),
                both_units(measured.to_the_board)
            ),
        );
    }
    if let Some(seat) = found.seat {
        check.fault(
            "usual_seat",
            format!(
                "By these rows, seat {} is {}, and the seat was entered as {}. Mend whichever is wrong.",
                usual.seat,
                side_words(seat),
                side_words(measured.aside)
            ),
        );
    }
}

/// A form is read for people of both kinds of units.
fn both_units(length: Metres) -> String {
    format!("{} ({})", shown::distance(length, Units::Metric), shown::distance(length, Units::Imperial))
}

fn side_words(right: Metres) -> String {
    match right.get() {
        right if right.abs() < 0.005 => "in the middle of the board".to_owned(),
        more if more > 0.0 => format!("{} to the right of the board's middle", both_units(right)),
        _ => format!("{} to the left of the board's middle", both_units(right)),
    }
}

/// Fills this part of the form.
pub(super) fn fill(entry: Entry, layout: &Layout) -> Entry {
    let number = |number: Option<u32>| number.map_or(String::new(), |number| number.to_string());
    let typed = |length: Option<&Typed<Metres>>| length.map_or(String::new(), |length| length.typed.clone());
    entry
        .with("rows", number(layout.rows))
        .with("row_seats", number(layout.row_seats))
        .with("first_row", typed(layout.first_row.as_ref()))
        .with("row_gap", typed(layout.row_gap.as_ref()))
        .with("seat_gap", typed(layout.seat_gap.as_ref()))
        .with("board_aside", typed(layout.board_aside.as_ref().map(|(far, _)| far)))
        .with("board_side", layout.board_aside.as_ref().map_or("", |(_, side)| side.code()))
        .with("usual_row", number(layout.usual.map(|place| place.row)))
        .with("usual_seat", number(layout.usual.map(|place| place.seat)))
        .with("window_side", layout.window.map_or("", Aside::code))
}

/// How many rows of how many seats, in words.
fn rows_words(layout: &Layout) -> String {
    let seats = |seats: u32| if seats == 1 { "1 seat".to_owned() } else { format!("{seats} seats") };
    let rows = |rows: u32| if rows == 1 { "1 row".to_owned() } else { format!("{rows} rows") };
    match (layout.rows, layout.row_seats) {
        (Some(count), Some(each)) => format!("{} of {}", rows(count), seats(each)),
        (Some(count), None) => rows(count),
        (None, Some(each)) => format!("{} in a row", seats(each)),
        (None, None) => String::new(),
    }
}

fn usual_words(layout: &Layout) -> String {
    layout.usual.map_or(String::new(), |place| format!("row {}, seat {}", place.row, place.seat))
}

/// Facts of the rows as they were entered, in the reader's units beside.
pub(super) fn facts(seat: &Seat, context: &Context) -> Vec<(String, String)> {
    let layout = &seat.what.layout;
    let length = |length: &Typed<Metres>| typed_length(&length.typed, words::distance(length.value, context));
    let optional = |typed: &Option<Typed<Metres>>| typed.as_ref().map_or(String::new(), length);
    let board = layout
        .board_aside
        .as_ref()
        .map(|(far, side)| format!("{} to the {} of the middle of the rows", length(far), side.words()));
    [
        ("Rows", rows_words(layout)),
        ("First row to board", optional(&layout.first_row)),
        ("From row to row", optional(&layout.row_gap)),
        ("From seat to seat", optional(&layout.seat_gap)),
        ("Board hangs", board.unwrap_or_default()),
        ("Usual seat", words::capital(&usual_words(layout))),
        ("Windows", layout.window.map_or(String::new(), |side| format!("On the {}, facing the board", side.words()))),
    ]
    .into_iter()
    .map(|(term, value)| (term.to_owned(), value))
    .collect()
}

/// The same as typed, for two people's texts side by side.
pub(super) fn told(what: &NewSeat) -> Vec<(&'static str, String)> {
    let layout = &what.layout;
    let typed = |length: &Option<Typed<Metres>>| length.as_ref().map_or(String::new(), |length| length.typed.clone());
    let board = layout.board_aside.as_ref().map(|(far, side)| format!("{} {}", far.typed, side.words()));
    vec![
        ("Rows", rows_words(layout)),
        ("First row to board", typed(&layout.first_row)),
        ("From row to row", typed(&layout.row_gap)),
        ("From seat to seat", typed(&layout.seat_gap)),
        ("Board hangs", board.unwrap_or_default()),
        ("Usual seat", usual_words(layout)),
        ("Windows", layout.window.map_or(String::new(), |side| side.words().to_owned())),
    ]
}
