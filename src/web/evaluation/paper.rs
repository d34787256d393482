//! Transcribed reports as they are listed, read and filed.
//!
//! Until a clinician confirms it, a report says wherever it is shown that it is
//! `transcribed, not confirmed`. Read next: `transcribe.rs` for the writing,
//! `confirm.rs` for what comes after filing.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::kind::Drafts;
use super::view::{EvaluationView, view};
use super::{edit, stated};
use crate::access::Access;
use crate::access::action::{Action, Amend, Edit, Export, Read, Reads, Sign};
use crate::access::resource::{Loans, Transcription};
use crate::care::evaluation::{Evaluation, Paper, Report, State as At};
use crate::care::gates::{may_file_report, missing_for_filing};
use crate::care::ids::EvaluationId;
use crate::care::journey::Fit;
use crate::care::track::Track;
use crate::pdf::Room;
use crate::store::attachment::{self as files, Parent};
use crate::store::evaluation::{self as stored, Listed};
use crate::store::{Audit, Snapshot, amendment, journey};
use crate::web::error::{Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::{self, Amended, Cell, Notice, Table};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::{self, capital};
use crate::web::{amend, attachment, device_fields, pdf, steps};

/// The words of a report's state, wherever it is listed.
pub(super) fn state_words(state: At, report: Option<Report>) -> String {
    match (state, report) {
        (At::Filed, Some(Report::Eye)) => "Ordinary eye report, background, not confirmed".to_owned(),
        (At::Confirmed, Some(Report::Eye)) => "Ordinary eye report, background, confirmed by a clinician".to_owned(),
        (state, _) => capital(state.words()),
    }
}

/// The reports that this reader may read; none for one who reads no such thing.
pub(super) async fn listed(app: &App, visit: &Visit) -> Result<Option<Table>> {
    let Some(access) = visit.open_if::<Transcription, Read>().await? else { return Ok(None) };
    let mut snapshot = app.store.snapshot().await?;
    let reports = stored::list(&mut snapshot, &access).await?;
    let mut table = part::table("Reports on paper")
        .column("Examined on")
        .column("By")
        .column("State")
        .column("Filed on")
        .none("No report on paper is here.");
    for one in reports {
        table.push(row(app, visit, one));
    }
    Ok(Some(table))
}

fn row(app: &App, visit: &Visit, one: Listed) -> [Cell; 4] {
    let day = one.examined_on.map(words::date).unwrap_or_else(|| "no day yet".to_owned());
    let base = format!("{}/{}", Transcription::BASE, one.id);
    let (below, words, shape) = match one.state {
        At::Draft => (format!("{base}/edit"), format!("{day}, go on writing"), "now"),
        At::Filed if visit.may::<Transcription, Sign>() && visit.role() == Some(crate::access::Role::Clinician) => {
            (format!("{base}/confirm"), format!("{day}, read and confirm"), "waiting")
        }
        At::Confirmed => (base, day, "done"),
        _ => (base, day, "waiting"),
    };
    let zone = app.store.clock().zone();
    let filed = one.signed_at.map(|at| words::instant(at, zone)).unwrap_or_else(|| "not filed yet".to_owned());
    [
        Cell::link(&visit.at(&below), &words),
        Cell::from(one.examiner),
        Cell::status(&state_words(one.state, one.report), shape),
        Cell::from(filed),
    ]
}

/// What a report has beside its findings, worded.
pub(super) struct PaperView {
    pub(super) files: Vec<(String, String)>,
    pub(super) stated: Vec<String>,
    pub(super) not_stated: Vec<String>,
    pub(super) amended: Amended,
}

/// The links to the files of a report.
pub(super) async fn file_links<A: Action>(
    snapshot: &mut Snapshot,
    visit: &Visit,
    access: &Access<Transcription, A>,
    id: EvaluationId,
) -> Result<Vec<(String, String)>> {
    let attached = files::of_parent(snapshot, access, Parent::Transcription(id)).await?;
    Ok(attached
        .iter()
        .map(|file| (attachment::href(visit, file), format!("The paper: {}", attachment::link_words(file))))
        .collect())
}

pub(super) async fn paper_view<A: Reads>(
    app: &App,
    visit: &Visit,
    access: &Access<Transcription, A>,
    report: &Evaluation,
) -> Result<PaperView> {
    let mut snapshot = app.store.snapshot().await?;
    let paper = report.paper.clone().unwrap_or_default();
    let amendments = amendment::of_record(&mut snapshot, access, report.id).await?;
    Ok(PaperView {
        files: file_links(&mut snapshot, visit, access, report.id).await?,
        stated: paper.stated.iter().map(|one| stated::words(&one.what)).collect(),
        not_stated: paper.not_stated.iter().map(|section| capital(section.words())).collect(),
        amended: amend::shown(&amendments, app.store.clock().zone()),
    })
}

#[derive(Template)]
#[template(path = "evaluation/paper_page.html")]
struct ReadPage {
    shell: Shell,
    /// Not filed yet; only what was filed is printed.
    draft: bool,
    title: String,
    notices: Vec<Notice>,
    actions: Vec<(String, &'static str)>,
    view: EvaluationView,
    report: PaperView,
    pdf: pdf::Links,
    back: String,
}

/// A report as its reader may read it.
pub(super) async fn read(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Read>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    Ok(Page(read_page(&app, &context, &visit, &access, id).await?).into_response())
}

/// The same to keep.
pub(super) async fn on_paper(
    State(app): State<App>,
    paper: pdf::Paper<Transcription>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, id).await?;
    paper.answer(&page, Room::Open).await
}

/// A report as it is printed; a draft is nothing to hand out.
pub(in crate::web) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Transcription, Export>,
    id: EvaluationId,
) -> Result<impl Template> {
    let page = read_page(app, context, visit, &access.read(), id).await?;
    if page.draft { Err(Error::Hidden) } else { Ok(page) }
}

