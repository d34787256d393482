//! A student's record on hold, closed, taken up again: recorded events, shown
//! beside the stage of every track.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::query;

use super::asked::{self, asked};
use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx};
use crate::access::Access;
use crate::access::action::{Action, Create, Reads};
use crate::access::resource::{Resource, Stage};
use crate::care::ids::StudentId;
use crate::care::journey::overlay::{Change, Event, Overlay};
use crate::db::column::{Columns, stamp};

/// One event as it was recorded.
pub struct Recorded {
    /// What changed.
    pub change: Change,
    /// From which day.
    pub on: Date,
    /// Why.
    pub reason: String,
    /// When it was entered.
    pub at: Timestamp,
    /// By whom.
    pub by: String,
}

/// Everything that was recorded, newest first.
///
/// # Errors
/// When the database fails.
pub async fn recorded(snapshot: &mut Snapshot, access: &Access<Stage, impl Reads>) -> Result<Vec<Recorded>> {
    let rows = query(
        "select e.kind, e.on_date, e.reason, e.at, a.name from record_event e join account a on a.id = e.account_id
         where e.student_id = $1 order by e.at desc, e.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Recorded {
                change: row.parsed("kind")?,
                on: row.date("on_date")?,
                reason: row.text("reason")?,
                at: row.instant("at")?,
                by: row.text("name")?,
            })
        })
        .collect()
}

/// Whether the record is on hold or closed today: no content, so any proof about
/// the student will do.
///
/// # Errors
/// When the database fails.
pub async fn now<R: Resource, A: Action>(snapshot: &mut Snapshot, access: &Access<R, A>) -> Result<Overlay> {
    Ok(standing(snapshot, asked::ids([access.student()])).await?.remove(&access.student()).unwrap_or_default())
}

/// The same for a whole list; whoever is neither on hold nor closed is left out.
///
/// # Errors
/// When the database fails.
pub async fn now_all<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    proofs: &[Access<R, A>],
) -> Result<BTreeMap<StudentId, Overlay>> {
    standing(snapshot, asked::of_proofs(proofs)).await
}

async fn standing(snapshot: &mut Snapshot, students: String) -> Result<BTreeMap<StudentId, Overlay>> {
    let rows = query(concat!(
        "select student_id, kind, on_date, at from record_event where student_id in ",
        asked!(),
        " order by at"
    ))
    .bind(students)
    .fetch_all(snapshot.connection())
    .await?;
    let mut events: BTreeMap<StudentId, Vec<Event>> = BTreeMap::new();
    for row in &rows {
        let event = Event { on: row.date("on_date")?, entered: row.instant("at")?, change: row.parsed("kind")? };
        events.entry(row.parsed("student_id")?).or_default().push(event);
    }
    let today = snapshot.today();
    Ok(events.into_iter().map(|(student, events)| (student, Overlay::on(today, &events, &[], None))).collect())
}

/// Records a change.
///
/// # Errors
/// [`StoreError::Stale`] when somebody recorded another one meanwhile, so that
/// this one no longer follows.
pub async fn record(
    tx: &mut Tx,
    access: &Access<Stage, Create>,
    change: Change,
    (on, reason): (Date, &str),
) -> Result<()> {
    // Writers queue on the student's row, so that two do not close a record twice.
    query("update student set version = version where id = $1")
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    if !change.may_follow(&now(tx, access).await?) {
        return Err(StoreError::Stale);
    }
    let at = stamp(tx.now());
    query(
        "insert into record_event (id, student_id, kind, on_date, reason, at, account_id) values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(fresh(|id| id).to_string())
    .bind(access.student().to_string())
    .bind(change.code().to_owned())
    .bind(on.to_string())
    .bind(reason.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(())
}
