//! How far each person has read each thread: a mark of their own.
//!
//! The mark is the instant of the newest line that was shown, so that nothing
//! entered while a page was being made is taken as read. Does not know which
//! lines a reader may read.

use std::collections::BTreeSet;

use jiff::{SignedDuration, Timestamp};
use sqlx::query;

use super::{Result, Snapshot, Tx};
use crate::access::action::Reads;
use crate::access::resource::Thread;
use crate::access::{Access, Actor, Role};
use crate::care::ids::StudentId;
use crate::db::column::{Columns, stamp};

/// Until when this person has read the thread; none, they never looked.
///
/// # Errors
/// When the database fails.
pub async fn until(snapshot: &mut Snapshot, access: &Access<Thread, impl Reads>) -> Result<Option<Timestamp>> {
    let row = query("select read_at from thread_read where student_id = $1 and account_id = $2")
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    Ok(row.map(|row| row.instant("read_at")).transpose()?)
}

/// Notes that this person has read the thread up to a line: their own mark, so a
/// proof to read is enough.
///
/// # Errors
/// When the database fails.
pub async fn mark(tx: &mut Tx, access: &Access<Thread, impl Reads>, newest: Timestamp) -> Result<()> {
    query(
        "insert into thread_read (student_id, account_id, read_at) values ($1, $2, $3)
         on conflict (student_id, account_id) do update set read_at = excluded.read_at",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(stamp(newest))
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// Takes the mark back to before a line, so that it and what follows are unread.
///
/// # Errors
/// When the database fails.
pub async fn unread_from(tx: &mut Tx, access: &Access<Thread, impl Reads>, line: Timestamp) -> Result<()> {
    // Instants are kept to the millisecond.
    let before = line.checked_sub(SignedDuration::from_millis(1)).unwrap_or(line);
    mark(tx, access, before).await
}

/// Of which students something was entered by others since this person last
/// looked: whose threads are worth counting. The count is the thread's own.
///
/// # Errors
/// When the database fails.
pub async fn students(snapshot: &mut Snapshot, actor: &Actor) -> Result<BTreeSet<StudentId>> {
    let Some(role) = actor.role.map(Role::code) else { return Ok(BTreeSet::new()) };
    let today = snapshot.today().to_string();
    let rows = query(
        "select e.student_id from event e join membership m on m.student_id = e.student_id
         left join thread_read r on r.student_id = e.student_id and r.account_id = $1
         where m.account_id = $1 and m.role = $2 and m.starts_on <= $3 and (m.ends_on is null or m.ends_on > $3)
           and (e.account_id is null or e.account_id <> $1) and (r.read_at is null or e.at > r.read_at)
         union
         select p.student_id from post p join membership m on m.student_id = p.student_id
         left join thread_read r on r.student_id = p.student_id and r.account_id = $1
         where m.account_id = $1 and m.role = $2 and m.starts_on <= $3 and (m.ends_on is null or m.ends_on > $3)
           and p.account_id <> $1 and p.state = 'entered' and (r.read_at is null or p.at > r.read_at)",
    )
    .bind(actor.account.to_string())
    .bind(role.to_owned())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok(row.parsed("student_id")?)).collect()
}
