//! What to try at home: written by a vision teacher, released to the family,
//! answered by a note from home.
//!
//! A draft has one row and a version; releasing it freezes the row, and the next
//! draft starts as a copy with the next edition.

use std::collections::BTreeMap;

use jiff::Timestamp;
use sqlx::any::AnyRow;
use sqlx::query;

use super::asked::{self, asked};
use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Create, Edit, Reads, Sign};
use crate::access::resource::{HomeObservation, TryAtHome};
use crate::care::ids::{ObservationId, StudentId, TryAtHomeId, VisualTaskId};
use crate::care::task::TaskCode;
use crate::db::column::{Columns, stamp};

/// One edition.
pub struct Edition {
    /// Which.
    pub id: TryAtHomeId,
    /// Counted from 1.
    pub number: i64,
    /// What to try, in plain words.
    pub body: String,
    /// The student's task it is about.
    pub task: Option<VisualTaskId>,
    /// The kind of thing it is about.
    pub code: Option<TaskCode>,
    /// When it was released; none, a draft.
    pub released_at: Option<Timestamp>,
    /// Who released it.
    pub released_by: String,
    /// When it was withdrawn, by whom and why.
    pub withdrawn: Option<(Timestamp, String, String)>,
    /// For edits by two people.
    pub version: i64,
}

/// An edition as checked from its form.
#[derive(Clone, PartialEq, Eq)]
pub struct Wording {
    /// What to try, in plain words.
    pub body: String,
    /// The student's task it is about.
    pub task: Option<VisualTaskId>,
    /// The kind of thing it is about.
    pub code: Option<TaskCode>,
}

fn edition(row: &AnyRow) -> std::result::Result<Edition, sqlx::Error> {
    Ok(Edition {
        id: row.parsed("id")?,
        number: row.whole("edition")?,
        body: row.text("body")?,
        task: row.opt_parsed("visual_task_id")?,
        code: row.opt_parsed("task_code")?,
        released_at: row.opt_instant("released_at")?,
        released_by: row.text("released_name")?,
        withdrawn: match row.opt_instant("withdrawn_at")? {
            Some(at) => Some((at, row.text("withdrawn_name")?, row.text("withdrawn_reason")?)),
            None => None,
        },
        version: row.whole("version")?,
    })
}

/// Every edition this reader may read, newest first. A reader limited to what is
/// released never wrote a draft, and reads neither what was withdrawn nor what is
/// older: older words never come back.
///
/// # Errors
/// When the database fails.
pub async fn editions(snapshot: &mut Snapshot, access: &Access<TryAtHome, impl Reads>) -> Result<Vec<Edition>> {
    let rows = query(
        "select t.id, t.edition, t.body, t.visual_task_id, t.task_code, t.released_at, t.version, coalesce(a.name, '') as released_name,
         t.withdrawn_at, coalesce(w.name, '') as withdrawn_name, t.withdrawn_reason
         from try_at_home t left join account a on a.id = t.released_by left join account w on w.id = t.withdrawn_by
         where t.student_id = $1 and ($2 = 0 or (t.state = 'released' and not exists (select 1 from try_at_home n
           where n.student_id = t.student_id and n.edition >= t.edition and n.withdrawn_at is not null))) order by t.edition desc",
    )
    .bind(access.student().to_string())
    .bind(i64::from(access.limits().released_only))
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(edition).collect::<std::result::Result<_, _>>()?)
}

/// The newest released edition: what counts.
///
/// # Errors
/// When the database fails.
pub async fn released(snapshot: &mut Snapshot, access: &Access<TryAtHome, impl Reads>) -> Result<Option<Edition>> {
    let newest = editions(snapshot, access).await?.into_iter().find(|edition| edition.released_at.is_some());
    Ok(newest.filter(|edition| edition.withdrawn.is_none()))
}

/// The same of each student of a caseload: which, and its words.
///
/// # Errors
/// When the database fails.
pub async fn released_all(
    snapshot: &mut Snapshot,
    proofs: &[Access<TryAtHome, impl Reads>],
) -> Result<BTreeMap<StudentId, (TryAtHomeId, String)>> {
    let rows = query(concat!(
        "select t.student_id, t.id, t.body from try_at_home t
          where t.state = 'released' and t.withdrawn_at is null and t.edition =
            (select max(n.edition) from try_at_home n where n.student_id = t.student_id and n.state = 'released')
          and t.student_id in ",
        asked!()
    ))
    .bind(asked::of_proofs(proofs))
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok((row.parsed("student_id")?, (row.parsed("id")?, row.text("body")?)))).collect()
}

/// Saves the draft; makes it, as the next edition, when there is none.
///
/// # Errors
/// [`StoreError::Stale`] when somebody else saved or released it meanwhile,
/// [`StoreError::Missing`] when the task is not one of this student's.
pub async fn save_draft(
    tx: &mut Tx,
    access: &Access<TryAtHome, Edit>,
    wording: &Wording,
    version: Option<i64>,
) -> Result<TryAtHomeId> {
    if let Some(task) = wording.task {
        let row = query("select count(*) as n from visual_task where id = $1 and student_id = $2")
            .bind(task.to_string())
            .bind(access.student().to_string())
            .fetch_one(tx.connection())
            .await?;
        if row.whole("n")? != 1 {
            return Err(StoreError::Missing);
        }
    }
    let drafted = editions(tx, access).await?.into_iter().find(|edition| edition.released_at.is_none());
    match (drafted, version) {
        (Some(drafted), Some(version)) => {
            update(tx, access, drafted.id, wording, version).await?;
            Ok(drafted.id)
        }
        (None, None) => insert(tx, access, wording).await,
        (Some(_), None) | (None, Some(_)) => Err(StoreError::Stale),
    }
}

