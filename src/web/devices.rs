//! A student's devices: what is recommended, what is on loan and until when,
//! and the own device.
//!
//! Whether a loan still stands for the recommendation is read off the track's
//! journey; nothing here decides it. The page is put together in `track`,
//! `lent` and `own`. Lending is in `lend`, taking back in `give_back`,
//! what arrived on a prescription in `receipt`; asking for another device in
//! `ask`, the clinician's answer in `allow`, a mismatch in `settle`,
//! repairs in `repair`, corrections in
//! `amend_loan` and `amend_own`, a later due date in `extend`, a loss in `report`.

mod allow;
mod amend_loan;
mod amend_own;
mod ask;
mod brought;
mod compare;
mod extend;
mod give_back;
mod lend;
mod lent;
mod own;
mod receipt;
pub(super) mod recheck;
mod repair;
mod report;
mod settle;
mod track;

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use self::track::{TrackPage, TrackPart};
use super::amend::{shown, why};
use super::error::Result;
use super::page::{Context, Page, Shell, shell_about};
use super::part::{self, Facts};
use super::pool::texts;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::{Amend, Read};
use crate::access::resource::{Evaluation, Guidance, Loans, Prescription, Receipt, Training, Transcription};
use crate::care::amendment::Kind;
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::ids::OwnDeviceId;
use crate::care::journey::fact::Source;
use crate::care::journey::{Basis, Recommendation};
use crate::care::loan::{LoanRecord, short_words};
use crate::care::track::{DeviceKind, Track};
use crate::store::amendment::InError;
use crate::store::{Snapshot, allowance, amendment, extension, journey, loan, own_device, repair as repairs};

/// The routes of a student's devices.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/devices", page)
        .get("/students/{student}/devices/lend/{word}", lend::form)
        .post("/students/{student}/devices/lend/{word}", lend::save)
        .get("/students/{student}/devices/return/{record}", give_back::form)
        .post("/students/{student}/devices/return/{record}", give_back::save)
        .get("/students/{student}/devices/receipt/new", receipt::form)
        .post("/students/{student}/devices/receipt/new", receipt::save)
        .get("/students/{student}/devices/brought/{word}", brought::form)
        .post("/students/{student}/devices/brought/{word}", brought::save)
        .get("/students/{student}/devices/ask/{word}", ask::form)
        .post("/students/{student}/devices/ask/{word}", ask::save)
        .get("/students/{student}/devices/requests/{record}", allow::form)
        .post("/students/{student}/devices/requests/{record}", allow::save)
        .get("/students/{student}/devices/allowances/{record}/withdraw", allow::withdraw_form)
        .post("/students/{student}/devices/allowances/{record}/withdraw", allow::withdraw)
        .get("/students/{student}/devices/settle", settle::first)
        .get("/students/{student}/devices/own/{record}/settle", settle::form)
        .post("/students/{student}/devices/own/{record}/settle", settle::save)
        .get("/students/{student}/devices/own/{record}/repair", repair::form)
        .post("/students/{student}/devices/own/{record}/repair", repair::save)
        .get("/students/{student}/devices/repairs/{record}/back", repair::back_form)
        .post("/students/{student}/devices/repairs/{record}/back", repair::back)
        .get("/students/{student}/devices/extend/{record}", extend::form)
        .post("/students/{student}/devices/extend/{record}", extend::save)
        .get("/students/{student}/devices/report/{record}", report::form)
        .post("/students/{student}/devices/report/{record}", report::save)
        .get("/students/{student}/devices/loans/{record}/amend", amend_loan::form)
        .post("/students/{student}/devices/loans/{record}/amend", amend_loan::save)
        .get("/students/{student}/devices/loans/{record}/error", amend_loan::error_page)
        .post("/students/{student}/devices/loans/{record}/error", amend_loan::error)
        .get("/students/{student}/devices/own/{record}/amend", amend_own::form)
        .post("/students/{student}/devices/own/{record}/amend", amend_own::save)
        .get("/students/{student}/devices/own/{record}/error", amend_own::error_page)
        .post("/students/{student}/devices/own/{record}/error", amend_own::error)
}

