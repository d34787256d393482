//! Training summaries: the list, a new draft, the draft with its figures, and
//! the summary as sent.
//!
//! A draft's figures are drafted anew whenever it is opened, from what its
//! clinician may read; what changed since it was saved is marked. Preview, sign
//! and send are in `sending`.

mod behind;
mod correct;
mod quoted;
mod sending;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::check::{Check, LONG_TEXT};
use super::correct::{AfterView, acts};
use super::error::{Both, Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::part;
use super::pdf;
use super::routes::Routes;
use super::stale;
use super::state::App;
use super::summary_view::{FiguresView, view};
use super::visit::Visit;
use super::words::{self, options};
use crate::access::Access;
use crate::access::action::{Create, Edit, Export, Read};
use crate::access::resource::{
    ClassObservation, Evaluation, HomeObservation, Intake, Loans, Prescription, Resource, Row as RowOf, Summary as Row,
    Training,
};
use crate::care::caution::{Occasion, cautions};
use crate::care::ids::SummaryId;
use crate::care::summary::Figures;
use crate::care::track::{DeviceKind, Track};
use crate::pdf::Room;
use crate::store::journey::Shown;
use crate::store::summary::{self, Destination, Sources, Summary, Texts};
use crate::store::{Audit, Snapshot, StoreError, journey};

pub use behind::{BehindView, behind_view};

/// The routes of summaries.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/summaries", list)
        .post("/students/{student}/summaries", begin)
        .get("/students/{student}/summaries/{record}", page)
        .post("/students/{student}/summaries/{record}", save)
        .get("/students/{student}/summaries/{record}/preview", sending::preview)
        .post("/students/{student}/summaries/{record}/send", sending::send)
        .get("/students/{student}/summaries/{record}/print", print)
        .get("/students/{student}/summaries/{record}/paper.pdf", on_paper)
        .get("/students/{student}/summaries/{record}/correct", acts::page::<Summary>)
        .post("/students/{student}/summaries/{record}/amend", acts::amend::<Summary>)
        .post("/students/{student}/summaries/{record}/supersede", correct::supersede)
        .post("/students/{student}/summaries/{record}/error", acts::error::<Summary>)
        .get("/students/{student}/summaries/{record}/discard", correct::discard_page)
        .post("/students/{student}/summaries/{record}/discard", correct::discard)
}

/// The kinds of record that [`sources_and_since`] opens.
pub const SINCE: [RowOf; 7] = [
    Training::ROW,
    ClassObservation::ROW,
    HomeObservation::ROW,
    Loans::ROW,
    Intake::ROW,
    Evaluation::ROW,
    Prescription::ROW,
];

/// What this reader may read of a summary's ingredients; reading across is
/// written into the disclosure record here, before any transaction is open.
pub async fn sources(visit: &Visit) -> Result<Sources> {
    visit.opens_next(&[Training::ROW, ClassObservation::ROW, HomeObservation::ROW, Loans::ROW]).await?;
    Ok(Sources {
        training: visit.open_if().await?,
        class: visit.open_if().await?,
        home: visit.open_if().await?,
        loans: visit.open_if().await?,
        ..Sources::default()
    })
}

/// The same, and what tells whether a sent summary is behind.
pub async fn sources_and_since(visit: &Visit) -> Result<Sources> {
    visit.opens_next(&SINCE).await?;
    Ok(Sources {
        intake: visit.open_if().await?,
        evaluations: visit.open_if().await?,
        decisions: visit.open_if().await?,
        ..sources(visit).await?
    })
}

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

async fn list(State(app): State<App>, context: Context, visit: Visit, access: Access<Row, Read>) -> Result<Response> {
    Ok(Page(build_list(&app, &context, &visit, &access, None).await?).into_response())
}

/// The days a summary may count: no future, no more than three years back.
fn days(today: Date) -> std::ops::RangeInclusive<Date> {
    today.saturating_sub(3.years())..=today
}

