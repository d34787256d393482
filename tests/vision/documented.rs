//! The arithmetic of sight keeps its word as a textbook, read from its source.
//!
//! Every public function that computes asks its question in one sentence and
//! says formula, source, range and an example that is run; every module is in
//! the table of contents; no number is quietly pushed into a range.

use crate::layers::everything;

/// Makes, opens or only changes a value: what the type documents itself.
const CONSTRUCTORS: [&str; 3] = ["new", "literal", "get"];

/// How a source may be marked, see the head of `src/vision/mod.rs`.
const MARKS: [&str; 9] =
    ["seen", "derived", "from memory", "common practice", "definition", "convention", "law", "as [`", "as there"];

/// A public function with its documentation and its body.
pub(super) struct Function {
    place: String,
    pub(super) name: String,
    documentation: Vec<String>,
    pub(super) signature: String,
    body: String,
}

/// The files of vision: path, and text without unit tests.
pub(super) fn files() -> Vec<(String, String)> {
    let found: Vec<(String, String)> = everything()
        .into_iter()
        .filter(|(path, _)| path.starts_with("src/vision/") && path.ends_with(".rs"))
        .map(|(path, text)| (path, text.split("#[cfg(test)]").next().unwrap_or_default().to_owned()))
        .collect();
    assert!(found.len() > 30, "only {} files: the search is broken", found.len());
    found
}

/// The public functions of one file.
pub(super) fn functions(path: &str, text: &str) -> Vec<Function> {
    let lines: Vec<&str> = text.lines().collect();
    let mut found = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let Some(rest) = ["pub fn ", "pub const fn "].iter().find_map(|start| line.trim_start().strip_prefix(start))
        else {
            continue;
        };
        let above = lines[..at].iter().rev().map(|line| line.trim());
        let mut documentation: Vec<String> = above
            .take_while(|line| line.starts_with("///") || line.starts_with("#["))
            .filter_map(|line| line.strip_prefix("///").map(|text| text.trim().to_owned()))
            .collect();
        documentation.reverse();
        let indent = line.len() - line.trim_start().len();
        let end = format!("{}}}", " ".repeat(indent));
        let length = lines[at..].iter().position(|line| *line == end).unwrap_or(0);
        let whole = lines[at..=at + length].join("\n");
        let (signature, body) = whole.split_once('{').unwrap_or((&whole, ""));
        found.push(Function {
            place: format!("{path}:{}", at + 1),
            name: rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect(),
            documentation,
            signature: signature.to_owned(),
            body: body.to_owned(),
        });
    }
    found
}

impl Function {
    /// Whether it computes: a constructor by name, and a function whose body
    /// neither calculates nor calls another one, only makes or opens a value.
    pub(super) fn computes(&self) -> bool {
        if CONSTRUCTORS.contains(&self.name.as_str()) {
            return false;
        }
        let code: String = self.body.lines().map(|line| line.split("//").next().unwrap_or_default()).collect();
        let code = code.replace("=>", "").replace("->", "").replace("::literal(", "");
        let calculates = [" + ", " - ", " * ", " / ", " < ", " > ", "(-"].iter().any(|sign| code.contains(sign));
        let calls = code.match_indices('(').any(|(at, _)| {
            let name: Vec<char> = code[..at].chars().rev().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
            name.last().is_some_and(|first| first.is_lowercase())
        });
        calculates || calls
    }

    fn faults(&self) -> Vec<String> {
        let text = self.documentation.join(" ");
        let question: Vec<&str> =
            self.documentation.iter().map(String::as_str).take_while(|line| !line.is_empty()).collect();
        let question = question.join(" ");
        let mut faults = Vec::new();
        if !question.ends_with('?') || question.matches('?').count() != 1 {
            faults.push("its first sentence is no question".to_owned());
        }
        let places: Vec<Option<usize>> =
            ["**Formula**", "**Source**", "**Range**"].iter().map(|part| text.find(part)).collect();
        match places[..] {
            [Some(formula), Some(source), Some(range)] if formula < source && source < range => {
                if !MARKS.iter().any(|mark| text[source..range].contains(mark)) {
                    faults.push("its source is not marked: seen, derived, from memory or common practice".to_owned());
                }
            }
            _ => faults.push("it does not say formula, source and range, in this order".to_owned()),
        }
        let example = text.split("```").nth(1).unwrap_or_default();
        if !example.contains("assert") {
            faults.push("it has no example that asserts something".to_owned());
        }
        let refuses = self.signature.split("->").nth(1).is_some_and(|answer| answer.contains("Result<"));
        if refuses && !text.contains("# Errors") {
            faults.push("it does not say what it refuses".to_owned());
        }
        faults.into_iter().map(|fault| format!("{} {}: {fault}", self.place, self.name)).collect()
    }
}

