//! What can go wrong at the edge, and the page that says so with a way forward.
//!
//! A wrong entry in a form is not an error: it is the same page again. The page
//! for a broken server shows a reference and nothing else; the log line carries
//! the same reference, and ids only.

use askama::Template;
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};

use super::page::Shell;
use crate::access::standing::Withheld;
use crate::access::{Denied, Reason};
use crate::care::gates::Blocked;
use crate::clock::fresh_uuid;
use crate::store::StoreError;

/// What a handler gives.
pub type Result<T> = std::result::Result<T, Error>;

/// Why a request has no ordinary answer.
#[derive(Debug)]
pub enum Error {
    /// Nobody is signed in, or the session ended.
    SignInNeeded,
    /// It does not exist, or not for this reader.
    Hidden,
    /// All of it is kept from this parent; the site's record owner can be asked.
    Withheld(Withheld, String),
    /// The reader may see it and may not do this.
    Forbidden(String),
    /// The password has to be entered again first.
    PasswordNeeded,
    /// Another step comes first.
    Blocked(Box<Blocked>, String),
    /// Somebody else saved in between; the page shows both texts.
    Stale(Box<Both>),
    /// The same, where the sender may knowingly save over it.
    Over(Box<Over>),
    /// The same form was sent before; its answer is there.
    Repeated(String),
    /// The form's session ended, or it came from elsewhere.
    FormExpired,
    /// The body was larger than any form.
    TooLarge,
    /// The body could not be read.
    Unreadable,
    /// Too many attempts.
    TooMany,
    /// The server failed; the reference names the log line.
    Broken(String),
}

/// What two people wrote into the same record.
#[derive(Debug, Default)]
pub struct Both {
    /// Where the record is edited.
    pub back: String,
    /// Label, the text saved by the other, the text just sent.
    pub rows: Vec<(String, String, String)>,
}

