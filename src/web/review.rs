//! The clinician's review: the teacher's question first, then every trial side
//! by side, then the decision, one screen per track. Where there is room the
//! decision stands beside what it rests on, so that nobody scrolls back and forth.
//!
//! A decision is made on the summary that lay before the clinician: if another
//! was sent meanwhile, the page says so and nothing is stored. Reading the
//! decision form is in `decide`, the drawing of device trials in `trials`.

mod decide;
mod trials;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Response};

use super::devices::recheck;
use super::error::Result;
use super::evaluation::over_time::{OverTime, over_time};
use super::evaluation::view::{acuity_how, acuity_table};
use super::form::{Entry, FormView};
use super::page::{Context, Page, Shell, shell_about};
use super::params::Word;
use super::progress::minutes::{self, MinutesPicture};
use super::routes::Routes;
use super::state::App;
use super::summaries::{BehindView, SINCE, behind_view, cautions_of, sources_and_since};
use super::summary_view::{self, FiguresView};
use super::training::tell;
use super::visit::Visit;
use super::words::options;
use super::{device_fields, evidence, part, words};
use crate::access::Access;
use crate::access::Role;
use crate::access::action::{Create, Read};
use crate::access::resource::{
    Evaluation, LoanGlimpse, Prescription as Row, Resource, Summary as SummaryRow, Thread, Training, Transcription,
};
use crate::care::device_words;
use crate::care::document::Mark;
use crate::care::evaluation::State as At;
use crate::care::journey::Journey;
use crate::care::journey::fact::Choice;
use crate::care::named_device::NamedDevice;
use crate::care::post::PostKind;
use crate::care::task::{ContrastClass, LightLevel};
use crate::care::track::Track;
use crate::store::summary::{self, Summary, Texts};
use crate::store::{self, Snapshot, decision, evaluation, journey, post};

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
    acuities: part::Table,
    acuities_how: Option<part::How>,
    over_time: OverTime,
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

/// An open question of the thread.
struct Asked {
    who: String,
    words: String,
    answer: String,
}

/// The summary under review.
struct SentPart {
    summary: String,
    sent: String,
    texts: Texts,
    matrix: part::Table,
    settings: part::Table,
    reasons: part::Table,
    comfort: part::Table,
    changes: part::Table,
    how: Option<part::How>,
    figures: Option<FiguresView>,
    behind: Option<BehindView>,
}

/// A decision, in words.
pub struct DecisionView {
    /// Where it is read, below its student.
    pub path: String,
    /// What was decided, on which track, when.
    pub title: String,
    /// What it says.
    pub facts: Vec<(String, String)>,
}

/// A decision as a reader sees it.
pub fn decision_view(made: &decision::Decision, context: &Context) -> DecisionView {
    let mut facts = Vec::new();
    for device in &made.devices {
        facts.push(("Device".to_owned(), words::capital(&device_words::line(&device.spec))));
    }
    if let Some(seat) = &made.seat {
        facts.push(("Seat".to_owned(), with_typed(&seat.typed, &words::distance(seat.value, context))));
    }
    if let Some(height) = &made.material.x_height {
        let shown = words::height(height.value.in_metres(), context);
        facts.push(("Small letters".to_owned(), with_typed(&height.typed, &shown)));
    }
    let material = &made.material;
    facts.extend(material.contrast.map(|contrast| ("Contrast".to_owned(), words::capital(contrast.words()))));
    facts.extend(material.light.map(|light| ("Light".to_owned(), words::capital(light.words()))));
    if !material.filter.is_empty() {
        facts.push(("Filter".to_owned(), material.filter.clone()));
    }
    facts.push(("Why".to_owned(), made.reason.clone()));
    if !made.no_summary_reason.is_empty() {
        facts.push(("Finalised without a summary because".to_owned(), made.no_summary_reason.clone()));
    }
    facts.extend(made.next_on.map(|day| ("Next look".to_owned(), words::date(day))));
    facts.push(("Signed by".to_owned(), made.by.clone()));
    match made.after.ended.as_ref().map(|ended| ended.mark) {
        Some(Mark::EnteredInError) => {
            facts.push(("State".to_owned(), "entered in error: counts as never made".to_owned()));
        }
        Some(_) => facts.push(("State".to_owned(), "superseded by a newer decision".to_owned())),
        None if !made.after.amended.is_empty() => facts.push(("State".to_owned(), "amended".to_owned())),
        None => {}
    }
    let title = format!(
        "{}, {} track, {}",
        words::capital(made.choice.words()),
        made.track.words(),
        words::date(made.decided_on)
    );
    DecisionView { path: format!("/decisions/{}", made.id), title, facts }
}