async fn begin(
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

#[derive(Template)]
#[template(path = "summaries/draft.html")]
struct DraftPage {
    shell: Shell,
    crumbs: part::Crumbs,
    track: String,
    form: FormView,
    action: String,
    preview: String,
    discard: Option<String>,
    replaces: Option<part::Notice>,
    destination: String,
    blocked: String,
    people: String,
    changed: Option<part::Table>,
    figures: FiguresView,
    /// What the student said in these days, to be quoted.
    quoted: Vec<String>,
    cautions: part::Cautions,
}

/// The cautions of the kinds of device on a track's screens.
pub fn cautions_of(track: Track) -> part::Cautions {
    let kind = match track {
        Track::Distance => DeviceKind::HandheldMonocular,
        Track::Near => DeviceKind::HandMagnifier,
    };
    let list: Vec<&str> = cautions(kind, Occasion::Screen).into_iter().map(|caution| caution.words()).collect();
    part::cautions(&list)
}

fn entry_of(summary: &Summary) -> Entry {
    Entry::default()
        .with("from", summary.from.to_string())
        .with("to", summary.to.to_string())
        .with("words", summary.texts.words.clone())
        .with("student_words", summary.texts.student_words.clone())
        .with("questions", summary.texts.questions.clone())
        .with("look_at", summary.texts.look_at.clone())
        .with("few_reason", summary.texts.few_reason.clone())
}

/// Where it would go, in words.
pub(super) fn destination_words(destination: &Destination) -> String {
    if !destination.known {
        return "No clinician is on the team and no consent names a clinic.".to_owned();
    }
    let readers = match destination.clinicians.as_slice() {
        [] => "no clinician of this clinic is on the team yet".to_owned(),
        names => words::list(names),
    };
    format!("{} ({readers})", destination.to.name())
}

/// What changed between the saved figures and those of now.
fn changed(saved: Option<&Figures>, now: &Figures) -> Option<part::Table> {
    let changed = now.changed_since(saved?);
    if changed.is_empty() {
        return None;
    }
    let mut table = part::table("Figures that changed since this draft was saved")
        .column("Figure")
        .column("When saved")
        .column("Now");
    let shown = |value: String| if value.is_empty() { "not there".to_owned() } else { value };
    for (label, then, now) in changed {
        table.push([words::capital(&label), shown(then), shown(now)]);
    }
    Some(table)
}

/// A draft as it stands now: figures anew, and what they rest on.
struct Opened {
    summary: Summary,
    figures: Figures,
    destination: Destination,
}

async fn open(app: &App, access: &Access<Row, Read>, sources: &Sources, id: SummaryId) -> Result<Opened> {
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let summary = summary::one(&mut snapshot, access, id).await?;
    let destination = summary::destination(&mut snapshot, access).await?;
    let days = (summary.track, summary.from, summary.to);
    let scope = destination.scope(today);
    let figures = summary::assemble(&mut snapshot, access, sources, &scope, days).await?.figures;
    Ok(Opened { summary, figures, destination })
}

async fn draft_page(
    app: &App,
    context: &Context,
    visit: &Visit,
    opened: &Opened,
    form: Option<FormView>,
) -> Result<DraftPage> {
    let quoted = quoted::proposed(app, visit, opened).await?;
    let summary = &opened.summary;
    let form = form.unwrap_or_else(|| FormView::filled(context, entry_of(summary)).at_version(summary.version));
    let clock = app.store.clock();
    let blocked = opened.destination.may_send(clock.today(), clock.now()).err();
    let title = format!("Training summary, {} track", summary.track.words());
    Ok(DraftPage {
        shell: shell_about(context, visit, &title).of_form(&form),
        crumbs: part::crumbs(&[(visit.at("/summaries"), "Training summaries".to_owned())]),
        track: summary.track.words().to_owned(),
        form,
        action: visit.at(&format!("/summaries/{}", summary.id)),
        preview: visit.at(&format!("/summaries/{}/preview", summary.id)),
        discard: (summary.author == visit.actor().account)
            .then(|| visit.at(&format!("/summaries/{}/discard", summary.id))),
        replaces: summary.supersedes.map(|old| {
            let said = "Its words start as a copy of those sent. Once this is sent, that one counts no longer.";
            part::notice("plain", "This will take the place of a summary that was sent", said)
                .link(&visit.at(&format!("/summaries/{old}")), "Open the one that was sent")
        }),
        destination: destination_words(&opened.destination),
        blocked: blocked.map(|blocked| blocked.message).unwrap_or_default(),
        people: visit.at("/people"),
        changed: changed(summary.figures.as_ref(), &opened.figures),
        figures: view(&opened.figures, context),
        quoted,
        cautions: cautions_of(summary.track),
    })
}

#[derive(Template)]
#[template(path = "summaries/page.html")]
struct SentPage {
    shell: Shell,
    crumbs: Option<part::Crumbs>,
    title: String,
    facts: Vec<(String, String)>,
    after: AfterView,
    behind: Option<BehindView>,
    texts: Texts,
    figures: Option<FiguresView>,
    print: String,
    pdf: pdf::Links,
    cautions: part::Cautions,
}

fn sent_page(
    app: &App,
    (context, visit): (&Context, &Visit),
    summary: &Summary,
    (after, behind): (AfterView, Option<BehindView>),
    printed: bool,
) -> SentPage {
    let title = format!("Training summary, {} track", summary.track.words());
    let zone = app.store.clock().zone();
    let mut facts = vec![("Student".to_owned(), visit.name().to_owned())];
    match summary.sent_at {
        Some(at) => {
            facts.push(("Signed and sent".to_owned(), format!("{} by {}", words::instant(at, zone), summary.sent_by)))
        }
        None => facts.push(("State".to_owned(), "draft, not sent".to_owned())),
    }
    let may_print = summary.sent_at.is_some() && visit.may::<Row, Export>() && !printed;
    SentPage {
        shell: shell_about(context, visit, &title),
        crumbs: (!printed).then(|| part::crumbs(&[(visit.at("/summaries"), "Training summaries".to_owned())])),
        title,
        facts,
        after,
        behind,
        texts: summary.texts.clone(),
        figures: summary.figures.as_ref().map(|figures| view(figures, context)),
        print: if may_print { visit.at(&format!("/summaries/{}/print", summary.id)) } else { String::new() },
        pdf: if may_print {
            pdf::links(&visit.at(&format!("/summaries/{}/paper.pdf", summary.id)))
        } else {
            pdf::Links::default()
        },
        cautions: cautions_of(summary.track),
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let summary = summary::one(&mut snapshot, &access, id).await?;
    drop(snapshot);
    if summary.sent_at.is_some() || !visit.may::<Row, Edit>() {
        let sources = sources_and_since(&visit).await?;
        let mut snapshot = app.store.snapshot().await?;
        let after = acts::shown(&mut snapshot, (&context, &visit), &access, &summary).await?;
        // What has ended is not held against the record any more.
        let behind = match summary.after.ended {
            None => summary::behind(&mut snapshot, &access, &sources, &summary).await?,
            Some(_) => None,
        };
        let behind = behind.map(|behind| behind_view(&visit, &behind));
        return Ok(Page(sent_page(&app, (&context, &visit), &summary, (after, behind), false)).into_response());
    }
    let sources = sources(&visit).await?;
    let opened = open(&app, &access, &sources, id).await?;
    Ok(Page(draft_page(&app, &context, &visit, &opened, None).await?).into_response())
}

async fn print(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Export>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    Ok(Page(printed(&app, &context, &visit, &access, id).await?).into_response())
}

async fn on_paper(State(app): State<App>, paper: pdf::Paper<Row>, Record(id): Record<SummaryId>) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, id).await?;
    paper.answer(&page, Room::Open).await
}

