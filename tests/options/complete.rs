//! Is anything better than what is listed? Every place and every height of the
//! rounding, every marker, device and power is tried here, alone and two by two,
//! on a room that was really changed and is judged by `Sight::judge`; costs are
//! reckoned again from the weights as they are written in `options/rank.rs`.

use farpoint::care::device::Strength;
use farpoint::care::options::{
    Change, Hard, MAGNIFIERS, NEAREST_PAGE, NEAREST_SEAT, Now, Options, Prescriber, TELESCOPES, Way,
    can_be_brought_near, can_be_written_larger, can_come_nearer, letters_wanted,
};
use farpoint::care::sight::{AtHand, AtHandAs, board_across, looked_from};
use farpoint::care::task::Marker;
use farpoint::care::track::{DeviceKind, Track};
use farpoint::vision::magnifier::{hand_field, window_field};
use farpoint::vision::telescope::coverage::views_from_the_side;
use farpoint::vision::telescope::{field_width, steadiness};
use farpoint::vision::units::{Degrees, Fraction, Metres};
use proptest::prelude::*;

use super::Room;
use super::search::{Draw, after, built, done, draw, held_power, letter_step, place, sits, step, tall, writes};

/// A way found by trying: whether it is hard to live with, and what it costs.
type Found = (bool, f64);

fn halvings(ratio: f64) -> f64 {
    let halvings = ratio.log2().max(0.0);
    halvings * (1.0 + halvings)
}

/// What a device costs and whether its view is hard, from where it is now used.
fn of_device(room: &Room, device: &AtHand, is_a_power: bool) -> Found {
    let (spec, wanted) = (&device.spec, letters_wanted(room.task.what.goal));
    let to_be_had = match device.source {
        _ if is_a_power => 5.0,
        AtHandAs::Own | AtHandAs::Loan => 3.0,
        AtHandAs::Pool => 4.0,
    };
    let letters = |field: Metres| (field.get() / tall(room)).floor();
    if device.track == Track::Near {
        let Some(Strength::Dioptres(power)) = spec.strength(Track::Near) else { panic!("it was looked through") };
        let lens = spec.lens_diameter.map(|lens| lens.in_metres());
        let eye = Metres::literal(0.25);
        let field = match spec.kind {
            DeviceKind::StandMagnifier => lens.and_then(|lens| window_field(lens, power, eye).ok()),
            DeviceKind::HandMagnifier => lens.and_then(|lens| hand_field(lens, power, eye).ok()),
            _ => None,
        };
        return (field.is_some_and(|field| letters(field) < f64::from(wanted)), to_be_had);
    }
    let power = spec.power.expect("a telescope");
    let field = if is_a_power { Degrees::new(75.0 / power.get()).ok() } else { spec.true_field };
    let from = looked_from(&room.task, room.seat.as_ref()).expect("a place");
    let far = Metres::new(from.to_the_board.get().hypot(from.aside.get())).expect("a distance");
    let few = field.is_some_and(|field| letters(field_width(field, far).expect("a width")) < f64::from(wanted));
    let across = field.zip(board_across(&room.task, room.seat.as_ref()));
    let many = across.is_some_and(|(field, width)| {
        let overlap = Fraction::literal(0.2);
        views_from_the_side(width, from, field, overlap).expect("a board").views_across > 12
    });
    // Up to 3, 4, 6, 8, 10 and beyond.
    let steady = [0.0, 0.5, 1.0, 1.5, 2.0, 3.0][steadiness(power).expect("a power") as usize];
    (few || many || power.get() > 10.0, to_be_had + steady)
}

/// The same way reckoned again: the room after it, and what it was before.
fn reckoned(before: &Room, changes: &[Change]) -> Found {
    let (room, with) = after(before, changes);
    let mut found = (false, if changes.len() > 1 { 0.5 } else { 0.0 });
    for change in changes {
        let (hard, cost) = match change {
            Change::Marker(_) | Change::Light(_) | Change::Screen(_) => (false, 1.0),
            Change::Copy(_) => (false, 3.0),
            Change::Seat(seat) => {
                let line = if seat.to_the_middle { 0.5 } else { 0.0 };
                (false, line + halvings(place(before) / seat.to.get()))
            }
            Change::Letters(letters) => of_letters(before, &room, letters.height.get()),
            Change::Device(_) | Change::Power(_) => {
                let device = &room.devices[with.expect("a device")];
                of_device(&room, device, matches!(change, Change::Power(_)))
            }
        };
        found = (found.0 || hard, found.1 + cost);
    }
    found
}

