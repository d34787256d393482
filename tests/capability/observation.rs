//! What people saw: entered in few answers, taken from the task, read as far as
//! each may.

use farpoint::access::Role;
use farpoint::care::task::TaskCode;
use jiff::SignedDuration;

use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

const SAVE: &str = "Save";

#[tokio::test]
async fn a_classroom_teacher_answers_three_questions_and_reads_what_it_means() {
    let world = World::new().await;
    let circle = world.circle().await;
    let task = world.task(&circle, TaskCode::BoardMaths, "Sums on the board").await.to_string();
    let new = circle.pupil.at("/observations/new");
    let fields = [("task", task.as_str()), ("device_out", "not_needed"), ("result", "some")];
    let saved = circle.class.presses(&new, SAVE, &fields).await;
    let page = circle.class.follows(&saved).await.ok();
    let page = page
        .sees("Some right at 3.5 cm from 5.2 m. The classroom card is not released yet.")
        .sees("5.2 m (from the task)")
        .sees("3.5 cm (from the task)")
        // Red on white, digits: copied from the task as well.
        .sees("Medium contrast")
        .sees("Digits");
    for clinical in ["logMAR", "acuity", "Acuity", "reserve", "demand"] {
        assert!(!page.source().contains(clinical), "{clinical} in a classroom teacher's page");
    }
    circle
        .class
        .opens(&circle.pupil.at("/observations"))
        .await
        .ok()
        .sees("Sums on the board")
        .sees("Some, half or less right");
    // A vision teacher reads it at once, with its demand: log10 of 23.14' over 5'.
    circle.teacher.follows(&saved).await.ok().sees("a demand of 0.67 logMAR");
}

#[tokio::test]
async fn what_is_typed_counts_before_the_task_and_stays_as_typed() {
    let world = World::new().await;
    let circle = world.circle().await;
    let task = world.task(&circle, TaskCode::BoardMaths, "Sums on the board").await.to_string();
    let fields = [
        ("task", task.as_str()),
        ("device_out", "not_needed"),
        ("correct", "3"),
        ("tried", "8"),
        ("distance", "17 ft"),
        ("x_height", "1 1/2 in"),
        ("contrast", "high"),
        ("target", "words"),
        ("note", "\u{2019}O\u{200f}\u{5e9} \u{1f44d} <b>"),
    ];
    let saved = circle.class.presses(&circle.pupil.at("/observations/new"), SAVE, &fields).await;
    let page = circle.class.follows(&saved).await.ok();
    page.sees("3 of 8 right at 3.8 cm from 5.18 m")
        .sees("typed 17 ft")
        .sees("typed 1 1/2 in")
        .sees("\u{1f44d} <b>")
        .lacks("(from the task)");
}

#[tokio::test]
async fn what_is_missing_or_wrong_is_said_beside_its_field_and_nothing_is_stored() {
    let world = World::new().await;
    let circle = world.circle().await;
    let new = circle.pupil.at("/observations/new");
    let before = world.content().await;
    let whole = [("task", "worksheet"), ("device_out", "not_needed"), ("result", "all"), ("note", "stays here")];
    let long = "n".repeat(10_000);
    let cases = [
        ("task", ""),
        ("task", "street_name"),
        ("task", "01a21218-9998-72a4-8994-0a7c5ebffc63"),
        ("device_out", ""),
        ("device_out", "walking"),
        // No device is on loan.
        ("device_out", "yes"),
        ("result", ""),
        ("result", "plenty"),
        ("distance", "5.2"),
        ("distance", "-3 m"),
        ("distance", "1e999"),
        ("distance", "900 m"),
        ("x_height", "0 mm"),
        ("seen_on", "1890-01-01"),
        ("seen_on", "2027-01-01"),
        ("note", long.as_str()),
        ("glasses", "blue"),
    ];
    for (field, value) in cases {
        let mut fields: Vec<(&str, &str)> = whole.iter().filter(|(name, _)| *name != field).copied().collect();
        fields.push((field, value));
        let page = circle.class.submits(&new, &fields).await.refused(field);
        if field != "note" {
            assert_eq!(page.value_of("note").as_deref(), Some("stays here"), "{field}: what was typed is kept");
        }
    }
    for (right, tried, field) in [("9", "8", "correct"), ("3", "", "tried"), ("", "8", "correct"), ("3", "0", "tried")]
    {
        let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("correct", right), ("tried", tried)];
        circle.class.submits(&new, &fields).await.refused(field);
    }
    let both =
        [("task", "worksheet"), ("device_out", "not_needed"), ("result", "all"), ("correct", "3"), ("tried", "8")];
    circle.class.presses(&new, SAVE, &both).await.refused("result").sees("not both");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn the_same_form_sent_twice_is_stored_once() {
    let world = World::new().await;
    let circle = world.circle().await;
    let page = circle.class.opens(&circle.pupil.at("/observations/new")).await.ok();
    let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("result", "all")];
    let first = circle.class.presses_on(&page, SAVE, &fields).await.redirected_to();
    let second = circle.class.presses_on(&page, SAVE, &fields).await.redirected_to();
    assert_eq!(first, second);
    assert_eq!(world.count("observation").await, 1);
}

