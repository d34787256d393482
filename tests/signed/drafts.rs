//! Drafts thrown away: one's own, after a page that asks, and nothing signed.

use super::{evaluation, prescription, summary};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

const AWAY: &str = "Throw it away";

async fn throws(person: &Person, draft: &str) {
    let ask = format!("{draft}/discard");
    person.opens(&ask).await.ok().sees("This cannot be undone");
    person.presses(&ask, AWAY, &[]).await.redirected_to();
    person.opens(&ask).await.hidden();
}

#[tokio::test]
async fn an_own_draft_goes_whole_and_what_is_signed_stays() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let before = super::signed_rows(&world).await;
    let draft = team.evaluates(&DISTANCE).await;
    throws(&team.clinician, &draft).await;
    let drafted = team.drafts_summary(&DISTANCE).await;
    throws(&team.teacher, &drafted).await;
    let written = team.drafts_prescription(&world).await;
    throws(&team.clinician, &written).await;
    team.drafts_card().await;
    team.teacher.presses(&team.at("/card/discard"), AWAY, &[]).await.redirected_to();
    assert_eq!(super::signed_rows(&world).await, before, "no row of any of them is left");
    for (person, document) in [
        (&team.clinician, evaluation(&world, &team).await),
        (&team.teacher, summary(&world, &team).await),
        (&team.clinician, prescription(&world, &team).await),
    ] {
        let ask = format!("{document}/discard");
        person.opens(&ask).await.hidden();
        let page = person.submits(&ask, &[("version", "5")]).await;
        assert!([404, 409].contains(&page.code()), "{}", page.asked());
    }
    assert_eq!(super::signed_rows(&world).await, before);
}

#[tokio::test]
async fn a_draft_of_somebody_else_is_not_thrown_away() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let (colleague, second) = (world.clinician().await, world.vision_teacher().await);
    world.joins(&colleague, &team.pupil, &team.teacher).await;
    world.joins(&second, &team.pupil, &team.teacher).await;
    let drafts = [team.evaluates(&DISTANCE).await, team.drafts_prescription(&world).await];
    let drafted = team.drafts_summary(&DISTANCE).await;
    let before = super::signed_rows(&world).await;
    for (people, draft) in [
        ([&colleague, &team.teacher, &team.parent], &drafts[0]),
        ([&colleague, &team.teacher, &team.parent], &drafts[1]),
        ([&second, &team.clinician, &team.parent], &drafted),
    ] {
        for person in people {
            let ask = format!("{draft}/discard");
            let page = person.opens(&ask).await;
            assert!(!page.seen().contains("cannot be undone"), "{}", page.asked());
            let page = person.submits(&ask, &[("version", "2")]).await;
            assert!([403, 404, 422].contains(&page.code()), "{}", page.asked());
        }
    }
    assert_eq!(super::signed_rows(&world).await, before);
}

#[tokio::test]
async fn a_draft_that_changed_since_the_question_is_kept() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let draft = team.evaluates(&DISTANCE).await;
    let asked = team.clinician.opens(&format!("{draft}/discard")).await.ok();
    let fields = [("lighting", "a lamp from the right")];
    team.clinician.presses(&format!("{draft}/edit/advice"), "Save and go on", &fields).await.redirected_to();
    team.clinician.presses_on(&asked, AWAY, &[]).await.status(409);
    let summary = team.drafts_summary(&DISTANCE).await;
    let asked = team.teacher.opens(&format!("{summary}/discard")).await.ok();
    team.sends_summary(&summary).await;
    let page = team.teacher.presses_on(&asked, AWAY, &[]).await;
    assert!([404, 409].contains(&page.code()), "{}", page.code());
    team.teacher.opens(&summary).await.ok().sees("Signed and sent");
    team.drafts_card().await;
    let asked = team.teacher.opens(&team.at("/card/discard")).await.ok();
    team.drafts_card().await;
    team.teacher.presses_on(&asked, AWAY, &[]).await.status(409);
}
