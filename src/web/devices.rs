//! A student's devices: what is recommended, what is on loan and until when,
//! and the own device.
//!
//! Whether a loan still stands for the recommendation is read off the track's
//! journey; nothing here decides it. Lending is in [`lend`], taking back in
//! [`give_back`], what arrived on a prescription in [`receipt`].

mod brought;
mod give_back;
mod lend;
mod receipt;

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;

use super::device_fields;
use super::error::Result;
use super::page::{Context, Page, Shell, shell_about};
use super::part::{self, Facts, Notice};
use super::pool::texts;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{steps, words};
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Evaluation, Loans, Prescription, Receipt, Training, Transcription};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::device::{Match, Warning, matches};
use crate::care::gates::safe_to_train;
use crate::care::journey::fact::Source;
use crate::care::journey::{Basis, Fit, Journey, Loan, OwnDevice, Recommendation, Standing};
use crate::care::loan::{LoanRecord, short_words};
use crate::care::track::{DeviceKind, Track};
use crate::store::own_device::Kept;
use crate::store::{journey, loan, own_device};

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
}

#[derive(Template)]
#[template(path = "devices/page.html")]
struct DevicesPage {
    shell: Shell,
    tracks: Vec<TrackPart>,
    cautions: Heeded,
    training: String,
}

/// One track of the page.
struct TrackPart {
    title: String,
    stage: String,
    notices: Vec<Notice>,
    recommended: Vec<Facts>,
    recommended_line: String,
    open: Vec<LoanPart>,
    past: part::Table,
    has_past: bool,
    own: Vec<OwnPart>,
    lend: String,
    receipt: String,
    brought: String,
}

struct LoanPart {
    title: String,
    status: part::Status,
    why: String,
    facts: Facts,
    give_back: String,
}

struct OwnPart {
    title: String,
    status: part::Status,
    why: String,
    facts: Facts,
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    let access = visit.open::<Loans, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let loans = loan::list(&mut snapshot, &access).await?;
    let own = own_device::list(&mut snapshot, &access).await?;
    drop(snapshot);
    let mut parts = Vec::new();
    let mut kinds = BTreeSet::new();
    for shown in visit.tracks() {
        let track = shown.journey.track;
        let whole = tracks.of(track);
        kinds.extend(whole.loans.iter().map(|loan| loan.spec.kind));
        kinds.extend(whole.own_devices.iter().map(|own| own.spec.kind));
        let readable = readable(&visit, shown.journey.recommendation.as_ref()).await?;
        let page = TrackPage { visit: &visit, context: &context, today, whole, readable };
        parts.push(page.part(&shown.journey, &loans, &own));
    }
    let page = DevicesPage {
        shell: shell_about(&context, &visit, "Devices"),
        tracks: parts,
        cautions: heeded(&kinds, Occasion::Loan),
        training: if visit.may::<Training, Read>() { visit.at("/training") } else { String::new() },
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

struct TrackPage<'a> {
    visit: &'a Visit,
    context: &'a Context,
    today: Date,
    /// The track with everything that happened on it.
    whole: &'a Journey,
    /// What this reader may read of the recommendation.
    readable: Option<&'a Recommendation>,
}

impl TrackPage<'_> {
    fn part(&self, shown: &Journey, loans: &[LoanRecord], own: &[Kept]) -> TrackPart {
        let track = self.whole.track;
        let of_track = |loan: &&LoanRecord| loan.entered.track == track;
        let (open, past): (Vec<_>, Vec<_>) = loans.iter().filter(of_track).partition(|loan| loan.returned_on.is_none());
        let may_lend = self.visit.may::<Loans, Create>();
        let gate = safe_to_train(self.whole);
        let mut notices = Vec::new();
        if may_lend && let Err(blocked) = &gate {
            let href = steps::address(self.visit.student(), blocked.first);
            notices.push(
                part::notice("plain", "No loan yet on this track", &blocked.to_string())
                    .link(&href, "Go to the step that comes first"),
            );
        }
        let receipt =
            shown.prescription.as_ref().filter(|_| self.visit.may::<Receipt, Create>()).map(|now| {
                self.visit.at(&format!("/devices/receipt/new?track={}&prescription={}", track.code(), now.id))
            });
        TrackPart {
            title: format!("{} track", words::capital(track.words())),
            stage: words::capital(shown.stage.words()),
            notices,
            recommended: self.recommended(),
            recommended_line: self.recommended_line(shown),
            open: open.into_iter().map(|loan| self.loan(loan)).collect(),
            has_past: !past.is_empty(),
            past: past_loans(track, &past),
            own: own.iter().filter(|own| own.track == track).map(|own| self.own(own)).collect(),
            lend: if may_lend && gate.is_ok() && !self.all_replaced() {
                self.visit.at(&format!("/devices/lend/{}", track.code()))
            } else {
                String::new()
            },
            receipt: receipt.unwrap_or_default(),
            brought: if self.visit.may::<Receipt, Create>() {
                self.visit.at(&format!("/devices/brought/{}", track.code()))
            } else {
                String::new()
            },
        }
    }

