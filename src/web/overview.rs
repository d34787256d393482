//! A student's overview: where each track stands, what comes next and with whom
//! it waits, and the way round in steps.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;

use super::devices::recheck;
use super::error::Result;
use super::page::{Context, Page, Shell, shell_about};
use super::routes::Routes;
use super::state::App;
use super::thread::{Line, new_words, newest};
use super::today::{reader, said};
use super::visit::Visit;
use super::{evidence, part, people, steps, words};
use crate::access::action::{Create, Read};
use crate::access::resource::{ClassObservation, HomeObservation, Resource, Stage as StageRow, Thread};
use crate::care::journey::fact::Source;
use crate::care::journey::step::{Around, next_step};
use crate::care::journey::{Journey, Stage};
use crate::care::track::Track;
use crate::store::around;
use crate::store::journey::Shown;

/// The route of the overview.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}", page)
}

#[derive(Template)]
#[template(path = "overview/page.html")]
struct OverviewPage {
    shell: Shell,
    name: String,
    tracks: Vec<TrackPart>,
    evaluation_due: String,
    on_hold: String,
    closed: String,
    /// Whose rights they will be, and that a limit is on file.
    told: Vec<part::Notice>,
    waits_for_consent: bool,
    due_back: Vec<part::Notice>,
    said: Vec<(String, String)>,
    /// What can be read from where, for those who may read some of it.
    reach: Vec<evidence::ReachPicture>,
    evidence: String,
    newest: Vec<Line>,
    new: String,
    thread_href: String,
    add_observation: String,
    service: String,
}

struct TrackPart {
    title: String,
    stage: String,
    next: String,
    since: String,
    href: String,
    /// That what training rests on is a report on paper; empty, it is not.
    rests_on: &'static str,
    /// None where no device is advised: there is no way to go.
    way: Option<part::Steps>,
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    visit.opens_next(&[Thread::ROW, StageRow::ROW]).await?;
    let mut page = OverviewPage {
        shell: shell_about(&context, &visit, "Overview"),
        name: visit.name().to_owned(),
        tracks: Vec::new(),
        evaluation_due: String::new(),
        on_hold: String::new(),
        closed: String::new(),
        told: people::rights::told(&app, &visit).await?,
        waits_for_consent: visit.waits_for_consent(),
        due_back: Vec::new(),
        said: said(&app, &visit, &context).await?,
        reach: evidence::picture(&app, &visit, &context).await?,
        evidence: visit.at("/evidence"),
        newest: Vec::new(),
        new: String::new(),
        thread_href: visit.at("/thread"),
        add_observation: String::new(),
        service: if visit.may::<StageRow, Create>() { visit.at("/service") } else { String::new() },
    };
    if visit.may::<ClassObservation, Create>() || visit.may::<HomeObservation, Create>() {
        page.add_observation = visit.at("/observations/new");
    }
    if let Some(access) = visit.open_if::<Thread, Read>().await? {
        let (lines, new) = newest(&app, &visit, &access).await?;
        (page.newest, page.new) = (lines, new_words(new));
    }
    if let Some(access) = visit.open_if::<StageRow, Read>().await? {
        let mut snapshot = app.store.snapshot().await?;
        let today = snapshot.today();
        let requested = |track: Track| {
            let shown = visit.tracks().iter().find(|shown| shown.journey.track == track);
            shown.and_then(|shown| shown.journey.request).map(|request| request.since)
        };
        let beside = around::beside(&mut snapshot, &access, requested).await?;
        let overlay = beside.of(Track::Distance).overlay;
        page.evaluation_due = dated("It was due on", overlay.evaluation_due, " Training goes on.");
        page.on_hold = dated("On hold since", overlay.on_hold, "");
        page.due_back = recheck::notices(&mut snapshot, &visit, &access).await?;
        page.closed = dated("Closed on", overlay.closed, "");
        page.tracks = visit
            .tracks()
            .iter()
            .map(|shown| track_part(&visit, shown, beside.of(shown.journey.track), today))
            .collect();
    }
    Ok(Page(page).into_response())
}

fn dated(before: &str, day: Option<Date>, after: &str) -> String {
    day.map(|day| format!("{before} {}.{after}", words::date(day))).unwrap_or_default()
}

fn track_part(visit: &Visit, shown: &Shown, around: &Around, today: Date) -> TrackPart {
    let journey = &shown.journey;
    let step = next_step(journey, around);
    let reader = reader(visit.role());
    let yours = step.whose() == Some(reader);
    let stage = if shown.waiting_for_consent { "waiting for consent" } else { journey.stage.words() };
    TrackPart {
        title: format!("{} track", words::capital(journey.track.words())),
        stage: words::capital(stage),
        next: step.words_for(reader),
        since: step.since.map(|since| words::since(since, today)).unwrap_or_default(),
        href: step.act.filter(|_| yours).map(|act| steps::own_address(visit.student(), act)).unwrap_or_default(),
        rests_on: rests_on(journey),
        way: (journey.stage != Stage::NoDeviceAdvised).then(|| way(journey, around)),
    }
}

/// What is said of a recommendation that a vision teacher copied from paper.
fn rests_on(journey: &Journey) -> &'static str {
    match journey.recommendation.as_ref().and_then(|now| now.safety).map(|safety| safety.source) {
        Some(Source::Transcribed) => {
            "The recommendation is transcribed, not confirmed: a clinician has not confirmed the paper report yet."
        }
        _ => "",
    }
}

/// One step of the way: its words, whether it was taken, and the day if known.
struct Taken {
    words: &'static str,
    taken: bool,
    on: Option<Date>,
}

impl Taken {
    fn on(words: &'static str, on: Option<Date>) -> Self {
        Self { words, taken: on.is_some(), on }
    }
}

/// The way round of one track. What was taken carries its day; the first that
/// was not is the present one, unless the track is past it.
fn way(journey: &Journey, around: &Around) -> part::Steps {
    let own = journey.own_in_force().next();
    let requested = journey.request.map(|request| request.since);
    let evaluated = journey.history.first().map(|first| first.since);
    let steps = [
        // Of a request that was answered only the answer has a day here.
        Taken { words: "Evaluation asked for", taken: requested.or(evaluated).is_some(), on: requested },
        Taken::on("Evaluation signed, with a device recommended", evaluated),
        Taken::on("Readiness list signed", around.readiness_signed),
        Taken::on("Device lent", journey.loans.first().map(|loan| loan.opened_on)),
        Taken::on("Training summary sent", journey.summaries.last().map(|summary| summary.on)),
        Taken::on("Prescription signed", journey.prescription.as_ref().map(|signed| signed.since)),
        Taken::on("Own device received", own.map(|own| own.received_on)),
    ];
    let present = match journey.stage {
        Stage::Intake => 0,
        Stage::AwaitingEvaluation | Stage::NoDeviceAdvised => 1,
        Stage::WaitingForLoan => 3,
        Stage::TrainingOnLoan if around.readiness_signed.is_none() => 2,
        Stage::TrainingOnLoan => 4,
        Stage::SummaryWithClinician => 5,
        Stage::Prescribed => 6,
        Stage::OwnDevice => 7,
    };
    let mut way = part::steps();
    for (place, step) in steps.iter().enumerate() {
        let day = step.on.map(words::date).unwrap_or_default();
        way = if step.taken && place != present {
            way.done(step.words).note(&day)
        } else if place == present {
            way.now(step.words).note(&day)
        } else {
            way.later(step.words)
        };
    }
    way
}
