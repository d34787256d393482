//! How does a reader find the way: where am I, what comes next, what to heed?
//!
//! The way round in steps, the screens of one student, the way back up, and
//! the cautions. Which step is current and which links exist is decided by the
//! caller; nothing here knows the gates.
//! Read next: [`super::shape`] for the marks used here.

use askama::Template;
use askama::filters::HtmlSafe;

use super::pairs;
use super::shape::Shape;

/// One step of a way.
#[derive(Debug, Clone)]
struct Step {
    words: String,
    note: String,
    href: Option<String>,
    shape: Shape,
    state: &'static str,
}

/// A way in numbered steps, with the state of each in words.
#[derive(Debug, Clone, Default, Template)]
#[template(path = "part/steps.html")]
pub struct Steps {
    steps: Vec<Step>,
}

impl HtmlSafe for Steps {}

impl Steps {
    fn step(mut self, words: &str, shape: Shape, state: &'static str) -> Self {
        self.steps.push(Step { words: words.to_owned(), note: String::new(), href: None, shape, state });
        self
    }

    /// A finished step.
    pub fn done(self, words: &str) -> Self {
        self.step(words, Shape::Done, "Done")
    }

    /// The step that is current.
    pub fn now(self, words: &str) -> Self {
        self.step(words, Shape::Now, "Now")
    }

    /// A step that has to wait for somebody.
    pub fn waiting(self, words: &str) -> Self {
        self.step(words, Shape::Waiting, "Waiting")
    }

    /// A step to come.
    pub fn later(self, words: &str) -> Self {
        self.step(words, Shape::Later, "Later")
    }

    /// Makes the last step added a link.
    pub fn to(mut self, href: &str) -> Self {
        if let Some(step) = self.steps.last_mut() {
            step.href = Some(href.to_owned());
        }
        self
    }

    /// A sentence under the last step added.
    pub fn note(mut self, words: &str) -> Self {
        if let Some(step) = self.steps.last_mut() {
            step.note = words.to_owned();
        }
        self
    }
}

/// A way in steps, to be filled with `done`, `now`, `waiting` and `later`.
pub fn steps() -> Steps {
    Steps::default()
}

/// Cautions that stand where the act is.
#[derive(Debug, Clone, Template)]
#[template(path = "part/cautions.html")]
pub struct Cautions {
    title: String,
    list: Vec<String>,
}

impl HtmlSafe for Cautions {}

impl Cautions {
    /// Another title than "Before you look".
    pub fn title(mut self, words: &str) -> Self {
        self.title = words.to_owned();
        self
    }
}

/// A list of cautions, one sentence or two each. Nothing is shown when the
/// list is empty.
pub fn cautions<C: AsRef<str>>(list: &[C]) -> Cautions {
    Cautions { title: "Before you look".to_owned(), list: list.iter().map(|words| words.as_ref().to_owned()).collect() }
}

/// Where a link stands to the page being read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    Here,
    Above,
    Elsewhere,
}

/// The screens of one part of the site, side by side.
#[derive(Debug, Clone, Template)]
#[template(path = "part/nav.html")]
pub struct SectionNav {
    label: String,
    links: Vec<(String, String, Place)>,
    folded: bool,
}

impl HtmlSafe for SectionNav {}

impl SectionNav {
    /// Folds the list away on a narrow screen, so that a long one does not
    /// stand before every page on a phone. A list of six or fewer stays open.
    pub fn folded(mut self) -> Self {
        self.folded = self.links.len() > 6;
        self
    }

    /// What a folded list is opened by: the screen being read, or the name of
    /// the list.
    fn here(&self) -> String {
        self.links
            .iter()
            .find(|(_, _, place)| *place != Place::Elsewhere)
            .map_or_else(|| self.label.clone(), |(_, words, _)| format!("{words}, and other screens"))
    }
}

/// Links named `label` together. The one that leads to `current` is marked as
/// the page being read; failing that, the longest that `current` lies under.
pub fn nav<V: AsRef<str>, W: AsRef<str>>(label: &str, links: &[(V, W)], current: &str) -> SectionNav {
    let links = pairs(links);
    let under = |href: &str| current.strip_prefix(href).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'));
    let nearest = links
        .iter()
        .map(|(href, _)| href.as_str())
        .filter(|href| under(href))
        .max_by_key(|href| href.len())
        .map(str::to_owned);
    SectionNav {
        label: label.to_owned(),
        folded: false,
        links: links
            .into_iter()
            .map(|(href, words)| {
                let place = if href == current {
                    Place::Here
                } else if nearest.as_deref() == Some(href.as_str()) {
                    Place::Above
                } else {
                    Place::Elsewhere
                };
                (href, words, place)
            })
            .collect(),
    }
}

/// The way back up.
#[derive(Debug, Clone, Template)]
#[template(path = "part/crumbs.html")]
pub struct Crumbs {
    links: Vec<(String, String)>,
}

impl HtmlSafe for Crumbs {}

/// The pages above this one, highest first; this page itself is not listed.
pub fn crumbs<V: AsRef<str>, W: AsRef<str>>(links: &[(V, W)]) -> Crumbs {
    Crumbs { links: pairs(links) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_screen_above_is_marked_and_only_that() {
        let links = [("/students/1", "Overview"), ("/students/1/tasks", "Tasks")];
        let page = nav("Screens", &links, "/students/1/tasks/7").to_string();
        assert!(page.contains("href=\"/students/1/tasks\" aria-current=\"true\""), "{page}");
        assert_eq!(page.matches("aria-current").count(), 1, "{page}");
        let page = nav("Screens", &links, "/students/1").to_string();
        assert!(page.contains("href=\"/students/1\" aria-current=\"page\""), "{page}");
        let page = nav("Screens", &links, "/students/12").to_string();
        assert!(!page.contains("aria-current"), "{page}");
    }

    #[test]
    fn every_step_says_its_state_in_words() {
        let way = steps().done("Intake").now("Evaluation").waiting("Loan").later("Summary");
        let page = way.to_string();
        for state in ["Done", "Now", "Waiting", "Later"] {
            assert!(page.contains(&format!("<span>{state}</span>")), "{page}");
        }
        assert_eq!(page.matches("aria-current=\"step\"").count(), 1, "{page}");
    }
}
