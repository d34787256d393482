//! The pictures of the review, measured on the page: what is joined, where a mark
//! stands, what is a loan and what the student's own, and that each table says the same.

use crate::clinic::setup::{TELESCOPE, Team};
use crate::lap::{self, DISTANCE, Step};
use crate::page::Page;
use crate::world::World;

/// The drawing of this name, from its title to its end.
fn drawing<'p>(page: &'p Page, id: &str) -> &'p str {
    let from = format!("aria-labelledby=\"{id}-title {id}-description\"");
    let (_, rest) = page.source().split_once(&from).unwrap_or_else(|| panic!("no picture {id}\n{}", page.report()));
    rest.split_once("</svg>").expect("a whole drawing").0
}

/// Where each path or bar of a class begins.
fn begins(drawing: &str, class: &str) -> Vec<(f64, f64)> {
    let paths = format!("<path class=\"{class}\" d=\"M");
    let place = |text: &str| {
        let mut numbers = text.split(|c: char| !(c.is_ascii_digit() || c == '.')).filter(|part| !part.is_empty());
        let mut next = || numbers.next().and_then(|part| part.parse().ok()).expect("a number");
        (next(), next())
    };
    drawing.split(&paths).skip(1).map(place).collect()
}

/// How many lines lead from mark to mark; short ones stand at the days.
fn joined(drawing: &str) -> usize {
    begins(drawing, "ink").len() - drawing.matches("v-8\"").count()
}

#[tokio::test]
async fn acuity_over_time_joins_comparable_rows_alone_and_stands_to_scale() {
    let team = Team::with_consents().await;
    // 10/100 at 10 ft is 1.00 logMAR.
    team.evaluated().await;
    let page = team.clinician.opens(&team.at("/review")).await.ok();
    let once = drawing(&page, "acuity-far");
    assert_eq!(begins(once, "full").len(), 1, "{once}");
    assert!(once.contains(">not enough yet:</text>") && once.contains(">measured once</text>"), "{once}");
    assert_eq!(joined(once), 0, "{once}");
    team.world.days_later(200).await;
    let draft = team.begins().await;
    let row = |eye, distance, value| {
        [("eye", eye), ("correction", "best_correction"), ("distance", distance), ("value", value)]
    };
    // Comparable: 10/160 at 3 m, 1.20 logMAR. Not: another eye, another distance.
    for fields in [row("right", "3 m", "10/160"), row("left", "10 ft", "10/125"), row("right", "6 m", "6/60")] {
        team.adds_row(&draft, &fields).await.redirected_to();
    }
    team.saves(&draft, "distance", &TELESCOPE).await.redirected_to();
    team.saves(&draft, "near", &[("answer", "not_looked_at")]).await.redirected_to();
    team.signs(&draft).await.redirected_to();
    for path in ["/review", "/evaluations"] {
        let page = team.clinician.opens(&team.at(path)).await.ok();
        let drawn = drawing(&page, "acuity-far");
        let marks = begins(drawn, "full");
        assert_eq!(marks.len(), 2, "one strip, two marks: {drawn}");
        // Worse is lower, by the log of 160 over 100, 160 units of the drawing each.
        let lower = 160.0 * f64::log10(160.0 / 100.0);
        assert!((marks[1].1 - marks[0].1 - lower).abs() < 0.11, "{marks:?}");
        assert!(marks[0].0 < marks[1].0, "time goes to the right: {marks:?}");
        assert_eq!(joined(drawn), 1, "one line from mark to mark: {drawn}");
        // The band of what two tests differ by, 0.15 to either side of the newest.
        let veil = drawn.split("class=\"veil\"").nth(1).expect("a band");
        assert!(veil.contains("height=\"48\""), "{veil}");
        let table = page.table("Acuity over time, beyond 60 cm");
        let words = table.rows.concat().join(" | ");
        for said in ["10/100", "10/160", "10/125", "6/60"] {
            assert!(words.contains(said), "{path}: {said}: {words}");
        }
    }
}

#[tokio::test]
async fn trials_are_bars_full_for_a_loan_and_open_for_an_own_device_with_the_decision_that_followed() {
    let world = World::new().await;
    let team = lap::Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let bars = |drawn: &str, class: &str| drawn.matches(&format!("<rect class=\"{class}\"")).count();
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    let drawn = drawing(&page, "device-trials");
    assert_eq!((bars(drawn, "full"), bars(drawn, "open")), (1, 0), "{drawn}");
    // The third session is younger than 24 hours and not the clinic's to read yet.
    assert!(drawn.contains("2 sessions, 40 minutes") && drawn.contains("today"), "{drawn}");
    let table = page.table("Devices tried, with the decision that followed");
    assert_eq!(table.rows.len(), 1, "{table:?}");
    let [_, whose, _, to, sessions, minutes, then] = &table.rows[0][..] else { panic!("{table:?}") };
    assert_eq!(
        [whose, to, sessions, minutes, then].map(String::as_str),
        ["on loan", "still here", "2", "40", "none yet"]
    );
    let world = World::new().await;
    let team = lap::Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    let drawn = drawing(&page, "device-trials");
    assert_eq!((bars(drawn, "full"), bars(drawn, "open")), (1, 1), "{drawn}");
    assert!(drawn.contains("decision 1") && drawn.contains("1: finalise, "), "{drawn}");
    let table = page.table("Devices tried, with the decision that followed");
    let whose: Vec<&str> = table.rows.iter().map(|row| row[1].as_str()).collect();
    assert_eq!(whose, ["on loan", "the student\u{2019}s own"], "{table:?}");
    assert!(table.rows[0][6].starts_with("Finalise, "), "{table:?}");
}
