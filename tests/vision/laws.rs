//! Laws that hold for every input, tried on random ones.

use farpoint::vision::acuity::equivalents::equivalents;
use farpoint::vision::acuity::near::MUnits;
use farpoint::vision::acuity::notation::{Notation, Setup, parse};
use farpoint::vision::acuity::{LogMar, Measured};
use farpoint::vision::demand::{BoardDemand, Seat, letter_seen, on_board, straight_on};
use farpoint::vision::length;
use farpoint::vision::length::shown::{Units, distance, letter_height};
use farpoint::vision::magnifier::{stand, window_field};
use farpoint::vision::readable::{AcuityUsed, Basis, Goal, Goals, Viewer, judge};
use farpoint::vision::refraction::{Axis, Lens};
use farpoint::vision::reserve::{farthest_seat, power_needed, smallest_letter};
use farpoint::vision::skill::{Level, success_rate};
use farpoint::vision::telescope::near::{Reach, reach};
use farpoint::vision::telescope::optics::Afocal;
use farpoint::vision::telescope::{FarWidth, apparent_field};
use farpoint::vision::units::{Degrees, Dioptres, Magnification, Metres, Ratio};
use proptest::prelude::*;

fn metres(value: f64) -> Metres {
    Metres::new(value).expect("a length of the test")
}

fn logmar(value: f64) -> LogMar {
    LogMar::new(value).expect("a logMAR of the test")
}

fn ratio(value: f64) -> Ratio {
    Ratio::new(value).expect("a ratio of the test")
}

fn power(value: f64) -> Magnification {
    Magnification::new(value).expect("a power of the test")
}

fn dioptres(value: f64) -> Dioptres {
    Dioptres::new(value).expect("a power of the test")
}

fn close(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9 * one.abs().max(other.abs()).max(1.0)
}

fn value_of(text: &str, setup: Setup) -> f64 {
    let taken = parse(text, setup).unwrap_or_else(|error| panic!("{text}: {error}"));
    taken.acuity.logmar().expect("a measured value").get()
}

