//! One room worked by hand.
//!
//! Letters of 2.5 cm from 4 m, acuity 1.0, a reserve of 2.5: the needed power is
//! 5.818, the seat without a device 0.687 m, the letters 14.546 cm, the seat with
//! 4x 2.750 m (`reference/04-required-magnification.json`, T04-required-t1 and
//! T04-seat-4x, derived twice).

use farpoint::care::options::{Change, Hard, Limit, PowerNeeded, What, WhyNot, power_needed};
use farpoint::care::sight::AtHandAs;
use farpoint::care::task::Marker;
use farpoint::vision::contrast::LogContrastSensitivity;
use farpoint::vision::length::shown::Units;
use farpoint::vision::telescope::Steadiness;

use super::{Room, telescope};

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 0.001, "{found} is not {expected}");
}

#[test]
fn larger_letters_a_copy_and_a_strong_enough_telescope_do_it_alone() {
    let room = Room::of_the_reference().having([telescope(6.0), telescope(4.0)]);
    let found = room.options();
    let told: Vec<String> = found
        .singles
        .iter()
        .map(|way| match &way.changes[0] {
            Change::Letters(letters) => format!("letters {:.3} x{:.1}", letters.height.get(), letters.times.get()),
            // 14.546 cm / 10 at 40 cm, / 16 at 25 cm, up to half a centimetre.
            Change::Copy(copies) => format!("copy {:.3} {:.3}", copies[0].height.get(), copies[1].height.get()),
            Change::Device(index) => format!("device {index}"),
            Change::Seat(_) | Change::Marker(_) | Change::Power(_) | Change::Light(_) | Change::Screen(_) => {
                "another".to_owned()
            }
        })
        .collect();
    // Six times as tall is hard to live with, so it stands last.
    assert_eq!(told, ["copy 0.015 0.010", "device 0", "letters 0.150 x6.0"]);
    assert_eq!(found.singles[2].rank.hard, [Hard::MuchTaller]);
    // 2.5 x 6 / 5.818.
    near(found.singles[1].judged.acuity_reserve.get(), 2.578);
    let left = |what| found.left_out.iter().find(|left| left.what == what).map(|left| left.why);
    // 0.687 m is nearer than any seat that is looked at.
    assert_eq!(left(What::Seat), Some(WhyNot::NoSeatNearEnough));
    assert_eq!(left(What::Device(1)), Some(WhyNot::TooWeak));
}

#[test]
fn a_pair_is_listed_when_no_single_change_serves_every_day() {
    let mut room = Room::of_the_reference().having([telescope(4.0)]);
    // Nothing on paper and no screen: a locker's name is not brought to the desk.
    room.task.what.code = farpoint::care::task::TaskCode::NameOnLocker;
    let found = room.options();
    let pairs: Vec<String> = found
        .pairs
        .iter()
        .map(|way| match way.changes.as_slice() {
            [Change::Seat(seat), Change::Letters(letters)] => {
                format!("seat {:.1} letters {:.3}", seat.to.get(), letters.height.get())
            }
            [Change::Seat(seat), Change::Device(0)] => format!("seat {:.1} device", seat.to.get()),
            [Change::Letters(letters), Change::Device(0)] => format!("letters {:.3} device", letters.height.get()),
            _ => "another".to_owned(),
        })
        .collect();
    // Letters with 4x: 14.546 / 4 = 3.64 cm, up to 4 cm. The seat with 4x: 2.750 m,
    // down to 2.7 m. A seat with letters: from 1.5 m 14.546 x 1.5 / 4 = 5.45 cm, up to
    // 5.5 cm, 2.2 times as tall. log2 of 4 / 1.5 is 1.415 and of 2.2 is 1.138, so it
    // costs 1.415 x 2.415 + 1.138 x 2.138 = 5.85; 1.6 m with 6 cm costs 5.93.
    assert_eq!(pairs, ["letters 0.040 device", "seat 1.5 letters 0.055", "seat 2.7 device"]);
}

#[test]
fn feet_are_rounded_down_and_inches_up() {
    let mut room = Room::of_the_reference().having([telescope(4.0)]);
    room.task.what.code = farpoint::care::task::TaskCode::NameOnLocker;
    room.units = Units::Imperial;
    let found = room.options();
    let seat = found.pairs.iter().find_map(|way| match way.changes.as_slice() {
        [Change::Seat(seat), Change::Device(_)] => Some(seat.to.get()),
        _ => None,
    });
    // 2.750 m are 9.02 ft; 14.546 cm are 5.73 in, up to 5 3/4 in.
    near(seat.expect("a pair with a seat"), 9.0 * 0.3048);
    let letters = found.singles.iter().find_map(|way| match &way.changes[0] {
        Change::Letters(letters) => Some(letters.height.get()),
        _ => None,
    });
    near(letters.expect("larger letters"), 5.75 * 0.0254);
}

