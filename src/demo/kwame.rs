//! Kwame, 6: the near track with a stand magnifier; his summary waits for the clinician.

use super::cast::Who::{Marisol, Noor, Petra, Thandeka};
use super::story::{Fields, Step, Story};

pub(super) fn story() -> Vec<Step> {
    let mut story = Story::new("Kwame");
    opens(&mut story);
    evaluated(&mut story);
    begins(&mut story);
    trains(&mut story);
    seen(&mut story);
    talks(&mut story);
    story.finish()
}

fn opens(story: &mut Story) {
    story.on(2026, 10, 5, 9).press_keep(
        Marisol,
        "/students/new",
        "Open the record",
        &[
            ("name", "Kwame Adeyinka-Voss"),
            ("number", "BF-22930"),
            ("birth_date", "@2020-07-02"),
            ("school", "Ottermere Elementary"),
            ("grade", "1"),
            ("languages", "English, Yoruba"),
            ("interpreter", "no"),
            ("print_format", "print 24 pt or larger"),
        ],
        ("S", "/intake/eyes"),
    );
    story.press(
        Marisol,
        "{S}/intake/eyes",
        "Save and go on",
        &[
            ("referral_source", "eye_doctor"),
            ("referral_on", "@2026-09-21"),
            ("referral_reason", "Starts to read this year; the eye doctor asks for support in class."),
            ("concerns", "moves_close"),
            ("concerns", "head_turn"),
            ("concerns", "tires"),
            ("eye_report_on", "@2026-09-17"),
            ("eye_report_note", "Eye doctor's letter, in the school file"),
            ("glasses", "has_wears"),
            ("glasses_note", "For reading and for the board"),
            ("other_aids", "slant_board"),
            ("near_distance", "8 cm"),
            ("smallest_print", "2 M with ease"),
            ("reads_up_close", "some"),
            ("head_turn", "right"),
            ("head_turn_degrees", "20"),
            ("tires_after", "10"),
            ("mobility_note", "Runs and climbs with the others; slow on unknown stairs."),
            ("student_words", "The small words wobble."),
        ],
    );
    story.press(
        Marisol,
        "{S}/intake/school",
        "Add the room and seat",
        &[
            ("room", "Room 2"),
            ("distance", "2 m"),
            ("aside", "0.5 m"),
            ("side", "right"),
            ("board_width", "1.8 m"),
            ("illuminance", "450"),
            ("light", "normal_indoor"),
            ("measured_on", "@2026-10-05"),
            ("note", "On the carpet, front row, a little to the right: his head turn points at the chart."),
        ],
    );
    story.press(Marisol, "{S}/intake/school", "Save the plan", &[("plan_type", "iep"), ("service_minutes", "90"), ("period", "week")]);
    let tasks: [Fields<'_>; 3] = [
        &[
            ("code", "comic_or_book"),
            ("name", "Picture book"),
            ("place", "At the table, sitting up"),
            ("distance", "12 cm"),
            ("track", "near"),
            ("goal", "phrase"),
            ("x_height", "3 mm"),
            ("display", "page"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "Kwame"),
        ],
        &[
            ("code", "worksheet"),
            ("name", "Worksheet with lines"),
            ("place", "At the table, sitting up"),
            ("distance", "12 cm"),
            ("track", "near"),
            ("goal", "phrase"),
            ("x_height", "2.5 mm"),
            ("display", "page"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "his teacher"),
        ],
        &[
            ("code", "class_chart"),
            ("name", "Letters on the class chart"),
            ("seat", "~Room 2"),
            ("track", "distance"),
            ("goal", "name_it"),
            ("x_height", "6 cm"),
            ("display", "paper_chart"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "letters"),
            ("measured", "yes"),
            ("wanted_by", "his teacher"),
        ],
    ];
    for task in tasks {
        story.press(Marisol, "{S}/intake/tasks", "Add", task);
    }
    story.on(2026, 10, 6, 15);
    story.joins(Marisol, "parent", "mother", Thandeka);
    story.contact(Thandeka, "mother", "555-0117", "English");
    story.joins(Marisol, "classroom_teacher", "", Petra);
    story.joins(Marisol, "clinician", "", Noor);
    story.on(2026, 10, 8, 19);
    story.consents(Thandeka, "school_to_clinic", "English").consents(Thandeka, "clinic_to_school", "English");
    story.on(2026, 10, 9, 9).finishes_steps(Marisol);
    story.press(
        Marisol,
        "{S}/evaluations/request",
        "Ask, and release the intake",
        &[
            ("question", "He reads at 8 cm and is tired after ten minutes. Would a magnifier that stands on the page spare him?"),
            ("urgency", "This term, while the class learns to read"),
        ],
    );
}

