//! Every template belongs to a page or a piece, and none escapes escaping.

use crate::layers::everything;

fn templates() -> Vec<(String, String)> {
    let below = |(path, text): (String, String)| path.strip_prefix("templates/").map(|path| (path.to_owned(), text));
    let found: Vec<_> = everything().into_iter().filter_map(below).collect();
    assert!(found.len() > 10, "the templates were not found");
    found
}

#[test]
fn every_template_has_a_struct_and_every_struct_its_template() {
    let templates = templates();
    let files = everything();
    let source: String =
        files.iter().filter(|(path, _)| path.starts_with("src/")).map(|(_, text)| text.as_str()).collect();
    let used = |path: &str| {
        source.contains(&format!("path = \"{path}\""))
            || templates.iter().any(|(_, text)| text.contains(&format!("\"{path}\"")))
    };
    let orphans: Vec<&String> = templates.iter().map(|(path, _)| path).filter(|path| !used(path)).collect();
    assert!(orphans.is_empty(), "no struct names these templates, and no template includes them: {orphans:?}");
    for wanted in source.split("#[template(path = \"").skip(1).filter_map(|rest| rest.split('"').next()) {
        assert!(templates.iter().any(|(path, _)| path == wanted), "templates/{wanted} is not there");
    }
}

#[test]
fn no_template_prints_unescaped_text() {
    for (path, text) in templates() {
        for forbidden in ["|safe", "| safe", "|escape(", "autoescape", "HtmlSafe"] {
            assert!(!text.contains(forbidden), "templates/{path}: {forbidden}");
        }
    }
}

#[test]
fn a_part_that_promises_safe_html_is_made_by_its_own_template() {
    // `HtmlSafe` says "do not escape this again": right for a piece whose own
    // template escapes what it is given, and for nothing else.
    for (path, text) in everything() {
        let marks = path.starts_with("src/") && text.contains("impl HtmlSafe for");
        assert!(!marks || path.starts_with("src/web/"), "{path}: HtmlSafe outside the pages");
        for name in
            text.split("impl HtmlSafe for ").skip(1).filter(|_| marks).filter_map(|rest| rest.split([' ', '<']).next())
        {
            let definition = text.split_inclusive(&format!("struct {name}")).next().unwrap_or("");
            let derives = definition.rsplit("\n\n").next().unwrap_or("");
            assert!(derives.contains("#[template("), "{path}: {name} is not a template");
        }
    }
}
