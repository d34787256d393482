//! Accounts: making one, closing and reopening one.
//!
//! Parents and classroom teachers make their own by a link; nobody closes their own.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::super::check::{Check, NAME, SHORT_TEXT};
use super::super::error::{Error, Result};
use super::super::form::{Entry, Faults, FormView, Posted};
use super::super::page::{Again, Context};
use super::super::params::Record;
use super::super::sign_in::new_password;
use super::super::state::App;
use super::{Forms, build};
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::Accounts;
use crate::access::{Office, Role};
use crate::care::ids::AccountId;
use crate::store::account::{self, Account, NewAccount};
use crate::store::{Audit, StoreError};

pub(super) struct AccountLine {
    pub(super) id: String,
    pub(super) name: String,
    pub(super) sign_in: String,
    pub(super) role: String,
    pub(super) clinic: String,
    pub(super) open: bool,
    pub(super) version: i64,
}

/// What a new account is, in the steward's form.
pub(super) const ROLES: [(&str, &str); 4] = [
    ("vision_teacher", "Vision teacher"),
    ("mobility", "Vision teacher, mobility specialist"),
    ("clinician", "Clinician"),
    ("steward", "Records officer only"),
];

pub(super) fn line(account: Account) -> AccountLine {
    let mut role = match (account.role, account.mobility) {
        (Some(_), true) => "vision teacher, mobility specialist".to_owned(),
        (Some(role), false) => role.words().to_owned(),
        (None, _) => "records officer".to_owned(),
    };
    if account.role.is_some() && account.steward {
        role.push_str(", records officer");
    }
    AccountLine {
        id: account.id.to_string(),
        name: account.name,
        sign_in: account.sign_in,
        role,
        clinic: account.clinic.unwrap_or_default(),
        open: account.disabled_at.is_none(),
        version: account.version,
    }
}

struct Wanted {
    role: &'static str,
    name: String,
    sign_in: String,
    password: String,
    clinic: String,
    credential: String,
    licence: String,
}

fn wanted(entry: &Entry) -> std::result::Result<Wanted, Faults> {
    let mut check = Check::new(entry);
    let role = check.one_of("role", "What the person does", &ROLES.map(|(code, _)| code));
    let name = check.text("name", "Name", NAME);
    let sign_in = check.text("sign_in", "E-mail or sign-in name", SHORT_TEXT);
    let (clinic, credential, licence) = if role == Some("clinician") {
        (
            check.text("clinic", "Clinic", NAME),
            check.text("credential", "Credential", NAME),
            check.text("licence", "Licence", NAME),
        )
    } else {
        (check.opt_text("clinic", "Clinic", NAME), String::new(), String::new())
    };
    let password = new_password(&mut check);
    check.build(|| Some(Wanted { role: role?, name, sign_in, password: password?, clinic, credential, licence }))
}

pub(super) async fn create(
    State(app): State<App>,
    context: Context,
    office: Office<Accounts, Read>,
    making: Office<Accounts, Create>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&app, &context, &office, Forms { account: Some(form), ..Forms::default() }).await?)
            .into_response())
    };
    let wanted = match wanted(&posted.entry) {
        Ok(wanted) => wanted,
        Err(faults) => return again(faults).await,
    };
    let hash = app.passwords.hash(&wanted.password).await.map_err(|error| Error::broken(&error))?;
    let filled = |text: String| Some(text).filter(|text| !text.is_empty());
    let new = NewAccount {
        role: match wanted.role {
            "clinician" => Some(Role::Clinician),
            "steward" => None,
            _ => Some(Role::VisionTeacher),
        },
        steward: wanted.role == "steward",
        mobility: wanted.role == "mobility",
        name: wanted.name,
        sign_in: wanted.sign_in,
        password_hash: hash,
        clinic: filled(wanted.clinic),
        credential: filled(wanted.credential),
        licence: filled(wanted.licence),
        language: "en".to_owned(),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(making.actor().account)).await?;
    match account::create(&mut tx, &making, &new).await {
        Ok(id) => {
            tx.commit_at(Audit::office(&making).record(id), "/steward").await?;
            Ok(Redirect::to("/steward").into_response())
        }
        Err(StoreError::Taken) => {
            drop(tx);
            again(Faults::one("sign_in", "This sign-in name is in use. Choose another one.")).await
        }
        Err(error) => Err(error.into()),
    }
}

pub(super) async fn set_open(
    State(app): State<App>,
    changing: Office<Accounts, Edit>,
    Record(account): Record<AccountId>,
    posted: Posted,
) -> Result<Response> {
    if account == changing.actor().account {
        return Err(Error::Forbidden("Nobody closes their own account: ask another records officer.".to_owned()));
    }
    let open = posted.entry.get("open") == "yes";
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(changing.actor().account)).await?;
    account::set_open(&mut tx, &changing, account, open, posted.version.unwrap_or(0)).await?;
    tx.commit_at(Audit::office(&changing).record(account).doing(if open { "reopen" } else { "close" }), "/steward")
        .await?;
    Ok(Redirect::to("/steward").into_response())
}
