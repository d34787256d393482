//! Questions stay open until somebody of the role answers, or until whoever
//! asked no longer needs an answer; each reads what each may.

use farpoint::care::consent::Direction;
use jiff::SignedDuration;

use super::{notes, writes};
use crate::page::Page;
use crate::people::Person;
use crate::world::World;

const WAITING: &str = "Questions that wait for you";
const ASKED: &str = "You asked, not answered yet";

/// What stands on Today under a heading, up to the list of students.
async fn under(person: &Person, heading: &str) -> String {
    let seen = person.opens("/today").await.ok().seen();
    let Some((_, rest)) = seen.split_once(heading) else { return String::new() };
    let end = [WAITING, ASKED, " Students "].iter().filter_map(|next| rest.find(next)).min().unwrap_or(rest.len());
    rest[..end].to_owned()
}

#[tokio::test]
async fn a_question_is_open_until_somebody_of_the_role_answers() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    writes(&world, &circle, &circle.class, "vision_teacher", "May Wren sit in row one?").await;
    let waits = under(&circle.teacher, WAITING).await;
    assert!(waits.contains("May Wren sit in row one?") && waits.contains("since 16 September 2026"), "{waits}");
    assert!(waits.contains("classroom teacher"), "who asked: {waits}");
    assert_eq!(under(&circle.parent, WAITING).await, "");
    assert_eq!(under(&world.vision_teacher().await, WAITING).await, "", "another teacher's student");
    let asked = under(&circle.class, ASKED).await;
    assert!(asked.contains("May Wren sit in row one?") && asked.contains("Waiting for the vision teacher"), "{asked}");
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
    assert_eq!(under(&circle.teacher, WAITING).await, "");
    assert_eq!(under(&circle.class, ASKED).await, "");
    // Whoever asked reads the answer, and question and answer stand together.
    let page = circle.class.opens(&thread).await.ok().sees("Answered by");
    assert!(page.seen().contains("The question: May Wren sit in row one? The answer: Yes, from Monday."));
    assert_eq!(world.count("post").await, 2);
}

#[tokio::test]
async fn several_may_answer_and_each_answer_stays() {
    let world = World::new().await;
    let circle = world.circle().await;
    let second = world.vision_teacher().await;
    world.joins(&second, &circle.pupil, &circle.teacher).await;
    writes(&world, &circle, &circle.parent, "vision_teacher", "Is the car all right?").await;
    let thread = circle.pupil.at("/thread");
    let answer = circle.teacher.opens(&thread).await.ok().link("Answer");
    let late = second.opens(&answer).await.ok();
    circle.teacher.presses(&answer, "Send the answer", &[("body", "As a passenger.")]).await.redirected_to();
    second.presses_on(&late, "Send the answer", &[("body", "And while it stands.")]).await.redirected_to();
    circle.parent.opens(&thread).await.ok().sees("As a passenger.").sees("And while it stands.");
    assert_eq!(second.opens(&thread).await.ok().link("Add an answer"), answer);
    assert_eq!(under(&circle.parent, ASKED).await, "");
}

