//! Reading and filling the form of a seat.
//!
//! The rows of the room, which are a part of it, are `layout.rs`.

use jiff::civil::Date;

use crate::care::room::to_the_right;
use crate::care::task::{Aside, Glare, LightLevel, NewSeat};
use crate::vision::demand;
use crate::vision::units::Lux;
use crate::web::check::{Check, LONG_TEXT, NAME};
use crate::web::confirm;
use crate::web::form::{Entry, Faults, FormView};
use crate::web::words;

use super::examples::Examples;
use super::layout;

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

/// A seat farther than this, in metres, is asked back (common practice).
const FAR_SEAT: f64 = 12.0;
/// Brighter than this at a desk indoors, in lux, is asked back (common practice).
const BRIGHT_INDOORS: f64 = 2_000.0;

/// Reads the seat form.
pub(super) fn read(entry: &Entry, today: Date) -> Result<NewSeat, Faults> {
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
pub(super) fn filled(seat: &NewSeat) -> Entry {
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

    #[test]
    fn a_side_and_its_distance_go_together() {
        let today = jiff::civil::date(2026, 11, 25);
        let entry = Entry::default().with("room", "4").with("distance", "4 m");
        assert!(read(&entry, today).is_ok());
        let faults = read(&entry.clone().with("aside", "1 m"), today).err().expect("no side was said");
        assert!(faults.of("side").is_some());
        let faults = read(&entry.clone().with("side", "left"), today).err().expect("no distance was said");
        assert!(faults.of("aside").is_some());
    }

    #[test]
    fn an_unusual_seat_is_asked_back_once() {
        let today = jiff::civil::date(2026, 11, 25);
        let far = Entry::default().with("room", "Hall").with("distance", "18 m");
        let faults = read(&far, today).err().expect("it was not asked");
        let asked = faults.of("unusual").expect("the question").to_owned();
        let taken = read(&far.with("unusual", asked), today).unwrap_or_else(|faults| panic!("{faults:?}"));
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
        let taken = read(&whole, today).unwrap_or_else(|faults| panic!("{faults:?}")).layout;
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
            let faults = read(&whole.clone().with(field, typed), today).err();
            let faults = faults.unwrap_or_else(|| panic!("{field} {typed} was taken"));
            let found = faults.of(field).unwrap_or_else(|| panic!("{field} {typed}: {faults:?}"));
            assert!(found.contains(says), "{field} {typed}: {found}");
        }
        // Without what they are counted in, a row and a seat say nothing.
        let faults = read(&whole.clone().with("rows", ""), today).err().expect("how many rows?");
        assert!(faults.of("rows").is_some_and(|says| says.contains("how many rows")), "{faults:?}");
        // Fifteen rows 2 m apart end 30 m from the board and a little more.
        let far =
            whole.clone().with("rows", "15").with("row_gap", "2.01 m").with("usual_row", "").with("usual_seat", "");
        let faults = read(&far, today).err().expect("no such hall");
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
            assert!(read(&open, today).is_ok(), "{field} may be left open");
        }
    }

    #[test]
    fn a_filled_form_reads_back_as_the_same_seat() {
        let today = jiff::civil::date(2026, 11, 25);
        let mut entry =
            Entry::default().with("room", "4").with("distance", "3.2 m").with("aside", "3 ft").with("side", "left");
        entry.add("glare", "lamp");
        for (field, value) in ROWS {
            entry.set(field, value);
        }
        let taken = read(&entry, today).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert!(read(&filled(&taken), today).is_ok_and(|again| again == taken));
    }
}