fn evaluated(story: &mut Story) {
    story.on(2026, 11, 13, 10).examines("@2027-11-12");
    let chart = [("chart", "row_letters"), ("effort", "good"), ("light", "normal")];
    story
        .acuity(["right", "best_correction", "10 ft", "10/120"], &chart)
        .acuity(["left", "best_correction", "10 ft", "10/200"], &[("chart", "row_letters"), ("effort", "fair"), ("note", "Tired by then")])
        .acuity(["both", "habitual_glasses", "10 ft", "10/100"], &chart)
        .acuity(
            ["both", "habitual_glasses", "8 cm", "0.8M"],
            &[("chart", "words"), ("effort", "good"), ("light", "bright"), ("note", "Smallest words; 2 M with ease")],
        );
    story.section(
        "refraction",
        &[
            ("right_sphere", "+1.50"),
            ("right_cylinder", "-1.00"),
            ("right_axis", "180"),
            ("right_method", "cycloplegic"),
            ("left_sphere", "+1.75"),
            ("left_cylinder", "-0.75"),
            ("left_axis", "175"),
            ("left_method", "cycloplegic"),
        ],
    );
    story.section(
        "sight",
        &[
            ("contrast", "1.35"),
            ("contrast_eye", "both"),
            ("contrast_method", "faces"),
            ("field_method", "confrontation"),
            ("field_pattern", "unknown"),
            ("field_note", "He follows a toy to all sides with both eyes; more than that he did not want today."),
            ("colour", "could_not_test"),
            ("glare_indoor", "mild"),
            ("glare_outdoor", "moderate"),
        ],
    );
    story.section(
        "eyes",
        &[
            ("diagnosis", "Optic nerve hypoplasia, both eyes; nystagmus from infancy with a null point in left gaze."),
            ("course", "stable"),
            ("alignment", "straight"),
            ("nystagmus", "horizontal"),
            ("nystagmus_onset", "infancy"),
            ("best_gaze", "left"),
            ("best_gaze_degrees", "20"),
            ("preferred_eye", "right"),
            ("pupil", "4"),
            ("accommodation", "12"),
        ],
    );
    story.section(
        "advice",
        &[
            ("lighting", "Light from over the left shoulder, none from the front."),
            ("lux", "600"),
            ("seating", "Front row, a little to the right, so that the head turn points at the chart."),
            ("advice", "light"),
            ("advice", "large_print"),
            ("advice_note", "The head turn is how he holds his eyes still. Please do not correct it."),
        ],
    );
    story.section("distance", &[("answer", "none"), ("training_tasks", "From his place on the carpet he sees the chart. We look at a telescope again when the boards move away.")]);
    story.section(
        "near",
        &[
            ("answer", "devices"),
            ("safe", "with_limits"),
            ("limits", "At a table with an adult in the room; never in the sun, never left on a window sill."),
            ("training_tasks", "Picture book and worksheet, a few minutes at a time."),
            ("device_1_kind", "stand_magnifier"),
            ("device_1_equivalent", "12"),
            ("device_1_lens", "60"),
            ("device_1_stand", "55"),
            ("device_1_light", "battery"),
            ("device_1_eye", "either"),
            ("device_1_glasses", "over"),
            ("device_1_purpose", "Picture book and worksheet without holding the page to his nose"),
        ],
    );
    story.signs_evaluation();
}

