//! Every reference case against the function that answers it.
//!
//! The cases live in `tests/reference`; each names its source. A case whose
//! operation no function answers fails, unless it stands on a short list that
//! may only shrink.

use std::collections::BTreeSet;

use serde_json::{Map, Value};

mod acuity;
mod optics;
mod reading;
mod surroundings;

/// Operations that no function answers yet. This list may only shrink.
const NOT_ANSWERED: [&str; 0] = [];

const FILES: [(&str, &str, usize); 13] = [
    ("01", include_str!("../reference/01-visual-acuity.json"), 50),
    ("02", include_str!("../reference/02-angular-size.json"), 18),
    ("03", include_str!("../reference/03-demand-and-reserve.json"), 13),
    ("04", include_str!("../reference/04-required-magnification.json"), 10),
    ("05", include_str!("../reference/05-telescopes.json"), 45),
    ("06", include_str!("../reference/06-magnifiers.json"), 21),
    ("07", include_str!("../reference/07-contrast.json"), 24),
    ("08", include_str!("../reference/08-light.json"), 10),
    ("09", include_str!("../reference/09-refraction.json"), 23),
    ("10", include_str!("../reference/10-reading.json"), 12),
    ("11", include_str!("../reference/11-skill-measures.json"), 11),
    ("12", include_str!("../reference/12-fields-by-design.json"), 7),
    ("17", include_str!("../reference/17-reading-curve.json"), 5),
];

/// The figures an operation answered, by key.
pub(crate) type Figures = Vec<(&'static str, f64)>;

/// What came of a case.
pub(crate) enum Outcome {
    /// Figures.
    Figures(Figures),
    /// Figures and one word.
    WithWord(Figures, &'static str, &'static str),
    /// The function refused the inputs.
    Refused(String),
}

/// A refusal in words.
pub(crate) type Answered = Result<Outcome, Box<dyn std::error::Error>>;

/// The inputs of one case.
pub(crate) struct Inputs<'a>(&'a Map<String, Value>);

impl Inputs<'_> {
    pub(crate) fn has(&self, key: &str) -> bool {
        self.0.get(key).is_some_and(|value| !value.is_null())
    }

    /// A number; a reference file without it is broken.
    pub(crate) fn number(&self, key: &str) -> f64 {
        self.0[key].as_f64().unwrap_or_else(|| panic!("{key} is no number"))
    }

    pub(crate) fn count(&self, key: &str) -> u32 {
        let number = self.0[key].as_u64().unwrap_or_else(|| panic!("{key} is no count"));
        u32::try_from(number).expect("counts in the files are small")
    }

    pub(crate) fn word(&self, key: &str) -> &str {
        self.0[key].as_str().unwrap_or_else(|| panic!("{key} is no word"))
    }

    pub(crate) fn numbers(&self, key: &str) -> Vec<f64> {
        let list = self.0[key].as_array().unwrap_or_else(|| panic!("{key} is no list"));
        list.iter().map(|value| value.as_f64().expect("a list of numbers")).collect()
    }
}

struct Case {
    topic: &'static str,
    case: Value,
}

fn cases() -> Vec<Case> {
    FILES
        .iter()
        .flat_map(|(topic, text, _)| {
            let file: Value = serde_json::from_str(text).expect("reference files are JSON");
            let list = file.as_array().expect("a list of cases").clone();
            list.into_iter().map(|case| Case { topic, case })
        })
        .collect()
}

/// Asks the function that answers this operation; `None` if there is none.
fn ask(op: &str, inputs: &Inputs<'_>) -> Option<Outcome> {
    let answered = acuity::answer(op, inputs)
        .or_else(|| optics::answer(op, inputs))
        .or_else(|| reading::answer(op, inputs))
        .or_else(|| surroundings::answer(op, inputs))?;
    Some(answered.unwrap_or_else(|refusal| Outcome::Refused(refusal.to_string())))
}

/// How far a figure may miss: one number for all, one for its key, or `abs` and `rel`.
fn allowed(tolerance: &Value, key: &str, expected: f64) -> f64 {
    if let Some(only) = tolerance.as_f64().or_else(|| tolerance.get(key)?.as_f64()) {
        return only;
    }
    let part = |key: &str| tolerance.get(key).and_then(Value::as_f64).unwrap_or(0.0);
    part("abs").max(part("rel") * expected.abs())
}

