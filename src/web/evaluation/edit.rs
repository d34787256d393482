//! Writing an evaluation: begun, then filled in section by section, each saved
//! as one goes. A signed evaluation is not found here.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::kind::Drafts;
use super::{acuity_row, answer, findings, meanwhile, refraction, transcribe, view};
use crate::access::Access;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource;
use crate::care::evaluation::{
    AcuityRow, Evaluation, Findings, HowRecorded, MAY_BE_UNSTATED, NewAcuity, NewPaper, Section, State as At,
    TrackAnswer,
};
use crate::care::ids::{AcuityId, EvaluationId};
use crate::care::track::Track;
use crate::store::evaluation::{self as stored, NewDraft};
use crate::store::{Audit, StoreError, Tx, request};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::{Record, Word};
use crate::web::part::{self, Group, Piece, SectionNav, Steps, Table};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::capital;

/// The proof that a draft may be changed.
pub(super) type Editing<D> = Access<D, Edit>;

#[derive(Template)]
#[template(path = "evaluation/begin.html")]
struct BeginPage {
    shell: Shell,
    form: FormView,
    action: String,
    fields: Group,
    back: String,
}

fn begin_view(context: &Context, visit: &Visit, form: FormView) -> BeginPage {
    BeginPage {
        shell: shell_about(context, visit, "Begin an evaluation").of_form(&form),
        action: visit.at("/evaluations/new"),
        fields: findings::exam_fields(&form).into_iter().collect(),
        back: visit.at("/evaluations"),
        form,
    }
}

/// The form that begins a draft.
pub(super) async fn begin_page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    let access = visit.open::<resource::Evaluation, Create>().await?;
    let today = app.store.clock().today();
    let entry = Entry::default()
        .with("examined_on", today.to_string())
        .with("place", access.actor().clinic.clone().unwrap_or_default())
        .with("next_due_on", findings::due_after(today, context.site.evaluation_months()).to_string());
    let form = FormView::filled(&context, entry);
    Ok(Page(begin_view(&context, &visit, form)).into_response())
}

