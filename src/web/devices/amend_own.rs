//! Amending what was written of a device of the student's own, and one that
//! should not have been entered.
//!
//! What arrived is compared with its prescription anew. Whoever may record a
//! device amends the own entries; a vision teacher those of others, too.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::brought::OLDEST;
use super::stale_texts;
use crate::access::Access;
use crate::access::action::{Amend, Create, Read};
use crate::access::resource::{Loans, Receipt};
use crate::care::device::Condition;
use crate::care::ids::OwnDeviceId;
use crate::care::loan::short_words;
use crate::store::correct::own_device::{Stored, amend, first_used, prescribed_since, stored, texts, written};
use crate::store::own_device::{Brought, is_own};
use crate::store::{Audit, StoreError};
use crate::web::amend::{self as correction, Lasting, lasting, lasting_page, refused};
use crate::web::check::{Check, NAME};
use crate::web::device_fields::{self, DeviceFields, Part};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "devices/amend_own.html")]
struct AmendPage {
    shell: Shell,
    back: String,
    action: String,
    error: String,
    prescribed: bool,
    settled: bool,
    form: FormView,
    fields: DeviceFields,
    conditions: Vec<(&'static str, String)>,
}

fn at(visit: &Visit, id: OwnDeviceId, path: &str) -> String {
    visit.at(&format!("/devices/own/{id}/{path}"))
}

fn build(context: &Context, visit: &Visit, stored: &Stored, form: FormView) -> AmendPage {
    AmendPage {
        shell: shell_about(context, visit, "Amend this device").of_form(&form),
        back: visit.at("/devices"),
        action: at(visit, stored.kept.id, "amend"),
        error: at(visit, stored.kept.id, "error"),
        prescribed: stored.kept.prescription.is_some(),
        settled: stored.kept.verdict.is_some(),
        fields: device_fields::fields(&form, "").without(Part::Purpose).without(Part::Limits).without(Part::Note),
        conditions: options!(Condition),
        form,
    }
}

fn filled(stored: &Stored) -> Entry {
    let kept = &stored.kept;
    let mut entry = Entry::default()
        .with("tag", kept.tag.clone())
        .with("received_on", kept.received_on.to_string())
        .with("received_by", kept.received_by.clone())
        .with("condition", kept.condition.code());
    device_fields::fill(&mut entry, "", &kept.device);
    entry
}

/// The proofs to amend and to read it, once it is known to be this person's to
/// correct: whoever may not is told nothing of it, and nothing goes across.
async fn proofs(app: &App, visit: &Visit, id: OwnDeviceId) -> Result<(Access<Receipt, Amend>, Access<Loans, Read>)> {
    if visit.own_only::<Receipt, Amend>() == Some(true) {
        let entering = visit.open::<Receipt, Create>().await?;
        let mut snapshot = app.store.snapshot().await?;
        if !is_own(&mut snapshot, &entering, id).await? {
            return Err(Error::Hidden);
        }
    }
    Ok((visit.open::<Receipt, Amend>().await?, visit.open::<Loans, Read>().await?))
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<OwnDeviceId>,
) -> Result<Response> {
    let (access, reading) = proofs(&app, &visit, id).await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, (&access, &reading), id).await?;
    if stored.in_error {
        return Ok(Redirect::to(&visit.at("/devices")).into_response());
    }
    let form = FormView::filled(&context, filled(&stored)).at_version(stored.version);
    Ok(Page(build(&context, &visit, &stored, form)).into_response())
}

