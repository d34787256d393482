//! Red flags and the pause they bring (G9).
//!
//! A flag is read in three widths: all of it, its kind and date, and whether it
//! pauses. The classroom teacher who raised one reads that one. Who has seen a
//! flag is a mark each person sets, never set by opening a page by chance.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::account::Reentered;
use super::asked::{self, asked};
use super::attachment::{self, Parent};
use super::audit::fresh;
use super::files::Laid;
use super::{Result, Snapshot, StoreError, Tx};
use crate::access::action::{Action, Create, Reads, Sign};
use crate::access::resource::{FlagKind, Pause, Resource, SafetyFlag};
use crate::access::{Access, Role};
use crate::care::flag::{self, Sign as Symptom};
use crate::care::gates::MayClear;
use crate::care::ids::{AccountId, FlagId, StudentId};
use crate::db::column::{Columns, stamp};

/// A flag as it is raised.
pub struct NewFlag {
    /// What was noticed.
    pub sign: Symptom,
    /// The day it was noticed.
    pub noticed_on: Date,
    /// Anything else, in the writer's words.
    pub note: String,
}

/// The kind and date of a flag: what crosses without a consent.
pub struct Noticed {
    /// Which.
    pub id: FlagId,
    /// What was noticed.
    pub sign: Symptom,
    /// The day it was noticed.
    pub noticed_on: Date,
    /// When it was raised.
    pub raised_at: Timestamp,
    /// When it was cleared; none, it still pauses.
    pub cleared_at: Option<Timestamp>,
    /// Whether this reader has marked it as seen.
    pub seen: bool,
}

/// A flag with all that was said of it.
pub struct Raised {
    /// Kind and date.
    pub noticed: Noticed,
    /// What was written.
    pub note: String,
    /// Who raised it.
    pub by: String,
    /// In which role.
    pub by_role: Option<Role>,
    /// Who cleared it.
    pub cleared_by: String,
    /// What was written on clearing.
    pub cleared_note: String,
    /// Whether it was cleared on an eye doctor's written note, which hangs on it.
    pub by_note: bool,
    /// Who has seen it, and when.
    pub seen_by: Vec<SeenBy>,
}

/// One person who has seen a flag.
pub struct SeenBy {
    /// Name.
    pub name: String,
    /// Role.
    pub role: Option<Role>,
    /// When.
    pub at: Timestamp,
}

/// Whether device training is paused now.
///
/// # Errors
/// When the database fails.
pub async fn is_paused(snapshot: &mut Snapshot, access: &Access<Pause, impl Reads>) -> Result<bool> {
    let pauses = pauses_of(snapshot, access.student()).await?;
    Ok(pauses.iter().any(|pause| pause.cleared_on.is_none()))
}

/// Of which students of a caseload device training is paused now.
///
/// # Errors
/// When the database fails.
pub async fn paused(snapshot: &mut Snapshot, proofs: &[Access<Pause, impl Reads>]) -> Result<BTreeSet<StudentId>> {
    let pauses = pauses_of_students(snapshot, &asked::of_proofs(proofs)).await?;
    Ok(pauses.into_iter().filter(|(_, pause)| pause.cleared_on.is_none()).map(|(student, _)| student).collect())
}

/// Every flag as the pause rule needs it, for a gate.
///
/// # Errors
/// When the database fails.
pub async fn pauses<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
) -> Result<Vec<flag::Pause>> {
    pauses_of(snapshot, access.student()).await
}

async fn pauses_of(snapshot: &mut Snapshot, student: StudentId) -> Result<Vec<flag::Pause>> {
    let found = pauses_of_students(snapshot, &student.to_string()).await?;
    Ok(found.into_iter().map(|(_, pause)| pause).collect())
}

