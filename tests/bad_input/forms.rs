//! The main forms, filled in rightly but for one field.

use std::collections::BTreeMap;

use super::{kept, sends};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::page::Page;
use crate::people::{CLINIC, PASSWORD, Person};
use crate::world::World;

/// Field and what is wrong in it.
type Wrong<'a> = &'a [(&'a str, &'a str)];

/// Answers that no list of these forms offers to these people.
const NOT_OFFERED: [&str; 3] = ["no_such_code", "street", "vision_teacher"];

/// Sends the form once for each wrong value: refused beside that field, in
/// words, with everything typed still there.
async fn refuses(person: &Person, page: &Page, button: &str, good: &[(&str, &str)], wrong: Wrong<'_>) {
    for (field, value) in wrong {
        let mut changes: Vec<(&str, &str)> = good.iter().copied().filter(|(name, _)| name != field).collect();
        changes.push((field, value));
        let (sent, answer) = sends(person, page, button, &changes).await;
        let shown: String = value.chars().take(40).collect();
        assert_eq!(answer.code(), 422, "{field} = {shown:?}: {}\n{}", answer.asked(), answer.seen());
        let said =
            answer.error_for(field).unwrap_or_else(|| panic!("nothing beside {field} = {shown:?}\n{}", answer.seen()));
        assert!(said.len() > 10 && said.ends_with(['.', '?']), "{field}: no sentence: {said}");
        // A browser cannot show a NUL, and a list cannot show what it does not offer.
        let cannot_stay = value.contains('\0') || NOT_OFFERED.contains(value);
        if !cannot_stay {
            let (_, again) = answer.filled(button, &[]);
            assert_eq!(kept(&again), kept(&sent), "{field} = {shown:?} was not kept");
        }
    }
}

/// Nothing was stored, but for what the reading itself leaves behind.
async fn unchanged(world: &World, before: &BTreeMap<String, u64>, but: &[&str]) {
    let after = world.content().await;
    let changed: Vec<_> = after
        .keys()
        // That a page took content across is noted.
        .filter(|table| *table != "disclosure" && !but.contains(&table.as_str()) && after[*table] != before[*table])
        .collect();
    assert!(changed.is_empty(), "stored all the same: {changed:?}");
}

const DAY: [&str; 5] = ["1890-05-01", "2026-02-30", "14/9/2026", "tomorrow", "99999-01-01"];
const LENGTH: [&str; 9] = ["3", "-3 m", "0 m", "1e999 m", "3 parsecs", "m", "1/0 in", "nan m", "\u{0663} m"];
const WHOLE: [&str; 6] = ["-1", "2.5", "1e3", "99999999999999999999", "0x10", "five"];

fn all<'a>(field: &'a str, values: &[&'a str]) -> Vec<(&'a str, &'a str)> {
    values.iter().map(|value| (field, *value)).collect()
}

