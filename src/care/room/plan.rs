//! From which seats of a room can this task be read?
//!
//! Every seat is put to the very question that the task itself is put to,
//! [`Sight::judge`], as if the student's seat were there: nothing here has a
//! formula of its own. The student's seat stands where it was measured, so that
//! the plan and the task's own line say the same of it.
//!
//! **The order of the best seats is our own proposal**: read without a device
//! first, then with it; among those the quiet side or the middle first; then
//! the one least from the side, then the nearest.
//! Does not know who reads. Read next: [`super::quiet`].

use std::cmp::Reverse;

use super::quiet::Quiet;
use super::{Missing, as_measured};
use crate::care::options::{WhyNot, does_it, out_of_focus, tube_of};
use crate::care::sight::{AtHand, NoFigure, Sight, Used};
use crate::care::task::{Aside, Seat, VisualTask};
use crate::care::track::Track;
use crate::care::typed::Typed;
use crate::vision::contrast::marker::MarkerTable;
use crate::vision::demand;
use crate::vision::readable::{Answer, Goals, Judgement, Verdict};
use crate::vision::room::{BoardSeen, Grid, Place, board_seen};
use crate::vision::units::Metres;

/// Less than this from straight on is called straight on, and is on no side:
/// our own proposal.
pub const STRAIGHT_ON: f64 = 10.0;

/// Everything a plan follows from.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// The task.
    pub task: &'a VisualTask,
    /// The room it is seen in, with the usual seat.
    pub room: Option<&'a Seat>,
    /// How the student sees, as far as the reader may read it.
    pub sight: &'a Sight,
    /// The device that is looked through.
    pub device: Option<&'a AtHand>,
    /// The reserves that goals need.
    pub goals: &'a Goals,
    /// The contrast of markers.
    pub table: &'a MarkerTable,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoPlan {
    /// A near task is at the desk, wherever the desk is.
    AtTheDesk,
    /// It is seen from a distance of its own, or from no room at all.
    NotFromASeat,
    /// Where the seats stand is not known.
    Rows(Vec<Missing>),
    /// No figure can be had for any seat.
    Figure(NoFigure),
}

/// What a seat allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// Readable without a device.
    Alone,
    /// Readable with the device.
    WithDevice,
    /// Neither.
    Not,
}

/// What a seat gives with the device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Through {
    /// It was judged as any seat.
    Judged(Answer),
    /// The device does not work from here.
    NotFromHere(WhyNot),
    /// No figure.
    No(NoFigure),
}

/// One seat of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SeatSeen {
    /// Its row and its place in it.
    pub place: Place,
    /// Where it is, with its offset to the right of the board's centre.
    pub from: demand::Seat,
    /// How the board lies before it.
    pub seen: BoardSeen,
    /// Whether it is the student's usual seat.
    pub usual: bool,
    /// Without a device.
    pub alone: Result<Answer, NoFigure>,
    /// With the device, if one was asked about.
    pub through: Option<Through>,
}

/// A room judged seat by seat.
#[derive(Clone, PartialEq)]
pub struct Plan {
    /// The rows.
    pub grid: Grid,
    /// The width of the board.
    pub board: Metres,
    /// Every seat, row by row from the board.
    pub seats: Vec<SeatSeen>,
    /// The acuity that counts without a device.
    pub used: Used,
    /// The acuity that counts with the device, if one was asked about.
    pub through: Option<Result<Used, NoFigure>>,
    /// The side to sit on.
    pub quiet: Quiet,
}

fn holds(answer: &Answer) -> bool {
    matches!(answer, Answer::Judged(judged) if does_it(judged))
}

impl SeatSeen {
    /// What this seat allows.
    #[must_use]
    pub fn reach(&self) -> Reach {
        if self.alone.as_ref().is_ok_and(holds) {
            Reach::Alone
        } else if matches!(&self.through, Some(Through::Judged(answer)) if holds(answer)) {
            Reach::WithDevice
        } else {
            Reach::Not
        }
    }

    /// To which side of the board's centre it is; on none where it is straight on.
    #[must_use]
    pub fn side(&self) -> Option<Aside> {
        if self.seen.middle.get() < STRAIGHT_ON {
            return None;
        }
        Some(if self.from.aside.get() < 0.0 { Aside::Left } else { Aside::Right })
    }
}

impl Plan {
    /// How many seats allow this.
    #[must_use]
    pub fn count(&self, reach: Reach) -> usize {
        self.seats.iter().filter(|seat| seat.reach() == reach).count()
    }

    /// The student's usual seat, where it is placed in the rows.
    #[must_use]
    pub fn usual(&self) -> Option<&SeatSeen> {
        self.seats.iter().find(|seat| seat.usual)
    }

