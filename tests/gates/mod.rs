//! The gates G1 to G9, each passed and each closed.
//!
//! A closed gate is met by sending the form straight to its address, whatever
//! page would have hidden it: the answer names the step that comes first, leads
//! there, and leaves every table as it was. Rules without a page are in
//! `rules/`; what the database itself refuses is in `store`.

mod finalise;
mod lesson;
mod loan;
mod own_device;
mod pause;
mod sharing;
mod start;
mod store;

use crate::lap::{Team, Track};
use crate::people::Person;
use crate::world::World;

/// Sends a form out of order: refused with the step that comes first, at `first`
/// below the student, and nothing is kept.
async fn closed(
    world: &World,
    team: &Team,
    (person, path): (&Person, &str),
    fields: &[(&str, &str)],
    (why, first): (&str, &str),
) {
    // The page of the form may note that it was opened; sending may not.
    person.opens("/account").await;
    let before = world.content().await;
    let page = person.submits(&team.at(path), fields).await.blocked(why).sees("Another step comes first");
    assert_eq!(page.link("Go to that step"), team.at(first), "{}", page.asked());
    let after = world.content().await;
    let changed: Vec<_> = after.keys().filter(|table| after[*table] != before[*table]).collect();
    assert!(changed.is_empty(), "{} changed {changed:?}", page.asked());
    person.opens(&page.link("Go to that step")).await.ok();
}

/// How a loan goes out, but for the device and the eye.
fn terms<'a>(device: &'a str, eye: &'a str, (today, due): (&'a str, &'a str)) -> Vec<(&'a str, &'a str)> {
    vec![
        ("device", device),
        ("eye", eye),
        ("lent_on", today),
        ("due_on", due),
        ("condition", "good"),
        ("purpose", "trial"),
        ("home_use", "no"),
        ("agreement_by", "school"),
        ("held_by", "student"),
    ]
}

/// A session with one exercise.
fn session<'a>(track: &Track, device: &'a str, day: &'a str, skill: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("track", track.code),
        ("device", device),
        ("held_on", day),
        ("minutes", "20"),
        ("place", "library"),
        ("body", "seated"),
        ("e1_skill", skill),
        ("e1_tries", "5"),
        ("e1_right", "4"),
        ("e1_prompt", "4"),
    ]
}

/// The loan in hand, as a form names it.
async fn loan_of(world: &World, team: &Team) -> String {
    format!("loan:{}", world.newest("loan", &team.pupil).await.expect("a loan"))
}

fn id_in(address: &str) -> &str {
    address.rsplit('/').next().unwrap_or(address)
}