#[tokio::test]
async fn a_record_its_intake_and_its_people() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let (teacher, parent) = (&team.teacher, &team.parent);
    let long = "n".repeat(10_000);
    let before = world.content().await;

    let page = teacher.opens("/students/new").await.ok();
    let good = [
        ("number", "B-1"),
        ("name", "Ottavio O\u{2019}Dell"),
        ("birth_date", "2015-03-04"),
        ("school", "Saltmarsh"),
        ("grade", "5"),
        ("interpreter", "no"),
        ("print_format", "print 14 pt"),
        ("print_format", "audio"),
    ];
    let text = [("name", long.as_str()), ("name", ""), ("name", "a\0b"), ("name", "a\u{7}b"), ("number", &long)];
    let codes =
        [("grade", "no_such_code"), ("interpreter", "no_such_code"), ("print_format", "no_such_code"), ("grade", "")];
    let wrong =
        [&text[..], &all("birth_date", &DAY), &codes, &[("birth_date", ""), ("birth_date", "2026-12-31")]].concat();
    refuses(teacher, &page, "Open the record", &good, &wrong).await;

    let page = teacher.opens(&team.at("/intake/eyes")).await.ok();
    let good = [
        ("referral_reason", "Cannot see the board"),
        ("concerns", "squints"),
        ("concerns", "tires"),
        ("near_distance", "9 cm"),
    ];
    let wrong = [
        &all("near_distance", &LENGTH)[..],
        &all("head_turn_degrees", &WHOLE),
        &all("tires_after", &WHOLE),
        &all("eye_report_on", &DAY),
        &[
            ("student_words", long.as_str()),
            ("mobility_note", "a\0b"),
            ("glasses", "no_such_code"),
            ("concerns", "no_such_code"),
        ],
    ]
    .concat();
    refuses(teacher, &page, "Save and go on", &good, &wrong).await;

    let page = teacher.opens(&team.at("/tasks/new")).await.ok();
    let good = [
        ("code", "wall_clock"),
        ("name", "Clock"),
        ("track", "distance"),
        ("goal", "name_it"),
        ("target", "digits"),
        ("distance", "5 m"),
    ];
    let wrong = [
        &all("distance", &LENGTH)[..],
        &all("x_height", &LENGTH),
        &[
            ("name", ""),
            ("name", &long),
            ("code", "no_such_code"),
            ("track", ""),
            ("seat", "no_such_code"),
            ("target", "no_such_code"),
        ],
    ]
    .concat();
    refuses(teacher, &page, "Add", &good, &wrong).await;
    let projected = [
        &good[..],
        &[("display", "projector"), ("screen_white", "550"), ("screen_black", "151"), ("screen_off", "150")],
    ]
    .concat();
    let readings = [
        &all("screen_white", &["-5", "1e999", "nan", "bright", "1,000,000", ""])[..],
        &all("screen_black", &["-5", "nan", "550", "600", ""]),
        &all("screen_off", &["-5", "nan", "152", ""]),
        &[("display", "whiteboard")],
    ]
    .concat();
    refuses(teacher, &page, "Add", &projected, &readings).await;
    let choosing = [&good[..4], &[("target", "choice"), ("distance", "5 m")]].concat();
    refuses(
        teacher,
        &page,
        "Add",
        &choosing,
        &[&all("choices", &WHOLE)[..], &[("choices", "1"), ("choices", "")]].concat(),
    )
    .await;

    let page = teacher.opens(&team.at("/seats/new")).await.ok();
    let good = [("room", "Room 3"), ("distance", "4 m"), ("glare", "lamp"), ("glare", "sun")];
    let wrong = [
        &all("distance", &LENGTH)[..],
        &all("board_width", &LENGTH),
        &all("illuminance", &["-5", "1e999", "nan", "bright", "1,000,000"]),
        &all("measured_on", &DAY),
        &[("room", ""), ("room", &long), ("glare", "no_such_code"), ("distance", "0.2 m"), ("distance", "900 km")],
    ]
    .concat();
    refuses(teacher, &page, "Add", &good, &wrong).await;
    let rows = [
        ("room", "Room 3"),
        ("distance", "3.2 m"),
        ("aside", "80 cm"),
        ("side", "left"),
        ("rows", "4"),
        ("row_seats", "5"),
        ("first_row", "2 m"),
        ("row_gap", "1.2 m"),
        ("seat_gap", "80 cm"),
        ("usual_row", "2"),
        ("usual_seat", "2"),
        ("window_side", "right"),
    ];
    let wrong = [
        &all("rows", &WHOLE)[..],
        &all("row_seats", &WHOLE),
        &all("first_row", &LENGTH),
        &all("row_gap", &LENGTH),
        &all("seat_gap", &LENGTH),
        &all("board_aside", &LENGTH),
        &all("usual_row", &WHOLE),
        &all("usual_seat", &WHOLE),
        &[("board_side", "no_such_code"), ("window_side", "no_such_code"), ("usual_row", "4"), ("usual_seat", "5")],
    ]
    .concat();
    refuses(teacher, &page, "Add", &rows, &wrong).await;

    let page = teacher.opens(&team.at("/people/contacts/new")).await.ok();
    let good = [("name", "Gran"), ("phone", "555 0101")];
    let wrong = [("name", ""), ("name", &long), ("phone", &long), ("email", "a\0b"), ("account", "no_such_code")];
    refuses(teacher, &page, "Save", &good, &wrong).await;

    let page = teacher.opens(&team.at("/people")).await.ok();
    let good = [("role", "parent"), ("invited_name", "Dad"), ("relation", "father")];
    let wrong =
        [("role", ""), ("role", "no_such_code"), ("invited_name", ""), ("invited_name", &long), ("relation", "")];
    refuses(teacher, &page, "Make the link", &good, &wrong).await;

    let page = teacher.opens(&team.at("/evaluations/request")).await.ok();
    let good = [("question", "Which device?"), ("urgency", "soon")];
    let wrong = [&all("requested_on", &DAY)[..], &[("question", ""), ("question", &long), ("urgency", &long)]].concat();
    refuses(teacher, &page, "Ask, and release the intake", &good, &wrong).await;

    let page = parent.opens(&team.at("/people/consent/school_to_clinic")).await.ok();
    let good = [
        ("categories", "intake"),
        ("categories", "training"),
        ("clinic", CLINIC),
        ("relation", "mother"),
        ("read", "yes"),
        ("password", PASSWORD),
    ];
    let wrong = [
        &all("starts_on", &DAY)[..],
        &all("ends_on", &DAY),
        &[
            ("categories", "no_such_code"),
            ("purpose", ""),
            ("purpose", &long),
            ("relation", &long),
            ("clinic", "no_such_code"),
            ("password", "guess"),
        ],
    ]
    .concat();
    refuses(parent, &page, "Sign", &good, &wrong).await;

    let page = parent.opens(&team.at("/safety")).await.ok();
    let wrong = [&all("noticed_on", &DAY)[..], &[("sign", "no_such_code"), ("sign", ""), ("note", &long)]].concat();
    refuses(parent, &page, "Send the red flag", &[("sign", "rf1")], &wrong).await;

    let page = teacher.opens(&team.at("/thread")).await.ok();
    let wrong =
        [("body", ""), ("body", long.as_str()), ("body", "a\u{1}b"), ("to", "no_such_code"), ("to", "vision_teacher")];
    refuses(teacher, &page, "Send", &[("to", "note"), ("body", "Hello")], &wrong).await;

    unchanged(&world, &before, &["account", "thread_read"]).await;
}

