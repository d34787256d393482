//! The acuity of a draft, row by row: added, changed, taken out.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::edit::{Editing, draft, section_href, section_nav};
use super::kind::Drafts;
use super::{acuity_row, meanwhile, stated, view};
use crate::access::action::Edit;
use crate::care::evaluation::{AcuityRow, Evaluation, HowRecorded, NewAcuity, Section};
use crate::care::ids::{AcuityId, EvaluationId};
use crate::store::evaluation as stored;
use crate::store::{Audit, StoreError};
use crate::web::error::{Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::{Record, Word};
use crate::web::part::{self, SectionNav, Table};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::capital;

#[derive(Template)]
#[template(path = "evaluation/acuity.html")]
struct AcuityPage {
    shell: Shell,
    title: String,
    draft_words: &'static str,
    stated: Option<stated::StatedPart>,
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

fn view_of<D: Drafts>(
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
        stated: stated::part(context, evaluation, &base, &form),
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

pub(super) async fn add<D: Drafts>(
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
            return Ok(Again(view_of::<D>(context, visit, evaluation, None, form, &wrong.choices)).into_response());
        }
    };
    let location = section_href::<D>(visit, evaluation.id, Section::Acuity);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::add_acuity(&mut tx, access, evaluation.id, &row).await?;
    tx.commit_at(Audit::by(access).record(evaluation.id).doing("add an acuity row"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// The acuity page with its form for one more row.
pub(super) fn shown<D: Drafts>(context: &Context, visit: &Visit, evaluation: &Evaluation, form: FormView) -> Response {
    Page(view_of::<D>(context, visit, evaluation, None, form, &[])).into_response()
}

/// The acuity page with a form of it that came back.
pub(super) fn again<D: Drafts>(context: &Context, visit: &Visit, evaluation: &Evaluation, form: FormView) -> Response {
    Again(view_of::<D>(context, visit, evaluation, None, form, &[])).into_response()
}

fn row_of(evaluation: &Evaluation, id: AcuityId) -> Result<&AcuityRow> {
    evaluation.acuities.iter().find(|row| row.id == id).ok_or(Error::Hidden)
}

/// One acuity row, to be changed.
pub(super) async fn page<D: Drafts>(
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
    Ok(Page(view_of::<D>(&context, &visit, &evaluation, Some(acuity), form, &[])).into_response())
}

/// Changes one acuity row.
pub(super) async fn change<D: Drafts>(
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
            return Ok(
                Again(view_of::<D>(&context, &visit, &evaluation, Some(acuity), form, &wrong.choices)).into_response()
            );
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
pub(super) async fn remove<D: Drafts>(
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
