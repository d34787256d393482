//! The student's own device arrived: what it is, and whether it is what was
//! prescribed (G6).
//!
//! The person who unpacks it writes what is on the device; the comparison is
//! the program's. A vision teacher, a parent or the clinician may do this.

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::Heeded;
use crate::access::action::{Create, Read};
use crate::access::resource::{Prescription, Receipt};
use crate::care::caution::Occasion;
use crate::care::device::Condition;
use crate::care::ids::PrescriptionId;
use crate::care::named_device::NamedDevice;
use crate::care::track::Track;
use crate::store::own_device::NewReceipt;
use crate::store::{Audit, journey, own_device};
use crate::web::check::{Check, NAME};
use crate::web::device_fields::{self, DeviceFields, Part};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::part::{self, Facts};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "devices/receipt.html")]
struct ReceiptPage {
    shell: Shell,
    back: String,
    action: String,
    track: &'static str,
    track_code: &'static str,
    prescription: String,
    prescribed: Vec<Facts>,
    signed: String,
    form: FormView,
    fields: DeviceFields,
    conditions: Vec<(&'static str, String)>,
    cautions: Heeded,
}

/// The prescription in force that a receipt is for.
struct Prescribed {
    id: PrescriptionId,
    track: Track,
    since: Date,
    devices: Vec<NamedDevice>,
    kinds: std::collections::BTreeSet<crate::care::track::DeviceKind>,
}

/// The prescription named, if it is the one in force on that track.
async fn prescribed(app: &App, visit: &Visit, track: &str, id: &str) -> Result<Prescribed> {
    let access = visit.open::<Receipt, Create>().await?;
    let track: Track = track.parse().map_err(|_| Error::Hidden)?;
    let id: PrescriptionId = id.parse().map_err(|_| Error::Hidden)?;
    let reading = visit.open_if::<Prescription, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let now = tracks.of(track).prescription.as_ref().filter(|now| now.id == id).ok_or(Error::Hidden)?;
    let devices = match reading {
        Some(reading) => own_device::prescribed(&mut snapshot, &reading, id).await?.remove(&track).unwrap_or_default(),
        None => Vec::new(),
    };
    let kinds = now.devices.iter().map(|device| device.kind).collect();
    Ok(Prescribed { id, track, since: now.since, devices, kinds })
}

fn build(context: &Context, visit: &Visit, asked: &Prescribed, form: FormView) -> ReceiptPage {
    ReceiptPage {
        shell: shell_about(context, visit, "A device arrived").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at("/devices/receipt/new"),
        track: asked.track.words(),
        track_code: asked.track.code(),
        prescription: asked.id.to_string(),
        prescribed: asked.devices.iter().map(|device| part::facts(&device_fields::facts(device, context))).collect(),
        signed: words::date(asked.since),
        fields: device_fields::fields(&form, "").without(Part::Purpose).without(Part::Limits).without(Part::Note),
        conditions: options!(Condition),
        cautions: super::heeded(&asked.kinds, Occasion::Loan),
        form,
    }
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    // Which prescription, and which of its tracks.
    let asked = Entry::of_query(query.as_deref());
    let prescribed = prescribed(&app, &visit, asked.get("track"), asked.get("prescription")).await?;
    let entry = Entry::default()
        .with("received_on", app.store.clock().today().to_string())
        .with("received_by", visit.actor().name.clone());
    let form = FormView::filled(&context, entry);
    Ok(Page(build(&context, &visit, &prescribed, form)).into_response())
}

fn wanted(entry: &Entry, asked: &Prescribed, today: Date) -> std::result::Result<NewReceipt, Faults> {
    let mut check = Check::new(entry);
    // Whatever arrived is written down, on which track it may stand or not.
    let device = device_fields::read(&mut check, "", None);
    let tag = check.opt_text("tag", "Serial number or tag", NAME);
    let received_on = check.date("received_on", "Received on", asked.since.min(today)..=today);
    let received_by = check.text("received_by", "Received by", NAME);
    let condition = check.code::<Condition>("condition", "Condition");
    check.build(|| {
        Some(NewReceipt {
            prescription: asked.id,
            track: asked.track,
            device: device?,
            tag,
            received_on: received_on?,
            received_by,
            condition: condition?,
        })
    })
}

pub(super) async fn save(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    let entry = &posted.entry;
    let asked = prescribed(&app, &visit, entry.get("track"), entry.get("prescription")).await?;
    let access = visit.open::<Receipt, Create>().await?;
    let new = match wanted(entry, &asked, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&context, &visit, &asked, form)).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let (id, differs) = own_device::receive(&mut tx, &access, &new).await?;
    let verb = if differs.is_empty() { "received as prescribed" } else { "received, not as prescribed" };
    let location = visit.at("/devices");
    let audit = Audit::by(&access).record(id).told(verb).on(new.received_on).track(new.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