#[tokio::test]
async fn an_evaluation() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    let clinician = &team.clinician;
    let draft = team.begins_an_evaluation().await;
    let long = "n".repeat(10_000);
    let before = world.content().await;

    let page = clinician.opens(&team.at("/evaluations/new")).await.ok();
    let wrong = [&all("examined_on", &DAY)[..], &all("next_due_on", &DAY), &[("place", &long)]].concat();
    refuses(clinician, &page, "Begin", &[], &wrong).await;

    let page = clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
    let good =
        [("eye", "right"), ("correction", "none"), ("distance", "20 ft"), ("value", "20/200"), ("effort", "good")];
    let values = [
        "20/0",
        "0/0",
        "-20/200",
        "20/1e999",
        "1e999",
        "\u{221e}",
        "twenty",
        "20\\200",
        "",
        "6/",
        "/60",
        "nan logMAR",
        "99 logMAR",
        "VAR 1e9",
        "decimal -1",
        "decimal 0",
    ];
    let wrong = [
        &all("value", &values)[..],
        &all("distance", &LENGTH),
        &[
            ("eye", ""),
            ("eye", "no_such_code"),
            ("correction", "no_such_code"),
            ("note", &long),
            ("value", &long),
            ("chart", "no_such_code"),
        ],
        &all("device_power", &["-5", "0", "1e999", "nan", "five"]),
    ]
    .concat();
    refuses(clinician, &page, "Add this row", &good, &wrong).await;
    // What can be read two ways is asked about and never guessed.
    for (value, distance) in [("0.2", "4 m"), ("0.1", "4 m"), ("20/100", "10 ft"), ("23", "4 m")] {
        let fields = [("eye", "left"), ("correction", "none"), ("distance", distance), ("value", value)];
        let (_, answer) = sends(clinician, &page, "Add this row", &fields).await;
        let answer = answer.refused("notation");
        assert!(answer.choices_of("notation").len() > 1 || answer.source().contains("notation"), "{value}");
        assert_eq!(answer.value_of("value").as_deref(), Some(value));
    }

    let section = async |name: &str, good: &[(&str, &str)], wrong: Wrong<'_>| {
        let page = clinician.opens(&format!("{draft}/edit/{name}")).await.ok();
        refuses(clinician, &page, "Save and go on", good, wrong).await;
    };
    let dioptres = ["1e999", "nan", "-900", "2.1", "minus two", "--2"];
    let wrong = [
        &all("right_sphere", &dioptres)[..],
        &all("left_cylinder", &["1e999", "nan", "-99", "x"]),
        &all("right_axis", &["-1", "181", "1e3", "north"]),
    ]
    .concat();
    section(
        "refraction",
        &[("right_sphere", "-2.00"), ("right_cylinder", "-1.00"), ("right_axis", "10"), ("left_sphere", "-1.00")],
        &wrong,
    )
    .await;
    let wrong = [
        &all("contrast", &["-3 %", "900 %", "0 %", "1e999", "grey"])[..],
        &all("field_both_across", &["-1", "1e999", "400", "wide"]),
        &[("colour", "no_such_code"), ("filter", &long)],
    ]
    .concat();
    section("sight", &[("contrast_eye", "both"), ("contrast", "6 %")], &wrong).await;
    section("eyes", &[], &[&all("pupil", &["-1", "0", "1e999", "40", "big"])[..], &[("diagnosis", &long)]].concat())
        .await;
    let telescope =
        [("answer", "devices"), ("safe", "yes"), ("device_1_kind", "handheld_monocular"), ("device_1_power", "6")];
    let wrong = [
        &all("device_1_power", &["0", "-6", "1e999", "nan", "six", "500"])[..],
        &all("device_1_objective", &["-1", "1e999", "9000"]),
        &all("device_1_near_focus", &LENGTH),
        &all("device_1_field", &["-1", "nan", "400"]),
        &[("answer", "no_such_code"), ("safe", "no_such_code"), ("device_1_kind", "no_such_code"), ("limits", &long)],
    ]
    .concat();
    section("distance", &telescope, &wrong).await;
    unchanged(&world, &before, &[]).await;
}

