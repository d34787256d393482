//! The invented people at work: they open the pages, fill in the forms and press
//! the buttons, on the day the story says.
//!
//! So the demo cannot hold anything that the gates, the checks or the access
//! table would refuse. Does not know the stories; see [`super::story`].

use std::collections::BTreeMap;

use anyhow::{Context, anyhow, bail};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::request::Builder;
use axum::http::{Request, StatusCode, header};
use jiff::{SignedDuration, Timestamp};
use tower::ServiceExt;

use super::form;
use crate::access::Actor;
use crate::care::ids::AccountId;
use crate::clock::Clock;
use crate::store::{Audit, Store, session};
use crate::web::access::PLAIN_COOKIE;

/// A person signs in again after this long, well before a session ends by itself.
const SITTING: SignedDuration = SignedDuration::from_mins(20);
/// What stands between the parts of a form with a file.
const BETWEEN: &str = "a-line-that-no-sheet-holds";
/// The largest page that is read.
const LARGEST_PAGE: usize = 1 << 21;

/// The stage the stories play on: the app with a clock that they move.
pub(super) struct Scene {
    store: Store,
    router: Router,
    clock: Clock,
    seated: BTreeMap<AccountId, Seat>,
}

/// A person at a browser.
struct Seat {
    actor: Actor,
    cookie: String,
    token_hash: String,
    since: Timestamp,
}

/// What a page answered to a form.
pub(super) enum Answer {
    /// Saved; this is where it is shown.
    Saved(String),
    /// A page that shows something once.
    Shown(String),
}

impl Scene {
    pub(super) fn new(store: Store, router: Router, clock: Clock) -> Self {
        Self { store, router, clock, seated: BTreeMap::new() }
    }

    /// Moves to an instant of the story; never back.
    pub(super) fn at(&self, instant: Timestamp) {
        self.clock.move_to(instant.max(self.clock.now()));
    }

    async fn cookie(&mut self, who: &Actor) -> anyhow::Result<String> {
        let now = self.clock.now();
        if let Some(seat) = self.seated.get(&who.account)
            && now.duration_since(seat.since) < SITTING
        {
            return Ok(seat.cookie.clone());
        }
        let mut tx = self.store.tx().await?;
        if let Some(left) = self.seated.get(&who.account) {
            session::end(&mut tx, who, &left.token_hash).await?;
        }
        let token = session::start(&mut tx, who.account, "Demo").await?;
        tx.commit(Audit::own(Some(who.account), "sign in")).await?;
        let cookie = format!("{PLAIN_COOKIE}={token}");
        let seat =
            Seat { actor: who.clone(), cookie: cookie.clone(), token_hash: session::hash_of(&token), since: now };
        self.seated.insert(who.account, seat);
        Ok(cookie)
    }

    async fn ask(&self, request: Builder, body: Body) -> anyhow::Result<(StatusCode, Option<String>, String)> {
        let response = self.router.clone().oneshot(request.body(body)?).await?;
        let status = response.status();
        let location =
            response.headers().get(header::LOCATION).and_then(|value| value.to_str().ok()).map(str::to_owned);
        let body = to_bytes(response.into_body(), LARGEST_PAGE).await?;
        Ok((status, location, String::from_utf8_lossy(&body).into_owned()))
    }

    /// Opens a page and gives its text.
    pub(super) async fn open(&mut self, who: &Actor, path: &str) -> anyhow::Result<String> {
        let cookie = self.cookie(who).await?;
        let (status, _, html) = self.ask(Request::get(path).header(header::COOKIE, cookie), Body::empty()).await?;
        if status != StatusCode::OK {
            bail!("{} was answered {status}: {}", path, told(&html));
        }
        Ok(html)
    }

