//! Ifeoma, 10: the distance track the whole way round, to a telescope of her own.

use super::PASSWORD;
use super::cast::Who::{Chiamaka, Dev, Marisol, Noor};
use super::story::{Fields, Step, Story};

/// The telescope on loan, as a choice of the training form.
const LOAN: (&str, &str) = ("device", "~LOAN-T-014");
/// What every session of hers has in common.
const GLASSES: (&str, &str) = ("glasses", "on");

pub(super) fn story() -> Vec<Step> {
    let mut story = Story::new("Ifeoma");
    opens(&mut story);
    evaluated(&mut story);
    begins(&mut story);
    trains(&mut story);
    seen_in_class(&mut story);
    seen_outside(&mut story);
    talks(&mut story);
    closes(&mut story);
    story.finish()
}

fn opens(story: &mut Story) {
    story.on(2026, 8, 31, 9).press_keep(
        Marisol,
        "/students/new",
        "Open the record",
        &[
            ("name", "Ifeoma Tamsin-Okafor"),
            ("number", "BF-20417"),
            ("birth_date", "@2016-03-11"),
            ("school", "Ottermere Elementary"),
            ("grade", "5"),
            ("languages", "English, Igbo"),
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
            ("referral_source", "classroom_teacher"),
            ("referral_on", "@2026-08-26"),
            ("referral_reason", "Copies from the pupil beside her and walks up to the board between sentences."),
            ("concerns", "moves_close"),
            ("concerns", "misses_board"),
            ("concerns", "light_hurts"),
            ("concerns", "copies_from_neighbour"),
            ("eye_report_on", "@2026-04-14"),
            ("eye_report_note", "Eye doctor's letter, in the school file"),
            ("glasses", "has_wears"),
            ("glasses_note", "Tinted, all day; new lenses this spring"),
            ("other_aids", "cap"),
            ("other_aids", "slant_board"),
            ("near_distance", "12 cm"),
            ("smallest_print", "14 pt with ease"),
            ("reads_up_close", "yes"),
            ("head_turn", "left"),
            ("head_turn_degrees", "10"),
            ("tires_after", "30"),
            ("mobility_note", "Kerbs in bright sun are hard; sure of herself in the shade and indoors."),
            ("student_words", "I want to read the board without everybody watching me walk up."),
        ],
    );
    story.press(
        Marisol,
        "{S}/intake/school",
        "Add the room and seat",
        &[
            ("room", "Room 12"),
            ("distance", "15 ft"),
            ("aside", "1 ft 6 in"),
            ("side", "left"),
            ("board_width", "8 ft"),
            ("rows", "5"),
            ("row_seats", "6"),
            ("first_row", "7 ft"),
            ("row_gap", "4 ft"),
            ("seat_gap", "3 ft"),
            ("usual_row", "3"),
            ("usual_seat", "3"),
            ("illuminance", "420"),
            ("light", "normal_indoor"),
            ("glare", "window_in_front"),
            ("measured_on", "@2026-08-31"),
            ("note", "Blinds half down; the projector stands between the desks."),
        ],
    );
    story.press(
        Marisol,
        "{S}/intake/school",
        "Save the plan",
        &[("plan_type", "iep"), ("service_minutes", "60"), ("period", "week")],
    );
    let tasks: [Fields<'_>; 5] = [
        &[
            ("code", "board_words"),
            ("name", "Words on the board"),
            ("seat", "~Room 12"),
            ("track", "distance"),
            ("goal", "copy"),
            ("x_height", "3.5 cm"),
            ("display", "whiteboard"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "Ifeoma and her teacher"),
        ],
        &[
            ("code", "board_maths"),
            ("name", "Maths on the side board"),
            ("place", "Room 12, by the window"),
            ("distance", "11 ft"),
            ("track", "distance"),
            ("goal", "copy"),
            ("x_height", "1 1/4 in"),
            ("display", "whiteboard"),
            ("marker", "green_on_white"),
            ("light", "bright_indoor"),
            ("target", "digits"),
            ("measured", "yes"),
            ("wanted_by", "her teacher"),
        ],
        &[
            ("code", "assembly_stage"),
            ("name", "Song words at assembly"),
            ("place", "Hall, fourth row"),
            ("distance", "12 m"),
            ("track", "distance"),
            ("goal", "phrase"),
            ("x_height", "9 cm"),
            ("display", "projector"),
            ("marker", "white_on_dark"),
            ("light", "normal_indoor"),
            ("screen_white", "260"),
            ("screen_black", "190"),
            ("screen_off", "188"),
            ("target", "words"),
            ("wanted_by", "Ifeoma"),
        ],
        &[
            ("code", "street_name"),
            ("name", "Street names on the way home"),
            ("place", "Corner by the school"),
            ("distance", "10 m"),
            ("track", "distance"),
            ("goal", "name_it"),
            ("x_height", "3 in"),
            ("display", "paper_chart"),
            ("marker", "white_on_dark"),
            ("light", "shade"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "her mother"),
        ],
        &[
            ("code", "worksheet"),
            ("name", "Worksheets"),
            ("distance", "12 cm"),
            ("track", "near"),
            ("goal", "copy"),
            ("x_height", "3 mm"),
            ("display", "page"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "her teacher"),
        ],
    ];
    for task in tasks {
        story.press(Marisol, "{S}/intake/tasks", "Add", task);
    }
    story.on(2026, 9, 2, 15);
    story.joins(Marisol, "parent", "mother", Chiamaka);
    story.contact(Chiamaka, "mother", "555-0142", "English");
    story.joins(Marisol, "classroom_teacher", "", Dev);
    story.joins(Marisol, "clinician", "", Noor);
    story.on(2026, 9, 2, 19);
    story.consents(Chiamaka, "school_to_clinic", "English").consents(Chiamaka, "clinic_to_school", "English");
    story.on(2026, 9, 3, 10).finishes_steps(Marisol);
    story.press(
        Marisol,
        "{S}/evaluations/request",
        "Ask, and release the intake",
        &[
            ("question", "Which telescope would let her copy from the board at 15 ft, and which eye should use it?"),
            ("urgency", "Before the reading tests of this term"),
        ],
    );
}

