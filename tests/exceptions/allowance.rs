//! G4: a clinician allows another device, leaves it, or takes the leave back.

use super::{closed, denied, id_in, lends, newest, refuses, same, session, tag_of, written};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::{PASSWORD, Person};
use crate::world::World;

const WHY: &str = "The hall is 18 m deep, and the recommended one shows Wren nothing from the back.";

/// The vision teacher asks about a device; gives the way to the answer.
async fn asks(team: &Team, device: &str) -> String {
    let fields = [("device", device), ("reason", WHY)];
    team.teacher.presses(&team.at("/devices/ask/distance"), "Ask the clinician", &fields).await.redirected_to();
    team.clinician.opens(&team.at("/devices")).await.ok().link("Compare and answer")
}

async fn answers(clinician: &Person, request: &str, answer: &str, reason: &str) {
    let fields = [("answer", answer), ("reason", reason)];
    clinician.presses(request, "Send the answer", &fields).await.redirected_to();
}

#[tokio::test]
async fn another_device_is_asked_for_compared_allowed_lent_and_trained_with() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Evaluated).await;
    let other = team.stocks(&world, track.other_device).await;
    let device = id_in(&other);
    // The closed gate leads to the devices, and from there the way to ask.
    let (today, due) = (world.day(0), world.day(40));
    let terms = [
        ("device", device),
        ("eye", "right"),
        ("lent_on", today.as_str()),
        ("due_on", due.as_str()),
        ("condition", "good"),
        ("purpose", "trial"),
        ("home_use", "no"),
        ("agreement_by", "school"),
        ("held_by", "student"),
    ];
    let lend = "/devices/lend/distance";
    closed(&world, &team, (&team.teacher, lend), &terms, "ask the clinician to allow it").await;
    let page = team.teacher.opens(&team.at("/devices")).await.ok();
    let way = page.link("Ask the clinician about another device, distance track");
    let page = team.teacher.opens(&way).await.ok().sees("the power is another");
    assert_eq!(page.choices_of("device"), [device]);
    let request = asks(&team, device).await;
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Waiting for the clinician to allow another device");
    // It is a question in the thread, and waits on the clinician's first screen.
    team.clinician.opens("/today").await.ok().sees("Questions that wait for you").sees("the power is another");
    // Asked twice under one recommendation: it is open already.
    let page = team.teacher.opens(&way).await.ok();
    team.teacher.presses_on(&page, "Ask the clinician", &[("device", device), ("reason", WHY)]).await.refused("device");

    // Part by part: 6× against 10×, 16 against 25 mm, 9 against 5 degrees.
    let page = team.clinician.opens(&request).await.ok().sees(WHY);
    let rows = page.table(&format!("{} beside the recommended device", tag_of(&team, &other).await)).rows;
    let row = |part: &str| rows.iter().find(|row| row[0] == part).cloned().unwrap_or_default();
    assert_eq!(row("Power")[1..], ["6 ×", "10 ×", "Differs: the power is another"]);
    assert_eq!(row("Objective lens")[1..], ["16 mm", "25 mm", "another, which the rule lets pass"]);
    assert_eq!(row("True field")[1..], ["9 degrees", "5 degrees", "another, which the rule lets pass"]);
    assert_eq!(row("Eye")[1..], ["Right eye", "Right eye", "the same"].map(str::to_lowercase));
    answers(&team.clinician, &request, "allow", "For the hall, seated").await;
    // Allowed means allowed under this recommendation, on the loan itself.
    lends(&team, track, device, &[]).await.redirected_to();
    let words = format!("Allowed by {} on", team.clinician.name);
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&team.at("/devices")).await.ok().sees("Allowed by a clinician").sees(&words);
        page.sees("because: For the hall, seated. It holds while this recommendation is in force.");
    }
    team.teacher.opens(&team.at("/thread")).await.ok().sees("is allowed under this recommendation: For the hall");
    team.is_ready(track).await;
    let loan = format!("loan:{}", newest(&world, &team, "loan").await);
    session(&team, track, &loan, &today).await.redirected_to();
    // Answered twice: both answers are shown, the first stays.
    let before = world.content().await;
    let again = [("answer", "leave"), ("reason", "On second thoughts")];
    team.clinician.submits(&request, &again).await.status(409).sees("For the hall").sees("On second thoughts");
    same(&world, &before, &request).await;
}

