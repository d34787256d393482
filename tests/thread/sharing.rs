//! A note from home reaches the class when the parent who wrote it says so, and
//! no longer than they say so.

use farpoint::care::task::TaskCode;

use super::{notes, titles};
use crate::world::World;

const SHARED: &str = "Shared with the class";

#[tokio::test]
async fn a_note_is_shared_only_when_the_parent_ticks_it_and_read_after_its_lock() {
    let world = World::new().await;
    let circle = world.circle().await;
    let list = circle.pupil.at("/observations");
    let (plain, shared) = (
        notes(&world, &circle, &[("note", "Only for the team.")]).await,
        notes(&world, &circle, &[("note", "She read the score alone."), ("share", "yes")]).await,
    );
    let form = circle.parent.opens(&circle.pupil.at("/observations/new")).await.ok();
    assert_eq!(form.value_of("share"), None, "off until it is ticked");
    circle.class.opens(&plain).await.hidden();
    // Before the lock the class knows of it, and reads nothing of it.
    circle.class.opens(&shared).await.ok().sees("Not open yet").lacks("She read the score alone.");
    circle.class.opens(&list).await.ok().lacks("She read the score alone.").lacks("Television");
    world.days_later(2).await;
    circle.class.opens(&shared).await.ok().sees("She read the score alone.");
    circle.class.opens(&list).await.ok().sees("Television").lacks("Only for the team.");
    circle.class.opens(&plain).await.hidden();
    let thread = circle.class.opens(&circle.pupil.at("/thread")).await.ok();
    let line = "Observation at home recorded";
    assert_eq!(titles(&thread).iter().filter(|title| *title == line).count(), 1, "{}", thread.seen());
    // The vision teacher sees which is which.
    circle.teacher.opens(&shared).await.ok().sees(SHARED);
    circle.teacher.opens(&plain).await.ok().sees("Not shared with the class.");
    circle.teacher.opens(&list).await.ok().sees(SHARED);
    circle.teacher.opens(&circle.pupil.at("/thread")).await.ok().sees(SHARED);
}

#[tokio::test]
async fn the_parent_shares_later_and_takes_it_back() {
    let world = World::new().await;
    let circle = world.circle().await;
    let note = notes(&world, &circle, &[("note", "She read the score alone.")]).await;
    world.days_later(2).await;
    let thread = circle.pupil.at("/thread");
    circle.class.opens(&thread).await.ok().lacks("Observation at home");
    circle.parent.presses(&note, "Share it with the class", &[]).await.redirected_to();
    circle.class.opens("/today").await.ok().sees("new in the thread");
    circle.class.opens(&note).await.ok().sees("She read the score alone.");
    circle.class.opens(&thread).await.ok().sees("Observation at home shared with the class");
    circle.parent.presses(&note, "Take it back from the class", &[]).await.redirected_to();
    circle.class.opens(&note).await.hidden();
    circle.class.opens(&thread).await.ok().lacks("Observation at home");
    circle.teacher.opens(&thread).await.ok().sees("Observation at home taken back from the class");
    // Taking back what is not shared changes nothing.
    let before = world.content().await;
    circle.parent.submits(&format!("{note}/share"), &[("share", "no")]).await.redirected_to();
    circle.parent.submits(&format!("{note}/share"), &[("share", "perhaps")]).await.status(400);
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn nobody_else_shares_a_parents_note() {
    let world = World::new().await;
    let circle = world.circle().await;
    let note = notes(&world, &circle, &[]).await;
    let other = world.parent().await;
    world.joins(&other, &circle.pupil, &circle.teacher).await;
    let before = world.content().await;
    let share = format!("{note}/share");
    // The other parent reads the note, and it is not theirs to share.
    other.opens(&note).await.ok().lacks("Share it with the class");
    for person in [&other, &circle.teacher, &circle.class, &circle.clinician] {
        let answer = person.submits(&share, &[("share", "yes")]).await;
        assert!([403, 404].contains(&answer.code()), "{}: {}", person.name, answer.code());
    }
    assert_eq!(world.content().await, before);
    // What the vision teacher was told by a family is the vision teacher's entry.
    world.task(&circle, TaskCode::Tv, "Television").await;
    let told = [
        ("place", "home"),
        ("informant", "a parent"),
        ("task", "fridge_list"),
        ("device_out", "not_needed"),
        ("result", "all"),
    ];
    let told = circle.teacher.presses(&circle.pupil.at("/observations/new"), "Save", &told).await.redirected_to();
    circle.parent.submits(&format!("{told}/share"), &[("share", "yes")]).await.hidden();
    circle.class.opens(&told).await.hidden();
    // A form of the class has no such box, and one that sends it shares nothing.
    let seen = [("task", "board_words"), ("device_out", "not_needed"), ("result", "all"), ("share", "yes")];
    circle.class.submits(&circle.pupil.at("/observations/new"), &seen).await.redirected_to();
    assert_eq!(circle.parent.opens(&circle.pupil.at("/observations")).await.ok().seen().matches(SHARED).count(), 0);
}
