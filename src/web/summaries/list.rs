//! The summaries of both tracks, and the form that begins a draft.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{days, sources};
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::Summary as Row;
use crate::care::track::Track;
use crate::store::journey::Shown;
use crate::store::summary::{self, Summary};
use crate::store::{Audit, Snapshot, journey};
use crate::web::check::Check;
use crate::web::error::Result;
use crate::web::form::{Entry, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::part;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "summaries/list.html")]
struct ListPage {
    shell: Shell,
    action: String,
    tracks: Vec<TrackPart>,
    form: Option<FormView>,
    choices: Vec<(&'static str, String)>,
    since: String,
}

struct TrackPart {
    title: String,
    lines: Vec<Line>,
}

struct Line {
    href: String,
    title: String,
    state: part::Status,
    by: String,
}

fn line(visit: &Visit, summary: &Summary, zone: &jiff::tz::TimeZone) -> Line {
    let (state, by) = match summary.sent_at {
        Some(at) => (
            match &summary.after.ended {
                Some(ended) => part::status(&words::capital(ended.mark.words()), "plain"),
                None => part::status("Sent", "done"),
            },
            format!("Signed and sent by {}, {}", summary.sent_by, words::instant(at, zone)),
        ),
        None => (
            part::status("Draft, not sent", "now"),
            format!("Begun by {}, {}", summary.by, words::instant(summary.created_at, zone)),
        ),
    };
    Line {
        href: visit.at(&format!("/summaries/{}", summary.id)),
        title: format!("{} to {}", words::date(summary.from), words::date(summary.to)),
        state,
        by,
    }
}

async fn build_list(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Row, Read>,
    form: Option<FormView>,
) -> Result<ListPage> {
    let mut snapshot = app.store.snapshot().await?;
    let all = summary::list(&mut snapshot, access).await?;
    let zone = app.store.clock().zone();
    let tracks = Track::ALL
        .iter()
        .map(|track| TrackPart {
            title: format!("{} track", words::capital(track.words())),
            lines: all.iter().filter(|one| one.track == *track).map(|one| line(visit, one, zone)).collect(),
        })
        .collect();
    let may_begin = visit.may::<Row, Create>();
    let since = if may_begin { since(&mut snapshot, access).await? } else { String::new() };
    let form = form.or_else(|| {
        may_begin.then(|| {
            // With one track in training there is nothing to choose.
            let in_training = |shown: &&Shown| shown.journey.recommendation.is_some();
            let mut tracks = visit.tracks().iter().filter(in_training);
            let entry = match (tracks.next(), tracks.next()) {
                (Some(only), None) => Entry::default().with("track", only.journey.track.code()),
                _ => Entry::default(),
            };
            FormView::filled(context, entry)
        })
    });
    let mut shell = shell_about(context, visit, "Training summaries");
    shell.has_faults = form.as_ref().is_some_and(|form| !form.faults.is_empty());
    Ok(ListPage { shell, action: visit.at("/summaries"), tracks, form, choices: options!(Track), since })
}

/// The first day counted unless another is typed, per track, in words.
async fn since(snapshot: &mut Snapshot, access: &Access<Row, Read>) -> Result<String> {
    let tracks = journey::tracks(snapshot, access).await?;
    let of = |track: Track| {
        let day = tracks.of(track).recommendation.as_ref().map(|now| now.since);
        let day = day.map_or_else(|| "nothing is recommended now".to_owned(), words::date);
        format!("{}: {day}", track.words())
    };
    Ok(format!("Left empty: since the recommendation came into force ({}; {}).", of(Track::Distance), of(Track::Near)))
}

/// The list.
pub(super) async fn list(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
) -> Result<Response> {
    Ok(Page(build_list(&app, &context, &visit, &access, None).await?).into_response())
}

/// Begins a draft, or opens the one in hand.
pub(super) async fn begin(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Create>,
    posted: Posted,
) -> Result<Response> {
    let reading: Access<Row, Read> = visit.open().await?;
    let sources = sources(&visit).await?;
    let today = app.store.clock().today();
    let mut check = Check::new(&posted.entry);
    let track = check.code::<Track>("track", "Track");
    let from = check.opt_date("from", "From", days(today));
    let to = check.opt_date("to", "To", days(today)).unwrap_or(today);
    if from.is_some_and(|from| from > to) {
        check.fault("from", "From must not be later than to.");
    }
    let track = match check.build(|| track) {
        Ok(track) => track,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build_list(&app, &context, &visit, &reading, Some(form)).await?).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let drafts = summary::list(&mut tx, &reading).await?;
    if let Some(draft) = drafts.iter().find(|one| one.track == track && one.sent_at.is_none()) {
        // One draft of a track at a time: the words are not split between two.
        return Ok(Redirect::to(&visit.at(&format!("/summaries/{}", draft.id))).into_response());
    }
    let tracks = journey::tracks(&mut tx, &access).await?;
    let recommended = tracks.of(track).recommendation.as_ref().map(|now| now.since);
    let from = from.or(recommended).unwrap_or(*days(today).start()).min(to);
    let scope = summary::destination(&mut tx, &reading).await?.scope(today);
    let figures = summary::assemble(&mut tx, &reading, &sources, &scope, (track, from, to)).await?.figures;
    let id = summary::begin(&mut tx, &access, &figures).await?;
    let location = visit.at(&format!("/summaries/{id}"));
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
