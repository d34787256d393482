//! G1 ask with purpose, G2 evaluation first, G3 readiness first.

use super::{closed, id_in, session, terms};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

#[tokio::test]
async fn g1_an_evaluation_is_asked_for_once_something_to_see_is_named() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    let ask = [("question", "Which device?"), ("requested_on", &world.day(0))];
    let path = "/evaluations/request";
    closed(&world, &team, (&team.teacher, path), &ask, ("Add at least one thing", "/intake")).await;
    team.takes_in(&NEAR).await;
    team.teacher.submits(&team.at(path), &ask).await.redirected_to();
    assert_eq!(world.count("evaluation_request").await, 1);
}

#[tokio::test]
async fn g2_nothing_with_a_device_before_a_signed_evaluation_that_says_it_is_safe() {
    for track in [&DISTANCE, &NEAR] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::Asked).await;
        let device = team.stocks_match(&world, track).await;
        let (today, due) = (world.day(0), world.day(60));
        let lend = format!("/devices/lend/{}", track.code);
        let list = format!("/training/readiness/{}", track.code);
        let terms = terms(id_in(&device), track.eye(), (&today, &due));
        let sign = [("do", "sign"), ("agreed_words", "yes"), ("item_agrees_to_try", "yes")];
        let unknown = "loan:0198f0a0-0000-7000-8000-000000000000";
        let lesson = session(track, unknown, &today, "focusing");
        let probe = [&lesson[..], &[("baseline", "yes")]].concat();
        let stays_closed = async |why: &str| {
            for (path, fields) in [
                (lend.as_str(), &terms[..]),
                (list.as_str(), &sign[..]),
                ("/training/new", &lesson[..]),
                ("/training/new", &probe[..]),
            ] {
                closed(&world, &team, (&team.teacher, path), fields, (why, "/evaluations")).await;
            }
        };
        stays_closed("Training can start after a clinician signs an evaluation").await;
        // A draft opens nothing, however complete.
        let draft = team.evaluates(track).await;
        stays_closed("Training can start after a clinician signs an evaluation").await;
        // Signed, but not safe: closed. The newest answer counts.
        let refusing = format!("{draft}/edit/{}", track.code);
        let not_safe = [("safe", "no"), ("limits", "Treat the pressure first")];
        team.clinician.presses(&refusing, "Save and go on", &not_safe).await.redirected_to();
        team.signs_evaluation(&draft).await;
        stays_closed("needs a new evaluation that says it is safe").await;

        world.passes(jiff::SignedDuration::from_mins(1));
        let draft = team.evaluates(track).await;
        team.signs_evaluation(&draft).await;
        team.teacher.submits(&team.at(&lend), &terms).await.redirected_to();
        team.is_ready(track).await;
        // The other track has its own gate.
        let other = if track.code == "near" { &DISTANCE } else { &NEAR };
        let path = format!("/devices/lend/{}", other.code);
        let why = ("Training can start after a clinician signs", "/evaluations");
        closed(&world, &team, (&team.teacher, &path), &terms, why).await;
    }
}

#[tokio::test]
async fn g2_a_clinician_signs_and_nobody_else() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    let draft = team.evaluates(&DISTANCE).await;
    let before = world.content().await;
    for person in [&team.teacher, &team.classroom, &team.parent] {
        let page = person.submits(&format!("{draft}/sign"), &[("version", "9"), ("password", PASSWORD)]).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
    let after = world.content().await;
    assert_eq!(after["evaluation"], before["evaluation"]);
}

#[tokio::test]
async fn g3_no_training_with_a_device_before_the_readiness_list_is_signed() {
    for track in [&DISTANCE, &NEAR] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::Lent).await;
        let (loan, today) = (super::loan_of(&world, &team).await, world.day(0));
        let lesson = session(track, &loan, &today, "focusing");
        let probe = [&lesson[..], &[("baseline", "yes")]].concat();
        let why = ("Finish and sign the readiness list", "/training");
        for fields in [&lesson, &probe] {
            closed(&world, &team, (&team.teacher, "/training/new"), fields, why).await;
        }
        // Without a device nothing is asked.
        let bare = session(track, "none", &today, "focusing");
        team.teacher.submits(&team.at("/training/new"), &bare).await.redirected_to();

        // The safety rules and "agrees to try" are never passed over; every item
        // that is open is named beside itself.
        let list = team.at(&format!("/training/readiness/{}", track.code));
        let before = world.content().await;
        for item in track.readiness {
            let items: Vec<(String, &str)> = track
                .readiness
                .iter()
                .map(|one| (format!("item_{one}"), if one == item { "not_yet" } else { "yes" }))
                .collect();
            let mut fields: Vec<(&str, &str)> = items.iter().map(|(name, mark)| (name.as_str(), *mark)).collect();
            fields.push(("agreed_words", "nods"));
            team.teacher.presses(&list, "Sign the list", &fields).await.refused(&format!("item_{item}"));
        }
        team.teacher.presses(&list, "Sign the list", &[]).await.refused("agreed_words");
        assert_eq!(world.content().await, before);
        team.is_ready(track).await;
        for fields in [&probe, &lesson] {
            team.teacher.submits(&team.at("/training/new"), fields).await.redirected_to();
        }
    }
}
