//! G6: a receipt that does not match waits for the clinician, who accepts it as
//! it is or refuses it.

use super::{closed, denied, newest, refuses, same, session, written};
use crate::lap::{DISTANCE, NEAR, Step, Team, Track};
use crate::world::World;

/// What arrived is another: 8× 20 mm instead of 6× 16 mm; 20 D instead of 16 D.
fn other(track: &Track) -> Vec<(&'static str, &'static str)> {
    let device: &[(&str, &str)] = match track.code {
        "distance" => &[("kind", "handheld_monocular"), ("power", "8"), ("objective", "20"), ("eye", "right")],
        _ => &[("kind", "stand_magnifier"), ("equivalent", "20"), ("eye", "both")],
    };
    [device, &[("tag", "SN-88"), ("received_by", "Solveig"), ("condition", "new")]].concat()
}

async fn arrives(team: &Team, track: &Track) {
    let form = team.parent.opens(&team.at("/devices")).await.ok().link("Record a device that arrived");
    team.parent.presses(&form, "Save what arrived", &other(track)).await.redirected_to();
}

#[tokio::test]
async fn the_clinician_is_led_to_what_differs_and_accepts_it_as_it_is() {
    for track in [&DISTANCE, &NEAR] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::Prescribed).await;
        arrives(&team, track).await;
        for person in [&team.parent, &team.teacher] {
            let page = person.opens(&team.at("/devices")).await.ok().sees("Not as prescribed: the power is another");
            page.sees("It waits for the clinician to settle this. Until then it is not used, and the loan stays.");
            person.opens(&team.at("")).await.ok().sees("Waiting for the clinician to settle what differs");
        }
        let received = world.day(0);
        world.days_later(2).await;
        // The next step leads straight to the form.
        let overview = team.clinician.opens(&team.at("")).await.ok();
        let way = team.clinician.opens(&overview.link("Settle what differs from the prescription")).await;
        let form = way.redirected_to();
        let page = team.clinician.opens(&form).await.ok();
        let part =
            if track.code == "distance" { ("Power", "6 ×", "8 ×") } else { ("Equivalent power", "16 D", "20 D") };
        let row = page.table("What arrived beside the prescription").rows.into_iter().find(|row| row[0] == part.0);
        assert_eq!(row.expect("the part that differs")[1..], [part.1, part.2, "Differs: the power is another"]);
        let settled = [("verdict", "accepted"), ("reason", "It carries the board further, and the field is wide")];
        team.clinician.presses_on(&page, "Settle it", &settled).await.redirected_to();
        for person in [&team.parent, &team.teacher, &team.clinician] {
            let page = person.opens(&team.at("/devices")).await.ok().sees("Own device in force");
            page.sees("Accepted as it is by").sees("What differed: the power is another");
        }
        team.teacher.opens(&team.at("")).await.ok().sees("Own device.");
        // From the day of the clinician's word, not of the receipt: entries
        // between name the loan, later ones the own device.
        let (loan, own) = (newest(&world, &team, "loan").await, newest(&world, &team, "own_device").await);
        let (loan, own) = (format!("loan:{loan}"), format!("own:{own}"));
        session(&team, track, &loan, &received).await.redirected_to();
        session(&team, track, &loan, &world.day(0)).await.redirected_to();
        session(&team, track, &own, &received).await.blocked("It waits for the clinician");
        world.days_later(1).await;
        session(&team, track, &loan, &world.day(0)).await.blocked("own device now");
        session(&team, track, &own, &world.day(0)).await.redirected_to();
        // 14 days from that word.
        let due = written(&world, 13);
        team.teacher.opens(&team.at("/devices")).await.ok().sees(&format!("due back by {due}"));
    }
}

#[tokio::test]
async fn a_refused_device_stays_listed_is_not_used_and_the_loan_goes_on() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Prescribed).await;
    arrives(&team, track).await;
    let own = newest(&world, &team, "own_device").await;
    let form = team.at(&format!("/devices/own/{own}/settle"));
    let refused = [("verdict", "refused"), ("reason", "Send it back for a 6×.")];
    team.clinician.presses(&form, "Settle it", &refused).await.redirected_to();
    world.days_later(1).await;
    for person in [&team.parent, &team.teacher] {
        let page = person.opens(&team.at("/devices")).await.ok().sees("Refused by the clinician");
        page.sees("Send it back for a 6×.").sees("SN-88");
    }
    let (own, today) = (format!("own:{own}"), world.day(0));
    session(&team, track, &own, &today).await.blocked("The clinician refused this device");
    let loan = format!("loan:{}", newest(&world, &team, "loan").await);
    session(&team, track, &loan, &today).await.redirected_to();
    // The right one arrives on the same prescription.
    team.receives(track).await;
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Own device in force").sees("Refused by the clinician");
}

#[tokio::test]
async fn it_is_settled_once_with_a_reason_and_by_a_clinician() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Prescribed).await;
    arrives(&team, track).await;
    let own = newest(&world, &team, "own_device").await;
    let below = format!("/devices/own/{own}/settle");
    let form = team.at(&below);
    let long = "w".repeat(2_001);
    let cases: [(&[(&str, &str)], &str); 4] = [
        (&[("reason", "Fine")], "verdict"),
        (&[("verdict", "accepted"), ("reason", "")], "reason"),
        (&[("verdict", "refused"), ("reason", " \t ")], "reason"),
        (&[("verdict", "refused"), ("reason", &long)], "reason"),
    ];
    refuses(&world, &team.clinician, &form, "Settle it", &cases).await;
    let accepted = [("verdict", "accepted"), ("reason", "Fine as it is")];
    team.clinician.submits(&form, &[("verdict", "maybe"), ("reason", "Fine")]).await.refused("verdict");
    denied(&world, &[&team.teacher, &team.classroom, &team.parent], &form, &accepted).await;
    // A repair changes nothing about it.
    let repair = format!("/devices/own/{own}/repair");
    let broken = [("from_on", world.day(0)), ("reason", "Stuck".to_owned())];
    let broken: Vec<(&str, &str)> = broken.iter().map(|(name, value)| (*name, value.as_str())).collect();
    closed(&world, &team, (&team.teacher, &repair), &broken, "It waits for the clinician").await;
    team.clinician.presses(&form, "Settle it", &accepted).await.redirected_to();
    let before = world.content().await;
    let page = team.clinician.submits(&form, &[("verdict", "refused"), ("reason", "No")]).await;
    page.status(409).sees("accepted as it is").sees("refused");
    same(&world, &before, &form).await;
    // One that is as prescribed has nothing to settle.
    let other = Team::up_to(&world, track, Step::OwnDevice).await;
    let below = format!("/devices/own/{}/settle", newest(&world, &other, "own_device").await);
    closed(&world, &other, (&other.clinician, &below), &accepted, "Nothing about this device waits").await;
    other.clinician.opens(&other.at(&below)).await.ok().sees("There is nothing to settle");
}
