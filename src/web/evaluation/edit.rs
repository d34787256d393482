//! Writing an evaluation section by section, each saved as one goes. A signed
//! evaluation is not found here.
//!
//! Read next: `begin.rs` for how a draft begins, `hub.rs` for its list of
//! sections, `acuity.rs` for the rows of acuity.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::kind::Drafts;
use super::{acuity, answer, findings, meanwhile, refraction, transcribe};
use crate::access::Access;
use crate::access::action::Edit;
use crate::care::evaluation::{Evaluation, Findings, MAY_BE_UNSTATED, NewPaper, Section, State as At, TrackAnswer};
use crate::care::ids::EvaluationId;
use crate::care::track::Track;
use crate::store::evaluation::{self as stored, NewDraft};
use crate::store::{Audit, StoreError, Tx};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::{Record, Word};
use crate::web::part::{self, Group, Piece, SectionNav};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::capital;

/// The proof that a draft may be changed.
pub(super) type Editing<D> = Access<D, Edit>;

/// The draft; what is signed is not found.
pub(super) async fn draft<D: Drafts>(app: &App, access: &Editing<D>, id: EvaluationId) -> Result<Evaluation> {
    let mut snapshot = app.store.snapshot().await?;
    let evaluation = stored::one(&mut snapshot, access, id).await?;
    if evaluation.state == At::Draft { Ok(evaluation) } else { Err(Error::Hidden) }
}

pub(super) fn section_href<D: Drafts>(visit: &Visit, id: EvaluationId, section: Section) -> String {
    visit.at(&format!("{}/{id}/edit/{}", D::BASE, section.code()))
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

pub(super) fn section_nav<D: Drafts>(context: &Context, visit: &Visit, id: EvaluationId) -> SectionNav {
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
        Section::Acuity => acuity::shown::<D>(&context, &visit, &evaluation, form),
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
        return acuity::add(&app, &context, &visit, &access, &evaluation, &posted).await;
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
