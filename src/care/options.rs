//! What would let this student do this task, and what does each way cost?
//!
//! Takes a task as it stands and looks for the single changes, and the pairs of
//! changes, after which both reserves hold: a nearer seat, larger letters, a
//! better marker, another light, a darker room for a projector, the board brought near on a screen or a copy, a
//! device, and for those who prescribe a power. Every
//! way that is listed was put to the same question as the task itself,
//! [`crate::vision::readable`], so nothing here has a formula of its own.
//!
//! **The order is our own proposal**, made for a busy room and not taken from a
//! study. First what may serve every day, then what is [`Hard`] to live with.
//! Among those: fewest changes for the student (who writes larger or darker
//! asks nothing of her), then fewest changes at all, then [`Rank::cost`]. Of each
//! kind of change, and of each two kinds, the best is listed; a pair that is hard
//! to live with only where no single change serves every day.
//!
//! Does not know who reads, nor words for a page; a power is looked for only in a
//! [`Question`] that has a [`Prescriber`]. Read next: `options/scene.rs` for the
//! search, `options/rank.rs` for the costs.

pub(in crate::care) mod glasses;
mod kinds;
mod light;
mod pairs;
mod power;
mod rank;
mod scene;
mod screen;
mod singles;
pub(in crate::care) mod view;

pub use kinds::{can_be_brought_near, can_be_written_larger, can_come_nearer};
pub use light::{Direction, LightTo};
pub use power::{MAGNIFIERS, PowerNeeded, PowerTo, Prescriber, TELESCOPES, power_needed};
pub use rank::{Hard, Rank};
pub use scene::{LABEL_HOLDS_FROM, Scene};
pub(in crate::care) use scene::{out_of_focus, tube_of};
pub use screen::ScreenTo;
pub use view::{EYE_TO_LENS, Limit, OVERLAP, Seen, Stated, View, letters_wanted};

use super::codes::codes;
use super::sight::{AtHand, NoFigure, Sight, Used, board_across, looked_from};
use super::task::{Marker, Seat, VisualTask};
use super::track::Track;
use crate::vision::contrast::marker::MarkerTable;
use crate::vision::length::shown::Units;
use crate::vision::readable::{Answer, ContrastStanding, Goals, Judgement, Needed, Verdict};
use crate::vision::units::{Degrees, Metres, Ratio, Seconds};
use scene::{Held, Known, Looker};

/// No seat nearer to a board than this is offered where nobody entered its first
/// row: an assumption. Whoever shows a seat says so.
pub const NEAREST_SEAT: Metres = Metres::literal(1.0);
/// No page is offered nearer to the eye than this. Our own proposal.
pub const NEAREST_PAGE: Metres = Metres::literal(0.1);
/// Where a copy at the desk is looked at: on a stand, and held. Common practice.
pub const COPY_AT: [Metres; 2] = [Metres::literal(0.4), Metres::literal(0.25)];
/// Letters above this are not looked for.
pub const TALLEST: Metres = Metres::literal(1.0);

/// Everything the options of one task follow from.
#[derive(Clone, Copy)]
pub struct Question<'a> {
    /// The task.
    pub task: &'a VisualTask,
    /// The seat it is seen from, if it has one.
    pub seat: Option<&'a Seat>,
    /// How the student sees, as far as the reader may read it.
    pub sight: &'a Sight,
    /// Devices the student has or could have; those of the other track are passed over.
    pub devices: &'a [AtHand],
    /// The reserves that goals need.
    pub goals: &'a Goals,
    /// The contrast of markers.
    pub table: &'a MarkerTable,
    /// The reader's units, because advice is rounded in them.
    pub units: Units,
    /// How long one look through a device takes this student, by timed exercises
    /// without help, where the reader may read them and there are enough.
    pub look: Option<Seconds>,
    /// Given for a reader who prescribes: then powers are looked for, too.
    pub prescriber: Option<Prescriber>,
}

/// The options of one task.
#[derive(Clone, PartialEq)]
pub struct Options {
    /// How the task stands now, without a device.
    pub now: Now,
    /// The acuity that counts without a device.
    pub used: Used,
    /// What the goal needs.
    pub needed: Needed,
    /// Single changes that do it, best first.
    pub singles: Vec<Way>,
    /// Pairs of changes that do it, best first.
    pub pairs: Vec<Way>,
    /// What was looked at and does not do it alone, or cannot be said.
    pub left_out: Vec<LeftOut>,
    /// The nearest place that was looked at; none where coming nearer is not offered.
    pub nearest: Option<Metres>,
    /// Whether the light is entered as too little and nobody there can change
    /// it, which no figure here allows for.
    pub dim: bool,
}

/// Where the first row of seats is that this task is seen from, if it was entered.
#[must_use]
pub fn first_row(task: &VisualTask, seat: Option<&Seat>) -> Option<Metres> {
    let seat = seat.filter(|_| task.what.own_distance.is_none())?;
    seat.what.layout.first_row.as_ref().map(|far| far.value)
}

