//! Lines of JSON in, lines of JSON out: what `farpoint compute` does.
//!
//! `{"id", "op", "inputs"}` is answered with `{"id", "result"}` or, if there is
//! no figure, `{"id", "error"}`: one line for each line that is not empty, in
//! order. One line is held at a time, and nothing a line may hold stops the rest.

use std::io::{self, BufRead, BufReader, Read, Write};

use serde_json::{Map, Value, json};

use super::refusal::repeated;
use super::{Need, answer, operations};

/// Answers every line.
///
/// # Errors
/// Those of reading and writing; whoever stops reading the answers ends it
/// without an error.
pub fn answer_all(questions: impl Read, mut answers: impl Write) -> io::Result<()> {
    let mut questions = BufReader::new(questions);
    let mut line = Vec::new();
    loop {
        line.clear();
        if questions.read_until(b'\n', &mut line)? == 0 {
            return unless_closed(answers.flush());
        }
        let Some(told) = answer_line(&line) else { continue };
        // Whoever asks line by line and waits is not kept waiting by a buffer.
        // Asking the buffer alone, because reading on would wait for the next line.
        let nothing_waits = questions.buffer().is_empty();
        let written = writeln!(answers, "{told}");
        let written = if nothing_waits { written.and_then(|()| answers.flush()) } else { written };
        if written.is_err() {
            return unless_closed(written);
        }
    }
}

/// A reader of the answers who went away is no fault.
fn unless_closed(written: io::Result<()>) -> io::Result<()> {
    match written {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// The answer to one line; none to an empty one.
fn answer_line(line: &[u8]) -> Option<Value> {
    let line = line.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(line).trim_ascii();
    if line.is_empty() {
        return None;
    }
    let refused = |id: Value, why: &str| Some(json!({"id": id, "error": why}));
    let read = match read(line) {
        Ok(read) => read,
        Err(why) => return refused(Value::Null, &why),
    };
    let Some(id) = read.get("id").cloned() else {
        return refused(Value::Null, "id: missing; give one, so that the answer can be told from others");
    };
    let op = match read.get("op") {
        Some(Value::String(op)) => op,
        Some(other) => return refused(id, &format!("op: give the name of an operation, not {}", repeated(other))),
        None => return refused(id, "op: missing; give the name of an operation"),
    };
    match read.get("inputs") {
        Some(Value::Object(inputs)) => Some(match answer(op, inputs) {
            Ok(result) => json!({"id": id, "result": result}),
            Err(refusal) => json!({"id": id, "error": refusal.to_string()}),
        }),
        Some(other) => refused(id, &format!("inputs: give an object of keys and values, not {}", repeated(other))),
        None => refused(id, "inputs: missing; give an object of keys and values"),
    }
}

/// A line as an object.
fn read(line: &[u8]) -> Result<Map<String, Value>, String> {
    let text = std::str::from_utf8(line).map_err(|_| "the line is not JSON: it is not UTF-8 text".to_owned())?;
    let value = serde_json::from_str(text)
        .or_else(|error| serde_json::from_str(&with_words_for_no_numbers(text)).map_err(|_| error))
        .map_err(|error| format!("the line is not JSON: {error}"))?;
    match value {
        Value::Object(object) => Ok(object),
        other => Err(format!("the line is not an object with id, op and inputs, but {}", repeated(&other))),
    }
}

/// The text with `NaN`, `Infinity` and numbers too large for any computer made
/// words, which no input takes for numbers.
///
/// JSON has none of them, but programs write them; so the answer can name the
/// key where one stands and carry the id of its question.
fn with_words_for_no_numbers(text: &str) -> String {
    let mut told = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let end = match c {
            '"' => end_of_string(rest),
            c if in_token(c) => rest.find(|c| !in_token(c)).unwrap_or(rest.len()),
            c => c.len_utf8(),
        };
        let (token, after) = rest.split_at(end);
        // Rust reads the same words as numbers, and too many digits as infinite.
        let no_number = c != '"' && token.parse::<f64>().is_ok_and(|number| !number.is_finite());
        if no_number {
            told.push('"');
            told.push_str(token);
            told.push('"');
        } else {
            told.push_str(token);
        }
        rest = after;
    }
    told
}

fn in_token(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.')
}

/// Where a string that opens the text ends, behind its closing quotation mark.
fn end_of_string(text: &str) -> usize {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at.saturating_add(1),
            _ => {}
        }
    }
    text.len()
}

/// Lists every operation with the question it answers and what it takes.
///
/// # Errors
/// As [`answer_all`].
pub fn list(mut out: impl Write) -> io::Result<()> {
    let mut topic = "";
    for operation in operations() {
        if operation.topic != topic {
            topic = operation.topic;
            let told = writeln!(out, "\n{}\n", topic.to_uppercase());
            if told.is_err() {
                return unless_closed(told);
            }
        }
        let mut told = format!("{}\n    {}\n", operation.name, operation.question);
        for input in operation.inputs {
            let need = match input.need {
                Need::Required => String::new(),
                Need::Optional => " (may be left out)".to_owned(),
                Need::Way(way) => format!(" (one way: {way})"),
            };
            told.push_str(&format!("      {}: {}{need}\n", input.key, input.wanted()));
        }
        let told = out.write_all(told.as_bytes());
        if told.is_err() {
            return unless_closed(told);
        }
    }
    unless_closed(out.flush())
}
