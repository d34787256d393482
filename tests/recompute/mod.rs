//! No second copy: every figure with a panel can be computed again outside.
//!
//! Members of the team walk through the demo. Every panel that says how a figure
//! was computed shows the line that recomputes it; here these lines are read off
//! the pages, given to `farpoint compute` in one batch, and what it answers is
//! held against the figure that stands on the page.

mod printed;
mod walk;

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::compute::answers;
use crate::page::Page;
use printed::{Printed, Rounding};
use walk::{Panel, panels_of, panels_on};

/// Panels without a line, by how their account begins, each with the reason.
/// This list may only shrink.
const WITHOUT: [(&str, &str); 1] = [
    // Its inputs are the clinic's, which its reader may not read.
    ("The seat is the farthest from which the smallest writing measured on the board", "the card is read by a class"),
];

/// Everybody who walks, by sign-in.
const WALKERS: [&str; 4] = ["marisol", "noor", "rosalba", "dev"];

#[tokio::test]
async fn what_the_panels_show_is_what_the_program_computes() {
    let mut panels: Vec<Panel> = Vec::new();
    let mut wrong = Vec::new();
    let world = crate::demo::filled().await;
    for sign_in in WALKERS {
        let person = crate::demo::signed_in(&world, sign_in).await;
        let (found, silent) = panels_of(&person, sign_in).await;
        panels.extend(found);
        wrong.extend(silent.into_iter().map(|page| format!("{page}: a figure, and no panel says how it was computed")));
    }
    let mut needed: BTreeMap<&str, usize> = BTreeMap::new();
    for panel in panels.iter().filter(|panel| panel.lines.is_empty()) {
        match WITHOUT.iter().find(|(start, _)| panel.begins.starts_with(start)) {
            Some((start, _)) => *needed.entry(start).or_default() += 1,
            None => wrong.push(format!("{}: no line to recompute {:?}", panel.page, panel.begins)),
        }
    }
    let (compared, differ) = compared(&panels);
    wrong.extend(differ);
    let idle: Vec<&str> = WITHOUT.iter().map(|(start, _)| *start).filter(|start| !needed.contains_key(start)).collect();
    if !idle.is_empty() {
        wrong.push(format!("on the list without need: {idle:?}"));
    }
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert!(compared > 200, "only {compared} figures were compared");
}

/// How many figures of a page were compared with the program's answers; stops
/// the test where one differs.
#[track_caller]
pub(crate) fn same_as_computed(page: &Page) -> usize {
    let (compared, wrong) = compared(&panels_on(page, page.path()));
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    compared
}

/// How many figures stand on these panels, and what is wrong with them.
fn compared(panels: &[Panel]) -> (usize, Vec<String>) {
    let (mut lines, mut wanted, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
    for panel in panels {
        for (line, shown) in &panel.lines {
            let mut line: Value = serde_json::from_str(line).expect("a line of JSON");
            line["id"] = json!(lines.len());
            for one in shown {
                if !panel.around.contains(&one.text) {
                    wrong.push(format!("{}: {:?} does not stand on the page", panel.page, one.text));
                }
                wanted.push((lines.len(), &panel.page, one));
            }
            lines.push(line.to_string());
        }
    }
    let found = answers(&lines.join("\n"));
    assert_eq!(found.len(), lines.len());
    for (at, page, printed) in &wanted {
        if let Some(what) = difference(&found[*at], printed) {
            wrong.push(format!("{page}: {}: {what}", lines[*at]));
        }
    }
    (wanted.len(), wrong)
}

/// What is wrong with a printed figure, if anything is.
fn difference(answer: &Value, printed: &Printed) -> Option<String> {
    let Some(exact) = answer["result"][&printed.key].as_f64() else {
        return Some(format!("{} is not answered: {answer}", printed.key));
    };
    let Some((shown, step)) = printed.value() else {
        return Some(format!("{:?} could not be read", printed.text));
    };
    let slack = 1e-9 * exact.abs().max(step);
    let right = match printed.rounding {
        Rounding::Nearest | Rounding::Quarter => (exact - shown).abs() <= step / 2.0 + slack,
        Rounding::Down => shown <= exact + slack && exact < shown + step + slack,
        Rounding::Up => shown >= exact - slack && exact > shown - step - slack,
    };
    (!right).then(|| format!("{} is {exact}, the page says {:?}", printed.key, printed.text))
}

#[test]
fn a_figure_that_is_not_the_answer_would_be_noticed() {
    let answer = json!({"id": 0, "result": {"distance_m": 2.69, "angle_arcmin": 5.34}});
    let of = |key: &str, text: &str, rounding| {
        difference(&answer, &Printed { key: key.to_owned(), text: text.to_owned(), rounding })
    };
    assert_eq!(of("angle_arcmin", "5.3 minutes of arc", Rounding::Nearest), None);
    assert!(of("angle_arcmin", "5.4 minutes of arc", Rounding::Nearest).is_some());
    assert_eq!(of("distance_m", "2.6 m", Rounding::Down), None);
    assert_eq!(of("distance_m", "8 ft 6 in", Rounding::Down), None);
    assert!(of("distance_m", "2.7 m", Rounding::Down).is_some());
    assert!(of("distance_m", "2.5 m", Rounding::Down).is_some());
    assert_eq!(of("distance_m", "2.69 m wide", Rounding::Nearest), None);
    assert!(of("distance_m", "2.7 m wide", Rounding::Nearest).is_some());
    assert!(of("size_m", "2 m", Rounding::Nearest).is_some());
    let answer = json!({"id": 0, "result": {"power_D": -3.3, "height_mm": 26.2, "field_m": -0.5}});
    let of = |key: &str, text: &str, rounding| {
        difference(&answer, &Printed { key: key.to_owned(), text: text.to_owned(), rounding })
    };
    assert_eq!(of("power_D", "-3.25 D", Rounding::Quarter), None);
    assert!(of("power_D", "-3.50 D", Rounding::Quarter).is_some());
    assert!(of("power_D", "-3.25 D", Rounding::Nearest).is_some());
    assert_eq!(of("height_mm", "2.6 cm", Rounding::Nearest), None);
    assert!(of("height_mm", "2.8 cm", Rounding::Nearest).is_some());
    assert_eq!(of("field_m", "\u{2212}50 cm", Rounding::Nearest), None);
    assert!(of("field_m", "50 cm", Rounding::Nearest).is_some());
}
