//! Every seat judged, by a second way: the letter at the far edge of the board
//! as four points in space, its height and width as angles between two looks.

use farpoint::care::device::DeviceSpec;
use farpoint::care::evaluation::{Correction, Gaze};
use farpoint::care::ids::{AccountId, SeatId, VisualTaskId};
use farpoint::care::journey::fact::Source;
use farpoint::care::options::WhyNot;
use farpoint::care::room::plan::{NoPlan, Plan, Question, Reach, Through, of};
use farpoint::care::room::{Layout, Missing};
use farpoint::care::sight::{AtHand, AtHandAs, Bearing, Evaluated, InClass, NoFigure, Sight, SightRow};
use farpoint::care::task::{Aside, Display, Goal, Marker, NewSeat, NewTask, Seat, TargetClass, TaskCode, VisualTask};
use farpoint::care::track::{DeviceKind, Eye, Track};
use farpoint::care::typed::Typed;
use farpoint::vision::acuity::{LogMar, Measured};
use farpoint::vision::contrast::marker::MarkerTable;
use farpoint::vision::readable::{Answer, Goals};
use farpoint::vision::room::Place;
use farpoint::vision::units::{Magnification, Metres, Millimetres};

fn metres(value: f64) -> Typed<Metres> {
    Typed::new(format!("{value} m"), Metres::new(value).expect("a length of the test"))
}

/// A room, a task written on its board, and a student.
#[derive(Clone)]
struct Room {
    task: VisualTask,
    seat: Seat,
    sight: Sight,
    goals: Goals,
    table: MarkerTable,
}

