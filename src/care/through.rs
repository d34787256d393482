//! What does a device show of this task from the student's seat, and can it be
//! focused there?
//!
//! Joins the seat, the device and the eye to [`crate::vision::telescope`]. The
//! looks and the share are those that [`super::options`] tells of the same
//! device; a view that cannot be had is answered with the reason.
//! Does not know who asks, nor the height of a board: it is not in the record.

use super::device::{DeviceSpec, Strength};
use super::options::glasses::{TubeAt, come_off, too_much_cylinder};
use super::options::view::{field_on_a_page, no_field};
use super::options::{Limit, OVERLAP, WhyNot, out_of_focus};
use super::sight::{AtHand, NoFigure, Sight, board_across, looked_from};
use super::skill::{Prompt, Skill};
use super::task::{self, Aside, VisualTask};
use super::track::{Eye, Track};
use super::training::Session;
use crate::vision::demand::{FARTHEST_ASIDE, Seat};
use crate::vision::skill::median_time;
use crate::vision::telescope::field_width;
use crate::vision::telescope::focusing::left_far;
use crate::vision::telescope::near::Reach;
use crate::vision::telescope::outline::{Outline, field_on_board};
use crate::vision::telescope::sweep::{Sweep, along_a_line};
use crate::vision::units::{Degrees, Dioptres, Metres, OutOfRange, Seconds};

/// So many timed exercises make a time that may be told. Our own proposal.
pub const TIMES_NEEDED: usize = 3;
/// No exercise takes longer: a session is at most two hours.
const LONGEST_EXERCISE: Seconds = Seconds::literal(7_200.0);

/// Why nothing can be said of what is seen through a device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotSeen {
    /// Neither a seat nor a distance is entered.
    NoDistance,
    /// The seat is too far to the side.
    MoveTheSeat,
    /// The field of such a device is not known.
    Field(Limit),
    /// Nearer than its nearest focus.
    TooNear,
    /// Nearer than a telescope's label holds.
    NotThisNear,
    /// Outside the formula.
    Beyond,
}

/// The task, its seat, and what it is looked at with.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// The task.
    pub task: &'a VisualTask,
    /// The task's seat, if it has one.
    pub seat: Option<&'a task::Seat>,
    /// How the student sees.
    pub sight: &'a Sight,
    /// The device.
    pub device: &'a AtHand,
}

/// What is seen at once.
#[derive(Debug, Clone, PartialEq)]
pub enum Seen {
    /// Part of a board of known width.
    Board {
        /// How wide the board is.
        width: Metres,
        /// The looks that follow a line across it.
        sweep: Sweep,
        /// One look at the middle of the board.
        middle: Outline,
    },
    /// Part of something whose width is not known.
    Spot(Outline),
    /// A round part of a page, so wide.
    Page(Metres),
}

/// A view through a device.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// From the eye to the middle of what is looked at; for a page, how near
    /// the bare eye would have to be for the same.
    pub distance: Metres,
    /// The place it is looked at from; left of the middle is negative.
    pub from: Seat,
    /// The height of the small letters.
    pub height: Option<Metres>,
    /// The field that was used, of a telescope.
    pub field: Option<Degrees>,
    /// What is seen.
    pub seen: Seen,
}

impl View {
    /// How wide a part is seen at once, across the line of sight.
    ///
    /// # Errors
    /// Numbers outside the formula.
    pub fn across(&self) -> Result<Metres, OutOfRange> {
        match (&self.seen, self.field) {
            (Seen::Page(strip), _) => Ok(*strip),
            (Seen::Board { .. } | Seen::Spot(_), Some(field)) => field_width(field, self.distance),
            (Seen::Board { middle, .. }, None) => Ok(middle.width()),
            (Seen::Spot(outline), None) => Ok(outline.width()),
        }
    }
}

/// How the glasses go with focusing.
#[derive(Debug, Clone, PartialEq)]
pub enum Glasses {
    /// They stay on: there is nothing to focus out.
    On,
    /// Nobody entered whether they are worn with it.
    NotKnown,
    /// They come off, and the lens of that eye is not known here.
    LensNotKnown,
    /// They come off, and this eye needs next to none.
    NoLensNeeded,
    /// They should stay on: the tube leaves so much cylinder.
    KeepOn(Dioptres),
    /// The tube has to make up for this sphere.
    ByTube {
        /// The spherical equivalent.
        sphere: Dioptres,
        /// Whether it can, going by the label.
        reach: Reach,
    },
}

/// What is to be known about focusing a telescope here.
#[derive(Debug, Clone, PartialEq)]
pub struct Focusing {
    /// How near it focuses, where that is stated.
    pub nearest: Option<Metres>,
    /// What the eye would have to make up if it were left focused far away.
    pub left_far: Option<Dioptres>,
    /// How the glasses go with it.
    pub glasses: Glasses,
}

/// The place that a task is looked at from; left of the board is negative.
fn place(question: &Question<'_>) -> Result<Seat, NotSeen> {
    let mut from = looked_from(question.task, question.seat).map_err(|_: NoFigure| NotSeen::NoDistance)?;
    let side = question.seat.and_then(|seat| seat.what.aside.as_ref()).map(|(_, side)| *side);
    if side == Some(Aside::Left) {
        from.aside = -from.aside;
    }
    Ok(from)
}

