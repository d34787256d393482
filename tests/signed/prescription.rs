//! A signed prescription: amended, superseded, cancelled, entered in error.

use super::{AMEND, ANEW, CANCEL, corrects, errs, prescription};
use crate::lap::{DISTANCE, Step, Team};
use crate::page::Page;
use crate::people::PASSWORD;
use crate::world::World;

async fn stages(team: &Team) -> Vec<String> {
    team.teacher.opens(&team.at("")).await.ok().stages()
}

/// The clinician writes it anew with these fields and signs; gives its address.
async fn writes_anew(team: &Team, old: &str, fields: &[(&str, &str)]) -> String {
    let why = [("supersede_reason", "The light was forgotten.")];
    let draft = corrects(&team.clinician, old, ANEW, &why).await.redirected_to();
    team.clinician.presses(&draft, "Save the draft", fields).await.redirected_to();
    team.signs_prescription(&draft).await;
    draft
}

async fn cancels(team: &Team, document: &str) -> Page {
    let fields = [("cancel_reason", "She has one already."), ("cancel_password", PASSWORD)];
    corrects(&team.clinician, document, CANCEL, &fields).await
}

#[tokio::test]
async fn its_limits_are_amended_with_both_texts() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let signed = prescription(&world, &team).await;
    let fields = [("text_limits", "Sitting only."), ("amend_reason", "Standing was not meant.")];
    corrects(&team.clinician, &signed, AMEND, &fields).await.redirected_to();
    for person in [&team.teacher, &team.parent] {
        let page = person.opens(&signed).await.ok().sees("Sitting only.").sees("Sitting or standing still only.");
        page.sees("Standing was not meant.");
    }
    team.parent.opens(&format!("{signed}/print")).await.ok().sees("Sitting only.").lacks("Correct this");
    let none = [("text_limits", ""), ("amend_reason", "no limits")];
    corrects(&team.clinician, &signed, AMEND, &none).await.refused("text_limits");
}

#[tokio::test]
async fn superseded_with_the_same_device_the_own_device_stays() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let old = prescription(&world, &team).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let new = writes_anew(&team, &old, &[("lighting", "A lamp on the left")]).await;
    assert_eq!(stages(&team).await, ["Distance: own device", "Near: awaiting evaluation"]);
    team.parent.opens(&old).await.ok().sees("Superseded").sees("The light was forgotten.");
    team.parent.opens(&format!("{old}/print")).await.ok().sees("Superseded. Do not use.").lacks("Open the newer one");
    let told = team.parent.opens(&new).await.ok().table("What changed");
    assert_eq!(told.rows.len(), 1, "{:?}", told.rows);
    assert!(told.rows[0][2].contains("A lamp on the left"), "{:?}", told.rows);
    team.teacher.opens(&team.at("/prescription")).await.ok().sees("Superseded").sees("In force");
}

#[tokio::test]
async fn one_that_was_superseded_never_comes_back() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let old = prescription(&world, &team).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let new = writes_anew(&team, &old, &[("lighting", "A lamp on the left")]).await;
    assert_eq!(stages(&team).await, ["Distance: prescribed, awaiting the device", "Near: awaiting evaluation"]);
    world.passes(jiff::SignedDuration::from_mins(1));
    cancels(&team, &new).await.redirected_to();
    team.teacher.opens(&new).await.ok().sees("Cancelled").sees("She has one already.");
    team.parent.opens(&format!("{new}/print")).await.ok().sees("Cancelled. Do not use.");
    assert_eq!(stages(&team).await, ["Distance: training on loan", "Near: awaiting evaluation"]);
    // A superseded or cancelled one is corrected no more.
    for document in [&old, &new] {
        team.clinician.opens(document).await.ok().lacks("Correct this prescription");
        let fields = [("error_reason", "wrong"), ("error_password", PASSWORD), ("version", "1")];
        let before = super::signed_rows(&world).await;
        team.clinician.submits(&format!("{document}/error"), &fields).await.status(409);
        assert_eq!(super::signed_rows(&world).await, before);
    }
}

#[tokio::test]
async fn entered_in_error_it_counts_as_never_signed() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let signed = prescription(&world, &team).await;
    errs(&team.clinician, &signed).await.redirected_to();
    // Decided to finalise and not signed: the summary lies with the clinician again.
    assert_eq!(stages(&team).await, ["Distance: summary with clinician", "Near: awaiting evaluation"]);
    team.parent.opens(&signed).await.ok().sees("Entered in error").sees("It is about another student.");
    team.parent.opens(&team.at("/prescription")).await.ok().sees("Entered in error");
}

#[tokio::test]
async fn a_second_one_on_the_other_track_stands_beside_the_first() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let first = prescription(&world, &team).await;
    let draft = team.drafts_prescription(&world).await;
    let (review, end) = (world.day(180), world.day(700));
    let blank = ["kind", "power", "objective", "field", "near_focus", "glasses", "eye", "purpose", "limits"];
    let blank: Vec<String> = blank.iter().map(|part| format!("distance_first_{part}")).collect();
    let mut fields: Vec<(&str, &str)> = blank.iter().map(|name| (name.as_str(), "")).collect();
    fields.extend([
        ("near_first_kind", "stand_magnifier"),
        ("near_first_equivalent", "16"),
        ("no_summary_reason", "Tried for an hour here."),
        ("limits", "Not in the sun."),
        ("review_on", review.as_str()),
        ("expires_on", end.as_str()),
    ]);
    team.clinician.presses(&draft, "Save the draft", &fields).await.redirected_to();
    team.signs_prescription(&draft).await;
    assert_eq!(
        stages(&team).await,
        ["Distance: prescribed, awaiting the device", "Near: prescribed, awaiting the device"]
    );
    for document in [&first, &draft] {
        team.parent.opens(document).await.ok().sees("In force").lacks("Superseded");
    }
}

#[tokio::test]
async fn a_draft_in_hand_is_finished_before_another_is_begun() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let old = prescription(&world, &team).await;
    let draft = team.drafts_prescription(&world).await;
    let why = [("supersede_reason", "The light was forgotten.")];
    let page = corrects(&team.clinician, &old, ANEW, &why).await.refused("supersede_reason");
    assert_eq!(page.value_of("supersede_reason").as_deref(), Some(why[0].1));
    team.clinician.presses(&format!("{draft}/discard"), "Throw it away", &[]).await.redirected_to();
    corrects(&team.clinician, &old, ANEW, &why).await.redirected_to();
}

#[tokio::test]
async fn only_a_clinician_of_the_team_corrects_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let (signed, made) = (prescription(&world, &team).await, super::decision(&world, &team).await);
    let elsewhere = world.clinician().await;
    let before = super::signed_rows(&world).await;
    let fields = [("text_limits", "mine"), ("amend_reason", "mine"), ("error_reason", "mine"), ("version", "0")];
    let password = [("error_password", PASSWORD), ("cancel_reason", "mine"), ("cancel_password", PASSWORD)];
    let fields = [&fields[..], &password].concat();
    for person in [&team.teacher, &team.parent, &team.classroom, &elsewhere] {
        for document in [&signed, &made] {
            for act in ["amend", "supersede", "cancel", "error"] {
                let page = person.submits(&format!("{document}/{act}"), &fields).await;
                assert!([403, 404].contains(&page.code()), "{}", page.asked());
            }
        }
    }
    assert_eq!(super::signed_rows(&world).await, before);
}
