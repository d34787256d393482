//! Corrections on a page: what was amended, the line that says so in a list, and
//! the page that marks an entry as entered in error or takes that back.
//!
//! Does not know any one record: each area shows its own, and says in its own
//! form what an amendment changes.

mod lasting;
mod post;

pub use self::lasting::{Lasting, lasting, lasting_page};

use askama::Template;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::check::{Check, SHORT_TEXT};
use super::error::Result;
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::part::{Amended, amended};
use super::routes::Routes;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::{Amend, Writes};
use crate::access::resource::Resource;
use crate::care::amendment::{Amendment, Correction, Subject, changes};
use crate::store::amendment::InError;
use crate::store::correct::{self, Mark, Outcome};
use crate::store::{Audit, Tx, amendment};

/// The routes of what is amended here.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/thread/{record}/amend", post::page)
        .post("/students/{student}/thread/{record}/amend", post::save)
        .get("/students/{student}/thread/{record}/error", post::error_page)
        .post("/students/{student}/thread/{record}/error", post::error)
}

/// The corrections of one record, finished for its page.
pub fn shown(amendments: &[Amendment], zone: &TimeZone) -> Amended {
    amendments.iter().fold(amended(), |part, one| {
        let when = words::instant(one.at, zone);
        part.field([&one.by, &when, &one.reason], [&one.field, &one.before, &one.after])
    })
}

/// The word in a list: amended on 9 March 2027.
pub fn on(at: Timestamp, zone: &TimeZone) -> String {
    format!("amended on {}", words::date(at.to_zoned_datetime(zone.clone()).date()))
}

/// Why an entry counts nowhere, in a sentence.
pub fn why(error: &InError, zone: &TimeZone) -> String {
    let on = words::date(error.at.to_zoned_datetime(zone.clone()).date());
    format!("Marked on {on} by {}: {}", error.by, error.reason)
}

/// The fields of a record, each under its label.
type Texts<L> = Vec<(L, String)>;

/// Keeps both texts of a change that needs no reason; a change of nothing keeps
/// nothing.
///
/// # Errors
/// When the database fails.
pub async fn kept<R: Resource, A: Writes, L: Into<String>>(
    tx: &mut Tx,
    access: &Access<R, A>,
    subject: impl Into<Subject>,
    (before, after): (Texts<L>, Texts<L>),
) -> Result<()> {
    if let Ok(correction) = Correction::edit(changes(before, after)) {
        amendment::write(tx, access, subject, &correction).await?;
    }
    Ok(())
}

/// The field of the reason, where a form amends something locked or signed.
pub const REASON: &str = "reason";

/// The reason as typed, checked; a fault beside its field when it is missing.
pub fn reason(check: &mut Check<'_>) -> String {
    check.text(REASON, "Why it is amended", SHORT_TEXT)
}

/// What the form is told when a correction was not kept.
pub fn refused(outcome: Outcome) -> Option<Faults> {
    match outcome {
        Outcome::Kept => None,
        Outcome::NothingChanged => Some(Faults::one("", "Nothing was changed.")),
        Outcome::NoReason => Some(Faults::one(REASON, "Write why it is amended.")),
    }
}

/// An entry that is marked, or no longer, as entered in error.
pub struct Marking {
    /// Which entry, in words.
    pub what: String,
    /// Where it is read.
    pub back: String,
    /// What that page is called.
    pub back_words: &'static str,
    /// Where it is marked.
    pub action: String,
    /// Where it is amended.
    pub amend: String,
    /// Why it is marked now, if it is.
    pub marked: Option<String>,
}

#[derive(Template)]
#[template(path = "amend/mark.html")]
struct MarkPage {
    shell: Shell,
    title: &'static str,
    what: String,
    back: String,
    back_words: &'static str,
    action: String,
    amend: String,
    in_error: bool,
    told: String,
    mark: &'static str,
    reason_label: &'static str,
    submit: &'static str,
    form: FormView,
}

const IN_ERROR: &str = "in_error";
const NO_ERROR: &str = "no_error";

fn build(context: &Context, visit: &Visit, marking: Marking, form: FormView) -> MarkPage {
    let in_error = marking.marked.is_some();
    let title = if in_error { "No error after all?" } else { "Entered in error?" };
    MarkPage {
        shell: shell_about(context, visit, title).of_form(&form),
        title,
        what: marking.what,
        back: marking.back,
        back_words: marking.back_words,
        action: marking.action,
        amend: marking.amend,
        in_error,
        told: marking.marked.unwrap_or_default(),
        mark: if in_error { NO_ERROR } else { IN_ERROR },
        reason_label: if in_error { "Why it was no error" } else { "Why it is an error" },
        submit: if in_error { "It was no error" } else { "Mark as entered in error" },
        form,
    }
}

/// The page that marks an entry.
pub fn mark_page(context: &Context, visit: &Visit, marking: Marking) -> Response {
    Page(build(context, visit, marking, FormView::blank(context))).into_response()
}

fn wanted(entry: &Entry) -> std::result::Result<(Mark, String), Faults> {
    let mut check = Check::new(entry);
    let mark = match check.typed("mark") {
        IN_ERROR => Some(Mark::InError),
        NO_ERROR => Some(Mark::NoError),
        _ => {
            check.fault("", "Open this page again and choose there.");
            None
        }
    };
    let reason = check.text(REASON, "The reason", SHORT_TEXT);
    check.build(|| Some((mark?, reason)))
}

/// Marks an entry, or takes that back.
///
/// # Errors
/// `Hidden` when it is not this person's to correct, `Stale` when it is marked so
/// already.
pub async fn mark<R: Resource>(
    mut tx: Tx,
    (context, visit): (&Context, &Visit),
    access: &Access<R, Amend>,
    subject: impl Into<Subject>,
    (marking, posted): (Marking, &Posted),
) -> Result<Response> {
    let subject = subject.into();
    let again = |marking: Marking, faults: Faults| {
        let form = FormView::again(context, posted, faults);
        Ok(Again(build(context, visit, marking, form)).into_response())
    };
    let (mark, reason) = match wanted(&posted.entry) {
        Ok(wanted) => wanted,
        Err(faults) => return again(marking, faults),
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    if let Some(faults) = refused(correct::mark(&mut tx, access, subject.clone(), mark, &reason).await?) {
        return again(marking, faults);
    }
    let verb = match mark {
        Mark::InError => "entered in error",
        Mark::NoError => "no error after all",
    };
    tx.commit_at(Audit::by(access).record(subject).told(verb), &marking.back).await?;
    Ok(Redirect::to(&marking.back).into_response())
}
