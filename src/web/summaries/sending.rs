//! A summary as its clinician will see it, and the act of signing and sending.
//!
//! Sending drafts the figures once more in its own transaction, so that what is
//! frozen is what stood in the record at that moment.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{Opened, cautions_of, destination_words, open, sources};
use crate::access::Access;
use crate::access::action::{Edit, Sign};
use crate::access::resource::Summary as Row;
use crate::care::ids::SummaryId;
use crate::care::summary::Figures;
use crate::store::summary::{self, Frozen, Summary, Texts};
use crate::store::{Audit, StoreError, account};
use crate::web::account::wrong_password;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part;
use crate::web::state::App;
use crate::web::steps;
use crate::web::summary_view::{FiguresView, view};
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "summaries/preview.html")]
struct PreviewPage {
    shell: Shell,
    crumbs: part::Crumbs,
    facts: Vec<(String, String)>,
    texts: Texts,
    figures: FiguresView,
    missing: Vec<String>,
    blocked: String,
    people: String,
    back: String,
    form: FormView,
    action: String,
    cautions: part::Cautions,
}

/// What keeps a draft from being signed, in words; empty, nothing.
fn missing(texts: &Texts, figures: &Figures) -> Vec<String> {
    let mut missing = Vec::new();
    if texts.questions.trim().is_empty() {
        missing.push("Ask the clinician at least one question.".to_owned());
    }
    if texts.words.trim().is_empty() {
        missing.push("Write your own account in a few sentences.".to_owned());
    }
    if figures.few() && texts.few_reason.trim().is_empty() {
        missing.push("There are fewer than 3 sessions on 2 dates. Say why it is sent all the same.".to_owned());
    }
    missing
}

fn build(app: &App, context: &Context, visit: &Visit, opened: &Opened, form: Option<FormView>) -> PreviewPage {
    let summary = &opened.summary;
    let form = form.unwrap_or_else(|| FormView::blank(context).at_version(summary.version));
    let clock = app.store.clock();
    let blocked = opened.destination.may_send(clock.today(), clock.now()).err();
    let facts = vec![
        ("Student".to_owned(), visit.name().to_owned()),
        ("Goes to".to_owned(), destination_words(&opened.destination)),
        ("Signed by".to_owned(), visit.actor().name.clone()),
    ];
    let back = visit.at(&format!("/summaries/{}", summary.id));
    let title = format!("Preview: training summary, {} track", summary.track.words());
    PreviewPage {
        shell: shell_about(context, visit, title).of_form(&form),
        crumbs: part::crumbs(&[
            (visit.at("/summaries"), "Training summaries".to_owned()),
            (back.clone(), "The draft".to_owned()),
        ]),
        facts,
        texts: summary.texts.clone(),
        missing: missing(&summary.texts, &opened.figures),
        figures: view(&opened.figures, context),
        blocked: blocked.map(|blocked| blocked.message).unwrap_or_default(),
        people: visit.at("/people"),
        action: format!("{back}/send"),
        back,
        form,
        cautions: cautions_of(summary.track),
    }
}

/// The draft as its clinician will see it.
pub(super) async fn preview(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    let sources = sources(&visit).await?;
    let opened = open(&app, &access.read(), &sources, id).await?;
    if opened.summary.sent_at.is_some() {
        return Ok(Redirect::to(&visit.at(&format!("/summaries/{id}"))).into_response());
    }
    Ok(Page(build(&app, &context, &visit, &opened, None)).into_response())
}

/// Signs and sends, with the password entered again.
pub(super) async fn send(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Sign>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let reading = access.read();
    let sources = sources(&visit).await?;
    let opened = open(&app, &reading, &sources, id).await?;
    if opened.summary.sent_at.is_some() {
        return Ok(Redirect::to(&visit.at(&format!("/summaries/{id}"))).into_response());
    }
    let again = |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry = Entry::default();
        Ok(Again(build(&app, &context, &visit, &opened, Some(form))).into_response())
    };
    let clock = app.store.clock();
    // G7 first: without a consent nothing else is asked for.
    let now = (clock.today(), clock.now());
    let may = opened.destination.may_send(now.0, now.1).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    if let Some(first) = missing(&opened.summary.texts, &opened.figures).into_iter().next() {
        return again(Faults::one("", first));
    }
    let password = posted.entry.get("password");
    let reentered = match account::reenter(&app.store, &app.passwords, access.actor(), password).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return again(wrong_password("password", &attempt)),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let here = visit.at(&format!("/summaries/{id}"));
    let draft: Summary = summary::one(&mut tx, &reading, id).await?;
    let scope = summary::destination(&mut tx, &reading).await?.scope(now.0);
    let days = (draft.track, draft.from, draft.to);
    let now_is = summary::assemble(&mut tx, &reading, &sources, &scope, days).await?;
    let frozen = Frozen { figures: &now_is.figures, covered: &now_is.covered, entries: &now_is.entries };
    let version = posted.version.unwrap_or(0);
    match summary::send(&mut tx, &access, &reentered, &may, (id, version), &frozen).await {
        Ok(()) => {}
        Err(StoreError::Stale) => {
            return Err(Error::Stale(Box::new(Both { back: here, rows: Vec::new() })));
        }
        Err(error) => return Err(error.into()),
    }
    tx.commit_at(Audit::by(&access).record(id).told("sent").track(draft.track), &here).await?;
    Ok(Redirect::to(&here).into_response())
}
