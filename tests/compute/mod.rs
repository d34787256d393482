//! `farpoint compute`: the real program, asked in lines of JSON.

mod cases;
mod refusals;
mod wire;

use std::io::Write;
use std::process::{Command, Stdio};

use serde_json::{Value, json};

/// The program under test.
pub(crate) fn program() -> Command {
    let mut program = Command::new(env!("CARGO_BIN_EXE_farpoint"));
    // Nothing of the surroundings decides on an answer.
    program.arg("compute").env_clear();
    program
}

/// What the program writes when it is told this; it must end without a fault.
pub(crate) fn told(input: &[u8]) -> String {
    let mut child = program().stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let owned = input.to_vec();
    let writer = std::thread::spawn(move || stdin.write_all(&owned));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(output.status.success(), "ended with {}: {}", output.status, String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty(), "complained: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The answers to these lines.
pub(crate) fn answers(lines: &str) -> Vec<Value> {
    told(lines.as_bytes()).lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// The error that one question is answered with.
fn error(op: &str, inputs: &Value) -> String {
    let line = json!({"id": "one", "op": op, "inputs": inputs}).to_string();
    let found = answers(&line);
    assert_eq!(found.len(), 1, "{line}");
    assert_eq!(found[0]["id"], "one");
    found[0]["error"].as_str().unwrap_or_else(|| panic!("{line} was answered: {}", found[0])).to_owned()
}