fn wanted(entry: &Entry, stored: &Stored, today: Date) -> std::result::Result<(Brought, String), Faults> {
    let mut check = Check::new(entry);
    let kept = &stored.kept;
    // What arrived on a prescription is written down, on which track it may stand or not.
    let track = kept.prescription.is_none().then_some(kept.track);
    let device = device_fields::read(&mut check, "", track);
    let tag = check.opt_text("tag", "Serial number or tag", NAME);
    let had_since = check.date("received_on", "Received on", OLDEST..=today);
    let received_by = if kept.prescription.is_some() {
        check.text("received_by", "Received by", NAME)
    } else {
        check.opt_text("received_by", "Received by, or where it came from", NAME)
    };
    let condition = check.code::<Condition>("condition", "Condition");
    let reason = correction::reason(&mut check);
    check.build(|| {
        let device = Brought {
            track: kept.track,
            device: device?,
            tag,
            had_since: had_since?,
            received_by,
            condition: condition?,
        };
        Some((device, reason))
    })
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<OwnDeviceId>,
    posted: Posted,
) -> Result<Response> {
    let (access, reading) = proofs(&app, &visit, id).await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let stored = stored(&mut tx, (&access, &reading), id).await?;
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&context, &visit, &stored, form)).into_response())
    };
    let location = visit.at("/devices");
    if stored.in_error {
        return Err(Error::Stale(Box::new(Both { back: location, rows: Vec::new() })));
    }
    let (new, reason) = match wanted(&posted.entry, &stored, tx.today()) {
        Ok(wanted) => wanted,
        Err(faults) => return again(faults),
    };
    let both = || Both { back: location.clone(), rows: stale_texts(texts(&written(&stored.kept)), texts(&new)) };
    if posted.version != Some(stored.version) {
        return Err(stale::error(&mut tx, &access, (id, stored.version), both()).await?);
    }
    if new.had_since != stored.kept.received_on {
        let in_force = prescribed_since(&mut tx, &access, (&stored.kept, new.had_since)).await?.is_some();
        if stored.kept.prescription.is_some() && !in_force {
            return again(Faults::one(
                "received_on",
                "Its prescription was not in force on that day. Write a day on which it was.",
            ));
        }
        if let Some(used) = first_used(&mut tx, &access, id).await?.filter(|used| *used < new.had_since) {
            let said = format!("An entry of {} names this device, so the student had it by then.", words::date(used));
            return again(Faults::one("received_on", said));
        }
    }
    let (outcome, differs) = match amend(&mut tx, &access, (&stored, posted.version), (&new, &reason)).await {
        Err(StoreError::Stale) => return Err(Error::Stale(Box::new(both()))),
        other => other?,
    };
    if let Some(faults) = refused(outcome) {
        return again(faults);
    }
    let verb = match (stored.kept.prescription.is_some(), differs.is_empty()) {
        (false, _) => "amended",
        (true, true) => "amended, as prescribed",
        (true, false) => "amended, not as prescribed",
    };
    tx.commit_at(Audit::by(&access).record(id).told(verb).track(stored.kept.track), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

fn marking(visit: &Visit, stored: &Stored) -> Lasting {
    let kept = &stored.kept;
    let day = words::date(kept.received_on);
    Lasting {
        what: format!("{}, received on {day}", words::capital(&short_words(&kept.device.spec))),
        track: kept.track,
        counts: "It then counts as never received: it drops out of every figure and of the stage, and loans stand as before.",
        back: visit.at("/devices"),
        back_words: "Devices",
        action: at(visit, kept.id, "error"),
        amend: at(visit, kept.id, "amend"),
    }
}

pub(super) async fn error_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<OwnDeviceId>,
) -> Result<Response> {
    let (access, reading) = proofs(&app, &visit, id).await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, (&access, &reading), id).await?;
    if stored.in_error {
        return Ok(Redirect::to(&visit.at("/devices")).into_response());
    }
    Ok(lasting_page(&context, &visit, marking(&visit, &stored)))
}

pub(super) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<OwnDeviceId>,
    posted: Posted,
) -> Result<Response> {
    let (access, reading) = proofs(&app, &visit, id).await?;
    let mut tx = app.store.tx().await?;
    let stored = stored(&mut tx, (&access, &reading), id).await?;
    lasting(tx, (&context, &visit), &access, id, (marking(&visit, &stored), &posted)).await
}
