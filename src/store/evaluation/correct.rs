//! Correcting a signed evaluation: words amended, superseded by a new one, or
//! marked entered in error; and throwing a draft away.
//!
//! Knows no source: what a clinician signed and what a teacher filed are
//! corrected alike, each under the proof of its own row of the access table.

use sqlx::query;

use super::draft::{NewDraft, add_acuity, begin, save_answer, save_findings, save_refraction};
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Sign};
use crate::access::resource::{self, Resource};
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Mark};
use crate::care::evaluation::Evaluation;
use crate::care::ids::{EvaluationId, StudentId};
use crate::db::column::Columns;
use crate::store::account::Reentered;
use crate::store::document::{self, NewMark};
use crate::store::{Result, StoreError, Tx, met};

/// Requires a signed or filed evaluation of this student.
async fn signed(tx: &mut Tx, student: StudentId, id: EvaluationId) -> Result<()> {
    let row = query("select id from evaluation where id = $1 and student_id = $2 and signed_at is not null")
        .bind(id.to_string())
        .bind(student.to_string())
        .fetch_optional(tx.connection())
        .await?;
    row.map(|_| ()).ok_or(StoreError::Missing)
}

/// Amends words of a signed evaluation.
///
/// # Errors
/// [`StoreError::Missing`] when it is not signed, [`StoreError::Stale`] when it
/// has ended or was amended meanwhile.
pub async fn amend<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Amend>,
    id: EvaluationId,
    correction: &Correction,
    seen: i64,
) -> Result<()> {
    signed(tx, access.student(), id).await?;
    document::amend(tx, access, (Kind::Evaluation, id.into()), correction, seen).await
}

/// Marks a signed evaluation entered in error: it counts as never signed.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's or it is not
/// signed, [`StoreError::Stale`] when it has ended or was marked meanwhile.
pub async fn enter_in_error<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Sign>,
    reentered: &Reentered,
    id: EvaluationId,
    (reason, seen): (&str, i64),
) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let new = NewMark { mark: Mark::EnteredInError, reason, next: None, seen: Some(seen) };
    document::mark(tx, access, (Kind::Evaluation, &id.to_string()), &new).await?;
    let done = query(
        "update evaluation set state = 'entered_in_error', version = version + 1
         where id = $1 and student_id = $2 and signed_at is not null and state <> 'entered_in_error'",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// Begins the draft that is to take the place of a signed evaluation, filled
/// with all that it says now; gives the draft there is, if one was begun.
///
/// # Errors
/// [`StoreError::Missing`] when it is not signed, [`StoreError::Stale`] when it
/// has ended.
pub async fn supersede(
    tx: &mut Tx,
    (creating, editing): (&Access<resource::Evaluation, Create>, &Access<resource::Evaluation, Edit>),
    old: &Evaluation,
    reason: &str,
) -> Result<EvaluationId> {
    let (student, from) = (creating.student(), old.id);
    signed(tx, student, from).await?;
    if let Some(begun) = next_draft(tx, student, from).await? {
        return Ok(begun);
    }
    if document::history(tx, editing, Kind::Evaluation).await?.of(&from.to_string()).ended.is_some() {
        return Err(StoreError::Stale);
    }
    let examined_on = old.examined_on.ok_or(StoreError::Missing)?;
    let head = NewDraft { examined_on, place: old.place.clone(), next_due_on: old.next_due_on };
    let id = begin(tx, creating, &head).await?;
    // It stays the examination of whoever examined, whoever writes it anew.
    query(
        "update evaluation set supersedes_id = $1, supersedes_reason = $2, examiner_name = $3,
         examiner_account = (select o.examiner_account from evaluation o where o.id = $1)
         where id = $4 and student_id = $5",
    )
    .bind(from.to_string())
    .bind(reason.to_owned())
    .bind(old.examiner.clone())
    .bind(id.to_string())
    .bind(student.to_string())
    .execute(tx.connection())
    .await?;
    let mut version = 1;
    save_findings(tx, editing, id, &old.findings, version).await?;
    version += 1;
    save_refraction(tx, editing, id, old.right.as_ref(), old.left.as_ref(), version).await?;
    for answer in &old.answers {
        version += 1;
        save_answer(tx, editing, id, answer, version).await?;
    }
    for acuity in &old.acuities {
        add_acuity(tx, editing, id, &acuity.row).await?;
    }
    Ok(id)
}

/// The draft that is to take the place of an evaluation, if one was begun.
async fn next_draft(tx: &mut Tx, student: StudentId, from: EvaluationId) -> Result<Option<EvaluationId>> {
    let row = query("select id from evaluation where supersedes_id = $1 and student_id = $2 and state = 'draft'")
        .bind(from.to_string())
        .bind(student.to_string())
        .fetch_optional(tx.connection())
        .await?;
    Ok(row.map(|row| row.parsed("id")).transpose()?)
}

/// Marks what a draft just signed takes the place of.
pub(super) async fn take_place<R: Resource>(tx: &mut Tx, access: &Access<R, Sign>, id: EvaluationId) -> Result<()> {
    let row = query("select supersedes_id, supersedes_reason from evaluation where id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_one(tx.connection())
        .await?;
    let Some(old) = row.opt_parsed::<EvaluationId>("supersedes_id")? else { return Ok(()) };
    // One that was marked in error meanwhile has nothing left to be replaced.
    let reason = row.text("supersedes_reason")?;
    let new = NewMark { mark: Mark::Superseded, reason: &reason, next: Some(id.to_string()), seen: None };
    document::mark(tx, access, (Kind::Evaluation, &old.to_string()), &new).await
}

/// Throws a draft away; nothing that was signed.
///
/// # Errors
/// [`StoreError::Missing`] when it is no draft of one's own, [`StoreError::Stale`]
/// when it changed or was signed meanwhile.
pub async fn discard<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Edit>,
    (id, version): (EvaluationId, i64),
) -> Result<()> {
    let (student, own) = (access.student().to_string(), access.actor().account.to_string());
    let row = query("select created_by from evaluation where id = $1 and student_id = $2 and state = 'draft'")
        .bind(id.to_string())
        .bind(student.clone())
        .fetch_optional(tx.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    if row.text("created_by")? != own {
        return Err(StoreError::Missing);
    }
    // Its version is taken first, so that a signature at the same moment waits.
    let taken = query("update evaluation set version = version + 1 where id = $1 and state = 'draft' and version = $2")
        .bind(id.to_string())
        .bind(version)
        .execute(tx.connection())
        .await?;
    met(taken.rows_affected())?;
    for sql in [
        "delete from acuity where evaluation_id = $1 and student_id = $2",
        "delete from refraction where evaluation_id = $1 and student_id = $2",
        "delete from track_answer where evaluation_id = $1 and student_id = $2",
        "delete from device_spec where owner_kind = 'evaluation' and owner_id = $1 and student_id = $2",
        "delete from evaluation where id = $1 and student_id = $2 and state = 'draft'",
    ] {
        query(sql).bind(id.to_string()).bind(student.clone()).execute(tx.connection()).await?;
    }
    Ok(())
}