#[tokio::test]
async fn devices_training_and_what_people_saw() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let teacher = &team.teacher;
    team.stocks_match(&world, &DISTANCE).await;
    let long = "n".repeat(10_000);
    let before = world.content().await;

    let page = teacher.opens("/devices/new").await.ok();
    let good =
        [("tag", "T-1"), ("owner", "charity"), ("kind", "handheld_monocular"), ("power", "4"), ("condition", "good")];
    let number = ["0", "-6", "1e999", "nan", "six"];
    let wrong = [
        &all("power", &number)[..],
        &all("objective", &number),
        &all("near_focus", &LENGTH),
        &all("weight", &WHOLE),
        &all("cleaned_on", &DAY),
        &[("tag", ""), ("tag", &long), ("owner", "no_such_code"), ("kind", "no_such_code"), ("condition", "")],
    ]
    .concat();
    refuses(teacher, &page, "Add the device", &good, &wrong).await;

    let page = teacher.opens(&team.at("/devices/lend/distance")).await.ok();
    let device = page.choices_of("device").into_iter().next_back().expect("one that fits");
    let good = [
        ("device", device.as_str()),
        ("eye", "right"),
        ("condition", "good"),
        ("purpose", "trial"),
        ("home_use", "no"),
        ("agreement_by", "school"),
        ("held_by", "student"),
    ];
    let wrong = [
        &all("lent_on", &DAY)[..],
        &all("due_on", &DAY),
        &[
            ("device", ""),
            ("device", "no_such_code"),
            ("eye", "no_such_code"),
            ("home_use", "no_such_code"),
            ("held_by", ""),
        ],
    ]
    .concat();
    refuses(teacher, &page, "Hand it over", &good, &wrong).await;

    let loan = world.newest("loan", &team.pupil).await.expect("a loan");
    let page = teacher.opens(&team.at(&format!("/devices/return/{loan}"))).await.ok();
    let wrong = [&all("returned_on", &DAY)[..], &[("condition", "no_such_code"), ("condition", "")]].concat();
    refuses(teacher, &page, "Take it back", &[("condition", "good")], &wrong).await;

    let page = teacher.opens(&team.at("/training/new?track=distance")).await.ok();
    let good = [
        ("device", "none"),
        ("minutes", "20"),
        ("place", "library"),
        ("body", "seated"),
        ("symptoms", "headache"),
        ("symptoms", "dizzy"),
        ("e1_skill", "focusing"),
        ("e1_prompt", "5"),
    ];
    let wrong = [
        &all("minutes", &WHOLE)[..],
        &all("held_on", &DAY),
        &all("e1_tries", &WHOLE),
        &all("e1_median", &["-1", "1e999", "nan", "soon"]),
        &all("e1_distance", &LENGTH),
        &all("e1_height", &LENGTH),
        &[
            ("minutes", ""),
            ("device", "no_such_code"),
            ("place", "street"),
            ("body", "no_such_code"),
            ("symptoms", "no_such_code"),
            ("e1_skill", "no_such_code"),
            ("e1_task", "no_such_code"),
            ("e1_item", &long),
            ("note", &long),
            ("e1_right", "3"),
        ],
    ]
    .concat();
    // "e1_right" alone says nothing of how many were tried.
    let (right_alone, rest): (Vec<_>, Vec<_>) = wrong.into_iter().partition(|(field, _)| *field == "e1_right");
    refuses(teacher, &page, "Save the session", &good, &rest).await;
    let without: Vec<(&str, &str)> = good.iter().copied().chain([("e1_tries", ""), right_alone[0]]).collect();
    sends(teacher, &page, "Save the session", &without).await.1.refused("e1_tries");

    for (person, more) in [(&team.classroom, &[][..]), (&team.parent, &[("flag", "no"), ("place", "home")][..])] {
        let page = person.opens(&team.at("/observations/new")).await.ok();
        let task = page.choices_of("task").into_iter().next().expect("something to look at");
        let good = [&[("task", task.as_str()), ("device_out", "not_needed"), ("result", "some")][..], more].concat();
        let wrong = [
            &all("distance", &LENGTH)[..],
            &all("x_height", &LENGTH),
            &all("seen_on", &DAY),
            &[
                ("task", ""),
                ("task", "no_such_code"),
                ("device_out", ""),
                ("result", "no_such_code"),
                ("note", &long),
                ("help", "no_such_code"),
            ],
        ]
        .concat();
        refuses(person, &page, "Save", &good, &wrong).await;
        let counted: Vec<(&str, &str)> =
            good.iter().copied().filter(|(name, _)| *name != "result").chain([("tried", "8")]).collect();
        refuses(
            person,
            &page,
            "Save",
            &counted,
            &[&all("correct", &WHOLE)[..], &[("correct", "9"), ("correct", "")]].concat(),
        )
        .await;
    }
    unchanged(&world, &before, &[]).await;
}

