//! What may still happen to a filed report: its vision teacher corrects what was
//! copied, and a clinician confirms it, as it is or with values changed.
//!
//! The form of all values is in `changing.rs`. A report that changed since the form was opened is not confirmed: both texts
//! are shown and nothing is stored.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::changing::{By, base, both, change_view, correction, read_changes, whole};
use super::paper::{PaperView, paper_view};
use super::view::{EvaluationView, view};
use crate::access::Access;
use crate::access::action::{Amend, Read, Reads, Sign};
use crate::access::resource::Transcription;
use crate::care::evaluation::{Evaluation, Report, State as At};
use crate::care::gates::missing_for_filing;
use crate::care::ids::EvaluationId;
use crate::store::evaluation as stored;
use crate::store::{Audit, StoreError, account};
use crate::web::account::wrong_password;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

/// A report that was filed and is not confirmed; anything else is not found here.
async fn filed<A: Reads>(app: &App, access: &Access<Transcription, A>, id: EvaluationId) -> Result<Evaluation> {
    let report = stored::one(&mut app.store.snapshot().await?, access, id).await?;
    if report.state == At::Filed { Ok(report) } else { Err(Error::Hidden) }
}

#[derive(Template)]
#[template(path = "evaluation/paper_confirm.html")]
struct ConfirmPage {
    shell: Shell,
    view: EvaluationView,
    report: PaperView,
    form: FormView,
    action: String,
    change_href: String,
    back: String,
}

async fn confirm_view(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Transcription, Read>,
    report: &Evaluation,
    form: FormView,
) -> Result<ConfirmPage> {
    let base = base(visit, report.id);
    Ok(ConfirmPage {
        shell: shell_about(context, visit, "Confirm the transcribed report").of_form(&form),
        view: view(report, context),
        report: paper_view(app, visit, access, report).await?,
        form,
        action: format!("{base}/confirm"),
        change_href: format!("{base}/confirm/change"),
        back: visit.at("/evaluations"),
    })
}

/// Whether this is a clinician's act: filing is signed under the same verb by the
/// vision teacher, who does not confirm the own copy.
fn clinician(visit: &Visit) -> Result<()> {
    if visit.may::<Transcription, Amend>() { Err(Error::Hidden) } else { Ok(()) }
}

/// Leads to the report that waits to be confirmed: the newest of a low-vision
/// evaluation; to the list where none does.
pub(super) async fn unconfirmed(
    State(app): State<App>,
    visit: Visit,
    access: Access<Transcription, Read>,
) -> Result<Response> {
    let reports = stored::list(&mut app.store.snapshot().await?, &access).await?;
    let waits = |one: &&stored::Listed| one.state == At::Filed && one.report == Some(Report::LowVision);
    let signs = visit.may::<Transcription, Sign>() && clinician(&visit).is_ok();
    let location = match reports.iter().find(waits) {
        Some(report) if signs => format!("{}/confirm", base(&visit, report.id)),
        Some(report) => base(&visit, report.id),
        None => visit.at("/evaluations"),
    };
    Ok(Redirect::to(&location).into_response())
}

/// Every value of a report, with the signature under it.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _: Access<Transcription, Sign>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    clinician(&visit)?;
    let access = visit.open::<Transcription, Read>().await?;
    let report = filed(&app, &access, id).await?;
    let form = FormView::blank(&context).at_version(report.version);
    Ok(Page(confirm_view(&app, &context, &visit, &access, &report, form).await?).into_response())
}

