//! Choosing what a thread shows: by codes in the address, together, with counts,
//! and page by page.

use std::time::{Duration, Instant};

use jiff::SignedDuration;

use super::{notes, titles, writes};
use crate::capability::around::Circle;
use crate::world::World;

/// A thread with a bit of everything that needs no consent.
async fn filled(world: &World) -> Circle {
    let circle = world.circle().await;
    writes(world, &circle, &circle.teacher, "note", "A plain note.").await;
    writes(world, &circle, &circle.class, "vision_teacher", "An open question?").await;
    notes(world, &circle, &[]).await;
    notes(world, &circle, &[("place", "shop")]).await;
    world.days_later(2).await;
    writes(world, &circle, &circle.parent, "vision_teacher", "Answered soon?").await;
    let answer = circle.teacher.opens(&circle.pupil.at("/thread?role=parent")).await.ok().link("Answer");
    world.passes(SignedDuration::from_mins(1));
    circle.teacher.presses(&answer, "Send the answer", &[("body", "Soon.")]).await.redirected_to();
    circle
}

#[tokio::test]
async fn each_choice_keeps_its_lines_and_they_narrow_each_other() {
    let world = World::new().await;
    let circle = filled(&world).await;
    let thread = circle.pupil.at("/thread");
    for (query, wanted) in [
        ("kind=notes", vec!["Note"]),
        ("open=yes", vec!["Question to the vision teacher"]),
        ("kind=observations", vec!["Observation in the community recorded", "Observation at home recorded"]),
        ("kind=observations&setting=home", vec!["Observation at home recorded"]),
        ("setting=community", vec!["Observation in the community recorded"]),
        ("kind=questions&role=parent", vec!["Question to the vision teacher"]),
        ("kind=questions&role=vision_teacher", vec!["Answer"]),
        ("kind=notes&kind=questions&from=2026-09-18", vec!["Answer", "Question to the vision teacher"]),
        ("kind=notes&until=2026-09-17", vec!["Note"]),
        (
            "kind=observations&role=parent&setting=home&from=2026-09-16&until=2026-09-16",
            vec!["Observation at home recorded"],
        ),
    ] {
        let page = circle.teacher.opens(&format!("{thread}?{query}")).await.ok();
        assert_eq!(titles(&page), wanted, "{query}");
    }
    // What is chosen is said, each with a way to take it away.
    let page = circle.teacher.opens(&format!("{thread}?kind=observations&setting=home")).await.ok();
    let page = page.sees("Observations take away").sees("Setting: home take away");
    let without = page.link("take away Setting: home");
    assert_eq!(titles(&circle.teacher.opens(&without).await.ok()).len(), 2);
    // The form keeps it, too, and works without a script.
    assert_eq!(page.value_of("setting").as_deref(), Some("home"));
    assert!(page.source().contains("method=\"get\""), "a form that only asks");
}

#[tokio::test]
async fn counts_stand_beside_the_choices_and_are_of_what_this_reader_reads() {
    let world = World::new().await;
    let circle = filled(&world).await;
    let thread = circle.pupil.at("/thread");
    let page = circle.teacher.opens(&thread).await.ok();
    let kinds = page.choices_named("kind");
    let words = |code: &str| kinds.iter().find(|(value, _)| value == code).map(|(_, words)| words.clone());
    assert_eq!(words("notes").as_deref(), Some("Notes (1)"));
    assert_eq!(words("questions").as_deref(), Some("Questions and answers (3)"));
    assert_eq!(words("observations").as_deref(), Some("Observations (2)"));
    assert_eq!(words("training"), None, "a kind that this thread has nothing of is not offered");
    page.link("Open questions (1)");
    // Beside another choice they count what both would leave.
    let page = circle.teacher.opens(&format!("{thread}?role=parent")).await.ok();
    assert!(page.choices_named("kind").contains(&("observations".to_owned(), "Observations (2)".to_owned())));
    assert!(page.choices_named("kind").contains(&("notes".to_owned(), "Notes (0)".to_owned())));
    // The class counts its own question, and no note of anybody else.
    let page = circle.class.opens(&thread).await.ok();
    assert!(page.choices_named("kind").contains(&("questions".to_owned(), "Questions and answers (1)".to_owned())));
    assert_eq!(page.choices_of("kind"), ["questions", "record"]);
}