#[test]
fn a_view_through_the_telescope_has_its_field_share_looks_and_exit_pupil() {
    let room = Room::of_the_reference().board(Some(2.0), 0.0).having([telescope(6.0), telescope(8.0)]);
    let found = room.options();
    let view =
        found.singles.iter().find_map(|way| way.view.clone().filter(|view| view.device == Some(1))).expect("a view");
    // 2 x 4 x tan 4.5 deg; 62.96 / 2.5 letters; 2 atan(1 / 4) = 28.07 deg of board,
    // 9 / 28.07 = 32 %; (28.07 - 9) / 7.2 = 2.65, so 3 looks after the first; 16 / 8.
    near(view.seen.field.expect("a field").get(), 0.6296);
    assert_eq!(view.seen.letters, Some(25));
    near(view.seen.share.expect("a share").get(), 9.0 / 28.0725);
    assert_eq!(view.seen.looks, Some(4));
    near(view.exit_pupil.expect("an exit pupil").get(), 2.0);
    assert_eq!(view.steadiness, Some(Steadiness::UpperLimit));
    assert_eq!(view.limits, [Limit::AtBest]);
    // The weaker one is easier to hold and comes first, if it does it at all.
    let devices: Vec<usize> = found.singles.iter().filter_map(|way| way.view.as_ref()?.device).collect();
    assert_eq!(devices, [1], "6x no longer does it at the far edge of a board");
}

#[test]
fn a_faint_marker_is_mended_by_a_darker_one_alone_or_with_another_change() {
    // 0.3 over 6 % is 5, black 15, blue 12.5, green and red exactly 10.
    let mut room = Room::of_the_reference().having([telescope(6.0)]);
    room.task.what.marker = Some(Marker::Faint);
    room.task.what.x_height = Some(super::centimetres(15.0));
    let found = room.options();
    let [only] = found.singles.as_slice() else { panic!("one change does it") };
    let Change::Marker(markers) = &only.changes[0] else { panic!("the marker does it") };
    assert_eq!(markers[..2], [Marker::BlackOnWhite, Marker::BlueOnWhite]);
    assert!(only.rank.reason().contains("nothing is asked of the student"), "{}", only.rank.reason());
    room.task.what.x_height = Some(super::centimetres(2.5));
    let found = room.options();
    assert!(found.singles.is_empty());
    assert!(found.pairs.iter().all(|way| matches!(way.changes[0], Change::Marker(_))));
    assert_eq!(found.pairs.len(), 3, "with larger letters, with a copy, with the telescope");
    // Green at 0.6 over 10 %: 6; black 9: no marker of the table reaches 10.
    room.sight.evaluations[0].contrast = Some(LogContrastSensitivity::literal(1.0));
    let found = room.options();
    assert!(found.singles.is_empty() && found.pairs.is_empty());
    assert!(found.left_out.iter().any(|left| left.what == What::Marker && left.why == WhyNot::ContrastNotEnough));
}

#[test]
fn a_device_of_the_pool_costs_more_than_one_at_hand() {
    let mut from_the_pool = telescope(6.0);
    from_the_pool.source = AtHandAs::Pool;
    let room = Room::of_the_reference().having([from_the_pool, telescope(6.0)]);
    let found = room.options();
    let devices: Vec<usize> = found.singles.iter().filter_map(|way| way.view.as_ref()?.device).collect();
    assert_eq!(devices, [1, 0]);
}

#[test]
fn the_power_that_would_be_needed_starts_from_the_eye_that_would_look() {
    let mut room = Room::of_the_reference();
    let PowerNeeded::Times { least, often, .. } = power_needed(&room.question(), None, None).expect("a power") else {
        panic!("a telescope")
    };
    near(least.get(), 5.818);
    // Times 10^0.1 and 10^0.2.
    near(often[0].get(), 7.324);
    near(often[1].get(), 9.221);
    // Print of 2 mm read as a phrase, near acuity 1.0: 2 x 10 x 5' = 100', so
    // 0.2 / (2 tan 50') = 6.875 cm, and 1 / 0.06875 = 14.55 D.
    room = room.at_near(0.2, 0.25);
    let PowerNeeded::Dioptres { least, .. } = power_needed(&room.question(), None, None).expect("a power") else {
        panic!("a magnifier")
    };
    assert!((least.get() - 14.545).abs() < 0.01, "{}", least.get());
}
