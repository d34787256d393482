//! Correcting a signed prescription: words amended, superseded, cancelled,
//! entered in error; and throwing a draft away.

use sqlx::query;

use super::{Basis, begin};
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Mark};
use crate::care::ids::PrescriptionId;
use crate::care::prescription::Prescription;
use crate::db::column::Columns;
use crate::store::account::Reentered;
use crate::store::document::{self, NewMark};
use crate::store::{Result, StoreError, Tx, met};

/// Amends words of a prescription in force.
///
/// # Errors
/// [`StoreError::Missing`] when it was never signed, [`StoreError::Stale`] when
/// it has ended or was amended meanwhile.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Row, Amend>,
    id: PrescriptionId,
    correction: &Correction,
    seen: i64,
) -> Result<()> {
    let row = query("select id from prescription where id = $1 and student_id = $2 and signed_at is not null")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_optional(tx.connection())
        .await?;
    row.ok_or(StoreError::Missing)?;
    document::amend(tx, access, (Kind::Prescription, id.into()), correction, seen).await
}

/// Cancels a prescription in force, or marks it entered in error.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's,
/// [`StoreError::Stale`] when it is not in force or was marked meanwhile.
pub async fn end(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    reentered: &Reentered,
    (id, mark): (PrescriptionId, Mark),
    (reason, seen): (&str, i64),
) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let new = NewMark { mark, reason, next: None, seen: Some(seen) };
    document::mark(tx, access, (Kind::Prescription, &id.to_string()), &new).await?;
    leave(tx, access, (id, mark)).await
}

/// Takes a prescription out of force.
async fn leave(tx: &mut Tx, access: &Access<Row, Sign>, (id, mark): (PrescriptionId, Mark)) -> Result<()> {
    let done = query(
        "update prescription set state = $1, version = version + 1 where id = $2 and student_id = $3 and state = 'active'",
    )
    .bind(mark.code().to_owned())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Begins the draft that is to take the place of a prescription in force.
///
/// # Errors
/// [`StoreError::Stale`] when it has ended or such a draft was begun meanwhile.
pub async fn supersede(
    tx: &mut Tx,
    access: &Access<Row, Create>,
    old: &Prescription,
    reason: &str,
    entry: &[(String, String)],
) -> Result<PrescriptionId> {
    let row = query("select state from prescription where id = $1 and student_id = $2")
        .bind(old.id.to_string())
        .bind(access.student().to_string())
        .fetch_one(tx.connection())
        .await?;
    if row.text("state")? != "active" {
        return Err(StoreError::Stale);
    }
    let basis = Basis { evaluation: old.evaluation, decision: old.decision };
    let id = begin(tx, access, basis, &old.contents, entry).await?;
    let done = query("update prescription set supersedes_id = $1, supersedes_reason = $2 where id = $3")
        .bind(old.id.to_string())
        .bind(reason.to_owned())
        .bind(id.to_string())
        .execute(tx.connection())
        .await;
    match done.map_err(StoreError::from) {
        Err(StoreError::Taken) => Err(StoreError::Stale),
        done => done.map(|_| id),
    }
}

/// Marks what a prescription just signed takes the place of.
pub(super) async fn take_place(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    old: PrescriptionId,
    id: PrescriptionId,
) -> Result<()> {
    let row = query("select supersedes_reason from prescription where id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_one(tx.connection())
        .await?;
    let reason = row.text("supersedes_reason")?;
    let new = NewMark { mark: Mark::Superseded, reason: &reason, next: Some(id.to_string()), seen: None };
    document::mark(tx, access, (Kind::Prescription, &old.to_string()), &new).await?;
    leave(tx, access, (old, Mark::Superseded)).await
}

/// Throws a draft of one's own away; nothing that was signed.
///
/// # Errors
/// [`StoreError::Stale`] when it is none, changed or was signed meanwhile.
pub async fn discard(tx: &mut Tx, access: &Access<Row, Edit>, (id, version): (PrescriptionId, i64)) -> Result<()> {
    let (student, own) = (access.student().to_string(), access.actor().account.to_string());
    let done = query(
        "delete from prescription where id = $1 and student_id = $2 and created_by = $3 and state = 'draft' and version = $4",
    )
    .bind(id.to_string())
    .bind(student.clone())
    .bind(own)
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    query("delete from device_spec where owner_kind = 'prescription' and owner_id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(student)
        .execute(tx.connection())
        .await?;
    Ok(())
}
