//! Saoirse, 15: both tracks. Her first telescope failed, another was decided on;
//! a hand magnifier is on loan for near.

use super::PASSWORD;
use super::cast::Who::{Lucille, Marisol, Niamh, Noor};
use super::story::{Fields, Step, Story};

pub(super) fn story() -> Vec<Step> {
    let mut story = Story::new("Saoirse");
    opens(&mut story);
    evaluated(&mut story);
    begins(&mut story);
    trains_far(&mut story);
    trains_near(&mut story);
    seen(&mut story);
    talks(&mut story);
    keeps_home_to_herself(&mut story);
    changes(&mut story);
    story.finish()
}

fn opens(story: &mut Story) {
    story.on(2026, 9, 14, 9).press_keep(
        Marisol,
        "/students/new",
        "Open the record",
        &[
            ("name", "Saoirse Lindqvist"),
            ("number", "BF-15302"),
            ("birth_date", "@2011-06-20"),
            ("school", "Copperline High"),
            ("grade", "10"),
            ("languages", "English"),
            ("interpreter", "no"),
            ("print_format", "print 18 pt"),
        ],
        ("S", "/intake/eyes"),
    );
    story.press(
        Marisol,
        "{S}/intake/eyes",
        "Save and go on",
        &[
            ("referral_source", "self"),
            ("referral_on", "@2026-09-08"),
            ("referral_reason", "Asked at the office herself: wants to follow the experiments without a partner who tells her."),
            ("concerns", "light_hurts"),
            ("concerns", "misses_board"),
            ("concerns", "moves_close"),
            ("eye_report_on", "@2026-05-20"),
            ("eye_report_note", "Eye doctor's letter, in the school file"),
            ("glasses", "has_wears"),
            ("glasses_note", "Dark filter clip over them outdoors"),
            ("other_aids", "filter_lenses"),
            ("other_aids", "cap"),
            ("other_aids", "tablet_camera"),
            ("near_distance", "10 cm"),
            ("smallest_print", "16 pt with ease"),
            ("reads_up_close", "yes"),
            ("head_turn", "chin_down"),
            ("tires_after", "25"),
            ("mobility_note", "At noon she waits for a cloud before she crosses the yard."),
            ("student_words", "I'm not carrying anything that looks like a pirate."),
        ],
    );
    story.press(
        Marisol,
        "{S}/intake/school",
        "Add the room and seat",
        &[
            ("room", "Science lab"),
            ("distance", "12 ft"),
            ("aside", "2 ft"),
            ("side", "left"),
            ("board_width", "8 ft"),
            ("rows", "4"),
            ("row_seats", "4"),
            ("first_row", "8 ft"),
            ("row_gap", "4 ft"),
            ("seat_gap", "4 ft"),
            ("usual_row", "2"),
            ("usual_seat", "2"),
            ("illuminance", "900"),
            ("light", "bright_indoor"),
            ("glare", "window_in_front"),
            ("glare", "lamp"),
            ("measured_on", "@2026-09-14"),
            ("note", "Window front on two sides, no blinds yet."),
        ],
    );
    story.press(Marisol, "{S}/intake/school", "Save the plan", &[("plan_type", "section_504"), ("service_minutes", "60"), ("period", "month")]);
    let tasks: [Fields<'_>; 5] = [
        &[
            ("code", "science_demo"),
            ("name", "Labels at the demonstration table"),
            ("distance", "3 m"),
            ("place", "Science lab"),
            ("track", "distance"),
            ("goal", "phrase"),
            ("x_height", "3 cm"),
            ("display", "object"),
            ("marker", "black_on_white"),
            ("light", "bright_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "Saoirse"),
        ],
        &[
            ("code", "board_words"),
            ("name", "Words on the lab board"),
            ("seat", "~Science lab"),
            ("track", "distance"),
            ("goal", "copy"),
            ("x_height", "4 cm"),
            ("display", "whiteboard"),
            ("marker", "black_on_white"),
            ("light", "bright_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "her teacher"),
        ],
        &[
            ("code", "cafeteria_menu_board"),
            ("name", "Menu in the cafeteria"),
            ("place", "Cafeteria, from the line"),
            ("distance", "3 m"),
            ("track", "distance"),
            ("goal", "name_it"),
            ("x_height", "1 in"),
            ("display", "dark_board"),
            ("marker", "white_on_dark"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "Saoirse"),
        ],
        &[
            ("code", "textbook"),
            ("name", "Science textbook"),
            ("distance", "10 cm"),
            ("track", "near"),
            ("goal", "phrase"),
            ("x_height", "2 mm"),
            ("display", "page"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "her teacher"),
        ],
        &[
            ("code", "label_clothing"),
            ("name", "Labels on bottles and clothes"),
            ("distance", "10 cm"),
            ("track", "near"),
            ("goal", "name_it"),
            ("x_height", "1 mm"),
            ("display", "object"),
            ("target", "words"),
            ("wanted_by", "Saoirse"),
        ],
    ];
    for task in tasks {
        story.press(Marisol, "{S}/intake/tasks", "Add", task);
    }
    story.on(2026, 9, 16, 15);
    story.joins(Marisol, "parent", "mother", Niamh);
    story.contact(Niamh, "mother", "555-0163", "English");
    story.joins(Marisol, "classroom_teacher", "", Lucille);
    story.joins(Marisol, "clinician", "", Noor);
    story.on(2026, 9, 17, 20);
    story.consents(Niamh, "clinic_to_school", "English").consents(Niamh, "school_to_clinic", "English");
    story.on(2026, 9, 18, 9).finishes_steps(Marisol);
    story.press(
        Marisol,
        "{S}/evaluations/request",
        "Ask, and release the intake",
        &[
            ("question", "What reaches the demonstration table and the menu, and what the small print? How dark a filter does she need indoors?"),
            ("urgency", "Experiments begin in the second month of the term"),
        ],
    );
}

fn evaluated(story: &mut Story) {
    story.on(2026, 10, 9, 14).examines("@2027-10-08");
    let chart = [("chart", "row_letters"), ("effort", "good"), ("light", "normal")];
    let through = [("chart", "row_letters"), ("effort", "good"), ("light", "normal"), ("device_kind", "handheld_monocular")];
    story
        .acuity(["right", "best_correction", "10 ft", "10/100"], &chart)
        .acuity(["left", "best_correction", "10 ft", "10/125"], &chart)
        .acuity(["both", "habitual_glasses", "10 ft", "10/100"], &chart)
        .acuity(
            ["both", "habitual_glasses", "10 ft", "10/200"],
            &[("chart", "row_letters"), ("effort", "good"), ("light", "bright"), ("note", "In full sun, without the filter; 10/120 with the 12 % filter")],
        )
        .acuity(["right", "through_device", "10 ft", "10/16"], &[&through[..], &[("device_power", "8"), ("note", "Seated, elbow on the arm rest")]].concat())
        .acuity(["right", "through_device", "10 ft", "10/30"], &[&through[..], &[("device_power", "4")]].concat())
        .acuity(["both", "habitual_glasses", "10 cm", "1M"], &[("chart", "continuous_text"), ("effort", "good"), ("light", "normal")]);
    story.section(
        "refraction",
        &[
            ("right_sphere", "+1.75"),
            ("right_cylinder", "-1.25"),
            ("right_axis", "10"),
            ("right_method", "subjective"),
            ("left_sphere", "+2.00"),
            ("left_cylinder", "-1.50"),
            ("left_axis", "170"),
            ("left_method", "subjective"),
        ],
    );
    story.section(
        "sight",
        &[
            ("contrast", "1.35"),
            ("contrast_eye", "both"),
            ("contrast_method", "letters"),
            ("field_method", "tangent_screen"),
            ("field_pattern", "full"),
            ("field_note", "Full to the sides; a small unsteady centre."),
            ("colour", "severe"),
            ("glare_indoor", "strong"),
            ("glare_outdoor", "stops_function"),
            ("filter", "Red-brown over her glasses: from 10/200 to 10/120 in the sun, eyes open"),
            ("filter_transmission", "12"),
        ],
    );
    story.section(
        "eyes",
        &[
            ("diagnosis", "Achromatopsia, complete form; fine nystagmus from infancy."),
            ("course", "stable"),
            ("alignment", "straight"),
            ("nystagmus", "horizontal"),
            ("nystagmus_onset", "infancy"),
            ("best_gaze", "straight"),
            ("preferred_eye", "right"),
            ("pupil", "2.5"),
            ("accommodation", "8"),
        ],
    );
    story.section(
        "advice",
        &[
            ("lighting", "Dim beats bright: blinds down, no lamp in view, never a light aimed at the page."),
            ("lux", "200"),
            ("seating", "Back to the windows, row 1."),
            ("advice", "cap_or_filter"),
            ("advice", "light"),
            ("advice", "contrast"),
            ("advice_note", "Colours of markers, wires and liquids are greys to her: label them in words."),
        ],
    );
    story.section(
        "distance",
        &[
            ("answer", "devices"),
            ("safe", "with_limits"),
            ("limits", "Seated or standing still; outdoors only with the filter and in the shade."),
            ("training_tasks", "Demonstration table and lab board, then the menu."),
            ("device_1_kind", "handheld_monocular"),
            ("device_1_power", "8"),
            ("device_1_objective", "20"),
            ("device_1_field", "7"),
            ("device_1_near_focus", "45 cm"),
            ("device_1_glasses", "over"),
            ("device_1_eye", "right"),
            ("device_1_purpose", "Board and demonstration table"),
        ],
    );
    story.section(
        "near",
        &[
            ("answer", "devices"),
            ("safe", "yes"),
            ("training_tasks", "Textbook, labels on bottles."),
            ("device_1_kind", "hand_magnifier"),
            ("device_1_equivalent", "16"),
            ("device_1_lens", "40"),
            ("device_1_light", "none"),
            ("device_1_eye", "either"),
            ("device_1_glasses", "over"),
            ("device_1_purpose", "Textbook and labels; no light of its own, because light hurts"),
        ],
    );
    story.signs_evaluation();
}

fn begins(story: &mut Story) {
    let loan = [("condition", "good"), ("carry_case", "yes"), ("home_use", "yes"), ("agreement_by", "parent"), ("held_by", "student"), ("purpose", "trial")];
    story.on(2026, 10, 26, 8).press(
        Marisol,
        "{S}/devices/lend/distance",
        "Hand it over",
        &[&loan[..], &[("device", "~LOAN-T-021"), ("eye", "right"), ("strap", "yes"), ("lent_on", "@2026-10-26"), ("due_on", "@2027-02-22")]].concat(),
    );
    story.on(2026, 10, 27, 13).press(
        Marisol,
        "{S}/training/readiness/distance",
        "Sign the list",
        &[
            ("item_parts", "yes"),
            ("item_strap_and_care", "yes"),
            ("item_holding_and_bracing", "with_help"),
            ("item_eye_and_glasses", "yes"),
            ("item_in_focus", "yes"),
            ("item_large_target", "yes"),
            ("item_sun_rule", "yes"),
            ("item_stand_still_rule", "yes"),
            ("item_agrees_to_try", "yes"),
            ("agreed_words", "OK, but not in the cafeteria."),
        ],
    );
    story.on(2026, 10, 30, 14).card(&[
        ("seat", "Row 1, back to the windows"),
        ("board", "Black marker only; colours are greys to her, so write the word beside the colour"),
        ("letters", "Small letters three fingers tall"),
        ("light", "Blinds down; no lamp in view"),
        ("print_size", "18 point, cream paper, no gloss"),
        ("device", "Small telescope on a strap, right eye; a hand magnifier for the book"),
        ("device_when", "When she chooses to. Please do not ask her for it before the class."),
        ("glasses", "On; cap and filter allowed indoors"),
        ("rest", "Ten minutes away from bright light after lab"),
        ("call", "Marisol Vantongeren, through the school office"),
        ("review_on", "@2027-03-26"),
    ]);
    story.suggests_at_home("Read the titles on television from the sofa, curtains half drawn. Let her choose the moment.", "tv");
    story.on(2026, 11, 30, 9).press(
        Marisol,
        "{S}/devices/lend/near",
        "Hand it over",
        &[&loan[..], &[("device", "~LOAN-M-007"), ("eye", "either"), ("lent_on", "@2026-11-30"), ("due_on", "@2027-03-29")]].concat(),
    );
    story.on(2026, 12, 1, 13).press(
        Marisol,
        "{S}/training/readiness/near",
        "Sign the list",
        &[
            ("item_light_and_care", "yes"),
            ("item_right_side", "yes"),
            ("item_focus_distance", "yes"),
            ("item_eye_and_glasses", "yes"),
            ("item_sun_and_fire_rule", "yes"),
            ("item_agrees_to_try", "yes"),
            ("agreed_words", "That one fits in my pocket."),
        ],
    );
}

fn far(story: &mut Story, place: &str, minutes: &str, said: Fields<'_>, exercises: &[Fields<'_>]) {
    let usual = [("device", "~LOAN-T-021"), ("glasses", "on"), ("comfort", "1"), ("place", place), ("minutes", minutes), ("body", "seated"), ("light", "normal_indoor")];
    story.trains("distance", &usual, said, exercises);
}

fn trains_far(story: &mut Story) {
    let board = ("task", "~Words on the lab board");
    story.on(2026, 10, 28, 13);
    far(story, "quiet_room", "10", &[("baseline", "yes"), ("note", "Before any teaching.")], &[
        &[("skill", "spotting"), ("item", "Word cards on the wall"), board, ("distance", "12 ft"), ("height", "4 cm"), ("tries", "10"), ("right", "2"), ("median", "24"), ("prompt", "5")],
    ]);
    story.on(2026, 11, 4, 13);
    far(story, "quiet_room", "20", &[], &[
        &[("skill", "focusing"), ("item", "Wall and window frame by turns"), ("distance", "3 m"), ("height", "5 cm"), ("tries", "5"), ("right", "3"), ("median", "12"), ("prompt", "2"), ("prompts", "4")],
    ]);
    story.on(2026, 11, 11, 13);
    far(story, "hallway", "20", &[("body", "standing_still"), ("light", "dim"), ("note", "Empty hallway during lessons; she asked for that.")], &[
        &[("skill", "focusing"), ("item", "Door numbers"), ("distance", "4 m"), ("height", "5 cm"), ("tries", "5"), ("right", "4"), ("median", "9"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2026, 11, 18, 13);
    far(story, "quiet_room", "20", &[("order_reason", "Focusing is nearly steady; the lab starts next week.")], &[
        &[("skill", "focusing"), ("item", "Table and board by turns"), ("distance", "12 ft"), ("height", "4 cm"), ("tries", "5"), ("right", "5"), ("median", "7"), ("prompt", "5")],
        &[("skill", "spotting"), ("item", "Look first, bring up, land on it"), board, ("distance", "12 ft"), ("height", "4 cm"), ("tries", "6"), ("right", "3"), ("median", "19"), ("prompt", "3"), ("prompts", "5")],
    ]);
    story.on(2026, 12, 2, 13);
    far(story, "own_class", "25", &[("order_reason", "Focusing is nearly steady; both in one lesson.")], &[
        &[("skill", "focusing"), ("item", "Table and board by turns"), ("distance", "12 ft"), ("height", "4 cm"), ("tries", "5"), ("right", "5"), ("median", "6"), ("prompt", "5")],
        &[("skill", "spotting"), ("item", "One word among three"), board, ("distance", "12 ft"), ("height", "4 cm"), ("tries", "8"), ("right", "4"), ("median", "17"), ("prompt", "4"), ("prompts", "4")],
    ]);
    story.on(2026, 12, 16, 13);
    far(story, "quiet_room", "25", &[("note", "Once she has the word she reads it. Finding it is what costs her the time.")], &[
        &[("skill", "spotting"), ("item", "One word among three"), board, ("distance", "12 ft"), ("height", "4 cm"), ("tries", "8"), ("right", "5"), ("median", "15"), ("prompt", "4"), ("prompts", "3")],
    ]);
    story.on(2027, 1, 13, 13);
    far(story, "own_class", "10", &[("refused", "yes"), ("refused_reason", "Others were in the room."), ("comfort", "0")], &[]);
    story.on(2027, 1, 27, 13);
    far(story, "cafeteria", "25", &[("order_reason", "Spotting is not steady; the menu is what she asked for, so we tried it once."), ("note", "Empty cafeteria before noon.")], &[
        &[("skill", "real_setting"), ("item", "Dishes found on the menu, of those named"), ("task", "~Menu in the cafeteria"), ("distance", "3 m"), ("height", "1 in"), ("tries", "10"), ("right", "4"), ("median", "18"), ("prompt", "4"), ("prompts", "6")],
    ]);
    story.on(2027, 2, 10, 13);
    far(story, "quiet_room", "20", &[], &[
        &[("skill", "spotting"), ("item", "One word among three"), board, ("distance", "12 ft"), ("height", "4 cm"), ("tries", "8"), ("right", "5"), ("median", "14"), ("prompt", "4"), ("prompts", "3")],
    ]);
}

fn near(story: &mut Story, place: &str, minutes: &str, said: Fields<'_>, exercises: &[Fields<'_>]) {
    let usual = [("device", "~LOAN-M-007"), ("glasses", "on"), ("comfort", "0"), ("place", place), ("minutes", minutes), ("body", "seated"), ("light", "normal_indoor")];
    story.trains("near", &usual, said, exercises);
}

fn trains_near(story: &mut Story) {
    let book = ("task", "~Science textbook");
    story.on(2026, 12, 3, 14);
    near(story, "quiet_room", "10", &[("baseline", "yes"), ("note", "Before any teaching.")], &[
        &[("skill", "tracing"), ("item", "Lines of the textbook without losing the place"), book, ("height", "2 mm"), ("tries", "6"), ("right", "2"), ("prompt", "5")],
    ]);
    story.on(2026, 12, 9, 14);
    near(story, "quiet_room", "20", &[], &[
        &[("skill", "focusing"), ("item", "Lower to the page, lift until it is sharp"), ("tries", "6"), ("right", "4"), ("median", "6"), ("prompt", "3"), ("prompts", "3")],
    ]);
    story.on(2027, 1, 20, 14);
    near(story, "own_class", "20", &[("note", "Labels on reagent bottles, by herself.")], &[
        &[("skill", "focusing"), ("item", "Labels on bottles"), ("task", "~Labels on bottles and clothes"), ("tries", "6"), ("right", "5"), ("median", "4"), ("prompt", "4"), ("prompts", "1")],
    ]);
    story.on(2027, 2, 3, 14);
    near(story, "library", "20", &[], &[
        &[("skill", "focusing"), ("item", "Figures and their captions"), book, ("height", "2 mm"), ("tries", "6"), ("right", "6"), ("median", "3"), ("prompt", "5")],
    ]);
    story.on(2027, 3, 2, 14);
    near(story, "own_class", "25", &[("order_reason", "Focusing is steady from today; the line is what she needs in class.")], &[
        &[("skill", "focusing"), ("item", "Captions and labels"), book, ("height", "2 mm"), ("tries", "6"), ("right", "6"), ("median", "3"), ("prompt", "5")],
        &[("skill", "tracing"), ("item", "Lines of the textbook without losing the place"), book, ("height", "2 mm"), ("tries", "6"), ("right", "4"), ("losses", "2"), ("prompt", "4"), ("prompts", "2")],
    ]);
}

fn seen(story: &mut Story) {
    let board = ("task", "~Words on the lab board");
    let table = ("task", "~Labels at the demonstration table");
    let device = ("device", "~LOAN-T-021");
    let hidden = [("device_out", "chose_not"), ("non_use", "embarrassed")];
    story.on(2026, 10, 15, 9).sees(Lucille, &[board, ("device_out", "not_needed"), ("correct", "2"), ("tried", "8"), ("help", "none")]);
    story.on(2026, 10, 22, 9).sees(Lucille, &[table, ("device_out", "not_needed"), ("correct", "0"), ("tried", "5"), ("help", "peer_read")]);
    story.on(2026, 11, 5, 9).sees(Lucille, &[table, ("device_out", "yes"), ("correct", "2"), ("tried", "5"), ("help", "none"), ("pace", "too_slow"), ("mood", "neutral")]);
    story.on(2026, 11, 12, 9).sees(Lucille, &[&[table, ("result", "none"), ("help", "peer_read")][..], &hidden].concat());
    story.on(2026, 11, 19, 9).sees(Lucille, &[&[board, ("result", "some"), ("help", "none")][..], &hidden].concat());
    story.on(2026, 12, 3, 9).sees(Lucille, &[board, ("device_out", "yes"), device, ("correct", "4"), ("tried", "8"), ("help", "none"), ("pace", "too_slow")]);
    story.on(2026, 12, 8, 9).sees(Lucille, &[&[board, ("result", "none"), ("help", "peer_read"), ("mood", "upset")][..], &hidden].concat());
    story.on(2027, 1, 14, 9).sees(Lucille, &[&[board, ("result", "some"), ("help", "none")][..], &hidden].concat());
    story.on(2027, 1, 28, 9).sees(Lucille, &[table, ("device_out", "yes"), device, ("correct", "2"), ("tried", "5"), ("help", "told_once"), ("pace", "too_slow")]);
    story.on(2027, 2, 4, 9).sees(Lucille, &[&[board, ("result", "some"), ("help", "none")][..], &hidden].concat());
    story.on(2027, 2, 11, 9).sees(Lucille, &[&[board, ("result", "none"), ("help", "peer_read")][..], &hidden].concat());
    story.on(2027, 3, 4, 9).sees(Lucille, &[board, ("device_out", "not_needed"), ("correct", "3"), ("tried", "8"), ("help", "none"), ("note", "Row 1 since Monday, blinds down.")]);
    let home = [("flag", "no"), ("place", "home")];
    story.on(2026, 11, 14, 19).sees(Niamh, &[&home[..], &[("task", "~Television"), ("device_out", "yes"), ("result", "most"), ("band", "across_room"), ("help", "none"), ("mood", "ok"), ("tired", "5_to_15"), ("suggested", "adult")]].concat());
    story.on(2026, 12, 27, 15).sees(Niamh, &[&home[..], &[("task", "~Labels on bottles and clothes"), ("device_out", "yes"), ("device", "~Hand magnifier"), ("result", "all"), ("help", "none"), ("mood", "proud"), ("suggested", "child"), ("note", "She sorted the laundry by the labels. All of it.")]].concat());
    story.on(2027, 2, 7, 15).sees(Niamh, &[("flag", "no"), ("place", "shop"), ("task", "~Menu board in a shop"), ("device_out", "chose_not"), ("result", "did_not_try"), ("non_use", "embarrassed"), ("mood", "shy")]);
}

fn talks(story: &mut Story) {
    story.on(2026, 12, 3, 14).says(Marisol, &[("about", "the magnifier for the book"), ("said_worked", "worked"), ("said_would_use", "yes"), ("said_words", "It looks like a key ring."), ("said_on", "@2026-12-03")]);
    story.on(2027, 1, 13, 14).says(Marisol, &[("about", "the telescope in class"), ("said_worked", "did_not_work"), ("said_would_use", "no"), ("said_words", "Not while they are all here."), ("said_on", "@2027-01-13")]);
    story.on(2026, 11, 20, 15).writes(Lucille, "vision_teacher", "She leaves it in the bag when the room is full. Shall I say something to the class?");
    story.on(2026, 11, 20, 17).answers(Marisol, "Please not to the class. She decides when; tell me how often, that is the most useful.");
    story.on(2026, 12, 28, 10).writes(Niamh, "note", "The small lens is with her everywhere. The telescope she only uses with the curtains drawn.");
    story.on(2027, 3, 8, 15).writes(Marisol, "clinician", "The new telescope goes out this week. Should the filter sit on it or on her glasses while she trains indoors?");
}

/// What is seen at home stays there from January on: the consent is withdrawn and
/// signed anew without it.
fn keeps_home_to_herself(story: &mut Story) {
    story.on(2027, 1, 15, 19).find(Niamh, "{S}/consents", "/people/consents/", "consent");
    story.press(Niamh, "{consent}", "Withdraw this consent", &[("password", PASSWORD)]);
    story.on(2027, 1, 15, 20).consents_with(Niamh, "school_to_clinic", "English", &[
        ("categories", "contacts"),
        ("categories", "intake"),
        ("categories", "class_observations"),
        ("categories", "evaluation"),
        ("categories", "devices"),
        ("categories", "training"),
        ("categories", "summary"),
        ("purpose", "As before, but what is seen at home stays at home: Saoirse asked for that"),
    ]);
}

fn changes(story: &mut Story) {
    story.on(2027, 2, 18, 14).summarises("distance", "@2026-10-26", "@2027-02-17", &[
        ("words", "Once a word is in view she reads it. Finding it takes 14 to 18 seconds, and on the menu she found four of ten. She chose not to take it out in class six times because others look, and refused one lesson for the same reason."),
        ("student_words", "By the time I have found it, everybody has looked at me."),
        ("questions", "Is what she sees at once too narrow for the board and the menu?\nThe lab is the brightest room: which filter, and on what?"),
        ("look_at", "Would something less conspicuous with a wider field do for the board, if she sits in row 1?"),
    ]);
    story.on(2027, 2, 26, 14).press(
        Noor,
        "{S}/review/distance",
        "Sign the decision",
        &[
            ("choice", "change_device"),
            ("first_kind", "handheld_monocular"),
            ("first_power", "4"),
            ("first_objective", "12"),
            ("first_field", "12.5"),
            ("first_near_focus", "20 cm"),
            ("first_glasses", "over"),
            ("first_eye", "right"),
            ("first_filter", "Red-brown over her glasses, 12 %, outdoors and in the lab"),
            ("first_purpose", "Board and demonstration table from row 1, the menu"),
            ("first_limits", "Seated or standing still; outdoors only with the filter and in the shade."),
            ("reason", "She reads through it but does not find. At 3 m the new one shows 0.66 m at once instead of 0.37 m, is half the size, and from row 1 it still reaches the board. The six times she left it in the bag count as much as the four of ten."),
            ("next_on", "@2027-05-14"),
            ("password", PASSWORD),
        ],
    );
    story.on(2027, 3, 3, 8).find(Marisol, "{S}/devices", "/devices/return/", "return");
    story.press(Marisol, "{return}", "Take it back", &[("returned_on", "@2027-03-03"), ("condition", "good")]);
    story.on(2027, 3, 5, 15).summarises("near", "@2026-11-30", "@2027-03-04", &[
        ("words", "She lowers the magnifier, lifts it and has the print sharp in three seconds, in any room. What is left is the line: she loses her place once or twice a page. At home she uses it without being asked."),
        ("student_words", "This one nobody notices."),
        ("questions", "Is 16 D enough for the chemistry tables, or does she hold it too far from the eye?\nMay this one become hers?"),
        ("look_at", "Would the same magnifier with a larger lens keep more of the line in view?"),
    ]);
}
