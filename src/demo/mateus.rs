//! Mateus, 17: came with a paper report and two devices of his own. His next
//! evaluation is overdue, a consent has run out, and he comes of age in 24 days.

use super::cast::Who::{Benedita, Lucille, Marisol, Noor};
use super::story::{Fields, Step, Story};

pub(super) fn story() -> Vec<Step> {
    let mut story = Story::new("Mateus");
    opens(&mut story);
    reported(&mut story);
    begins(&mut story);
    trains_far(&mut story);
    trains_near(&mut story);
    seen(&mut story);
    talks(&mut story);
    story.finish()
}

fn opens(story: &mut Story) {
    story.on(2026, 9, 1, 9).press_keep(
        Marisol,
        "/students/new",
        "Open the record",
        &[
            ("name", "Mateus Oduya"),
            ("number", "BF-13077"),
            ("birth_date", "@2009-04-02"),
            ("school", "Copperline High"),
            ("grade", "12"),
            ("languages", "English, Portuguese"),
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
            ("referral_source", "vision_teacher"),
            ("referral_on", "@2026-08-31"),
            ("referral_reason", "Moved here this summer with a telescope and a magnifier that he has used since 2025; wants to get about on his own before he leaves school."),
            ("concerns", "light_hurts"),
            ("concerns", "misses_board"),
            ("concerns", "tires"),
            ("eye_report_on", "@2026-02-16"),
            ("eye_report_note", "A low-vision report on paper, brought by his mother"),
            ("glasses", "has_wears"),
            ("glasses_note", "Dark, side shields outdoors"),
            ("other_aids", "filter_lenses"),
            ("other_aids", "cap"),
            ("other_aids", "screen_magnification"),
            ("medical_alerts", "glaucoma"),
            ("medical_note", "Pressure is watched at the eye clinic every three months."),
            ("near_distance", "6 cm"),
            ("smallest_print", "12 pt with the magnifier"),
            ("reads_up_close", "yes"),
            ("head_turn", "chin_down"),
            ("tires_after", "40"),
            ("mobility_note", "Crosses at the signals he knows; asks at the others."),
            ("student_words", "I don't need anybody to read the menu to me. I need to know where to stand."),
        ],
    );
    story.press(
        Marisol,
        "{S}/intake/school",
        "Add the room and seat",
        &[
            ("room", "Room 118"),
            ("distance", "10 ft"),
            ("aside", "1 ft"),
            ("side", "right"),
            ("board_width", "8 ft"),
            ("illuminance", "500"),
            ("light", "normal_indoor"),
            ("glare", "window_in_front"),
            ("measured_on", "@2026-09-01"),
        ],
    );
    story.press(Marisol, "{S}/intake/school", "Save the plan", &[("plan_type", "iep"), ("service_minutes", "45"), ("period", "week")]);
    let tasks: [Fields<'_>; 4] = [
        &[
            ("code", "board_words"),
            ("name", "Notes on the board"),
            ("seat", "~Room 118"),
            ("track", "distance"),
            ("goal", "copy"),
            ("x_height", "4 cm"),
            ("display", "whiteboard"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "his teacher"),
        ],
        &[
            ("code", "bus_number"),
            ("name", "Number of the bus"),
            ("place", "Bus stop on Alder Street"),
            ("distance", "15 m"),
            ("track", "distance"),
            ("goal", "name_it"),
            ("x_height", "18 cm"),
            ("display", "flat_screen"),
            ("marker", "white_on_dark"),
            ("light", "shade"),
            ("target", "digits"),
            ("measured", "yes"),
            ("wanted_by", "Mateus"),
        ],
        &[
            ("code", "shop_menu_board"),
            ("name", "Menu above the counter"),
            ("place", "Sandwich shop"),
            ("distance", "3 m"),
            ("track", "distance"),
            ("goal", "name_it"),
            ("x_height", "2.5 cm"),
            ("display", "dark_board"),
            ("marker", "white_on_dark"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "Mateus"),
        ],
        &[
            ("code", "phone"),
            ("name", "Messages on the phone"),
            ("distance", "6 cm"),
            ("track", "near"),
            ("goal", "phrase"),
            ("x_height", "2 mm"),
            ("display", "student_screen"),
            ("marker", "white_on_dark"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "Mateus"),
        ],
    ];
    for task in tasks {
        story.press(Marisol, "{S}/intake/tasks", "Add", task);
    }
    story.on(2026, 9, 2, 16);
    story.joins(Marisol, "parent", "mother", Benedita);
    story.contact(Benedita, "mother", "555-0187", "Portuguese, English");
    story.joins(Marisol, "classroom_teacher", "", Lucille);
    story.joins(Marisol, "clinician", "", Noor);
}

