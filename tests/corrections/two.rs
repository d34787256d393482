//! Two people in one record: both texts, whose the stored one is and since when,
//! and a choice that loses no word.

use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

/// A form that two have open: its address, its button, a field with the text of
/// each, and where the stored text is read.
struct Form {
    path: String,
    button: &'static str,
    field: &'static str,
    texts: [&'static str; 2],
    label: &'static str,
}

async fn both_save(first: &Person, second: &Person, form: &Form, also: &[(&str, &str)]) {
    let pages = [first.opens(&form.path).await.ok(), second.opens(&form.path).await.ok()];
    let typed = |text| [&[(form.field, text)], also].concat();
    first.presses_on(&pages[0], form.button, &typed(form.texts[0])).await.redirected_to();
    let stale = second.presses_on(&pages[1], form.button, &typed(form.texts[1])).await.status(409);
    let stale = stale.sees("Somebody else saved this meanwhile").sees(form.label).sees(form.texts[0]);
    let stale = stale.sees(form.texts[1]).sees(&format!("Saved by {}", first.name));
    // Until it is chosen, what is stored stays.
    let stored = second.opens(&form.path).await.ok();
    assert_eq!(stored.value_of(form.field).as_deref(), Some(form.texts[0]), "{}", form.path);
    second.presses_on(&stale, "Save my text over it", &[]).await.redirected_to();
    let stored = first.opens(&form.path).await.ok();
    assert_eq!(stored.value_of(form.field).as_deref(), Some(form.texts[1]), "{}", form.path);
    // The page that is older than both saves over nothing.
    first.presses_on(&pages[0], form.button, &typed(form.texts[0])).await;
    let stored = first.opens(&form.path).await.ok();
    assert_eq!(stored.value_of(form.field).as_deref(), Some(form.texts[1]), "{}", form.path);
}

#[tokio::test]
async fn every_form_with_a_version_shows_both_and_lets_its_sender_choose() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let second = world.vision_teacher().await;
    world.joins(&second, &team.pupil, &team.teacher).await;
    let contact = [("name", "Solveig Ashdown-Lal"), ("phone", "555 0100")];
    team.teacher.presses(&team.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
    let newest = async |table: &str| world.newest(table, &team.pupil).await.expect("one was added");
    let forms = [
        Form {
            path: team.at(&format!("/tasks/{}", newest("visual_task").await)),
            button: "Save",
            field: "name",
            texts: ["Board in science", "Board by the window"],
            label: "Name",
        },
        Form {
            path: team.at(&format!("/seats/{}", newest("seat").await)),
            button: "Save",
            field: "room",
            texts: ["Room 14", "Room 15"],
            label: "Room",
        },
        Form {
            path: team.at(&format!("/people/contacts/{}", newest("contact").await)),
            button: "Save",
            field: "phone",
            texts: ["555 0111", "555 0122"],
            label: "Telephone",
        },
    ];
    for form in &forms {
        both_save(&team.teacher, &second, form, &[]).await;
    }
    let session = team.trains(&DISTANCE).await;
    let form = Form {
        path: format!("{session}/amend"),
        button: "Save the session",
        field: "note",
        texts: ["Found the clock", "Found the door"],
        label: "Note",
    };
    both_save(&team.teacher, &second, &form, &[]).await;
    // Both texts of what may be changed without a reason are kept, too.
    second.opens(&forms[0].path).await.ok().sees("What was amended").sees("Board in science");
    second.opens(&forms[1].path).await.ok().sees("What was amended").sees("Room 14");
}

#[tokio::test]
async fn what_is_still_a_draft_and_what_the_pool_holds_may_be_saved_over_knowingly() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let second = world.vision_teacher().await;
    world.joins(&second, &team.pupil, &team.teacher).await;
    team.drafts_card().await;
    team.drafts_try_at_home(&DISTANCE).await;
    let summary = team.drafts_summary(&DISTANCE).await;
    let pool = team.stocks(&world, DISTANCE.device).await;
    let form = |path: String, button, field, texts, label| Form { path, button, field, texts, label };
    let plan = [("period", "week"), ("reason", "as the plan says")];
    let cases: [(Form, &[(&str, &str)]); 6] = [
        (form(team.at("/intake/school"), "Save the plan", "service_minutes", ["60", "90"], "Vision service"), &plan),
        (
            form(
                team.at("/intake/eyes"),
                "Save and go on",
                "student_words",
                ["The board", "The bus"],
                "In the student's words",
            ),
            &[("reason", "said again")],
        ),
        (form(team.at("/card/edit"), "Save and preview", "seat", ["Row 1", "Row 2"], "Seat"), &[]),
        (form(team.at("/card/at-home/edit"), "Save the draft", "body", ["The clock", "The score"], "What to try"), &[]),
        (form(summary, "Save the draft", "words", ["Finds the line.", "Copies it."], "Your account"), &[]),
        (form(pool, "Save the changes", "weight", ["120", "140"], "Weight"), &[]),
    ];
    for (form, also) in &cases {
        both_save(&team.teacher, &second, form, also).await;
    }
}

#[tokio::test]
async fn a_clinicians_drafts_in_two_windows_may_be_saved_over_knowingly() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Decided).await;
    let clinician = &team.clinician;
    let evaluation = team.evaluates(&DISTANCE).await;
    let prescription = team.drafts_prescription(&world).await;
    team.asks().await;
    let days = [world.day(20), world.day(30)];
    let row = clinician.opens(&format!("{evaluation}/edit/acuity")).await.ok();
    let row = row.links().into_iter().map(|(href, _)| href).find(|href| href.contains("/acuity/")).expect("a row");
    let advice = format!("{evaluation}/edit/advice");
    for (path, button, field, texts, label) in [
        (advice.as_str(), "Save and go on", "seating", ["Row 1", "Row 2"], "Seating"),
        (row.as_str(), "Save this row", "note", ["Tired", "Awake"], "Note"),
        (prescription.as_str(), "Save the draft", "lens_note", ["Amber tint", "No tint"], "Lens note"),
    ] {
        let form = Form { path: path.to_owned(), button, field, texts, label };
        both_save(clinician, clinician, &form, &[]).await;
    }
    // The day of an appointment, with a form of its own in the list.
    let list = team.at("/evaluations");
    let pages = [clinician.opens(&list).await.ok(), clinician.opens(&list).await.ok()];
    clinician.presses_on(&pages[0], "Save the day", &[("appointment_on", &days[0])]).await.redirected_to();
    let stale = clinician.presses_on(&pages[1], "Save the day", &[("appointment_on", &days[1])]).await.status(409);
    let stale = stale.sees(&days[0]).sees(&days[1]).sees(&format!("Saved by {}", clinician.name));
    assert_eq!(clinician.opens(&list).await.ok().value_of("appointment_on"), Some(days[0].clone()));
    clinician.presses_on(&stale, "Save my text over it", &[]).await.redirected_to();
    assert_eq!(clinician.opens(&list).await.ok().value_of("appointment_on"), Some(days[1].clone()));
}
