//! Forms: what was typed, what is wrong with it, and the keys every form carries.
//!
//! Everything typed is kept as typed in an [`Entry`]; a [`super::check::Check`]
//! reads it and collects [`Faults`] in the user's words. Nothing that was not
//! checked can be saved, because the store takes checked types only.

use std::sync::{Arc, OnceLock};

use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use subtle::ConstantTimeEq;

use super::error::{Error, Result};
use super::page::Context;
use super::state::App;
use crate::care::ids::AccountId;
use crate::clock::fresh_uuid;
use crate::store::submission;

/// The most fields one form may send.
pub(super) const MOST_FIELDS: usize = 1_000;

/// Everything a person typed, in order, as typed.
#[derive(Clone, Default)]
pub struct Entry(Vec<(String, String)>);

impl std::fmt::Debug for Entry {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Entry({} fields)", self.0.len())
    }
}

impl Entry {
    /// What an address asks behind its question mark.
    pub fn of_query(query: Option<&str>) -> Self {
        form_urlencoded::parse(query.unwrap_or_default().as_bytes()).take(MOST_FIELDS).collect()
    }

    /// What was typed in a field, or nothing.
    pub fn get(&self, name: &str) -> &str {
        self.0.iter().find(|(field, _)| field == name).map_or("", |(_, value)| value)
    }

    /// Every value of a field that may be chosen more than once.
    pub fn all(&self, name: &str) -> Vec<&str> {
        self.0.iter().filter(|(field, _)| field == name).map(|(_, value)| value.as_str()).collect()
    }

    /// Whether a choice was made.
    pub fn has(&self, name: &str, value: &str) -> bool {
        self.0.iter().any(|(field, typed)| field == name && typed == value)
    }

    /// Puts a value into a field, replacing what was there.
    pub fn set(&mut self, name: impl Into<String>, value: impl Into<String>) {
        let (name, value) = (name.into(), value.into());
        self.0.retain(|(field, _)| *field != name);
        self.0.push((name, value));
    }

    /// Adds one more value to a field that may be chosen more than once.
    pub fn add(&mut self, name: impl Into<String>, value: impl Into<String>) {
        self.0.push((name.into(), value.into()));
    }

    /// The same, for building an entry in one expression.
    #[must_use]
    pub fn with(mut self, name: impl Into<String>, value: impl Into<String>) -> Self {
        self.set(name, value);
        self
    }

    /// The fields in order.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// Takes a field out.
    pub fn remove(&mut self, name: &str) {
        self.0.retain(|(field, _)| field != name);
    }

    /// The fields whose names begin so, without that beginning.
    #[must_use]
    pub fn part(&self, prefix: &str) -> Self {
        self.iter().filter_map(|(name, value)| Some((name.strip_prefix(prefix)?, value))).collect()
    }

    /// Adds all fields of another entry under such a beginning.
    pub fn put_part(&mut self, prefix: &str, part: &Self) {
        self.0.extend(part.iter().map(|(name, value)| (format!("{prefix}{name}"), value.to_owned())));
    }
}

impl<N: Into<String>, V: Into<String>> FromIterator<(N, V)> for Entry {
    fn from_iter<I: IntoIterator<Item = (N, V)>>(pairs: I) -> Self {
        Self(pairs.into_iter().map(|(name, value)| (name.into(), value.into())).collect())
    }
}

/// What is wrong, field by field, in the user's words.
#[derive(Debug, Clone, Default)]
pub struct Faults(Vec<(String, String)>);

impl Faults {
    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// What is wrong with a field.
    pub fn of(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(field, _)| field == name).map(|(_, message)| message.as_str())
    }

    /// All of it, in the order of the form.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, message)| (name.as_str(), message.as_str()))
    }

    /// Says what is wrong with a field; the first message of a field stays.
    pub fn add(&mut self, name: impl Into<String>, message: impl Into<String>) {
        let name = name.into();
        if self.of(&name).is_none() {
            self.0.push((name, message.into()));
        }
    }

    /// One fault.
    pub fn one(name: impl Into<String>, message: impl Into<String>) -> Self {
        let mut faults = Self::default();
        faults.add(name, message);
        faults
    }
}

/// A form as shown: what was typed, what is wrong with it, and the hidden keys.
#[derive(Debug, Clone, Default)]
pub struct FormView {
    /// What was typed.
    pub entry: Entry,
    /// What is wrong with it.
    pub faults: Faults,
    /// The session's token, so that no other site can send this form.
    pub csrf: String,
    /// This form's own key, so that sending it twice stores it once.
    pub key: String,
    /// The version of the record it edits.
    pub version: Option<i64>,
    /// What stands before the name of every field, where one form holds the
    /// fields of several; the entry and the faults are without it.
    pub prefix: String,
}

impl FormView {
    /// The fields of one part of a form that holds several: what was typed and what
    /// is wrong under `prefix`, without it; the fields are named with it again.
    #[must_use]
    pub fn part(&self, prefix: &str) -> Self {
        Self {
            entry: self.entry.part(prefix),
            faults: Faults(
                self.faults
                    .iter()
                    .filter_map(|(name, words)| Some((name.strip_prefix(prefix)?.to_owned(), words.to_owned())))
                    .collect(),
            ),
            prefix: format!("{}{prefix}", self.prefix),
            ..self.clone()
        }
    }

