//! A decision: amended, superseded by another, entered in error.

use super::{AMEND, corrects, decision, errs, summary};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

/// A team whose clinician changed the device to an 8x.
async fn changed(world: &World) -> Team {
    let team = Team::up_to(world, &DISTANCE, Step::Sent).await;
    let next = world.day(60);
    let fields = [
        ("choice", "change_device"),
        ("first_kind", "handheld_monocular"),
        ("first_power", "10"),
        ("reason", "The line is too small."),
        ("next_on", next.as_str()),
        ("password", PASSWORD),
    ];
    world.passes(jiff::SignedDuration::from_mins(1));
    team.clinician.presses(&team.at("/review/distance"), "Sign the decision", &fields).await.redirected_to();
    team
}

#[tokio::test]
async fn its_reason_is_amended_with_both_texts() {
    let world = World::new().await;
    let team = changed(&world).await;
    let made = decision(&world, &team).await;
    let fields = [("text_reason", "The board is too far away."), ("amend_reason", "A slip of the pen.")];
    corrects(&team.clinician, &made, AMEND, &fields).await.redirected_to();
    for person in [&team.clinician, &team.teacher, &team.parent] {
        let page = person.opens(&made).await.ok().sees("What was amended").sees("The line is too small.");
        page.sees("The board is too far away.").sees("A slip of the pen.");
    }
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Decision amended");
    let empty = [("text_reason", ""), ("amend_reason", "no more needed")];
    corrects(&team.clinician, &made, AMEND, &empty).await.refused("text_reason");
}

#[tokio::test]
async fn another_takes_its_place_and_what_it_recommended_ends() {
    let world = World::new().await;
    let team = changed(&world).await;
    let made = decision(&world, &team).await;
    let stages = || async { team.teacher.opens(&team.at("")).await.ok().stages() };
    assert_eq!(stages().await, ["Distance: waiting for a loan", "Near: awaiting evaluation"]);
    let page = team.clinician.opens(&format!("{made}/correct")).await.ok();
    let review = page.link("Write the new one");
    let open = team.clinician.opens(&review).await.ok().sees("This will take the place of an earlier decision");
    let next = world.day(60);
    let keep = [("choice", "keep_going"), ("reason", "It was right before."), ("next_on", next.as_str())];
    let signed = [("password", PASSWORD)];
    let page = team.clinician.presses_on(&open, "Sign the decision", &[&keep[..], &signed].concat()).await;
    let page = page.refused("supersede_reason").sees("This will take the place of an earlier decision");
    let why = [("supersede_reason", "It was about another device.")];
    let second = team.clinician.opens(&review).await.ok();
    world.passes(jiff::SignedDuration::from_mins(1));
    let all = [&keep[..], &why, &signed].concat();
    team.clinician.presses_on(&page, "Sign the decision", &all).await.redirected_to();
    let newer = decision(&world, &team).await;
    team.teacher.opens(&made).await.ok().sees("Superseded").sees("It was about another device.").sees("10×");
    let told = team.parent.opens(&newer).await.ok().table("What changed");
    assert!(told.rows.iter().any(|row| row[1] == "Change device" && row[2] == "Keep going"), "{:?}", told.rows);
    // The 6x that the evaluation recommends is in force again, and still on loan.
    assert_eq!(stages().await, ["Distance: training on loan", "Near: awaiting evaluation"]);
    // From a second window the place is taken already.
    let before = super::signed_rows(&world).await;
    team.clinician.presses_on(&second, "Sign the decision", &all).await.status(409);
    assert_eq!(super::signed_rows(&world).await, before);
}

#[tokio::test]
async fn entered_in_error_it_was_never_made_and_the_summary_waits_again() {
    let world = World::new().await;
    let team = changed(&world).await;
    let made = decision(&world, &team).await;
    errs(&team.clinician, &made).await.redirected_to();
    let page = team.teacher.opens(&made).await.ok().sees("Entered in error").sees("It is about another student.");
    assert_eq!(page.stages(), ["Distance: summary with clinician", "Near: awaiting evaluation"]);
    team.parent.opens(&team.at("/prescription")).await.ok().sees("entered in error: counts as never made");
    team.teacher.opens(&summary(&world, &team).await).await.ok().lacks("The device was changed");
}
