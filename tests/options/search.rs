//! On random rooms: whatever is listed does it, one step of the rounding the
//! other way does not, and nothing that does it was passed over. Judged by
//! `Sight::judge` on a task that was really changed, never by the search itself.

use farpoint::care::device::{DeviceSpec, Strength};
use farpoint::care::options::{Change, Now, Options, Way, can_be_written_larger, does_it};
use farpoint::care::sight::AtHand;
use farpoint::care::task::{Goal, Marker, TaskCode};
use farpoint::care::track::{DeviceKind, Track};
use farpoint::vision::contrast::LogContrastSensitivity;
use farpoint::vision::demand::straight_on;
use farpoint::vision::length::shown::Units;
use farpoint::vision::readable::{Answer, Judgement, Viewer, judge};
use farpoint::vision::units::{Dioptres, Lux, Metres, Millimetres};
use proptest::prelude::*;
use proptest::sample::select;

use super::{Room, metres, telescope};

/// The room with one change really made, and the device it is then seen with.
fn changed(room: &Room, change: &Change) -> (Room, Option<usize>) {
    let mut after = room.clone();
    match change {
        Change::Seat(seat) => sits(&mut after, seat.to, seat.to_the_middle),
        Change::Letters(letters) => writes(&mut after, letters.height),
        Change::Marker(markers) => after.task.what.marker = markers.first().copied(),
        Change::Copy(_) => {}
        Change::Light(_) => after.task.what.light = None,
        Change::Screen(to) => lights_the_screen(&mut after, to.at_most.get()),
        Change::Device(index) => return (after, Some(*index)),
        Change::Power(power) => {
            after.devices.push(held_power(power.strength, room));
            let last = after.devices.len() - 1;
            return (after, Some(last));
        }
    }
    (after, None)
}

/// The light of the room on the screen is another, the projector the same.
pub(super) fn lights_the_screen(room: &mut Room, to: f64) {
    let screen = room.task.what.screen.as_mut().expect("readings");
    let more = to - screen.off.value.get();
    for read in [&mut screen.white, &mut screen.black, &mut screen.off] {
        read.value = Lux::new(read.value.get() + more).expect("a reading");
    }
}

/// A power that nobody has here, as it would be looked through.
pub(super) fn held_power(strength: Strength, room: &Room) -> AtHand {
    let spec = match strength {
        Strength::Times(power) => DeviceSpec { power: Some(power), ..DeviceSpec::of(DeviceKind::HandheldMonocular) },
        Strength::Dioptres(power) => {
            DeviceSpec { equivalent_power: Some(power), ..DeviceSpec::of(DeviceKind::HandMagnifier) }
        }
    };
    AtHand { spec, track: room.task.what.track, ..telescope(2.0) }
}

pub(super) fn sits(room: &mut Room, to: Metres, to_the_middle: bool) {
    match (&mut room.task.what.own_distance, &mut room.seat) {
        (Some(own), _) => *own = metres(to.get()),
        (None, Some(seat)) => {
            seat.what.distance = metres(to.get());
            room.task.seat_distance = Some(metres(to.get()));
            if to_the_middle {
                seat.what.aside = None;
            }
        }
        (None, None) => panic!("no place to come from"),
    }
}

pub(super) fn writes(room: &mut Room, height: Metres) {
    room.task.what.x_height = Some(super::centimetres(height.get() * 100.0));
}

