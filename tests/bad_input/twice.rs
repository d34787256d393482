//! What is sent twice is stored once; what two people write at once is lost by
//! neither.

use super::sends;
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::people::{PASSWORD, Person};
use crate::world::World;

/// One form, sent as a double click sends it: the second answer leads where the
/// first led, and leaves every table as the first left it.
async fn once(world: &World, person: &Person, path: &str, button: &str, fields: &[(&str, &str)]) {
    let page = person.opens(path).await.ok();
    let before = world.content().await;
    let first = sends(person, &page, button, fields).await.1;
    assert!(first.code() < 400, "{}\n{}", first.asked(), first.seen());
    let stored = world.content().await;
    assert_ne!(stored, before, "{} stores nothing", first.asked());
    let (_, second) = sends(person, &page, button, fields).await;
    assert!(second.code() < 400, "{}\n{}", second.asked(), second.seen());
    if first.code() == 303 {
        assert_eq!(second.redirected_to(), first.redirected_to());
    }
    let after = world.content().await;
    let changed: Vec<_> =
        after.keys().filter(|table| *table != "disclosure" && after[*table] != stored[*table]).collect();
    assert!(changed.is_empty(), "{} sent twice changed {changed:?} again", first.asked());
}

#[tokio::test]
async fn a_form_sent_twice_is_stored_once() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let (teacher, clinician, parent) = (&team.teacher, &team.clinician, &team.parent);
    let new =
        [("number", "T-2"), ("name", "Twice"), ("birth_date", "2015-01-01"), ("grade", "4"), ("interpreter", "no")];
    once(&world, teacher, "/students/new", "Open the record", &new).await;
    once(&world, teacher, &team.at("/intake/eyes"), "Save and go on", &[("student_words", "Too far away")]).await;
    let seat = [("room", "Gym"), ("distance", "11 m")];
    once(&world, teacher, &team.at("/seats/new"), "Add", &seat).await;
    let task =
        [("code", "wall_clock"), ("name", "Clock"), ("track", "distance"), ("goal", "name_it"), ("target", "digits")];
    once(&world, teacher, &team.at("/tasks/new"), "Add", &task).await;
    once(&world, teacher, &team.at("/people/contacts/new"), "Save", &[("name", "Gran")]).await;
    let link = [("role", "parent"), ("invited_name", "Dad"), ("relation", "father")];
    once(&world, teacher, &team.at("/people"), "Make the link", &link).await;
    once(&world, teacher, &team.at("/evaluations/request"), "Ask, and release the intake", &[("question", "Which?")])
        .await;
    world.passes(jiff::SignedDuration::from_mins(1));
    once(&world, clinician, &team.at("/evaluations/new"), "Begin", &[]).await;
    let draft = team.evaluates(&DISTANCE).await;
    let row = [("eye", "left"), ("correction", "none"), ("distance", "4 m"), ("value", "HM")];
    once(&world, clinician, &format!("{draft}/edit/acuity"), "Add this row", &row).await;
    let password = [("password", PASSWORD)];
    once(&world, clinician, &format!("{draft}/preview"), "Sign the evaluation", &password).await;
    let device =
        [("tag", "TW-1"), ("owner", "charity"), ("kind", "handheld_monocular"), ("power", "4"), ("condition", "good")];
    once(&world, teacher, "/devices/new", "Add the device", &device).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    team.stocks_match(&world, &DISTANCE).await;
    let page = teacher.opens(&team.at("/devices/lend/distance")).await.ok();
    let fits = page.choices_of("device").into_iter().next_back().expect("one that fits");
    let terms = [
        ("device", fits.as_str()),
        ("eye", "right"),
        ("condition", "good"),
        ("home_use", "no"),
        ("agreement_by", "school"),
        ("held_by", "student"),
    ];
    once(&world, teacher, &team.at("/devices/lend/distance"), "Hand it over", &terms).await;
    team.is_ready(&DISTANCE).await;
    let session = [
        ("device", "none"),
        ("minutes", "20"),
        ("place", "library"),
        ("body", "seated"),
        ("e1_skill", "focusing"),
        ("e1_prompt", "5"),
    ];
    once(&world, teacher, &team.at("/training/new?track=distance"), "Save the session", &session).await;
    for _ in 0..3 {
        team.trains(&DISTANCE).await;
    }
    let seen = [("flag", "no"), ("place", "home"), ("task", "tv"), ("device_out", "not_needed"), ("result", "all")];
    once(&world, parent, &team.at("/observations/new"), "Save", &seen).await;
    once(&world, parent, &team.at("/thread"), "Send", &[("to", "note"), ("body", "Hello")]).await;
    once(&world, parent, &team.at("/thread/words"), "Keep these words", &[("said_words", "I like it")]).await;
    once(&world, teacher, &team.at("/card/at-home/edit"), "Save the draft", &[("body", "Read a cover")]).await;
    once(&world, teacher, &team.at("/card/at-home"), "Release it to the family", &[]).await;
    once(&world, teacher, &team.at("/card/edit"), "Save and preview", &[("seat", "In front")]).await;
    once(&world, teacher, &team.at("/card/preview"), "Release it", &[]).await;
    once(&world, teacher, &team.at("/summaries"), "Draft the summary", &[("track", "distance")]).await;
    let summary = team.drafts_summary(&DISTANCE).await;
    once(&world, teacher, &format!("{summary}/preview"), "Sign and send", &password).await;
    let decision = [("choice", "finalise"), ("finalised", "0"), ("reason", "It works."), ("password", PASSWORD)];
    // Before the decision: afterwards there is a draft already.
    once(&world, clinician, &team.at("/prescription"), "Draft the prescription", &[]).await;
    once(&world, clinician, &team.at("/review/distance"), "Sign the decision", &decision).await;
    let prescription = team.drafts_prescription(&world).await;
    once(&world, clinician, &format!("{prescription}/preview"), "Sign the prescription", &password).await;
    let other = team.stocks(&world, DISTANCE.other_device).await;
    let question = [("device", other.rsplit('/').next().unwrap_or_default()), ("reason", "For the hall")];
    once(&world, teacher, &team.at("/devices/ask/distance"), "Ask the clinician", &question).await;
    let request = clinician.opens(&team.at("/devices")).await.ok().link("Compare and answer");
    once(&world, clinician, &request, "Send the answer", &[("answer", "allow"), ("reason", "Seated")]).await;
    let given = world.newest("loan_allowance", &team.pupil).await.expect("leave");
    let back = team.at(&format!("/devices/allowances/{given}/withdraw"));
    once(&world, clinician, &back, "Take it back", &[("reason", "Too narrow")]).await;
    let lent = world.newest("loan", &team.pupil).await.expect("a loan");
    let later = world.day(90);
    let extended = [("due_on", later.as_str()), ("reason", "Exams")];
    once(&world, teacher, &team.at(&format!("/devices/extend/{lent}")), "Extend the loan", &extended).await;
    once(&world, teacher, &other, "Take it out of the pool", &[("retired_reason", "Worn")]).await;
    let form = parent.opens(&team.at("/devices")).await.ok().link("Record a device that arrived");
    let arrived = [
        ("kind", "handheld_monocular"),
        ("power", "6"),
        ("objective", "16"),
        ("eye", "right"),
        ("received_by", "S"),
        ("condition", "new"),
    ];
    once(&world, parent, &form, "Save what arrived", &arrived).await;
    let own = world.newest("own_device", &team.pupil).await.expect("what arrived");
    let repair = team.at(&format!("/devices/own/{own}/repair"));
    once(&world, parent, &repair, "Record the repair", &[("reason", "Stuck")]).await;
    let repair = world.newest("repair", &team.pupil).await.expect("a repair");
    once(&world, parent, &team.at(&format!("/devices/repairs/{repair}/back")), "It is back", &[]).await;
    let loan = world.newest("loan", &team.pupil).await.expect("a loan");
    once(&world, teacher, &team.at(&format!("/devices/return/{loan}")), "Take it back", &[("condition", "good")]).await;
    once(&world, parent, &team.at("/safety"), "Send the red flag", &[("sign", "rf1")]).await;
    let flag = world.newest("flag", &team.pupil).await.expect("a flag");
    let cleared = [("note", "Seen today."), ("password", PASSWORD)];
    once(&world, clinician, &team.at(&format!("/safety/{flag}/clear")), "Clear the flag", &cleared).await;
}