    /// Whether the own devices stand in for all that is recommended (G6).
    fn all_replaced(&self) -> bool {
        let mut wanted = self.whole.recommendation.iter().flat_map(|now| &now.devices).peekable();
        wanted.peek().is_some() && wanted.all(|device| self.whole.replacing(device.kind).next().is_some())
    }

    fn recommended(&self) -> Vec<Facts> {
        let Some(now) = self.readable else { return Vec::new() };
        now.devices
            .iter()
            .map(|device| {
                let named = crate::care::named_device::NamedDevice::of(device.clone());
                part::facts(&device_fields::facts(&named, self.context))
            })
            .collect()
    }

    fn recommended_line(&self, shown: &Journey) -> String {
        match (&shown.recommendation, self.readable) {
            (Some(now), Some(_)) => {
                let from = match now.basis {
                    Basis::Decision(_) => "a clinician\u{2019}s decision",
                    Basis::Evaluation(_) if now.keeps_own => "an evaluation: keep the own device",
                    Basis::Evaluation(_) => "an evaluation",
                };
                let confirmed = match now.safety.map(|safety| safety.source) {
                    Some(Source::Transcribed) => " Transcribed, not confirmed.",
                    _ => "",
                };
                let any = if now.devices.len() > 1 { " Any of these will do." } else { "" };
                format!("In force since {}, from {from}.{confirmed}{any}", words::date(now.since))
            }
            (Some(now), None) => format!("A recommendation is in force since {}.", words::date(now.since)),
            (None, _) => "No recommendation is in force on this track.".to_owned(),
        }
    }

    fn loan(&self, record: &LoanRecord) -> LoanPart {
        let entered = &record.entered;
        let derived = self.whole.loans.iter().find(|loan| loan.id == record.id);
        let (status, why) = self.standing(record, derived);
        let due = derived.and_then(|loan| loan.due).map_or(entered.due_on, |due| due.min(entered.due_on));
        let late = if due < self.today { format!("{} (overdue)", words::date(due)) } else { words::date(due) };
        let yes_no = |yes: bool| if yes { "yes" } else { "no" };
        let kept: Vec<&str> = record.warnings.iter().map(|warning: &Warning| warning.words()).collect();
        LoanPart {
            title: format!("{}, {}", record.tag, short_words(&record.spec)),
            status,
            why,
            facts: stated([
                ("Lent on", words::date(entered.lent_on)),
                ("Due back", late),
                ("Eye", entered.eye.words().to_owned()),
                ("Purpose", entered.purpose.words().to_owned()),
                ("Kept by", entered.held_by.words().to_owned()),
                ("Home use", yes_no(entered.home_use).to_owned()),
                ("Agreed by", entered.agreement_by.words().to_owned()),
                ("Condition", entered.condition_out.words().to_owned()),
                ("Strap", yes_no(entered.strap).to_owned()),
                ("Case", yes_no(entered.carry_case).to_owned()),
                ("Known when it was lent", kept.join("; ")),
                ("Entered by", record.entered_by.clone()),
            ]),
            give_back: if self.visit.may::<Loans, Edit>() {
                self.visit.at(&format!("/devices/return/{}", record.id))
            } else {
                String::new()
            },
        }
    }

