//! "5 mm or 5 cm?": asked of the writer on the entry, on the first screen and in
//! the thread, answered by nobody else.

use farpoint::care::task::TaskCode;
use jiff::SignedDuration;

use crate::capability::around::Circle;
use crate::people::Person;
use crate::world::World;

const SAVE: &str = "Save";
const STANDS: &str = "5 mm is right as it stands";

/// The board of the task says 3.5 cm from 5.2 m; 3.5 mm is typed.
async fn slips(world: &World, circle: &Circle, x_height: &str) -> String {
    let task = world.task(circle, TaskCode::BoardMaths, "Sums on the board").await.to_string();
    let fields = [
        ("task", task.as_str()),
        ("device_out", "not_needed"),
        ("correct", "3"),
        ("tried", "8"),
        ("x_height", x_height),
        ("help", "none"),
    ];
    circle.class.presses(&circle.pupil.at("/observations/new"), SAVE, &fields).await.redirected_to()
}

async fn a_day_later(world: &World, people: &[&Person]) {
    world.passes(SignedDuration::from_hours(25));
    for person in people {
        person.signs_in().await;
    }
}

#[tokio::test]
async fn a_suspect_unit_is_saved_and_its_writer_is_asked_everywhere() {
    let world = World::new().await;
    let circle = world.circle().await;
    let entry = slips(&world, &circle, "3.5 mm").await;
    let (class, teacher) = (&circle.class, &circle.teacher);
    let question = "3.5 mm or 3.5 cm?";
    class
        .opens(&entry)
        .await
        .ok()
        .sees(&format!("Height of the small letters: {question}"))
        .sees("It is saved as you typed it")
        .sees("It was 3.5 cm")
        .sees("3.5 mm is right as it stands")
        // No sentence of meaning is made of a length in doubt.
        .lacks("right at 3.5 mm");
    class.opens("/today").await.ok().sees("Questions that wait for you").sees(question);
    let list = circle.pupil.at("/observations");
    class.opens(&list).await.ok().sees(&format!("Waits for your answer: {question}"));
    let thread = circle.pupil.at("/thread");
    class.opens(&thread).await.ok().sees(&format!("Waits for your answer: {question}")).sees("Answer");
    class.opens(&format!("{thread}?open=yes")).await.ok().sees(question);
    // A vision teacher sees that it waits, and for whom, and has no way to answer.
    teacher
        .opens(&entry)
        .await
        .ok()
        .sees("In no figure until its writer answers")
        .sees(question)
        .lacks("It was 3.5 cm");
    teacher.opens(&list).await.ok().sees(&format!("Waits for its writer, in no figure: {question}"));
    teacher.opens(&thread).await.ok().sees(&format!("Waits for {}", class.name)).sees(question);
    teacher.opens("/today").await.ok().lacks(question);
    // Before the lock the family is told that it waits, and not what was typed.
    circle.parent.opens(&list).await.ok().sees("Waits for its writer, in no figure").lacks("3.5 mm");
    circle.parent.opens(&entry).await.ok().sees("In no figure until its writer answers").lacks("3.5 mm");
}

#[tokio::test]
async fn the_answer_is_an_amendment_by_the_writer_alone() {
    let world = World::new().await;
    let circle = world.circle().await;
    let entry = slips(&world, &circle, "3.5 mm").await;
    let answer = format!("{entry}/answer");
    let page = circle.class.opens(&entry).await.ok();
    let before = world.content().await;
    let sent = [("which", "x_height"), ("answer", "3.5 cm"), ("version", "1")];
    for person in [&circle.teacher, &circle.clinician] {
        person.submits(&answer, &sent).await.hidden();
    }
    circle.parent.submits(&answer, &sent).await.forbidden();
    // What was not offered is no answer; it can be amended.
    for (which, given) in [("x_height", "9 cm"), ("distance", "3.5 cm"), ("x_height", ""), ("", "3.5 cm")] {
        let refused = circle.class.submits(&answer, &[("which", which), ("answer", given), ("version", "1")]).await;
        assert!([400, 404, 409].contains(&refused.code()), "{which} {given}: {}", refused.code());
    }
    assert_eq!(world.content().await, before);

    assert_eq!(circle.class.presses_on(&page, "It was 3.5 cm", &[]).await.redirected_to(), entry);
    circle
        .class
        .opens(&entry)
        .await
        .ok()
        .sees("3 of 8 right at 3.5 cm")
        .sees("Answer to the question: 3.5 mm or 3.5 cm?")
        .sees("Before 3.5 mm")
        .sees("After 3.5 cm")
        .lacks("left out of every figure");
    circle.class.opens("/today").await.ok().lacks("3.5 mm or 3.5 cm?");
    circle.teacher.opens(&entry).await.ok().lacks("In no figure").sees("After 3.5 cm");
    // The page that was open twice answers no second time.
    let settled = world.content().await;
    circle.class.presses_on(&page, "3.5 mm is right as it stands", &[]).await.status(409);
    assert_eq!(world.content().await, settled);
}