/// The answer for the room as it is, with or without a device.
fn answer(room: &Room, with: Option<usize>) -> Option<Judgement> {
    let track = room.task.what.track;
    let device: Option<&AtHand> = with.map(|index| &room.devices[index]);
    if let Some(device) = device.filter(|_| track == Track::Near) {
        let Some(Strength::Dioptres(power)) = device.spec.strength(track) else { return None };
        let near = Metres::new(1.0 / power.get()).expect("a distance");
        return held(room, near, room.task.what.x_height.as_ref()?.value.in_metres());
    }
    let used = match device {
        None => room.sight.unaided(track).ok()?,
        Some(device) => {
            let used = room.sight.through(device).ok()?;
            let from = farpoint::care::sight::looked_from(&room.task, room.seat.as_ref()).ok()?;
            let far = from.to_the_board.get().hypot(from.aside.get());
            // A device out of focus, or nearer than its label holds for, shows nothing.
            if far < 2.0 || device.spec.near_focus.is_some_and(|nearest| nearest.get() > far) {
                return None;
            }
            used
        }
    };
    match room.sight.judge(&room.task, room.seat.as_ref(), &used, &room.goals, &room.table).ok()? {
        Answer::Judged(judged) => Some(judged),
        Answer::MoveTheSeat { .. } => None,
    }
}

/// Something held straight before the eyes, judged by the near acuity.
fn held(room: &Room, distance: Metres, height: Metres) -> Option<Judgement> {
    let viewer = Viewer {
        acuity: room.sight.unaided(Track::Near).ok()?.acuity,
        sensitivity: room.sight.contrast().map(|(found, _)| found),
    };
    let target = room.sight.contrast_of(&room.task.what, &room.table);
    let needed = room.goals.needed(room.task.what.goal.into());
    judge(straight_on(height, distance).ok()?, target, viewer, needed).ok()
}

/// Both reserves hold as far as they are known; a known contrast never fails.
pub(super) fn done(room: &Room, with: Option<usize>) -> bool {
    answer(room, with).is_some_and(|judged| does_it(&judged))
}

pub(super) fn after(room: &Room, changes: &[Change]) -> (Room, Option<usize>) {
    changes.iter().fold((room.clone(), None), |(room, with), change| {
        let (after, device) = changed(&room, change);
        (after, device.or(with))
    })
}

pub(super) fn step(units: Units) -> f64 {
    match units {
        Units::Metric => 0.1,
        Units::Imperial => 0.1524,
    }
}

pub(super) fn letter_step(units: Units) -> f64 {
    match units {
        Units::Metric => 0.005,
        Units::Imperial => 0.00635,
    }
}

pub(super) fn place(room: &Room) -> f64 {
    room.task.what.own_distance.as_ref().or(room.task.seat_distance.as_ref()).expect("a distance").value.get()
}

pub(super) fn tall(room: &Room) -> f64 {
    room.task.what.x_height.as_ref().expect("a height").value.in_metres().get()
}

/// What must hold of one way, single or pair.
fn holds(room: &Room, way: &Way) {
    let (changed_room, with) = after(room, &way.changes);
    for change in &way.changes {
        if let Change::Copy(copies) = change {
            for copy in copies {
                let found = held(&changed_room, copy.distance, copy.height).expect("a judgement");
                assert!(does_it(&found), "a copy of that size does not do it");
                let smaller = Metres::new(copy.height.get() - letter_step(room.units)).ok();
                if let Some(smaller) = smaller.filter(|smaller| smaller.get() > 1e-6) {
                    let found = held(&changed_room, copy.distance, smaller);
                    assert!(!found.is_some_and(|found| does_it(&found)), "a smaller copy does it, too");
                }
            }
            return;
        }
    }
    let judged = answer(&changed_room, with).expect("a judgement");
    assert!(does_it(&judged), "it does not do it: {judged:?}");
    let apart = judged.acuity_reserve.get() / way.judged.acuity_reserve.get() - 1.0;
    assert!(
        apart.abs() < 1e-9 && judged.contrast == way.judged.contrast,
        "{judged:?} is reached, {:?} shown",
        way.judged
    );
    for change in &way.changes {
        match change {
            // Beside letters, or beside a device whose view is narrow, the place is
            // chosen by what the pair costs; `complete.rs` tries every one.
            Change::Seat(seat) if way.changes.len() == 1 => {
                let farther = seat.to.get() + step(room.units);
                if farther < place(room) - 1e-6 {
                    let mut back = changed_room.clone();
                    sits(&mut back, Metres::new(farther).expect("a seat"), seat.to_the_middle);
                    assert!(!done(&back, with), "a seat farther back does it, too");
                }
                assert!(seat.to.get() <= place(room) + 1e-9);
            }
            Change::Letters(letters) => {
                let smaller = letters.height.get() - letter_step(room.units);
                if smaller > tall(room) + 1e-6 {
                    let mut less = changed_room.clone();
                    writes(&mut less, Metres::new(smaller).expect("a height"));
                    assert!(!done(&less, with), "smaller letters do it, too");
                }
                assert!(letters.height.get() > tall(room));
            }
            Change::Marker(markers) => {
                for marker in markers {
                    let mut other = changed_room.clone();
                    other.task.what.marker = Some(*marker);
                    assert!(done(&other, with), "{marker} does not do it");
                }
            }
            Change::Screen(to) => {
                // The room may be no brighter by a whole lux.
                let mut brighter = changed_room.clone();
                lights_the_screen(&mut brighter, to.at_most.get() + 1.0);
                assert!(!done(&brighter, with), "a brighter room does it, too");
                assert!(to.at_most < to.now);
            }
            Change::Seat(_) | Change::Copy(_) | Change::Device(_) | Change::Power(_) | Change::Light(_) => {}
        }
    }
}

