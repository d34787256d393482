//! G7: withdrawing a consent against a read of the same moment.

use farpoint::care::consent::Direction;

use super::{ROUNDS, at_once, lines_after, newest_line};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::{CLINIC, PASSWORD, Person};
use crate::world::World;

/// What a clinic reads live, page by page in turn.
const LIVE: [&str; 4] = ["/training", "/tasks", "/intake", "/devices"];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_read_is_logged_before_the_withdrawal_or_is_not_given() {
    let world = World::crowded().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let (mut given, mut refused) = (0, 0);
    for round in 0..ROUNDS {
        let withdraw = signs(&world, &team).await;
        let before = newest_line(&world).await;
        let path = team.at(LIVE[round % LIVE.len()]);
        let (parent, clinician, read) = (team.parent.clone(), team.clinician.clone(), path.clone());
        let (withdrawn, page) =
            at_once(round, async move { parent.submits(&withdraw, &[("password", PASSWORD)]).await }, async move {
                clinician.opens(&read).await
            })
            .await;
        withdrawn.redirected_to();
        let lines = lines_after(&world, before).await;
        let place = |action: &str| lines.iter().position(|line| line == action);
        let last_read = lines.iter().rposition(|line| line == "read");
        let at = place("withdraw").expect("the withdrawal is in the log");
        match page.code() {
            200 => {
                assert!(place("read").is_some(), "round {round}: given without a line in the log");
                assert!(last_read < Some(at), "round {round}: read after the withdrawal: {lines:?}");
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
    }
    assert!(given > 0 && refused > 0, "{given} given, {refused} refused: the two never met");
    assert_eq!(world.count("consent").await, ROUNDS);
}

/// The parent signs toward the clinic; gives the address that withdraws it.
async fn signs(world: &World, team: &Team) -> String {
    let way = Direction::SchoolToClinic;
    let (today, end) = (world.day(0), world.day(300));
    let mut fields = vec![
        ("clinic", CLINIC),
        ("purpose", "To plan together"),
        ("starts_on", today.as_str()),
        ("ends_on", end.as_str()),
        ("relation", "mother"),
        ("language", "English"),
        ("read", "yes"),
        ("password", PASSWORD),
    ];
    fields.extend(way.categories().map(|category| ("categories", category.code())));
    team.parent.submits(&team.at(&format!("/people/consent/{}", way.code())), &fields).await.redirected_to();
    let id = world.newest("consent", &team.pupil).await.expect("it is signed");
    team.at(&format!("/people/consents/{id}/withdraw"))
}

/// The driver hands people over to another task.
const _: fn() = || {
    fn sent<T: Send + 'static>() {}
    sent::<Person>();
};
