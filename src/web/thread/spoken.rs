//! The student's own words as an entry of the thread, written down by a named
//! helper: a vision teacher, a classroom teacher or a parent.
//!
//! Read by whoever may read a post of that helper. Does not change a word.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use crate::access::action::Create;
use crate::access::resource::Thread;
use crate::access::{Access, Role};
use crate::care::student_words::NewWords;
use crate::store::{Audit, student_words as kept};
use crate::web::check::{Check, SHORT_TEXT};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::state::App;
use crate::web::student_words::{self, Fields};
use crate::web::visit::Visit;

/// How far back a day may lie.
const BACK_DAYS: i32 = 366;

#[derive(Template)]
#[template(path = "thread/words.html")]
struct WordsPage {
    shell: Shell,
    form: FormView,
    fields: Fields,
    action: String,
    back: String,
}

/// Whether this person may be the helper who writes down. A clinician asks in
/// the evaluation instead.
pub(super) fn may_add(visit: &Visit) -> bool {
    visit.may::<Thread, Create>() && visit.role() != Some(Role::Clinician)
}

fn build(context: &Context, visit: &Visit, form: FormView) -> Result<WordsPage> {
    if !may_add(visit) {
        return Err(Error::Hidden);
    }
    Ok(WordsPage {
        shell: shell_about(context, visit, "The student\u{2019}s own words").of_form(&form),
        fields: student_words::fields(&form),
        form,
        action: visit.at("/thread/words"),
        back: visit.at("/thread"),
    })
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Thread, Create>,
) -> Result<Response> {
    let today = app.store.clock().today().to_string();
    let form = FormView::filled(&context, Entry::default().with("said_on", today));
    Ok(Page(build(&context, &visit, form)?).into_response())
}

fn checked(entry: &Entry, today: Date) -> std::result::Result<NewWords, Faults> {
    let mut check = Check::new(entry);
    let said = student_words::read(&mut check);
    if said.is_empty() {
        check.fault(student_words::NAMES[2], "Write what the student said, or choose one of the answers above.");
    }
    let about = check.opt_text("about", "What it was about", SHORT_TEXT);
    let on = check.date("said_on", "The day", today.saturating_sub(BACK_DAYS.days())..=today);
    check.build(|| Some(NewWords { on: on?, about, said }))
}

pub(super) async fn write(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Create>,
    posted: Posted,
) -> Result<Response> {
    if !may_add(&visit) {
        return Err(Error::Hidden);
    }
    let new = match checked(&posted.entry, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => {
            return Ok(Again(build(&context, &visit, FormView::again(&context, &posted, faults))?).into_response());
        }
    };
    let location = visit.at("/thread");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = kept::as_post(&mut tx, &access, &new).await?;
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
