//! Operations on the demand of a board and on reserves.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::{Input, Operation};
use crate::vision::contrast::{LogContrastSensitivity, Weber};
use crate::vision::demand::{Seat, focusing_demand, letter_seen};
use crate::vision::reserve::{acuity_needed, contrast_reserve, size_check};
use crate::vision::room::{Grid, Place};

const TOPIC: &str = "demand and reserve";

const DEMAND: Input = Input::logmar("demand_logmar", "what the target asks for");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "board_letter_demand",
        topic: TOPIC,
        question: "How tall and how wide does a letter on the board look from this seat?",
        inputs: &[
            Input::metres("letter_height_m", "the height of the letter"),
            Input::metres("letter_width_m", "the width of the letter"),
            Input::metres("perpendicular_distance_m", "the distance straight to the wall of the board"),
            Input::metres("lateral_offset_m", "how far the letter is to the side"),
        ],
        answers: board_letter,
    },
    Operation {
        name: "seat_in_rows",
        topic: TOPIC,
        question: "Where does this seat of a room stand before the board?",
        inputs: &[
            Input::count("rows", "the rows"),
            Input::count("row_seats", "the seats in a row"),
            Input::metres("first_row_m", "the distance from the eyes of the first row straight to the board"),
            Input::metres("row_gap_m", "the distance from one row to the next"),
            Input::metres("seat_gap_m", "the distance from one seat to the next"),
            Input::metres("board_aside_m", "how far the board is to the right of the middle of the rows"),
            Input::count("row", "the row, counted from the board"),
            Input::count("seat", "the seat in the row, counted from the left facing the board"),
        ],
        answers: in_rows,
    },
    Operation {
        name: "acuity_reserve",
        topic: TOPIC,
        question: "How far above the threshold is the target, and what would bring it to the reserve required?",
        inputs: &[
            Input::logmar("threshold_logmar", "the acuity"),
            DEMAND,
            Input::plain("required_reserve_ratio", "the reserve needed"),
        ],
        answers: reserve,
    },
    Operation {
        name: "demand_with_reserve",
        topic: TOPIC,
        question: "Which acuity meets this demand with this reserve?",
        inputs: &[DEMAND, Input::plain("reserve_ratio", "the reserve needed")],
        answers: with_reserve,
    },
    Operation {
        name: "accommodative_demand",
        topic: TOPIC,
        question: "How strongly must an eye focus for this distance?",
        inputs: &[Input::metres("distance_m", "the distance from the eye")],
        answers: focusing,
    },
    Operation {
        name: "contrast_reserve",
        topic: TOPIC,
        question: "How many times more contrast than the threshold does the target have?",
        inputs: &[
            Input::plain("target_weber", "the target's Weber contrast"),
            Input::number("log_cs", "the contrast sensitivity", "log units").way("from a contrast sensitivity"),
            Input::plain("threshold_weber", "the threshold contrast, as Weber contrast").way("from a threshold"),
        ],
        answers: contrast,
    },
];

fn board_letter(inputs: &Inputs<'_>) -> Found {
    let seat =
        Seat { to_the_board: inputs.metres("perpendicular_distance_m")?, aside: inputs.metres("lateral_offset_m")? };
    let letter = letter_seen(inputs.metres("letter_height_m")?, inputs.metres("letter_width_m")?, seat)?;
    Ok(Figures::from([
        ("sight_distance_m", letter.sight_distance.get()),
        ("obliquity_deg", letter.obliquity.get()),
        ("vertical_arcmin", letter.height.get()),
        ("horizontal_arcmin", letter.width.get()),
        ("logmar_vertical", letter.height_demand.get()),
        ("logmar_horizontal", letter.width_demand.get()),
    ]))
}

fn in_rows(inputs: &Inputs<'_>) -> Found {
    let grid = Grid {
        rows: inputs.count("rows")?,
        row_seats: inputs.count("row_seats")?,
        first_row: inputs.metres("first_row_m")?,
        row_gap: inputs.metres("row_gap_m")?,
        seat_gap: inputs.metres("seat_gap_m")?,
        board_aside: inputs.metres("board_aside_m")?,
    };
    let seat = grid.seat(Place { row: inputs.count("row")?, seat: inputs.count("seat")? })?;
    Ok(Figures::from([
        ("perpendicular_distance_m", seat.to_the_board.get()),
        ("lateral_offset_m", seat.aside.get()),
        ("sight_distance_m", seat.to_the_board.get().hypot(seat.aside.get())),
        ("obliquity_deg", seat.obliquity()?.get()),
    ]))
}

fn reserve(inputs: &Inputs<'_>) -> Found {
    let check = size_check(
        inputs.logmar("demand_logmar")?,
        inputs.logmar("threshold_logmar")?,
        inputs.ratio("required_reserve_ratio")?,
    )?;
    Ok(Figures::from([
        ("reserve_ratio", check.reserve.get()),
        ("reserve_log", check.reserve_log),
        ("magnification_needed", check.magnification_needed.get()),
        ("threshold_needed_logmar", check.acuity_needed.get()),
    ]))
}

fn with_reserve(inputs: &Inputs<'_>) -> Found {
    let needed = acuity_needed(inputs.logmar("demand_logmar")?, inputs.ratio("reserve_ratio")?)?;
    Ok(Figures::from([("threshold_needed_logmar", needed.get())]))
}

fn focusing(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("demand_D", focusing_demand(inputs.metres("distance_m")?)?.get())]))
}

fn contrast(inputs: &Inputs<'_>) -> Found {
    let threshold = if inputs.has("log_cs") {
        inputs.typed("log_cs", LogContrastSensitivity::new)?.threshold()?
    } else {
        inputs.typed("threshold_weber", Weber::new)?
    };
    let reserve = contrast_reserve(inputs.typed("target_weber", Weber::new)?, threshold)?;
    Ok(Figures::from([("threshold_weber", threshold.get()), ("contrast_reserve_ratio", reserve.get())]))
}