/// How a task stands now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Now {
    /// Both reserves hold.
    Readable(Judgement),
    /// Large enough; whether dark enough is not known.
    LargeEnough(Judgement),
    /// At least one reserve fails.
    Short(Judgement),
    /// Both reserves would hold as far as they are known, in another light than
    /// there is.
    InAnotherLight(Judgement),
    /// The seat is too far to the side: it is moved before anything is computed.
    MoveTheSeat(Degrees),
}

/// One way that does it.
#[derive(Clone, PartialEq)]
pub struct Way {
    /// One change, or two.
    pub changes: Vec<Change>,
    /// The reserves reached with it.
    pub judged: Judgement,
    /// The thing as it then is, and where it is looked at from; for a copy at the
    /// desk the nearest one.
    pub scene: Scene,
    /// What is seen through the device, if there is one in it.
    pub view: Option<View>,
    /// Where it stands in the order, and why.
    pub rank: Rank,
}

/// One change.
#[derive(Clone, PartialEq)]
pub enum Change {
    /// Another seat, or another place to look from.
    Seat(SeatTo),
    /// Larger small letters.
    Letters(LettersTo),
    /// Another marker; the first is the strongest, the others do it too.
    Marker(Vec<Marker>),
    /// The board brought near: how tall its small letters must be there.
    Copy(Vec<CopyAt>),
    /// A device, by its place in [`Question::devices`].
    Device(usize),
    /// A power that nobody has here; only ever for those who prescribe.
    Power(PowerTo),
    /// Another light there.
    Light(LightTo),
    /// Less light on the screen of a projector.
    Screen(ScreenTo),
}

/// Where to sit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeatTo {
    /// From the eye straight to the board, rounded down.
    pub to: Metres,
    /// How much nearer that is.
    pub nearer: Metres,
    /// In front of the middle of the board, where the seat now is to the side.
    pub to_the_middle: bool,
}

/// How tall to write.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LettersTo {
    /// The height of small letters, rounded up.
    pub height: Metres,
    /// How many times as tall as now.
    pub times: Ratio,
    /// How many letters then fit across the board, when its width is known.
    pub across: Option<u32>,
}

/// A copy at the desk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CopyAt {
    /// From the eye.
    pub distance: Metres,
    /// The height of its small letters, rounded up.
    pub height: Metres,
}

/// Something that was looked at and is not listed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftOut {
    /// What.
    pub what: What,
    /// Why not.
    pub why: WhyNot,
    /// The reserves reached with it, where it was computed and falls short.
    pub reached: Option<Judgement>,
}

/// A kind of change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// A nearer seat.
    Seat,
    /// Larger letters.
    Letters,
    /// Another marker.
    Marker,
    /// A copy at the desk.
    Copy,
    /// A device, by its place in [`Question::devices`].
    Device(usize),
    /// A power that nobody has here.
    Power,
    /// Another light there.
    Light,
}

codes! {
    /// Why a change is not listed.
    pub enum WhyNot {
        NotFromNearer = "not_from_nearer" : "a thing like this is not walked up to",
        NoSeatNearEnough = "no_seat_near_enough" : "no seat that was looked at is near enough",
        NotOurs = "not_ours" : "nobody here decides how large it is written",
        NoLetterTallEnough = "no_letter_tall_enough" : "no height of letters does it alone",
        ContrastNotEnough = "contrast_not_enough" : "no marker in the table reaches the contrast that is needed",
        AskTheStudent = "ask_the_student" : "the table of markers does not hold for this student's colour vision: ask which marker is clearest",
        ContrastFails = "contrast_fails" : "the writing is too faint, and this does not make it darker",
        NoNearAcuity = "no_near_acuity" : "no near acuity was measured, so the size of a copy cannot be said",
        FocusTooFar = "focus_too_far" : "it cannot be focused as near as this",
        NotThisNear = "not_this_near" : "nearer than 2 m a telescope no longer works at the power on its label, so nothing is computed",
        TubeTooShort = "tube_too_short" : "used without glasses, its tube cannot be drawn out far enough for this eye at this distance",
        GlassesStayOn = "glasses_stay_on" : "it is used without glasses, and no tube corrects the cylinder of this eye: above 1.5 D the glasses stay on",
        TooWeak = "too_weak" : "not enough alone",
        NoAcuityThrough = "no_acuity_through" : "no acuity was measured with which it could be computed",
        NoPowerByHand = "no_power_by_hand" : "no power that is held by hand does it alone: a camera, or a nearer seat, serves better",
        ScreenDarkEnough = "screen_dark_enough" : "by the readings on the screen the writing stands out enough, so a darker room is not what is missing",
        ProjectorTooPale = "projector_too_pale" : "by the readings on the screen this projector\u{2019}s black is too bright even in a dark room for the contrast that is needed",
        NoSensitivity = "no_sensitivity" : "the screen was measured, but the student\u{2019}s contrast sensitivity was not, so how dark the room has to be cannot be said",
        MeasureTheScreen = "measure_the_screen" : "less light in the room makes the black of a projector darker; how much is gained cannot be said until the light on the screen is measured, with a white slide, with a black one and with the projector off",
        ScreenNotMeasured = "screen_not_measured" : "a lit screen gives its own light, and nobody recorded how bright it is, so what a darker room would give cannot be said",
        LightDarkensNothing = "light_darkens_nothing" : "light falls on the writing and on what is around it alike, so it makes faint writing no darker",
        LightSuits = "light_suits" : "the light measured there is near what was found to suit",
        LightNotMeasured = "light_not_measured" : "what another light would give cannot be said: measure the light there, and ask the clinician which light suits",
        NoStrength = "no_strength" : "its equivalent power is not stated, and no label is compared",
    }
}

