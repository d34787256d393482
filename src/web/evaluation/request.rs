//! Asking a clinician for an evaluation: the question, how soon, since when;
//! the day the clinic will see the student; taking it back.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use crate::access::Access;
use crate::access::action::{Create, Edit, Read, Sign};
use crate::access::resource::{EvaluationRequest, Intake, RequestDate, VisualTasks};
use crate::care::gates::ask_with_purpose;
use crate::care::ids::RequestId;
use crate::care::request::NewRequest;
use crate::store::{Audit, StoreError, request as stored, task};
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::stale;
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "evaluation/request.html")]
struct RequestPage {
    shell: Shell,
    tasks: Vec<String>,
    tasks_href: String,
    waits: bool,
    people_href: String,
    form: FormView,
    action: String,
    back: String,
}

async fn build(app: &App, context: &Context, visit: &Visit, form: FormView) -> Result<RequestPage> {
    let reading = visit.open::<VisualTasks, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let tasks = task::tasks(&mut snapshot, &reading).await?.into_iter().map(|task| task.what.name).collect();
    let waits = stored::waits_for_consent(&mut snapshot, &reading).await?;
    Ok(RequestPage {
        shell: shell_about(context, visit, "Ask for an evaluation").of_form(&form),
        tasks,
        tasks_href: visit.at("/tasks"),
        waits,
        people_href: visit.at("/people"),
        action: visit.at("/evaluations/request"),
        back: visit.at("/evaluations"),
        form,
    })
}

/// The form; closed while nothing is named that the student wants to see (G1).
pub(super) async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    let access = visit.open::<EvaluationRequest, Create>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let tasks = stored::purpose(&mut snapshot, &access).await?;
    let today = snapshot.today();
    drop(snapshot);
    ask_with_purpose(&tasks).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let form = FormView::filled(&context, Entry::default().with("requested_on", today.to_string()));
    Ok(Page(build(&app, &context, &visit, form).await?).into_response())
}

fn wanted(entry: &Entry, today: Date) -> std::result::Result<NewRequest, Faults> {
    let mut check = Check::new(entry);
    let question = check.text("question", "Your question", LONG_TEXT);
    let urgency = check.opt_text("urgency", "How soon", SHORT_TEXT);
    let requested_on = check.date("requested_on", "Asked on", today.saturating_sub(1.year())..=today);
    check.build(|| Some(NewRequest { question, urgency, requested_on: requested_on? }))
}

/// Asks, and releases the intake.
pub(super) async fn ask(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    let access = visit.open::<EvaluationRequest, Create>().await?;
    let releasing = visit.open::<Intake, Sign>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let tasks = stored::purpose(&mut tx, &access).await?;
    let purposeful = ask_with_purpose(&tasks).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let new = match wanted(&posted.entry, tx.today()) {
        Ok(new) => new,
        Err(faults) => {
            drop(tx);
            return again(&app, &context, &visit, &posted, faults).await;
        }
    };
    match stored::ask(&mut tx, &access, &releasing, &purposeful, &new).await {
        Ok(id) => {
            let location = visit.at("/evaluations");
            let audit = Audit::by(&access).record(id).told("requested").on(new.requested_on);
            tx.commit_at(audit, &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Taken) => {
            drop(tx);
            let faults = Faults::one(
                "question",
                "An evaluation is asked for already. Take that request back first if the question has changed.",
            );
            again(&app, &context, &visit, &posted, faults).await
        }
        Err(error) => Err(error.into()),
    }
}

async fn again(app: &App, context: &Context, visit: &Visit, posted: &Posted, faults: Faults) -> Result<Response> {
    let form = FormView::again(context, posted, faults);
    Ok(Again(build(app, context, visit, form).await?).into_response())
}

/// Takes a request back.
pub(super) async fn withdraw(
    State(app): State<App>,
    visit: Visit,
    Record(id): Record<RequestId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<EvaluationRequest, Edit>().await?;
    let location = visit.at("/evaluations");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    stored::withdraw(&mut tx, &access, id).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("withdraw").told("withdrawn"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// Says the day the clinic will see the student.
pub(super) async fn appoint(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<RequestId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<RequestDate, Edit>().await?;
    let today = app.store.clock().today();
    let mut check = Check::new(&posted.entry);
    let range = today.saturating_sub(1.year())..=today.saturating_add(2.years());
    let on = check.opt_date("appointment_on", "Appointment", range);
    let on = match check.build(|| Some(on)) {
        Ok(on) => on,
        Err(faults) => return super::list_again(&app, &context, &visit, &posted, id, faults).await,
    };
    let location = visit.at("/evaluations");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match stored::set_appointment(&mut tx, &access, id, on, posted.version.unwrap_or(0)).await {
        Ok(()) => {
            let told = if on.is_some() { "given a day" } else { "left without a day" };
            tx.commit_at(Audit::by(&access).record(id).told(told), &location).await?;
        }
        Err(StoreError::Stale) => {
            drop(tx);
            return Err(appointed_meanwhile(&app, (&visit, &access), id, posted.entry.get("appointment_on")).await?);
        }
        Err(error) => return Err(error.into()),
    }
    Ok(Redirect::to(&location).into_response())
}

async fn appointed_meanwhile(
    app: &App,
    (visit, access): (&Visit, &Access<RequestDate, Edit>),
    id: RequestId,
    yours: &str,
) -> Result<Error> {
    let reading = visit.open::<EvaluationRequest, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let theirs = stored::list(&mut snapshot, &reading).await?.into_iter().find(|asked| asked.id == id);
    let day = theirs.as_ref().and_then(|asked| asked.appointment_on);
    let rows = vec![("Appointment".to_owned(), day.map(|day| day.to_string()).unwrap_or_default(), yours.to_owned())];
    let both = Both { back: visit.at("/evaluations"), rows };
    match theirs.filter(|asked| asked.withdrawn_at.is_none()) {
        Some(asked) => Ok(stale::error(&mut snapshot, access, (id, asked.version), both).await?),
        None => Ok(Error::Stale(Box::new(both))),
    }
}
