//! Putting a student's record on hold, closing it, and taking it up again.
//!
//! Nothing is blocked by either: what is entered later is stored all the same,
//! and the page says before closing what is still open. The stage stays what it
//! is; hold and close stand beside it.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::check::{Check, SHORT_TEXT};
use super::error::{Both, Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Word;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words::{self, options};
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{Loans, Resource, Stage, Team as TeamRow, Thread};
use crate::care::journey::overlay::{Change, CloseReason, HoldReason, Overlay};
use crate::care::post::PostKind;
use crate::store::{Audit, Snapshot, StoreError, handover, loan, post, service, team};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/service", page)
        .get("/students/{student}/service/{word}", form)
        .post("/students/{student}/service/{word}", change)
}

#[derive(Template)]
#[template(path = "service/page.html")]
struct ServicePage {
    shell: Shell,
    now: Vec<String>,
    open: Vec<(String, String)>,
    acts: Vec<(String, &'static str)>,
    history: Vec<String>,
    back: String,
}

#[derive(Template)]
#[template(path = "service/change.html")]
struct ChangePage {
    shell: Shell,
    form: FormView,
    act: ActPart,
    open: Vec<(String, String)>,
    back: String,
}

/// One change that can follow now.
struct ActPart {
    title: &'static str,
    says: &'static str,
    action: String,
    reasons: Vec<(&'static str, String)>,
    submit: &'static str,
}

fn act(visit: &Visit, change: Change) -> ActPart {
    let (title, says, submit) = match change {
        Change::Held => {
            ("Put it on hold", "Everybody on the team sees it beside the stage. Nothing is blocked.", "Put on hold")
        }
        Change::Resumed => ("Take it off hold", "The stage is what it was.", "Take off hold"),
        Change::Closed => (
            "Close it",
            "It moves to the end of the lists. Everything stays readable, and loans still out are due back in 14 days.",
            "Close the record",
        ),
        Change::Reopened => ("Reopen it", "The stage is what it was.", "Reopen the record"),
    };
    let reasons = match change {
        Change::Held => options!(HoldReason),
        Change::Closed => options!(CloseReason),
        Change::Resumed | Change::Reopened => Vec::new(),
    };
    ActPart { title, says, action: visit.at(&format!("/service/{}", change.code())), reasons, submit }
}

/// What is still open: words, and where it is seen to.
async fn still_open(snapshot: &mut Snapshot, visit: &Visit) -> Result<Vec<(String, String)>> {
    visit.opens_next(&[Loans::ROW, Thread::ROW, TeamRow::ROW]).await?;
    let mut open = Vec::new();
    if let Some(access) = visit.open_if::<Loans, Read>().await? {
        for loan in loan::list(snapshot, &access).await?.into_iter().filter(|loan| loan.returned_on.is_none()) {
            let due = words::date(loan.entered.due_on);
            open.push((format!("Loan {} is out, due back on {due}", loan.tag), visit.at("/devices")));
        }
    }
    if let Some(access) = visit.open_if::<Thread, Read>().await? {
        let posts = post::of_student(snapshot, &access).await?;
        let waiting = posts.iter().filter(|post| post.kind == PostKind::Question && post.closed_at.is_none());
        for question in waiting {
            open.push((format!("A question of {} is not answered", question.by), visit.at("/thread")));
        }
    }
    if let Some(access) = visit.open_if::<TeamRow, Read>().await? {
        for member in team::members(snapshot, &access).await?.into_iter().filter(|member| member.ends_on.is_none()) {
            for draft in handover::drafts(snapshot, &access, member.account).await? {
                let kind = draft_words(&draft.kind);
                open.push((format!("{} of {} is a draft", words::capital(kind), member.name), visit.at("/people")));
            }
        }
    }
    Ok(open)
}

/// The kind of a draft, as people say it.
pub(super) fn draft_words(kind: &str) -> &'static str {
    match kind {
        "evaluation" => "an evaluation",
        "transcription" => "a transcribed report",
        "summary" => "a training summary",
        "card" => "a classroom card",
        _ => "a prescription",
    }
}

fn now_lines(overlay: &Overlay) -> Vec<String> {
    let since = |day: Option<Date>, words: &str| day.map(|day| format!("{words} {}", words::date(day)));
    [since(overlay.closed, "Closed on"), since(overlay.on_hold, "On hold since")].into_iter().flatten().collect()
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Stage, Create>,
) -> Result<Response> {
    let reading = visit.open::<Stage, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let overlay = service::now(&mut snapshot, &access).await?;
    let zone = snapshot.zone().clone();
    let history = service::recorded(&mut snapshot, &reading)
        .await?
        .into_iter()
        .map(|one| {
            let (day, at) = (words::date(one.on), words::instant(one.at, &zone));
            let why = if one.reason.is_empty() { String::new() } else { format!(": {}", one.reason) };
            format!("{} from {day}{why} ({}, {at})", words::capital(one.change.words()), one.by)
        })
        .collect();
    Ok(Page(ServicePage {
        shell: shell_about(&context, &visit, "Hold or close the record"),
        now: now_lines(&overlay),
        open: still_open(&mut snapshot, &visit).await?,
        acts: Change::ALL
            .iter()
            .filter(|change| change.may_follow(&overlay))
            .map(|change| act(&visit, *change))
            .map(|act| (act.action, act.title))
            .collect(),
        history,
        back: visit.at(""),
    })
    .into_response())
}

async fn build(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    change: Change,
    form: FormView,
) -> Result<ChangePage> {
    let act = act(visit, change);
    let open = if change == Change::Closed { still_open(snapshot, visit).await? } else { Vec::new() };
    Ok(ChangePage {
        shell: shell_about(context, visit, act.title).of_form(&form),
        back: visit.at("/service"),
        act,
        open,
        form,
    })
}

async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(change): Word<Change>,
    _access: Access<Stage, Create>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let form = FormView::filled(&context, Entry::default().with("on", snapshot.today().to_string()));
    Ok(Page(build(&mut snapshot, (&context, &visit), change, form).await?).into_response())
}

