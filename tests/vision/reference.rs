//! Every reference case against the operation that answers it.
//!
//! The cases live in `tests/reference`; each names its source. They are asked
//! through `compute::answer`, as the command and the panels ask.

use std::collections::BTreeSet;

use farpoint::compute::{answer, operations};
use serde_json::{Map, Value, json};

/// Topic, cases and their number.
pub(crate) const FILES: [(&str, &str, usize); 13] = [
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

/// One case of a topic.
pub(crate) struct Case {
    pub(crate) topic: &'static str,
    pub(crate) case: Value,
}

/// All cases of all files.
pub(crate) fn cases() -> Vec<Case> {
    FILES
        .iter()
        .flat_map(|(topic, text, _)| {
            let file: Value = serde_json::from_str(text).expect("reference files are JSON");
            let list = file.as_array().expect("a list of cases").clone();
            list.into_iter().map(|case| Case { topic, case })
        })
        .collect()
}

/// How far a figure may miss: one number for all, one for its key, or `abs` and `rel`.
fn allowed(tolerance: &Value, key: &str, expected: f64) -> f64 {
    if let Some(only) = tolerance.as_f64().or_else(|| tolerance.get(key)?.as_f64()) {
        return only;
    }
    let part = |key: &str| tolerance.get(key).and_then(Value::as_f64).unwrap_or(0.0);
    part("abs").max(part("rel") * expected.abs())
}

/// The complaints about the answer to one case; none if it is right.
pub(crate) fn complaints(case: &Value, answered: Result<&Map<String, Value>, &str>) -> Vec<String> {
    let expected = case["expected"].as_object().expect("expected figures");
    let refused = expected.get("valid") == Some(&Value::Bool(false));
    let found = match answered {
        // A refusal names an input of the case before it says anything else.
        Err(why) if refused => {
            let keys = case["inputs"].as_object().expect("inputs");
            let named = keys.keys().any(|key| why.split(": ").next().is_some_and(|start| start.contains(key)));
            return if named { vec![] } else { vec![format!("refused without the key at fault: {why}")] };
        }
        Ok(_) if refused => return vec!["answered what must be refused".into()],
        Err(why) => return vec![format!("refused: {why}")],
        Ok(found) => found,
    };
    expected
        .iter()
        .filter_map(|(key, wanted)| match (found.get(key), wanted.as_f64()) {
            (None, _) => Some(format!("{key}: not answered")),
            (Some(got), None) => (got != wanted).then(|| format!("{key}: {got}, expected {wanted}")),
            (Some(got), Some(wanted)) => {
                let off =
                    got.as_f64().is_none_or(|got| (got - wanted).abs() > allowed(&case["tolerance"], key, wanted));
                off.then(|| format!("{key}: {got}, expected {wanted}"))
            }
        })
        .collect()
}

#[test]
fn every_reference_case_holds() {
    let mut wrong = Vec::new();
    for Case { topic, case } in cases() {
        let op = case["op"].as_str().expect("an operation");
        let found = answer(op, case["inputs"].as_object().expect("inputs")).map_err(|refusal| refusal.to_string());
        let complaints = complaints(&case, found.as_ref().map_err(String::as_str));
        wrong.extend(complaints.into_iter().map(|what| format!("{topic} {} {op}: {what}", case["id"])));
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
fn every_operation_has_a_case_and_no_name_stands_twice() {
    let asked: BTreeSet<String> = cases().iter().filter_map(|c| Some(c.case["op"].as_str()?.to_owned())).collect();
    let there: BTreeSet<String> = operations().iter().map(|operation| operation.name.to_owned()).collect();
    assert_eq!(there.len(), operations().len(), "a name stands twice");
    assert_eq!(asked, there);
}

#[test]
fn a_wrong_figure_would_be_noticed() {
    let case = json!({"expected": {"logmar": 1.0}, "tolerance": {"abs": 1e-9}, "inputs": {"decimal": 0.1}});
    let noticed = |found: Value| complaints(&case, found.as_object().ok_or("inputs: wrong")).len();
    assert_eq!(noticed(json!({"logmar": 1.0 + 2e-9})), 1);
    assert_eq!(noticed(json!({"decimal": 0.1})), 1);
    assert_eq!(noticed(json!({"logmar": "1.0"})), 1);
    assert_eq!(noticed(json!({"logmar": 1.0})), 0);
    assert_eq!(noticed(Value::Null), 1);
    let refused = json!({"expected": {"valid": false}, "inputs": {"decimal": -1}});
    assert_eq!(complaints(&refused, Err("decimal: give more")).len(), 0);
    assert_eq!(complaints(&refused, Err("something is wrong")).len(), 1);
    assert_eq!(complaints(&refused, Ok(&Map::new())).len(), 1);
    let by_key = json!({"a": 0.1, "b": 0.001});
    assert_eq!([allowed(&by_key, "a", 5.0), allowed(&by_key, "b", 5.0), allowed(&by_key, "c", 5.0)], [0.1, 0.001, 0.0]);
    assert_eq!(allowed(&Value::from(0.25), "any", 5.0), 0.25);
}
