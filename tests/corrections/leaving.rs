//! A membership that ends (G15): drafts and lead are handed over, authors stay,
//! and from the answer on the record does not exist for whoever left.

use crate::clinic::setup::Team as Clinic;
use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

const END: &str = "End the membership";

/// The page that ends somebody's membership.
async fn end_of(team: &Team, by: &Person, name: &str) -> String {
    let page = by.opens(&team.at("/people")).await.ok();
    page.link(&format!("End the membership of {name}"))
}

#[tokio::test]
async fn a_leaving_lead_names_who_leads_and_who_goes_on_with_the_drafts() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let draft = team.drafts_summary(&DISTANCE).await;
    let next = world.vision_teacher().await;
    world.joins(&next, &team.pupil, &team.teacher).await;
    let end = end_of(&team, &team.teacher, &team.teacher.name).await;
    let page = team.teacher.opens(&end).await.ok().sees("leads this record").sees("a training summary");
    let takers = page.choices_of("taker");
    assert_eq!(takers.len(), 2, "the other vision teacher, and the records officer: {takers:?}");
    let before = world.content().await;
    team.teacher.presses(&end, END, &[]).await.refused("taker");
    team.teacher.submits(&end, &[("taker", "01a21218-9998-72a4-8994-0a7c5ebffc63")]).await.refused("taker");
    for person in [&team.parent, &team.classroom, &team.clinician] {
        person.submits(&end, &[("taker", "office")]).await.forbidden();
    }
    assert_eq!(world.content().await, before);

    let taker = next.actor().account.to_string();
    assert_eq!(team.teacher.presses(&end, END, &[("taker", &taker)]).await.redirected_to(), "/today");
    // At once, with the browser still signed in.
    for path in ["", "/training", "/people", "/thread"] {
        team.teacher.opens(&team.at(path)).await.hidden();
    }
    team.teacher.submits(&draft, &[("words", "one more")]).await.hidden();
    team.teacher.opens("/today").await.ok().lacks(&team.at(""));
    let page = next.opens(&team.at("/people")).await.ok().sees("leads the record").sees("Drafts that changed hands");
    page.sees(&format!("A training summary that {} began: now with {}", team.teacher.name, next.name));
    next.opens(&team.at("/thread")).await.ok().sees("Team handed drafts over");
    // The author stays; the taker goes on, signs and sends.
    next.presses(&draft, "Save the draft", &[("words", "Taken over and read.")]).await.redirected_to();
    next.opens(&draft).await.ok().sees("Taken over and read.");
}

#[tokio::test]
async fn without_a_successor_the_record_waits_and_the_next_vision_teacher_leads_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    let next = world.vision_teacher().await;
    let link = world.link(&team.teacher, &team.pupil, farpoint::access::Role::VisionTeacher).await;
    let end = end_of(&team, &team.teacher, &team.teacher.name).await;
    team.teacher.presses(&end, END, &[("taker", "office")]).await.redirected_to();
    team.teacher.opens(&team.at("")).await.hidden();
    next.presses(&link, "Join this team", &[]).await.redirected_to();
    next.opens(&team.at("/people")).await.ok().sees("leads the record");
}

#[tokio::test]
async fn a_clinicians_drafts_go_to_another_of_the_same_clinic() {
    let team = Clinic::with_consents().await;
    let draft = team.writes().await;
    let (colleague, stranger) =
        (team.world.clinician().await, team.world.clinician_of("Lantern Street Eye Clinic").await);
    for person in [&colleague, &stranger] {
        team.world.joins(person, &team.pupil, &team.teacher).await;
    }
    let page = team.teacher.opens(&team.at("/people")).await.ok();
    let end = page.link(&format!("End the membership of {}", team.clinician.name));
    let page = team.teacher.opens(&end).await.ok().sees("an evaluation");
    let colleague_id = colleague.actor().account.to_string();
    assert_eq!(page.choices_of("taker"), [colleague_id.as_str(), "office"]);
    team.teacher.presses_on(&page, END, &[("taker", &colleague_id)]).await.redirected_to();
    team.clinician.opens(&format!("{draft}/edit")).await.hidden();
    colleague.opens(&format!("{draft}/edit")).await.ok();
    stranger.opens(&format!("{draft}/edit")).await;
    // Handed over again, it goes on from whoever has it now.
    let page = team.teacher.opens(&team.at("/people")).await.ok();
    let end = page.link(&format!("End the membership of {}", colleague.name));
    team.teacher.opens(&end).await.ok().sees("an evaluation");
}