/// What was typed, with the reader's own unit behind it where that differs.
fn with_typed(typed: &str, shown: &str) -> String {
    if typed.is_empty() || typed == shown { shown.to_owned() } else { format!("{typed} ({shown})") }
}

/// The track that waits for a decision; the distance track when none does.
async fn waiting(snapshot: &mut Snapshot, access: &Access<Row, Create>) -> Result<Track> {
    let tracks = journey::tracks(snapshot, access).await?;
    let waits = |track: &&Track| tracks.of(**track).with_clinician.is_some();
    Ok(Track::ALL.iter().find(waits).copied().unwrap_or(Track::Distance))
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
    let over_time = over_time(&mut snapshot, context, evaluations.as_ref(), papers.as_ref()).await?;
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
        evidence: entries,
        acuities,
        acuities_how,
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

fn earlier(visit: &Visit, summary: &Summary) -> (String, String) {
    let days = format!("{} to {}", words::date(summary.from), words::date(summary.to));
    (
        visit.at(&format!("/summaries/{}", summary.id)),
        match summary.after.ended.as_ref() {
            Some(ended) => format!("{days}, {}", ended.mark.words()),
            None => days,
        },
    )
}

fn sent_part(app: &App, context: &Context, summary: &Summary, behind: Option<BehindView>) -> SentPart {
    let zone = app.store.clock().zone();
    let empty = || part::table("Figures").none("No figures were drafted.");
    let figures = summary.figures.as_ref();
    SentPart {
        summary: format!("{} to {}", words::date(summary.from), words::date(summary.to)),
        sent: summary
            .sent_at
            .map_or_else(String::new, |at| format!("Sent by {}, {}", summary.sent_by, words::instant(at, zone))),
        texts: summary.texts.clone(),
        matrix: figures.map_or_else(empty, summary_view::matrix),
        settings: figures.map_or_else(empty, summary_view::settings),
        reasons: figures
            .map_or_else(empty, |figures| summary_view::reasons(figures, "Reasons for not using the device")),
        comfort: figures.map_or_else(empty, |figures| summary_view::comfort(figures, "How it felt")),
        changes: figures
            .map_or_else(empty, |figures| summary_view::changes(figures, "What was changed, and how it went then")),
        how: figures.map(summary_view::matrix_how),
        figures: figures.map(|figures| summary_view::view(figures, context)),
        behind,
    }
}

async fn acuities(
    snapshot: &mut Snapshot,
    access: Option<&Access<Evaluation, Read>>,
    paper: Option<&Access<Transcription, Read>>,
) -> Result<(part::Table, Option<part::How>)> {
    let mut rows = match access {
        Some(access) => evaluation::newest_acuities(snapshot, access).await?,
        None => Vec::new(),
    };
    let mut unconfirmed = "";
    if let Some(access) = paper {
        let copied = evaluation::newest_acuities(snapshot, access).await?;
        if evaluation::list(snapshot, access).await?.iter().any(|one| one.state == At::Filed) && !copied.is_empty() {
            unconfirmed = " Those of a report on paper are transcribed, not confirmed.";
        }
        rows.extend(copied);
    }
    let shown: Vec<_> = rows.iter().collect();
    let measured: Vec<_> = rows.iter().map(|row| &row.row).collect();
    let table = acuity_table("Acuities as they stand", &shown)
        .note(&format!("Of each eye, correction and device, those of its newest signed evaluation.{unconfirmed}"));
    Ok((table, acuity_how(&measured)))
}

/// Open questions to the clinician in the thread.
async fn questions(
    snapshot: &mut Snapshot,
    access: Option<&Access<Thread, Read>>,
    visit: &Visit,
) -> Result<Vec<Asked>> {
    let Some(access) = access else { return Ok(Vec::new()) };
    let zone = snapshot.zone().clone();
    let today = snapshot.today();
    let posts = post::of_student(snapshot, access).await?;
    let open = posts
        .into_iter()
        .filter(|post| post.kind == PostKind::Question && post.closed_at.is_none() && post.to == Some(Role::Clinician));
    Ok(open
        .map(|post| {
            let since = post.waits_since().to_zoned_datetime(zone.clone()).date();
            Asked {
                who: format!("{}, since {} ({})", post.by, words::date(since), words::since(since, today)),
                answer: visit.at(&format!("/thread/{}/answer", post.id)),
                words: post.body,
            }
        })
        .collect())
}
