//! What the student said: two answers by choice, and words kept exactly as said.
//!
//! The student has no account here and speaks through a named helper, who writes
//! down and does not improve. Does not know who may read it: that follows the
//! observation or the post it stands in.

use jiff::civil::Date;

use super::codes::codes;

codes! {
    /// How it went, in the student's eyes.
    pub enum Worked {
        Worked = "worked" : "worked",
        SoSo = "so_so" : "so-so",
        DidNotWork = "did_not_work" : "did not work",
    }

    /// I would use this here.
    pub enum WouldUse {
        Yes = "yes" : "yes",
        NotNow = "not_now" : "not now",
        No = "no" : "no",
    }
}

/// What the student said, as checked from a form.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Said {
    /// How it went.
    pub worked: Option<Worked>,
    /// Whether the student would use this here.
    pub would_use: Option<WouldUse>,
    /// The words, exactly as said.
    pub words: String,
}

impl Said {
    /// Whether nothing was said.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.worked.is_none() && self.would_use.is_none() && self.words.is_empty()
    }

    /// The two answers as one line; empty when neither was given.
    #[must_use]
    pub fn answers(&self) -> String {
        let worked = self.worked.map(|worked| match worked {
            Worked::Worked => "It worked".to_owned(),
            Worked::SoSo => "So-so".to_owned(),
            Worked::DidNotWork => "It did not work".to_owned(),
        });
        let would_use = self.would_use.map(|answer| format!("I would use this here: {}", answer.words()));
        worked.into_iter().chain(would_use).collect::<Vec<_>>().join(". ")
    }
}

/// What the student said on a day, as a post of its own.
pub struct NewWords {
    /// The day.
    pub on: Date,
    /// What it was about, in the helper's words.
    pub about: String,
    /// What was said.
    pub said: Said,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_answers_stand_in_one_line_and_none_in_none() {
        let said = Said { worked: Some(Worked::SoSo), would_use: Some(WouldUse::NotNow), words: String::new() };
        assert_eq!(said.answers(), "So-so. I would use this here: not now");
        assert!(!said.is_empty());
        let only = Said { would_use: Some(WouldUse::No), ..Said::default() };
        assert_eq!(only.answers(), "I would use this here: no");
        assert!(Said::default().is_empty() && Said::default().answers().is_empty());
    }
}