fn of_letters(before: &Room, room: &Room, height: f64) -> Found {
    let times = height / tall(before);
    let across = board_across(&room.task, room.seat.as_ref());
    let few =
        across.is_some_and(|width| (width.get() / height).floor() < f64::from(letters_wanted(room.task.what.goal)));
    (times > 3.0 + 1e-9 || few, halvings(times))
}

/// Every other place of the grid, on both lines, with whether it is the middle.
fn places(room: &Room) -> Vec<(f64, bool)> {
    if !can_come_nearer(&room.task) {
        return Vec::new();
    }
    let nearest = if room.task.what.track == Track::Near { NEAREST_PAGE } else { NEAREST_SEAT };
    let aside = looked_from(&room.task, room.seat.as_ref()).expect("a place").aside.get() > 0.005;
    let grid = step(room.units);
    let mut found = Vec::new();
    let mut at = (place(room) / grid + 1e-9).floor();
    while at * grid >= nearest.get() - 1e-9 {
        let far = at * grid;
        if far < place(room) - 1e-6 {
            found.push((far, false));
        }
        if aside {
            found.push((far, true));
        }
        at -= 1.0;
    }
    found
}

/// The smallest height of the grid, taller than now, that does it in this room.
fn least_height(room: &Room, with: Option<usize>, now: f64) -> Option<f64> {
    let grid = letter_step(room.units);
    let mut other = room.clone();
    let mut steps = (now / grid + 1e-6).floor() + 1.0;
    while steps * grid <= 1.0 {
        writes(&mut other, Metres::new(steps * grid).expect("a height"));
        if done(&other, with) {
            return Some(steps * grid);
        }
        steps += 1.0;
    }
    None
}

fn kinds(changes: &[Change]) -> Vec<String> {
    let mut kinds: Vec<String> = changes
        .iter()
        .map(|change| match change {
            Change::Seat(_) => "seat".to_owned(),
            Change::Letters(_) => "letters".to_owned(),
            Change::Marker(_) => "marker".to_owned(),
            Change::Copy(_) => "copy".to_owned(),
            Change::Light(_) => "light".to_owned(),
            Change::Screen(_) => "screen".to_owned(),
            Change::Device(index) => format!("device {index}"),
            Change::Power(power) => format!("power {:?}", power.strength),
        })
        .collect();
    kinds.sort();
    kinds
}

struct Tried<'a> {
    room: &'a Room,
    options: &'a Options,
    one_serves: bool,
}