fn begins(story: &mut Story) {
    story.on(2026, 11, 30, 8).press(
        Marisol,
        "{S}/devices/lend/near",
        "Hand it over",
        &[
            ("device", "~LOAN-M-003"),
            ("eye", "either"),
            ("lent_on", "@2026-11-30"),
            ("due_on", "@2027-03-06"),
            ("condition", "good"),
            ("carry_case", "yes"),
            ("home_use", "yes"),
            ("agreement_by", "parent"),
            ("held_by", "student"),
            ("purpose", "trial"),
        ],
    );
    story.on(2026, 12, 1, 10).press(
        Marisol,
        "{S}/training/readiness/near",
        "Sign the list",
        &[
            ("item_light_and_care", "with_help"),
            ("item_right_side", "yes"),
            ("item_focus_distance", "with_help"),
            ("item_eye_and_glasses", "yes"),
            ("item_sun_and_fire_rule", "yes"),
            ("item_agrees_to_try", "yes"),
            ("agreed_words", "It's a spaceship. I drive it."),
        ],
    );
    story.on(2026, 12, 4, 14).card(&[
        ("seat", "Carpet: front row, a little to the right. Table: window behind him"),
        ("board", "Letters on the chart as tall as a thumb is wide, or taller"),
        ("print_size", "24 point; one line to copy at a time"),
        ("light", "Lamp over his left shoulder"),
        ("device", "Magnifier that stands on the page, with its own light"),
        ("device_when", "At the table, for worksheets and books, ten minutes at most"),
        ("glasses", "On for reading and for the chart"),
        ("head_turn", "yes"),
        ("rest", "Stop when he rubs his eyes, at the latest after ten minutes"),
        ("call", "Marisol Vantongeren, through the school office"),
        ("review_on", "@2027-03-26"),
    ]);
    story.suggests_at_home("Read one page of a picture book together at the table with the magnifier, then put it back into its case, away from the window.", "comic_or_book");
}

fn session(story: &mut Story, place: &str, minutes: &str, said: Fields<'_>, exercises: &[Fields<'_>]) {
    let usual =
        [("device", "~LOAN-M-003"), ("glasses", "on"), ("place", place), ("minutes", minutes), ("body", "seated"), ("light", "normal_indoor")];
    story.trains("near", &usual, said, exercises);
}

