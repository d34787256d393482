//! A device that is not as prescribed: the clinician accepts it as it is or
//! refuses it, with what differs side by side (G6).
//!
//! Accepted, it is the device of the track from the day of that word: until then
//! it was not used, and entries since it arrived name the loan.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::compare;
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{LoanDecision, Loans, Prescription};
use crate::care::caution::Occasion;
use crate::care::device::receipt_differences;
use crate::care::gates::may_settle;
use crate::care::ids::OwnDeviceId;
use crate::care::journey::fact::Verdict;
use crate::care::loan::short_words;
use crate::care::named_device::NamedDevice;
use crate::store::own_device::Kept;
use crate::store::{Audit, journey, own_device};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::{Notice, Table, notice};
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "devices/settle.html")]
struct SettlePage {
    shell: Shell,
    back: String,
    action: String,
    device: String,
    track: &'static str,
    received: String,
    differs: String,
    closed: Option<Notice>,
    tables: Vec<Table>,
    verdicts: Vec<(&'static str, String)>,
    form: FormView,
    cautions: super::Heeded,
}

/// What arrived, and the devices prescribed that it may be meant as.
struct Arrived {
    kept: Kept,
    prescribed: Vec<NamedDevice>,
}

async fn arrived(app: &App, visit: &Visit, id: OwnDeviceId) -> Result<Arrived> {
    let reading = visit.open::<Loans, Read>().await?;
    let document = visit.open_if::<Prescription, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let all = own_device::list(&mut snapshot, &reading).await?;
    let kept = all.into_iter().find(|kept| kept.id == id).ok_or(Error::Hidden)?;
    let prescribed = match (document, kept.prescription) {
        (Some(document), Some(on_which)) => {
            let mut devices = own_device::prescribed(&mut snapshot, &document, on_which).await?;
            devices.remove(&kept.track).unwrap_or_default()
        }
        _ => Vec::new(),
    };
    Ok(Arrived { kept, prescribed })
}

fn build(
    (context, visit): (&Context, &Visit),
    arrived: &Arrived,
    closed: Option<Notice>,
    form: FormView,
) -> SettlePage {
    let kept = &arrived.kept;
    let several = arrived.prescribed.len() > 1;
    let tables = arrived.prescribed.iter().enumerate().map(|(place, wanted)| {
        let differs = receipt_differences(kept.track, &wanted.spec, &kept.device.spec);
        let caption = if several {
            format!("What arrived beside prescribed device {}", place + 1)
        } else {
            "What arrived beside the prescription".to_owned()
        };
        compare::table(&caption, ("Prescribed", "Arrived"), (wanted, &kept.device), &differs, context)
    });
    let parts: Vec<&str> = kept.differs.iter().map(|part| part.words()).collect();
    SettlePage {
        shell: shell_about(context, visit, "A device that is not as prescribed").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/own/{}/settle", kept.id)),
        device: words::capital(&short_words(&kept.device.spec)),
        track: kept.track.words(),
        received: format!(
            "Received on {} by {}, entered by {}.",
            words::date(kept.received_on),
            kept.received_by,
            kept.entered_by
        ),
        differs: parts.join("; "),
        closed,
        tables: tables.collect(),
        verdicts: options!(Verdict),
        cautions: super::heeded(&[kept.device.spec.kind].into(), Occasion::Loan),
        form,
    }
}

/// The way from the next step to the device that has waited longest.
pub(super) async fn first(
    State(app): State<App>,
    visit: Visit,
    access: Access<LoanDecision, Create>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let waiting = tracks.distance.mismatches().chain(tracks.near.mismatches()).min_by_key(|own| own.received_on);
    let to = waiting.map_or("/devices".to_owned(), |own| format!("/devices/own/{}/settle", own.id));
    Ok(Redirect::to(&visit.at(&to)).into_response())
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<LoanDecision, Create>,
    Record(id): Record<OwnDeviceId>,
) -> Result<Response> {
    let arrived = arrived(&app, &visit, id).await?;
    let mut snapshot = app.store.snapshot().await?;
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let closed = may_settle(tracks.of(arrived.kept.track), id)
        .err()
        .map(|blocked| notice("plain", "There is nothing to settle", &blocked.to_string()));
    Ok(Page(build((&context, &visit), &arrived, closed, FormView::blank(&context))).into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<LoanDecision, Create>,
    Record(id): Record<OwnDeviceId>,
    posted: Posted,
) -> Result<Response> {
    let arrived = arrived(&app, &visit, id).await?;
    let location = visit.at("/devices");
    if let Some(theirs) = &arrived.kept.verdict {
        let yours = posted.entry.get("verdict").parse().map_or("", |verdict: Verdict| verdict.words());
        let rows = vec![
            ("Your word".to_owned(), theirs.verdict.words().to_owned(), yours.to_owned()),
            ("Reason".to_owned(), theirs.reason.clone(), posted.entry.get("reason").to_owned()),
        ];
        return Err(Error::Stale(Box::new(Both { back: location, rows })));
    }
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let tracks = journey::tracks(&mut tx, &access).await?;
    let may =
        may_settle(tracks.of(arrived.kept.track), id).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let mut check = Check::new(&posted.entry);
    let verdict = check.code::<Verdict>("verdict", "Your word");
    let reason = check.text("reason", "Reason", LONG_TEXT);
    let (verdict, reason) = match check.build(|| Some((verdict?, reason))) {
        Ok(checked) => checked,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build((&context, &visit), &arrived, None, form)).into_response());
        }
    };
    own_device::settle(&mut tx, &access, may, verdict, &reason).await?;
    let audit = Audit::by(&access).record(id).told("given").track(arrived.kept.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
