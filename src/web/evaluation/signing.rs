//! Reading an evaluation once more and signing it.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::view::{EvaluationView, view};
use crate::access::action::{Edit, Sign};
use crate::access::resource;
use crate::care::evaluation::{Evaluation, State as At};
use crate::care::ids::EvaluationId;
use crate::store::evaluation as stored;
use crate::store::{Audit, account};
use crate::web::account::wrong_password;
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "evaluation/preview.html")]
struct PreviewPage {
    shell: Shell,
    view: EvaluationView,
    missing: Vec<&'static str>,
    form: FormView,
    action: String,
    hub_href: String,
}

async fn draft(app: &App, visit: &Visit, id: EvaluationId) -> Result<Evaluation> {
    let access = visit.open::<resource::Evaluation, Edit>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let evaluation = stored::one(&mut snapshot, &access, id).await?;
    if evaluation.state == At::Draft { Ok(evaluation) } else { Err(Error::Hidden) }
}

fn preview_view(context: &Context, visit: &Visit, evaluation: &Evaluation, form: FormView) -> PreviewPage {
    let id = evaluation.id;
    PreviewPage {
        shell: shell_about(context, visit, "Read and sign the evaluation").of_form(&form),
        view: view(evaluation, context),
        missing: evaluation.missing(),
        form,
        action: visit.at(&format!("/evaluations/{id}/sign")),
        hub_href: visit.at(&format!("/evaluations/{id}/edit")),
    }
}

/// The draft as it will read, with the signature under it.
pub(super) async fn preview(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let evaluation = draft(&app, &visit, id).await?;
    let form = FormView::blank(&context).at_version(evaluation.version);
    Ok(Page(preview_view(&context, &visit, &evaluation, form)).into_response())
}

/// Signs the draft as it was read.
pub(super) async fn sign(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<resource::Evaluation, Sign>().await?;
    let evaluation = draft(&app, &visit, id).await?;
    let again = |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults).at_version(evaluation.version);
        form.entry = crate::web::form::Entry::default();
        Ok(Again(preview_view(&context, &visit, &evaluation, form)).into_response())
    };
    let complete = match evaluation.complete() {
        Ok(complete) => complete,
        Err(missing) => {
            return again(Faults::one("", format!("It cannot be signed yet. Missing: {}.", missing.join("; "))));
        }
    };
    if posted.version != Some(evaluation.version) {
        return again(Faults::one("", "It changed since you read it. Read it once more, then sign."));
    }
    let reentered =
        match account::reenter(&app.store, &app.passwords, access.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => return again(wrong_password("password", &attempt)),
        };
    let location = visit.at(&format!("/evaluations/{id}"));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::sign(&mut tx, &access, &reentered, &complete).await?;
    let audit = Audit::by(&access).record(id).told("signed").on(complete.examined_on());
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
