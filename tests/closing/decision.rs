//! The review: the question first, the decision in place, per track.

use farpoint::care::consent::Direction;

use super::TEXTS;
use crate::clinic::setup::Team;
use crate::lap;
use crate::people::PASSWORD;
use crate::world::World;

#[tokio::test]
async fn only_a_clinician_reviews() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let before = team.documents().await;
    let fields = [("choice", "stop"), ("reason", "not mine to say"), ("password", PASSWORD)];
    for person in [&team.teacher, &team.parent] {
        for path in ["/review", "/review/distance"] {
            let page = person.opens(&team.at(path)).await;
            assert!([403, 404].contains(&page.code()), "{}", page.code());
        }
        let page = person.submits(&team.at("/review/distance"), &fields).await;
        assert!([403, 404].contains(&page.code()), "{}", page.code());
    }
    assert_eq!(team.documents().await, before);
    team.clinician.opens(&team.at("/review")).await.ok().sees(TEXTS[1].1);
    team.clinician.opens(&team.at("/review/sideways")).await.hidden();
}

#[tokio::test]
async fn each_choice_needs_what_it_is_made_of() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let before = team.documents().await;
    let next = team.world.day(60);
    let why = [("reason", "as the trials show"), ("next_on", next.as_str())];
    let cases: [(&[(&str, &str)], &str); 7] = [
        (&[], "choice"),
        (&[("choice", "change_device")], "first_kind"),
        (&[("choice", "change_device"), ("first_kind", "hand_magnifier")], "first_kind"),
        (&[("choice", "change_seat"), ("seat", "near")], "seat"),
        (&[("choice", "change_seat"), ("seat", "-3 m")], "seat"),
        (&[("choice", "change_material")], "x_height"),
        (&[("choice", "keep_going"), ("next_on", "1890-01-01")], "next_on"),
    ];
    for (fields, at) in cases {
        team.decides(&[fields, &why[..]].concat()).await.refused(at);
    }
    team.decides(&[("choice", "keep_going"), ("reason", "")]).await.refused("reason");
    assert_eq!(team.documents().await, before);
}

#[tokio::test]
async fn a_decision_moves_the_stage_and_reaches_school_and_family() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let next = team.world.day(60);
    let fields = [
        ("choice", "change_seat"),
        ("seat", "8 ft 6 in"),
        ("reason", "Closer does more than a stronger device."),
        ("next_on", next.as_str()),
    ];
    team.decides(&fields).await.redirected_to();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        person.opens(&team.at("/prescription")).await.ok().sees("Change seat").sees("8 ft 6 in");
    }
    team.teacher.opens(&team.at("")).await.ok().sees("Waiting for a loan");
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Decision made, distance");
}

/// Fields of a form and what is filled in.
type Filled<'a> = &'a [(&'a str, &'a str)];

#[tokio::test]
async fn each_of_the_seven_outcomes_moves_the_stage_and_says_what_changes() {
    let device = [("first_kind", "handheld_monocular"), ("first_power", "10"), ("seat", "2.5 m"), ("filter", "amber")];
    let material = [("x_height", "5 cm"), ("light", "bright_indoor"), ("filter", "grey, 20 %")];
    let cases: [(&str, Filled<'_>, &str, &[&str]); 7] = [
        ("keep_going", &[], "training on loan", &["Keep going"]),
        ("change_device", &device, "waiting for a loan", &["Change device", "10\u{d7}", "2.5 m", "amber"]),
        ("change_seat", &[("seat", "2.6 m")], "training on loan", &["Change seat", "2.6 m"]),
        ("change_material", &material, "training on loan", &["Change material", "5 cm", "Bright indoor", "grey, 20 %"]),
        ("refer_or_treat_first", &[], "no device advised", &["Refer or treat first"]),
        ("stop", &[], "no device advised", &["Stop"]),
        ("finalise", &[("finalised", "0")], "summary with clinician", &["Finalise", "Handheld telescope"]),
    ];
    for (choice, fields, stage, says) in cases {
        let world = World::new().await;
        let team = lap::Team::up_to(&world, &lap::DISTANCE, lap::Step::Sent).await;
        world.passes(jiff::SignedDuration::from_mins(1));
        let next = world.day(60);
        let all = [("choice", choice), ("reason", "As the trials show."), ("next_on", &next), ("password", PASSWORD)];
        let all = [&all[..], fields].concat();
        team.clinician.presses(&team.at("/review/distance"), "Sign the decision", &all).await.redirected_to();
        let page = team.teacher.opens(&team.at("/prescription")).await.ok();
        for words in says {
            assert!(page.seen().contains(words), "{choice}: {words}: {}", page.seen());
        }
        assert!(page.seen().contains("As the trials show.") && page.seen().contains("Next look"), "{choice}");
        assert_eq!(page.stages()[0], format!("Distance: {stage}"), "{choice}");
        team.parent.opens(&team.at("/thread")).await.ok().sees("Decision made, distance");
    }
}

#[tokio::test]
async fn a_change_of_device_becomes_the_recommendation() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let next = team.world.day(60);
    let fields = [
        ("choice", "change_device"),
        ("first_kind", "handheld_monocular"),
        ("first_power", "4"),
        ("reason", "A wider field."),
        ("next_on", next.as_str()),
    ];
    team.decides(&fields).await.redirected_to();
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    assert!(page.seen().contains("Handheld telescope, monocular, 4\u{d7}"), "{}", page.seen());
}

