//! The site's own page: accounts and settings. No student's content is here.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::check::{Check, NAME, SHORT_TEXT};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell};
use super::params::Record;
use super::routes::Routes;
use super::sign_in::new_password;
use super::state::App;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Accounts, Settings};
use crate::access::{Office, Role};
use crate::care::ids::AccountId;
use crate::store::account::{self, Account, NewAccount};
use crate::store::{Audit, StoreError, setting};

/// The routes of the site.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/steward", page)
        .post("/steward/accounts", create)
        .post("/steward/accounts/{record}", set_open)
        .post("/steward/settings", change)
}

#[derive(Template)]
#[template(path = "steward/page.html")]
struct StewardPage {
    shell: Shell,
    accounts: Vec<AccountLine>,
    form: FormView,
    open_form: FormView,
    settings: FormView,
    roles: Vec<(&'static str, &'static str)>,
}

struct AccountLine {
    id: String,
    name: String,
    sign_in: String,
    role: String,
    clinic: String,
    open: bool,
    version: i64,
}

/// What a new account is, in the steward's form.
const ROLES: [(&str, &str); 4] = [
    ("vision_teacher", "Vision teacher"),
    ("mobility", "Vision teacher, mobility specialist"),
    ("clinician", "Clinician"),
    ("steward", "Records officer only"),
];

fn line(account: Account) -> AccountLine {
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

async fn build(
    app: &App,
    context: &Context,
    office: &Office<Accounts, Read>,
    form: Option<FormView>,
    settings: Option<FormView>,
) -> Result<StewardPage> {
    let mut snapshot = app.store.snapshot().await?;
    let accounts = account::all(&mut snapshot, office).await?.into_iter().map(line).collect();
    let site = setting::site(&mut snapshot).await?;
    let form = form.unwrap_or_else(|| FormView::blank(context));
    let settings = settings.unwrap_or_else(|| {
        let entry = Entry::default()
            .with("owner", site.owner())
            .with("help", site.help())
            .with("emergency_number", site.emergency_number())
            .with("evaluation_months", site.evaluation_months().to_string());
        FormView::filled(context, entry)
    });
    let mut shell = context.shell("Site");
    shell.has_faults = !form.faults.is_empty() || !settings.faults.is_empty();
    Ok(StewardPage { shell, accounts, form, open_form: FormView::blank(context), settings, roles: ROLES.to_vec() })
}

async fn page(State(app): State<App>, context: Context, office: Office<Accounts, Read>) -> Result<Response> {
    Ok(Page(build(&app, &context, &office, None, None).await?).into_response())
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

async fn create(
    State(app): State<App>,
    context: Context,
    office: Office<Accounts, Read>,
    making: Office<Accounts, Create>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&app, &context, &office, Some(form), None).await?).into_response())
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

async fn set_open(
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

async fn change(
    State(app): State<App>,
    context: Context,
    office: Office<Accounts, Read>,
    changing: Office<Settings, Edit>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&app, &context, &office, None, Some(form)).await?).into_response())
    };
    let mut check = Check::new(&posted.entry);
    let owner = check.text("owner", "Record owner", NAME);
    let help = check.text("help", "Whom to call for help", SHORT_TEXT);
    let emergency = check.text("emergency_number", "Emergency number", NAME);
    let months = check.whole("evaluation_months", "Months between evaluations", 3..=24);
    let (owner, help, emergency, months) = match check.build(|| Some((owner, help, emergency, months?))) {
        Ok(checked) => checked,
        Err(faults) => return again(faults).await,
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(changing.actor().account)).await?;
    setting::change(&mut tx, &changing, "owner", &owner).await?;
    setting::change(&mut tx, &changing, "help", &help).await?;
    setting::change(&mut tx, &changing, "emergency_number", &emergency).await?;
    setting::change(&mut tx, &changing, "evaluation_months", &months.to_string()).await?;
    tx.commit_at(Audit::office(&changing), "/steward").await?;
    Ok(Redirect::to("/steward").into_response())
}
