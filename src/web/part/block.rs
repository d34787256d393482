//! How is a finding, a figure or a warning shown?
//!
//! Notices, figures with their interval and their count, the facts of a record
//! and the panel that says how a figure was computed. Values arrive finished:
//! worded, rounded and with their unit. Nothing here rounds or decides.
//! Read next: [`mod@super::table`].

use askama::Template;
use askama::filters::HtmlSafe;

use super::pairs;
use super::shape::Shape;
use crate::web::outside::Asked;

/// A message with a mark, a title and one paragraph.
#[derive(Debug, Clone, Template)]
#[template(path = "part/notice.html")]
pub struct Notice {
    shape: Shape,
    title: String,
    body: String,
    link: Option<(String, String)>,
}

impl HtmlSafe for Notice {}

impl Notice {
    /// One way on, under the words.
    pub fn link(mut self, href: &str, words: &str) -> Self {
        self.link = Some((href.to_owned(), words.to_owned()));
        self
    }

    /// Without its way on, where there is nothing to press.
    pub fn on_paper(mut self) -> Self {
        self.link = None;
        self
    }
}

/// A message; `kind` is `good`, `caution`, `stop` or `plain`, and the title
/// says the same in words.
pub fn notice(kind: &str, title: &str, body: &str) -> Notice {
    Notice { shape: Shape::from(kind), title: title.to_owned(), body: body.to_owned(), link: None }
}

/// One figure: what it is, its value with the unit, its interval and the
/// count behind it.
#[derive(Debug, Clone, Template)]
#[template(path = "part/figure.html")]
pub struct Figure {
    label: String,
    value: String,
    interval: Option<String>,
    basis: Option<String>,
}

impl HtmlSafe for Figure {}

impl Figure {
    /// The interval, such as `2.2 m to 3.0 m (90 %)`.
    pub fn interval(mut self, words: &str) -> Self {
        self.interval = Some(words.to_owned());
        self
    }

    /// What it rests on, such as `8 observations in the classroom`.
    pub fn basis(mut self, words: &str) -> Self {
        self.basis = Some(words.to_owned());
        self
    }
}

/// A figure with its label and its value, unit included.
pub fn figure(label: &str, value: &str) -> Figure {
    Figure { label: label.to_owned(), value: value.to_owned(), interval: None, basis: None }
}

/// The panel that says how a figure was computed.
#[derive(Debug, Clone, Template)]
#[template(path = "part/how.html")]
pub struct How {
    summary: String,
    lines: Vec<String>,
    inputs: Vec<(String, String)>,
    sources: Vec<String>,
    asked: Vec<Asked>,
    open: bool,
}

impl HtmlSafe for How {}

impl How {
    /// Another summary than "How this was computed".
    pub fn summary(mut self, words: &str) -> Self {
        self.summary = words.to_owned();
        self
    }

    /// One number that went in, with its unit, and where it came from.
    pub fn input(mut self, term: &str, value: &str) -> Self {
        self.inputs.push((term.to_owned(), value.to_owned()));
        self
    }

    /// All numbers that went in.
    pub fn inputs<T: AsRef<str>, V: AsRef<str>>(mut self, inputs: &[(T, V)]) -> Self {
        self.inputs.extend(pairs(inputs));
        self
    }

    /// Where the formula was published.
    pub fn source(mut self, words: &str) -> Self {
        self.sources.push(words.to_owned());
        self
    }

    /// The line to recompute a figure of this panel, from inputs its reader may read.
    pub fn asks(mut self, asked: Asked) -> Self {
        self.asked.push(asked);
        self
    }

    /// Several such lines.
    pub fn asks_all(mut self, asked: impl IntoIterator<Item = Asked>) -> Self {
        self.asked.extend(asked);
        self
    }

    /// Shown open at first.
    pub fn opened(mut self) -> Self {
        self.open = true;
        self
    }
}

/// How a figure was computed: the formula in words, one sentence a line. The
/// caution that every figure carries is added by the panel.
pub fn how<L: AsRef<str>>(lines: &[L]) -> How {
    How {
        summary: "How this was computed".to_owned(),
        lines: lines.iter().map(|line| line.as_ref().to_owned()).collect(),
        inputs: Vec::new(),
        sources: Vec::new(),
        asked: Vec::new(),
        open: false,
    }
}

/// The sentence under every computed figure.
pub fn arithmetic() -> Caveat {
    Caveat { words: "Arithmetic from the numbers shown. Real use differs. The clinician decides." }
}

/// The sentence under every chart of entries.
pub fn entered() -> Caveat {
    Caveat { words: "What people entered. Not a test result." }
}

/// A sentence that says how far a figure may be trusted.
#[derive(Debug, Clone, Copy, Template)]
#[template(source = r#"<p class="caveat">{{ words }}</p>"#, ext = "html")]
pub struct Caveat {
    words: &'static str,
}

impl HtmlSafe for Caveat {}

/// Facts of a record: a term and its value each.
#[derive(Debug, Clone, Template)]
#[template(path = "part/facts.html")]
pub struct Facts {
    facts: Vec<(String, String)>,
}

impl HtmlSafe for Facts {}

impl Facts {
    /// One more fact; left out when the value is empty.
    pub fn fact(mut self, term: &str, value: &str) -> Self {
        if !value.is_empty() {
            self.facts.push((term.to_owned(), value.to_owned()));
        }
        self
    }
}

/// Facts of a record, as pairs of a term and its value.
pub fn facts<T: AsRef<str>, V: AsRef<str>>(facts: &[(T, V)]) -> Facts {
    Facts { facts: pairs(facts) }
}

/// What stands where there is nothing yet.
#[derive(Debug, Clone, Template)]
#[template(path = "part/empty.html")]
pub struct Empty {
    words: String,
    action: Option<(String, String)>,
}

impl HtmlSafe for Empty {}

impl Empty {
    /// The way to the first one.
    pub fn action(mut self, href: &str, words: &str) -> Self {
        self.action = Some((href.to_owned(), words.to_owned()));
        self
    }
}

/// Says that there is nothing yet.
pub fn empty(words: &str) -> Empty {
    Empty { words: words.to_owned(), action: None }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_account_of_a_figure_ends_in_its_caution() {
        let page = how(&["Distance over <size>."]).input("Seat", "5.2 m").to_string();
        assert!(page.contains("Distance over &#60;size&#62;."), "{page}");
        assert!(page.contains("<dt>Seat</dt><dd>5.2 m</dd>"), "{page}");
        assert!(page.contains("Real use differs. The clinician decides."), "{page}");
    }

    #[test]
    fn a_notice_has_a_mark_as_well_as_a_colour() {
        for kind in ["good", "caution", "stop", "plain"] {
            let page = notice(kind, "Title", "Body").to_string();
            assert!(page.contains(&format!("notice-{kind}")), "{page}");
            assert!(page.contains(&format!("shape-{kind}")), "{page}");
        }
    }
}
