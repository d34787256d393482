//! A person's own account: units, appearance, letters, calendar, password, sessions.

mod calendar;
mod mail;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::check::{Check, SHORT_TEXT};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell};
use super::routes::Routes;
use super::sign_in::new_password;
use super::state::App;
use super::words;
use crate::access::Actor;
use crate::care::mail::Often;
use crate::store::account::{self, Attempt, Preferences};
use crate::store::{Audit, session};

/// The routes of a person's own account.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/account", page)
        .post("/account", prefer)
        .post("/account/letters", mail::choose)
        .post("/account/calendar", calendar::make)
        .post("/account/calendar/end", calendar::end)
        .open_get("/calendar/{word}", calendar::read)
        .post("/account/password", change_password)
        .post("/account/sessions", end_sessions)
        .get("/confirm", confirm_page)
        .post("/confirm", confirm)
}

#[derive(Template)]
#[template(path = "account/page.html")]
struct AccountPage {
    shell: Shell,
    form: FormView,
    password: FormView,
    sessions: Vec<SessionLine>,
    role: String,
    sign_in: String,
    units: Vec<(&'static str, &'static str)>,
    appearances: Vec<(&'static str, &'static str)>,
    sizes: Vec<(&'static str, &'static str)>,
    /// Where this site sends e-mail and the account has somebody's work in it.
    mail: Option<FormView>,
    often: Vec<(&'static str, String)>,
    from: String,
    /// Whether there are dates to read in a calendar program.
    has_dates: bool,
    /// Since when an address for them is in force.
    calendar: Option<String>,
}

/// Forms that came back.
#[derive(Default)]
struct Forms {
    looks: Option<FormView>,
    password: Option<FormView>,
    mail: Option<FormView>,
}

struct SessionLine {
    agent: String,
    started: String,
    used: String,
    this_one: bool,
}

async fn build(app: &App, context: &Context, forms: Forms) -> Result<AccountPage> {
    let actor = context.actor()?;
    let mut snapshot = app.store.snapshot().await?;
    let own = account::own(&mut snapshot, actor).await?;
    let zone = app.store.clock().zone();
    let here = context.session.as_ref().map(|session| session.token_hash.clone());
    let sessions = session::own(&mut snapshot, actor).await?;
    let sessions = sessions
        .into_iter()
        .map(|listed| SessionLine {
            started: words::instant(listed.created_at, zone),
            used: words::instant(listed.seen_at, zone),
            this_one: Some(&listed.token_hash) == here.as_ref(),
            agent: browser(&listed.agent),
        })
        .collect();
    let mail = match (forms.mail, &app.letters_from) {
        (Some(again), _) => Some(again),
        (None, Some(_)) if actor.role.is_some() => Some(mail::form(&mut snapshot, context, actor).await?),
        (None, _) => None,
    };
    let calendar = calendar::told(app, &mut snapshot, actor).await?;
    let form = forms.looks.unwrap_or_else(|| {
        let entry = Entry::default()
            .with("units", own.units.clone())
            .with("appearance", own.appearance.clone())
            .with("text_size", own.text_size.to_string());
        FormView::filled(context, entry).at_version(own.version)
    });
    let password = forms.password.unwrap_or_else(|| FormView::blank(context));
    let mut shell = context.shell("Your account");
    let faulty =
        [Some(&form), Some(&password), mail.as_ref()].into_iter().flatten().any(|form| !form.faults.is_empty());
    shell.has_faults = faulty;
    Ok(AccountPage {
        mail,
        often: words::options!(Often),
        from: app.letters_from.as_deref().unwrap_or_default().to_owned(),
        has_dates: actor.role.is_some(),
        calendar,
        shell,
        form,
        password,
        sessions,
        role: own.role.map_or_else(|| "records officer".to_owned(), |role| role.words().to_owned()),
        sign_in: own.sign_in,
        units: vec![("metric", "Metres and centimetres"), ("imperial", "Feet and inches")],
        appearances: vec![("auto", "As this machine is set"), ("light", "Light"), ("dark", "Dark")],
        sizes: vec![("18", "Large"), ("22", "Larger"), ("26", "Largest")],
    })
}

/// What a browser calls itself, in words a person knows.
fn browser(agent: &str) -> String {
    let first =
        |names: &[(&str, &'static str)]| names.iter().find(|(mark, _)| agent.contains(mark)).map(|(_, name)| *name);
    let program = first(&[("Edg/", "Edge"), ("Firefox/", "Firefox"), ("Chrome/", "Chrome"), ("Safari/", "Safari")]);
    let machine = first(&[
        ("iPhone", "an iPhone"),
        ("iPad", "an iPad"),
        ("Android", "an Android phone or tablet"),
        ("CrOS", "a Chromebook"),
        ("Windows", "Windows"),
        ("Mac OS", "a Mac"),
        ("Linux", "Linux"),
    ]);
    format!("{} on {}", program.unwrap_or("A browser"), machine.unwrap_or("some machine"))
}

async fn page(State(app): State<App>, context: Context) -> Result<Response> {
    Ok(Page(build(&app, &context, Forms::default()).await?).into_response())
}

fn preferences(entry: &Entry) -> std::result::Result<Preferences, Faults> {
    let mut check = Check::new(entry);
    let units = check.one_of("units", "Units", &["metric", "imperial"]);
    let appearance = check.one_of("appearance", "Appearance", &["auto", "light", "dark"]);
    let text_size = check.one_of("text_size", "Text size", &["18", "22", "26"]);
    check.build(|| {
        Some(Preferences {
            units: units?.to_owned(),
            appearance: appearance?.to_owned(),
            text_size: text_size?.parse().ok()?,
        })
    })
}

async fn prefer(State(app): State<App>, context: Context, actor: Actor, posted: Posted) -> Result<Response> {
    let chosen = match preferences(&posted.entry) {
        Ok(chosen) => chosen,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(
                Again(build(&app, &context, Forms { looks: Some(form), ..Forms::default() }).await?).into_response()
            );
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(actor.account)).await?;
    account::prefer(&mut tx, &actor, &chosen, posted.version.unwrap_or(0)).await?;
    tx.commit_at(Audit::own(Some(actor.account), "preferences"), "/account").await?;
    Ok(Redirect::to("/account").into_response())
}

async fn change_password(State(app): State<App>, context: Context, actor: Actor, posted: Posted) -> Result<Response> {
    let mut check = Check::new(&posted.entry);
    let wanted = new_password(&mut check);
    let wanted = match check.build(|| wanted) {
        Ok(wanted) => wanted,
        Err(faults) => return password_again(&app, &context, &posted, faults).await,
    };
    let reentered = match account::reenter(&app.store, &app.passwords, &actor, posted.entry.get("current")).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return password_again(&app, &context, &posted, wrong_password("current", &attempt)).await,
    };
    let hash = app.passwords.hash(&wanted).await.map_err(|error| Error::broken(&error))?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(actor.account)).await?;
    account::change_password(&mut tx, &reentered, hash).await?;
    if let Some(session) = &context.session {
        session::end_others(&mut tx, &actor, &session.token_hash).await?;
    }
    tx.commit_at(Audit::own(Some(actor.account), "change password"), "/account").await?;
    Ok(Redirect::to("/account").into_response())
}

async fn password_again(app: &App, context: &Context, posted: &Posted, faults: Faults) -> Result<Response> {
    // Passwords are never echoed.
    let mut form = FormView::blank(context);
    form.faults = faults;
    form.version = posted.version;
    Ok(Again(build(app, context, Forms { password: Some(form), ..Forms::default() }).await?).into_response())
}

/// The fault of a password that was asked for again before an act.
pub fn wrong_password(field: &str, attempt: &Attempt) -> Faults {
    let message = match attempt {
        Attempt::Waiting => "Too many wrong passwords. Wait fifteen minutes, then try again.",
        Attempt::Wrong | Attempt::Right(_) => "That is not your password. Type the one you sign in with.",
    };
    Faults::one(field, message)
}

async fn end_sessions(State(app): State<App>, context: Context, actor: Actor, posted: Posted) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(actor.account)).await?;
    if let Some(session) = &context.session {
        session::end_others(&mut tx, &actor, &session.token_hash).await?;
    }
    tx.commit_at(Audit::own(Some(actor.account), "end other sessions"), "/account").await?;
    Ok(Redirect::to("/account").into_response())
}

