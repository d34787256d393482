//! A signed readiness list, signed again or entered in error (G3).

use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

const AGAIN: &str = "Sign it again";
const ERROR: &str = "Mark as entered in error";

#[tokio::test]
async fn a_list_is_signed_again_with_a_reason_and_the_earlier_texts_stay() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let list = team.at("/training/readiness/distance");
    let amend = format!("{list}/amend");
    let form = team.teacher.opens(&amend).await.ok();
    assert_eq!(form.value_of("item_parts").as_deref(), Some("yes"));
    let before = world.content().await;
    let why = ("reason", "Seen again today");
    let kept = team.teacher.presses(&amend, AGAIN, &[("item_in_focus", "with_help")]).await.refused("reason");
    assert_eq!(kept.value_of("item_in_focus").as_deref(), Some("with_help"));
    team.teacher.presses(&amend, AGAIN, &[why]).await.status(422).sees("Nothing was changed.");
    // G3: a safety rule is never passed over, nor left open.
    team.teacher.presses(&amend, AGAIN, &[("item_sun_rule", "not_yet"), why]).await.refused("item_sun_rule");
    team.teacher.presses(&amend, AGAIN, &[("item_in_focus", "not_yet"), why]).await.refused("item_in_focus");
    team.teacher.presses(&amend, AGAIN, &[("agreed_words", ""), why]).await.refused("agreed_words");
    for person in [&team.parent, &team.clinician] {
        person.submits(&amend, &[("item_in_focus", "with_help"), why]).await.forbidden();
    }
    team.classroom.submits(&amend, &[("item_in_focus", "with_help"), why]).await.hidden();
    assert_eq!(world.content().await, before);

    let two = [team.teacher.opens(&amend).await.ok(), team.teacher.opens(&amend).await.ok()];
    team.teacher.presses_on(&two[0], AGAIN, &[("item_in_focus", "with_help"), why]).await.redirected_to();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&list).await.ok().sees("Seen again today").sees("Before yes After with help");
        page.sees("first signed on").sees("signed again on");
    }
    let kept = world.content().await;
    let second = [("item_parts", "with_help"), ("reason", "another")];
    team.teacher.presses_on(&two[1], AGAIN, &second).await.status(409).sees("with help");
    assert_eq!(world.content().await, kept);
    team.trains(&DISTANCE).await;
}

#[tokio::test]
async fn a_list_in_error_counts_as_never_signed_and_training_is_closed_again() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let session = team.trains(&DISTANCE).await;
    let list = team.at("/training/readiness/distance");
    let error = format!("{list}/error");
    let before = world.content().await;
    team.teacher.presses(&error, ERROR, &[]).await.refused("reason");
    for person in [&team.parent, &team.clinician] {
        person.submits(&error, &[("reason", "not mine")]).await.forbidden();
    }
    team.classroom.submits(&error, &[("reason", "not mine")]).await.hidden();
    assert_eq!(world.content().await, before);

    let new = team.at("/training/new?track=distance");
    let open = team.teacher.opens(&new).await.ok();
    let device = open.choices_of("device").into_iter().find(|value| value != "none").expect("a device in hand");
    let two = [team.teacher.opens(&error).await.ok(), team.teacher.opens(&error).await.ok()];
    let why = [("reason", "That was the list of another child")];
    team.teacher.presses_on(&two[0], ERROR, &why).await.redirected_to();
    let marked = world.content().await;
    team.teacher.presses_on(&two[1], ERROR, &why).await.status(409);
    // G3 is closed again, straight at its address.
    let fields = [
        ("track", "distance"),
        ("device", device.as_str()),
        ("minutes", "20"),
        ("place", "quiet_room"),
        ("body", "seated"),
        ("e1_skill", "focusing"),
        ("e1_tries", "5"),
        ("e1_right", "5"),
        ("e1_prompt", "5"),
    ];
    let refused = team.teacher.presses_on(&open, "Save the session", &fields[1..]).await;
    assert!([409, 422].contains(&refused.code()), "{}", refused.seen());
    assert_eq!(world.content().await, marked);
    team.teacher.opens(&session).await.ok();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&list).await.ok().sees("Entered in error, counted nowhere");
        page.sees("That was the list of another child");
    }
    team.teacher.opens(&team.at("/training")).await.ok().sees("Not signed yet.").sees("Start the readiness list");

    team.is_ready(&DISTANCE).await;
    team.trains(&DISTANCE).await;
    team.teacher.opens(&list).await.ok().sees("Signed on").sees("That was the list of another child");
}
