//! Devices of the student's own, amended and compared anew, or entered in error.

use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

const AMEND: &str = "Amend the device";
const ERROR: &str = "Mark as entered in error";

async fn page_of(world: &World, team: &Team, what: &str) -> String {
    let own = world.newest("own_device", &team.pupil).await.expect("a device");
    team.at(&format!("/devices/own/{own}/{what}"))
}

async fn stages(team: &Team) -> String {
    team.teacher.opens(&team.at("")).await.ok().stages().join("; ")
}

#[tokio::test]
async fn what_arrived_is_amended_and_compared_with_the_prescription_anew() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let amend = page_of(&world, &team, "amend").await;
    assert!(stages(&team).await.contains("Distance: own device"));
    let form = team.parent.opens(&amend).await.ok().sees("compared with its prescription anew");
    assert_eq!(form.value_of("power").as_deref(), Some("6"));
    let before = world.content().await;
    let why = ("reason", "I read the wrong number");
    let kept = team.parent.presses(&amend, AMEND, &[("power", "8")]).await.refused("reason");
    assert_eq!(kept.value_of("power").as_deref(), Some("8"));
    team.parent.presses(&amend, AMEND, &[why]).await.status(422).sees("Nothing was changed.");
    team.parent.presses(&amend, AMEND, &[("power", "400"), why]).await.refused("power");
    let (early, tomorrow) = (world.day(-300), world.day(1));
    team.parent.presses(&amend, AMEND, &[("received_on", &early), why]).await.refused("received_on");
    team.parent.submits(&amend, &[("received_on", &tomorrow), why]).await.refused("received_on");
    // A clinician amends what he or she entered; this a parent did.
    team.clinician.submits(&amend, &[("power", "8"), why]).await.hidden();
    team.classroom.submits(&amend, &[("power", "8"), why]).await.hidden();
    assert_eq!(world.content().await, before);

    let two = [team.parent.opens(&amend).await.ok(), team.teacher.opens(&amend).await.ok()];
    team.parent.presses_on(&two[0], AMEND, &[("power", "8"), why]).await.redirected_to();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&team.at("/devices")).await.ok().sees("Waits for the clinician");
        page.sees("I read the wrong number").sees("Before as prescribed After not as prescribed: the power is another");
    }
    assert!(stages(&team).await.contains("Distance: prescribed"), "a mismatch is no own device yet");
    let kept = world.content().await;
    let again = [("power", "7"), ("reason", "another")];
    team.teacher.presses_on(&two[1], AMEND, &again).await.status(409).sees("8\u{d7}").sees("7\u{d7}");
    assert_eq!(world.content().await, kept);

    // A clinician's word is about the device as it is written now.
    let settle = page_of(&world, &team, "settle").await;
    let fields = [("verdict", "accepted"), ("reason", "Stronger will do")];
    team.clinician.presses(&settle, "Settle it", &fields).await.redirected_to();
    assert!(stages(&team).await.contains("Distance: own device"));
    team.teacher.presses(&amend, AMEND, &[("power", "7"), ("reason", "It says 7")]).await.redirected_to();
    let page = team.teacher.opens(&team.at("/devices")).await.ok().sees("Waits for the clinician");
    page.sees("Before accepted as it is by").sees("Stronger will do");
    team.teacher.presses(&amend, AMEND, &[("power", "6"), ("reason", "It is 6 after all")]).await.redirected_to();
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Own device in force");
    assert!(stages(&team).await.contains("Distance: own device"));
}

#[tokio::test]
async fn a_receipt_in_error_counts_as_never_received_and_stays_listed() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let (error, amend) = (page_of(&world, &team, "error").await, page_of(&world, &team, "amend").await);
    let before = world.content().await;
    team.parent.presses(&error, ERROR, &[]).await.refused("reason");
    team.clinician.submits(&error, &[("reason", "not mine")]).await.hidden();
    team.classroom.submits(&error, &[("reason", "not mine")]).await.hidden();
    assert_eq!(world.content().await, before);

    let two = [team.parent.opens(&error).await.ok(), team.teacher.opens(&error).await.ok()];
    let why = [("reason", "It was her brother\u{2019}s")];
    team.parent.presses_on(&two[0], ERROR, &why).await.redirected_to();
    let marked = world.content().await;
    team.teacher.presses_on(&two[1], ERROR, &why).await.status(409);
    team.teacher.submits(&amend, &[("power", "8"), ("reason", "late")]).await.status(409);
    assert_eq!(world.content().await, marked);
    assert!(stages(&team).await.contains("Distance: prescribed"));
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&team.at("/devices")).await.ok().sees("Entered in error, counted nowhere");
        page.sees("It was her brother\u{2019}s").sees("No device of the student's own is recorded.");
    }
    // G6: the loan that it replaced takes sessions again.
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Matches the recommendation");
    team.trains(&DISTANCE).await;
    team.receives(&DISTANCE).await;
    assert!(stages(&team).await.contains("Distance: own device"));
}
