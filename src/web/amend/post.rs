//! Amending one's own post in the thread, or marking it as entered in error.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{Marking, mark, mark_page, reason, refused, why};
use crate::access::Access;
use crate::access::action::{Amend, Create};
use crate::access::resource::Thread;
use crate::care::amendment::Kind;
use crate::care::ids::PostId;
use crate::store::correct::post::{self, Stored, amend, stored};
use crate::store::{Audit, Snapshot, StoreError, amendment};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::error::{Both, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "amend/post.html")]
struct PostPage {
    shell: Shell,
    back: String,
    action: String,
    error: String,
    form: FormView,
}

fn build(context: &Context, visit: &Visit, id: PostId, form: FormView) -> PostPage {
    let at = |path: &str| visit.at(&format!("/thread/{id}{path}"));
    PostPage {
        shell: shell_about(context, visit, "Amend what you wrote").of_form(&form),
        back: visit.at("/thread"),
        action: at("/amend"),
        error: at("/error"),
        form,
    }
}

/// The proof to correct a post of one's own.
async fn own(app: &App, visit: &Visit, id: PostId) -> Result<Access<Thread, Amend>> {
    let writing = visit.open::<Thread, Create>().await?;
    let mut snapshot = app.store.snapshot().await?;
    post::own(&mut snapshot, &writing, id).await?;
    drop(snapshot);
    visit.open::<Thread, Amend>().await
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<PostId>,
) -> Result<Response> {
    let access = own(&app, &visit, id).await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, &access, id).await?;
    if stored.in_error {
        return Ok(Redirect::to(&visit.at(&format!("/thread/{id}/error"))).into_response());
    }
    let form = FormView::filled(&context, Entry::default().with("body", stored.body)).at_version(stored.version);
    Ok(Page(build(&context, &visit, id, form)).into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<PostId>,
    posted: Posted,
) -> Result<Response> {
    let access = own(&app, &visit, id).await?;
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&context, &visit, id, form)).into_response())
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let stored = stored(&mut tx, &access, id).await?;
    let mut check = Check::new(&posted.entry);
    let body = check.text("body", "What you write", LONG_TEXT);
    let why = reason(&mut check);
    let (body, why) = match check.build(|| Some((body, why))) {
        Ok(checked) => checked,
        Err(faults) => return again(faults),
    };
    let outcome = match amend(&mut tx, &access, (&stored, posted.version), (&body, &why)).await {
        Err(StoreError::Stale) => {
            let rows = vec![("Words".to_owned(), stored.body, body)];
            let both = Both { back: visit.at(&format!("/thread/{id}/amend")), rows };
            return Err(stale::error(&mut tx, &access, (id, stored.version), both).await?);
        }
        other => other?,
    };
    if let Some(faults) = refused(outcome) {
        return again(faults);
    }
    let location = visit.at("/thread");
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

fn marking(visit: &Visit, stored: &Stored, marked: Option<String>) -> Marking {
    let at = |path: &str| visit.at(&format!("/thread/{}{path}", stored.id));
    Marking {
        what: stored.body.clone(),
        back: visit.at("/thread"),
        back_words: "Thread",
        action: at("/error"),
        amend: at("/amend"),
        marked,
    }
}

async fn marked(snapshot: &mut Snapshot, access: &Access<Thread, Amend>, stored: &Stored) -> Result<Option<String>> {
    if !stored.in_error {
        return Ok(None);
    }
    let mut errors = amendment::in_error(snapshot, access, Kind::Post).await?;
    Ok(Some(errors.remove(&stored.id.to_string()).map(|error| why(&error, snapshot.zone())).unwrap_or_default()))
}

pub(super) async fn error_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<PostId>,
) -> Result<Response> {
    let access = own(&app, &visit, id).await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, &access, id).await?;
    let marked = marked(&mut snapshot, &access, &stored).await?;
    Ok(mark_page(&context, &visit, marking(&visit, &stored, marked)))
}

pub(super) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<PostId>,
    posted: Posted,
) -> Result<Response> {
    let access = own(&app, &visit, id).await?;
    let mut tx = app.store.tx().await?;
    let stored = stored(&mut tx, &access, id).await?;
    let marked = marked(&mut tx, &access, &stored).await?;
    mark(tx, (&context, &visit), &access, id, (marking(&visit, &stored, marked), &posted)).await
}