fn evaluated(story: &mut Story) {
    story.on(2026, 9, 11, 14).examines("@2027-09-10");
    let chart = [("chart", "row_letters"), ("effort", "good"), ("light", "normal")];
    story
        .acuity(["right", "best_correction", "10 ft", "10/80"], &chart)
        .acuity(["left", "best_correction", "10 ft", "10/100"], &chart)
        .acuity(["both", "habitual_glasses", "10 ft", "10/63"], &chart)
        .acuity(
            ["right", "through_device", "10 ft", "10/16"],
            &[("chart", "row_letters"), ("effort", "good"), ("device_kind", "handheld_monocular"), ("device_power", "6")],
        )
        .acuity(["both", "habitual_glasses", "20 cm", "1.25M"], &[("chart", "continuous_text"), ("effort", "good")]);
    story.section(
        "refraction",
        &[
            ("right_sphere", "+2.25"),
            ("right_cylinder", "-1.75"),
            ("right_axis", "175"),
            ("right_method", "subjective"),
            ("left_sphere", "+2.50"),
            ("left_cylinder", "-2.00"),
            ("left_axis", "5"),
            ("left_method", "subjective"),
        ],
    );
    story.section(
        "sight",
        &[
            ("contrast", "1.50"),
            ("contrast_eye", "both"),
            ("contrast_method", "letters"),
            ("field_method", "confrontation"),
            ("field_pattern", "full"),
            ("colour", "no_defect"),
            ("glare_indoor", "moderate"),
            ("glare_outdoor", "stops_function"),
            ("filter", "Amber over her glasses: eyes open in the sun, street signs found sooner"),
            ("filter_transmission", "20"),
        ],
    );
    story.section(
        "eyes",
        &[
            ("diagnosis", "Oculocutaneous albinism with foveal hypoplasia; nystagmus from infancy; light sensitivity."),
            ("course", "stable"),
            ("alignment", "in_turn"),
            ("alignment_note", "Left eye, small, at times"),
            ("nystagmus", "horizontal"),
            ("nystagmus_onset", "infancy"),
            ("best_gaze", "right"),
            ("best_gaze_degrees", "10"),
            ("preferred_eye", "right"),
            ("pupil", "3.5"),
            ("accommodation", "10"),
        ],
    );
    story.section(
        "advice",
        &[
            ("lighting", "Back to the window; blinds down on bright days. Light on the page from over the shoulder."),
            ("lux", "400"),
            ("seating", "Row 1 or 2, a little right of the middle, so that the head turn points at the board."),
            ("advice", "closer_seat"),
            ("advice", "cap_or_filter"),
            ("advice", "large_print"),
            ("advice_note", "The head turn brings her eyes to where they are stillest. Please do not correct it."),
        ],
    );
    story.section(
        "distance",
        &[
            ("answer", "devices"),
            ("safe", "with_limits"),
            ("limits", "Seated or standing still. Outdoors only in the shade and with an adult."),
            ("training_tasks", "The board in class first, then assembly and street names."),
            ("device_1_kind", "handheld_monocular"),
            ("device_1_power", "6"),
            ("device_1_objective", "16"),
            ("device_1_field", "10"),
            ("device_1_near_focus", "25 cm"),
            ("device_1_glasses", "over"),
            ("device_1_eye", "right"),
            ("device_1_purpose", "Board, assembly, street names"),
        ],
    );
    story.section(
        "near",
        &[
            ("answer", "none"),
            ("training_tasks", "She reads 14 pt at 12 cm with her own focusing. A slant board and large print do more than a lens now."),
        ],
    );
    story.signs_evaluation();
}

