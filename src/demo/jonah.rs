//! Jonah, 13: in training on the distance track, paused on Monday by a red flag.

use super::PASSWORD;
use super::cast::Who::{Ambrose, Gideon, Hanae, Ines, Marisol, Noor, Thaddeus};
use super::story::{Fields, Step, Story};

pub(super) fn story() -> Vec<Step> {
    let mut story = Story::new("Jonah");
    opens(&mut story);
    reported(&mut story);
    evaluated(&mut story);
    begins(&mut story);
    trains(&mut story);
    seen(&mut story);
    paused(&mut story);
    story.finish()
}

fn opens(story: &mut Story) {
    story.on(2026, 9, 21, 9).press_keep(
        Marisol,
        "/students/new",
        "Open the record",
        &[
            ("name", "Jonah Farrow-Ito"),
            ("number", "BF-17756"),
            ("birth_date", "@2013-05-17"),
            ("school", "Tannery Road Middle"),
            ("grade", "7"),
            ("languages", "English, Japanese"),
            ("interpreter", "no"),
            ("print_format", "print 12 pt"),
        ],
        ("S", "/intake/eyes"),
    );
    story.press(
        Marisol,
        "{S}/intake/eyes",
        "Save and go on",
        &[
            ("referral_source", "parent"),
            ("referral_on", "@2026-09-10"),
            ("referral_reason", "New school with larger rooms: misses the board, the bus number and the score."),
            ("concerns", "misses_board"),
            ("concerns", "bumps"),
            ("eye_report_on", "@2026-06-22"),
            ("eye_report_note", "Retina clinic, yearly control"),
            ("glasses", "has_wears"),
            ("glasses_note", "Takes them off to read"),
            ("medical_alerts", "one_eye_only"),
            ("medical_alerts", "high_myopia"),
            ("medical_note", "Born early, laser treatment of both retinas as a baby. No contact sports, no heading the ball; guards over his glasses in physical education."),
            ("near_distance", "7 cm"),
            ("smallest_print", "10 pt with ease, glasses off"),
            ("reads_up_close", "yes"),
            ("head_turn", "right"),
            ("head_turn_degrees", "15"),
            ("tires_after", "45"),
            ("mobility_note", "Bumps into open lockers on his right; looks down for steps."),
            ("student_words", "I'd like to know which bus it is before it's gone."),
        ],
    );
    story.press(
        Marisol,
        "{S}/intake/school",
        "Add the room and seat",
        &[
            ("room", "Room 204"),
            ("distance", "16 ft"),
            ("aside", "1 ft"),
            ("side", "right"),
            ("board_width", "8 ft"),
            ("rows", "6"),
            ("row_seats", "5"),
            ("first_row", "6 ft"),
            ("row_gap", "4 ft 6 in"),
            ("seat_gap", "3 ft"),
            ("usual_row", "3"),
            ("usual_seat", "3"),
            ("window_side", "left"),
            ("illuminance", "480"),
            ("light", "normal_indoor"),
            ("measured_on", "@2026-09-21"),
        ],
    );
    story.press(Marisol, "{S}/intake/school", "Save the plan", &[("plan_type", "iep"), ("service_minutes", "120"), ("period", "month")]);
    let tasks: [Fields<'_>; 4] = [
        &[
            ("code", "board_maths"),
            ("name", "Equations on the board"),
            ("seat", "~Room 204"),
            ("track", "distance"),
            ("goal", "phrase"),
            ("x_height", "3.5 cm"),
            ("display", "whiteboard"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "digits"),
            ("measured", "yes"),
            ("wanted_by", "his teacher"),
        ],
        &[
            ("code", "bus_number"),
            ("name", "Number of the bus"),
            ("place", "Stop in front of the school"),
            ("distance", "25 m"),
            ("track", "distance"),
            ("goal", "name_it"),
            ("x_height", "18 cm"),
            ("display", "flat_screen"),
            ("marker", "white_on_dark"),
            ("light", "shade"),
            ("target", "digits"),
            ("wanted_by", "Jonah"),
        ],
        &[
            ("code", "board_words"),
            ("name", "Sentences in English"),
            ("seat", "~Room 204"),
            ("track", "distance"),
            ("goal", "phrase"),
            ("x_height", "4.8 cm"),
            ("display", "whiteboard"),
            ("marker", "black_on_white"),
            ("light", "normal_indoor"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "his teacher"),
        ],
        &[
            ("code", "scoreboard"),
            ("name", "Scoreboard in the gym"),
            ("place", "Gym, from the stand"),
            ("distance", "60 ft"),
            ("track", "distance"),
            ("goal", "name_it"),
            ("x_height", "7 in"),
            ("display", "flat_screen"),
            ("marker", "white_on_dark"),
            ("light", "bright_indoor"),
            ("target", "digits"),
            ("wanted_by", "Jonah"),
        ],
    ];
    for task in tasks {
        story.press(Marisol, "{S}/intake/tasks", "Add", task);
    }
    story.on(2026, 9, 23, 15);
    story.joins(Marisol, "parent", "mother", Hanae);
    story.contact(Hanae, "mother", "555-0189", "English");
    story.joins(Marisol, "classroom_teacher", "", Ambrose);
    story.joins(Marisol, "clinician", "", Noor);
    story.on(2026, 9, 24, 20);
    story.consents(Hanae, "school_to_clinic", "English").consents(Hanae, "clinic_to_school", "English");
    limited(story);
    story.on(2026, 9, 25, 9).finishes_steps(Marisol);
    story.press(
        Marisol,
        "{S}/evaluations/request",
        "Ask, and release the intake",
        &[("question", "One eye has to do everything. Which telescope can he hold to it for the board and the bus, and what must he never do with it?")],
    );
}