/// The paper report, transcribed and not yet confirmed, and what he brought along.
fn reported(story: &mut Story) {
    story.on(2026, 9, 2, 19);
    let all = [("purpose", "So that the clinic knows how he uses his two devices before his yearly visit"), ("ends_on", "@2027-02-28")];
    story.consents_with(Benedita, "school_to_clinic", "English", &all).consents(Benedita, "clinic_to_school", "English");
    story.on(2026, 9, 3, 10).finishes_steps(Marisol);
    story.on(2026, 9, 7, 9);
    for (track, fields) in [
        (
            "distance",
            &[
                ("kind", "handheld_monocular"),
                ("power", "4"),
                ("objective", "12"),
                ("field", "12.5"),
                ("near_focus", "20 cm"),
                ("glasses", "over"),
                ("eye", "left"),
                ("had_since", "@2025-06-16"),
                ("condition", "worn"),
                ("received_by", "The clinic of his last district"),
            ][..],
        ),
        (
            "near",
            &[
                ("kind", "hand_magnifier"),
                ("equivalent", "20"),
                ("lens", "35"),
                ("light", "battery"),
                ("eye", "either"),
                ("had_since", "@2025-06-16"),
                ("condition", "good"),
                ("received_by", "The clinic of his last district"),
            ],
        ),
    ] {
        story.press(Marisol, &format!("{{S}}/devices/brought/{track}"), "Save the device", fields);
    }
    story.on(2026, 9, 8, 15).press_keep(
        Marisol,
        "{S}/evaluations/paper/new",
        "Begin",
        &[
            ("report", "low_vision"),
            ("clinician", "Dr Ottoline Brask"),
            ("examined_on", "@2026-02-16"),
            ("place", "Low-vision service, Cinder Bluff"),
            ("next_due_on", "@2027-02-16"),
        ],
        ("report", "/edit"),
    );
    for (eye, value) in [("right", "10/125"), ("left", "10/100"), ("both", "10/100")] {
        let row = [("eye", eye), ("correction", "habitual_glasses"), ("distance", "10 ft"), ("value", value), ("chart", "row_letters")];
        story.press(Marisol, "{report}/edit/acuity", "Add this row", &row);
    }
    story.press(Marisol, "{report}/edit/acuity", "Add it as stated", &[("stated_value", "small print with the magnifier, good"), ("stated_eye", "both")]);
    for section in ["refraction", "sight"] {
        story.press(Marisol, &format!("{{report}}/edit/{section}"), "Save and go on", &[("not_stated", "yes")]);
    }
    story.press(Marisol, "{report}/edit/eyes", "Save and go on", &[("diagnosis", "Aniridia, early lens changes in both eyes."), ("course", "stable"), ("preferred_eye", "left")]);
    story.press(Marisol, "{report}/edit/advice", "Save and go on", &[("lighting", "Dim and even; side shields outdoors."), ("advice", "cap_or_filter")]);
    for (track, tasks) in [("distance", "Bus, menu, board"), ("near", "Phone, labels")] {
        let answer = [("answer", "keep_own_device"), ("safe", "with_limits"), ("limits", "Standing still; his eye pressure is watched."), ("training_tasks", tasks)];
        story.press(Marisol, &format!("{{report}}/edit/{track}"), "Save and go on", &answer);
    }
    story.attach(Marisol, "{report}/file", ("Attach the file", "file"), &[], &[
        "Low-vision service, Cinder Bluff (invented)",
        "Mateus Oduya, seen on the day given in the record",
        "Right 10/125, left 10/100, both 10/100, with his glasses, at 10 ft",
        "Keep the 4x telescope, left eye, and the 20 D hand magnifier.",
        "Training: yes, standing still.",
        "Dr Ottoline Brask",
    ]);
    story.press(Marisol, "{report}/filing", "File the report", &[]);
}

