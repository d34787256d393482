//! Rust source as the layer tests read it: code without comments and text, and
//! the text literals apart.

use std::path::{Path, PathBuf};

/// One file of Rust.
pub(super) struct Source {
    /// Its path from the top of the repository.
    pub(super) path: String,
    /// The folder or file below `src` that it belongs to.
    pub(super) layer: String,
    /// All of it.
    pub(super) text: String,
    /// Code alone; comments and text are blank, lines stay in place.
    pub(super) code: String,
    /// Text literals with their lines.
    pub(super) literals: Vec<(usize, String)>,
}

impl Source {
    pub(super) fn of(path: &str, text: &str) -> Self {
        let layer = path.split('/').nth(1).unwrap_or(path).trim_end_matches(".rs").to_owned();
        let (code, literals) = split(text);
        Self { path: path.to_owned(), layer, text: text.to_owned(), code, literals }
    }

    /// The layers that the code names, by `crate::` or by climbing out with `super::`.
    pub(super) fn layers_named(&self) -> Vec<(usize, String)> {
        let parts = self.path.trim_start_matches("src/").trim_end_matches(".rs").trim_end_matches("/mod");
        let depth = parts.split('/').count();
        let out = "super::".repeat(depth);
        let mut named = Vec::new();
        for (number, line) in self.code.lines().enumerate() {
            let mut found = Vec::new();
            after(line, "crate::", &mut found);
            after(line, &out, &mut found);
            found.retain(|name| {
                super::LAYERS.iter().any(|(layer, ..)| layer == name) || super::ABOVE.contains(&name.as_str())
            });
            named.extend(found.into_iter().map(|name| (number + 1, name)));
        }
        named
    }

    /// The first names of the paths in the code.
    pub(super) fn roots_named(&self) -> Vec<(usize, String)> {
        let mut named = Vec::new();
        for (number, line) in self.code.lines().enumerate() {
            for (at, _) in line.match_indices("::") {
                let before = &line[..at];
                let start = before.rfind(|c: char| !is_name(c)).map_or(0, |place| place + 1);
                if !before[..start].ends_with(':') {
                    named.push((number + 1, before[start..].to_owned()));
                }
            }
        }
        named
    }
}

/// Names after a prefix, also the several of `crate::{a, b}`.
fn after(line: &str, prefix: &str, found: &mut Vec<String>) {
    for (at, _) in line.match_indices(prefix) {
        if line[..at].ends_with(is_name) {
            continue;
        }
        let rest = &line[at + prefix.len()..];
        if let Some(group) = rest.strip_prefix('{') {
            let names = group.split(['}', ';']).next().unwrap_or("").split(',');
            found.extend(names.map(|name| name.trim().chars().take_while(|c| is_name(*c)).collect()));
        } else {
            found.push(rest.chars().take_while(|c| is_name(*c)).collect());
        }
    }
}

fn is_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// Splits code from comments and text.
fn split(text: &str) -> (String, Vec<(usize, String)>) {
    let chars: Vec<char> = text.chars().collect();
    let (mut code, mut literals) = (String::new(), Vec::new());
    let (mut at, mut line) = (0, 1);
    let is = |at: usize, word: &str| word.chars().enumerate().all(|(place, c)| chars.get(at + place) == Some(&c));
    while at < chars.len() {
        let from = at;
        let name_before = at > 0 && is_name(chars[at - 1]);
        let hashes = if !name_before && chars[at] == 'r' {
            chars[at + 1..].iter().take_while(|c| **c == '#').count()
        } else {
            0
        };
        if is(at, "//") {
            while at < chars.len() && chars[at] != '\n' {
                at += 1;
            }
        } else if is(at, "/*") {
            while at < chars.len() && !is(at, "*/") {
                at += 1;
            }
            at += 2;
        } else if !name_before && chars[at] == 'r' && chars.get(at + 1 + hashes) == Some(&'"') {
            let end = format!("\"{}", "#".repeat(hashes));
            at += 2 + hashes;
            let start = at;
            while at < chars.len() && !is(at, &end) {
                at += 1;
            }
            literals.push((line, chars[start..at].iter().collect()));
            at += end.len();
        } else if chars[at] == '"' {
            at += 1;
            let mut literal = String::new();
            while at < chars.len() && chars[at] != '"' {
                if chars[at] == '\\' {
                    at += 1;
                }
                literal.extend(chars.get(at));
                at += 1;
            }
            at += 1;
            literals.push((line, literal));
        } else if chars[at] == '\'' && chars.get(at + 1) == Some(&'\\') {
            at += 2;
            while at < chars.len() && chars[at] != '\'' {
                at += 1;
            }
            at += 1;
        } else if chars[at] == '\'' && chars.get(at + 2) == Some(&'\'') {
            at += 3;
        } else {
            code.push(chars[at]);
            line += usize::from(chars[at] == '\n');
            at += 1;
            continue;
        }
        let skipped = chars[from..at.min(chars.len())].iter().filter(|c| **c == '\n').count();
        code.push(' ');
        code.extend(std::iter::repeat_n('\n', skipped));
        line += skipped;
    }
    (code, literals)
}

fn top() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn walk(folder: &Path, files: &mut Vec<PathBuf>) {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    for entry in entries {
        let entry = entry.expect("an entry of a folder");
        let name = entry.file_name();
        let hidden = [".git", "target", "node_modules", "data"].iter().any(|skipped| name == *skipped);
        if hidden {
            continue;
        }
        if entry.file_type().expect("a kind of file").is_dir() {
            walk(&entry.path(), files);
        } else {
            files.push(entry.path());
        }
    }
}

/// Every text file of the repository, by its path from the top.
pub(crate) fn everything() -> Vec<(String, String)> {
    let mut files = Vec::new();
    walk(&top(), &mut files);
    files.sort();
    let read = |file: PathBuf| {
        let path = file.strip_prefix(top()).expect("below the top").display().to_string();
        // Fonts and pictures are no text.
        Some((path, std::fs::read_to_string(file).ok()?))
    };
    files.into_iter().filter_map(read).collect()
}

/// Every Rust file below a folder.
pub(super) fn sources(folder: &str) -> Vec<Source> {
    let below = format!("{folder}/");
    let rust = |path: &str| path.starts_with(&below) && path.ends_with(".rs");
    let found: Vec<Source> =
        everything().into_iter().filter(|(path, _)| rust(path)).map(|(path, text)| Source::of(&path, &text)).collect();
    assert!(found.len() > 5, "{folder} holds no source");
    found
}