/// Five rows of three before a board 1 m wide: 1.2 m from it, 2 m behind each
/// other and 1 m apart; the usual seat in row 2 on the right.
fn room(logmar: f64, height_mm: f64) -> Room {
    let seat = SeatId::of(uuid::Uuid::nil());
    let by = AccountId::of(uuid::Uuid::nil());
    let row = SightRow {
        eye: Eye::Both,
        worn: Correction::HabitualGlasses,
        distance: Some(Metres::literal(3.0)),
        distance_typed: "3 m".to_owned(),
        as_recorded: format!("{logmar} logMAR"),
        measured: Some(Measured::new(LogMar::new(logmar).expect("on a chart")).expect("on a chart")),
        device: None,
    };
    Room {
        task: VisualTask {
            id: VisualTaskId::of(uuid::Uuid::nil()),
            what: NewTask {
                code: TaskCode::BoardWords,
                name: "Board".to_owned(),
                place: String::new(),
                seat: Some(seat),
                track: Track::Distance,
                goal: Goal::Phrase,
                own_distance: None,
                x_height: Some(Typed::new("as measured", Millimetres::new(height_mm).expect("a height"))),
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
            seat_distance: Some(metres(3.2)),
            created_by: by,
            retired: false,
            version: 1,
        },
        seat: Seat {
            id: seat,
            what: NewSeat {
                room: "Room 4".to_owned(),
                distance: metres(3.2),
                aside: Some((metres(1.0), Aside::Right)),
                board_width: Some(metres(1.0)),
                illuminance: None,
                light: None,
                glare: Vec::new(),
                layout: Layout {
                    rows: Some(5),
                    row_seats: Some(3),
                    first_row: Some(metres(1.2)),
                    row_gap: Some(metres(2.0)),
                    seat_gap: Some(metres(1.0)),
                    board_aside: None,
                    usual: Some(Place { row: 2, seat: 3 }),
                    window: None,
                },
                note: String::new(),
                confirmed: String::new(),
                measured_on: None,
            },
            created_by: by,
            retired: false,
            version: 1,
        },
        sight: Sight {
            evaluations: vec![Evaluated {
                source: Source::Signed,
                on: jiff::civil::date(2026, 9, 1),
                rows: vec![row.clone(), SightRow { eye: Eye::Right, ..row }],
                better_eye: None,
                contrast: None,
                colour_loss: false,
                pupil: None,
                refraction: Vec::new(),
                lighting: None,
                bearing: Bearing::default(),
            }],
            in_class: InClass::Wears,
            ..Sight::unknown()
        },
        goals: Goals::default(),
        table: MarkerTable::default(),
    }
}

fn telescope(power: f64, near_focus: f64) -> AtHand {
    let spec = DeviceSpec {
        power: Some(Magnification::new(power).expect("a power of the test")),
        near_focus: Some(Metres::new(near_focus).expect("a distance of the test")),
        eye: Some(Eye::Right),
        ..DeviceSpec::of(DeviceKind::HandheldMonocular)
    };
    AtHand { spec, track: Track::Distance, source: AtHandAs::Loan }
}

impl Room {
    fn plan(&self, device: Option<&AtHand>) -> Result<Plan, NoPlan> {
        of(&Question {
            task: &self.task,
            room: Some(&self.seat),
            sight: &self.sight,
            device,
            goals: &self.goals,
            table: &self.table,
        })
    }
}

fn drawn(room: &Room, device: Option<&AtHand>) -> Plan {
    room.plan(device).unwrap_or_else(|why| panic!("{why:?}"))
}

/// The reach of each seat, a letter each, a row a word.
fn letters(plan: &Plan) -> String {
    let rows: Vec<String> = (1..=plan.grid.rows)
        .map(|row| {
            let of_row = plan.seats.iter().filter(|seat| seat.place.row == row);
            of_row
                .map(|seat| match seat.reach() {
                    Reach::Alone => 'a',
                    Reach::WithDevice => 'd',
                    Reach::Not => '-',
                })
                .collect()
        })
        .collect();
    rows.join(" ")
}

type Point = [f64; 3];

fn look(from: Point, to: Point) -> Point {
    [to[0] - from[0], to[1] - from[1], to[2] - from[2]]
}

fn angle(one: Point, other: Point) -> f64 {
    let dot = |a: Point, b: Point| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    (dot(one, other) / (dot(one, one).sqrt() * dot(other, other).sqrt())).clamp(-1.0, 1.0).acos()
}

/// The smaller of height and width of a square letter at the edge of the board
/// that is farther from this eye, in minutes of arc.
fn smaller_angle(right: f64, back: f64, letter: f64, board: f64) -> f64 {
    let eye = [right, 0.0, back];
    let edge = if right > 0.0 { -board / 2.0 } else { board / 2.0 };
    let at = |along: f64, up: f64| look(eye, [edge + along, up, 0.0]);
    let half = letter / 2.0;
    let tall = angle(at(0.0, half), at(0.0, -half));
    let wide = angle(at(half, 0.0), at(-half, 0.0));
    tall.min(wide).to_degrees() * 60.0
}

#[test]
fn a_room_counted_by_hand_has_all_three_shapes() {
    // 10^1.0792 is 12 minutes, a letter of it 60 minutes; a phrase needs twice that.
    // Straight before a board 1 m wide, from 1.2 m: 122 minutes at its edge, and
    // 56 one seat to the side. With six times the power 20 minutes do: 44 in row 2
    // on the side, 23 in row 4, but 18 in row 5. In row 1 a telescope is too near.
    let room = room(12_f64.log10(), 50.0);
    let plan = drawn(&room, Some(&telescope(6.0, 0.25)));
    assert_eq!(letters(&plan), "-a- ddd ddd ddd ---");
    assert_eq!([Reach::Alone, Reach::WithDevice, Reach::Not].map(|reach| plan.count(reach)), [1, 9, 5]);
    assert_eq!(letters(&drawn(&room, None)), "-a- --- --- --- ---");
    let usual = plan.usual().expect("it is placed");
    assert_eq!(usual.place, Place { row: 2, seat: 3 });
    let Some(Through::Judged(Answer::Judged(judged))) = usual.through else { panic!("it is judged") };
    assert!((judged.acuity_reserve.get() - 4.40).abs() < 0.01, "{judged:?}");
    let best: Vec<(u32, u32)> = plan.best().iter().map(|seat| (seat.place.row, seat.place.seat)).collect();
    assert_eq!(best[..4], [(1, 2), (2, 2), (3, 2), (4, 2)], "alone first, then least from the side, then nearest");
    assert_eq!(best.len(), 10);
}

#[test]
fn every_seat_is_judged_as_letters_in_space_are_seen() {
    // A small generator of its own, so that every run sees the same rooms.
    let mut seed = 20_261_126_u64;
    let mut between = |low: f64, high: f64| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((seed >> 11) as f64 / (1_u64 << 53) as f64)
    };
    let (mut counted, mut moved) = ([0_usize; 3], 0);
    for _ in 0..300 {
        let (logmar, height, board) = (between(0.3, 1.2), between(15.0, 120.0), between(0.8, 4.0));
        let mut room = room(logmar, height);
        let layout = &mut room.seat.what.layout;
        layout.rows = Some(1 + between(0.0, 6.0) as u32);
        layout.row_seats = Some(1 + between(0.0, 9.0) as u32);
        layout.first_row = Some(metres(between(0.6, 4.0)));
        layout.row_gap = Some(metres(between(0.6, 2.0)));
        layout.seat_gap = Some(metres(between(0.5, 1.5)));
        layout.board_aside = Some((metres(between(0.01, 2.0)), Aside::Left));
        layout.usual = None;
        room.seat.what.board_width = Some(metres(board));
        let (power, focus) = (between(2.0, 8.0), between(0.2, 6.0));
        let plan = drawn(&room, Some(&telescope(power, focus)));
        for seat in &plan.seats {
            let (right, back) = (seat.from.aside.get(), seat.from.to_the_board.get());
            let straight = angle(look([right, 0.0, back], [0.0; 3]), [0.0, 0.0, -1.0]).to_degrees();
            assert!((seat.seen.middle.get() - straight).abs() < 1e-6);
            let threshold = 5.0 * 10_f64.powf(logmar);
            let seen = smaller_angle(right, back, height / 1_000.0, board);
            let far = right.hypot(back);
            let expected = if straight > 60.0 {
                moved += 1;
                assert!(matches!(seat.alone, Ok(Answer::MoveTheSeat { .. })));
                Reach::Not
            } else if seen >= 2.0 * threshold {
                Reach::Alone
            } else if far >= focus && far >= 2.0 && seen >= 2.0 * threshold / power {
                Reach::WithDevice
            } else {
                Reach::Not
            };
            assert_eq!(seat.reach(), expected, "{right} {back}: {seen} of {threshold}, {power} {focus}");
            counted[expected as usize] += 1;
        }
    }
    assert!(counted.iter().all(|count| *count > 300) && moved > 100, "{counted:?}, {moved} moved: a thin test");
}