    /// Opens a page, fills in the form of a button and presses it. A box `?` is
    /// ticked when the page asks back and shows it.
    pub(super) async fn press(
        &mut self,
        who: &Actor,
        path: &str,
        button: &str,
        fields: &[(&str, String)],
    ) -> anyhow::Result<Answer> {
        let (asked, plain): (Vec<_>, Vec<_>) = fields.iter().cloned().partition(|(_, value)| value == "?");
        let page = self.open(who, path).await?;
        let mut answer = self.send(who, (&page, path), button, &plain).await?;
        if let (StatusCode::UNPROCESSABLE_ENTITY, _, page) = &answer
            && !asked.is_empty()
        {
            let ticked = asked.iter().map(|(name, _)| (*name, "~".to_owned()));
            let again: Vec<_> = plain.iter().cloned().chain(ticked).collect();
            answer = self.send(who, (page, path), button, &again).await?;
        }
        match answer {
            (StatusCode::SEE_OTHER, Some(location), _) => Ok(Answer::Saved(location)),
            (StatusCode::OK, _, html) => Ok(Answer::Shown(html)),
            (status, _, html) => bail!("{button} on {path} was answered {status}: {}", told(&html)),
        }
    }

    async fn send(
        &mut self,
        who: &Actor,
        (page, path): (&str, &str),
        button: &str,
        fields: &[(&str, String)],
    ) -> anyhow::Result<(StatusCode, Option<String>, String)> {
        let (action, pairs) = form::filled(page, path, button, fields).map_err(|why| anyhow!("{path}: {why}"))?;
        let cookie = self.cookie(who).await?;
        let request = Request::post(&action)
            .header(header::COOKIE, cookie)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish();
        self.ask(request, Body::from(body)).await
    }

    /// Opens a page, chooses a scanned sheet for a field of its form and presses
    /// the button.
    pub(super) async fn attach(
        &mut self,
        who: &Actor,
        path: &str,
        button: &str,
        (field, fields, sheet): (&str, &[(&str, String)], &[u8]),
    ) -> anyhow::Result<Answer> {
        let page = self.open(who, path).await?;
        let (action, pairs) = form::filled(&page, path, button, fields).map_err(|why| anyhow!("{path}: {why}"))?;
        let line = |what: &str| format!("--{BETWEEN}\r\nContent-Disposition: form-data; {what}\r\n");
        let mut body = String::new();
        for (name, value) in pairs.iter().filter(|(name, _)| name != field) {
            body.push_str(&format!("{}\r\n{value}\r\n", line(&format!("name=\"{name}\""))));
        }
        body.push_str(&line(&format!("name=\"{field}\"; filename=\"scan.pdf\"")));
        body.push_str("Content-Type: application/pdf\r\n\r\n");
        let body = [body.as_bytes(), sheet, format!("\r\n--{BETWEEN}--\r\n").as_bytes()].concat();
        let cookie = self.cookie(who).await?;
        let request = Request::post(&action)
            .header(header::COOKIE, cookie)
            .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={BETWEEN}"));
        match self.ask(request, Body::from(body)).await? {
            (StatusCode::SEE_OTHER, Some(location), _) => Ok(Answer::Saved(location)),
            (status, _, html) => bail!("{button} on {path} was answered {status}: {}", told(&html)),
        }
    }

    /// Everybody leaves: no session of the story outlives it.
    pub(super) async fn leave(self) -> anyhow::Result<()> {
        for seat in self.seated.values() {
            let mut tx = self.store.tx().await?;
            session::end(&mut tx, &seat.actor, &seat.token_hash).await?;
            tx.commit(Audit::own(Some(seat.actor.account), "sign out")).await?;
        }
        Ok(())
    }
}

/// The link of an invitation on the page that shows it once.
pub(super) fn invitation(html: &str) -> anyhow::Result<String> {
    let (_, rest) = html.split_once("/invite/").context("the page with the link")?;
    let token: String = rest.chars().take_while(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_')).collect();
    Ok(format!("/invite/{token}"))
}

/// What a refused form said, for whoever changes the demo.
fn told(page: &str) -> String {
    let main = page.split_once("<main").and_then(|(_, main)| main.split_once('>')).map_or(page, |(_, main)| main);
    let words = form::words(main);
    let faults: Vec<&str> = words
        .match_indices("Error:")
        .map(|(at, _)| {
            let rest = &words[at..];
            &rest[..rest.char_indices().nth(160).map_or(rest.len(), |(end, _)| end)]
        })
        .collect();
    if faults.is_empty() { words.chars().take(600).collect() } else { faults.join(" / ") }
}
