//! The fields for what the student said, wherever a form has them: with an
//! observation, or for themselves in the thread.
//!
//! The student speaks through whoever fills in the form. Does not store; read
//! `store::student_words`.

use super::check::{Check, LONG_TEXT};
use super::form::FormView;
use super::part::{self, Choice, Facts, Field};
use super::words::options;
use crate::care::student_words::{Said, Worked, WouldUse};
use crate::store::student_words::Kept;

/// The fields, for a template to print.
pub struct Fields {
    /// How it went.
    pub worked: Choice,
    /// I would use this here.
    pub would_use: Choice,
    /// The words.
    pub words: Field,
}

/// The names of the fields.
pub const NAMES: [&str; 3] = ["said_worked", "said_would_use", "said_words"];

/// The fields of a form.
pub fn fields(form: &FormView) -> Fields {
    Fields {
        worked: form
            .radios(NAMES[0], "The student says: how did it go?", &options!(Worked))
            .chips()
            .inline()
            .optional(),
        would_use: form
            .radios(NAMES[1], "The student says: I would use this here", &options!(WouldUse))
            .chips()
            .inline()
            .optional(),
        words: form
            .area(NAMES[2], "The student\u{2019}s own words")
            .hint("Exactly as said, in the language it was said in. Nothing is improved.")
            .rows(3)
            .optional(),
    }
}

/// What the form says the student said; empty when nothing.
pub fn read(check: &mut Check<'_>) -> Said {
    Said {
        worked: check.opt_code(NAMES[0], "How it went"),
        would_use: check.opt_code(NAMES[1], "Whether the student would use this here"),
        words: check.opt_text(NAMES[2], "The student\u{2019}s own words", LONG_TEXT),
    }
}

/// What was said, as facts of an entry; the words stand as a quotation of their own.
pub fn facts(kept: &Kept) -> Facts {
    let code = |words: Option<&'static str>| words.map(super::words::capital).unwrap_or_default();
    let helper = kept.by_role.map_or_else(|| kept.by.clone(), |role| format!("{}, {}", kept.by, role.words()));
    part::facts::<&str, &str>(&[])
        .fact("How it went", &code(kept.said.worked.map(|one| one.words())))
        .fact("I would use this here", &code(kept.said.would_use.map(|one| one.words())))
        .fact("Written down by", &helper)
}
