//! The thread's own lines: which record was written, when, by whom.
//!
//! A line names a record and a verb and holds no content: what a reader is
//! shown comes from the record, under that record's own proof.

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::query;

use super::{Result, Snapshot, Tx};
use crate::access::action::Reads;
use crate::access::resource::Thread;
use crate::access::{Access, Role};
use crate::care::ids::{AccountId, StudentId};
use crate::care::track::Track;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};

/// A line to be added.
pub(super) struct Line {
    pub(super) student: StudentId,
    pub(super) account: Option<AccountId>,
    pub(super) resource: &'static str,
    pub(super) record: Option<String>,
    pub(super) verb: &'static str,
    pub(super) on: Option<Date>,
    pub(super) track: Option<Track>,
}

pub(super) async fn append(tx: &mut Tx, line: Line) -> Result<()> {
    let at = stamp(tx.now());
    let on = line.on.unwrap_or(tx.today()).to_string();
    query(
        "insert into event (id, student_id, at, on_date, account_id, resource, record_id, track, verb)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(fresh_uuid().to_string())
    .bind(line.student.to_string())
    .bind(at)
    .bind(on)
    .bind(line.account.map(|account| account.to_string()))
    .bind(line.resource.to_owned())
    .bind(line.record)
    .bind(line.track.map(|track| track.code().to_owned()))
    .bind(line.verb.to_owned())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// One line of a student's thread.
pub struct Event {
    /// Which; later lines sort after earlier ones.
    pub id: String,
    /// When it was entered.
    pub at: Timestamp,
    /// The day it is about.
    pub on: Date,
    /// Who entered it, by name.
    pub by: String,
    /// Who entered it.
    pub account: Option<AccountId>,
    /// The role of who entered it.
    pub role: Option<Role>,
    /// The row of the access table the record belongs to.
    pub resource: String,
    /// The record.
    pub record: Option<String>,
    /// The track, where it has one.
    pub track: Option<Track>,
    /// What happened to the record.
    pub verb: String,
}

/// Every line of a student's thread, or those after an instant, newest first.
///
/// The caller shows only the lines whose record its reader may read.
///
/// # Errors
/// When the database fails.
pub async fn of_student(
    snapshot: &mut Snapshot,
    access: &Access<Thread, impl Reads>,
    after: Option<Timestamp>,
) -> Result<Vec<Event>> {
    let rows = query(
        "select e.id, e.at, e.on_date, e.account_id, e.resource, e.record_id, e.track, e.verb, coalesce(a.name, '') as by_name, a.role as by_role
         from event e left join account a on a.id = e.account_id
         where e.student_id = $1 and e.at > $2 order by e.at desc, e.id desc",
    )
    .bind(access.student().to_string())
    .bind(after.map(stamp).unwrap_or_default())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Event {
                id: row.text("id")?,
                at: row.instant("at")?,
                on: row.date("on_date")?,
                by: row.text("by_name")?,
                account: row.opt_parsed("account_id")?,
                role: row.opt_parsed("by_role")?,
                resource: row.text("resource")?,
                record: row.opt_text("record_id")?,
                track: row.opt_parsed("track")?,
                verb: row.text("verb")?,
            })
        })
        .collect()
}
