//! What to try at home: a draft is its writer's, a release is the family's, and
//! the family answers with a note.

use farpoint::care::consent::Direction;
use farpoint::care::task::TaskCode;

use crate::world::World;

const SAVE: &str = "Save the draft";
const RELEASE: &str = "Release it to the family";
const TRIED: &str = "We tried it";
const WORDS: &str = "Read the scores from the sofa, five minutes.";

#[tokio::test]
async fn the_family_reads_what_is_released_and_the_class_nothing() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (home, edit) = (circle.pupil.at("/card/at-home"), circle.pupil.at("/card/at-home/edit"));
    circle.teacher.presses(&edit, SAVE, &[("body", WORDS), ("task", "tv")]).await.redirected_to();
    circle.teacher.opens(&home).await.ok().sees("Draft, not released").sees(WORDS);
    for path in ["/card/at-home", "/card", "", "/thread"] {
        circle.parent.opens(&circle.pupil.at(path)).await.ok().lacks(WORDS);
    }
    circle.parent.opens("/today").await.ok().lacks(WORDS).lacks(TRIED);
    circle.teacher.presses(&home, RELEASE, &[]).await.redirected_to();
    // No card is needed for it.
    circle.parent.opens("/today").await.ok().sees(WORDS).sees(TRIED);
    for path in ["/card/at-home", "/card", ""] {
        circle.parent.opens(&circle.pupil.at(path)).await.ok().sees(WORDS);
    }
    circle.parent.opens(&circle.pupil.at("/thread")).await.ok().sees("What to try at home released");
    for path in ["", "/card", "/thread"] {
        circle.class.opens(&circle.pupil.at(path)).await.ok().lacks(WORDS).lacks("try at home");
    }
    circle.class.opens("/today").await.ok().lacks(WORDS);
    circle.class.opens(&home).await.hidden();
    // The clinician by a consent, and released only.
    circle.clinician.opens(&home).await.hidden();
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    circle.clinician.opens(&home).await.ok().sees(WORDS);
    for person in [&circle.parent, &circle.clinician] {
        person.opens(&edit).await.forbidden();
        person.submits(&edit, &[("body", "other")]).await.forbidden();
        person.submits(&circle.pupil.at("/card/at-home/release"), &[]).await.forbidden();
    }
    circle.class.submits(&edit, &[("body", "other")]).await.hidden();
}

#[tokio::test]
async fn a_released_edition_never_changes_and_the_next_starts_as_its_copy() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (home, edit) = (circle.pupil.at("/card/at-home"), circle.pupil.at("/card/at-home/edit"));
    circle.teacher.presses(&edit, SAVE, &[("body", WORDS), ("task", "tv")]).await.redirected_to();
    let stale = circle.teacher.opens(&home).await.ok();
    let typed = circle.teacher.opens(&edit).await.ok();
    circle.teacher.presses_on(&stale, RELEASE, &[]).await.redirected_to();
    // A form opened before the release writes nothing over it, and loses nothing.
    circle.teacher.presses_on(&typed, SAVE, &[("body", "Too late")]).await.status(409).sees("Too late").sees(WORDS);
    let page = circle.teacher.opens(&edit).await.ok();
    assert_eq!(page.value_of("body").as_deref().map(str::trim), Some(WORDS));
    assert_eq!(page.value_of("task").as_deref(), Some("tv"));
    circle
        .teacher
        .presses_on(&page, SAVE, &[("body", "Now the fridge."), ("task", "fridge_list")])
        .await
        .redirected_to();
    circle.parent.opens(&home).await.ok().sees(WORDS).lacks("Now the fridge.");
    circle.teacher.presses(&home, RELEASE, &[]).await.redirected_to();
    circle.parent.opens(&home).await.ok().sees("Now the fridge.").sees("Edition 2").sees("Edition 1").sees(WORDS);
    circle.parent.opens("/today").await.ok().sees("Now the fridge.").lacks(WORDS);
    let before = world.content().await;
    circle.teacher.submits(&circle.pupil.at("/card/at-home/release"), &[("version", "2")]).await.status(409);
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn what_is_withdrawn_is_the_familys_no_longer_and_nothing_older_comes_back() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (home, edit) = (circle.pupil.at("/card/at-home"), circle.pupil.at("/card/at-home/edit"));
    let withdraw = circle.pupil.at("/card/at-home/withdraw");
    for body in ["Find the kettle.", "Find the clock."] {
        circle.teacher.presses(&edit, SAVE, &[("body", body)]).await.redirected_to();
        circle.teacher.presses(&home, RELEASE, &[]).await.redirected_to();
    }
    let open = circle.teacher.opens(&home).await.ok();
    let before = world.content().await;
    circle.teacher.presses_on(&open, "Withdraw it", &[("reason", " ")]).await.refused("reason");
    for person in [&circle.parent, &circle.class, &circle.clinician] {
        let code = person.submits(&withdraw, &[("reason", "mine"), ("version", "2")]).await.code();
        assert!([403, 404].contains(&code), "{code}");
    }
    assert_eq!(world.content().await, before);
    circle.teacher.presses_on(&open, "Withdraw it", &[("reason", "It is too hot there.")]).await.redirected_to();
    circle.teacher.submits(&withdraw, &[("reason", "again"), ("version", "2")]).await.status(409).sees("again");
    for path in [home.clone(), circle.pupil.at("/card"), circle.pupil.at(""), "/today".to_owned()] {
        circle.parent.opens(&path).await.ok().lacks("clock").lacks("kettle").lacks(TRIED);
    }
    circle.parent.opens(&circle.pupil.at("/thread")).await.ok().sees("What to try at home withdrawn");
    circle.teacher.opens(&home).await.ok().sees("It is too hot there.").sees("Find the clock.");
    circle.teacher.presses(&edit, SAVE, &[("body", "Find the door.")]).await.redirected_to();
    circle.teacher.presses(&home, RELEASE, &[]).await.redirected_to();
    circle.parent.opens(&home).await.ok().sees("Find the door.").lacks("clock").lacks("kettle");
}

