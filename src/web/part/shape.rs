//! Which mark stands beside a word, so that colour is never alone?
//!
//! The five settings have one shape each, in one order, everywhere: classroom
//! square, home circle, community triangle, training cross, clinic diamond.
//! States have marks that cannot be taken for a setting: tick, bars, dots.
//! Every mark is hidden from a screen reader, because the word beside it says
//! the same.
//! Read next: `templates/part/shape.html`, which draws them.

use askama::Template;
use askama::filters::HtmlSafe;

/// The kind of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A filled square.
    Classroom,
    /// A filled circle.
    Home,
    /// A filled triangle.
    Community,
    /// An upright cross.
    Training,
    /// A filled diamond.
    Clinic,
    /// Finished, or as it should be: a tick.
    Done,
    /// Under way: an arrowhead to the right.
    Now,
    /// Not begun: an open ring with a gap.
    Later,
    /// Waiting for somebody: three dots.
    Waiting,
    /// Paused: two upright bars.
    Paused,
    /// Care is needed: an exclamation mark.
    Caution,
    /// Stop: an octagon with a bar.
    Stop,
    /// A red flag: a flag on its pole.
    Flag,
    /// Nothing in particular: a short line.
    Plain,
}

impl From<&str> for Shape {
    /// The mark of this name; a plain line when there is none.
    fn from(name: &str) -> Self {
        match name {
            "classroom" => Self::Classroom,
            "home" => Self::Home,
            "community" => Self::Community,
            "training" => Self::Training,
            "clinic" => Self::Clinic,
            "done" | "good" => Self::Done,
            "now" => Self::Now,
            "later" => Self::Later,
            "waiting" => Self::Waiting,
            "paused" => Self::Paused,
            "caution" => Self::Caution,
            "stop" => Self::Stop,
            "flag" => Self::Flag,
            _ => Self::Plain,
        }
    }
}

impl Shape {
    /// The name in style sheets.
    pub fn name(self) -> &'static str {
        match self {
            Self::Classroom => "classroom",
            Self::Home => "home",
            Self::Community => "community",
            Self::Training => "training",
            Self::Clinic => "clinic",
            Self::Done => "good",
            Self::Now => "now",
            Self::Later => "later",
            Self::Waiting => "waiting",
            Self::Paused => "paused",
            Self::Caution => "caution",
            Self::Stop => "stop",
            Self::Flag => "flag",
            Self::Plain => "plain",
        }
    }

    /// The drawing alone.
    pub fn drawing(self) -> Drawing {
        Drawing { shape: self }
    }
}

/// A mark without its word; only beside a word that says the same.
#[derive(Debug, Clone, Copy, Template)]
#[template(path = "part/shape.html")]
pub struct Drawing {
    shape: Shape,
}

impl HtmlSafe for Drawing {}

/// A setting: its shape and its word.
#[derive(Debug, Clone, Template)]
#[template(
    source = r#"<span class="mark mark-{{ shape.name() }}">{{ shape.drawing() }}<span>{{ words }}</span></span>"#,
    ext = "html"
)]
pub struct Mark {
    shape: Shape,
    words: String,
}

impl HtmlSafe for Mark {}

impl Mark {
    /// Other words than the setting's own, such as "at home".
    pub fn words(mut self, words: &str) -> Self {
        self.words = words.to_owned();
        self
    }
}

/// The mark of a setting: `classroom`, `home`, `community`, `training` or
/// `clinic`. Any other word is shown with a plain line.
pub fn mark(setting: &str) -> Mark {
    let mut letters = setting.chars();
    let words = match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    };
    Mark { shape: Shape::from(setting), words }
}

/// A state: its mark and its words.
#[derive(Debug, Clone, Template)]
#[template(
    source = r#"<span class="status status-{{ shape.name() }}">{{ shape.drawing() }}<span>{{ words }}</span></span>"#,
    ext = "html"
)]
pub struct Status {
    shape: Shape,
    words: String,
}

impl HtmlSafe for Status {}

/// A state in words with a mark: `done`, `now`, `later`, `waiting`, `paused`,
/// `caution`, `stop`, `flag` or `plain`.
pub fn status(words: &str, shape: impl Into<Shape>) -> Status {
    Status { shape: shape.into(), words: words.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_setting_and_each_state_has_a_drawing_of_its_own() {
        let names = [
            "classroom",
            "home",
            "community",
            "training",
            "clinic",
            "good",
            "now",
            "later",
            "waiting",
            "paused",
            "caution",
            "stop",
            "flag",
            "plain",
        ];
        let mut drawings: Vec<String> = names
            .iter()
            .map(|name| {
                assert_eq!(Shape::from(*name).name(), *name);
                let drawing = Shape::from(*name).drawing().to_string();
                drawing.split_once('>').expect("an opening tag").1.to_owned()
            })
            .collect();
        drawings.sort();
        drawings.dedup();
        assert_eq!(drawings.len(), names.len());
    }

    #[test]
    fn a_mark_always_has_its_word() {
        assert!(mark("home").to_string().contains("<span>Home</span>"));
        assert!(status("<Out>", "now").to_string().contains("<span>&#60;Out&#62;</span>"));
    }
}