#[derive(Template)]
#[template(path = "devices/page.html")]
struct DevicesPage {
    shell: Shell,
    tracks: Vec<TrackPart>,
    cautions: Heeded,
    training: String,
    tasks: String,
}

/// What is kept about a student's devices, for one page.
struct Kept {
    loans: Vec<LoanRecord>,
    own: Vec<own_device::Kept>,
    requests: Vec<allowance::Request>,
    allowances: Vec<allowance::Allowance>,
    extensions: Vec<extension::Extension>,
    reports: Vec<extension::Report>,
    repairs: Vec<repairs::Kept>,
    /// Loans and own devices entered in error, each with why.
    errors: Vec<(Track, String, String)>,
    /// The corrections of loans and own devices, by id.
    amended: BTreeMap<String, part::Amended>,
    /// The own devices that this reader may amend; a loan is, by whoever may at all.
    amendable: BTreeSet<OwnDeviceId>,
}

impl Kept {
    async fn read(snapshot: &mut Snapshot, visit: &Visit, access: &Access<Loans, Read>) -> Result<Self> {
        let (loans, own) = (loan::list(snapshot, access).await?, own_device::list(snapshot, access).await?);
        let zone = snapshot.zone().clone();
        let mut amended = BTreeMap::new();
        for id in loans.iter().map(|one| one.id) {
            amended.insert(id.to_string(), shown(&amendment::of_record(snapshot, access, id).await?, &zone));
        }
        for id in own.iter().map(|one| one.id) {
            amended.insert(id.to_string(), shown(&amendment::of_record(snapshot, access, id).await?, &zone));
        }
        let own_only = visit.own_only::<Receipt, Amend>();
        let may = |own: &&own_device::Kept| own_only.is_some_and(|only| !only || own.author == visit.actor().account);
        let amendable = own.iter().filter(may).map(|own| own.id).collect();
        Ok(Self {
            errors: errors(snapshot, access).await?,
            amended,
            amendable,
            loans,
            own,
            requests: allowance::requests(snapshot, access).await?,
            allowances: allowance::list(snapshot, access).await?,
            extensions: extension::list(snapshot, access).await?,
            reports: extension::reports(snapshot, access).await?,
            repairs: repairs::list(snapshot, access).await?,
        })
    }
}

/// What was entered in error: which track, what, and why.
async fn errors(snapshot: &mut Snapshot, access: &Access<Loans, Read>) -> Result<Vec<(Track, String, String)>> {
    let zone = snapshot.zone().clone();
    let told =
        |all: &BTreeMap<String, InError>, id: String| all.get(&id).map(|one| why(one, &zone)).unwrap_or_default();
    let mut found = Vec::new();
    let reasons = amendment::in_error(snapshot, access, Kind::Loan).await?;
    for loan in loan::errors(snapshot, access).await? {
        let day = words::date(loan.entered.lent_on);
        let what = format!("Loan of {}, {}, from {day}", loan.tag, short_words(&loan.spec));
        found.push((loan.entered.track, what, told(&reasons, loan.id.to_string())));
    }
    let reasons = amendment::in_error(snapshot, access, Kind::OwnDevice).await?;
    for own in own_device::errors(snapshot, access).await? {
        let what = format!("Own {}, received on {}", short_words(&own.device.spec), words::date(own.received_on));
        found.push((own.track, what, told(&reasons, own.id.to_string())));
    }
    Ok(found)
}

