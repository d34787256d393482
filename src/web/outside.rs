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

use serde_json::{Map, Value, json};

use crate::vision::acuity::LogMar;
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
    /// How it was rounded, where that is not to the nearest.
    pub rounding: &'static str,
}

/// A question to this operation.
pub fn ask(op: &'static str) -> Asked {
    Asked { op, inputs: Map::new(), shown: Vec::new() }
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
        self.shown(key, text, "")
    }

    /// A figure that stands on the page, rounded down.
    pub fn gives_down(self, key: &'static str, text: &str) -> Self {
        self.shown(key, text, ", rounded down")
    }

    /// A figure that stands on the page, rounded up.
    pub fn gives_up(self, key: &'static str, text: &str) -> Self {
        self.shown(key, text, ", rounded up")
    }

    fn shown(mut self, key: &'static str, text: &str, rounding: &'static str) -> Self {
        self.shown.push(Shown { key, text: text.to_owned(), rounding });
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

/// How far above the threshold a demand is; `told` is the reserve as printed.
pub fn reserve(demand: LogMar, acuity: LogMar, needed: Ratio, told: &str) -> Asked {
    ask("acuity_reserve")
        .with("threshold_logmar", acuity.get())
        .with("demand_logmar", demand.get())
        .with("required_reserve_ratio", needed.get())
        .gives("reserve_ratio", told)
}

/// How far above its threshold a contrast is; `told` is the reserve as printed.
pub fn contrast(target: f64, log_sensitivity: f64, told: &str) -> Asked {
    ask("contrast_reserve")
        .with("target_weber", target)
        .with("log_cs", log_sensitivity)
        .gives("contrast_reserve_ratio", told)
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
