//! What the product promises, sentence by sentence, and the tests that hold it.
//!
//! `promises.txt` is the list; here it is only made sure that every promise names
//! a test, and that the tests are there. Whether a test holds what the sentence
//! says is for a reader: the list is what to read side by side.

use std::collections::BTreeSet;

use crate::layers::everything;

/// A promise and the tests that hold it.
struct Promise {
    line: usize,
    sentence: &'static str,
    tests: Vec<&'static str>,
}

/// The list: a sentence a line, its tests on indented lines below it.
fn promises() -> Vec<Promise> {
    let mut promises: Vec<Promise> = Vec::new();
    for (number, line) in include_str!("promises.txt").lines().enumerate() {
        if line.trim().is_empty() || line.starts_with('#') {
            continue;
        }
        match line.strip_prefix("    ") {
            Some(test) => {
                let promise = promises.last_mut().unwrap_or_else(|| panic!("line {}: no sentence above", number + 1));
                promise.tests.push(test.trim());
            }
            None => promises.push(Promise { line: number + 1, sentence: line.trim(), tests: Vec::new() }),
        }
    }
    promises
}

/// Every test function of the project by its path: `gates::start::g1_…`, or
/// `src::care::card::…` for one that stands beside what it tests.
fn tests() -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (path, text) in everything() {
        let Some(module) = path.strip_suffix(".rs") else { continue };
        let module = module.strip_suffix("/mod").unwrap_or(module);
        let module = module.strip_prefix("tests/").unwrap_or(module).replace('/', "::");
        let mut marked = false;
        for line in text.lines().map(str::trim) {
            if line == "#[test]" || line.starts_with("#[tokio::test") {
                marked = true;
            } else if marked && let Some(rest) = line.strip_prefix("async fn ").or(line.strip_prefix("fn ")) {
                let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                found.insert(format!("{module}::{name}"));
                marked = false;
            }
        }
    }
    found
}

#[test]
fn every_promise_names_tests_that_are_there() {
    let (promises, tests) = (promises(), tests());
    assert!(tests.len() > 500, "only {} tests were found", tests.len());
    assert!(promises.len() > 150, "only {} promises", promises.len());
    let mut missing = Vec::new();
    for promise in &promises {
        if promise.tests.is_empty() {
            missing.push(format!("line {}: no test holds: {}", promise.line, promise.sentence));
        }
        for test in promise.tests.iter().filter(|test| !tests.contains(**test)) {
            missing.push(format!("line {}: there is no test {test}", promise.line));
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

#[test]
fn no_promise_is_made_twice() {
    let promises = promises();
    let different: BTreeSet<_> = promises.iter().map(|promise| promise.sentence).collect();
    assert_eq!(different.len(), promises.len());
}
