//! Evaluations: what was asked of the clinic, and what the clinic found.
//!
//! The list and the reading page are here. Read next: `request.rs` for asking,
//! `begin.rs` and `edit.rs` for writing, `signing.rs` for signing, `view.rs` for the words.

mod acuity;
mod acuity_row;
mod answer;
mod begin;
mod changing;
mod confirm;
mod correct;
mod discard;
mod edit;
mod findings;
mod hub;
mod kind;
mod meanwhile;
pub(super) mod over_time;
pub(super) mod paper;
pub(super) mod refraction;
mod request;
mod signing;
mod stated;
mod transcribe;
pub(super) mod view;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::correct::{AfterView, acts};
use super::devices::recheck;
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::part::{self, Cell, Facts, Notice, Status, Table};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{pdf, words};
use crate::access::action::{Create, Edit, Export, Read};
use crate::access::resource::{self, Resource, Transcription};
use crate::access::{Access, Role};
use crate::care::evaluation::{Evaluation, State as At};
use crate::care::ids::{EvaluationId, RequestId};
use crate::care::request::EvaluationRequest;
use crate::pdf::Room;
use crate::store::evaluation::{self as stored, Listed};
use crate::store::request as requests;
use over_time::{OverTime, over_time};

/// The routes of requests and evaluations.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/evaluations", list)
        .get("/students/{student}/evaluations/request", request::page)
        .post("/students/{student}/evaluations/request", request::ask)
        .post("/students/{student}/evaluations/request/{record}/withdraw", request::withdraw)
        .post("/students/{student}/evaluations/request/{record}/appointment", request::appoint)
        .get("/students/{student}/evaluations/new", begin::page)
        .post("/students/{student}/evaluations/new", begin::begin)
        .get("/students/{student}/evaluations/paper/new", transcribe::begin_page)
        .post("/students/{student}/evaluations/paper/new", transcribe::begin)
        .get("/students/{student}/evaluations/paper/unconfirmed", confirm::unconfirmed)
        .get("/students/{student}/evaluations/paper/{record}", paper::read)
        .get("/students/{student}/evaluations/paper/{record}/paper.pdf", paper::on_paper)
        .get("/students/{student}/evaluations/paper/{record}/edit", transcribe::hub)
        .get("/students/{student}/evaluations/paper/{record}/edit/{word}", edit::section_page::<Transcription>)
        .post("/students/{student}/evaluations/paper/{record}/edit/{word}", edit::save::<Transcription>)
        .get("/students/{student}/evaluations/paper/{record}/acuity/{word}", acuity::page::<Transcription>)
        .post("/students/{student}/evaluations/paper/{record}/acuity/{word}", acuity::change::<Transcription>)
        .post("/students/{student}/evaluations/paper/{record}/acuity/{word}/remove", acuity::remove::<Transcription>)
        .post("/students/{student}/evaluations/paper/{record}/acuity-not-stated", transcribe::acuity_unstated)
        .post("/students/{student}/evaluations/paper/{record}/stated", stated::add)
        .post("/students/{student}/evaluations/paper/{record}/stated/{word}/remove", stated::remove)
        .get("/students/{student}/evaluations/paper/{record}/file", transcribe::file_page)
        .upload("/students/{student}/evaluations/paper/{record}/file", transcribe::attach)
        .get("/students/{student}/evaluations/paper/{record}/filing", paper::filing_page)
        .post("/students/{student}/evaluations/paper/{record}/filing", paper::file)
        .get("/students/{student}/evaluations/paper/{record}/amend", confirm::amend_page)
        .post("/students/{student}/evaluations/paper/{record}/amend", confirm::amend)
        .get("/students/{student}/evaluations/paper/{record}/confirm", confirm::page)
        .post("/students/{student}/evaluations/paper/{record}/confirm", confirm::as_it_is)
        .get("/students/{student}/evaluations/paper/{record}/confirm/change", confirm::change_page)
        .post("/students/{student}/evaluations/paper/{record}/confirm/change", confirm::with_changes)
        .get("/students/{student}/evaluations/{record}", read)
        .get("/students/{student}/evaluations/{record}/paper.pdf", on_paper)
        .get("/students/{student}/evaluations/{record}/edit", hub::page)
        .get("/students/{student}/evaluations/{record}/edit/{word}", edit::section_page::<resource::Evaluation>)
        .post("/students/{student}/evaluations/{record}/edit/{word}", edit::save::<resource::Evaluation>)
        .get("/students/{student}/evaluations/{record}/acuity/{word}", acuity::page::<resource::Evaluation>)
        .post("/students/{student}/evaluations/{record}/acuity/{word}", acuity::change::<resource::Evaluation>)
        .post("/students/{student}/evaluations/{record}/acuity/{word}/remove", acuity::remove::<resource::Evaluation>)
        .get("/students/{student}/evaluations/{record}/preview", signing::preview)
        .post("/students/{student}/evaluations/{record}/sign", signing::sign)
        .get("/students/{student}/evaluations/{record}/correct", acts::page::<Evaluation>)
        .post("/students/{student}/evaluations/{record}/amend", acts::amend::<Evaluation>)
        .post("/students/{student}/evaluations/{record}/supersede", correct::supersede)
        .post("/students/{student}/evaluations/{record}/error", acts::error::<Evaluation>)
        .get("/students/{student}/evaluations/{record}/discard", discard::page)
        .post("/students/{student}/evaluations/{record}/discard", discard::discard)
}

