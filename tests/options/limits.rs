//! What is not offered, and why: each limit once.

use farpoint::care::device::DeviceSpec;
use farpoint::care::evaluation::Correction;
use farpoint::care::options::{Change, Hard, Limit, Now, What, WhyNot};
use farpoint::care::sight::{AtHand, InClass, NoFigure, Sight};
use farpoint::care::task::TaskCode;
use farpoint::care::track::{DeviceKind, Eye, Track, WithGlasses};
use farpoint::vision::refraction::{Axis, Lens};
use farpoint::vision::units::{Degrees, Dioptres, Metres, Millimetres, Seconds};

use super::{Room, telescope};

fn why(room: &Room, what: What) -> Option<WhyNot> {
    room.options().left_out.iter().find(|left| left.what == what).map(|left| left.why)
}

#[test]
fn what_is_missing_is_named_and_a_category_never_computes() {
    let mut room = Room::of_the_reference();
    room.task.what.x_height = None;
    assert_eq!(room.refused(), NoFigure::NoSize);
    let mut room = Room::of_the_reference();
    (room.seat, room.task.seat_distance) = (None, None);
    assert_eq!(room.refused(), NoFigure::NoDistance);
    let mut room = Room::of_the_reference();
    room.sight = Sight::unknown();
    assert_eq!(room.refused(), NoFigure::NoEvaluation);
    let mut room = Room::of_the_reference();
    for row in &mut room.sight.evaluations[0].rows {
        row.measured = None;
    }
    assert_eq!(room.refused(), NoFigure::OnlyCategory);
}

#[test]
fn a_task_that_can_be_read_says_so_and_lists_nothing() {
    let mut room = Room::of_the_reference().having([telescope(6.0)]);
    room.task.what.x_height = Some(super::centimetres(15.0));
    let found = room.options();
    assert!(matches!(found.now, Now::Readable(_)));
    assert!(found.singles.is_empty() && found.pairs.is_empty() && found.left_out.is_empty());
    room.sight.evaluations[0].contrast = None;
    assert!(matches!(room.options().now, Now::LargeEnough(_)), "whether dark enough is not known");
}

#[test]
fn no_seat_before_the_first_row_is_offered() {
    // 10 cm at 1.0 logMAR and 2.5 times: 0.1 / (2.5 x 5 x 10') = 2.75 m, by hand.
    let seat_with_first_row = |first_row: f64| {
        let mut room = Room::with(1.0, 10.0, 4.0);
        room.seat.as_mut().expect("a seat").what.layout.first_row = Some(super::metres(first_row));
        let found = room.options();
        assert_eq!(found.nearest.map(Metres::get), Some(first_row));
        found.singles.iter().any(|way| matches!(way.changes[..], [Change::Seat(_)]))
    };
    assert!(seat_with_first_row(2.0));
    assert!(!seat_with_first_row(3.0));
}

#[test]
fn a_seat_too_far_aside_is_moved_before_anything_is_computed() {
    // atan(4 / 2) = 63 degrees. Letters of 20 cm do it from 4 x 20 / 14.5 = 5.5 m.
    let mut room = Room::with(1.0, 20.0, 2.0).board(None, 4.0).having([telescope(6.0)]);
    let found = room.options();
    assert!(matches!(found.now, Now::MoveTheSeat(aside) if (aside.get() - 63.4).abs() < 0.1));
    let [only] = found.singles.as_slice() else { panic!("the seat alone") };
    assert!(matches!(only.changes[0], Change::Seat(seat) if seat.to_the_middle && seat.to.get() == 2.0));
    assert!(found.pairs.is_empty());
    // Where the middle would not do either, no device is offered in its place.
    room.task.what.x_height = Some(super::centimetres(1.0));
    assert!(room.options().singles.is_empty());
}