#[tokio::test]
async fn the_card_the_summary_the_decision_the_prescription_and_what_arrived() {
    let world = World::new().await;
    let team = Team::up_to(&world, &NEAR, Step::Prescribed).await;
    let (teacher, clinician) = (&team.teacher, &team.clinician);
    let summary = team.drafts_summary(&NEAR).await;
    let prescription = team.drafts_prescription(&world).await;
    let long = "n".repeat(10_000);
    let before = world.content().await;

    let page = teacher.opens(&team.at("/card/edit")).await.ok();
    let good = [("seat", "Second row"), ("board", "Black pen"), ("head_turn", "yes")];
    let wrong = [
        &all("review_on", &DAY)[..],
        &[("seat", long.as_str()), ("rest", "a\0b"), ("letters", "as in 20/200"), ("room", "no_such_code")],
    ]
    .concat();
    refuses(teacher, &page, "Save and preview", &good, &wrong).await;
    let page = teacher.opens(&team.at("/card/at-home/edit")).await.ok();
    let wrong = [("body", ""), ("body", &long), ("body", "a\u{1}b"), ("task", "no_such_code")];
    refuses(teacher, &page, "Save the draft", &[("body", "Read the cover together."), ("task", "tv")], &wrong).await;

    let page = teacher.opens(&team.at("/summaries")).await.ok();
    let wrong = [&all("from", &DAY)[..], &all("to", &DAY), &[("track", "no_such_code"), ("track", "")]].concat();
    refuses(teacher, &page, "Draft the summary", &[("track", "near")], &wrong).await;
    let page = teacher.opens(&summary).await.ok();
    let wrong =
        [&all("from", &DAY)[..], &[("words", &long), ("questions", &long), ("look_at", "Give her 8x"), ("to", "")]]
            .concat();
    refuses(teacher, &page, "Save the draft", &[("words", "Two lines.\nAnd one more.")], &wrong).await;

    let page = clinician.opens(&team.at("/review/near")).await.ok();
    let next = world.day(30);
    let good = [("choice", "keep_going"), ("reason", "Go on."), ("next_on", next.as_str()), ("password", PASSWORD)];
    let wrong = [
        &all("next_on", &DAY)[..],
        &[("choice", "no_such_code"), ("choice", ""), ("reason", ""), ("reason", &long), ("next_on", "")],
    ]
    .concat();
    refuses(clinician, &page, "Sign the decision", &good, &wrong).await;
    let seat = [("choice", "change_seat"), good[1], good[2], good[3]];
    refuses(clinician, &page, "Sign the decision", &seat, &all("seat", &LENGTH)).await;
    let device = [("choice", "change_device"), ("first_kind", "dome_magnifier"), good[1], good[2], good[3]];
    let strength = ["", "0", "-6", "1e999", "nan", "five"];
    refuses(clinician, &page, "Sign the decision", &device, &all("first_equivalent", &strength)).await;

    let page = clinician.opens(&prescription).await.ok();
    let wrong = [
        &all("right_sphere", &["1e999", "nan", "-900", "2.1", "two"])[..],
        &all("review_on", &DAY),
        &all("expires_on", &DAY),
        &all("near_first_equivalent", &["0", "-6", "1e999", "nan"]),
        &[("limits", &long), ("seating", &long), ("near_first_kind", "no_such_code")],
    ]
    .concat();
    refuses(clinician, &page, "Save the draft", &[("limits", "Seated")], &wrong).await;

    let form = team.parent.opens(&team.at("/devices")).await.ok().link("Record a device that arrived");
    let page = team.parent.opens(&form).await.ok();
    let good = [("kind", "stand_magnifier"), ("equivalent", "16"), ("received_by", "Solveig"), ("condition", "new")];
    let wrong = [
        &all("received_on", &DAY)[..],
        &all("equivalent", &["0", "-6", "1e999", "nan"]),
        &[
            ("kind", ""),
            ("kind", "no_such_code"),
            ("received_by", ""),
            ("received_by", &long),
            ("condition", ""),
            ("tag", &long),
        ],
    ]
    .concat();
    refuses(&team.parent, &page, "Save what arrived", &good, &wrong).await;
    unchanged(&world, &before, &[]).await;
}