fn begins(story: &mut Story) {
    story.on(2026, 9, 10, 11).press(
        Marisol,
        "{S}/training/readiness/distance",
        "Sign the list",
        &[
            ("item_parts", "yes"),
            ("item_strap_and_care", "yes"),
            ("item_holding_and_bracing", "yes"),
            ("item_eye_and_glasses", "yes"),
            ("item_in_focus", "yes"),
            ("item_large_target", "yes"),
            ("item_sun_rule", "yes"),
            ("item_stand_still_rule", "yes"),
            ("item_agrees_to_try", "yes"),
            ("agreed_words", "I've had it for a year. But show me the bus."),
        ],
    );
    story.on(2026, 9, 10, 12).press(
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
            ("agreed_words", "Sure."),
        ],
    );
    story.on(2026, 9, 11, 14).card(&[
        ("room", "~Room 118"),
        ("seat", "Row 1, right of the middle"),
        ("board", "Black marker; no colours on a busy slide"),
        ("letters", "Small letters two fingers tall"),
        ("light", "Blinds down on his side; he wears his cap indoors"),
        ("print_size", "18 point"),
        ("device", "His own small telescope, left eye"),
        ("device_when", "When he takes it out"),
        ("glasses", "On"),
        ("head_turn", "yes"),
        ("extra_care", "yes"),
        ("call", "Marisol Vantongeren, through the school office"),
        ("review_on", "@2027-03-19"),
        ("try_at_home", "Let him order from the board in the shop by himself, standing still beside the line."),
    ]);
}

fn far(story: &mut Story, place: &str, minutes: &str, said: Fields<'_>, exercises: &[Fields<'_>]) {
    let usual = [("device", "~telescope"), ("glasses", "on"), ("comfort", "0"), ("place", place), ("minutes", minutes), ("body", "standing_still"), ("light", "shade")];
    story.trains("distance", &usual, said, exercises);
}

