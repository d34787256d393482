//! What the student must see: the list with its figures, and the forms for
//! tasks and seats.
//!
//! The figures are put into words by [`super::guidance`]; the forms are also
//! steps of the intake.

pub(super) mod form;
pub(super) mod goals;
mod layout;
pub(super) mod seats;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::amend;
use super::error::{Both, Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::guidance::{self, RoomSeen, TaskSeen};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::part;
use super::room;
use super::routes::Routes;
use super::stale;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Guidance, Resource, TaskGlimpse, VisualTasks};
use crate::access::{Access, Role};
use crate::care::caution::{self, Occasion};
use crate::care::ids::{AccountId, VisualTaskId};
use crate::care::task::{self as care, Seat, VisualTask};
use crate::care::typed::Typed;
use crate::store::{Audit, StoreError, amendment, seat, task};
use crate::vision::units::Lux;
use form::TaskLists;

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    let routes = goals::routes(seats::routes(routes));
    routes
        .get("/students/{student}/tasks", page)
        .get("/students/{student}/tasks/new", new_page)
        .post("/students/{student}/tasks", add)
        .get("/students/{student}/tasks/{record}", edit_page)
        .post("/students/{student}/tasks/{record}", change)
        .post("/students/{student}/tasks/{record}/retire", retire)
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

/// Facts of a task as they were entered.
pub(super) fn facts_of(task: &VisualTask, context: &Context) -> Vec<(String, String)> {
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut fact = |term: &str, value: String| {
        if !value.is_empty() {
            facts.push((term.to_owned(), value));
        }
    };
    let guessed = if task.what.measured { "" } else { ", not measured" };
    fact("Where", task.place().to_owned());
    fact("Goal", words::capital(task.what.goal.words()));
    fact(
        "How far",
        task.distance()
            .map_or(String::new(), |far| typed_length(&far.typed, words::distance(far.value, context)) + guessed),
    );
    fact(
        "Small letters",
        task.what.x_height.as_ref().map_or(String::new(), |tall| {
            typed_length(&tall.typed, words::height(tall.value.in_metres(), context)) + guessed
        }),
    );
    let shown_on = task.what.display.map_or("", care::Display::words);
    let marker = task.what.marker.map_or("", care::Marker::words);
    let both = [shown_on, marker].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ");
    fact("Shown on", words::capital(&both));
    fact("Light", task.what.light.map_or(String::new(), |light| words::capital(light.words())));
    fact("Light on the screen", task.what.screen.as_ref().map_or(String::new(), readings_told));
    let target = match task.what.choices {
        Some(choices) => format!("one of {choices} choices"),
        None => task.what.target.words().to_owned(),
    };
    fact("To recognise", words::capital(&target));
    fact("Wanted by", task.what.wanted_by.clone());
    facts
}

/// What a meter read on the screen of a projector.
pub(super) fn readings_told(screen: &care::ScreenLight) -> String {
    let lux = |read: &Typed<Lux>| format!("{} lux", read.value.get());
    format!(
        "{} with a white slide, {} with a black one, {} with the projector off",
        lux(&screen.white),
        lux(&screen.black),
        lux(&screen.off)
    )
}

