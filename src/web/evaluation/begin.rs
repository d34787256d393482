//! Beginning an evaluation: who examined, where and when.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::findings;
use crate::access::action::Create;
use crate::access::resource;
use crate::store::Audit;
use crate::store::evaluation as stored;
use crate::web::error::Result;
use crate::web::form::{Entry, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::part::Group;
use crate::web::state::App;
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "evaluation/begin.html")]
struct BeginPage {
    shell: Shell,
    form: FormView,
    action: String,
    fields: Group,
    back: String,
}

fn view(context: &Context, visit: &Visit, form: FormView) -> BeginPage {
    BeginPage {
        shell: shell_about(context, visit, "Begin an evaluation").of_form(&form),
        action: visit.at("/evaluations/new"),
        fields: findings::exam_fields(&form).into_iter().collect(),
        back: visit.at("/evaluations"),
        form,
    }
}

/// The form that begins a draft.
pub(super) async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    let access = visit.open::<resource::Evaluation, Create>().await?;
    let today = app.store.clock().today();
    let entry = Entry::default()
        .with("examined_on", today.to_string())
        .with("place", access.actor().clinic.clone().unwrap_or_default())
        .with("next_due_on", findings::due_after(today, context.site.evaluation_months()).to_string());
    let form = FormView::filled(&context, entry);
    Ok(Page(view(&context, &visit, form)).into_response())
}

/// Begins a draft.
pub(super) async fn begin(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    let access = visit.open::<resource::Evaluation, Create>().await?;
    let new = match findings::read_exam(&posted.entry, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(view(&context, &visit, form)).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = stored::begin(&mut tx, &access, &new).await?;
    let location = visit.at(&format!("/evaluations/{id}/edit"));
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
