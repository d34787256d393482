//! The first screen of every role: who needs something today, and what.
//!
//! A vision teacher's and a clinician's list is ordered by what waits for them,
//! oldest first; everybody else's by name.
//! What is shown of a student is what that reader may be shown of the stage.

pub(super) mod due;
mod questions;

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;

use due::Dues;
use questions::{Question, Questions};

use super::devices::recheck;
use super::error::{Error, Result, withheld_words};
use super::page::{Context, Page, Shell};
use super::routes::Routes;
use super::state::App;
use super::visit::{Caseload, Visit};
use super::{part, steps, thread, words};
use crate::access::action::{Create, Read, Sign};
use crate::access::resource::{
    Card, ClassObservation, HomeObservation, Stage, Thread, Training, Transcription, TryAtHome,
};
use crate::access::standing::Withheld;
use crate::access::{Access, Role};
use crate::care::ids::{StudentId, TryAtHomeId};
use crate::care::journey::Stage as At;
use crate::care::journey::fact::Source;
use crate::care::journey::step::{Act, Around, Step, Whose, next_step};
use crate::care::track::Track;
use crate::store::{around, card, caseload, duties, question, suspect, thread_read, try_at_home};
use crate::vision::length::shown::Units;

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
    /// What is said to a parent from whom a record is kept.
    withheld: Vec<(&'static str, String)>,
    /// Whether a proposal waits for this records officer.
    something_waits: bool,
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
    closed: bool,
    /// How many lines of the thread are new to this reader, and where they are.
    new: Option<(String, String)>,
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
    let password = context.session.as_ref().ok_or(Error::SignInNeeded)?.password;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let listed = match actor.role {
        Some(_) => caseload::students(&mut snapshot, &actor).await?,
        None => caseload::every_student(&mut snapshot, &actor).await?,
    };
    drop(snapshot);
    let Caseload { visits, withheld } = Visit::begin_all(&app.store, &context.site, &actor, &listed, password).await?;
    let known = Known::of(&app, &context, &visits).await?;
    let mut snapshot = app.store.snapshot().await?;
    let asked = question::students(&mut snapshot, &actor).await?;
    let in_doubt = suspect::students(&mut snapshot, &actor).await?;
    let something_waits = duties::something_waits(&mut snapshot, &actor).await?;
    drop(snapshot);
    let mut questions = Questions::default();
    for visit in visits.iter().filter(|visit| asked.contains(&visit.student())) {
        questions.add(&app, visit).await?;
    }
    for visit in visits.iter().filter(|visit| in_doubt.contains_key(&visit.student())) {
        questions.add_entries(&app, visit).await?;
    }
    let Questions { for_you, you_asked } = questions.oldest_first();
    let mut students: Vec<Line> = visits.iter().map(|visit| line(visit, &known)).collect();
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
    let mut reasons: Vec<Withheld> = Vec::new();
    for one in withheld {
        if !reasons.contains(&one) {
            reasons.push(one);
        }
    }
    let page = TodayPage {
        shell: context.shell("Today"),
        day: words::weekday(today),
        lede,
        withheld: reasons.into_iter().map(|one| withheld_words(one, context.site.owner())).collect(),
        something_waits,
        questions: for_you,
        you_asked,
        students,
        closed,
        may_open_record: actor.role == Some(Role::VisionTeacher),
        steward: actor.steward,
    };
    Ok(Page(page).into_response())
}

/// What is known of the whole list, gathered in a number of queries that does
/// not grow with it.
struct Known {
    today: Date,
    stages: Vec<Access<Stage, Read>>,
    beside: around::Gathered,
    said: BTreeMap<StudentId, Vec<(String, String)>>,
    /// What a parent may answer with a note: the edition of what to try at home.
    to_try: BTreeMap<StudentId, TryAtHomeId>,
    new: BTreeMap<StudentId, usize>,
    newest: Vec<caseload::Newest>,
    dues: Dues,
}

impl Known {
    async fn of(app: &App, context: &Context, visits: &[Visit]) -> Result<Self> {
        let stages = Visit::open_all::<Stage, Read>(visits).await?;
        let said = said_all(app, visits, context).await?;
        let dues = Dues::of(app, context, visits).await?;
        let new = new_lines(app, context, visits).await?;
        let to_try = to_try(app, visits, context).await?.into_iter().map(|(student, (id, _))| (student, id)).collect();
        let mut snapshot = app.store.snapshot().await?;
        Ok(Self {
            today: snapshot.today(),
            beside: around::gather(&mut snapshot, &stages).await?,
            newest: caseload::newest_seen(&mut snapshot, context.actor()?).await?,
            stages,
            said,
            to_try,
            new,
            dues,
        })
    }
}

/// How much of each student's thread this reader has not seen.
async fn new_lines(app: &App, context: &Context, visits: &[Visit]) -> Result<BTreeMap<StudentId, usize>> {
    let mut snapshot = app.store.snapshot().await?;
    let unread = thread_read::students(&mut snapshot, context.actor()?).await?;
    let mut new = BTreeMap::new();
    for visit in visits.iter().filter(|visit| unread.contains(&visit.student())) {
        if let Some(access) = visit.unshown::<Thread>() {
            new.insert(visit.student(), thread::count_new(&mut snapshot, &access).await?);
        }
    }
    Ok(new)
}

