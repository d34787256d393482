//! The thread: questions stay open until somebody of the role answers, and each
//! reads what each may.

use farpoint::care::consent::Direction;
use farpoint::store::post;

use super::around::Circle;
use crate::people::Person;
use crate::world::World;

async fn asks(circle: &Circle, person: &Person, to: &str, body: &str) {
    let thread = circle.pupil.at("/thread");
    let sent = person.presses(&thread, "Send", &[("to", to), ("body", body)]).await;
    assert_eq!(sent.redirected_to(), thread);
}

/// The questions that wait for this person, as `/today` lists them.
async fn open(world: &World, person: &Person) -> Vec<String> {
    let mut view = world.store().snapshot().await.expect("a view");
    let open = post::open_for(&mut view, person.actor()).await.expect("a list");
    open.into_iter().map(|one| one.body).collect()
}

#[tokio::test]
async fn a_question_is_open_until_somebody_of_the_role_answers() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    asks(&circle, &circle.class, "vision_teacher", "May Wren sit in row one?").await;
    assert_eq!(open(&world, &circle.teacher).await, ["May Wren sit in row one?"]);
    assert!(open(&world, &circle.parent).await.is_empty());
    assert!(open(&world, &world.vision_teacher().await).await.is_empty(), "another teacher's student");
    let page =
        circle.teacher.opens(&thread).await.ok().sees("Open since 16 September 2026, waiting for the vision teacher");
    let answer = page.link("Answer");
    // A parent reads the question; answering is not theirs.
    circle.parent.opens(&thread).await.ok().sees("May Wren sit in row one?");
    circle.parent.opens(&answer).await.hidden();
    circle.parent.submits(&answer, &[("body", "yes")]).await.hidden();
    circle.teacher.presses(&answer, "Send the answer", &[("body", "  ")]).await.refused("body");
    let old = circle.teacher.opens(&answer).await.ok();
    circle.teacher.presses_on(&old, "Send the answer", &[("body", "Yes, from Monday.")]).await.redirected_to();
    assert!(open(&world, &circle.teacher).await.is_empty());
    // Whoever asked reads the answer.
    circle.class.opens(&thread).await.ok().sees("Yes, from Monday.").sees("Answered by");
    circle.teacher.submits(&answer, &[("body", "Again.")]).await.status(409);
    assert_eq!(world.count("post").await, 2);
}

#[tokio::test]
async fn a_classroom_teacher_reads_her_own_and_what_is_addressed_to_her() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    asks(&circle, &circle.teacher, "note", "A note of the vision teacher.").await;
    asks(&circle, &circle.parent, "classroom_teacher", "Did the telescope come along?").await;
    asks(&circle, &circle.parent, "vision_teacher", "When is the next visit?").await;
    let page = circle.class.opens(&thread).await.ok().sees("Did the telescope come along?");
    page.lacks("A note of the vision teacher.").lacks("When is the next visit?");
    circle.parent.opens(&thread).await.ok().sees("A note of the vision teacher.").sees("When is the next visit?");
}

#[tokio::test]
async fn the_clinic_reads_by_one_consent_and_is_read_by_the_other() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    asks(&circle, &circle.teacher, "clinician", "Would a wider field help?").await;
    circle.clinician.opens(&thread).await.hidden();
    circle.clinician.submits(&thread, &[("to", "note"), ("body", "anything")]).await.hidden();
    assert!(open(&world, &circle.clinician).await.is_empty());
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    let answer = circle.clinician.opens(&thread).await.ok().sees("Would a wider field help?").link("Answer");
    circle.clinician.presses(&answer, "Send the answer", &[("body", "It would.")]).await.redirected_to();
    // Nothing of the clinic's reaches the school before the other consent.
    circle.teacher.opens(&thread).await.ok().sees("Answered").lacks("It would.");
    circle.parent.opens(&thread).await.ok().sees("It would.");
    world.signs_consent(&circle, Direction::ClinicToSchool).await;
    circle.teacher.opens(&thread).await.ok().sees("It would.");
}

#[tokio::test]
async fn a_line_about_a_record_is_for_those_who_may_read_the_record() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    let fields = [("flag", "no"), ("place", "home"), ("task", "tv"), ("device_out", "not_needed"), ("result", "all")];
    circle.parent.presses(&circle.pupil.at("/observations/new"), "Save", &fields).await.redirected_to();
    let line = "Observation at home or in the community recorded";
    circle.teacher.opens(&thread).await.ok().sees(line);
    circle.class.opens(&thread).await.ok().lacks(line);
    circle.parent.opens(&format!("{thread}?show=posts")).await.ok().lacks(line);
    circle.parent.opens(&format!("{thread}?show=records")).await.ok().sees(line);
    circle.parent.opens(&format!("{thread}?show=%00&show=x")).await.ok().sees(line);
}

#[tokio::test]
async fn a_post_needs_words_and_a_role_of_another() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    let before = world.content().await;
    let long = "w".repeat(10_000);
    for (to, body, field) in [
        ("note", "", "body"),
        ("note", long.as_str(), "body"),
        ("everybody", "words", "to"),
        ("", "words", "to"),
        ("vision_teacher", "words", "to"),
    ] {
        let page = circle.teacher.submits(&thread, &[("to", to), ("body", body)]).await.refused(field);
        assert_eq!(page.value_of("body").unwrap_or_default().trim(), body);
    }
    let mut after = world.content().await;
    // Looking at the thread moves the reader's own mark, and nothing else.
    after.insert("thread_read".to_owned(), before["thread_read"]);
    assert_eq!(after, before);
}