/// Two texts for one record, and what it takes to save one's own over the other.
#[derive(Debug)]
pub struct Over {
    /// The two texts.
    pub both: Both,
    /// The version that stands there now.
    pub version: i64,
    /// A field that stands for the version of one part of a record, with what it
    /// is now.
    pub renewed: Option<(&'static str, String)>,
    /// Who saved it, and when, where the log tells.
    pub by: Option<(String, jiff::Timestamp)>,
}

/// Puts the way to save over it into the answer, for the layer that knows what
/// was sent.
#[derive(Clone)]
pub(super) struct MayBeOver(pub(super) std::sync::Arc<Over>);

impl Error {
    /// Logs a failure under a reference that its page shows.
    pub fn broken(error: &(dyn std::error::Error + 'static)) -> Self {
        let reference = fresh_uuid().simple().to_string()[24..].to_owned();
        // Engines put values into their messages, so only the kind is logged.
        let mut kinds = Vec::new();
        let mut next = Some(error);
        while let Some(found) = next {
            kinds.push(kind_of(found));
            next = found.source();
        }
        tracing::error!(reference, kind = kinds.join(" < "), "a request failed");
        Self::Broken(reference)
    }
}

fn kind_of(error: &(dyn std::error::Error + 'static)) -> String {
    match error.downcast_ref::<sqlx::Error>() {
        Some(sqlx::Error::Database(found)) => {
            format!("database error {}", found.code().unwrap_or_default())
        }
        Some(sqlx::Error::ColumnDecode { index, .. }) => format!("unreadable column {index}"),
        Some(sqlx::Error::ColumnNotFound(column)) => format!("no column {column}"),
        Some(sqlx::Error::PoolTimedOut) => "no connection came free".to_owned(),
        Some(_) => "database error".to_owned(),
        None if error.is::<StoreError>() => "store".to_owned(),
        None if error.is::<std::io::Error>() => {
            // The kind alone: the message of a file's error holds its path.
            error.downcast_ref::<std::io::Error>().map(|found| found.kind().to_string()).unwrap_or_default()
        }
        None => "page".to_owned(),
    }
}

impl From<StoreError> for Error {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Missing => Self::Hidden,
            StoreError::Repeated(location) => Self::Repeated(location),
            StoreError::Stale | StoreError::Taken => Self::Stale(Box::default()),
            StoreError::Broken(_) | StoreError::File(_) => Self::broken(&error),
        }
    }
}

impl From<Denied> for Error {
    fn from(denied: Denied) -> Self {
        match denied {
            Denied::Hidden => Self::Hidden,
            Denied::Forbidden(Reason::EnterPassword) => Self::PasswordNeeded,
            Denied::Forbidden(reason) => Self::Forbidden(reason.to_string()),
        }
    }
}

#[derive(Template)]
#[template(path = "error.html")]
struct ErrorPage {
    shell: Shell,
    title: &'static str,
    message: String,
    rows: Vec<(String, String, String)>,
    way: Option<(String, &'static str)>,
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        if let Self::Over(over) = self {
            let Over { both, version, renewed, by } = *over;
            let kept = Both { back: both.back.clone(), rows: both.rows.clone() };
            let mut response = Self::Stale(Box::new(kept)).into_response();
            response.extensions_mut().insert(MayBeOver(std::sync::Arc::new(Over { both, version, renewed, by })));
            return response;
        }
        let today = || Some(("/today".to_owned(), "Go to Today"));
        let (status, title, message, rows, way) = match self {
            Self::SignInNeeded => return Redirect::to("/sign-in").into_response(),
            Self::Repeated(location) => {
                let location = if location.is_empty() { "/today" } else { &location };
                return Redirect::to(location).into_response();
            }
            // Answered above, with both texts.
            Self::Over(_) | Self::Hidden => (
                StatusCode::NOT_FOUND,
                "There is no such page",
                "Nothing is shown at this address. A link may be old, or mistyped.".to_owned(),
                Vec::new(),
                today(),
            ),
            Self::Withheld(withheld, owner) => {
                let (title, message) = withheld_words(withheld, &owner);
                (StatusCode::NOT_FOUND, title, message, Vec::new(), today())
            }
            Self::Forbidden(reason) => {
                (StatusCode::FORBIDDEN, "This is not yours to do", reason, Vec::new(), today())
            }
            Self::PasswordNeeded => (
                StatusCode::FORBIDDEN,
                "Enter your password again",
                "This needs your password once more, and a reason. It then counts for ten minutes.".to_owned(),
                Vec::new(),
                Some(("/confirm".to_owned(), "Enter the password")),
            ),
            Self::Blocked(blocked, first) => (
                StatusCode::CONFLICT,
                "Another step comes first",
                blocked.to_string(),
                Vec::new(),
                Some((first, "Go to that step")),
            ),
            Self::Stale(both) => {
                let way = if both.back.is_empty() { today() } else { Some((both.back, "Open the record as it is now")) };
                (
                    StatusCode::CONFLICT,
                    "Somebody else saved this meanwhile",
                    "Your text was not stored over theirs. Both are here: open the record as it is now and put in what is missing.".to_owned(),
                    both.rows,
                    way,
                )
            }
            Self::FormExpired => (
                StatusCode::FORBIDDEN,
                "This form has run out",
                "You signed in again or out since it was opened, so it was not stored. Go back, copy what you typed, and open the form again.".to_owned(),
                Vec::new(),
                today(),
            ),
            Self::TooLarge => (
                StatusCode::PAYLOAD_TOO_LARGE,
                "That is too much at once",
                "The form holds more text than fits here. Nothing was stored. Go back and shorten it.".to_owned(),
                Vec::new(),
                None,
            ),
            Self::Unreadable => (
                StatusCode::BAD_REQUEST,
                "The form could not be read",
                "It did not arrive whole. Nothing was stored. Go back and send it again.".to_owned(),
                Vec::new(),
                None,
            ),
            Self::TooMany => (
                StatusCode::TOO_MANY_REQUESTS,
                "Too many tries",
                "Wait fifteen minutes and try again.".to_owned(),
                Vec::new(),
                Some(("/sign-in".to_owned(), "Go to sign in")),
            ),
            Self::Broken(reference) => (
                StatusCode::INTERNAL_SERVER_ERROR,
                "Something failed here",
                format!("It was not your doing, and nothing was half stored. If you ask for help, give this reference: {reference}."),
                Vec::new(),
                today(),
            ),
        };
        let shell = Shell {
            title: title.to_owned(),
            lang: "en",
            appearance: "auto".to_owned(),
            text_size: "18".to_owned(),
            ..Shell::default()
        };
        let page = ErrorPage { shell, title, message, rows, way };
        let body = page.render().unwrap_or_else(|_| "Something failed here.".to_owned());
        (status, [(header::CACHE_CONTROL, "no-store")], Html(body)).into_response()
    }
}

/// The neutral page of a parent from whom all of a record is kept, and the same
/// words on the first screen. It names nobody, and the first never says why.
pub fn withheld_words(withheld: Withheld, owner: &str) -> (&'static str, String) {
    match withheld {
        Withheld::AskTheOffice => (
            "Please ask the school office",
            format!("This page is not shown here. The school office of {owner} can tell you more."),
        ),
        Withheld::ForTheStudentToSay => (
            "Your child is now the one who decides",
            format!(
                "Your child is of age, and decides who may read this record. Nothing is shown here until your child \
                 tells the school what you may read. Talk with your child. The school office of {owner} writes down \
                 the answer, and can change it later."
            ),
        ),
    }
}