async fn read_page(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Transcription, Read>,
    id: EvaluationId,
) -> Result<ReadPage> {
    let report = stored::one(&mut app.store.snapshot().await?, access, id).await?;
    let paper = report.paper.clone().unwrap_or_default();
    let day = report.examined_on.map(words::date).unwrap_or_else(|| "no day yet".to_owned());
    let base = visit.at(&format!("{}/{id}", Transcription::BASE));
    let mut actions = Vec::new();
    match report.state {
        At::Draft if visit.may::<Transcription, Edit>() => actions.push((format!("{base}/edit"), "Go on writing")),
        At::Filed if visit.may::<Transcription, Amend>() => {
            actions.push((format!("{base}/amend"), "Correct what was copied"));
        }
        At::Filed if visit.may::<Transcription, Sign>() => {
            actions.push((format!("{base}/confirm"), "Confirm the report"));
        }
        _ => {}
    }
    let mut notices = vec![state_notice(app, &report, &paper)];
    if report.signed_at.is_some() {
        notices.extend(loans_that_differ(app, visit).await?);
    }
    let draft = report.state == At::Draft;
    Ok(ReadPage {
        shell: shell_about(context, visit, "Paper report"),
        draft,
        title: format!("Paper report of {day}"),
        notices,
        actions,
        view: view(&report, context),
        report: paper_view(app, visit, access, &report).await?,
        pdf: if !draft && visit.may::<Transcription, Export>() {
            pdf::links(&format!("{base}/paper.pdf"))
        } else {
            pdf::Links::default()
        },
        back: visit.at("/evaluations"),
    })
}

fn state_notice(app: &App, report: &Evaluation, paper: &Paper) -> Notice {
    let zone = app.store.clock().zone();
    let filed = report.signed_at.map(|at| words::instant(at, zone)).unwrap_or_default();
    match (report.state, &paper.confirmed) {
        (At::Draft, _) => part::notice("caution", "Draft", "Nobody else reads it before it is filed."),
        (At::Confirmed, Some(by)) => part::notice(
            "good",
            &state_words(report.state, paper.report),
            &format!("Confirmed by {} on {}. It was filed on {filed}.", by.name, words::instant(by.at, zone)),
        ),
        (state, _) => part::notice(
            "caution",
            &state_words(state, paper.report),
            &format!("Copied from paper and filed on {filed}. No clinician has signed it here."),
        ),
    }
}

