//! Options for a task: every way that is listed is put to the question of
//! whether the task can be read, by the same functions as everywhere else; and
//! the page shows each reader what that reader may know.

mod complete;
mod costs;
mod light;
mod limits;
mod pages;
mod projector;
mod search;
mod worked;

use farpoint::care::device::DeviceSpec;
use farpoint::care::evaluation::Correction;
use farpoint::care::ids::{AccountId, SeatId, VisualTaskId};
use farpoint::care::journey::fact::Source;
use farpoint::care::options::{Options, Prescriber, Question};
use farpoint::care::room::Layout;
use farpoint::care::sight::{AtHand, AtHandAs, Bearing, Evaluated, InClass, NoFigure, Sight, SightRow};
use farpoint::care::task::{Aside, Display, Goal, Marker, NewSeat, NewTask, Seat, TargetClass, TaskCode, VisualTask};
use farpoint::care::track::{DeviceKind, Eye, Track};
use farpoint::care::typed::Typed;
use farpoint::vision::acuity::{LogMar, Measured};
use farpoint::vision::contrast::LogContrastSensitivity;
use farpoint::vision::contrast::marker::MarkerTable;
use farpoint::vision::length::shown::Units;
use farpoint::vision::readable::Goals;
use farpoint::vision::units::{Degrees, Magnification, Metres, Millimetres, Seconds};

/// A classroom with one student and one thing to see.
#[derive(Clone)]
struct Room {
    task: VisualTask,
    seat: Option<Seat>,
    sight: Sight,
    devices: Vec<AtHand>,
    goals: Goals,
    table: MarkerTable,
    units: Units,
    look: Option<Seconds>,
    prescriber: Option<Prescriber>,
}

fn metres(value: f64) -> Typed<Metres> {
    Typed::new(format!("{value} m"), Metres::new(value).expect("a length of the test"))
}

fn centimetres(value: f64) -> Typed<Millimetres> {
    Typed::new(format!("{value} cm"), Millimetres::new(value * 10.0).expect("a height of the test"))
}

fn telescope(power: f64) -> AtHand {
    let spec = DeviceSpec {
        power: Some(Magnification::new(power).expect("a power of the test")),
        objective: Some(Millimetres::literal(16.0)),
        true_field: Some(Degrees::literal(9.0)),
        near_focus: Some(Metres::literal(0.25)),
        eye: Some(Eye::Right),
        ..DeviceSpec::of(DeviceKind::HandheldMonocular)
    };
    AtHand { spec, track: Track::Distance, source: AtHandAs::Loan }
}

fn row(eye: Eye, logmar: f64, distance: f64) -> SightRow {
    SightRow {
        eye,
        worn: Correction::HabitualGlasses,
        distance: Some(Metres::new(distance).expect("a test distance")),
        distance_typed: format!("{distance} m"),
        as_recorded: format!("{logmar} logMAR"),
        measured: Some(Measured::new(LogMar::new(logmar).expect("on a chart")).expect("on a chart")),
        device: None,
    }
}

impl Room {
    /// Small letters of 2.5 cm from 4 m, to be copied by a student who reads
    /// 1.0 logMAR far and near and sees a contrast of 6 %.
    fn of_the_reference() -> Self {
        let mut room = Self::with(1.0, 2.5, 4.0);
        room.sight.evaluations[0].contrast = Some(LogContrastSensitivity::literal(1.221_848_749_616_356_4));
        room
    }

    fn with(logmar: f64, height_cm: f64, distance_m: f64) -> Self {
        let seat = SeatId::of(uuid::Uuid::nil());
        Self {
            task: VisualTask {
                id: VisualTaskId::of(uuid::Uuid::nil()),
                what: NewTask {
                    code: TaskCode::BoardWords,
                    name: "Board".to_owned(),
                    place: String::new(),
                    seat: Some(seat),
                    track: Track::Distance,
                    goal: Goal::Copy,
                    own_distance: None,
                    x_height: Some(centimetres(height_cm)),
                    display: Some(Display::Whiteboard),
                    marker: Some(Marker::BlackOnWhite),
                    light: None,
                    screen: None,
                    target: TargetClass::Words,
                    choices: None,
                    measured: true,
                    wanted_by: String::new(),
                },
                room: Some("Room 4".to_owned()),
                seat_distance: Some(metres(distance_m)),
                created_by: AccountId::of(uuid::Uuid::nil()),
                retired: false,
                version: 1,
            },
            seat: Some(Seat {
                id: seat,
                what: NewSeat {
                    room: "Room 4".to_owned(),
                    distance: metres(distance_m),
                    aside: None,
                    board_width: None,
                    illuminance: None,
                    light: None,
                    glare: Vec::new(),
                    layout: Layout::default(),
                    note: String::new(),
                    confirmed: String::new(),
                    measured_on: None,
                },
                created_by: AccountId::of(uuid::Uuid::nil()),
                retired: false,
                version: 1,
            }),
            sight: Sight {
                evaluations: vec![Evaluated {
                    source: Source::Signed,
                    on: jiff::civil::date(2026, 9, 1),
                    rows: vec![row(Eye::Both, logmar, 3.0), row(Eye::Right, logmar, 3.0), row(Eye::Both, logmar, 0.4)],
                    better_eye: None,
                    contrast: None,
                    colour_loss: false,
                    pupil: None,
                    refraction: Vec::new(),
                    lighting: None,
                    bearing: Bearing::default(),
                }],
                in_class: InClass::Wears,
                devices: Vec::new(),
                head_turn: None,
            },
            devices: Vec::new(),
            goals: Goals::default(),
            table: MarkerTable::default(),
            units: Units::Metric,
            look: None,
            prescriber: None,
        }
    }

    fn board(mut self, width: Option<f64>, aside: f64) -> Self {
        let seat = self.seat.as_mut().expect("a seat");
        seat.what.board_width = width.map(metres);
        seat.what.aside = (aside > 0.0).then(|| (metres(aside), Aside::Left));
        self
    }

    fn having(mut self, devices: impl IntoIterator<Item = AtHand>) -> Self {
        self.devices.extend(devices);
        self
    }

    /// A page of small print that is held in the hand.
    fn at_near(mut self, height_cm: f64, distance_m: f64) -> Self {
        self.seat = None;
        let what = &mut self.task.what;
        what.code = TaskCode::Textbook;
        what.track = Track::Near;
        what.goal = Goal::Phrase;
        what.seat = None;
        what.own_distance = Some(metres(distance_m));
        what.x_height = Some(centimetres(height_cm));
        what.display = Some(Display::Page);
        self.task.seat_distance = None;
        self
    }

    fn question(&self) -> Question<'_> {
        Question {
            task: &self.task,
            seat: self.seat.as_ref(),
            sight: &self.sight,
            devices: &self.devices,
            goals: &self.goals,
            table: &self.table,
            units: self.units,
            look: self.look,
            prescriber: self.prescriber,
        }
    }

    fn options(&self) -> Options {
        farpoint::care::options::of(&self.question()).unwrap_or_else(|why| panic!("{why}"))
    }

    fn refused(&self) -> NoFigure {
        farpoint::care::options::of(&self.question()).err().expect("no figure")
    }
}
