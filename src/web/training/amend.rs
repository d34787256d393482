//! Amending a session: the form it was recorded with, filled with what is
//! stored. The gates are asked again only where device, day, probe or skills
//! changed.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::new::{build, known, through, unknown_task};
use super::read;
use crate::access::Access;
use crate::access::action::{Amend, Create};
use crate::access::resource::Training;
use crate::care::amendment::Kind;
use crate::care::ids::SessionId;
use crate::care::loan::code_of;
use crate::care::training::texts::texts;
use crate::care::training::{NewExercise, NewSession};
use crate::store::correct::session::{Stored, amend, stored};
use crate::store::{Audit, Snapshot, StoreError, amendment};
use crate::web::amend::{Marking, REASON, mark, mark_page, refused, why};
use crate::web::check::SHORT_TEXT;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

/// What is stored, as the form takes it.
fn filled(session: &NewSession) -> Entry {
    let mut entry = Entry::default()
        .with("track", session.track.code())
        .with("device", code_of(session.device))
        .with("held_on", session.held_on.to_string())
        .with("minutes", session.minutes.to_string())
        .with("place", session.place.code())
        .with("light", session.light.map_or("", |one| one.code()))
        .with("body", session.body.code())
        .with("glasses", session.glasses.map_or("", |one| one.code()))
        .with("comfort", session.comfort.map_or("", |one| one.code()))
        .with("refused_reason", session.refused.clone().unwrap_or_default())
        .with("order_reason", session.order_reason.clone())
        .with("note", session.note.clone());
    if session.baseline {
        entry.set("baseline", "yes");
    }
    if session.refused.is_some() {
        entry.set("refused", "yes");
    }
    for symptom in &session.symptoms {
        entry.add("symptoms", symptom.code());
    }
    for sign in &session.signs {
        entry.add("signs", sign.code());
    }
    for (place, exercise) in session.exercises.iter().enumerate() {
        fill(&mut entry, place + 1, exercise);
    }
    entry
}

