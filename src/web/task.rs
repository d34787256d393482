//! What the student must see: the list with its figures.
//!
//! The figures are put into words by [`super::guidance`]; the forms are also
//! steps of the intake. Read next: `edit.rs` and `seats.rs` for adding and
//! changing, `form.rs` and `seat_form.rs` for what is typed, `glimpse.rs` for
//! what a classroom teacher sees.

mod edit;
mod examples;
mod facts;
pub(super) mod form;
mod glimpse;
pub(super) mod goals;
mod layout;
pub(super) mod screen;
pub(super) mod seat_form;
pub(super) mod seats;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::error::Result;
use super::form::FormView;
use super::guidance::{self, RoomSeen, TaskSeen};
use super::page::{Context, Page, Shell, shell_about};
use super::room;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::Role;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Guidance, Resource, VisualTasks};
use crate::care::caution::{self, Occasion};
use crate::care::ids::AccountId;
use crate::store::{seat, task};

pub(super) use edit::{lists_for, save_new};
pub(super) use facts::{facts_of, typed_length};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    let routes = edit::routes(goals::routes(seats::routes(routes)));
    routes.get("/students/{student}/tasks", page)
}

/// One task in the list.
struct TaskCard {
    name: String,
    what: String,
    facts: Vec<(String, String)>,
    seen: Option<TaskSeen>,
    options: Option<String>,
    through: Option<String>,
    plan: Option<String>,
    edit: Option<String>,
}

/// One seat in the list.
struct SeatCard {
    room: String,
    facts: Vec<(String, String)>,
    seen: Option<RoomSeen>,
    plan: Option<String>,
    edit: Option<String>,
}

#[derive(Template)]
#[template(path = "task/page.html")]
struct TasksPage {
    shell: Shell,
    tasks: Vec<TaskCard>,
    seats: Vec<SeatCard>,
    cautions: Vec<&'static str>,
    notes: Vec<String>,
    add_task: Option<String>,
    add_seat: Option<String>,
    retired: Vec<String>,
    goals: Option<goals::Section>,
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    if visit.role() == Some(Role::ClassroomTeacher) {
        return glimpse::page(&app, &context, &visit).await;
    }
    Ok(Page(list(&app, &context, &visit, None).await?).into_response())
}

/// The list with its figures; the form of the reading goals as it came back.
async fn list(app: &App, context: &Context, visit: &Visit, came_back: Option<FormView>) -> Result<TasksPage> {
    visit.opens_with::<VisualTasks>(&[Guidance::ROW]).await?;
    let access = visit.open::<VisualTasks, Read>().await?;
    let known = guidance::known(app, visit, &access).await?;
    let mut shell = shell_about(context, visit, "What to see");
    if let Some(form) = &came_back {
        shell = shell.of_form(form);
    }
    let mut snapshot = app.store.snapshot().await?;
    let all = task::tasks_with_retired(&mut snapshot, &access).await?;
    let seats = seat::seats(&mut snapshot, &access).await?;
    // Reserves are clinical figures: who gets plain words gets none.
    let goals = match known.as_ref().is_some_and(|known| !known.plain) {
        true => Some(goals::section(&mut snapshot, context, visit, &access, came_back).await?),
        false => None,
    };
    drop(snapshot);
    let (tasks, retired): (Vec<_>, Vec<_>) = all.into_iter().partition(|task| !task.retired);
    let may_edit = editor(visit);
    let cards = tasks.iter().map(|task| {
        let seat = seats.iter().find(|seat| Some(seat.id) == task.what.seat);
        TaskCard {
            name: task.what.name.clone(),
            what: words::capital(task.what.code.words()),
            facts: facts_of(task, context),
            seen: known.as_ref().map(|known| known.task(task, seat, context)),
            options: known.is_some().then(|| visit.at(&format!("/tasks/{}/options", task.id))),
            through: known.is_some().then(|| visit.at(&format!("/tasks/{}/through", task.id))),
            plan: known.as_ref().and_then(|_| room::href(visit, task)),
            edit: may_edit(task.created_by).then(|| visit.at(&format!("/tasks/{}", task.id))),
        }
    });
    let tasks_shown = cards.collect();
    let seats_shown = seats
        .iter()
        .map(|seat| SeatCard {
            room: seat.what.room.clone(),
            facts: seats::facts_of(seat, context),
            seen: known.as_ref().map(|known| known.room(seat, &tasks, context)),
            plan: known.as_ref().and_then(|_| {
                tasks.iter().filter(|task| task.what.seat == Some(seat.id)).find_map(|task| room::href(visit, task))
            }),
            edit: may_edit(seat.created_by).then(|| visit.at(&format!("/seats/{}", seat.id))),
        })
        .collect();
    let may_add = visit.may::<VisualTasks, Create>();
    Ok(TasksPage {
        shell,
        tasks: tasks_shown,
        seats: seats_shown,
        cautions: known.as_ref().map_or(Vec::new(), |known| cautions(known)),
        notes: known.map_or(Vec::new(), |known| known.notes()),
        add_task: may_add.then(|| visit.at("/tasks/new")),
        add_seat: may_add.then(|| visit.at("/seats/new")),
        retired: retired.into_iter().map(|task| task.what.name).collect(),
        goals,
    })
}

/// The cautions of the devices whose figures stand on the page.
fn cautions(known: &guidance::Known) -> Vec<&'static str> {
    let mut found = Vec::new();
    for device in &known.sight.devices {
        for one in caution::cautions(device.spec.kind, Occasion::Screen) {
            if !found.contains(&one.words()) {
                found.push(one.words());
            }
        }
    }
    found
}

/// Whether this person may change an entry by that account.
fn editor(visit: &Visit) -> impl Fn(AccountId) -> bool {
    let may = visit.may::<VisualTasks, Edit>();
    let any = visit.role() == Some(Role::VisionTeacher);
    let own = visit.actor().account;
    move |by| may && (any || by == own)
}

/// The fields that differ: label, theirs, yours.
pub(super) fn both<L: AsRef<str>>(theirs: &[(L, String)], yours: &[(L, String)]) -> Vec<(String, String, String)> {
    theirs
        .iter()
        .zip(yours)
        .filter(|((_, theirs), (_, yours))| theirs != yours)
        .map(|((label, theirs), (_, yours))| (label.as_ref().to_owned(), theirs.clone(), yours.clone()))
        .collect()
}
