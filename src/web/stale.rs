//! Two people changed one record: both texts field by field, who saved theirs
//! and when, and the choice to save one's own over it knowingly or to keep the
//! other's.
//!
//! One page for every form. What was typed travels along, so that neither choice
//! loses a word.

use askama::Template;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};

use super::error::{Both, Error, MayBeOver, Over};
use super::form::{Entry, FormView};
use super::page::{Context, Page, Shell};
use crate::access::action::{Action, Writes};
use crate::access::resource::{OfficeResource, Resource};
use crate::access::{Access, Office};
use crate::store::{Snapshot, StoreError, audit};

#[derive(Template)]
#[template(path = "stale/page.html")]
struct StalePage {
    shell: Shell,
    who: String,
    rows: Vec<(String, String, String)>,
    form: FormView,
    action: String,
    sent: Vec<(String, String)>,
    back: String,
}

/// The answer with both texts, for a record whose log tells who saved it.
pub(super) async fn error<R: Resource, A: Writes>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    (record, version): (impl std::fmt::Display, i64),
    both: Both,
) -> Result<Error, StoreError> {
    let by = audit::last(snapshot, access, &record.to_string()).await?;
    Ok(Error::Over(Box::new(Over { both, version, renewed: None, by })))
}

/// The same for one part of a record, told apart by what a field of its form
/// holds rather than by the version of the whole.
pub(super) async fn part_error<R: Resource, A: Writes>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    record: impl std::fmt::Display,
    renewed: (&'static str, String),
    both: Both,
) -> Result<Error, StoreError> {
    let by = audit::last(snapshot, access, &record.to_string()).await?;
    Ok(Error::Over(Box::new(Over { both, version: 0, renewed: Some(renewed), by })))
}

/// The same for a record that is about no student.
pub(super) async fn office_error<R: OfficeResource, A: Action>(
    snapshot: &mut Snapshot,
    office: &Office<R, A>,
    (record, version): (impl std::fmt::Display, i64),
    both: Both,
) -> Result<Error, StoreError> {
    let by = audit::last_in_office(snapshot, office, &record.to_string()).await?;
    Ok(Error::Over(Box::new(Over { both, version, renewed: None, by })))
}

/// Puts the page with both texts in place of an answer that somebody else saved
/// meanwhile.
pub(super) fn over(context: &Context, response: Response) -> Response {
    let (Some(MayBeOver(over)), Some(sent)) = (response.extensions().get::<MayBeOver>(), context.sent.get()) else {
        return response;
    };
    let who = over.by.as_ref().map_or_else(String::new, |(name, at)| {
        let day = at.strftime("%-d %B %Y, %H:%M UTC");
        format!("Saved by {name} on {day}.")
    });
    let page = StalePage {
        shell: context.shell("Somebody else saved this meanwhile"),
        who,
        rows: over.both.rows.clone(),
        form: FormView::filled(context, Entry::default()).at_version(over.version),
        action: context.path.clone(),
        sent: sent
            .iter()
            .map(|(name, value)| match &over.renewed {
                Some((of, now)) if *of == name => (name.to_owned(), now.clone()),
                _ => (name.to_owned(), value.to_owned()),
            })
            .collect(),
        back: over.both.back.clone(),
    };
    let mut answer = Page(page).into_response();
    *answer.status_mut() = StatusCode::CONFLICT;
    answer
}