impl Tried<'_> {
    /// The best that was found by trying is listed, and nothing where none was found.
    fn compare(&self, of: &[&str], found: impl IntoIterator<Item = Found>) {
        let best = found.into_iter().min_by(|one, other| one.partial_cmp(other).expect("numbers"));
        let mut wanted: Vec<String> = of.iter().map(|kind| (*kind).to_owned()).collect();
        wanted.sort();
        let ways: &[Way] = if of.len() == 1 { &self.options.singles } else { &self.options.pairs };
        let listed = ways.iter().find(|way| kinds(&way.changes) == wanted);
        match (best, listed) {
            (None, None) => {}
            (None, Some(_)) => panic!("{wanted:?} is listed, and nothing does it"),
            (Some((hard, cost)), None) => {
                let passed_over = of.len() > 1 && hard && self.one_serves;
                assert!(passed_over, "{wanted:?} at {cost} (hard: {hard}) does it and is not listed");
            }
            (Some((hard, cost)), Some(way)) => {
                let told = (!way.rank.hard.is_empty(), way.rank.cost);
                assert!(
                    told.0 == hard && told.1 <= cost + 1e-9,
                    "{wanted:?}: {told:?} is listed, ({hard}, {cost}) does it"
                );
            }
        }
    }

    /// What two changes cost together.
    fn pair(one: Found, other: Found) -> Found {
        (one.0 || other.0, one.1 + other.1 + 0.5)
    }

    fn readable_from(&self, room: &Room, with: Option<usize>, proper: impl Fn(&Room) -> bool) -> Vec<(Room, f64)> {
        let cost = |far: f64, middle: bool| halvings(place(self.room) / far) + if middle { 0.5 } else { 0.0 };
        places(self.room)
            .into_iter()
            .filter_map(|(far, middle)| {
                let mut moved = room.clone();
                sits(&mut moved, Metres::new(far).expect("a seat"), middle);
                (done(&moved, with) && proper(&moved)).then(|| (moved, cost(far, middle)))
            })
            .collect()
    }

    fn everything(&self, extra: &[(String, usize)], all: &Room) {
        let room = self.room;
        let ours = can_be_written_larger(&room.task);
        self.compare(&["seat"], self.readable_from(room, None, |_| true).into_iter().map(|(_, cost)| (false, cost)));
        let letters = least_height(room, None, tall(room)).filter(|_| ours);
        self.compare(&["letters"], letters.map(|height| of_letters(room, room, height)));
        // Seat and letters: from every place the smallest that does it, where
        // neither would have done it alone.
        let mut shared = Vec::new();
        for (far, middle) in places(room).into_iter().filter(|_| ours) {
            let mut moved = room.clone();
            sits(&mut moved, Metres::new(far).expect("a seat"), middle);
            let Some(height) = least_height(&moved, None, tall(room)) else { continue };
            if done(&moved, None) || letters.is_some_and(|alone| height > alone - 1e-9) {
                continue;
            }
            let seat = halvings(place(room) / far) + if middle { 0.5 } else { 0.0 };
            shared.push(Self::pair((false, seat), of_letters(room, &moved, height)));
        }
        self.compare(&["seat", "letters"], shared);
        let mut least_power = false;
        for (kind, index) in extra {
            let is_a_power = kind.starts_with("power");
            let device = &all.devices[*index];
            let of_track = device.track == room.task.what.track;
            let alone = of_track && done(all, Some(*index));
            // Of the powers that do it alone the least is listed.
            let single = (alone && !(is_a_power && least_power)).then(|| of_device(all, device, is_a_power));
            least_power |= alone && is_a_power;
            self.compare(&[kind], single);
            let mut nearer = Vec::new();
            if of_track && !alone && room.task.what.track == Track::Distance {
                for (moved, seat) in self.readable_from(all, Some(*index), |moved| !done(moved, None)) {
                    nearer.push(Self::pair((false, seat), of_device(&moved, device, is_a_power)));
                }
            }
            self.compare(&["seat", kind], nearer);
            let mut taller = None;
            if of_track
                && !alone
                && ours
                && let Some(height) = least_height(all, Some(*index), tall(room))
            {
                let mut written = all.clone();
                writes(&mut written, Metres::new(height).expect("a height"));
                taller = (!done(&written, None))
                    .then(|| Self::pair(of_letters(room, &written, height), of_device(&written, device, is_a_power)));
            }
            self.compare(&["letters", kind], taller);
        }
    }

    /// With each marker of this ground that is not the one in use.
    fn with_markers(&self, extra: &[(String, usize)], all: &Room) {
        let Some(now) = self.room.task.what.marker else { return };
        let dark = |marker: Marker| marker == Marker::WhiteOnDark;
        let mut single = false;
        let (mut seats, mut letters) = (Vec::new(), Vec::new());
        let mut devices: Vec<Vec<Found>> = vec![Vec::new(); extra.len()];
        for marker in Marker::ALL.iter().filter(|marker| dark(**marker) == dark(now) && **marker != now) {
            if !can_be_written_larger(&self.room.task) {
                continue;
            }
            let mut written = all.clone();
            written.task.what.marker = Some(*marker);
            if done(&written, None) {
                single = true;
                continue;
            }
            // Where the marker in use would do as well, the other is no part of a pair.
            let needed = |other: &Room, with: Option<usize>| {
                let mut as_now = other.clone();
                as_now.task.what.marker = Some(now);
                !done(&as_now, with)
            };
            for (_, cost) in self.readable_from(&written, None, |moved| needed(moved, None)) {
                seats.push(Self::pair((false, 1.0), (false, cost)));
            }
            if let Some(height) = least_height(&written, None, tall(self.room)) {
                let mut taller = written.clone();
                writes(&mut taller, Metres::new(height).expect("a height"));
                if needed(&taller, None) {
                    letters.push(Self::pair((false, 1.0), of_letters(self.room, &written, height)));
                }
            }
            let mut least_power = false;
            for (at, (kind, index)) in extra.iter().enumerate() {
                let device = &all.devices[*index];
                let is_a_power = kind.starts_with("power");
                if device.track == self.room.task.what.track
                    && done(&written, Some(*index))
                    && needed(&written, Some(*index))
                    && !(is_a_power && least_power)
                {
                    least_power |= is_a_power;
                    devices[at].push(Self::pair((false, 1.0), of_device(&written, device, is_a_power)));
                }
            }
        }
        self.compare(&["marker"], single.then_some((false, 1.0)));
        if single {
            return;
        }
        self.compare(&["marker", "seat"], seats);
        self.compare(&["marker", "letters"], letters);
        for ((kind, _), found) in extra.iter().zip(devices) {
            self.compare(&["marker", kind], found);
        }
    }
}

