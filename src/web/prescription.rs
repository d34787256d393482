//! Prescriptions and the decisions behind them: the list, a draft, and the
//! document as signed.
//!
//! A draft starts from the decision and the newest evaluation and is kept as
//! typed. Read next: `fields.rs` for reading the form, `signing.rs` for G8 and
//! the signature, `view.rs` for the document itself.

mod correct;
mod fields;
mod signing;
mod view;

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::correct::{AfterView, acts};
use super::error::{Both, Error, Result};
use super::form::{Entry, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::review::{DecisionView, decision_view};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{device_fields, part, pdf, stale, words};
use crate::access::Access;
use crate::access::action::{Create, Edit, Export, Read};
use crate::access::resource::{Evaluation, Prescription as Row};
use crate::care::evaluation::{PrismBase, Refraction};
use crate::care::gates::{Evidence, may_finalise};
use crate::care::ids::PrescriptionId;
use crate::care::named_device::NamedDevice;
use crate::care::prescription::{Contents, Prescription, State as At, usual_expiry, usual_limits};
use crate::care::track::Track;
use crate::pdf::Room;
use crate::store::journey::Tracks;
use crate::store::prescription::{self, Basis};
use crate::store::{Audit, Snapshot, StoreError, Tx, decision, evaluation, journey};
use view::{DocumentView, document};

/// The routes of prescriptions.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/prescription", list)
        .post("/students/{student}/prescription", begin)
        .get("/students/{student}/prescription/{record}", page)
        .post("/students/{student}/prescription/{record}", save)
        .get("/students/{student}/prescription/{record}/preview", signing::preview)
        .post("/students/{student}/prescription/{record}/sign", signing::sign)
        .get("/students/{student}/prescription/{record}/print", print)
        .get("/students/{student}/prescription/{record}/paper.pdf", on_paper)
        .get("/students/{student}/prescription/{record}/correct", acts::page::<Prescription>)
        .post("/students/{student}/prescription/{record}/amend", acts::amend::<Prescription>)
        .post("/students/{student}/prescription/{record}/supersede", correct::supersede)
        .post("/students/{student}/prescription/{record}/cancel", acts::cancel::<Prescription>)
        .post("/students/{student}/prescription/{record}/error", acts::error::<Prescription>)
        .get("/students/{student}/prescription/{record}/discard", correct::discard_page)
        .post("/students/{student}/prescription/{record}/discard", correct::discard)
}

#[derive(Template)]
#[template(path = "prescription/list.html")]
struct ListPage {
    shell: Shell,
    lines: Vec<Line>,
    decisions: Vec<DecisionView>,
    base: String,
    form: Option<FormView>,
    action: String,
    finalised: Option<part::Notice>,
}

struct Line {
    href: String,
    title: String,
    state: part::Status,
    by: String,
}

fn line(visit: &Visit, one: &Prescription) -> Line {
    let shape = match one.state {
        At::Draft => "now",
        At::Active => "done",
        At::Superseded | At::Cancelled | At::EnteredInError => "plain",
    };
    let by = match one.written_on {
        Some(day) => format!("Signed {}. {}", words::date(day), one.prescriber_line),
        None => format!("Begun by {}", one.by),
    };
    Line {
        href: visit.at(&format!("/prescription/{}", one.id)),
        title: format!("Prescription {}", one.number),
        state: part::status(&words::capital(one.state.words()), shape),
        by,
    }
}

async fn list(State(app): State<App>, context: Context, visit: Visit, access: Access<Row, Read>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let all = prescription::list(&mut snapshot, &access).await?;
    let made = decision::list(&mut snapshot, &access).await?;
    let may_begin = visit.may::<Row, Create>();
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let waiting: Vec<String> = finalising(&tracks).map(|track| format!("{} track", track.words())).collect();
    let finalised = (may_begin && !waiting.is_empty()).then(|| {
        let words = format!("Waiting for your signature: {}.", words::list(&waiting));
        part::notice("plain", "Decided: finalise", &words)
    });
    let page = ListPage {
        shell: shell_about(&context, &visit, "Prescription"),
        lines: all.iter().map(|one| line(&visit, one)).collect(),
        decisions: made.iter().map(|made| decision_view(made, &context)).collect(),
        base: visit.at(""),
        form: may_begin.then(|| FormView::blank(&context)),
        action: visit.at("/prescription"),
        finalised,
    };
    Ok(Page(page).into_response())
}

