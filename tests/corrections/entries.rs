//! Observations and sessions amended by those who entered them, and marked as
//! entered in error: what every figure makes of it.

use jiff::SignedDuration;

use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

const SAVE: &str = "Save";

/// A day and an hour pass: what was entered is locked.
async fn a_day_later(world: &World, people: &[&Person]) {
    world.passes(SignedDuration::from_hours(25));
    for person in people {
        person.signs_in().await;
    }
}

#[tokio::test]
async fn an_entry_is_changed_for_a_day_and_then_amended_with_a_reason() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (class, parent, teacher) = (&circle.class, &circle.parent, &circle.teacher);
    let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("correct", "3"), ("tried", "8")];
    let entry = class.presses(&circle.pupil.at("/observations/new"), SAVE, &fields).await.redirected_to();
    let amend = format!("{entry}/amend");
    class.opens(&amend).await.ok().sees("Change this entry").lacks("Why it is amended");
    assert_eq!(class.presses(&amend, SAVE, &[("correct", "4")]).await.redirected_to(), entry);
    class.opens(&entry).await.ok().sees("4 of 8 right");
    a_day_later(&world, &[class, parent, teacher, &circle.clinician]).await;

    let form = class.opens(&amend).await.ok().sees("Amend this entry").sees("both texts stay");
    assert_eq!(form.value_of("correct").as_deref(), Some("4"));
    let before = world.content().await;
    let kept = class.presses(&amend, SAVE, &[("correct", "6"), ("note", "by the window")]).await.refused("reason");
    assert_eq!(kept.value_of("note").as_deref(), Some("by the window"));
    class.presses(&amend, SAVE, &[("reason", "a slip")]).await.status(422).sees("Nothing was changed.");
    let long = "r".repeat(5_000);
    class.presses(&amend, SAVE, &[("correct", "6"), ("reason", &long)]).await.refused("reason");
    // What was seen in class does not become a note from home.
    teacher.opens(&amend).await.hidden();
    circle.clinician.opens(&amend).await.hidden();
    parent.opens(&amend).await.forbidden();
    parent.submits(&amend, &[("correct", "8"), ("reason", "mine now")]).await.forbidden();
    assert_eq!(world.content().await, before);

    let fields = [("correct", "6"), ("reason", "two were counted wrong")];
    assert_eq!(class.presses(&amend, SAVE, &fields).await.redirected_to(), entry);
    let page = class.opens(&entry).await.ok().sees("6 of 8 right").sees("What was amended");
    let seen = page.seen();
    for (first, then) in [("Before 4 of 8", "After 6 of 8"), ("Before 3 of 8", "After 4 of 8")] {
        let (first, then) = (seen.find(first), seen.find(then));
        assert!(first.is_some() && first < then, "before stands above after:\n{seen}");
    }
    assert!(seen.contains("two were counted wrong") && seen.contains(&class.name), "{seen}");
    class.opens(&circle.pupil.at("/observations")).await.ok().sees("Amended on 17 September 2026");
    // What was changed before the lock opened is not the family's to read.
    parent.opens(&entry).await.ok().sees("Before 4 of 8").sees("After 6 of 8").lacks("3 of 8");
    teacher.opens(&entry).await.ok().sees("6 of 8 right").sees("two were counted wrong");
    teacher.opens(&circle.pupil.at("/thread")).await.ok().sees("Observation in class amended");
}

