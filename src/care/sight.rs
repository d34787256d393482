//! Can this student see that task from there, with and without a device?
//!
//! Joins the clinic's numbers to the classroom's: it picks the acuity that
//! counts by one rule, and asks [`crate::vision`] for the rest. A figure that
//! cannot be had is answered with the reason, never with a guess; counting
//! fingers and the like give no figure.
//! Does not know who asks: what the reader may not read was never put into the
//! [`Sight`]. Read next: `sight/which.rs` for the acuity that counts,
//! [`crate::vision::readable`] for the answer.

mod which;

use jiff::civil::Date;

use super::codes::codes;
use super::device::DeviceSpec;
use super::evaluation::{Correction, FieldPattern, Gaze};
use super::intake::HeadTurn;
use super::journey::fact::Source;
use super::task::{self, Display, Marker, NewTask, VisualTask};
use super::track::{Eye, Track};
use crate::vision::acuity::Measured;
use crate::vision::contrast::marker::{self, MarkerTable};
use crate::vision::contrast::{LogContrastSensitivity, Weber};
use crate::vision::demand::{self, BoardDemand, on_board};
use crate::vision::readable::{AcuityUsed, Answer, Goal, Goals, Viewer, judge_on_board};
use crate::vision::refraction::Lens;
use crate::vision::seat_print::{BoardWriting, Question, SeatAndPrint, ThroughDevice, seat_and_print, smallest};
use crate::vision::telescope;
use crate::vision::units::{Lux, Metres, Millimetres, OutOfRange};

codes! {
    /// Why a figure cannot be given.
    pub enum NoFigure {
        NoSize = "no_size" : "the height of the small letters is not known",
        NoDistance = "no_distance" : "the distance is not known",
        NoEvaluation = "no_evaluation" : "no signed evaluation can be read here",
        NoAcuity = "no_acuity" : "no acuity that fits this distance was measured",
        OnlyCategory = "only_category" : "the acuity is a category such as counting fingers, and no figure follows from it",
        NoWriting = "no_writing" : "no writing on the board was measured from this seat",
        Beyond = "beyond" : "these numbers lie outside what the formula holds for",
    }

    /// What is known about the glasses in class.
    pub enum InClass {
        Wears = "wears" : "wears glasses",
        Without = "without" : "without glasses",
        NotKnown = "not_known" : "not known",
    }

    /// How a device came to the student.
    pub enum AtHandAs {
        Own = "own" : "own device",
        Loan = "loan" : "on loan",
        Pool = "pool" : "in the loan pool",
    }
}

/// One acuity row, as much of it as figures need.
#[derive(Clone, PartialEq)]
pub struct SightRow {
    /// Which eye; never [`Eye::Either`].
    pub eye: Eye,
    /// What was worn.
    pub worn: Correction,
    /// The test distance.
    pub distance: Option<Metres>,
    /// The test distance as typed.
    pub distance_typed: String,
    /// The value as written.
    pub as_recorded: String,
    /// The number; none for a category.
    pub measured: Option<Measured>,
    /// The device looked through: kind and strength only.
    pub device: Option<DeviceSpec>,
}

/// What one evaluation found about sight.
#[derive(Clone, PartialEq)]
pub struct Evaluated {
    /// When the eyes were examined.
    pub on: Date,
    /// How it came into the record.
    pub source: Source,
    /// Every acuity row.
    pub rows: Vec<SightRow>,
    /// The eye named as the better one.
    pub better_eye: Option<Eye>,
    /// Contrast sensitivity.
    pub contrast: Option<LogContrastSensitivity>,
    /// Whether colour vision was found to be lost in part or whole.
    pub colour_loss: bool,
    /// The eye's pupil.
    pub pupil: Option<Millimetres>,
    /// The lens that corrects each eye, where it was found.
    pub refraction: Vec<(Eye, Lens)>,
    /// The light that suits.
    pub lighting: Option<Lux>,
    /// What says to which side things should lie.
    pub bearing: Bearing,
}

