//! The first screen of every role: who needs something today, and what.
//!
//! A vision teacher's and a clinician's list is ordered by what waits for them,
//! oldest first; everybody else's by name.
//! What is shown of a student is what that reader may be shown of the stage.

mod questions;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use self::questions::{Question, Questions};
use super::devices::recheck;
use super::error::{Error, Result};
use super::page::{Context, Page, Shell};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{consents, part, steps, thread, words};
use crate::access::Role;
use crate::access::action::{Create, Read, Sign};
use crate::access::resource::{
    Card, ClassObservation, Consents, HomeObservation, Stage, Thread, Training, Transcription, TryAtHome,
};
use crate::care::journey::Stage as At;
use crate::care::journey::fact::Source;
use crate::care::journey::step::{Act, Around, Step, Whose, next_step};
use crate::care::track::Track;
use crate::store::{around, card, caseload, question, thread_read, try_at_home};

/// Loans due within this many days are shown (common practice).
const LOAN_WARNING_DAYS: i64 = 14;

/// The route of the first screen.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/today", page)
}

#[derive(Template)]
#[template(path = "today/page.html")]
struct TodayPage {
    shell: Shell,
    day: String,
    lede: &'static str,
    questions: Vec<Question>,
    you_asked: Vec<Question>,
    students: Vec<Line>,
    /// Those whose record is closed, last.
    closed: Vec<Line>,
    may_open_record: bool,
    steward: bool,
}

/// One student of the list.
struct Line {
    name: String,
    href: String,
    paused: bool,
    /// How many lines of the thread are new to this reader, and where they are.
    new: Option<(String, String)>,
    closed: bool,
    tracks: Vec<TrackLine>,
    newest: Vec<(String, String)>,
    /// What the released card says, or what to try at home.
    said: Vec<(String, String)>,
    notes: Vec<String>,
    actions: Vec<(String, String)>,
    urgency: (u8, Option<Date>),
}

/// What one track waits for.
struct TrackLine {
    track: String,
    stage: String,
    next: String,
    since: String,
    yours: bool,
    href: String,
}

async fn page(State(app): State<App>, context: Context) -> Result<Response> {
    let actor = context.actor()?.clone();
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let listed = match actor.role {
        Some(_) => caseload::students(&mut snapshot, &actor).await?,
        None => caseload::every_student(&mut snapshot, &actor).await?,
    };
    let newest = caseload::newest_seen(&mut snapshot, &actor).await?;
    let until = today.saturating_add(LOAN_WARNING_DAYS.days());
    let due = caseload::loans_due(&mut snapshot, &actor, until).await?;
    let asked = question::students(&mut snapshot, &actor).await?;
    let unread = thread_read::students(&mut snapshot, &actor).await?;
    drop(snapshot);
    let password = context.session.as_ref().ok_or(Error::SignInNeeded)?.password;
    let mut students = Vec::new();
    let mut questions = Questions::default();
    for student in listed {
        let visit = match Visit::begin(&app.store, actor.clone(), student, password).await {
            Ok(visit) => visit,
            // A parent whose rights a court narrowed is on the team and sees nothing.
            Err(Error::Hidden) => continue,
            Err(error) => return Err(error),
        };
        let mut line = line(&app, &context, &visit, today).await?;
        if asked.contains(&student) {
            questions.add(&app, &visit).await?;
        }
        if unread.contains(&student) {
            line.new = new_lines(&app, &visit).await?;
        }
        // The settings stand in this order everywhere.
        let settings = ["classroom", "home", "community", "training"];
        let of = |setting: &str| newest.iter().find(|seen| seen.student == student && seen.setting == setting);
        for seen in settings.into_iter().filter_map(of) {
            line.newest.push((
                seen.setting.clone(),
                format!("{}: {}", words::capital(&seen.setting), words::ago(seen.on, today)),
            ));
        }
        for loan in due.iter().filter(|loan| loan.student == student) {
            let when = if loan.on < today { "was due back on" } else { "is due back on" };
            line.notes.push(format!("{} {when} {}", loan.tag, words::date(loan.on)));
        }
        students.push(line);
    }
    if matches!(actor.role, Some(Role::VisionTeacher | Role::Clinician)) {
        students.sort_by(|a, b| a.urgency.cmp(&b.urgency).then_with(|| a.name.cmp(&b.name)));
    }
    let (closed, students): (Vec<Line>, Vec<Line>) = students.into_iter().partition(|line| line.closed);
    let lede = match actor.role {
        Some(Role::VisionTeacher) => "Your students, those who wait longest for you first.",
        Some(Role::ClassroomTeacher) => "The students you see in class.",
        Some(Role::Parent) => "Where things stand, and what comes next.",
        Some(Role::Clinician) => "What waits longest for you first, then the others on your list.",
        None => "Names, stages and dates. Clinical and teaching content is not shown to a records officer.",
    };
    let shell = context.shell("Today");
    let may_open_record = actor.role == Some(Role::VisionTeacher);
    let Questions { for_you, you_asked } = questions.oldest_first();
    let page = TodayPage {
        shell,
        day: words::weekday(today),
        lede,
        questions: for_you,
        you_asked,
        students,
        closed,
        may_open_record,
        steward: actor.steward,
    };
    Ok(Page(page).into_response())
}

