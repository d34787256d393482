//! Acuities of a report on paper that lack what a row needs: kept as the paper
//! says them, and used in no figure.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::transcribe::unstated_tick;
use super::{acuity, edit};
use crate::access::Access;
use crate::access::action::Edit;
use crate::access::resource::Transcription;
use crate::care::evaluation::{Correction, Evaluation, NewStated, Section, TestedEye};
use crate::care::ids::{AcuityId, EvaluationId};
use crate::store::Audit;
use crate::store::evaluation as stored;
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::error::Result;
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::Context;
use crate::web::params::{Record, Word};
use crate::web::part::{Choice, Field};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::options;

/// The longest acuity as a paper may say it.
const LONGEST: usize = 120;

/// The acuities of a report that lack what a row needs, and the form for one more.
pub(super) struct StatedPart {
    /// Each with the address that takes it out.
    pub(super) lines: Vec<(String, String)>,
    pub(super) remove: FormView,
    pub(super) form: FormView,
    pub(super) action: String,
    pub(super) fields: [Field; 4],
    pub(super) eye: Choice,
    pub(super) tick: Choice,
    pub(super) ticked: FormView,
    pub(super) tick_action: String,
    pub(super) open: bool,
}

/// Words for such an acuity: what is said and what is not.
pub(super) fn words(stated: &NewStated) -> String {
    let or_not = |said: Option<&str>, what: &str| said.map_or_else(|| format!("{what} not stated"), str::to_owned);
    let mut said = vec![
        or_not(stated.eye.map(TestedEye::words), "eye"),
        or_not(stated.correction.map(Correction::words), "correction"),
        or_not(Some(stated.distance.as_str()).filter(|far| !far.is_empty()), "distance"),
    ];
    if !stated.note.is_empty() {
        said.push(stated.note.clone());
    }
    format!("{}: {}", stated.as_recorded, said.join(", "))
}

/// The part of the acuity page that only a report on paper has.
pub(super) fn part(context: &Context, evaluation: &Evaluation, base: &str, back: &FormView) -> Option<StatedPart> {
    let paper = evaluation.paper.as_ref()?;
    let mine = back.part("stated_");
    let came_back = !mine.faults.is_empty();
    let form = if came_back { back.clone() } else { FormView::blank(context).at_version(evaluation.version) };
    let part = form.part("stated_");
    let mut ticked = FormView::blank(context).at_version(evaluation.version);
    if let Some(why) = back.faults.of("not_stated") {
        ticked.faults.add("not_stated", why);
    }
    if paper.not_stated.contains(&Section::Acuity) {
        ticked.entry.set("not_stated", "yes");
    }
    Some(StatedPart {
        lines: paper.stated.iter().map(|one| (words(&one.what), format!("{base}/stated/{}/remove", one.id))).collect(),
        remove: FormView::blank(context).at_version(evaluation.version),
        action: format!("{base}/stated"),
        eye: part.radios("eye", "Eye, if the report says so", &options!(TestedEye)).optional().inline(),
        fields: [
            part.text("value", "Acuity as the report says it"),
            part.select("correction", "What was worn", &options!(Correction)).blank("Not stated").optional(),
            part.text("distance", "Test distance").hint("Leave empty if it is not stated").optional(),
            part.text("note", "Note").optional().wide(),
        ],
        tick: unstated_tick(&ticked),
        ticked,
        tick_action: format!("{base}/acuity-not-stated"),
        open: came_back,
        form,
    })
}

/// Adds an acuity that lacks what a row needs.
pub(super) async fn add(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Edit>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let report = edit::draft(&app, &access, id).await?;
    let stated = match read(&posted.entry) {
        Ok(stated) => stated,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults).at_version(report.version);
            return Ok(acuity::again::<Transcription>(&context, &visit, &report, form));
        }
    };
    let location = edit::section_href::<Transcription>(&visit, id, Section::Acuity);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::add_stated(&mut tx, &access, id, &stated).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("add an acuity as stated"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

fn read(entry: &Entry) -> std::result::Result<NewStated, Faults> {
    let mut check = Check::new(entry);
    let as_recorded = check.text("stated_value", "Acuity as the report says it", LONGEST);
    let eye = check.opt_code("stated_eye", "Eye");
    let correction = check.opt_code("stated_correction", "What was worn");
    let distance = check.opt_text("stated_distance", "Test distance", SHORT_TEXT);
    let note = check.opt_text("stated_note", "Note", LONG_TEXT);
    check.build(|| Some(NewStated { as_recorded, eye, correction, distance, note }))
}

/// Takes such an acuity out.
pub(super) async fn remove(
    State(app): State<App>,
    visit: Visit,
    access: Access<Transcription, Edit>,
    Record(id): Record<EvaluationId>,
    Word(stated): Word<AcuityId>,
    posted: Posted,
) -> Result<Response> {
    let location = edit::section_href::<Transcription>(&visit, id, Section::Acuity);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::remove_stated(&mut tx, &access, id, stated, posted.version.unwrap_or(0)).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("remove an acuity as stated"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
