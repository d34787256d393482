//! Calculators for people: every one answers everybody in both units, its
//! figures are those of the operations behind it, wrong input stays on the page
//! with the words beside its field, and nothing is kept.

mod inputs;
mod worked;

use farpoint::access::Role;
use farpoint::compute;
use farpoint::web::calculators::all;
use farpoint::web::calculators::entry::Step;
use serde_json::{Map, Value};

use crate::page::{Page, css};
use crate::people::Person;
use crate::world::World;

/// Somebody who reads lengths in feet and inches.
async fn in_feet(world: &World) -> Person {
    let person = world.classroom_teacher().await;
    let page = person.opens("/account").await.ok();
    let chosen = page.choices_of("units");
    assert!(chosen.contains(&"imperial".to_owned()), "{chosen:?}");
    let button = save(&page);
    person.presses_on(&page, &button, &[("units", "imperial")]).await;
    person
}

/// The words on the button of the form that holds the units.
fn save(page: &Page) -> String {
    let html = page.html();
    let forms = css("form");
    let form = html.select(&forms).find(|form| form.select(&css("[name=units]")).next().is_some()).unwrap();
    let button = form.select(&css("button")).next().unwrap();
    crate::page::words(button)
}

/// The questions for `farpoint compute` on a page.
fn asked(page: &Page) -> Vec<(String, Map<String, Value>)> {
    let html = page.html();
    html.select(&css("code.ask"))
        .map(|line| {
            let line: Value = serde_json::from_str(&line.text().collect::<String>()).unwrap();
            (line["op"].as_str().unwrap().to_owned(), line["inputs"].as_object().unwrap().clone())
        })
        .collect()
}

/// The figures of a page: label, value, and what stands below it.
fn figures(page: &Page) -> Vec<(String, String, String)> {
    let html = page.html();
    let part = |figure: scraper::ElementRef<'_>, class: &str| {
        figure.select(&css(class)).next().map(crate::page::words).unwrap_or_default()
    };
    html.select(&css(".figure"))
        .map(|one| (part(one, ".figure-label"), part(one, ".figure-value"), part(one, ".figure-basis")))
        .collect()
}

/// The number before rounding that a figure states in `unit`, or its rounded one.
fn exact(basis: &str) -> Option<f64> {
    basis.strip_prefix("before rounding: ")?.split(' ').next()?.parse().ok()
}

fn example(page: &Page) -> String {
    page.link("Show an example")
}

#[tokio::test]
async fn every_calculator_opens_for_everybody_empty_and_without_fault() {
    let world = World::new().await;
    let everybody = [
        world.vision_teacher().await,
        world.classroom_teacher().await,
        world.parent().await,
        world.clinician().await,
        world.steward().await,
        world.person(Some(Role::Parent), |new| new.mobility = true).await,
    ];
    for person in &everybody {
        let list = person.opens("/calculators").await.ok();
        let listed: Vec<String> = list.links().into_iter().map(|(href, _)| href).collect();
        // What a school asks most stands first, and each topic can be jumped to.
        assert!(
            listed.iter().position(|href| href == "/calculators/farthest-seat")
                < listed.iter().position(|href| href.starts_with('#'))
        );
        for jump in listed.iter().filter_map(|href| href.strip_prefix('#')).filter(|jump| *jump != "main") {
            assert!(list.source().contains(&format!("id=\"{jump}\"")), "{jump} leads nowhere");
        }
        for one in all() {
            let path = format!("/calculators/{}", one.word);
            assert!(listed.contains(&path), "{path} is not listed");
            let page = person.opens(&path).await.ok().sees(one.question);
            assert!(figures(&page).is_empty(), "{path} answers before it is asked");
            assert!(!page.source().contains("class=\"fault\""), "{path} finds fault before it is asked");
        }
    }
    world.stranger().opens("/calculators/acuity").await.lacks("VAR score");
    everybody[0].opens("/calculators/horoscope").await.hidden();
}

