//! Released editions: reading an older one, withdrawing the one that counts; and
//! throwing the draft away.
//!
//! A released edition never changes: other words are a new edition.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;

use super::{Sheet, called, cautioned, sheet};
use crate::access::Access;
use crate::access::action::{Edit, Sign};
use crate::access::resource::Card;
use crate::care::ids::CardId;
use crate::store::card::{self, Edition};
use crate::store::{Audit, StoreError};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::discard as throwing;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::{part, words};

/// That an edition was withdrawn, in full: for those who write the card.
pub(super) fn withdrawn(edition: &Edition, zone: &TimeZone) -> Option<part::Notice> {
    let mark = edition.withdrawn.as_ref()?;
    let said = format!(
        "Edition {} was withdrawn on {} by {}. Why: {}",
        edition.number,
        words::instant(mark.at, zone),
        mark.by,
        mark.reason
    );
    Some(part::notice("stop", "Withdrawn: not released now", &said))
}

#[derive(Template)]
#[template(path = "card/edition.html")]
struct EditionPage {
    shell: Shell,
    crumbs: part::Crumbs,
    notice: part::Notice,
    sheet: Sheet,
}

/// One released edition as it was, for those who write the card.
pub(super) async fn read(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
    Record(id): Record<CardId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let all = card::editions(&mut snapshot, &access).await?;
    let newest = all.iter().find(|edition| edition.released_at.is_some()).map(|edition| edition.id);
    let edition = all.iter().find(|one| one.id == id && one.released_at.is_some()).ok_or(Error::Hidden)?;
    let kinds = cautioned(&mut snapshot, &visit).await?;
    let name = called(&mut snapshot, &visit).await?;
    let notice = match withdrawn(edition, &kinds.zone) {
        Some(notice) => notice,
        None if newest == Some(id) => part::notice("good", "Released", "This is the edition that counts."),
        None => part::notice("plain", "An earlier edition", "A newer one has taken its place."),
    };
    let page = EditionPage {
        shell: shell_about(&context, &visit, format!("Edition {} of the classroom card", edition.number)),
        crumbs: part::crumbs(&[(visit.at("/card"), "Classroom card".to_owned())]),
        notice,
        sheet: sheet(&context, &name, edition, &kinds, false),
    };
    Ok(Page(page).into_response())
}

#[derive(Template)]
#[template(path = "card/withdraw.html")]
struct WithdrawPage {
    shell: Shell,
    crumbs: part::Crumbs,
    number: i64,
    form: FormView,
    action: String,
    back: String,
}

fn withdraw_view(context: &Context, visit: &Visit, number: i64, form: FormView) -> WithdrawPage {
    WithdrawPage {
        shell: shell_about(context, visit, "Withdraw the classroom card").of_form(&form),
        crumbs: part::crumbs(&[(visit.at("/card"), "Classroom card".to_owned())]),
        number,
        action: visit.at("/card/withdraw"),
        back: visit.at("/card"),
        form,
    }
}

/// Asks why the card is withdrawn.
pub(super) async fn withdraw_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Sign>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let Some(edition) = card::released(&mut snapshot, &access).await? else {
        return Ok(Redirect::to(&visit.at("/card")).into_response());
    };
    let form = FormView::blank(&context).at_version(edition.number);
    Ok(Page(withdraw_view(&context, &visit, edition.number, form)).into_response())
}

/// Withdraws the edition that was on the page.
pub(super) async fn withdraw(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Sign>,
    posted: Posted,
) -> Result<Response> {
    let number = posted.version.unwrap_or(0);
    let mut check = Check::new(&posted.entry);
    let reason = check.text("reason", "The reason", LONG_TEXT);
    let reason = match check.build(|| Some(reason)) {
        Ok(reason) => reason,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(withdraw_view(&context, &visit, number, form)).into_response());
        }
    };
    let location = visit.at("/card");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = match card::withdraw(&mut tx, &access, number, &reason).await {
        Err(StoreError::Stale) => {
            let changed = "another edition was released, or it was withdrawn meanwhile".to_owned();
            let rows = vec![("Card".to_owned(), changed, reason)];
            return Err(Error::Stale(Box::new(Both { back: location, rows })));
        }
        done => done?,
    };
    tx.commit_at(Audit::by(&access).record(id).doing("withdraw").told("withdrawn"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// Asks once more before the draft is thrown away.
pub(super) async fn discard_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let Some(draft) = card::draft(&mut snapshot, &access).await? else {
        return Ok(Redirect::to(&visit.at("/card")).into_response());
    };
    let (here, edit) = (visit.at("/card/discard"), visit.at("/card/edit"));
    let what = format!("Classroom card, edition {}, a draft.", draft.number);
    Ok(Page(throwing::page(&context, &visit, &what, (&here, &edit), draft.version)).into_response())
}

/// Throws the draft away, as it was seen.
pub(super) async fn discard(
    State(app): State<App>,
    visit: Visit,
    access: Access<Card, Edit>,
    posted: Posted,
) -> Result<Response> {
    let location = visit.at("/card");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let draft = card::draft(&mut tx, &access).await?.ok_or(StoreError::Stale)?;
    card::discard(&mut tx, &access, draft.id, posted.version.unwrap_or(-1)).await?;
    tx.commit_at(Audit::by(&access).record(draft.id).doing("discard"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