/// Whose words a reader is given.
pub fn reader(role: Option<Role>) -> Whose {
    match role {
        Some(Role::VisionTeacher) => Whose::VisionTeacher,
        Some(Role::ClassroomTeacher) => Whose::ClassroomTeacher,
        Some(Role::Parent) => Whose::Parent,
        Some(Role::Clinician) => Whose::Clinician,
        None => Whose::Steward,
    }
}

/// How much of a student's thread this reader has not seen.
async fn new_lines(app: &App, visit: &Visit) -> Result<Option<(String, String)>> {
    let Some(access) = visit.unshown::<Thread>() else { return Ok(None) };
    let mut snapshot = app.store.snapshot().await?;
    let count = thread::count_new(&mut snapshot, &access).await?;
    Ok((count > 0).then(|| (visit.at("/thread"), thread::new_words(count))))
}

async fn line(app: &App, context: &Context, visit: &Visit, today: Date) -> Result<Line> {
    let strip = visit.strip();
    let mut line = Line {
        name: strip.name,
        href: visit.at(""),
        paused: strip.paused,
        new: None,
        closed: false,
        tracks: Vec::new(),
        newest: Vec::new(),
        said: said(app, visit, context).await?,
        notes: Vec::new(),
        actions: actions(app, visit).await?,
        urgency: (3, None),
    };
    if visit.waits_for_consent() {
        line.notes.push(
            "Waiting for consent: a parent has not yet signed that the school may share this record with your clinic"
                .to_owned(),
        );
    }
    if let Some(access) = visit.open_if::<Consents, Read>().await? {
        let mut snapshot = app.store.snapshot().await?;
        line.notes.extend(consents::notes(&mut snapshot, &access).await?);
    }
    let Some(access) = visit.open_if::<Stage, Read>().await? else {
        return Ok(line);
    };
    let mut snapshot = app.store.snapshot().await?;
    let requested = |track: Track| {
        let shown = visit.tracks().iter().find(|shown| shown.journey.track == track);
        shown.and_then(|shown| shown.journey.request).map(|request| request.since)
    };
    let beside = around::beside(&mut snapshot, &access, requested).await?;
    let others_move = visit.tracks().iter().any(|shown| shown.journey.recommendation.is_some());
    let both_at_intake = visit.tracks().iter().all(|shown| shown.journey.stage == At::Intake);
    for shown in visit.tracks() {
        let track = shown.journey.track;
        let at_intake = shown.journey.stage == At::Intake;
        // A track nobody has looked at yet says nothing, unless both are there;
        // nor does one without a device beside one with.
        let beside_another = shown.journey.stage == At::NoDeviceAdvised && others_move;
        if beside_another || (at_intake && (!both_at_intake || track == Track::Near)) {
            continue;
        }
        let around = beside.of(track);
        let step = next_step(&shown.journey, around);
        line.urgency = line.urgency.min(urgency(visit, &step, around));
        line.tracks.push(track_line(visit, shown, &step, both_at_intake, today));
    }
    if visit.role() == Some(Role::VisionTeacher) {
        line.notes.extend(visit.tracks().iter().flat_map(|shown| recheck::lines(&shown.journey)));
    }
    let overlay = beside.of(Track::Distance).overlay;
    line.closed = overlay.closed.is_some();
    if let Some(day) = overlay.closed {
        line.notes.push(format!("Closed on {}", words::date(day)));
    }
    if let Some(day) = overlay.on_hold {
        line.notes.push(format!("On hold since {}", words::date(day)));
    }
    if let Some(due) = overlay.evaluation_due {
        line.notes.push(format!("The next evaluation was due on {}", words::date(due)));
    }
    Ok(line)
}