fn begins(story: &mut Story) {
    story.on(2026, 9, 28, 8).press(
        Marisol,
        "{S}/devices/lend/distance",
        "Hand it over",
        &[
            ("device", "~LOAN-T-014"),
            ("eye", "right"),
            ("lent_on", "@2026-09-28"),
            ("due_on", "@2027-03-26"),
            ("condition", "good"),
            ("strap", "yes"),
            ("carry_case", "yes"),
            ("home_use", "yes"),
            ("agreement_by", "parent"),
            ("held_by", "student"),
            ("purpose", "trial"),
            ("confirmed", "?"),
        ],
    );
    story.on(2026, 9, 29, 10).press(
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
            ("agreed_words", "If I can sit in my own seat, yes."),
        ],
    );
    story.on(2026, 10, 2, 14).card(&[
        ("room", "~Room 12"),
        ("seat", "Row 2, right of the middle"),
        ("board", "Black marker only; say aloud what you write"),
        ("letters", "Small letters two fingers tall on the main board"),
        ("light", "Back to the window, blinds down when the sun is on the board"),
        ("print_size", "18 point, no grey copies"),
        ("device", "Small telescope on a strap, right eye, glasses stay on"),
        ("device_when", "Whenever she wants it, seated or standing still. She decides."),
        ("glasses", "On all day; the cap is allowed indoors"),
        ("head_turn", "yes"),
        ("rest", "A minute of looking away every quarter of an hour"),
        ("tests", "Extra time and enlarged pages, as in her plan"),
        ("call", "Marisol Vantongeren, through the school office"),
        ("review_on", "@2027-03-12"),
    ]);
    story.suggests_at_home("Let her read the list on the fridge from the table, seated. Five minutes are enough.", "fridge_list");
}

/// A session: where, how long, what is said of it, what was done.
fn session(story: &mut Story, place: &str, minutes: &str, said: Fields<'_>, exercises: &[Fields<'_>]) {
    let usual = [LOAN, GLASSES, ("place", place), ("minutes", minutes), ("body", "seated"), ("light", "normal_indoor")];
    story.trains("distance", &usual, said, exercises);
}

