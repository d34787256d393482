//! What people write in the thread, and the questions still open.
//!
//! A question is open until somebody of the role it is addressed to, or the one
//! who asked, writes an answer. An answer reaches whoever asked.

use jiff::Timestamp;
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx};
use crate::access::action::{Create, Reads};
use crate::access::resource::Thread;
use crate::access::{Access, Actor, Role};
use crate::care::ids::{AccountId, PostId, StudentId};
use crate::care::post::PostKind;
use crate::db::column::{Columns, stamp};

/// A post as its reader is shown it.
pub struct Post {
    /// Which.
    pub id: PostId,
    /// Note, question or answer.
    pub kind: PostKind,
    /// The role a question is addressed to, or whose question is answered.
    pub to: Option<Role>,
    /// The question this answers.
    pub answers: Option<PostId>,
    /// The words.
    pub body: String,
    /// When.
    pub at: Timestamp,
    /// Whose account.
    pub account: AccountId,
    /// By whom.
    pub by: String,
    /// In which role.
    pub role: Option<Role>,
    /// When a question was answered.
    pub closed_at: Option<Timestamp>,
}

/// A post as checked from its form.
pub enum NewPost {
    /// For everybody who may read it.
    Note(String),
    /// For a role.
    Question(Role, String),
}

fn post(row: &AnyRow) -> std::result::Result<Post, sqlx::Error> {
    Ok(Post {
        id: row.parsed("id")?,
        kind: row.parsed("kind")?,
        to: row.opt_parsed("to_role")?,
        answers: row.opt_parsed("answers_id")?,
        body: row.text("body")?,
        at: row.instant("at")?,
        account: row.parsed("account_id")?,
        by: row.text("name")?,
        role: row.opt_parsed("acting_role")?,
        closed_at: row.opt_instant("closed_at")?,
    })
}

/// Every post this reader may read, newest first.
///
/// Limited to what is addressed, a reader gets the notes and questions to their
/// role and the answers to their own questions.
///
/// # Errors
/// When the database fails.
pub async fn of_student(snapshot: &mut Snapshot, access: &Access<Thread, impl Reads>) -> Result<Vec<Post>> {
    let limits = access.limits();
    let role = access.actor().role.map_or("", Role::code).to_owned();
    let rows = query(
        "select p.id, p.kind, p.to_role, p.answers_id, p.body, p.at, p.account_id, p.acting_role, p.closed_at, a.name
         from post p join account a on a.id = p.account_id left join post q on q.id = p.answers_id and q.student_id = p.student_id
         where p.student_id = $1 and p.state = 'entered' and (p.account_id = $2 or (
           ($3 = 0 or ($4 = 1 and ((p.kind <> 'answer' and p.to_role = $5) or q.account_id = $2)))
           and ($6 = 0 or p.acting_role <> 'clinician')))
         order by p.at desc, p.id desc",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.or_addressed))
    .bind(role)
    .bind(i64::from(limits.without_clinic_posts))
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(post).collect::<std::result::Result<_, _>>()?)
}

/// Adds a note or a question.
///
/// # Errors
/// When the database fails.
pub async fn write(tx: &mut Tx, access: &Access<Thread, Create>, new: &NewPost) -> Result<PostId> {
    let (kind, to, body) = match new {
        NewPost::Note(body) => (PostKind::Note, "", body),
        NewPost::Question(role, body) => (PostKind::Question, role.code(), body),
    };
    insert(tx, access, kind, to, None, body).await
}