#[tokio::test]
async fn whoever_asked_closes_the_question_without_an_answer_and_asks_it_again() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    writes(&world, &circle, &circle.class, "vision_teacher", "Which marker is best?").await;
    let answer = circle.teacher.opens(&thread).await.ok().link("Answer");
    let typed = circle.teacher.opens(&answer).await.ok();
    let close = circle.class.opens(&thread).await.ok().link("Close it without an answer");
    // Nobody else closes it.
    for person in [&circle.teacher, &circle.parent] {
        person.opens(&close).await.hidden();
        person.submits(&close, &[("why", "no_longer_needed")]).await.hidden();
    }
    let page = circle.class.opens(&close).await.ok();
    circle.class.presses_on(&page, "Close the question", &[]).await.refused("why");
    circle.class.presses_on(&page, "Close the question", &[("why", "other")]).await.refused("reason");
    let fields = [("why", "no_longer_needed"), ("reason", "The black one works.")];
    circle.class.presses_on(&page, "Close the question", &fields).await.redirected_to();
    let seen = circle.teacher.opens(&thread).await.ok().sees("Closed without an answer on 16 September 2026");
    seen.sees("no longer needed. The black one works.").lacks("waiting for the vision teacher");
    assert_eq!(under(&circle.teacher, WAITING).await, "");
    // Closing twice and answering what is closed change nothing and lose nothing.
    let before = world.content().await;
    circle.class.submits(&close, &fields).await.status(409).sees("The black one works.");
    circle.class.opens(&close).await.status(409);
    let late = circle.teacher.presses_on(&typed, "Send the answer", &[("body", "The black one.")]).await;
    late.status(409).sees("The black one.").sees("Closed without an answer");
    circle.teacher.opens(&answer).await.status(409);
    assert_eq!(world.content().await, before);
    // Asked again it waits anew, from that day.
    world.days_later(3).await;
    let again = circle.class.opens(&thread).await.ok().link("Ask it again");
    circle.teacher.submits(&again, &[]).await.hidden();
    circle.class.presses(&again, "Ask it again", &[("reason", "The board was changed.")]).await.redirected_to();
    circle.class.submits(&again, &[]).await.status(409);
    let waits = under(&circle.teacher, WAITING).await;
    assert!(waits.contains("Which marker is best?") && waits.contains("since 19 September 2026"), "{waits}");
    let page = circle.teacher.opens(&thread).await.ok().sees("Open since 19 September 2026");
    page.sees("The black one works.").sees("The board was changed.");
    circle.teacher.presses(&answer, "Send the answer", &[("body", "Still black.")]).await.redirected_to();
    circle.class.opens(&thread).await.ok().sees("Still black.").sees("Answered by");
}

#[tokio::test]
async fn today_lists_what_waits_longest_first_and_over_all_students() {
    let world = World::new().await;
    let circle = world.circle().await;
    let other = world.circle().await;
    world.joins(&circle.teacher, &other.pupil, &other.teacher).await;
    writes(&world, &circle, &circle.class, "vision_teacher", "First of all?").await;
    world.days_later(1).await;
    writes(&world, &other, &other.class, "vision_teacher", "Then this?").await;
    world.days_later(1).await;
    writes(&world, &circle, &circle.parent, "vision_teacher", "And last?").await;
    let waits = under(&circle.teacher, WAITING).await;
    let places: Vec<_> = ["First of all?", "Then this?", "And last?"].iter().map(|one| waits.find(one)).collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?} in {waits}");
    assert!(waits.contains("since 16 September 2026 (for 2 days)"), "{waits}");
    assert!(!under(&other.teacher, WAITING).await.contains("First of all?"), "another team's question");
}

#[tokio::test]
async fn a_classroom_teacher_reads_her_own_and_what_is_addressed_to_her() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    writes(&world, &circle, &circle.teacher, "note", "A note of the vision teacher.").await;
    writes(&world, &circle, &circle.parent, "classroom_teacher", "Did the telescope come along?").await;
    writes(&world, &circle, &circle.parent, "vision_teacher", "When is the next visit?").await;
    let page = circle.class.opens(&thread).await.ok().sees("Did the telescope come along?");
    page.lacks("A note of the vision teacher.").lacks("When is the next visit?");
    circle.parent.opens(&thread).await.ok().sees("A note of the vision teacher.").sees("When is the next visit?");
    // Neither does she meet the others by their address.
    let close = circle.parent.opens(&thread).await.ok().link("Close it without an answer");
    circle.class.submits(&close, &[("why", "no_longer_needed")]).await.hidden();
    circle.class.opens(&close.replace("/close", "/answer")).await.hidden();
}

