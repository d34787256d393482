//! Correcting what somebody wrote in the thread: amended, never deleted.

use sqlx::query;

use super::super::{Result, Snapshot, StoreError, Tx, amendment, met};
use super::Outcome;
use crate::access::Access;
use crate::access::action::{Amend, Create};
use crate::access::resource::Thread;
use crate::care::amendment::{Change, Correction};
use crate::care::ids::PostId;
use crate::db::column::Columns;

/// A post of one's own, as it is stored.
pub struct Stored {
    /// Which.
    pub id: PostId,
    /// The words.
    pub body: String,
    /// Whether it is marked as entered in error.
    pub in_error: bool,
    /// How often it was changed.
    pub version: i64,
}

/// Whether a post is this person's own, before anything of the thread is read:
/// a reading that is refused takes nothing across.
///
/// # Errors
/// [`StoreError::Missing`] when it is not.
pub async fn own(snapshot: &mut Snapshot, access: &Access<Thread, Create>, id: PostId) -> Result<()> {
    query("select id from post where id = $1 and student_id = $2 and account_id = $3")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .fetch_optional(snapshot.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    Ok(())
}

/// The post, if it is this person's own. Nobody amends another's words.
///
/// # Errors
/// [`StoreError::Missing`] otherwise.
pub async fn stored(snapshot: &mut Snapshot, access: &Access<Thread, Amend>, id: PostId) -> Result<Stored> {
    let row = query("select body, state, version from post where id = $1 and student_id = $2 and account_id = $3")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .fetch_optional(snapshot.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    Ok(Stored {
        id,
        body: row.text("body")?,
        in_error: row.text("state")? == "entered_in_error",
        version: row.whole("version")?,
    })
}

/// Puts other words in place of those of a post; both stay, with the reason.
///
/// # Errors
/// [`StoreError::Stale`] when it was changed or marked meanwhile.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Thread, Amend>,
    (stored, version): (&Stored, Option<i64>),
    (body, reason): (&str, &str),
) -> Result<Outcome> {
    if stored.in_error || version != Some(stored.version) {
        return Err(StoreError::Stale);
    }
    let correction = match Correction::because([Change::of("Words", stored.body.clone(), body)], reason) {
        Ok(correction) => correction,
        Err(refused) => return Ok(refused.into()),
    };
    let done = query(
        "update post set body = $1, version = version + 1
         where id = $2 and student_id = $3 and account_id = $4 and version = $5 and state = 'entered'",
    )
    .bind(body.to_owned())
    .bind(stored.id.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(stored.version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    amendment::write(tx, access, stored.id, &correction).await?;
    Ok(Outcome::Kept)
}