#[tokio::test]
async fn for_a_day_an_entry_is_told_of_and_not_told() {
    let world = World::new().await;
    let circle = world.circle().await;
    let fields =
        [("task", "worksheet"), ("device_out", "not_needed"), ("result", "none"), ("note", "tears at the desk")];
    let saved = circle.class.presses(&circle.pupil.at("/observations/new"), SAVE, &fields).await.redirected_to();
    let list = circle.pupil.at("/observations");
    circle.parent.opens(&list).await.ok().sees("An observation").sees("24 hours after entry").lacks("None of it");
    circle.parent.opens(&saved).await.ok().sees("Not open yet").lacks("tears at the desk");
    circle.class.opens(&saved).await.ok().sees("tears at the desk");
    circle.teacher.opens(&saved).await.ok().sees("tears at the desk");
    world.passes(SignedDuration::from_hours(24) - SignedDuration::from_mins(1));
    circle.parent.signs_in().await;
    circle.parent.opens(&saved).await.ok().lacks("tears at the desk");
    world.passes(SignedDuration::from_mins(2));
    circle.parent.opens(&saved).await.ok().sees("tears at the desk");
}

#[tokio::test]
async fn a_note_from_home_asks_for_red_flags_first() {
    let world = World::new().await;
    let circle = world.circle().await;
    let new = circle.pupil.at("/observations/new");
    let fields = [
        ("place", "home"),
        ("task", "tv"),
        ("device_out", "chose_not"),
        ("non_use", "embarrassed"),
        ("result", "did_not_try"),
    ];
    circle.parent.opens(&new).await.ok().sees("including another parent, can read this");
    circle.parent.presses(&new, SAVE, &fields).await.refused("flag").sees("one tap");
    assert_eq!(world.count("observation").await, 0);
    let with = |flag| [&[("flag", flag)], &fields[..]].concat();
    let saved = circle.parent.presses(&new, SAVE, &with("no")).await;
    let page = circle.parent.follows(&saved).await.ok();
    page.sees("You saw that your child did not try at home, without the device.")
        .sees("Embarrassed or teased")
        .lacks("logMAR");
    assert_eq!(world.count("flag").await, 0);
    // Home is not the classroom's to read unless the family shares it.
    circle.class.opens(&saved.redirected_to()).await.hidden();
    circle.class.opens(&circle.pupil.at("/observations")).await.ok().lacks("Television");
    let raised = circle.parent.presses(&new, SAVE, &with("rf2")).await;
    assert_eq!(raised.redirected_to(), circle.pupil.at("/safety"));
    circle.parent.follows(&raised).await.ok().sees("Get eye care today").sees("New flashes of light");
    assert_eq!((world.count("flag").await, world.count("observation").await), (1, 2));
    circle.teacher.opens(&circle.pupil.at("/thread")).await.ok().sees("Red flag raised");
}

#[tokio::test]
async fn a_vision_teacher_enters_for_any_place_and_names_who_told_by_relation() {
    let world = World::new().await;
    let circle = world.circle().await;
    let new = circle.pupil.at("/observations/new");
    let fields = [
        ("place", "shop"),
        ("informant", "a grandparent"),
        ("task", "price_label"),
        ("device_out", "forgot"),
        ("result", "most"),
    ];
    let saved = circle.teacher.presses(&new, SAVE, &fields).await;
    circle.teacher.follows(&saved).await.ok().sees("Community").sees("A grandparent").sees("No, it was forgotten");
    circle.teacher.submits(&new, &[("informant", "Uncle Bob"), ("place", "shop")]).await.refused("informant");
}

#[tokio::test]
async fn street_tasks_are_for_the_mobility_specialist() {
    let world = World::new().await;
    let circle = world.circle().await;
    let street = world.task(&circle, TaskCode::StreetName, "Names of our streets").await.to_string();
    let new = circle.pupil.at("/observations/new");
    let fields = [
        ("flag", "no"),
        ("place", "library"),
        ("task", street.as_str()),
        ("device_out", "not_needed"),
        ("result", "all"),
    ];
    for person in [&circle.teacher, &circle.class, &circle.parent] {
        person.opens(&new).await.ok().lacks("Names of our streets").lacks("alking");
        person.submits(&new, &fields).await.refused("task");
    }
    let specialist = world.person(Some(Role::VisionTeacher), |new| new.mobility = true).await;
    world.joins(&specialist, &circle.pupil, &circle.teacher).await;
    specialist.opens(&new).await.ok().sees("Names of our streets");
    let saved = specialist.submits(&new, &fields).await;
    specialist.follows(&saved).await.ok().sees("Names of our streets");
}

