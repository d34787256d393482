//! Who may have the paper itself: whoever may read the report, and nobody else.

use super::story::HEAD;
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

async fn file_of(world: &World, team: &Team) -> String {
    let id = world.newest("attachment", &team.pupil).await.expect("a file");
    team.at(&format!("/attachments/{id}"))
}

#[tokio::test]
async fn the_paper_of_a_draft_is_its_writers_alone() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    team.copies_report(&DISTANCE).await;
    let path = file_of(&world, &team).await;
    team.teacher.opens(&path).await.ok();
    for person in [&team.parent, &team.clinician, &team.classroom] {
        person.opens(&path).await.hidden();
    }
    world.stranger().opens(&path).await.status(303);
}

#[tokio::test]
async fn the_paper_of_a_filed_report_is_read_as_the_report_is() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.has_report_filed().await;
    let path = file_of(&world, &team).await;
    let other = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    let unnamed = world.clinician_of("Another Clinic").await;
    world.joins(&unnamed, &team.pupil, &team.teacher).await;
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&path).await.ok();
        assert_eq!(
            page.header("content-disposition"),
            "attachment; filename=\"report.pdf\"; filename*=UTF-8''report.pdf"
        );
    }
    let steward = world.steward().await;
    for person in [&team.classroom, &unnamed, &steward, &other.teacher, &other.parent, &other.clinician] {
        person.opens(&path).await.hidden();
    }
    // Each reading by the clinic stands in the disclosure record, which the family reads.
    let rows = world.count("disclosure").await;
    team.clinician.opens(&path).await.ok();
    assert_eq!(world.count("disclosure").await, rows + 1);
    // What was sent stays readable as it was sent; a clinic it never went to reads nothing.
    world.withdraws(&team.parent, &team.pupil).await;
    team.clinician.opens(&path).await.ok();
    team.clinician.opens(&report).await.ok();
    unnamed.opens(&path).await.hidden();
    // What is corrected now does not cross: the clinic has no text to read it in.
    world.passes(jiff::SignedDuration::from_mins(1));
    let change = [("distance.limits", "Never outdoors"), ("reason", "overlooked a line")];
    team.teacher.presses(&format!("{report}/amend"), "Save the correction", &change).await.redirected_to();
    team.clinician.opens(&report).await.hidden();
    team.clinician.opens(&team.at("/evaluations")).await.ok().lacks("10 August 2026");
    team.parent.opens(&report).await.ok().sees("Never outdoors");
    // It may not be confirmed any more, because the consent is not in force.
    team.clinician.opens(&format!("{report}/confirm")).await.forbidden();
    // What is filed after the withdrawal goes nowhere.
    let newer = team.begins_report(&[&[("report", "eye")], &HEAD[1..]].concat()).await;
    team.attaches(&newer).await;
    team.files_report(&newer).await;
    let newer_file = file_of(&world, &team).await;
    team.clinician.opens(&newer).await.hidden();
    team.clinician.opens(&newer_file).await.hidden();
    team.parent.opens(&newer_file).await.ok();
}