#[test]
fn nobody_is_sent_nearer_to_traffic_and_nobody_writes_a_bus_larger() {
    let mut room = Room::of_the_reference().having([telescope(6.0)]);
    room.task.what.code = TaskCode::BusNumber;
    let found = room.options();
    assert!(found.singles.iter().all(|way| matches!(way.changes[0], Change::Device(_))) && !found.singles.is_empty());
    assert_eq!(why(&room, What::Seat), Some(WhyNot::NotFromNearer));
    assert_eq!(why(&room, What::Letters), Some(WhyNot::NotOurs));
    assert_eq!(found.nearest, None);
}

#[test]
fn a_telescope_is_not_offered_nearer_than_it_focuses_or_than_its_label_holds() {
    let mut far = telescope(6.0);
    far.spec.near_focus = Some(Metres::literal(5.0));
    let room = Room::of_the_reference().having([far]);
    assert_eq!(why(&room, What::Device(0)), Some(WhyNot::FocusTooFar));
    let room = Room::with(1.0, 1.0, 1.5).having([telescope(6.0)]);
    assert_eq!(why(&room, What::Device(0)), Some(WhyNot::NotThisNear));
    // Not stated is tried first.
    let mut unknown = telescope(6.0);
    unknown.spec.near_focus = None;
    let room = Room::of_the_reference().having([unknown]);
    let found = room.options();
    let view = found.singles.iter().find_map(|way| way.view.as_ref()).expect("it is listed");
    assert!(view.limits.contains(&Limit::FocusNotStated));
}

#[test]
fn a_tube_without_known_travel_and_a_strong_cylinder_are_said() {
    let lens = |sphere: f64, cylinder: f64| Lens {
        sphere: Dioptres::new(sphere).expect("a sphere"),
        cylinder: Dioptres::new(cylinder).expect("a cylinder"),
        axis: Axis::literal(180.0),
    };
    let room = |found: Lens, glasses: WithGlasses| {
        let mut device = telescope(6.0);
        device.spec.with_glasses = Some(glasses);
        let mut room = Room::of_the_reference().having([device]);
        room.sight.evaluations[0]
            .rows
            .push(super::SightRow { worn: Correction::None, ..super::row(Eye::Right, 1.0, 3.0) });
        room.sight.evaluations[0].refraction = vec![(Eye::Right, found)];
        room
    };
    let limits = |found: Lens, glasses: WithGlasses| {
        let found = room(found, glasses).options();
        found.singles.iter().find_map(|way| way.view.clone()).expect("it is listed").limits
    };
    assert_eq!(limits(lens(-6.0, 0.0), WithGlasses::Over), [Limit::AtBest, Limit::OverGlasses]);
    // At 4 m a 6x has 36 / 4 = 9 D of pushing in to spare; a label says nothing of more.
    assert_eq!(limits(lens(-6.0, 0.0), WithGlasses::Without), [Limit::AtBest]);
    assert_eq!(limits(lens(-12.0, 0.0), WithGlasses::Without), [Limit::AtBest, Limit::TubeTravel]);
    // Above 1.5 D of cylinder the glasses stay on, so a device for use without is none.
    let strong = room(lens(1.0, -2.0), WithGlasses::Without);
    assert_eq!(why(&strong, What::Device(0)), Some(WhyNot::GlassesStayOn));
    assert!(strong.options().singles.iter().all(|way| way.view.is_none()));
    // Left open, it can be held over the glasses: it is listed, and that is said.
    let mut open = room(lens(1.0, -2.0), WithGlasses::Either);
    open.sight.in_class = InClass::Without;
    let view = open.options().singles.iter().find_map(|way| way.view.clone()).expect("it is listed");
    assert_eq!(view.limits, [Limit::AtBest, Limit::KeepGlasses]);
}