/// What the hospital wrote in spring, copied from paper and confirmed with one
/// value changed.
fn reported(story: &mut Story) {
    story.on(2026, 9, 28, 15).press_keep(
        Marisol,
        "{S}/evaluations/paper/new",
        "Begin",
        &[
            ("report", "low_vision"),
            ("clinician", "Dr Casimir Oyelowo-Fenn"),
            ("examined_on", "@2026-04-20"),
            ("place", "Children's eye hospital, Larch City"),
        ],
        ("report", "/edit"),
    );
    let row = [("eye", "left"), ("correction", "best_correction"), ("distance", "6 m"), ("value", "6/48"), ("chart", "row_letters")];
    story.press(Marisol, "{report}/edit/acuity", "Add this row", &row);
    // At the distance and with the chart of the clinic that sees him now.
    for (eye, correction) in [("left", "best_correction"), ("both", "habitual_glasses")] {
        let row = [("eye", eye), ("correction", correction), ("distance", "10 ft"), ("value", "10/50"), ("chart", "row_letters")];
        story.press(Marisol, "{report}/edit/acuity", "Add this row", &row);
    }
    for section in ["refraction", "sight", "advice"] {
        story.press(Marisol, &format!("{{report}}/edit/{section}"), "Save and go on", &[("not_stated", "yes")]);
    }
    story.press(Marisol, "{report}/edit/eyes", "Save and go on", &[("diagnosis", "High myopia after retinopathy of prematurity."), ("preferred_eye", "left")]);
    story.press(
        Marisol,
        "{report}/edit/distance",
        "Save and go on",
        &[
            ("answer", "devices"),
            ("safe", "with_limits"),
            ("limits", "Seated."),
            ("training_tasks", "Board"),
            ("device_1_kind", "handheld_monocular"),
            ("device_1_power", "4"),
            ("device_1_eye", "left"),
        ],
    );
    story.press(Marisol, "{report}/edit/near", "Save and go on", &[("answer", "not_looked_at")]);
    story.attach(Marisol, "{report}/file", ("Attach the file", "file"), &[], &[
        "Children's eye hospital, Larch City (invented)",
        "Jonah Farrow-Ito. Left eye 6/48 with best correction, at 6 m.",
        "Left eye 10/50 with best correction, both eyes 10/50 with his glasses, at 10 ft.",
        "A 4x hand-held telescope for the left eye may be tried, seated.",
        "Dr Casimir Oyelowo-Fenn",
    ]);
    story.press(Marisol, "{report}/filing", "File the report", &[]);
    story.on(2026, 10, 2, 15).press(
        Noor,
        "{report}/confirm/change",
        "Confirm with these values",
        &[
            ("distance.limits", "Seated, glasses on, never at a kerb without an adult."),
            ("reason", "The paper says seated; with his right eye blind the kerb has to be named"),
            ("password", PASSWORD),
        ],
    );
}

