//! Rooms with the usual seat in them: their form, and their facts.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::seat_form::{self, SeatLists};
use super::{both, layout, typed_length};
use crate::access::Access;
use crate::access::action::{Create, Edit};
use crate::access::resource::VisualTasks;
use crate::care::ids::SeatId;
use crate::care::task::{self as care, Seat};
use crate::store::{Audit, StoreError, amendment, seat, task};
use crate::web::amend;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part;
use crate::web::routes::Routes;
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

pub(super) fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/seats/new", new_page)
        .post("/students/{student}/seats", add)
        .get("/students/{student}/seats/{record}", edit_page)
        .post("/students/{student}/seats/{record}", change)
        .post("/students/{student}/seats/{record}/retire", retire)
}

#[derive(Template)]
#[template(path = "task/seat_form.html")]
struct SeatFormPage {
    shell: Shell,
    heading: &'static str,
    form: FormView,
    lists: SeatLists,
    action: String,
    submit: &'static str,
    retire: Option<String>,
    in_use: bool,
    back: String,
    /// What was changed of it before, both texts.
    amended: part::Amended,
}

/// Facts of a seat that say where it is, as they were entered.
pub(in crate::web) fn plan_facts(seat: &Seat, context: &Context) -> Vec<(String, String)> {
    let what = &seat.what;
    let far = typed_length(&what.distance.typed, words::distance(what.distance.value, context));
    let mut facts = vec![("Seat to board".to_owned(), far)];
    let mut fact = |term: &str, value: String| {
        if !value.is_empty() {
            facts.push((term.to_owned(), value));
        }
    };
    if let Some((aside, side)) = &what.aside {
        let length = typed_length(&aside.typed, words::distance(aside.value, context));
        fact("To the side", format!("{length} to the {}", side.words()));
    }
    if let Some(width) = &what.board_width {
        fact("Board width", typed_length(&width.typed, words::distance(width.value, context)));
    }
    for (term, value) in layout::facts(seat, context) {
        fact(&term, value);
    }
    facts
}

/// Facts of a seat as they were entered.
pub(in crate::web) fn facts_of(seat: &Seat, context: &Context) -> Vec<(String, String)> {
    let what = &seat.what;
    let mut facts = plan_facts(seat, context);
    let mut fact = |term: &str, value: String| {
        if !value.is_empty() {
            facts.push((term.to_owned(), value));
        }
    };
    let lux = what.illuminance.map_or(String::new(), |lux| format!("{} lux", lux.get()));
    let light = [what.light.map_or("", care::LightLevel::words).to_owned(), lux];
    fact("Light", words::capital(&light.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ")));
    let glare: Vec<&str> = what.glare.iter().map(|glare| glare.words()).collect();
    fact("Glare", words::capital(&words::list(&glare)));
    fact("Measured", what.measured_on.map_or(String::new(), words::date));
    fact("Note", what.note.clone());
    facts
}

fn page(context: &Context, visit: &Visit, form: FormView, of: Option<SeatId>, in_use: bool) -> SeatFormPage {
    let heading = if of.is_some() { "Change a room and seat" } else { "Add a room and seat" };
    SeatFormPage {
        shell: shell_about(context, visit, heading).of_form(&form),
        heading,
        lists: SeatLists::new(&form, context.imperial()),
        form,
        action: of.map_or_else(|| visit.at("/seats"), |id| visit.at(&format!("/seats/{id}"))),
        submit: if of.is_some() { "Save" } else { "Add" },
        retire: of.map(|id| visit.at(&format!("/seats/{id}/retire"))),
        in_use,
        back: visit.at("/tasks"),
        amended: part::amended(),
    }
}

async fn new_page(context: Context, visit: Visit, _access: Access<VisualTasks, Create>) -> Page<SeatFormPage> {
    Page(page(&context, &visit, FormView::blank(&context), None, false))
}

async fn add(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Create>,
    posted: Posted,
) -> Result<Response> {
    match save_new(&app, &access, &posted, &visit.at("/tasks")).await? {
        Ok(response) => Ok(response),
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            Ok(Again(page(&context, &visit, form, None, false)).into_response())
        }
    }
}

/// Adds a seat from its form and goes on to `to`, or says what is to be mended.
pub(in crate::web) async fn save_new(
    app: &App,
    access: &Access<VisualTasks, Create>,
    posted: &Posted,
    to: &str,
) -> Result<std::result::Result<Response, Faults>> {
    let mut tx = app.store.tx().await?;
    let new = match seat_form::read(&posted.entry, tx.today()) {
        Ok(new) => new,
        Err(faults) => return Ok(Err(faults)),
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = seat::add(&mut tx, access, &new).await?;
    tx.commit_at(Audit::by(access).record(id), to).await?;
    Ok(Ok(Redirect::to(to).into_response()))
}

async fn edit_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Edit>,
    Record(id): Record<SeatId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let known = seat::seat_of(&mut snapshot, &access, id).await?;
    if known.retired {
        return Err(Error::Hidden);
    }
    let tasks = task::tasks(&mut snapshot, &access).await?;
    let in_use = tasks.iter().any(|task| task.what.seat == Some(id));
    let form = FormView::filled(&context, seat_form::filled(&known.what)).at_version(known.version);
    let changed = amendment::of_record(&mut snapshot, &access, id).await?;
    let mut page = page(&context, &visit, form, Some(id), in_use);
    page.amended = amend::shown(&changed, snapshot.zone());
    Ok(Page(page).into_response())
}

async fn change(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Edit>,
    Record(id): Record<SeatId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    seat::seat_of(&mut tx, &access, id).await?;
    let new = match seat_form::read(&posted.entry, tx.today()) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(page(&context, &visit, form, Some(id), true)).into_response());
        }
    };
    let to = visit.at("/tasks");
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let before = seat::seat_of(&mut tx, &access, id).await?;
    match seat::change(&mut tx, &access, id, &new, posted.version.unwrap_or(0)).await {
        Ok(()) => {
            let after = Seat { what: new.clone(), ..before.clone() };
            amend::kept(&mut tx, &access, id, (told(&before), told(&after))).await?;
            tx.commit_at(Audit::by(&access).record(id), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            let mut snapshot = app.store.snapshot().await?;
            let theirs = seat::seat_of(&mut snapshot, &access, id).await?;
            let yours = Seat { what: new, ..theirs.clone() };
            let rows = both(&told(&theirs), &told(&yours));
            let both = Both { back: visit.at(&format!("/seats/{id}")), rows };
            Err(stale::error(&mut snapshot, &access, (id, theirs.version), both).await?)
        }
        Err(error) => Err(error.into()),
    }
}