#[tokio::test]
async fn leave_ends_with_its_recommendation_and_when_it_is_taken_back() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Evaluated).await;
    let other = team.stocks(&world, track.other_device).await;
    let device = id_in(&other);
    let request = asks(&team, device).await;
    answers(&team.clinician, &request, "allow", "For the hall").await;
    lends(&team, track, device, &[]).await.redirected_to();
    team.is_ready(track).await;
    let loan = format!("loan:{}", newest(&world, &team, "loan").await);
    let then = world.day(0);
    session(&team, track, &loan, &then).await.redirected_to();
    world.days_later(3).await;
    let today = world.day(0);
    let page = team.clinician.opens(&team.at("/devices")).await.ok();
    let take_back = page.links().into_iter().find(|(href, _)| href.ends_with("/withdraw")).expect("the way back").0;
    let page = team.clinician.opens(&take_back).await.ok().sees("It is out now");
    team.clinician.presses_on(&page, "Take it back", &[("reason", "  ")]).await.refused("reason");
    let reason = [("reason", "The field is too narrow in the hall")];
    team.clinician.presses_on(&page, "Take it back", &reason).await.redirected_to();
    let page = team.teacher.opens(&team.at("/devices")).await.ok().sees("Does not match now");
    page.sees("took the leave back on").sees("The field is too narrow in the hall. Against the recommendation");
    let due = written(&world, 0);
    team.teacher.opens(&team.at("")).await.ok().sees("A loan is due back").sees(&format!("due back since {due}"));
    team.teacher.opens("/today").await.ok().sees("it does not match what is recommended now");
    session(&team, track, &loan, &today).await.blocked("does not match what is recommended now");
    // A session of a day on which the leave held stays possible.
    session(&team, track, &loan, &then).await.redirected_to();
    // Taken back twice: nothing changes.
    let before = world.content().await;
    team.clinician.submits(&take_back, &reason).await.status(409);
    same(&world, &before, &take_back).await;

    // Order counts: what follows is a minute later.
    world.passes(jiff::SignedDuration::from_mins(1));
    // Asked and allowed again, then a new evaluation: the leave ends with it.
    let request = asks(&team, device).await;
    answers(&team.clinician, &request, "allow", "Try the front of the hall").await;
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Allowed by a clinician");
    world.passes(jiff::SignedDuration::from_mins(1));
    let draft = team.evaluates(track).await;
    let password = [("password", PASSWORD)];
    let signed = team.clinician.presses(&format!("{draft}/preview"), "Sign the evaluation", &password).await;
    team.clinician.follows(&signed).await.ok().sees("A loan is due back").sees("takes no session");
    session(&team, track, &loan, &today).await.blocked("does not match what is recommended now");
    team.teacher.opens(&team.at("/devices")).await.ok().lacks("Allowed by a clinician");
}

#[tokio::test]
async fn a_device_that_is_left_is_not_lent_and_its_reason_is_read() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let other = team.stocks(&world, DISTANCE.other_device).await;
    let request = asks(&team, id_in(&other)).await;
    answers(&team.clinician, &request, "leave", "Too narrow a field to start with.").await;
    let page = team.teacher.opens(&team.at("/devices")).await.ok();
    let row = page.table("Asked of the clinician, distance track").rows.remove(0);
    assert!(row[3].contains("Left as recommended") && row[3].contains("Too narrow a field to start with."), "{row:?}");
    let (today, due) = (world.day(0), world.day(40));
    let terms = [("device", id_in(&other)), ("eye", "right"), ("lent_on", &today), ("due_on", &due)];
    let terms = [
        &terms[..],
        &[("condition", "good"), ("purpose", "trial"), ("home_use", "no")],
        &[("agreement_by", "school"), ("held_by", "student")],
    ]
    .concat();
    closed(&world, &team, (&team.teacher, "/devices/lend/distance"), &terms, "not the one recommended").await;
}

#[tokio::test]
async fn only_what_does_not_match_is_asked_and_only_under_the_recommendation_in_force() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Asked).await;
    let (right, other) = (team.stocks_match(&world, track).await, team.stocks(&world, track.other_device).await);
    let ask = "/devices/ask/distance";
    let about = |device| [("device", device), ("reason", WHY)];
    // G2: nothing is asked before an evaluation.
    let why = "Training can start after a clinician signs";
    closed(&world, &team, (&team.teacher, ask), &about(id_in(&other)), why).await;
    let draft = team.evaluates(track).await;
    team.signs_evaluation(&draft).await;
    closed(&world, &team, (&team.teacher, ask), &about(id_in(&right)), "This device matches").await;
    let long = "w".repeat(2_001);
    let cases: [(&[(&str, &str)], &str); 3] = [
        (&[("reason", WHY)], "device"),
        (&[("device", id_in(&other)), ("reason", " \n ")], "reason"),
        (&[("device", id_in(&other)), ("reason", &long)], "reason"),
    ];
    refuses(&world, &team.teacher, &team.at(ask), "Ask the clinician", &cases).await;
    let path = team.at(ask);
    denied(&world, &[&team.classroom, &team.parent, &team.clinician], &path, &about(id_in(&other))).await;
    team.teacher.submits(&path, &[("device", "no-such-device"), ("reason", WHY)]).await.refused("device");

    let request = asks(&team, id_in(&other)).await;
    let cases: [(&[(&str, &str)], &str); 2] =
        [(&[("reason", "For the hall")], "answer"), (&[("answer", "allow"), ("reason", "")], "reason")];
    refuses(&world, &team.clinician, &request, "Send the answer", &cases).await;
    let allow = [("answer", "allow"), ("reason", "For the hall")];
    denied(&world, &[&team.teacher, &team.classroom, &team.parent], &request, &allow).await;
    // The recommendation changes before the answer: the question no longer counts.
    world.passes(jiff::SignedDuration::from_mins(1));
    let draft = team.evaluates(track).await;
    team.signs_evaluation(&draft).await;
    let below = request.strip_prefix(&team.at("")).expect("below the student").to_owned();
    closed(&world, &team, (&team.clinician, &below), &allow, "The recommendation changed since this was asked").await;
    team.teacher.opens(&team.at("/devices")).await.ok().sees("A question that no longer counts");
    // After the consent is withdrawn the clinician meets nothing here.
    world.withdraws(&team.parent, &team.pupil).await;
    let before = world.content().await;
    team.clinician.opens(&request).await.hidden();
    team.clinician.submits(&request, &allow).await.hidden();
    same(&world, &before, &request).await;
}
