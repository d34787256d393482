//! The outbox: which letters wait, which were given up and why, which left.
//! Names of accounts and two counts; no student and no content.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;

use crate::access::Office;
use crate::access::action::{Edit, Read};
use crate::access::resource::{Accounts, Settings};
use crate::care::ids::LetterId;
use crate::care::mail::LetterState;
use crate::store::mail::{self, Listed};
use crate::store::{Audit, StoreError};
use crate::web::error::{Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Context, Page, Shell};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::words;

#[derive(Template)]
#[template(path = "steward/mail.html")]
struct MailPage {
    shell: Shell,
    /// The sender, or nothing where no mail server is set.
    from: Option<String>,
    summary: String,
    kept: Vec<Line>,
    ended: Vec<Line>,
    form: FormView,
}

/// One letter, finished.
struct Line {
    to: String,
    state: String,
    made: String,
    tries: String,
    next: String,
    trouble: String,
    /// Where it is tried again or dropped; empty where neither is possible.
    action: String,
}

fn line(letter: Listed, zone: &TimeZone) -> Line {
    let open = matches!(letter.state, LetterState::Waiting | LetterState::GivenUp);
    Line {
        state: words::capital(letter.state.words()),
        made: words::instant(letter.made_at, zone),
        tries: letter.tries.to_string(),
        next: match letter.ended_at {
            Some(at) => format!("ended {}", words::instant(at, zone)),
            None => words::instant(letter.next_at, zone),
        },
        trouble: letter.trouble,
        action: if open { format!("/steward/mail/{}", letter.id) } else { String::new() },
        to: letter.to,
    }
}

/// How many wait and how many were given up, in words.
pub(super) fn summary(letters: &[Listed]) -> String {
    let count = |state: LetterState| letters.iter().filter(|one| one.state == state).count();
    let (waiting, up) = (count(LetterState::Waiting) + count(LetterState::Sending), count(LetterState::GivenUp));
    let waits = match waiting {
        0 => "No letter waits".to_owned(),
        1 => "One letter waits".to_owned(),
        more => format!("{more} letters wait"),
    };
    match up {
        0 => format!("{waits}."),
        1 => format!("{waits}. One was given up and needs you."),
        more => format!("{waits}. {more} were given up and need you."),
    }
}

pub(super) async fn page(State(app): State<App>, context: Context, office: Office<Accounts, Read>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let letters = mail::all(&mut snapshot, &office).await?;
    drop(snapshot);
    let summary = summary(&letters);
    let zone = app.store.clock().zone();
    let (ended, kept): (Vec<Listed>, Vec<Listed>) =
        letters.into_iter().partition(|one| matches!(one.state, LetterState::Sent | LetterState::Dropped));
    Ok(Page(MailPage {
        shell: context.shell("Letters"),
        from: app.letters_from.as_deref().map(str::to_owned),
        summary,
        kept: kept.into_iter().map(|letter| line(letter, zone)).collect(),
        ended: ended.into_iter().map(|letter| line(letter, zone)).collect(),
        form: FormView::blank(&context),
    })
    .into_response())
}

pub(super) async fn settle(
    State(app): State<App>,
    changing: Office<Settings, Edit>,
    Record(letter): Record<LetterId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(changing.actor().account)).await?;
    let (doing, done) = match posted.entry.get("act") {
        "again" => ("try letter again", mail::try_again(&mut tx, &changing, letter).await),
        "drop" => ("drop letter", mail::drop_letter(&mut tx, &changing, letter).await),
        _ => return Err(Error::Unreadable),
    };
    match done {
        Ok(()) => tx.commit_at(Audit::office(&changing).record(letter).doing(doing), "/steward/mail").await?,
        // It left or was dropped meanwhile: the page says which.
        Err(StoreError::Stale) => {}
        Err(error) => return Err(error.into()),
    }
    Ok(Redirect::to("/steward/mail").into_response())
}
