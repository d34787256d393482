//! The page that marks what others rest on as entered in error: a loan, an own
//! device, a signed readiness list. For good; what was right after all is entered
//! anew.

use askama::Template;
use axum::response::{IntoResponse, Redirect, Response};

use super::{REASON, refused};
use crate::access::Access;
use crate::access::action::Amend;
use crate::access::resource::Resource;
use crate::care::amendment::Subject;
use crate::care::track::Track;
use crate::store::correct::mark_lasting;
use crate::store::{Audit, Tx};
use crate::web::check::{Check, SHORT_TEXT};
use crate::web::error::Result;
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::visit::Visit;

/// What is to be marked.
pub struct Lasting {
    /// Which record, in words.
    pub what: String,
    /// Its track.
    pub track: Track,
    /// What it then counts as.
    pub counts: &'static str,
    /// Where it is read.
    pub back: String,
    /// What that page is called.
    pub back_words: &'static str,
    /// Where it is marked.
    pub action: String,
    /// Where it is amended.
    pub amend: String,
}

#[derive(Template)]
#[template(path = "amend/lasting.html")]
struct LastingPage {
    shell: Shell,
    of: Lasting,
    form: FormView,
}

fn build(context: &Context, visit: &Visit, of: Lasting, form: FormView) -> LastingPage {
    LastingPage { shell: shell_about(context, visit, "Entered in error?").of_form(&form), of, form }
}

/// The page.
pub fn lasting_page(context: &Context, visit: &Visit, of: Lasting) -> Response {
    Page(build(context, visit, of, FormView::blank(context))).into_response()
}

/// Marks it.
///
/// # Errors
/// `Stale` when it is marked already.
pub async fn lasting<R: Resource>(
    mut tx: Tx,
    (context, visit): (&Context, &Visit),
    access: &Access<R, Amend>,
    subject: impl Into<Subject>,
    (of, posted): (Lasting, &Posted),
) -> Result<Response> {
    let again = |of: Lasting, faults: Faults| {
        let form = FormView::again(context, posted, faults);
        Ok(Again(build(context, visit, of, form)).into_response())
    };
    let mut check = Check::new(&posted.entry);
    let reason = check.text(REASON, "The reason", SHORT_TEXT);
    let reason = match check.build(|| Some(reason)) {
        Ok(reason) => reason,
        Err(faults) => return again(of, faults),
    };
    let subject = subject.into();
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    if let Some(faults) = refused(mark_lasting(&mut tx, access, subject.clone(), &reason).await?) {
        return again(of, faults);
    }
    let audit = Audit::by(access).record(subject).told("entered in error").track(of.track);
    tx.commit_at(audit, &of.back).await?;
    Ok(Redirect::to(&of.back).into_response())
}