/// The day and the reason, in words.
fn wanted(entry: &Entry, change: Change, today: Date) -> std::result::Result<(Date, String), Faults> {
    let mut check = Check::new(entry);
    let on = check.date("on", "From which day", today.saturating_sub(1.year())..=today);
    let code = match change {
        Change::Held => check.code::<HoldReason>("why", "Why").map(HoldReason::words),
        Change::Closed => check.code::<CloseReason>("why", "Why").map(CloseReason::words),
        Change::Resumed | Change::Reopened => Some(""),
    };
    let note = check.opt_text("note", "In a few words", SHORT_TEXT);
    if code == Some("another reason") && note.is_empty() {
        check.fault("note", "Say which, in a few words.");
    }
    check.build(|| {
        let reason: Vec<&str> = [code?, &note].into_iter().filter(|part| !part.is_empty()).collect();
        Some((on?, reason.join(": ")))
    })
}

/// How long loans may stay out after a record was closed, in days: as long as
/// those that an own device replaces (G6).
const BACK_IN_DAYS: i64 = 14;

async fn change(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(change): Word<Change>,
    access: Access<Stage, Create>,
    posted: Posted,
) -> Result<Response> {
    let lending = visit.open_if::<Loans, crate::access::action::Edit>().await?;
    let today = app.store.clock().today();
    let (on, reason) = match wanted(&posted.entry, change, today) {
        Ok(wanted) => wanted,
        Err(faults) => {
            let mut snapshot = app.store.snapshot().await?;
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&mut snapshot, (&context, &visit), change, form).await?).into_response());
        }
    };
    let location = visit.at("/service");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match service::record(&mut tx, &access, change, (on, &reason)).await {
        Err(StoreError::Stale) => {
            let rows = vec![("What you wanted".to_owned(), now(&mut tx, &access).await?, change.words().to_owned())];
            return Err(Error::Stale(Box::new(Both { back: location, rows })));
        }
        other => other?,
    }
    if let (Change::Closed, Some(lending)) = (change, &lending) {
        let due = on.saturating_add(BACK_IN_DAYS.days());
        crate::store::correct::loan::due_back(&mut tx, lending, due, "the record was closed").await?;
    }
    tx.commit_at(Audit::by(&access).told(told(change)).on(on), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

async fn now(snapshot: &mut Snapshot, access: &Access<Stage, Create>) -> Result<String> {
    let lines = now_lines(&service::now(snapshot, access).await?);
    Ok(if lines.is_empty() { "Open".to_owned() } else { lines.join(", ") })
}

const fn told(change: Change) -> &'static str {
    match change {
        Change::Held => "put on hold",
        Change::Resumed => "taken off hold",
        Change::Closed => "closed",
        Change::Reopened => "reopened",
    }
}