proptest! {
    #[test]
    fn every_notation_comes_back(value in -0.29_f64..1.99) {
        let acuity = logmar(value);
        let far = Setup::at(metres(6.096));
        let near = Setup::at(metres(0.4));
        let print = MUnits::just_read_by(acuity, metres(0.4)).expect("a print size");
        let written = [
            (format!("20/{}", acuity.below_the_line(20.0).expect("in range")), far),
            (format!("6/{}", acuity.below_the_line(6.0).expect("in range")), far),
            (format!("decimal {}", acuity.decimal()), far),
            (format!("{value} logMAR"), far),
            (format!("VAR {}", acuity.var_score()), far),
            (format!("{}M @ 40 cm", print.get()), near),
        ];
        for (text, setup) in written {
            prop_assert!((value_of(&text, setup) - value).abs() < 1e-9, "{}", text);
        }
    }

    #[test]
    fn printed_equivalents_lie_on_the_value_or_on_its_row(value in -0.29_f64..1.99) {
        let told = equivalents(logmar(value));
        let far = Setup::at(metres(6.096));
        // A named row within 0.006 plus its name's own error; three figures otherwise.
        for text in [told.feet, told.metres, format!("decimal {}", told.decimal)] {
            prop_assert!((value_of(&text, far) - value).abs() < 0.0125, "{} for {}", text, value);
        }
        let two_decimals = value_of(&format!("{} logMAR", told.logmar), far);
        prop_assert!((two_decimals - value).abs() <= 0.005 + 1e-9);
    }

    #[test]
    fn no_text_panics_or_gives_what_is_no_number(text in "\\PC{0,24}", far in 0.2_f64..7.0) {
        if let Ok(taken) = parse(&text, Setup::at(metres(far)))
            && let Some(value) = taken.acuity.logmar()
        {
            prop_assert!(value.get().is_finite());
            prop_assert!(Measured::new(value).is_ok());
        }
        if let Ok(length) = length::parse(&text) {
            prop_assert!(length.get().is_finite() && length.get() > 0.0);
        }
    }

    #[test]
    fn no_almost_right_text_panics(
        text in "[0-9./,'\" \\-+@a-zA-Z½⁄′″]{0,16}",
        far in 0.2_f64..7.0,
        chosen in prop::sample::select(vec![
            None, Some(Notation::Decimal), Some(Notation::LogMar), Some(Notation::Near),
            Some(Notation::PrintedFraction), Some(Notation::Letters), Some(Notation::Category),
        ]),
    ) {
        let setup = Setup { notation: chosen, ..Setup::at(metres(far)) };
        if let Ok(taken) = parse(&text, setup)
            && let Some(value) = taken.acuity.logmar()
        {
            prop_assert!((-0.5..=2.000_001).contains(&value.get()), "{}", text);
        }
        if let Ok(length) = length::parse(&text) {
            prop_assert!(length.get().is_finite() && length.get() > 0.0);
        }
    }

    #[test]
    fn a_told_length_can_be_typed_again(value in 0.05_f64..50.0) {
        for (units, step) in [(Units::Metric, 0.005), (Units::Imperial, 0.0128)] {
            let told = distance(metres(value), units);
            let read = length::parse(&told).unwrap_or_else(|error| panic!("{told}: {error}"));
            prop_assert!((read.get() - value).abs() <= step + 1e-9, "{} for {}", told, value);
            let told = letter_height(metres(value), units);
            let read = length::parse(&told).unwrap_or_else(|error| panic!("{told}: {error}"));
            prop_assert!((read.get() - value).abs() <= 0.0016 + 1e-9, "{} for {}", told, value);
        }
    }

    #[test]
    fn a_typed_length_means_the_same_in_every_unit(millimetres in 1_u32..900_000) {
        let expected = f64::from(millimetres) / 1_000.0;
        let written = [
            format!("{millimetres} mm"),
            format!("{} cm", f64::from(millimetres) / 10.0),
            format!("{expected:.3} m"),
            format!("{} in", expected / 0.0254),
            format!("{} ft", expected / 0.3048),
        ];
        for text in written {
            let read = length::parse(&text).unwrap_or_else(|error| panic!("{text}: {error}"));
            prop_assert!(close(read.get(), expected), "{}", text);
        }
    }

    #[test]
    fn demand_falls_with_distance_and_grows_with_size(
        height in 0.002_f64..0.3, far in 0.4_f64..20.0, more in 1.01_f64..3.0,
    ) {
        let here = straight_on(metres(height), metres(far)).expect("in range");
        let farther = straight_on(metres(height), metres(far * more)).expect("in range");
        let larger = straight_on(metres(height * more), metres(far)).expect("in range");
        prop_assert!(farther < here && here < larger);
        // A target as much larger as it is farther asks for the same.
        let same = straight_on(metres(height * more), metres(far * more)).expect("in range");
        prop_assert!(close(same.get(), here.get()));
    }

    #[test]
    fn from_the_side_a_letter_is_narrower_than_tall(
        height in 0.005_f64..0.1, far in 1.0_f64..10.0, aside in 0.1_f64..5.0, board in 0.5_f64..4.0,
    ) {
        let seat = Seat { to_the_board: metres(far), aside: metres(aside) };
        let letter = letter_seen(metres(height), metres(height), seat).expect("in range");
        prop_assert!(letter.width_demand < letter.height_demand);
        let straight = straight_on(metres(height), metres(far)).expect("in range");
        prop_assert!(letter.height_demand < straight);
        match on_board(metres(height), seat, Some(metres(board))).expect("in range") {
            BoardDemand::Seen(edge) => {
                prop_assert!(edge.working_demand() < letter.working_demand());
                prop_assert!(letter.obliquity.get() <= 60.0);
            }
            BoardDemand::MoveTheSeat { obliquity } => prop_assert!(obliquity.get() > 60.0),
        }
    }

    #[test]
    fn seat_letter_and_power_solve_the_same_equation(
        acuity in -0.2_f64..1.9, height in 0.005_f64..0.2, reserve in 1.0_f64..7.0, times in 1.0_f64..10.0,
    ) {
        let (eye, letter) = (logmar(acuity), metres(height));
        let seat = farthest_seat(eye, letter, ratio(reserve), power(times)).expect("in range");
        let back = smallest_letter(eye, seat, ratio(reserve), power(times)).expect("in range");
        prop_assert!(close(back.get(), height));
        // The power is exact in the angle, the seat in the letter; they meet without a device.
        let bare = farthest_seat(eye, letter, ratio(reserve), power(1.0)).expect("in range");
        let needed = power_needed(eye, letter, bare, ratio(reserve)).expect("in range");
        prop_assert!(close(needed.get(), 1.0));
        prop_assert!(seat >= bare);
    }

    #[test]
    fn a_better_acuity_never_reads_less(
        demand in -0.3_f64..2.0, acuity in -0.2_f64..1.8, better in 0.01_f64..0.3,
    ) {
        let reserve = |value: f64| {
            let viewer = Viewer {
                acuity: AcuityUsed { acuity: logmar(value), basis: Basis::BothEyesAsWorn },
                sensitivity: None,
            };
            let needed = Goals::default().needed(Goal::Copy);
            judge(logmar(demand), None, viewer, needed).expect("in range").acuity_reserve
        };
        prop_assert!(reserve(acuity - better) > reserve(acuity));
    }

    #[test]
    fn transposing_twice_gives_the_lens_back(
        sphere in -80_i32..=80, cylinder in -24_i32..=24, axis in 1_u32..=180,
    ) {
        let lens = Lens {
            sphere: dioptres(f64::from(sphere) / 4.0),
            cylinder: dioptres(f64::from(cylinder) / 4.0),
            axis: Axis::new(f64::from(axis)).expect("an axis"),
        };
        prop_assert_eq!(lens.transposed().transposed(), lens);
        // Both forms are one lens: the same in every meridian.
        for meridian in [0.0, 17.0, 45.0, 90.0, 133.0] {
            let meridian = Degrees::new(meridian).expect("a meridian");
            let one = lens.power_in(meridian).expect("in range").get();
            let other = lens.transposed().power_in(meridian).expect("in range").get();
            prop_assert!(close(one, other));
        }
    }

    #[test]
    fn a_power_vector_is_its_lens(
        sphere in -80_i32..=80, cylinder in -24_i32..=-1, axis in 1_u32..=180,
    ) {
        let lens = Lens {
            sphere: dioptres(f64::from(sphere) / 4.0),
            cylinder: dioptres(f64::from(cylinder) / 4.0),
            axis: Axis::new(f64::from(axis)).expect("an axis"),
        };
        let back = lens.power_vector().and_then(|vector| vector.lens()).expect("in range");
        prop_assert!(close(back.sphere.get(), lens.sphere.get()));
        prop_assert!(close(back.cylinder.get(), lens.cylinder.get()));
        prop_assert!(close(back.axis.get(), lens.axis.get()));
        let one = lens.power_vector().expect("in range");
        let other = lens.transposed().power_vector().expect("in range");
        prop_assert!(close(one.straight.get(), other.straight.get()));
        prop_assert!(close(one.diagonal.get(), other.diagonal.get()));
    }

    #[test]
    fn moving_a_lens_there_and_back_changes_nothing(
        sphere in -20.0_f64..20.0, cylinder in -6.0_f64..6.0, moved in 0.001_f64..0.016,
    ) {
        let axis = Axis::new(30.0).expect("an axis");
        let lens = Lens { sphere: dioptres(sphere), cylinder: dioptres(cylinder), axis };
        let there = lens.moved_toward_eye(metres(moved)).expect("in range");
        let back = there.moved_toward_eye(metres(-moved)).expect("in range");
        prop_assert!(close(back.sphere.get(), sphere) && close(back.cylinder.get(), cylinder));
    }

    #[test]
    fn a_field_comes_back_from_its_width(field in 1.0_f64..30.0) {
        for label in [FarWidth::MetresAt1000Metres, FarWidth::FeetAt1000Yards] {
            let width = label.of(Degrees::new(field).expect("a field")).expect("in range");
            prop_assert!(close(label.true_field(width).expect("in range").get(), field));
        }
    }

    #[test]
    fn the_tangent_rule_never_exceeds_the_simple_one(times in 1.0_f64..12.0, field in 1.0_f64..15.0) {
        let seen = apparent_field(power(times), Degrees::new(field).expect("a field")).expect("in range");
        prop_assert!(seen.by_tangent.get() <= seen.simple.get() + 1e-9);
    }

    #[test]
    fn focusing_nearer_lengthens_the_tube_and_raises_the_power(
        objective in 4.0_f64..16.0, times in 2.0_f64..10.0, far in 0.6_f64..20.0,
        kind in prop::sample::select(vec![1.0_f64, -1.0]),
    ) {
        let device = Afocal::new(dioptres(objective), dioptres(kind * objective * times))
            .expect("a telescope");
        let near = device.focused_for(metres(far)).expect("beyond the focus");
        let farther = device.focused_for(metres(far * 2.0)).expect("beyond the focus");
        prop_assert!(near.tube > farther.tube);
        prop_assert!(near.power_at_objective > farther.power_at_objective);
        prop_assert!(farther.power_at_objective.get() > times * (1.0 - 1e-9));
    }

    #[test]
    fn an_interval_holds_its_rate_and_narrows_with_trials(right in 0_u32..=20, more in 2_u32..10) {
        let few = success_rate(right, 20, Level::NinetyFive).expect("trials");
        let many = success_rate(right * more, 20 * more, Level::NinetyFive).expect("trials");
        prop_assert!(few.low <= few.rate && few.rate <= few.high);
        let width = |rate: farpoint::vision::skill::SuccessRate| rate.high.get() - rate.low.get();
        prop_assert!(width(many) < width(few));
        let loose = success_rate(right, 20, Level::Ninety).expect("trials");
        prop_assert!(width(loose) < width(few));
    }

    #[test]
    fn units_let_no_nonsense_in(value in prop::num::f64::ANY) {
        for made in [Metres::new(value).map(Metres::get), LogMar::new(value).map(LogMar::get)] {
            prop_assert!(made.is_err() || made.is_ok_and(|kept| kept.is_finite() && close(kept, value)));
        }
    }

    /// What is said of every tube holds for each, by the formulas of one with known lenses.
    #[test]
    fn a_tube_with_known_lenses_keeps_what_is_said_of_every_tube(
        m in 2.0_f64..12.0, focal in 0.03_f64..0.2, near in 0.25_f64..4.0, far in 2.0_f64..9.0, eye in -15.0_f64..15.0,
        prisms in any::<bool>(),
    ) {
        let ocular = m / focal * if prisms { 1.0 } else { -1.0 };
        let tube = Afocal::new(dioptres(1.0 / focal), dioptres(ocular)).expect("a telescope");
        let travel = tube.focused_for(metres(near)).ok().map(|focused| focused.extension.get());
        let travel = travel.filter(|travel| focal + 1.0 / ocular + travel <= 0.3);
        let asked = tube.focused_for(metres(far)).ok().zip(tube.for_ametropia(dioptres(eye)).ok());
        if let (Some(travel), Some((object, own))) = (travel, asked) {
            let drawn = object.extension.get() + own.change.get();
            // A thousandth of the travel for tubes between those that are tried.
            let slack = travel * 1e-3 + 1e-6;
            match reach(power(m), metres(near), metres(far), dioptres(eye)).expect("within the range") {
                Reach::Reaches => prop_assert!(drawn >= -slack && drawn <= travel + slack, "{drawn} of {travel}"),
                Reach::TooShort => prop_assert!(drawn > travel - slack, "{drawn} of {travel}"),
                Reach::NotKnown => {}
            }
        }
    }

    #[test]
    fn the_window_of_a_stand_is_what_its_rim_lets_through_of_the_picture(
        lens in 5.0_f64..40.0, low in 0.1_f64..0.9, eye in 0.05_f64..0.5, wide in 0.01_f64..0.1,
    ) {
        let found = stand(dioptres(lens), metres(low / lens), metres(eye)).expect("a stand");
        prop_assume!((1.0..=100.0).contains(&found.equivalent.power.get()));
        let strip = window_field(metres(wide), found.equivalent.power, metres(eye)).expect("a field");
        let of_the_picture = wide / eye * found.eye_to_image.get();
        prop_assert!(close(strip.get(), of_the_picture / found.enlargement.get()));
    }
}
