//! Reading and filling the form of a task.
//!
//! The seat's form is `seat_form.rs`; the readings on the screen of a projector
//! are `screen.rs`.

use crate::care::ids::SeatId;
use crate::care::task::{Display, Goal, LightLevel, Marker, NewTask, Seat, TargetClass, TaskCode};
use crate::care::track::Track;
use crate::care::typed::Typed;
use crate::web::check::{Check, NAME};
use crate::web::form::{Entry, Faults};
use crate::web::words;

use super::examples::Examples;
use super::screen;

/// The closed lists of the task form.
pub(in crate::web) struct TaskLists {
    pub(in crate::web) codes: Vec<(String, String)>,
    pub(in crate::web) seats: Vec<(String, String)>,
    pub(in crate::web) tracks: Vec<(&'static str, &'static str)>,
    pub(in crate::web) goals: Vec<(&'static str, String)>,
    pub(in crate::web) displays: Vec<(&'static str, String)>,
    pub(in crate::web) markers: Vec<(&'static str, String)>,
    pub(in crate::web) lights: Vec<(&'static str, String)>,
    pub(in crate::web) targets: Vec<(&'static str, String)>,
    pub(in crate::web) examples: Examples,
    /// Whether the readings on a screen stand open at first.
    pub(in crate::web) screen_open: bool,
}

impl TaskLists {
    /// A code that the task has already, as the entry says, stays offered.
    pub(in crate::web) fn new(seats: &[Seat], mobility: bool, entry: &Entry, imperial: bool) -> Self {
        let kept = entry.get("code");
        let codes = TaskCode::ALL
            .iter()
            .filter(|code| mobility || !code.for_mobility_specialist() || code.code() == kept)
            .map(|code| {
                let hint = match code.usual_track() {
                    Track::Distance => "far",
                    Track::Near => "near",
                };
                (code.code().to_owned(), format!("{} ({hint})", words::capital(code.words())))
            })
            .collect();
        let mut choices = vec![(String::new(), "No seat: the distance below".to_owned())];
        choices.extend(seats.iter().map(|seat| {
            (seat.id.to_string(), format!("{}, {} from the board", seat.what.room, seat.what.distance.typed))
        }));
        Self {
            codes,
            seats: choices,
            tracks: vec![("distance", "Far: board, stage, street"), ("near", "Near: page, label, screen in the hand")],
            goals: words::options!(Goal),
            displays: words::options!(Display),
            markers: words::options!(Marker),
            lights: words::options!(LightLevel),
            targets: words::options!(TargetClass),
            examples: Examples::new(imperial),
            screen_open: screen::is_open(entry),
        }
    }
}

/// Reads the task form. `kept` is the code that the task has already.
pub(super) fn read(entry: &Entry, seats: &[Seat], mobility: bool, kept: Option<TaskCode>) -> Result<NewTask, Faults> {
    let mut check = Check::new(entry);
    let code: Option<TaskCode> = check.code("code", "What kind of thing");
    if code.is_some_and(|code| code.for_mobility_specialist() && !mobility && kept != Some(code)) {
        check.fault("code", "Streets and crossings are set by the mobility specialist. Choose another kind, or ask that person to add it.");
    }
    let name = check.text("name", "Name", NAME);
    let place = check.opt_text("place", "Where", NAME);
    let seat: Option<SeatId> = check.opt_code("seat", "Seat");
    if seat.is_some_and(|seat| seats.iter().all(|known| known.id != seat)) {
        check.fault("seat", "Choose one of the seats listed.");
    }
    let track: Option<Track> = check.code("track", "Far or near");
    let goal: Option<Goal> = check.code("goal", "What to do with it");
    let own_distance = check.opt_length("distance", "Distance", 0.02..=500.0);
    let x_height = check
        .opt_length("x_height", "Height of the small letters", 0.000_3..=3.0)
        .map(|tall| Typed::new(tall.typed, tall.value.in_millimetres()));
    let display: Option<Display> = check.opt_code("display", "Shown on");
    let marker: Option<Marker> = check.opt_code("marker", "Written with");
    let light: Option<LightLevel> = check.opt_code("light", "Light");
    let screen = screen::read(&mut check, display);
    let target: Option<TargetClass> = check.code("target", "What has to be recognised");
    let choices =
        if target == Some(TargetClass::Choice) { check.whole("choices", "Number of choices", 2..=20) } else { None };
    let measured = check.ticked("measured");
    if measured && x_height.is_none() && check.typed("x_height").is_empty() {
        check.fault("x_height", "Measured is ticked: write the height of the small letters, or take the tick away.");
    }
    let wanted_by = check.opt_text("wanted_by", "Who wants it", NAME);
    check.build(|| {
        Some(NewTask {
            code: code?,
            name,
            place,
            seat,
            track: track?,
            goal: goal?,
            own_distance,
            x_height,
            display,
            marker,
            light,
            screen,
            target: target?,
            choices,
            measured,
            wanted_by,
        })
    })
}

/// The form filled with a task.
pub(super) fn filled(task: &NewTask) -> Entry {
    let entry = Entry::default()
        .with("code", task.code.code())
        .with("name", task.name.clone())
        .with("place", task.place.clone())
        .with("seat", task.seat.map_or(String::new(), |seat| seat.to_string()))
        .with("track", task.track.code())
        .with("goal", task.goal.code())
        .with("distance", task.own_distance.as_ref().map_or(String::new(), |far| far.typed.clone()))
        .with("x_height", task.x_height.as_ref().map_or(String::new(), |tall| tall.typed.clone()))
        .with("display", task.display.map_or("", Display::code))
        .with("marker", task.marker.map_or("", Marker::code))
        .with("light", task.light.map_or("", LightLevel::code))
        .with("target", task.target.code())
        .with("choices", task.choices.map_or(String::new(), |choices| choices.to_string()))
        .with("measured", if task.measured { "yes" } else { "" })
        .with("wanted_by", task.wanted_by.clone());
    screen::fill(entry, task.screen.as_ref())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn whole() -> Entry {
        Entry::default()
            .with("code", "board_words")
            .with("name", "Maths board")
            .with("track", "distance")
            .with("goal", "copy")
            .with("target", "words")
    }

    fn fault(entry: &Entry, field: &str) -> String {
        match read(entry, &[], false, None) {
            Ok(_) => panic!("it was taken"),
            Err(faults) => faults.of(field).unwrap_or_else(|| panic!("another fault: {faults:?}")).to_owned(),
        }
    }

    #[test]
    fn a_length_without_a_unit_below_zero_or_beyond_all_bounds_is_said_beside_its_field() {
        for (typed, says) in [
            ("4.6", "add the unit"),
            ("-3 m", "Distance"),
            ("1e999 m", "Distance"),
            ("0 m", "more than zero"),
            ("900 m", "between"),
        ] {
            let found = fault(&whole().with("distance", typed), "distance");
            assert!(found.contains(says), "{typed}: {found}");
        }
        assert!(read(&whole().with("distance", "15 ft 6 in"), &[], false, None).is_ok());
    }

    #[test]
    fn odd_text_is_kept_as_typed_and_endless_text_is_not() {
        for name in ["O'Neil's \u{1f4cb}", "\u{5dc}\u{5d5}\u{5d7}"] {
            let taken = read(&whole().with("name", name), &[], false, None).map(|task| task.name);
            assert_eq!(taken.ok().as_deref(), Some(name));
        }
        assert!(fault(&whole().with("name", "x".repeat(10_000)), "name").contains("10000 characters"));
    }

    #[test]
    fn the_readings_on_a_screen_come_together_in_their_order_and_for_a_projector() {
        let readings = |white: &str, black: &str, off: &str| {
            whole()
                .with("display", "projector")
                .with("screen_white", white)
                .with("screen_black", black)
                .with("screen_off", off)
        };
        let entry = readings("550 lux", "151", "150,0 lx");
        let taken = read(&entry, &[], false, None).unwrap_or_else(|faults| panic!("{faults:?}"));
        let screen = taken.screen.clone().expect("the readings");
        assert_eq!((screen.white.typed.as_str(), screen.off.typed.as_str()), ("550 lux", "150,0 lx"));
        assert_eq!(screen.off.value.get(), 150.0);
        assert!(read(&filled(&taken), &[], false, None).is_ok_and(|again| again == taken));
        for (entry, field, says) in [
            (readings("550", "", "150"), "screen_black", "leave all three empty"),
            (readings("550", "151", ""), "screen_off", "with the projector off"),
            (readings("151", "550", "150"), "screen_black", "mixed up"),
            (readings("550", "151", "152"), "screen_off", "151 lux"),
            (readings("bright", "151", "150"), "screen_white", "must be a number"),
            (readings("-5", "151", "150"), "screen_white", "from 0 to"),
            (readings("550", "151", "150").with("display", "whiteboard"), "display", "belong to a projector"),
        ] {
            let found = fault(&entry, field);
            assert!(found.contains(says), "{field}: {found}");
        }
    }

    #[test]
    fn street_names_are_for_the_mobility_specialist() {
        let street = whole().with("code", "street_name");
        assert!(fault(&street, "code").contains("mobility specialist"));
        assert!(read(&street, &[], true, None).is_ok());
        assert!(read(&street, &[], false, Some(TaskCode::StreetName)).is_ok());
    }

    #[test]
    fn a_filled_form_reads_back_as_the_same_task() {
        let entry = whole()
            .with("distance", "4.6 m")
            .with("x_height", "3/4 in")
            .with("measured", "yes")
            .with("marker", "faint");
        let taken = read(&entry, &[], false, None).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert!(read(&filled(&taken), &[], false, None).is_ok_and(|again| again == taken));
    }
}