#[tokio::test]
async fn we_tried_it_starts_a_note_with_the_thing_filled_in_and_comes_back_to_the_teacher() {
    let world = World::new().await;
    let circle = world.circle().await;
    let task = world.task(&circle, TaskCode::FridgeList, "List on the fridge").await.to_string();
    let (home, edit) = (circle.pupil.at("/card/at-home"), circle.pupil.at("/card/at-home/edit"));
    circle.teacher.presses(&edit, SAVE, &[("body", WORDS), ("task", &task)]).await.redirected_to();
    circle.teacher.presses(&home, RELEASE, &[]).await.redirected_to();
    let today = circle.parent.opens("/today").await.ok();
    let link = today.link("We tried it for Wren Ashdown-Lal");
    assert_eq!(circle.parent.opens(&home).await.ok().link(TRIED), link);
    let form = circle.parent.opens(&link).await.ok().sees("You tried this:").sees(WORDS);
    assert_eq!(form.value_of("task").as_deref(), Some(task.as_str()));
    let fields = [("flag", "no"), ("place", "home"), ("device_out", "not_needed"), ("result", "most")];
    // A form that comes back still knows what it answers.
    let again = circle.parent.presses_on(&form, "Save", &fields[1..]).await.refused("flag").sees(WORDS);
    let note = circle.parent.presses_on(&again, "Save", &fields).await.redirected_to();
    assert_eq!(circle.teacher.opens(&home).await.ok().link("Note 1 from home"), note);
    circle.teacher.opens(&note).await.ok().sees("List on the fridge");
    assert_eq!(world.count("tried_at_home").await, 1);
    // A note that answers nothing of the kind is a note all the same.
    let odd = format!("{}?home=01a21218-9998-72a4-8994-0a7c5ebffc63", circle.pupil.at("/observations/new"));
    let form = circle.parent.opens(&odd).await.ok().lacks("You tried this");
    circle.parent.presses_on(&form, "Save", &[&fields[..], &[("task", "tv")]].concat()).await.redirected_to();
    assert_eq!(world.count("tried_at_home").await, 1);
    // A kind of thing, where the student has no such task of their own.
    circle.teacher.presses(&edit, SAVE, &[("body", "Now the score."), ("task", "tv")]).await.redirected_to();
    circle.teacher.presses(&home, RELEASE, &[]).await.redirected_to();
    let link = circle.parent.opens(&home).await.ok().link(TRIED);
    assert_eq!(circle.parent.opens(&link).await.ok().value_of("task").as_deref(), Some("tv"));
}

#[tokio::test]
async fn an_edition_needs_words_and_a_thing_that_is_offered() {
    let world = World::new().await;
    let circle = world.circle().await;
    let edit = circle.pupil.at("/card/at-home/edit");
    let other = world.circle().await;
    let elsewhere = world.task(&other, TaskCode::Tv, "Television").await.to_string();
    let before = world.content().await;
    let long = "w".repeat(5_000);
    for (body, task, field) in
        [("", "", "body"), (long.as_str(), "", "body"), (WORDS, "moon", "task"), (WORDS, elsewhere.as_str(), "task")]
    {
        let page = circle.teacher.submits(&edit, &[("body", body), ("task", task)]).await.refused(field);
        assert_eq!(page.value_of("body").unwrap_or_default().trim(), body);
    }
    assert_eq!(world.content().await, before);
}
