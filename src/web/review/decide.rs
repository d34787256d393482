//! Reading and signing a decision.
//!
//! Only the fields of the choice that was made are read; what stands in the
//! others is kept on the page and not stored. Seat and material may be named with
//! every choice that changes something. Finalising takes the token of G8, and
//! begins the draft of the prescription at once.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::{FIRST, SECOND, build};
use crate::access::Access;
use crate::access::action::{Create, Read, Sign};
use crate::access::resource::{Evaluation, Prescription as Row};
use crate::care::gates::may_finalise;
use crate::care::ids::{DecisionId, SummaryId};
use crate::care::journey::fact::Choice;
use crate::care::named_device::NamedDevice;
use crate::care::track::Track;
use crate::care::typed::Typed;
use crate::store::decision::{self, Besides, Decided, Material, NewDecision};
use crate::store::{Audit, StoreError, account, journey};
use crate::web::account::wrong_password;
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::device_fields;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context};
use crate::web::params::Word;
use crate::web::prescription::begin_from;
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;

/// What was chosen, before the gate.
enum Chosen {
    Plain(Decided),
    Finalise(Vec<NamedDevice>, String),
}

struct Checked {
    chosen: Chosen,
    besides: Besides,
    reason: String,
    next_on: Option<Date>,
    summary: Option<SummaryId>,
    supersedes: Option<(DecisionId, String)>,
}

/// How far a seat may be, in metres.
const SEATS: std::ops::RangeInclusive<f64> = 0.3..=30.0;

/// Choices that name no day to look again when they end the lap.
const fn ends(choice: Choice) -> bool {
    matches!(choice, Choice::Stop | Choice::Finalise)
}

fn checked(
    entry: &Entry,
    track: Track,
    today: Date,
    candidates: &[NamedDevice],
) -> std::result::Result<Checked, Faults> {
    let mut check = Check::new(entry);
    let choice = check.code::<Choice>("choice", "Decision");
    let chosen = choice.and_then(|choice| chosen(&mut check, choice, track, candidates));
    let besides = choice.map(|choice| besides(&mut check, choice)).unwrap_or_default();
    let reason = check.text("reason", "Reason", LONG_TEXT);
    let days = today..=today.saturating_add(3.years());
    let next_on = match choice {
        Some(choice) if ends(choice) => check.opt_date("next_on", "Next look", days),
        _ => check.date("next_on", "Next look", days),
    };
    // Hidden in the form: what is no summary's id is not the one that lies here,
    // and is answered as one that was sent meanwhile.
    let summary: Option<SummaryId> = check.typed("summary").parse().ok();
    let old: Option<DecisionId> = check.typed("supersedes").parse().ok();
    let supersedes = old.map(|old| (old, check.text("supersede_reason", "The reason", LONG_TEXT)));
    check.build(|| Some(Checked { chosen: chosen?, besides, reason, next_on, summary, supersedes }))
}

fn chosen(check: &mut Check<'_>, choice: Choice, track: Track, candidates: &[NamedDevice]) -> Option<Chosen> {
    let plain = match choice {
        Choice::KeepGoing => Decided::KeepGoing,
        Choice::ReferOrTreatFirst => Decided::ReferOrTreatFirst,
        Choice::Stop => Decided::Stop,
        Choice::ChangeDevice => Decided::ChangeDevice(devices(check, track)?),
        Choice::ChangeSeat => Decided::ChangeSeat(check.length("seat", "Seat distance", SEATS)?),
        Choice::ChangeMaterial => Decided::ChangeMaterial(material(check)?),
        Choice::Finalise => {
            let why = check.opt_text("no_summary_reason", "Why without a summary", LONG_TEXT);
            let picked: Vec<NamedDevice> = check
                .codes::<usize>("finalised", "Devices to finalise")
                .into_iter()
                .filter_map(|place| candidates.get(place).cloned())
                .collect();
            return Some(Chosen::Finalise(picked, why));
        }
    };
    Some(Chosen::Plain(plain))
}

fn devices(check: &mut Check<'_>, track: Track) -> Option<Vec<NamedDevice>> {
    let first = device_fields::read(check, FIRST, Some(track));
    if device_fields::is_blank(check, SECOND) {
        return first.map(|first| vec![first]);
    }
    let second = device_fields::read(check, SECOND, Some(track));
    first.zip(second).map(|(first, second)| vec![first, second])
}

fn material(check: &mut Check<'_>) -> Option<Material> {
    let material = any_material(check);
    if material.is_empty() {
        check.fault("x_height", "Say what is to change: letters, contrast, light or a filter.");
        return None;
    }
    Some(material)
}

