//! Correcting a sent summary: amended, superseded, entered in error; and
//! throwing a draft away.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{sources, worded_as_question};
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Read, Sign};
use crate::access::resource::Summary as Row;
use crate::care::document::{Kind, Worded, differences};
use crate::care::ids::SummaryId;
use crate::store::summary::{self as stored, Summary, correct as correcting};
use crate::store::{Audit, Snapshot, account};
use crate::web::account::wrong_password;
use crate::web::check::Check;
use crate::web::correct::{self, AfterView, Subject, Way, after_view};
use crate::web::discard;
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

async fn sent(snapshot: &mut Snapshot, access: &Access<Row, Read>, id: SummaryId) -> Result<Summary> {
    let summary = stored::one(snapshot, access, id).await?;
    if summary.sent_at.is_some() { Ok(summary) } else { Err(Error::Hidden) }
}

fn title(summary: &Summary) -> String {
    let days = format!("{} to {}", words::date(summary.from), words::date(summary.to));
    format!("Training summary, {} track, {days}", summary.track.words())
}

fn subject<'a>(visit: &Visit, summary: &'a Summary) -> Subject<'a> {
    let mut ways = Vec::new();
    if summary.after.ended.is_none() {
        ways.push(Way::Amend);
        if visit.may::<Row, Create>() {
            ways.push(Way::Supersede);
        }
        ways.push(Way::Error);
    }
    Subject {
        kind: Kind::Summary,
        title: title(summary),
        href: visit.at(&format!("/summaries/{}", summary.id)),
        wordings: summary.texts.wordings(),
        after: &summary.after,
        ways,
        anew: None,
    }
}

/// The ways to correct it.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Amend>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let summary = sent(&mut snapshot, &access.read(), id).await?;
    Ok(Page(correct::page(&context, &visit, &subject(&visit, &summary), None)).into_response())
}

fn back(context: &Context, visit: &Visit, summary: &Summary, form: (Way, FormView)) -> Response {
    Again(correct::page(context, visit, &subject(visit, summary), Some(form))).into_response()
}

/// What to look at stays a question when it is amended.
fn still_a_question(posted: &Posted) -> std::result::Result<(), Faults> {
    let mut check = Check::new(&posted.entry);
    let typed = check.typed("text_look_at");
    worded_as_question(&mut check, "text_look_at", typed);
    check.build(|| Some(()))
}

/// Amends its words.
pub(super) async fn amend(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Amend>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let summary = sent(&mut tx, &access.read(), id).await?;
    let read = correct::changes(&posted.entry, &summary.texts.wordings());
    let changes = match read.and_then(|changes| still_a_question(&posted).map(|()| changes)) {
        Ok(read) => read,
        Err(faults) => {
            return Ok(back(&context, &visit, &summary, correct::again(&context, &posted, Way::Amend, faults)));
        }
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::amend(&mut tx, &access, id, &changes, posted.version.unwrap_or(-1))
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &summary), changes.changes()))?;
    let here = visit.at(&format!("/summaries/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("amended").track(summary.track), &here).await?;
    Ok(Redirect::to(&here).into_response())
}

/// Begins the draft that is to take its place.
pub(super) async fn supersede(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Create>,
    reading: Access<Row, Read>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let sources = sources(&visit).await?;
    let mut tx = app.store.tx().await?;
    let summary = sent(&mut tx, &reading, id).await?;
    let again =
        |faults| Ok(back(&context, &visit, &summary, correct::again(&context, &posted, Way::Supersede, faults)));
    let reason = match correct::reason(&posted.entry, Way::Supersede) {
        Ok(reason) => reason,
        Err(faults) => return again(faults),
    };
    let all = stored::list(&mut tx, &reading).await?;
    if let Some(begun) = all.iter().find(|one| one.track == summary.track && one.sent_at.is_none()) {
        if begun.supersedes == Some(id) {
            return Ok(Redirect::to(&visit.at(&format!("/summaries/{}", begun.id))).into_response());
        }
        return again(Faults::one(
            "supersede_reason",
            "A summary of this track is being drafted. Send that draft, or throw it away, then begin the new one.",
        ));
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let today = tx.today();
    let scope = stored::destination(&mut tx, &reading).await?.scope(today);
    let days = (summary.track, summary.from, summary.to);
    let figures = stored::assemble(&mut tx, &reading, &sources, &scope, days).await?.figures;
    let draft = correcting::supersede(&mut tx, &access, &summary, &figures, &reason)
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &summary), &[]))?;
    let there = visit.at(&format!("/summaries/{draft}"));
    tx.commit_at(Audit::by(&access).record(draft), &there).await?;
    Ok(Redirect::to(&there).into_response())
}

