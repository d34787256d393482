//! The student's own device goes to be repaired, and comes back (G6).
//!
//! While it is away the loan it replaced may be used again; once it is back,
//! loans are due in 14 days anew. A vision teacher or a parent records both.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{Loans, Repair};
use crate::care::gates::may_repair;
use crate::care::ids::{OwnDeviceId, RepairId};
use crate::care::loan::short_words;
use crate::store::own_device::Kept;
use crate::store::{Audit, Snapshot, journey, own_device, repair};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::{Notice, notice};
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words;

#[derive(Template)]
#[template(path = "devices/repair.html")]
struct RepairPage {
    shell: Shell,
    back: String,
    action: String,
    device: String,
    track: &'static str,
    blocked: Option<Notice>,
    form: FormView,
}

#[derive(Template)]
#[template(path = "devices/back.html")]
struct BackPage {
    shell: Shell,
    back: String,
    action: String,
    device: String,
    away: String,
    form: FormView,
}

/// The device, and the first day on which it can go: when it arrived, or last
/// came back.
async fn device(snapshot: &mut Snapshot, reading: &Access<Loans, Read>, id: OwnDeviceId) -> Result<(Kept, Date)> {
    let all = own_device::list(snapshot, reading).await?;
    let kept = all.into_iter().find(|kept| kept.id == id).ok_or(Error::Hidden)?;
    let repairs = repair::list(snapshot, reading).await?;
    let last = repairs.iter().filter(|one| one.own_device == id).filter_map(|one| one.back).max();
    let first = last.map_or(kept.received_on, |last| last.max(kept.received_on));
    Ok((kept, first))
}

fn named(kept: &Kept) -> String {
    let tag = if kept.tag.is_empty() { String::new() } else { format!(", {}", kept.tag) };
    format!("{}{tag}", words::capital(&short_words(&kept.device.spec)))
}

fn build((context, visit): (&Context, &Visit), kept: &Kept, blocked: Option<Notice>, form: FormView) -> RepairPage {
    RepairPage {
        shell: shell_about(context, visit, "A device goes to be repaired").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/own/{}/repair", kept.id)),
        device: named(kept),
        track: kept.track.words(),
        blocked,
        form,
    }
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Repair, Create>,
    Record(id): Record<OwnDeviceId>,
) -> Result<Response> {
    let reading = visit.open::<Loans, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let (kept, _) = device(&mut snapshot, &reading, id).await?;
    let tracks = journey::tracks(&mut snapshot, &reading).await?;
    let blocked = may_repair(tracks.of(kept.track), id)
        .err()
        .map(|blocked| notice("plain", "No repair begins now", &blocked.to_string()));
    let entry = Entry::default().with("from_on", snapshot.today().to_string());
    Ok(Page(build((&context, &visit), &kept, blocked, FormView::filled(&context, entry))).into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Repair, Create>,
    Record(id): Record<OwnDeviceId>,
    posted: Posted,
) -> Result<Response> {
    let reading = visit.open::<Loans, Read>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let (kept, first) = device(&mut tx, &reading, id).await?;
    let blocked = |blocked| steps::blocked(visit.student(), blocked);
    // Today it must be here, whatever day is written below.
    may_repair(journey::tracks(&mut tx, &access).await?.of(kept.track), id).map_err(blocked)?;
    let mut check = Check::new(&posted.entry);
    let from = check.date("from_on", "Went on", first..=tx.today());
    let reason = check.text("reason", "What is wrong with it", LONG_TEXT);
    let (from, reason) = match check.build(|| Some((from?, reason))) {
        Ok(checked) => checked,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build((&context, &visit), &kept, None, form)).into_response());
        }
    };
    let tracks = journey::tracks_on(&mut tx, &access, from).await?;
    let may = may_repair(tracks.of(kept.track), id).map_err(blocked)?;
    let repair = repair::begin(&mut tx, &access, may, &reason).await?;
    let location = visit.at("/devices");
    tx.commit_at(Audit::by(&access).record(repair).told("begun").on(from).track(kept.track), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

async fn repair_of(
    snapshot: &mut Snapshot,
    reading: &Access<Loans, Read>,
    id: RepairId,
) -> Result<(repair::Kept, Kept)> {
    let all = repair::list(snapshot, reading).await?;
    let repair = all.into_iter().find(|one| one.id == id).ok_or(Error::Hidden)?;
    let (kept, _) = device(snapshot, reading, repair.own_device).await?;
    Ok((repair, kept))
}

fn back_page((context, visit): (&Context, &Visit), repair: &repair::Kept, kept: &Kept, form: FormView) -> BackPage {
    BackPage {
        shell: shell_about(context, visit, "Back from repair").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/repairs/{}/back", repair.id)),
        device: named(kept),
        away: format!("It went on {}: {}", words::date(repair.from), repair.reason),
        form,
    }
}

pub(super) async fn back_form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Repair, Create>,
    Record(id): Record<RepairId>,
) -> Result<Response> {
    let reading = visit.open::<Loans, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let (repair, kept) = repair_of(&mut snapshot, &reading, id).await?;
    if repair.back.is_some() {
        return Ok(Redirect::to(&visit.at("/devices")).into_response());
    }
    let entry = Entry::default().with("back_on", snapshot.today().to_string());
    Ok(Page(back_page((&context, &visit), &repair, &kept, FormView::filled(&context, entry))).into_response())
}

pub(super) async fn back(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Repair, Create>,
    Record(id): Record<RepairId>,
    posted: Posted,
) -> Result<Response> {
    let reading = visit.open::<Loans, Read>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let (repair, kept) = repair_of(&mut tx, &reading, id).await?;
    let location = visit.at("/devices");
    if let Some(theirs) = repair.back {
        let yours = posted.entry.get("back_on").to_owned();
        let rows = vec![("Came back on".to_owned(), theirs.to_string(), yours)];
        return Err(Error::Stale(Box::new(Both { back: location, rows })));
    }
    let mut check = Check::new(&posted.entry);
    let back = check.date("back_on", "Came back on", repair.from..=tx.today());
    let back = match check.build(|| back) {
        Ok(back) => back,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(back_page((&context, &visit), &repair, &kept, form)).into_response());
        }
    };
    repair::end(&mut tx, &access, id, back).await?;
    tx.commit_at(Audit::by(&access).record(id).told("ended").on(back).track(kept.track), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