#[tokio::test]
async fn it_is_right_as_it_stands_leaves_a_trace_and_is_not_asked_again() {
    let world = World::new().await;
    let circle = world.circle().await;
    let entry = slips(&world, &circle, "3.5 mm").await;
    a_day_later(&world, &[&circle.class, &circle.teacher, &circle.parent]).await;
    circle.class.presses(&entry, "3.5 mm is right as it stands", &[]).await.redirected_to();
    let page = circle.class.opens(&entry).await.ok();
    page.sees("3 of 8 right at 3.5 mm").sees("3.5 mm, right as it stands").sees("Before 3.5 mm or 3.5 cm?");
    circle.teacher.opens(&circle.pupil.at("/thread")).await.ok().sees("Observation in class amended");
    // A note added later does not bring the question back; another length does.
    let amend = format!("{entry}/amend");
    let note = [("note", "the small sheet"), ("reason", "left out")];
    circle.class.presses(&amend, SAVE, &note).await.redirected_to();
    circle.class.opens(&entry).await.ok().lacks("left out of every figure");
    let other = [("x_height", "3 mm"), ("reason", "measured again")];
    circle.class.presses(&amend, SAVE, &other).await.redirected_to();
    circle.class.opens(&entry).await.ok().sees("3 mm or 3 cm?");
}

#[tokio::test]
async fn an_amended_length_or_an_entry_in_error_asks_no_more() {
    let world = World::new().await;
    let circle = world.circle().await;
    let entry = slips(&world, &circle, "3.5 mm").await;
    circle.class.presses(&format!("{entry}/amend"), SAVE, &[("x_height", "4 cm")]).await.redirected_to();
    circle.class.opens(&entry).await.ok().lacks("left out of every figure").sees("at 4 cm");
    let again = circle.class.presses(&format!("{entry}/amend"), SAVE, &[("x_height", "4 mm")]).await.redirected_to();
    circle.class.opens(&again).await.ok().sees("4 mm or 4 cm?");
    let why = [("reason", "another child")];
    circle.class.presses(&format!("{entry}/error"), "Mark as entered in error", &why).await.redirected_to();
    circle.class.opens("/today").await.ok().lacks("4 mm or 4 cm?");
    circle.class.opens(&entry).await.ok().lacks("left out of every figure");
}

#[tokio::test]
async fn the_first_entry_is_asked_about_once_the_rest_differs_from_it() {
    let world = World::new().await;
    let circle = world.circle().await;
    let new = circle.pupil.at("/observations/new");
    let board = [("task", "board_words"), ("device_out", "not_needed"), ("result", "some")];
    let mut entries = Vec::new();
    for height in ["5 mm", "5 cm", "4.5 cm"] {
        let fields = [&board[..], &[("distance", "3 m"), ("x_height", height)]].concat();
        entries.push(circle.class.presses(&new, SAVE, &fields).await.redirected_to());
        if entries.len() == 2 {
            circle.class.opens("/today").await.ok().lacks("5 mm or 5 cm?");
        }
    }
    circle.class.opens(&entries[0]).await.ok().sees("5 mm or 5 cm?").sees(STANDS);
    for entry in &entries[1..] {
        circle.class.opens(entry).await.ok().lacks("left out of every figure");
    }
}

#[tokio::test]
async fn what_cannot_be_is_refused_with_the_reason_and_nothing_is_stored() {
    let world = World::new().await;
    let circle = world.circle().await;
    let new = circle.pupil.at("/observations/new");
    let before = world.content().await;
    let whole = [("task", "board_words"), ("device_out", "not_needed"), ("result", "some")];
    let cases = [
        ([("distance", "900 m"), ("x_height", "5 cm")], "distance", "900 m is farther than anything is seen from"),
        ([("distance", "1 cm"), ("x_height", "5 cm")], "distance", "nearer than an eye comes to a page"),
        ([("distance", "6 m"), ("x_height", "0.4 mm")], "x_height", "0.4 mm is smaller than any print"),
        ([("distance", "6 m"), ("x_height", "5 m")], "x_height", "taller than any writing"),
        ([("distance", "30 m"), ("x_height", "5 mm")], "x_height", "finer than any eye sees"),
        ([("distance", "30 cm"), ("x_height", "2 m")], "x_height", "too large for one look"),
    ];
    for (lengths, field, reason) in cases {
        let fields = [&whole[..], &lengths[..]].concat();
        let page = circle.class.presses(&new, SAVE, &fields).await.refused(field).sees(reason);
        assert_eq!(page.value_of("distance").as_deref(), Some(lengths[0].1), "what was typed is kept");
    }
    let many = [("task", "board_words"), ("device_out", "not_needed"), ("correct", "3"), ("tried", "201")];
    circle.class.presses(&new, SAVE, &many).await.refused("tried");
    assert_eq!(world.content().await, before);
}