/// Every flag of several students, as the pause rule needs it.
pub(super) async fn pauses_of_students(
    snapshot: &mut Snapshot,
    students: &str,
) -> Result<Vec<(StudentId, flag::Pause)>> {
    let rows = query(concat!(
        "select student_id, id, raised_at, cleared_at from flag where student_id in ",
        asked!(),
        " order by raised_at"
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let raised_at = row.instant("raised_at")?;
            let pause = flag::Pause {
                flag: row.parsed("id")?,
                raised_on: snapshot.date_of(raised_at),
                raised_at,
                cleared_on: row.opt_instant("cleared_at")?.map(|at| snapshot.date_of(at)),
            };
            Ok((row.parsed("student_id")?, pause))
        })
        .collect()
}

/// Raises a flag: from this moment device training is paused.
///
/// # Errors
/// When the database fails.
pub async fn raise(tx: &mut Tx, access: &Access<SafetyFlag, Create>, new: &NewFlag) -> Result<FlagId> {
    let id = fresh(FlagId::of);
    let at = stamp(tx.now());
    query(
        "insert into flag (id, student_id, kind, noticed_on, note, raised_at, raised_by)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.sign.code().to_owned())
    .bind(new.noticed_on.to_string())
    .bind(new.note.clone())
    .bind(at.clone())
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    mark(tx, access.student(), access.actor().account, id, at).await?;
    Ok(id)
}

fn noticed(row: &AnyRow) -> std::result::Result<Noticed, sqlx::Error> {
    Ok(Noticed {
        id: row.parsed("id")?,
        sign: row.parsed("kind")?,
        noticed_on: row.date("noticed_on")?,
        raised_at: row.instant("raised_at")?,
        cleared_at: row.opt_instant("cleared_at")?,
        seen: row.whole("seen")? > 0,
    })
}

/// Kind and date of every flag that this reader may know of; what still pauses
/// comes first, then newest first.
///
/// # Errors
/// When the database fails.
pub async fn kinds(snapshot: &mut Snapshot, access: &Access<FlagKind, impl Reads>) -> Result<Vec<Noticed>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select f.id, f.kind, f.noticed_on, f.raised_at, f.cleared_at,
         (select count(*) from flag_seen s where s.flag_id = f.id and s.account_id = $2) as seen
         from flag f where f.student_id = $1 and ($3 = 0 or f.raised_by = $2)
         order by case when f.cleared_at is null then 0 else 1 end, f.raised_at desc, f.id desc",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(own_only)
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(noticed).collect::<std::result::Result<_, _>>()?)
}

/// Every flag that this reader may read, with what was said of it and who has
/// seen it; what still pauses comes first, then newest first.
///
/// # Errors
/// When the database fails.
pub async fn flags(snapshot: &mut Snapshot, access: &Access<SafetyFlag, impl Reads>) -> Result<Vec<Raised>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select f.id, f.kind, f.noticed_on, f.raised_at, f.cleared_at, f.note, f.cleared_note, f.note_on, a.name as by_name, a.role as by_role,
         coalesce(c.name, '') as cleared_name,
         (select count(*) from flag_seen s where s.flag_id = f.id and s.account_id = $2) as seen
         from flag f join account a on a.id = f.raised_by left join account c on c.id = f.cleared_by
         where f.student_id = $1 and ($3 = 0 or f.raised_by = $2)
         order by case when f.cleared_at is null then 0 else 1 end, f.raised_at desc, f.id desc",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(own_only)
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        let noticed = noticed(row)?;
        let seen_by = seen_by(snapshot, access.student(), noticed.id).await?;
        found.push(Raised {
            noticed,
            note: row.text("note")?,
            by: row.text("by_name")?,
            by_role: row.opt_parsed("by_role")?,
            cleared_by: row.text("cleared_name")?,
            cleared_note: row.text("cleared_note")?,
            by_note: row.opt_date("note_on")?.is_some(),
            seen_by,
        });
    }
    Ok(found)
}