fn trains(story: &mut Story) {
    let line = ("item", "Along one line of big print and back to the next");
    let book = ("task", "~Picture book");
    story.on(2026, 12, 3, 9);
    session(story, "quiet_room", "10", &[("baseline", "yes"), ("comfort", "0"), ("note", "Before any teaching.")], &[
        &[("skill", "tracing"), line, book, ("height", "3 mm"), ("tries", "5"), ("right", "1"), ("median", "22"), ("prompt", "5")],
    ]);
    story.on(2026, 12, 8, 9);
    session(story, "quiet_room", "15", &[("comfort", "1")], &[
        &[("skill", "handling"), ("item", "Light on, flat on the page, back into its case"), ("tries", "4"), ("right", "3"), ("prompt", "2"), ("prompts", "4")],
        &[("skill", "focusing"), ("item", "Eye down to the lens until the picture is sharp"), ("tries", "5"), ("right", "2"), ("prompt", "1"), ("prompts", "5")],
    ]);
    story.on(2026, 12, 15, 9);
    session(story, "quiet_room", "15", &[("comfort", "0")], &[
        &[("skill", "focusing"), ("item", "Sharp again after looking up"), ("tries", "5"), ("right", "4"), ("prompt", "2"), ("prompts", "4")],
    ]);
    story.on(2027, 1, 7, 9);
    session(story, "own_class", "15", &[("comfort", "1"), ("note", "The others wanted to drive the spaceship, too.")], &[
        &[("skill", "focusing"), ("item", "Sharp again after looking up"), ("tries", "5"), ("right", "4"), ("median", "8"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2027, 1, 14, 9);
    session(story, "quiet_room", "20", &[("comfort", "0"), ("order_reason", "Focusing is nearly steady; landing on pictures keeps him playing.")], &[
        &[("skill", "focusing"), ("item", "Sharp again on the next page"), ("tries", "5"), ("right", "5"), ("median", "6"), ("prompt", "5")],
        &[("skill", "spotting"), ("item", "Land on the animal I name"), book, ("tries", "5"), ("right", "3"), ("median", "11"), ("prompt", "3"), ("prompts", "3")],
    ]);
    story.on(2027, 1, 21, 9);
    session(story, "library", "15", &[("comfort", "0")], &[
        &[("skill", "focusing"), ("item", "A book he chose"), book, ("tries", "5"), ("right", "5"), ("median", "4"), ("prompt", "5"), ("self", "yes")],
    ]);
    story.on(2027, 2, 4, 9);
    session(story, "own_class", "15", &[("comfort", "1")], &[
        &[("skill", "spotting"), ("item", "Land on a word of three letters"), book, ("height", "3 mm"), ("tries", "6"), ("right", "5"), ("median", "9"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2027, 2, 11, 9);
    session(story, "quiet_room", "20", &[("comfort", "0"), ("order_reason", "Landing on words goes well; he wants to read a line of his own.")], &[
        &[("skill", "spotting"), ("item", "Land on a word of three letters"), book, ("height", "3 mm"), ("tries", "6"), ("right", "5"), ("median", "7"), ("prompt", "4"), ("prompts", "1")],
        &[("skill", "tracing"), line, book, ("height", "3 mm"), ("tries", "5"), ("right", "2"), ("median", "19"), ("losses", "3"), ("prompt", "3"), ("prompts", "4")],
    ]);
    story.on(2027, 2, 25, 9);
    session(story, "library", "15", &[("comfort", "1"), ("order_reason", "Three good days of landing on words; the line follows from it.")], &[
        &[("skill", "spotting"), ("item", "Land on a word of four letters"), book, ("height", "3 mm"), ("tries", "6"), ("right", "6"), ("median", "6"), ("prompt", "5")],
        &[("skill", "tracing"), line, book, ("height", "3 mm"), ("tries", "5"), ("right", "3"), ("median", "16"), ("losses", "2"), ("prompt", "3"), ("prompts", "3")],
    ]);
}

fn seen(story: &mut Story) {
    let sheet = ("task", "~Worksheet with lines");
    story.on(2026, 10, 20, 13).sees(Petra, &[sheet, ("device_out", "not_needed"), ("correct", "2"), ("tried", "6"), ("help", "none"), ("comfort", "tired"), ("mood", "neutral")]);
    story.on(2026, 11, 3, 13).sees(Petra, &[("task", "~Letters on the class chart"), ("device_out", "not_needed"), ("correct", "5"), ("tried", "6"), ("help", "none"), ("note", "From his place on the carpet.")]);
    // The same worksheet in print of other sizes, so that something is read and something missed.
    for (month, day, height, right) in [(10, 27, "4 mm", "5"), (11, 10, "3.2 mm", "3"), (11, 17, "5 mm", "6")] {
        story.on(2026, month, day, 13).sees(Petra, &[sheet, ("device_out", "not_needed"), ("correct", right), ("tried", "6"), ("help", "none"), ("x_height", height), ("comfort", "tired")]);
    }
    story.on(2027, 1, 12, 13).sees(Petra, &[sheet, ("device_out", "yes"), ("correct", "2"), ("tried", "6"), ("help", "none"), ("x_height", "1.5 mm"), ("pace", "too_slow")]);
    story.on(2027, 1, 26, 13).sees(Petra, &[sheet, ("device_out", "yes"), ("correct", "6"), ("tried", "6"), ("help", "none"), ("x_height", "3 mm"), ("pace", "slow"), ("comfort", "fine")]);
    story.on(2027, 2, 16, 13).sees(Petra, &[sheet, ("device_out", "yes"), ("correct", "3"), ("tried", "6"), ("help", "none"), ("x_height", "1.8 mm"), ("pace", "slow")]);
    story.on(2026, 12, 17, 13).sees(Petra, &[sheet, ("device_out", "yes"), ("correct", "3"), ("tried", "6"), ("help", "helped"), ("pace", "too_slow"), ("mood", "willing")]);
    story.on(2027, 1, 19, 13).sees(Petra, &[sheet, ("device_out", "yes"), ("correct", "4"), ("tried", "6"), ("help", "none"), ("pace", "slow"), ("comfort", "fine")]);
    story.on(2027, 2, 9, 13).sees(Petra, &[sheet, ("device_out", "chose_not"), ("result", "some"), ("non_use", "no_time"), ("help", "peer_read")]);
    story.on(2027, 3, 2, 13).sees(Petra, &[sheet, ("device_out", "yes"), ("correct", "5"), ("tried", "6"), ("help", "none"), ("pace", "slow"), ("comfort", "fine"), ("mood", "willing")]);
    let book = [("flag", "no"), ("place", "home"), ("task", "~Picture book")];
    for (month, day, hour, fields) in [
        (12, 13, 18, &[("device_out", "yes"), ("result", "some"), ("help", "helped"), ("mood", "proud"), ("tired", "under_5"), ("suggested", "adult")][..]),
        (12, 20, 18, &[("device_out", "yes"), ("result", "some"), ("help", "helped"), ("mood", "ok"), ("tired", "under_5"), ("suggested", "adult")]),
        (1, 3, 18, &[("device_out", "yes"), ("result", "some"), ("help", "none"), ("mood", "ok"), ("tired", "5_to_15"), ("suggested", "child")]),
        (1, 10, 18, &[("device_out", "yes"), ("result", "most"), ("help", "helped"), ("mood", "ok"), ("tired", "5_to_15"), ("suggested", "adult")]),
        (1, 31, 18, &[("device_out", "chose_not"), ("result", "some"), ("non_use", "not_said"), ("help", "none"), ("mood", "bored")]),
        (2, 7, 18, &[("device_out", "yes"), ("result", "most"), ("help", "none"), ("mood", "ok"), ("tired", "5_to_15"), ("suggested", "child")]),
        (2, 14, 18, &[("device_out", "chose_not"), ("result", "some"), ("non_use", "no_time"), ("help", "none"), ("mood", "ok")]),
        (2, 21, 18, &[("device_out", "yes"), ("result", "most"), ("help", "none"), ("mood", "proud"), ("tired", "5_to_15"), ("suggested", "child"), ("note", "He read the page with the bear to his sister. Then he was done, and that was fine.")]),
    ] {
        let year = if month == 12 { 2026 } else { 2027 };
        story.on(year, month, day, hour).sees(Thandeka, &[&book[..], fields].concat());
    }
}

fn talks(story: &mut Story) {
    story.on(2027, 2, 21, 19).says(Thandeka, &[("about", "the book at home"), ("said_worked", "so_so"), ("said_would_use", "not_now"), ("said_words", "The bear page is too long."), ("said_on", "@2027-02-21")]);
    story.on(2026, 12, 18, 14).writes(Petra, "vision_teacher", "May he use it with the tablet, too?");
    story.on(2026, 12, 18, 16).answers(Marisol, "Better not: the tablet makes its own letters larger. The magnifier is for paper.");
    story.on(2027, 2, 22, 8).writes(Thandeka, "note", "He keeps it in its case next to his bed and tells everybody about the sun rule.");
    story.on(2027, 3, 5, 13).summarises("near", "@2026-11-30", "@2027-03-04", &[
        ("words", "He sets the magnifier down, finds the sharp picture by himself and lands on words of four letters. Following a line and finding the next one is still hard: three of five with being told. Ten minutes are enough for him; he sits up where he used to lie on the page."),
        ("student_words", "It's a spaceship. The words hold still under it."),
        ("questions", "Following the line is where he stops. Is that the width of what he sees at once, or is it his age?\nShould the lamp stay on, or does it dazzle him?"),
        ("look_at", "Would a magnifier that shows more of the line at once be worth a trial before next year?"),
    ]);
}
