//! The arrow: which layer may name which, read from the source itself.
//!
//! A lower layer never names a higher one, third-party crates stop at their
//! border, SQL stands in `store` and `db` only and in the one dialect that both
//! engines take, and proofs are made in a few named places.

mod dialect;
mod source;

use std::collections::BTreeMap;

pub(crate) use source::everything;
use source::{Source, sources};

/// A layer, the layers it may name besides itself, and the crates it may use.
const LAYERS: [(&str, &[&str], &[&str]); 12] = [
    // Arithmetic needs words for its errors, and the special functions of its statistics.
    ("vision", &[], &["statrs", "thiserror"]),
    ("compute", &["vision"], &["serde_json", "thiserror"]),
    ("care", &["vision"], &["crc32fast", "jiff", "serde", "serde_json", "thiserror", "uuid"]),
    (
        "exchange",
        &["care", "vision"],
        &["csv", "hex", "icalendar", "jiff", "serde", "serde_json", "sha2", "thiserror", "uuid", "zip"],
    ),
    ("access", &["care"], &["thiserror"]),
    ("clock", &[], &["jiff", "rand", "uuid"]),
    // Documents in, a tagged PDF out: knows no record.
    ("pdf", &[], &["krilla", "krilla_svg", "parley", "scraper", "skrifa", "thiserror", "usvg"]),
    ("password", &[], &["argon2", "thiserror", "tokio"]),
    ("mail", &[], &["lettre", "thiserror"]),
    ("db", &[], &["jiff", "serde", "serde_json", "sqlx", "thiserror", "tokio"]),
    (
        "store",
        &["access", "care", "clock", "db", "password", "vision"],
        &["base64", "hex", "jiff", "serde", "serde_json", "sha2", "sqlx", "thiserror", "tokio", "uuid"],
    ),
    (
        "web",
        &["access", "care", "clock", "compute", "exchange", "mail", "password", "pdf", "store", "vision"],
        &[
            "askama",
            "axum",
            "csv",
            "form_urlencoded",
            "governor",
            "hex",
            "http_body",
            "jiff",
            "rust_embed",
            "serde",
            "serde_json",
            "sha2",
            "subtle",
            "thiserror",
            "tokio",
            "tower_http",
            "tracing",
            "uuid",
        ],
    ),
];

/// What stands above the layers and may name all of them.
const ABOVE: [&str; 5] = ["config", "demo", "lib", "main", "run"];

/// The one file that looks at an engine's error outside the store: it logs the
/// kind and leaves out the text.
const MAY_NAME_SQLX: &str = "src/web/error.rs";

#[test]
fn a_lower_layer_never_names_a_higher_one() {
    let mut broken = Vec::new();
    for source in sources("src") {
        let Some((layer, below, _)) = LAYERS.iter().find(|(layer, ..)| *layer == source.layer) else {
            assert!(ABOVE.contains(&source.layer.as_str()), "{}: a layer nobody placed; add it to LAYERS", source.path);
            continue;
        };
        for (line, named) in source.layers_named() {
            if named != *layer && !below.contains(&named.as_str()) {
                broken.push(format!("{}:{line}: {layer} names {named}", source.path));
            }
        }
    }
    assert!(broken.is_empty(), "the arrow points down only:\n{}", broken.join("\n"));
}

#[test]
fn third_party_crates_stop_at_their_border() {
    let crates = dependencies();
    let mut broken = Vec::new();
    for source in sources("src") {
        let Some((layer, _, allowed)) = LAYERS.iter().find(|(layer, ..)| *layer == source.layer) else { continue };
        for (line, named) in source.roots_named() {
            let foreign = crates.contains(&named) && !allowed.contains(&named.as_str());
            if foreign && !(named == "sqlx" && source.path == MAY_NAME_SQLX) {
                broken.push(format!("{}:{line}: {layer} uses {named}", source.path));
            }
        }
    }
    assert!(broken.is_empty(), "a crate crossed its border:\n{}", broken.join("\n"));
}

#[test]
fn sql_stands_only_in_the_store() {
    let mut broken = Vec::new();
    let mut statements = 0;
    for source in sources("src") {
        for (line, text) in &source.literals {
            if dialect::is_sql(text) {
                statements += 1;
                if source.layer != "store" && source.layer != "db" {
                    broken.push(format!("{}:{line}: {text}", source.path));
                }
            }
        }
    }
    assert!(statements > 50, "only {statements} statements were found: the search is broken");
    assert!(broken.is_empty(), "SQL belongs into store:\n{}", broken.join("\n"));
}

