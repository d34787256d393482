//! G6 own device only, from the day it was received.

use super::{closed, id_in, loan_of, session, terms};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::world::World;

#[tokio::test]
async fn g6_entries_dated_after_the_receipt_name_the_own_device_or_none() {
    for track in [&DISTANCE, &NEAR] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::OwnDevice).await;
        let received = world.day(0);
        world.days_later(3).await;
        let (loan, today, due) = (loan_of(&world, &team).await, world.day(0), world.day(60));
        let own = format!("own:{}", world.newest("own_device", &team.pupil).await.expect("an own device"));
        let path = "/training/new";
        let with_loan = session(track, &loan, &today, "focusing");
        let why = ("Use the student's own device now", "/devices");
        closed(&world, &team, (&team.teacher, path), &with_loan, why).await;
        // On the day it came and before it, the loan was the device.
        let then = session(track, &loan, &received, "focusing");
        team.teacher.submits(&team.at(path), &then).await.redirected_to();
        for device in [own.as_str(), "none"] {
            team.teacher.submits(&team.at(path), &session(track, device, &today, "focusing")).await.redirected_to();
        }
        let early = world.day(-20);
        let page = team.teacher.submits(&team.at(path), &session(track, &own, &early, "focusing")).await;
        page.status(409);

        // Observations alike, by class and family.
        let task = world.newest("visual_task", &team.pupil).await.expect("a task");
        // Loans are no page of a class, so she is led to the student.
        for (person, more, first) in
            [(&team.classroom, &[][..], ""), (&team.parent, &[("flag", "no"), ("place", "home")][..], "/devices")]
        {
            let fields = |device, day| {
                let fields = [
                    ("task", task.as_str()),
                    ("device_out", "yes"),
                    ("device", device),
                    ("result", "all"),
                    ("seen_on", day),
                ];
                [&fields[..], more].concat()
            };
            closed(&world, &team, (person, "/observations/new"), &fields(&loan, &today), (why.0, first)).await;
            person.submits(&team.at("/observations/new"), &fields(&loan, &received)).await.redirected_to();
            person.submits(&team.at("/observations/new"), &fields(&own, &today)).await.redirected_to();
        }
        // And no other loan goes out.
        let another = team.stocks_match(&world, track).await;
        let lend = format!("/devices/lend/{}", track.code);
        let fields = terms(id_in(&another), track.eye(), (&today, &due));
        let why = ("The student has the own device", "/devices");
        closed(&world, &team, (&team.teacher, &lend), &fields, why).await;
    }
}

#[tokio::test]
async fn g6_a_device_that_is_not_as_prescribed_replaces_nothing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let page = team.parent.opens(&team.at("/devices")).await.ok();
    let form = page.link("Record a device that arrived");
    let arrived = [
        ("kind", "handheld_monocular"),
        ("power", "8"),
        ("objective", "20"),
        ("eye", "right"),
        ("received_by", "Solveig"),
        ("condition", "new"),
    ];
    team.parent.presses(&form, "Save what arrived", &arrived).await.redirected_to();
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Waits for the clinician");
    world.days_later(1).await;
    let (loan, today) = (loan_of(&world, &team).await, world.day(0));
    let own = format!("own:{}", world.newest("own_device", &team.pupil).await.expect("what arrived"));
    let with_own = session(&DISTANCE, &own, &today, "focusing");
    let why = ("This device is not as prescribed", "/devices");
    closed(&world, &team, (&team.teacher, "/training/new"), &with_own, why).await;
    let with_loan = session(&DISTANCE, &loan, &today, "focusing");
    team.teacher.submits(&team.at("/training/new"), &with_loan).await.redirected_to();
}
