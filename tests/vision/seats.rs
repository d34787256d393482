//! Readability, and the line for the classroom.

use farpoint::vision::acuity::{LogMar, Measured};
use farpoint::vision::contrast::marker::{Marker, MarkerTable};
use farpoint::vision::contrast::{LogContrastSensitivity, Polarity, Weber, for_reserve};
use farpoint::vision::demand::{BoardDemand, Seat, on_board, straight_on};
use farpoint::vision::length::shown::Units;
use farpoint::vision::readable::{
    AcuityUsed, Answer, Basis, ContrastStanding, Goal, Goals, Unaided, Verdict, Viewer, judge, judge_on_board,
};
use farpoint::vision::reserve::{Standing, acuity_reserve, standing};
use farpoint::vision::seat_print::{
    BoardWriting, Question, SeatAndPrint, SeatTold, ThroughDevice, seat_and_print, smallest,
};
use farpoint::vision::units::{Magnification, Metres, Ratio};

fn metres(value: f64) -> Metres {
    Metres::new(value).expect("a length of the test")
}

fn logmar(value: f64) -> LogMar {
    LogMar::new(value).expect("a logMAR of the test")
}

fn weber(value: f64) -> Weber {
    Weber::new(value).expect("a contrast of the test")
}

fn viewer(acuity: f64, sensitivity: Option<f64>) -> Viewer {
    Viewer {
        acuity: AcuityUsed { acuity: logmar(acuity), basis: Basis::BothEyesAsWorn },
        sensitivity: sensitivity.map(|log| LogContrastSensitivity::new(log).expect("a sensitivity of the test")),
    }
}

fn question(acuity: f64) -> Question {
    Question {
        writing: BoardWriting { x_height: metres(0.035), goal: Goal::Copy, contrast: Some(weber(0.9)) },
        seat: Seat::in_front(metres(5.2)),
        viewer: viewer(acuity, Some(1.5)),
        device: None,
    }
}

#[test]
fn both_reserves_must_hold() {
    let needed = Goals::default().needed(Goal::Copy);
    let demand = logmar(0.9);
    // Reserve 2.51 at 0.5 and 1.58 at 0.7; contrast 28 with 1.5 and 7 with 0.9.
    let judged =
        |acuity, sensitivity, target| judge(demand, target, viewer(acuity, sensitivity), needed).expect("in range");
    let dark = Some(weber(0.9));
    assert_eq!(judged(0.5, Some(1.5), dark).verdict, Verdict::Readable);
    assert_eq!(judged(0.7, Some(1.5), dark).verdict, Verdict::TooSmall);
    assert_eq!(judged(0.5, Some(0.9), dark).verdict, Verdict::TooFaint);
    assert_eq!(judged(0.7, Some(0.9), dark).verdict, Verdict::TooSmallAndTooFaint);
    let unknown = judged(0.5, None, dark);
    assert_eq!(unknown.verdict, Verdict::LargeEnoughContrastUnknown);
    assert_eq!(unknown.contrast, ContrastStanding::SensitivityUnknown);
    assert_eq!(judged(0.5, Some(1.5), None).contrast, ContrastStanding::TargetUnknown);
    assert_eq!(judged(0.7, None, dark).verdict, Verdict::TooSmall);
}

#[test]
fn a_reserve_reached_exactly_is_reached() {
    let goals = Goals::default();
    for goal in [Goal::NameIt, Goal::Phrase, Goal::Copy] {
        let needed = goals.needed(goal);
        let exactly = logmar(0.5 + needed.acuity.get().log10());
        let verdict = judge(exactly, None, viewer(0.5, None), needed).expect("in range").verdict;
        assert_eq!(verdict, Verdict::LargeEnoughContrastUnknown, "{goal}");
    }
}

#[test]
fn the_starting_goals_are_the_contracts() {
    let goals = Goals::default();
    let figures = [Goal::NameIt, Goal::Phrase, Goal::Copy]
        .map(|goal| goals.needed(goal))
        .map(|needed| [needed.acuity.get(), needed.contrast.get()]);
    assert_eq!(format!("{figures:?}"), "[[1.3, 4.0], [2.0, 10.0], [2.5, 10.0]]");
}

