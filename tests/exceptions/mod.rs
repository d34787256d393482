//! Past the usual: another device allowed, a receipt that does not match, a
//! repair, an item passed over, a recommendation that changes, several devices
//! at once. Each told through pages, and sent straight where a page would hide it.

mod allowance;
mod lent;
mod lesson;
mod recheck;
mod repair;
mod settle;
mod several;

use crate::lap::{DISTANCE, Team, Track};
use crate::page::Page;
use crate::people::Person;
use crate::world::World;

/// The id at the end of an address.
fn id_in(address: &str) -> &str {
    address.rsplit('/').next().unwrap_or_default()
}

/// Sends a form straight to its address: refused with the step that comes first,
/// and every table as it was.
async fn closed(world: &World, team: &Team, (person, path): (&Person, &str), fields: &[(&str, &str)], why: &str) {
    person.opens("/account").await;
    let before = world.content().await;
    person.submits(&team.at(path), fields).await.blocked(why).sees("Another step comes first");
    same(world, &before, path).await;
}

/// A form that comes back with a fault beside each of these fields, and keeps
/// nothing.
async fn refuses(world: &World, person: &Person, path: &str, button: &str, cases: &[(&[(&str, &str)], &str)]) {
    let page = person.opens(path).await.ok();
    let before = world.content().await;
    for (fields, at) in cases {
        let back = person.presses_on(&page, button, fields).await.refused(at);
        for (name, typed) in *fields {
            let kept = back.value_of(name).unwrap_or_default();
            assert!(kept == *typed || !back.choices_of(name).is_empty(), "{name}: {typed:?} came back as {kept:?}");
        }
    }
    same(world, &before, path).await;
}

/// Nobody but these may: as if it did not exist, or known and refused.
async fn denied(world: &World, people: &[&Person], path: &str, fields: &[(&str, &str)]) {
    let before = world.content().await;
    for person in people {
        let page = person.submits(path, fields).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
    same(world, &before, path).await;
}

async fn same(world: &World, before: &std::collections::BTreeMap<String, u64>, path: &str) {
    let after = world.content().await;
    // A page that takes content across notes it.
    let changed: Vec<_> =
        after.keys().filter(|table| after[*table] != before[*table] && *table != "disclosure").collect();
    assert!(changed.is_empty(), "{path} changed {changed:?}");
}

/// How a loan goes out.
async fn lends(team: &Team, track: &Track, device: &str, changes: &[(&str, &str)]) -> Page {
    let mut fields = vec![
        ("device", device),
        ("eye", track.eye()),
        ("condition", "good"),
        ("purpose", "trial"),
        ("home_use", "no"),
        ("agreement_by", "school"),
        ("held_by", "student"),
    ];
    for (field, value) in changes {
        fields.retain(|(name, _)| name != field);
        fields.push((field, value));
    }
    team.teacher.presses(&team.at(&format!("/devices/lend/{}", track.code)), "Hand it over", &fields).await
}

/// A session with one exercise, sent straight.
async fn session(team: &Team, track: &Track, device: &str, day: &str) -> Page {
    let fields = [
        ("track", track.code),
        ("device", device),
        ("held_on", day),
        ("minutes", "15"),
        ("place", "library"),
        ("body", "seated"),
        ("e1_skill", "focusing"),
        ("e1_tries", "6"),
        ("e1_right", "5"),
        ("e1_prompt", "4"),
    ];
    team.teacher.submits(&team.at("/training/new"), &fields).await
}

/// The newest row of a table, as a form names a loan or an own device.
async fn newest(world: &World, team: &Team, table: &str) -> String {
    world.newest(table, &team.pupil).await.unwrap_or_else(|| panic!("no {table}"))
}

/// The day so many days from today, as pages write it.
fn written(world: &World, from_today: i64) -> String {
    let day: jiff::civil::Date = world.day(from_today).parse().expect("a date");
    day.strftime("%-d %B %Y").to_string()
}

/// The name of the device with this address, its tag.
async fn tag_of(team: &Team, device: &str) -> String {
    team.teacher.opens(device).await.ok().h1()
}

/// One of everything that stands past a gate and still waits: leave in force, an
/// open question, a device to ask about, own devices here and in repair, and a
/// receipt that does not match. For a team whose distance prescription is signed.
pub(crate) async fn everything_waits(world: &World, team: &Team) {
    let track = &DISTANCE;
    let asks = async |answer: Option<&str>| {
        let device = team.stocks(world, track.other_device).await;
        let question = [("device", id_in(&device)), ("reason", "For the hall")];
        let path = team.at("/devices/ask/distance");
        team.teacher.presses(&path, "Ask the clinician", &question).await.redirected_to();
        if let Some(answer) = answer {
            let request = team.clinician.opens(&team.at("/devices")).await.ok().link("Compare and answer");
            let said = [("answer", answer), ("reason", "Seated only")];
            team.clinician.presses(&request, "Send the answer", &said).await.redirected_to();
        }
    };
    asks(Some("allow")).await;
    asks(None).await;
    team.stocks(world, track.other_device).await;
    for tag in ["OLD-1", "OLD-2"] {
        let since = world.day(-400);
        let had = [track.device, &[("tag", tag), ("had_since", since.as_str()), ("condition", "worn")]].concat();
        team.teacher.presses(&team.at("/devices/brought/distance"), "Save the device", &had).await.redirected_to();
    }
    let own = newest(world, team, "own_device").await;
    let repair = team.at(&format!("/devices/own/{own}/repair"));
    team.parent.presses(&repair, "Record the repair", &[("reason", "Stuck")]).await.redirected_to();
    let form = team.parent.opens(&team.at("/devices")).await.ok().link("Record a device that arrived");
    let other = [track.other_device, &[("tag", "SN-3"), ("received_by", "Solveig"), ("condition", "new")]].concat();
    team.parent.presses(&form, "Save what arrived", &other).await.redirected_to();
}
