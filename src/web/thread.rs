//! The feedback thread of one student: what happened and what people wrote, in
//! one order, newest first.
//!
//! A line about a record is shown to those who may read that record, as far as
//! they may: the proof for each kind of record is asked of the thread's own
//! proof. Does not know what the records say; each line leads to its screen.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::check::{Check, LONG_TEXT};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::action::{Create, Read};
use crate::access::resource::{
    Card, ClassObservation, Consents, Contacts, Evaluation, EvaluationRequest, FlagKind, HomeObservation, Identity,
    Intake, LoanDecision, Loans, Pause, Prescription, Receipt, Repair, Resource, SafetyFlag, Stage, Summary, Team,
    Thread, Training, Transcription, TryAtHome, Visits, VisualTasks,
};
use crate::access::{Access, Limits, Role};
use crate::care::ids::PostId;
use crate::care::post::PostKind;
use crate::store::event::Event;
use crate::store::post::{NewPost, Post};
use crate::store::{Audit, Snapshot, event, observation, post, sending, team};

/// The routes of the thread.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/thread", page)
        .post("/students/{student}/thread", write)
        .get("/students/{student}/thread/{record}/answer", answer_page)
        .post("/students/{student}/thread/{record}/answer", answer)
}

#[derive(Template)]
#[template(path = "thread/page.html")]
struct ThreadPage {
    shell: Shell,
    form: Option<FormView>,
    action: String,
    to: Vec<(String, String)>,
    filters: Vec<(String, &'static str, bool)>,
    lines: Vec<Line>,
}

/// How many lines the overview shows.
const NEWEST: usize = 6;

/// One line of the thread, finished.
pub(super) struct Line {
    at: Timestamp,
    post: bool,
    open: bool,
    pub(super) title: String,
    pub(super) href: String,
    pub(super) when: String,
    pub(super) body: String,
    state: String,
    answer_href: String,
    answer_words: &'static str,
    new: bool,
}

/// Which lines are shown.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Show {
    Everything,
    Posts,
    Questions,
    Records,
}

impl Show {
    const ALL: [(Self, &'static str, &'static str); 4] = [
        (Self::Everything, "", "Everything"),
        (Self::Posts, "posts", "What people wrote"),
        (Self::Questions, "questions", "Open questions"),
        (Self::Records, "records", "What happened"),
    ];

    fn of(query: Option<&str>) -> Self {
        let asked = form_urlencoded::parse(query.unwrap_or_default().as_bytes()).find(|(name, _)| name == "show");
        let code = asked.map(|(_, value)| value.into_owned()).unwrap_or_default();
        Self::ALL.into_iter().find(|(_, known, _)| *known == code).map_or(Self::Everything, |(show, ..)| show)
    }

    fn keeps(self, line: &Line) -> bool {
        match self {
            Self::Everything => true,
            Self::Posts => line.post,
            Self::Questions => line.open,
            Self::Records => !line.post,
        }
    }
}

/// What a kind of record is called in the thread, and where it is read.
struct Kind {
    words: &'static str,
    path: &'static str,
    limits: Limits,
}

fn kind<R: Resource>(access: &Access<Thread, Read>, words: &'static str, path: &'static str) -> Option<Kind> {
    access.part::<R>().ok().map(|part| Kind { words, path, limits: *part.limits() })
}

