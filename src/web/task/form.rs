//! Reading and filling the forms of a task and of a seat.

use jiff::civil::Date;

use crate::care::ids::SeatId;
use crate::care::room::to_the_right;
use crate::care::task::{
    Aside, Display, Glare, Goal, LightLevel, Marker, NewSeat, NewTask, ScreenLight, Seat, TargetClass, TaskCode,
};
use crate::care::track::Track;
use crate::care::typed::Typed;
use crate::vision::demand;
use crate::vision::units::Lux;
use crate::web::check::{Check, LONG_TEXT, NAME};
use crate::web::confirm;
use crate::web::form::{Entry, Faults, FormView};
use crate::web::words;

use super::layout;

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

/// Hints with examples in the reader's units.
pub(in crate::web) struct Examples {
    pub(in crate::web) distance: &'static str,
    pub(in crate::web) height: &'static str,
    pub(in crate::web) board: &'static str,
    pub(in crate::web) gap: &'static str,
}

impl Examples {
    const fn new(imperial: bool) -> Self {
        if imperial {
            Self {
                distance: "With its unit, for example 15 ft or 15 ft 6 in",
                height: "Not the capitals. With its unit, for example 1 1/2 in or 3/4 in",
                board: "For example 8 ft",
                gap: "From the middle of one to the middle of the next, for example 4 ft",
            }
        } else {
            Self {
                distance: "With its unit, for example 4.6 m or 15 ft",
                height: "Not the capitals. With its unit, for example 3.5 cm or 12 mm",
                board: "For example 2.4 m",
                gap: "From the middle of one to the middle of the next, for example 1.2 m",
            }
        }
    }
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
            screen_open: READINGS.iter().any(|(field, ..)| !entry.get(field).trim().is_empty()),
        }
    }
}