/// Whether both reserves hold, as far as they are known.
#[must_use]
pub fn does_it(judged: &Judgement) -> bool {
    matches!(judged.verdict, Verdict::Readable | Verdict::LargeEnoughContrastUnknown)
}

/// The task as the search sees it.
struct Ground<'a> {
    question: Question<'a>,
    scene: Scene,
    known: Known,
    bare: Looker,
    /// Markers that would reach the contrast, where contrast is what fails.
    markers: Vec<Marker>,
    /// The light on a screen that would leave the contrast, where it fails.
    screen: Option<ScreenTo>,
    contrast_fails: bool,
    nearest: Option<Metres>,
    /// Each device of this track that can be computed, then each power for
    /// those who prescribe.
    lookers: Vec<Held>,
}

/// Which single changes and which pairs let the student do this task?
///
/// # Errors
/// What is missing to say anything; a category such as counting fingers gives
/// no figure.
pub fn of(question: &Question<'_>) -> Result<Options, NoFigure> {
    let task = question.task;
    let height = task.what.x_height.as_ref().ok_or(NoFigure::NoSize)?.value.in_metres();
    let from = looked_from(task, question.seat)?;
    let used = question.sight.unaided(task.what.track)?;
    let needed = question.goals.needed(task.what.goal.into());
    let target = question.sight.contrast_of(&task.what, question.table);
    let sensitivity = question.sight.contrast().map(|(sensitivity, _)| sensitivity);
    let scene = Scene { height, from, width: board_across(task, question.seat), target };
    let known = Known { sensitivity, needed };
    let bare = Looker::Bare(used.acuity);
    let light = light::to_mend(question);
    let now = match scene.answer(&bare, known).ok_or(NoFigure::Beyond)? {
        Answer::MoveTheSeat { obliquity } => Now::MoveTheSeat(obliquity),
        Answer::Judged(judged) if light.is_some() && does_it(&judged) => Now::InAnotherLight(judged),
        Answer::Judged(judged) if judged.verdict == Verdict::Readable => Now::Readable(judged),
        Answer::Judged(judged) if does_it(&judged) => Now::LargeEnough(judged),
        Answer::Judged(judged) => Now::Short(judged),
    };
    let contrast_fails = ContrastStanding::of(target, sensitivity)
        .map_err(|_| NoFigure::Beyond)?
        .holds(needed.contrast)
        .is_some_and(|holds| !holds);
    let nearest = kinds::can_come_nearer(task).then_some(match task.what.track {
        Track::Distance => first_row(task, question.seat).unwrap_or(NEAREST_SEAT),
        Track::Near => NEAREST_PAGE,
    });
    let mut ground = Ground {
        question: *question,
        scene,
        known,
        bare,
        markers: Vec::new(),
        screen: None,
        contrast_fails,
        nearest,
        lookers: Vec::new(),
    };
    let mut options = Options {
        now,
        used,
        needed,
        singles: Vec::new(),
        pairs: Vec::new(),
        left_out: Vec::new(),
        nearest,
        dim: light.is_none() && light::entered_as_dim(question),
    };
    match now {
        Now::Readable(_) | Now::LargeEnough(_) => {}
        Now::InAnotherLight(judged) => {
            let light = light.into_iter().map(Change::Light).collect();
            options.singles.push(ground.way(light, judged, &scene));
        }
        // Beyond 60° aside nothing else is computed: the seat comes first.
        Now::MoveTheSeat(_) => ground.seat_alone(&mut options),
        Now::Short(_) => {
            ground.markers = ground.better_markers();
            ground.screen = ground.darker_room();
            ground.look_through(&mut options.left_out);
            ground.marker_alone(&mut options);
            ground.letters_alone(&mut options);
            ground.seat_alone(&mut options);
            ground.copy_alone(&mut options);
            ground.devices_alone(&mut options);
            ground.power_alone(&mut options);
            options.left_out.extend(light::left_out(question, contrast_fails, ground.screen.is_some()));
            ground.screen_alone(&mut options);
            let pairs = match light {
                Some(light) => ground.with_the_light(light, &mut options.singles),
                None => ground.pairs(),
            };
            options.singles.sort_by(|one, other| one.rank.compare(&other.rank));
            options.pairs = pairs::worth_listing(pairs, &options.singles);
        }
    }
    Ok(options)
}