#[test]
fn every_function_asks_its_question_and_says_formula_source_range_and_an_example() {
    let all: Vec<Function> = files().iter().flat_map(|(path, text)| functions(path, text)).collect();
    let (computing, rest): (Vec<&Function>, Vec<&Function>) = all.iter().partition(|function| function.computes());
    assert!(computing.len() > 140, "only {} functions compute: the search is broken", computing.len());
    assert!(rest.len() < computing.len() / 3, "{} functions are let off", rest.len());
    let broken: Vec<String> = computing.iter().flat_map(|function| function.faults()).collect();
    assert!(broken.is_empty(), "{} gaps:\n{}", broken.len(), broken.join("\n"));
}

#[test]
fn every_module_opens_with_its_question_and_is_in_the_table() {
    let all = files();
    let contents = &all.iter().find(|(path, _)| path == "src/vision/mod.rs").expect("the contents").1;
    let mut broken = Vec::new();
    for (path, text) in &all {
        let module = path.trim_start_matches("src/vision/").trim_end_matches(".rs");
        let module = module.trim_end_matches("/mod").replace('/', "::");
        for name in text.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')) {
            let name = if module == "mod" { name.to_owned() } else { format!("{module}::{name}") };
            // The contents of a module with a table of its own stand there.
            let listed = contents.contains(&format!("[`{name}`]"))
                || (text.contains("| question | module |")
                    && text.contains(&format!("[`{}`]", name.rsplit("::").next().unwrap_or(&name))));
            if !listed {
                broken.push(format!("{name} is not in the table of contents"));
            }
        }
        let head: Vec<&str> = text.lines().map_while(|line| line.strip_prefix("//!")).map(str::trim).collect();
        let first = head.iter().copied().take_while(|line| !line.is_empty()).collect::<Vec<_>>().join(" ");
        // The book and its units open with what they are.
        let public = ["mod", "units"].contains(&module.as_str()) || is_private(&all, path);
        if !public && !first.contains('?') {
            broken.push(format!("{path} does not open with its question"));
        }
        let whole = head.join(" ").to_lowercase();
        // The statistics are a book of their own, with its own table.
        let leads_on = ["read next: [", "see [`"].iter().any(|words| whole.contains(words));
        if module != "mod" && !module.starts_with("stats") && !leads_on {
            broken.push(format!("{path} does not say where to read on"));
        }
        if !["does not", "knows no", "know no", "gives no number"].iter().any(|words| whole.contains(words)) {
            broken.push(format!("{path} does not say what it does not know"));
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

/// Whether a file is a module that only its parent sees.
fn is_private(all: &[(String, String)], path: &str) -> bool {
    let module = path.trim_end_matches(".rs").trim_end_matches("/mod");
    let (parent, name) = module.rsplit_once('/').expect("a path");
    let parents = [format!("{parent}.rs"), format!("{parent}/mod.rs")];
    all.iter().any(|(file, text)| parents.contains(file) && text.lines().any(|line| line == format!("mod {name};")))
}

#[test]
fn the_chapters_come_in_the_order_in_which_they_need_one_another() {
    let all = files();
    let contents = &all.iter().find(|(path, _)| path == "src/vision/mod.rs").expect("the contents").1;
    let place = |name: &str| contents.find(&format!("[`{name}`]")).unwrap_or_else(|| panic!("{name} is not listed"));
    let chapters = ["units", "length", "acuity", "demand", "contrast", "reserve", "readable", "seat_print", "room"];
    for pair in chapters.windows(2) {
        assert!(place(pair[0]) < place(pair[1]), "{} comes before {}", pair[0], pair[1]);
    }
    for (device, needs) in [("telescope", "reserve"), ("magnifier", "acuity::near"), ("stats", "skill")] {
        assert!(place(needs) < place(device), "{needs} comes before {device}");
    }
    assert_eq!(contents.matches("//! **").count(), 7, "seven chapters");
}

#[test]
fn no_number_is_quietly_pushed_into_a_range() {
    let mut broken = Vec::new();
    for (path, text) in files() {
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        for (at, line) in lines.iter().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            let pushes = [".clamp(", ".max(", ".min("].iter().any(|call| {
                // Without an argument it is the smallest of a list.
                code.match_indices(call).any(|(place, call)| !code[place + call.len()..].starts_with(')'))
            });
            let reason = line.contains("// ") || at.checked_sub(1).is_some_and(|above| lines[above].starts_with("// "));
            if pushes && !line.starts_with("//") && !reason {
                broken.push(format!("{path}:{}: {line}", at + 1));
            }
        }
    }
    assert!(broken.is_empty(), "a limit without its reason beside it:\n{}", broken.join("\n"));
}

#[test]
fn a_gap_would_be_noticed() {
    let text = "/// The sum.\n///\n/// **Formula** a + b. **Range** all.\npub fn sum(a: f64, b: f64) -> Result<f64, E> {\n    Ok(a + b)\n}\n\nimpl X {\n    /// A field.\n    pub const fn field(self) -> f64 {\n        self.0\n    }\n}\n";
    let found = functions("a.rs", text);
    assert_eq!(found.iter().map(|function| function.name.as_str()).collect::<Vec<_>>(), ["sum", "field"]);
    assert!(found[0].computes() && !found[1].computes());
    let faults = found[0].faults().join("\n");
    for part in ["no question", "in this order", "no example", "what it refuses"] {
        assert!(faults.contains(part), "{part}: {faults}");
    }
}