#[derive(Template)]
#[template(path = "account/confirm.html")]
struct ConfirmPage {
    shell: Shell,
    form: FormView,
}

async fn confirm_page(context: Context, _actor: Actor) -> Page<ConfirmPage> {
    Page(ConfirmPage { shell: context.shell("Enter your password again"), form: FormView::blank(&context) })
}

/// Notes that the password was entered again, with the reason for what follows.
async fn confirm(State(app): State<App>, context: Context, actor: Actor, posted: Posted) -> Result<Response> {
    let again = |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry.set("password", "");
        let shell = context.shell("Enter your password again").of_form(&form);
        Ok(Again(ConfirmPage { shell, form }).into_response())
    };
    let mut check = Check::new(&posted.entry);
    let reason = check.text("reason", "Reason", SHORT_TEXT);
    let reason = match check.build(|| Some(reason)) {
        Ok(reason) => reason,
        Err(faults) => return again(faults),
    };
    let reentered = match account::reenter(&app.store, &app.passwords, &actor, posted.entry.get("password")).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return again(wrong_password("password", &attempt)),
    };
    let session = context.session.as_ref().ok_or(Error::SignInNeeded)?;
    let to = if actor.steward { "/steward" } else { "/today" };
    let mut tx = app.store.tx().await?;
    session::reentered(&mut tx, &reentered, &session.token_hash).await?;
    tx.commit_at(Audit::own(Some(actor.account), "enter password again").because(reason), to).await?;
    Ok(Redirect::to(to).into_response())
}