/// Marks it entered in error, with the password entered again.
pub(super) async fn error(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Sign>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let summary = sent(&mut snapshot, &access.read(), id).await?;
    drop(snapshot);
    let again = |faults| Ok(back(&context, &visit, &summary, correct::again(&context, &posted, Way::Error, faults)));
    let reason = match correct::reason(&posted.entry, Way::Error) {
        Ok(reason) => reason,
        Err(faults) => return again(faults),
    };
    let (typed, field) = correct::password(&posted, Way::Error);
    let reentered = match account::reenter(&app.store, &app.passwords, access.actor(), typed).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return again(wrong_password(&field, &attempt)),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let why = (reason.as_str(), posted.version.unwrap_or(-1));
    correcting::enter_in_error(&mut tx, &access, &reentered, id, why)
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &summary), &[]))?;
    let here = visit.at(&format!("/summaries/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("entered in error").track(summary.track), &here).await?;
    Ok(Redirect::to(&here).into_response())
}

/// Everything it says, line by line, so that two summaries can be compared.
fn lines(summary: &Summary) -> Vec<(String, String)> {
    let mut lines = vec![("From".to_owned(), words::date(summary.from)), ("To".to_owned(), words::date(summary.to))];
    lines.extend(summary.texts.wordings().into_iter().map(|one| (one.label, one.text)));
    lines.extend(summary.figures.as_ref().map(|figures| figures.lines()).unwrap_or_default());
    lines.retain(|(_, value)| !value.is_empty());
    lines
}

/// What became of a summary, for the page it is read on.
pub(super) async fn shown(
    snapshot: &mut Snapshot,
    (_, visit): (&Context, &Visit),
    access: &Access<Row, Read>,
    summary: &Summary,
) -> Result<AfterView> {
    let here = |id: &str| visit.at(&format!("/summaries/{id}"));
    let zone = snapshot.zone().clone();
    let open = visit.may::<Row, Amend>() && summary.sent_at.is_some() && summary.after.ended.is_none();
    let shown = after_view(Kind::Summary, &summary.after, here, &zone)
        .correct_at(open.then(|| here(&format!("{}/correct", summary.id))));
    let Some(old) = summary.supersedes else { return Ok(shown) };
    // Where the older one never went, nothing is told of it.
    let Ok(old) = stored::one(snapshot, access, old).await else { return Ok(shown) };
    let changed = differences(&lines(&old), &lines(summary));
    Ok(shown.replacing((here(&old.id.to_string()), title(&old)), &changed))
}

async fn own_draft(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    access: &Access<Row, Edit>,
    id: SummaryId,
) -> Result<std::result::Result<Summary, discard::DiscardPage>> {
    let draft = stored::one(snapshot, access, id).await?;
    if draft.sent_at.is_some() {
        return Err(Error::Hidden);
    }
    if draft.author == access.actor().account {
        return Ok(Ok(draft));
    }
    let here = visit.at(&format!("/summaries/{id}"));
    Ok(Err(discard::of_somebody_else(context, visit, &drafted(&draft), &draft.by, &here)))
}

fn drafted(draft: &Summary) -> String {
    format!("{}, a draft.", title(draft))
}

/// Asks once more before a draft is thrown away.
pub(super) async fn discard_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let here = visit.at(&format!("/summaries/{id}"));
    Ok(match own_draft(&mut snapshot, (&context, &visit), &access, id).await? {
        Err(others) => Page(others).into_response(),
        Ok(draft) => {
            let at = (format!("{here}/discard"), here);
            Page(discard::page(&context, &visit, &drafted(&draft), (&at.0, &at.1), draft.version)).into_response()
        }
    })
}

/// Throws a draft away, as it was seen.
pub(super) async fn discard(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let list = visit.at("/summaries");
    let mut tx = app.store.tx().await?;
    if let Err(others) = own_draft(&mut tx, (&context, &visit), &access, id).await? {
        return Ok(Again(others).into_response());
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::discard(&mut tx, &access, (id, posted.version.unwrap_or(-1))).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("discard"), &list).await?;
    Ok(Redirect::to(&list).into_response())
}
