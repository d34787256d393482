//! Which power would do it? For those who prescribe, and for nobody else.
//!
//! A figure of power reads like advice to buy one. Whoever may not prescribe is
//! told that it is a question for the clinician; their question has no
//! [`Prescriber`], and so nothing here is ever asked for them.

use super::scene::{Held, Looker};
use super::view::WIDEST_APPARENT;
use super::{COPY_AT, Change, Question, WhyNot};
use crate::care::device::{DeviceSpec, Strength};
use crate::care::sight::{AtHand, AtHandAs, NoFigure, Used, demand_of};
use crate::care::track::{DeviceKind, Eye, Track, WithGlasses};
use crate::vision::acuity::LogMar;
use crate::vision::demand::BoardDemand;
use crate::vision::magnifier::power_for_height;
use crate::vision::readable::Needed;
use crate::vision::reserve::acuity_reserve;
use crate::vision::units::{Degrees, Dioptres, Magnification, Metres, Ratio};

/// What a hand, the light and the focus take from a promise, in log units:
/// often 0.1 to 0.2 (common practice).
const OFTEN_LOST: [f64; 2] = [0.1, 0.2];

/// The powers in which telescopes for the hand are had. Common practice, from
/// memory; above 10 nothing is held by hand.
pub const TELESCOPES: [Magnification; 9] = [
    Magnification::literal(2.0),
    Magnification::literal(2.5),
    Magnification::literal(3.0),
    Magnification::literal(4.0),
    Magnification::literal(5.0),
    Magnification::literal(6.0),
    Magnification::literal(7.0),
    Magnification::literal(8.0),
    Magnification::literal(10.0),
];

/// The equivalent powers in which things held to a page are had. Common
/// practice, from memory.
pub const MAGNIFIERS: [Dioptres; 13] = [
    Dioptres::literal(4.0),
    Dioptres::literal(5.0),
    Dioptres::literal(6.0),
    Dioptres::literal(8.0),
    Dioptres::literal(10.0),
    Dioptres::literal(12.0),
    Dioptres::literal(16.0),
    Dioptres::literal(20.0),
    Dioptres::literal(24.0),
    Dioptres::literal(28.0),
    Dioptres::literal(32.0),
    Dioptres::literal(40.0),
    Dioptres::literal(50.0),
];

/// Who prescribes is shown powers, too, for this eye and these glasses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Prescriber {
    /// The eye that would look, as recommended.
    pub eye: Option<Eye>,
    /// Whether glasses would stay on, as recommended.
    pub glasses: Option<WithGlasses>,
}

/// A power that nobody has here yet.
#[derive(Debug, Clone, PartialEq)]
pub struct PowerTo {
    /// The power, as devices are had.
    pub strength: Strength,
}

impl PowerTo {
    /// The widest field that a telescope of this power can show; none for
    /// something held to a page.
    #[must_use]
    pub fn widest_field(&self) -> Option<Degrees> {
        match self.strength {
            Strength::Times(power) => Degrees::new(WIDEST_APPARENT / power.get()).ok(),
            Strength::Dioptres(_) => None,
        }
    }
}

/// The power that would be needed, computed, never rounded.
#[derive(Clone, PartialEq)]
pub enum PowerNeeded {
    /// A telescope.
    Times {
        /// What the task asks for from its seat.
        demand: LogMar,
        /// By arithmetic alone.
        least: Ratio,
        /// With what is often lost in the hand.
        often: [Ratio; 2],
        /// The eye and the acuity it starts from.
        used: Used,
    },
    /// Something held to the page.
    Dioptres {
        /// The height of its small letters.
        height: Metres,
        /// Whether it is no more than holding it at arm's length.
        at_arms_length: bool,
        /// The equivalent power.
        least: Dioptres,
        /// The acuity it starts from.
        used: Used,
    },
}