#[derive(Template)]
#[template(path = "evaluation/list.html")]
struct ListPage {
    shell: Shell,
    notices: Vec<Notice>,
    requests: Option<Vec<RequestLine>>,
    request_href: Option<String>,
    evaluations: Option<Table>,
    evaluations_words: &'static str,
    begin_href: Option<String>,
    papers: Option<Table>,
    paper_href: Option<String>,
    over_time: OverTime,
}

/// A request with what can be done to it.
struct RequestLine {
    title: String,
    question: String,
    status: Status,
    facts: Facts,
    appointment: Option<FormView>,
    appointment_action: String,
    withdraw: Option<FormView>,
    withdraw_action: String,
    id: String,
}

async fn list(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    Ok(Page(build(&app, &context, &visit, None).await?).into_response())
}

/// The list with a form of one request that came back.
async fn list_again(
    app: &App,
    context: &Context,
    visit: &Visit,
    posted: &Posted,
    id: RequestId,
    faults: Faults,
) -> Result<Response> {
    let form = FormView::again(context, posted, faults);
    Ok(Again(build(app, context, visit, Some((id, form))).await?).into_response())
}

async fn build(app: &App, context: &Context, visit: &Visit, back: Option<(RequestId, FormView)>) -> Result<ListPage> {
    let parts = [resource::EvaluationRequest::ROW, resource::Evaluation::ROW, Transcription::ROW];
    visit.opens_next(&parts).await?;
    let asking = visit.open_if::<resource::EvaluationRequest, Read>().await?;
    let reading = visit.open_if::<resource::Evaluation, Read>().await?;
    let papers = paper::listed(app, visit).await?;
    let copied = visit.open_if::<Transcription, Read>().await?;
    if asking.is_none() && reading.is_none() && papers.is_none() {
        return Err(Error::Hidden);
    }
    let mut snapshot = app.store.snapshot().await?;
    let evaluations = match &reading {
        Some(access) => Some(stored::list(&mut snapshot, access).await?),
        None => None,
    };
    let mut notices = Vec::new();
    let (mut lines, mut open_one) = (None, false);
    if let Some(access) = &asking {
        let waits = requests::waits_for_consent(&mut snapshot, access).await?;
        let asked = requests::list(&mut snapshot, access).await?;
        let open = |asked: &EvaluationRequest| {
            asked.withdrawn_at.is_none() && answered(asked, evaluations.as_deref()).is_none()
        };
        open_one = asked.iter().any(open);
        if waits && open_one {
            notices.push(waiting_notice(visit));
        }
        lines = Some(
            asked
                .into_iter()
                .map(|asked| line(context, visit, asked, waits, evaluations.as_deref(), back.as_ref()))
                .collect(),
        );
    } else if visit.role() == Some(Role::Clinician) {
        notices.push(part::notice(
            "plain",
            "Waiting for consent",
            "The family has not agreed yet that the school\u{2019}s record goes to your clinic. Until then you see initials only.",
        ));
    }
    let over_time = over_time(&mut snapshot, context, reading.as_ref(), copied.as_ref()).await?;
    let mut shell = shell_about(context, visit, "Evaluations");
    shell.has_faults = back.is_some();
    Ok(ListPage {
        shell,
        notices,
        requests: lines,
        request_href: (!open_one && visit.may::<resource::EvaluationRequest, Create>())
            .then(|| visit.at("/evaluations/request")),
        evaluations: evaluations.map(|listed| table(app, visit, listed)),
        evaluations_words: "What the clinic signs is shown here once a consent from the clinic to the school covers it.",
        papers,
        over_time,
        paper_href: visit.may::<Transcription, Create>().then(|| visit.at("/evaluations/paper/new")),
        begin_href: visit.may::<resource::Evaluation, Create>().then(|| visit.at("/evaluations/new")),
    })
}