fn any_material(check: &mut Check<'_>) -> Material {
    let height = check.opt_length("x_height", "Height of small letters", 0.0005..=1.0);
    Material {
        x_height: height.map(|height| Typed::new(height.typed, height.value.in_millimetres())),
        contrast: check.opt_code("contrast", "Contrast"),
        light: check.opt_code("light", "Light"),
        filter: check.opt_text("filter", "Filter", SHORT_TEXT),
    }
}

/// What a choice that changes something may name besides what it is made of.
fn besides(check: &mut Check<'_>, choice: Choice) -> Besides {
    let seat = |check: &mut Check<'_>| check.opt_length("seat", "Seat distance", SEATS);
    match choice {
        Choice::ChangeDevice | Choice::Finalise => Besides { seat: seat(check), material: any_material(check) },
        Choice::ChangeSeat => Besides { seat: None, material: any_material(check) },
        Choice::ChangeMaterial => Besides { seat: seat(check), material: Material::default() },
        Choice::KeepGoing | Choice::ReferOrTreatFirst | Choice::Stop => Besides::default(),
    }
}

/// Signs a decision, with the password entered again.
pub(super) async fn decide(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    creating: Access<Row, Create>,
    access: Access<Row, Sign>,
    Word(track): Word<Track>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry.set("password", "");
        Ok(Again(build(&app, &context, &visit, &creating, track, Some(form)).await?).into_response())
    };
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let tracks = journey::tracks(&mut snapshot, &creating).await?;
    let candidates = decision::candidates(&mut snapshot, &creating, &tracks).await?;
    drop(snapshot);
    let candidates = candidates.get(&track).map_or(&[][..], Vec::as_slice);
    let checked = match checked(&posted.entry, track, today, candidates) {
        Ok(checked) => checked,
        Err(faults) => return again(faults).await,
    };
    if let Chosen::Finalise(devices, why) = &checked.chosen {
        // Asked before the password, so that nobody signs into a closed gate.
        let specs: Vec<_> = devices.iter().map(|device| device.spec.clone()).collect();
        if let Err(blocked) = may_finalise(tracks.of(track), &specs, Some(why)) {
            return Err(steps::blocked(visit.student(), blocked));
        }
    }
    let password = posted.entry.get("password");
    let reentered = match account::reenter(&app.store, &app.passwords, access.actor(), password).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return again(wrong_password("password", &attempt)).await,
    };
    // What the draft of a prescription is filled from; opened before the transaction.
    let reading: Access<Row, Read> = visit.open().await?;
    let evaluations: Option<Access<Evaluation, Read>> = visit.open_if().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let tracks = journey::tracks(&mut tx, &access).await?;
    let here = visit.at(&format!("/review/{}", track.code()));
    let newest = tracks.of(track).summaries.last().map(|summary| summary.id);
    if newest != checked.summary {
        let rows =
            vec![("Summary decided on".to_owned(), "another summary was sent meanwhile".to_owned(), checked.reason)];
        return Err(Error::Stale(Box::new(Both { back: here, rows })));
    }
    let decided = match checked.chosen {
        Chosen::Plain(decided) => decided,
        Chosen::Finalise(devices, why) => {
            let specs: Vec<_> = devices.iter().map(|device| device.spec.clone()).collect();
            let may = may_finalise(tracks.of(track), &specs, Some(&why))
                .map_err(|blocked| steps::blocked(visit.student(), blocked))?;
            Decided::Finalise(may, devices)
        }
    };
    let finalised = decided.choice() == Choice::Finalise;
    let new = NewDecision {
        track,
        decided,
        besides: checked.besides,
        summary: newest,
        reason: checked.reason,
        next_on: checked.next_on,
        supersedes: checked.supersedes,
    };
    let id = match decision::sign(&mut tx, &access, &reentered, &new).await {
        Err(StoreError::Stale) => {
            let ended = "it was superseded or marked entered in error meanwhile".to_owned();
            let rows = vec![("Decision to take the place of".to_owned(), ended, new.reason)];
            return Err(Error::Stale(Box::new(Both { back: here, rows })));
        }
        signed => signed?,
    };
    let location = match finalised {
        true => match begin_from(&mut tx, &creating, &reading, evaluations.as_ref()).await? {
            Some(draft) => visit.at(&draft),
            // One is in hand already, perhaps of the other track.
            None => visit.at("/prescription"),
        },
        false => here,
    };
    tx.commit_at(Audit::by(&access).record(id).told("decided").track(track), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
