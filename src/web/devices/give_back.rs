//! Taking a loan back: the day, and the condition it came back in.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::access::action::Edit;
use crate::access::resource::Loans;
use crate::care::device::Condition;
use crate::care::ids::LoanId;
use crate::care::loan::{LoanRecord, short_words};
use crate::store::{Audit, loan};
use crate::web::check::Check;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "devices/return.html")]
struct ReturnPage {
    shell: Shell,
    back: String,
    action: String,
    device: String,
    since: String,
    form: FormView,
    conditions: Vec<(&'static str, String)>,
}

fn build(context: &Context, visit: &Visit, loan: &LoanRecord, form: FormView) -> ReturnPage {
    ReturnPage {
        shell: shell_about(context, visit, "Take a loan back").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/return/{}", loan.id)),
        device: format!("{}, {}", loan.tag, short_words(&loan.spec)),
        since: words::date(loan.entered.lent_on),
        form,
        conditions: options!(Condition),
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
    let entry = Entry::default().with("returned_on", snapshot.today().to_string());
    let form = FormView::filled(&context, entry).at_version(loan.version);
    Ok(Page(build(&context, &visit, &loan, form)).into_response())
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
    let location = visit.at("/devices");
    let mut check = Check::new(&posted.entry);
    let returned_on = check.date("returned_on", "Came back on", loan.entered.lent_on..=tx.today());
    let condition = check.code::<Condition>("condition", "Condition now");
    let (returned_on, condition) = match check.build(|| Some((returned_on?, condition?))) {
        Ok(checked) => checked,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&context, &visit, &loan, form)).into_response());
        }
    };
    if loan.returned_on.is_some() || posted.version != Some(loan.version) {
        let theirs = loan.returned_on.map_or("not back yet".to_owned(), words::date);
        let rows = vec![
            ("Came back on".to_owned(), theirs, words::date(returned_on)),
            (
                "Condition".to_owned(),
                loan.condition_in.map_or("", |condition| condition.words()).to_owned(),
                condition.words().to_owned(),
            ),
        ];
        return Err(Error::Stale(Box::new(Both { back: location, rows })));
    }
    loan::give_back(&mut tx, &access, id, loan.version, returned_on, condition).await?;
    let audit = Audit::by(&access).record(id).told("returned").on(returned_on).track(loan.entered.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
