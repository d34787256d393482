//! A later day for a loan, with the reason; the day it had stays beside it.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;
use jiff::{Span, ToSpan};

use crate::access::action::Edit;
use crate::access::resource::Loans;
use crate::care::gates::may_extend;
use crate::care::ids::LoanId;
use crate::care::loan::{LONG_LOAN_DAYS, LoanRecord, SHORT_LOAN_DAYS, short_words};
use crate::store::{Audit, extension, journey, loan};
use crate::web::check::{Check, SHORT_TEXT};
use crate::web::confirm;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::Choice;
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words;

#[derive(Template)]
#[template(path = "devices/extend.html")]
struct ExtendPage {
    shell: Shell,
    back: String,
    action: String,
    device: String,
    due: String,
    confirm: Option<Choice>,
    form: FormView,
}

fn build(context: &Context, visit: &Visit, loan: &LoanRecord, form: FormView) -> ExtendPage {
    ExtendPage {
        shell: shell_about(context, visit, "A later due date").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/extend/{}", loan.id)),
        device: format!("{}, {}", loan.tag, short_words(&loan.spec)),
        due: format!(
            "Lent on {}, due back on {}.",
            words::date(loan.entered.lent_on),
            words::date(loan.entered.due_on)
        ),
        confirm: confirm::tick(&form, "confirmed"),
        form,
    }
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<LoanId>,
) -> Result<Response> {
    let access = visit.open::<Loans, Edit>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let loan = loan::one(&mut snapshot, &access, id).await?;
    if loan.returned_on.is_some() {
        return Ok(Redirect::to(&visit.at("/devices")).into_response());
    }
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    may_extend(tracks.of(loan.entered.track), id).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let usual = loan.entered.due_on.max(snapshot.today()).saturating_add(SHORT_LOAN_DAYS.days());
    let entry = Entry::default().with("due_on", usual.to_string());
    let form = FormView::filled(&context, entry).at_version(loan.version);
    Ok(Page(build(&context, &visit, &loan, form)).into_response())
}

fn wanted(entry: &Entry, loan: &LoanRecord, today: Date) -> std::result::Result<(Date, String), Faults> {
    let mut check = Check::new(entry);
    // Later than it was, and not in the past: what was due yesterday is not extended to yesterday.
    let first = loan.entered.due_on.saturating_add(1.day()).max(today);
    let due = check.date("due_on", "Due back", first..=first.saturating_add(Span::new().years(1)));
    let reason = check.text("reason", "Reason", SHORT_TEXT);
    if let Some(due) = due {
        let days = loan.entered.lent_on.until(due).map_or(0, |span| span.get_days());
        let unusual = if days > LONG_LOAN_DAYS {
            vec![format!("a loan of {days} days in all (up to {LONG_LOAN_DAYS} is common practice)")]
        } else {
            Vec::new()
        };
        confirm::settle(&mut check, "confirmed", &unusual);
    }
    check.build(|| Some((due?, reason)))
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<LoanId>,
    posted: Posted,
) -> Result<Response> {
    let access = visit.open::<Loans, Edit>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let loan = loan::one(&mut tx, &access, id).await?;
    let tracks = journey::tracks(&mut tx, &access).await?;
    let may =
        may_extend(tracks.of(loan.entered.track), id).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let (due, reason) = match wanted(&posted.entry, &loan, tx.today()) {
        Ok(wanted) => wanted,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&context, &visit, &loan, form)).into_response());
        }
    };
    let location = visit.at("/devices");
    if posted.version != Some(loan.version) {
        let rows = vec![("Due back".to_owned(), words::date(loan.entered.due_on), words::date(due))];
        return Err(Error::Stale(Box::new(Both { back: location, rows })));
    }
    extension::extend(&mut tx, &access, may, &loan, due, &reason).await?;
    let audit = Audit::by(&access).record(id).told("extended").track(loan.entered.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
