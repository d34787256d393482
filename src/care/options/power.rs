//! Which power would do it? For those who prescribe, and for nobody else.
//!
//! A figure of power reads like advice to buy one. Whoever may not prescribe is
//! told that it is a question for the clinician; their page never asks here.

use super::{COPY_AT, Question};
use crate::care::sight::{NoFigure, Used, demand_of};
use crate::care::track::{Eye, Track, WithGlasses};
use crate::vision::demand::BoardDemand;
use crate::vision::readable::Needed;
use crate::vision::reserve::{acuity_reserve, farthest_seat};
use crate::vision::units::{Dioptres, Magnification, Ratio};

/// What a hand, the light and the focus take from a promise, in log units:
/// often 0.1 to 0.2 (common practice).
const OFTEN_LOST: [f64; 2] = [0.1, 0.2];

/// The power that would be needed, computed, never rounded.
#[derive(Clone, PartialEq)]
pub enum PowerNeeded {
    /// A telescope.
    Times {
        /// By arithmetic alone.
        least: Ratio,
        /// With what is often lost in the hand.
        often: [Ratio; 2],
        /// The eye and the acuity it starts from.
        used: Used,
    },
    /// Something held to the page.
    Dioptres {
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
        let held = farthest_seat(used.acuity.acuity, height, needed, Magnification::literal(1.0)).map_err(beyond)?;
        // Beyond arm's length nobody needs a magnifier to hold it nearer.
        let near = if held > COPY_AT[0] { COPY_AT[0] } else { held };
        return Ok(PowerNeeded::Dioptres { least: near.vergence().map_err(beyond)?, used });
    }
    let BoardDemand::Seen(letter) = demand_of(task, question.seat)? else { return Err(NoFigure::Beyond) };
    let used = question.sight.before_a_telescope(eye, glasses)?;
    let reserve = acuity_reserve(letter.working_demand(), used.acuity.acuity).map_err(beyond)?;
    let least = Ratio::new(needed.get() / reserve.get()).map_err(beyond)?;
    let lost = |log: f64| Ratio::new(least.get() * 10_f64.powf(log));
    let often =
        [lost(OFTEN_LOST[0]).map_err(|_| NoFigure::Beyond)?, lost(OFTEN_LOST[1]).map_err(|_| NoFigure::Beyond)?];
    Ok(PowerNeeded::Times { least, often, used })
}
