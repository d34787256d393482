//! From a request to a proof: who is signed in, and what they may do here.
//!
//! A handler names the proof it needs in its signature; the extractors below
//! are the only place in `web` where proofs are made.

use axum::extract::{FromRequestParts, Request, State};
use axum::http::header::COOKIE;
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

use super::error::{Error, Result};
use super::page::Context;
use super::stale;
use super::state::App;
use super::visit::Visit;
use crate::access::action::Action;
use crate::access::resource::{OfficeResource, Resource};
use crate::access::standing::Password;
use crate::access::{Access, Actor, Office};
use crate::store::{session, setting};

/// The cookie of a session where pages travel over https.
pub const SECURE_COOKIE: &str = "__Host-farpoint";
/// The cookie of a session on a plain address, such as a demo on this machine.
pub const PLAIN_COOKIE: &str = "farpoint";

/// Reads who is signed in and what the site's settings are, once per request.
pub async fn context(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let path = request.uri().path().to_owned();
    if path.starts_with("/static/") {
        return next.run(request).await;
    }
    match found(&app, request.headers(), path).await {
        Ok(context) => {
            request.extensions_mut().insert(context.clone());
            stale::over(&context, next.run(request).await)
        }
        Err(error) => error.into_response(),
    }
}

async fn found(app: &App, headers: &HeaderMap, path: String) -> Result<Context> {
    let mut snapshot = app.store.snapshot().await?;
    let site = Arc::new(setting::site(&mut snapshot).await?);
    let token = cookie(headers, if app.secure { SECURE_COOKIE } else { PLAIN_COOKIE });
    let session = match token {
        Some(token) => session::of_token(&mut snapshot, &token).await?,
        None => None,
    };
    drop(snapshot);
    if let Some(session) = session.as_ref().filter(|session| session.stale) {
        session::touch(&app.store, &session.token_hash).await?;
    }
    Ok(Context { session, site, path, sent: Arc::default() })
}

fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(key, _)| *key == name)
        .map(|(_, value)| value.to_owned())
}

/// Lets nobody past who is not signed in: around every route that is not open.
pub async fn signed_in(request: Request, next: Next) -> Response {
    let known = request.extensions().get::<Context>().is_some_and(|context| context.session.is_some());
    if known {
        next.run(request).await
    } else if request.method() == Method::GET || request.method() == Method::HEAD {
        Error::SignInNeeded.into_response()
    } else {
        // A redirect would lose what was typed; the browser's Back keeps it.
        Error::FormExpired.into_response()
    }
}

/// Who acts.
impl FromRequestParts<App> for Actor {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        let context = Context::from_request_parts(parts, state).await?;
        context.actor().cloned()
    }
}

/// A proof about the student whom the path names. A read that takes content to
/// the other side leaves its row in the disclosure record first.
impl<R: Resource, A: Action> FromRequestParts<App> for Access<R, A> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        let visit = Visit::from_request_parts(parts, state).await?;
        visit.open().await
    }
}

/// A proof that is not about one student.
impl<R: OfficeResource, A: Action> FromRequestParts<App> for Office<R, A> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        let context = Context::from_request_parts(parts, state).await?;
        let password = context.session.as_ref().map_or(Password::NotEntered, |session| session.password);
        Ok(Self::grant(context.actor()?, password)?)
    }
}