async fn seen_by(snapshot: &mut Snapshot, student: StudentId, flag: FlagId) -> Result<Vec<SeenBy>> {
    let rows = query(
        "select a.name, a.role, s.at from flag_seen s join account a on a.id = s.account_id
         where s.flag_id = $1 and s.student_id = $2 order by s.at, a.name",
    )
    .bind(flag.to_string())
    .bind(student.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| Ok(SeenBy { name: row.text("name")?, role: row.opt_parsed("role")?, at: row.instant("at")? }))
        .collect()
}

/// Marks a flag as seen by the reader. Whoever may know of it may say that they
/// do: the mark adds nothing to the flag itself, so a proof to read is enough.
///
/// # Errors
/// [`StoreError::Missing`] when it is not a flag of this student for this reader.
pub async fn seen(tx: &mut Tx, access: &Access<FlagKind, impl Reads>, id: FlagId) -> Result<()> {
    let known = kinds(tx, access).await?;
    if !known.iter().any(|noticed| noticed.id == id) {
        return Err(StoreError::Missing);
    }
    let at = stamp(tx.now());
    mark(tx, access.student(), access.actor().account, id, at).await
}

async fn mark(tx: &mut Tx, student: StudentId, account: AccountId, flag: FlagId, at: String) -> Result<()> {
    query(
        "insert into flag_seen (flag_id, student_id, account_id, at) values ($1, $2, $3, $4)
         on conflict (flag_id, account_id) do nothing",
    )
    .bind(flag.to_string())
    .bind(student.to_string())
    .bind(account.to_string())
    .bind(at)
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// Clears a flag, the password entered again. Training goes on when no other
/// flag pauses it. The token says on which ground.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's or it is not a
/// flag of this student that still pauses.
pub async fn clear(
    tx: &mut Tx,
    access: &Access<Pause, Sign>,
    reentered: &Reentered,
    _ground: MayClear,
    id: FlagId,
    note: &str,
) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let at = stamp(tx.now());
    let done = query(
        "update flag set cleared_at = $1, cleared_by = $2, cleared_note = $3
         where id = $4 and student_id = $5 and cleared_at is null",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(note.to_owned())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// An eye doctor's written note, as a records officer attaches it.
pub struct Note {
    /// The eye doctor's name.
    pub doctor: String,
    /// The day on the note.
    pub on: Date,
    /// The scan, laid once for each flag that it clears.
    pub scans: Vec<(FlagId, Laid)>,
}

/// Clears the flags that an eye doctor's written note speaks of, the password
/// entered again. The token says that the note is attached.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's, the token is
/// for another ground, or one of them is not a flag of this student that still
/// pauses and was raised on the day of the note or before.
pub async fn clear_on_note(
    tx: &mut Tx,
    access: &Access<Pause, Sign>,
    reentered: &Reentered,
    ground: MayClear,
    note: Note,
) -> Result<()> {
    let attached = ground.clearing() == flag::Clearing::BySteward(flag::Note::Attached);
    if reentered.account() != access.actor().account || !attached || note.scans.is_empty() {
        return Err(StoreError::Missing);
    }
    let pauses = pauses_of(tx, access.student()).await?;
    for (id, laid) in note.scans {
        if !pauses.iter().any(|pause| pause.flag == id && pause.raised_on <= note.on) {
            return Err(StoreError::Missing);
        }
        let at = stamp(tx.now());
        let done = query(
            "update flag set cleared_at = $1, cleared_by = $2, cleared_note = $3, note_doctor = $4, note_on = $5
             where id = $6 and student_id = $7 and cleared_at is null",
        )
        .bind(at)
        .bind(access.actor().account.to_string())
        .bind(format!("On the written note of {}, of {}.", note.doctor, note.on))
        .bind(note.doctor.clone())
        .bind(note.on.to_string())
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
        if done.rows_affected() != 1 {
            return Err(StoreError::Missing);
        }
        attachment::keep(tx, access, Parent::Flag(id), laid).await?;
    }
    Ok(())
}