fn trains(story: &mut Story) {
    let board = ("task", "~Words on the board");
    story.on(2026, 9, 30, 10);
    session(story, "quiet_room", "10", &[("baseline", "yes"), ("comfort", "0"), ("note", "Before any teaching.")], &[
        &[("skill", "spotting"), ("item", "Word cards on the wall"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "3"), ("median", "19"), ("prompt", "5")],
    ]);
    for (day, right, median) in [(1, "2", "22"), (2, "4", "20")] {
        story.on(2026, 10, day, 10);
        session(story, "quiet_room", "10", &[("baseline", "yes"), ("comfort", "0"), ("note", "Before any teaching, other words.")], &[
            &[("skill", "spotting"), ("item", "Word cards on the wall"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", right), ("median", median), ("prompt", "5")],
        ]);
    }
    story.on(2026, 10, 5, 10);
    session(story, "quiet_room", "20", &[("comfort", "1"), ("symptoms", "tired_arm"), ("note", "Elbow on the desk from now on.")], &[
        &[("skill", "handling"), ("item", "Strap, case, eye cup to the glasses"), ("tries", "6"), ("right", "5"), ("prompt", "3"), ("prompts", "4")],
        &[("skill", "focusing"), ("item", "From 1 m to 3 m and back"), ("distance", "3 m"), ("height", "5 cm"), ("tries", "5"), ("right", "2"), ("median", "14"), ("prompt", "2"), ("prompts", "5")],
    ]);
    story.on(2026, 10, 7, 10);
    session(story, "own_class", "20", &[("comfort", "0")], &[
        &[("skill", "focusing"), ("item", "Alphabet above the board"), ("distance", "3 m"), ("height", "5 cm"), ("tries", "5"), ("right", "4"), ("median", "9"), ("prompt", "3"), ("prompts", "3")],
    ]);
    story.on(2026, 10, 14, 10);
    session(story, "hallway", "25", &[("body", "standing_still"), ("comfort", "0"), ("note", "Back against the lockers, both feet still.")], &[
        &[("skill", "focusing"), ("item", "Door numbers, near and far by turns"), ("distance", "20 ft"), ("height", "2 in"), ("tries", "6"), ("right", "5"), ("median", "7"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2026, 10, 21, 10);
    session(story, "quiet_room", "25", &[("comfort", "0"), ("order_reason", "Focusing is nearly steady, and she asked to find words on her own.")], &[
        &[("skill", "focusing"), ("item", "Sharpest point at 1, 3 and 6 m"), ("distance", "6 m"), ("height", "5 cm"), ("tries", "5"), ("right", "5"), ("median", "6"), ("prompt", "5")],
        &[("skill", "spotting"), ("item", "Look first, bring up, land on it"), board, ("distance", "3 m"), ("height", "3.5 cm"), ("tries", "8"), ("right", "5"), ("median", "12"), ("prompt", "3"), ("prompts", "5")],
    ]);
    story.on(2026, 10, 28, 10);
    session(story, "own_class", "25", &[("comfort", "0"), ("order_reason", "Focusing is nearly steady; both in one lesson keep her going.")], &[
        &[("skill", "focusing"), ("item", "Board and clock by turns"), ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "5"), ("right", "5"), ("median", "4"), ("prompt", "5")],
        &[("skill", "spotting"), ("item", "One word among three"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "8"), ("right", "6"), ("median", "9"), ("prompt", "4"), ("prompts", "3")],
    ]);
    story.on(2026, 11, 4, 10);
    session(story, "own_class", "25", &[("comfort", "1")], &[
        &[("skill", "spotting"), ("item", "Words high and low on the board"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "8"), ("median", "8"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2026, 11, 12, 10);
    session(story, "hallway", "25", &[("body", "standing_still"), ("comfort", "0")], &[
        &[("skill", "spotting"), ("item", "Names on doors"), ("distance", "20 ft"), ("height", "1 in"), ("tries", "10"), ("right", "9"), ("median", "6"), ("prompt", "5"), ("self", "yes")],
    ]);
    story.on(2026, 11, 18, 10);
    session(story, "own_class", "30", &[("comfort", "0"), ("order_reason", "Spotting is steady but for one more day; she finds the first word at once.")], &[
        &[("skill", "spotting"), ("item", "Words of the lesson"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "9"), ("median", "5"), ("prompt", "5")],
        &[("skill", "scanning"), ("item", "Find the spelling mistake, left to right in overlapping rows"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "6"), ("right", "4"), ("median", "21"), ("prompt", "3"), ("prompts", "4")],
    ]);
    story.on(2026, 12, 2, 10);
    session(story, "library", "30", &[("comfort", "0")], &[
        &[("skill", "spotting"), ("item", "Word cards on the wall, to warm up"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "8"), ("median", "5.5"), ("prompt", "5")],
        &[("skill", "scanning"), ("item", "Shelf labels across the room"), ("distance", "4 m"), ("height", "2.5 cm"), ("tries", "6"), ("right", "5"), ("median", "16"), ("prompt", "4"), ("prompts", "2")],
    ]);
    story.on(2026, 12, 9, 10);
    session(story, "own_class", "30", &[("comfort", "0")], &[
        &[("skill", "spotting"), ("item", "Word cards on the wall, to warm up"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "9"), ("median", "4.5"), ("prompt", "5")],
        &[("skill", "scanning"), ("item", "One of eight words"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "8"), ("right", "7"), ("median", "12"), ("prompt", "5")],
    ]);
    story.on(2027, 1, 6, 10);
    session(story, "gym", "30", &[("comfort", "1"), ("order_reason", "Scanning needs one more place; tracing came up by itself at the line of names.")], &[
        &[("skill", "spotting"), ("item", "Word cards on the wall, to warm up"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "9"), ("median", "4"), ("prompt", "5")],
        &[("skill", "scanning"), ("item", "Numbers on shirts, players standing"), ("distance", "8 m"), ("height", "12 cm"), ("tries", "8"), ("right", "7"), ("median", "10"), ("prompt", "5")],
        &[("skill", "tracing"), ("item", "Along the border of the court and back"), ("distance", "8 m"), ("tries", "5"), ("right", "3"), ("losses", "4"), ("prompt", "3"), ("prompts", "3")],
    ]);
    story.on(2027, 1, 13, 10);
    session(story, "gym", "30", &[("comfort", "0"), ("order_reason", "Five minutes of tracking at the end, because the class had a match.")], &[
        &[("skill", "spotting"), ("item", "Word cards on the wall, to warm up"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "10"), ("median", "3.8"), ("prompt", "5")],
        &[("skill", "tracing"), ("item", "The rail, the line of names"), ("distance", "8 m"), ("tries", "5"), ("right", "4"), ("losses", "1"), ("prompt", "4"), ("prompts", "1")],
        &[("skill", "tracking"), ("item", "A slow ball, her body still"), ("distance", "8 m"), ("view", "24"), ("shown", "40"), ("losses", "3"), ("prompt", "3"), ("prompts", "2")],
    ]);
    story.on(2027, 1, 20, 10);
    session(story, "own_class", "35", &[("comfort", "0"), ("order_reason", "She wants to copy from the board now. Tracing and tracking go on beside it.")], &[
        &[("skill", "spotting"), ("item", "Word cards on the wall, to warm up"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "10"), ("median", "3.5"), ("prompt", "5")],
        &[("skill", "copying"), ("item", "Sentences of the lesson: words right of words asked"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "12"), ("right", "10"), ("median", "7"), ("prompt", "5")],
    ]);
    story.on(2027, 2, 17, 10);
    session(story, "stage", "20", &[("light", "dim"), ("comfort", "0"), ("order_reason", "The assembly she practised for.")], &[
        &[("skill", "real_setting"), ("item", "Song words from the fourth row"), ("task", "~Song words at assembly"), ("distance", "12 m"), ("height", "9 cm"), ("tries", "6"), ("right", "5"), ("median", "5"), ("prompt", "5")],
    ]);
    let own = [("device", "~Own"), ("comfort", "0")];
    story.on(2027, 3, 5, 10);
    session(story, "own_class", "25", &[&own[..], &[("order_reason", "First day with her own: she chose the board."), ("note", "Finds its focus faster than the one on loan; the barrel turns more stiffly.")]].concat(), &[
        &[("skill", "copying"), ("item", "Sentences of the lesson: words right of words asked"), board, ("distance", "15 ft"), ("height", "3.5 cm"), ("tries", "12"), ("right", "11"), ("median", "6"), ("prompt", "5")],
    ]);
    story.on(2027, 3, 8, 14);
    session(story, "street", "20", &[&own[..], &[("body", "standing_still"), ("light", "shade"), ("order_reason", "Street names were her mother's wish from the start.")]].concat(), &[
        &[("skill", "real_setting"), ("item", "Two corners, standing still, an adult beside her"), ("task", "~Street names on the way home"), ("distance", "10 m"), ("height", "3 in"), ("tries", "5"), ("right", "4"), ("median", "9"), ("prompt", "4"), ("prompts", "1")],
    ]);
}

fn seen_in_class(story: &mut Story) {
    let board = ("task", "~Words on the board");
    story.on(2026, 9, 15, 11).sees(Dev, &[board, ("device_out", "not_needed"), ("correct", "1"), ("tried", "8"), ("help", "none"), ("glasses", "on"), ("note", "Then she went up to the board and read the rest.")]);
    story.on(2026, 9, 17, 11).sees(Dev, &[board, ("device_out", "not_needed"), ("correct", "5"), ("tried", "8"), ("help", "none"), ("glasses", "on"), ("distance", "8 ft"), ("note", "From a chair between the rows.")]);
    story.on(2026, 9, 22, 11).sees(Dev, &[board, ("device_out", "not_needed"), ("correct", "2"), ("tried", "8"), ("help", "none"), ("glasses", "on")]);
    story.on(2026, 9, 24, 11).sees(Dev, &[board, ("device_out", "not_needed"), ("correct", "8"), ("tried", "8"), ("help", "none"), ("glasses", "on"), ("distance", "7 ft")]);
    story.on(2026, 10, 13, 11).sees(Dev, &[board, ("device_out", "yes"), ("result", "some"), ("help", "told_once"), ("pace", "too_slow"), ("mood", "willing")]);
    story.on(2026, 10, 20, 11).sees(Dev, &[board, ("device_out", "chose_not"), ("result", "none"), ("non_use", "embarrassed"), ("help", "none"), ("mood", "neutral"), ("said_would_use", "not_now"), ("said_words", "Not while everybody is looking."), ("note", "Somebody asked whether it is a toy. I put a word in.")]);
    story.on(2026, 10, 29, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "4"), ("tried", "8"), ("help", "none"), ("pace", "slow"), ("mood", "willing")]);
    story.on(2026, 11, 10, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "5"), ("tried", "8"), ("help", "none"), ("pace", "slow")]);
    story.on(2026, 11, 19, 11).sees(Dev, &[("task", "~Maths on the side board"), ("device_out", "yes"), ("correct", "3"), ("tried", "10"), ("help", "none"), ("pace", "slow"), ("comfort", "tired"), ("note", "Green marker.")]);
    story.on(2026, 12, 3, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "6"), ("tried", "8"), ("help", "none"), ("pace", "slow"), ("mood", "willing")]);
    story.on(2026, 12, 10, 11).sees(Dev, &[board, ("device_out", "forgot"), ("result", "none"), ("non_use", "not_said"), ("help", "peer_read")]);
    story.on(2027, 1, 12, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "7"), ("tried", "8"), ("help", "none"), ("pace", "quick"), ("mood", "willing")]);
    story.on(2027, 1, 19, 11).sees(Dev, &[("task", "~Maths on the side board"), ("device_out", "yes"), ("correct", "8"), ("tried", "10"), ("help", "none"), ("pace", "slow"), ("note", "Black marker since the card.")]);
    story.on(2027, 2, 2, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "7"), ("tried", "8"), ("help", "none"), ("pace", "quick"), ("distance", "24 ft"), ("note", "From the back row, beside her friends.")]);
    story.on(2027, 2, 9, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "7"), ("tried", "8"), ("help", "none"), ("pace", "quick")]);
    story.on(2027, 2, 16, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "4"), ("tried", "8"), ("help", "none"), ("pace", "slow"), ("distance", "24 ft"), ("x_height", "2 cm"), ("note", "The small print in the corner, from the back row.")]);
    story.on(2027, 2, 23, 11).sees(Dev, &[board, ("device_out", "yes"), ("correct", "8"), ("tried", "8"), ("help", "none"), ("pace", "quick"), ("mood", "willing")]);
    story.on(2027, 3, 8, 11).sees(Dev, &[board, ("device_out", "yes"), ("device", "~Own"), ("correct", "7"), ("tried", "8"), ("help", "none"), ("pace", "quick"), ("mood", "willing")]);
}

