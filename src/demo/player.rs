//! A person of the demo at work: sends the same forms through the same pages as
//! a browser would, on the day the story says.
//!
//! So the demo cannot hold anything that the gates, the checks or the access
//! table would refuse.

use anyhow::{Context, bail};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use jiff::civil::{Date, Time};
use tower::ServiceExt;

use crate::care::ids::AccountId;
use crate::clock::{Clock, fresh_uuid};
use crate::store::{Audit, Store, session};
use crate::web::access::PLAIN_COOKIE;

/// The stage the story plays on: the app with a clock that the story moves.
pub(super) struct Scene {
    store: Store,
    router: Router,
    clock: Clock,
}

impl Scene {
    pub(super) fn new(store: Store, router: Router, clock: Clock) -> Self {
        Self { store, router, clock }
    }

    /// Moves to an hour of a day of the story.
    pub(super) fn at(&self, day: Date, hour: i8) {
        let time = Time::new(hour, 0, 0, 0).unwrap_or(Time::midnight());
        if let Ok(at) = self.clock.zone().to_timestamp(day.to_datetime(time)) {
            self.clock.move_to(at);
        }
    }

    /// Sends a form as a person and gives the address of its answer.
    pub(super) async fn post(&self, who: AccountId, path: &str, fields: &[(&str, &str)]) -> anyhow::Result<String> {
        let mut tx = self.store.tx().await?;
        let token = session::start(&mut tx, who, "the demo").await?;
        tx.commit(Audit::own(Some(who), "sign in")).await?;
        let mut snapshot = self.store.snapshot().await?;
        let session = session::of_token(&mut snapshot, &token).await?.context("the demo's own session")?;
        drop(snapshot);
        let mut body = form_urlencoded::Serializer::new(String::new());
        body.append_pair("csrf", &session.csrf).append_pair("key", &fresh_uuid().to_string());
        body.extend_pairs(fields);
        let request = Request::post(path)
            .header(header::COOKIE, format!("{PLAIN_COOKIE}={token}"))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(body.finish()))?;
        let response = self.router.clone().oneshot(request).await?;
        let status = response.status();
        let location = response.headers().get(header::LOCATION).and_then(|value| value.to_str().ok()).map(str::to_owned);
        if status == StatusCode::SEE_OTHER
            && let Some(location) = location
        {
            return Ok(location);
        }
        let body = to_bytes(response.into_body(), 1 << 20).await?;
        bail!("the demo's form {path} was answered {status}: {}", faults(&String::from_utf8_lossy(&body)))
    }
}

/// What a refused form said, for whoever changes the demo.
fn faults(page: &str) -> String {
    let main = page.split("<main").nth(1).unwrap_or(page);
    let mut words = String::new();
    let mut inside = true;
    for letter in main.chars().take(20_000) {
        match letter {
            '<' => inside = false,
            '>' => {
                inside = true;
                words.push(' ');
            }
            letter if inside => words.push(letter),
            _ => {}
        }
    }
    words.split_whitespace().take(120).collect::<Vec<_>>().join(" ")
}
