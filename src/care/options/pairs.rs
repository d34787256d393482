//! Which two changes together do it?
//!
//! A marker goes with one other change where the writing is too faint and too
//! small. A seat and larger letters share the work: the seat comes half of the
//! way, in ratio, to where it would do alone (or to the nearest that is looked
//! at), and the letters make up the rest. A device takes what is left over from
//! a seat or from larger letters. No pair is listed of which one part does it.

use super::rank::Rank;
use super::scene::{Looker, Scene};
use super::{Change, Ground, Options, SeatTo, Way, kinds};
use crate::vision::length::shown::seat_rounded_down;
use crate::vision::readable::Judgement;
use crate::vision::units::Metres;

/// The pairs that are worth listing beside these single changes, best first.
pub(super) fn worth_listing(mut pairs: Vec<Way>, singles: &[Way]) -> Vec<Way> {
    let cheapest =
        singles.iter().filter(|way| way.rank.hard.is_empty()).map(|way| way.rank.cost).min_by(f64::total_cmp);
    pairs.retain(|way| cheapest.is_none_or(|cheapest| way.rank.hard.is_empty() && way.rank.cost < cheapest - 0.05));
    pairs.sort_by(|one, other| one.rank.compare(&other.rank));
    pairs
}

impl Ground<'_> {
    /// Every pair that does it and of which no part does it alone.
    pub(super) fn pairs(&self, options: &Options) -> Vec<Way> {
        let mut found = Vec::new();
        if let Some(darker) = self.darker() {
            let marker = Change::Marker(self.markers.clone());
            let mut with = |change, judged, scene: &Scene| {
                self.keep(&mut found, vec![marker.clone(), change], judged, scene);
            };
            if let Some((seat, scene, judged)) = self.seat(&darker, &self.bare) {
                with(Change::Seat(seat), judged, &scene);
            }
            if kinds::can_be_written_larger(self.question.task)
                && let Some((letters, scene, judged)) = self.letters(&darker, &self.bare)
            {
                with(Change::Letters(letters), judged, &scene);
            }
            if kinds::can_be_brought_near(self.question.task)
                && let Some((copies, judged)) = self.copy(&darker)
            {
                with(Change::Copy(copies), judged, &darker);
            }
            for (index, looker, _) in &self.lookers {
                if let Some(judged) = darker.does(looker, self.known) {
                    with(Change::Device(*index), judged, &darker);
                }
            }
        }
        if self.contrast_fails {
            return found;
        }
        if kinds::can_be_written_larger(self.question.task) {
            self.seat_and_letters(options, &mut found);
        }
        for (index, looker, _) in &self.lookers {
            let device = Change::Device(*index);
            // A magnifier is held to the page wherever the page lies.
            if !matches!(looker, Looker::Page { .. })
                && let Some((seat, scene, judged)) = self.seat(&self.scene, looker)
            {
                self.keep(&mut found, vec![Change::Seat(seat), device.clone()], judged, &scene);
            }
            if kinds::can_be_written_larger(self.question.task)
                && self.scene.focus(looker).is_none()
                && let Some((letters, scene, judged)) = self.letters(&self.scene, looker)
            {
                self.keep(&mut found, vec![Change::Letters(letters), device], judged, &scene);
            }
        }
        found
    }

    /// Keeps a pair unless one of its parts does it alone.
    fn keep(&self, found: &mut Vec<Way>, changes: Vec<Change>, judged: Judgement, scene: &Scene) {
        if !changes.iter().any(|change| self.alone(change)) {
            found.push(self.way(changes, judged, scene));
        }
    }

    /// Whether this very change does it alone.
    fn alone(&self, change: &Change) -> bool {
        if matches!(change, Change::Copy(_)) {
            return !self.contrast_fails;
        }
        let scene = change.applied(&self.scene, self.question.table);
        let looker = match change {
            Change::Device(index) => self.lookers.iter().find(|(of, ..)| of == index).map(|(_, looker, _)| *looker),
            _ => Some(self.bare),
        };
        looker.is_some_and(|looker| scene.does(&looker, self.known).is_some())
    }

    fn seat_and_letters(&self, options: &Options, found: &mut Vec<Way>) {
        let Some(nearest) = self.nearest else { return };
        let now = self.scene.from.to_the_board;
        let goal = options.singles.iter().find_map(|way| match way.changes.as_slice() {
            [Change::Seat(seat)] => Some(seat.to),
            _ => None,
        });
        let halfway = Metres::new((now.get() * goal.unwrap_or(nearest).get()).sqrt()).ok();
        let mut best: Option<Way> = None;
        for place in [halfway, Some(nearest)].into_iter().flatten() {
            let rounded = seat_rounded_down(place.max(nearest), self.question.units);
            let Some(to) = rounded.filter(|to| *to >= nearest && to.get() < now.get() - 1e-6) else { continue };
            let mut pairs = Vec::new();
            for to_the_middle in [false, true] {
                let scene = self.moved(&self.scene, to, to_the_middle);
                if to_the_middle && scene.from.aside == self.scene.from.aside {
                    continue;
                }
                if let Some((letters, scene, judged)) = self.letters(&scene, &self.bare)
                    && let Ok(nearer) = Metres::new(now.get() - to.get())
                {
                    let seat = SeatTo { to, nearer, to_the_middle };
                    self.keep(&mut pairs, vec![Change::Seat(seat), Change::Letters(letters)], judged, &scene);
                }
            }
            let better = |one: &Way, other: &Way| Rank::compare(&one.rank, &other.rank).is_lt();
            for way in pairs {
                if best.as_ref().is_none_or(|best| better(&way, best)) {
                    best = Some(way);
                }
            }
            // Halfway serves every day: nobody is sent to the front for less.
            if best.as_ref().is_some_and(|way| way.rank.hard.is_empty()) {
                break;
            }
        }
        found.extend(best);
    }
}
