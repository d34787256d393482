//! A device that was lost or broken while it was out: the loan ends with that,
//! and the device of the pool is in that condition. Nothing is asked of the family.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::access::action::Edit;
use crate::access::resource::Loans;
use crate::care::device::Condition;
use crate::care::ids::LoanId;
use crate::care::loan::{LoanRecord, short_words};
use crate::store::extension::{self, NewReport};
use crate::store::{Audit, loan};
use crate::web::check::{Check, LONG_TEXT, NAME};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

#[derive(Template)]
#[template(path = "devices/report.html")]
struct ReportPage {
    shell: Shell,
    back: String,
    action: String,
    device: String,
    since: String,
    conditions: [(&'static str, &'static str); 2],
    form: FormView,
}

const CONDITIONS: [(&str, &str); 2] = [("lost", "Lost"), ("broken", "Broken")];

fn build(context: &Context, visit: &Visit, loan: &LoanRecord, form: FormView) -> ReportPage {
    ReportPage {
        shell: shell_about(context, visit, "Lost or broken").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/report/{}", loan.id)),
        device: format!("{}, {}", loan.tag, short_words(&loan.spec)),
        since: words::date(loan.entered.lent_on),
        conditions: CONDITIONS,
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
    let entry = Entry::default().with("on", snapshot.today().to_string());
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
    let mut check = Check::new(&posted.entry);
    let what = check.one_of("condition", "What happened", &["lost", "broken"]);
    let on = check.date("on", "Since", loan.entered.lent_on..=tx.today());
    let told_by = check.text("told_by", "Who told of it", NAME);
    let words = check.text("words", "What was told", LONG_TEXT);
    let condition = what.map(|what| if what == "lost" { Condition::Lost } else { Condition::Broken });
    let new = match check.build(|| Some(NewReport { condition: condition?, on: on?, told_by, words })) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&context, &visit, &loan, form)).into_response());
        }
    };
    let location = visit.at("/devices");
    if loan.returned_on.is_some() || posted.version != Some(loan.version) {
        let theirs = loan.condition_in.map_or("still out", |condition| condition.words());
        let rows = vec![
            ("Since".to_owned(), loan.returned_on.map(words::date).unwrap_or_default(), words::date(new.on)),
            ("Condition".to_owned(), theirs.to_owned(), new.condition.words().to_owned()),
        ];
        return Err(Error::Stale(Box::new(Both { back: location, rows })));
    }
    extension::report(&mut tx, &access, &loan, &new).await?;
    let verb = if new.condition == Condition::Lost { "reported lost" } else { "reported broken" };
    let audit = Audit::by(&access).record(id).told(verb).on(new.on).track(loan.entered.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