/// The summary as it is printed; only what was sent is.
pub(super) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Row, Export>,
    id: SummaryId,
) -> Result<impl Template> {
    let mut snapshot = app.store.snapshot().await?;
    let summary = summary::one(&mut snapshot, access, id).await?;
    if summary.sent_at.is_none() {
        return Err(Error::Hidden);
    }
    let after = acts::shown(&mut snapshot, (context, visit), &access.read(), &summary).await?.correct_at(None);
    Ok(sent_page(app, (context, visit), &summary, (after, None), true))
}

fn texts(check: &mut Check<'_>) -> Texts {
    Texts {
        words: check.opt_text("words", "Your account", 2 * LONG_TEXT),
        student_words: check.opt_text("student_words", "The student\u{2019}s words", LONG_TEXT),
        questions: check.opt_text("questions", "Questions to the clinician", LONG_TEXT),
        look_at: check.opt_text("look_at", "What to look at", LONG_TEXT),
        few_reason: check.opt_text("few_reason", "Why so few sessions", LONG_TEXT),
    }
}

/// What to look at is a question, and the power of a device is the clinician's.
fn worded_as_question(check: &mut Check<'_>, field: &str, look_at: &str) {
    if !look_at.is_empty() && !look_at.contains('?') {
        check.fault(field, "Word it as a question, for example: would another field of view help at the board?");
    }
}

