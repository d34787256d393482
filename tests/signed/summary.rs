//! A sent summary: amended, superseded, entered in error; and what it is behind
//! of, each reason with its link.

use farpoint::access::Access;
use farpoint::access::action::Amend;
use farpoint::access::resource::{ClassObservation, Training};
use farpoint::access::standing::Password;
use farpoint::care::amendment::{Change, Correction};
use farpoint::care::ids::{ObservationId, SessionId};
use farpoint::store::{Audit, amendment, standing};

use super::{AMEND, ANEW, corrects, errs, evaluates_anew, evaluation, summary};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

#[tokio::test]
async fn its_words_are_amended_and_its_figures_stay_frozen() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let sent = summary(&world, &team).await;
    let frozen = world.content().await["summary"];
    let fields = [("text_questions", "Is this the eye to keep?"), ("amend_reason", "I wrote device.")];
    corrects(&team.teacher, &sent, AMEND, &fields).await.redirected_to();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        person.opens(&sent).await.ok().sees("Is this the eye to keep?").sees("Is this the device to keep?");
    }
    team.clinician.opens(&team.at("/review/distance")).await.ok().sees("Is this the eye to keep?");
    assert_eq!(world.content().await["summary"], frozen);
    let statement = [("text_look_at", "A stronger one."), ("amend_reason", "more")];
    corrects(&team.teacher, &sent, AMEND, &statement).await.refused("text_look_at");
}

#[tokio::test]
async fn a_newer_one_takes_its_place() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let old = summary(&world, &team).await;
    let why = [("supersede_reason", "The holiday was another week.")];
    let draft = corrects(&team.teacher, &old, ANEW, &why).await.redirected_to();
    let page = team.teacher.opens(&draft).await.ok().sees("This will take the place of a summary that was sent");
    assert_eq!(page.value_of("questions").as_deref(), Some("Is this the device to keep?"));
    let fields = [("few_reason", "A flu went round.")];
    team.teacher.presses(&draft, "Save the draft", &fields).await.redirected_to();
    world.passes(jiff::SignedDuration::from_mins(1));
    team.sends_summary(&draft).await;
    for person in [&team.teacher, &team.clinician, &team.parent] {
        person.opens(&old).await.ok().sees("Superseded").sees("The holiday was another week.");
        let told = person.opens(&draft).await.ok().table("What changed");
        assert!(told.rows.iter().any(|row| row[2] == "A flu went round."), "{:?}", told.rows);
    }
    // The review is on the newer one, the older is listed as what it is.
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok().sees("A flu went round.");
    page.sees(", superseded");
}

#[tokio::test]
async fn entered_in_error_it_was_never_sent() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let sent = summary(&world, &team).await;
    errs(&team.teacher, &sent).await.redirected_to();
    let page = team.clinician.opens(&sent).await.ok().sees("Entered in error");
    assert_eq!(page.stages(), ["Distance: training on loan", "Near: awaiting evaluation"]);
    team.clinician.opens(&team.at("/review/distance")).await.ok().sees("No training summary of this track was sent");
    team.teacher.opens(&team.at("/summaries")).await.ok().sees("Entered in error");
    // G8: it covers nothing any more.
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    let devices = page.choices_of("finalised");
    let mut fields = vec![("choice", "finalise"), ("reason", "It reads the board."), ("password", PASSWORD)];
    fields.extend(devices.iter().map(|device| ("finalised", device.as_str())));
    team.clinician.presses_on(&page, "Sign the decision", &fields).await.blocked("No training summary");
}

