//! Red flags and the pause they bring (G9).

use sqlx::query;

use super::{Result, Snapshot};
use crate::access::Access;
use crate::access::action::{Action, Reads};
use crate::access::resource::{Pause, Resource};
use crate::care::flag;
use crate::care::ids::StudentId;
use crate::db::column::Columns;

/// Whether device training is paused now.
///
/// # Errors
/// When the database fails.
pub async fn is_paused(snapshot: &mut Snapshot, access: &Access<Pause, impl Reads>) -> Result<bool> {
    let pauses = pauses_of(snapshot, access.student()).await?;
    Ok(pauses.iter().any(|pause| pause.cleared_on.is_none()))
}

/// Every flag as the pause rule needs it, for a gate.
///
/// # Errors
/// When the database fails.
pub async fn pauses<R: Resource, A: Action>(snapshot: &mut Snapshot, access: &Access<R, A>) -> Result<Vec<flag::Pause>> {
    pauses_of(snapshot, access.student()).await
}

async fn pauses_of(snapshot: &mut Snapshot, student: StudentId) -> Result<Vec<flag::Pause>> {
    let rows = query("select id, raised_at, cleared_at from flag where student_id = $1 order by raised_at")
        .bind(student.to_string())
        .fetch_all(snapshot.connection())
        .await?;
    rows.iter()
        .map(|row| {
            let raised_at = row.instant("raised_at")?;
            Ok(flag::Pause {
                flag: row.parsed("id")?,
                raised_on: snapshot.date_of(raised_at),
                raised_at,
                cleared_on: row.opt_instant("cleared_at")?.map(|at| snapshot.date_of(at)),
            })
        })
        .collect()
}
