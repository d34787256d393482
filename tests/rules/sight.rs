//! Which acuity counts for a task, with and without a device.

use farpoint::care::device::DeviceSpec;
use farpoint::care::evaluation::Correction;
use farpoint::care::sight::{AtHand, AtHandAs, Evaluated, InClass, NoFigure, Sight, SightRow, Used};
use farpoint::care::track::{DeviceKind, Eye, Track, WithGlasses};
use farpoint::vision::acuity::{LogMar, Measured};
use farpoint::vision::readable::Basis;
use farpoint::vision::units::{Magnification, Metres};

fn row(eye: Eye, worn: Correction, logmar: Option<f64>, distance: f64) -> SightRow {
    SightRow {
        eye,
        worn,
        distance: Some(Metres::literal(distance)),
        distance_typed: format!("{distance} m"),
        as_recorded: logmar.map_or("CF".to_owned(), |value| format!("{value} logMAR")),
        measured: logmar.map(|value| Measured::new(LogMar::literal(value)).expect("on a chart")),
        device: None,
    }
}

fn through(power: f64, logmar: f64, distance: f64) -> SightRow {
    SightRow {
        device: Some(telescope(power).spec),
        ..row(Eye::Right, Correction::ThroughDevice, Some(logmar), distance)
    }
}

fn telescope(power: f64) -> AtHand {
    let spec = DeviceSpec {
        power: Some(Magnification::literal(power)),
        eye: Some(Eye::Right),
        ..DeviceSpec::of(DeviceKind::HandheldMonocular)
    };
    AtHand { spec, track: Track::Distance, source: AtHandAs::Loan }
}

fn sight(rows: Vec<SightRow>) -> Sight {
    let evaluated = Evaluated {
        source: farpoint::care::journey::fact::Source::Signed,
        on: jiff::civil::date(2026, 9, 1),
        rows,
        better_eye: None,
        contrast: None,
        colour_loss: false,
        pupil: None,
        refraction: Vec::new(),
        lighting: None,
    };
    Sight { evaluations: vec![evaluated], in_class: InClass::Wears, devices: Vec::new() }
}

fn picked(found: Result<Used, NoFigure>) -> (f64, Basis) {
    let used = found.unwrap_or_else(|why| panic!("{why}"));
    (used.acuity.acuity.get(), used.acuity.basis)
}

#[test]
fn both_eyes_as_worn_in_class_count_before_best_correction() {
    let known = sight(vec![
        row(Eye::Both, Correction::BestCorrection, Some(0.7), 3.0),
        row(Eye::Both, Correction::HabitualGlasses, Some(0.9), 3.0),
        row(Eye::Both, Correction::None, Some(1.1), 3.0),
    ]);
    assert_eq!(picked(known.unaided(Track::Distance)), (0.9, Basis::BothEyesAsWorn));
    let without = Sight { in_class: InClass::Without, ..known };
    assert_eq!(picked(without.unaided(Track::Distance)), (1.1, Basis::BothEyesAsWorn));
}

#[test]
fn best_correction_is_said_and_then_the_better_eye() {
    let mut known = sight(vec![
        row(Eye::Both, Correction::BestCorrection, Some(0.7), 3.0),
        row(Eye::Right, Correction::HabitualGlasses, Some(1.0), 3.0),
        row(Eye::Left, Correction::HabitualGlasses, Some(0.8), 3.0),
    ]);
    assert_eq!(picked(known.unaided(Track::Distance)), (0.7, Basis::BestCorrection));
    known.evaluations[0].rows.remove(0);
    assert_eq!(picked(known.unaided(Track::Distance)), (0.8, Basis::BetterEye));
    known.evaluations[0].better_eye = Some(Eye::Right);
    assert_eq!(picked(known.unaided(Track::Distance)), (1.0, Basis::BetterEye));
}

#[test]
fn a_category_gives_no_figure_and_a_near_row_says_nothing_about_a_board() {
    let known = sight(vec![row(Eye::Both, Correction::HabitualGlasses, None, 1.0)]);
    assert_eq!(known.unaided(Track::Distance).err(), Some(NoFigure::OnlyCategory));
    let near = sight(vec![row(Eye::Both, Correction::HabitualGlasses, Some(0.9), 0.4)]);
    assert_eq!(near.unaided(Track::Distance).err(), Some(NoFigure::NoAcuity));
    assert_eq!(picked(near.unaided(Track::Near)), (0.9, Basis::NearRow));
    assert_eq!(Sight::unknown().unaided(Track::Near).err(), Some(NoFigure::NoEvaluation));
}

#[test]
fn through_a_device_a_far_measurement_counts_before_the_promise_of_its_power() {
    let eye = row(Eye::Right, Correction::HabitualGlasses, Some(1.0), 3.0);
    let measured = sight(vec![eye.clone(), through(4.0, 0.5, 3.0)]);
    assert_eq!(picked(measured.through(&telescope(4.0))), (0.5, Basis::MeasuredThroughDevice));
    // Nearer than two metres it was used at another power.
    let nearer = sight(vec![eye.clone(), through(4.0, 0.5, 1.0)]);
    let (promised, basis) = picked(nearer.through(&telescope(4.0)));
    assert_eq!(basis, Basis::AtBest);
    assert!((promised - 0.398).abs() < 0.001, "{promised}");
    // Another power is another device.
    assert_eq!(picked(measured.through(&telescope(8.0))).1, Basis::AtBest);
    let magnifier = AtHand { spec: DeviceSpec::of(DeviceKind::StandMagnifier), ..telescope(4.0) };
    assert_eq!(measured.through(&magnifier).err(), Some(NoFigure::NoAcuity));
}

#[test]
fn a_promise_rests_on_the_eye_as_the_recommendation_corrects_it() {
    let known = sight(vec![
        row(Eye::Right, Correction::HabitualGlasses, Some(0.8), 3.0),
        row(Eye::Right, Correction::None, Some(1.2), 3.0),
        row(Eye::Left, Correction::HabitualGlasses, Some(0.4), 3.0),
    ]);
    let mut device = telescope(4.0);
    assert!((picked(known.through(&device)).0 - 0.198).abs() < 0.001);
    device.spec.with_glasses = Some(WithGlasses::Without);
    assert!((picked(known.through(&device)).0 - 0.598).abs() < 0.001);
}
