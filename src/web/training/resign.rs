//! A signed readiness list that is changed: signed again with a reason, the
//! earlier texts kept; or marked as entered in error, and G3 closes again.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::readiness::{ItemPart, Wanted, both, filled, items, open_items, read};
use crate::access::Access;
use crate::access::action::Amend;
use crate::access::resource::Training;
use crate::care::gates::{Blocked, Gate, may_sign_readiness, safe_to_train};
use crate::care::journey::step::Act;
use crate::care::readiness::{Item, Pass};
use crate::care::track::Track;
use crate::store::correct::readiness::sign_again;
use crate::store::readiness::List;
use crate::store::{Audit, Snapshot, StoreError, journey, readiness};
use crate::web::amend::{self as correction, Lasting, lasting, lasting_page, refused};
use crate::web::check::Check;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Word;
use crate::web::stale;
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words;

#[derive(Template)]
#[template(path = "training/resign.html")]
struct ResignPage {
    shell: Shell,
    back: String,
    action: String,
    error: String,
    track: &'static str,
    form: FormView,
    items: Vec<ItemPart>,
    passable: Vec<(&'static str, String)>,
}

fn at(visit: &Visit, track: Track, path: &str) -> String {
    visit.at(&format!("/training/readiness/{}{path}", track.code()))
}

fn build(context: &Context, visit: &Visit, track: Track, form: FormView) -> ResignPage {
    ResignPage {
        shell: shell_about(context, visit, format!("Sign the readiness list again, {} track", track.words()))
            .of_form(&form),
        back: at(visit, track, ""),
        action: at(visit, track, "/amend"),
        error: at(visit, track, "/error"),
        track: track.words(),
        items: items(track),
        passable: Item::list(track)
            .iter()
            .filter(|item| item.passable())
            .map(|item| (item.code(), words::capital(item.words())))
            .collect(),
        form,
    }
}

/// The signed list of the track.
async fn signed(
    snapshot: &mut Snapshot,
    (visit, access): (&Visit, &Access<Training, Amend>),
    track: Track,
) -> Result<List> {
    let list = readiness::lists(snapshot, access).await?.into_iter().find(|list| list.track == track);
    if let Some(list) = list.filter(|list| list.signed.is_some()) {
        return Ok(list);
    }
    // Marked in the moment between, it is told so; never signed, that comes first.
    match readiness::errors(snapshot, access).await?.iter().any(|list| list.track == track) {
        true => Err(Error::Stale(Box::new(Both { back: at(visit, track, ""), rows: Vec::new() }))),
        false => Err(steps::blocked(
            visit.student(),
            Blocked {
                gate: Gate::ReadinessFirst,
                message: "There is no signed list on this track. Finish and sign it first.".to_owned(),
                first: Act::SignReadiness,
            },
        )),
    }
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(track): Word<Track>,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let list = signed(&mut snapshot, (&visit, &access), track).await?;
    let mut entry = filled(&list);
    if let Some((item, reason)) = &list.passed {
        entry.set("passed", item.code());
        entry.set("passed_reason", reason.clone());
    }
    let form = FormView::filled(&context, entry).at_version(list.version);
    Ok(Page(build(&context, &visit, track, form)).into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(track): Word<Track>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let list = signed(&mut tx, (&visit, &access), track).await?;
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&context, &visit, track, form)).into_response())
    };
    let mut check = Check::new(&posted.entry);
    let wanted = read(&mut check, track, true);
    let reason = correction::reason(&mut check);
    let (Wanted { marks, agreed_words, passed }, reason) = match check.build(|| Some((wanted, reason))) {
        Ok(wanted) => wanted,
        Err(faults) => return again(faults),
    };
    let back = at(&visit, track, "");
    let theirs = || both(back.clone(), Some(&list), &marks, &agreed_words, track);
    if posted.version != Some(list.version) {
        return Err(stale::error(&mut tx, &access, (list.id, list.version), theirs()).await?);
    }
    let tracks = journey::tracks(&mut tx, &access).await?;
    let safe = safe_to_train(tracks.of(track)).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let pass = passed.as_ref().map(|(item, reason)| Pass { item: *item, reason });
    let may = match may_sign_readiness(safe, &marks, pass) {
        Ok(may) => may,
        Err(blocked) => {
            return again(open_items(track, &marks, pass.map(|pass| pass.item), &blocked.to_string()));
        }
    };
    let outcome = match sign_again(&mut tx, &access, (&list, posted.version), (&may, &agreed_words), &reason).await {
        Err(StoreError::Stale) => return Err(Error::Stale(Box::new(theirs()))),
        other => other?,
    };
    if let Some(faults) = refused(outcome) {
        return again(faults);
    }
    tx.commit_at(Audit::by(&access).record(list.id).told("signed again").track(track), &back).await?;
    Ok(Redirect::to(&back).into_response())
}

fn marking(visit: &Visit, list: &List, snapshot: &Snapshot) -> Lasting {
    let signed =
        list.signed.as_ref().map(|(at, by)| format!(", signed on {} by {by}", words::date(snapshot.date_of(*at))));
    Lasting {
        what: format!("Readiness list, {} track{}", list.track.words(), signed.unwrap_or_default()),
        track: list.track,
        counts: "It then counts as never signed: no session with a device starts on this track until a list is signed.",
        back: at(visit, list.track, ""),
        back_words: "Readiness list",
        action: at(visit, list.track, "/error"),
        amend: at(visit, list.track, "/amend"),
    }
}

pub(super) async fn error_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(track): Word<Track>,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let list = signed(&mut snapshot, (&visit, &access), track).await?;
    let marking = marking(&visit, &list, &snapshot);
    Ok(lasting_page(&context, &visit, marking))
}

pub(super) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(track): Word<Track>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Training, Amend>().await?;
    let mut tx = app.store.tx().await?;
    let list = signed(&mut tx, (&visit, &access), track).await?;
    let marking = marking(&visit, &list, &tx);
    lasting(tx, (&context, &visit), &access, list.id, (marking, &posted)).await
}