fn fill(entry: &mut Entry, number: usize, exercise: &NewExercise) {
    let counted = |count: Option<u32>| count.map(|count| count.to_string()).unwrap_or_default();
    let seconds =
        |value: Option<crate::vision::units::Seconds>| value.map(|value| value.get().to_string()).unwrap_or_default();
    let mut put = |field: &str, value: String| entry.set(read::name(number, field), value);
    put("skill", exercise.skill.code().to_owned());
    put("item", exercise.item.clone());
    put("task", exercise.task.map(|task| task.to_string()).unwrap_or_default());
    put("distance", exercise.distance.as_ref().map(|typed| typed.typed.clone()).unwrap_or_default());
    put("height", exercise.x_height.as_ref().map(|typed| typed.typed.clone()).unwrap_or_default());
    put("tries", counted(exercise.tries));
    put("right", counted(exercise.right));
    put("median", seconds(exercise.median));
    put("prompt", exercise.prompt.code().to_owned());
    put("prompts", counted(exercise.prompt_count));
    if exercise.self_corrected {
        put("self", "yes".to_owned());
    }
    put("view", seconds(exercise.in_view));
    put("shown", seconds(exercise.shown));
    put("losses", counted(exercise.losses));
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<SessionId>,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let adding = visit.open::<Training, Create>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, &access, id).await?;
    if stored.in_error {
        return Ok(Redirect::to(&visit.at(&format!("/training/{id}/error"))).into_response());
    }
    let form = FormView::filled(&context, filled(&stored.session.entered)).at_version(stored.version);
    let when = (stored.session.entered.track, stored.session.entered.held_on);
    let known = known(&mut snapshot, &visit, &adding, when, Some(stored)).await?;
    Ok(Page(build(&context, &visit, &known, when, Some(form))).into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<SessionId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let adding = visit.open::<Training, Create>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let kept = stored(&mut tx, &access, id).await?;
    let (today, locked, in_error) = (tx.today(), kept.locked(tx.now()), kept.in_error);
    let track = kept.session.entered.track;
    let typed = posted.entry.get("held_on").parse().ok().filter(|day| *day <= today);
    let when = (track, typed.unwrap_or(kept.session.entered.held_on));
    let earliest = kept.session.entered.held_on;
    let known = known(&mut tx, &visit, &adding, when, Some(kept)).await?;
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&context, &visit, &known, when, Some(form))).into_response())
    };
    if in_error {
        return again(Faults::one(
            "",
            "This session is marked as entered in error. Say first that it was no error, then amend it.",
        ));
    }
    // A session stays one of its track, whatever the form says.
    let typed: Entry = posted.entry.iter().filter(|(name, _)| *name != "track").collect();
    let typed = typed.with("track", track.code());
    let new = match read::amended(&typed, (earliest, today), visit.actor().mobility) {
        Ok(new) => new,
        Err(faults) => return again(faults),
    };
    if let Some(faults) = unknown_task(&posted.entry, &known) {
        return again(faults);
    }
    let reason = posted.entry.get(REASON).trim();
    let reason = (locked || !reason.is_empty()).then_some(reason);
    if reason.is_some_and(|reason| reason.chars().count() > SHORT_TEXT) {
        return again(Faults::one(REASON, "Write the reason in fewer words."));
    }
    let Some(stored) = known.stored() else { return Err(Error::Hidden) };
    let passed = if stored.asks_no_gate(&new) {
        None
    } else {
        match through(&mut tx, &visit, &adding, &new, Some(id)).await? {
            Ok(through) => Some(through),
            Err(blocked) => return again(Faults::one("order_reason", words::capital(&blocked.to_string()))),
        }
    };
    let outcome = amend(&mut tx, &access, (stored, posted.version), passed.as_ref(), (&new, reason)).await;
    let outcome = match outcome {
        Err(StoreError::Stale) => {
            let which = (id, stored.version);
            return Err(stale::error(&mut tx, &access, which, both(&visit, stored, &new)).await?);
        }
        other => other?,
    };
    if let Some(faults) = refused(outcome) {
        return again(faults);
    }
    let location = visit.at(&format!("/training/{id}"));
    // What its writer changes before the others may read it is no news to them.
    let audit = Audit::by(&access).record(id);
    let audit = if locked { audit.told("amended").on(new.held_on).track(track) } else { audit };
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// What stands there now beside what was typed, field by field.
fn both(visit: &Visit, stored: &Stored, new: &NewSession) -> Both {
    let named = |task: crate::care::ids::VisualTaskId| task.to_string();
    let (theirs, yours) = (
        texts(&stored.session.entered, &code_of(stored.session.entered.device), named),
        texts(new, &code_of(new.device), named),
    );
    let rows = theirs
        .into_iter()
        .zip(yours)
        .filter(|((_, theirs), (_, yours))| theirs != yours)
        .map(|((field, theirs), (_, yours))| (field, theirs, yours))
        .collect();
    Both { back: visit.at(&format!("/training/{}/amend", stored.session.id)), rows }
}

fn marking(visit: &Visit, stored: &Stored, marked: Option<String>) -> Marking {
    let at = |path: &str| visit.at(&format!("/training/{}{path}", stored.session.id));
    Marking {
        what: format!("Session of {}", words::date(stored.session.entered.held_on)),
        back: at(""),
        back_words: "The session",
        action: at("/error"),
        amend: at("/amend"),
        marked,
    }
}

async fn marked(snapshot: &mut Snapshot, access: &Access<Training, Amend>, stored: &Stored) -> Result<Option<String>> {
    if !stored.in_error {
        return Ok(None);
    }
    let mut errors = amendment::in_error(snapshot, access, Kind::Session).await?;
    let told = errors.remove(&stored.session.id.to_string()).map(|error| why(&error, snapshot.zone()));
    Ok(Some(told.unwrap_or_default()))
}

pub(super) async fn error_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<SessionId>,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let stored = stored(&mut snapshot, &access, id).await?;
    let marked = marked(&mut snapshot, &access, &stored).await?;
    Ok(mark_page(&context, &visit, marking(&visit, &stored, marked)))
}

pub(super) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<SessionId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let mut tx = app.store.tx().await?;
    let stored = stored(&mut tx, &access, id).await?;
    let marked = marked(&mut tx, &access, &stored).await?;
    mark(tx, (&context, &visit), &access, id, (marking(&visit, &stored, marked), &posted)).await
}
