//! How does a reader compute a figure of this page again, outside of it?
//!
//! A panel that says how a figure came about also holds the line to recompute
//! it: an operation of [`crate::compute`], its inputs as exact as they were
//! used, and which figures of the result stand on the page, as they are
//! printed there. `tests/recompute` reads these lines off the pages, gives them
//! to `farpoint compute` and compares.
//!
//! A line holds only what its reader may read: it is built where the inputs of
//! the panel are named, from the same values. Does not compute.
//! Read next: [`super::part::How::asks`].

use std::fmt;

use serde_json::{Map, Value, json};

use crate::care::goal::{falls_just_short, reached_told};
use crate::vision::acuity::LogMar;
use crate::vision::contrast::{LogContrastSensitivity, Weber};
use crate::vision::demand::{LetterSeen, Seat};
use crate::vision::length::shown::{Units, distance, letter_height};
use crate::vision::readable::Needed;
use crate::vision::seat_print::{Line, SeatTold};
use crate::vision::units::{Metres, Ratio};

/// A question for `farpoint compute`, and what stands on the page of its answer.
#[derive(Debug, Clone)]
pub struct Asked {
    op: &'static str,
    inputs: Map<String, Value>,
    shown: Vec<Shown>,
}

/// One figure of the answer as the page prints it.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The key of the result.
    pub key: &'static str,
    /// The figure as printed, with its unit.
    pub text: String,
    /// How it was rounded.
    pub rounding: Rounding,
}

/// How a figure was rounded for the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest of what is printed.
    Nearest,
    /// Never more than it is.
    Down,
    /// Never less than it is.
    Up,
    /// To a quarter, as lenses are told.
    Quarter,
}

impl fmt::Display for Rounding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Nearest => "",
            Self::Down => ", rounded down",
            Self::Up => ", rounded up",
            Self::Quarter => ", to the quarter",
        })
    }
}

/// A question to this operation.
pub fn ask(op: &'static str) -> Asked {
    asked(op, Map::new())
}

/// A question to this operation with all its inputs.
pub fn asked(op: &'static str, inputs: Map<String, Value>) -> Asked {
    Asked { op, inputs, shown: Vec::new() }
}

impl Asked {
    /// One input, unrounded.
    pub fn with(mut self, key: &'static str, number: f64) -> Self {
        self.inputs.insert(key.to_owned(), number.into());
        self
    }

    /// One count.
    pub fn count(mut self, key: &'static str, number: u32) -> Self {
        self.inputs.insert(key.to_owned(), number.into());
        self
    }

    /// A list of numbers, unrounded.
    pub fn list(self, key: &'static str, numbers: &[f64]) -> Self {
        self.nested(key, numbers.into())
    }

    /// Lists and objects, as the operation takes them.
    pub fn nested(mut self, key: &'static str, value: Value) -> Self {
        self.inputs.insert(key.to_owned(), value);
        self
    }

    /// A figure that stands on the page, rounded to the nearest of what is printed.
    pub fn gives(self, key: &'static str, text: &str) -> Self {
        self.shows(Shown { key, text: text.to_owned(), rounding: Rounding::Nearest })
    }

    /// A figure that stands on the page, rounded down.
    pub fn gives_down(self, key: &'static str, text: &str) -> Self {
        self.shows(Shown { key, text: text.to_owned(), rounding: Rounding::Down })
    }

    /// A figure that stands on the page, rounded up.
    pub fn gives_up(self, key: &'static str, text: &str) -> Self {
        self.shows(Shown { key, text: text.to_owned(), rounding: Rounding::Up })
    }

    /// A figure that stands on the page, however it was rounded.
    pub fn shows(mut self, shown: Shown) -> Self {
        self.shown.push(shown);
        self
    }

    /// The line for the command, with a number to tell its answer from others.
    pub(super) fn line(&self, id: &usize) -> String {
        json!({"id": id, "op": self.op, "inputs": self.inputs}).to_string()
    }

    /// What of the answer stands on the page.
    pub(super) fn figures(&self) -> &[Shown] {
        &self.shown
    }
}

