//! Correcting a signed evaluation: amended, superseded, entered in error.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::view;
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Read, Sign};
use crate::access::resource;
use crate::care::document::{Kind, Worded, differences};
use crate::care::evaluation::{Evaluation, State as At};
use crate::care::ids::EvaluationId;
use crate::store::document::{self, After};
use crate::store::evaluation::{self as stored, correct as correcting};
use crate::store::{Audit, Snapshot, account};
use crate::web::account::wrong_password;
use crate::web::correct::{self, AfterView, Subject, Way, after_view};
use crate::web::error::{Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

/// A signed evaluation with what became of it.
struct Signed {
    evaluation: Evaluation,
    after: After,
}

async fn signed(
    snapshot: &mut Snapshot,
    access: &Access<resource::Evaluation, Read>,
    id: EvaluationId,
) -> Result<Signed> {
    let evaluation = stored::one(snapshot, access, id).await?;
    if evaluation.signed_at.is_none() {
        return Err(Error::Hidden);
    }
    let after = document::history(snapshot, access, Kind::Evaluation).await?.of(&id.to_string());
    Ok(Signed { evaluation, after })
}

fn title(evaluation: &Evaluation) -> String {
    format!("Evaluation of {}", evaluation.examined_on.map(words::date).unwrap_or_default())
}

fn subject<'a>(visit: &Visit, signed: &'a Signed) -> Subject<'a> {
    let stands = signed.after.ended.is_none();
    let mut ways = Vec::new();
    for (way, may) in [
        (Way::Amend, visit.may::<resource::Evaluation, Amend>()),
        (Way::Supersede, visit.may::<resource::Evaluation, Create>()),
        (Way::Error, visit.may::<resource::Evaluation, Sign>()),
    ] {
        if may && stands {
            ways.push(way);
        }
    }
    Subject {
        kind: Kind::Evaluation,
        title: title(&signed.evaluation),
        href: visit.at(&format!("/evaluations/{}", signed.evaluation.id)),
        wordings: signed.evaluation.wordings(),
        after: &signed.after,
        ways,
        anew: None,
    }
}

/// The ways to correct it.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Amend>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let signed = signed(&mut snapshot, &access.read(), id).await?;
    Ok(Page(correct::page(&context, &visit, &subject(&visit, &signed), None)).into_response())
}

fn back(context: &Context, visit: &Visit, signed: &Signed, form: (Way, FormView)) -> Response {
    Again(correct::page(context, visit, &subject(visit, signed), Some(form))).into_response()
}

/// Amends its words.
pub(super) async fn amend(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Amend>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let signed = signed(&mut tx, &access.read(), id).await?;
    let changes = match correct::changes(&posted.entry, &signed.evaluation.wordings()) {
        Ok(read) => read,
        Err(faults) => {
            return Ok(back(&context, &visit, &signed, correct::again(&context, &posted, Way::Amend, faults)));
        }
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::amend(&mut tx, &access, id, &changes, posted.version.unwrap_or(-1))
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &signed), changes.changes()))?;
    let here = visit.at(&format!("/evaluations/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("amended"), &here).await?;
    Ok(Redirect::to(&here).into_response())
}

/// Begins the draft that is to take its place.
pub(super) async fn supersede(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Create>,
    editing: Access<resource::Evaluation, Edit>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let signed = signed(&mut tx, &editing.read(), id).await?;
    let reason = match correct::reason(&posted.entry, Way::Supersede) {
        Ok(reason) => reason,
        Err(faults) => {
            return Ok(back(&context, &visit, &signed, correct::again(&context, &posted, Way::Supersede, faults)));
        }
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let draft = correcting::supersede(&mut tx, (&access, &editing), &signed.evaluation, &reason)
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &signed), &[]))?;
    let hub = visit.at(&format!("/evaluations/{draft}/edit"));
    tx.commit_at(Audit::by(&access).record(draft), &hub).await?;
    Ok(Redirect::to(&hub).into_response())
}

/// Marks it entered in error, with the password entered again.
pub(super) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Sign>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let signed = signed(&mut snapshot, &access.read(), id).await?;
    drop(snapshot);
    let again = |faults| Ok(back(&context, &visit, &signed, correct::again(&context, &posted, Way::Error, faults)));
    let reason = match correct::reason(&posted.entry, Way::Error) {
        Ok(reason) => reason,
        Err(faults) => return again(faults),
    };
    let (typed, field) = correct::password(&posted, Way::Error);
    let reentered = match account::reenter(&app.store, &app.passwords, access.actor(), typed).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return again(wrong_password(&field, &attempt)),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let why = (reason.as_str(), posted.version.unwrap_or(-1));
    correcting::enter_in_error(&mut tx, &access, &reentered, id, why)
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &signed), &[]))?;
    let here = visit.at(&format!("/evaluations/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("entered in error"), &here).await?;
    Ok(Redirect::to(&here).into_response())
}

/// What became of an evaluation, for the page it is read on.
pub(super) async fn shown(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    access: &Access<resource::Evaluation, Read>,
    evaluation: &Evaluation,
) -> Result<AfterView> {
    let history = document::history(snapshot, access, Kind::Evaluation).await?;
    let after = history.of(&evaluation.id.to_string());
    let here = |id: &str| visit.at(&format!("/evaluations/{id}"));
    let zone = snapshot.zone().clone();
    let may = visit.may::<resource::Evaluation, Amend>() && evaluation.signed_at.is_some();
    let open = may && after.ended.is_none() && evaluation.state != At::EnteredInError;
    let shown = after_view(Kind::Evaluation, &after, here, &zone)
        .correct_at(open.then(|| here(&format!("{}/correct", evaluation.id))));
    let Some(old) = evaluation.supersedes else { return Ok(shown) };
    // Where the older one never went, nothing is told of it.
    let Ok(old) = stored::one(snapshot, access, old).await else { return Ok(shown) };
    let changed = differences(&view::lines(&old, context), &view::lines(evaluation, context));
    Ok(shown.replacing((here(&old.id.to_string()), title(&old)), &changed))
}
