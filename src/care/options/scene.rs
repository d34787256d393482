//! A thing to be seen from a place: what does it ask for, changed or not?
//!
//! Seats are looked for step by step of the rounding, because a seat before the
//! middle of a wide board is not better for being nearer: its far edge is seen
//! from the side. Every step is judged by [`judge_on_board`].

use super::{Change, Ground, LettersTo, SeatTo, TALLEST, WhyNot};
use crate::care::device::Strength;
use crate::care::sight::{AtHand, NoFigure, Sight, Used};
use crate::care::track::Track;
use crate::vision::contrast::marker::MarkerTable;
use crate::vision::contrast::{LogContrastSensitivity, Weber};
use crate::vision::demand::{self, on_board, straight_on};
use crate::vision::length::shown::{Units, letter_rounded_up, seat_rounded_down};
use crate::vision::readable::{AcuityUsed, Answer, Judgement, Needed, Viewer, judge, judge_on_board};
use crate::vision::reserve::smallest_letter;
use crate::vision::units::{Magnification, Metres, Ratio, count};

/// Nearer than this the power on a telescope's label no longer holds: the range
/// of [`crate::vision::reserve::power_needed`].
pub const LABEL_HOLDS_FROM: Metres = Metres::literal(2.0);

/// The thing, as it is or changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scene {
    /// The height of its small letters.
    pub(super) height: Metres,
    /// Where it is looked at from.
    pub(super) from: demand::Seat,
    /// The width of its board.
    pub(super) width: Option<Metres>,
    /// Its contrast.
    pub(super) target: Option<Weber>,
}

/// What does not change with the scene.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known {
    pub(super) sensitivity: Option<LogContrastSensitivity>,
    pub(super) needed: Needed,
}

/// With what the student looks.
#[derive(Debug, Clone, Copy)]
pub(super) enum Looker {
    /// Without a device.
    Bare(AcuityUsed),
    /// Through a telescope, with the acuity through it.
    Telescope { used: AcuityUsed, near_focus: Option<Metres> },
    /// Through something held to a page, which works like looking from so near.
    Page { used: AcuityUsed, like_from: Metres },
}

impl Looker {
    /// How the student sees through this device.
    ///
    /// A magnifier works like the bare eye at its equivalent viewing distance;
    /// the acuity is that of the near track. No label is converted.
    pub(super) fn through(sight: &Sight, device: &AtHand) -> Result<(Self, Used), WhyNot> {
        if device.track == Track::Distance {
            let used = sight.through(device).map_err(|_| WhyNot::NoAcuityThrough)?;
            return Ok((Self::Telescope { used: used.acuity, near_focus: device.spec.near_focus }, used));
        }
        let Some(Strength::Dioptres(power)) = device.spec.strength(Track::Near) else {
            return Err(WhyNot::NoStrength);
        };
        let used = sight.unaided(Track::Near).map_err(|_: NoFigure| WhyNot::NoAcuityThrough)?;
        let like_from = power.focal_length().map_err(|_| WhyNot::NoStrength)?;
        Ok((Self::Page { used: used.acuity, like_from }, used))
    }

    pub(super) const fn acuity(&self) -> AcuityUsed {
        match self {
            Self::Bare(used) | Self::Telescope { used, .. } | Self::Page { used, .. } => *used,
        }
    }
}

impl Scene {
    /// A thing straight in front, with no board around it.
    pub(super) const fn straight(height: Metres, distance: Metres, target: Option<Weber>) -> Self {
        Self { height, from: demand::Seat::in_front(distance), width: None, target }
    }

    /// From the eye to the middle of the board.
    pub(super) fn sight(&self) -> Metres {
        let far = self.from.to_the_board.get().hypot(self.from.aside.get());
        Metres::new(far).unwrap_or(self.from.to_the_board)
    }

    /// Why a device does not work from here at all.
    pub(super) fn focus(&self, looker: &Looker) -> Option<WhyNot> {
        let Looker::Telescope { near_focus, .. } = looker else { return None };
        out_of_focus(*near_focus, self.sight())
    }

    /// The answer of [`crate::vision::readable`]; none outside its formulas.
    pub(super) fn answer(&self, looker: &Looker, known: Known) -> Option<Answer> {
        let viewer = Viewer { acuity: looker.acuity(), sensitivity: known.sensitivity };
        if let Looker::Page { like_from, .. } = looker {
            let demand = straight_on(self.height, *like_from).ok()?;
            return judge(demand, self.target, viewer, known.needed).ok().map(Answer::Judged);
        }
        let demand = on_board(self.height, self.from, self.width).ok()?;
        judge_on_board(demand, self.target, viewer, known.needed).ok()
    }

    /// The reserves; none for a seat too far aside or a device out of focus.
    pub(super) fn judged(&self, looker: &Looker, known: Known) -> Option<Judgement> {
        match self.answer(looker, known)? {
            Answer::Judged(judged) if self.focus(looker).is_none() => Some(judged),
            Answer::Judged(_) | Answer::MoveTheSeat { .. } => None,
        }
    }

