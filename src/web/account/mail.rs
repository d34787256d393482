//! Whether and where a person is told by e-mail that something is new.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::build;
use crate::access::Actor;
use crate::care::mail::Often;
use crate::mail::is_address;
use crate::store::mail::{self, Choice};
use crate::store::{Audit, Snapshot};
use crate::web::check::{Check, SHORT_TEXT};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context};
use crate::web::state::App;

/// The form as it stands.
pub(super) async fn form(snapshot: &mut Snapshot, context: &Context, actor: &Actor) -> Result<FormView> {
    let own = mail::own(snapshot, actor).await?;
    let entry = Entry::default().with("often", own.often.code()).with("address", own.address);
    Ok(FormView::filled(context, entry).at_version(own.version))
}

fn checked(entry: &Entry, version: i64) -> std::result::Result<Choice, Faults> {
    let mut check = Check::new(entry);
    let often = check.code::<Often>("often", "How often");
    let address = check.opt_text("address", "E-mail address", SHORT_TEXT);
    if address.is_empty() && often.is_some_and(|often| often != Often::Never) {
        check.fault("address", "Write the address that letters go to, or choose not to be told by e-mail.");
    } else if !address.is_empty() && !is_address(&address) {
        check.fault("address", "This is no e-mail address. Write it as name@example.org.");
    }
    check.build(|| Some(Choice { address, often: often?, version }))
}

pub(super) async fn choose(State(app): State<App>, context: Context, actor: Actor, posted: Posted) -> Result<Response> {
    if app.letters_from.is_none() || actor.role.is_none() {
        return Err(Error::Hidden);
    }
    let chosen = match checked(&posted.entry, posted.version.unwrap_or(0)) {
        Ok(chosen) => chosen,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&app, &context, super::Forms { mail: Some(form), ..Default::default() }).await?)
                .into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(actor.account)).await?;
    mail::choose(&mut tx, &actor, &chosen).await?;
    tx.commit_at(Audit::own(Some(actor.account), "choose letters"), "/account").await?;
    Ok(Redirect::to("/account").into_response())
}