#[test]
fn a_tube_that_cannot_be_drawn_out_far_enough_is_not_offered_there() {
    // Drawn out from far to 3.5 m it has 1 / 3.5 = 0.29 D of travel; 4 m and a
    // long-sighted eye of +6 D ask for 1 / 4 + 6 / 36 = 0.42 (thin lenses).
    let mut device = telescope(6.0);
    device.spec.with_glasses = Some(WithGlasses::Without);
    device.spec.near_focus = Some(Metres::literal(3.5));
    let mut room = Room::of_the_reference().having([device]);
    room.sight.evaluations[0].rows.push(super::SightRow { worn: Correction::None, ..super::row(Eye::Right, 1.0, 3.0) });
    let far_sighted =
        Lens { sphere: Dioptres::literal(6.0), cylinder: Dioptres::literal(0.0), axis: Axis::literal(180.0) };
    room.sight.evaluations[0].refraction = vec![(Eye::Right, far_sighted)];
    assert_eq!(why(&room, What::Device(0)), Some(WhyNot::TubeTooShort));
    // The same tube focuses near enough for everybody once it goes down to 1 m.
    room.devices[0].spec.near_focus = Some(Metres::literal(1.0));
    assert_eq!(why(&room, What::Device(0)), None);
    // What was measured through it was in focus, whatever a tube is taken to hold.
    room.devices[0].spec.near_focus = Some(Metres::literal(3.5));
    let through = super::SightRow {
        worn: Correction::ThroughDevice,
        device: Some(room.devices[0].spec.clone()),
        ..super::row(Eye::Right, 0.1, 4.0)
    };
    room.sight.evaluations[0].rows.push(through);
    assert_eq!(why(&room, What::Device(0)), None);
}

#[test]
fn each_kind_of_near_device_has_its_own_field_or_says_why_it_has_none() {
    let of = |kind: DeviceKind| {
        let device = AtHand {
            spec: DeviceSpec {
                equivalent_power: Some(Dioptres::literal(16.0)),
                lens_diameter: Some(Millimetres::literal(50.0)),
                ..DeviceSpec::of(kind)
            },
            track: Track::Near,
            ..telescope(2.0)
        };
        let found = Room::of_the_reference().at_near(0.2, 0.25).having([device]).options();
        found.singles.iter().find_map(|way| way.view.clone()).expect("it is listed")
    };
    for (kind, why) in [
        (DeviceKind::SpectacleMagnifier, Limit::WornAtTheEye),
        (DeviceKind::HighAdd, Limit::WornAtTheEye),
        (DeviceKind::BarMagnifier, Limit::FieldOfABar),
        (DeviceKind::ElectronicHandheld, Limit::FieldOfAScreen),
    ] {
        let view = of(kind);
        assert!(view.seen.field.is_none() && view.limits.contains(&why), "{kind}: {:?}", view.limits);
    }
    // 50 / (16 x 0.25) = 12.5 mm, held 1 / 16 = 6.25 cm above the page.
    let hand = of(DeviceKind::HandMagnifier);
    assert!((hand.seen.field.expect("a field").get() - 0.0125).abs() < 1e-9);
    assert!((hand.lens_to_page.expect("a distance").get() - 0.0625).abs() < 1e-9);
    // The rim of a stand is a window before its picture; the stand sets the distance.
    let stand = of(DeviceKind::StandMagnifier);
    assert!((stand.seen.field.expect("a field").get() - 0.0125).abs() < 1e-9 && stand.lens_to_page.is_none());
    assert!(stand.limits.contains(&Limit::PowerAtThatEye));
    // A phrase asks twice 10 x 5' = 100' from 6.25 cm: 2 x 62.5 x tan 50' = 1.818 mm.
    assert!((hand.smallest_print.expect("a print size").get() - 0.001_818).abs() < 1e-6);
}

#[test]
fn without_glasses_in_class_the_tube_is_asked_about_too() {
    let mut room = Room::of_the_reference().having([telescope(6.0)]);
    room.sight.in_class = InClass::Without;
    for row in &mut room.sight.evaluations[0].rows {
        row.worn = Correction::None;
    }
    let lens = Lens { sphere: Dioptres::literal(-12.0), cylinder: Dioptres::literal(0.0), axis: Axis::literal(180.0) };
    room.sight.evaluations[0].refraction = vec![(Eye::Right, lens)];
    let found = room.options();
    let view = found.singles.iter().find_map(|way| way.view.as_ref()).expect("it is listed");
    assert!(view.limits.contains(&Limit::TubeTravel));
}

