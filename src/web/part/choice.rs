//! How is one, or some, of a few things chosen?
//!
//! A [`Choice`] is a group of radio buttons or tick boxes under one question.
//! As chips they become large buttons for a thumb; what is chosen is told by
//! the dot or tick, a thick edge and heavier words, not by colour alone.
//! It does not know which choices exist: the caller passes values and words.
//! Read next: [`super::field`] for what is typed.

use askama::Template;
use askama::filters::HtmlSafe;

use super::{id_of, pairs};
use crate::web::form::FormView;

/// One choice as shown.
#[derive(Debug, Clone)]
struct Offer {
    id: String,
    value: String,
    words: String,
    chosen: bool,
}

/// A question with its choices.
#[derive(Debug, Clone, Template)]
#[template(path = "part/choice.html")]
pub struct Choice {
    name: String,
    id: String,
    legend: String,
    hint: Option<String>,
    fault: Option<String>,
    optional: bool,
    many: bool,
    chips: bool,
    inline: bool,
    offers: Vec<Offer>,
}

impl HtmlSafe for Choice {}

impl Choice {
    fn new(form: &FormView, name: &str, legend: &str, options: Vec<(String, String)>, many: bool) -> Self {
        let offers = options
            .into_iter()
            .map(|(value, words)| Offer { id: String::new(), chosen: form.entry.has(name, &value), value, words })
            .collect();
        Self {
            name: form.named(name),
            id: String::new(),
            legend: legend.to_owned(),
            hint: None,
            fault: form.faults.of(name).map(str::to_owned),
            optional: false,
            many,
            chips: false,
            inline: false,
            offers,
        }
        .id(&id_of(&form.named(name)))
    }

    /// One short sentence under the question.
    pub fn hint(mut self, hint: &str) -> Self {
        self.hint = Some(hint.to_owned()).filter(|hint| !hint.is_empty());
        self
    }

    /// Says "(optional)" after the question.
    pub fn optional(mut self) -> Self {
        self.optional = true;
        self
    }

    /// Large buttons for a thumb, side by side where they fit.
    pub fn chips(mut self) -> Self {
        self.chips = true;
        self
    }

    /// Side by side where they fit.
    pub fn inline(mut self) -> Self {
        self.inline = true;
        self
    }

    /// Another id than the one made of the name. The first choice carries it,
    /// so that a fault at the top of the page leads to the first control.
    pub fn id(mut self, id: &str) -> Self {
        self.id = id.to_owned();
        for (place, offer) in self.offers.iter_mut().enumerate() {
            offer.id = match place {
                0 => id.to_owned(),
                _ => format!("{id}-{}", place + 1),
            };
        }
        self
    }

    fn described(&self) -> String {
        let mut ids = Vec::new();
        if self.hint.is_some() {
            ids.push(format!("{}-hint", self.id));
        }
        if self.fault.is_some() {
            ids.push(format!("{}-fault", self.id));
        }
        ids.join(" ")
    }
}

impl FormView {
    /// One of a few.
    pub fn radios<V: AsRef<str>, W: AsRef<str>>(&self, name: &str, legend: &str, options: &[(V, W)]) -> Choice {
        Choice::new(self, name, legend, pairs(options), false)
    }

    /// Any number of a few.
    pub fn checks<V: AsRef<str>, W: AsRef<str>>(&self, name: &str, legend: &str, options: &[(V, W)]) -> Choice {
        Choice::new(self, name, legend, pairs(options), true)
    }

    /// A question answered `yes` or `no`; neither is chosen beforehand.
    pub fn yes_no(&self, name: &str, legend: &str) -> Choice {
        self.radios(name, legend, &[("yes", "Yes"), ("no", "No")]).inline()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::form::{Entry, Faults};

    #[test]
    fn a_fault_leads_to_the_first_choice_and_every_id_is_its_own() {
        let mut entry = Entry::default();
        entry.set("result", "some");
        let mut faults = Faults::default();
        faults.add("result", "Choose how much was read.");
        let form =
            FormView { entry, faults, csrf: String::new(), key: String::new(), version: None, prefix: String::new() };
        let options = [("none", "None"), ("some", "Some"), ("all", "All")];
        let page = form.radios("result", "How much?", &options).to_string();
        assert!(form.errors().to_string().contains("href=\"#f-result\""));
        for (id, value) in [("f-result", "none"), ("f-result-2", "some"), ("f-result-3", "all")] {
            let control = format!("id=\"{id}\" name=\"result\" value=\"{value}\"");
            assert!(page.contains(&control), "{page}");
        }
        assert_eq!(page.matches(" checked").count(), 1, "{page}");
        assert!(page.contains("value=\"some\" checked"), "{page}");
        assert!(page.contains("role=\"radiogroup\" aria-invalid=\"true\""), "{page}");
    }

    #[test]
    fn neither_yes_nor_no_is_chosen_beforehand() {
        let form = FormView {
            entry: Entry::default(),
            faults: Faults::default(),
            csrf: String::new(),
            key: String::new(),
            version: None,
            prefix: String::new(),
        };
        let page = form.yes_no("out", "Was it out?").to_string();
        assert!(!page.contains(" checked"), "{page}");
        assert_eq!(page.matches("type=\"radio\"").count(), 2, "{page}");
    }
}
