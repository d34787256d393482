//! A thing to be seen from a place: what does it ask for, changed or not?
//!
//! Seats are looked for step by step of the rounding, because a seat before the
//! middle of a wide board is not better for being nearer: its far edge is seen
//! from the side. Every step is judged by [`judge_on_board`].

use super::glasses::{self, TubeAt};
use super::rank::cost_of_seat;
use super::{Change, Ground, LettersTo, SeatTo, TALLEST, WhyNot};
use crate::care::device::Strength;
use crate::care::sight::{AtHand, NoFigure, Sight, Used};
use crate::care::track::{Track, WithGlasses};
use crate::vision::contrast::{LogContrastSensitivity, Weber};
use crate::vision::demand::{self, on_board, straight_on};
use crate::vision::length::shown::{Units, letter_rounded_up, seat_rounded_down};
use crate::vision::readable::{AcuityUsed, Answer, Basis, Judgement, Needed, Viewer, judge, judge_on_board};
use crate::vision::reserve::{farthest_seat, smallest_letter};
use crate::vision::telescope::near::Reach;
use crate::vision::units::{Magnification, Metres, Ratio, count};

/// Nearer than this the power on a telescope's label no longer holds: the range
/// of [`crate::vision::reserve::power_needed`].
pub const LABEL_HOLDS_FROM: Metres = Metres::literal(2.0);

/// The thing, as it is or changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scene {
    /// The height of its small letters.
    pub height: Metres,
    /// Where it is looked at from.
    pub from: demand::Seat,
    /// The width of its board.
    pub width: Option<Metres>,
    /// Its contrast.
    pub target: Option<Weber>,
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
    Telescope { used: AcuityUsed, near_focus: Option<Metres>, tube: Option<TubeAt> },
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
            let tube = tube_of(sight, device, &used)?;
            return Ok((Self::Telescope { used: used.acuity, near_focus: device.spec.near_focus, tube }, used));
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
        let Looker::Telescope { near_focus, tube, .. } = looker else { return None };
        out_of_focus(*near_focus, *tube, self.sight())
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
        // The focus is asked last: it is the longer question.
        match self.answer(looker, known)? {
            Answer::Judged(judged) if super::does_it(&judged) && self.focus(looker).is_none() => Some(judged),
            Answer::Judged(_) | Answer::MoveTheSeat { .. } => None,
        }
    }
}

/// The tube of a telescope as this eye would set it without glasses; none, it is
/// not known to matter.
///
/// # Errors
/// The reason, when no tube makes up for the glasses.
pub(in crate::care) fn tube_of(sight: &Sight, device: &AtHand, used: &Used) -> Result<Option<TubeAt>, WhyNot> {
    // What was measured through it was in focus, with whatever was worn.
    let promised = used.acuity.basis == Basis::AtBest;
    let lens = glasses::without(sight, device, used).filter(|_| promised);
    if device.spec.with_glasses == Some(WithGlasses::Without) && lens.is_some_and(glasses::too_much_cylinder) {
        return Err(WhyNot::GlassesStayOn);
    }
    Ok(lens.and_then(|lens| TubeAt::of(device, lens)))
}

/// Why a telescope with this nearest focus and this tube does not work from so
/// near, if it does not.
pub(in crate::care) fn out_of_focus(near_focus: Option<Metres>, tube: Option<TubeAt>, far: Metres) -> Option<WhyNot> {
    if near_focus.is_some_and(|nearest| nearest > far) {
        Some(WhyNot::FocusTooFar)
    } else if far < LABEL_HOLDS_FROM {
        Some(WhyNot::NotThisNear)
    } else if tube.is_some_and(|tube| tube.reach(far) == Reach::TooShort) {
        Some(WhyNot::TubeTooShort)
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

/// A device, or a power that nobody has here, and how it is looked through.
pub(super) struct Held {
    /// The change that it is.
    pub(super) change: Change,
    /// What it is.
    pub(super) device: AtHand,
    /// How the student sees through it.
    pub(super) looker: Looker,
    /// The acuity that counts with it.
    pub(super) used: Used,
}

/// What a place is like for what is tried from there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Look {
    /// It may serve every day.
    Daily,
    /// It is hard to live with.
    Hard,
    /// From there nothing else would be needed, so it is no pair.
    NeedsNoHelp,
}

/// A line of places from which the board is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LineOf {
    /// Straight ahead of the seat as it is, as far aside as now.
    TheSeat,
    /// In front of the middle of the board.
    TheMiddle,
}

