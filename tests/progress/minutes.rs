//! Minutes of training by week and device, counted by hand.

use farpoint::care::gates::Named;
use farpoint::care::progress::minutes::{Held, minutes};
use farpoint::care::skill::Prompt;
use farpoint::care::track::Track;
use farpoint::care::training::Session;
use jiff::civil::date;

use super::{held, spots};
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

fn lasting(day: i64, minutes: i64) -> Session {
    let mut session = held(day, vec![spots(8, 10, 5.0, Prompt::None)]);
    session.entered.minutes = minutes;
    session
}

#[test]
fn minutes_are_summed_by_week_and_device_and_what_was_refused_stands_apart() {
    // The first day is Tuesday 1 September 2026: its week begins on 31 August.
    let mut sessions = vec![lasting(0, 20), lasting(5, 25), lasting(6, 30), lasting(27, 15)];
    sessions[3].entered.device = Named::NoDevice;
    let mut refused = lasting(13, 40);
    refused.entered.refused = Some(String::new());
    sessions.push(refused);
    let found = minutes(Track::Distance, &sessions, |named| format!("{named:?}")).expect("sessions were held");
    // Sunday 6 September is of the first week, Monday 7 September of the second.
    assert_eq!(found.weeks, (date(2026, 8, 31), date(2026, 9, 28)));
    assert_eq!((found.number, found.empty_weeks(), found.refused), (5, 2, 1));
    assert_eq!(found.of_week(date(2026, 8, 31)), Held { minutes: 45, sessions: 2 });
    assert_eq!(found.of_week(date(2026, 9, 7)), Held { minutes: 30, sessions: 1 });
    assert_eq!(found.of_week(date(2026, 9, 14)), Held::default());
    assert_eq!(found.sum(), Held { minutes: 90, sessions: 4 });
    let with: Vec<(Named, i64)> = found.devices.iter().map(|one| (one.device, one.sum().minutes)).collect();
    assert_eq!(with, [(super::loan(), 75), (Named::NoDevice, 15)]);
    assert!(minutes(Track::Near, &sessions, |named| format!("{named:?}")).is_none());
}

#[tokio::test]
async fn the_clinician_sees_the_minutes_beside_the_trials() {
    let world = World::new().await;
    // Three sessions of 20 minutes, two on one day and one a day later.
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    world.days_later(2).await;
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    let page = page.sees("Training minutes").sees("60 minutes in 3 sessions over 1 week");
    let table = page.table("Training minutes by week, distance track");
    let minutes: i64 = table.rows.iter().map(|row| row[3].parse::<i64>().expect("a number")).sum();
    assert_eq!(minutes, 60, "{table:?}");
    team.clinician.opens(&team.at("/review/near")).await.ok().lacks("Training minutes");
}
