//! The room from above, the board at the top: every seat to scale.
//!
//! A length in the room is a length in the drawing by one scale, in both
//! directions, chosen so that the widest row and the board fit; a deep room
//! makes a tall drawing. Shapes tell the answer: a full disc, a half disc, a
//! ring. The table beside carries every figure.

use askama::Template;
use askama::filters::HtmlSafe;

use super::super::guidance;
use super::super::part::{self, Cell, Table};
use super::super::picture::{At, Frame, WIDE};
use super::super::words;
use super::Asked;
use super::told::{place, points, reach_words, seats};
use crate::care::goal::reached_told;
use crate::care::options::WhyNot;
use crate::care::room::plan::{Plan, Reach, SeatSeen, Through};
use crate::care::sight::NoFigure;
use crate::vision::length::METRES_PER_FOOT;
use crate::vision::length::shown::Units;
use crate::vision::readable::Answer;
use crate::vision::units::count;

/// Left of this stands the scale of distances, right of that the rows' numbers.
const LEFT: f64 = 64.0;
const RIGHT: f64 = WIDE - 36.0;
/// Where the board hangs.
const TOP: f64 = 40.0;
/// No drawing is made deeper than this below the board.
const DEEPEST: f64 = 900.0;
/// No metre is drawn longer than this.
const LONGEST_METRE: f64 = 84.0;
/// What a line of text needs on a narrow page.
const LINE: f64 = 26.0;

/// One word or number in the drawing.
struct Label {
    x: At,
    y: At,
    words: String,
}

/// One seat.
struct Disc {
    x: At,
    y: At,
    r: At,
    /// The top and the foot of the half that is full.
    top: At,
    foot: At,
    /// The second outline of the usual seat.
    around: Option<At>,
    full: bool,
    half: bool,
}

/// The arrow to the quiet side.
struct Arrow {
    from: At,
    to: At,
    y: At,
    /// The ends of its head.
    head: At,
    above: At,
    below: At,
    label: Label,
    /// Where the word ends or begins: `start` or `end`.
    anchor: &'static str,
}

/// The drawing with its frame.
#[derive(Template)]
#[template(path = "picture/room.html")]
pub(super) struct RoomPicture {
    frame: Frame,
    board: (At, At),
    board_y: At,
    board_label: Label,
    scale_x: At,
    scale_foot: At,
    ticks: Vec<(At, Label)>,
    row_word: Label,
    rows: Vec<Label>,
    seat_word: Label,
    numbers: Vec<Label>,
    seats: Vec<Disc>,
    quiet: Option<Arrow>,
}

impl HtmlSafe for RoomPicture {}

impl RoomPicture {
    fn tick_from(&self) -> At {
        At(self.scale_x.0 - 6.0)
    }
}

/// The scale of one drawing: metres of the room to units of the picture.
struct Scale {
    /// Units to a metre.
    metre: f64,
    /// Where the centre of the board is.
    centre: f64,
}

impl Scale {
    fn of(plan: &Plan) -> Self {
        let spare = if plan.grid.row_seats > 1 { plan.grid.seat_gap.get() / 2.0 } else { 0.5 };
        let half_board = plan.board.get() / 2.0;
        let (mut least, mut most, mut deep) = (-half_board, half_board, 0.0_f64);
        for seat in &plan.seats {
            least = least.min(seat.from.aside.get() - spare);
            most = most.max(seat.from.aside.get() + spare);
            deep = deep.max(seat.from.to_the_board.get());
        }
        let metre = ((RIGHT - LEFT) / (most - least)).min(DEEPEST / deep).min(LONGEST_METRE);
        // In the middle of what there is between the scale and the numbers.
        let left = LEFT + ((RIGHT - LEFT) - (most - least) * metre) / 2.0;
        Self { metre, centre: left - least * metre }
    }

    fn x(&self, right: f64) -> f64 {
        self.centre + right * self.metre
    }

    fn y(&self, back: f64) -> f64 {
        TOP + back * self.metre
    }
}

/// Distances between the lines of the scale, round numbers of the reader's units.
fn step(metre: f64, units: Units) -> (f64, f64) {
    let (unit, steps): (f64, &[f64]) = match units {
        Units::Metric => (1.0, &[1.0, 2.0, 5.0, 10.0]),
        Units::Imperial => (METRES_PER_FOOT, &[2.0, 5.0, 10.0, 20.0, 50.0]),
    };
    let wide_enough = |step: &&f64| **step * unit * metre >= LINE;
    let found = steps.iter().find(wide_enough).or(steps.last()).copied().unwrap_or(1.0);
    (found, unit)
}

/// Every how many of these a number fits between its neighbours.
fn every(gap: f64) -> usize {
    if gap <= 0.0 { 1 } else { (1_usize..).take(16).find(|n| gap * (*n as f64) >= LINE).unwrap_or(16) }
}

