//! A consent signed ahead of its first day: its documents go when it starts.

use crate::lap::{DISTANCE, Step, Team};
use crate::people::{CLINIC, PASSWORD};
use crate::world::World;

/// The parent signs toward the school for prescriptions and evaluations, from a
/// day ahead for so many days.
async fn signs_ahead(world: &World, team: &Team, (first, last): (i64, i64)) {
    let (first, last) = (world.day(first), world.day(last));
    let fields = [
        ("categories", "evaluation"),
        ("categories", "prescription"),
        ("clinic", CLINIC),
        ("starts_on", first.as_str()),
        ("ends_on", last.as_str()),
        ("relation", "mother"),
        ("read", "yes"),
        ("password", PASSWORD),
    ];
    team.parent.presses(&team.at("/people/consent/clinic_to_school"), "Sign", &fields).await.redirected_to();
}

/// A signed evaluation that no consent lets across.
async fn evaluated(world: &World) -> (Team, String) {
    let team = Team::up_to(world, &DISTANCE, Step::Asked).await;
    world.withdraws(&team.parent, &team.pupil).await;
    let to_clinic = team.at("/people/consent/school_to_clinic");
    let fields =
        [("categories", "intake"), ("clinic", CLINIC), ("relation", "mother"), ("read", "yes"), ("password", PASSWORD)];
    team.parent.presses(&to_clinic, "Sign", &fields).await.redirected_to();
    let draft = team.evaluates(&DISTANCE).await;
    team.signs_evaluation(&draft).await;
    (team, draft)
}

#[tokio::test]
async fn a_document_goes_on_the_first_day_and_not_before() {
    let world = World::new().await;
    let (team, evaluation) = evaluated(&world).await;
    team.teacher.opens(&evaluation).await.hidden();
    signs_ahead(&world, &team, (10, 200)).await;
    team.teacher.opens(&evaluation).await.hidden();
    assert_eq!(world.count("sending").await, 0);
    world.days_later(9).await;
    team.teacher.opens(&evaluation).await.hidden();
    assert_eq!(world.count("sending").await, 0);
    world.days_later(1).await;
    // Whoever comes first: here the parent, who reads it anyway.
    team.parent.opens(&team.at("/consents")).await.ok().sees("26 September 2026, 00:00");
    assert_eq!(world.count("sending").await, 1);
    team.teacher.opens(&evaluation).await.ok();
    team.parent.opens(&team.at("/history")).await.ok().sees("Sent: consent");
    // It went once, whoever comes after.
    team.clinician.opens(&team.at("")).await.ok();
    assert_eq!(world.count("sending").await, 1);
}

#[tokio::test]
async fn a_vision_teacher_who_is_first_finds_the_document_on_the_very_first_visit() {
    let world = World::new().await;
    let (team, evaluation) = evaluated(&world).await;
    signs_ahead(&world, &team, (10, 200)).await;
    world.days_later(12).await;
    team.teacher.opens(&evaluation).await.ok();
}

#[tokio::test]
async fn one_that_started_and_ended_unseen_has_sent_what_was_signed_by_then() {
    let world = World::new().await;
    let (team, evaluation) = evaluated(&world).await;
    signs_ahead(&world, &team, (10, 12)).await;
    world.days_later(30).await;
    // Live pages are closed again; the document stays readable as sent.
    team.teacher.opens(&evaluation).await.ok();
    let page = team.parent.opens(&team.at("/consents")).await.ok();
    page.sees("26 September 2026, 00:00").sees("Ended");
}

#[tokio::test]
async fn one_that_was_withdrawn_before_its_first_day_sends_nothing() {
    let world = World::new().await;
    let (team, evaluation) = evaluated(&world).await;
    signs_ahead(&world, &team, (10, 200)).await;
    let page = team.parent.opens(&team.at("/people")).await.ok();
    let ahead = page.links().into_iter().find(|(_, words)| words.starts_with("From the clinic to the school, by"));
    let ahead = ahead.expect("its page").0;
    team.parent.presses(&ahead, "Withdraw this consent", &[("password", PASSWORD)]).await.redirected_to();
    world.days_later(11).await;
    team.teacher.opens(&evaluation).await.hidden();
    team.parent.opens(&team.at("/consents")).await.ok().sees("No signed document has gone across");
    assert_eq!(world.count("sending").await, 0);
}