/// The complaints about one case; none if it is right.
fn complaints(case: &Value, outcome: &Outcome) -> Vec<String> {
    let expected = case["expected"].as_object().expect("expected figures");
    if expected.get("valid") == Some(&Value::Bool(false)) {
        return match outcome {
            Outcome::Refused(words) if !words.is_empty() => vec![],
            Outcome::Refused(_) => vec!["refused without a word".into()],
            _ => vec!["answered what must be refused".into()],
        };
    }
    let (figures, word) = match outcome {
        Outcome::Figures(figures) => (figures, None),
        Outcome::WithWord(figures, key, word) => (figures, Some((*key, *word))),
        Outcome::Refused(why) => return vec![format!("refused: {why}")],
    };
    expected
        .iter()
        .filter_map(|(key, value)| {
            if let Some(wanted) = value.as_str() {
                return (word != Some((key, wanted))).then(|| format!("{key}: not {wanted}"));
            }
            let wanted = value.as_f64().expect("a figure");
            match figures.iter().find(|(name, _)| name == key) {
                None => Some(format!("{key}: not answered")),
                Some((_, got)) if (got - wanted).abs() <= allowed(&case["tolerance"], key, wanted) => None,
                Some((_, got)) => Some(format!("{key}: {got}, expected {wanted}")),
            }
        })
        .collect()
}

#[test]
fn every_reference_case_holds() {
    let mut wrong = Vec::new();
    for Case { topic, case } in cases() {
        let id = case["id"].as_str().expect("an id");
        let op = case["op"].as_str().expect("an operation");
        let inputs = Inputs(case["inputs"].as_object().expect("inputs"));
        match ask(op, &inputs) {
            Some(outcome) => {
                let found = complaints(&case, &outcome);
                wrong.extend(found.into_iter().map(|what| format!("{topic} {id} {op}: {what}")));
            }
            None if NOT_ANSWERED.contains(&op) => {}
            None => wrong.push(format!("{topic} {id}: no function answers {op}")),
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn no_case_has_gone_missing() {
    for (topic, text, count) in FILES {
        let file: Value = serde_json::from_str(text).expect("reference files are JSON");
        let list = file.as_array().expect("a list of cases");
        assert_eq!(list.len(), count, "cases of topic {topic}");
        for case in list {
            let source = case["source"].as_str().expect("a source");
            let expected = case["expected"].as_object().expect("expected figures");
            assert!(!source.is_empty() && !expected.is_empty(), "{}", case["id"]);
            assert!(["S", "D", "P", "M"].contains(&case["provenance"].as_str().expect("a mark")));
        }
    }
    let ids: BTreeSet<String> = cases().iter().map(|c| c.case["id"].to_string()).collect();
    assert_eq!(ids.len(), cases().len(), "ids are unique");
}

#[test]
fn the_list_of_unanswered_operations_only_shrinks() {
    let used: BTreeSet<String> = cases().iter().filter_map(|c| Some(c.case["op"].as_str()?.to_owned())).collect();
    for op in NOT_ANSWERED {
        assert!(used.contains(op), "{op} stands on the list without need");
    }
}

#[test]
fn a_wrong_figure_would_be_noticed() {
    let case: Value =
        serde_json::from_str(r#"{"expected": {"logmar": 1.0}, "tolerance": {"abs": 1e-9}}"#).expect("JSON");
    let off = Outcome::Figures(vec![("logmar", 1.0 + 2e-9)]);
    assert_eq!(complaints(&case, &off).len(), 1);
    let missing = Outcome::Figures(vec![("decimal", 0.1)]);
    assert_eq!(complaints(&case, &missing).len(), 1);
    assert!(complaints(&case, &Outcome::Figures(vec![("logmar", 1.0)])).is_empty());
    let by_key: Value = serde_json::from_str(r#"{"a": 0.1, "b": 0.001}"#).expect("JSON");
    assert_eq!([allowed(&by_key, "a", 5.0), allowed(&by_key, "b", 5.0), allowed(&by_key, "c", 5.0)], [0.1, 0.001, 0.0]);
    assert_eq!(allowed(&Value::from(0.25), "any", 5.0), 0.25);
}
