//! Signing in and out, and joining a team by a link.

use std::net::SocketAddr;
use std::num::NonZeroU32;
use std::sync::Arc;

use askama::Template;
use axum::extract::{ConnectInfo, FromRequest, Request, State};
use axum::http::header::{SET_COOKIE, USER_AGENT};
use axum::http::{HeaderMap, HeaderValue};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing;
use governor::{DefaultKeyedRateLimiter, Quota};

use super::access::{PLAIN_COOKIE, SECURE_COOKIE};
use super::check::{Check, NAME, SHORT_TEXT};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted, body};
use super::page::{Again, Context, Page, Shell};
use super::params::Word;
use super::routes::Routes;
use super::state::App;
use crate::access::{Actor, Role};
use crate::care::ids::AccountId;
use crate::store::account::{self, Attempt, NewAccount};
use crate::store::{Audit, StoreError, invitation, session};

/// The shortest password, in characters (NIST SP 800-63B names 8 as the least;
/// 12 is this house's own rule).
pub const SHORTEST_PASSWORD: usize = 12;
/// The longest.
pub const LONGEST_PASSWORD: usize = 256;

type Limiter = Arc<DefaultKeyedRateLimiter<std::net::IpAddr>>;

/// The open routes.
pub fn routes(routes: Routes, app: &App) -> Routes {
    let burst = NonZeroU32::new(app.sign_in_burst).unwrap_or(NonZeroU32::MIN);
    let quota = Quota::with_period(std::time::Duration::from_secs(6))
        .unwrap_or_else(|| Quota::per_minute(NonZeroU32::MIN))
        .allow_burst(burst);
    let limiter: Limiter = Arc::new(DefaultKeyedRateLimiter::keyed(quota));
    let attempt = {
        let limiter = limiter.clone();
        routing::post(move |state, request| sign_in(state, limiter, request))
    };
    let join = routing::post(move |state, word, context, request| accept(state, limiter, word, context, request));
    routes
        .open_get("/", async || Redirect::to("/today"))
        .open_get("/sign-in", form)
        .open_post("/sign-in", attempt)
        .open_get("/invite/{word}", invited)
        .open_post("/invite/{word}", join)
        .post("/sign-out", sign_out)
}

#[derive(Template)]
#[template(path = "sign_in/form.html")]
struct SignInPage {
    shell: Shell,
    form: FormView,
}

async fn form(context: Context) -> Response {
    if context.session.is_some() {
        return Redirect::to("/today").into_response();
    }
    let shell = context.shell("Sign in");
    Page(SignInPage { shell, form: FormView::blank(&context) }).into_response()
}

/// A form from somebody who has no session yet: the origin check around every
/// route stands in for the session's token.
async fn unsigned(request: Request, state: &App) -> Result<Entry> {
    let bytes = body(request, state).await?;
    Ok(form_urlencoded::parse(&bytes).take(50).collect())
}

fn slow_down(limiter: &Limiter, request: &Request) -> Result<()> {
    let from = request.extensions().get::<ConnectInfo<SocketAddr>>().map(|ConnectInfo(from)| from.ip());
    match from {
        Some(from) if limiter.check_key(&from).is_err() => Err(Error::TooMany),
        _ => Ok(()),
    }
}

async fn sign_in(State(app): State<App>, limiter: Limiter, request: Request) -> Result<Response> {
    slow_down(&limiter, &request)?;
    let context = request.extensions().get::<Context>().cloned().ok_or(Error::SignInNeeded)?;
    let agent = agent_of(request.headers());
    let entry = unsigned(request, &app).await?;
    let password = entry.get("password").chars().take(LONGEST_PASSWORD).collect::<String>();
    match account::attempt(&app.store, &app.passwords, entry.get("sign_in"), &password).await? {
        Attempt::Right(account) => started(&app, account, &agent, "/today").await,
        Attempt::Wrong | Attempt::Waiting => {
            // The same words for an unknown name, a wrong password and an account
            // that waits: nobody learns which accounts exist.
            let mut kept = Entry::default();
            kept.set("sign_in", entry.get("sign_in"));
            let mut form = FormView::filled(&context, kept);
            form.faults = Faults::one(
                "sign_in",
                "That name and password do not open an account here. Check both; after ten tries an account waits fifteen minutes.",
            );
            let shell = context.shell("Sign in").of_form(&form);
            Ok(Again(SignInPage { shell, form }).into_response())
        }
    }
}

fn agent_of(headers: &HeaderMap) -> String {
    headers.get(USER_AGENT).and_then(|value| value.to_str().ok()).unwrap_or("unknown browser").to_owned()
}

async fn started(app: &App, account: AccountId, agent: &str, to: &str) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let token = session::start(&mut tx, account, agent).await?;
    tx.commit(Audit::own(Some(account), "sign in")).await?;
    let mut response = Redirect::to(to).into_response();
    response.headers_mut().insert(SET_COOKIE, cookie(app, &token, "")?);
    Ok(response)
}

fn cookie(app: &App, token: &str, more: &str) -> Result<HeaderValue> {
    let (name, secure) = if app.secure { (SECURE_COOKIE, "; Secure") } else { (PLAIN_COOKIE, "") };
    HeaderValue::from_str(&format!("{name}={token}; Path=/; HttpOnly; SameSite=Lax{secure}{more}"))
        .map_err(|error| Error::broken(&error))
}