fn seen_outside(story: &mut Story) {
    let none = ("flag", "no");
    story.on(2026, 9, 19, 17).sees(Chiamaka, &[none, ("place", "shop"), ("task", "~Menu board in a shop"), ("device_out", "not_needed"), ("result", "none"), ("band", "across_room"), ("help", "none"), ("mood", "bored"), ("note", "She always orders the same.")]);
    story.on(2026, 10, 17, 17).sees(Chiamaka, &[none, ("place", "home"), ("task", "~Television"), ("device_out", "yes"), ("result", "some"), ("band", "across_room"), ("help", "helped"), ("mood", "ok"), ("tired", "5_to_15"), ("suggested", "adult")]);
    story.on(2026, 11, 7, 17).sees(Chiamaka, &[none, ("place", "home"), ("task", "~List on the fridge"), ("device_out", "yes"), ("result", "all"), ("band", "across_table"), ("help", "none"), ("mood", "proud"), ("suggested", "child"), ("share", "yes"), ("note", "She read the shopping list out from her chair.")]);
    story.on(2026, 12, 19, 16).sees(Chiamaka, &[none, ("place", "shop"), ("task", "~Menu board in a shop"), ("device_out", "yes"), ("result", "most"), ("band", "across_room"), ("help", "none"), ("mood", "proud"), ("suggested", "child")]);
    story.on(2027, 1, 15, 16).sees(Marisol, &[("place", "street"), ("task", "~Street names on the way home"), ("device_out", "yes"), ("correct", "3"), ("tried", "4"), ("help", "none"), ("mood", "ok"), ("note", "Standing still at two corners, her mother beside her. The fourth sign hung in full sun.")]);
    story.on(2027, 2, 6, 17).sees(Chiamaka, &[none, ("place", "shop"), ("task", "~Menu board in a shop"), ("device_out", "chose_not"), ("result", "did_not_try"), ("non_use", "no_time"), ("mood", "shy")]);
    story.on(2027, 2, 27, 18).sees(Chiamaka, &[none, ("place", "home"), ("task", "~List on the fridge"), ("device_out", "yes"), ("result", "all"), ("band", "across_room"), ("help", "none"), ("mood", "ok"), ("tired", "15_to_30"), ("suggested", "child"), ("note", "From the sofa now, not from the table.")]);
    story.on(2027, 3, 6, 17).sees(Chiamaka, &[none, ("place", "shop"), ("task", "~Menu board in a shop"), ("device_out", "yes"), ("device", "~Own"), ("result", "all"), ("band", "across_room"), ("help", "none"), ("mood", "proud"), ("suggested", "child"), ("note", "She ordered for her brother, too.")]);
}