/// The open loans that do not match what is recommended now, for a reader of loans.
async fn loans_that_differ(app: &App, visit: &Visit) -> Result<Option<Notice>> {
    if !visit.may::<Loans, Read>() {
        return Ok(None);
    }
    let Some(access) = visit.open_if::<Loans, Read>().await? else { return Ok(None) };
    let tracks = journey::tracks(&mut app.store.snapshot().await?, &access).await?;
    let names: Vec<String> = Track::ALL
        .iter()
        .flat_map(|track| tracks.of(*track).open_loans())
        .filter(|loan| loan.fit == Fit::Not)
        .map(|loan| device_fields::name(&loan.spec))
        .collect();
    if names.is_empty() {
        return Ok(None);
    }
    let named: Vec<&str> = names.iter().map(String::as_str).collect();
    Ok(Some(
        part::notice(
            "stop",
            "A loan does not match what is recommended now",
            &format!("On loan: {}. It is due back and takes no training session.", words::list(&named)),
        )
        .link(&visit.at("/devices"), "Devices"),
    ))
}

#[derive(Template)]
#[template(path = "evaluation/paper_filing.html")]
struct FilingPage {
    shell: Shell,
    view: EvaluationView,
    report: PaperView,
    missing: Vec<String>,
    says: &'static str,
    form: FormView,
    action: String,
    hub_href: String,
}

/// The draft as it will read, with the button that files it.
pub(super) async fn filing_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Edit>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let report = edit::draft(&app, &access, id).await?;
    let paper = report.paper.clone().unwrap_or_default();
    let form = FormView::blank(&context).at_version(report.version);
    let base = visit.at(&format!("{}/{id}", Transcription::BASE));
    let page = FilingPage {
        shell: shell_about(&context, &visit, "Read and file the paper report"),
        view: view(&report, &context),
        report: paper_view(&app, &visit, &access, &report).await?,
        missing: missing_for_filing(&report, &paper),
        says: match paper.report {
            Some(Report::Eye) => {
                "It is filed as background: the family reads it, and the clinic if a consent from the school to the clinic covers evaluations. It opens no training."
            }
            _ => {
                "The family reads it at once, and the clinic if a consent from the school to the clinic covers evaluations. Training may start on it where it says that it is safe; it reads as not confirmed until a clinician confirms it."
            }
        },
        form,
        action: format!("{base}/filing"),
        hub_href: format!("{base}/edit"),
    };
    Ok(Page(page).into_response())
}

/// What the policy says to one who may not file.
async fn refusal(visit: &Visit) -> Error {
    visit.open::<Transcription, Sign>().await.err().unwrap_or(Error::Hidden)
}

/// Files a report (G2).
pub(super) async fn file(
    State(app): State<App>,
    visit: Visit,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    // Confirming is signed under the same verb by a clinician, to whom a draft is not there.
    let Some(editing) = visit.open_if::<Transcription, Edit>().await? else {
        return Err(if visit.may::<Transcription, Sign>() { Error::Hidden } else { refusal(&visit).await });
    };
    let access = visit.open::<Transcription, Sign>().await?;
    let location = visit.at(&format!("{}/{id}", Transcription::BASE));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let report = stored::one(&mut tx, &editing, id).await?;
    if report.state != At::Draft {
        return Err(Error::Hidden);
    }
    let paper = report.paper.clone().unwrap_or_default();
    let may = may_file_report(&report, &paper).map_err(|blocked| {
        let (hub, student) = (visit.at(&format!("{}/{id}/edit", Transcription::BASE)), visit.student());
        match steps::blocked(student, blocked) {
            Error::Blocked(blocked, _) => Error::Blocked(blocked, hub),
            other => other,
        }
    })?;
    if posted.version != Some(report.version) {
        return Err(crate::store::StoreError::Stale.into());
    }
    stored::file(&mut tx, &access, may).await?;
    let audit = Audit::by(&access).record(id).doing("file").told("filed").on(may.examined_on());
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
