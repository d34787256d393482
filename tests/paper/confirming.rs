//! A clinician confirms what a vision teacher copied: as it is, or with values
//! changed; and never what changed meanwhile.

use super::story::HEAD;
use crate::lap::{DISTANCE, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

const CONFIRM: &str = "Confirm with these values";

#[tokio::test]
async fn confirming_takes_the_clinicians_password_and_shows_every_value_with_the_file() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.has_report_filed().await;
    let list = team.clinician.opens(&team.at("/evaluations")).await.ok();
    let path = list.link("10 August 2026, read and confirm");
    assert_eq!(path, format!("{report}/confirm"));
    let page = team.clinician.opens(&path).await.ok().sees("Dr Anneliese Korb").sees("10/120").sees("Sitting only");
    let file = page.link("The paper: report.pdf (PDF, 1 kB)");
    team.clinician.opens(&file).await.ok();
    let before = world.content().await;
    let wrong = [("password", "a guess")];
    team.clinician.presses(&path, "Confirm it as it is", &wrong).await.refused("password");
    let after = world.content().await;
    assert_eq!(after["evaluation"], before["evaluation"]);
    for person in [&team.teacher, &team.parent, &team.classroom] {
        let page = person.submits(&path, &[("version", "5"), ("password", PASSWORD)]).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
    let page = team.clinician.follows(&team.confirms(&report).await).await.ok();
    page.sees("Confirmed by").sees(&team.clinician.name).lacks("does not match what is recommended");
    // Once.
    team.clinician.opens(&path).await.hidden();
    team.teacher.opens(&format!("{report}/amend")).await.hidden();
}

#[tokio::test]
async fn values_changed_on_confirming_keep_both_texts_and_the_open_loan_is_held_against_them() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.has_report_filed().await;
    team.stocks_match(&world, &DISTANCE).await;
    team.lends(&DISTANCE).await;
    team.is_ready(&DISTANCE).await;
    team.trains(&DISTANCE).await;
    let path = format!("{report}/confirm/change");
    let right = [("password", PASSWORD)];
    let page = team.clinician.presses(&path, CONFIRM, &right).await.status(422);
    page.sees("Nothing is changed");
    // ×6 was copied; the clinician says ×10, which lies outside of ×0.8 to ×1.25.
    let change = [("distance.device_1_power", "10"), ("distance.device_1_field", "5")];
    let no_reason = [&change[..], &right].concat();
    team.clinician.presses(&path, CONFIRM, &no_reason).await.refused("reason");
    let wrong = [("distance.device_1_power", "much"), ("reason", "The paper says 10"), right[0]];
    let page = team.clinician.presses(&path, CONFIRM, &wrong).await.refused("distance.device_1_power");
    assert!(page.source().contains("value=\"much\""), "what was typed is kept");
    let reasoned = [&change[..], &[("reason", "The paper says 10")]].concat();
    team.clinician.presses(&path, CONFIRM, &reasoned).await.refused("password");
    let before = world.content().await;
    assert_eq!(before["amendment"], World::new().await.content().await["amendment"], "nothing was amended so far");
    let whole = [&reasoned[..], &right].concat();
    let page = team.clinician.follows(&team.clinician.presses(&path, CONFIRM, &whole).await).await.ok();
    let page = page.sees("A loan does not match what is recommended now").sees("6").sees("The paper says 10");
    assert!(page.seen().contains("device 1 power Before 6 After 10"), "{}", page.seen());
    // The same page tells the vision teacher, and no session is taken with it.
    let page = team.teacher.opens(&report).await.ok().sees("A loan does not match what is recommended now");
    assert_eq!(page.link("Devices"), team.at("/devices"));
    let sessions = world.count("training_session").await;
    let page = team.teacher.opens(&team.at("/training/new?track=distance")).await;
    if page.code() == 200 {
        let devices = page.choices_of("device");
        assert!(devices.iter().all(|device| device == "none"), "{devices:?}");
    }
    assert_eq!(world.count("training_session").await, sessions);
    // A clinician's own word against the paper stands in the record for the family.
    team.parent.opens(&report).await.ok().sees("The paper says 10").sees("confirmed by a clinician");
}

#[tokio::test]
async fn a_report_corrected_meanwhile_is_not_confirmed_and_both_texts_are_shown() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.has_report_filed().await;
    let read = team.clinician.opens(&format!("{report}/confirm")).await.ok();
    let changing = team.clinician.opens(&format!("{report}/confirm/change")).await.ok();
    let change = [("distance.limits", "Sitting only, not outdoors"), ("reason", "left out a line")];
    team.teacher.presses(&format!("{report}/amend"), "Save the correction", &change).await.redirected_to();
    let before = world.content().await;
    let page = team.clinician.presses_on(&read, "Confirm it as it is", &[("password", PASSWORD)]).await.status(409);
    page.sees("Sitting only, not outdoors").sees("Somebody else saved this meanwhile");
    let fields = [("distance.limits", "Sitting or standing"), ("reason", "as I saw it"), ("password", PASSWORD)];
    let page = team.clinician.presses_on(&changing, CONFIRM, &fields).await.status(409);
    page.sees("Sitting only, not outdoors").sees("Sitting or standing").lacks(PASSWORD);
    let after = world.content().await;
    let changed: Vec<_> =
        after.keys().filter(|table| *table != "disclosure" && after[*table] != before[*table]).collect();
    assert!(changed.is_empty(), "{changed:?}");
    // Read again, it is confirmed.
    team.confirms(&report).await.redirected_to();
}

#[tokio::test]
async fn finalising_waits_until_the_report_is_confirmed_and_leads_there() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.has_report_filed().await;
    team.stocks_match(&world, &DISTANCE).await;
    team.lends(&DISTANCE).await;
    team.is_ready(&DISTANCE).await;
    team.trains(&DISTANCE).await;
    let summary = team.drafts_summary(&DISTANCE).await;
    team.sends_summary(&summary).await;
    let decision = [("choice", "finalise"), ("finalised", "0"), ("reason", "It works."), ("password", PASSWORD)];
    let before = world.content().await;
    let page = team.clinician.submits(&team.at("/review/distance"), &decision).await;
    let page = page.blocked("The evaluation is transcribed and not confirmed. Confirm it before finalising.");
    assert_eq!(world.content().await["decision"], before["decision"]);
    let there = team.clinician.opens(&page.link("Go to that step")).await;
    assert_eq!(there.redirected_to(), format!("{report}/confirm"));
    team.clinician.follows(&there).await.ok().sees("Confirm the transcribed report");
    team.confirms(&report).await.redirected_to();
    team.decides(&world, &DISTANCE, "finalise").await;
    // Nothing waits any more.
    let page = team.clinician.opens(&team.at("/evaluations/paper/unconfirmed")).await;
    assert_eq!(page.redirected_to(), team.at("/evaluations"));
}

#[tokio::test]
async fn a_report_that_advises_no_device_ends_what_was_open_and_opens_nothing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let today = world.day(0);
    let head: Vec<(&str, &str)> = HEAD
        .iter()
        .map(|(name, value)| if *name == "examined_on" { (*name, today.as_str()) } else { (*name, *value) })
        .collect();
    let report = team.begins_report(&head).await;
    for track in ["distance", "near"] {
        team.copies(&report, track, &[("answer", "none")]).await;
    }
    team.attaches(&report).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    team.files_report(&report).await;
    team.teacher.opens(&team.at("/devices/lend/distance")).await.blocked("No device is advised now");
}
