//! Devices and lenses beyond the reference cases: refusals and second calculations.

use farpoint::vision::magnifier::{StandError, stand, with_add};
use farpoint::vision::refraction::check::{self, Check, RefractionError, sphere_typed};
use farpoint::vision::refraction::{Axis, Lens};
use farpoint::vision::skill::{Level, median_time, success_rate};
use farpoint::vision::telescope::coverage::{Board, INSCRIBED_SQUARE, board_coverage};
use farpoint::vision::telescope::optics::{Afocal, OpticsError};
use farpoint::vision::telescope::{Label, LabelError, Steadiness, Unusual, exit_pupil, steadiness};
use farpoint::vision::units::{Degrees, Dioptres, Fraction, Magnification, Metres, Millimetres, Seconds};

fn metres(value: f64) -> Metres {
    Metres::new(value).expect("a length of the test")
}

fn dioptres(value: f64) -> Dioptres {
    Dioptres::new(value).expect("a power of the test")
}

fn degrees(value: f64) -> Degrees {
    Degrees::new(value).expect("an angle of the test")
}

fn fraction(value: f64) -> Fraction {
    Fraction::new(value).expect("a fraction of the test")
}

fn label(power: f64, objective: f64, field: f64) -> Label {
    Label {
        power: Magnification::new(power).expect("a power of the test"),
        objective: Millimetres::new(objective).expect("an objective of the test"),
        field: degrees(field),
    }
}

#[test]
fn lenses_that_form_no_telescope_are_refused() {
    let made = |objective, ocular| Afocal::new(dioptres(objective), dioptres(ocular)).err();
    assert_eq!(made(-8.0, 64.0), Some(OpticsError::ObjectiveNotPlus));
    assert_eq!(made(0.0, 64.0), Some(OpticsError::ObjectiveNotPlus));
    assert_eq!(made(8.0, 8.0), Some(OpticsError::OcularTooWeak));
    assert_eq!(made(10.0, -6.0), Some(OpticsError::OcularTooWeak));
    assert_eq!(made(8.0, 64.0), None);
}

#[test]
fn uses_without_a_picture_are_refused() {
    let keplerian = Afocal::new(dioptres(8.0), dioptres(64.0)).expect("a telescope");
    for inside in [0.12, 0.125] {
        assert!(matches!(keplerian.focused_for(metres(inside)), Err(OpticsError::InsideFocalLength { .. })));
    }
    // 1 - M L U reaches zero at u = |M| L = 1.125 m.
    assert_eq!(keplerian.exit_vergence(metres(1.1)), Err(OpticsError::NoPicture));
    assert!(keplerian.exit_vergence(metres(1.2)).is_ok());
    let galilean = Afocal::new(dioptres(10.0), dioptres(-20.0)).expect("a telescope");
    assert_eq!(galilean.for_ametropia(dioptres(-21.0)), Err(OpticsError::ErrorTooLarge));
    assert_eq!(galilean.for_ametropia(dioptres(-15.0)), Err(OpticsError::NoTube));
    assert!(galilean.keplerian_field(metres(0.02), metres(0.01)).is_err());
    assert!(keplerian.galilean_field(metres(0.02), metres(0.01), metres(0.004)).is_err());
}

#[test]
fn the_exact_vergence_agrees_with_a_trace_through_two_lenses() {
    for (objective, ocular, distance) in [(8.0, 64.0, 6.0), (10.0, -20.0, 0.4), (12.5, 50.0, 3.0)] {
        let device = Afocal::new(dioptres(objective), dioptres(ocular)).expect("a telescope");
        let exact = device.exit_vergence(metres(distance)).expect("a picture").exact.get();
        // One ray from the axis: height and angle, through lens, tube and lens.
        let (mut height, mut angle) = (1.0, 1.0 / distance);
        angle -= objective * height;
        height += angle * device.tube_length().expect("a tube").get();
        angle -= ocular * height;
        let traced = -angle / height;
        assert!((exact - traced).abs() < 1e-9 * traced.abs(), "{exact} against {traced}");
    }
}

#[test]
fn a_label_that_contradicts_itself_is_refused() {
    assert_eq!(label(8.0, 20.0, 7.0).check(), Ok(vec![]));
    // 122 m at 1000 m written down as degrees.
    assert!(matches!(label(8.0, 20.0, 80.0).check(), Err(LabelError::Inconsistent { .. })));
    assert!(matches!(label(4.0, 12.0, 2.0).check(), Err(LabelError::Inconsistent { .. })));
    assert_eq!(label(2.0, 22.0, 12.0).check(), Ok(vec![Unusual::ExitPupil]));
    assert_eq!(label(14.0, 30.0, 4.0).check(), Ok(vec![Unusual::Power]));
    assert_eq!(label(20.0, 20.0, 1.5).check(), Ok(vec![Unusual::Power, Unusual::ExitPupil, Unusual::Field]));
}

#[test]
fn less_than_one_is_no_telescope() {
    let half = Magnification::new(0.5).expect("a number");
    assert!(exit_pupil(Millimetres::new(20.0).expect("20 mm"), half).is_err());
    assert!(steadiness(half).is_err());
    let eleven = Magnification::new(11.0).expect("a power");
    assert_eq!(steadiness(eleven), Ok(Steadiness::NotHandHeld));
}