fn talks(story: &mut Story) {
    story.on(2026, 10, 21, 16).writes(Marisol, "classroom_teacher", "Would it help if two others in the class tried a telescope for a day, so that hers is nothing special?");
    story.on(2026, 10, 22, 12).answers(Dev, "Yes, please. I will make it a science lesson about lenses and let everybody look.");
    story.on(2026, 10, 29, 15).says(Marisol, &[("about", "the telescope in class"), ("said_worked", "worked"), ("said_would_use", "yes"), ("said_words", "Since they all had a go, nobody asks any more."), ("said_on", "@2026-10-29")]);
    story.on(2026, 11, 20, 16).writes(Marisol, "note", "The green marker costs her more than the distance does: half right on the side board, where she reads the main board at the same size.");
    story.on(2026, 11, 23, 8).writes(Dev, "note", "Green markers are out of the room.");
    story.on(2026, 12, 20, 18).writes(Chiamaka, "vision_teacher", "She takes it to her cousins now. Is it all right to use it in the car?");
    story.on(2026, 12, 21, 9).answers(Marisol, "Yes, as a passenger and while the car stands. Never toward the sun, and the strap stays round her neck.");
    story.on(2027, 3, 8, 16).writes(Marisol, "classroom_teacher", "Her own telescope is here; the card follows this week. Does she still need row 2, or can she choose her seat?");
}

