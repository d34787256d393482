//! Asking the clinician to allow a device that does not match what is
//! recommended (G4). The question goes into the thread and waits on this page.

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};

use super::track::recommended_facts;
use crate::access::action::{Create, Read};
use crate::access::resource::{Loans, Pool, Thread};
use crate::access::{Office, Role};
use crate::care::device_words;
use crate::care::gates::{SafeToTrain, another_device, safe_to_train};
use crate::care::ids::DeviceId;
use crate::care::journey::Journey;
use crate::care::loan::short_words;
use crate::care::track::{Eye, Track};
use crate::store::post::NewPost;
use crate::store::{Audit, Snapshot, StoreError, allowance, journey, pool, post};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::error::Result;
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Word;
use crate::web::part::Facts;
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "devices/ask.html")]
struct AskPage {
    shell: Shell,
    back: String,
    action: String,
    track: &'static str,
    recommended: Vec<Facts>,
    others: Vec<(String, String)>,
    form: FormView,
}

/// A pool device as G4 compares it for this student: with the eye it is made
/// for, or the recommended one.
pub(super) fn for_this_eye(journey: &Journey, device: &pool::Kept) -> crate::care::gates::PoolDevice {
    let own = device.entered.device.spec.eye.filter(|own| *own != Eye::Either);
    let wanted = journey.recommendation.iter().flat_map(|now| &now.devices).find_map(|device| device.eye);
    device.for_gate(own.or(wanted).unwrap_or(Eye::Either))
}

async fn build(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    office: &Office<Pool, Read>,
    (journey, safe): (&Journey, SafeToTrain),
    form: FormView,
) -> Result<AskPage> {
    let track = journey.track;
    let mut others = Vec::new();
    for device in pool::list(snapshot, office).await? {
        if let Ok(another) = another_device(journey, safe, &for_this_eye(journey, &device), None) {
            let parts: Vec<&str> = another.differs().iter().map(|part| part.words()).collect();
            let words = short_words(&device.entered.device.spec);
            let id = device.id.to_string();
            others.push((id, format!("{}, {words}: {}", device.entered.tag, parts.join("; "))));
        }
    }
    Ok(AskPage {
        shell: shell_about(context, visit, "Ask about another device").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/ask/{}", track.code())),
        track: track.words(),
        recommended: recommended_facts(super::readable(visit, journey.recommendation.as_ref()).await?, context),
        others,
        form,
    })
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    office: Office<Pool, Read>,
    Word(track): Word<Track>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    visit.open::<Thread, Create>().await?;
    let access = visit.open::<Loans, Create>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let journey = tracks.of(track);
    let safe = safe_to_train(journey).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let asked = Entry::of_query(query.as_deref());
    let form = FormView::filled(&context, Entry::default().with("device", asked.get("device")));
    let page = build(&mut snapshot, (&context, &visit), &office, (journey, safe), form).await?;
    Ok(Page(page).into_response())
}

fn wanted(entry: &Entry) -> std::result::Result<(DeviceId, String), Faults> {
    let mut check = Check::new(entry);
    let device = check.code::<DeviceId>("device", "Device");
    let reason = check.text("reason", "Why this device", LONG_TEXT);
    check.build(|| Some((device?, reason)))
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    office: Office<Pool, Read>,
    Word(track): Word<Track>,
    posted: Posted,
) -> Result<Response> {
    let blocked = |blocked| steps::blocked(visit.student(), blocked);
    let thread = visit.open::<Thread, Create>().await?;
    let access = visit.open::<Loans, Create>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let tracks = journey::tracks(&mut tx, &access).await?;
    let journey = tracks.of(track);
    let safe = safe_to_train(journey).map_err(blocked)?;
    let faults = match wanted(&posted.entry) {
        Ok((device, reason)) => {
            let device = pool::one(&mut tx, &office, device).await?;
            let another = another_device(journey, safe, &for_this_eye(journey, &device), None).map_err(blocked)?;
            let question = question(&device, &another, &reason);
            let post = post::write(&mut tx, &thread, &NewPost::Question(Role::Clinician, question)).await?;
            match allowance::ask(&mut tx, &access, &another, &reason, post).await {
                Ok(id) => {
                    let location = visit.at("/devices");
                    tx.also(Audit::by(&thread).record(post)).await?;
                    tx.commit_at(Audit::by(&access).doing("ask about a device").record(id), &location).await?;
                    return Ok(Redirect::to(&location).into_response());
                }
                // Nothing was kept: the transaction ends here.
                Err(StoreError::Taken) => None,
                Err(error) => return Err(error.into()),
            }
        }
        Err(faults) => Some(faults),
    };
    drop(tx);
    let faults = faults.unwrap_or_else(|| {
        Faults::one(
            "device",
            "The clinician was asked about this device, and the question is open. Wait for the answer.",
        )
    });
    let mut snapshot = app.store.snapshot().await?;
    let form = FormView::again(&context, &posted, faults);
    let page = build(&mut snapshot, (&context, &visit), &office, (journey, safe), form).await?;
    Ok(Again(page).into_response())
}

/// The question as it stands in the thread: the device, how it differs, why.
fn question(device: &pool::Kept, another: &crate::care::gates::AnotherDevice, reason: &str) -> String {
    let parts: Vec<&str> = another.differs().iter().map(|part| part.words()).collect();
    format!(
        "May {} be lent on the {} track? It is a {}. Against the recommendation: {}. Why: {reason}\nIt is compared and \
         answered under Devices.",
        device.entered.tag,
        another.track().words(),
        device_words::line(&device.entered.device.spec),
        parts.join("; "),
    )
}
