//! Lines that are no questions, ids of every kind, and readers who go away.

use std::io::{BufRead, BufReader, Write};
use std::process::Stdio;

use serde_json::{Value, json};

use super::{answers, program, told};

const ANGLE: &str = r#""op": "visual_angle", "inputs": {"size_m": 0.025, "distance_m": 3}"#;

#[test]
fn every_line_that_is_not_empty_gets_one_answer_in_order() {
    let asked =
        format!("\n{{\"id\": 1, {ANGLE}}}\r\n   \nnot json\n\n{{\"id\": 2, {ANGLE}}}\n[1]\n{{\"id\": 3, {ANGLE}}}");
    let found = answers(&asked);
    let ids: Vec<_> = found.iter().map(|answer| answer["id"].clone()).collect();
    assert_eq!(ids, [json!(1), Value::Null, json!(2), Value::Null, json!(3)]);
    assert!(found[1]["error"].as_str().unwrap().starts_with("the line is not JSON"));
    assert!(found[3]["error"].as_str().unwrap().starts_with("the line is not an object"));
    assert_eq!(found[0]["result"], found[4]["result"]);
    assert!(told(b"").is_empty() && told(b"\n \n").is_empty());
}

#[test]
fn ids_of_every_kind_come_back() {
    for id in [json!("a"), json!(7), json!(-1.5), json!(null), json!(true), json!([1, "b"]), json!({"k": [null]})] {
        let found = answers(&format!("{{\"id\": {id}, {ANGLE}}}"));
        assert_eq!(found[0]["id"], id);
        assert!(found[0]["result"].is_object());
    }
}

#[test]
fn what_a_line_lacks_is_named() {
    let error = |line: &str| answers(line)[0]["error"].as_str().unwrap().to_owned();
    assert!(error(&format!("{{{ANGLE}}}")).starts_with("id: missing"));
    assert!(error(r#"{"id": 1, "inputs": {}}"#).starts_with("op: missing"));
    assert!(error(r#"{"id": 1, "op": 5, "inputs": {}}"#).starts_with("op: give the name"));
    assert!(error(r#"{"id": 1, "op": "visual_angle"}"#).starts_with("inputs: missing"));
    assert!(error(r#"{"id": 1, "op": "visual_angle", "inputs": [1]}"#).starts_with("inputs: give an object"));
}

#[test]
fn numbers_that_json_does_not_have_are_blamed_on_their_key() {
    for wrong in ["NaN", "Infinity", "-Infinity", "1e999", "-1E+999", "inf"] {
        let line =
            format!(r#"{{"id": "n \" NaN", "op": "visual_angle", "inputs": {{"size_m": {wrong}, "distance_m": 3}}}}"#);
        let found = answers(&line);
        assert_eq!(found[0]["id"], "n \" NaN", "{line}");
        let why = found[0]["error"].as_str().unwrap();
        assert!(
            why.starts_with(&format!(
                "size_m: give the size of the target, a number in metres, not the text \u{201c}{wrong}"
            )),
            "{why}"
        );
    }
}

#[test]
fn odd_bytes_stop_nothing() {
    let mut asked = b"\xEF\xBB\xBF".to_vec();
    asked.extend(format!("{{\"id\": 1, {ANGLE}}}\n").bytes());
    asked.extend(b"\xFF\xFE\x00\n{\"id\": \"\\ud800\"}\n\"\n\"\\\n{\"a\": NaN");
    asked.extend("[".repeat(100_000).bytes());
    asked.extend(format!("\n{{\"id\": 2, {ANGLE}}}\n").bytes());
    let found: Vec<Value> = told(&asked).lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(found.len(), 7, "{found:?}");
    assert!(found[0]["result"].is_object() && found[6]["result"].is_object());
    assert!(found[1..6].iter().all(|answer| answer["id"].is_null() && answer["error"].is_string()), "{found:?}");
}

#[test]
fn a_question_is_answered_before_the_next_is_asked() {
    let mut child = program().stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let mut asks = child.stdin.take().unwrap();
    let mut answers = BufReader::new(child.stdout.take().unwrap());
    for id in 0..3 {
        writeln!(asks, "{{\"id\": {id}, {ANGLE}}}").unwrap();
        let mut line = String::new();
        answers.read_line(&mut line).unwrap();
        let answer: Value = serde_json::from_str(&line).unwrap();
        assert_eq!(answer["id"], id);
    }
    drop(asks);
    assert!(child.wait().unwrap().success());
}

#[test]
fn a_reader_who_goes_away_is_no_fault() {
    let mut child = program().stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut asks = child.stdin.take().unwrap();
    drop(child.stdout.take());
    let many = format!("{{\"id\": 1, {ANGLE}}}\n").repeat(5_000);
    // The program may be gone before everything is asked.
    let sent = asks.write_all(many.as_bytes());
    assert!(sent.is_ok() || sent.is_err_and(|error| error.kind() == std::io::ErrorKind::BrokenPipe));
    drop(asks);
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", output.status);
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
}