fn closes(story: &mut Story) {
    story.on(2027, 1, 22, 13).summarises("distance", "@2026-09-28", "@2027-01-21", &[
        ("words", "She finds a word on the main board in five seconds and copies a sentence with ten of twelve words right, without help. Green on white and full sun still stop her. She stopped hiding the telescope after the lesson about lenses."),
        ("student_words", "I can sit where my friends sit."),
        ("questions", "Is the right eye still the better one for this?\nWould a filter over the telescope help at the corner in the sun?"),
        ("look_at", "Does she need the full 6x at 15 ft, or would a wider field make scanning quicker?"),
    ]);
    story.on(2027, 2, 11, 15).press(
        Noor,
        "{S}/review/distance",
        "Sign the decision",
        &[
            ("choice", "finalise"),
            ("finalised", "~6"),
            ("reason", "Reads the board from her own seat with ten of twelve words right and uses it unasked at home and in shops. The field of 10 degrees covers what she scans; a weaker one would not reach the assembly screen."),
            ("next_on", "@2027-09-10"),
            ("password", PASSWORD),
        ],
    );
    story.press_keep(Noor, "{S}/prescription", "Draft the prescription", &[], ("prescription", ""));
    story.press(
        Noor,
        "{prescription}",
        "Save the draft",
        &[
            ("lens_note", "As worn, amber tint for outdoors."),
            ("limits", "Seated or standing still, never while walking. Never toward the sun."),
            ("lighting", "Back to the window; blinds down on bright days."),
            ("seating", "Row 1 or 2, a little right of the middle."),
            ("review_on", "@2027-09-10"),
        ],
    );
    story.press(Noor, "{prescription}/preview", "Sign the prescription", &[("password", PASSWORD)]);
    story.on(2027, 3, 4, 9).find(Marisol, "{S}/devices", "/receipt/new", "receipt");
    story.press(
        Marisol,
        "{receipt}",
        "Save what arrived",
        &[
            ("kind", "handheld_monocular"),
            ("power", "6"),
            ("objective", "16"),
            ("field", "10"),
            ("near_focus", "25 cm"),
            ("glasses", "over"),
            ("eye", "right"),
            ("tag", "ITO-1"),
            ("condition", "new"),
            ("received_on", "@2027-03-04"),
            ("received_by", "Chiamaka Tamsin-Okafor"),
        ],
    );
}
