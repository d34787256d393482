//! What a new draft starts from: the decisions that wait for a signature, the
//! lenses of the newest evaluation, and what both advise.

use std::collections::BTreeMap;

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{fields, finalising};
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{Evaluation, Prescription as Row};
use crate::care::ids::PrescriptionId;
use crate::care::named_device::NamedDevice;
use crate::care::prescription::{Contents, State as At, usual_expiry, usual_limits};
use crate::care::track::Track;
use crate::store::prescription::{self, Basis};
use crate::store::{Audit, Snapshot, Tx, decision, evaluation, journey};
use crate::web::error::Result;
use crate::web::form::Posted;
use crate::web::state::App;
use crate::web::visit::Visit;

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
/// evaluation; none when a draft is in hand. Gives where it is gone on with: what
/// lacks nothing is read as it would be signed, anything else is written first.
pub(in crate::web) async fn begin_from(
    tx: &mut Tx,
    access: &Access<Row, Create>,
    reading: &Access<Row, Read>,
    evaluations: Option<&Access<Evaluation, Read>>,
) -> Result<Option<String>> {
    let all = prescription::list(tx, reading).await?;
    if all.iter().any(|one| one.state == At::Draft) {
        return Ok(None);
    }
    let (id, contents) = start(tx, access, reading, evaluations).await?;
    tx.also(Audit::by(access).record(id)).await?;
    let whole = contents.missing().is_empty();
    Ok(Some(if whole { format!("/prescription/{id}/preview") } else { format!("/prescription/{id}") }))
}

/// Stores a new draft; gives what it says.
async fn start(
    tx: &mut Tx,
    access: &Access<Row, Create>,
    reading: &Access<Row, Read>,
    evaluations: Option<&Access<Evaluation, Read>>,
) -> Result<(PrescriptionId, Contents)> {
    let (basis, contents) = started(tx, access, reading, evaluations).await?;
    let entry = fields::fill(&contents);
    let pairs: Vec<(String, String)> = entry.iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect();
    let id = prescription::begin(tx, access, basis, &contents, &pairs).await?;
    Ok((id, contents))
}

/// Begins a draft, or opens the one in hand.
pub(super) async fn begin(
    State(app): State<App>,
    visit: Visit,
    access: Access<Row, Create>,
    posted: Posted,
) -> Result<Response> {
    let reading: Access<Row, Read> = visit.open().await?;
    let evaluations: Option<Access<Evaluation, Read>> = visit.open_if().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let all = prescription::list(&mut tx, &reading).await?;
    if let Some(draft) = all.iter().find(|one| one.state == At::Draft) {
        return Ok(Redirect::to(&visit.at(&format!("/prescription/{}", draft.id))).into_response());
    }
    let (id, _) = start(&mut tx, &access, &reading, evaluations.as_ref()).await?;
    let location = visit.at(&format!("/prescription/{id}"));
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