/// Which power brings this task to its reserve, from its own seat?
///
/// Distance: the reserve needed over the reserve of the eye that would look,
/// corrected as it would be. Near: one over the distance at which the page would
/// have to be held by the bare eye.
///
/// # Errors
/// What is missing; [`NoFigure::Beyond`] for a seat too far to the side.
pub fn power_needed(
    question: &Question<'_>,
    eye: Option<Eye>,
    glasses: Option<WithGlasses>,
) -> Result<PowerNeeded, NoFigure> {
    let task = question.task;
    let Needed { acuity: needed, .. } = question.goals.needed(task.what.goal.into());
    let beyond = |_| NoFigure::Beyond;
    if task.what.track == Track::Near {
        let height = task.what.x_height.as_ref().ok_or(NoFigure::NoSize)?.value.in_metres();
        let used = question.sight.unaided(Track::Near)?;
        let least = power_for_height(used.acuity.acuity, height, needed).map_err(beyond)?;
        // Beyond arm's length nobody needs a magnifier to hold it nearer.
        let at_arms_length = least.viewing_distance > COPY_AT[0];
        let least = if at_arms_length { COPY_AT[0].vergence().map_err(beyond)? } else { least.power };
        return Ok(PowerNeeded::Dioptres { height, at_arms_length, least, used });
    }
    let BoardDemand::Seen(letter) = demand_of(task, question.seat)? else { return Err(NoFigure::Beyond) };
    let used = question.sight.before_a_telescope(eye, glasses)?;
    let reserve = acuity_reserve(letter.working_demand(), used.acuity.acuity).map_err(beyond)?;
    let least = Ratio::new(needed.get() / reserve.get()).map_err(beyond)?;
    let lost = |log: f64| Ratio::new(least.get() * 10_f64.powf(log));
    let often =
        [lost(OFTEN_LOST[0]).map_err(|_| NoFigure::Beyond)?, lost(OFTEN_LOST[1]).map_err(|_| NoFigure::Beyond)?];
    Ok(PowerNeeded::Times { demand: letter.working_demand(), least, often, used })
}

/// Every power that is had for this track, as the eye would look through it.
///
/// # Errors
/// Why none can be looked through.
pub(super) fn steps(question: &Question<'_>, prescriber: Prescriber) -> Result<Vec<Held>, WhyNot> {
    let track = question.task.what.track;
    let spec = |strength: Strength| match strength {
        Strength::Times(power) => DeviceSpec {
            power: Some(power),
            eye: prescriber.eye,
            with_glasses: prescriber.glasses,
            ..DeviceSpec::of(DeviceKind::HandheldMonocular)
        },
        Strength::Dioptres(power) => {
            DeviceSpec { equivalent_power: Some(power), ..DeviceSpec::of(DeviceKind::HandMagnifier) }
        }
    };
    let had: Vec<Strength> = match track {
        Track::Distance => TELESCOPES.iter().copied().map(Strength::Times).collect(),
        Track::Near => MAGNIFIERS.iter().copied().map(Strength::Dioptres).collect(),
    };
    had.into_iter()
        .map(|strength| {
            let device = AtHand { spec: spec(strength), track, source: AtHandAs::Pool };
            let (looker, used) = Looker::through(question.sight, &device)?;
            Ok(Held { change: Change::Power(PowerTo { strength }), device, looker, used })
        })
        .collect()
}

impl Held {
    /// Whether this is a power that nobody has here, and not a device.
    pub(super) const fn is_a_power(&self) -> bool {
        matches!(self.change, Change::Power(_))
    }
}

/// Whether a device that is looked at has this very strength.
pub(super) fn is_among(strength: Strength, question: &Question<'_>) -> bool {
    let track = question.task.what.track;
    let same = |other: Strength| match (strength, other) {
        (Strength::Times(one), Strength::Times(other)) => (one.get() - other.get()).abs() < 1e-9,
        (Strength::Dioptres(one), Strength::Dioptres(other)) => (one.get() - other.get()).abs() < 1e-9,
        _ => false,
    };
    question.devices.iter().any(|device| device.track == track && device.spec.strength(track).is_some_and(same))
}