    /// Whether a seat is on the quiet side or in the middle; where no side is
    /// known, every one is.
    #[must_use]
    pub fn is_quiet(&self, seat: &SeatSeen) -> bool {
        self.quiet.side().is_none_or(|quiet| seat.side().is_none_or(|side| side == quiet))
    }

    /// Whether a seat is on the quiet side by however little.
    fn is_beside(&self, seat: &SeatSeen) -> bool {
        match self.quiet.side() {
            Some(Aside::Right) => seat.from.aside.get() > 0.0,
            Some(Aside::Left) => seat.from.aside.get() < 0.0,
            None => false,
        }
    }

    /// The seats from which it can be read, best first.
    #[must_use]
    pub fn best(&self) -> Vec<&SeatSeen> {
        let mut best: Vec<&SeatSeen> = self.seats.iter().filter(|seat| seat.reach() != Reach::Not).collect();
        // A degree and a centimetre are the same to a chair.
        let whole = |value: f64| value.round();
        best.sort_by(|one, other| {
            let key = |seat: &SeatSeen| (seat.reach(), Reverse(self.is_quiet(seat)));
            key(one)
                .cmp(&key(other))
                .then_with(|| whole(one.seen.middle.get()).total_cmp(&whole(other.seen.middle.get())))
                .then_with(|| self.is_beside(other).cmp(&self.is_beside(one)))
                .then_with(|| {
                    let far = |seat: &SeatSeen| whole(seat.seen.to_the_middle.get() * 100.0);
                    far(one).total_cmp(&far(other))
                })
                .then_with(|| one.place.cmp(&other.place))
        });
        best
    }

    /// Whether the writing is too faint from everywhere, so that no seat mends it.
    #[must_use]
    pub fn too_faint(&self) -> bool {
        let faint = |judged: &Judgement| matches!(judged.verdict, Verdict::TooFaint | Verdict::TooSmallAndTooFaint);
        self.seats.iter().any(|seat| matches!(&seat.alone, Ok(Answer::Judged(judged)) if faint(judged)))
    }
}

/// The room as if the student sat there.
fn seated(room: &Seat, from: demand::Seat) -> Seat {
    let side = if from.aside.get() < 0.0 { Aside::Left } else { Aside::Right };
    let aside = if from.aside.get() < 0.0 { -from.aside } else { from.aside };
    let mut moved = room.clone();
    moved.what.distance = Typed::new("", from.to_the_board);
    moved.what.aside = (aside.get() > 0.0).then(|| (Typed::new("", aside), side));
    moved
}

/// Judges every seat of the room for one task.
///
/// # Errors
/// Why there is no plan; never a plan of guesses.
pub fn of(question: &Question<'_>) -> Result<Plan, NoPlan> {
    let Question { task, sight, goals, table, .. } = *question;
    if task.what.track != Track::Distance {
        return Err(NoPlan::AtTheDesk);
    }
    let room = question.room.filter(|_| task.what.own_distance.is_none()).ok_or(NoPlan::NotFromASeat)?;
    let layout = &room.what.layout;
    let board = room.what.board_width.as_ref().map(|width| width.value);
    let (grid, board) = match (layout.grid(), board) {
        (Ok(grid), Some(board)) => (grid, board),
        (grid, board) => {
            let mut missing = grid.err().unwrap_or_default();
            missing.extend(board.is_none().then_some(Missing::BoardWidth));
            return Err(NoPlan::Rows(missing));
        }
    };
    if task.what.x_height.is_none() {
        return Err(NoPlan::Figure(NoFigure::NoSize));
    }
    let used = sight.unaided(Track::Distance).map_err(NoPlan::Figure)?;
    let through = question.device.map(|device| sight.through(device));
    let mut seats = Vec::new();
    for place in grid.places() {
        let usual = layout.usual == Some(place);
        let beyond = |_| NoPlan::Figure(NoFigure::Beyond);
        let from = if usual { as_measured(&room.what) } else { grid.seat(place).map_err(beyond)? };
        let seen = board_seen(from, board).map_err(beyond)?;
        let there = seated(room, from);
        let judge = |used: &Used| sight.judge(task, Some(&there), used, goals, table);
        let with = question.device.zip(through.as_ref()).map(|(device, through)| match through {
            Err(why) => Through::No(*why),
            Ok(used) => match tube_of(sight, device, used)
                .map_or_else(Some, |tube| out_of_focus(device.spec.near_focus, tube, seen.to_the_middle))
            {
                Some(why) => Through::NotFromHere(why),
                None => judge(used).map_or_else(Through::No, Through::Judged),
            },
        });
        seats.push(SeatSeen { place, from, seen, usual, alone: judge(&used), through: with });
    }
    let quiet = Quiet::of(sight, layout.window);
    Ok(Plan { grid, board, seats, used, through, quiet })
}
