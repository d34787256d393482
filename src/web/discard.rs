//! Throwing a draft away: one page that asks once more, for every kind of draft.
//!
//! Only what was never signed, sent or released can go, and only as it was seen.

use askama::Template;

use super::form::FormView;
use super::page::{Context, Shell, shell_about};
use super::part;
use super::visit::Visit;

/// Asks whether a draft is to be thrown away.
#[derive(Template)]
#[template(path = "discard.html")]
pub(super) struct DiscardPage {
    shell: Shell,
    crumbs: part::Crumbs,
    what: String,
    /// Who began it, where that is somebody else; only they throw it away.
    others: String,
    form: FormView,
    action: String,
    back: String,
}

/// That a draft was begun by somebody else, who alone throws it away.
pub(super) fn of_somebody_else(context: &Context, visit: &Visit, what: &str, by: &str, back: &str) -> DiscardPage {
    DiscardPage { others: by.to_owned(), ..page(context, visit, what, ("", back), 0) }
}

/// The question, about the draft at this address in this version.
pub(super) fn page(
    context: &Context,
    visit: &Visit,
    what: &str,
    (href, back): (&str, &str),
    version: i64,
) -> DiscardPage {
    DiscardPage {
        shell: shell_about(context, visit, "Throw a draft away"),
        crumbs: part::crumbs(&[(back, "The draft")]),
        what: what.to_owned(),
        others: String::new(),
        form: FormView::blank(context).at_version(version),
        action: href.to_owned(),
        back: back.to_owned(),
    }
}
