//! What is new to each reader: a mark of their own that nobody else moves.

use farpoint::care::consent::Direction;

use super::{new_ones, notes, titles, writes};
use crate::people::Person;
use crate::world::World;

/// What Today says about new lines, if anything.
async fn counted(person: &Person) -> Option<String> {
    let links = person.opens("/today").await.ok().links();
    links.into_iter().map(|(_, words)| words).find(|words| words.contains(" new in the thread"))
}

#[tokio::test]
async fn what_others_entered_since_one_last_looked_is_new_with_a_word() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    circle.parent.opens(&thread).await.ok();
    assert_eq!(counted(&circle.parent).await, None);
    writes(&world, &circle, &circle.teacher, "note", "She found the row.").await;
    writes(&world, &circle, &circle.teacher, "parent", "Does she use it at home?").await;
    assert_eq!(counted(&circle.parent).await.as_deref(), Some("2 new in the thread"));
    circle.parent.opens(&circle.pupil.at("")).await.ok().sees("2 new").sees("New to you");
    // Looking at the overview is not yet reading the thread.
    assert!(counted(&circle.parent).await.is_some());
    let page = circle.parent.opens(&thread).await.ok();
    assert_eq!(new_ones(&page), ["Question to the parent", "Note"]);
    // Now it is read, here and on Today.
    assert_eq!(counted(&circle.parent).await, None);
    assert_eq!(new_ones(&circle.parent.opens(&thread).await.ok()), Vec::<String>::new());
    // The link of the first look still shows what was new then.
    let link = page.link("New to you (2)");
    assert_eq!(titles(&circle.parent.opens(&link).await.ok()), ["Question to the parent", "Note"]);
}

#[tokio::test]
async fn the_marks_of_two_readers_are_their_own() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    for person in [&circle.parent, &circle.teacher] {
        person.opens(&thread).await.ok();
    }
    writes(&world, &circle, &circle.parent, "note", "From home.").await;
    assert!(counted(&circle.teacher).await.is_some_and(|words| words.starts_with("1 new")));
    assert_eq!(counted(&circle.parent).await, None, "one's own entry is never new");
    writes(&world, &circle, &circle.teacher, "note", "From school.").await;
    // The teacher read by looking; the parent did not.
    assert_eq!(counted(&circle.teacher).await, None);
    assert!(counted(&circle.parent).await.is_some_and(|words| words.starts_with("1 new")));
    assert_eq!(new_ones(&circle.parent.opens(&thread).await.ok()).len(), 1);
}

#[tokio::test]
async fn a_thread_is_marked_as_unread_from_a_line_on() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    for body in ["one", "two", "three"] {
        writes(&world, &circle, &circle.teacher, "note", body).await;
    }
    let page = circle.parent.opens(&thread).await.ok();
    assert_eq!(counted(&circle.parent).await, None);
    let html = page.html();
    let buttons: Vec<String> = html
        .select(&crate::page::css("button[name=from]"))
        .filter_map(|button| button.attr("value").map(str::to_owned))
        .collect();
    // Newest first: "two" is the second.
    let unread = circle.pupil.at("/thread/unread");
    let to = circle.parent.submits(&unread, &[("from", &buttons[1])]).await.redirected_to();
    assert_eq!(to, circle.pupil.at(""), "not back into the thread, which would mark it as read");
    assert!(counted(&circle.parent).await.is_some_and(|words| words.starts_with("2 new")));
    circle.teacher.opens("/today").await.ok().lacks("2 new");
    assert_eq!(new_ones(&circle.parent.opens(&thread).await.ok()).len(), 2);
    // What is no line moves nothing.
    let before = world.content().await;
    for odd in ["", "yesterday", "12", "1.<b>", "99999999999999999999.a", "-1.é"] {
        circle.parent.submits(&unread, &[("from", odd)]).await.status(400);
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_chosen_part_of_the_thread_leaves_the_rest_unread() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    circle.parent.opens(&thread).await.ok();
    writes(&world, &circle, &circle.teacher, "note", "A note.").await;
    circle.parent.opens(&format!("{thread}?kind=questions")).await.ok();
    assert!(counted(&circle.parent).await.is_some());
    circle.parent.opens(&format!("{thread}?from=sometime")).await.status(422);
    assert!(counted(&circle.parent).await.is_some());
}

#[tokio::test]
async fn what_a_reader_may_not_read_is_never_counted() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    for person in [&circle.class, &circle.teacher, &circle.clinician] {
        person.opens(&thread).await.ok();
    }
    // To the class: neither a note of others nor a note from home that is not shared.
    writes(&world, &circle, &circle.parent, "note", "Not for the class.").await;
    notes(&world, &circle, &[]).await;
    assert_eq!(counted(&circle.class).await, None);
    circle.class.opens(&circle.pupil.at("")).await.ok().lacks(" new");
    assert!(counted(&circle.teacher).await.is_some_and(|words| words.starts_with("2 new")));
    circle.teacher.opens(&thread).await.ok();
    // To the school: no post of the clinic without its consent.
    writes(&world, &circle, &circle.clinician, "note", "The clinic's word.").await;
    assert_eq!(counted(&circle.teacher).await, None);
    world.signs_consent(&circle, Direction::ClinicToSchool).await;
    assert!(counted(&circle.teacher).await.is_some());
    // A post to the class counts for the class.
    writes(&world, &circle, &circle.teacher, "classroom_teacher", "Is row two free?").await;
    assert!(counted(&circle.class).await.is_some_and(|words| words.starts_with("1 new")));
}
