//! How is a picture taken from a page?
//!
//! Its drawing as it is, its title and description as what is read out for it.

use scraper::ElementRef;
use scraper::node::Node;

use super::{Unread, has};
use crate::pdf::model::Figure;

/// A drawing with its words.
pub(super) fn figure(svg: ElementRef<'_>) -> Result<Figure, Unread> {
    let part = |name: &str| {
        let found = svg.children().filter_map(ElementRef::wrap).find(|child| child.value().name() == name);
        found.map(|found| found.text().collect::<String>().trim().to_owned()).unwrap_or_default()
    };
    let (title, description) = (part("title"), part("desc"));
    if title.is_empty() || description.is_empty() {
        return Err(Unread::Wordless);
    }
    let stop = if title.ends_with(['.', '?', '!']) { "" } else { "." };
    let mut out = String::new();
    write(svg, true, &mut out);
    Ok(Figure { svg: out, alternative: format!("{title}{stop} {description}") })
}

/// An element of a drawing as XML. Its words stand beside it and are left out.
fn write(element: ElementRef<'_>, root: bool, out: &mut String) {
    if matches!(element.value().name(), "title" | "desc") {
        return;
    }
    if has(element, HALO) {
        // Letter by letter, each halo would cover the letter before it: all halos
        // come first.
        one(element, root, "", out);
    }
    one(element, root, HALO, out);
}

/// The class of words that stand clear of what is drawn below them.
const HALO: &str = "halo";

/// An element with all it holds, without one of its classes.
fn one(element: ElementRef<'_>, root: bool, without: &str, out: &mut String) {
    let name = element.value().name();
    out.push('<');
    out.push_str(name);
    if root {
        out.push_str(" xmlns=\"http://www.w3.org/2000/svg\"");
    }
    for (key, value) in element.value().attrs() {
        if key == "class" {
            let classes: Vec<&str> = element.value().classes().filter(|class| *class != without).collect();
            out.push_str(&format!(" class=\"{}\"", escaped(&classes.join(" "))));
        } else if !key.starts_with("xmlns") {
            out.push_str(&format!(" {key}=\"{}\"", escaped(value)));
        }
    }
    out.push('>');
    for child in element.children() {
        match child.value() {
            Node::Text(words) => out.push_str(&escaped(words)),
            Node::Element(_) => {
                if let Some(child) = ElementRef::wrap(child) {
                    write(child, false, out);
                }
            }
            _ => {}
        }
    }
    out.push_str(&format!("</{name}>"));
}

fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_halos_of_words_are_drawn_below_all_of_the_words() {
        let page = "<main><svg><title>A</title><desc>B.</desc><text class=\"strong halo\">no trend</text></svg></main>";
        let html = scraper::Html::parse_document(page);
        let svg = scraper::Selector::parse("svg").expect("a name");
        let found = figure(html.select(&svg).next().expect("one")).expect("a picture");
        let both = "<text class=\"halo strong\">no trend</text><text class=\"strong\">no trend</text>";
        assert!(found.svg.contains(both), "{}", found.svg);
    }
}
