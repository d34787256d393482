//! The end of a membership against a read of the same moment.

use farpoint::access::Role;

use super::{ROUNDS, at_once, lines_after, newest_line};
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

/// What a clinic reads live, page by page in turn.
const LIVE: [&str; 4] = ["/training", "/tasks", "/intake", "/devices"];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_read_comes_before_the_end_of_the_membership_or_is_not_given() {
    let world = World::crowded().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let (mut given, mut refused) = (0, 0);
    for round in 0..ROUNDS {
        let membership = membership(&world, &team).await;
        let end = team.at(&format!("/people/members/{membership}/end"));
        let path = team.at(LIVE[round % LIVE.len()]);
        let before = newest_line(&world).await;
        let (teacher, clinician, read) = (team.teacher.clone(), team.clinician.clone(), path.clone());
        let (ended, page) =
            at_once(
                round,
                async move { teacher.submits(&end, &[]).await },
                async move { clinician.opens(&read).await },
            )
            .await;
        ended.redirected_to();
        let lines = lines_after(&world, before).await;
        let at = lines.iter().position(|line| line == "end membership").expect("the end is in the log");
        let last_read = lines.iter().rposition(|line| line == "read");
        match page.code() {
            200 => {
                assert!(last_read.is_some_and(|read| read < at), "round {round}: read after the end: {lines:?}");
                given += 1;
            }
            404 => {
                assert_eq!(last_read, None, "round {round}: logged and not given: {lines:?}");
                refused += 1;
            }
            code => panic!("round {round}: {code} from {}", page.asked()),
        }
        // Once the answer came back, nothing is read any more.
        team.clinician.opens(&path).await.hidden();
        let link = world.link(&team.teacher, &team.pupil, Role::Clinician).await;
        team.clinician.presses(&link, "Join this team", &[]).await.redirected_to();
    }
    assert!(given > 0 && refused > 0, "{given} given, {refused} refused: the two never met");
}

/// The clinician's place on the team now.
async fn membership(world: &World, team: &Team) -> String {
    let mut view = world.store().db().begin_read().await.expect("a view");
    sqlx::query_scalar("select id from membership where account_id = $1 and student_id = $2 and ends_on is null")
        .bind(team.clinician.actor().account.to_string())
        .bind(team.pupil.id.to_string())
        .fetch_one(&mut *view)
        .await
        .expect("on the team")
}
