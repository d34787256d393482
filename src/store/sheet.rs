//! Rows of a spreadsheet that became observations, by a digest of the row.
//!
//! A sheet that is taken in again adds nothing: neither by its writer nor by
//! somebody else of the same team.

use std::collections::BTreeSet;

use sha2::{Digest, Sha256};
use sqlx::query;

use super::{Result, Snapshot, Tx, met};
use crate::access::Access;
use crate::access::action::{Create, Writes};
use crate::access::resource::ClassObservation;
use crate::care::ids::ObservationId;
use crate::db::column::Columns;

/// The digest of a row: the same for the same row, and for the second of two rows
/// alike another one.
#[must_use]
pub fn digest(row: &str, before: usize) -> String {
    hex::encode(Sha256::digest(format!("{row}\u{1f}{before}")))
}

/// Which rows are in this student's record already, entered in error or not.
///
/// # Errors
/// When the database fails.
pub async fn taken<A: Writes>(
    snapshot: &mut Snapshot,
    access: &Access<ClassObservation, A>,
) -> Result<BTreeSet<String>> {
    let rows = query("select sheet_row from observation where student_id = $1 and sheet_row is not null")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    rows.iter().map(|row| Ok(row.text("sheet_row")?)).collect()
}

/// Notes which row an entry just recorded came from.
///
/// # Errors
/// [`super::StoreError::Taken`] when another entry of this student came from it.
pub async fn came_from(
    tx: &mut Tx,
    access: &Access<ClassObservation, Create>,
    id: ObservationId,
    digest: &str,
) -> Result<()> {
    let done = query(
        "update observation set sheet_row = $1 where id = $2 and student_id = $3 and entered_by = $4 and sheet_row is null",
    )
    .bind(digest.to_owned())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