/// What stands there now beside what was typed, where they differ.
fn stale_texts(
    theirs: Vec<(&'static str, String)>,
    yours: Vec<(&'static str, String)>,
) -> Vec<(String, String, String)> {
    let both = theirs.into_iter().zip(yours).map(|((field, theirs), (_, yours))| (field.to_owned(), theirs, yours));
    both.filter(|(_, theirs, yours)| theirs != yours).collect()
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    let access = visit.open::<Loans, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let kept = Kept::read(&mut snapshot, &visit, &access).await?;
    drop(snapshot);
    let mut parts = Vec::new();
    let mut kinds = BTreeSet::new();
    for shown in visit.tracks() {
        let track = shown.journey.track;
        let whole = tracks.of(track);
        kinds.extend(whole.loans.iter().map(|loan| loan.spec.kind));
        kinds.extend(whole.own_devices.iter().map(|own| own.spec.kind));
        let readable = readable(&visit, shown.journey.recommendation.as_ref()).await?;
        let page = TrackPage { visit: &visit, context: &context, today, whole, readable, kept: &kept };
        parts.push(page.part(&shown.journey));
    }
    let page = DevicesPage {
        shell: shell_about(&context, &visit, "Devices"),
        tracks: parts,
        cautions: heeded(&kinds, Occasion::Loan),
        training: if visit.may::<Training, Read>() { visit.at("/training") } else { String::new() },
        tasks: if visit.may::<Guidance, Read>() { visit.at("/tasks") } else { String::new() },
    };
    Ok(Page(page).into_response())
}

/// The cautions of a page: those that stand on every screen about these kinds of
/// device at its top, those of the occasion where it ends.
pub(super) struct Heeded {
    pub(super) top: Vec<&'static str>,
    pub(super) end: Vec<&'static str>,
}

/// The kinds of device a page of one track is about: those given, or the usual
/// one of the track when none is known yet.
pub(super) fn or_usual(track: Track, kinds: BTreeSet<DeviceKind>) -> BTreeSet<DeviceKind> {
    match track {
        _ if !kinds.is_empty() => kinds,
        Track::Distance => [DeviceKind::HandheldMonocular].into(),
        Track::Near => [DeviceKind::HandMagnifier, DeviceKind::ElectronicHandheld].into(),
    }
}

/// The cautions for several kinds of device on an occasion.
pub(super) fn heeded(kinds: &BTreeSet<DeviceKind>, occasion: Occasion) -> Heeded {
    let top = of_kinds(kinds, Occasion::Screen);
    let end: Vec<_> = of_kinds(kinds, occasion).into_iter().filter(|caution| !top.contains(caution)).collect();
    Heeded { top: texts(&top), end: texts(&end) }
}

/// The cautions for several kinds of device, each once; for all kinds when none
/// is known yet.
fn of_kinds(kinds: &BTreeSet<DeviceKind>, occasion: Occasion) -> Vec<Caution> {
    let other = [DeviceKind::Other].into();
    let kinds = if kinds.is_empty() { &other } else { kinds };
    let all: BTreeSet<Caution> = kinds.iter().flat_map(|kind| cautions(*kind, occasion)).collect();
    all.into_iter().collect()
}

/// The recommendation, for a reader who may read the document it stands in.
pub(super) async fn readable<'r>(visit: &Visit, now: Option<&'r Recommendation>) -> Result<Option<&'r Recommendation>> {
    let Some(now) = now else { return Ok(None) };
    let may = match (now.basis, now.safety.map(|safety| safety.source)) {
        (Basis::Decision(_), _) => visit.open_if::<Prescription, Read>().await?.is_some(),
        (Basis::Evaluation(_), Some(Source::Signed)) => visit.open_if::<Evaluation, Read>().await?.is_some(),
        (Basis::Evaluation(_), _) => visit.open_if::<Transcription, Read>().await?.is_some(),
    };
    Ok(may.then_some(now))
}

/// The facts that say something.
pub(super) fn stated<const N: usize>(all: [(&str, String); N]) -> Facts {
    all.iter().fold(part::facts::<&str, &str>(&[]), |facts, (term, value)| facts.fact(term, value))
}
