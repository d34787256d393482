//! G7 consent: what crosses between school and clinic, what waits, and what
//! stops when a consent is withdrawn.

use super::closed;
use crate::lap::{DISTANCE, Step, Team};
use crate::people::{CLINIC, PASSWORD};
use crate::world::World;

/// What of a student's record a clinic reads live.
const LIVE: [&str; 5] = ["/intake", "/tasks", "/observations", "/training", "/devices"];

#[tokio::test]
async fn g7_before_a_consent_nothing_crosses_and_a_request_waits() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    team.asks().await;
    team.teacher.opens(&team.at("/evaluations")).await.ok().sees("Waiting for consent");
    team.clinician
        .opens(&team.at("/evaluations"))
        .await
        .ok()
        .sees("Waiting for consent")
        .lacks("Wren")
        .lacks("copy from the board");
    for path in LIVE {
        team.clinician.opens(&team.at(path)).await.hidden();
    }
    let before = world.content().await;
    team.clinician.submits(&team.at("/evaluations/new"), &[("examined_on", &world.day(0))]).await.forbidden();
    assert_eq!(world.content().await, before);
    world.consents(&team.parent, &team.pupil).await;
    for path in LIVE {
        team.clinician.opens(&team.at(path)).await.ok();
    }
    team.clinician.opens(&team.at("/evaluations")).await.ok().sees("copy from the board");
    team.begins_an_evaluation().await;
}

#[tokio::test]
async fn g7_a_summary_is_sent_under_a_consent_that_names_summaries_and_this_clinic() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let draft = team.drafts_summary(&DISTANCE).await;
    let path = draft.strip_prefix(&team.at("")).expect("below the student").to_owned() + "/send";
    let send = [("version", "2"), ("password", PASSWORD)];
    let why = ("No consent on file", "/people");
    world.withdraws(&team.parent, &team.pupil).await;
    closed(&world, &team, (&team.teacher, &path), &send, why).await;
    // One that names other kinds of record, or another clinic, opens nothing.
    let consent = team.at("/people/consent/school_to_clinic");
    let signs = async |category: &str, clinic: &str, named: &str| {
        let fields = [
            ("clinic", clinic),
            ("clinic_named", named),
            ("categories", category),
            ("relation", "mother"),
            ("read", "yes"),
            ("password", PASSWORD),
        ];
        team.parent.presses(&consent, "Sign", &fields).await.redirected_to();
    };
    signs("training", CLINIC, "").await;
    closed(&world, &team, (&team.teacher, &path), &send, why).await;
    signs("summary", "another", "Somewhere Else Eye Centre").await;
    team.teacher.submits(&team.at(&path), &send).await;
    team.clinician.opens(&draft).await.hidden();
    signs("summary", CLINIC, "").await;
    let draft = team.drafts_summary(&DISTANCE).await;
    team.sends_summary(&draft).await;
    team.clinician.opens(&draft).await.ok();
}

#[tokio::test]
async fn g7_withdrawing_stops_what_is_live_and_new_and_leaves_what_was_sent() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let document = async |table: &str| world.newest(table, &team.pupil).await.expect("one was signed");
    let summary = team.at(&format!("/summaries/{}", document("summary").await));
    let evaluation = team.at(&format!("/evaluations/{}", document("evaluation").await));
    let prescription = team.at(&format!("/prescription/{}", document("prescription").await));
    world.withdraws(&team.parent, &team.pupil).await;
    for path in LIVE {
        team.clinician.opens(&team.at(path)).await.hidden();
    }
    team.clinician.opens(&summary).await.ok();
    for person in [&team.teacher, &team.parent] {
        person.opens(&evaluation).await.ok();
        person.opens(&prescription).await.ok();
    }
    // Gates that were passed stay passed: the school goes on training.
    team.trains(&DISTANCE).await;
    // What is signed now stays with its side until a consent covers it.
    let newer = {
        let draft = team.drafts_summary(&DISTANCE).await;
        let path = draft.strip_prefix(&team.at("")).expect("below the student").to_owned() + "/send";
        let send = [("version", "2"), ("password", PASSWORD)];
        closed(&world, &team, (&team.teacher, &path), &send, ("No consent on file", "/people")).await;
        draft
    };
    team.clinician.opens(&newer).await.hidden();
    world.consents(&team.parent, &team.pupil).await;
    team.clinician.opens(&newer).await.hidden();
    team.sends_summary(&newer).await;
    team.clinician.opens(&newer).await.ok();
}
