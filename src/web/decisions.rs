//! One decision: read, amended, superseded by another, marked entered in error.
//!
//! Decisions are made on the review; one that takes the place of another is made
//! there too, on the newest summary. Read next: `review.rs`.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::account::wrong_password;
use super::correct::{self, AfterView, Subject, Way, after_view};
use super::error::{Error, Result};
use super::form::{FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::part;
use super::review::decision_view;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use crate::access::Access;
use crate::access::action::{Amend, Create, Read, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::document::{Kind, Worded, differences};
use crate::care::ids::DecisionId;
use crate::store::decision::{self as stored, Decision, correct as correcting};
use crate::store::{Audit, Snapshot, account};

/// The routes of single decisions.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/decisions/{record}", read)
        .get("/students/{student}/decisions/{record}/correct", page)
        .post("/students/{student}/decisions/{record}/amend", amend)
        .post("/students/{student}/decisions/{record}/error", error)
}

#[derive(Template)]
#[template(path = "decisions/page.html")]
struct DecisionPage {
    shell: Shell,
    crumbs: part::Crumbs,
    title: String,
    after: AfterView,
    facts: Vec<(String, String)>,
}

async fn found(
    snapshot: &mut Snapshot,
    access: &Access<Row, Read>,
    id: DecisionId,
) -> Result<(Decision, Vec<Decision>)> {
    let all = stored::list(snapshot, access).await?;
    let one = all.iter().find(|one| one.id == id).cloned().ok_or(Error::Hidden)?;
    Ok((one, all))
}

async fn read(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
    Record(id): Record<DecisionId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let (one, all) = found(&mut snapshot, &access, id).await?;
    let here = |id: &str| visit.at(&format!("/decisions/{id}"));
    let open = visit.may::<Row, Amend>() && one.after.ended.is_none();
    let mut after = after_view(Kind::Decision, &one.after, here, snapshot.zone())
        .correct_at(open.then(|| here(&format!("{id}/correct"))));
    let view = decision_view(&one, &context);
    if let Some(old) = one.supersedes.and_then(|old| all.iter().find(|other| other.id == old)) {
        let before = decision_view(old, &context);
        let said = |made: &Decision, facts: &[(String, String)]| {
            let mut lines = vec![("Decision".to_owned(), super::words::capital(made.choice.words()))];
            lines.extend(facts.iter().filter(|(label, _)| label != "State").cloned());
            lines
        };
        let changed = differences(&said(old, &before.facts), &said(&one, &view.facts));
        after = after.replacing((here(&old.id.to_string()), before.title), &changed);
    }
    let page = DecisionPage {
        shell: shell_about(&context, &visit, "Decision"),
        crumbs: part::crumbs(&[(visit.at("/prescription"), "Prescription and decisions".to_owned())]),
        title: view.title,
        after,
        facts: view.facts,
    };
    Ok(Page(page).into_response())
}

fn subject<'a>(context: &Context, visit: &Visit, one: &'a Decision) -> Subject<'a> {
    let mut ways = Vec::new();
    if one.after.ended.is_none() {
        ways.push(Way::Amend);
        if visit.may::<Row, Create>() {
            ways.push(Way::Supersede);
        }
        ways.push(Way::Error);
    }
    Subject {
        kind: Kind::Decision,
        title: decision_view(one, context).title,
        href: visit.at(&format!("/decisions/{}", one.id)),
        wordings: one.wordings(),
        after: &one.after,
        ways,
        anew: Some(visit.at(&format!("/review/{}?supersedes={}", one.track.code(), one.id))),
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Amend>,
    Record(id): Record<DecisionId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let (one, _) = found(&mut snapshot, &access.read(), id).await?;
    Ok(Page(correct::page(&context, &visit, &subject(&context, &visit, &one), None)).into_response())
}

fn back(context: &Context, visit: &Visit, one: &Decision, form: (Way, FormView)) -> Response {
    Again(correct::page(context, visit, &subject(context, visit, one), Some(form))).into_response()
}

async fn amend(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Amend>,
    Record(id): Record<DecisionId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let (one, _) = found(&mut tx, &access.read(), id).await?;
    let changes = match correct::changes(&posted.entry, &one.wordings()) {
        Ok(read) => read,
        Err(faults) => return Ok(back(&context, &visit, &one, correct::again(&context, &posted, Way::Amend, faults))),
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::amend(&mut tx, &access, id, &changes, posted.version.unwrap_or(-1))
        .await
        .map_err(|error| correct::refused(error, &subject(&context, &visit, &one), changes.changes()))?;
    let here = visit.at(&format!("/decisions/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("decided, then amended").track(one.track), &here).await?;
    Ok(Redirect::to(&here).into_response())
}

/// Marks it entered in error, with the password entered again.
async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Sign>,
    Record(id): Record<DecisionId>,
    posted: Posted,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let (one, _) = found(&mut snapshot, &access.read(), id).await?;
    drop(snapshot);
    let again = |faults| Ok(back(&context, &visit, &one, correct::again(&context, &posted, Way::Error, faults)));
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
        .map_err(|error| correct::refused(error, &subject(&context, &visit, &one), &[]))?;
    let here = visit.at(&format!("/decisions/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("decided in error").track(one.track), &here).await?;
    Ok(Redirect::to(&here).into_response())
}
