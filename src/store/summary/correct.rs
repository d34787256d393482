//! Correcting a sent summary: words amended, superseded by another, marked
//! entered in error; and throwing a draft away.

use sqlx::query;

use super::{Summary, begin};
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Sign};
use crate::access::resource::Summary as Row;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Mark};
use crate::care::ids::SummaryId;
use crate::care::summary::Figures;
use crate::db::column::Columns;
use crate::store::account::Reentered;
use crate::store::document::{self, NewMark};
use crate::store::{Result, StoreError, Tx, met};

/// Amends words of a sent summary.
///
/// # Errors
/// [`StoreError::Missing`] when it was not sent, [`StoreError::Stale`] when it
/// has ended or was amended meanwhile.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Row, Amend>,
    id: SummaryId,
    correction: &Correction,
    seen: i64,
) -> Result<()> {
    let row = query("select id from summary where id = $1 and student_id = $2 and sent_at is not null")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_optional(tx.connection())
        .await?;
    row.ok_or(StoreError::Missing)?;
    document::amend(tx, access, (Kind::Summary, id.into()), correction, seen).await
}

/// Marks a sent summary entered in error: it counts as never sent.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's,
/// [`StoreError::Stale`] when it has ended or was marked meanwhile.
pub async fn enter_in_error(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    reentered: &Reentered,
    id: SummaryId,
    (reason, seen): (&str, i64),
) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let new = NewMark { mark: Mark::EnteredInError, reason, next: None, seen: Some(seen) };
    document::mark(tx, access, (Kind::Summary, &id.to_string()), &new).await?;
    let done = query(
        "update summary set state = 'entered_in_error', version = version + 1
         where id = $1 and student_id = $2 and state = 'sent'",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Begins the draft that is to take the place of a sent summary: its words, and
/// the figures of its days as they stand now.
///
/// # Errors
/// [`StoreError::Stale`] when it has ended or such a draft was begun meanwhile.
pub async fn supersede(
    tx: &mut Tx,
    access: &Access<Row, Create>,
    old: &Summary,
    figures: &Figures,
    reason: &str,
) -> Result<SummaryId> {
    if old.sent_at.is_none() || old.after.ended.is_some() {
        return Err(StoreError::Stale);
    }
    let id = begin(tx, access, figures).await?;
    let done = query(
        "update summary set supersedes_id = $1, supersedes_reason = $2, words = $3, student_words = $4, questions = $5,
         look_at = $6, few_reason = $7 where id = $8 and student_id = $9",
    )
    .bind(old.id.to_string())
    .bind(reason.to_owned())
    .bind(old.texts.words.clone())
    .bind(old.texts.student_words.clone())
    .bind(old.texts.questions.clone())
    .bind(old.texts.look_at.clone())
    .bind(old.texts.few_reason.clone())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await;
    match done.map_err(StoreError::from) {
        Err(StoreError::Taken) => Err(StoreError::Stale),
        done => done.map(|_| id),
    }
}

/// Marks what a summary just sent takes the place of.
pub(super) async fn take_place(tx: &mut Tx, access: &Access<Row, Sign>, id: SummaryId) -> Result<()> {
    let row = query("select supersedes_id, supersedes_reason from summary where id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_one(tx.connection())
        .await?;
    let Some(old) = row.opt_parsed::<SummaryId>("supersedes_id")? else { return Ok(()) };
    let reason = row.text("supersedes_reason")?;
    let new = NewMark { mark: Mark::Superseded, reason: &reason, next: Some(id.to_string()), seen: None };
    document::mark(tx, access, (Kind::Summary, &old.to_string()), &new).await
}

/// Throws a draft of one's own away; nothing that was sent.
///
/// # Errors
/// [`StoreError::Stale`] when it is none, changed or was sent meanwhile.
pub async fn discard(tx: &mut Tx, access: &Access<Row, Edit>, (id, version): (SummaryId, i64)) -> Result<()> {
    let done = query(
        "delete from summary where id = $1 and student_id = $2 and created_by = $3 and state = 'draft' and version = $4",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
