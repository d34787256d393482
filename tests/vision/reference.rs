//! Every reference case against the operation that answers it.
//!
//! The cases live in `tests/reference`; each names its source. They are asked
//! through `compute::answer`, as the command and the panels ask.

use std::collections::BTreeSet;

use farpoint::compute::{answer, operations};
use serde_json::{Map, Value, json};

/// Topic, cases and their number.
pub(crate) const FILES: [(&str, &str, usize); 17] = [
    ("01", include_str!("../reference/01-visual-acuity.json"), 50),
    ("02", include_str!("../reference/02-angular-size.json"), 18),
    ("03", include_str!("../reference/03-demand-and-reserve.json"), 14),
    ("04", include_str!("../reference/04-required-magnification.json"), 10),
    ("05", include_str!("../reference/05-telescopes.json"), 45),
    ("06", include_str!("../reference/06-magnifiers.json"), 23),
    ("07", include_str!("../reference/07-contrast.json"), 27),
    ("08", include_str!("../reference/08-light.json"), 10),
    ("09", include_str!("../reference/09-refraction.json"), 23),
    ("10", include_str!("../reference/10-reading.json"), 12),
    ("11", include_str!("../reference/11-skill-measures.json"), 11),
    ("12", include_str!("../reference/12-fields-by-design.json"), 7),
    ("14", include_str!("../reference/14-observation-model.json"), 32),
    ("15", include_str!("../reference/15-progress.json"), 21),
    ("16", include_str!("../reference/16-comparison.json"), 3),
    ("17", include_str!("../reference/17-reading-curve.json"), 5),
    ("18", include_str!("../reference/18-next-size.json"), 2),
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

/// The tolerance of a key: its own, that of a key it begins with, or the one of all.
fn of_key<'a>(tolerance: &'a Value, key: &str) -> &'a Value {
    let listed = tolerance.as_object().and_then(|all| {
        all.get(key).or_else(|| all.iter().find(|(start, _)| key.starts_with(start.as_str())).map(|(_, own)| own))
    });
    listed.unwrap_or(tolerance)
}

/// How far a figure may miss: one number, or the larger of `abs` and `rel`.
fn allowed(tolerance: &Value, expected: f64) -> f64 {
    let part = |key: &str| tolerance.get(key).and_then(Value::as_f64).unwrap_or(0.0);
    tolerance.as_f64().unwrap_or_else(|| part("abs").max(part("rel") * expected.abs()))
}

/// What is wrong with a figure, a list, or a set of figures by name.
fn differences(path: &str, wanted: &Value, got: Option<&Value>, tolerance: &Value) -> Vec<String> {
    match (wanted, got) {
        // A figure that there is not is left out.
        (Value::Null, None) => vec![],
        (_, None) => vec![format!("{path}: not answered")],
        (Value::Number(wanted), Some(got)) => {
            let wanted = wanted.as_f64().expect("a figure");
            let off = got.as_f64().is_none_or(|got| (got - wanted).abs() > allowed(tolerance, wanted));
            if off { vec![format!("{path}: {got}, expected {wanted}")] } else { vec![] }
        }
        (Value::Array(wanted), Some(Value::Array(got))) if wanted.len() == got.len() => {
            let places = wanted.iter().zip(got).enumerate();
            places
                .flat_map(|(at, (one, other))| differences(&format!("{path}[{at}]"), one, Some(other), tolerance))
                .collect()
        }
        (Value::Object(wanted), Some(Value::Object(got))) => wanted
            .iter()
            .flat_map(|(key, one)| differences(&format!("{path} {key}"), one, got.get(key), of_key(tolerance, key)))
            .collect(),
        (wanted, Some(got)) if wanted == got => vec![],
        (wanted, Some(got)) => vec![format!("{path}: {got}, expected {wanted}")],
    }
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
        .flat_map(|(key, wanted)| differences(key, wanted, found.get(key), of_key(&case["tolerance"], key)))
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
    let lists = json!({"expected": {"r": [1.0, 2.0], "median": null}, "tolerance": {"r": 0.05}, "inputs": {}});
    let in_lists = |found: Value| complaints(&lists, found.as_object().ok_or("inputs: wrong")).len();
    assert_eq!(in_lists(json!({"r": [1.0, 2.04]})), 0);
    assert_eq!(in_lists(json!({"r": [1.0, 2.06]})), 1);
    assert_eq!(in_lists(json!({"r": [1.0]})), 1);
    assert_eq!(in_lists(json!({"r": [1.0, 2.0], "median": 3.0})), 1);
    let refused = json!({"expected": {"valid": false}, "inputs": {"decimal": -1}});
    assert_eq!(complaints(&refused, Err("decimal: give more")).len(), 0);
    assert_eq!(complaints(&refused, Err("something is wrong")).len(), 1);
    assert_eq!(complaints(&refused, Ok(&Map::new())).len(), 1);
    let by_key = json!({"a": 0.1, "b": 0.001});
    assert_eq!(
        [allowed(of_key(&by_key, "a"), 5.0), allowed(of_key(&by_key, "b"), 5.0), allowed(of_key(&by_key, "c"), 5.0)],
        [0.1, 0.001, 0.0]
    );
    assert_eq!(allowed(of_key(&Value::from(0.25), "any"), 5.0), 0.25);
}