/// The tracks whose decision to finalise waits for a signature.
fn finalising(tracks: &Tracks) -> impl Iterator<Item = Track> {
    Track::ALL
        .iter()
        .copied()
        .filter(|track| tracks.of(*track).with_clinician.is_some_and(|with| with.finalising.is_some()))
}

/// What a new draft starts from.
async fn started(
    snapshot: &mut Snapshot,
    creating: &Access<Row, Create>,
    reading: &Access<Row, Read>,
    evaluations: Option<&Access<Evaluation, Read>>,
) -> Result<(Basis, Contents)> {
    let today = snapshot.today();
    let tracks = journey::tracks(snapshot, creating).await?;
    let made = decision::list(snapshot, reading).await?;
    let decided: BTreeMap<Track, &decision::Decision> = finalising(&tracks)
        .filter_map(|track| {
            let id = tracks.of(track).with_clinician?.finalising?;
            Some((track, made.iter().find(|one| one.id == id)?))
        })
        .collect();
    let devices: BTreeMap<Track, Vec<NamedDevice>> = if decided.is_empty() {
        decision::candidates(snapshot, creating, &tracks).await?
    } else {
        decided.iter().map(|(track, one)| (*track, one.devices.clone())).collect()
    };
    let found = match evaluations {
        Some(access) => evaluation::newest(snapshot, access).await?,
        None => None,
    };
    let (evaluation, mut lighting, mut seating, due) = match &found {
        Some(found) => (
            Some(found.id),
            found.findings.lighting_advice.clone(),
            found.findings.seating_advice.clone(),
            found.next_due_on.filter(|day| *day > today),
        ),
        None => (None, String::new(), String::new(), None),
    };
    for one in decided.values() {
        let (light, seat) = advised(one);
        lighting = [vec![lighting], light].concat().join("\n").trim().to_owned();
        seating = [vec![seating], seat].concat().join("\n").trim().to_owned();
    }
    let next = decided.values().filter_map(|one| one.next_on).min();
    let contents = Contents {
        right: found.as_ref().and_then(|found| found.right.clone()),
        left: found.as_ref().and_then(|found| found.left.clone()),
        lens_note: String::new(),
        limits: usual_limits(devices.values().flatten()),
        devices,
        lighting,
        seating,
        no_summary_reason: decided
            .values()
            .map(|one| one.no_summary_reason.clone())
            .find(|why| !why.is_empty())
            .unwrap_or_default(),
        review_on: next.or(due),
        expires_on: Some(usual_expiry(today)),
    };
    Ok((Basis { evaluation, decision: decided.values().map(|one| one.id).next() }, contents))
}

/// What a decision names of light, and of seat and print, a line each.
fn advised(made: &decision::Decision) -> (Vec<String>, Vec<String>) {
    let (mut light, mut seat) = (Vec::new(), Vec::new());
    light.extend(made.material.light.map(|level| format!("Light: {}", level.words())));
    if !made.material.filter.is_empty() {
        light.push(format!("Filter: {}", made.material.filter));
    }
    seat.extend(made.seat.as_ref().map(|seat| format!("Seat: {}", seat.typed)));
    seat.extend(
        made.material.x_height.as_ref().map(|height| format!("Small letters (like a, e, o): {}", height.typed)),
    );
    seat.extend(made.material.contrast.map(|contrast| format!("Contrast: {}", contrast.words())));
    (light, seat)
}

