//! Every acuity in every other notation, as the evaluation's table shows it.
//!
//! Sources: the cases of `reference/01-visual-acuity.json`, each with its own.

use super::{cases, is_shown};
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

const FILE: &str = include_str!("../reference/01-visual-acuity.json");

/// The cells of the row that says this, by the head of their column.
fn cell<'a>(table: &'a crate::page::Table, written: &str, head: &str) -> &'a str {
    let at = |wanted: &str| {
        table.heads.iter().position(|head| head == wanted).unwrap_or_else(|| panic!("no column {wanted}"))
    };
    let row = table.rows.iter().find(|row| row[at("As written")].split(", ").next() == Some(written));
    let row = row.unwrap_or_else(|| panic!("no row {written} in {table:?}"));
    &row[at(head)]
}

/// A fraction or a decimal: three figures, or the name of the chart row that lies
/// within 0.006 log units. The names, preferred numbers, are up to 0.0052 off the
/// exact series (common practice; `vision/acuity/equivalents`).
#[track_caller]
fn is_named(shown: &str, (expected, logmar): (f64, f64), what: &str) {
    let number: f64 = shown.parse().unwrap_or_else(|_| panic!("{what}: {shown:?} is no number"));
    let from_a_row = (logmar - (logmar * 10.0).round() / 10.0).abs();
    let most = if from_a_row <= 0.006 { 0.006 + 0.0052 } else { (1.005_f64).log10() };
    let off = (number / expected).log10().abs();
    assert!(off <= most, "{what}: {shown} is not {expected}");
}

#[tokio::test]
async fn fractions_stand_in_every_other_notation() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    let draft = team.begins_an_evaluation().await;
    let path = format!("{draft}/edit/acuity");
    let mut shown = 0;
    let mut seen = std::collections::BTreeSet::new();
    let mut wanted = Vec::new();
    for case in cases(FILE, "snellen_to_all") {
        let (inputs, expected) = (&case["inputs"], &case["expected"]);
        let number = |key: &str| inputs[key].as_f64();
        let pair =
            |unit: &str| Some((number(&format!("test_distance_{unit}"))?, number(&format!("letter_distance_{unit}"))?));
        // Feet over metres is a fault of a caller; a fraction has one unit for both.
        let Some((test, letter, unit)) = pair("ft")
            .map(|(test, letter)| (test, letter, "ft"))
            .or_else(|| pair("m").map(|(test, letter)| (test, letter, "m")))
        else {
            continue;
        };
        let (written, at) = (format!("{test}/{letter}"), format!("{test} {unit}"));
        if !seen.insert(written.clone()) {
            continue;
        }
        let mut row =
            vec![("eye", "right"), ("correction", "none"), ("distance", at.as_str()), ("value", written.as_str())];
        let page = team.clinician.presses(&path, "Add this row", &row).await;
        match expected["logmar"].as_f64() {
            Some(logmar) if logmar <= 2.5 => {}
            // No acuity at all, or one that no chart measures: not a figure is kept.
            _ => {
                page.refused("value");
                continue;
            }
        }
        if page.code() == 422 {
            // So good that it is asked back.
            let asked =
                page.choices_of("confirmed").into_iter().next().unwrap_or_else(|| panic!("{written}\n{}", page.seen()));
            row.push(("confirmed", &asked));
            team.clinician.presses_on(&page, "Add this row", &row).await.redirected_to();
        }
        wanted.push((written, expected.clone()));
    }
    let table = team.clinician.opens(&path).await.ok().table("Acuity, beyond 60 cm");
    for (written, expected) in &wanted {
        // A case that quotes a chart quotes rounded values; those are the functions' test.
        let Some(minutes) = expected["mar_arcmin"].as_f64() else { continue };
        let value = |key: &str| expected[key].as_f64().expect("a number");
        is_shown(cell(&table, written, "logMAR"), value("logmar"), &format!("{written}, logMAR"));
        is_shown(cell(&table, written, "VAR"), value("var_score"), &format!("{written}, VAR"));
        is_named(cell(&table, written, "Decimal"), (value("decimal"), value("logmar")), &format!("{written}, decimal"));
        is_named(
            cell(&table, written, "20/x").trim_start_matches("20/"),
            (20.0 * minutes, value("logmar")),
            &format!("{written}, 20/x"),
        );
        is_named(
            cell(&table, written, "6/x").trim_start_matches("6/"),
            (6.0 * minutes, value("logmar")),
            &format!("{written}, 6/x"),
        );
        shown += 5;
    }
    assert!(shown > 20, "only {shown} figures");
}

#[tokio::test]
async fn no_figure_stands_beside_a_category() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    let draft = team.begins_an_evaluation().await;
    let path = format!("{draft}/edit/acuity");
    for written in ["CF @ 1 m", "HM", "LP", "NLP"] {
        let row = [("eye", "left"), ("correction", "none"), ("distance", "1 m"), ("value", written)];
        team.clinician.presses(&path, "Add this row", &row).await.redirected_to();
    }
    let table = team.clinician.opens(&path).await.ok().table("Acuity, beyond 60 cm");
    for written in ["CF @ 1 m", "HM", "LP", "NLP"] {
        for head in ["logMAR", "Decimal", "VAR", "20/x", "6/x"] {
            let shown = cell(&table, written, head);
            assert!(!shown.contains(|c: char| c.is_ascii_digit()), "{written}, {head}: {shown}");
        }
    }
}
