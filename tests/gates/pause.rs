//! G9 the safety pause: anybody raises it, device training stops at once, a
//! clinician clears it.

use super::{closed, loan_of, session};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

#[tokio::test]
async fn g9_a_flag_by_anybody_stops_training_on_every_track_until_a_clinician_clears_it() {
    let world = World::new().await;
    for (track, raiser) in [(&DISTANCE, "classroom"), (&NEAR, "parent"), (&DISTANCE, "teacher"), (&NEAR, "clinician")] {
        let team = Team::up_to(&world, track, Step::Ready).await;
        let (loan, today) = (loan_of(&world, &team).await, world.day(0));
        let lesson = session(track, &loan, &today, "focusing");
        let path = team.at("/training/new");
        team.teacher.submits(&path, &lesson).await.redirected_to();
        let person = match raiser {
            "classroom" => &team.classroom,
            "parent" => &team.parent,
            "teacher" => &team.teacher,
            _ => &team.clinician,
        };
        person.presses(&team.at("/safety"), "Send the red flag", &[("sign", "rf1")]).await.redirected_to();
        let probe = [&lesson[..], &[("baseline", "yes")]].concat();
        for fields in [&lesson, &probe] {
            closed(&world, &team, (&team.teacher, "/training/new"), fields, ("paused", "/safety")).await;
        }
        // Without a device it goes on.
        team.teacher.submits(&path, &session(track, "none", &today, "focusing")).await.redirected_to();

        let flag = world.newest("flag", &team.pupil).await.expect("the flag");
        let clear = team.at(&format!("/safety/{flag}/clear"));
        let note = [("note", "Examined today: nothing new."), ("password", PASSWORD)];
        let before = world.content().await;
        for person in [&team.teacher, &team.classroom, &team.parent] {
            let page = person.submits(&clear, &note).await;
            assert!([403, 404].contains(&page.code()), "{}", page.asked());
        }
        team.clinician.submits(&clear, &[("note", ""), ("password", PASSWORD)]).await.refused("note");
        team.clinician.submits(&clear, &[("note", "Fine"), ("password", "guess")]).await.refused("password");
        assert_eq!(world.content().await["flag"], before["flag"]);
        team.teacher.submits(&path, &lesson).await.status(409);
        team.clinician.submits(&clear, &note).await.redirected_to();
        team.teacher.submits(&path, &lesson).await.redirected_to();
    }
}

#[tokio::test]
async fn g9_every_open_flag_has_to_be_cleared() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let (loan, today) = (loan_of(&world, &team).await, world.day(0));
    let lesson = session(&DISTANCE, &loan, &today, "focusing");
    for (person, sign) in [(&team.parent, "rf4"), (&team.classroom, "rf12")] {
        person.presses(&team.at("/safety"), "Send the red flag", &[("sign", sign)]).await.redirected_to();
        world.passes(jiff::SignedDuration::from_mins(1));
    }
    for still in [true, false] {
        team.teacher.submits(&team.at("/training/new"), &lesson).await.blocked("paused");
        let page = team.clinician.opens(&team.at("/safety")).await.ok();
        let clear = page.links().into_iter().map(|(to, _)| to).find(|to| to.ends_with("/clear")).expect("an open flag");
        let note = [("note", "Looked at."), ("password", PASSWORD)];
        team.clinician.presses(&clear, "Clear the flag", &note).await.redirected_to();
        if still {
            team.teacher.submits(&team.at("/training/new"), &lesson).await.blocked("paused");
        }
    }
    team.teacher.submits(&team.at("/training/new"), &lesson).await.redirected_to();
}

#[tokio::test]
async fn g9_a_records_officer_without_an_eye_doctors_note_clears_nothing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    team.parent.presses(&team.at("/safety"), "Send the red flag", &[("sign", "rf2")]).await.redirected_to();
    let flag = world.newest("flag", &team.pupil).await.expect("the flag");
    let officer = world.steward().await;
    officer.enters_password_again().await;
    let path = format!("/safety/{flag}/clear");
    let note = [("note", "The doctor called"), ("password", PASSWORD)];
    let before = world.content().await;
    officer.submits(&team.at(&path), &note).await.blocked("Attach the eye doctor's written note first");
    assert_eq!(world.content().await, before);
}