/// Two browsers with the same draft: the second is shown both texts and keeps
/// the first as it was.
async fn both_are_shown(world: &World, (first, second): (&Person, &Person), (path, button, field): (&str, &str, &str)) {
    let (theirs, mine) = ("What the first one wrote \u{1f9ff}", "What the second one wrote <i>");
    let old = second.opens(path).await.ok();
    first.presses(path, button, &[(field, theirs)]).await.redirected_to();
    let before = world.content().await;
    let page = second.presses_on(&old, button, &[(field, mine)]).await.status(409);
    let page = page.sees("Somebody else saved this meanwhile").sees(theirs).sees(mine);
    let after = world.content().await;
    assert!(after.iter().all(|(table, rows)| table == "disclosure" || before[table] == *rows), "{}", page.asked());
    let again = second.opens(&page.link("Open the record as it is now")).await.ok();
    assert_eq!(again.value_of(field).as_deref(), Some(theirs), "{path}");
    // Put together by the second, it is kept.
    let joined = format!("{theirs} {mine}");
    second.presses_on(&again, button, &[(field, &joined)]).await.redirected_to();
}

#[tokio::test]
async fn of_two_people_with_one_draft_neither_loses_what_was_written() {
    let world = World::new().await;
    let team = Team::up_to(&world, &NEAR, Step::Decided).await;
    let colleague = world.vision_teacher().await;
    let other_clinician = world.clinician().await;
    for person in [&colleague, &other_clinician] {
        world.joins(person, &team.pupil, &team.teacher).await;
    }
    let teachers = (&team.teacher, &colleague);
    let clinicians = (&team.clinician, &other_clinician);
    let card = team.at("/card/edit");
    team.drafts_card().await;
    both_are_shown(&world, teachers, (&card, "Save and preview", "rest")).await;
    let summary = team.drafts_summary(&NEAR).await;
    both_are_shown(&world, teachers, (&summary, "Save the draft", "questions")).await;
    let prescription = team.drafts_prescription(&world).await;
    both_are_shown(&world, clinicians, (&prescription, "Save the draft", "seating")).await;
    let evaluation = team.begins_an_evaluation().await;
    for (section, field) in [("advice", "seating"), ("eyes", "diagnosis"), ("sight", "filter"), ("near", "limits")] {
        let path = format!("{evaluation}/edit/{section}");
        if section == "near" {
            team.clinician.presses(&path, "Save and go on", &[("answer", "not_looked_at")]).await.redirected_to();
        }
        both_are_shown(&world, clinicians, (&path, "Save and go on", field)).await;
    }
    let task = world.newest("visual_task", &team.pupil).await.expect("a task");
    both_are_shown(&world, teachers, (&team.at(&format!("/tasks/{task}")), "Save", "wanted_by")).await;

    let early = Team::up_to(&world, &NEAR, Step::TakenIn).await;
    world.joins(&colleague, &early.pupil, &early.teacher).await;
    let teachers = (&early.teacher, &colleague);
    for (path, button, field) in [
        ("/intake/eyes", "Save and go on", "student_words"),
        ("/identity", "Save", "school"),
        ("/training/readiness/near", "Save for later", "agreed_words"),
    ] {
        both_are_shown(&world, teachers, (&early.at(path), button, field)).await;
    }
}
