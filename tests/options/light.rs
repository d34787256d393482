//! Light: where another light is known to be needed, it is one of the changes;
//! where nothing is known, the page says what to measure.

use farpoint::care::options::{Change, Direction, Now, What, WhyNot};
use farpoint::care::task::{Display, LightLevel, TaskCode};
use farpoint::vision::units::Lux;

use super::{Room, telescope};

fn why(room: &Room) -> Option<WhyNot> {
    room.options().left_out.iter().find(|left| left.what == What::Light).map(|left| left.why)
}

/// A page of small print at a desk with this reading of a meter, and the light that suits.
fn at_a_desk(lux: Option<f64>, suits: Option<f64>) -> Room {
    let of_the_desk = Room::of_the_reference().seat;
    let mut room = Room::of_the_reference().at_near(0.2, 0.25);
    room.seat = of_the_desk;
    room.seat.as_mut().expect("a seat").what.illuminance = lux.map(|lux| Lux::new(lux).expect("a reading"));
    room.sight.evaluations[0].lighting = suits.map(|lux| Lux::new(lux).expect("a light"));
    room
}

#[test]
fn a_dim_board_that_could_be_read_asks_for_light_and_nothing_else() {
    let mut room = Room::of_the_reference();
    room.task.what.x_height = Some(super::centimetres(15.0));
    assert!(matches!(room.options().now, Now::Readable(_)));
    room.task.what.light = Some(LightLevel::Dim);
    let found = room.options();
    assert!(matches!(found.now, Now::InAnotherLight(_)));
    let [only] = found.singles.as_slice() else { panic!("the light alone") };
    let Change::Light(light) = only.changes[0] else { panic!("the light alone") };
    assert_eq!((light.direction, light.now, light.to), (Direction::More, None, None));
    assert!(found.pairs.is_empty() && only.rank.reason().contains("nothing is asked of the student"));
    // The seat's own light counts where the task has none of its own.
    room.task.what.light = None;
    room.seat.as_mut().expect("a seat").what.light = Some(LightLevel::Dim);
    assert!(matches!(room.options().now, Now::InAnotherLight(_)));
    room.task.what.light = Some(LightLevel::Normal);
    assert!(matches!(room.options().now, Now::Readable(_)));
}

#[test]
fn in_a_dim_room_every_other_change_stands_beside_the_light() {
    let mut lit = Room::of_the_reference().having([telescope(6.0)]);
    lit.task.what.code = TaskCode::NameOnLocker;
    let mut dim = lit.clone();
    dim.task.what.light = Some(LightLevel::Dim);
    let (lit, dim) = (lit.options(), dim.options());
    assert!(dim.singles.is_empty() && !lit.singles.is_empty());
    assert_eq!(dim.pairs.len(), lit.singles.len());
    for single in &lit.singles {
        let pair = dim.pairs.iter().find(|way| way.changes[1..] == single.changes[..]).expect("the same with light");
        assert!(matches!(pair.changes[0], Change::Light(_)) && pair.judged == single.judged);
        // The light costs 1, and half a point for being agreed on, too.
        assert!((pair.rank.cost - single.rank.cost - 1.5).abs() < 1e-9);
    }
    // A copy at the desk has its own light.
    let mut board = Room::of_the_reference();
    board.task.what.light = Some(LightLevel::Dim);
    assert!(board.options().singles.iter().all(|way| matches!(way.changes[0], Change::Copy(_))));
    // Nobody lights a bus: it is said, and no figure allows for it.
    let mut bus = Room::of_the_reference().having([telescope(6.0)]);
    bus.task.what.code = TaskCode::BusNumber;
    bus.task.what.light = Some(LightLevel::Night);
    let found = bus.options();
    assert!(found.dim && found.singles.iter().all(|way| matches!(way.changes[0], Change::Device(_))));
}

#[test]
fn a_reading_at_the_desk_is_held_against_the_light_that_suits() {
    let light = |lux, suits| {
        let found = at_a_desk(lux, suits).options();
        found.pairs.iter().find_map(|way| match way.changes[0] {
            Change::Light(light) => Some(light),
            _ => None,
        })
    };
    // 300 of 800 lux is far too little, 600 is near enough, 1200 far too much.
    let found = light(Some(300.0), Some(800.0)).expect("more light");
    assert_eq!(found.direction, Direction::More);
    assert_eq!(found.now.map(Lux::get), Some(300.0));
    assert_eq!(found.to.map(|(lux, _)| lux.get()), Some(800.0));
    assert_eq!(light(Some(600.0), Some(800.0)), None);
    let found = light(Some(1_200.0), Some(800.0)).expect("less light");
    assert_eq!(found.direction, Direction::Less);
    assert_eq!(light(Some(300.0), None), None);
    assert_eq!(why(&at_a_desk(Some(600.0), Some(800.0))), Some(WhyNot::LightSuits));
    assert_eq!(why(&at_a_desk(None, Some(800.0))), Some(WhyNot::LightNotMeasured));
    // A reading at the desk says nothing of the board.
    let mut board = Room::of_the_reference();
    board.seat.as_mut().expect("a seat").what.illuminance = Some(Lux::literal(50.0));
    board.sight.evaluations[0].lighting = Some(Lux::literal(800.0));
    assert_eq!(why(&board), Some(WhyNot::LightNotMeasured));
}

#[test]
fn before_a_screen_it_is_said_what_to_measure_and_faint_ink_gains_nothing() {
    let mut room = Room::of_the_reference();
    room.task.what.display = Some(Display::Projector);
    assert_eq!(why(&room), Some(WhyNot::MeasureTheScreen));
    // A dark room is a projector's friend: nothing has to be mended for it.
    room.task.what.light = Some(LightLevel::Dim);
    assert!(matches!(room.options().now, Now::Short(_)));
    assert!(room.options().pairs.iter().all(|way| !matches!(way.changes[0], Change::Light(_))));
    room.task.what.display = Some(Display::FlatScreen);
    assert_eq!(why(&room), Some(WhyNot::ScreenNotMeasured));
    let mut faint = Room::of_the_reference();
    faint.task.what.marker = Some(farpoint::care::task::Marker::Faint);
    assert_eq!(why(&faint), Some(WhyNot::LightDarkensNothing));
}
