//! Corrections that are not taken: no reason, nothing changed, nothing there,
//! and two windows at once.

use super::{AMEND, ANEW, ERROR, corrects, decision, errs, evaluation, prescription, summary};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::{PASSWORD, Person};
use crate::world::World;

/// Every kind of signed document, with who corrects it and one of its texts.
async fn documents<'t>(world: &World, team: &'t Team) -> [(&'t Person, String, &'static str); 4] {
    [
        (&team.clinician, evaluation(world, team).await, "text_place"),
        (&team.teacher, summary(world, team).await, "text_words"),
        (&team.clinician, decision(world, team).await, "text_reason"),
        (&team.clinician, prescription(world, team).await, "text_limits"),
    ]
}

#[tokio::test]
async fn a_correction_says_why_and_changes_something() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let before = super::signed_rows(&world).await;
    let long = "w".repeat(20_000);
    for (person, document, text) in documents(&world, &team).await {
        let page = corrects(person, &document, AMEND, &[(text, "other words")]).await.refused("amend_reason");
        assert_eq!(page.value_of(text).as_deref(), Some("other words"), "what was typed stays");
        let page = corrects(person, &document, AMEND, &[("amend_reason", "no reason")]).await;
        assert!(page.seen().contains("Nothing is changed yet"), "{}", page.seen());
        assert_eq!(page.code(), 422);
        let spaces = [(text, long.as_str()), ("amend_reason", "too long")];
        corrects(person, &document, AMEND, &spaces).await.refused(text);
        let silent = [("error_reason", ""), ("error_password", PASSWORD)];
        corrects(person, &document, ERROR, &silent).await.refused("error_reason");
        let wrong = [("error_reason", "It is wrong."), ("error_password", "not this one")];
        let page = corrects(person, &document, ERROR, &wrong).await.refused("error_password");
        assert_eq!(page.value_of("error_reason").as_deref(), Some("It is wrong."), "what was typed stays");
        assert_eq!(page.value_of("error_password").unwrap_or_default(), "", "but no password");
        let page = person.opens(&format!("{document}/correct")).await.ok();
        if page.links().iter().all(|(_, words)| words != ANEW) {
            person.presses_on(&page, ANEW, &[]).await.refused("supersede_reason");
        }
    }
    assert_eq!(super::signed_rows(&world).await, before);
}

#[tokio::test]
async fn there_is_nothing_to_correct_in_a_draft_or_at_an_unknown_address() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let other = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let mut absent = vec![
        (&team.clinician, team.evaluates(&DISTANCE).await),
        (&team.clinician, team.drafts_prescription(&world).await),
        (&team.teacher, team.drafts_summary(&DISTANCE).await),
    ];
    let nobody = "01a21218-9998-72a4-8994-0a7c5ebffc63";
    for (person, path) in [
        (&team.clinician, "/evaluations"),
        (&team.clinician, "/prescription"),
        (&team.clinician, "/decisions"),
        (&team.teacher, "/summaries"),
    ] {
        absent.push((person, team.at(&format!("{path}/{nobody}"))));
    }
    // Somebody else's document, under this student's address.
    for (path, what) in [("/evaluations", "evaluation:state:signed"), ("/decisions", "decision")] {
        let id = world.newest(what, &other.pupil).await.unwrap();
        absent.push((&team.clinician, team.at(&format!("{path}/{id}"))));
    }
    let before = super::signed_rows(&world).await;
    let fields = [("text_place", "here"), ("text_words", "these"), ("text_reason", "because"), ("text_limits", "none")];
    let why = [("amend_reason", "why"), ("error_reason", "why"), ("error_password", PASSWORD), ("version", "0")];
    let more = [("supersede_reason", "why"), ("cancel_reason", "why"), ("cancel_password", PASSWORD)];
    let fields = [&fields[..], &why, &more].concat();
    for (person, document) in absent {
        person.opens(&format!("{document}/correct")).await.hidden();
        for act in ["amend", "supersede", "cancel", "error"] {
            person.submits(&format!("{document}/{act}"), &fields).await.hidden();
        }
    }
    assert_eq!(super::signed_rows(&world).await, before);
}

#[tokio::test]
async fn of_two_windows_one_corrects_and_the_other_is_shown_both() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    for (person, document, text) in documents(&world, &team).await {
        let correct = format!("{document}/correct");
        let (first, second) = (person.opens(&correct).await.ok(), person.opens(&correct).await.ok());
        let one = [(text, "the first words"), ("amend_reason", "first")];
        person.presses_on(&first, AMEND, &one).await.redirected_to();
        let before = super::signed_rows(&world).await;
        let two = [(text, "the second words"), ("amend_reason", "second")];
        person.presses_on(&second, AMEND, &two).await.status(409).sees("the first words").sees("the second words");
        assert_eq!(super::signed_rows(&world).await, before);
        // Entered in error twice, and amended after that.
        let (third, fourth) = (person.opens(&correct).await.ok(), person.opens(&correct).await.ok());
        let error = [("error_reason", "It is about another student."), ("error_password", PASSWORD)];
        person.presses_on(&third, ERROR, &error).await.redirected_to();
        let before = super::signed_rows(&world).await;
        person.presses_on(&fourth, ERROR, &error).await.status(409);
        person.presses_on(&fourth, AMEND, &two).await.status(409);
        assert_eq!(super::signed_rows(&world).await, before);
        person.opens(&correct).await.ok().sees("nothing left to correct");
    }
}

#[tokio::test]
async fn what_was_marked_meanwhile_cannot_have_its_place_taken() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let (old, taken) = (evaluation(&world, &team).await, prescription(&world, &team).await);
    let why = [("supersede_reason", "It was wrong.")];
    let hub = corrects(&team.clinician, &old, ANEW, &why).await.redirected_to();
    let draft = corrects(&team.clinician, &taken, ANEW, &why).await.redirected_to();
    errs(&team.clinician, &old).await.redirected_to();
    errs(&team.clinician, &taken).await.redirected_to();
    let before = super::signed_rows(&world).await;
    let password = [("password", PASSWORD)];
    let evaluation = hub.strip_suffix("/edit").unwrap();
    let page = team.clinician.presses(&format!("{evaluation}/preview"), "Sign the evaluation", &password).await;
    page.status(409);
    let why = [("no_summary_reason", "Tried here for an hour.")];
    team.clinician.presses(&draft, "Save the draft", &why).await.redirected_to();
    let page = team.clinician.presses(&format!("{draft}/preview"), "Sign the prescription", &password).await;
    page.status(409);
    let mut after = super::signed_rows(&world).await;
    // Saving the draft changed the draft.
    for table in ["prescription", "device_spec"] {
        after.insert(table.to_owned(), before[table]);
    }
    assert_eq!(after, before);
}
