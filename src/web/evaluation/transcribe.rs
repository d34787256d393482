//! A report on paper, copied into the record: what only such a draft has.
//!
//! Its head, the ticks "not stated on the report" and the file of the paper
//! itself. Acuities that lack what a row needs are in `stated.rs`, the sections
//! it shares with any evaluation in `edit.rs`, reading and filing in `paper.rs`.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::kind::Drafts;
use super::{acuity, edit, hub};
use crate::access::Access;
use crate::access::action::{Create, Edit};
use crate::access::resource::Transcription;
use crate::care::evaluation::{Evaluation, MAY_BE_UNSTATED, NewPaper, Report, Section};
use crate::care::gates::missing_for_filing;
use crate::care::ids::EvaluationId;
use crate::store::Audit;
use crate::store::attachment::{self as files, Parent};
use crate::store::evaluation as stored;
use crate::web::attachment;
use crate::web::check::{Check, NAME};
use crate::web::error::Result;
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::{Choice, Group, Piece, Steps};
use crate::web::state::App;
use crate::web::upload::Uploaded;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

/// The oldest report that is copied, in years: a school career.
const OLDEST_REPORT_YEARS: i64 = 20;

/// Until when the next evaluation may be due, in years after the examination.
const LATEST_DUE_YEARS: i64 = 5;

/// The head of a report, as its fields.
pub(super) fn head_fields(form: &FormView) -> Vec<Piece> {
    vec![
        form.radios("report", "What kind of report is it?", &options!(Report))
            .hint("Only a low-vision report can open training. An ordinary eye report is kept as background.")
            .into(),
        form.text("clinician", "Clinician\u{2019}s name").hint("As on the report").optional().into(),
        form.date("examined_on", "Examined on")
            .hint("The date of the examination, not of the letter")
            .optional()
            .into(),
        form.text("place", "Place").hint("Clinic or practice").optional().into(),
        form.date("next_due_on", "Next evaluation due").hint("Only if the report says so").optional().into(),
    ]
}

/// Reads the head. What is missing may come later; filing asks for it.
pub(super) fn read_head(entry: &Entry, today: Date) -> std::result::Result<NewPaper, Faults> {
    let mut check = Check::new(entry);
    let report: Option<Report> = check.opt_code("report", "Kind of report");
    let clinician = check.opt_text("clinician", "Clinician\u{2019}s name", NAME);
    let oldest = today.saturating_sub(OLDEST_REPORT_YEARS.years());
    let examined_on = check.opt_date("examined_on", "Examined on", oldest..=today);
    let place = check.opt_text("place", "Place", NAME);
    let latest = today.saturating_add(LATEST_DUE_YEARS.years());
    let next_due_on = check.opt_date("next_due_on", "Next evaluation due", examined_on.unwrap_or(oldest)..=latest);
    check.build(|| Some(NewPaper { report, clinician, examined_on, place, next_due_on }))
}

/// The head back in its fields.
pub(super) fn head_entry(evaluation: &Evaluation) -> Entry {
    let day = |day: Option<Date>| day.map(|day| day.to_string()).unwrap_or_default();
    let report = evaluation.paper.as_ref().and_then(|paper| paper.report);
    Entry::default()
        .with("report", report.map_or("", Report::code))
        .with("clinician", evaluation.examiner.clone())
        .with("examined_on", day(evaluation.examined_on))
        .with("place", evaluation.place.clone())
        .with("next_due_on", day(evaluation.next_due_on))
}

/// The tick over a section that the report may be silent about.
pub(super) fn unstated_tick(form: &FormView) -> Choice {
    form.checks("not_stated", "If the report says nothing of this", &[("yes", "Not stated on the report")])
}

/// Which parts are not stated once this section is saved; none where a section
/// has no such tick.
pub(super) fn unstated_after(
    evaluation: &Evaluation,
    section: Section,
    entry: &Entry,
) -> std::result::Result<Option<Vec<Section>>, Faults> {
    let Some(paper) = evaluation.paper.as_ref().filter(|_| MAY_BE_UNSTATED.contains(&section)) else { return Ok(None) };
    let mut parts = paper.not_stated.clone();
    parts.retain(|part| *part != section);
    if entry.get("not_stated") == "yes" {
        let said =
            entry.iter().any(|(name, value)| !["not_stated", "then"].contains(&name) && !value.trim().is_empty());
        if said {
            return Err(Faults::one("not_stated", "Something is filled in below. Clear it, or take the tick out."));
        }
        parts.push(section);
    }
    Ok(Some(parts))
}

#[derive(Template)]
#[template(path = "evaluation/paper_begin.html")]
struct BeginPage {
    shell: Shell,
    form: FormView,
    action: String,
    fields: Group,
    back: String,
}

fn begin_view(context: &Context, visit: &Visit, form: FormView) -> BeginPage {
    BeginPage {
        shell: shell_about(context, visit, "Transcribe a paper report").of_form(&form),
        action: visit.at("/evaluations/paper/new"),
        fields: head_fields(&form).into_iter().collect(),
        back: visit.at("/evaluations"),
        form,
    }
}

/// The form that begins a transcription.
pub(super) async fn begin_page(context: Context, visit: Visit, _: Access<Transcription, Create>) -> Result<Response> {
    Ok(Page(begin_view(&context, &visit, FormView::blank(&context))).into_response())
}

