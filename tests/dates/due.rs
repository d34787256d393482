//! What is due, where it is said, and that nothing of it blocks anything (G11).

use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

/// The site asks for an evaluation every three months.
async fn quarterly(world: &World) -> Person {
    let steward = world.steward().await;
    steward.enters_password_again().await;
    let settings =
        [("owner", "Kestrel Ridge"), ("help", "Hildegard"), ("emergency_number", "911"), ("evaluation_months", "3")];
    steward.presses("/steward", "Save the settings", &settings).await.redirected_to();
    steward
}

#[tokio::test]
async fn an_overdue_evaluation_is_said_on_every_screen_that_uses_its_figures() {
    let world = World::new().await;
    quarterly(&world).await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let was_due = "An evaluation was due on 16 December 2026";
    let screens =
        ["/tasks", "/tasks/new", "/devices", "/training", "/summaries", "/card", "/card/edit", "/prescription"];
    for path in screens {
        team.teacher.opens(&team.at(path)).await.ok().lacks("An evaluation was due");
    }
    world.days_later(92).await;
    for path in screens {
        let page = team.teacher.opens(&team.at(path)).await.ok();
        assert!(page.source().contains(was_due), "{path} says nothing of it");
    }
    for path in ["/review", "/review/distance", "/prescription", "/summaries", "/tasks"] {
        let page = team.clinician.opens(&team.at(path)).await.ok();
        assert!(page.source().contains(was_due), "{path} says nothing of it to the clinician");
    }
    team.teacher.opens(&team.at("")).await.ok().sees("It was due on 16 December 2026. Training goes on.");
    team.teacher.opens("/today").await.ok().sees("The next evaluation was due on 16 December 2026");
    // Not where no figure of it stands.
    for path in ["/people", "/thread", "/safety"] {
        team.teacher.opens(&team.at(path)).await.ok().lacks("An evaluation was due");
    }
    team.classroom.opens(&team.at("/card")).await.ok().lacks("An evaluation was due");
}

#[tokio::test]
async fn an_overdue_evaluation_stops_no_training() {
    let world = World::new().await;
    quarterly(&world).await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    world.days_later(92).await;
    team.teacher.opens(&team.at("")).await.ok().sees("It was due on");
    team.trains(&DISTANCE).await;
    assert_eq!(world.count("training_session").await, 1);
}

#[tokio::test]
async fn the_next_evaluation_is_on_the_list_two_months_and_one_month_ahead() {
    let world = World::new().await;
    quarterly(&world).await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let line = "The next evaluation is due on 16 December 2026";
    // 62 days ahead, then 60, 30, none.
    world.days_later(29).await;
    team.teacher.opens("/today").await.ok().lacks(line);
    world.days_later(2).await;
    team.teacher.opens("/today").await.ok().sees(line).lacks("ask for it now");
    team.clinician.opens("/today").await.ok().sees(line);
    world.days_later(30).await;
    team.teacher.opens("/today").await.ok().sees("The next evaluation is due on 16 December 2026: ask for it now");
    team.parent.opens("/today").await.ok().lacks(line);
    world.days_later(30).await;
    team.teacher.opens("/today").await.ok().sees("The next evaluation was due on 16 December 2026");
}

#[tokio::test]
async fn the_day_that_the_evaluation_names_wins_over_the_sites_interval() {
    let world = World::new().await;
    quarterly(&world).await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    let draft = team.evaluates(&DISTANCE).await;
    let named = [("next_due_on", "2027-01-15")];
    team.clinician.presses(&format!("{draft}/edit/exam"), "Save and go on", &named).await.redirected_to();
    team.signs_evaluation(&draft).await;
    // The site alone would have said 16 December.
    world.days_later(91).await;
    let today = team.teacher.opens("/today").await.ok().lacks("due on 16 December");
    today.sees("The next evaluation is due on 15 January 2027: ask for it now");
    team.teacher.opens(&team.at("/tasks")).await.ok().lacks("An evaluation was due");
    world.days_later(30).await;
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    assert!(page.source().contains("An evaluation was due on 15 January 2027"));
}

#[tokio::test]
async fn a_consent_that_ends_is_told_to_whoever_can_renew_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let steward = world.steward().await;
    let line = "The consent from the school to the clinic ends on 15 September 2027";
    // It lasts until the day before a year is over; told 30 days ahead.
    world.days_later(333).await;
    team.teacher.opens("/today").await.ok().lacks(line);
    world.days_later(1).await;
    for page in ["/today".to_owned(), team.at("/people")] {
        team.teacher.opens(&page).await.ok().sees(line);
        team.parent.opens(&page).await.ok().sees(line);
    }
    team.parent.opens(&team.at("/consents")).await.ok().sees("15 September 2027");
    let today = team.parent.opens("/today").await.ok();
    let (renew, _) = today
        .links()
        .into_iter()
        .find(|(_, words)| words.starts_with("Renew the consent from the school to the clinic"))
        .expect("a way to renew it");
    assert_eq!(renew, team.at("/people/consent/school_to_clinic"));
    // The teacher cannot sign it, so there is no such way for her.
    team.teacher.opens("/today").await.ok().lacks("Renew the consent");

    world.days_later(31).await;
    let ended = "The consent from the school to the clinic ended on 15 September 2027. Nothing new goes across";
    team.teacher.opens("/today").await.ok().sees(ended);
    steward.opens("/today").await.ok().sees(ended);
    steward.enters_password_again().await;
    steward.opens("/steward").await.ok().sees("the consent from the school to the clinic ended on 15 September 2027");

    // Another one in its place, and nothing is due any more.
    world.consents(&team.parent, &team.pupil).await;
    team.teacher.opens("/today").await.ok().lacks("The consent");
    steward.opens("/steward").await.ok().sees("None ended without another in its place.");
}

#[tokio::test]
async fn a_consent_that_was_withdrawn_is_not_told_as_one_that_ended() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    world.withdraws(&team.parent, &team.pupil).await;
    world.days_later(400).await;
    team.teacher.opens("/today").await.ok().lacks("The consent");
}

#[tokio::test]
async fn the_own_device_is_followed_up_after_a_month_and_after_three() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let received = world.today();
    let day = |days: i64| {
        let on = received.checked_add(jiff::Span::new().days(days)).unwrap();
        on.strftime("%-d %B %Y").to_string()
    };
    let line = |days: i64, when: &str| format!("Follow-up {days} days after the own device came {when} {}", day(days));
    team.teacher.opens("/today").await.ok().lacks("Follow-up");
    world.days_later(23).await;
    for page in ["/today".to_owned(), team.at("/devices")] {
        team.teacher.opens(&page).await.ok().sees(&line(30, "is due on"));
    }
    world.days_later(8).await;
    team.teacher.opens("/today").await.ok().sees(&line(30, "was due on"));
    world.days_later(52).await;
    team.teacher.opens("/today").await.ok().sees(&line(90, "is due on")).lacks("Follow-up 30");
    team.parent.opens(&team.at("/devices")).await.ok().lacks("Follow-up");
}

#[tokio::test]
async fn a_loan_that_is_due_is_on_the_list_of_the_vision_teacher_alone() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let devices = team.teacher.opens(&team.at("/devices")).await.ok().seen();
    assert!(devices.contains("LOAN-"), "{devices}");
    world.days_later(400).await;
    team.teacher.opens("/today").await.ok().sees("was due back on");
    for person in [&team.parent, &team.classroom, &team.clinician] {
        person.opens("/today").await.ok().lacks("was due back on");
    }
}
