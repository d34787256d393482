//! Entries through the forms, and what the evidence makes of them.

use serde_json::{Value, json};

use crate::compute::answers;
use crate::lap::{DISTANCE, Step, Team};
use crate::page::{css, words};
use crate::people::Person;
use crate::recompute::same_as_computed;
use crate::world::World;

/// Height in centimetres, right, tried: seen without a device from 5.2 m.
const SEEN: [(&str, u32, u32); 10] = [
    ("12", 9, 10),
    ("8", 6, 10),
    ("6", 2, 10),
    ("10", 8, 10),
    ("9", 7, 10),
    ("12", 10, 10),
    ("8", 5, 10),
    ("6", 3, 10),
    ("7", 4, 10),
    ("10", 7, 10),
];

async fn enters(team: &Team, who: &Person, more: &[(&str, &str)]) -> String {
    let page = who.opens(&team.at("/observations/new")).await.ok();
    // Of a kind, without a measured size: what is typed is held against nothing.
    let usual = [("task", "class_chart"), ("device_out", "not_needed"), ("help", "none"), ("target", "letters")];
    let mut fields: Vec<(&str, &str)> =
        usual.into_iter().filter(|(name, _)| more.iter().all(|(other, _)| other != name)).collect();
    fields.extend(more);
    who.presses_on(&page, "Save", &fields).await.redirected_to()
}

async fn enters_seen(team: &Team, (height, right, tried): (&str, u32, u32)) -> String {
    let (height, right, tried) = (format!("{height} cm"), right.to_string(), tried.to_string());
    let fields =
        [("x_height", height.as_str()), ("distance", "5.2 m"), ("correct", right.as_str()), ("tried", tried.as_str())];
    enters(team, &team.classroom, &fields).await
}

/// Ten entries in two days.
async fn ten(world: &World, team: &Team) {
    for seen in &SEEN[..5] {
        enters_seen(team, *seen).await;
    }
    world.days_later(1).await;
    for seen in &SEEN[5..] {
        enters_seen(team, *seen).await;
    }
}

/// The same numbers, put to the program by hand: letters, 5.2 m, two days; the
/// clinic's 10/120, and 0.05 for the field.
fn by_hand() -> Value {
    let demand = |height: &str| {
        let height: f64 = height.parse().expect("a number");
        (60.0 * (height / 100.0 / 5.0 / 5.2).atan().to_degrees()).log10()
    };
    let observations: Vec<Value> = SEEN
        .iter()
        .enumerate()
        .map(|(at, (height, right, tried))| {
            json!({"x": demand(height), "kind": "tally", "k": right, "n": tried, "g": 0.04, "sid": at / 5})
        })
        .collect();
    let prior = json!({"mean": 12.0_f64.log10() + 0.05, "sd": 0.20});
    let query = json!({"x": 1.0, "guess": 0.0, "crit": 0.8, "next": {"n": 10, "k_min": 8}});
    let inputs = json!({"observations": observations, "prior": prior, "query": query});
    let line = json!({"id": 1, "op": "everyday_acuity", "inputs": inputs}).to_string();
    answers(&line).remove(0)["result"].clone()
}

#[tokio::test]
async fn ten_entries_through_the_forms_are_what_the_program_computes_from_the_same_numbers() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    ten(&world, &team).await;
    let found = by_hand();
    let told = |key: &str| format!("{:.2}", found[key].as_f64().expect("a figure"));
    let page = team.teacher.opens(&team.at("/evidence")).await.ok();
    let page = page
        .sees(&format!("{} ({} to {})", told("q50"), told("q05"), told("q95")))
        .sees("10 entries, 2 sessions, 100 items")
        .sees("10 entries count.");
    // And every figure of the page is what its own line gives.
    assert!(same_as_computed(&page) >= 3, "{}", same_as_computed(&page));
}

