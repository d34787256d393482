//! The recommendation changes or ends: open loans are re-checked at once, and
//! every page that could lead on with them says so.

use super::{newest, session};
use crate::lap::{DISTANCE, NEAR, Step, Team, Track};
use crate::page::Page;
use crate::people::PASSWORD;
use crate::world::World;

const DUE: &str = "it does not match what is recommended now, due back since";

/// The clinician decides; gives the page right after the signature.
async fn decides(world: &World, team: &Team, fields: &[(&str, &str)]) -> Page {
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    let next = world.day(45);
    let fields =
        [fields, &[("reason", "The board is carried by the seat"), ("next_on", &next), ("password", PASSWORD)]]
            .concat();
    let signed = team.clinician.presses_on(&page, "Sign the decision", &fields).await;
    team.clinician.follows(&signed).await.ok()
}

/// The clinician signs an evaluation that names no device for the track, or
/// another one; gives the page right after.
async fn evaluates(team: &Team, track: &Track, answer: &[(&str, &str)]) -> Page {
    let draft = team.begins_an_evaluation().await;
    let row = [("eye", "both"), ("correction", "habitual_glasses"), ("distance", "4 m"), ("value", "4/40")];
    team.clinician.presses(&format!("{draft}/edit/acuity"), "Add this row", &row).await.redirected_to();
    for one in [&DISTANCE, &NEAR] {
        let answer = if one.code == track.code { answer } else { &[("answer", "not_looked_at")] };
        let path = format!("{draft}/edit/{}", one.code);
        team.clinician.presses(&path, "Save and go on", answer).await.redirected_to();
    }
    let signed =
        team.clinician.presses(&format!("{draft}/preview"), "Sign the evaluation", &[("password", PASSWORD)]).await;
    team.clinician.follows(&signed).await.ok()
}

/// What everybody is told of a loan that is called back.
async fn is_called_back(world: &World, team: &Team) {
    for person in [&team.teacher, &team.parent, &team.clinician] {
        person.opens(&team.at("")).await.ok().sees("A loan is due back").sees(DUE);
        person.opens(&team.at("/devices")).await.ok().sees("Does not match now").sees("takes no session");
    }
    team.teacher.opens("/today").await.ok().sees(DUE);
    let form = team.teacher.opens(&team.at("/training/new?track=distance")).await.ok();
    assert_eq!(form.choices_of("device"), ["none"]);
    form.sees("Not for this session");
    let loan = format!("loan:{}", newest(world, team, "loan").await);
    let answer = session(team, &DISTANCE, &loan, &world.day(0)).await;
    assert_eq!(answer.code(), 409, "{}", answer.seen());
}

#[tokio::test]
async fn a_change_of_device_calls_the_loan_back_on_the_page_after_the_signature() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let change = [("choice", "change_device"), ("first_kind", "handheld_monocular"), ("first_power", "3")];
    decides(&world, &team, &change).await.sees("A loan is due back").sees(DUE);
    is_called_back(&world, &team).await;
    team.teacher.opens(&team.at("")).await.ok().sees("Lend a matching device");
    // Taken back, nothing is left to say.
    let loan = newest(&world, &team, "loan").await;
    let back = team.at(&format!("/devices/return/{loan}"));
    team.teacher.presses(&back, "Take it back", &[("condition", "good")]).await.redirected_to();
    for page in ["", "/review/distance"] {
        team.clinician.opens(&team.at(page)).await.ok().lacks("A loan is due back");
    }
}

#[tokio::test]
async fn a_change_that_the_loan_still_matches_calls_nothing_back() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    // 6 of 7 is 0.86, within ×0.8 to ×1.25.
    let change = [("choice", "change_device"), ("first_kind", "handheld_monocular"), ("first_power", "7")];
    decides(&world, &team, &change).await.lacks("A loan is due back");
    let loan = format!("loan:{}", newest(&world, &team, "loan").await);
    session(&team, &DISTANCE, &loan, &world.day(0)).await.redirected_to();
}

#[tokio::test]
async fn stopping_referring_no_device_and_not_safe_end_the_recommendation() {
    for choice in ["stop", "refer_or_treat_first"] {
        let world = World::new().await;
        let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
        decides(&world, &team, &[("choice", choice)]).await.sees("A loan is due back");
        is_called_back(&world, &team).await;
        // No device is advised: what is left to do is to take the loan back.
        team.teacher.opens(&team.at("")).await.ok().sees("No device advised").sees("Take the loan back");
    }
    let weaker = [("device_1_kind", "handheld_monocular"), ("device_1_power", "3"), ("device_1_eye", "right")];
    for changes in [
        &[("answer", "none"), ("safe", "yes")][..],
        &[&[("answer", "devices"), ("safe", "no"), ("limits", "Treat the pressure first")], &weaker[..]].concat(),
        &[&[("answer", "devices"), ("safe", "yes")], &weaker[..]].concat(),
    ] {
        let world = World::new().await;
        let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
        world.passes(jiff::SignedDuration::from_mins(1));
        evaluates(&team, &DISTANCE, changes).await.sees("A loan is due back").sees(DUE);
        is_called_back(&world, &team).await;
    }
}

#[tokio::test]
async fn a_track_that_was_not_looked_at_changes_nothing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    evaluates(&team, &DISTANCE, &[("answer", "not_looked_at")]).await.lacks("A loan is due back");
    let loan = format!("loan:{}", newest(&world, &team, "loan").await);
    session(&team, &DISTANCE, &loan, &world.day(0)).await.redirected_to();
}
