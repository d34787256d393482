//! Each change alone: does it do it, and if not, why not?
//!
//! Read next: `pairs.rs`.

use std::cmp::Reverse;

use super::scene::{Held, Look, Looker, Scene};
use super::{COPY_AT, Change, CopyAt, Ground, LeftOut, Options, Rank, View, Way, What, WhyNot, kinds, power};
use crate::care::task::{Display, Marker};
use crate::care::track::Track;
use crate::vision::length::shown::letter_rounded_up;
use crate::vision::readable::{ContrastStanding, Judgement};
use crate::vision::reserve::smallest_letter;
use crate::vision::units::Magnification;

impl Way {
    /// The same way with one more change before it, which changes no figure.
    pub(super) fn and_first(mut self, change: Change, ground: &Ground<'_>) -> Self {
        self.changes.insert(0, change);
        self.rank = Rank::of(&ground.question, &ground.scene, &self.changes, self.view.as_ref());
        self
    }
}

impl Ground<'_> {
    pub(super) fn way(&self, changes: Vec<Change>, judged: Judgement, scene: &Scene) -> Way {
        let held = changes.iter().find_map(|change| match change {
            Change::Device(_) | Change::Power(_) => self.lookers.iter().find(|held| held.change == *change),
            _ => None,
        });
        let view = held.map(|held| View::of(&self.question, self.known, held, scene));
        let rank = Rank::of(&self.question, &self.scene, &changes, view.as_ref());
        Way { changes, judged, scene: *scene, view, rank }
    }

    /// The markers of this ground that would reach the contrast needed,
    /// strongest first; none where the contrast is not what fails.
    pub(super) fn better_markers(&self) -> Vec<Marker> {
        let Some(now) = self.question.task.what.marker.filter(|_| self.contrast_fails) else { return Vec::new() };
        let dark = now == Marker::WhiteOnDark || self.question.task.what.display == Some(Display::DarkBoard);
        let (sight, what) = (self.question.sight, &self.question.task.what);
        let contrast = |marker: &Marker| sight.contrast_written(what, Some(*marker), self.question.table);
        let mut better: Vec<Marker> = Marker::ALL
            .iter()
            .copied()
            .filter(|marker| (*marker == Marker::WhiteOnDark) == dark && *marker != now)
            .filter(|marker| {
                ContrastStanding::of(contrast(marker), self.known.sensitivity)
                    .is_ok_and(|standing| standing.holds(self.known.needed.contrast) == Some(true))
            })
            .collect();
        better.sort_by_key(|marker| Reverse(contrast(marker)));
        if kinds::can_be_written_larger(self.question.task) { better } else { Vec::new() }
    }

    /// The same scene written with the strongest of the better markers.
    pub(super) fn darker(&self) -> Option<Scene> {
        let marker = *self.markers.first()?;
        let what = &self.question.task.what;
        let target = self.question.sight.contrast_written(what, Some(marker), self.question.table)?;
        Some(Scene { target: Some(target), ..self.scene })
    }

    pub(super) fn marker_alone(&self, options: &mut Options) {
        if self.question.sight.colour_loss() && self.question.task.what.marker.is_some() {
            options.left_out.push(LeftOut { what: What::Marker, why: WhyNot::AskTheStudent, reached: None });
        }
        if !self.contrast_fails {
            return;
        }
        match self.darker() {
            None => {
                let ours = kinds::can_be_written_larger(self.question.task);
                let why = if ours { WhyNot::ContrastNotEnough } else { WhyNot::NotOurs };
                options.left_out.push(LeftOut { what: What::Marker, why, reached: None });
            }
            Some(scene) => match scene.does(&self.bare, self.known) {
                Some(judged) => {
                    options.singles.push(self.way(vec![Change::Marker(self.markers.clone())], judged, &scene));
                }
                None => options.left_out.push(LeftOut {
                    what: What::Marker,
                    why: WhyNot::TooWeak,
                    reached: scene.judged(&self.bare, self.known),
                }),
            },
        }
    }

    pub(super) fn letters_alone(&self, options: &mut Options) {
        let mut out = |why| options.left_out.push(LeftOut { what: What::Letters, why, reached: None });
        if !kinds::can_be_written_larger(self.question.task) {
            out(WhyNot::NotOurs);
        } else if self.contrast_fails {
            out(WhyNot::ContrastFails);
        } else {
            match self.letters(&self.scene, &self.bare) {
                None => out(WhyNot::NoLetterTallEnough),
                Some((letters, scene, judged)) => {
                    options.singles.push(self.way(vec![Change::Letters(letters)], judged, &scene));
                }
            }
        }
    }

    pub(super) fn seat_alone(&self, options: &mut Options) {
        let mut out = |why| options.left_out.push(LeftOut { what: What::Seat, why, reached: None });
        if self.nearest.is_none() {
            out(WhyNot::NotFromNearer);
        } else if self.contrast_fails {
            out(WhyNot::ContrastFails);
        } else {
            match self.seat(&self.scene, &self.bare, |_| Look::Daily) {
                None => out(WhyNot::NoSeatNearEnough),
                Some((seat, scene, judged)) => {
                    options.singles.push(self.way(vec![Change::Seat(seat)], judged, &scene));
                }
            }
        }
    }

    pub(super) fn copy_alone(&self, options: &mut Options) {
        if !kinds::can_be_brought_near(self.question.task) {
            return;
        }
        let mut out = |why| options.left_out.push(LeftOut { what: What::Copy, why, reached: None });
        if self.contrast_fails {
            out(WhyNot::ContrastFails);
            return;
        }
        match self.copy(&self.scene) {
            None => out(WhyNot::NoNearAcuity),
            Some((copies, held, judged)) => {
                options.singles.push(self.way(vec![Change::Copy(copies)], judged, &held));
            }
        }
    }

    /// How tall a copy must be at the desk, for the acuity of the near track.
    pub(super) fn copy(&self, scene: &Scene) -> Option<(Vec<CopyAt>, Scene, Judgement)> {
        let near = Looker::Bare(self.question.sight.unaided(Track::Near).ok()?.acuity);
        let mut copies = Vec::new();
        let mut found = None;
        for distance in COPY_AT {
            let acuity = near.acuity().acuity;
            let exact =
                smallest_letter(acuity, distance, self.known.needed.acuity, Magnification::literal(1.0)).ok()?;
            let height = letter_rounded_up(exact, self.question.units).ok()?;
            let held = Scene::straight(height, distance, scene.target);
            found = Some((held, held.does(&near, self.known)?));
            copies.push(CopyAt { distance, height });
        }
        found.map(|(held, judged)| (copies, held, judged))
    }

    pub(super) fn devices_alone(&self, options: &mut Options) {
        for held in &self.lookers {
            let Change::Device(index) = held.change else { continue };
            match self.scene.does(&held.looker, self.known) {
                Some(judged) => {
                    options.singles.push(self.way(vec![held.change.clone()], judged, &self.scene));
                }
                None => {
                    let reached = self.scene.judged(&held.looker, self.known);
                    let why = match self.scene.focus(&held.looker) {
                        _ if self.contrast_fails => WhyNot::ContrastFails,
                        Some(why) => why,
                        None => WhyNot::TooWeak,
                    };
                    options.left_out.push(LeftOut { what: What::Device(index), why, reached });
                }
            }
        }
    }

    /// The least power that does it alone, for those who prescribe.
    pub(super) fn power_alone(&self, options: &mut Options) {
        let mut powers = self.lookers.iter().filter(|held| held.is_a_power()).peekable();
        if powers.peek().is_none() {
            return;
        }
        if let Some((held, judged)) = powers.find_map(|held| Some((held, self.scene.does(&held.looker, self.known)?))) {
            let strength = held.device.spec.strength(held.device.track);
            // A device of this very power is listed as what it is.
            if strength.is_none_or(|strength| !power::is_among(strength, &self.question)) {
                options.singles.push(self.way(vec![held.change.clone()], judged, &self.scene));
            }
            return;
        }
        let focus = self.lookers.iter().find(|held| held.is_a_power()).and_then(|held| self.scene.focus(&held.looker));
        let why = match focus {
            _ if self.contrast_fails => WhyNot::ContrastFails,
            Some(why) => why,
            None => WhyNot::NoPowerByHand,
        };
        options.left_out.push(LeftOut { what: What::Power, why, reached: None });
    }

    /// How the student looks through each device of this track, or why that
    /// cannot be said; then through each power, for those who prescribe.
    pub(super) fn look_through(&mut self, left_out: &mut Vec<LeftOut>) {
        let track = self.question.task.what.track;
        for (index, device) in self.question.devices.iter().enumerate().filter(|(_, device)| device.track == track) {
            match Looker::through(self.question.sight, device) {
                Ok((looker, used)) => {
                    let change = Change::Device(index);
                    self.lookers.push(Held { change, device: device.clone(), looker, used });
                }
                Err(why) => left_out.push(LeftOut { what: What::Device(index), why, reached: None }),
            }
        }
        let Some(prescriber) = self.question.prescriber else { return };
        match power::steps(&self.question, prescriber) {
            Ok(powers) => self.lookers.extend(powers),
            Err(why) => left_out.push(LeftOut { what: What::Power, why, reached: None }),
        }
    }
}
