//! Ids in a path, by name. A malformed id answers as one that does not exist.

use std::str::FromStr;

use axum::extract::{FromRequestParts, RawPathParams};
use axum::http::request::Parts;

use super::error::{Error, Result};
use super::state::App;

/// Reads a path parameter by its name.
///
/// # Errors
/// [`Error::Hidden`] when it is missing or is not such an id.
pub async fn named<T: FromStr>(parts: &mut Parts, state: &App, name: &str) -> Result<T> {
    let params = RawPathParams::from_request_parts(parts, state).await.map_err(|_| Error::Hidden)?;
    let found = params.iter().find(|(key, _)| *key == name).map(|(_, value)| value.to_owned());
    found.and_then(|value| value.parse().ok()).ok_or(Error::Hidden)
}

/// The last parameter of a path below a student, whatever its name: the id of
/// the one record the route is about.
pub struct Record<T>(pub T);

impl<T: FromStr + Send> FromRequestParts<App> for Record<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        named(parts, state, "record").await.map(Self)
    }
}

/// A word of the path, such as a track or a step: `{word}`.
pub struct Word<T>(pub T);

impl<T: FromStr + Send> FromRequestParts<App> for Word<T> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        named(parts, state, "word").await.map(Self)
    }
}