#[test]
fn every_statement_runs_on_both_engines() {
    let mut broken = Vec::new();
    for source in sources("src").into_iter().filter(|source| source.layer == "store") {
        for (line, text) in source.literals.iter().filter(|(_, text)| dialect::is_sql(text)) {
            broken.extend(dialect::faults(text).into_iter().map(|fault| format!("{}:{line}: {fault}", source.path)));
        }
    }
    for (path, text) in everything().into_iter().filter(|(path, _)| path.starts_with("migrations/")) {
        broken.extend(dialect::faults(&text).into_iter().map(|fault| format!("{path}: {fault}")));
    }
    assert!(broken.is_empty(), "the dialect is described in DEVELOPERS.md, One SQL text:\n{}", broken.join("\n"));
}

/// Words that only some files may say, with those files.
const RESERVED: [(&str, &[&str]); 6] = [
    // A forged standing is the one way round the policy.
    ("Standing::of(", &["src/store/standing.rs"]),
    ("decide(", &["src/access/policy.rs", "src/access/proof.rs"]),
    ("decide_office(", &["src/access/policy.rs", "src/access/proof.rs"]),
    // Proofs are made from a request in two places, and for a list across students
    // in one; the demo makes those of its invented people.
    (
        "::grant(",
        &[
            "src/access/proof.rs",
            "src/web/access.rs",
            "src/web/visit.rs",
            "src/store/post.rs",
            "src/demo.rs",
            "src/demo/",
        ],
    ),
    // A proof without a person: each new use is to be noticed and added here.
    ("Access::system(", &["src/store/"]),
    ("AssertSqlSafe", &["src/db/"]),
];

#[test]
fn proofs_and_unchecked_sql_are_made_where_the_list_says() {
    let mut broken = Vec::new();
    for source in sources("src") {
        for (words, files) in RESERVED {
            if files.iter().any(|file| source.path.starts_with(file)) {
                continue;
            }
            for (number, line) in source.code.lines().enumerate() {
                let defines = line.contains(&format!("fn {}", words.trim_end_matches('(')));
                if said(line, words) && !defines {
                    broken.push(format!("{}:{}: {words}", source.path, number + 1));
                }
            }
        }
    }
    assert!(broken.is_empty(), "said outside its place:\n{}", broken.join("\n"));
}

/// Whether a line says the words, and not as the end of a longer name.
fn said(line: &str, words: &str) -> bool {
    line.match_indices(words).any(|(at, _)| {
        let before = line[..at].chars().next_back().unwrap_or(' ');
        words.starts_with(':') || !(before.is_alphanumeric() || before == '_')
    })
}

#[test]
fn every_module_says_what_it_is_about_and_none_is_long() {
    let mut broken = Vec::new();
    for source in sources("src").into_iter().chain(sources("tests")) {
        if !source.text.starts_with("//!") {
            broken.push(format!("{} does not open with //!", source.path));
        }
        let lines = source.text.lines().count();
        if lines > 600 {
            broken.push(format!("{} has {lines} lines; 600 is the ceiling", source.path));
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn no_file_holds_a_path_of_somebodys_machine() {
    let homes = [concat!("/wo", "rk/"), concat!("/ro", "ot/"), concat!("/ho", "me/"), concat!("/Us", "ers/")];
    let mut broken = Vec::new();
    for (path, text) in everything() {
        for (number, line) in text.lines().enumerate() {
            if let Some(home) = homes.iter().find(|home| line.contains(**home)) {
                broken.push(format!("{path}:{}: {home}", number + 1));
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

/// The crates of `[dependencies]`, as code names them.
fn dependencies() -> Vec<String> {
    let manifest = include_str!("../Cargo.toml");
    let section = manifest.split("[dependencies]").nth(1).and_then(|rest| rest.split("\n[").next()).expect("a section");
    let named = |line: &str| line.split_once(" = ").map(|(name, _)| name.trim().replace('-', "_"));
    section.lines().filter(|line| !line.starts_with('#')).filter_map(named).collect()
}

#[test]
fn the_search_finds_what_it_is_meant_to_find() {
    let source = Source::of(
        "src/care/plan.rs",
        "//! crate::web is not named here.\nuse crate::store::team; // crate::db\nuse super::super::web;\nlet a = \"select id from x\"; let b = 'x'; let c = r#\"crate::run\"#; let d = '\"';\nsqlx::query(a);\n",
    );
    assert_eq!(source.layer, "care");
    assert_eq!(source.layers_named(), [(2, "store".to_owned()), (3, "web".to_owned())]);
    assert_eq!(source.literals, [(4, "select id from x".to_owned()), (4, "crate::run".to_owned())]);
    assert!(source.roots_named().contains(&(5, "sqlx".to_owned())));
    assert!(said("let x = Standing::of(facts)", "Standing::of(") && !said("ContrastStanding::of(x)", "Standing::of("));
    let counted: BTreeMap<&str, usize> = LAYERS.iter().map(|(layer, below, _)| (*layer, below.len())).collect();
    assert_eq!(counted["vision"], 0);
}