impl Asked<'_> {
    /// The plan as a drawing.
    pub(super) fn drawn(&self, plan: &Plan) -> RoomPicture {
        let scale = Scale::of(plan);
        let grid = &plan.grid;
        let gaps = [(grid.row_seats > 1, grid.seat_gap), (grid.rows > 1, grid.row_gap)];
        let narrowest = gaps.iter().filter(|(there, _)| *there).map(|(_, gap)| gap.get() * scale.metre);
        let narrowest = narrowest.min_by(f64::total_cmp).unwrap_or(60.0);
        // A second outline must fit between neighbours, too.
        let r = (narrowest / 2.0 - 6.0).clamp(4.5, 13.0);
        let discs: Vec<Disc> = plan.seats.iter().map(|seat| disc(seat, &scale, r)).collect();
        let deepest = plan.seats.iter().map(|seat| seat.from.to_the_board.get()).fold(0.0, f64::max);
        let foot = scale.y(deepest);
        let row_y = |row: u32| scale.y(grid.first_row.get() + f64::from(row - 1) * grid.row_gap.get());
        let rows: Vec<Label> = (1..=grid.rows)
            .step_by(every(grid.row_gap.get() * scale.metre))
            .map(|row| label(WIDE - 8.0, row_y(row) + 6.0, row.to_string()))
            .collect();
        let numbers_y = foot + r + 28.0;
        let across = |seat: u32| {
            let middle = (f64::from(grid.row_seats) + 1.0) / 2.0;
            scale.x((f64::from(seat) - middle) * grid.seat_gap.get() - grid.board_aside.get())
        };
        let numbers: Vec<Label> = (1..=grid.row_seats)
            .step_by(every(grid.seat_gap.get() * scale.metre))
            .map(|seat| label(across(seat), numbers_y, seat.to_string()))
            .collect();
        let quiet = plan.quiet.side().map(|side| arrow(points(side), numbers_y + 34.0));
        let height = quiet.as_ref().map_or(numbers_y + 12.0, |arrow| arrow.y.0 + 18.0);
        let half_board = plan.board.get() / 2.0;
        let wide = self.far(plan.board);
        RoomPicture {
            frame: self.frame(plan, At(height)),
            board: (At(scale.x(-half_board)), At(scale.x(half_board))),
            board_y: At(TOP),
            board_label: label(scale.x(0.0).clamp(110.0, WIDE - 110.0), TOP - 16.0, format!("board, {wide} wide")),
            scale_x: At(LEFT - 8.0),
            scale_foot: At(foot),
            ticks: self.ticks(&scale, deepest),
            row_word: label(WIDE - 2.0, (row_y(1) - 20.0).max(TOP + 20.0), "row".to_owned()),
            rows,
            seat_word: label(LEFT - 15.0, numbers_y, "seat".to_owned()),
            numbers,
            seats: discs,
            quiet,
        }
    }

    /// The lines of the scale at the side, from the board to the last row.
    fn ticks(&self, scale: &Scale, deepest: f64) -> Vec<(At, Label)> {
        let units = words::units(self.context);
        let (step, unit) = step(scale.metre, units);
        let name = match units {
            Units::Metric => "m",
            Units::Imperial => "ft",
        };
        let lines = count((deepest / (step * unit) + 1e-9).floor()).unwrap_or(0);
        (1..=lines)
            .map(|line| {
                let far = f64::from(line) * step;
                let y = scale.y(far * unit);
                (At(y), label(LEFT - 15.0, y + 6.0, format!("{far} {name}")))
            })
            .collect()
    }

    fn frame(&self, plan: &Plan, height: At) -> Frame {
        let grid = &plan.grid;
        let counted = self.counted(plan);
        let last = plan.seats.iter().map(|seat| seat.from.to_the_board).max().unwrap_or(grid.first_row);
        let usual = match plan.usual() {
            Some(usual) => format!(" The usual seat is {}: {}.", place(usual), reach_words(usual.reach())),
            None => String::new(),
        };
        let quiet = match plan.quiet.side() {
            Some(side) => format!(" An arrow marks the quiet side, on the {}.", side.words()),
            None => String::new(),
        };
        let device = if matches!(plan.through, Some(Ok(_))) { " Half a disc: readable with the device." } else { "" };
        let outline = if plan.usual().is_some() { " A second outline: the usual seat." } else { "" };
        Frame {
            id: "room-plan",
            title: format!("Seats from which {} can be read", self.task.what.name),
            description: format!(
                "The room from above, the board at the top. {} of {} before a board {} wide, the first {} from it and the last {}. {counted}{usual}{quiet}",
                if grid.rows == 1 { "1 row".to_owned() } else { format!("{} rows", grid.rows) },
                seats(grid.row_seats as usize),
                self.far(plan.board),
                self.far(grid.first_row),
                self.far(last),
            ),
            height,
            caption: format!(
                "{counted} Full disc: readable without a device.{device} Ring: not readable.{outline} Rows count from the board, seats from the left facing it; the scale is the distance straight to the board."
            ),
            table: self.table(plan),
        }
    }

    fn table(&self, plan: &Plan) -> Table {
        let table = part::table("Every seat").column("Seat").column("To the board's middle");
        let mut table = match self.known.plain {
            true => table.column("Seen"),
            false => table.number("From the side (\u{b0})").number("Far edge from the side (\u{b0})"),
        }
        .column("Without a device");
        if let Some(device) = self.device {
            table = table.column(&format!("With the {}", self.known.named(device)));
        }
        for seat in &plan.seats {
            let name = words::capital(&place(seat));
            let name = if seat.usual { format!("{name}, the usual seat") } else { name };
            let mut row: Vec<Cell> = vec![name.into(), self.far(seat.seen.to_the_middle).into()];
            if self.known.plain {
                row.push(self.aside(seat.seen.middle).into());
            } else {
                row.push(format!("{:.0}", seat.seen.middle.get()).into());
                row.push(format!("{:.0}", seat.seen.far_edge.get()).into());
            }
            row.push(self.cell(&seat.alone));
            if self.device.is_some() {
                row.push(match &seat.through {
                    Some(Through::Judged(answer)) => self.cell(&Ok(*answer)),
                    Some(Through::NotFromHere(WhyNot::FocusTooFar)) => "Too near to focus".into(),
                    Some(Through::NotFromHere(_)) => "Not computed so near".into(),
                    Some(Through::No(_)) | None => "Not computed".into(),
                });
            }
            table = table.row(row);
        }
        table
    }

    fn cell(&self, answer: &Result<Answer, NoFigure>) -> Cell {
        match answer {
            Err(_) => "Not computed".into(),
            Ok(Answer::MoveTheSeat { .. }) => "Move the seat".into(),
            Ok(Answer::Judged(judged)) => {
                let verdict = guidance::verdict(judged.verdict);
                match self.known.plain {
                    true => verdict.into(),
                    false => {
                        format!("{verdict}, {} times", reached_told(judged.acuity_reserve, judged.needed.acuity)).into()
                    }
                }
            }
        }
    }
}

