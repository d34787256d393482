//! G4 the right loan: one that matches, that is here, that is whole and clean.

use super::{closed, id_in, loan_of, session, terms};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::world::World;

const FIRST: &str = "/devices";

#[tokio::test]
async fn g4_another_device_is_not_lent_and_the_recommended_one_is() {
    for track in [&DISTANCE, &NEAR] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::Evaluated).await;
        let other = team.stocks(&world, track.other_device).await;
        let right = team.stocks_match(&world, track).await;
        let (today, due) = (world.day(0), world.day(60));
        let lend = format!("/devices/lend/{}", track.code);
        let wrong = terms(id_in(&other), track.eye(), (&today, &due));
        let why = ("This device is not the one recommended", FIRST);
        closed(&world, &team, (&team.teacher, &lend), &wrong, why).await;
        // The right one for another eye is not the right one, where one was named.
        if track.eye() == "right" {
            let left = terms(id_in(&right), "left", (&today, &due));
            team.teacher.submits(&team.at(&lend), &left).await.refused("eye");
        }
        let fields = terms(id_in(&right), track.eye(), (&today, &due));
        team.teacher.submits(&team.at(&lend), &fields).await.redirected_to();
        // No day before the evaluation: what was in force that day counts.
        let page =
            team.teacher.submits(&team.at(&lend), &terms(id_in(&other), track.eye(), (&world.day(-30), &due))).await;
        page.blocked("signs an evaluation");
    }
}

#[tokio::test]
async fn g4_one_open_loan_per_device_and_none_that_is_broken_lost_or_not_cleaned() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Evaluated).await;
    let (today, due) = (world.day(0), world.day(60));
    let lend = "/devices/lend/distance";
    let shared = team.stocks_match(&world, track).await;
    let fields = terms(id_in(&shared), "right", (&today, &due));
    // Another student has it.
    let before_us = Team::up_to(&world, track, Step::Evaluated).await;
    before_us.teacher.submits(&before_us.at(lend), &fields).await.redirected_to();
    closed(&world, &team, (&team.teacher, lend), &fields, ("This device is out on loan", FIRST)).await;
    // Back, and not cleaned.
    let loan = world.newest("loan", &before_us.pupil).await.expect("the loan");
    let back = before_us.at(&format!("/devices/return/{loan}"));
    before_us.teacher.presses(&back, "Take it back", &[("condition", "good")]).await.redirected_to();
    closed(&world, &team, (&team.teacher, lend), &fields, ("was not cleaned since it came back", FIRST)).await;
    for condition in ["broken", "lost"] {
        let marked = [("condition", condition), ("cleaned_on", today.as_str())];
        team.teacher.presses(&shared, "Save the changes", &marked).await.redirected_to();
        closed(&world, &team, (&team.teacher, lend), &fields, ("Choose another", FIRST)).await;
    }
    let mended = [("condition", "worn"), ("cleaned_on", today.as_str())];
    team.teacher.presses(&shared, "Save the changes", &mended).await.redirected_to();
    team.teacher.submits(&team.at(lend), &fields).await.redirected_to();
}

#[tokio::test]
async fn g4_a_loan_that_no_longer_matches_takes_no_session() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Ready).await;
    let (loan, today) = (loan_of(&world, &team).await, world.day(0));
    let lesson = session(track, &loan, &today, "focusing");
    team.teacher.submits(&team.at("/training/new"), &lesson).await.redirected_to();
    // A newer evaluation names another device.
    world.days_later(1).await;
    let draft = team.evaluates(track).await;
    let changed = [("device_1_power", "3"), ("device_1_field", "12"), ("device_1_objective", "15")];
    team.clinician.presses(&format!("{draft}/edit/distance"), "Save and go on", &changed).await.redirected_to();
    team.signs_evaluation(&draft).await;
    let tomorrow = world.day(0);
    let lesson = session(track, &loan, &tomorrow, "focusing");
    let why = ("This loan does not match what is recommended now", FIRST);
    closed(&world, &team, (&team.teacher, "/training/new"), &lesson, why).await;
    // Entered late, for the day when it still matched: kept.
    let late = session(track, &loan, &today, "focusing");
    team.teacher.submits(&team.at("/training/new"), &late).await.redirected_to();
}
