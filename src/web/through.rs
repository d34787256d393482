//! Through the device: how much of the board is seen at once from the seat,
//! through which looks a line is followed, and how it is focused there.
//!
//! The arithmetic is [`crate::care::through`]; the words are in `told`, the
//! picture in `drawing`. The device is chosen by its place in the list of the
//! options, so that nothing about a student stands in an address.

mod account;
mod drawing;
mod glasses;
mod told;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Response};

use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView};
use super::guidance::Known;
use super::options::pool::{self, Candidate};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::part::{Empty, Figure, How, Notice};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::{Guidance, Loans, Training, VisualTasks};
use crate::care::caution::{self, Occasion};
use crate::care::device::{DeviceSpec, same_strength};
use crate::care::gates::Named;
use crate::care::ids::VisualTaskId;
use crate::care::sight::AtHandAs;
use crate::care::task::{Seat, VisualTask};
use crate::care::through::{self, OwnTimes, Question};
use crate::care::track::Track;
use crate::store::{Snapshot, loan, own_device, seat, task, training};
use drawing::Drawing;

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/tasks/{record}/through", page)
}

#[derive(Template)]
#[template(path = "through/page.html")]
struct ThroughPage {
    shell: Shell,
    form: FormView,
    back: String,
    here: String,
    name: String,
    notes: Vec<String>,
    cautions: Vec<&'static str>,
    devices: Vec<(String, String)>,
    told: Told,
}

/// What is said about one device.
#[derive(Default)]
struct Told {
    verdict: Option<Notice>,
    missing: Option<Empty>,
    figures: Vec<Figure>,
    lines: Vec<String>,
    focus: Vec<String>,
    picture: Option<Drawing>,
    how: Vec<How>,
    assumed: Vec<String>,
}

/// What the words are made from.
struct Asked<'a> {
    visit: &'a Visit,
    context: &'a Context,
    known: &'a Known,
    task: &'a VisualTask,
    seat: Option<&'a Seat>,
    device: &'a Candidate,
    times: Times,
}

/// What is known of the student's own times.
enum Times {
    /// The device was never trained with: it is in the pool.
    OfThePool,
    /// This reader may not read the training.
    NotOpen,
    /// Fewer timed exercises than are needed.
    TooFew(usize),
    /// Enough of them.
    Own(OwnTimes),
}

impl Asked<'_> {
    fn question(&self) -> Question<'_> {
        Question { task: self.task, seat: self.seat, sight: &self.known.sight, device: &self.device.device }
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    guidance: Access<Guidance, Read>,
    Record(id): Record<VisualTaskId>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let access = visit.open::<VisualTasks, Read>().await?;
    let known = super::guidance::known(&app, &visit, &access).await?.ok_or(Error::Hidden)?;
    let mut snapshot = app.store.snapshot().await?;
    let found = task::task_of(&mut snapshot, &access, id).await?;
    if found.retired {
        return Err(Error::Hidden);
    }
    let seats = seat::seats(&mut snapshot, &access).await?;
    let mut devices = pool::candidates(&mut snapshot, &visit, &known, found.what.track).await?;
    devices.retain(|candidate| candidate.device.track == found.what.track);
    drop(snapshot);
    let entry = Entry::of_query(query.as_deref());
    let (chosen, faults) = choice(&entry, devices.len());
    let faulty = !faults.is_empty();
    let mut form = FormView::filled(&context, if faulty { entry } else { Entry::default() });
    form.faults = faults;
    let mut told = Told::default();
    let mut cautions = Vec::new();
    match chosen.and_then(|place| devices.get(place).map(|device| (place, device))) {
        Some((place, device)) => {
            form.entry.set("device", (place + 1).to_string());
            let asked = Asked {
                visit: &visit,
                context: &context,
                known: &known,
                task: &found,
                seat: seats.iter().find(|seat| Some(seat.id) == found.what.seat),
                device,
                times: times(&app, &visit, &guidance, device).await?,
            };
            told = asked.told();
            let kind = device.device.spec.kind;
            cautions = caution::cautions(kind, Occasion::Screen).into_iter().map(|one| one.words()).collect();
        }
        None if devices.is_empty() => told.missing = Some(told::no_device(&visit, found.what.track)),
        None => {}
    }
    let page = ThroughPage {
        shell: shell_about(&context, &visit, "Through the device").of_form(&form),
        form,
        back: visit.at("/tasks"),
        here: visit.at(&format!("/tasks/{id}/through")),
        name: found.what.name.clone(),
        notes: known.notes(),
        cautions,
        devices: devices
            .iter()
            .enumerate()
            .map(|(place, device)| ((place + 1).to_string(), words::capital(&named(&known, device))))
            .collect(),
        told,
    };
    Ok(if faulty { Again(page).into_response() } else { Page(page).into_response() })
}

/// The device that is asked for, the first where none is; an address with
/// anything else in it comes back with what was typed.
fn choice(entry: &Entry, devices: usize) -> (Option<usize>, Faults) {
    let typed = entry.get("device");
    if typed.is_empty() {
        return ((devices > 0).then_some(0), Faults::default());
    }
    match typed.parse::<usize>().ok().and_then(|number| number.checked_sub(1)).filter(|place| *place < devices) {
        Some(place) => (Some(place), Faults::default()),
        None => (None, Faults::one("device", "Choose one of the devices listed.")),
    }
}

/// A device as this reader names it, with its tags.
fn named(known: &Known, candidate: &Candidate) -> String {
    let name = known.named(&candidate.device);
    if candidate.tags.is_empty() { name } else { format!("{name} ({})", candidate.tags.join(", ")) }
}

/// How long this student takes to find something through this device.
///
/// The training is opened only where there is a time in it.
async fn times(app: &App, visit: &Visit, guidance: &Access<Guidance, Read>, device: &Candidate) -> Result<Times> {
    if device.device.source == AtHandAs::Pool {
        return Ok(Times::OfThePool);
    }
    if !visit.may::<Training, Read>() {
        return Ok(Times::NotOpen);
    }
    if !training::spotting_was_timed(&mut app.store.snapshot().await?, guidance).await? {
        return Ok(Times::TooFew(0));
    }
    let Some(loans) = visit.open_if::<Loans, Read>().await? else { return Ok(Times::NotOpen) };
    let Some(open) = visit.open_if::<Training, Read>().await? else { return Ok(Times::NotOpen) };
    let mut snapshot = app.store.snapshot().await?;
    let named = same(&mut snapshot, &loans, (device.device.track, &device.device.spec)).await?;
    let sessions = training::list(&mut snapshot, &open).await?;
    let own = through::own_times(&sessions, |session| named.contains(&session.entered.device));
    Ok(own.map_or_else(Times::TooFew, Times::Own))
}

/// The loans and own devices of this strength, past ones too: what a session
/// with one of them says, it says of this device.
pub(super) async fn same(
    snapshot: &mut Snapshot,
    access: &Access<Loans, Read>,
    (track, spec): (Track, &DeviceSpec),
) -> Result<Vec<Named>> {
    let lent = loan::list(snapshot, access).await?;
    let own = own_device::list(snapshot, access).await?;
    let lent = lent.iter().filter(|loan| same_strength(track, &loan.spec, spec)).map(|loan| Named::Loan(loan.id));
    let own = own.iter().filter(|own| same_strength(track, &own.device.spec, spec)).map(|own| Named::Own(own.id));
    Ok(lent.chain(own).collect())
}