/// Confirms a report as it is.
pub(super) async fn as_it_is(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Sign>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    clinician(&visit)?;
    let reading = visit.open::<Transcription, Read>().await?;
    let report = filed(&app, &reading, id).await?;
    let reentered =
        match account::reenter(&app.store, &app.passwords, access.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => {
                let mut form = FormView::again(&context, &posted, wrong_password("password", &attempt));
                form.entry = Entry::default();
                let page = confirm_view(&app, &context, &visit, &reading, &report, form).await?;
                return Ok(Again(page).into_response());
            }
        };
    let location = base(&visit, id);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match stored::confirm(&mut tx, &access, &reentered, id, None, posted.version.unwrap_or(0)).await {
        Ok(()) => {}
        Err(StoreError::Stale) => {
            drop(tx);
            return Err(moved_on(&app, &visit, &reading, id, posted.version).await?);
        }
        Err(error) => return Err(error.into()),
    }
    tx.commit_at(audit(&access, &report, "confirm", "confirmed"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

fn audit<A: crate::access::action::Action>(
    access: &Access<Transcription, A>,
    report: &Evaluation,
    doing: &'static str,
    told: &'static str,
) -> Audit {
    let audit = Audit::by(access).record(report.id).doing(doing).told(told);
    match report.examined_on {
        Some(day) => audit.on(day),
        None => audit,
    }
}

/// What the vision teacher changed since this version was read: before and after.
async fn moved_on(
    app: &App,
    visit: &Visit,
    access: &Access<Transcription, Read>,
    id: EvaluationId,
    read_at: Option<i64>,
) -> Result<Error> {
    let mut snapshot = app.store.snapshot().await?;
    let report = stored::one(&mut snapshot, access, id).await?;
    let amendments = crate::store::amendment::of_record(&mut snapshot, access, id).await?;
    // Each act of correcting moved the version by one.
    let acts = usize::try_from(report.version - read_at.unwrap_or(report.version)).unwrap_or_default();
    let mut times: Vec<_> = amendments.iter().map(|one| one.at).collect();
    times.dedup();
    let newer: Vec<_> = times.into_iter().take(acts).collect();
    let rows = amendments
        .iter()
        .filter(|one| newer.contains(&one.at))
        .map(|one| (one.field.clone(), one.after.clone(), one.before.clone()))
        .collect();
    Ok(Error::Stale(Box::new(Both { back: base(visit, id), rows })))
}

/// The form in which a clinician changes values while confirming.
pub(super) async fn change_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _: Access<Transcription, Sign>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    clinician(&visit)?;
    let access = visit.open::<Transcription, Read>().await?;
    let report = filed(&app, &access, id).await?;
    let form = FormView::filled(&context, whole(&report)).at_version(report.version);
    Ok(Page(change_view(&app, &context, &visit, &access, (&report, By::Clinician), form).await?).into_response())
}

/// Confirms a report with values changed.
pub(super) async fn with_changes(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Sign>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    clinician(&visit)?;
    let reading = visit.open::<Transcription, Read>().await?;
    let report = filed(&app, &reading, id).await?;
    if posted.version != Some(report.version) {
        return Err(both(&visit, &report, &posted.entry));
    }
    let read = read_changes(&report, &posted.entry, app.store.clock().today()).and_then(|(changes, texts)| {
        let unchanged = "Nothing is changed. Change a value, or confirm the report as it is.";
        Ok((changes, correction(texts, posted.entry.get("reason"), unchanged)?))
    });
    let reentered = match &read {
        // The password is asked once nothing else is wrong.
        Err(faults) => Err(faults.clone()),
        Ok(_) => account::reenter(&app.store, &app.passwords, access.actor(), posted.entry.get("password"))
            .await?
            .map_err(|attempt| wrong_password("password", &attempt)),
    };
    let ((changes, correction), reentered) = match (read, reentered) {
        (Ok(read), Ok(reentered)) => (read, reentered),
        (Err(faults), _) | (_, Err(faults)) => {
            let form = FormView::again(&context, &posted, faults);
            let page = change_view(&app, &context, &visit, &reading, (&report, By::Clinician), form).await?;
            return Ok(Again(page).into_response());
        }
    };
    let location = base(&visit, id);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let changed = Some((&changes, &correction));
    match stored::confirm(&mut tx, &access, &reentered, id, changed, posted.version.unwrap_or(0)).await {
        Ok(()) => {}
        Err(StoreError::Stale) => {
            drop(tx);
            let report = stored::one(&mut app.store.snapshot().await?, &reading, id).await?;
            return Err(both(&visit, &report, &posted.entry));
        }
        Err(error) => return Err(error.into()),
    }
    let audit = audit(&access, &report, "confirm with changes", "confirmed").because(correction.reason());
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// The form in which the vision teacher corrects what was copied.
pub(super) async fn amend_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Amend>,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let reading = access.read();
    let report = filed(&app, &reading, id).await?;
    let form = FormView::filled(&context, whole(&report)).at_version(report.version);
    Ok(Page(change_view(&app, &context, &visit, &reading, (&report, By::Copyist), form).await?).into_response())
}

/// Corrects what was copied; what the report must state it states still (G2).
pub(super) async fn amend(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Transcription, Amend>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let reading = access.read();
    let report = filed(&app, &reading, id).await?;
    if posted.version != Some(report.version) {
        return Err(both(&visit, &report, &posted.entry));
    }
    let again = async |faults: Faults| -> Result<Response> {
        let form = FormView::again(&context, &posted, faults);
        let page = change_view(&app, &context, &visit, &reading, (&report, By::Copyist), form).await?;
        Ok(Again(page).into_response())
    };
    let read = read_changes(&report, &posted.entry, app.store.clock().today()).and_then(|(changes, texts)| {
        Ok((changes, correction(texts, posted.entry.get("reason"), "Nothing is changed.")?))
    });
    let (changes, correction) = match read {
        Ok(read) => read,
        Err(faults) => return again(faults).await,
    };
    let location = base(&visit, id);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match stored::amend(&mut tx, &access, id, &changes, &correction, posted.version.unwrap_or(0)).await {
        Ok(()) => {}
        Err(StoreError::Stale) => {
            drop(tx);
            let report = stored::one(&mut app.store.snapshot().await?, &reading, id).await?;
            return Err(both(&visit, &report, &posted.entry));
        }
        Err(error) => return Err(error.into()),
    }
    // G2: a report that was filed does not lose by a correction what it was filed for.
    let now = stored::one(&mut tx, &reading, id).await?;
    let missing = missing_for_filing(&now, &now.paper.clone().unwrap_or_default());
    if !missing.is_empty() {
        drop(tx);
        return again(Faults::one("", format!("It would no longer be complete. Missing: {}.", missing.join("; "))))
            .await;
    }
    let audit = audit(&access, &report, "amend", "amended").because(correction.reason());
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