fn trains_far(story: &mut Story) {
    let bus = ("task", "~Number of the bus");
    let menu = ("task", "~Menu above the counter");
    story.on(2026, 9, 16, 15);
    far(story, "street", "15", &[("baseline", "yes"), ("note", "Before any teaching. At the stop, back to the shelter, with me beside him.")], &[
        &[("skill", "spotting"), ("item", "Numbers of buses that stand at the stop"), bus, ("distance", "15 m"), ("height", "18 cm"), ("tries", "6"), ("right", "3"), ("median", "12"), ("prompt", "5")],
    ]);
    story.on(2026, 9, 30, 15);
    far(story, "hallway", "25", &[("light", "normal_indoor")], &[
        &[("skill", "focusing"), ("item", "Clock and door numbers by turns"), ("distance", "6 m"), ("height", "5 cm"), ("tries", "6"), ("right", "6"), ("median", "4"), ("prompt", "5")],
    ]);
    story.on(2026, 10, 14, 15);
    far(story, "own_class", "25", &[("body", "seated"), ("light", "normal_indoor")], &[
        &[("skill", "focusing"), ("item", "Desk and board by turns"), ("distance", "10 ft"), ("height", "4 cm"), ("tries", "6"), ("right", "6"), ("median", "3"), ("prompt", "5")],
        &[("skill", "focusing"), ("item", "Board and clock by turns"), ("distance", "10 ft"), ("height", "4 cm"), ("tries", "5"), ("right", "5"), ("median", "3"), ("prompt", "5")],
    ]);
    story.on(2026, 11, 4, 15);
    far(story, "street", "30", &[("order_reason", "Focusing is steady but for one more day; the bus is why he comes.")], &[
        &[("skill", "focusing"), ("item", "Sign across the street, then the stop"), ("distance", "12 m"), ("height", "10 cm"), ("tries", "6"), ("right", "6"), ("median", "3"), ("prompt", "5")],
        &[("skill", "spotting"), ("item", "Numbers of buses that stand at the stop"), bus, ("distance", "15 m"), ("height", "18 cm"), ("tries", "8"), ("right", "6"), ("median", "7"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2026, 12, 2, 15);
    far(story, "shop", "30", &[("light", "normal_indoor")], &[
        &[("skill", "spotting"), ("item", "Dishes that I name"), menu, ("distance", "3 m"), ("height", "2.5 cm"), ("tries", "10"), ("right", "9"), ("median", "6"), ("prompt", "5")],
    ]);
    story.on(2027, 1, 13, 15);
    far(story, "street", "30", &[], &[
        &[("skill", "spotting"), ("item", "Numbers of buses that stand at the stop"), bus, ("distance", "15 m"), ("height", "18 cm"), ("tries", "8"), ("right", "7"), ("median", "5"), ("prompt", "5")],
    ]);
    story.on(2027, 2, 3, 15);
    far(story, "shop", "30", &[("light", "normal_indoor"), ("order_reason", "Spotting is steady from today; the whole menu needs rows.")], &[
        &[("skill", "spotting"), ("item", "Dishes that I name"), menu, ("distance", "3 m"), ("height", "2.5 cm"), ("tries", "10"), ("right", "10"), ("median", "4"), ("prompt", "5")],
        &[("skill", "scanning"), ("item", "The cheapest dish, row by row"), menu, ("distance", "3 m"), ("height", "2.5 cm"), ("tries", "6"), ("right", "5"), ("median", "15"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2027, 2, 17, 15);
    far(story, "street", "30", &[("note", "He reads the number before the bus has stopped. Crossing stays another lesson, without the telescope.")], &[
        &[("skill", "scanning"), ("item", "Which of three signs names the street"), ("distance", "12 m"), ("height", "10 cm"), ("tries", "6"), ("right", "5"), ("median", "11"), ("prompt", "5")],
    ]);
}

fn near(story: &mut Story, minutes: &str, said: Fields<'_>, exercises: &[Fields<'_>]) {
    let usual = [("device", "~magnifier"), ("glasses", "off"), ("comfort", "0"), ("place", "quiet_room"), ("minutes", minutes), ("body", "seated"), ("light", "normal_indoor")];
    story.trains("near", &usual, said, exercises);
}

fn trains_near(story: &mut Story) {
    let phone = ("task", "~Messages on the phone");
    for (year, month, day, tries, right, median, prompt) in [
        (2026, 9, 23, "6", "4", "5", "4"),
        (2026, 10, 21, "6", "5", "4", "5"),
        (2026, 11, 18, "6", "6", "3", "5"),
        (2026, 12, 16, "6", "6", "3", "5"),
    ] {
        story.on(year, month, day, 14);
        near(story, "15", &[], &[
            &[("skill", "focusing"), ("item", "Small print of a bus pass, a receipt, a label"), ("tries", tries), ("right", right), ("median", median), ("prompt", prompt)],
        ]);
    }
    story.on(2027, 1, 27, 14);
    near(story, "20", &[("place", "library"), ("order_reason", "Focusing is steady and he lands on words; on the screen he loses the line.")], &[
        &[("skill", "focusing"), ("item", "A page of the atlas"), ("tries", "6"), ("right", "6"), ("median", "3"), ("prompt", "5")],
        &[("skill", "tracing"), ("item", "Lines of a long message"), phone, ("height", "2 mm"), ("tries", "6"), ("right", "4"), ("losses", "2"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2027, 2, 24, 14);
    near(story, "20", &[("order_reason", "He lands on words without help; the line is what he came for.")], &[
        &[("skill", "tracing"), ("item", "Lines of a long message"), phone, ("height", "2 mm"), ("tries", "6"), ("right", "5"), ("losses", "1"), ("prompt", "5")],
    ]);
}

fn seen(story: &mut Story) {
    let board = ("task", "~Notes on the board");
    let device = ("device", "~telescope");
    story.on(2026, 9, 25, 11).sees(Lucille, &[board, ("device_out", "yes"), device, ("correct", "6"), ("tried", "8"), ("help", "none"), ("pace", "slow"), ("mood", "willing")]);
    story.on(2026, 11, 13, 11).sees(Lucille, &[board, ("device_out", "chose_not"), ("result", "most"), ("non_use", "no_time"), ("help", "none")]);
    story.on(2026, 12, 11, 11).sees(Lucille, &[board, ("device_out", "yes"), device, ("correct", "7"), ("tried", "8"), ("help", "none"), ("pace", "quick")]);
    story.on(2027, 1, 22, 11).sees(Lucille, &[board, ("device_out", "chose_not"), ("result", "some"), ("non_use", "not_helpful"), ("help", "peer_read"), ("note", "Diagrams on a slide full of colours.")]);
    story.on(2027, 2, 19, 11).sees(Lucille, &[board, ("device_out", "chose_not"), ("result", "most"), ("non_use", "no_time"), ("help", "none")]);
    let shop = [("flag", "no"), ("place", "shop"), ("task", "~Menu above the counter"), ("device_out", "yes"), ("device", "~telescope")];
    let home = [("flag", "no"), ("place", "home")];
    for (year, month, day, fields) in [
        (2026, 10, 4, &[&shop[..], &[("result", "some"), ("help", "told_once"), ("mood", "shy"), ("suggested", "adult")]].concat()),
        (2026, 11, 8, &[&shop[..], &[("result", "most"), ("help", "none"), ("mood", "ok"), ("suggested", "child")]].concat()),
        (2026, 12, 20, &[&shop[..], &[("result", "all"), ("help", "none"), ("mood", "proud"), ("suggested", "child"), ("note", "He ordered for all of us.")]].concat()),
        (2027, 1, 10, &[&home[..], &[("task", "~Television"), ("device_out", "chose_not"), ("result", "some"), ("non_use", "not_helpful"), ("help", "none"), ("mood", "bored")]].concat()),
        (2027, 1, 31, &[&home[..], &[("task", "~Messages on the phone"), ("device_out", "yes"), ("device", "~magnifier"), ("result", "all"), ("help", "none"), ("mood", "ok"), ("suggested", "child")]].concat()),
        (2027, 2, 14, &[&shop[..], &[("result", "all"), ("help", "none"), ("mood", "proud"), ("suggested", "child")]].concat()),
        (2027, 3, 7, &[&home[..], &[("task", "~Television"), ("device_out", "not_needed"), ("result", "most"), ("help", "none"), ("mood", "ok"), ("note", "He sits on the floor in front of it. The telescope is at the repair.")]].concat()),
    ] {
        story.on(year, month, day, 19).sees(Benedita, fields);
    }
}

fn talks(story: &mut Story) {
    story.on(2027, 3, 1, 16).writes(Marisol, "parent", "The consent toward the clinic ended yesterday, and the yearly visit is due. Would you sign it again? From 2 April it will be Mateus who decides.");
    story.on(2027, 3, 2, 19).writes(Benedita, "vision_teacher", "He wants to decide himself, and he wants me to see the summaries, nothing else. How does he say so?");
    story.on(2027, 3, 3, 16).find(Marisol, "{S}/devices", "/repair", "repair");
    story.press(Marisol, "{repair}", "Record the repair", &[("from_on", "@2027-03-03"), ("reason", "The eye cup came off and the tube turns hard.")]);
    story.on(2027, 3, 4, 8).press(
        Marisol,
        "{S}/devices/lend/distance",
        "Hand it over",
        &[
            ("device", "~LOAN-T-009"),
            ("eye", "left"),
            ("strap", "yes"),
            ("carry_case", "yes"),
            ("home_use", "yes"),
            ("lent_on", "@2027-03-04"),
            ("due_on", "@2027-04-15"),
            ("condition", "good"),
            ("agreement_by", "parent"),
            ("held_by", "student"),
            ("purpose", "repair_cover"),
        ],
    );
}