fn label(x: f64, y: f64, words: String) -> Label {
    Label { x: At(x), y: At(y), words }
}

fn disc(seat: &SeatSeen, scale: &Scale, r: f64) -> Disc {
    let (x, y) = (scale.x(seat.from.aside.get()), scale.y(seat.from.to_the_board.get()));
    let reach = seat.reach();
    Disc {
        x: At(x),
        y: At(y),
        r: At(r),
        top: At(y - r),
        foot: At(y + r),
        around: seat.usual.then_some(At(r + 4.5)),
        full: reach == Reach::Alone,
        half: reach == Reach::WithDevice,
    }
}

/// An arrow from the middle to the right or the left, with its word behind it.
fn arrow(points: f64, y: f64) -> Arrow {
    let middle = f64::midpoint(LEFT, RIGHT);
    let (from, to) = (middle + points * 8.0, middle + points * 96.0);
    Arrow {
        from: At(from),
        to: At(to),
        y: At(y),
        head: At(to - points * 10.0),
        above: At(y - 7.0),
        below: At(y + 7.0),
        label: label(from - points * 8.0, y + 6.0, "quiet side".to_owned()),
        anchor: if points > 0.0 { "end" } else { "start" },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_of_round_numbers_far_enough_apart_to_be_read() {
        assert_eq!(step(84.0, Units::Metric), (1.0, 1.0));
        assert_eq!(step(30.0, Units::Metric), (1.0, 1.0));
        assert_eq!(step(20.0, Units::Metric), (2.0, 1.0));
        assert_eq!(step(30.0, Units::Imperial), (5.0, METRES_PER_FOOT));
        assert_eq!(step(1.0, Units::Metric), (10.0, 1.0));
    }

    #[test]
    fn numbers_are_left_out_where_they_would_touch() {
        assert_eq!([every(30.0), every(26.0), every(20.0), every(9.0), every(0.0)], [1, 1, 2, 3, 1]);
    }

    #[test]
    fn an_arrow_points_away_from_its_word() {
        let right = arrow(1.0, 10.0);
        assert!(right.to > right.from && right.head < right.to && right.label.x < right.from);
        assert_eq!(right.anchor, "end");
        let left = arrow(-1.0, 10.0);
        assert!(left.to < left.from && left.head > left.to && left.label.x > left.from);
        assert_eq!(left.anchor, "start");
    }
}