#[tokio::test]
async fn a_decision_is_made_on_the_summary_that_was_on_the_screen() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let open = team.clinician.opens(&team.at("/review/distance")).await.ok();
    team.summed().await;
    let before = team.documents().await;
    let fields = [("choice", "stop"), ("reason", "nothing helps"), ("password", PASSWORD)];
    team.clinician.presses_on(&open, "Sign the decision", &fields).await.status(409).sees("meanwhile");
    assert_eq!(team.documents().await, before);
}

#[tokio::test]
async fn without_consent_to_the_school_a_decision_stays_in_the_clinic() {
    let team = Team::new().await;
    team.consents(Direction::SchoolToClinic).await;
    team.evaluated().await;
    team.summed().await;
    team.decides(&[("choice", "stop"), ("reason", "no device helps")]).await.redirected_to();
    team.teacher.opens(&team.at("/prescription")).await.hidden();
    team.parent.opens(&team.at("/prescription")).await.ok().sees("Stop");
    team.consents(Direction::ClinicToSchool).await;
    team.teacher.opens(&team.at("/prescription")).await.ok().sees("Stop").sees("no device helps");
}

#[tokio::test]
async fn another_device_may_come_with_another_seat_and_other_print() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let next = team.world.day(60);
    let device = [("choice", "change_device"), ("first_kind", "handheld_monocular"), ("first_power", "4")];
    let why = [("reason", "A wider field, from nearer."), ("next_on", next.as_str())];
    let before = team.documents().await;
    let besides = [("seat", "8 ft 6 in"), ("x_height", "yes")];
    team.decides(&[&device[..], &besides, &why].concat()).await.refused("x_height");
    assert_eq!(team.documents().await, before);
    let besides = [("seat", "8 ft 6 in"), ("x_height", "5 cm"), ("light", "bright_indoor"), ("filter", "amber, 40 %")];
    team.decides(&[&device[..], &besides, &why].concat()).await.redirected_to();
    let page = team.teacher.opens(&team.at("/prescription")).await.ok();
    let page = page.sees("Change device").sees("4\u{d7}").sees("8 ft 6 in").sees("5 cm");
    page.sees("Bright indoor light").sees("amber, 40 %");
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Power 4 \u{d7}");

    // What a choice has no use for is not stored.
    team.summed().await;
    let fields = [("choice", "keep_going"), ("seat", "1 m"), why[0], why[1]];
    team.decides(&fields).await.redirected_to();
    team.teacher.opens(&team.at("/prescription")).await.ok().sees("Keep going").lacks("1 m");
}

#[tokio::test]
async fn finalising_begins_the_prescription_from_the_decision_and_the_evaluation() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    let lenses = [("right_sphere", "-3.00"), ("right_cylinder", "-1.00"), ("right_axis", "90")];
    team.saves(&draft, "refraction", &lenses).await.redirected_to();
    let advice = [("lighting", "A lamp from the left"), ("seating", "Second row")];
    team.saves(&draft, "advice", &advice).await.redirected_to();
    team.signs(&draft).await.redirected_to();
    team.summed().await;
    let next = team.world.day(90);
    let fields = [
        ("choice", "finalise"),
        ("no_summary_reason", "Tried in the clinic."),
        ("seat", "2.6 m"),
        ("light", "bright_indoor"),
        ("reason", "It reads the board."),
        ("next_on", next.as_str()),
    ];
    // It lacks nothing, so it is read first as it would be signed.
    let preview = team.decides(&fields).await.redirected_to();
    let preview = team.clinician.opens(&preview).await.ok().sees("Preview: prescription").sees("Licence:");
    let draft = preview.link("Change the draft");
    let page = team.clinician.opens(&draft).await.ok().sees("draft");
    for (field, value) in [
        ("right_sphere", "-3.00"),
        ("right_axis", "90"),
        ("distance_first_power", "6"),
        ("seating", "Second row\nSeat: 2.6 m"),
        ("lighting", "A lamp from the left\nLight: bright indoor light"),
        ("no_summary_reason", "Tried in the clinic."),
        ("review_on", next.as_str()),
    ] {
        assert_eq!(page.value_of(field).map(|found| found.replace('\r', "")).as_deref(), Some(value), "{field}");
    }
    assert!(page.value_of("limits").is_some_and(|limits| limits.contains("Never look at the sun")));
    assert_eq!(team.world.count("prescription").await, 1);
    // The button opens the one in hand.
    let again = team.clinician.presses(&team.at("/prescription"), "Draft the prescription", &[]).await;
    assert_eq!(again.redirected_to(), draft);
}