#[test]
fn the_acuity_as_worn_comes_before_the_best_correction() {
    let measured = |value| Some(Measured::new(logmar(value)).expect("measured"));
    let mut known = Unaided { both_as_worn: measured(0.8), best_correction: measured(0.7), better_eye: measured(0.9) };
    let basis = |known| AcuityUsed::without_device(known).map(|used| used.basis);
    assert_eq!(basis(known), Some(Basis::BothEyesAsWorn));
    known.both_as_worn = None;
    assert_eq!(basis(known), Some(Basis::BestCorrection));
    known.best_correction = None;
    assert_eq!(basis(known), Some(Basis::BetterEye));
    assert_eq!(basis(Unaided::default()), None);
}

#[test]
fn a_promise_is_marked_at_best() {
    let eye = Measured::new(logmar(0.9)).expect("measured");
    let six = Magnification::new(6.0).expect("a power");
    let promised = AcuityUsed::at_best(eye, six).expect("in range");
    assert_eq!(promised.basis.to_string(), "at best");
    assert!((promised.acuity.get() - 0.121_85).abs() < 1e-5);
    let near = AcuityUsed::through_device(eye, metres(1.9));
    assert_eq!(near, None, "a device measured nearer than 2 m says nothing about a board");
}

#[test]
fn the_far_edge_of_the_board_decides() {
    let seat = Seat { to_the_board: metres(3.0), aside: metres(1.0) };
    let centre = on_board(metres(0.03), seat, None).expect("in range");
    let edge = on_board(metres(0.03), seat, Some(metres(2.4))).expect("in range");
    let (BoardDemand::Seen(centre), BoardDemand::Seen(edge)) = (centre, edge) else {
        panic!("both are seen");
    };
    assert!(edge.working_demand() < centre.working_demand());
    assert_eq!(edge.working_demand(), edge.width_demand, "from the side the width is smaller");
    let mirrored = Seat { aside: metres(-1.0), ..seat };
    let mirrored = on_board(metres(0.03), mirrored, Some(metres(2.4))).expect("in range");
    assert_eq!(mirrored, BoardDemand::Seen(edge));
}

#[test]
fn beyond_sixty_degrees_the_seat_moves() {
    let seat = |aside| Seat { to_the_board: metres(1.0), aside: metres(aside) };
    let answer = |aside| {
        let demand = on_board(metres(0.03), seat(aside), None).expect("in range");
        let needed = Goals::default().needed(Goal::NameIt);
        judge_on_board(demand, None, viewer(0.3, None), needed).expect("in range")
    };
    assert!(matches!(answer(1.7), Answer::Judged(_)));
    let Answer::MoveTheSeat { obliquity } = answer(1.8) else {
        panic!("61 degrees aside");
    };
    assert!(obliquity.get() > 60.0);
}

#[test]
fn the_smallest_writing_decides_the_line() {
    let writing = |height, goal| BoardWriting { x_height: metres(height), goal, contrast: None };
    let all = [
        writing(0.05, Goal::Copy),
        writing(0.03, Goal::NameIt),
        writing(0.03, Goal::Copy),
        writing(0.04, Goal::Phrase),
    ];
    assert_eq!(smallest(&all, &Goals::default()), Some(writing(0.03, Goal::Copy)));
    assert_eq!(smallest(&[], &Goals::default()), None);
}

#[test]
fn the_line_says_seat_and_letters() {
    let asked = question(0.8);
    let found = seat_and_print(&asked, &Goals::default()).expect("in range");
    let SeatAndPrint::Advice(advice) = found else { panic!("{found:?}") };
    assert_eq!(advice.unaided.words(Units::Metric).expect("words"), "within 1.5 m, or small letters 12 cm tall");
    assert_eq!(advice.unaided.words(Units::Imperial).expect("words"), "within 5 ft, or small letters 4 3/4 in tall");
    assert_eq!((advice.with_device, advice.seen_from_the_side), (None, None));
}

#[test]
fn the_advised_seat_and_letter_do_hold_their_reserve() {
    let needed = Goals::default().needed(Goal::Copy);
    for acuity in [0.1, 0.4, 0.7, 1.0] {
        let asked = question(acuity);
        let found = seat_and_print(&asked, &Goals::default()).expect("in range");
        let SeatAndPrint::Advice(advice) = found else { panic!("{found:?}") };
        for units in [Units::Metric, Units::Imperial] {
            let SeatTold::Within(seat) = advice.unaided.seat(units) else { panic!("a seat") };
            let letter = advice.unaided.letter(units).expect("a letter");
            for (height, from) in [(asked.writing.x_height, seat), (letter, metres(5.2))] {
                let demand = straight_on(height, from).expect("in range");
                let reserve = acuity_reserve(demand, logmar(acuity)).expect("in range");
                assert!(reserve.get() > needed.acuity.get() - 1e-6, "{height} from {from}");
            }
        }
    }
}