#[tokio::test]
async fn what_was_taken_from_the_task_is_not_taken_anew_when_a_note_is_amended() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let entry = team.is_seen_in_class().await;
    a_day_later(&world, &[&team.classroom, &team.teacher]).await;
    let task = world.newest("visual_task", &team.pupil).await.expect("a task");
    team.teacher.presses(&team.at(&format!("/tasks/{task}")), "Save", &[("x_height", "9 cm")]).await.redirected_to();
    let amend = format!("{entry}/amend");
    let fields = [("note", "In the second row"), ("reason", "left out")];
    team.classroom.presses(&amend, SAVE, &fields).await.redirected_to();
    let page = team.classroom.opens(&entry).await.ok().sees("3.5 cm (from the task)").sees("In the second row");
    page.lacks("9 cm");
    // Another device or day asks the gate again; none was in hand a year ago.
    let before = world.content().await;
    let long_ago = world.day(-40);
    let fields = [("seen_on", long_ago.as_str()), ("reason", "another day")];
    let refused = team.classroom.presses(&amend, SAVE, &fields).await;
    assert!([409, 422].contains(&refused.code()), "{}", refused.seen());
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn an_entry_in_error_stays_listed_with_its_reason_and_can_be_taken_back() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (class, parent) = (&circle.class, &circle.parent);
    let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("result", "all")];
    let entry = class.presses(&circle.pupil.at("/observations/new"), SAVE, &fields).await.redirected_to();
    let (error, list) = (format!("{entry}/error"), circle.pupil.at("/observations"));
    let before = world.content().await;
    class.presses(&error, "Mark as entered in error", &[]).await.refused("reason");
    class.submits(&error, &[("mark", "gone"), ("reason", "x")]).await.status(422);
    for person in [&circle.teacher, &circle.clinician] {
        person.submits(&error, &[("mark", "in_error"), ("reason", "not mine")]).await.hidden();
    }
    parent.submits(&error, &[("mark", "in_error"), ("reason", "not mine")]).await.forbidden();
    assert_eq!(world.content().await, before);

    let two = [class.opens(&error).await.ok(), class.opens(&error).await.ok()];
    let why = [("reason", "That was another child")];
    class.presses_on(&two[0], "Mark as entered in error", &why).await.redirected_to();
    let marked = world.content().await;
    class.presses_on(&two[1], "Mark as entered in error", &why).await.status(409);
    assert_eq!(world.content().await, marked);
    class.opens(&list).await.ok().sees("Entered in error, counted nowhere").sees("That was another child");
    class.opens(&entry).await.ok().sees("Entered in error").lacks("small letters");
    // The words of a locked entry are not told by the reason either.
    parent.opens(&list).await.ok().sees("Entered in error, counted nowhere").lacks("another child");
    assert_eq!(class.opens(&format!("{entry}/amend")).await.redirected_to(), error);
    let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("result", "some"), ("reason", "a slip")];
    class.submits(&format!("{entry}/amend"), &fields).await.status(422).sees("Say first that it was no error");
    assert_eq!(world.content().await, marked);

    class.presses(&error, "It was no error", &[("reason", "It was Wren after all")]).await.redirected_to();
    class
        .opens(&entry)
        .await
        .ok()
        .sees("That was another child")
        .sees("It was Wren after all")
        .lacks("Entered in error, counted nowhere");
}

#[tokio::test]
async fn two_who_amend_one_entry_at_once_see_both_texts_and_lose_none() {
    let world = World::new().await;
    let circle = world.circle().await;
    let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("correct", "3"), ("tried", "8")];
    let entry = circle.class.presses(&circle.pupil.at("/observations/new"), SAVE, &fields).await.redirected_to();
    let amend = format!("{entry}/amend");
    let (first, second) = (circle.class.opens(&amend).await.ok(), circle.class.opens(&amend).await.ok());
    circle.class.presses_on(&first, SAVE, &[("note", "the first words")]).await.redirected_to();
    let before = world.content().await;
    let page = circle.class.presses_on(&second, SAVE, &[("note", "the second words")]).await;
    page.status(409).sees("the first words").sees("the second words");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_session_is_amended_exercise_by_exercise_and_its_figures_follow() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let session = team.trains(&DISTANCE).await;
    a_day_later(&world, &[&team.teacher, &team.parent]).await;
    let amend = format!("{session}/amend");
    team.teacher.opens(&session).await.ok().sees("8 of 10 right");
    let form = team.teacher.opens(&amend).await.ok().sees("Amend this session");
    assert_eq!(form.value_of("e1_right").as_deref(), Some("8"));
    assert_eq!(form.value_of("e1_distance").as_deref(), Some("3 m"));
    let before = world.content().await;
    team.teacher.presses(&amend, "Save the session", &[("e1_right", "2")]).await.refused("reason");
    team.teacher.presses(&amend, "Save the session", &[("reason", "x")]).await.status(422).sees("Nothing was changed.");
    team.teacher.presses(&amend, "Save the session", &[("e1_right", "11"), ("reason", "x")]).await.refused("e1_right");
    // G5 is asked of a skill that was not in the session before.
    let later = [("e1_skill", "tracking"), ("reason", "the wrong line")];
    team.teacher.presses(&amend, "Save the session", &later).await.refused("order_reason");
    for person in [&team.parent, &team.classroom, &team.clinician] {
        let answer = person.submits(&amend, &[("e1_right", "2"), ("reason", "mine")]).await;
        assert!([403, 404].contains(&answer.code()), "{}", answer.seen());
    }
    assert_eq!(world.content().await, before);

    let fields = [("e1_right", "2"), ("minutes", "25"), ("reason", "two cards were mixed up")];
    team.teacher.presses(&amend, "Save the session", &fields).await.redirected_to();
    team.teacher
        .opens(&session)
        .await
        .ok()
        .sees("2 of 10 right")
        .sees("Exercise 1: Right")
        .sees("two cards were mixed up")
        .sees("Minutes Before 20 After 25");
    team.teacher.opens(&team.at("/training")).await.ok().sees("2 of 10").sees("amended on 17 September 2026");
    team.parent.opens(&session).await.ok().sees("Before 8 After 2");
    assert_eq!(world.count("exercise").await, 1);
}