#[tokio::test]
async fn a_draft_that_lacks_something_is_written_before_it_is_read() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    // No next look, and the evaluation's own day is past: when to look again is missing.
    team.world.days_later(800).await;
    let fields = [("choice", "finalise"), ("no_summary_reason", "Tried in the clinic."), ("reason", "It reads.")];
    let draft = team.decides(&fields).await.redirected_to();
    assert!(!draft.ends_with("/preview"), "{draft}");
    let page = team.clinician.opens(&draft).await.ok();
    assert_eq!(page.value_of("review_on").as_deref(), Some(""));
}

#[tokio::test]
async fn a_reason_past_the_summary_is_asked_for_only_where_none_covers_the_device() {
    let world = World::new().await;
    let covered = lap::Team::up_to(&world, &lap::DISTANCE, lap::Step::Sent).await;
    covered.clinician.opens(&covered.at("/review/distance")).await.ok().lacks("Why without a summary");
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    team.clinician.opens(&team.at("/review/distance")).await.ok().sees("Why without a summary");
}

#[tokio::test]
async fn what_the_decision_rests_on_stands_on_one_page() {
    let world = World::new().await;
    let team = lap::Team::up_to(&world, &lap::DISTANCE, lap::Step::Sent).await;
    let fields = [("to", "clinician"), ("body", "May she sit further back?")];
    team.teacher.presses(&team.at("/thread"), "Send", &fields).await.redirected_to();
    let page = team.clinician.opens(&team.at("/review")).await.ok();
    for part in [
        "The teacher\u{2019}s question",
        "Open questions to you in the thread",
        "May she sit further back?",
        "Settings side by side",
        "Reasons for not using the device",
        "How it felt",
        "What was changed, and how it went then",
        "Acuities as they stand",
        "Devices tried",
        "Training minutes",
        "All figures of the summary, with every count",
    ] {
        assert!(page.seen().contains(part), "{part}: {}", page.seen());
    }
    let settings = page.table("Settings side by side");
    // Only settings that were seen have a column; the others are named.
    assert!(page.seen().contains("No entry from: "), "{settings:?}");
    for head in &settings.heads[1..] {
        let place = settings.heads.iter().position(|one| one == head).expect("its own");
        assert!(settings.rows.iter().any(|row| row[place] != "no entry"), "{head} is empty: {settings:?}");
    }
    assert_eq!(page.choices_of("choice").len(), 7);
}

#[tokio::test]
async fn the_last_two_examinations_are_compared_where_eye_correction_and_distance_agree() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.clinician.opens(&team.at("/review")).await.ok().lacks("The last two examinations");
    team.world.days_later(200).await;
    let draft = team.begins().await;
    let row = |eye, distance, value| {
        [("eye", eye), ("correction", "best_correction"), ("distance", distance), ("value", value)]
    };
    // 10/160 is 1.20 logMAR, 10/100 was 1.00; the left eye was not measured then.
    for fields in [row("right", "3 m", "10/160"), row("left", "10 ft", "10/100"), row("right", "6 m", "6/60")] {
        team.adds_row(&draft, &fields).await.redirected_to();
    }
    team.saves(&draft, "distance", &crate::clinic::setup::TELESCOPE).await.redirected_to();
    team.saves(&draft, "near", &[("answer", "not_looked_at")]).await.redirected_to();
    team.signs(&draft).await.redirected_to();
    for (person, path) in
        [(&team.clinician, "/review"), (&team.clinician, "/evaluations"), (&team.parent, "/evaluations")]
    {
        let page = person.opens(&team.at(path)).await.ok();
        let table = page.table("The last two examinations");
        assert_eq!(table.rows.len(), 1, "{path}: {:?}", table.rows);
        let words = table.rows[0].join(" | ");
        for said in ["Right eye", "10/100 (1.00 logMAR)", "10/160 (1.20 logMAR)", "+0.20 (worse)", "Worse by more than"]
        {
            assert!(words.contains(said), "{path}: {said}: {words}");
        }
        let page = page.sees("Not compared.").sees("left eye, best (trial) correction, at 10 ft (10/100)");
        page.sees("right eye, best (trial) correction, at 6 m (6/60)");
    }
    let asked = "This differs from last time";
    team.clinician.opens(&team.at("/review")).await.ok().sees(asked).sees("Please check the entry, then decide.");
    team.teacher.opens(&team.at("/evaluations")).await.ok().sees("The clinician is asked to look").lacks(asked);
    team.parent.opens(&team.at("/evaluations")).await.ok().lacks(asked).lacks("asked to look");
}