/// The screen of another kind of record, or the thread itself for a reader whose
/// consent does not reach that kind.
fn screen<R: Resource>(access: &Access<Thread, Read>, path: &'static str) -> &'static str {
    if access.part::<R>().is_ok() { path } else { "/thread" }
}

/// The kind of an event's record, if this reader may read such records.
fn kind_of(access: &Access<Thread, Read>, event: &Event) -> Option<Kind> {
    match event.resource.as_str() {
        "Identity" => kind::<Identity>(access, "Student's details", screen::<Intake>(access, "/intake")),
        "Contacts" => kind::<Contacts>(access, "Family contacts", screen::<Intake>(access, "/intake")),
        "Intake" => kind::<Intake>(access, "Intake", "/intake"),
        "EvaluationRequest" | "RequestDate" => kind::<EvaluationRequest>(access, "Evaluation request", "/evaluations"),
        "Stage" => kind::<Stage>(access, "Record", ""),
        "Consents" | "Emergency" => kind::<Consents>(access, "Consent", "/consents"),
        "VisualTasks" => kind::<VisualTasks>(access, "What to see", "/tasks"),
        "ClassObservation" => kind::<ClassObservation>(access, "Observation in class", "/observations"),
        "HomeObservation" => {
            kind::<HomeObservation>(access, "Observation at home or in the community", "/observations")
        }
        "Evaluation" => kind::<Evaluation>(access, "Evaluation", "/evaluations"),
        "Transcription" => kind::<Transcription>(access, "Transcribed report", "/evaluations"),
        "Loans" => kind::<Loans>(access, "Loan", "/devices"),
        "Receipt" => kind::<Receipt>(access, "Own device", "/devices"),
        "Repair" => kind::<Repair>(access, "Repair", "/devices"),
        "LoanDecision" => kind::<LoanDecision>(access, "Clinician's word on a device", "/devices"),
        "Training" => kind::<Training>(access, "Training", "/training"),
        "Card" => kind::<Card>(access, "Classroom card", "/card"),
        "TryAtHome" => kind::<TryAtHome>(access, "What to try at home", screen::<Card>(access, "/card")),
        "Summary" => kind::<Summary>(access, "Training summary", "/summaries"),
        "Prescription" if event.verb.contains("decided") => kind::<Prescription>(access, "Decision", "/prescription"),
        "Prescription" => kind::<Prescription>(access, "Prescription", "/prescription"),
        "SafetyFlag" => kind::<SafetyFlag>(access, "Red flag", "/safety")
            .filter(|kind| !kind.limits.own_only)
            .or_else(|| kind::<FlagKind>(access, "Red flag", "/safety")),
        "Pause" => kind::<Pause>(access, "Red flag", "/safety"),
        "Visits" => kind::<Visits>(access, "Visit", "/visits"),
        "Team" => kind::<Team>(access, "Team", "/people"),
        _ => None,
    }
}

/// What some limits need to know of single records.
struct Reached {
    sent: BTreeSet<String>,
    shared: BTreeSet<String>,
}

async fn reached(snapshot: &mut Snapshot, access: &Access<Thread, Read>) -> Result<Reached> {
    let sent = sending::reached(snapshot, access).await?;
    let shared = match access.part::<HomeObservation>() {
        Ok(part) if part.limits().shared_only => {
            let entries = observation::outside(snapshot, &part).await?;
            entries.into_iter().map(|entry| entry.fact.id.to_string()).collect()
        }
        _ => BTreeSet::new(),
    };
    Ok(Reached { sent, shared })
}

/// Whether this very line is within the limits of its kind.
fn within(event: &Event, limits: &Limits, access: &Access<Thread, Read>, reached: &Reached) -> bool {
    let record = event.record.as_deref().unwrap_or_default();
    if event.account == Some(access.actor().account) {
        return true;
    }
    !limits.own_only
        && (!limits.sent_only || (reached.sent.contains(record) && !LATER.contains(&event.verb.as_str())))
        && (!limits.shared_only || reached.shared.contains(record))
        && (!limits.released_only || RELEASED.contains(&event.verb.as_str()))
}

/// The verbs of an act that makes a record readable to a reader limited to what
/// is released.
const RELEASED: &[&str] = &[
    "released",
    "signed",
    "sent",
    "filed",
    "confirmed",
    "decided",
    "superseded",
    "transcribed",
    "requested",
    "withdrawn",
    "amended",
    "cancelled",
    "entered in error",
    "decided, then amended",
    "decided in error",
];

/// What became of a document later: nothing of it is told to who reads it as it
/// was sent (G7).
const LATER: &[&str] =
    &["superseded", "amended", "cancelled", "entered in error", "decided, then amended", "decided in error"];

fn event_line(visit: &Visit, event: &Event, kind: &Kind, zone: &TimeZone, read: Option<Timestamp>, own: bool) -> Line {
    let track = event.track.map(|track| format!(", {}", track.words())).unwrap_or_default();
    let entered = event.at.to_zoned_datetime(zone.clone()).date();
    let about = if entered == event.on { String::new() } else { format!(", about {}", words::date(event.on)) };
    let detailed = matches!(event.resource.as_str(), "ClassObservation" | "HomeObservation");
    let href = match (&event.record, detailed) {
        (Some(record), true) => visit.at(&format!("{}/{record}", kind.path)),
        _ => visit.at(kind.path),
    };
    Line {
        at: event.at,
        post: false,
        open: false,
        title: format!("{}{track}", happened(&event.resource, kind.words, &event.verb)),
        href,
        when: format!("{}, {}{about}", event.by, words::instant(event.at, zone)),
        body: String::new(),
        state: String::new(),
        answer_href: String::new(),
        answer_words: "",
        new: !own && read.is_some_and(|read| event.at > read),
    }
}

/// What happened, in a sentence's beginning: most records and verbs read well
/// one after the other, some need words of their own.
fn happened(resource: &str, words: &str, verb: &str) -> String {
    match (resource, verb) {
        ("Prescription", "decided") => "Decision made".to_owned(),
        ("Prescription", "decided, then amended") => "Decision amended".to_owned(),
        ("Prescription", "decided in error") => "Decision entered in error".to_owned(),
        ("EvaluationRequest", "requested") => "Evaluation asked for".to_owned(),
        ("Training", "signed readiness") => "Readiness list signed".to_owned(),
        ("Training", "recorded") => "Training session recorded".to_owned(),
        ("Consents" | "Emergency", "emergency access opened") => "Emergency access opened".to_owned(),
        ("Consents" | "Emergency", "emergency access ended") => "Emergency access ended early".to_owned(),
        ("Team", "invited") => "Invitation made".to_owned(),
        _ => format!("{words} {verb}"),
    }
}

fn who(name: &str, role: Option<Role>) -> String {
    role.map_or_else(|| name.to_owned(), |role| format!("{name}, {}", role.words()))
}

fn post_line(visit: &Visit, post: &Post, all: &[Post], zone: &TimeZone, read: Option<Timestamp>) -> Line {
    let open = post.kind == PostKind::Question && post.closed_at.is_none();
    let to = post.to.map_or("", Role::words);
    let title = match post.kind {
        PostKind::Note => "Note".to_owned(),
        PostKind::Question => format!("Question to the {to}"),
        PostKind::Answer => {
            let asked = all.iter().find(|asked| Some(asked.id) == post.answers);
            asked.map_or_else(
                || "Answer".to_owned(),
                |asked| format!("Answer to \u{201c}{}\u{201d}", beginning(&asked.body)),
            )
        }
    };
    let answered_by = all.iter().find(|answer| answer.answers == Some(post.id)).map(|answer| answer.by.as_str());
    let state = match (post.kind, post.closed_at) {
        (PostKind::Question, None) => {
            format!("Open since {}, waiting for the {to}", words::date(post.at.to_zoned_datetime(zone.clone()).date()))
        }
        (PostKind::Question, Some(at)) => {
            let by = answered_by.map(|name| format!(" by {name}")).unwrap_or_default();
            format!("Answered{by} on {}", words::date(at.to_zoned_datetime(zone.clone()).date()))
        }
        _ => String::new(),
    };
    let may_answer = visit.may::<Thread, Create>() && post::may_answer(post, visit.actor());
    Line {
        at: post.at,
        post: true,
        open,
        title,
        href: String::new(),
        when: format!("{}, {}", who(&post.by, post.role), words::instant(post.at, zone)),
        body: post.body.clone(),
        state,
        answer_href: if may_answer { visit.at(&format!("/thread/{}/answer", post.id)) } else { String::new() },
        answer_words: if post.account == visit.actor().account { "Close it with your own answer" } else { "Answer" },
        new: post.account != visit.actor().account && read.is_some_and(|read| post.at > read),
    }
}

/// The first words of a text, for naming it.
fn beginning(text: &str) -> String {
    const MOST: usize = 60;
    let first = text.lines().next().unwrap_or_default();
    if first.chars().count() <= MOST {
        return first.to_owned();
    }
    let cut: String = first.chars().take(MOST).collect();
    let whole = cut.rsplit_once(' ').map_or(cut.as_str(), |(words, _)| words);
    format!("{whole} …")
}

/// The newest lines, for the overview.
pub(super) async fn newest(app: &App, visit: &Visit, access: &Access<Thread, Read>) -> Result<Vec<Line>> {
    let mut snapshot = app.store.snapshot().await?;
    let mut lines = all_lines(&mut snapshot, visit, access, None).await?;
    lines.truncate(NEWEST);
    Ok(lines)
}

/// Every post and event this reader may read, newest first.
async fn all_lines(
    snapshot: &mut Snapshot,
    visit: &Visit,
    access: &Access<Thread, Read>,
    read: Option<Timestamp>,
) -> Result<Vec<Line>> {
    let zone = snapshot.zone().clone();
    let posts = post::of_student(snapshot, access).await?;
    let events = event::of_student(snapshot, access).await?;
    let reached = reached(snapshot, access).await?;
    let mut lines: Vec<Line> = posts.iter().map(|post| post_line(visit, post, &posts, &zone, read)).collect();
    for event in &events {
        if let Some(kind) = kind_of(access, event)
            && within(event, &kind.limits, access, &reached)
        {
            let own = event.account == Some(access.actor().account);
            lines.push(event_line(visit, event, &kind, &zone, read, own));
        }
    }
    lines.sort_by_key(|line| std::cmp::Reverse(line.at));
    Ok(lines)
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Thread, Read>,
    show: Show,
    form: Option<FormView>,
) -> Result<ThreadPage> {
    let mut snapshot = app.store.snapshot().await?;
    let read = post::read_until(&mut snapshot, access).await?;
    let mut lines = all_lines(&mut snapshot, visit, access, read).await?;
    let newest = lines.first().map(|line| line.at);
    lines.retain(|line| show.keeps(line));
    let to = roles(&mut snapshot, access).await?;
    drop(snapshot);
    // The mark moves only when there is something behind it.
    if newest.is_some_and(|newest| read.is_none_or(|read| newest > read)) {
        let mut tx = app.store.tx().await?;
        post::mark_read(&mut tx, access).await?;
        tx.commit(Audit::by(access).doing("mark as read")).await?;
    }
    let form = visit
        .may::<Thread, Create>()
        .then(|| form.unwrap_or_else(|| FormView::filled(context, Entry::default().with("to", "note"))));
    let mut shell = shell_about(context, visit, "Thread");
    shell.has_faults = form.as_ref().is_some_and(|form| !form.faults.is_empty());
    let filters = Show::ALL
        .into_iter()
        .map(|(one, code, words)| {
            let query = if code.is_empty() { String::new() } else { format!("?show={code}") };
            (visit.at(&format!("/thread{query}")), words, one == show)
        })
        .collect();
    Ok(ThreadPage { shell, form, action: visit.at("/thread"), to, filters, lines })
}

/// To whom something may be written: everybody, or one role of the present team.
async fn roles(snapshot: &mut Snapshot, access: &Access<Thread, Read>) -> Result<Vec<(String, String)>> {
    let mut offered = vec![("note".to_owned(), "A note for everybody who may read this thread".to_owned())];
    if let Ok(part) = access.part::<Team>() {
        let today = snapshot.today();
        let members = team::members(snapshot, &part).await?;
        for role in Role::ALL {
            let present =
                members.iter().any(|member| member.role == *role && member.ends_on.is_none_or(|end| end > today));
            if present && access.actor().role != Some(*role) {
                offered.push((role.code().to_owned(), format!("A question to the {}", role.words())));
            }
        }
    }
    Ok(offered)
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Read>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let show = Show::of(query.as_deref());
    Ok(Page(build(&app, &context, &visit, &access, show, None).await?).into_response())
}

fn new_post(entry: &Entry) -> std::result::Result<NewPost, Faults> {
    let mut check = Check::new(entry);
    let to = match check.typed("to") {
        "note" => Some(None),
        _ => check.code::<Role>("to", "To whom").map(Some),
    };
    let body = check.text("body", "What you write", LONG_TEXT);
    check.build(|| {
        Some(match to? {
            None => NewPost::Note(body),
            Some(role) => NewPost::Question(role, body),
        })
    })
}

async fn write(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Create>,
    posted: Posted,
) -> Result<Response> {
    let own_role = visit.role();
    let new = match new_post(&posted.entry) {
        Ok(NewPost::Question(role, _)) if Some(role) == own_role => {
            Err(Faults::one("to", "Choose another role than your own, or write a note."))
        }
        checked => checked,
    };
    let new = match new {
        Ok(new) => new,
        Err(faults) => {
            let reading = visit.open::<Thread, Read>().await?;
            let form = FormView::again(&context, &posted, faults);
            return Ok(
                Again(build(&app, &context, &visit, &reading, Show::Everything, Some(form)).await?).into_response()
            );
        }
    };
    let location = visit.at("/thread");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = post::write(&mut tx, &access, &new).await?;
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

#[derive(Template)]
#[template(path = "thread/answer.html")]
struct AnswerPage {
    shell: Shell,
    form: FormView,
    asked: String,
    by: String,
    action: String,
    back: String,
}

async fn answer_form(app: &App, context: &Context, visit: &Visit, id: PostId, form: FormView) -> Result<AnswerPage> {
    let access = visit.open::<Thread, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let posts = post::of_student(&mut snapshot, &access).await?;
    let asked = posts.into_iter().find(|post| post.id == id).ok_or(Error::Hidden)?;
    if !post::may_answer(&asked, visit.actor()) {
        return Err(Error::Hidden);
    }
    Ok(AnswerPage {
        shell: shell_about(context, visit, "Answer a question").of_form(&form),
        form,
        by: format!("{}, {}", who(&asked.by, asked.role), words::instant(asked.at, app.store.clock().zone())),
        asked: asked.body,
        action: visit.at(&format!("/thread/{id}/answer")),
        back: visit.at("/thread"),
    })
}

async fn answer_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Thread, Create>,
    Record(id): Record<PostId>,
) -> Result<Response> {
    Ok(Page(answer_form(&app, &context, &visit, id, FormView::blank(&context)).await?).into_response())
}

async fn answer(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Create>,
    Record(id): Record<PostId>,
    posted: Posted,
) -> Result<Response> {
    let mut check = Check::new(&posted.entry);
    let body = check.text("body", "Your answer", LONG_TEXT);
    let body = match check.build(|| Some(body)) {
        Ok(body) => body,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(answer_form(&app, &context, &visit, id, form).await?).into_response());
        }
    };
    let reading = visit.open::<Thread, Read>().await?;
    let location = visit.at("/thread");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let answered = post::answer(&mut tx, &access, &reading, id, &body).await?;
    tx.commit_at(Audit::by(&access).doing("answer").record(answered), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
