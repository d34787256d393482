//! How is a correction shown: what, who, when, why, and both texts?
//!
//! Before stands above after, so that nothing has to be read across at 320 px
//! or on paper. Texts, names and dates arrive finished.

use askama::Template;
use askama::filters::HtmlSafe;

/// One act of correcting: somebody, at one moment, for one reason.
#[derive(Debug, Clone)]
struct Act {
    who: String,
    when: String,
    why: String,
    fields: Vec<(String, String, String)>,
}

/// The corrections of one record; nothing is shown where there are none.
#[derive(Debug, Clone, Default, Template)]
#[template(path = "part/amended.html")]
pub struct Amended {
    acts: Vec<Act>,
    /// Which of several on one page; empty where it is the only one.
    about: String,
}

impl HtmlSafe for Amended {}

impl Amended {
    /// Adds a field with both its texts; those of one person, moment and reason
    /// that follow each other are one act.
    #[must_use]
    pub fn field(mut self, act: [&str; 3], field: [&str; 3]) -> Self {
        let ([who, when, why], [label, before, after]) = (act, field.map(str::to_owned));
        let same = |last: &&mut Act| last.who == who && last.when == when && last.why == why;
        match self.acts.last_mut().filter(same) {
            Some(last) => last.fields.push((label, before, after)),
            None => self.acts.push(Act {
                who: who.to_owned(),
                when: when.to_owned(),
                why: why.to_owned(),
                fields: vec![(label, before, after)],
            }),
        }
        self
    }

    /// One of several on a page, named by what it is about.
    #[must_use]
    pub fn about(mut self, what: &str) -> Self {
        what.clone_into(&mut self.about);
        self
    }

    /// Whether there is nothing to show.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.acts.is_empty()
    }
}

/// The corrections of one record, to be filled with `field`.
#[must_use]
pub fn amended() -> Amended {
    Amended::default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_changed_in_one_act_stand_under_one_head_before_above_after() {
        let act = ["Marisol Vega", "9 March 2027, 07:30", "counted twice"];
        let page = amended()
            .field(act, ["Right", "3", "<4>"])
            .field(act, ["Note", "", "by the window"])
            .field(["Dev Rana", "8 March 2027, 07:30", ""], ["Tried", "7", "8"])
            .to_string();
        assert_eq!(page.matches("counted twice").count(), 1, "{page}");
        assert_eq!(page.matches("Reason").count(), 1, "{page}");
        assert!(page.find(">3<").expect("before") < page.find("&#60;4&#62;").expect("after"), "{page}");
        assert!(page.contains(">nothing<"), "{page}");
    }

    #[test]
    fn a_record_that_was_never_corrected_shows_nothing() {
        assert_eq!(amended().to_string().trim(), "");
    }
}
