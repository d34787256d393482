//! A loan while it is out: a later day, a loss; and a device that leaves the pool.

use super::{closed, denied, id_in, lends, newest, refuses, same, session, tag_of, written};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::world::World;

#[tokio::test]
async fn a_loan_is_extended_with_a_reason_and_keeps_the_day_it_had() {
    let world = World::new().await;
    let team = Team::up_to(&world, &NEAR, Step::Lent).await;
    let loan = newest(&world, &team, "loan").await;
    let path = team.at(&format!("/devices/extend/{loan}"));
    // Lent for 60 days; 119 days in all are common practice, 121 are asked back.
    let (was, early, long, later) = (world.day(60), world.day(20), world.day(121), world.day(119));
    let cases: [(&[(&str, &str)], &str); 6] = [
        (&[("due_on", &early), ("reason", "Exams")], "due_on"),
        (&[("due_on", &was), ("reason", "Exams")], "due_on"),
        (&[("due_on", "in May"), ("reason", "Exams")], "due_on"),
        (&[("due_on", &world.day(800)), ("reason", "Exams")], "due_on"),
        (&[("due_on", &later), ("reason", "  ")], "reason"),
        (&[("due_on", &long), ("reason", "Exams")], "confirmed"),
    ];
    refuses(&world, &team.teacher, &path, "Extend the loan", &cases).await;
    let good = [("due_on", later.as_str()), ("reason", "Exams end in May"), ("version", "1")];
    denied(&world, &[&team.classroom, &team.parent, &team.clinician], &path, &good).await;
    let old = team.teacher.opens(&path).await.ok();
    team.teacher.presses(&path, "Extend the loan", &good[..2]).await.redirected_to();
    let kept = format!("Due {} instead of {}", written(&world, 119), written(&world, 60));
    for person in [&team.teacher, &team.parent, &team.clinician] {
        person.opens(&team.at("/devices")).await.ok().sees(&kept).sees("Exams end in May");
    }
    // From a page opened before: both days are shown, the first stays.
    let before = world.content().await;
    let (later, confirmed) = (world.day(120), [("reason", "Another")]);
    let second = [&confirmed[..], &[("due_on", later.as_str())]].concat();
    team.teacher.presses_on(&old, "Extend the loan", &second).await.status(409).sees(&written(&world, 120));
    same(&world, &before, &path).await;
}

#[tokio::test]
async fn a_loan_that_is_called_back_is_not_extended() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let loan = newest(&world, &team, "loan").await;
    let path = format!("/devices/extend/{loan}");
    let fields = [("due_on", world.day(90)), ("reason", "As a spare".to_owned()), ("version", "1".to_owned())];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    closed(&world, &team, (&team.teacher, &path), &fields, "The own device takes the place of this loan").await;
    team.teacher.opens(&team.at(&path)).await.blocked("due back and cannot go on");
}