#[tokio::test]
async fn where_nothing_fits_the_page_says_which_choice_to_take_away() {
    let world = World::new().await;
    let circle = filled(&world).await;
    let thread = circle.pupil.at("/thread");
    let page = circle.teacher.opens(&format!("{thread}?kind=notes&setting=home")).await.ok();
    let page = page.sees("Nothing here fits all of these choices.");
    let away = page.link("Take away \u{201c}Setting: home\u{201d} (1)");
    assert_eq!(titles(&circle.teacher.opens(&away).await.ok()), ["Note"]);
    let other = page.link("Take away \u{201c}Notes\u{201d} (1)");
    assert_eq!(titles(&circle.teacher.opens(&other).await.ok()), ["Observation at home recorded"]);
    // An empty thread blames no choice.
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let page = teacher.opens(&pupil.at("/thread?kind=safety")).await.ok();
    assert!(!page.seen().contains("Take away") || page.seen().contains("Show everything"), "{}", page.seen());
}

#[tokio::test]
async fn what_is_no_choice_is_said_beside_its_field_and_kept_as_typed() {
    let world = World::new().await;
    let circle = filled(&world).await;
    let thread = circle.pupil.at("/thread");
    for (query, field) in [
        ("kind=gossip", "kind"),
        ("setting=moon", "setting"),
        ("role=nobody", "role"),
        ("from=09/16/2026", "from"),
        ("until=1850-01-01", "until"),
        ("from=2026-09-18&until=2026-09-16", "until"),
    ] {
        let page = circle.teacher.opens(&format!("{thread}?{query}")).await.refused(field);
        // Until it is mended nothing is left out.
        assert!(titles(&page).contains(&"Note".to_owned()), "{query}");
    }
    let page = circle.teacher.opens(&format!("{thread}?from=09/16/2026")).await.refused("from");
    assert_eq!(page.value_of("from").as_deref(), Some("09/16/2026"));
    // What the page does not know it leaves alone.
    for query in ["show=%00&show=x", "older=x&since=y", "older=1.%3Cb%3E"] {
        assert!(titles(&circle.teacher.opens(&format!("{thread}?{query}")).await.ok()).len() > 4, "{query}");
    }
}

#[tokio::test]
async fn no_word_about_a_student_stands_in_an_address() {
    let world = World::new().await;
    let circle = filled(&world).await;
    let page = circle.teacher.opens(&circle.pupil.at("/thread?kind=questions&open=yes")).await.ok();
    for (href, _) in page.links().into_iter().filter(|(href, _)| href.contains("/thread?")) {
        let (_, query) = href.split_once('?').expect("a query");
        let plain = query.chars().all(|one| one.is_ascii_lowercase() || one.is_ascii_digit() || "=&_-.".contains(one));
        assert!(plain, "{href}");
    }
}

#[tokio::test]
async fn a_long_thread_is_paged_and_what_is_added_moves_no_page() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    for number in 1..=120 {
        writes(&world, &circle, &circle.teacher, "note", &format!("Note number {number}.")).await;
    }
    circle.parent.signs_in().await;
    let first = circle.parent.opens(&format!("{thread}?kind=notes")).await.ok();
    let first = first.sees("Lines 1 to 50 of 120, newest first").sees("Note number 120.").lacks("Note number 70.");
    let older = first.link("Older lines");
    let second = circle.parent.opens(&older).await.ok().sees("Lines 51 to 100 of 120");
    let second = second.sees("Note number 70.").sees("Note number 21.").lacks("Note number 71.");
    writes(&world, &circle, &circle.teacher, "note", "One more.").await;
    let again = circle.parent.opens(&older).await.ok().sees("Lines 52 to 101 of 121");
    again.sees("Note number 70.").sees("Note number 21.").lacks("Note number 71.").lacks("One more.");
    let last = circle.parent.opens(&second.link("Older lines")).await.ok().sees("Note number 1.");
    assert!(last.links().iter().all(|(_, words)| words != "Older lines"));
    circle.parent.opens(&last.link("Back to the newest")).await.ok().sees("One more.");
}

#[tokio::test]
async fn five_hundred_lines_are_shown_without_a_wait() {
    let world = World::new().await;
    let circle = world.circle().await;
    for number in 0..500 {
        circle
            .teacher
            .submits(&circle.pupil.at("/thread"), &[("to", "note"), ("body", &format!("Note {number}"))])
            .await
            .redirected_to();
    }
    let started = Instant::now();
    circle.parent.opens(&circle.pupil.at("/thread?kind=notes")).await.ok().sees("of 500");
    // Without optimisation and beside other tests; a query for each line takes far longer.
    assert!(started.elapsed() < Duration::from_secs(3), "{:?}", started.elapsed());
}
