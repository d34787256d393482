//! Every case of the reference files through the program, in one batch.

use farpoint::compute::{Need, answer, operations};
use serde_json::{Map, Value, json};

use super::{answers, told};
use crate::vision::reference::{cases, complaints};

#[test]
fn every_reference_case_holds_through_the_program() {
    let cases = cases();
    let lines: Vec<String> = cases
        .iter()
        .map(|c| json!({"id": c.case["id"], "op": c.case["op"], "inputs": c.case["inputs"]}).to_string())
        .collect();
    let answers = answers(&lines.join("\n"));
    assert_eq!(answers.len(), cases.len());
    let mut wrong = Vec::new();
    for (asked, answer) in cases.iter().zip(&answers) {
        let id = &asked.case["id"];
        assert_eq!(&answer["id"], id, "in order");
        let found = answer["result"].as_object().ok_or_else(|| answer["error"].as_str().unwrap_or_default());
        wrong.extend(complaints(&asked.case, found).into_iter().map(|what| format!("{id}: {what}")));
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

/// Values that a program or a person may send by mistake, at any key.
fn mistakes() -> Vec<Value> {
    let mut all: Vec<Value> = [0.0, -0.0, -1.0, 1.0, 0.5, 1e-308, 5e-324, 1e308, -1e308, 1e15, 181.0, 4.0e9, 4.3e9]
        .into_iter()
        .map(Value::from)
        .collect();
    all.extend([
        json!(null),
        json!(true),
        json!(""),
        json!("NaN"),
        json!("4"),
        json!([]),
        json!([null]),
        json!([1e308, 1e308]),
        json!({}),
        json!(u64::MAX),
        json!(i64::MIN),
    ]);
    all
}

/// Whether a value holds only keys, words and finite numbers.
fn is_sound(value: &Value) -> bool {
    match value {
        Value::Null => false,
        Value::Number(number) => number.as_f64().is_some_and(f64::is_finite),
        Value::Array(items) => items.iter().all(is_sound),
        Value::Object(items) => items.values().all(is_sound),
        Value::Bool(_) | Value::String(_) => true,
    }
}

#[test]
fn whatever_stands_at_whichever_key_is_answered_or_refused_by_a_key() {
    let mut tried = 0;
    for asked in cases() {
        let op = asked.case["op"].as_str().unwrap();
        let operation = operations().iter().find(|operation| operation.name == op).unwrap();
        for input in operation.inputs {
            for mistake in mistakes() {
                let mut inputs = asked.case["inputs"].as_object().unwrap().clone();
                inputs.insert(input.key.to_owned(), mistake.clone());
                tried += 1;
                match answer(op, &inputs) {
                    Ok(found) => {
                        assert!(!found.is_empty() && found.values().all(is_sound), "{op} {inputs:?}: {found:?}");
                    }
                    Err(refusal) => {
                        let known = |key: &str| operation.inputs.iter().any(|input| input.key == key);
                        assert!(refusal.key().split(", ").all(known), "{op} {inputs:?}: {refusal}");
                        assert!(!refusal.why().is_empty(), "{op} {inputs:?}");
                    }
                }
            }
        }
    }
    assert!(tried > 10_000, "only {tried} mistakes were tried");
}

#[test]
fn a_number_out_of_range_is_blamed_on_its_own_key() {
    let mut wrong = Vec::new();
    for asked in cases() {
        let op = asked.case["op"].as_str().unwrap();
        let given = asked.case["inputs"].as_object().unwrap();
        if answer(op, given).is_err() {
            continue;
        }
        for key in given.keys().filter(|key| given[*key].is_number()) {
            let mut inputs = given.clone();
            inputs.insert(key.clone(), json!(-1.234_567e9));
            let refusal = answer(op, &inputs).expect_err("no quantity is that small");
            if refusal.key() != key {
                wrong.push(format!("{op} {key}: {refusal}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_required_input_is_missed_by_its_key() {
    for operation in operations() {
        let refusal = operation.answer(&Map::new()).unwrap_err();
        let first = operation.inputs.iter().find(|input| input.need != Need::Optional).unwrap();
        assert_eq!(refusal.key(), first.key, "{}", operation.name);
        assert!(refusal.why().starts_with("missing; give "), "{refusal}");
    }
    for asked in cases() {
        let op = asked.case["op"].as_str().unwrap();
        let operation = operations().iter().find(|operation| operation.name == op).unwrap();
        let given = asked.case["inputs"].as_object().unwrap();
        for input in operation.inputs.iter().filter(|input| input.need != Need::Optional) {
            let mut inputs = given.clone();
            if inputs.remove(input.key).is_some() && answer(op, given).is_ok() {
                let refusal = answer(op, &inputs).unwrap_err();
                assert!(refusal.why().starts_with("missing; give "), "{op} without {}: {refusal}", input.key);
            }
        }
    }
}

#[test]
fn the_list_names_every_operation_and_every_input() {
    let output = super::program().arg("--list").output().unwrap();
    assert!(output.status.success());
    let list = String::from_utf8(output.stdout).unwrap();
    for operation in operations() {
        assert!(list.contains(&format!("\n{}\n", operation.name)), "{}", operation.name);
        assert!(operation.question.ends_with('?') && list.contains(operation.question), "{}", operation.name);
        for input in operation.inputs {
            assert!(list.contains(&format!("{}: {}", input.key, input.what)), "{} {}", operation.name, input.key);
        }
    }
}

#[test]
fn many_lines_are_answered_one_by_one() {
    let line = json!({"id": 7, "op": "visual_angle", "inputs": {"size_m": 0.025, "distance_m": 3}}).to_string();
    let found = told(format!("{line}\n").repeat(20_000).as_bytes());
    assert_eq!(found.lines().count(), 20_000);
    assert!(found.lines().all(|answer| answer == found.lines().next().unwrap()));
}