#[tokio::test]
async fn a_device_lost_on_loan_ends_the_loan_and_is_lost_in_the_pool() {
    for (condition, words) in [("lost", "Left on the bus to the museum"), ("broken", "Fell on the stairs")] {
        let world = World::new().await;
        let track = &DISTANCE;
        let team = Team::up_to(&world, track, Step::Ready).await;
        world.days_later(3).await;
        let loan = newest(&world, &team, "loan").await;
        let page = team.teacher.opens(&team.at("/devices")).await.ok();
        let way = page.links().into_iter().find(|(href, _)| href.contains("/devices/report/")).expect("the way").0;
        let (early, late, on) = (world.day(-4), world.day(1), world.day(-1));
        let whole = [("condition", condition), ("on", on.as_str()), ("told_by", "Wren"), ("words", words)];
        let but = |name: &str, value: &'static str| {
            let mut fields = whole.to_vec();
            fields.retain(|(one, _)| *one != name);
            fields.push((
                if name == "on" {
                    "on"
                } else if name == "words" {
                    "words"
                } else {
                    "told_by"
                },
                value,
            ));
            fields
        };
        let (nobody, nothing, no_day) = (but("told_by", " "), but("words", ""), but("on", "last week"));
        let mut before_the_loan = whole.to_vec();
        before_the_loan[1].1 = &early;
        let mut tomorrow = whole.to_vec();
        tomorrow[1].1 = &late;
        let cases: [(&[(&str, &str)], &str); 6] = [
            (&before_the_loan, "on"),
            (&tomorrow, "on"),
            (&no_day, "on"),
            (&nobody, "told_by"),
            (&nothing, "words"),
            (&whole[1..], "condition"),
        ];
        refuses(&world, &team.teacher, &way, "Report it", &cases).await;
        denied(&world, &[&team.classroom, &team.parent, &team.clinician], &way, &whole).await;
        team.teacher.presses(&way, "Report it", &whole).await.redirected_to();
        for person in [&team.teacher, &team.parent, &team.clinician] {
            let page = person.opens(&team.at("/devices")).await.ok().sees("Nothing is on loan");
            let row = page.table("Loans that ended, distance track").rows.remove(0);
            assert_eq!(row[2], written(&world, -1));
            assert!(row[3].starts_with(&format!("{condition}, told by Wren")) && row[3].ends_with(words), "{row:?}");
        }
        team.teacher.opens("/devices").await.ok().sees("Not to be lent").sees(condition);
        team.teacher.opens(&team.at("")).await.ok().sees("Waiting for a loan");
        let (loan, today) = (format!("loan:{loan}"), world.day(0));
        session(&team, track, &loan, &today).await.blocked("not on loan to the student on that day");
        session(&team, track, &loan, &world.day(-2)).await.redirected_to();
        // Twice: both are shown, the first stays.
        let before = world.content().await;
        team.teacher.submits(&way, &whole).await.status(409);
        same(&world, &before, &way).await;
    }
}

#[tokio::test]
async fn a_device_leaves_the_pool_with_a_reason_and_never_while_it_is_out() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Evaluated).await;
    let device = team.stocks_match(&world, track).await;
    let tag = tag_of(&team, &device).await;
    lends(&team, track, id_in(&device), &[]).await.redirected_to();
    let button = "Take it out of the pool";
    let reason = [("retired_reason", "The prism came loose")];
    let cases: [(&[(&str, &str)], &str); 2] =
        [(&reason, "retired_reason"), (&[("retired_reason", "")], "retired_reason")];
    refuses(&world, &team.teacher, &device, button, &cases).await;
    let loan = newest(&world, &team, "loan").await;
    let back = team.at(&format!("/devices/return/{loan}"));
    team.teacher.presses(&back, "Take it back", &[("condition", "worn")]).await.redirected_to();
    let cases: [(&[(&str, &str)], &str); 1] = [(&[("retired_reason", " \n")], "retired_reason")];
    refuses(&world, &team.teacher, &device, button, &cases).await;
    let path = format!("{device}/retire");
    denied(&world, &[&team.classroom, &team.parent], &path, &reason).await;
    let old = team.teacher.opens(&device).await.ok();
    team.clinician.presses(&device, button, &reason).await.redirected_to();
    team.teacher.opens("/devices").await.ok().lacks(&tag);
    team.teacher.opens(&device).await.hidden();
    let before = world.content().await;
    team.teacher.presses_on(&old, button, &reason).await.hidden();
    same(&world, &before, &path).await;
    // What was lent of it stays readable, and it is not lent again.
    team.teacher.opens(&team.at("/devices")).await.ok().sees(&tag);
    let (today, due) = (world.day(0), world.day(60));
    let terms = [("device", id_in(&device)), ("eye", "right"), ("lent_on", &today), ("due_on", &due)];
    let terms = [
        &terms[..],
        &[("condition", "good"), ("purpose", "trial"), ("home_use", "no")],
        &[("agreement_by", "school"), ("held_by", "student")],
    ]
    .concat();
    let lend = team.at("/devices/lend/distance");
    team.teacher.submits(&lend, &terms).await.hidden();
    same(&world, &before, &lend).await;
}