/// What the writing asks for, seen from a seat; `board` is as wide as its far
/// edge counts.
pub fn demand(x_height: Metres, from: Seat, board: Option<Metres>, seen: &LetterSeen) -> Asked {
    let half = board.map_or(0.0, |width| width.get() / 2.0);
    let working = if seen.width_demand < seen.height_demand { "logmar_horizontal" } else { "logmar_vertical" };
    let asked = ask("board_letter_demand")
        .with("letter_height_m", x_height.get())
        .with("letter_width_m", x_height.get())
        .with("perpendicular_distance_m", from.to_the_board.get())
        .with("lateral_offset_m", from.aside.get().abs() + half)
        .gives(working, &format!("{:.2} logMAR", seen.working_demand().get()))
        .gives("vertical_arcmin", &format!("{:.1} minutes of arc", seen.height.get()));
    if seen.obliquity.get() < 0.5 {
        return asked;
    }
    asked
        .gives("horizontal_arcmin", &format!("{:.1} wide", seen.width.get()))
        .gives("obliquity_deg", &format!("{:.0}\u{b0}", seen.obliquity.get()))
}

/// How far above the threshold a demand is; the reserve stands on the page as
/// [`reached_told`] tells it, with these words before and behind.
pub fn reserve(demand: LogMar, acuity: LogMar, reached: Ratio, needed: Ratio, around: (&str, &str)) -> Asked {
    ask("acuity_reserve")
        .with("threshold_logmar", acuity.get())
        .with("demand_logmar", demand.get())
        .with("required_reserve_ratio", needed.get())
        .shows(reserve_shown("reserve_ratio", reached, needed, around))
}

/// How far above its threshold a contrast is; the reserve stands on the page
/// with these words before and behind.
pub fn contrast(
    target: Weber,
    eye: LogContrastSensitivity,
    reached: Ratio,
    needed: Ratio,
    around: (&str, &str),
) -> Asked {
    ask("contrast_reserve").with("target_weber", target.get()).with("log_cs", eye.get()).shows(reserve_shown(
        "contrast_reserve_ratio",
        reached,
        needed,
        around,
    ))
}

/// A reserve as it is told. One that falls short is cut off where rounding would
/// make it look like enough.
fn reserve_shown(key: &'static str, reached: Ratio, needed: Ratio, (before, behind): (&str, &str)) -> Shown {
    let text = format!("{before}{}{behind}", reached_told(reached, needed));
    let rounding = if falls_just_short(reached, needed) { Rounding::Down } else { Rounding::Nearest };
    Shown { key, text, rounding }
}

/// What a seat-and-print line rests on.
pub struct SeatAsked {
    /// The acuity.
    pub acuity: LogMar,
    /// The height of the small letters that decide.
    pub x_height: Metres,
    /// The usual seat.
    pub seat: Seat,
    /// The reserves the goal needs.
    pub needed: Needed,
    /// The reader's units.
    pub units: Units,
}

impl SeatAsked {
    /// The questions behind the two figures of a line, as far as they are told.
    pub fn of(&self, line: &Line) -> Vec<Asked> {
        let asked = |op| {
            // The acuity through a device contains its power already.
            ask(op)
                .with("threshold_logmar", self.acuity.get())
                .with("angular_power", 1.0)
                .with("required_reserve_ratio", self.needed.acuity.get())
        };
        let mut all = Vec::new();
        if let SeatTold::Within(seat) = line.seat(self.units) {
            let told = distance(seat, self.units);
            all.push(
                asked("farthest_seat_with_power")
                    .with("letter_height_m", self.x_height.get())
                    .gives_down("distance_m", &told),
            );
        }
        if let Ok(letter) = line.letter(self.units) {
            let sight = self.seat.to_the_board.get().hypot(self.seat.aside.get());
            all.push(
                asked("smallest_letter_with_power")
                    .with("distance_m", sight)
                    .gives_up("letter_height_m", &letter_height(letter, self.units)),
            );
        }
        all
    }
}

/// The interval of a success rate; `low` and `high` as printed.
pub fn success(right: u32, trials: u32, low: &str, high: &str) -> Asked {
    ask("success_rate_interval95")
        .count("successes", right)
        .count("trials", trials)
        .gives("wilson_low", low)
        .gives("wilson_high", high)
}