#[test]
fn the_share_of_the_board_agrees_with_counting_points() {
    let cases = [(2.4, 1.2, 4.0, 7.0), (1.0, 0.5, 6.0, 6.0), (1.2, 0.4, 6.0, 8.0), (0.3, 0.3, 6.0, 9.0)];
    for (width, height, distance, field) in cases {
        let board = Board { width: metres(width), height: metres(height) };
        let looks =
            board_coverage(board, metres(distance), degrees(field), fraction(0.2), INSCRIBED_SQUARE).expect("in range");
        let radius = looks.field_width.get() / 2.0;
        let steps = 1_000;
        let mut inside = 0;
        for i in 0..steps {
            for j in 0..steps {
                let x = width * ((f64::from(i) + 0.5) / f64::from(steps) - 0.5);
                let y = height * ((f64::from(j) + 0.5) / f64::from(steps) - 0.5);
                inside += i32::from(x.hypot(y) <= radius);
            }
        }
        let counted = f64::from(inside) / f64::from(steps * steps);
        assert!((looks.seen_at_once.get() - counted).abs() < 1e-3, "{counted}");
    }
}

#[test]
fn a_board_inside_the_field_takes_one_look() {
    let board = Board { width: metres(0.3), height: metres(0.3) };
    let looks = board_coverage(board, metres(6.0), degrees(9.0), fraction(0.0), INSCRIBED_SQUARE).expect("in range");
    let counts = [looks.views_across, looks.views_across_full, looks.strips_down];
    assert_eq!((counts, looks.seen_at_once), ([1, 1, 1], fraction(1.0)));
    let whole = board_coverage(board, metres(6.0), degrees(9.0), fraction(1.0), INSCRIBED_SQUARE);
    assert!(whole.is_err(), "views that overlap wholly never end");
}

#[test]
fn a_stand_as_high_as_the_focus_has_no_picture() {
    let lens = dioptres(20.0);
    for height in [0.05, 0.06] {
        assert!(matches!(stand(lens, metres(height), metres(0.25)), Err(StandError::TooHigh { .. })));
    }
}

#[test]
fn a_stand_magnifier_is_its_lens_and_its_focus() {
    for (lens, height, eye) in [(20.0, 0.04, 0.25), (28.0, 0.03, 0.1), (16.0, 0.05, 0.4), (10.0, 0.02, 0.05)] {
        let used = stand(dioptres(lens), metres(height), metres(eye)).expect("a picture");
        let both = with_add(dioptres(lens), used.focus_needed, metres(eye)).expect("power");
        let (one, other) = (used.equivalent.power.get(), both.power.get());
        assert!((one - other).abs() < 1e-9 * one, "{one} against {other}");
    }
}

#[test]
fn typed_refractions_are_checked() {
    assert_eq!(sphere_typed("+2.50").map(Dioptres::get).ok(), Some(2.5));
    assert_eq!(sphere_typed(" \u{2212}1,75 D").map(Dioptres::get).ok(), Some(-1.75));
    assert_eq!(sphere_typed("0"), Ok(dioptres(0.0)));
    assert_eq!(sphere_typed("2.50"), Err(RefractionError::SignMissing));
    for text in ["", "+", "minus two", "-1.2.3", "-NaN", "+inf", "-1e9"] {
        assert_eq!(sphere_typed(text), Err(RefractionError::Unreadable), "{text}");
    }
    assert!(matches!(sphere_typed("-41"), Err(RefractionError::OutOfRange(_))));
    assert_eq!(check::sphere(dioptres(20.0)), Ok(Check::Accept));
    assert_eq!(check::sphere(dioptres(20.25)), Ok(Check::Confirm));
    assert_eq!(check::sphere(dioptres(-2.12)), Ok(Check::Accept));
    assert_eq!(check::sphere(dioptres(-2.3)), Ok(Check::Confirm));
    assert_eq!(check::cylinder(dioptres(7.0)), Ok(Check::Confirm));
    assert!(check::cylinder(dioptres(-10.25)).is_err());
    assert!(check::add(dioptres(-0.25)).is_err());
    let at = |axis| check::lens(dioptres(-2.0), dioptres(-1.0), Some(degrees(axis)));
    assert!(at(181.0).is_err() && at(-1.0).is_err());
    assert_eq!(at(0.0).map(|(lens, _)| lens.axis.get()).ok(), Some(180.0));
    assert_eq!(at(12.5).map(|(_, check)| check).ok(), Some(Check::Confirm));
}

#[test]
fn a_lens_without_cylinder_keeps_its_axis_by_convention() {
    let plain = Lens { sphere: dioptres(-3.0), cylinder: dioptres(0.0), axis: Axis::new(180.0).expect("an axis") };
    assert_eq!(plain.transposed(), plain);
}

#[test]
fn a_median_is_not_invented_from_failures() {
    let seconds =
        |values: &[f64]| -> Vec<Seconds> { values.iter().map(|s| Seconds::new(*s).expect("a time")).collect() };
    let limit = Seconds::new(30.0).expect("30 s");
    let of = |values: &[f64]| median_time(&seconds(values), limit).expect("trials");
    assert_eq!(of(&[4.0, 6.0]).median, Seconds::new(5.0).ok());
    assert_eq!(of(&[4.0, 6.0, 30.0]).median, Seconds::new(6.0).ok());
    assert_eq!(of(&[4.0, 30.0]).median, None);
    assert_eq!((of(&[30.0]).median, of(&[30.0]).cut_off), (None, 1));
    assert!(median_time(&[], limit).is_err());
    assert!(median_time(&seconds(&[31.0]), limit).is_err());
}

#[test]
fn three_of_five_says_how_little_it_says() {
    let rate = success_rate(3, 5, Level::NinetyFive).expect("trials");
    assert!(rate.low.get() < 0.24 && rate.high.get() > 0.88, "{rate:?}");
    assert_eq!(success_rate(5, 5, Level::Ninety).map(|r| r.high), Ok(fraction(1.0)));
    assert!(success_rate(0, 0, Level::Ninety).is_err());
    assert!(success_rate(6, 5, Level::Ninety).is_err());
}
