//! The documents say what is so: settings with their defaults, and files that
//! are there.

use crate::layers::everything;

fn text_of(wanted: &str) -> String {
    everything().into_iter().find(|(path, _)| path == wanted).unwrap_or_else(|| panic!("{wanted} is not there")).1
}

#[test]
fn the_readme_lists_every_setting_with_its_default() {
    let (readme, config) = (text_of("README.md"), text_of("src/config.rs"));
    let mut settings = 0;
    for part in config.split("env = \"").skip(1) {
        let name = part.split('"').next().unwrap_or("");
        settings += 1;
        let row = readme.lines().find(|line| line.starts_with(&format!("| `{name}` |")));
        let row = row.unwrap_or_else(|| panic!("README.md has no row for {name}"));
        if let Some(default) = part.split(")]").next().and_then(|rest| rest.split("default_value = \"").nth(1)) {
            let default = default.split('"').next().unwrap_or("");
            assert!(row.contains(&format!("`{default}`")), "{name}: the default is {default}: {row}");
        }
    }
    assert!(settings > 5, "only {settings} settings were found");
    let strong = farpoint::password::Cost::STRONG;
    for (name, default) in [
        ("FARPOINT_HASH_MEMORY_KIB", strong.memory_kib.to_string()),
        ("FARPOINT_HASH_PASSES", strong.passes.to_string()),
        ("FARPOINT_SIGN_IN_BURST", "20".to_owned()),
    ] {
        assert!(readme.contains(&format!("| `{name}` | `{default}` |")), "{name} is {default}");
    }
}

/// The address of a heading within its page, as readers of Markdown make it.
fn anchor(line: &str) -> String {
    line.trim_start_matches('#').trim().to_lowercase().replace(' ', "-")
}

#[test]
fn every_file_that_the_documents_name_is_there() {
    let top = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut named = 0;
    for document in ["README.md", "DEVELOPERS.md"] {
        for word in text_of(document).split(['`', '(', ')', '[', ']', ' ', '\n', ',', ';']) {
            let ours =
                ["src/", "tests/", "templates/", "static/", "docs/"].iter().any(|folder| word.starts_with(folder));
            // A name in capitals stands for one that is yet to be chosen.
            if ours && !word.contains(|c: char| c.is_ascii_uppercase() && !word.contains("OFL")) {
                named += 1;
                let word = word.trim_end_matches(['.', ':']);
                let (path, heading) = word.split_once('#').map_or((word, None), |(path, part)| (path, Some(part)));
                assert!(top.join(path).exists(), "{document} names {path}, which is not there");
                if let Some(heading) = heading {
                    let text = text_of(path);
                    let found = text.lines().filter(|line| line.starts_with('#')).any(|line| anchor(line) == heading);
                    assert!(found, "{document} names {word}, and no heading is there");
                }
            }
        }
    }
    assert!(named > 40, "only {named} were found");
}
