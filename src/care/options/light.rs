//! Is the light there what the figures hold for?
//!
//! Acuity and contrast were measured in good light, and no formula says how
//! either falls in less: none that is sound exists for eyes with low vision. So
//! where the light is known to be another, it is mended before anything else is
//! counted on, and every other change stands beside that one. What is known
//! comes from the record only: a light entered in words, a meter's reading at
//! the desk, and the light that suits the student as a clinician found it.
//!
//! Does not know how bright a lit screen is; nobody recorded it. Read next:
//! `screen.rs` for a projector, whose screen a meter may have read.

use jiff::civil::Date;

use super::{LeftOut, Question, What, WhyNot, screen};
use crate::care::task::{Display, LightLevel, TaskCode, VisualTask};
use crate::care::track::Track;
use crate::vision::units::Lux;

/// A reading below this part of the light that suits is another light, and one
/// above its reciprocal, too: meters in telephones err by tens of percent. Our
/// own proposal.
const ANOTHER_LIGHT: f64 = 0.7;

/// Another light where the thing is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightTo {
    /// More of it, or less.
    pub direction: Direction,
    /// What a meter read there.
    pub now: Option<Lux>,
    /// The light that suits, as a clinician found it, and when.
    pub to: Option<(Lux, Date)>,
}

/// More light, or less.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// There is too little.
    More,
    /// There is too much.
    Less,
}

/// The light that has to be mended; none where it is near enough, where nobody
/// can change it, or where nothing is known of it.
pub(super) fn to_mend(question: &Question<'_>) -> Option<LightTo> {
    if !can_be_changed(question.task) {
        return None;
    }
    let now = at_the_desk(question);
    let to = question.sight.light_that_suits();
    if let Some((now, (suits, _))) = now.zip(to) {
        let part = now.get() / suits.get();
        let direction = if part < ANOTHER_LIGHT {
            Direction::More
        } else if part > 1.0 / ANOTHER_LIGHT {
            Direction::Less
        } else {
            return None;
        };
        return Some(LightTo { direction, now: Some(now), to });
    }
    entered_as_dim(question).then_some(LightTo { direction: Direction::More, now, to })
}

/// Whether somebody called the light there too little.
pub(super) fn entered_as_dim(question: &Question<'_>) -> bool {
    let at_the_seat = question
        .seat
        .filter(|_| question.task.what.own_distance.is_none() || question.task.what.track == Track::Near)
        .and_then(|seat| seat.what.light);
    matches!(question.task.what.light.or(at_the_seat), Some(LightLevel::Dim | LightLevel::Night))
}

/// A reading at the desk is one of a page that lies there, and of no board.
fn at_the_desk(question: &Question<'_>) -> Option<Lux> {
    let what = &question.task.what;
    let lies_there = what.track == Track::Near
        && matches!(what.display, Some(Display::Page | Display::PaperChart | Display::Object));
    question.seat.filter(|_| lies_there)?.what.illuminance
}

/// Whether people around the student decide how much light falls on it.
fn can_be_changed(task: &VisualTask) -> bool {
    let outdoors = matches!(
        task.what.code,
        TaskCode::BusNumber
            | TaskCode::BusStopSign
            | TaskCode::StreetName
            | TaskCode::TrafficSignalWatch
            | TaskCode::HouseNumber
            | TaskCode::SportsWatch
            | TaskCode::Scoreboard
            | TaskCode::AssemblyStage
    );
    !outdoors && !gives_its_own_light(task)
}

fn gives_its_own_light(task: &VisualTask) -> bool {
    matches!(task.what.display, Some(Display::Projector | Display::FlatScreen | Display::StudentScreen))
}

/// What another light would give where it is none of the ways, or what has to
/// be measured before that can be said.
pub(super) fn left_out(question: &Question<'_>, contrast_fails: bool, darker_room: bool) -> Option<LeftOut> {
    let why = match question.task.what.display {
        // It is one of the ways.
        Some(Display::Projector) if darker_room => return None,
        Some(Display::Projector) => match screen::readings(question.task) {
            None => WhyNot::MeasureTheScreen,
            Some(_) if contrast_fails => WhyNot::ProjectorTooPale,
            Some(_) if question.sight.contrast().is_none() => WhyNot::NoSensitivity,
            Some(_) => WhyNot::ScreenDarkEnough,
        },
        Some(Display::FlatScreen | Display::StudentScreen) => WhyNot::ScreenNotMeasured,
        _ if !can_be_changed(question.task) => return None,
        _ if to_mend(question).is_some() => return None,
        _ if contrast_fails => WhyNot::LightDarkensNothing,
        _ if at_the_desk(question).is_some() && question.sight.light_that_suits().is_some() => WhyNot::LightSuits,
        _ => WhyNot::LightNotMeasured,
    };
    Some(LeftOut { what: What::Light, why, reached: None })
}