/// Begins a transcription.
pub(super) async fn begin(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Create>,
    posted: Posted,
) -> Result<Response> {
    let new = match read_head(&posted.entry, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(begin_view(&context, &visit, form)).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = stored::begin_paper(&mut tx, &access, &new).await?;
    let location = visit.at(&format!("{}/{id}/edit", Transcription::BASE));
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

#[derive(Template)]
#[template(path = "evaluation/paper_hub.html")]
struct HubPage {
    shell: Shell,
    head: String,
    background: bool,
    steps: Steps,
    file: Option<(String, String)>,
    file_href: String,
    missing: Vec<String>,
    filing_href: String,
    back: String,
}

/// The sections of a transcription, its file, and what is missing.
pub(super) async fn hub(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Edit>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let report = edit::draft(&app, &access, id).await?;
    let paper = report.paper.clone().unwrap_or_default();
    let mut snapshot = app.store.snapshot().await?;
    let attached = files::of_parent(&mut snapshot, &access, Parent::Transcription(id)).await?;
    let day = report.examined_on.map(words::date).unwrap_or_else(|| "no day yet".to_owned());
    let by = if report.examiner.is_empty() { "no clinician\u{2019}s name yet" } else { &report.examiner };
    let kind = paper.report.map_or("kind of report not said yet", Report::words);
    let base = visit.at(&format!("{}/{id}", Transcription::BASE));
    let page = HubPage {
        shell: shell_about(&context, &visit, Transcription::DRAFT),
        head: format!("{day}, {by}, {kind}"),
        background: paper.report == Some(Report::Eye),
        steps: hub::steps::<Transcription>(&visit, &report),
        file: attached.first().map(|file| (attachment::href(&visit, file), attachment::link_words(file))),
        file_href: format!("{base}/file"),
        missing: missing_for_filing(&report, &paper),
        filing_href: format!("{base}/filing"),
        back: visit.at("/evaluations"),
    };
    Ok(Page(page).into_response())
}

#[derive(Template)]
#[template(path = "evaluation/paper_file.html")]
struct FilePage {
    shell: Shell,
    form: FormView,
    action: String,
    now: Option<(String, String)>,
    hub_href: String,
}

async fn file_view(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Transcription, Edit>,
    id: EvaluationId,
    form: FormView,
) -> Result<FilePage> {
    let mut snapshot = app.store.snapshot().await?;
    let attached = files::of_parent(&mut snapshot, access, Parent::Transcription(id)).await?;
    let base = visit.at(&format!("{}/{id}", Transcription::BASE));
    Ok(FilePage {
        shell: shell_about(context, visit, "The paper itself").of_form(&form),
        action: format!("{base}/file"),
        now: attached.first().map(|file| (attachment::href(visit, file), attachment::link_words(file))),
        hub_href: format!("{base}/edit"),
        form,
    })
}

/// Where the paper itself is attached.
pub(super) async fn file_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Edit>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let report = edit::draft(&app, &access, id).await?;
    let form = FormView::blank(&context).at_version(report.version);
    Ok(Page(file_view(&app, &context, &visit, &access, id, form).await?).into_response())
}

/// Attaches the paper, in place of what was attached before.
pub(super) async fn attach(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Edit>,
    Record(id): Record<EvaluationId>,
    Uploaded { posted, file }: Uploaded,
) -> Result<Response> {
    edit::draft(&app, &access, id).await?;
    let checked = match file.map(|file| file.check()) {
        Some(Ok(checked)) => Ok(checked),
        Some(Err(refused)) => Err(refused.to_string()),
        None => Err("Choose the file with the scan of the report.".to_owned()),
    };
    let checked = match checked {
        Ok(checked) => checked,
        Err(why) => {
            let form = FormView::again(&context, &posted, Faults::one("file", why));
            return Ok(Again(file_view(&app, &context, &visit, &access, id, form).await?).into_response());
        }
    };
    let location = visit.at(&format!("{}/{id}/edit", Transcription::BASE));
    let laid = app.store.files().lay(checked).await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let parent = Parent::Transcription(id);
    stored::next_version(&mut tx, &access, id, posted.version.unwrap_or(0)).await?;
    files::take_out(&mut tx, &app.store, &access, parent).await?;
    files::keep(&mut tx, &access, parent, laid).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("attach the paper"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// The tick on the acuity page, which has no other fields of its own.
pub(super) async fn acuity_unstated(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Edit>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let report = edit::draft(&app, &access, id).await?;
    let said = !report.acuities.is_empty() || report.paper.as_ref().is_some_and(|paper| !paper.stated.is_empty());
    if said && posted.entry.get("not_stated") == "yes" {
        let faults = Faults::one("not_stated", "Acuities stand above. Take them out first, or leave the tick out.");
        let form = FormView::again(&context, &posted, faults).at_version(report.version);
        return Ok(acuity::again::<Transcription>(&context, &visit, &report, form));
    }
    let parts = unstated_after(&report, Section::Acuity, &posted.entry).ok().flatten().unwrap_or_default();
    let location = visit.at(&format!("{}/{id}/edit", Transcription::BASE));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::next_version(&mut tx, &access, id, posted.version.unwrap_or(0)).await?;
    stored::save_unstated(&mut tx, &access, id, &parts).await?;
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