#[tokio::test]
async fn it_is_behind_once_one_of_its_entries_is_amended() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let sent = summary(&world, &team).await;
    team.teacher.opens(&sent).await.ok().lacks("This summary is behind");
    world.passes(jiff::SignedDuration::from_mins(1));
    let (session, seen) = (
        world.newest("training_session", &team.pupil).await.unwrap(),
        world.newest("observation:setting:classroom", &team.pupil).await.unwrap(),
    );
    // Setup: both corrected, each by who entered it.
    let correction = Correction::because([Change::of("Right", "8", "7")], "counted twice").unwrap();
    let mut tx = world.store().tx().await.unwrap();
    let standing_of = standing::of(&mut tx, team.teacher.actor(), team.pupil.id, Password::NotEntered).await.unwrap();
    let access = Access::<Training, Amend>::grant(team.teacher.actor(), team.pupil.id, &standing_of).unwrap();
    amendment::write(&mut tx, &access, session.parse::<SessionId>().unwrap(), &correction).await.unwrap();
    let classroom = team.classroom.actor();
    let standing_of = standing::of(&mut tx, classroom, team.pupil.id, Password::NotEntered).await.unwrap();
    let seeing = Access::<ClassObservation, Amend>::grant(classroom, team.pupil.id, &standing_of).unwrap();
    amendment::write(&mut tx, &seeing, seen.parse::<ObservationId>().unwrap(), &correction).await.unwrap();
    tx.commit(Audit::by(&access).record(&session)).await.unwrap();
    // Young entries are their authors' to read; the lists tell of them.
    let young = team.clinician.opens(&sent).await.ok().links();
    assert!(young.iter().any(|(to, said)| *to == team.at("/training") && said.ends_with("was amended")), "{young:?}");
    world.days_later(2).await;

    for (person, path) in [(&team.teacher, sent.clone()), (&team.clinician, team.at("/review/distance"))] {
        let page = person.opens(&path).await.ok().sees("This summary is behind");
        let links = page.links();
        for (place, id) in [("training", &session), ("observations", &seen)] {
            let href = team.at(&format!("/{place}/{id}"));
            let found = links.iter().find(|(to, said)| *to == href && said.ends_with("was amended"));
            assert!(found.is_some(), "{links:?}");
            person.opens(&href).await.ok();
        }
    }
}

#[tokio::test]
async fn it_is_behind_once_there_is_more_and_lists_each_with_its_link() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let sent = summary(&world, &team).await;
    world.days_later(2).await;
    let trained = team.trains(&DISTANCE).await;
    let seen = team.is_seen_in_class().await;
    let old = evaluation(&world, &team).await;
    let new = evaluates_anew(&team, &old, &[]).await;
    let lost = [("glasses", "lost"), ("reason", "He broke them.")];
    team.teacher.presses(&team.at("/intake/eyes"), "Save and go on", &lost).await.redirected_to();
    world.days_later(2).await;
    for path in [sent.clone(), team.at("/review/distance")] {
        let page = team.clinician.opens(&path).await.ok().sees("This summary is behind");
        let links = page.links();
        let said = |to: &str| {
            let found = links.iter().find(|(href, _)| *href == to || *href == team.at(to));
            found.unwrap_or_else(|| panic!("{to}: {links:?}")).1.clone()
        };
        let trained = trained.split(['?', '#']).next().unwrap();
        assert!(said(trained).ends_with("after its last day"), "{}", said(trained));
        assert!(said(seen.split(['?', '#']).next().unwrap()).ends_with("after its last day"));
        assert!(said(&old).ends_with("was superseded"));
        assert!(said(&new).ends_with("was signed"));
        page.sees("What is known about the glasses changed");
    }
    // Nothing of it went into what was sent.
    team.clinician.opens(&format!("{sent}/print")).await.ok().lacks("behind");
}

#[tokio::test]
async fn a_draft_opened_again_marks_the_figures_that_changed() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let draft = team.drafts_summary(&DISTANCE).await;
    team.teacher.opens(&draft).await.ok().lacks("Some figures changed");
    team.trains(&DISTANCE).await;
    let page = team.teacher.opens(&draft).await.ok().sees("Some figures changed");
    let told = page.table("Figures that changed since this draft was saved");
    let sessions = told.rows.iter().find(|row| row[0] == "Sessions").expect("one more was held");
    assert_eq!([&sessions[1], &sessions[2]], ["3 on 2 dates, 60 minutes", "4 on 2 dates, 80 minutes"]);
}

#[tokio::test]
async fn only_a_vision_teacher_of_the_team_corrects_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let sent = summary(&world, &team).await;
    let elsewhere = world.vision_teacher().await;
    let before = super::signed_rows(&world).await;
    let fields = [("text_words", "mine"), ("amend_reason", "mine"), ("error_reason", "mine"), ("version", "0")];
    let fields = [&fields[..], &[("error_password", PASSWORD), ("supersede_reason", "mine")]].concat();
    for person in [&team.clinician, &team.parent, &team.classroom, &elsewhere] {
        for act in ["amend", "supersede", "error", "discard"] {
            let page = person.submits(&format!("{sent}/{act}"), &fields).await;
            assert!([403, 404].contains(&page.code()), "{}", page.asked());
        }
    }
    assert_eq!(super::signed_rows(&world).await, before);
}
