//! Signed documents: which kinds there are, and what can become of one.
//!
//! G8: a signed document never changes. It is amended with a reason, superseded
//! by a newer one, or marked entered in error; its words stay as they were
//! signed. Does not know who may do that, nor how any document is stored.

use super::codes::codes;

codes! {
    /// A kind of document that is signed, sent or released.
    pub enum Kind {
        Evaluation = "evaluation" : "evaluation",
        Decision = "decision" : "decision",
        Prescription = "prescription" : "prescription",
        Summary = "summary" : "training summary",
        Card = "card" : "classroom card",
    }
}

codes! {
    /// What became of a document.
    pub enum Mark {
        Amended = "amended" : "amended",
        Superseded = "superseded" : "superseded",
        Cancelled = "cancelled" : "cancelled",
        Withdrawn = "withdrawn" : "withdrawn",
        EnteredInError = "entered_in_error" : "entered in error",
    }
}

impl Mark {
    /// Whether the document counts no longer; an amended one goes on.
    #[must_use]
    pub const fn ends(self) -> bool {
        !matches!(self, Self::Amended)
    }
}

/// One text of a document that may be amended.
#[derive(Clone, PartialEq, Eq)]
pub struct Wording {
    /// Its field.
    pub field: String,
    /// What people call it.
    pub label: String,
    /// What it says.
    pub text: String,
    /// Whether it may not be left empty.
    pub needed: bool,
}

/// What looks at one text: its field, its label, whether it is needed, the text.
/// No two texts of a document have one label.
pub type Look<'l> = dyn FnMut(&str, &str, bool, &mut String) + 'l;

/// A document whose words may be amended. Figures, dates and choices never are:
/// for those the document is superseded.
pub trait Worded: Clone {
    /// Shows every text to `look`, in the order a page tells them.
    fn each_text(&mut self, look: &mut Look<'_>);

    /// Every text as it reads now.
    #[must_use]
    fn wordings(&self) -> Vec<Wording> {
        let mut found = Vec::new();
        self.clone().each_text(&mut |field, label, needed, text| {
            found.push(Wording { field: field.to_owned(), label: label.to_owned(), text: text.clone(), needed });
        });
        found
    }

    /// Puts an amended text in its place, by its label; one that is not there
    /// changes nothing.
    fn reword(&mut self, label: &str, words: &str) {
        self.each_text(&mut |_, name, _, text| {
            if name == label {
                words.clone_into(text);
            }
        });
    }
}

/// What two versions of a document say differently: label, before, now. A label
/// that stands several times is compared in its order; what is not there is empty.
#[must_use]
pub fn differences(before: &[(String, String)], now: &[(String, String)]) -> Vec<(String, String, String)> {
    let counted = |lines: &[(String, String)]| -> Vec<(String, usize, String)> {
        lines
            .iter()
            .enumerate()
            .map(|(place, (label, value))| {
                let earlier = lines.iter().take(place).filter(|(one, _)| one == label).count();
                (label.clone(), earlier, value.clone())
            })
            .collect()
    };
    let (then, now) = (counted(before), counted(now));
    let value = |lines: &[(String, usize, String)], label: &str, place: usize| {
        let found = lines.iter().find(|(one, at, _)| one == label && *at == place);
        found.map_or_else(String::new, |(_, _, value)| value.clone())
    };
    let gone = then.iter().filter(|(label, place, _)| !now.iter().any(|(one, at, _)| one == label && at == place));
    now.iter()
        .chain(gone)
        .map(|(label, place, _)| (label.clone(), value(&then, label, *place), value(&now, label, *place)))
        .filter(|(_, then, now)| then != now)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(given: &[(&str, &str)]) -> Vec<(String, String)> {
        given.iter().map(|(label, value)| ((*label).to_owned(), (*value).to_owned())).collect()
    }

    #[test]
    fn only_what_differs_is_told_and_what_is_gone_too() {
        let before = lines(&[("Acuity", "10/100"), ("Place", "Clinic"), ("Light", "from the left")]);
        let now = lines(&[("Acuity", "10/80"), ("Place", "Clinic"), ("Acuity", "HM")]);
        let told = differences(&before, &now);
        let told: Vec<_> =
            told.iter().map(|(label, then, now)| (label.as_str(), then.as_str(), now.as_str())).collect();
        let expected = [("Acuity", "10/100", "10/80"), ("Acuity", "", "HM"), ("Light", "from the left", "")];
        assert_eq!(told, expected);
        assert!(differences(&before, &before).is_empty());
    }

    #[test]
    fn an_amended_document_goes_on_and_every_other_mark_ends_it() {
        for mark in Mark::ALL {
            assert_eq!(mark.ends(), *mark != Mark::Amended);
        }
    }
}