/// What an evaluation found that says to which side things should lie.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Bearing {
    /// Where the eyes look when they see best.
    pub gaze: Option<Gaze>,
    /// What the field looks like.
    pub field: Vec<FieldPattern>,
}

/// A device the student has now, or could have from the pool.
#[derive(Clone, PartialEq)]
pub struct AtHand {
    /// What it is, with the eye it is for.
    pub spec: DeviceSpec,
    /// The track it is used on.
    pub track: Track,
    /// Own, on loan or in the pool.
    pub source: AtHandAs,
}

/// Everything known of how this student sees, as far as the reader may read it.
#[derive(Clone, PartialEq)]
pub struct Sight {
    /// Evaluations the reader may read, newest first.
    pub evaluations: Vec<Evaluated>,
    /// Glasses in class.
    pub in_class: InClass,
    /// Devices at hand, the own one first.
    pub devices: Vec<AtHand>,
    /// How the head is held to see, as the intake has it.
    pub head_turn: Option<HeadTurn>,
}

/// An acuity that was picked, with the row it comes from.
#[derive(Clone, PartialEq)]
pub struct Used {
    /// The acuity and its basis.
    pub acuity: AcuityUsed,
    /// The eye.
    pub eye: Eye,
    /// What was worn.
    pub worn: Correction,
    /// The value as written.
    pub as_recorded: String,
    /// The test distance as typed.
    pub at: String,
    /// When.
    pub on: Date,
    /// How it came into the record.
    pub source: Source,
}

impl Used {
    /// What stands behind a figure of a report that no clinician confirmed yet;
    /// nothing behind any other.
    #[must_use]
    pub const fn unconfirmed(&self) -> &'static str {
        match self.source {
            Source::Transcribed | Source::Background => ", transcribed, not confirmed",
            Source::Signed | Source::Confirmed => "",
        }
    }
}

/// What a telescope shows at one distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Through {
    /// How wide a part is seen at once, when the field is known.
    pub field_width: Option<Metres>,
    /// The exit pupil, when power and objective are known.
    pub exit_pupil: Option<Millimetres>,
    /// Whether it cannot be focused this near; none when not stated.
    pub too_near: Option<bool>,
}

/// The seat-and-print line of one room.
#[derive(Clone, PartialEq)]
pub struct RoomLine {
    /// The writing that decides: the smallest measured.
    pub writing: BoardWriting,
    /// The acuity without a device.
    pub used: Used,
    /// Without a device.
    pub line: SeatAndPrint,
    /// With each device at hand that can be computed: its place in
    /// [`Sight::devices`], the acuity through it, and the same line with it.
    pub with: Vec<(usize, Used, SeatAndPrint)>,
}

impl From<task::Goal> for Goal {
    fn from(goal: task::Goal) -> Self {
        match goal {
            task::Goal::NameIt => Self::NameIt,
            task::Goal::Phrase => Self::Phrase,
            task::Goal::Copy => Self::Copy,
        }
    }
}

impl From<Marker> for marker::Marker {
    fn from(marker: Marker) -> Self {
        match marker {
            Marker::BlackOnWhite => Self::BlackOnWhite,
            Marker::BlueOnWhite => Self::BlueOnWhite,
            Marker::GreenOnWhite => Self::GreenOnWhite,
            Marker::RedOnWhite => Self::RedOnWhite,
            Marker::Faint => Self::Faint,
            Marker::WhiteOnDark => Self::WhiteOnDark,
        }
    }
}

/// Where a task's writing is looked at from: its own distance straight on, or
/// its seat with the offset to the side.
///
/// # Errors
/// [`NoFigure::NoDistance`].
pub fn looked_from(task: &VisualTask, seat: Option<&task::Seat>) -> Result<demand::Seat, NoFigure> {
    if let Some(own) = &task.what.own_distance {
        return Ok(demand::Seat::in_front(own.value));
    }
    match seat {
        Some(seat) => Ok(place(seat)),
        None => task.seat_distance.as_ref().map(|far| demand::Seat::in_front(far.value)).ok_or(NoFigure::NoDistance),
    }
}

