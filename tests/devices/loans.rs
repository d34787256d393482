//! Lending and taking back: G2 and G4 on the screens.

use super::{TERMS, evaluated, lends, pooled};
use crate::clinic::setup::Team;

#[tokio::test]
async fn before_an_evaluation_nothing_is_lent() {
    let team = Team::with_consents().await;
    let device = pooled(&team, &[]).await;
    let before = team.world.content().await;
    team.teacher.opens(&team.at("/devices/lend/distance")).await.blocked("Another step comes first");
    let day = team.world.day(0);
    let due = team.world.day(60);
    let fields = [&TERMS[..], &[("device", device.as_str()), ("lent_on", &day), ("due_on", &due)]].concat();
    let answer = team.teacher.submits(&team.at("/devices/lend/distance"), &fields).await;
    answer.blocked("after a clinician signs an evaluation");
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn a_matching_device_goes_out_comes_back_and_waits_for_its_cleaning() {
    let team = evaluated().await;
    let device = pooled(&team, &[]).await;
    lends(&team, &device, &[]).await.redirected_to();
    let page =
        team.teacher.opens(&team.at("/devices")).await.ok().sees("LOAN-T-014").sees("Matches the recommendation");
    team.teacher.opens("/devices").await.ok().sees("Out, with");
    team.clinician.opens("/devices").await.ok().sees("Out since").lacks("Out, with");
    let back = page.link("Take LOAN-T-014, 6× telescope back");
    team.teacher.presses(&back, "Take it back", &[("condition", "good")]).await.redirected_to();
    team.teacher.opens("/devices").await.ok().sees("Not since it came back");
    let day = team.world.day(0);
    let due = team.world.day(60);
    let fields = [&TERMS[..], &[("device", device.as_str()), ("lent_on", &day), ("due_on", &due)]].concat();
    let answer = team.teacher.submits(&team.at("/devices/lend/distance"), &fields).await;
    answer.blocked("was not cleaned since it came back");
}

#[tokio::test]
async fn another_power_a_broken_one_and_one_that_is_out_are_not_lent() {
    let team = evaluated().await;
    // 8/6 is above the ×1.25 of G4.
    let strong = pooled(&team, &[("tag", "LOAN-T-020"), ("power", "8"), ("objective", "20"), ("field", "7")]).await;
    let broken = pooled(&team, &[("tag", "LOAN-T-021"), ("condition", "broken")]).await;
    let out = pooled(&team, &[]).await;
    lends(&team, &out, &[]).await.redirected_to();
    let before = team.world.content().await;
    let (day, due) = (team.world.day(0), team.world.day(60));
    for (device, why) in [(&strong, "the power is another"), (&broken, "is broken"), (&out, "out on loan")] {
        let fields = [&TERMS[..], &[("device", device.as_str()), ("lent_on", &day), ("due_on", &due)]].concat();
        team.teacher.submits(&team.at("/devices/lend/distance"), &fields).await.blocked(why);
    }
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn a_field_that_differs_is_a_warning_that_is_kept() {
    let team = evaluated().await;
    let narrow = pooled(&team, &[("field", "5")]).await;
    team.teacher.opens(&team.at("/devices/lend/distance")).await.ok().sees("its field differs by more than 2 degrees");
    lends(&team, &narrow, &[]).await.redirected_to();
    team.teacher.opens(&team.at("/devices")).await.ok().sees("its field differs by more than 2 degrees");
}

#[tokio::test]
async fn an_unusual_length_of_a_loan_is_confirmed_first() {
    let team = evaluated().await;
    let device = pooled(&team, &[]).await;
    let due = team.world.day(10);
    lends(&team, &device, &[("due_on", &due)]).await.refused("confirmed").sees("a loan of 10 days");
}
