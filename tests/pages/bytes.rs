//! Any bytes in any field of any form get an answer in the user's words, and
//! what was typed is still there.
//!
//! Every form that a person can reach by links is sent again and again, each
//! field with each of the oddities below. The client stops the test on a failed
//! server or a page that breaks the HTML rules.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use axum::http::{HeaderMap, Method};

use crate::lap::{DISTANCE, Team};
use crate::page::Control;
use crate::people::{PASSWORD, Person};
use crate::world::{Frozen, World};

/// What people type, what machines send, and what only looks odd.
fn oddities() -> Vec<String> {
    let long = "x".repeat(10_000);
    let texts = [
        "",
        "\u{0}a",
        "20/0",
        "-3 m",
        "1e999",
        "0.2",
        "nan",
        "1890-01-01",
        "2026-02-30",
        "99999999999999999999",
        "½ in",
        "٣ m",
        "15 ft",
        "👁 💧",
        "O'Brien",
        "\u{5e9}\u{5dc}\u{5d5}\u{5dd}",
        "<b>bold</b> & co",
        "' or 1=1 --",
        "line\r\nline",
        &long,
    ];
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// What stands in an address is one of many; the shape of the page is one.
fn shape(path: &str) -> String {
    let part = |part: &str| if part.len() == 36 && part.contains('-') { "{id}".to_owned() } else { part.to_owned() };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}

/// The pages that somebody finds by links, one of each shape.
async fn found(person: &Person, starts: &[String]) -> Vec<String> {
    let mut waiting: VecDeque<String> = starts.iter().cloned().collect();
    let (mut shapes, mut pages) = (BTreeSet::new(), Vec::new());
    while let Some(path) = waiting.pop_front() {
        if !shapes.insert(shape(&path)) {
            continue;
        }
        let page = person.opens(&path).await;
        if page.code() != 200 || !page.is_html() {
            continue;
        }
        waiting.extend(page.links().into_iter().map(|(href, _)| href).filter(|href| href.starts_with('/')));
        pages.push(path);
    }
    pages
}

/// One sending of one form: every field with an oddity of its own.
fn filled(controls: &[Control], round: usize, oddities: &[String]) -> Vec<(String, String)> {
    let mut pairs: Vec<(String, String)> = Vec::new();
    for (place, control) in controls.iter().enumerate() {
        let odd = &oddities[(place + round) % oddities.len()];
        let value = match control.kind.as_str() {
            "hidden" => control.value.clone(),
            "password" => PASSWORD.to_owned(),
            // Half of the time a choice is made as offered, so that the rest is read.
            "radio" | "checkbox" if pairs.iter().any(|(name, _)| *name == control.name) => continue,
            "radio" | "checkbox" if round.is_multiple_of(2) => control.value.clone(),
            "select" if round.is_multiple_of(2) => control.offered.last().cloned().unwrap_or_default(),
            _ => odd.clone(),
        };
        pairs.push((control.name.clone(), value));
    }
    pairs
}

/// What a field may not show again: secrets, what no page can hold, and choices.
fn kept(control: &Control, sent: &str, shown: &BTreeMap<String, String>) -> bool {
    let shown = shown.get(&control.name);
    let written = matches!(control.kind.as_str(), "text" | "textarea" | "date");
    // A field that the page no longer asks for cannot show anything.
    !written
        || sent.contains('\u{0}')
        || shown.is_none_or(|shown| shown.replace("\r\n", "\n").trim() == sent.replace("\r\n", "\n").trim())
}

async fn sends_everything(state: &Frozen, person: &Person, starts: &[String]) -> (usize, Vec<String>) {
    let oddities = oddities();
    let mut world = state.thawed().await;
    let mut person = person.through(world.router());
    let mut lost = BTreeSet::new();
    let mut answers: BTreeMap<u16, usize> = BTreeMap::new();
    let mut forms = BTreeSet::new();
    for path in found(&person, starts).await {
        let page = person.opens(&path).await;
        for (action, controls) in page.forms() {
            if action == "/sign-out" || !forms.insert(format!("{} on {}", shape(&action), shape(&path))) {
                continue;
            }
            for round in 0..oddities.len() {
                let pairs = filled(&controls, round, &oddities);
                let fields: Vec<(&str, &str)> =
                    pairs.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
                let answer = person.sends(Method::POST, &action, &fields, HeaderMap::new()).await;
                *answers.entry(answer.code()).or_default() += 1;
                if answer.code() == 422 {
                    let shown = answer.values();
                    for control in &controls {
                        let sent = pairs.iter().find(|(name, _)| *name == control.name).map_or("", |(_, value)| value);
                        if !kept(control, sent, &shown) {
                            let short: String = sent.chars().take(20).collect();
                            lost.insert(format!("{} on {}: {short:?}", control.name, shape(&action)));
                        }
                    }
                } else if answer.code() < 400 {
                    // It was stored: it is shown where it led, and the next one starts afresh.
                    if answer.code() == 303 {
                        person.opens(&answer.redirected_to()).await;
                        person.opens(&path).await;
                    }
                    world = state.thawed().await;
                    person = person.through(world.router());
                }
            }
        }
    }
    let sent = answers.values().sum();
    assert!(answers.contains_key(&422), "{}: nothing was refused: {answers:?}", person.name);
    (sent, lost.into_iter().collect())
}

async fn everything_by(pick: impl Fn(&Team) -> &Person, least: usize) {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    world.consents(&team.parent, &team.pupil).await;
    team.goes_round_and_on(&world, &DISTANCE).await;
    let person = pick(&team).clone();
    person.opens("/account").await;
    let starts = ["/today".to_owned(), "/students/new".to_owned(), "/devices/new".to_owned(), team.at("")];
    let (sent, lost) = sends_everything(&world.frozen().await, &person, &starts).await;
    assert!(sent > least, "only {sent} forms were sent");
    assert!(lost.is_empty(), "typed and lost:\n{}", lost.join("\n"));
}

#[tokio::test]
async fn any_bytes_from_a_vision_teacher_get_an_answer_and_stay_typed() {
    everything_by(|team| &team.teacher, 300).await;
}

#[tokio::test]
async fn any_bytes_from_a_classroom_teacher_get_an_answer_and_stay_typed() {
    everything_by(|team| &team.classroom, 60).await;
}

#[tokio::test]
async fn any_bytes_from_a_parent_get_an_answer_and_stay_typed() {
    everything_by(|team| &team.parent, 100).await;
}

#[tokio::test]
async fn any_bytes_from_a_clinician_get_an_answer_and_stay_typed() {
    everything_by(|team| &team.clinician, 200).await;
}