impl Ground<'_> {
    /// The lines of places that are looked at.
    pub(super) fn lines(&self) -> &'static [LineOf] {
        if self.scene.from.aside.get().abs() < 0.005 {
            &[LineOf::TheSeat]
        } else {
            &[LineOf::TheSeat, LineOf::TheMiddle]
        }
    }

    /// Every place on this line that is another than now, the farthest first;
    /// none farther than this bound, and none nearer than the nearest.
    pub(super) fn places(&self, line: LineOf, bound: Option<Metres>) -> impl Iterator<Item = SeatTo> {
        let (nearest, units, now) = (self.nearest, self.question.units, self.scene.from.to_the_board);
        let start = bound.filter(|bound| *bound < now).unwrap_or(now);
        let mut next = nearest.and_then(|_| seat_rounded_down(start, units));
        // On its own line, a seat that is no nearer is no other seat.
        if line == LineOf::TheSeat && next.is_some_and(|to| to.get() > now.get() - 1e-6) {
            next = next.and_then(|to| next_nearer(to, units));
        }
        std::iter::from_fn(move || {
            let to = next.filter(|to| nearest.is_some_and(|nearest| *to >= nearest))?;
            next = next_nearer(to, units);
            let nearer = Metres::new((now.get() - to.get()).max(0.0)).ok()?;
            Some(SeatTo { to, nearer, to_the_middle: line == LineOf::TheMiddle })
        })
    }

    /// No place farther than this does it: straight in front of a letter is
    /// the best place at its distance. A hair more, so that rounding loses none.
    fn bound(&self, scene: &Scene, looker: &Looker) -> Option<Metres> {
        let needed = self.known.needed.acuity;
        let far = farthest_seat(looker.acuity().acuity, scene.height, needed, Magnification::literal(1.0)).ok()?;
        Metres::new(far.get() * (1.0 + 1e-6)).ok()
    }

    /// The place that costs least and from which it can be done.
    ///
    /// On one line a nearer place costs more, so the first that does it is the
    /// best of the line, unless it is hard to live with and a nearer one is not.
    pub(super) fn seat(
        &self,
        scene: &Scene,
        looker: &Looker,
        looks: impl Fn(&Scene) -> Look,
    ) -> Option<(SeatTo, Scene, Judgement)> {
        let bound = self.bound(scene, looker);
        let mut best: Option<(bool, f64, SeatTo, Scene, Judgement)> = None;
        for line in self.lines() {
            for seat in self.places(*line, bound) {
                let moved = scene.seen_from(seat);
                let Some(judged) = moved.does(looker, self.known) else { continue };
                let is_hard = match looks(&moved) {
                    Look::NeedsNoHelp => continue,
                    look => look == Look::Hard,
                };
                let cost = cost_of_seat(scene.from.to_the_board, seat);
                if best.as_ref().is_none_or(|(was, least, ..)| (is_hard, cost) < (*was, *least)) {
                    best = Some((is_hard, cost, seat, moved, judged));
                }
                if !is_hard {
                    break;
                }
            }
        }
        best.map(|(.., seat, moved, judged)| (seat, moved, judged))
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

impl Scene {
    /// The same thing from another place.
    pub(super) fn seen_from(&self, seat: SeatTo) -> Self {
        let aside = if seat.to_the_middle { Metres::literal(0.0) } else { self.from.aside };
        Self { from: demand::Seat { to_the_board: seat.to, aside }, ..*self }
    }
}