/// The devices of the room, and for those who prescribe every power that no
/// device has: their names as kinds, and their places in the extended room.
fn held_in(room: &Room) -> (Vec<(String, usize)>, Room) {
    let mut all = room.clone();
    let mut named: Vec<(String, usize)> =
        (0..room.devices.len()).map(|index| (format!("device {index}"), index)).collect();
    if room.prescriber.is_some() {
        let strengths: Vec<Strength> = match room.task.what.track {
            Track::Distance => TELESCOPES.iter().copied().map(Strength::Times).collect(),
            Track::Near => MAGNIFIERS.iter().copied().map(Strength::Dioptres).collect(),
        };
        for strength in strengths {
            named.push((format!("power {strength:?}"), all.devices.len()));
            all.devices.push(held_power(strength, room));
        }
    }
    (named, all)
}

/// The reason says what the figures say.
fn reason_holds(room: &Room, way: &Way) {
    let (hard, cost) = reckoned(room, &way.changes);
    assert!((cost - way.rank.cost).abs() < 1e-9, "{} is told, {cost} reckoned", way.rank.cost);
    assert_eq!(hard, !way.rank.hard.is_empty(), "{:?}", way.rank.hard);
    let reason = way.rank.reason();
    let students = way
        .changes
        .iter()
        .filter(|change| !matches!(change, Change::Marker(_) | Change::Letters(_) | Change::Light(_)))
        .count();
    assert_eq!(students, way.rank.of_the_student);
    assert_eq!(reason.contains("nothing is asked of the student"), students == 0, "{reason}");
    assert_eq!(reason.contains("two changes"), way.changes.len() == 2, "{reason}");
    assert_eq!(reason.starts_with("Stands behind the others"), hard, "{reason}");
    for one in Hard::ALL {
        assert_eq!(reason.contains(one.words()), way.rank.hard.contains(one), "{reason}");
    }
}

fn tried(draw: &Draw, prescribes: bool) {
    let mut room = built(draw);
    room.prescriber = prescribes.then_some(Prescriber { eye: None, glasses: None });
    let options = room.options();
    for way in options.singles.iter().chain(&options.pairs) {
        reason_holds(&room, way);
    }
    assert!(options.singles.windows(2).all(|two| two[0].rank.compare(&two[1].rank).is_le()), "in their order");
    assert!(options.pairs.windows(2).all(|two| two[0].rank.compare(&two[1].rank).is_le()), "in their order");
    if !matches!(options.now, Now::Short(_)) {
        return;
    }
    let one_serves = options.singles.iter().any(|way| way.rank.hard.is_empty());
    let (named, all) = held_in(&room);
    let tried = Tried { room: &room, options: &options, one_serves };
    tried.everything(&named, &all);
    tried.with_markers(&named, &all);
    assert!(can_be_brought_near(&room.task) || options.singles.iter().all(|way| kinds(&way.changes) != ["copy"]));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn no_place_no_height_no_marker_no_device_and_no_power_does_it_for_less(draw in draw(), prescribes in any::<bool>()) {
        tried(&draw, prescribes);
    }
}