fn waiting_notice(visit: &Visit) -> Notice {
    let who = if visit.role() == Some(Role::Parent) { "you or another parent signs" } else { "a parent signs" };
    part::notice(
        "caution",
        "Waiting for consent",
        &format!(
            "The clinic cannot read the request yet. It can once {who} the consent from the school to the clinic."
        ),
    )
    .link(&visit.at("/people"), "People and consent")
}

/// The evaluation that answers a request, as far as this reader knows of one.
fn answered<'e>(asked: &EvaluationRequest, evaluations: Option<&'e [Listed]>) -> Option<&'e Listed> {
    evaluations?.iter().find(|listed| {
        listed.state != At::EnteredInError && listed.signed_at.is_some_and(|signed| signed > asked.entered_at)
    })
}

fn line(
    context: &Context,
    visit: &Visit,
    asked: EvaluationRequest,
    waits: bool,
    evaluations: Option<&[Listed]>,
    back: Option<&(RequestId, FormView)>,
) -> RequestLine {
    let answer = answered(&asked, evaluations);
    let open = asked.withdrawn_at.is_none() && answer.is_none();
    let status = if asked.withdrawn_at.is_some() {
        part::status("Taken back", "plain")
    } else if answer.is_some() {
        part::status("Answered by a signed evaluation", "done")
    } else if waits {
        part::status("Waiting for consent", "waiting")
    } else {
        part::status("With the clinic", "now")
    };
    let appointment_on = asked.appointment_on.map(words::date).unwrap_or_else(|| "no day yet".to_owned());
    let facts = part::facts(&[("Asked by", asked.by.clone()), ("Asked on", words::date(asked.what.requested_on))])
        .fact("How soon", &asked.what.urgency)
        .fact("Appointment", &appointment_on);
    let appointment = (open && visit.may::<resource::RequestDate, Edit>()).then(|| match back {
        Some((id, form)) if *id == asked.id => form.clone(),
        _ => {
            let day = asked.appointment_on.map(|day| day.to_string()).unwrap_or_default();
            FormView::filled(context, Entry::default().with("appointment_on", day)).at_version(asked.version)
        }
    });
    let withdraw = (open && visit.may::<resource::EvaluationRequest, Edit>())
        .then(|| FormView::blank(context).at_version(asked.version));
    let base = visit.at(&format!("/evaluations/request/{}", asked.id));
    RequestLine {
        title: format!("Asked on {}", words::date(asked.what.requested_on)),
        question: asked.what.question,
        status,
        facts,
        appointment,
        appointment_action: format!("{base}/appointment"),
        withdraw,
        withdraw_action: format!("{base}/withdraw"),
        id: asked.id.to_string(),
    }
}