/// No part of a pair does it alone.
fn needs_both(room: &Room, pair: &Way) {
    assert_eq!(pair.changes.len(), 2);
    for change in &pair.changes {
        if matches!(change, Change::Copy(_)) {
            let Change::Marker(_) = pair.changes[0] else { panic!("a copy goes with a marker only") };
            continue;
        }
        let (alone, with) = changed(room, change);
        assert!(!done(&alone, with), "one part of the pair does it alone");
    }
}

/// Every device, the tallest letters and every marker were tried here, too; for
/// places and heights read `complete.rs`.
fn nothing_passed_over(room: &Room, options: &Options) {
    if matches!(options.now, Now::Readable(_) | Now::LargeEnough(_)) {
        return;
    }
    let single = |kind: fn(&Change) -> bool| options.singles.iter().any(|way| way.changes.iter().any(kind));
    if !matches!(options.now, Now::Short(_)) {
        return;
    }
    for index in 0..room.devices.len() {
        let listed = options.singles.iter().any(|way| way.changes == [Change::Device(index)]);
        let of_track = room.devices[index].track == room.task.what.track;
        assert_eq!(listed, of_track && done(room, Some(index)), "device {index}");
    }
    if can_be_written_larger(&room.task) {
        let mut huge = room.clone();
        writes(&mut huge, Metres::literal(0.95));
        if done(&huge, None) {
            assert!(single(|change| matches!(change, Change::Letters(_))), "larger letters do it");
        }
        for marker in Marker::ALL {
            let dark = |marker: Marker| marker == Marker::WhiteOnDark;
            let now = room.task.what.marker;
            if now.is_none_or(|now| dark(now) != dark(*marker)) {
                continue;
            }
            let mut other = room.clone();
            other.task.what.marker = Some(*marker);
            if done(&other, None) {
                assert!(single(|change| matches!(change, Change::Marker(_))), "{marker} does it");
            }
        }
    }
}

/// A device as drawn, so that a failure prints it.
#[derive(Debug, Clone, Copy)]
enum Drawn {
    Telescope { power: f64, near_focus: Option<f64> },
    Magnifier { dioptres: Option<f64> },
}

/// A room as drawn.
#[derive(Debug, Clone)]
pub(super) struct Draw {
    logmar: f64,
    contrast: Option<f64>,
    colour_loss: bool,
    tall_cm: f64,
    far: f64,
    width: Option<f64>,
    aside: f64,
    code: TaskCode,
    goal: Goal,
    marker: Option<Marker>,
    devices: Vec<Drawn>,
    feet: bool,
    near: bool,
}