#[test]
fn the_usual_seat_says_what_the_task_itself_says() {
    let mut room = room(12_f64.log10(), 50.0);
    // A little beside its place in the rows, where it was measured.
    room.seat.what.distance = metres(3.4);
    room.seat.what.aside = Some((metres(0.85), Aside::Right));
    let device = telescope(6.0, 0.25);
    let plan = drawn(&room, Some(&device));
    let usual = plan.usual().expect("it is placed");
    assert_eq!((usual.from.to_the_board.get(), usual.from.aside.get()), (3.4, 0.85));
    let used = room.sight.unaided(Track::Distance).expect("an acuity");
    let own = room.sight.judge(&room.task, Some(&room.seat), &used, &room.goals, &room.table);
    assert_eq!(usual.alone, own);
    let used = room.sight.through(&device).expect("an acuity");
    let own = room.sight.judge(&room.task, Some(&room.seat), &used, &room.goals, &room.table);
    assert_eq!(usual.through, own.ok().map(Through::Judged));
}

#[test]
fn a_mirrored_room_is_read_from_the_mirrored_seats() {
    let mut room = room(0.9, 45.0);
    room.seat.what.layout.board_aside = Some((metres(0.7), Aside::Right));
    room.seat.what.layout.usual = None;
    let mut mirror = room.clone();
    mirror.seat.what.layout.board_aside = Some((metres(0.7), Aside::Left));
    let device = telescope(4.0, 0.25);
    let (one, other) = (letters(&drawn(&room, Some(&device))), letters(&drawn(&mirror, Some(&device))));
    let turned: Vec<String> = other.split(' ').map(|row| row.chars().rev().collect()).collect();
    assert_eq!(one, turned.join(" "));
    assert_ne!(one, other, "a board in the middle would show nothing");
}

