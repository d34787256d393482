//! Loans amended with a reason, and loans entered in error: as if never lent.

use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

const AMEND: &str = "Amend the loan";
const ERROR: &str = "Mark as entered in error";

async fn pages(world: &World, team: &Team) -> (String, String) {
    let loan = world.newest("loan", &team.pupil).await.expect("a loan");
    (team.at(&format!("/devices/loans/{loan}/amend")), team.at(&format!("/devices/loans/{loan}/error")))
}

async fn stage(team: &Team, person: &Person) -> String {
    person.opens(&team.at("")).await.ok().stages().join("; ")
}

#[tokio::test]
async fn a_loan_is_amended_with_a_reason_and_both_texts_stay() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let (amend, _) = pages(&world, &team).await;
    let form = team.teacher.opens(&amend).await.ok().sees("Amend this loan");
    assert_eq!(form.value_of("due_on"), Some(world.day(60)));
    let before = world.content().await;
    let (tomorrow, yesterday, long, why) = (world.day(1), world.day(-1), world.day(200), ("reason", "a slip"));
    let kept = team.teacher.presses(&amend, AMEND, &[("held_by", "home")]).await.refused("reason");
    assert_eq!(kept.value_of("held_by").as_deref(), Some("home"));
    team.teacher.presses(&amend, AMEND, &[why]).await.status(422).sees("Nothing was changed.");
    for (field, value, said) in [
        ("lent_on", tomorrow.as_str(), "lent_on"),
        ("due_on", yesterday.as_str(), "due_on"),
        ("condition", "lost", "condition"),
    ] {
        team.teacher.submits(&amend, &[("version", "1"), (field, value), why]).await.refused(said);
    }
    team.teacher.presses(&amend, AMEND, &[("due_on", &long), why]).await.refused("confirmed");
    team.teacher.presses(&amend, AMEND, &[("agreement_by", "school"), why]).await.refused("agreement_by");
    // G2: half a year ago nothing was recommended.
    let long_ago = world.day(-180);
    team.teacher.presses(&amend, AMEND, &[("lent_on", &long_ago), why]).await.status(422);
    team.classroom.submits(&amend, &[("held_by", "home"), why]).await.hidden();
    for person in [&team.parent, &team.clinician] {
        person.submits(&amend, &[("held_by", "home"), why]).await.forbidden();
    }
    assert_eq!(world.content().await, before);

    let two = [team.teacher.opens(&amend).await.ok(), team.teacher.opens(&amend).await.ok()];
    let due = world.day(90);
    let fields = [("held_by", "home"), ("due_on", due.as_str()), ("reason", "The family keeps it")];
    team.teacher.presses_on(&two[0], AMEND, &fields).await.redirected_to();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&team.at("/devices")).await.ok().sees("The family keeps it");
        page.sees("Kept by Before the student After home").sees("Due back Before");
    }
    team.teacher.opens(&team.at("/thread")).await.ok().sees("amended");
    let kept = world.content().await;
    let second = [("held_by", "clinic"), ("reason", "another")];
    team.teacher.presses_on(&two[1], AMEND, &second).await.status(409).sees("the clinic").sees("home");
    assert_eq!(world.content().await, kept);
}

#[tokio::test]
async fn the_days_of_a_loan_hold_what_was_done_with_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    team.trains(&DISTANCE).await;
    world.days_later(2).await;
    let (amend, _) = pages(&world, &team).await;
    let before = world.content().await;
    let today = world.day(0);
    let fields = [("lent_on", today.as_str()), ("reason", "the wrong day")];
    team.teacher.presses(&amend, AMEND, &fields).await.refused("lent_on").sees("names this loan");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_loan_in_error_counts_as_never_lent_and_the_device_can_be_lent_again() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    team.trains(&DISTANCE).await;
    let draft = team.drafts_summary(&DISTANCE).await;
    assert!(stage(&team, &team.teacher).await.contains("Distance: training on loan"));
    let (amend, error) = pages(&world, &team).await;
    let before = world.content().await;
    team.teacher.presses(&error, ERROR, &[]).await.refused("reason");
    team.classroom.submits(&error, &[("reason", "not mine")]).await.hidden();
    for person in [&team.parent, &team.clinician] {
        person.submits(&error, &[("reason", "not mine")]).await.forbidden();
    }
    assert_eq!(world.content().await, before);

    let two = [team.teacher.opens(&error).await.ok(), team.teacher.opens(&error).await.ok()];
    let why = [("reason", "It went to another child")];
    team.teacher.presses_on(&two[0], ERROR, &why).await.redirected_to();
    let marked = world.content().await;
    team.teacher.presses_on(&two[1], ERROR, &why).await.status(409);
    team.teacher.submits(&amend, &[("held_by", "home"), ("reason", "late")]).await.status(409);
    assert_eq!(world.content().await, marked);
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&team.at("/devices")).await.ok().sees("Entered in error, counted nowhere");
        page.sees("It went to another child").sees("Nothing is on loan.");
    }
    assert!(stage(&team, &team.teacher).await.contains("Distance: waiting for a loan"));
    let page = team.teacher.opens(&team.at("/training/new?track=distance")).await.ok();
    assert_eq!(page.choices_of("device"), ["none"]);
    team.teacher.presses(&draft, "Save the draft", &[]).await.redirected_to();
    team.teacher.opens(&draft).await.ok().lacks("objective 16 mm");

    team.lends(&DISTANCE).await;
    assert!(stage(&team, &team.teacher).await.contains("Distance: training on loan"));
    team.teacher
        .opens(&team.at("/devices"))
        .await
        .ok()
        .sees("Matches the recommendation")
        .sees("It went to another child");
}