async fn insert(
    tx: &mut Tx,
    access: &Access<Thread, Create>,
    kind: PostKind,
    to: &str,
    answers: Option<PostId>,
    body: &str,
) -> Result<PostId> {
    let id = fresh(PostId::of);
    let at = stamp(tx.now());
    query(
        "insert into post (id, student_id, kind, to_role, answers_id, body, at, account_id, acting_role)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(kind.code().to_owned())
    .bind(to.to_owned())
    .bind(answers.map(|id| id.to_string()))
    .bind(body.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(access.actor().role.map_or("", Role::code).to_owned())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Whether this person may answer that question: it is open, and addressed to
/// their role or their own.
#[must_use]
pub fn may_answer(question: &Post, actor: &Actor) -> bool {
    question.kind == PostKind::Question
        && question.closed_at.is_none()
        && (question.account == actor.account || (actor.role.is_some() && question.to == actor.role))
}

/// Answers a question, which closes it.
///
/// # Errors
/// [`StoreError::Missing`] when this reader does not see that question or may
/// not answer it, [`StoreError::Stale`] when it was answered meanwhile.
pub async fn answer(
    tx: &mut Tx,
    access: &Access<Thread, Create>,
    reading: &Access<Thread, impl Reads>,
    question: PostId,
    body: &str,
) -> Result<PostId> {
    let asked =
        of_student(tx, reading).await?.into_iter().find(|post| post.id == question).ok_or(StoreError::Missing)?;
    if asked.closed_at.is_some() {
        return Err(StoreError::Stale);
    }
    if !may_answer(&asked, access.actor()) {
        return Err(StoreError::Missing);
    }
    let at = stamp(tx.now());
    let done = query(
        "update post set closed_at = $1, version = version + 1 where id = $2 and student_id = $3 and closed_at is null",
    )
    .bind(at)
    .bind(question.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    super::met(done.rows_affected())?;
    let to = asked.role.map_or("", Role::code);
    insert(tx, access, PostKind::Answer, to, Some(question), body).await
}

/// A question that waits for the actor's role.
pub struct Open {
    /// Which.
    pub id: PostId,
    /// About whom.
    pub student: StudentId,
    /// The student, as the asker's question may be headed: the name.
    pub student_name: String,
    /// The words.
    pub body: String,
    /// Since when.
    pub at: Timestamp,
    /// Who asked.
    pub by: String,
    /// In which role.
    pub role: Option<Role>,
}

/// The open questions to the actor's role, of every student whose team the actor
/// is on now, oldest first.
///
/// The join with the membership finds them. What would cross between school and
/// clinic is left out when no consent lets it, as in the thread itself.
///
/// # Errors
/// When the database fails.
pub async fn open_for(snapshot: &mut Snapshot, actor: &Actor) -> Result<Vec<Open>> {
    let Some(role) = actor.role else { return Ok(Vec::new()) };
    let today = snapshot.today().to_string();
    let rows = query(
        "select distinct p.id, p.student_id, p.body, p.at, p.acting_role, a.name,
         case when s.preferred_name <> '' then s.preferred_name else s.name end as student_name
         from post p join membership m on m.student_id = p.student_id join student s on s.id = p.student_id
         join account a on a.id = p.account_id
         where m.account_id = $1 and m.role = $2 and m.rights = 'full' and m.starts_on <= $3 and (m.ends_on is null or m.ends_on > $3)
         and p.kind = 'question' and p.state = 'entered' and p.closed_at is null and p.to_role = $2 and p.account_id <> $1
         order by p.at, p.id",
    )
    .bind(actor.account.to_string())
    .bind(role.code().to_owned())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    let mut open = Vec::new();
    for row in &rows {
        let student: StudentId = row.parsed("student_id")?;
        let asked_by: Option<Role> = row.opt_parsed("acting_role")?;
        let crosses = role == Role::Clinician || (role == Role::VisionTeacher && asked_by == Some(Role::Clinician));
        if crosses && !super::standing::consented(snapshot, actor, student).await? {
            continue;
        }
        open.push(Open {
            id: row.parsed("id")?,
            student,
            student_name: row.text("student_name")?,
            body: row.text("body")?,
            at: row.instant("at")?,
            by: row.text("name")?,
            role: asked_by,
        });
    }
    Ok(open)
}

/// Until when this person has read the thread.
///
/// # Errors
/// When the database fails.
pub async fn read_until(snapshot: &mut Snapshot, access: &Access<Thread, impl Reads>) -> Result<Option<Timestamp>> {
    let row = query("select read_at from thread_read where student_id = $1 and account_id = $2")
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    Ok(row.map(|row| row.instant("read_at")).transpose()?)
}

/// Notes that this person has read the thread until now: their own mark, so a
/// proof to read is enough.
///
/// # Errors
/// When the database fails.
pub async fn mark_read(tx: &mut Tx, access: &Access<Thread, impl Reads>) -> Result<()> {
    let at = stamp(tx.now());
    query(
        "insert into thread_read (student_id, account_id, read_at) values ($1, $2, $3)
         on conflict (student_id, account_id) do update set read_at = excluded.read_at",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(at)
    .execute(tx.connection())
    .await?;
    Ok(())
}
