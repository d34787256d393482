//! G5 the order of skills: the only gate that a written reason passes, so it
//! answers beside the field of the reason and keeps what was typed.

use super::{loan_of, session};
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

#[tokio::test]
async fn g5_a_later_skill_asks_for_a_reason_until_the_earlier_ones_are_steady() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let (loan, today) = (loan_of(&world, &team).await, world.day(0));
    let path = team.at("/training/new");
    let lesson = |skill: &'static str| session(&DISTANCE, &loan, &today, skill);
    let before = world.content().await;
    for skill in ["spotting", "scanning", "tracing", "tracking", "real_setting"] {
        let page = team.teacher.submits(&path, &lesson(skill)).await.refused("order_reason");
        assert!(
            page.error_for("order_reason").is_some_and(|words| words.to_lowercase().contains("focusing comes before")),
            "{skill}"
        );
        assert_eq!(page.value_of("e1_tries").as_deref(), Some("5"));
        let blank = [&lesson(skill)[..], &[("order_reason", "  \n ")]].concat();
        team.teacher.submits(&path, &blank).await.refused("order_reason");
    }
    assert_eq!(world.content().await, before);
    // What has no place in the order, what needs none and what has a reason.
    for skill in ["focusing", "handling", "copying", "stamina", "choosing"] {
        team.teacher.submits(&path, &lesson(skill)).await.redirected_to();
    }
    team.teacher.submits(&path, &[&lesson("tracking")[..], &[("baseline", "yes")]].concat()).await.redirected_to();
    team.teacher.submits(&path, &session(&DISTANCE, "none", &today, "tracking")).await.redirected_to();
    let reason = [("order_reason", "The match is on Saturday.")];
    let kept = team.teacher.submits(&path, &[&lesson("tracking")[..], &reason].concat()).await;
    team.teacher.follows(&kept).await.ok().sees("The match is on Saturday.");
}

#[tokio::test]
async fn g5_steady_is_three_sessions_in_two_places_on_two_days() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let loan = loan_of(&world, &team).await;
    let path = team.at("/training/new");
    let holds = async |place: &'static str, skill: &'static str| {
        let today = world.day(0);
        let mut fields = session(&DISTANCE, &loan, &today, skill);
        fields.retain(|(name, _)| *name != "place");
        fields.push(("place", place));
        team.teacher.submits(&path, &fields).await
    };
    // Three sessions, one place, one day; then a second day; then a second place.
    for _ in 0..3 {
        holds("library", "focusing").await.redirected_to();
        holds("library", "spotting").await.refused("order_reason");
    }
    world.days_later(1).await;
    holds("library", "focusing").await.redirected_to();
    holds("library", "spotting").await.refused("order_reason");
    holds("own_class", "focusing").await.redirected_to();
    holds("library", "spotting").await.redirected_to();
    // And the one after that waits in its turn.
    holds("library", "scanning").await.refused("order_reason");
}