    /// The name of a field as it is sent.
    pub fn named(&self, name: &str) -> String {
        format!("{}{name}", self.prefix)
    }

    /// An empty form.
    pub fn blank(context: &Context) -> Self {
        Self::filled(context, Entry::default())
    }

    /// A form that starts from what is known.
    pub fn filled(context: &Context, entry: Entry) -> Self {
        Self {
            entry,
            faults: Faults::default(),
            csrf: context.csrf().to_owned(),
            key: fresh_uuid().to_string(),
            version: None,
            prefix: String::new(),
        }
    }

    /// The form as it was sent, with what is wrong beside the fields.
    pub fn again(context: &Context, posted: &Posted, faults: Faults) -> Self {
        Self {
            entry: posted.entry.clone(),
            faults,
            csrf: context.csrf().to_owned(),
            // A fresh key: the mended form is a new attempt.
            key: fresh_uuid().to_string(),
            version: posted.version,
            prefix: String::new(),
        }
    }

    /// Carries the version of the record it edits.
    #[must_use]
    pub fn at_version(mut self, version: i64) -> Self {
        self.version = Some(version);
        self
    }
}

/// A form that arrived with the right session token.
#[derive(Debug)]
pub struct Posted {
    /// What was typed.
    pub entry: Entry,
    /// The form's own key.
    pub key: String,
    /// The version of the record it edits.
    pub version: Option<i64>,
}

/// The bytes of a sent form.
///
/// # Errors
/// [`Error::TooLarge`] or [`Error::Unreadable`].
pub(super) async fn body(request: Request, state: &App) -> Result<Bytes> {
    Bytes::from_request(request, state).await.map_err(|rejection| {
        if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE { Error::TooLarge } else { Error::Unreadable }
    })
}

impl FromRequest<App> for Posted {
    type Rejection = Error;

    async fn from_request(request: Request, state: &App) -> Result<Self> {
        let doorkeeper = Doorkeeper::of(&request);
        let bytes = body(request, state).await?;
        let mut sent = Sent::default();
        for (name, value) in form_urlencoded::parse(&bytes).take(MOST_FIELDS) {
            sent.add(&name, &value);
        }
        doorkeeper.admits(sent, state).await
    }
}

/// The fields of a form as they arrive, its keys apart from what was typed.
#[derive(Default)]
pub(super) struct Sent {
    entry: Entry,
    csrf: String,
    key: String,
    version: Option<i64>,
}

impl Sent {
    /// Takes one more field.
    pub(super) fn add(&mut self, name: &str, value: &str) {
        match name {
            "csrf" => value.clone_into(&mut self.csrf),
            "key" => value.clone_into(&mut self.key),
            "version" => self.version = value.parse().ok(),
            _ => self.entry.add(name, value),
        }
    }
}

/// What a request is held against before its form counts.
pub(super) struct Doorkeeper {
    expected: String,
    sender: Option<AccountId>,
    /// Where what was sent is put down, for a page that shows it again.
    sent: Option<Arc<OnceLock<Entry>>>,
}

impl Doorkeeper {
    /// Takes note of the session before the body is read.
    pub(super) fn of(request: &Request) -> Self {
        let context = request.extensions().get::<Context>();
        Self {
            expected: context.map(|context| context.csrf().to_owned()).unwrap_or_default(),
            sender: context.and_then(|context| context.actor().ok()).map(|actor| actor.account),
            sent: context.map(|context| context.sent.clone()),
        }
    }

    /// Lets a form in that carries its session's token and was not sent before.
    ///
    /// # Errors
    /// [`Error::FormExpired`] or [`Error::Repeated`].
    pub(super) async fn admits(self, sent: Sent, state: &App) -> Result<Posted> {
        let Sent { entry, csrf, mut key, version } = sent;
        let Self { expected, sender, sent: put_down } = self;
        let same: bool = csrf.as_bytes().ct_eq(expected.as_bytes()).into();
        if expected.is_empty() || !same {
            return Err(Error::FormExpired);
        }
        // A form without a key of its own, such as sign-out, may be repeated freely.
        if key.is_empty() || key.len() > 64 || !key.bytes().all(|byte| byte.is_ascii_graphic()) {
            key = fresh_uuid().to_string();
        } else if let Some(sender) = sender {
            // A double click is answered as the first one was, also where the first
            // one signed what the second one would no longer find. Two at the same
            // moment are told apart by the claim inside the transaction.
            let mut snapshot = state.store.snapshot().await?;
            if let Some(location) = submission::answered(&mut snapshot, &key, sender).await? {
                return Err(Error::Repeated(location));
            }
        }
        if let Some(put_down) = put_down {
            // One form a request: the first reading stays.
            let _ = put_down.set(entry.clone());
        }
        Ok(Posted { entry, key, version })
    }
}