/// What is seen through this device from the student's seat?
///
/// # Errors
/// Why it cannot be said.
pub fn view(question: &Question<'_>) -> Result<View, NotSeen> {
    let beyond = |_: OutOfRange| NotSeen::Beyond;
    let (task, spec) = (question.task, &question.device.spec);
    let height = task.what.x_height.as_ref().map(|tall| tall.value.in_metres());
    if question.device.track == Track::Near {
        return page(spec, height);
    }
    let from = place(question)?;
    if from.obliquity().map_err(beyond)? > FARTHEST_ASIDE {
        return Err(NotSeen::MoveTheSeat);
    }
    let distance = Metres::new(from.to_the_board.get().hypot(from.aside.get())).map_err(beyond)?;
    // What the tube has to make up for is told beside the view, by `focusing`.
    match out_of_focus(spec.near_focus, None, distance) {
        None => {}
        Some(WhyNot::FocusTooFar) => return Err(NotSeen::TooNear),
        Some(_) => return Err(NotSeen::NotThisNear),
    }
    let field = spec.true_field.ok_or(NotSeen::Field(no_field(spec.kind)))?;
    // The middle of the board lies to the right of a seat on the left.
    let toward = (-from.aside.get()).atan2(from.to_the_board.get()).to_degrees();
    let middle = field_on_board(from.to_the_board, Degrees::new(toward).map_err(beyond)?, field).map_err(beyond)?;
    let seen = match board_across(task, question.seat) {
        Some(width) => {
            let sweep = along_a_line(width, from, field, OVERLAP).map_err(beyond)?;
            Seen::Board { width, sweep, middle }
        }
        None => Seen::Spot(middle),
    };
    Ok(View { distance, from, height, field: Some(field), seen })
}

/// The part of a page that a device held to it shows.
fn page(spec: &DeviceSpec, height: Option<Metres>) -> Result<View, NotSeen> {
    let unknown = NotSeen::Field(no_field(spec.kind));
    let Some(Strength::Dioptres(power)) = spec.strength(Track::Near) else { return Err(unknown) };
    let distance = power.focal_length().map_err(|_| NotSeen::Beyond)?;
    let strip = field_on_a_page(spec, distance).ok_or(unknown)?;
    Ok(View { distance, from: Seat::in_front(distance), height, field: None, seen: Seen::Page(strip) })
}

/// What is to be known about focusing it from the seat; nothing for a device
/// without a tube, or without a distance.
#[must_use]
pub fn focusing(question: &Question<'_>) -> Option<Focusing> {
    let spec = &question.device.spec;
    if question.device.track != Track::Distance || !spec.kind.is_telescope() {
        return None;
    }
    let from = place(question).ok()?;
    let distance = Metres::new(from.to_the_board.get().hypot(from.aside.get())).ok()?;
    Some(Focusing {
        nearest: spec.near_focus,
        left_far: spec.power.and_then(|power| left_far(power, distance).ok()),
        glasses: glasses(question, distance),
    })
}

fn glasses(question: &Question<'_>, distance: Metres) -> Glasses {
    let (sight, device) = (question.sight, question.device);
    match come_off(&device.spec, sight) {
        None => return Glasses::NotKnown,
        Some(false) => return Glasses::On,
        Some(true) => {}
    }
    let one = |eye: &Eye| matches!(eye, Eye::Right | Eye::Left);
    let eye = device.spec.eye.filter(one).or_else(|| sight.through(device).ok().map(|used| used.eye));
    let Some(lens) = eye.and_then(|eye| sight.lens_of(eye)) else { return Glasses::LensNotKnown };
    if too_much_cylinder(lens) {
        return Glasses::KeepOn(lens.cylinder);
    }
    let Ok(sphere) = lens.spherical_equivalent() else { return Glasses::LensNotKnown };
    match TubeAt::of(device, lens) {
        Some(tube) => Glasses::ByTube { sphere, reach: tube.reach(distance) },
        // Without a power nothing follows, however small the lens is.
        None if device.spec.power.is_none() => Glasses::ByTube { sphere, reach: Reach::NotKnown },
        None => Glasses::NoLensNeeded,
    }
}

/// How long this student takes to find something through a device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnTimes {
    /// The median of the exercises' medians.
    pub median: Seconds,
    /// The fastest exercise.
    pub least: Seconds,
    /// The slowest one.
    pub most: Seconds,
    /// How many timed exercises there are.
    pub exercises: usize,
}

/// The timed exercises in spotting with the devices that count, without help.
///
/// # Errors
/// How many there are, when they are fewer than [`TIMES_NEEDED`].
pub fn own_times(sessions: &[Session], counts: impl Fn(&Session) -> bool) -> Result<OwnTimes, usize> {
    let times = sessions
        .iter()
        .filter(|session| counts(session))
        .flat_map(|session| &session.entered.exercises)
        .filter(|exercise| exercise.skill == Skill::Spotting && exercise.prompt == Prompt::None)
        .filter_map(|exercise| exercise.median);
    own_times_of(times)
}

/// The same of the median times of such exercises.
///
/// # Errors
/// As [`own_times`].
pub fn own_times_of(medians: impl IntoIterator<Item = Seconds>) -> Result<OwnTimes, usize> {
    let mut times: Vec<Seconds> = medians.into_iter().filter(|median| *median < LONGEST_EXERCISE).collect();
    times.sort_unstable();
    let exercises = times.len();
    let told = times.first().copied().zip(times.last().copied()).filter(|_| exercises >= TIMES_NEEDED);
    let (least, most) = told.ok_or(exercises)?;
    let median = median_time(&times, LONGEST_EXERCISE).ok().and_then(|found| found.median).ok_or(exercises)?;
    Ok(OwnTimes { median, least, most, exercises })
}