fn checked(entry: &Entry, today: Date) -> std::result::Result<(Date, Date, Texts), Faults> {
    let mut check = Check::new(entry);
    let from = check.date("from", "From", days(today));
    let to = check.date("to", "To", days(today));
    if from.zip(to).is_some_and(|(from, to)| from > to) {
        check.fault("from", "From must not be later than to.");
    }
    let texts = texts(&mut check);
    worded_as_question(&mut check, "look_at", &texts.look_at);
    check.build(|| Some((from?, to?, texts)))
}

async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let reading = access.read();
    let sources = sources(&visit).await?;
    let today = app.store.clock().today();
    let (from, to, texts) = match checked(&posted.entry, today) {
        Ok(checked) => checked,
        Err(faults) => {
            let opened = open(&app, &reading, &sources, id).await?;
            if opened.summary.sent_at.is_some() {
                return Err(Error::Hidden);
            }
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(draft_page(&app, &context, &visit, &opened, Some(form)).await?).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let saved = summary::one(&mut tx, &reading, id).await?;
    let scope = summary::destination(&mut tx, &reading).await?.scope(today);
    let days = (saved.track, from, to);
    let figures = summary::assemble(&mut tx, &reading, &sources, &scope, days).await?.figures;
    let here = visit.at(&format!("/summaries/{id}"));
    match summary::change(&mut tx, &access, id, &texts, &figures, posted.version.unwrap_or(0)).await {
        Ok(()) => {}
        Err(StoreError::Stale) => {
            let both = both(here, &saved, &posted.entry);
            // What was sent meanwhile is saved over by nobody.
            return match saved.sent_at {
                None => Err(stale::error(&mut tx, &access, (id, saved.version), both).await?),
                Some(_) => Err(Error::Stale(Box::new(both))),
            };
        }
        Err(error) => return Err(error.into()),
    }
    let next = if posted.entry.get("then") == "preview" { format!("{here}/preview") } else { here };
    tx.commit_at(Audit::by(&access).record(id), &next).await?;
    Ok(Redirect::to(&next).into_response())
}

/// What stands in the record and what was sent, field by field.
fn both(back: String, saved: &Summary, sent: &Entry) -> Both {
    let theirs = entry_of(saved);
    let labels = [
        ("from", "From"),
        ("to", "To"),
        ("words", "Your account"),
        ("student_words", "The student\u{2019}s words"),
        ("questions", "Questions to the clinician"),
        ("look_at", "What to look at"),
        ("few_reason", "Why so few sessions"),
    ];
    let rows = labels
        .into_iter()
        .map(|(name, label)| (label.to_owned(), theirs.get(name).to_owned(), sent.get(name).replace("\r\n", "\n")))
        .filter(|(_, theirs, yours)| theirs.trim() != yours.trim())
        .collect();
    Both { back, rows }
}