#[test]
fn a_seat_nearer_than_the_nearest_focus_is_not_read_with_the_device() {
    let room = room(12_f64.log10(), 50.0);
    let plan = drawn(&room, Some(&telescope(6.0, 4.0)));
    // Row 2 is 3.2 m from the board, 3.35 m from its sides; row 3 is 5.2 m.
    assert_eq!(letters(&plan), "-a- --- ddd ddd ---");
    let why = |place: Place| plan.seats.iter().find(|seat| seat.place == place).and_then(|seat| seat.through);
    assert_eq!(why(Place { row: 2, seat: 1 }), Some(Through::NotFromHere(WhyNot::FocusTooFar)));
    let near = drawn(&room, Some(&telescope(6.0, 0.25)));
    assert_eq!(near.seats[0].through, Some(Through::NotFromHere(WhyNot::NotThisNear)));
}

#[test]
fn the_quiet_side_comes_before_straighter_seats_and_after_doing_without_a_device() {
    let mut room = room(12_f64.log10(), 50.0);
    room.sight.evaluations[0].bearing.gaze = Some(Gaze::Left);
    room.seat.what.layout.row_seats = Some(4);
    room.seat.what.layout.usual = None;
    let plan = drawn(&room, Some(&telescope(6.0, 0.25)));
    assert_eq!(plan.quiet.side(), Some(Aside::Right));
    let best: Vec<(u32, u32)> = plan.best().iter().map(|seat| (seat.place.row, seat.place.seat)).collect();
    // Half a metre to the side: 9° in row 2, 5° in row 3, 4° in row 4: near the middle,
    // the right one of each pair first; then 1.5 m to the right: 12° in row 4, 16° and 25°.
    assert_eq!(best, [(4, 3), (4, 2), (3, 3), (3, 2), (2, 3), (2, 2), (4, 4), (3, 4), (2, 4), (4, 1), (3, 1), (2, 1)]);
}

#[test]
fn nothing_is_drawn_from_guesses() {
    let mut without = room(1.0, 50.0);
    without.seat.what.layout.first_row = None;
    without.seat.what.board_width = None;
    let why = |room: &Room| room.plan(None).err().expect("no plan");
    assert_eq!(why(&without), NoPlan::Rows(vec![Missing::FirstRow, Missing::BoardWidth]));
    let mut unsized_ = room(1.0, 50.0);
    unsized_.task.what.x_height = None;
    assert_eq!(why(&unsized_), NoPlan::Figure(NoFigure::NoSize));
    let mut unseen = room(1.0, 50.0);
    unseen.sight = Sight::unknown();
    assert_eq!(why(&unseen), NoPlan::Figure(NoFigure::NoEvaluation));
    let mut fingers = room(1.0, 50.0);
    for row in &mut fingers.sight.evaluations[0].rows {
        row.measured = None;
    }
    assert_eq!(why(&fingers), NoPlan::Figure(NoFigure::OnlyCategory));
    let mut far = room(1.0, 50.0);
    far.task.what.own_distance = Some(metres(20.0));
    assert_eq!(why(&far), NoPlan::NotFromASeat);
    let mut near = room(1.0, 50.0);
    near.task.what.track = Track::Near;
    assert_eq!(why(&near), NoPlan::AtTheDesk);
}

#[test]
fn a_device_without_an_acuity_says_so_and_the_rest_is_drawn() {
    let mut room = room(12_f64.log10(), 50.0);
    room.sight.evaluations[0].rows.truncate(1);
    let plan = drawn(&room, Some(&telescope(6.0, 0.25)));
    assert_eq!(letters(&plan), "-a- --- --- --- ---");
    assert!(plan.seats.iter().all(|seat| seat.through == Some(Through::No(NoFigure::NoAcuity))));
}
