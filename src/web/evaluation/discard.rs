//! Throwing away the draft of an evaluation.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::hub::head_words;
use crate::access::Access;
use crate::access::action::Edit;
use crate::access::resource;
use crate::care::evaluation::{Evaluation, State as At};
use crate::care::ids::EvaluationId;
use crate::store::Audit;
use crate::store::evaluation::{self as stored, correct};
use crate::web::discard;
use crate::web::error::{Error, Result};
use crate::web::form::Posted;
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

/// Asks once more.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Edit>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let draft = stored::one(&mut snapshot, &access, id).await?;
    if draft.state != At::Draft {
        return Err(Error::Hidden);
    }
    if draft.created_by != access.actor().account {
        return Ok(Page(others(&context, &visit, &draft)).into_response());
    }
    let (here, hub) = (visit.at(&format!("/evaluations/{id}/discard")), visit.at(&format!("/evaluations/{id}/edit")));
    Ok(Page(discard::page(&context, &visit, &what(&draft), (&here, &hub), draft.version)).into_response())
}

fn what(draft: &Evaluation) -> String {
    format!("Evaluation, draft: {}", head_words(draft))
}

fn others(context: &Context, visit: &Visit, draft: &Evaluation) -> discard::DiscardPage {
    let hub = visit.at(&format!("/evaluations/{}/edit", draft.id));
    discard::of_somebody_else(context, visit, &what(draft), &draft.examiner, &hub)
}

/// Throws it away, as it was seen.
pub(super) async fn discard(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Edit>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let list = visit.at("/evaluations");
    let mut tx = app.store.tx().await?;
    let draft = stored::one(&mut tx, &access, id).await?;
    if draft.state == At::Draft && draft.created_by != access.actor().account {
        return Ok(Again(others(&context, &visit, &draft)).into_response());
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correct::discard(&mut tx, &access, (id, posted.version.unwrap_or(-1))).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("discard"), &list).await?;
    Ok(Redirect::to(&list).into_response())
}