#[tokio::test]
async fn who_may_not_enter_or_read_is_told_nothing() {
    let world = World::new().await;
    let circle = world.circle().await;
    let new = circle.pupil.at("/observations/new");
    let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("result", "all")];
    let saved = circle.class.presses(&new, SAVE, &fields).await.redirected_to();
    let before = world.content().await;
    // The clinician has no consent yet; the others have nothing to do with the student.
    let others = [circle.clinician, world.vision_teacher().await, world.parent().await, world.steward().await];
    let before_others = world.content().await;
    assert_ne!(before, before_others, "three accounts more");
    for person in &others {
        for path in [&new, &saved, &circle.pupil.at("/observations")] {
            person.opens(path).await.hidden();
        }
        person.submits(&new, &fields).await.hidden();
    }
    assert_eq!(world.content().await, before_others);
    // Another teacher of the same class reads her own entries only.
    let second = world.classroom_teacher().await;
    world.joins(&second, &circle.pupil, &circle.teacher).await;
    second.opens(&saved).await.hidden();
    second.opens(&circle.pupil.at("/observations")).await.ok().sees("Nothing is entered yet");
}

#[tokio::test]
async fn the_forms_ask_for_small_letters_and_show_which_height_is_meant() {
    let world = World::new().await;
    let circle = world.circle().await;
    for person in [&circle.class, &circle.parent, &circle.teacher] {
        let page = person.opens(&circle.pupil.at("/observations/new")).await.ok();
        page.sees("Height of the small letters")
            .sees("Small letters such as a, e and o, not capitals")
            .sees("Which height is meant")
            .sees("The arrow shows the height that is meant.")
            .sees("more than half but not all");
    }
    // Where the size of a task is put down, a drawing shows it, in words as well.
    for person in [&circle.class, &circle.teacher] {
        let page = person.opens(&circle.pupil.at("/tasks/new")).await.ok();
        page.sees("Height of the small letters (like a, e, o)")
            .sees("Not the capitals.")
            .sees("Which height is meant")
            .sees("The arrow shows the height that is meant.");
    }
}

#[tokio::test]
async fn reasons_for_not_using_a_device_stay_apart_down_to_the_summary() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let page = team.classroom.opens(&team.at("/observations/new")).await.ok();
    let task = page.choices_of("task").into_iter().next().expect("the student's own task");
    // As often as its place in the list, so that no two could be taken for one another.
    let reasons = ["not_helpful", "embarrassed", "lost_or_broken", "no_time", "not_said"];
    for (times, reason) in (1..).zip(reasons) {
        for _ in 0..times {
            let fields =
                [("task", task.as_str()), ("device_out", "forgot"), ("non_use", reason), ("result", "did_not_try")];
            team.classroom.presses(&team.at("/observations/new"), SAVE, &fields).await.redirected_to();
        }
    }
    let draft = team.drafts_summary(&DISTANCE).await;
    let table = team.teacher.opens(&draft).await.ok().table("Why the device was not used");
    let why: Vec<(&str, &str)> =
        table.rows.iter().filter(|row| row[0] == "Why not?").map(|row| (row[1].as_str(), row[2].as_str())).collect();
    assert_eq!(
        why,
        [
            ("not said", "5"),
            ("no time", "4"),
            ("lost or broken", "3"),
            ("embarrassed or teased", "2"),
            ("it was not helpful", "1"),
        ]
    );
}

#[tokio::test]
async fn whether_words_are_read_up_close_is_asked_once_per_student() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let page = team.teacher.opens(&team.at("/intake/eyes")).await.ok();
    // Answered at the intake, and there to be changed.
    assert_eq!(page.value_of("reads_up_close").as_deref(), Some("yes"));
    team.teacher.opens(&team.at("/intake")).await.ok().sees("Reads words of this kind up close");
    for path in ["/observations/new", "/tasks/new", "/training/new"] {
        let page = team.teacher.opens(&team.at(path)).await.ok();
        assert!(page.choices_of("reads_up_close").is_empty(), "{path} asks again");
    }
    for person in [&team.classroom, &team.parent] {
        let page = person.opens(&team.at("/observations/new")).await.ok();
        assert!(page.choices_of("reads_up_close").is_empty(), "{} is asked again", person.name);
    }
}
