//! Once round on each track, from a new record to the student's own device.

use crate::lap::{DISTANCE, NEAR, Team, Track};
use crate::world::World;

#[tokio::test]
async fn the_distance_track_goes_all_the_way_round() {
    goes_round(&DISTANCE, "Distance").await;
}

#[tokio::test]
async fn the_near_track_goes_all_the_way_round() {
    goes_round(&NEAR, "Near").await;
}

async fn goes_round(track: &Track, name: &str) {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let stage = async |words: &str| {
        let wanted = format!("{name}: {words}");
        let stages = team.stages(&team.teacher).await;
        assert!(stages.contains(&wanted), "{wanted} is not among {stages:?}");
    };
    team.takes_in(track).await;
    assert_eq!(team.stages(&team.teacher).await, ["Intake"]);
    world.consents(&team.parent, &team.pupil).await;
    team.asks().await;
    stage("awaiting evaluation").await;
    let draft = team.evaluates(track).await;
    team.signs_evaluation(&draft).await;
    stage("waiting for a loan").await;
    team.stocks_match(&world, track).await;
    team.lends(track).await;
    stage("training on loan").await;
    team.is_ready(track).await;
    team.trains(track).await;
    world.days_later(1).await;
    team.trains(track).await;
    team.releases_card().await;
    team.is_seen_in_class().await;
    team.is_seen_at_home(track).await;
    world.days_later(1).await;
    team.trains(track).await;
    let summary = team.drafts_summary(track).await;
    team.sends_summary(&summary).await;
    stage("summary with clinician").await;
    team.decides(&world, track, "finalise").await;
    let prescription = team.drafts_prescription(&world).await;
    team.signs_prescription(&prescription).await;
    stage("prescribed, awaiting the device").await;
    team.receives(track).await;
    stage("own device").await;
}