async fn retire(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Edit>,
    Record(id): Record<SeatId>,
    posted: Posted,
) -> Result<Response> {
    let to = visit.at("/tasks");
    let mut tx = app.store.tx().await?;
    let known = seat::seat_of(&mut tx, &access, id).await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match seat::retire(&mut tx, &access, id, posted.version.unwrap_or(0)).await {
        Ok(()) => {
            tx.commit_at(Audit::by(&access).record(id).doing("retire"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Taken) => {
            let faults = Faults::one("room", "Tasks in use are seen from this seat. Move them to another seat first.");
            let mut form = FormView::filled(&context, seat_form::filled(&known.what)).at_version(known.version);
            form.faults = faults;
            Ok(Again(page(&context, &visit, form, Some(id), true)).into_response())
        }
        Err(StoreError::Stale) => {
            Err(Error::Stale(Box::new(Both { back: visit.at(&format!("/seats/{id}")), rows: Vec::new() })))
        }
        Err(error) => Err(error.into()),
    }
}

pub(in crate::web) fn told(seat: &Seat) -> Vec<(String, String)> {
    let what = &seat.what;
    let glare: Vec<&str> = what.glare.iter().map(|glare| glare.words()).collect();
    let mut told = vec![
        ("Room", what.room.clone()),
        ("Seat to board", what.distance.typed.clone()),
        (
            "To the side",
            what.aside.as_ref().map_or(String::new(), |(far, side)| format!("{} {}", far.typed, side.words())),
        ),
        ("Board width", what.board_width.as_ref().map_or(String::new(), |width| width.typed.clone())),
    ];
    told.extend(layout::told(what));
    told.extend([
        ("Light (lux)", what.illuminance.map_or(String::new(), |lux| lux.get().to_string())),
        ("Light", what.light.map_or("", care::LightLevel::words).to_owned()),
        ("Glare", glare.join(", ")),
        ("Measured", what.measured_on.map_or(String::new(), |on| on.to_string())),
        ("Note", what.note.clone()),
        ("In use", if seat.retired { "no" } else { "yes" }.to_owned()),
    ]);
    told.into_iter().map(|(label, value)| (label.to_owned(), value)).collect()
}