    /// The reserves, if they do it.
    pub(super) fn does(&self, looker: &Looker, known: Known) -> Option<Judgement> {
        self.judged(looker, known).filter(super::does_it)
    }
}

/// Why a telescope with this nearest focus does not work from so near, if it does not.
#[must_use]
pub fn out_of_focus(near_focus: Option<Metres>, far: Metres) -> Option<WhyNot> {
    if near_focus.is_some_and(|nearest| nearest > far) {
        Some(WhyNot::FocusTooFar)
    } else if far < LABEL_HOLDS_FROM {
        Some(WhyNot::NotThisNear)
    } else {
        None
    }
}

/// The next seat nearer than this, on the grid that seats are rounded to.
fn next_nearer(seat: Metres, units: Units) -> Option<Metres> {
    let half_a_step = match units {
        Units::Metric => 0.05,
        Units::Imperial => 0.0762,
    };
    seat_rounded_down(Metres::new(seat.get() - half_a_step).ok()?, units)
}

/// The next height above this, on the grid that letters are rounded to.
fn next_taller(height: Metres, units: Units) -> Option<Metres> {
    letter_rounded_up(Metres::new(height.get() + 0.000_01).ok()?, units).ok()
}

impl Ground<'_> {
    /// The farthest seat from which it can be done: on the line of the seat as
    /// it is, or in front of the middle where that is farther back.
    pub(super) fn seat(&self, scene: &Scene, looker: &Looker) -> Option<(SeatTo, Scene, Judgement)> {
        let straight_ahead = self.on_line(scene, looker, false);
        if scene.from.aside.get().abs() < 0.005 {
            return straight_ahead;
        }
        match (straight_ahead, self.on_line(scene, looker, true)) {
            (Some(ahead), Some(middle)) if ahead.0.to >= middle.0.to => Some(ahead),
            (ahead, middle) => middle.or(ahead),
        }
    }

    fn on_line(&self, scene: &Scene, looker: &Looker, to_the_middle: bool) -> Option<(SeatTo, Scene, Judgement)> {
        let (nearest, units) = (self.nearest?, self.question.units);
        let now = scene.from.to_the_board;
        let mut to = seat_rounded_down(now, units)?;
        // On its own line, a seat that is no nearer is no other seat.
        if !to_the_middle && to.get() > now.get() - 1e-6 {
            to = next_nearer(to, units)?;
        }
        while to >= nearest {
            let moved = self.moved(scene, to, to_the_middle);
            if let Some(judged) = moved.does(looker, self.known) {
                let nearer = Metres::new((now.get() - to.get()).max(0.0)).ok()?;
                return Some((SeatTo { to, nearer, to_the_middle }, moved, judged));
            }
            to = next_nearer(to, units)?;
        }
        None
    }

    /// The scene from another seat.
    pub(super) fn moved(&self, scene: &Scene, to: Metres, to_the_middle: bool) -> Scene {
        let aside = if to_the_middle { Metres::literal(0.0) } else { scene.from.aside };
        Scene { from: demand::Seat { to_the_board: to, aside }, ..*scene }
    }

    /// The smallest letters, larger than now, with which it can be done.
    pub(super) fn letters(&self, scene: &Scene, looker: &Looker) -> Option<(LettersTo, Scene, Judgement)> {
        let units = self.question.units;
        let now = self.scene.height;
        // Straight on from the middle no letter can be smaller, so the search starts there.
        let from = match looker {
            Looker::Page { like_from, .. } => *like_from,
            Looker::Bare(_) | Looker::Telescope { .. } => scene.from.to_the_board,
        };
        let acuity = looker.acuity().acuity;
        let least = smallest_letter(acuity, from, self.known.needed.acuity, Magnification::literal(1.0)).ok()?;
        let above = next_taller(now, units)?;
        let mut height = letter_rounded_up(least, units).ok()?.max(above);
        while height <= TALLEST {
            let larger = Scene { height, ..*scene };
            if let Some(judged) = larger.does(looker, self.known) {
                let times = Ratio::new(height.get() / now.get()).ok()?;
                let across = scene.width.and_then(|width| count((width.get() / height.get()).floor()));
                return Some((LettersTo { height, times, across }, larger, judged));
            }
            height = next_taller(height, units)?;
        }
        None
    }
}

impl Change {
    /// The scene after this change; a device changes the look, not the scene.
    pub(super) fn applied(&self, scene: &Scene, table: &MarkerTable) -> Scene {
        match self {
            Self::Seat(seat) => {
                let aside = if seat.to_the_middle { Metres::literal(0.0) } else { scene.from.aside };
                Scene { from: demand::Seat { to_the_board: seat.to, aside }, ..*scene }
            }
            Self::Letters(letters) => Scene { height: letters.height, ..*scene },
            Self::Marker(markers) => Scene {
                target: markers.first().map_or(scene.target, |marker| Some(table.contrast((*marker).into()))),
                ..*scene
            },
            Self::Copy(_) | Self::Device(_) => *scene,
        }
    }
}
