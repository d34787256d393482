//! Repairs of the student's own device: when it went, why, and when it came back.
//!
//! What follows for loans is derived, see [`super::journey`].

use jiff::civil::Date;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, Tx, met};
use crate::access::Access;
use crate::access::action::{Create, Reads};
use crate::access::resource::{Loans, Repair};
use crate::care::gates::MayRepair;
use crate::care::ids::{OwnDeviceId, RepairId};
use crate::db::column::{Columns, stamp};

/// A repair as it is kept.
#[derive(Clone)]
pub struct Kept {
    /// Which repair.
    pub id: RepairId,
    /// The device.
    pub own_device: OwnDeviceId,
    /// The day it went.
    pub from: Date,
    /// Why.
    pub reason: String,
    /// Who entered that, by name.
    pub by: String,
    /// The day it came back; none, it is away.
    pub back: Option<Date>,
    /// Who entered that, by name.
    pub back_by: String,
}

/// Every repair of a student's own devices, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<Kept>> {
    let rows = query(
        "select r.id, r.own_device_id, r.from_on, r.back_on, r.reason, a.name as by_name, coalesce(b.name, '') as back_name
         from repair r join account a on a.id = r.entered_by left join account b on b.id = r.back_by
         where r.student_id = $1 order by r.from_on desc, r.entered_at desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Kept {
                id: row.parsed("id")?,
                own_device: row.parsed("own_device_id")?,
                from: row.date("from_on")?,
                reason: row.text("reason")?,
                by: row.text("by_name")?,
                back: row.opt_date("back_on")?,
                back_by: row.text("back_name")?,
            })
        })
        .collect()
}

/// Records that a device went to be repaired.
///
/// # Errors
/// [`super::StoreError::Taken`] when it is in repair already.
pub async fn begin(tx: &mut Tx, access: &Access<Repair, Create>, may: MayRepair, reason: &str) -> Result<RepairId> {
    let id = fresh(RepairId::of);
    let at = stamp(tx.now());
    query(
        "insert into repair (id, student_id, own_device_id, from_on, reason, entered_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(may.own_device().to_string())
    .bind(may.from().to_string())
    .bind(reason.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Records that it came back: an entry of its own, whoever began the repair.
///
/// # Errors
/// [`super::StoreError::Stale`] when it is back already, or would come back
/// before it went.
pub async fn end(tx: &mut Tx, access: &Access<Repair, Create>, id: RepairId, back: Date) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update repair set back_on = $1, back_at = $2, back_by = $3
         where id = $4 and student_id = $5 and back_on is null and from_on <= $1",
    )
    .bind(back.to_string())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