/// Begins a draft from the decisions that wait for a signature and the newest
/// evaluation; none when a draft is in hand.
pub(super) async fn begin_from(
    tx: &mut Tx,
    access: &Access<Row, Create>,
    reading: &Access<Row, Read>,
    evaluations: Option<&Access<Evaluation, Read>>,
) -> Result<Option<PrescriptionId>> {
    let all = prescription::list(tx, reading).await?;
    if all.iter().any(|one| one.state == At::Draft) {
        return Ok(None);
    }
    let (basis, contents) = started(tx, access, reading, evaluations).await?;
    let entry = fields::fill(&contents);
    let pairs: Vec<(String, String)> = entry.iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect();
    let id = prescription::begin(tx, access, basis, &contents, &pairs).await?;
    tx.also(Audit::by(access).record(id)).await?;
    Ok(Some(id))
}

async fn begin(State(app): State<App>, visit: Visit, access: Access<Row, Create>, posted: Posted) -> Result<Response> {
    let reading: Access<Row, Read> = visit.open().await?;
    let evaluations: Option<Access<Evaluation, Read>> = visit.open_if().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let all = prescription::list(&mut tx, &reading).await?;
    if let Some(draft) = all.iter().find(|one| one.state == At::Draft) {
        return Ok(Redirect::to(&visit.at(&format!("/prescription/{}", draft.id))).into_response());
    }
    let (basis, contents) = started(&mut tx, &access, &reading, evaluations.as_ref()).await?;
    let entry = fields::fill(&contents);
    let pairs: Vec<(String, String)> = entry.iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect();
    let id = prescription::begin(&mut tx, &access, basis, &contents, &pairs).await?;
    let location = visit.at(&format!("/prescription/{id}"));
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

#[derive(Template)]
#[template(path = "prescription/draft.html")]
struct DraftPage {
    shell: Shell,
    crumbs: part::Crumbs,
    number: String,
    form: FormView,
    action: String,
    preview: String,
    discard: Option<String>,
    replaces: Option<part::Notice>,
    eyes: Vec<EyeFields>,
    how: Option<part::How>,
    tracks: Vec<TrackFields>,
    cautions: part::Cautions,
}

struct EyeFields {
    title: &'static str,
    fields: Vec<part::Field>,
    /// The lens as saved, in its other form too; empty, none was saved.
    saved: String,
    confirm: Option<part::Choice>,
}

struct TrackFields {
    title: String,
    of: &'static str,
    evidence: String,
    covered: bool,
    first: device_fields::DeviceFields,
    second: device_fields::DeviceFields,
    first_open: bool,
    second_open: bool,
}

/// What G8 says of the devices a draft names on a track now, in words.
fn evidence(tracks: &Tracks, track: Track, devices: &[NamedDevice]) -> (bool, String) {
    let specs: Vec<_> = devices.iter().map(|device| device.spec.clone()).collect();
    match may_finalise(tracks.of(track), &specs, None) {
        Ok(may) => match may.evidence() {
            Evidence::LensesAlone => (true, "No device of this track is named.".to_owned()),
            _ => (true, "A training summary covers it.".to_owned()),
        },
        Err(blocked) => (false, blocked.message),
    }
}

fn draft_page(
    context: &Context,
    visit: &Visit,
    draft: &Prescription,
    tracks: &Tracks,
    form: Option<FormView>,
) -> DraftPage {
    // Beside what came back with a fault, what was saved would be another lens.
    let lenses = if form.is_none() { view::eyes(&draft.contents) } else { Vec::new() };
    let form = form.unwrap_or_else(|| {
        let entry: Entry = draft.entry.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        FormView::filled(context, entry).at_version(draft.version)
    });
    let here = visit.at(&format!("/prescription/{}", draft.id));
    DraftPage {
        shell: shell_about(context, visit, "Prescription, draft").of_form(&form),
        crumbs: part::crumbs(&[(visit.at("/prescription"), "Prescription".to_owned())]),
        number: draft.number.clone(),
        action: here.clone(),
        preview: format!("{here}/preview"),
        discard: (draft.author == visit.actor().account).then(|| format!("{here}/discard")),
        replaces: draft.supersedes.map(|old| {
            let said = "It starts as a copy of the one in force. Once this is signed, that one is superseded.";
            part::notice("plain", "This will take the place of a prescription in force", said)
                .link(&visit.at(&format!("/prescription/{old}")), "Open the one in force")
        }),
        eyes: fields::EYES.iter().map(|eye| eye_fields(&form, *eye, &lenses)).collect(),
        how: (!lenses.is_empty()).then(|| view::how(&lenses)),
        tracks: Track::ALL.iter().map(|track| track_fields(&form, draft, tracks, *track)).collect(),
        cautions: view::cautions(&draft.contents),
        form,
    }
}

fn eye_fields(
    form: &FormView,
    (prefix, title, of): (&'static str, &'static str, &'static str),
    lenses: &[(&str, &Refraction)],
) -> EyeFields {
    let at = |name: &str| format!("{prefix}{name}");
    let label = |what: &str, unit: &str| format!("{what}, {of}{unit}");
    EyeFields {
        title,
        fields: vec![
            form.decimal(&at("sphere"), &label("Sphere", " (D)")).hint("For example -2.25, +1.00 or plano").optional(),
            form.decimal(&at("cylinder"), &label("Cylinder", " (D)")).hint("Either form, with its sign").optional(),
            form.whole(&at("axis"), &label("Axis", " (degrees)")).hint("1 to 180; 0 is kept as 180").optional(),
            form.decimal(&at("add"), &label("Near addition", " (D)")).optional(),
            form.decimal(&at("prism"), &label("Prism", " (prism D)")).optional(),
            form.select(&at("base"), &label("Base", ""), &words::options!(PrismBase)).blank("No prism").optional(),
        ],
        saved: lenses
            .iter()
            .find(|(eye, _)| *eye == title)
            .map(|(_, found)| view::both_forms(found))
            .unwrap_or_default(),
        confirm: super::confirm::tick(form, &at("confirmed")),
    }
}

fn track_fields(form: &FormView, draft: &Prescription, tracks: &Tracks, track: Track) -> TrackFields {
    let (first, second) = fields::prefixes(track);
    let devices = draft.contents.devices.get(&track).map_or(&[][..], Vec::as_slice);
    let (covered, evidence) = evidence(tracks, track, devices);
    let open = |prefix: &str| {
        form.entry.iter().any(|(name, value)| name.starts_with(prefix) && !value.is_empty())
            || form.faults.iter().any(|(name, _)| name.starts_with(prefix))
    };
    TrackFields {
        title: format!("{} track", words::capital(track.words())),
        of: track.words(),
        evidence,
        covered,
        first_open: open(first),
        second_open: open(second),
        first: device_fields::fields(form, first),
        second: device_fields::fields(form, second),
    }
}

#[derive(Template)]
#[template(path = "prescription/page.html")]
struct SignedPage {
    shell: Shell,
    crumbs: Option<part::Crumbs>,
    after: AfterView,
    document: DocumentView,
    print: String,
    pdf: pdf::Links,
}

fn signed_page(
    context: &Context,
    visit: &Visit,
    one: &Prescription,
    after: AfterView,
    printed: Option<&Access<Row, Export>>,
) -> SignedPage {
    let printed = printed.is_some();
    let may_print = one.signed_at.is_some() && !printed && visit.may::<Row, Export>();
    SignedPage {
        shell: shell_about(context, visit, format!("Prescription {}", one.number)),
        crumbs: (!printed).then(|| part::crumbs(&[(visit.at("/prescription"), "Prescription".to_owned())])),
        after: if printed { after.correct_at(None) } else { after },
        document: document(one, visit, context),
        print: if may_print { visit.at(&format!("/prescription/{}/print", one.id)) } else { String::new() },
        pdf: if may_print {
            pdf::links(&visit.at(&format!("/prescription/{}/paper.pdf", one.id)))
        } else {
            pdf::Links::default()
        },
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let one = prescription::one(&mut snapshot, &access, id).await?;
    if one.state == At::Draft && visit.may::<Row, Edit>() {
        let tracks = journey::tracks(&mut snapshot, &access).await?;
        return Ok(Page(draft_page(&context, &visit, &one, &tracks, None)).into_response());
    }
    let after = acts::shown(&mut snapshot, (&context, &visit), &access, &one).await?;
    Ok(Page(signed_page(&context, &visit, &one, after, None)).into_response())
}

async fn print(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Export>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    Ok(Page(printed(&app, &context, &visit, &access, id).await?).into_response())
}

async fn on_paper(
    State(app): State<App>,
    paper: pdf::Paper<Row>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, id).await?;
    paper.answer(&page, Room::Open).await
}

/// The page as it is printed; only what was signed is.
pub(super) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Row, Export>,
    id: PrescriptionId,
) -> Result<impl Template> {
    let mut snapshot = app.store.snapshot().await?;
    let one = prescription::one(&mut snapshot, access, id).await?;
    if one.signed_at.is_none() {
        return Err(Error::Hidden);
    }
    let after = acts::shown(&mut snapshot, (context, visit), &access.read(), &one).await?;
    Ok(signed_page(context, visit, &one, after, Some(access)))
}

/// The draft of that id; a signed document has no form.
async fn draft(snapshot: &mut Snapshot, access: &Access<Row, Read>, id: PrescriptionId) -> Result<Prescription> {
    let one = prescription::one(snapshot, access, id).await?;
    if one.state == At::Draft { Ok(one) } else { Err(Error::Hidden) }
}

async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<PrescriptionId>,
    posted: Posted,
) -> Result<Response> {
    let reading = access.read();
    let today = app.store.clock().today();
    let contents = match fields::read(&posted.entry, today) {
        Ok(contents) => contents,
        Err(faults) => {
            let mut snapshot = app.store.snapshot().await?;
            let saved = draft(&mut snapshot, &reading, id).await?;
            let tracks = journey::tracks(&mut snapshot, &reading).await?;
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(draft_page(&context, &visit, &saved, &tracks, Some(form))).into_response());
        }
    };
    let typed: Vec<(String, String)> = posted
        .entry
        .iter()
        .filter(|(name, _)| *name != "then")
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect();
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let saved = draft(&mut tx, &reading, id).await?;
    let here = visit.at(&format!("/prescription/{id}"));
    match prescription::change(&mut tx, &access, (id, posted.version.unwrap_or(0)), &contents, &typed).await {
        Ok(()) => {}
        Err(StoreError::Stale) => {
            let both = both(here, &saved, &typed);
            return Err(stale::error(&mut tx, &access, (id, saved.version), both).await?);
        }
        Err(error) => return Err(error.into()),
    }
    let next = if posted.entry.get("then") == "preview" { format!("{here}/preview") } else { here };
    tx.commit_at(Audit::by(&access).record(id), &next).await?;
    Ok(Redirect::to(&next).into_response())
}

/// What stands in the draft and what was sent, where they differ.
fn both(back: String, saved: &Prescription, sent: &[(String, String)]) -> Both {
    let value = |pairs: &[(String, String)], name: &str| {
        pairs.iter().find(|(one, _)| one == name).map_or_else(String::new, |(_, value)| value.replace("\r\n", "\n"))
    };
    let mut names: Vec<&String> = saved.entry.iter().chain(sent).map(|(name, _)| name).collect();
    names.sort();
    names.dedup();
    let rows = names
        .into_iter()
        .map(|name| (fields::label(name), value(&saved.entry, name), value(sent, name)))
        .filter(|(_, theirs, yours)| theirs.trim() != yours.trim())
        .collect();
    Both { back, rows }
}