async fn insert(tx: &mut Tx, access: &Access<TryAtHome, Edit>, wording: &Wording) -> Result<TryAtHomeId> {
    let id = fresh(TryAtHomeId::of);
    let at = stamp(tx.now());
    query(
        "insert into try_at_home (id, student_id, edition, state, body, visual_task_id, task_code, changed_at, changed_by)
         values ($1, $2, (select coalesce(max(edition), 0) + 1 from try_at_home where student_id = $2), 'draft', $3, $4, $5, $6, $7)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(wording.body.clone())
    .bind(wording.task.map(|id| id.to_string()))
    .bind(wording.code.map_or("", TaskCode::code).to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

async fn update(
    tx: &mut Tx,
    access: &Access<TryAtHome, Edit>,
    id: TryAtHomeId,
    wording: &Wording,
    version: i64,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update try_at_home set body = $1, visual_task_id = $2, task_code = $3, changed_at = $4, changed_by = $5, version = version + 1
         where id = $6 and student_id = $7 and state = 'draft' and version = $8",
    )
    .bind(wording.body.clone())
    .bind(wording.task.map(|id| id.to_string()))
    .bind(wording.code.map_or("", TaskCode::code).to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Releases the draft as it was read: from now on it never changes.
///
/// # Errors
/// [`StoreError::Stale`] when there is no draft, or it was changed or released
/// meanwhile.
pub async fn release(tx: &mut Tx, access: &Access<TryAtHome, Sign>, version: i64) -> Result<TryAtHomeId> {
    let drafted = editions(tx, access).await?.into_iter().find(|edition| edition.released_at.is_none());
    let id = drafted.ok_or(StoreError::Stale)?.id;
    let at = stamp(tx.now());
    let done = query(
        "update try_at_home set state = 'released', released_at = $1, released_by = $2, version = version + 1
         where id = $3 and student_id = $4 and state = 'draft' and version = $5",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    Ok(id)
}

/// Withdraws the newest released edition, if it is still this one.
///
/// # Errors
/// [`StoreError::Stale`] when another edition was released or it was withdrawn
/// meanwhile.
pub async fn withdraw(tx: &mut Tx, access: &Access<TryAtHome, Sign>, number: i64, reason: &str) -> Result<TryAtHomeId> {
    let newest = released(tx, access).await?.filter(|edition| edition.number == number);
    let id = newest.ok_or(StoreError::Stale)?.id;
    let at = stamp(tx.now());
    let done = query(
        "update try_at_home set withdrawn_at = $1, withdrawn_by = $2, withdrawn_reason = $3, version = version + 1
         where id = $4 and student_id = $5 and state = 'released' and withdrawn_at is null",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(reason.to_owned())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    Ok(id)
}

/// Notes that an entry from home answers a released edition. The entry is the
/// same person's own.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such released edition or entry.
pub async fn tried(
    tx: &mut Tx,
    access: &Access<HomeObservation, Create>,
    note: ObservationId,
    edition: TryAtHomeId,
) -> Result<()> {
    let done = query(
        "insert into tried_at_home (observation_id, student_id, try_at_home_id)
         select o.id, o.student_id, t.id from observation o join try_at_home t on t.student_id = o.student_id
         where o.id = $1 and o.student_id = $2 and o.entered_by = $3 and t.id = $4 and t.state = 'released' and t.withdrawn_at is null",
    )
    .bind(note.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(edition.to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// The notes from home that answer an edition, oldest first, as far as this
/// reader may know of them.
///
/// # Errors
/// When the database fails.
pub async fn notes(
    snapshot: &mut Snapshot,
    access: &Access<TryAtHome, impl Reads>,
) -> Result<BTreeMap<TryAtHomeId, Vec<ObservationId>>> {
    let Ok(home) = access.part::<HomeObservation>() else { return Ok(BTreeMap::new()) };
    let limits = home.limits();
    let rows = query(
        "select n.try_at_home_id, n.observation_id from tried_at_home n
         join observation o on o.id = n.observation_id and o.student_id = n.student_id
         where n.student_id = $1 and o.state = 'entered'
         and (o.entered_by = $2 or ($3 = 0 and ($4 = 0 or o.shared_with_class = 1)))
         order by o.entered_at, o.id",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.shared_only))
    .fetch_all(snapshot.connection())
    .await?;
    let mut notes: BTreeMap<TryAtHomeId, Vec<ObservationId>> = BTreeMap::new();
    for row in &rows {
        notes.entry(row.parsed("try_at_home_id")?).or_default().push(row.parsed("observation_id")?);
    }
    Ok(notes)
}