/// His father joins before the office hears of a court order.
fn limited(story: &mut Story) {
    story.on(2026, 9, 24, 21).joins(Marisol, "parent", "father", Gideon);
    let again = [("reason", "A court order came by post"), ("password", PASSWORD)];
    story.on(2026, 9, 25, 8).press(Thaddeus, "/confirm", "Go on", &again);
    story.press(
        Thaddeus,
        "{S}/people/limits",
        "Propose this limit",
        &[
            ("account", "~Gideon Farrow-Ito (father)"),
            ("rights", "none_by_order"),
            ("document", "Order of the county court of 21 September, in the office safe"),
            ("starts_on", "@2026-09-25"),
        ],
    );
    story.press(Ines, "/confirm", "Go on", &again);
    story.press(Ines, "{S}/people/limits", "Confirm this limit", &[]);
}

fn evaluated(story: &mut Story) {
    story.on(2026, 11, 13, 13).examines("@2027-11-12");
    let chart = [("chart", "row_letters"), ("effort", "good"), ("light", "normal")];
    story
        .acuity(["right", "best_correction", "2 ft", "HM"], &[("note", "No row of letters at any distance")])
        .acuity(["left", "best_correction", "10 ft", "10/60"], &chart)
        .acuity(["both", "habitual_glasses", "10 ft", "10/60"], &chart)
        .acuity(
            ["left", "through_device", "10 ft", "10/20"],
            &[("chart", "row_letters"), ("effort", "good"), ("device_kind", "handheld_monocular"), ("device_power", "4")],
        )
        .acuity(["left", "none", "7 cm", "0.4M"], &[("chart", "continuous_text"), ("effort", "good"), ("note", "Glasses off")]);
    story.section(
        "refraction",
        &[("left_sphere", "-13.50"), ("left_cylinder", "-1.75"), ("left_axis", "20"), ("left_method", "subjective")],
    );
    story.section(
        "sight",
        &[
            ("contrast", "1.65"),
            ("contrast_eye", "left"),
            ("contrast_method", "letters"),
            ("field_method", "kinetic_bowl"),
            ("field_pattern", "lower"),
            ("field_left_across", "90"),
            ("field_left_upright", "70"),
            ("field_note", "Left eye. The lower part ends early: steps and kerbs."),
            ("colour", "no_defect"),
            ("glare_indoor", "none"),
            ("glare_outdoor", "mild"),
        ],
    );
    story.section(
        "eyes",
        &[
            ("diagnosis", "High myopia after retinopathy of prematurity, treated; the right eye sees hand movements only."),
            ("course", "stable"),
            ("alignment", "out_turn"),
            ("alignment_note", "Right eye, always"),
            ("nystagmus", "none"),
            ("best_gaze", "straight"),
            ("preferred_eye", "left"),
            ("pupil", "3.5"),
        ],
    );
    story.section(
        "advice",
        &[
            ("lighting", "Even light; no lamp in view."),
            ("seating", "Right of the middle, so that his left eye has the room and the board in front of it."),
            ("advice", "closer_seat"),
            ("advice_note", "Flashes, new spots or a shadow: eye care the same day. The whole team should know this by heart."),
        ],
    );
    story.section(
        "distance",
        &[
            ("answer", "devices"),
            ("safe", "with_limits"),
            ("limits", "Left eye, glasses on, seated or with his back to a wall. Never at a kerb without an adult."),
            ("training_tasks", "The board first, then the scoreboard and the bus."),
            ("device_1_kind", "handheld_monocular"),
            ("device_1_power", "4"),
            ("device_1_objective", "12"),
            ("device_1_field", "12.5"),
            ("device_1_near_focus", "20 cm"),
            ("device_1_glasses", "over"),
            ("device_1_eye", "left"),
            ("device_1_purpose", "Board, scoreboard, number of the bus"),
        ],
    );
    story.section("near", &[("answer", "none"), ("training_tasks", "Glasses off he reads small print at 7 cm. A slant board spares his neck.")]);
    story.signs_evaluation();
}