/// The closed lists of the seat form.
pub(in crate::web) struct SeatLists {
    pub(in crate::web) sides: Vec<(&'static str, String)>,
    pub(in crate::web) lights: Vec<(&'static str, String)>,
    pub(in crate::web) glare: Vec<(&'static str, String)>,
    pub(in crate::web) examples: Examples,
    /// Whether the rows of seats stand open at first.
    pub(in crate::web) layout_open: bool,
}

impl SeatLists {
    pub(in crate::web) fn new(form: &FormView, imperial: bool) -> Self {
        Self {
            sides: words::options!(Aside),
            lights: words::options!(LightLevel),
            glare: words::options!(Glare),
            examples: Examples::new(imperial),
            layout_open: layout::is_open(form),
        }
    }
}

/// Reads the task form. `kept` is the code that the task has already.
pub(in crate::web) fn task(
    entry: &Entry,
    seats: &[Seat],
    mobility: bool,
    kept: Option<TaskCode>,
) -> Result<NewTask, Faults> {
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
    let screen = screen(&mut check, display);
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

/// The three readings on a projector's screen: the field, its label, its short name.
const READINGS: [(&str, &str, &str); 3] = [
    ("screen_white", "Reading with a white slide", "with a white slide"),
    ("screen_black", "Reading with a black slide", "with a black slide"),
    ("screen_off", "Reading with the projector off", "with the projector off"),
];

/// Reads what a meter read on the screen: all three readings, or none.
fn screen(check: &mut Check<'_>, display: Option<Display>) -> Option<ScreenLight> {
    let given = READINGS.map(|(field, ..)| !check.typed(field).is_empty());
    if given == [false; 3] {
        return None;
    }
    if display != Some(Display::Projector) && check.is_whole("display") {
        check.fault(
            "display",
            "The readings on a screen belong to a projector. Choose it here, or leave the readings empty.",
        );
    }
    let read = READINGS.map(|(field, label, _)| {
        let lux = check.opt_number(field, label, "lux", 0.0..=100_000.0)?;
        Some(Typed::new(check.typed(field), Lux::new(lux).ok()?))
    });
    for ((field, _, short), given) in READINGS.into_iter().zip(given) {
        if !given {
            check.fault(field, format!("Write what the meter read {short}, or leave all three empty."));
        }
    }
    let [Some(white), Some(black), Some(off)] = read else { return None };
    if black.value >= white.value {
        check.fault(
            "screen_black",
            format!("This must be less than with a white slide, {} lux. Were the two mixed up?", white.value.get()),
        );
    } else if off.value > black.value {
        check.fault(
            "screen_off",
            format!(
                "This cannot be more than with a black slide, {} lux: the light of the room is in that reading, too.",
                black.value.get()
            ),
        );
    }
    Some(ScreenLight { white, black, off })
}

/// The form filled with a task.
pub(in crate::web) fn entry_of_task(task: &NewTask) -> Entry {
    Entry::default()
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
        .with("screen_white", task.screen.as_ref().map_or("", |read| read.white.typed.as_str()))
        .with("screen_black", task.screen.as_ref().map_or("", |read| read.black.typed.as_str()))
        .with("screen_off", task.screen.as_ref().map_or("", |read| read.off.typed.as_str()))
        .with("target", task.target.code())
        .with("choices", task.choices.map_or(String::new(), |choices| choices.to_string()))
        .with("measured", if task.measured { "yes" } else { "" })
        .with("wanted_by", task.wanted_by.clone())
}

/// A seat farther than this, in metres, is asked back (common practice).
const FAR_SEAT: f64 = 12.0;
/// Brighter than this at a desk indoors, in lux, is asked back (common practice).
const BRIGHT_INDOORS: f64 = 2_000.0;

/// Reads the seat form.
pub(in crate::web) fn seat(entry: &Entry, today: Date) -> Result<NewSeat, Faults> {
    let mut check = Check::new(entry);
    let room = check.text("room", "Room", NAME);
    let distance = check.length("distance", "Distance from the seat to the board", 0.3..=30.0);
    let aside = check.opt_length("aside", "How far to the side", 0.01..=30.0);
    let side: Option<Aside> = check.opt_code("side", "Which side");
    if aside.is_some() && side.is_none() {
        check.fault("side", "Say to which side of the board's centre the seat is, as the student faces the board.");
    }
    if aside.is_none() && side.is_some() && check.typed("aside").is_empty() {
        check.fault("aside", "Write how far to the side, for example 1.5 m, or leave the side open.");
    }
    let board_width = check.opt_length("board_width", "Width of the board", 0.1..=20.0);
    let layout = layout::read(&mut check);
    let lux = check.opt_number("illuminance", "Light at the desk", "lux", 0.0..=120_000.0);
    let light: Option<LightLevel> = check.opt_code("light", "Light");
    let glare: Vec<Glare> = check.codes("glare", "Glare");
    let earliest = today.checked_sub(jiff::Span::new().years(5)).unwrap_or(today);
    let measured_on = check.opt_date("measured_on", "Measured on", earliest..=today);
    let note = check.opt_text("note", "Note", LONG_TEXT);
    let mut unusual = Vec::new();
    if distance.as_ref().is_some_and(|far| far.value.get() > FAR_SEAT) {
        unusual.push("a seat more than 12 m from the board".to_owned());
    }
    if lux.is_some_and(|lux| lux > BRIGHT_INDOORS) {
        unusual.push("more than 2,000 lux at a desk indoors".to_owned());
    }
    // A seat without its side, or a side without its length, was told above.
    let aside = aside.zip(side);
    if let Some(far) = &distance
        && check.is_whole("aside")
        && check.is_whole("side")
    {
        let measured = demand::Seat { to_the_board: far.value, aside: to_the_right(aside.as_ref()) };
        layout::agree(&mut check, &layout, measured);
    }
    let confirmed = confirm::settle(&mut check, "unusual", &unusual);
    check.build(|| {
        Some(NewSeat {
            room,
            distance: distance?,
            aside,
            board_width,
            illuminance: lux.and_then(|lux| Lux::new(lux).ok()),
            light,
            glare,
            layout,
            note,
            confirmed,
            measured_on,
        })
    })
}

/// The form filled with a seat.
pub(in crate::web) fn entry_of_seat(seat: &NewSeat) -> Entry {
    let mut entry = Entry::default()
        .with("room", seat.room.clone())
        .with("distance", seat.distance.typed.clone())
        .with("aside", seat.aside.as_ref().map_or(String::new(), |(far, _)| far.typed.clone()))
        .with("side", seat.aside.as_ref().map_or("", |(_, side)| side.code()))
        .with("board_width", seat.board_width.as_ref().map_or(String::new(), |width| width.typed.clone()))
        .with("illuminance", seat.illuminance.map_or(String::new(), |lux| lux.get().to_string()))
        .with("light", seat.light.map_or("", LightLevel::code))
        .with("measured_on", seat.measured_on.map_or(String::new(), |on| on.to_string()))
        .with("note", seat.note.clone());
    entry = layout::fill(entry, &seat.layout);
    for glare in &seat.glare {
        entry.add("glare", glare.code());
    }
    entry
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
        match task(entry, &[], false, None) {
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
        assert!(task(&whole().with("distance", "15 ft 6 in"), &[], false, None).is_ok());
    }

    #[test]
    fn odd_text_is_kept_as_typed_and_endless_text_is_not() {
        for name in ["O'Neil's \u{1f4cb}", "\u{5dc}\u{5d5}\u{5d7}"] {
            let taken = task(&whole().with("name", name), &[], false, None).map(|task| task.name);
            assert_eq!(taken.ok().as_deref(), Some(name));
        }
        assert!(fault(&whole().with("name", "x".repeat(10_000)), "name").contains("10000 characters"));
    }

    #[test]
    fn the_readings_on_a_screen_come_together_in_their_order_and_for_a_projector() {
        let read = |white: &str, black: &str, off: &str| {
            whole()
                .with("display", "projector")
                .with("screen_white", white)
                .with("screen_black", black)
                .with("screen_off", off)
        };
        let entry = read("550 lux", "151", "150,0 lx");
        let taken = task(&entry, &[], false, None).unwrap_or_else(|faults| panic!("{faults:?}"));
        let screen = taken.screen.clone().expect("the readings");
        assert_eq!((screen.white.typed.as_str(), screen.off.typed.as_str()), ("550 lux", "150,0 lx"));
        assert_eq!(screen.off.value.get(), 150.0);
        assert!(task(&entry_of_task(&taken), &[], false, None).is_ok_and(|again| again == taken));
        for (entry, field, says) in [
            (read("550", "", "150"), "screen_black", "leave all three empty"),
            (read("550", "151", ""), "screen_off", "with the projector off"),
            (read("151", "550", "150"), "screen_black", "mixed up"),
            (read("550", "151", "152"), "screen_off", "151 lux"),
            (read("bright", "151", "150"), "screen_white", "must be a number"),
            (read("-5", "151", "150"), "screen_white", "from 0 to"),
            (read("550", "151", "150").with("display", "whiteboard"), "display", "belong to a projector"),
        ] {
            let found = fault(&entry, field);
            assert!(found.contains(says), "{field}: {found}");
        }
    }

    #[test]
    fn street_names_are_for_the_mobility_specialist() {
        let street = whole().with("code", "street_name");
        assert!(fault(&street, "code").contains("mobility specialist"));
        assert!(task(&street, &[], true, None).is_ok());
        assert!(task(&street, &[], false, Some(TaskCode::StreetName)).is_ok());
    }

    #[test]
    fn a_side_and_its_distance_go_together() {
        let today = jiff::civil::date(2026, 11, 25);
        let entry = Entry::default().with("room", "4").with("distance", "4 m");
        assert!(seat(&entry, today).is_ok());
        let faults = seat(&entry.clone().with("aside", "1 m"), today).err().expect("no side was said");
        assert!(faults.of("side").is_some());
        let faults = seat(&entry.clone().with("side", "left"), today).err().expect("no distance was said");
        assert!(faults.of("aside").is_some());
    }

    #[test]
    fn an_unusual_seat_is_asked_back_once() {
        let today = jiff::civil::date(2026, 11, 25);
        let far = Entry::default().with("room", "Hall").with("distance", "18 m");
        let faults = seat(&far, today).err().expect("it was not asked");
        let asked = faults.of("unusual").expect("the question").to_owned();
        let taken = seat(&far.with("unusual", asked), today).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert!(taken.confirmed.contains("12 m"));
    }

    /// Row 2 is 2 m + 4 ft = 3.2192 m from the board; seat 2 of 5 is 80 cm left of the
    /// middle of the rows and, with the board 10 cm to the right of it, 90 cm of the board's.
    const ROWS: [(&str, &str); 10] = [
        ("rows", "4"),
        ("row_seats", "5"),
        ("first_row", "2 m"),
        ("row_gap", "4 ft"),
        ("seat_gap", "80 cm"),
        ("board_aside", "10 cm"),
        ("board_side", "right"),
        ("usual_row", "2"),
        ("usual_seat", "2"),
        ("window_side", "left"),
    ];

    #[test]
    fn each_part_of_the_rows_is_refused_beside_its_field_and_may_be_left_open() {
        let today = jiff::civil::date(2026, 11, 25);
        let mut whole =
            Entry::default().with("room", "4").with("distance", "3.2 m").with("aside", "90 cm").with("side", "left");
        for (field, value) in ROWS {
            whole.set(field, value);
        }
        let taken = seat(&whole, today).unwrap_or_else(|faults| panic!("{faults:?}")).layout;
        assert_eq!(taken.row_gap.map(|gap| gap.typed).as_deref(), Some("4 ft"));
        for (field, typed, says) in [
            ("rows", "16", "from 1 to 15"),
            ("rows", "1.5", "from 1 to 15"),
            ("row_seats", "0", "from 1 to 12"),
            ("first_row", "2", "add the unit"),
            ("first_row", "10 cm", "between 30 cm and 30 m"),
            ("row_gap", "-1 m", "more than zero"),
            ("row_gap", "6 m", "between 40 cm and 5 m"),
            ("seat_gap", "8 mm", "between 40 cm and 5 m"),
            ("seat_gap", "1e999 m", "From seat to seat"),
            ("board_aside", "", "for example 50 cm"),
            ("board_aside", "11 m", "between 1 cm and 10 m"),
            ("board_side", "", "to which side"),
            ("board_side", "up", "Choose one of the answers"),
            ("usual_row", "5", "There are 4 rows"),
            ("usual_row", "", "which row it is"),
            (
                "usual_row",
                "3",
                "row 3 is 4.44 m (14 ft 7 in) from the board, and the seat was entered as 3.2 m (10 ft 6 in)",
            ),
            ("usual_seat", "6", "There are 5 seats in a row"),
            ("usual_seat", "", "which seat of that row"),
            (
                "usual_seat",
                "4",
                "seat 4 is 70 cm (27 1/2 in) to the right of the board's middle, and the seat was entered as 90 cm (35 1/2 in) to the left",
            ),
            ("window_side", "north", "Choose one of the answers"),
        ] {
            let faults = seat(&whole.clone().with(field, typed), today).err();
            let faults = faults.unwrap_or_else(|| panic!("{field} {typed} was taken"));
            let found = faults.of(field).unwrap_or_else(|| panic!("{field} {typed}: {faults:?}"));
            assert!(found.contains(says), "{field} {typed}: {found}");
        }
        // Without what they are counted in, a row and a seat say nothing.
        let faults = seat(&whole.clone().with("rows", ""), today).err().expect("how many rows?");
        assert!(faults.of("rows").is_some_and(|says| says.contains("how many rows")), "{faults:?}");
        // Fifteen rows 2 m apart end 30 m from the board and a little more.
        let far =
            whole.clone().with("rows", "15").with("row_gap", "2.01 m").with("usual_row", "").with("usual_seat", "");
        let faults = seat(&far, today).err().expect("no such hall");
        assert!(faults.of("row_gap").is_some_and(|says| says.contains("30.14 m")), "{faults:?}");
        for (field, _) in ROWS {
            let others = |entry: Entry, also: &str| entry.with(field, "").with(also, "");
            let open = match field {
                "board_aside" => others(whole.clone(), "board_side"),
                "board_side" => others(whole.clone(), "board_aside"),
                "usual_row" => others(whole.clone(), "usual_seat"),
                "usual_seat" => others(whole.clone(), "usual_row"),
                // Nothing stands in a row that nobody counted.
                "rows" | "row_seats" => others(whole.clone(), "usual_row").with("usual_seat", ""),
                field => whole.clone().with(field, ""),
            };
            assert!(seat(&open, today).is_ok(), "{field} may be left open");
        }
    }

    #[test]
    fn a_filled_form_reads_back_as_the_same_task_and_seat() {
        let entry = whole()
            .with("distance", "4.6 m")
            .with("x_height", "3/4 in")
            .with("measured", "yes")
            .with("marker", "faint");
        let read = task(&entry, &[], false, None).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert!(task(&entry_of_task(&read), &[], false, None).is_ok_and(|again| again == read));
        let today = jiff::civil::date(2026, 11, 25);
        let mut entry =
            Entry::default().with("room", "4").with("distance", "3.2 m").with("aside", "3 ft").with("side", "left");
        entry.add("glare", "lamp");
        for (field, value) in ROWS {
            entry.set(field, value);
        }
        let read = seat(&entry, today).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert!(seat(&entry_of_seat(&read), today).is_ok_and(|again| again == read));
    }
}