    /// Whether a loan still stands for what is recommended, and why not.
    fn standing(&self, record: &LoanRecord, derived: Option<&Loan>) -> (part::Status, String) {
        let Some(loan) = derived else {
            return (part::status("Not in use yet", "plain"), "It goes out on a later day.".to_owned());
        };
        if let Some(replaced) = loan.replaced {
            let due = loan.due.map(words::date).unwrap_or_default();
            let why = format!(
                "The own device takes its place. Entries after {} do not name this loan. It is due back by {due}.",
                words::date(replaced.since)
            );
            return (part::status("Own device instead", "caution"), why);
        }
        match loan.fit {
            Fit::Recommended => (part::status("Matches the recommendation", "good"), String::new()),
            Fit::Allowed(_) => (part::status("Allowed by a clinician", "good"), String::new()),
            Fit::Repair(_) => (part::status("Covers a repair", "good"), "The own device is being repaired.".to_owned()),
            Fit::Not => (part::status("Does not match now", "stop"), self.why_not(record)),
        }
    }

    fn why_not(&self, record: &LoanRecord) -> String {
        let end = "It is due back and takes no session.";
        let Some(now) = self.readable else {
            return format!("It no longer stands for what is recommended. {end}");
        };
        let nearest = now
            .devices
            .iter()
            .filter_map(|wanted| match matches(self.whole.track, wanted, &record.spec, &[]) {
                Match::Differs(parts) => Some(parts),
                Match::Matches(_) => None,
            })
            .min_by_key(Vec::len);
        match nearest {
            Some(parts) => {
                let parts: Vec<&str> = parts.iter().map(|part| part.words()).collect();
                format!("Against the recommendation: {}. {end}", parts.join("; "))
            }
            None => format!("No device is recommended now. {end}"),
        }
    }

    fn own(&self, kept: &Kept) -> OwnPart {
        let derived = self.whole.own_devices.iter().find(|own| own.id == kept.id);
        let (status, why) = own_standing(self.whole, derived, kept);
        let mut facts = part::facts(&device_fields::facts(&kept.device, self.context));
        facts = facts
            .fact("Serial number or tag", &kept.tag)
            .fact("Received on", &words::date(kept.received_on))
            .fact("Received by", &kept.received_by)
            .fact("Condition then", kept.condition.words())
            .fact("Entered by", &kept.entered_by);
        OwnPart { title: short_words(&kept.device.spec), status, why, facts }
    }
}

/// The facts that say something.
pub(super) fn stated<const N: usize>(all: [(&str, String); N]) -> Facts {
    all.iter().fold(part::facts::<&str, &str>(&[]), |facts, (term, value)| facts.fact(term, value))
}

fn own_standing(journey: &Journey, derived: Option<&OwnDevice>, kept: &Kept) -> (part::Status, String) {
    match derived.map(|own| own.standing) {
        Some(Standing::InForce(since)) => {
            let loans: Vec<Date> =
                journey.open_loans().filter(|loan| loan.replaced.is_some()).filter_map(|loan| loan.due).collect();
            let due =
                loans.iter().min().map(|due| format!(" Loans it replaces are due back by {}.", words::date(*due)));
            let ground = if kept.prescription.is_some() { "As prescribed" } else { "Kept, as an evaluation says" };
            let why = format!(
                "{ground}. From {} it is the device of this track: later entries name it, or no device.{}",
                words::date(since),
                due.unwrap_or_default()
            );
            (part::status("Own device in force", "good"), why)
        }
        Some(Standing::Mismatch) => {
            let parts: Vec<&str> = kept.differs.iter().map(|part| part.words()).collect();
            let why = format!(
                "Not as prescribed: {}. It waits for the clinician to settle this. Until then it is not used, and the loan stays.",
                parts.join("; ")
            );
            (part::status("Waits for the clinician", "waiting"), why)
        }
        Some(Standing::Refused) => (part::status("Refused by the clinician", "stop"), "It is not used.".to_owned()),
        Some(Standing::Held) => {
            (part::status("Not in force", "plain"), "Something else is prescribed or recommended now.".to_owned())
        }
        None => (part::status("Not yet", "plain"), "It counts from the day it was received.".to_owned()),
    }
}

fn past_loans(track: Track, past: &[&LoanRecord]) -> part::Table {
    let mut table = part::table(&format!("Loans that came back, {} track", track.words()))
        .column("Device")
        .column("Lent")
        .column("Came back")
        .column("Condition")
        .none("No loan has come back yet.");
    for loan in past {
        table.push([
            format!("{}, {}", loan.tag, short_words(&loan.spec)),
            words::date(loan.entered.lent_on),
            loan.returned_on.map(words::date).unwrap_or_default(),
            loan.condition_in.map_or("", |condition| condition.words()).to_owned(),
        ]);
    }
    table
}