#[tokio::test]
async fn the_clinic_reads_by_one_consent_and_is_read_by_the_other() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    writes(&world, &circle, &circle.teacher, "clinician", "Would a wider field help?").await;
    circle.clinician.opens(&thread).await.hidden();
    circle.clinician.submits(&thread, &[("to", "note"), ("body", "anything")]).await.hidden();
    assert_eq!(under(&circle.clinician, WAITING).await, "");
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    let disclosures = world.count("disclosure").await;
    assert!(under(&circle.clinician, WAITING).await.contains("Would a wider field help?"));
    assert!(world.count("disclosure").await > disclosures, "what is read on Today is in the record, too");
    let answer = circle.clinician.opens(&thread).await.ok().sees("Would a wider field help?").link("Answer");
    circle.clinician.presses(&answer, "Send the answer", &[("body", "It would.")]).await.redirected_to();
    writes(&world, &circle, &circle.clinician, "vision_teacher", "Is the glare worse?").await;
    // Nothing of the clinic's reaches the school before the other consent.
    circle.teacher.opens(&thread).await.ok().sees("Answered").lacks("It would.").lacks("Is the glare worse?");
    assert_eq!(under(&circle.teacher, WAITING).await, "");
    circle.parent.opens(&thread).await.ok().sees("It would.");
    world.signs_consent(&circle, Direction::ClinicToSchool).await;
    circle.teacher.opens(&thread).await.ok().sees("It would.");
    assert!(under(&circle.teacher, WAITING).await.contains("Is the glare worse?"));
}

#[tokio::test]
async fn a_line_about_a_record_is_for_those_who_may_read_the_record() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    notes(&world, &circle, &[]).await;
    let line = "Observation at home recorded";
    circle.teacher.opens(&thread).await.ok().sees(line);
    circle.class.opens(&thread).await.ok().lacks(line);
}

fn kept(page: &Page, body: &str) {
    assert_eq!(page.value_of("body").unwrap_or_default().trim(), body);
}

#[tokio::test]
async fn a_post_needs_words_and_a_role_of_another() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    let before = world.content().await;
    let long = "w".repeat(5_000);
    for (to, body, field) in [
        ("note", "", "body"),
        ("note", long.as_str(), "body"),
        ("clinician", long.as_str(), "body"),
        ("everybody", "words", "to"),
        ("", "words", "to"),
        ("vision_teacher", "words", "to"),
    ] {
        kept(&circle.teacher.submits(&thread, &[("to", to), ("body", body)]).await.refused(field), body);
    }
    let mut after = world.content().await;
    // Looking at the thread moves the reader's own mark, and nothing else.
    after.insert("thread_read".to_owned(), before["thread_read"]);
    assert_eq!(after, before);
}

#[tokio::test]
async fn a_question_to_a_role_that_nobody_has_on_this_team_is_refused() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let thread = pupil.at("/thread");
    assert_eq!(teacher.opens(&thread).await.ok().choices_of("to"), ["note"]);
    let answer = teacher.submits(&thread, &[("to", "clinician"), ("body", "Anybody there?")]).await.refused("to");
    kept(&answer, "Anybody there?");
    assert!(answer.error_for("to").is_some_and(|said| said.contains("Nobody")), "it says why");
    assert_eq!(world.count("post").await, 0);
    // Nor to somebody who left.
    let class = world.classroom_teacher().await;
    world.joins(&class, &pupil, &teacher).await;
    assert_eq!(teacher.opens(&thread).await.ok().choices_of("to"), ["note", "classroom_teacher"]);
    world.leaves(&class, &pupil, &teacher).await;
    world.passes(SignedDuration::from_mins(1));
    teacher.submits(&thread, &[("to", "classroom_teacher"), ("body", "Still there?")]).await.refused("to");
    assert_eq!(world.count("post").await, 0);
}

#[tokio::test]
async fn an_answer_has_at_most_two_thousand_characters_and_keeps_what_was_typed() {
    let world = World::new().await;
    let circle = world.circle().await;
    writes(&world, &circle, &circle.class, "vision_teacher", "How tall?").await;
    let answer = circle.teacher.opens(&circle.pupil.at("/thread")).await.ok().link("Answer");
    let long = "w".repeat(5_000);
    kept(&circle.teacher.presses(&answer, "Send the answer", &[("body", &long)]).await.refused("body"), &long);
    assert_eq!(world.count("post").await, 1);
}
