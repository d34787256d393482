//! G6: a repair record reopens the loan; back again, loans are due in 14 days.

use super::{closed, denied, id_in, lends, newest, refuses, same, session, written};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::world::World;

#[tokio::test]
async fn the_loan_is_open_while_the_own_device_is_away_and_due_again_once_it_is_back() {
    for track in [&DISTANCE, &NEAR] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::OwnDevice).await;
        world.days_later(4).await;
        let (loan, own) = (newest(&world, &team, "loan").await, newest(&world, &team, "own_device").await);
        let (loan, named) = (format!("loan:{loan}"), format!("own:{own}"));
        session(&team, track, &loan, &world.day(0)).await.blocked("If it is in repair, start a repair record");
        // The family records it; everybody reads it.
        let page = team.parent.opens(&team.at("/devices")).await.ok();
        let way = page.links().into_iter().find(|(href, _)| href.ends_with("/repair")).expect("the way").0;
        let broken = [("reason", "The hinge of the cover came off")];
        team.parent.presses(&way, "Record the repair", &broken).await.redirected_to();
        for person in [&team.parent, &team.teacher, &team.clinician] {
            let page = person.opens(&team.at("/devices")).await.ok().sees("In repair");
            page.sees("The hinge of the cover came off").sees("Not back yet").sees("Matches the recommendation");
        }
        team.teacher.opens(&team.at("")).await.ok().sees("Record that the device is back from repair");
        world.days_later(1).await;
        let today = world.day(0);
        session(&team, track, &loan, &today).await.redirected_to();
        session(&team, track, &named, &today).await.blocked("in repair on that day");
        let again = [("from_on", today.as_str()), ("reason", "Once more")];
        let repair = format!("/devices/own/{own}/repair");
        closed(&world, &team, (&team.teacher, &repair), &again, "Record it back first").await;
        // Back, as the teacher records it, though the family began it.
        world.days_later(6).await;
        let page = team.teacher.opens(&team.at("/devices")).await.ok();
        let way = page.links().into_iter().find(|(href, _)| href.ends_with("/back")).expect("the way back").0;
        team.teacher.presses(&way, "It is back", &[]).await.redirected_to();
        let due = written(&world, 14);
        let page = team.parent.opens(&team.at("/devices")).await.ok().sees("Own device in force");
        page.sees(&format!("Loans it replaces are due back by {due}")).sees("Back on");
        world.days_later(1).await;
        session(&team, track, &loan, &world.day(0)).await.blocked("own device now");
        session(&team, track, &named, &world.day(0)).await.redirected_to();
        // A day on which it was away still names the loan.
        session(&team, track, &loan, &world.day(-3)).await.redirected_to();
        let before = world.content().await;
        team.parent.submits(&way, &[("back_on", &world.day(0))]).await.status(409);
        same(&world, &before, &way).await;
    }
}

#[tokio::test]
async fn with_the_loan_gone_a_matching_one_is_lent_for_the_time_of_the_repair() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::OwnDevice).await;
    let loan = newest(&world, &team, "loan").await;
    let back = team.at(&format!("/devices/return/{loan}"));
    team.teacher.presses(&back, "Take it back", &[("condition", "good")]).await.redirected_to();
    let own = newest(&world, &team, "own_device").await;
    let path = team.at(&format!("/devices/own/{own}/repair"));
    team.teacher.presses(&path, "Record the repair", &[("reason", "Fogged inside")]).await.redirected_to();
    let device = team.stocks_match(&world, track).await;
    lends(&team, track, id_in(&device), &[("purpose", "repair_cover")]).await.redirected_to();
    world.days_later(1).await;
    let loan = format!("loan:{}", newest(&world, &team, "loan").await);
    session(&team, track, &loan, &world.day(0)).await.redirected_to();
}

#[tokio::test]
async fn a_repair_has_a_reason_and_days_in_their_order() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    world.days_later(5).await;
    let own = newest(&world, &team, "own_device").await;
    let path = team.at(&format!("/devices/own/{own}/repair"));
    let (early, late, today) = (world.day(-6), world.day(1), world.day(0));
    let cases: [(&[(&str, &str)], &str); 5] = [
        (&[("from_on", &early), ("reason", "Before it came")], "from_on"),
        (&[("from_on", &late), ("reason", "Tomorrow")], "from_on"),
        (&[("from_on", "the 3rd"), ("reason", "Some day")], "from_on"),
        (&[("from_on", ""), ("reason", "No day")], "from_on"),
        (&[("from_on", &today), ("reason", "  ")], "reason"),
    ];
    refuses(&world, &team.parent, &path, "Record the repair", &cases).await;
    let good = [("from_on", today.as_str()), ("reason", "Fell")];
    denied(&world, &[&team.classroom, &team.clinician], &path, &good).await;
    // One that is no device of this student's is not there.
    let before = world.content().await;
    let unknown = team.at("/devices/own/0198f0a0-0000-7000-8000-000000000000/repair");
    team.parent.submits(&unknown, &good).await.hidden();
    same(&world, &before, &unknown).await;
    team.parent.submits(&path, &[("from_on", world.day(-2).as_str()), ("reason", "Fell")]).await.redirected_to();
    let repair = newest(&world, &team, "repair").await;
    let back = team.at(&format!("/devices/repairs/{repair}/back"));
    let (early, late) = (world.day(-3), world.day(1));
    let cases: [(&[(&str, &str)], &str); 4] = [
        (&[("back_on", &early)], "back_on"),
        (&[("back_on", &late)], "back_on"),
        (&[("back_on", "soon")], "back_on"),
        (&[("back_on", "")], "back_on"),
    ];
    refuses(&world, &team.teacher, &back, "It is back", &cases).await;
    denied(&world, &[&team.classroom, &team.clinician], &back, &[("back_on", &today)]).await;
    team.teacher.presses(&back, "It is back", &[("back_on", world.day(-1).as_str())]).await.redirected_to();
    // The next repair does not begin before the last one ended.
    let cases: [(&[(&str, &str)], &str); 1] = [(&[("from_on", &world.day(-2)), ("reason", "Again")], "from_on")];
    refuses(&world, &team.teacher, &path, "Record the repair", &cases).await;
    team.teacher.presses(&path, "Record the repair", &[("reason", "Again")]).await.redirected_to();
    assert_eq!(world.count("repair").await, 2);
}