fn begins(story: &mut Story) {
    story.on(2026, 12, 7, 9).press(
        Marisol,
        "{S}/devices/lend/distance",
        "Hand it over",
        &[
            ("device", "~LOAN-T-011"),
            ("eye", "left"),
            ("lent_on", "@2026-12-07"),
            ("due_on", "@2027-02-25"),
            ("condition", "good"),
            ("strap", "yes"),
            ("carry_case", "yes"),
            ("home_use", "yes"),
            ("agreement_by", "parent"),
            ("held_by", "student"),
            ("purpose", "trial"),
        ],
    );
    story.on(2026, 12, 8, 11).press(
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
            ("agreed_words", "Fine. Can I take it to the games?"),
        ],
    );
    story.on(2026, 12, 11, 14).card(&[
        ("room", "~Room 204"),
        ("seat", "Row 2, right of the middle"),
        ("board", "Black marker; leave each line standing until he nods"),
        ("letters", "Digits and small letters two fingers tall, or taller"),
        ("light", "No lamp in view"),
        ("device", "Small telescope on a strap, left eye, glasses stay on"),
        ("device_when", "Board, assembly and games, seated"),
        ("glasses", "On for the room, off for reading; both are right"),
        ("head_turn", "yes"),
        ("call", "Marisol Vantongeren, through the school office; eyes suddenly worse: the school nurse at once"),
        ("extra_care", "yes"),
        ("review_on", "@2027-04-02"),
    ]);
    story.suggests_at_home("The score on television from the sofa; the bus only together with you, both standing still.", "tv");
}

fn session(story: &mut Story, place: &str, minutes: &str, said: Fields<'_>, exercises: &[Fields<'_>]) {
    let usual =
        [("device", "~LOAN-T-011"), ("glasses", "on"), ("comfort", "0"), ("place", place), ("minutes", minutes), ("body", "seated"), ("light", "normal_indoor")];
    story.trains("distance", &usual, said, exercises);
}