fn device(drawn: Drawn) -> AtHand {
    match drawn {
        Drawn::Telescope { power, near_focus } => {
            let mut device = telescope(power);
            device.spec.near_focus = near_focus.map(Metres::literal);
            device
        }
        Drawn::Magnifier { dioptres } => AtHand {
            spec: DeviceSpec {
                equivalent_power: dioptres.map(|power| Dioptres::new(power).expect("a power")),
                lens_diameter: Some(Millimetres::literal(50.0)),
                ..DeviceSpec::of(DeviceKind::StandMagnifier)
            },
            track: Track::Near,
            ..telescope(2.0)
        },
    }
}

pub(super) fn built(draw: &Draw) -> Room {
    let devices = draw.devices.iter().copied().map(device);
    let mut room = Room::with(draw.logmar, draw.tall_cm, draw.far).board(draw.width, draw.aside).having(devices);
    if draw.near {
        room = room.at_near(draw.tall_cm / 30.0 + 0.05, 0.2 + draw.far / 20.0);
    } else {
        room.task.what.code = draw.code;
    }
    room.task.what.goal = draw.goal;
    room.task.what.marker = draw.marker;
    room.units = if draw.feet { Units::Imperial } else { Units::Metric };
    let found = &mut room.sight.evaluations[0];
    found.contrast = draw.contrast.map(|log| LogContrastSensitivity::new(log).expect("on a chart"));
    found.colour_loss = draw.colour_loss;
    room
}

fn drawn_device() -> impl Strategy<Value = Drawn> {
    let far = (1.5_f64..14.0, select(vec![None, Some(0.25), Some(1.5), Some(3.0)]))
        .prop_map(|(power, near_focus)| Drawn::Telescope { power, near_focus });
    let near = prop::option::weighted(0.8, 4.0_f64..40.0).prop_map(|dioptres| Drawn::Magnifier { dioptres });
    prop_oneof![3 => far, 1 => near]
}

pub(super) fn draw() -> impl Strategy<Value = Draw> {
    let eyes = (0.0_f64..1.6, prop::option::weighted(0.7, 0.3_f64..1.9), prop::bool::weighted(0.1));
    let board = (0.4_f64..30.0, 0.6_f64..9.0, prop::option::of(0.8_f64..4.0), prop_oneof![Just(0.0), 0.3_f64..5.0]);
    let task = (
        select(TaskCode::ALL.to_vec()),
        select(Goal::ALL.to_vec()),
        prop::option::weighted(0.9, select(Marker::ALL.to_vec())),
    );
    let devices = prop::collection::vec(drawn_device(), 0..4);
    (eyes, board, task, devices, any::<bool>(), prop::bool::weighted(0.25)).prop_map(
        |((logmar, contrast, colour_loss), (tall_cm, far, width, aside), (code, goal, marker), devices, feet, near)| {
            Draw { logmar, contrast, colour_loss, tall_cm, far, width, aside, code, goal, marker, devices, feet, near }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn whatever_is_listed_does_it_and_nothing_is_passed_over(draw in draw()) {
        let room = built(&draw);
        let options = room.options();
        for way in &options.singles {
            prop_assert_eq!(way.changes.len(), 1);
            holds(&room, way);
        }
        for pair in &options.pairs {
            holds(&room, pair);
            needs_both(&room, pair);
        }
        let contrast_fails = answer(&room, None).is_some_and(|now| now.contrast.holds(now.needed.contrast) == Some(false));
        match options.now {
            Now::Readable(_) | Now::LargeEnough(_) => {
                prop_assert!(done(&room, None));
                prop_assert!(options.singles.is_empty() && options.pairs.is_empty());
            }
            Now::InAnotherLight(_) => prop_assert!(false, "no light was drawn"),
            Now::MoveTheSeat(_) => prop_assert!(options.singles.iter().all(|way| matches!(way.changes[0], Change::Seat(_)))),
            Now::Short(_) => {
                prop_assert!(!done(&room, None));
                // Nothing but a marker, or a darker room, mends contrast.
                if contrast_fails {
                    for way in options.singles.iter().chain(&options.pairs) {
                        prop_assert!(way.changes.iter().any(|change| matches!(change, Change::Marker(_) | Change::Screen(_))));
                    }
                }
            }
        }
        nothing_passed_over(&room, &options);
    }
}
