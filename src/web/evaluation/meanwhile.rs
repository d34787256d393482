//! A draft that was saved meanwhile: what stands there now beside what was sent,
//! and the way to save it over knowingly.

use super::edit::{self, Editing};
use super::kind::Drafts;
use crate::care::evaluation::Evaluation;
use crate::care::ids::EvaluationId;
use crate::web::error::{Both, Error, Result};
use crate::web::form::Entry;
use crate::web::stale;
use crate::web::state::App;
use crate::web::words::capital;

/// What stands in a draft now beside what was sent, with the way to save it over;
/// a draft that is none any more, or lacks the row, has no such way.
pub(super) async fn over<D: Drafts>(
    app: &App,
    access: &Editing<D>,
    (id, back): (EvaluationId, String),
    theirs: impl Fn(&Evaluation) -> Option<Entry>,
    yours: &Entry,
) -> Result<Error> {
    let now = match edit::draft(app, access, id).await {
        Ok(now) => now,
        Err(Error::Hidden) => return Ok(both(back, &Entry::default(), yours)),
        Err(error) => return Err(error),
    };
    let Some(theirs) = theirs(&now) else { return Ok(both(back, &Entry::default(), yours)) };
    let rows = texts(&theirs, yours);
    let mut snapshot = app.store.snapshot().await?;
    Ok(stale::error(&mut snapshot, access, (id, now.version), Both { back, rows }).await?)
}

/// Both texts of a section that two people saved.
pub(super) fn both(back: String, theirs: &Entry, yours: &Entry) -> Error {
    Error::Stale(Box::new(Both { back, rows: texts(theirs, yours) }))
}

/// What differs, field by field.
fn texts(theirs: &Entry, yours: &Entry) -> Vec<(String, String, String)> {
    let mut names: Vec<&str> = Vec::new();
    for (name, _) in theirs.iter().chain(yours.iter()) {
        if name != "then" && !names.contains(&name) {
            names.push(name);
        }
    }
    let said = |entry: &Entry, name: &str| entry.all(name).join(", ").trim().to_owned();
    names
        .into_iter()
        .map(|name| (capital(&name.replace('_', " ")), said(theirs, name), said(yours, name)))
        .filter(|(_, theirs, yours)| theirs != yours)
        .collect()
}