#[test]
fn failing_contrast_is_mended_first() {
    let mut asked = question(0.3);
    asked.viewer = viewer(0.3, Some(0.6));
    let found = seat_and_print(&asked, &Goals::default()).expect("in range");
    let SeatAndPrint::MendContrastFirst { reserve, needed } = found else { panic!("{found:?}") };
    assert!(reserve < needed);
    asked.viewer = viewer(0.3, None);
    let found = seat_and_print(&asked, &Goals::default()).expect("in range");
    let SeatAndPrint::Advice(advice) = found else { panic!("{found:?}") };
    assert_eq!(advice.contrast, ContrastStanding::SensitivityUnknown);
}

#[test]
fn a_seat_to_the_side_is_said() {
    let mut asked = question(0.5);
    asked.seat = Seat { to_the_board: metres(3.0), aside: metres(2.0) };
    let found = seat_and_print(&asked, &Goals::default()).expect("in range");
    let SeatAndPrint::Advice(advice) = found else { panic!("{found:?}") };
    assert!(advice.seen_from_the_side.is_some_and(|angle| angle.get() > 30.0));
    asked.seat = Seat { to_the_board: metres(1.0), aside: metres(2.0) };
    let found = seat_and_print(&asked, &Goals::default()).expect("in range");
    assert!(matches!(found, SeatAndPrint::MoveTheSeat { .. }));
}

#[test]
fn the_device_line_knows_how_near_the_device_focuses() {
    let mut asked = question(1.0);
    let aided = AcuityUsed { acuity: logmar(0.3), basis: Basis::AtBest };
    asked.device = Some(ThroughDevice { acuity: aided, nearest_focus: Some(metres(1.0)) });
    let found = seat_and_print(&asked, &Goals::default()).expect("in range");
    let SeatAndPrint::Advice(advice) = found else { panic!("{found:?}") };
    let line = advice.with_device.expect("a device");
    assert_eq!(line.basis, Basis::AtBest);
    assert!(line.farthest_seat > advice.unaided.farthest_seat);
    assert!(line.letter < advice.unaided.letter);
    asked.device = Some(ThroughDevice { acuity: aided, nearest_focus: Some(metres(20.0)) });
    let found = seat_and_print(&asked, &Goals::default()).expect("in range");
    let SeatAndPrint::Advice(advice) = found else { panic!("{found:?}") };
    let line = advice.with_device.expect("a device");
    assert_eq!(line.seat(Units::Metric), SeatTold::NearerThanFocus(metres(20.0)));
    assert!(line.words(Units::Metric).expect("words").contains("focuses from 20 m"));
}

#[test]
fn reserves_have_words() {
    let of = |value| standing(Ratio::new(value).expect("a ratio"));
    assert_eq!(of(0.99), Standing::NotResolved);
    assert_eq!(of(1.0), Standing::Marginal);
    assert_eq!(of(1.3), Standing::Enough);
    assert_eq!(of(8.1), Standing::MoreThanNeeded);
}

#[test]
fn the_marker_table_can_be_changed_figure_by_figure() {
    let table = MarkerTable::default();
    let mended = table.with(Marker::Faint, weber(0.5));
    for marker in Marker::ALL {
        let changed = mended.contrast(marker) != table.contrast(marker);
        assert_eq!(changed, marker == Marker::Faint, "{marker}");
        assert!(table.contrast(marker) > weber(0.0) && table.contrast(marker) < weber(1.0));
    }
}

#[test]
fn light_on_dark_is_brought_to_dark_on_light() {
    let chalk = for_reserve(weber(5.0), Polarity::LightOnDark).expect("in range");
    assert!((chalk.get() - 5.0 / 6.0).abs() < 1e-12);
    assert!(for_reserve(weber(1.2), Polarity::DarkOnLight).is_err(), "the polarity is wrong");
}