/// What was typed, and the same in the reader's units where that differs.
pub(super) fn typed_length(typed: &str, shown: String) -> String {
    if typed.is_empty() {
        shown
    } else if typed == shown {
        typed.to_owned()
    } else {
        format!("{typed} ({shown})")
    }
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    if visit.role() == Some(Role::ClassroomTeacher) {
        return glimpses(&app, &context, &visit).await;
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

/// What a classroom teacher sees: names, places, sizes; and no figure of the eyes.
async fn glimpses(app: &App, context: &Context, visit: &Visit) -> Result<Response> {
    let access = visit.open::<TaskGlimpse, Read>().await?;
    let own = visit.open_if::<VisualTasks, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let found = task::glimpses(&mut snapshot, &access).await?;
    let mine = match &own {
        Some(own) => task::tasks(&mut snapshot, own).await?,
        None => Vec::new(),
    };
    drop(snapshot);
    let cards = found
        .into_iter()
        .map(|task| {
            let mut facts = Vec::new();
            let mut fact = |term: &str, value: String| {
                if !value.is_empty() {
                    facts.push((term.to_owned(), value));
                }
            };
            fact("Where", task.place.clone());
            fact(
                "How far",
                task.distance
                    .map_or(String::new(), |far| typed_length(&far.typed, words::distance(far.value, context))),
            );
            fact(
                "Small letters",
                task.x_height.map_or(String::new(), |tall| {
                    typed_length(&tall.typed, words::height(tall.value.in_metres(), context))
                }),
            );
            fact("Written", task.marker.map_or(String::new(), |marker| words::capital(marker.words())));
            fact("To recognise", words::capital(task.target.words()));
            TaskCard {
                name: task.name,
                what: words::capital(task.code.words()),
                facts,
                seen: None,
                options: None,
                through: None,
                plan: None,
                edit: mine.iter().any(|own| own.id == task.id).then(|| visit.at(&format!("/tasks/{}", task.id))),
            }
        })
        .collect();
    Ok(Page(TasksPage {
        shell: shell_about(context, visit, "What to see"),
        tasks: cards,
        seats: Vec::new(),
        cautions: Vec::new(),
        notes: Vec::new(),
        add_task: visit.may::<VisualTasks, Create>().then(|| visit.at("/tasks/new")),
        add_seat: None,
        retired: Vec::new(),
        goals: None,
    })
    .into_response())
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
pub(super) async fn save_new(
    app: &App,
    visit: &Visit,
    access: &Access<VisualTasks, Create>,
    posted: &Posted,
    to: &str,
) -> Result<std::result::Result<Response, (Faults, Vec<Seat>)>> {
    let seats = seats_for(app, visit).await?;
    let new = match form::task(&posted.entry, &seats, visit.actor().mobility, None) {
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
    let form = FormView::filled(&context, form::entry_of_task(&known.what)).at_version(known.version);
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
    let new = match form::task(&posted.entry, &seats, visit.actor().mobility, Some(known.what.code)) {
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
            amend::kept(&mut tx, &access, id, (told(&before, &seats), told(&after, &seats))).await?;
            tx.commit_at(Audit::by(&access).record(id).told("changed").track(new.track), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            let mut snapshot = app.store.snapshot().await?;
            let theirs = task::task_of(&mut snapshot, &access, id).await?;
            let yours = VisualTask { what: new, ..theirs.clone() };
            let rows = both(&told(&theirs, &seats), &told(&yours, &seats));
            let both = Both { back: visit.at(&format!("/tasks/{id}")), rows };
            Err(stale::error(&mut snapshot, &access, (id, theirs.version), both).await?)
        }
        Err(error) => Err(error.into()),
    }
}

/// Every field of a task as typed, for two people's texts side by side.
fn told(task: &VisualTask, seats: &[Seat]) -> Vec<(String, String)> {
    let what = &task.what;
    let room = what.seat.and_then(|id| seats.iter().find(|seat| seat.id == id));
    [
        ("Kind", what.code.words().to_owned()),
        ("Name", what.name.clone()),
        ("Where", what.place.clone()),
        ("Seat", room.map_or(String::new(), |seat| seat.what.room.clone())),
        ("Far or near", what.track.words().to_owned()),
        ("Goal", what.goal.words().to_owned()),
        ("Distance", what.own_distance.as_ref().map_or(String::new(), |far| far.typed.clone())),
        ("Small letters", what.x_height.as_ref().map_or(String::new(), |tall| tall.typed.clone())),
        ("Measured", if what.measured { "yes" } else { "no" }.to_owned()),
        ("Shown on", what.display.map_or("", care::Display::words).to_owned()),
        ("Marker", what.marker.map_or("", care::Marker::words).to_owned()),
        ("Light", what.light.map_or("", care::LightLevel::words).to_owned()),
        ("Screen, white slide", what.screen.as_ref().map_or(String::new(), |read| read.white.typed.clone())),
        ("Screen, black slide", what.screen.as_ref().map_or(String::new(), |read| read.black.typed.clone())),
        ("Screen, projector off", what.screen.as_ref().map_or(String::new(), |read| read.off.typed.clone())),
        ("To recognise", what.target.words().to_owned()),
        ("Choices", what.choices.map_or(String::new(), |choices| choices.to_string())),
        ("Wanted by", what.wanted_by.clone()),
        ("In use", if task.retired { "no" } else { "yes" }.to_owned()),
    ]
    .map(|(label, value)| (label.to_owned(), value))
    .to_vec()
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
pub(super) async fn lists_for(app: &App, visit: &Visit, entry: &Entry, imperial: bool) -> Result<TaskLists> {
    let seats = seats_for(app, visit).await?;
    Ok(TaskLists::new(&seats, visit.actor().mobility, entry, imperial))
}
