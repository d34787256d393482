//! Notes from home and the community that their writer shares with the class.
//!
//! Off until the parent who entered the note says so, and taken back at any
//! time. Sharing does not shorten the lock. Read next: [`super::observation`].

use std::collections::BTreeMap;

use sqlx::query;

use super::{Result, Snapshot, StoreError, Tx};
use crate::access::Access;
use crate::access::action::{Edit, Reads};
use crate::access::resource::HomeObservation;
use crate::care::ids::ObservationId;
use crate::care::observation::Setting;
use crate::db::column::{Columns, flag};

/// Whether the class may read a note.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sharing {
    /// The classroom teacher reads it after its lock.
    WithClass,
    /// Not the class.
    NotWithClass,
}

/// What stands beside a note wherever it is listed.
pub struct Mark {
    /// Home or community.
    pub setting: Setting,
    /// Whether the class may read it.
    pub sharing: Sharing,
}

/// Every note from home and the community that this reader may know of.
///
/// # Errors
/// When the database fails.
pub async fn marks(
    snapshot: &mut Snapshot,
    access: &Access<HomeObservation, impl Reads>,
) -> Result<BTreeMap<ObservationId, Mark>> {
    let limits = access.limits();
    let rows = query(
        "select id, setting, shared_with_class from observation
         where student_id = $1 and setting in ('home', 'community') and state = 'entered'
         and (entered_by = $2 or ($3 = 0 and ($4 = 0 or shared_with_class = 1)))",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.shared_only))
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let sharing = if row.flag("shared_with_class")? { Sharing::WithClass } else { Sharing::NotWithClass };
            Ok((row.parsed("id")?, Mark { setting: row.parsed("setting")?, sharing }))
        })
        .collect()
}

/// Shares one's own note with the class, or takes it back.
///
/// # Errors
/// [`StoreError::Missing`] when it is not this person's own note,
/// [`StoreError::Stale`] when it is so already.
pub async fn set(
    tx: &mut Tx,
    access: &Access<HomeObservation, Edit>,
    note: ObservationId,
    sharing: Sharing,
) -> Result<()> {
    let known = marks(tx, access).await?;
    let mark = known.get(&note).ok_or(StoreError::Missing)?;
    if mark.sharing == sharing {
        return Err(StoreError::Stale);
    }
    let done = query(
        "update observation set shared_with_class = $1
         where id = $2 and student_id = $3 and entered_by = $4 and setting in ('home', 'community') and state = 'entered'",
    )
    .bind(flag(sharing == Sharing::WithClass))
    .bind(note.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}