#[tokio::test]
async fn what_was_entered_in_error_is_in_no_figure() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let sessions = [team.trains(&DISTANCE).await, team.trains(&DISTANCE).await];
    let page = team.classroom.opens(&team.at("/observations/new")).await.ok();
    let task = page.choices_of("task").into_iter().next().expect("the student's own task");
    let fields =
        [("task", task.as_str()), ("device_out", "chose_not"), ("non_use", "embarrassed"), ("result", "did_not_try")];
    let refused = team.classroom.presses_on(&page, SAVE, &fields).await.redirected_to();
    let fields =
        [("task", task.as_str()), ("device_out", "not_needed"), ("correct", "3"), ("tried", "8"), ("help", "none")];
    let page = team.classroom.opens(&team.at("/observations/new")).await.ok();
    let seen = team.classroom.presses_on(&page, SAVE, &fields).await.redirected_to();
    let draft = team.drafts_summary(&DISTANCE).await;
    let figures = async || team.teacher.opens(&draft).await.ok();
    figures().await.sees("16 of 20").sees("3 of 8").sees("mbarrassed or teased");
    team.teacher.opens("/today").await.ok().sees("Training: today").sees("Classroom: today");

    let why = [("reason", "It was another child")];
    for entry in [&refused, &seen] {
        team.classroom.presses(&format!("{entry}/error"), "Mark as entered in error", &why).await.redirected_to();
    }
    team.teacher.presses(&format!("{}/error", sessions[1]), "Mark as entered in error", &why).await.redirected_to();
    team.teacher.presses(&draft, "Save the draft", &[]).await.redirected_to();
    let after = figures().await.sees("8 of 10");
    after.lacks("16 of 20").lacks("3 of 8").lacks("mbarrassed or teased");
    team.teacher.presses(&format!("{}/error", sessions[0]), "Mark as entered in error", &why).await.redirected_to();
    team.teacher.presses(&draft, "Save the draft", &[]).await.redirected_to();
    figures().await.lacks("8 of 10");
    team.teacher.opens("/today").await.ok().lacks("Training: today").lacks("Classroom: today");
    team.teacher
        .opens(&team.at("/training"))
        .await
        .ok()
        .sees("Entered in error, counted nowhere")
        .sees("It was another child")
        .lacks("8 of 10");

    team.teacher.presses(&format!("{}/error", sessions[0]), "It was no error", &why).await.redirected_to();
    figures().await.sees("8 of 10");
}

#[tokio::test]
async fn a_skill_is_not_steady_by_a_session_entered_in_error() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    // Steady: 4 of 5 right with a hint at most, in 3 sessions, 2 places, 2 dates (common practice).
    let mut sessions = Vec::new();
    for (place, days) in [("quiet_room", 0), ("own_class", 1), ("quiet_room", 0)] {
        world.days_later(days).await;
        let page = team.teacher.opens(&team.at("/training/new?track=distance")).await.ok();
        let device = page.choices_of("device").into_iter().find(|value| value != "none").expect("a device in hand");
        let fields = [
            ("device", device.as_str()),
            ("minutes", "20"),
            ("place", place),
            ("body", "seated"),
            ("e1_skill", "focusing"),
            ("e1_tries", "5"),
            ("e1_right", "5"),
            ("e1_prompt", "5"),
        ];
        sessions.push(team.teacher.presses_on(&page, "Save the session", &fields).await.redirected_to());
    }
    let new = team.at("/training/new?track=distance");
    team.teacher.opens(&new).await.ok().sees("Met the rule: focusing").sees("Next in order: spotting");
    let why = [("reason", "held with another child")];
    team.teacher.presses(&format!("{}/error", sessions[1]), "Mark as entered in error", &why).await.redirected_to();
    team.teacher.opens(&new).await.ok().sees("No skill has met the rule yet").sees("Next in order: focusing");
    let later = [("e1_skill", "spotting"), ("e1_tries", "5"), ("e1_right", "5"), ("e1_prompt", "5")];
    team.teacher.presses(&new, "Save the session", &later).await.refused("order_reason");
}