/// Where a seat stands before its board.
#[must_use]
pub fn place(seat: &task::Seat) -> demand::Seat {
    let aside = seat.what.aside.as_ref().map_or(Metres::literal(0.0), |(aside, _)| aside.value);
    demand::Seat { to_the_board: seat.what.distance.value, aside }
}

/// What the task's writing asks of an eye, from its seat.
///
/// # Errors
/// Why there is no figure.
pub fn demand_of(task: &VisualTask, seat: Option<&task::Seat>) -> Result<BoardDemand, NoFigure> {
    let height = task.what.x_height.as_ref().ok_or(NoFigure::NoSize)?.value.in_metres();
    let from = looked_from(task, seat)?;
    let width = board_across(task, seat);
    on_board(height, from, width).map_err(|_| NoFigure::Beyond)
}

/// The width of the board that the task stands on, as far as it is known.
///
/// The far edge of the board counts only for what stands on that board.
#[must_use]
pub fn board_across(task: &VisualTask, seat: Option<&task::Seat>) -> Option<Metres> {
    let seat = seat.filter(|_| task.what.own_distance.is_none() && on_the_board(task))?;
    seat.what.board_width.as_ref().map(|width| width.value)
}

/// Whether the task is writing on the board or the screen before the class.
#[must_use]
pub fn on_the_board(task: &VisualTask) -> bool {
    task.what.track == Track::Distance
        && matches!(
            task.what.display,
            Some(Display::Whiteboard | Display::DarkBoard | Display::Projector | Display::FlatScreen)
        )
}

impl Sight {
    /// Nothing is known.
    #[must_use]
    pub const fn unknown() -> Self {
        Self { evaluations: Vec::new(), in_class: InClass::NotKnown, devices: Vec::new(), head_turn: None }
    }

    /// Whether a report that no clinician confirmed yet is among what figures rest on.
    #[must_use]
    pub fn unconfirmed(&self) -> bool {
        self.evaluations.iter().any(|evaluated| evaluated.source == Source::Transcribed)
    }

    /// The contrast sensitivity found last, with its date.
    #[must_use]
    pub fn contrast(&self) -> Option<(LogContrastSensitivity, Date)> {
        self.evaluations.iter().find_map(|evaluated| Some((evaluated.contrast?, evaluated.on)))
    }

    /// The eye's pupil found last.
    #[must_use]
    pub fn pupil(&self) -> Option<Millimetres> {
        self.evaluations.iter().find_map(|evaluated| evaluated.pupil)
    }

    /// The light that was found to suit last, with its date.
    #[must_use]
    pub fn light_that_suits(&self) -> Option<(Lux, Date)> {
        self.evaluations.iter().find_map(|evaluated| Some((evaluated.lighting?, evaluated.on)))
    }

    /// The lens found last that corrects this eye.
    #[must_use]
    pub fn lens_of(&self, eye: Eye) -> Option<Lens> {
        self.evaluations
            .iter()
            .find_map(|evaluated| evaluated.refraction.iter().find(|(of, _)| *of == eye).map(|(_, lens)| *lens))
    }

    /// Whether colour vision was found lost: then the table of markers does
    /// not apply, and the student is asked.
    #[must_use]
    pub fn colour_loss(&self) -> bool {
        self.evaluations.iter().any(|evaluated| evaluated.colour_loss)
    }

    /// The contrast of the writing of a task for this student, by the readings on
    /// its screen or by the table of markers, where that applies.
    #[must_use]
    pub fn contrast_of(&self, what: &NewTask, table: &MarkerTable) -> Option<Weber> {
        self.contrast_written(what, what.marker, table)
    }

