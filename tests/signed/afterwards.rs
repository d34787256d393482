//! G7: what became of a document later crosses like the document itself: while a
//! consent is in force, or once one starts.

use super::{AMEND, ANEW, corrects, errs, evaluation, summary};
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

#[tokio::test]
async fn without_a_consent_the_school_reads_the_evaluation_as_it_was_sent() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let signed = evaluation(&world, &team).await;
    world.withdraws(&team.parent, &team.pupil).await;
    let as_sent = team.teacher.opens(&signed).await.ok().html().root_element().html();
    let fields = [("text_place", "Another room"), ("amend_reason", "It moved.")];
    corrects(&team.clinician, &signed, AMEND, &fields).await.redirected_to();
    let words = |page: crate::page::Page| page.seen();
    let before = words(team.teacher.opens(&signed).await.ok());
    assert!(!before.contains("Another room") && as_sent.contains("Harbour Lane Low Vision"), "{before}");
    errs(&team.clinician, &signed).await.redirected_to();
    let page = team.teacher.opens(&signed).await.ok();
    assert_eq!(page.seen(), before, "byte for byte what was sent");
    team.teacher.opens(&team.at("/evaluations")).await.ok().lacks("ntered in error");
    team.teacher.opens(&team.at("/thread")).await.ok().lacks("ntered in error").lacks("amended");
    let page = team.teacher.opens(&team.at("")).await.ok();
    assert_eq!(page.stages(), ["Distance: waiting for consent", "Near: awaiting evaluation"]);
    // The family needs no consent.
    team.parent.opens(&signed).await.ok().sees("Entered in error").sees("Another room");
    // Once a consent starts, it crosses.
    world.consents(&team.parent, &team.pupil).await;
    team.teacher.opens(&signed).await.ok().sees("Entered in error").sees("Another room");
}

#[tokio::test]
async fn without_a_consent_a_superseded_evaluation_reads_as_sent_and_the_new_one_does_not_cross() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let old = evaluation(&world, &team).await;
    let why = [("supersede_reason", "Written anew.")];
    let hub = corrects(&team.clinician, &old, ANEW, &why).await.redirected_to();
    let new = hub.strip_suffix("/edit").unwrap().to_owned();
    world.withdraws(&team.parent, &team.pupil).await;
    team.signs_evaluation(&new).await;
    team.teacher.opens(&old).await.ok().lacks("Superseded");
    team.teacher.opens(&new).await.hidden();
    world.consents(&team.parent, &team.pupil).await;
    team.teacher.opens(&old).await.ok().sees("Superseded");
    team.teacher.opens(&new).await.ok().sees("It takes the place of an earlier one").sees("No text or figure differs");
}

#[tokio::test]
async fn without_a_consent_the_clinic_reads_the_summary_as_it_was_sent() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let sent = summary(&world, &team).await;
    world.withdraws(&team.parent, &team.pupil).await;
    let before = team.clinician.opens(&sent).await.ok().seen();
    let fields = [("text_words", "Wren does not find the line."), ("amend_reason", "Mixed up.")];
    corrects(&team.teacher, &sent, AMEND, &fields).await.redirected_to();
    errs(&team.teacher, &sent).await.redirected_to();
    assert_eq!(team.clinician.opens(&sent).await.ok().seen(), before);
    world.consents(&team.parent, &team.pupil).await;
    team.clinician.opens(&sent).await.ok().sees("Entered in error").sees("Wren does not find the line.");
}