fn table(app: &App, visit: &Visit, listed: Vec<Listed>) -> Table {
    let zone = app.store.clock().zone();
    let mut table = part::table("Evaluations")
        .column("Examined on")
        .column("By")
        .column("State")
        .column("To the school")
        .column("Next due")
        .none("No evaluation is here yet.");
    for one in listed {
        let day = one.examined_on.map(words::date).unwrap_or_else(|| "no day yet".to_owned());
        let draft = one.state == At::Draft;
        let below = if draft { format!("/evaluations/{}/edit", one.id) } else { format!("/evaluations/{}", one.id) };
        let words = if draft { format!("{day}, go on writing") } else { day };
        let state = match one.state {
            At::Draft => Cell::status("Draft", "now"),
            At::EnteredInError => Cell::status("Entered in error", "stop"),
            _ if one.superseded => Cell::status("Superseded", "plain"),
            state => Cell::status(&words::capital(state.words()), "done"),
        };
        let sent = match (one.signed_at, one.sent_to_school_at) {
            (_, Some(at)) => words::instant(at, zone),
            (Some(_), None) => "waiting for consent".to_owned(),
            (None, None) => "not signed yet".to_owned(),
        };
        let due = one.next_due_on.map(words::date).unwrap_or_default();
        table.push([
            Cell::link(&visit.at(&below), &words),
            Cell::from(one.examiner),
            state,
            Cell::from(sent),
            Cell::from(due),
        ]);
    }
    table
}

#[derive(Template)]
#[template(path = "evaluation/page.html")]
struct ReadPage {
    shell: Shell,
    /// Not signed yet; only what was signed is printed.
    draft: bool,
    title: String,
    notice: Notice,
    after: AfterView,
    due_back: Vec<Notice>,
    view: view::EvaluationView,
    edit_href: Option<String>,
    pdf: pdf::Links,
    back: String,
}

async fn read(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Read>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    Ok(Page(read_page(&app, &context, &visit, &access, id).await?).into_response())
}

async fn on_paper(
    State(app): State<App>,
    paper: pdf::Paper<resource::Evaluation>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, id).await?;
    paper.answer(&page, Room::Open).await
}

/// The evaluation as it is printed; only what was signed is.
pub(super) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<resource::Evaluation, Export>,
    id: EvaluationId,
) -> Result<impl Template> {
    let page = read_page(app, context, visit, &access.read(), id).await?;
    if page.draft { Err(Error::Hidden) } else { Ok(page) }
}

async fn read_page(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<resource::Evaluation, Read>,
    id: EvaluationId,
) -> Result<ReadPage> {
    let mut snapshot = app.store.snapshot().await?;
    let evaluation = stored::one(&mut snapshot, access, id).await?;
    let sent = stored::sent_to_school(&mut snapshot, access, id).await?;
    let after = acts::shown(&mut snapshot, (context, visit), access, &evaluation).await?;
    let zone = app.store.clock().zone();
    let draft = evaluation.state == At::Draft;
    let notice = match (evaluation.signed_at, sent) {
        (None, _) => part::notice("caution", "Draft", "Nobody outside the clinic reads it before it is signed."),
        (Some(signed), Some(sent)) => part::notice(
            "good",
            "Signed",
            &format!(
                "Signed on {}. It went to the school on {}.",
                words::instant(signed, zone),
                words::instant(sent, zone)
            ),
        ),
        (Some(signed), None) => part::notice(
            "caution",
            "Signed, waiting for consent",
            &format!(
                "Signed on {}. It has not gone to the school: no consent from the clinic to the school covers evaluations. It goes by itself when one starts.",
                words::instant(signed, zone)
            ),
        ),
    };
    let day = evaluation.examined_on.map(words::date).unwrap_or_default();
    Ok(ReadPage {
        draft,
        shell: shell_about(context, visit, "Evaluation"),
        title: format!("Evaluation of {day}"),
        notice,
        after,
        // G4: right after the signature it says which loans no longer match.
        due_back: if draft { Vec::new() } else { recheck::notices(&mut snapshot, visit, access).await? },
        view: view::view(&evaluation, context),
        pdf: if !draft && visit.may::<resource::Evaluation, Export>() {
            pdf::links(&visit.at(&format!("/evaluations/{id}/paper.pdf")))
        } else {
            pdf::Links::default()
        },
        edit_href: (draft && visit.may::<resource::Evaluation, Edit>())
            .then(|| visit.at(&format!("/evaluations/{id}/edit"))),
        back: visit.at("/evaluations"),
    })
}