    /// The same for the task written with this marker.
    ///
    /// What a screen leaves is measured with black and white, which look so to
    /// every eye; a slide where nobody said otherwise is taken as black and white.
    #[must_use]
    pub fn contrast_written(&self, what: &NewTask, marker: Option<Marker>, table: &MarkerTable) -> Option<Weber> {
        let by_table = marker.filter(|_| !self.colour_loss()).map(|marker| table.contrast(marker.into()));
        let Some(screen) = &what.screen else { return by_table };
        let slide = if is_black_and_white(marker) { FULL } else { by_table? };
        screen.readings().left_of(slide).ok()
    }

    fn viewer(&self, used: &Used) -> Viewer {
        Viewer { acuity: used.acuity, sensitivity: self.contrast().map(|(sensitivity, _)| sensitivity) }
    }

    /// Is the task readable for its goal with this acuity?
    ///
    /// # Errors
    /// Why there is no figure.
    pub fn judge(
        &self,
        task: &VisualTask,
        seat: Option<&task::Seat>,
        used: &Used,
        goals: &Goals,
        table: &MarkerTable,
    ) -> Result<Answer, NoFigure> {
        let demand = demand_of(task, seat)?;
        let target = self.contrast_of(&task.what, table);
        judge_on_board(demand, target, self.viewer(used), goals.needed(task.what.goal.into()))
            .map_err(|_| NoFigure::Beyond)
    }

    /// The seat-and-print line of a room, for the smallest writing measured on
    /// its board; without a device and with each one at hand.
    ///
    /// # Errors
    /// Why there is none.
    pub fn seat_line(
        &self,
        seat: &task::Seat,
        tasks: &[VisualTask],
        goals: &Goals,
        table: &MarkerTable,
    ) -> Result<RoomLine, NoFigure> {
        let writings: Vec<BoardWriting> = tasks
            .iter()
            .filter(|task| task.what.seat == Some(seat.id) && task.what.own_distance.is_none())
            .filter(|task| task.what.measured && on_the_board(task))
            .filter_map(|task| {
                Some(BoardWriting {
                    x_height: task.what.x_height.as_ref()?.value.in_metres(),
                    goal: task.what.goal.into(),
                    contrast: self.contrast_of(&task.what, table),
                })
            })
            .collect();
        let writing = smallest(&writings, goals).ok_or(NoFigure::NoWriting)?;
        let used = self.unaided(Track::Distance)?;
        let question = Question { writing, seat: place(seat), viewer: self.viewer(&used), device: None };
        let beyond = |_: OutOfRange| NoFigure::Beyond;
        let line = seat_and_print(&question, goals).map_err(beyond)?;
        let mut with = Vec::new();
        for (index, device) in self.devices.iter().enumerate() {
            if device.track != Track::Distance {
                continue;
            }
            let Ok(through) = self.through(device) else { continue };
            let device = ThroughDevice { acuity: through.acuity, nearest_focus: device.spec.near_focus };
            let question = Question { device: Some(device), ..question };
            with.push((index, through, seat_and_print(&question, goals).map_err(beyond)?));
        }
        Ok(RoomLine { writing, used, line, with })
    }
}

/// The contrast of black writing on a white slide.
pub const FULL: Weber = Weber::literal(1.0);

/// Whether a slide with this writing has the contrast that readings of a white and
/// a black slide tell of; nothing said, it is taken so.
#[must_use]
pub const fn is_black_and_white(marker: Option<Marker>) -> bool {
    matches!(marker, None | Some(Marker::BlackOnWhite | Marker::WhiteOnDark))
}

/// What a telescope shows at this distance; none for any other device.
#[must_use]
pub fn through_telescope(spec: &DeviceSpec, distance: Metres) -> Option<Through> {
    if !spec.kind.is_telescope() {
        return None;
    }
    Some(Through {
        field_width: spec.true_field.and_then(|field| telescope::field_width(field, distance).ok()),
        exit_pupil: spec
            .objective
            .zip(spec.power)
            .and_then(|(objective, power)| telescope::exit_pupil(objective, power).ok()),
        too_near: spec.near_focus.map(|nearest| nearest > distance),
    })
}
