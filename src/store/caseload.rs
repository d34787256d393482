//! Lists across students: who is on this person's list today, and what is due.
//!
//! Each is one query, joined with the memberships in force or made from proofs,
//! so a student who is not this person's is never loaded. The records behind a
//! line are gathered by their own files, for all students at once (`asked.rs`).

use jiff::civil::Date;
use sqlx::query;

use super::asked::{self, asked};
use super::{Result, Snapshot};
use crate::access::action::Reads;
use crate::access::resource::Loans;
use crate::access::{Access, Actor};
use crate::care::ids::StudentId;
use crate::db::column::Columns;

/// The students on whose team this person is today.
///
/// # Errors
/// When the database fails.
pub async fn students(snapshot: &mut Snapshot, actor: &Actor) -> Result<Vec<StudentId>> {
    let today = snapshot.today().to_string();
    let rows = query(
        "select distinct m.student_id, s.name from membership m join student s on s.id = m.student_id
         where m.account_id = $1 and m.starts_on <= $2 and (m.ends_on is null or m.ends_on > $2)
         order by s.name, m.student_id",
    )
    .bind(actor.account.to_string())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok(row.parsed("student_id")?)).collect()
}

/// Every student, for a records officer, who sees names, stages and dates only.
///
/// # Errors
/// When the database fails.
pub async fn every_student(snapshot: &mut Snapshot, actor: &Actor) -> Result<Vec<StudentId>> {
    if !actor.steward {
        return Ok(Vec::new());
    }
    let rows = query("select id from student order by name, id").fetch_all(snapshot.connection()).await?;
    rows.iter().map(|row| Ok(row.parsed("id")?)).collect()
}

/// The newest day something was seen, per student and setting, among this
/// person's students.
pub struct Newest {
    /// The student.
    pub student: StudentId,
    /// Classroom, home, community or training.
    pub setting: String,
    /// The newest day.
    pub on: Date,
}

/// The newest observation of each setting, for a vision teacher's list: dates
/// only.
///
/// # Errors
/// When the database fails.
pub async fn newest_seen(snapshot: &mut Snapshot, actor: &Actor) -> Result<Vec<Newest>> {
    let today = snapshot.today().to_string();
    let rows = query(
        "select o.student_id, o.setting, max(o.seen_on) as seen_on from observation o
         join membership m on m.student_id = o.student_id
         where m.account_id = $1 and m.role = 'vision_teacher' and m.starts_on <= $2 and (m.ends_on is null or m.ends_on > $2)
           and o.state = 'entered'
         group by o.student_id, o.setting
         union all
         select t.student_id, 'training' as setting, max(t.held_on) as seen_on from training_session t
         join membership m on m.student_id = t.student_id
         where m.account_id = $1 and m.role = 'vision_teacher' and m.starts_on <= $2 and (m.ends_on is null or m.ends_on > $2)
           and t.state = 'entered'
         group by t.student_id",
    )
    .bind(actor.account.to_string())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Newest { student: row.parsed("student_id")?, setting: row.text("setting")?, on: row.date("seen_on")? })
        })
        .collect()
}

/// A loan that is due back.
pub struct Due {
    /// The student who has it.
    pub student: StudentId,
    /// The device's tag.
    pub tag: String,
    /// The day it is due.
    pub on: Date,
}

/// Loans of a caseload that are due until a day or overdue, each student by a
/// proof of their own.
///
/// # Errors
/// When the database fails.
pub async fn loans_due(snapshot: &mut Snapshot, proofs: &[Access<Loans, impl Reads>], until: Date) -> Result<Vec<Due>> {
    let rows = query(concat!(
        "select l.student_id, d.tag, l.due_on from loan l join device d on d.id = l.device_id
         where l.returned_on is null and l.due_on <= $2 and l.student_id in ",
        asked!(),
        " order by l.due_on, d.tag"
    ))
    .bind(asked::of_proofs(proofs))
    .bind(until.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| Ok(Due { student: row.parsed("student_id")?, tag: row.text("tag")?, on: row.date("due_on")? }))
        .collect()
}
