//! How dark would the room have to be for a projected picture?
//!
//! The three readings of a meter on the screen say how much light is the
//! projector's own; from that follows the most light of the room that leaves the
//! contrast the goal needs. Without the readings nothing is computed. Does not
//! know how dark this room can be made.
//! Read next: [`crate::vision::contrast::screen`].

use super::scene::Scene;
use super::{Change, Ground, LeftOut, Options, What, WhyNot};
use crate::care::sight::{FULL, is_black_and_white};
use crate::care::task::{Display, VisualTask};
use crate::vision::contrast::Weber;
use crate::vision::contrast::screen::ScreenReadings;
use crate::vision::units::Lux;

/// Less light of the room on the screen of a projector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScreenTo {
    /// What a meter read with the projector off.
    pub now: Lux,
    /// The most that leaves the contrast needed, rounded down to whole lux.
    pub at_most: Lux,
    /// The projector's own light where the picture is white.
    pub white: Lux,
    /// And where it is black.
    pub black: Lux,
    /// The contrast that black on white must keep for it, unrounded.
    pub wanted: Weber,
    /// The contrast of this writing in that light.
    pub contrast: Weber,
}

/// The readings that count for a task: those of a projector's screen.
pub(super) fn readings(task: &VisualTask) -> Option<ScreenReadings> {
    let screen = task.what.screen.as_ref().filter(|_| task.what.display == Some(Display::Projector));
    screen.map(|screen| screen.readings())
}

impl Ground<'_> {
    /// The light on the screen in which the writing keeps the contrast needed;
    /// none where contrast is not what fails, or no darkness does it.
    pub(super) fn darker_room(&self) -> Option<ScreenTo> {
        let task = self.question.task;
        let read = readings(task).filter(|_| self.contrast_fails)?;
        let slide = if is_black_and_white(task.what.marker) {
            FULL
        } else {
            self.question.table.contrast(task.what.marker?.into())
        };
        let threshold = self.known.sensitivity?.threshold().ok()?;
        let wanted = Weber::new(self.known.needed.contrast.get() * threshold.get() / slide.get()).ok()?;
        let own = read.projector().ok()?;
        let at_most = own.most_ambient_for(wanted).ok()?.get().floor();
        // Nobody makes a room darker than a lux.
        let at_most = Lux::new(at_most).ok().filter(|most| most.get() >= 1.0 && *most < read.off)?;
        let light = |own: Lux| Lux::new(own.get() + at_most.get());
        let then = ScreenReadings { white: light(own.white).ok()?, black: light(own.black).ok()?, off: at_most };
        let contrast = then.left_of(slide).ok()?;
        Some(ScreenTo { now: read.off, at_most, white: own.white, black: own.black, wanted, contrast })
    }

    /// The same scene in a room dark enough.
    fn in_the_dark(&self) -> Option<(Change, Scene)> {
        let to = self.screen?;
        Some((Change::Screen(to), Scene { target: Some(to.contrast), ..self.scene }))
    }

    /// Every change that gives the writing the contrast needed, and the scene after it.
    pub(super) fn darker_ways(&self) -> Vec<(Change, Scene)> {
        let marker = self.darker().map(|scene| (Change::Marker(self.markers.clone()), scene));
        marker.into_iter().chain(self.in_the_dark()).collect()
    }

    pub(super) fn screen_alone(&self, options: &mut Options) {
        let Some((change, scene)) = self.in_the_dark() else { return };
        match scene.does(&self.bare, self.known) {
            Some(judged) => options.singles.push(self.way(vec![change], judged, &scene)),
            None => options.left_out.push(LeftOut {
                what: What::Light,
                why: WhyNot::TooWeak,
                reached: scene.judged(&self.bare, self.known),
            }),
        }
    }
}