/// What to try at home as released last, to a parent.
async fn to_try(app: &App, visits: &[Visit], context: &Context) -> Result<BTreeMap<StudentId, (TryAtHomeId, String)>> {
    if context.actor()?.role != Some(Role::Parent) {
        return Ok(BTreeMap::new());
    }
    let proofs = Visit::open_all::<TryAtHome, Read>(visits).await?;
    Ok(try_at_home::released_all(&mut app.store.snapshot().await?, &proofs).await?)
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

fn line(visit: &Visit, known: &Known) -> Line {
    let (strip, student, today) = (visit.strip(), visit.student(), known.today);
    let mut line = Line {
        name: strip.name,
        href: visit.at(""),
        paused: strip.paused,
        closed: false,
        new: known
            .new
            .get(&student)
            .filter(|count| **count > 0)
            .map(|count| (visit.at("/thread"), thread::new_words(*count))),
        tracks: Vec::new(),
        newest: Vec::new(),
        said: known.said.get(&student).cloned().unwrap_or_default(),
        notes: Vec::new(),
        actions: actions(visit, known.to_try.get(&student)),
        urgency: (3, None),
    };
    // The settings stand in this order everywhere.
    let settings = ["classroom", "home", "community", "training"];
    let of = |setting: &str| known.newest.iter().find(|seen| seen.student == student && seen.setting == setting);
    line.newest = settings
        .into_iter()
        .filter_map(of)
        .map(|seen| {
            (seen.setting.clone(), format!("{}: {}", words::capital(&seen.setting), words::ago(seen.on, today)))
        })
        .collect();
    if visit.waits_for_consent() {
        line.notes.push(
            "Waiting for consent: a parent has not yet signed that the school may share this record with your clinic"
                .to_owned(),
        );
    }
    if let Some(access) = known.stages.iter().find(|access| access.student() == student) {
        tracks(&mut line, visit, &known.beside.of(access, |track| requested(visit, track)), today);
    }
    line.notes.extend(known.dues.notes(visit));
    line.actions.extend(known.dues.renewals(visit));
    line
}

/// The day of a request that is not answered yet, as this reader is shown it.
fn requested(visit: &Visit, track: Track) -> Option<Date> {
    let shown = visit.tracks().iter().find(|shown| shown.journey.track == track);
    shown.and_then(|shown| shown.journey.request).map(|request| request.since)
}

fn tracks(line: &mut Line, visit: &Visit, beside: &around::Beside, today: Date) {
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
    let mut said = said_all(app, std::slice::from_ref(visit), context).await?;
    Ok(said.remove(&visit.student()).unwrap_or_default())
}

/// The same for a whole list.
async fn said_all(
    app: &App,
    visits: &[Visit],
    context: &Context,
) -> Result<BTreeMap<StudentId, Vec<(String, String)>>> {
    match context.actor()?.role {
        Some(Role::ClassroomTeacher) => {
            let proofs = Visit::open_all::<Card, Read>(visits).await?;
            let mut cards = card::newest_all(&mut app.store.snapshot().await?, &proofs).await?;
            let units = words::units(context);
            Ok(proofs
                .iter()
                .map(|access| (access.student(), on_card(cards.remove(&access.student()), units)))
                .collect())
        }
        Some(Role::Parent) => {
            let at_home = to_try(app, visits, context).await?;
            let said = |words| vec![("What to try at home".to_owned(), words)];
            Ok(at_home.into_iter().map(|(student, (_, words))| (student, said(words))).collect())
        }
        _ => Ok(BTreeMap::new()),
    }
}

fn on_card(newest: Option<(card::Edition, bool)>, units: Units) -> Vec<(String, String)> {
    let edition = match newest {
        None => return vec![("Card".to_owned(), "not released yet".to_owned())],
        Some((_, true)) => return vec![("Card".to_owned(), "not released now".to_owned())],
        Some((edition, false)) => edition,
    };
    let mut said = Vec::new();
    said.extend(
        edition.figures.words(false, units).map(|line| ("To read the board".to_owned(), words::capital(&line))),
    );
    said.extend(edition.figures.words(true, units).map(|line| ("With the device".to_owned(), words::capital(&line))));
    if said.is_empty() {
        said.push(("Seat".to_owned(), edition.wording.seat));
    }
    said
}

fn actions(visit: &Visit, to_try: Option<&TryAtHomeId>) -> Vec<(String, String)> {
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
        let tried = |id: &TryAtHomeId| visit.at(&format!("/observations/new?home={id}"));
        actions.extend(to_try.map(|id| (tried(id), "We tried it".to_owned())));
        actions.push((visit.at("/observations/new"), "Add a note from home".to_owned()));
    } else if visit.may::<ClassObservation, Create>() {
        actions.push((visit.at("/observations/new"), "Add observation".to_owned()));
    }
    actions
}