fn trains(story: &mut Story) {
    let board = ("task", "~Equations on the board");
    story.on(2026, 12, 9, 13);
    session(story, "quiet_room", "10", &[("baseline", "yes"), ("note", "Before any teaching.")], &[
        &[("skill", "spotting"), ("item", "Digits on the wall"), board, ("distance", "16 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "4"), ("median", "11"), ("prompt", "5")],
    ]);
    story.on(2026, 12, 16, 13);
    session(story, "quiet_room", "25", &[("comfort", "1"), ("symptoms", "tired_arm")], &[
        &[("skill", "focusing"), ("item", "1 m, 3 m, 6 m"), ("distance", "6 m"), ("height", "5 cm"), ("tries", "6"), ("right", "5"), ("median", "8"), ("prompt", "4"), ("prompts", "3")],
    ]);
    story.on(2027, 1, 6, 13);
    session(story, "own_class", "25", &[], &[
        &[("skill", "focusing"), ("item", "Desk to board and back"), ("distance", "16 ft"), ("height", "3.5 cm"), ("tries", "6"), ("right", "6"), ("median", "5"), ("prompt", "5")],
    ]);
    story.on(2027, 1, 20, 13);
    session(story, "own_class", "25", &[("order_reason", "Focusing is steady but for one more day.")], &[
        &[("skill", "focusing"), ("item", "Desk to board and back"), ("distance", "16 ft"), ("height", "3.5 cm"), ("tries", "6"), ("right", "6"), ("median", "4"), ("prompt", "5")],
        &[("skill", "spotting"), ("item", "The line I name"), board, ("distance", "16 ft"), ("height", "3.5 cm"), ("tries", "8"), ("right", "6"), ("median", "8"), ("prompt", "4"), ("prompts", "3")],
    ]);
    story.on(2027, 2, 3, 13);
    session(story, "gym", "30", &[("light", "bright_indoor")], &[
        &[("skill", "spotting"), ("item", "Score and time by turns"), ("task", "~Scoreboard in the gym"), ("distance", "60 ft"), ("height", "7 in"), ("tries", "10"), ("right", "9"), ("median", "5"), ("prompt", "5")],
    ]);
    story.on(2027, 2, 17, 13);
    session(story, "own_class", "25", &[], &[
        &[("skill", "spotting"), ("item", "Lines of an equation"), board, ("distance", "16 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "8"), ("median", "6"), ("prompt", "5")],
    ]);
    story.on(2027, 3, 3, 13);
    session(story, "own_class", "30", &[("order_reason", "Spotting is steady today; scanning came up in the same lesson.")], &[
        &[("skill", "spotting"), ("item", "Lines of an equation"), board, ("distance", "16 ft"), ("height", "3.5 cm"), ("tries", "10"), ("right", "9"), ("median", "5"), ("prompt", "5")],
        &[("skill", "scanning"), ("item", "The one wrong sign, rows overlapping"), board, ("distance", "16 ft"), ("height", "3.5 cm"), ("tries", "6"), ("right", "4"), ("median", "18"), ("prompt", "3"), ("prompts", "3")],
    ]);
}

fn seen(story: &mut Story) {
    story.on(2027, 2, 3, 14).says(Marisol, &[("about", "the scoreboard"), ("said_worked", "worked"), ("said_would_use", "yes"), ("said_words", "I told them the score."), ("said_on", "@2027-02-03")]);
    let board = ("task", "~Equations on the board");
    story.on(2026, 10, 6, 10).sees(Ambrose, &[board, ("device_out", "not_needed"), ("correct", "2"), ("tried", "10"), ("help", "peer_read"), ("glasses", "on")]);
    story.on(2026, 10, 13, 10).sees(Ambrose, &[board, ("device_out", "not_needed"), ("correct", "1"), ("tried", "10"), ("help", "none"), ("glasses", "on")]);
    story.on(2026, 12, 15, 10).sees(Ambrose, &[board, ("device_out", "yes"), ("correct", "5"), ("tried", "10"), ("help", "none"), ("pace", "slow")]);
    story.on(2027, 1, 14, 10).sees(Ambrose, &[board, ("device_out", "yes"), ("correct", "7"), ("tried", "10"), ("help", "none"), ("pace", "slow"), ("mood", "willing")]);
    story.on(2027, 2, 11, 10).sees(Ambrose, &[board, ("device_out", "forgot"), ("result", "some"), ("non_use", "not_said"), ("help", "peer_read")]);
    story.on(2027, 2, 25, 10).sees(Ambrose, &[board, ("device_out", "yes"), ("correct", "8"), ("tried", "10"), ("help", "none"), ("pace", "quick"), ("mood", "willing")]);
    story.on(2027, 1, 23, 19).sees(Hanae, &[("flag", "no"), ("place", "home"), ("task", "~Television"), ("device_out", "yes"), ("result", "all"), ("band", "across_room"), ("help", "none"), ("mood", "ok"), ("suggested", "child"), ("note", "The score, as he said.")]);
    story.on(2027, 2, 20, 19).sees(Hanae, &[("flag", "no"), ("place", "playground"), ("task", "~Hobby"), ("what", "Kites in the park, sitting on the bench"), ("device_out", "yes"), ("result", "some"), ("band", "farther"), ("help", "none"), ("mood", "proud"), ("tired", "5_to_15"), ("suggested", "child")]);
    story.on(2027, 2, 24, 9).writes(Ambrose, "vision_teacher", "He asks for row 3, where his friends sit. Is that too far?");
    story.on(2027, 2, 24, 15).answers(Marisol, "With the telescope row 3 works for the large digits. Let him try it for a week and tell us what he misses.");
}

fn paused(story: &mut Story) {
    story.on(2027, 3, 8, 10).press(
        Ambrose,
        "{S}/safety",
        "Send the red flag",
        &[("sign", "rf2"), ("noticed_on", "@2027-03-08"), ("note", "He says black dots swim in front of the board since this morning. He is with the nurse; his mother is on her way.")],
    );
    story.on(2027, 3, 8, 11).press(Marisol, "{S}/safety", "I have seen this", &[]);
    story.press(Hanae, "{S}/safety", "I have seen this", &[]);
    story.writes(Hanae, "note", "We are on our way to the eye clinic. The telescope stays in its case.");
    story.on(2027, 3, 8, 12).press(Noor, "{S}/safety", "I have seen this", &[]);
}
