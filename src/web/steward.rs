//! The site's own page: accounts, settings, and what the records office has to
//! do. No student's content is here.

mod accounts;
mod duties;
mod mail;
mod reading;
mod settings;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use accounts::{AccountLine, ROLES};
use duties::Duties;

use super::error::Result;
use super::form::FormView;
use super::page::{Context, Page, Shell};
use super::routes::Routes;
use super::state::App;
use crate::access::Office;
use crate::access::action::Read;
use crate::access::resource::Accounts;
use crate::store::{account, mail as outbox, setting};

/// The routes of the site.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/steward", page)
        .post("/steward/accounts", accounts::create)
        .post("/steward/accounts/{record}", accounts::set_open)
        .post("/steward/settings", settings::change)
        .get("/steward/mail", mail::page)
        .post("/steward/mail/{record}", mail::settle)
}

#[derive(Template)]
#[template(path = "steward/page.html")]
struct StewardPage {
    shell: Shell,
    accounts: Vec<AccountLine>,
    form: FormView,
    open_form: FormView,
    settings: FormView,
    reading: reading::Fields,
    retention: String,
    roles: Vec<(&'static str, &'static str)>,
    duties: Duties,
    /// Whether a second records officer is missing.
    alone: bool,
    /// How the outbox stands, and the sender of its letters.
    letters: String,
    from: Option<String>,
}

/// Forms that came back.
#[derive(Default)]
struct Forms {
    account: Option<FormView>,
    settings: Option<FormView>,
}

async fn build(app: &App, context: &Context, office: &Office<Accounts, Read>, forms: Forms) -> Result<StewardPage> {
    let mut snapshot = app.store.snapshot().await?;
    let everybody = account::all(&mut snapshot, office).await?;
    let alone = everybody.iter().filter(|one| one.steward && one.disabled_at.is_none()).count() < 2;
    let site = setting::site(&mut snapshot).await?;
    let duties = Duties::of(&mut snapshot, office, &site).await?;
    let letters = outbox::all(&mut snapshot, office).await?;
    drop(snapshot);
    let form = forms.account.unwrap_or_else(|| FormView::blank(context));
    let settings = forms.settings.unwrap_or_else(|| FormView::filled(context, settings::entry_of(&site)));
    let mut shell = context.shell("Site");
    shell.has_faults = !form.faults.is_empty() || !settings.faults.is_empty();
    Ok(StewardPage {
        shell,
        accounts: everybody.into_iter().map(accounts::line).collect(),
        form,
        open_form: FormView::blank(context),
        settings,
        reading: reading::fields(),
        retention: format!(
            "1 to 99. Left open: {}, common practice. Nothing is deleted by itself",
            setting::RETENTION_YEARS
        ),
        roles: ROLES.to_vec(),
        duties,
        alone,
        letters: mail::summary(&letters),
        from: app.letters_from.as_deref().map(str::to_owned),
    })
}

async fn page(State(app): State<App>, context: Context, office: Office<Accounts, Read>) -> Result<Response> {
    Ok(Page(build(&app, &context, &office, Forms::default()).await?).into_response())
}
