//! Who the student is.
//!
//! Three widths of the same row, each under its own proof: all of it, what a
//! classroom teacher may know, and the initials.

use std::collections::BTreeMap;

use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::asked::{self, asked};
use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::action::{Create, Edit, Reads};
use crate::access::resource::{Glimpse, Identity, Initials, OpenRecord};
use crate::access::{Access, Office};
use crate::care::ids::{MembershipId, StudentId};
use crate::care::student::{NewStudent, Student, initials};
use crate::db::column::{Columns, flag, stamp};

/// What a classroom teacher may know.
pub struct Glimpsed {
    /// Name, as the child is called.
    pub name: String,
    /// Age in whole years.
    pub age: i64,
    /// Grade.
    pub grade: String,
    /// Print format the student reads best.
    pub print_format: String,
}

fn student(row: &AnyRow) -> std::result::Result<Student, sqlx::Error> {
    Ok(Student {
        id: row.parsed("id")?,
        number: row.text("number")?,
        name: row.text("name")?,
        preferred_name: row.text("preferred_name")?,
        birth_date: row.date("birth_date")?,
        school: row.text("school")?,
        grade: row.text("grade")?,
        languages: row.text("languages")?,
        interpreter: row.flag("interpreter")?,
        print_format: row.text("print_format")?,
        version: row.whole("version")?,
    })
}

async fn rows_of(snapshot: &mut Snapshot, students: &str) -> Result<Vec<AnyRow>> {
    let found = query(concat!(
        "select id, number, name, preferred_name, birth_date, school, grade, languages, interpreter, print_format, version
         from student where id in ",
        asked!()
    ));
    Ok(found.bind(students.to_owned()).fetch_all(snapshot.connection()).await?)
}

async fn row_of(snapshot: &mut Snapshot, id: StudentId) -> Result<AnyRow> {
    rows_of(snapshot, &id.to_string()).await?.into_iter().next().ok_or(StoreError::Missing)
}

/// All that is known of who the student is.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn identity(snapshot: &mut Snapshot, access: &Access<Identity, impl Reads>) -> Result<Student> {
    let row = row_of(snapshot, access.student()).await?;
    Ok(student(&row)?)
}

/// Every student of a caseload whom this reader may know in full.
///
/// # Errors
/// When the database fails.
pub async fn identities(
    snapshot: &mut Snapshot,
    proofs: &[Access<Identity, impl Reads>],
) -> Result<BTreeMap<StudentId, Student>> {
    let found = rows_of(snapshot, &asked::of_proofs(proofs)).await?;
    found.iter().map(|row| Ok((row.parsed("id")?, student(row)?))).collect()
}

/// What a classroom teacher may know of every student of a caseload.
///
/// # Errors
/// When the database fails.
pub async fn glimpses(
    snapshot: &mut Snapshot,
    proofs: &[Access<Glimpse, impl Reads>],
) -> Result<BTreeMap<StudentId, Glimpsed>> {
    let (today, found) = (snapshot.today(), rows_of(snapshot, &asked::of_proofs(proofs)).await?);
    found.iter().map(|row| Ok((row.parsed("id")?, glimpsed(student(row)?, today)))).collect()
}

/// The initials alone, of every student of a caseload.
///
/// # Errors
/// When the database fails.
pub async fn all_initials(
    snapshot: &mut Snapshot,
    proofs: &[Access<Initials, impl Reads>],
) -> Result<BTreeMap<StudentId, String>> {
    let found = rows_of(snapshot, &asked::of_proofs(proofs)).await?;
    found.iter().map(|row| Ok((row.parsed("id")?, initials(&row.text("name")?)))).collect()
}

fn glimpsed(whole: Student, today: Date) -> Glimpsed {
    Glimpsed {
        name: whole.called().to_owned(),
        age: whole.age_on(today),
        grade: whole.grade,
        print_format: whole.print_format,
    }
}

/// What a classroom teacher may know of who the student is.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn glimpse(snapshot: &mut Snapshot, access: &Access<Glimpse, impl Reads>) -> Result<Glimpsed> {
    let today = snapshot.today();
    Ok(glimpsed(student(&row_of(snapshot, access.student()).await?)?, today))
}

/// The initials alone.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn initials_of(snapshot: &mut Snapshot, access: &Access<Initials, impl Reads>) -> Result<String> {
    let row = row_of(snapshot, access.student()).await?;
    Ok(initials(&row.text("name")?))
}

/// Opens a record: the student, and the membership of the vision teacher who
/// leads it.
///
/// # Errors
/// [`StoreError::Taken`] when the student number is in use.
pub async fn open(tx: &mut Tx, office: &Office<OpenRecord, Create>, new: &NewStudent) -> Result<StudentId> {
    let id = fresh(StudentId::of);
    let (at, today) = (stamp(tx.now()), tx.today().to_string());
    let by = office.actor().account.to_string();
    query(
        "insert into student (id, number, name, preferred_name, birth_date, school, grade, languages, interpreter, print_format, created_at, created_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
    )
    .bind(id.to_string())
    .bind(new.number.clone())
    .bind(new.name.clone())
    .bind(new.preferred_name.clone())
    .bind(new.birth_date.to_string())
    .bind(new.school.clone())
    .bind(new.grade.clone())
    .bind(new.languages.clone())
    .bind(flag(new.interpreter))
    .bind(new.print_format.clone())
    .bind(at.clone())
    .bind(by.clone())
    .execute(tx.connection())
    .await?;
    query(
        "insert into membership (id, student_id, account_id, role, lead, starts_on, added_at, added_by)
         values ($1, $2, $3, 'vision_teacher', 1, $4, $5, $3)",
    )
    .bind(fresh(MembershipId::of).to_string())
    .bind(id.to_string())
    .bind(by.clone())
    .bind(today)
    .bind(at.clone())
    .execute(tx.connection())
    .await?;
    query("insert into intake (student_id, changed_at, changed_by) values ($1, $2, $3)")
        .bind(id.to_string())
        .bind(at)
        .bind(by)
        .execute(tx.connection())
        .await?;
    Ok(id)
}

/// Changes who the student is.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved meanwhile, [`StoreError::Taken`]
/// when the student number is in use.
pub async fn change(tx: &mut Tx, access: &Access<Identity, Edit>, new: &NewStudent, version: i64) -> Result<()> {
    let done = query(
        "update student set number = $1, name = $2, preferred_name = $3, birth_date = $4, school = $5, grade = $6,
         languages = $7, interpreter = $8, print_format = $9, version = version + 1
         where id = $10 and version = $11",
    )
    .bind(new.number.clone())
    .bind(new.name.clone())
    .bind(new.preferred_name.clone())
    .bind(new.birth_date.to_string())
    .bind(new.school.clone())
    .bind(new.grade.clone())
    .bind(new.languages.clone())
    .bind(flag(new.interpreter))
    .bind(new.print_format.clone())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