fn urgency(visit: &Visit, step: &Step, around: &Around) -> (u8, Option<Date>) {
    let whose = step.whose();
    let rank = if around.overlay.paused.is_some() {
        0
    } else if whose == Some(reader(visit.role())) {
        1
    } else {
        2
    };
    (rank, step.since)
}

fn track_line(
    visit: &Visit,
    shown: &crate::store::journey::Shown,
    step: &Step,
    both_at_intake: bool,
    today: Date,
) -> TrackLine {
    let reader = reader(visit.role());
    let stage = if shown.waiting_for_consent { "waiting for consent" } else { shown.journey.stage.words() };
    let yours = step.whose() == Some(reader);
    TrackLine {
        track: if both_at_intake { String::new() } else { words::capital(shown.journey.track.words()) },
        stage: words::capital(stage),
        next: step.words_for(reader),
        since: step.since.map(|since| words::since(since, today)).unwrap_or_default(),
        yours,
        href: step.act.filter(|_| yours).map(|act: Act| steps::own_address(visit.student(), act)).unwrap_or_default(),
    }
}

/// To a classroom teacher the card's one line, to a parent what to try at home.
pub(super) async fn said(app: &App, visit: &Visit, context: &Context) -> Result<Vec<(String, String)>> {
    let mut said = Vec::new();
    match visit.role() {
        Some(Role::ClassroomTeacher) => {
            let access = visit.open::<Card, Read>().await?;
            let mut snapshot = app.store.snapshot().await?;
            let edition = match card::newest(&mut snapshot, &access).await? {
                None => return Ok(vec![("Card".to_owned(), "not released yet".to_owned())]),
                Some(edition) if edition.withdrawn.is_some() => {
                    return Ok(vec![("Card".to_owned(), "not released now".to_owned())]);
                }
                Some(edition) => edition,
            };
            let units = words::units(context);
            said.extend(
                edition.figures.words(false, units).map(|line| ("To read the board".to_owned(), words::capital(&line))),
            );
            said.extend(
                edition.figures.words(true, units).map(|line| ("With the device".to_owned(), words::capital(&line))),
            );
            if said.is_empty() {
                said.push(("Seat".to_owned(), edition.wording.seat));
            }
        }
        Some(Role::Parent) => {
            if let Some(access) = visit.open_if::<TryAtHome, Read>().await? {
                let mut snapshot = app.store.snapshot().await?;
                let newest = try_at_home::released(&mut snapshot, &access).await?;
                said.extend(newest.map(|edition| ("What to try at home".to_owned(), edition.body)));
            }
        }
        _ => {}
    }
    Ok(said)
}

async fn actions(app: &App, visit: &Visit) -> Result<Vec<(String, String)>> {
    let mut actions = Vec::new();
    let safety =
        |shown: &crate::store::journey::Shown| shown.journey.recommendation.as_ref().and_then(|now| now.safety);
    let copied = visit.tracks().iter().filter_map(safety).any(|safety| safety.source == Source::Transcribed);
    if copied && visit.role() == Some(Role::Clinician) && visit.may::<Transcription, Sign>() {
        let act = Act::ConfirmTranscription;
        actions.push((steps::address(visit.student(), act), words::capital(act.words())));
    }
    if visit.may::<Training, Create>() {
        actions.push((visit.at("/training/new"), "Record a session".to_owned()));
    }
    if visit.role() == Some(Role::Parent) && visit.may::<HomeObservation, Create>() {
        if let Some(access) = visit.open_if::<TryAtHome, Read>().await? {
            let mut snapshot = app.store.snapshot().await?;
            let newest = try_at_home::released(&mut snapshot, &access).await?;
            let tried = |id| visit.at(&format!("/observations/new?home={id}"));
            actions.extend(newest.map(|edition| (tried(edition.id), "We tried it".to_owned())));
        }
        actions.push((visit.at("/observations/new"), "Add a note from home".to_owned()));
    } else if visit.may::<ClassObservation, Create>() {
        actions.push((visit.at("/observations/new"), "Add observation".to_owned()));
    }
    Ok(actions)
}
