//! What the records office is left with: records nobody leads, drafts nobody took.

use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

#[tokio::test]
async fn the_office_lists_records_without_a_lead_and_drafts_left_with_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    team.drafts_summary(&DISTANCE).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    let page = steward.opens("/steward").await.ok();
    let page = page.sees("Every record has a vision teacher who leads it.").sees("None lies with the records office.");
    page.lacks(&team.pupil.name);
    let next = world.vision_teacher().await;
    let link = world.link(&team.teacher, &team.pupil, farpoint::access::Role::VisionTeacher).await;
    let end = team.teacher.opens(&team.at("/people")).await.ok();
    let end = end.link(&format!("End the membership of {}", team.teacher.name));
    team.teacher.presses(&end, "End the membership", &[("taker", "office")]).await.redirected_to();
    let page = steward.opens("/steward").await.ok().sees(&team.pupil.name);
    let page = page.sees("nobody leads the record").sees("Invite a vision teacher");
    page.sees(&format!("a training summary left by {}", team.teacher.name)).sees("a vision teacher is on the team");
    next.presses(&link, "Join this team", &[]).await.redirected_to();
    let page = steward.opens("/steward").await.ok().lacks("nobody leads the record");
    page.sees("a training summary left by");
}
