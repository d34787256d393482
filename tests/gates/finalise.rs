//! G8 finalise: a clinician, the password, and a summary about that device or a
//! written reason.

use super::closed;
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

const WHY: (&str, &str) = ("No training summary about this device was sent", "/summaries");

#[tokio::test]
async fn g8_a_decision_to_finalise_needs_a_summary_or_a_reason() {
    for track in [&DISTANCE, &NEAR] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::Trained).await;
        let review = format!("/review/{}", track.code);
        let decision = [("choice", "finalise"), ("finalised", "0"), ("reason", "It works."), ("password", PASSWORD)];
        closed(&world, &team, (&team.clinician, &review), &decision, WHY).await;
        let blank = [&decision[..], &[("no_summary_reason", "   ")]].concat();
        closed(&world, &team, (&team.clinician, &review), &blank, WHY).await;
        // Everybody else, whatever they write.
        let before = world.content().await;
        for person in [&team.teacher, &team.classroom, &team.parent] {
            let page = person.submits(&team.at(&review), &decision).await;
            assert!([403, 404].contains(&page.code()), "{}", page.asked());
        }
        let reasoned = [&decision[..], &[("no_summary_reason", "Used one like it for a year.")]].concat();
        let mistyped: Vec<_> =
            reasoned.iter().copied().filter(|(name, _)| *name != "password").chain([("password", "guess")]).collect();
        team.clinician.submits(&team.at(&review), &mistyped).await.refused("password");
        let after = world.content().await;
        for table in ["decision", "sending", "event", "device_spec"] {
            assert_eq!(after[table], before[table], "{table}");
        }
        team.clinician.submits(&team.at(&review), &reasoned).await.redirected_to();
        team.teacher.opens(&team.at("/prescription")).await.ok().sees("Used one like it for a year.");
    }
}

#[tokio::test]
async fn g8_a_prescription_needs_a_summary_or_a_reason_and_lenses_alone_need_neither() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let draft = team.drafts_prescription(&world).await;
    let path = draft.strip_prefix(&team.at("")).expect("below the student").to_owned() + "/sign";
    let sign = [("version", "2"), ("password", PASSWORD)];
    closed(&world, &team, (&team.clinician, &path), &sign, WHY).await;
    let before = world.content().await;
    for person in [&team.teacher, &team.classroom, &team.parent] {
        let page = person.submits(&team.at(&path), &sign).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
    let after = world.content().await;
    assert_eq!(after["prescription"], before["prescription"]);

    // A summary sent opens it.
    let summary = team.drafts_summary(&DISTANCE).await;
    team.sends_summary(&summary).await;
    team.signs_prescription(&draft).await;

    // Without its device the next one is lenses alone.
    let lenses = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let draft = lenses.drafts_prescription(&world).await;
    let page = lenses.clinician.opens(&draft).await.ok();
    let (_, pairs) = page.filled("Save the draft", &[]);
    let cleared: Vec<(&str, &str)> = pairs
        .iter()
        .map(|(name, _)| name.as_str())
        .filter(|name| name.starts_with("distance_first_"))
        .map(|name| (name, ""))
        .collect();
    lenses.clinician.presses_on(&page, "Save the draft", &cleared).await.redirected_to();
    lenses.signs_prescription(&draft).await;
}

#[tokio::test]
async fn g8_a_summary_about_another_device_covers_nothing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    // The clinician changes the device; nobody trained with the new one yet.
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    let next = world.day(30);
    let change = [
        ("choice", "change_device"),
        ("first_kind", "spectacle_telescope"),
        ("first_power", "3"),
        ("first_eye", "right"),
        ("reason", "Hands free for writing."),
        ("next_on", next.as_str()),
        ("password", PASSWORD),
    ];
    team.clinician.presses_on(&page, "Sign the decision", &change).await.redirected_to();
    world.passes(jiff::SignedDuration::from_mins(1));
    let summary = world.newest("summary", &team.pupil).await.expect("the sent one");
    let decision = [
        ("choice", "finalise"),
        ("finalised", "0"),
        ("reason", "Go on."),
        ("summary", &summary),
        ("password", PASSWORD),
    ];
    closed(&world, &team, (&team.clinician, "/review/distance"), &decision, WHY).await;
}