async fn sign_out(State(app): State<App>, context: Context, actor: Actor, _posted: Posted) -> Result<Response> {
    if let Some(session) = &context.session {
        let mut tx = app.store.tx().await?;
        session::end(&mut tx, &actor, &session.token_hash).await?;
        tx.commit(Audit::own(Some(actor.account), "sign out")).await?;
    }
    let mut response = Redirect::to("/sign-in").into_response();
    response.headers_mut().insert(SET_COOKIE, cookie(&app, "", "; Max-Age=0")?);
    Ok(response)
}

#[derive(Template)]
#[template(path = "sign_in/invited.html")]
struct InvitedPage {
    shell: Shell,
    form: FormView,
    initials: String,
    role: &'static str,
    inviter: String,
    /// Whether the reader is signed in with an account of the right role.
    may_join: bool,
    /// Signed in, but with another role.
    other_role: bool,
    /// Whether the link may make an account.
    may_create: bool,
}

fn invited_page(context: &Context, link: &invitation::Opened, form: FormView) -> InvitedPage {
    let role = context.session.as_ref().map(|session| session.actor.role);
    InvitedPage {
        shell: context.shell("Join a team").of_form(&form),
        form,
        initials: link.initials.clone(),
        role: link.role.words(),
        inviter: link.inviter.clone(),
        may_join: role == Some(Some(link.role)),
        other_role: role.is_some_and(|role| role != Some(link.role)),
        may_create: role.is_none() && matches!(link.role, Role::Parent | Role::ClassroomTeacher),
    }
}

async fn invited(State(app): State<App>, context: Context, Word(token): Word<String>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let link = invitation::opened(&mut snapshot, &token).await?;
    Ok(Page(invited_page(&context, &link, FormView::blank(&context))).into_response())
}

async fn accept(
    State(app): State<App>,
    limiter: Limiter,
    Word(token): Word<String>,
    context: Context,
    request: Request,
) -> Result<Response> {
    slow_down(&limiter, &request)?;
    let link = invitation::opened(&mut app.store.snapshot().await?, &token).await?;
    match &context.session {
        Some(session) if session.actor.role == Some(link.role) => {
            let posted = Posted::from_request(request, &app).await?;
            let member = invitation::is_member(&mut app.store.snapshot().await?, &link, &session.actor).await?;
            join(&app, &link, &session.actor, &posted, member).await
        }
        Some(_) => Err(Error::Hidden),
        None => {
            let agent = agent_of(request.headers());
            let entry = unsigned(request, &app).await?;
            create(&app, &context, &link, entry, &agent).await
        }
    }
}

async fn join(app: &App, link: &invitation::Opened, actor: &Actor, posted: &Posted, member: bool) -> Result<Response> {
    let to = format!("/students/{}", link.student());
    if !member {
        let mut tx = app.store.tx().await?;
        tx.claim(&posted.key, Some(actor.account)).await?;
        invitation::accept(&mut tx, link, actor.account).await?;
        tx.commit_at(Audit::own(Some(actor.account), "join a team"), &to).await?;
    }
    Ok(Redirect::to(&to).into_response())
}

async fn create(
    app: &App,
    context: &Context,
    link: &invitation::Opened,
    entry: Entry,
    agent: &str,
) -> Result<Response> {
    if !matches!(link.role, Role::Parent | Role::ClassroomTeacher) {
        return Err(Error::Hidden);
    }
    let again = |faults: Faults| {
        let mut kept = Entry::default();
        kept.set("name", entry.get("name"));
        kept.set("sign_in", entry.get("sign_in"));
        let mut form = FormView::filled(context, kept);
        form.faults = faults;
        Again(invited_page(context, link, form)).into_response()
    };
    let mut check = Check::new(&entry);
    let name = check.text("name", "Your name", NAME);
    let sign_in = check.text("sign_in", "E-mail or sign-in name", SHORT_TEXT);
    let password = new_password(&mut check);
    let (name, sign_in, password) = match check.build(|| Some((name, sign_in, password?))) {
        Ok(checked) => checked,
        Err(faults) => return Ok(again(faults)),
    };
    let hash = app.passwords.hash(&password).await.map_err(|error| Error::broken(&error))?;
    let new = NewAccount {
        role: Some(link.role),
        steward: false,
        mobility: false,
        name,
        sign_in,
        password_hash: hash,
        clinic: None,
        credential: None,
        licence: None,
        language: "en".to_owned(),
    };
    let mut tx = app.store.tx().await?;
    let account = match account::create_invited(&mut tx, link, &new).await {
        Ok(account) => account,
        Err(StoreError::Taken) => {
            let message = "This name has an account here already. Sign in with it first, then open the link again, or choose another name.";
            return Ok(again(Faults::one("sign_in", message)));
        }
        Err(error) => return Err(error.into()),
    };
    invitation::accept(&mut tx, link, account).await?;
    tx.commit(Audit::own(Some(account), "create by invitation")).await?;
    started(app, account, agent, &format!("/students/{}", link.student())).await
}

/// Reads a new password and its repetition.
pub fn new_password(check: &mut Check<'_>) -> Option<String> {
    // Passwords keep their spaces, so they are not read as other text is.
    let password = check.raw("password").to_owned();
    let length = password.chars().count();
    if !(SHORTEST_PASSWORD..=LONGEST_PASSWORD).contains(&length) {
        check.fault(
            "password",
            format!(
                "The password needs {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters. A short sentence works well."
            ),
        );
        return None;
    }
    if check.raw("password_again") != password {
        check.fault("password_again", "The two passwords differ. Type the same one in both fields.");
        return None;
    }
    Some(password)
}
