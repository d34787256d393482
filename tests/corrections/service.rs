//! A record on hold, closed, taken up again: shown beside the stage, blocking
//! nothing, with what is still open listed first.

use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

#[tokio::test]
async fn a_record_is_held_and_taken_up_again_beside_its_stage() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let stages = team.teacher.opens(&team.at("")).await.ok().stages();
    let held = team.at("/service/held");
    let before = world.content().await;
    team.teacher.presses(&held, "Put on hold", &[]).await.refused("why");
    team.teacher.presses(&held, "Put on hold", &[("why", "other")]).await.refused("note");
    team.teacher.presses(&held, "Put on hold", &[("why", "family"), ("on", "1999-01-01")]).await.refused("on");
    for person in [&team.parent, &team.clinician] {
        person.submits(&held, &[("why", "family")]).await.forbidden();
    }
    team.classroom.submits(&held, &[("why", "family")]).await.hidden();
    assert_eq!(world.content().await, before);

    let two = [team.teacher.opens(&held).await.ok(), team.teacher.opens(&held).await.ok()];
    let why = [("why", "family"), ("note", "a new baby")];
    team.teacher.presses_on(&two[0], "Put on hold", &why).await.redirected_to();
    team.teacher.presses_on(&two[1], "Put on hold", &why).await.status(409).sees("On hold since");
    for person in [&team.teacher, &team.parent] {
        let page = person.opens(&team.at("")).await.ok().sees("On hold since 16 September 2026");
        assert!(page.stages().len() > stages.len(), "{:?} beside {stages:?}", page.stages());
    }
    team.teacher.opens("/today").await.ok().sees("On hold since");
    team.teacher
        .opens(&team.at("/service"))
        .await
        .ok()
        .sees("Put on hold from 16 September 2026: the family asked to wait: a new baby");
    // Nothing is blocked.
    team.trains(&DISTANCE).await;
    team.teacher.presses(&team.at("/service/resumed"), "Take off hold", &[]).await.redirected_to();
    assert_eq!(team.teacher.opens(&team.at("")).await.ok().stages(), stages);
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Record put on hold").sees("Record taken off hold");
}

#[tokio::test]
async fn before_closing_it_says_what_is_open_and_loans_are_due_back() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    team.drafts_summary(&DISTANCE).await;
    let ask = [("body", "Is the lamp in place?"), ("to", "clinician")];
    team.teacher.presses(&team.at("/thread"), "Send", &ask).await.redirected_to();
    let close = team.at("/service/closed");
    let page = team.teacher.opens(&close).await.ok().sees("Still open").sees("is out, due back on");
    page.sees("is not answered").sees("A training summary of");
    team.teacher.presses(&close, "Close the record", &[("why", "moved")]).await.redirected_to();
    team.teacher.opens(&team.at("")).await.ok().sees("This record is closed").sees("Closed on 16 September 2026");
    // 16 September and 14 days.
    team.teacher.opens(&team.at("/devices")).await.ok().sees("30 September 2026");
    assert_eq!(world.count("amendment").await, 1);
    let page = team.teacher.opens("/today").await.ok().sees("Closed on 16 September 2026");
    assert!(page.source().contains("<h2>Closed</h2>"), "{}", page.seen());
    // Read by everybody as before, and taken up again.
    team.parent.opens(&team.at("/devices")).await.ok();
    team.teacher.submits(&team.at("/service/closed"), &[("why", "moved"), ("on", &world.day(0))]).await.status(409);
    team.teacher.presses(&team.at("/service/reopened"), "Reopen the record", &[]).await.redirected_to();
    team.teacher.opens(&team.at("")).await.ok().lacks("This record is closed");
    team.teacher.opens("/today").await.ok().lacks("<h2>Closed</h2>");
}
