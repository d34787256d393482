//! The clinician's review: the teacher's question first, then every trial side
//! by side, then the decision, one screen per track. Where there is room the
//! decision stands beside what it rests on, so that nobody scrolls back and forth;
//! raw counts and what is seldom asked for are folded away.
//!
//! A decision is made on the summary that lay before the clinician: if another
//! was sent meanwhile, the page says so and nothing is stored. Reading the
//! decision form is in `decide`, what is shown is worded in `told`, and device
//! trials are drawn in `trials`.

mod decide;
mod told;
mod trials;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Response};

use super::devices::recheck;
use super::error::Result;
use super::evaluation::over_time::{AcuityPicture, OverTime, over_time};
use super::form::{Entry, FormView};
use super::page::{Context, Page, Shell, shell_about};
use super::params::Word;
use super::progress::minutes::{self, MinutesPicture};
use super::routes::Routes;
use super::state::App;
use super::summaries::{SINCE, behind_view, cautions_of, sources_and_since};
use super::training::tell;
use super::visit::Visit;
use super::words::options;
use super::{device_fields, evidence, part, words};
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{
    Evaluation, LoanGlimpse, Prescription as Row, Resource, Summary as SummaryRow, Thread, Training, Transcription,
};
use crate::care::device_words;
use crate::care::gates::may_finalise;
use crate::care::journey::Journey;
use crate::care::journey::fact::Choice;
use crate::care::named_device::NamedDevice;
use crate::care::task::{ContrastClass, LightLevel};
use crate::care::track::Track;
use crate::store::{self, Snapshot, decision, journey, summary};
use told::{Asked, SentPart, acuities, earlier, questions, sent_part};

pub use told::{DecisionView, decision_view};

/// The routes of the review.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/review", first)
        .get("/students/{student}/review/{word}", page)
        .post("/students/{student}/review/{word}", decide::decide)
}