#[tokio::test]
async fn help_refusal_and_error_change_nothing_and_are_counted_apart() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    ten(&world, &team).await;
    let (before, all_before) = (threshold(&team).await, figures(&team).await);
    let tall = [("x_height", "6 cm"), ("distance", "5.2 m")];
    let with = |more: &[(&'static str, &'static str)]| [&tall[..], more].concat();
    enters(&team, &team.classroom, &with(&[("correct", "0"), ("tried", "10"), ("help", "told_once")])).await;
    enters(
        &team,
        &team.classroom,
        &with(&[("result", "none"), ("device_out", "chose_not"), ("non_use", "embarrassed")]),
    )
    .await;
    enters(&team, &team.classroom, &with(&[("result", "not_sure")])).await;
    let wrong = enters(&team, &team.classroom, &with(&[("correct", "0"), ("tried", "10")])).await;
    assert_ne!(threshold(&team).await, before, "an entry that counts is seen on the next view");
    team.classroom
        .presses(&format!("{wrong}/error"), "Mark as entered in error", &[("reason", "Another student")])
        .await
        .redirected_to();
    assert_eq!(threshold(&team).await, before);
    // Not one figure of the page is another, nor what it is computed from.
    assert_eq!(figures(&team).await, all_before);
    let page = team.teacher.opens(&team.at("/evidence")).await.ok();
    let page = page
        .sees("10 entries count, 4 do not and stand apart:")
        .sees("It took help: 1")
        .sees("Entered in error: 1")
        .sees("The student chose not to, or did not try: 1")
        .sees("Embarrassed or teased");
    // The entries behind each, one click away.
    let left = team.teacher.opens(&page.link("It took help: 1")).await.ok();
    left.sees("These entries stand in no figure").sees("0 of 10 right at 6 cm from 5.2 m");
    let (behind, _) = page.links().into_iter().find(|(to, _)| to.contains("setting=classroom")).expect("a link");
    let behind = team.teacher.opens(&behind).await.ok().sees("Exactly these entries stand behind the figure.");
    assert_eq!(behind.seen().matches("right at").count(), 10);
}

/// Every figure that the page can recompute, with all that it is computed from.
async fn figures(team: &Team) -> Vec<String> {
    let page = team.teacher.opens(&team.at("/evidence")).await.ok();
    let html = page.html();
    let asked: Vec<String> = html.select(&css(".asked")).map(words).collect();
    assert!(asked.iter().any(|line| line.contains("everyday_acuity_by_setting")), "{asked:?}");
    asked
}

/// The threshold as the table tells it.
async fn threshold(team: &Team) -> String {
    let page = team.teacher.opens(&team.at("/evidence")).await.ok();
    let seen = page.seen();
    let (_, rest) = seen.split_once("Threshold, logMAR (90 %)").unwrap_or_else(|| panic!("no threshold: {seen}"));
    let end = rest.find("items").unwrap_or(rest.len());
    rest[..end].to_owned()
}

#[tokio::test]
async fn one_entry_and_none_are_not_enough_and_say_what_would_be() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let nothing = team.teacher.opens(&team.at("/evidence")).await.ok();
    nothing.sees("There is nothing to pool yet").sees("Add the first entry").lacks("NaN");
    enters_seen(&team, SEEN[0]).await;
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&team.at("/evidence")).await.ok();
        page.lacks("NaN").lacks("inf").sees("read");
    }
}

#[tokio::test]
async fn each_reader_has_the_same_finding_in_words_of_their_own() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    ten(&world, &team).await;
    let family = team.parent.opens(&team.at("/evidence")).await.ok();
    let family = family.sees("In class, without a device: 8 of 10 words are read when the small letters are");
    for clinical in ["logMAR", "acuity", "90 %", "\u{3b8}", "adjusted p"] {
        assert!(!family.source().contains(clinical), "{clinical} on a family's page");
    }
    let clinic = team.clinician.opens(&team.at("/evidence")).await.ok();
    clinic.sees("8 of 10 words are read").sees("Threshold, logMAR (90 %)").sees("Assumed without a device");
    // A classroom teacher has the card; there is no such page.
    team.classroom.opens(&team.at("/evidence")).await.hidden();
}