#[tokio::test]
async fn the_figures_of_every_example_are_those_of_the_operations() {
    let world = World::new().await;
    for person in [world.vision_teacher().await, in_feet(&world).await] {
        for one in all() {
            let blank = person.opens(&format!("/calculators/{}", one.word)).await.ok();
            let page = person.opens(&example(&blank)).await.ok();
            let lines = asked(&page);
            let mut told = figures(&page).into_iter();
            assert!(page.seen().contains("How this was computed"), "{}: no panel", one.word);
            for (op, inputs) in lines {
                let found = compute::answer(&op, &inputs).unwrap_or_else(|refused| panic!("{}: {refused}", one.word));
                let Some(step) = one.steps.iter().find(|step| step.op == op) else { continue };
                for shows in step.shows.iter().filter(|shows| found.contains_key(shows.key)) {
                    let (label, value, basis) =
                        told.next().unwrap_or_else(|| panic!("{}: {} is left out", one.word, shows.label));
                    assert_eq!(label, shows.label, "{}", one.word);
                    assert!(!value.is_empty(), "{}: {label} has no value", one.word);
                    let (Some(stated), Some(wanted)) = (exact(&basis), found[shows.key].as_f64()) else { continue };
                    let same = [1.0, 0.001, 100.0, 1_000.0]
                        .iter()
                        .any(|unit| (stated - wanted * unit).abs() <= (1e-4 * stated.abs()).max(1e-12));
                    assert!(same, "{}: {label} states {stated}, computed {wanted}", one.word);
                }
            }
            assert!(told.next().is_none(), "{}: a figure that no operation gave", one.word);
        }
    }
}

/// What is computed from the entries of a student's record, and not by hand: most of
/// these take lists of them; the others (a rate, a tally, an interval of 90 in 100, a
/// rule of mastery, a size for a success) take figures that follow from such lists. It
/// has its place where those entries are. This list may only shrink.
const FROM_A_RECORD: [&str; 22] = [
    "field_demand",
    "effective_magnification",
    "wilson_interval90",
    "rate_interval90",
    "theil_sen",
    "kendall_tau_b",
    "weekly_growth",
    "residual_autocorrelation",
    "nap",
    "nap_interval",
    "mastery_rule",
    "time_to_spot",
    "probability_better",
    "tally_likelihood",
    "word_likelihood",
    "effective_sessions",
    "size_for_success",
    "everyday_acuity",
    "everyday_acuity_by_setting",
    "next_day_success",
    "suspect_entry",
    "next_practice_size",
];

#[test]
fn every_operation_is_reached_from_a_calculator() {
    let asked: Vec<&Step> = all().flat_map(|one| one.steps).collect();
    for operation in compute::operations() {
        let reached = asked.iter().any(|step| step.op == operation.name);
        let by_record = FROM_A_RECORD.contains(&operation.name);
        assert!(reached != by_record, "{}: in a calculator, or on the list, and not both", operation.name);
    }
    for step in asked {
        let operation = compute::operations().iter().find(|operation| operation.name == step.op);
        let operation = operation.unwrap_or_else(|| panic!("{} is no operation", step.op));
        for (key, _) in step.gives {
            assert!(operation.inputs.iter().any(|input| input.key == *key), "{}: {key}", step.op);
        }
        let given = |key: &str| step.gives.iter().any(|(known, _)| *known == key);
        let needed = |input: &&compute::Input| input.need == compute::Need::Required;
        for input in operation.inputs.iter().filter(needed) {
            assert!(given(input.key), "{} lacks {}", step.op, input.key);
        }
    }
}

#[tokio::test]
async fn nothing_is_kept_and_no_cookie_set() {
    let world = World::new().await;
    let person = world.parent().await;
    person.opens("/today").await.ok();
    let before = world.content().await;
    for path in
        ["/calculators", "/calculators/acuity", "/calculators/acuity?acuity=20%2F200", "/calculators/acuity?acuity=x"]
    {
        let page = person.opens(path).await;
        assert_eq!(page.header("set-cookie"), "", "{path} sets a cookie");
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn whoever_looks_through_a_device_is_warned_and_no_power_is_prescribed() {
    let world = World::new().await;
    let person = world.parent().await;
    for word in ["telescope-lenses", "stand-magnifier"] {
        person.opens(&format!("/calculators/{word}")).await.ok().sees("Never look at the sun").sees("Stand still");
    }
    for word in ["required-power", "reading-power", "starting-add"] {
        person.opens(&format!("/calculators/{word}")).await.ok().sees("Only a clinician prescribes.");
    }
}