#[test]
fn a_narrow_field_and_a_power_that_shakes_stand_behind() {
    let mut narrow = telescope(12.0);
    narrow.spec.true_field = Some(Degrees::literal(2.0));
    let room = Room::of_the_reference().board(Some(4.0), 0.0).having([narrow]);
    let found = room.options();
    let hard = &found.singles.iter().find(|way| way.view.is_some()).expect("it is listed").rank.hard;
    // 2 x 4 x tan 1 deg = 14 cm, 5 letters; 53 degrees of board at 1.6 a look.
    assert_eq!(*hard, [Hard::NotByHand, Hard::ManyLooks, Hard::FewLetters]);
}

#[test]
fn a_reading_cap_comes_off_for_the_board_and_sets_the_distance_at_the_page() {
    let mut capped = telescope(6.0);
    capped.spec.reading_cap = Some(Dioptres::literal(4.0));
    let room = Room::of_the_reference().having([capped.clone()]);
    let found = room.options();
    let view = found.singles.iter().find_map(|way| way.view.as_ref()).expect("it is listed");
    assert!(view.limits.contains(&Limit::TakeCapOff));
    // At the page 6 x 4 = 24 D, as from 4.2 cm.
    capped.track = Track::Near;
    let room = Room::of_the_reference().at_near(0.2, 0.25).having([capped]);
    let found = room.options();
    let view = found.singles.iter().find_map(|way| way.view.as_ref()).expect("it is listed");
    assert!(view.limits.contains(&Limit::CapSetsDistance));
    assert!((view.like_from.expect("a distance").get() - 1.0 / 24.0).abs() < 1e-9);
}

#[test]
fn a_magnifier_follows_its_equivalent_power_and_no_label() {
    let magnifier = |power: Option<f64>| AtHand {
        spec: DeviceSpec {
            equivalent_power: power.map(|power| Dioptres::new(power).expect("a power")),
            lens_diameter: Some(Millimetres::literal(50.0)),
            ..DeviceSpec::of(DeviceKind::StandMagnifier)
        },
        track: Track::Near,
        ..telescope(2.0)
    };
    // 14.5 D are needed (see `worked.rs`).
    let room = Room::of_the_reference().at_near(0.2, 0.25).having([
        magnifier(Some(16.0)),
        magnifier(Some(12.0)),
        magnifier(None),
        telescope(6.0),
    ]);
    let found = room.options();
    let devices: Vec<usize> = found.singles.iter().filter_map(|way| way.view.as_ref()?.device).collect();
    assert_eq!(devices, [0]);
    assert_eq!(why(&room, What::Device(1)), Some(WhyNot::TooWeak));
    assert_eq!(why(&room, What::Device(2)), Some(WhyNot::NoStrength));
    assert_eq!(why(&room, What::Device(3)), None, "a telescope for the board is no near device");
}

#[test]
fn lost_colour_vision_leaves_the_marker_to_the_student() {
    let mut room = Room::of_the_reference();
    room.sight.evaluations[0].colour_loss = true;
    assert_eq!(why(&room, What::Marker), Some(WhyNot::AskTheStudent));
}

#[test]
fn more_than_a_minute_at_the_students_own_pace_is_hard_to_live_with() {
    // 28.07 degrees of board, (28.07 - 9) / 7.2 = 2.65, so 4 looks; at 15 s a minute.
    let mut room = Room::with(1.0, 3.0, 4.0).board(Some(2.0), 0.0).having([telescope(6.0)]);
    let mut many = |look: Option<f64>| {
        room.look = look.map(|look| Seconds::new(look).expect("a time"));
        let found = room.options();
        let way = found.singles.iter().find(|way| way.changes == [Change::Device(0)]).expect("the device does it");
        assert_eq!(way.view.as_ref().and_then(|view| view.seen.looks), Some(4));
        way.rank.hard.contains(&Hard::ManyLooks)
    };
    assert!(!many(None) && !many(Some(15.0)) && many(Some(15.1)));
}
