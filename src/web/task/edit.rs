//! Adding a task, changing it and taking it out of the list.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::form::{self, TaskLists};
use super::{both, facts};
use crate::access::Access;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Guidance, VisualTasks};
use crate::care::ids::VisualTaskId;
use crate::care::task::{Seat, VisualTask};
use crate::store::{Audit, StoreError, amendment, seat, task};
use crate::web::amend;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part;
use crate::web::routes::Routes;
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;

pub(super) fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/tasks/new", new_page)
        .post("/students/{student}/tasks", add)
        .get("/students/{student}/tasks/{record}", edit_page)
        .post("/students/{student}/tasks/{record}", change)
        .post("/students/{student}/tasks/{record}/retire", retire)
}

#[derive(Template)]
#[template(path = "task/form.html")]
struct TaskFormPage {
    shell: Shell,
    heading: &'static str,
    form: FormView,
    lists: TaskLists,
    action: String,
    submit: &'static str,
    retire: Option<String>,
    options: Option<String>,
    back: String,
    /// What was changed of it before, both texts.
    amended: part::Amended,
}

/// The seats this person may choose among.
async fn seats_for(app: &App, visit: &Visit) -> Result<Vec<Seat>> {
    let Some(access) = visit.open_if::<VisualTasks, Read>().await? else { return Ok(Vec::new()) };
    let mut snapshot = app.store.snapshot().await?;
    Ok(seat::seats(&mut snapshot, &access).await?)
}

async fn new_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<VisualTasks, Create>,
) -> Result<Response> {
    let seats = seats_for(&app, &visit).await?;
    let form = FormView::blank(&context);
    Ok(Page(task_form(&context, &visit, form, &seats, None)).into_response())
}

fn task_form(
    context: &Context,
    visit: &Visit,
    form: FormView,
    seats: &[Seat],
    of: Option<VisualTaskId>,
) -> TaskFormPage {
    let heading = if of.is_some() { "Change a task" } else { "Add something to see" };
    TaskFormPage {
        shell: shell_about(context, visit, heading).of_form(&form),
        heading,
        lists: TaskLists::new(seats, visit.actor().mobility, &form.entry, context.imperial()),
        form,
        action: of.map_or_else(|| visit.at("/tasks"), |id| visit.at(&format!("/tasks/{id}"))),
        submit: if of.is_some() { "Save" } else { "Add" },
        retire: of.map(|id| visit.at(&format!("/tasks/{id}/retire"))),
        options: of.filter(|_| visit.may::<Guidance, Read>()).map(|id| visit.at(&format!("/tasks/{id}/options"))),
        back: visit.at("/tasks"),
        amended: part::amended(),
    }
}

async fn add(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Create>,
    posted: Posted,
) -> Result<Response> {
    match save_new(&app, &visit, &access, &posted, &visit.at("/tasks")).await? {
        Ok(response) => Ok(response),
        Err((faults, seats)) => {
            let form = FormView::again(&context, &posted, faults);
            Ok(Again(task_form(&context, &visit, form, &seats, None)).into_response())
        }
    }
}

/// Adds a task from its form and goes on to `to`, or says what is to be mended
/// and which seats there are.
pub(in crate::web) async fn save_new(
    app: &App,
    visit: &Visit,
    access: &Access<VisualTasks, Create>,
    posted: &Posted,
    to: &str,
) -> Result<std::result::Result<Response, (Faults, Vec<Seat>)>> {
    let seats = seats_for(app, visit).await?;
    let new = match form::read(&posted.entry, &seats, visit.actor().mobility, None) {
        Ok(new) => new,
        Err(faults) => return Ok(Err((faults, seats))),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = task::add(&mut tx, access, &new).await?;
    tx.commit_at(Audit::by(access).record(id).told("added").track(new.track), to).await?;
    Ok(Ok(Redirect::to(to).into_response()))
}

async fn edit_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Edit>,
    Record(id): Record<VisualTaskId>,
) -> Result<Response> {
    let seats = seats_for(&app, &visit).await?;
    let mut snapshot = app.store.snapshot().await?;
    let known = task::task_of(&mut snapshot, &access, id).await?;
    if known.retired {
        return Err(Error::Hidden);
    }
    let form = FormView::filled(&context, form::filled(&known.what)).at_version(known.version);
    let changed = amendment::of_record(&mut snapshot, &access, id).await?;
    let mut page = task_form(&context, &visit, form, &seats, Some(id));
    page.amended = amend::shown(&changed, snapshot.zone());
    Ok(Page(page).into_response())
}

async fn change(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Edit>,
    Record(id): Record<VisualTaskId>,
    posted: Posted,
) -> Result<Response> {
    let seats = seats_for(&app, &visit).await?;
    let mut snapshot = app.store.snapshot().await?;
    let known = task::task_of(&mut snapshot, &access, id).await?;
    drop(snapshot);
    let new = match form::read(&posted.entry, &seats, visit.actor().mobility, Some(known.what.code)) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(task_form(&context, &visit, form, &seats, Some(id))).into_response());
        }
    };
    let to = visit.at("/tasks");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let before = task::task_of(&mut tx, &access, id).await?;
    match task::change(&mut tx, &access, id, &new, posted.version.unwrap_or(0)).await {
        Ok(()) => {
            let after = VisualTask { what: new.clone(), ..before.clone() };
            amend::kept(&mut tx, &access, id, (facts::told(&before, &seats), facts::told(&after, &seats))).await?;
            tx.commit_at(Audit::by(&access).record(id).told("changed").track(new.track), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            let mut snapshot = app.store.snapshot().await?;
            let theirs = task::task_of(&mut snapshot, &access, id).await?;
            let yours = VisualTask { what: new, ..theirs.clone() };
            let rows = both(&facts::told(&theirs, &seats), &facts::told(&yours, &seats));
            let both = Both { back: visit.at(&format!("/tasks/{id}")), rows };
            Err(stale::error(&mut snapshot, &access, (id, theirs.version), both).await?)
        }
        Err(error) => Err(error.into()),
    }
}

async fn retire(
    State(app): State<App>,
    visit: Visit,
    access: Access<VisualTasks, Edit>,
    Record(id): Record<VisualTaskId>,
    posted: Posted,
) -> Result<Response> {
    let to = visit.at("/tasks");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    task::task_of(&mut tx, &access, id).await?;
    match task::retire(&mut tx, &access, id, posted.version.unwrap_or(0)).await {
        Err(StoreError::Stale) => {
            Err(Error::Stale(Box::new(Both { back: visit.at(&format!("/tasks/{id}")), rows: Vec::new() })))
        }
        done => {
            done?;
            tx.commit_at(Audit::by(&access).record(id).doing("retire").told("retired"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
    }
}

/// An empty task form's lists, for the intake step that adds tasks.
pub(in crate::web) async fn lists_for(app: &App, visit: &Visit, entry: &Entry, imperial: bool) -> Result<TaskLists> {
    let seats = seats_for(app, visit).await?;
    Ok(TaskLists::new(&seats, visit.actor().mobility, entry, imperial))
}