/// Begins a draft.
pub(super) async fn begin(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    let access = visit.open::<resource::Evaluation, Create>().await?;
    let new = match findings::read_exam(&posted.entry, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(begin_view(&context, &visit, form)).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = stored::begin(&mut tx, &access, &new).await?;
    let location = visit.at(&format!("/evaluations/{id}/edit"));
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// The draft; what is signed is not found.
pub(super) async fn draft<D: Drafts>(app: &App, access: &Editing<D>, id: EvaluationId) -> Result<Evaluation> {
    let mut snapshot = app.store.snapshot().await?;
    let evaluation = stored::one(&mut snapshot, access, id).await?;
    if evaluation.state == At::Draft { Ok(evaluation) } else { Err(Error::Hidden) }
}

#[derive(Template)]
#[template(path = "evaluation/hub.html")]
struct HubPage {
    shell: Shell,
    head: String,
    questions: Vec<(String, String)>,
    steps: Steps,
    missing: Vec<&'static str>,
    preview_href: String,
    discard_href: Option<String>,
    replaces: Option<part::Notice>,
    back: String,
}

/// The sections of a draft, and what is missing.
pub(super) async fn hub(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let access = visit.open::<resource::Evaluation, Edit>().await?;
    let evaluation = draft(&app, &access, id).await?;
    let mut questions = Vec::new();
    if let Some(reading) = visit.open_if::<resource::EvaluationRequest, Read>().await? {
        let mut snapshot = app.store.snapshot().await?;
        let asked = request::list(&mut snapshot, &reading).await?;
        questions = asked
            .into_iter()
            .filter(|asked| asked.withdrawn_at.is_none())
            .map(|asked| (asked.what.question, asked.what.urgency))
            .collect();
    }
    let page = HubPage {
        shell: shell_about(&context, &visit, "Evaluation, draft"),
        head: head_words(&evaluation),
        questions,
        steps: steps::<resource::Evaluation>(&visit, &evaluation),
        missing: evaluation.missing(),
        preview_href: visit.at(&format!("/evaluations/{id}/preview")),
        discard_href: (evaluation.created_by == access.actor().account)
            .then(|| visit.at(&format!("/evaluations/{id}/discard"))),
        replaces: evaluation.supersedes.map(|old| {
            let said = "It starts as a copy of the signed one. Once this is signed, that one counts no longer.";
            part::notice("plain", "This will take the place of a signed evaluation", said)
                .link(&visit.at(&format!("/evaluations/{old}")), "Open the signed one")
        }),
        back: visit.at("/evaluations"),
    };
    Ok(Page(page).into_response())
}

pub(super) fn head_words(evaluation: &Evaluation) -> String {
    let day = evaluation.examined_on.map(crate::web::words::date).unwrap_or_else(|| "no day yet".to_owned());
    format!("{day}, {}", evaluation.examiner)
}

pub(super) fn section_href<D: Drafts>(visit: &Visit, id: EvaluationId, section: Section) -> String {
    visit.at(&format!("{}/{id}/edit/{}", D::BASE, section.code()))
}

pub(super) fn filled(evaluation: &Evaluation, section: Section) -> bool {
    let findings = &evaluation.findings;
    let none = Findings::default();
    let says = |entry: fn(&Findings) -> Entry| {
        let nothing: Vec<String> = entry(&none).iter().map(|(name, value)| format!("{name}={value}")).collect();
        entry(findings).iter().any(|(name, value)| !nothing.contains(&format!("{name}={value}")))
    };
    match section {
        Section::Exam => evaluation.examined_on.is_some() && evaluation.next_due_on.is_some(),
        Section::Acuity => !evaluation.acuities.is_empty(),
        Section::Refraction => evaluation.right.is_some() || evaluation.left.is_some(),
        Section::Sight => says(findings::sight_entry),
        Section::Eyes => says(findings::eyes_entry),
        Section::Advice => says(findings::advice_entry),
        Section::Distance => evaluation.answer(Track::Distance).is_some(),
        Section::Near => evaluation.answer(Track::Near).is_some(),
    }
}

pub(super) fn steps<D: Drafts>(visit: &Visit, evaluation: &Evaluation) -> Steps {
    let mut steps = part::steps();
    let mut now = false;
    for section in Section::ALL {
        let words = capital(section.words());
        let unstated = evaluation.paper.as_ref().is_some_and(|paper| paper.not_stated.contains(section));
        steps = if unstated {
            steps.done(&words).note("Not stated on the report")
        } else if filled(evaluation, *section) {
            steps.done(&words)
        } else if now {
            steps.later(&words)
        } else {
            now = true;
            steps.now(&words)
        };
        steps = steps.to(&section_href::<D>(visit, evaluation.id, *section));
    }
    steps
}

#[derive(Template)]
#[template(path = "evaluation/section.html")]
struct SectionPage {
    shell: Shell,
    title: String,
    draft_words: &'static str,
    nav: SectionNav,
    form: FormView,
    action: String,
    fields: Group,
    hub_href: String,
}

#[derive(Template)]
#[template(path = "evaluation/acuity.html")]
struct AcuityPage {
    shell: Shell,
    title: String,
    draft_words: &'static str,
    stated: Option<transcribe::StatedPart>,
    nav: SectionNav,
    far: Table,
    near: Table,
    how: Option<part::How>,
    rows: Vec<RowLine>,
    form: FormView,
    fields: acuity_row::RowFields,
    action: String,
    changing: bool,
    submit_words: &'static str,
    next_href: String,
    hub_href: String,
}

/// A row with what can be done to it.
struct RowLine {
    words: String,
    change_href: String,
    remove_action: String,
    remove: FormView,
}

fn section_nav<D: Drafts>(context: &Context, visit: &Visit, id: EvaluationId) -> SectionNav {
    let links: Vec<(String, String)> =
        Section::ALL.iter().map(|section| (section_href::<D>(visit, id, *section), capital(section.words()))).collect();
    part::nav(D::SECTIONS, &links, &context.path).folded()
}

/// What a section holds now, as its fields.
pub(super) fn entry_of(section: Section, evaluation: &Evaluation) -> Entry {
    match section {
        Section::Exam if evaluation.paper.is_some() => transcribe::head_entry(evaluation),
        Section::Exam => findings::exam_entry(evaluation),
        Section::Acuity => Entry::default(),
        Section::Refraction => refraction::fill(evaluation.right.as_ref(), evaluation.left.as_ref()),
        Section::Sight => findings::sight_entry(&evaluation.findings),
        Section::Eyes => findings::eyes_entry(&evaluation.findings),
        Section::Advice => findings::advice_entry(&evaluation.findings),
        Section::Distance => evaluation.answer(Track::Distance).map(answer::fill).unwrap_or_default(),
        Section::Near => evaluation.answer(Track::Near).map(answer::fill).unwrap_or_default(),
    }
}

/// The fields of a section.
pub(super) fn section_pieces(form: &FormView, evaluation: &Evaluation, section: Section) -> Vec<Piece> {
    let paper = evaluation.paper.is_some();
    match section {
        Section::Exam if paper => transcribe::head_fields(form),
        Section::Exam => findings::exam_fields(form),
        Section::Acuity => Vec::new(),
        Section::Refraction => refraction::fields(form),
        Section::Sight => findings::sight_fields(form),
        Section::Eyes => findings::eyes_fields(form),
        Section::Advice => findings::advice_fields(form),
        Section::Distance => answer::fields(form, Track::Distance, says(evaluation)),
        Section::Near => answer::fields(form, Track::Near, says(evaluation)),
    }
}

/// Whether a clinician answers here, or a report is read that may leave it open.
pub(super) fn says(evaluation: &Evaluation) -> answer::Says {
    if evaluation.paper.is_some() { answer::Says::Paper } else { answer::Says::Clinician }
}

fn section_view<D: Drafts>(
    context: &Context,
    visit: &Visit,
    evaluation: &Evaluation,
    section: Section,
    form: FormView,
) -> SectionPage {
    let id = evaluation.id;
    let mut pieces = section_pieces(&form, evaluation, section);
    if evaluation.paper.is_some() && MAY_BE_UNSTATED.contains(&section) {
        pieces.insert(0, transcribe::unstated_tick(&form).into());
    }
    let title = capital(section.words());
    SectionPage {
        shell: shell_about(context, visit, format!("{title}, {}", D::SHORT)).of_form(&form),
        title,
        draft_words: D::DRAFT,
        nav: section_nav::<D>(context, visit, id),
        action: section_href::<D>(visit, id, section),
        fields: pieces.into_iter().collect(),
        hub_href: visit.at(&format!("{}/{id}/edit", D::BASE)),
        form,
    }
}

fn acuity_view<D: Drafts>(
    context: &Context,
    visit: &Visit,
    evaluation: &Evaluation,
    changed: Option<AcuityId>,
    form: FormView,
    choices: &[HowRecorded],
) -> AcuityPage {
    let base = visit.at(&format!("{}/{}", D::BASE, evaluation.id));
    let (near, far): (Vec<&AcuityRow>, Vec<&AcuityRow>) = evaluation.acuities.iter().partition(|row| row.row.is_near());
    let written: Vec<&NewAcuity> = evaluation.acuities.iter().map(|row| &row.row).collect();
    let rows = evaluation
        .acuities
        .iter()
        .map(|row| RowLine {
            words: format!("{}: {}", capital(&acuity_row::named(&row.row)), row.row.as_recorded),
            change_href: format!("{base}/acuity/{}", row.id),
            remove_action: format!("{base}/acuity/{}/remove", row.id),
            remove: FormView::blank(context).at_version(evaluation.version),
        })
        .collect();
    let title = if changed.is_some() { "Change an acuity row" } else { "Acuity" };
    AcuityPage {
        shell: shell_about(context, visit, format!("{title}, {}", D::SHORT)).of_form(&form),
        title: title.to_owned(),
        draft_words: D::DRAFT,
        stated: transcribe::stated_part(context, evaluation, &base, &form),
        nav: section_nav::<D>(context, visit, evaluation.id),
        // What the report does not state is ticked just above.
        far: view::far_table(&far, false),
        near: view::near_table(&near, false),
        how: view::acuity_how(&written),
        rows,
        fields: acuity_row::fields(&form, choices),
        action: match changed {
            Some(row) => format!("{base}/acuity/{row}"),
            None => section_href::<D>(visit, evaluation.id, Section::Acuity),
        },
        changing: changed.is_some(),
        submit_words: if changed.is_some() { "Save this row" } else { "Add this row" },
        next_href: section_href::<D>(visit, evaluation.id, Section::Refraction),
        hub_href: format!("{base}/edit"),
        form,
    }
}

/// One section of a draft.
pub(super) async fn section_page<D: Drafts>(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
    Word(section): Word<Section>,
) -> Result<Response> {
    let access = visit.open::<D, Edit>().await?;
    let evaluation = draft(&app, &access, id).await?;
    let mut entry = entry_of(section, &evaluation);
    if evaluation.paper.as_ref().is_some_and(|paper| paper.not_stated.contains(&section)) {
        entry.set("not_stated", "yes");
    }
    let form = FormView::filled(&context, entry).at_version(evaluation.version);
    Ok(match section {
        Section::Acuity => Page(acuity_view::<D>(&context, &visit, &evaluation, None, form, &[])).into_response(),
        _ => Page(section_view::<D>(&context, &visit, &evaluation, section, form)).into_response(),
    })
}

/// A section, checked.
pub(super) enum Checked {
    Exam(NewDraft),
    Paper(NewPaper),
    Refraction(refraction::Both),
    Findings(Box<Findings>),
    Answer(TrackAnswer),
}

pub(super) fn checked(
    section: Section,
    entry: &Entry,
    evaluation: &Evaluation,
    today: Date,
) -> std::result::Result<Checked, Faults> {
    let before = &evaluation.findings;
    let findings = |read: std::result::Result<Findings, Faults>| read.map(|found| Checked::Findings(Box::new(found)));
    match section {
        Section::Exam if evaluation.paper.is_some() => transcribe::read_head(entry, today).map(Checked::Paper),
        Section::Exam | Section::Acuity => findings::read_exam(entry, today).map(Checked::Exam),
        Section::Refraction => refraction::read(entry).map(Checked::Refraction),
        Section::Sight => findings(findings::read_sight(entry, before)),
        Section::Eyes => findings(findings::read_eyes(entry, before)),
        Section::Advice => findings(findings::read_advice(entry, before)),
        Section::Distance => answer::read(entry, Track::Distance, says(evaluation)).map(Checked::Answer),
        Section::Near => answer::read(entry, Track::Near, says(evaluation)).map(Checked::Answer),
    }
}

async fn keep<D: Drafts>(
    tx: &mut Tx,
    access: &Editing<D>,
    id: EvaluationId,
    checked: &Checked,
    version: i64,
) -> crate::store::Result<()> {
    match checked {
        Checked::Exam(exam) => D::save_exam(tx, access, id, exam, version).await,
        Checked::Paper(head) => D::save_paper(tx, access, id, head, version).await,
        Checked::Refraction((right, left)) => {
            stored::save_refraction(tx, access, id, right.as_ref(), left.as_ref(), version).await
        }
        Checked::Findings(found) => stored::save_findings(tx, access, id, found, version).await,
        Checked::Answer(answer) => stored::save_answer(tx, access, id, answer, version).await,
    }
}

/// Saves one section and goes on to the next.
pub(super) async fn save<D: Drafts>(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
    Word(section): Word<Section>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<D, Edit>().await?;
    let evaluation = draft(&app, &access, id).await?;
    if section == Section::Acuity {
        return add_row(&app, &context, &visit, &access, &evaluation, &posted).await;
    }
    let unstated = transcribe::unstated_after(&evaluation, section, &posted.entry);
    let checked = match unstated
        .as_ref()
        .map_err(Clone::clone)
        .and_then(|_| checked(section, &posted.entry, &evaluation, app.store.clock().today()))
    {
        Ok(checked) => checked,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(section_view::<D>(&context, &visit, &evaluation, section, form)).into_response());
        }
    };
    let location = match section.next() {
        Some(next) if posted.entry.get("then") != "hub" => section_href::<D>(&visit, id, next),
        _ => visit.at(&format!("{}/{id}/edit", D::BASE)),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let mut kept = keep(&mut tx, &access, id, &checked, posted.version.unwrap_or(0)).await;
    if let (Ok(()), Ok(Some(parts))) = (&kept, &unstated) {
        kept = D::save_unstated(&mut tx, &access, id, parts).await;
    }
    match kept {
        Ok(()) => tx.commit_at(Audit::by(&access).record(id), &location).await?,
        Err(StoreError::Stale) => {
            drop(tx);
            let back = section_href::<D>(&visit, id, section);
            let theirs = |now: &Evaluation| Some(entry_of(section, now));
            return Err(meanwhile::over::<D>(&app, &access, (id, back), theirs, &posted.entry).await?);
        }
        Err(error) => return Err(error.into()),
    }
    Ok(Redirect::to(&location).into_response())
}

async fn add_row<D: Drafts>(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Editing<D>,
    evaluation: &Evaluation,
    posted: &Posted,
) -> Result<Response> {
    let row = match acuity_row::read(&posted.entry) {
        Ok(row) => row,
        Err(wrong) => {
            let form = FormView::again(context, posted, wrong.faults);
            return Ok(Again(acuity_view::<D>(context, visit, evaluation, None, form, &wrong.choices)).into_response());
        }
    };
    let location = section_href::<D>(visit, evaluation.id, Section::Acuity);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::add_acuity(&mut tx, access, evaluation.id, &row).await?;
    tx.commit_at(Audit::by(access).record(evaluation.id).doing("add an acuity row"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// The acuity page with a form of it that came back.
pub(super) fn acuity_again<D: Drafts>(
    context: &Context,
    visit: &Visit,
    evaluation: &Evaluation,
    form: FormView,
) -> Response {
    Again(acuity_view::<D>(context, visit, evaluation, None, form, &[])).into_response()
}

fn row_of(evaluation: &Evaluation, id: AcuityId) -> Result<&AcuityRow> {
    evaluation.acuities.iter().find(|row| row.id == id).ok_or(Error::Hidden)
}

/// One acuity row, to be changed.
pub(super) async fn row_page<D: Drafts>(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
    Word(acuity): Word<AcuityId>,
) -> Result<Response> {
    let access = visit.open::<D, Edit>().await?;
    let evaluation = draft(&app, &access, id).await?;
    let entry = acuity_row::fill(&row_of(&evaluation, acuity)?.row);
    let form = FormView::filled(&context, entry).at_version(evaluation.version);
    Ok(Page(acuity_view::<D>(&context, &visit, &evaluation, Some(acuity), form, &[])).into_response())
}

/// Changes one acuity row.
pub(super) async fn change_row<D: Drafts>(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
    Word(acuity): Word<AcuityId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<D, Edit>().await?;
    let evaluation = draft(&app, &access, id).await?;
    row_of(&evaluation, acuity)?;
    let row = match acuity_row::read(&posted.entry) {
        Ok(row) => row,
        Err(wrong) => {
            let form = FormView::again(&context, &posted, wrong.faults);
            return Ok(Again(acuity_view::<D>(&context, &visit, &evaluation, Some(acuity), form, &wrong.choices))
                .into_response());
        }
    };
    let location = section_href::<D>(&visit, id, Section::Acuity);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match stored::change_acuity(&mut tx, &access, id, acuity, &row, posted.version.unwrap_or(0)).await {
        Ok(()) => tx.commit_at(Audit::by(&access).record(id).doing("change an acuity row"), &location).await?,
        Err(StoreError::Stale) => {
            drop(tx);
            let theirs = |now: &Evaluation| row_of(now, acuity).ok().map(|row| acuity_row::fill(&row.row));
            return Err(meanwhile::over::<D>(&app, &access, (id, location), theirs, &posted.entry).await?);
        }
        Err(error) => return Err(error.into()),
    }
    Ok(Redirect::to(&location).into_response())
}

/// Takes one acuity row out.
pub(super) async fn remove_row<D: Drafts>(
    State(app): State<App>,
    visit: Visit,
    Record(id): Record<EvaluationId>,
    Word(acuity): Word<AcuityId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<D, Edit>().await?;
    let location = section_href::<D>(&visit, id, Section::Acuity);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::remove_acuity(&mut tx, &access, id, acuity, posted.version.unwrap_or(0)).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("remove an acuity row"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
