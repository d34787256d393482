//! The student's own words: kept exactly as said, with who wrote them down, and
//! read by whoever may read the entry they stand in.

use farpoint::care::consent::Direction;

use super::{notes, titles, writes};
use crate::world::World;

const KEEP: &str = "Keep these words";
const SAID: &str = "Ich mag's \u{2014} \"meh\",  aber nicht im Gang!";

#[tokio::test]
async fn words_are_kept_exactly_as_said_with_who_wrote_them_down() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    let form = circle.teacher.opens(&thread).await.ok().link("Write down what the student says");
    let fields = [
        ("about", "the telescope in music"),
        ("said_worked", "so_so"),
        ("said_would_use", "not_now"),
        ("said_words", SAID),
        ("said_on", "2026-09-14"),
    ];
    circle.teacher.presses(&form, KEEP, &fields).await.redirected_to();
    let page = circle.parent.opens(&thread).await.ok();
    assert!(page.html().select(&crate::page::css(".said")).any(|said| said.text().collect::<String>() == SAID));
    let page = page.sees("The student\u{2019}s own words about the telescope in music, on 14 September 2026");
    let page =
        page.sees("So-so. I would use this here: not now").sees("Written down by Ottoline Brask, vision teacher");
    // A kind of its own among the choices.
    assert!(page.choices_named("kind").iter().any(|(code, words)| code == "student_words" && words.ends_with("(1)")));
    assert_eq!(titles(&circle.parent.opens(&format!("{thread}?kind=student_words")).await.ok()).len(), 1);
    assert_eq!(titles(&circle.parent.opens(&format!("{thread}?kind=notes")).await.ok()).len(), 0);
    // Read as a post of its helper is read.
    circle.class.opens(&thread).await.ok().lacks("nicht im Gang");
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    circle.clinician.opens(&thread).await.ok().sees("nicht im Gang");
}

#[tokio::test]
async fn a_parent_and_a_classroom_teacher_are_helpers_and_a_clinician_is_not() {
    let world = World::new().await;
    let circle = world.circle().await;
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    let form = circle.pupil.at("/thread/words");
    for person in [&circle.parent, &circle.class] {
        person.presses(&form, KEEP, &[("said_would_use", "no")]).await.redirected_to();
    }
    circle.clinician.opens(&circle.pupil.at("/thread")).await.ok().lacks("Write down what the student says");
    circle.clinician.opens(&form).await.hidden();
    circle.clinician.submits(&form, &[("said_words", "x"), ("said_on", "2026-09-16")]).await.hidden();
    assert_eq!(world.count("student_words").await, 2);
    // Two answers by choice are enough; no word need be typed.
    circle.teacher.opens(&circle.pupil.at("/thread")).await.ok().sees("The student says: I would use this here: no");
}

#[tokio::test]
async fn words_in_an_observation_are_read_by_who_may_read_it_and_after_its_lock() {
    let world = World::new().await;
    let circle = world.circle().await;
    let said = [("said_worked", "worked"), ("said_words", SAID)];
    let note = notes(&world, &circle, &said).await;
    let (thread, list) = (circle.pupil.at("/thread"), circle.pupil.at("/observations"));
    for page in [&note, &thread, &list] {
        circle.teacher.opens(page).await.ok().sees("nicht im Gang");
    }
    circle.teacher.opens(&note).await.ok().sees("How it went Worked").sees("Written down by");
    assert_eq!(titles(&circle.teacher.opens(&format!("{thread}?kind=student_words")).await.ok()).len(), 1);
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    for (page, person) in [(&thread, &circle.clinician), (&list, &circle.clinician), (&thread, &circle.class)] {
        person.opens(page).await.ok().lacks("nicht im Gang");
    }
    circle.clinician.opens(&note).await.ok().sees("Not open yet").lacks("nicht im Gang");
    world.days_later(2).await;
    let disclosures = world.count("disclosure").await;
    for page in [&note, &thread, &list] {
        circle.clinician.opens(page).await.ok().sees("nicht im Gang");
    }
    assert!(world.count("disclosure").await > disclosures, "what crossed is in the record");
    circle.class.opens(&note).await.hidden();
    circle.class.opens(&thread).await.ok().lacks("nicht im Gang");
    circle.parent.presses(&note, "Share it with the class", &[]).await.redirected_to();
    for page in [&note, &thread, &list] {
        circle.class.opens(page).await.ok().sees("nicht im Gang");
    }
}

#[tokio::test]
async fn an_entry_of_nothing_said_is_refused_and_what_was_typed_comes_back() {
    let world = World::new().await;
    let circle = world.circle().await;
    writes(&world, &circle, &circle.teacher, "note", "before").await;
    let form = circle.pupil.at("/thread/words");
    let before = world.content().await;
    let long = "w".repeat(5_000);
    for (fields, field) in [
        (vec![("about", "music")], "said_words"),
        (vec![("said_words", "   ")], "said_words"),
        (vec![("said_words", long.as_str())], "said_words"),
        (vec![("said_words", "x"), ("said_on", "2026-09-17")], "said_on"),
        (vec![("said_words", "x"), ("said_on", "")], "said_on"),
        (vec![("said_words", "x"), ("said_on", "2020-01-01")], "said_on"),
        (vec![("said_words", "x"), ("about", long.as_str())], "about"),
    ] {
        let page = circle.teacher.presses(&form, KEEP, &fields).await.refused(field);
        for (name, value) in &fields {
            assert_eq!(page.value_of(name).unwrap_or_default().trim(), value.trim(), "{name}");
        }
    }
    let odd = [("said_worked", "splendid"), ("said_on", "2026-09-16")];
    circle.teacher.submits(&form, &odd).await.refused("said_worked");
    assert_eq!(world.content().await, before);
    // With an observation it is the observation's form that says so.
    let entry = [("task", "board_words"), ("device_out", "not_needed"), ("result", "all"), ("said_words", &long)];
    circle.class.presses(&circle.pupil.at("/observations/new"), "Save", &entry).await.refused("said_words");
    assert_eq!(world.count("observation").await, 0);
}
