//! The question to the writer of an entry whose length may carry another unit, and
//! the answer: 5 mm or 5 cm?
//!
//! The entry is saved as it was typed and is in no figure until its writer, and
//! nobody else, answers. Does not decide what is odd; read
//! `care::observation::suspect`.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::by;
use super::entry::amend::{Amending, asked};
use crate::care::ids::ObservationId;
use crate::care::observation::suspect::Which;
use crate::care::observation::texts::label;
use crate::store::Audit;
use crate::store::observation::Entry;
use crate::store::suspect::{self, Answer};
use crate::web::amend::refused;
use crate::web::error::{Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::Context;
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

/// The answer that changes nothing.
const STANDS: &str = "stands";

/// The question as its writer is asked it.
pub(super) struct Asked {
    pub(super) words: String,
    pub(super) why: String,
    pub(super) action: String,
    pub(super) which: &'static str,
    /// One form for each answer: what it sends, and its button.
    pub(super) answers: Vec<(FormView, String, String)>,
    pub(super) amend: String,
}

fn is_own(visit: &Visit, entry: &Entry) -> bool {
    entry.fact.account == visit.actor().account
}

/// The first question that waits, to the writer of the entry.
pub(super) fn own(context: &Context, visit: &Visit, entry: &Entry) -> Option<Asked> {
    let detail = entry.detail.as_ref().filter(|_| is_own(visit, entry) && !entry.fact.in_error)?;
    let question = detail.doubt.first()?;
    let form = || FormView::blank(context).at_version(detail.version);
    let mut answers: Vec<(FormView, String, String)> =
        question.others.iter().map(|other| (form(), other.clone(), format!("It was {other}"))).collect();
    answers.push((form(), STANDS.to_owned(), format!("{} is right as it stands", question.typed)));
    let at = |path: &str| visit.at(&format!("/observations/{}{path}", entry.fact.id));
    Some(Asked {
        words: format!("{}: {}", label(question.which), question.words()),
        why: format!("It is saved as you typed it. We ask because {}.", question.why.words()),
        action: at("/answer"),
        which: question.which.code(),
        answers,
        amend: at("/amend"),
    })
}

/// What others are told of a question that waits for its writer.
pub(super) fn of_another(visit: &Visit, entry: &Entry) -> String {
    if !entry.fact.waits || entry.fact.in_error || is_own(visit, entry) {
        return String::new();
    }
    let asked = entry.detail.as_ref().map(|detail| detail.doubt.words()).unwrap_or_default();
    let asked = if asked.is_empty() { "about a length".to_owned() } else { format!("\u{201c}{asked}\u{201d}") };
    format!("{} was asked {asked} and has not answered yet. Only they can.", by(entry))
}

/// The line of a list.
pub(super) fn in_a_line(visit: &Visit, entry: &Entry) -> String {
    match entry.detail.as_ref().filter(|_| entry.fact.waits && !entry.fact.in_error) {
        Some(detail) if is_own(visit, entry) => format!("Waits for your answer: {}", detail.doubt.words()),
        Some(detail) => format!("Waits for its writer, in no figure: {}", detail.doubt.words()),
        None if entry.fact.waits => "Waits for its writer, in no figure".to_owned(),
        None => String::new(),
    }
}

pub(super) async fn answer(
    State(app): State<App>,
    visit: Visit,
    Record(id): Record<ObservationId>,
    posted: Posted,
) -> Result<Response> {
    let amending = asked(&app, &visit, id).await?;
    let which: Which = posted.entry.get("which").parse().map_err(|_| Error::Unreadable)?;
    let answer = match posted.entry.get("answer") {
        "" => return Err(Error::Unreadable),
        STANDS => Answer::Stands,
        typed => Answer::Was(typed.to_owned()),
    };
    let location = visit.at(&format!("/observations/{id}"));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(visit.actor().account)).await?;
    let stored = amending.stored(&mut tx, id).await?;
    let locked = stored.locked(tx.now());
    let on = stored.entered.seen_on;
    let (outcome, audit) = match &amending {
        Amending::Class(access) => {
            let outcome = suspect::answer(&mut tx, access, &stored, posted.version, (which, &answer)).await?;
            (outcome, Audit::by(access))
        }
        Amending::Outside(access) => {
            let outcome = suspect::answer(&mut tx, access, &stored, posted.version, (which, &answer)).await?;
            (outcome, Audit::by(access))
        }
    };
    if refused(outcome).is_some() {
        return Err(Error::Unreadable);
    }
    let audit = audit.doing("answer").record(id);
    // What its writer settles before the others may read it is no news to them.
    let audit = if locked { audit.told("amended").on(on) } else { audit };
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