#[derive(Template)]
#[template(path = "review/page.html")]
struct ReviewPage {
    shell: Shell,
    nav: part::SectionNav,
    title: String,
    stage: String,
    due_back: Vec<part::Notice>,
    unreadable: bool,
    sent: Option<SentPart>,
    earlier: Vec<(String, String)>,
    /// What the entries say now, beside what the summary froze.
    evidence: Option<evidence::ForReview>,
    /// Whether the summary's own table of devices by tasks is looked up, because
    /// the evidence has one that says more.
    counts_folded: bool,
    acuities: part::Table,
    acuities_how: Option<part::How>,
    over_time: OverTime,
    drawn: Vec<AcuityPicture>,
    trials: Option<trials::TrialsPicture>,
    minutes: Option<MinutesPicture>,
    questions: Vec<Asked>,
    decisions: Vec<DecisionView>,
    /// That nothing waits for a decision; empty, a summary does.
    nothing_waits: &'static str,
    base: String,
    /// The decisions of the track that stand: id and title.
    standing: Vec<(String, String)>,
    supersedes: String,
    finalising: String,
    form: FormView,
    action: String,
    choices: Vec<(&'static str, String)>,
    contrasts: Vec<(&'static str, String)>,
    lights: Vec<(&'static str, String)>,
    candidates: Vec<(String, String)>,
    /// Whether finalising needs a written reason, as far as can be told before
    /// devices are picked. G8.
    asks_why: bool,
    /// Whether something of the seat or the material was typed.
    besides_open: bool,
    first_device: device_fields::DeviceFields,
    second_device: device_fields::DeviceFields,
    cautions: part::Cautions,
}

impl ReviewPage {
    /// Lets the form take the place of a decision. Only of one of this track that
    /// stands; any other id leaves an ordinary form.
    fn takes_place_of(&mut self, id: &str) {
        if let Some((id, title)) = self.standing.iter().find(|(standing, _)| standing == id) {
            self.form.entry.set("supersedes", id.clone());
            self.supersedes.clone_from(title);
        }
    }
}

/// The track that waits for a decision; when none does, the one with a device.
async fn waiting(snapshot: &mut Snapshot, access: &Access<Row, Create>) -> Result<Track> {
    let tracks = journey::tracks(snapshot, access).await?;
    let waits = |track: &&Track| tracks.of(**track).with_clinician.is_some();
    let in_training = |track: &&Track| tracks.of(**track).recommendation.is_some();
    let found = Track::ALL.iter().find(waits).or_else(|| Track::ALL.iter().find(in_training));
    Ok(found.copied().unwrap_or(Track::Distance))
}

async fn first(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Create>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let track = waiting(&mut snapshot, &access).await?;
    drop(snapshot);
    Ok(Page(build(&app, &context, &visit, &access, track, None).await?).into_response())
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Create>,
    Word(track): Word<Track>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let mut page = build(&app, &context, &visit, &access, track, None).await?;
    page.takes_place_of(Entry::of_query(query.as_deref()).get("supersedes"));
    Ok(Page(page).into_response())
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Row, Create>,
    track: Track,
    form: Option<FormView>,
) -> Result<ReviewPage> {
    let others = [SummaryRow::ROW, Transcription::ROW, Thread::ROW];
    visit.opens_with::<Row>(&[&others[..], &SINCE].concat()).await?;
    let reading: Access<Row, Read> = visit.open().await?;
    let summaries: Option<Access<SummaryRow, Read>> = visit.open_if().await?;
    let evaluations: Option<Access<Evaluation, Read>> = visit.open_if().await?;
    let papers: Option<Access<Transcription, Read>> = visit.open_if().await?;
    let thread: Option<Access<Thread, Read>> = visit.open_if().await?;
    let sources = sources_and_since(visit).await?;
    let entries = evidence::for_review(app, visit, context, track).await?;
    let mut snapshot = app.store.snapshot().await?;
    let tracks = journey::tracks(&mut snapshot, access).await?;
    let now = tracks.of(track);
    let (acuities, acuities_how) = acuities(&mut snapshot, evaluations.as_ref(), papers.as_ref()).await?;
    let mut over_time = over_time(&mut snapshot, context, evaluations.as_ref(), papers.as_ref()).await?;
    let made = decision::list(&mut snapshot, &reading).await?;
    let (loans, training) = (sources.loans.as_ref(), sources.training.as_ref());
    let trials = trials::trials(&mut snapshot, loans, training, &made, track).await?;
    let minutes = minutes_held(&mut snapshot, visit, training, track).await?;
    let mut page = ReviewPage {
        shell: shell_about(context, visit, format!("Review, {} track", track.words())),
        nav: nav(visit, track),
        title: format!("Review, {} track", track.words()),
        stage: words::capital(now.stage.words()),
        due_back: recheck::notices(&mut snapshot, visit, access).await?,
        unreadable: summaries.is_none(),
        sent: None,
        earlier: Vec::new(),
        counts_folded: entries.as_ref().is_some_and(evidence::ForReview::has_matrix),
        evidence: entries,
        acuities,
        acuities_how,
        drawn: over_time.take_pictures(),
        over_time,
        trials,
        minutes,
        questions: questions(&mut snapshot, thread.as_ref(), visit).await?,
        decisions: Vec::new(),
        nothing_waits: if now.with_clinician.is_some() { "" } else { NOTHING_WAITS },
        base: visit.at(""),
        standing: Vec::new(),
        supersedes: String::new(),
        finalising: finalising(now, visit),
        form: FormView::default(),
        action: visit.at(&format!("/review/{}", track.code())),
        choices: options!(Choice),
        contrasts: options!(ContrastClass),
        lights: options!(LightLevel),
        candidates: Vec::new(),
        asks_why: false,
        besides_open: false,
        first_device: device_fields::fields(&FormView::default(), FIRST),
        second_device: device_fields::fields(&FormView::default(), SECOND),
        cautions: cautions_of(track),
    };
    // Also where it may not be read: a decision is made knowing that one lies there.
    let on_which = now.summaries.last().map(|newest| newest.id.to_string()).unwrap_or_default();
    if let Some(access) = &summaries {
        let all = summary::list(&mut snapshot, access).await?;
        let (mut standing, ended): (Vec<_>, Vec<_>) = all
            .into_iter()
            .filter(|one| one.track == track && one.sent_at.is_some())
            .partition(|one| one.after.ended.is_none());
        if !standing.is_empty() {
            let newest = standing.remove(0);
            let behind = summary::behind(&mut snapshot, access, &sources, &newest).await?;
            let behind = behind.map(|behind| behind_view(visit, &behind));
            page.sent = Some(sent_part(app, context, &newest, behind));
        }
        page.earlier = standing.iter().chain(&ended).map(|one| earlier(visit, one)).collect();
    }
    let candidates = decision::candidates(&mut snapshot, access, &tracks).await?;
    let candidates = candidates.get(&track).map_or(&[][..], Vec::as_slice);
    let form = form.unwrap_or_else(|| blank(context, candidates, on_which));
    page.candidates = numbered(candidates);
    page.asks_why = asks_why(now, candidates, &form);
    page.besides_open = BESIDES.iter().any(|name| !form.entry.get(name).is_empty() || form.faults.of(name).is_some());
    for made in made.iter().filter(|made| made.track == track) {
        let view = decision_view(made, context);
        if made.after.ended.is_none() {
            page.standing.push((made.id.to_string(), view.title.clone()));
        }
        page.decisions.push(view);
    }
    page.first_device = device_fields::fields(&form, FIRST);
    page.second_device = device_fields::fields(&form, SECOND);
    page.shell.has_faults = !form.faults.is_empty();
    let old = form.entry.get("supersedes").to_owned();
    page.form = form;
    page.takes_place_of(&old);
    Ok(page)
}

/// Said where no summary waits; a decision may be made all the same.
const NOTHING_WAITS: &str = "No summary of this track waits for you. A decision made now counts all the same.";

/// The minutes of training on this track, as far as this reader may read them.
async fn minutes_held(
    snapshot: &mut Snapshot,
    visit: &Visit,
    training: Option<&Access<Training, Read>>,
    track: Track,
) -> Result<Option<MinutesPicture>> {
    let Some(access) = training else { return Ok(None) };
    let sessions = store::training::list(snapshot, access).await?;
    let devices = match visit.open_if::<LoanGlimpse, Read>().await? {
        Some(glimpse) => tell::devices(snapshot, &glimpse, &sessions).await?,
        None => tell::Devices::default(),
    };
    Ok(minutes::view(track, &sessions, &devices))
}

/// The prefixes of the fields of the devices to change to.
pub(super) const FIRST: &str = "first_";
/// The second of them.
pub(super) const SECOND: &str = "second_";

/// An empty form, the devices in force ticked, on the summary shown.
fn blank(context: &Context, candidates: &[NamedDevice], on_which: String) -> FormView {
    let mut entry = Entry::default().with("summary", on_which);
    for (number, _) in numbered(candidates) {
        entry.add("finalised", number);
    }
    FormView::filled(context, entry)
}

/// Whether a reason past G8 is asked for: a device that may be finalised is covered
/// by no summary. Where one was typed or is missing, its field is there all the same.
fn asks_why(journey: &Journey, candidates: &[NamedDevice], form: &FormView) -> bool {
    let uncovered = |device: &NamedDevice| may_finalise(journey, std::slice::from_ref(&device.spec), None).is_err();
    let typed = !form.entry.get(WHY).is_empty() || form.faults.of(WHY).is_some();
    typed || candidates.iter().any(uncovered)
}

/// The fields of the seat and the material.
const BESIDES: [&str; 5] = ["seat", "x_height", "contrast", "light", "filter"];

/// The field of the reason past G8.
const WHY: &str = "no_summary_reason";

/// The devices that may be finalised, each under a number.
fn numbered(candidates: &[NamedDevice]) -> Vec<(String, String)> {
    candidates
        .iter()
        .enumerate()
        .map(|(place, device)| (place.to_string(), words::capital(&device_words::line(&device.spec))))
        .collect()
}

fn nav(visit: &Visit, track: Track) -> part::SectionNav {
    let links: Vec<(String, String)> = Track::ALL
        .iter()
        .map(|one| (visit.at(&format!("/review/{}", one.code())), format!("{} track", words::capital(one.words()))))
        .collect();
    part::nav("Tracks", &links, &visit.at(&format!("/review/{}", track.code())))
}

fn finalising(journey: &Journey, visit: &Visit) -> String {
    let decided = journey.with_clinician.is_some_and(|with| with.finalising.is_some());
    if decided { visit.at("/prescription") } else { String::new() }
}
