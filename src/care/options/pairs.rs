//! Which two changes together do it?
//!
//! A marker, or a darker room for a projector, goes with one other change where
//! the writing is too faint and too small. A seat and larger letters share the work, over every place and the
//! smallest letters that do it from there. A device, or for those who prescribe
//! a power, takes what is left over from a seat or from larger letters. Where
//! the light has to be mended, it is one of the two. No pair is listed of which
//! one part does it, and of each two kinds of change only the best.

use super::rank::{cost_of_seat, much_taller, of_halvings};
use super::scene::{Held, Look, Looker, Scene};
use super::view::{Seen, letters_wanted};
use super::{Change, Ground, LettersTo, LightTo, SeatTo, Way, kinds, power};
use crate::vision::readable::Judgement;
use crate::vision::reserve::smallest_letter;
use crate::vision::units::{Magnification, Metres};

/// The pairs that are worth listing beside these single changes, best first: one
/// that is hard to live with only where nothing alone serves every day.
pub(super) fn worth_listing(mut pairs: Vec<Way>, singles: &[Way]) -> Vec<Way> {
    let one_serves = singles.iter().any(|way| way.rank.hard.is_empty());
    pairs.retain(|way| !one_serves || way.rank.hard.is_empty());
    pairs.sort_by(|one, other| one.rank.compare(&other.rank));
    pairs
}

/// A seat with larger letters, before it is put into words.
struct Shared {
    hard: bool,
    cost: f64,
    seat: SeatTo,
    letters: LettersTo,
    scene: Scene,
    judged: Judgement,
}

impl Ground<'_> {
    /// Every pair that does it and of which no part does it alone.
    pub(super) fn pairs(&self) -> Vec<Way> {
        let mut found = Vec::new();
        for (change, darker) in self.darker_ways() {
            self.with_contrast(&change, &darker, &mut found);
        }
        if self.contrast_fails {
            return found;
        }
        let ours = kinds::can_be_written_larger(self.question.task);
        if ours {
            self.seat_and_letters(&mut found);
        }
        for held in &self.lookers {
            if self.scene.does(&held.looker, self.known).is_some() || self.listed_as_a_device(held) {
                continue;
            }
            // A magnifier is held to the page wherever the page lies.
            if !matches!(held.looker, Looker::Page { .. })
                && let Some((seat, scene, judged)) =
                    self.seat(&self.scene, &held.looker, |scene| self.look(held, scene))
            {
                found.push(self.way(vec![Change::Seat(seat), held.change.clone()], judged, &scene));
            }
            if ours
                && self.scene.focus(&held.looker).is_none()
                && let Some((letters, scene, judged)) = self.letters(&self.scene, &held.looker)
                && scene.does(&self.bare, self.known).is_none()
            {
                found.push(self.way(vec![Change::Letters(letters), held.change.clone()], judged, &scene));
            }
        }
        found
    }

    /// Whether this place serves for this device.
    fn look(&self, held: &Held, scene: &Scene) -> Look {
        if scene.does(&self.bare, self.known).is_some() {
            return Look::NeedsNoHelp;
        }
        let seen = Seen::of(held, scene);
        let hard =
            seen.many_looks(self.question.look) || seen.few_letters(letters_wanted(self.question.task.what.goal));
        if hard { Look::Hard } else { Look::Daily }
    }

    /// Whether it is a power that a device listed beside it has, too.
    fn listed_as_a_device(&self, held: &Held) -> bool {
        let strength = held.device.spec.strength(held.device.track);
        held.is_a_power() && strength.is_some_and(|strength| power::is_among(strength, &self.question))
    }

    /// A change that gives the writing its contrast, with each one that makes it
    /// large enough.
    fn with_contrast(&self, first: &Change, darker: &Scene, found: &mut Vec<Way>) {
        if darker.does(&self.bare, self.known).is_some() {
            return;
        }
        let mut with = |change, judged, scene: &Scene| {
            found.push(self.way(vec![first.clone(), change], judged, scene));
        };
        if let Some((seat, scene, judged)) = self.seat(darker, &self.bare, |_| Look::Daily) {
            with(Change::Seat(seat), judged, &scene);
        }
        if kinds::can_be_written_larger(self.question.task)
            && let Some((letters, scene, judged)) = self.letters(darker, &self.bare)
        {
            with(Change::Letters(letters), judged, &scene);
        }
        if kinds::can_be_brought_near(self.question.task)
            && !matches!(first, Change::Screen(_))
            && let Some((copies, held, judged)) = self.copy(darker)
        {
            with(Change::Copy(copies), judged, &held);
        }
        let mut a_power = false;
        for held in &self.lookers {
            // Of the powers only the least that does it.
            if held.is_a_power() && a_power {
                continue;
            }
            if let Some(judged) = darker.does(&held.looker, self.known) {
                a_power |= held.is_a_power();
                if !self.listed_as_a_device(held) {
                    with(held.change.clone(), judged, darker);
                }
            }
        }
    }

    /// The seat with the letters that cost least together.
    ///
    /// Straight on, letters from a place can be no smaller than in proportion to
    /// its distance; a place whose cost is more even so is passed over unjudged.
    fn seat_and_letters(&self, found: &mut Vec<Way>) {
        let (now, tall) = (self.scene.from.to_the_board, self.scene.height.get());
        let needed = self.known.needed.acuity;
        let acuity = self.bare.acuity().acuity;
        let one = Metres::literal(1.0);
        let Ok(per_metre) = smallest_letter(acuity, one, needed, Magnification::literal(1.0)) else { return };
        let alone = self.letters(&self.scene, &self.bare).map(|(letters, ..)| letters.height);
        let wanted = letters_wanted(self.question.task.what.goal);
        let mut best: Option<Shared> = None;
        for line in self.lines() {
            for seat in self.places(*line, None) {
                let cost = cost_of_seat(now, seat);
                let at_least = (per_metre.get() * seat.to.get() / tall).max(1.0);
                let no_better = best.as_ref().is_some_and(|best| {
                    cost + of_halvings(at_least) >= best.cost && (!best.hard || much_taller(at_least))
                });
                if no_better {
                    continue;
                }
                let moved = self.scene.seen_from(seat);
                let Some((letters, scene, judged)) = self.letters(&moved, &self.bare) else { continue };
                if alone.is_some_and(|alone| letters.height >= alone) || moved.does(&self.bare, self.known).is_some() {
                    continue;
                }
                let cost = cost + of_halvings(letters.times.get());
                let hard = much_taller(letters.times.get()) || letters.across.is_some_and(|across| across < wanted);
                if best.as_ref().is_none_or(|best| (hard, cost) < (best.hard, best.cost)) {
                    best = Some(Shared { hard, cost, seat, letters, scene, judged });
                }
            }
        }
        if let Some(Shared { seat, letters, scene, judged, .. }) = best {
            found.push(self.way(vec![Change::Seat(seat), Change::Letters(letters)], judged, &scene));
        }
    }

    /// Every way again, with the light mended: alone it would not hold.
    ///
    /// A copy at the desk gives or gets its own light and stays as it is.
    pub(super) fn with_the_light(&self, light: LightTo, singles: &mut Vec<Way>) -> Vec<Way> {
        let (own_light, lit): (Vec<Way>, Vec<Way>) = std::mem::take(singles)
            .into_iter()
            .partition(|way| way.changes.iter().any(|change| matches!(change, Change::Copy(_))));
        *singles = own_light;
        lit.into_iter().map(|way| way.and_first(Change::Light(light), self)).collect()
    }
}
