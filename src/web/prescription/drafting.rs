//! A draft as its form: every field as typed, each lens in its other form, and
//! what G8 says of each track; and its saving.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{draft, fields, view};
use crate::access::Access;
use crate::access::action::Edit;
use crate::access::resource::Prescription as Row;
use crate::care::evaluation::{PrismBase, Refraction};
use crate::care::gates::{Evidence, may_finalise};
use crate::care::ids::PrescriptionId;
use crate::care::named_device::NamedDevice;
use crate::care::prescription::Prescription;
use crate::care::track::Track;
use crate::store::journey::Tracks;
use crate::store::{Audit, StoreError, journey, prescription};
use crate::web::error::{Both, Result};
use crate::web::form::{Entry, FormView, Posted};
use crate::web::page::{Again, Context, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::{confirm, device_fields, part, stale, words};

#[derive(Template)]
#[template(path = "prescription/draft.html")]
pub(super) struct DraftPage {
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

/// The page of a draft; with the form that came back, if one did.
pub(super) fn draft_page(
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
        cautions: view::cautions_of(draft.contents.devices.values().flatten()),
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
        confirm: confirm::tick(form, &at("confirmed")),
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

/// Saves a draft, and goes on to its preview where that was asked for.
pub(super) async fn save(
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
