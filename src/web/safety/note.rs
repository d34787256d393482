//! A records officer ends the pause on an eye doctor's written note (G9).
//!
//! The officer reads whether training is paused and no more: not what was raised,
//! nor how often. The note goes to the record with the doctor's name and its date,
//! and clears what was raised by that day; who may read the flag reads the note.

use askama::Template;
use axum::extract::{FromRequestParts, State};
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::noticed_days;
use crate::access::Access;
use crate::access::action::{Read, Sign as Clearing};
use crate::access::resource::Pause;
use crate::care::attachment::Checked;
use crate::care::flag::{self, PAUSED};
use crate::care::gates::may_clear;
use crate::care::ids::FlagId;
use crate::store::safety::{self, Note};
use crate::store::{Audit, account};
use crate::web::account::wrong_password;
use crate::web::check::{Check, NAME};
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::routes::Routes;
use crate::web::state::App;
use crate::web::steps;
use crate::web::upload::{Upload, Uploaded};
use crate::web::visit::Visit;

pub(super) fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/safety/note", note_page).upload("/students/{student}/safety/note", attach)
}

/// Whether this is a records officer, whose clearing needs the note. A clinician
/// clears by what the clinician found.
pub(super) async fn attaches(visit: &Visit) -> Result<bool> {
    match permitted(visit).await {
        Ok(()) => Ok(true),
        Err(Error::Hidden | Error::Forbidden(_) | Error::PasswordNeeded) => Ok(false),
        Err(error) => Err(error),
    }
}

async fn permitted(visit: &Visit) -> Result<()> {
    if !visit.actor().steward {
        return Err(Error::Hidden);
    }
    visit.allows_with_password::<Pause, Clearing>().await
}

/// A records officer, asked for before a file is taken in.
struct Officer;

impl FromRequestParts<App> for Officer {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        let visit = Visit::from_request_parts(parts, state).await?;
        permitted(&visit).await?;
        Ok(Self)
    }
}

#[derive(Template)]
#[template(path = "safety/note.html")]
struct NotePage {
    shell: Shell,
    form: FormView,
    paused: &'static str,
    action: String,
    back: String,
}

fn page_of(context: &Context, visit: &Visit, form: FormView) -> NotePage {
    NotePage {
        shell: shell_about(context, visit, "An eye doctor's note").of_form(&form),
        form,
        paused: PAUSED,
        action: visit.at("/safety/note"),
        back: visit.at("/safety"),
    }
}

/// What pauses training now: which flags, and the day of the newest.
async fn pausing(app: &App, access: &Access<Pause, Read>) -> Result<Option<(Vec<FlagId>, Date)>> {
    let mut snapshot = app.store.snapshot().await?;
    let pauses = safety::pauses(&mut snapshot, access).await?;
    let open: Vec<&flag::Pause> = pauses.iter().filter(|pause| pause.cleared_on.is_none()).collect();
    let newest = open.iter().map(|pause| pause.raised_on).max();
    Ok(newest.map(|day| (open.iter().map(|pause| pause.flag).collect(), day)))
}

async fn note_page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    permitted(&visit).await?;
    let access = visit.open::<Pause, Read>().await?;
    if pausing(&app, &access).await?.is_none() {
        return Ok(Redirect::to(&visit.at("/safety")).into_response());
    }
    Ok(Page(page_of(&context, &visit, FormView::blank(&context))).into_response())
}

/// The note as the form says, with its scan.
fn checked(
    posted: &Posted,
    file: Option<Upload>,
    newest: Date,
    today: Date,
) -> std::result::Result<(String, Date, Checked), Faults> {
    let mut check = Check::new(&posted.entry);
    let doctor = check.text("doctor", "Name of the eye doctor", NAME);
    let on = check.date("note_on", "Date of the note", noticed_days(today));
    if on.is_some_and(|on| on < newest) {
        // The day itself is not the officer's to read.
        check.fault("note_on", "Something was raised after that day. The note must be as new as that.");
    }
    let scan = match file.map(Upload::check) {
        None => {
            check.fault("scan", "Choose the eye doctor's written note: a PDF, JPEG or PNG.");
            None
        }
        Some(Err(refused)) => {
            check.fault("scan", refused.to_string());
            None
        }
        Some(Ok(scan)) => Some(scan),
    };
    check.build(|| Some((doctor, on?, scan?)))
}

async fn attach(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _officer: Officer,
    Uploaded { posted, file }: Uploaded,
) -> Result<Response> {
    let reading = visit.open::<Pause, Read>().await?;
    let location = visit.at("/safety");
    let Some((flags, newest)) = pausing(&app, &reading).await? else {
        // Cleared meanwhile: that is what was wanted.
        return Ok(Redirect::to(&location).into_response());
    };
    let chosen = file.is_some();
    let again = async |mut faults: Faults| {
        if chosen {
            faults.add("scan", "Choose the note again: a file is not kept when the form comes back.");
        }
        let mut form = FormView::again(&context, &posted, faults);
        form.entry.set("password", "");
        Ok(Again(page_of(&context, &visit, form)).into_response())
    };
    let (doctor, on, scan) = match checked(&posted, file, newest, app.store.clock().today()) {
        Ok(note) => note,
        Err(faults) => return again(faults).await,
    };
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => return again(wrong_password("password", &attempt)).await,
        };
    let access = visit.open_reentered::<Pause, Clearing>(&reentered).await?;
    let may = may_clear(flag::Clearing::BySteward(flag::Note::Attached))
        .map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let mut scans = Vec::new();
    for flag in flags {
        scans.push((flag, app.store.files().lay(scan.clone()).await?));
    }
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    safety::clear_on_note(&mut tx, &access, &reentered, may, Note { doctor, on, scans }).await?;
    tx.commit_at(Audit::by(&access).doing("clear on a note").told("cleared"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
