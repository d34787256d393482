//! What becomes of a question: answered, once or more; closed by its asker
//! without an answer; asked again.
//!
//! A question waits until somebody of the role it is addressed to, or the one
//! who asked, writes an answer. An answer reaches whoever asked. Who may read a
//! question is decided in [`super::post`].

use std::collections::BTreeSet;

use jiff::Timestamp;
use sqlx::query;

use super::post::{Post, of_student};
use super::{Result, Snapshot, StoreError, Tx, met, post};
use crate::access::action::{Create, Reads};
use crate::access::resource::Thread;
use crate::access::{Access, Actor, Role};
use crate::care::ids::{PostId, StudentId};
use crate::care::post::{CloseReason, PostKind, QuestionStep};
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};

/// Whether this person may answer that question: it was not closed without an
/// answer, and is addressed to their role or their own. Several may answer.
#[must_use]
pub fn may_answer(question: &Post, actor: &Actor) -> bool {
    question.kind == PostKind::Question
        && !question.closed_without_answer
        && (question.account == actor.account || (actor.role.is_some() && question.to == actor.role))
}

/// Whether this person may close the question without an answer: it is open and
/// their own.
#[must_use]
pub fn may_close(question: &Post, actor: &Actor) -> bool {
    question.is_open() && question.account == actor.account
}

/// Whether this person may ask the question again: it is their own and waits no
/// more.
#[must_use]
pub fn may_reopen(question: &Post, actor: &Actor) -> bool {
    question.kind == PostKind::Question && question.closed_at.is_some() && question.account == actor.account
}

/// One question, as far as this reader may read it.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such question for this reader.
pub async fn one(snapshot: &mut Snapshot, access: &Access<Thread, impl Reads>, id: PostId) -> Result<Post> {
    let posts = of_student(snapshot, access).await?;
    posts.into_iter().find(|post| post.id == id && post.kind == PostKind::Question).ok_or(StoreError::Missing)
}

/// Answers a question; the first answer ends its waiting.
///
/// # Errors
/// [`StoreError::Missing`] when this reader does not see that question or it is
/// not theirs to answer, [`StoreError::Stale`] when it was closed meanwhile.
pub async fn answer(
    tx: &mut Tx,
    access: &Access<Thread, Create>,
    reading: &Access<Thread, impl Reads>,
    question: PostId,
    body: &str,
) -> Result<PostId> {
    let asked = one(tx, reading, question).await?;
    let for_them = asked.account == access.actor().account || asked.to == access.actor().role;
    if !for_them {
        return Err(StoreError::Missing);
    }
    let at = stamp(tx.now());
    let done = query(
        "update post set closed_at = coalesce(closed_at, $1), version = version + 1
         where id = $2 and student_id = $3 and closed_without_answer = 0",
    )
    .bind(at)
    .bind(question.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    let to = asked.role.map_or("", Role::code);
    post::insert(tx, access, PostKind::Answer, to, Some(question), body).await
}

/// Closes one's own question without an answer.
///
/// # Errors
/// [`StoreError::Missing`] when it is not this person's own question,
/// [`StoreError::Stale`] when it was answered or closed meanwhile.
pub async fn close(
    tx: &mut Tx,
    access: &Access<Thread, Create>,
    question: PostId,
    why: CloseReason,
    reason: &str,
) -> Result<()> {
    own(tx, access, question).await?;
    let at = stamp(tx.now());
    let done = query(
        "update post set closed_at = $1, closed_without_answer = 1, version = version + 1
         where id = $2 and student_id = $3 and account_id = $4 and closed_at is null",
    )
    .bind(at)
    .bind(question.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    step(tx, access, question, QuestionStep::Closed, (why.code(), reason)).await
}

/// Asks one's own question again: it waits anew.
///
/// # Errors
/// [`StoreError::Missing`] when it is not this person's own question,
/// [`StoreError::Stale`] when it waits already.
pub async fn reopen(tx: &mut Tx, access: &Access<Thread, Create>, question: PostId, reason: &str) -> Result<()> {
    own(tx, access, question).await?;
    let at = stamp(tx.now());
    let done = query(
        "update post set closed_at = null, closed_without_answer = 0, reopened_at = $1, version = version + 1
         where id = $2 and student_id = $3 and account_id = $4 and closed_at is not null",
    )
    .bind(at)
    .bind(question.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    step(tx, access, question, QuestionStep::Reopened, ("", reason)).await
}

async fn own(tx: &mut Tx, access: &Access<Thread, Create>, question: PostId) -> Result<()> {
    let row = query(
        "select count(*) as n from post
         where id = $1 and student_id = $2 and account_id = $3 and kind = 'question' and state = 'entered'",
    )
    .bind(question.to_string())
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .fetch_one(tx.connection())
    .await?;
    if row.whole("n")? == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

async fn step(
    tx: &mut Tx,
    access: &Access<Thread, Create>,
    question: PostId,
    step: QuestionStep,
    (why, reason): (&str, &str),
) -> Result<()> {
    let at = stamp(tx.now());
    query(
        "insert into question_step (id, student_id, post_id, step, why, reason, at, account_id)
         values ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(fresh_uuid().to_string())
    .bind(access.student().to_string())
    .bind(question.to_string())
    .bind(step.code().to_owned())
    .bind(why.to_owned())
    .bind(reason.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// A closing without an answer, or an asking again.
pub struct Step {
    /// Of which question.
    pub question: PostId,
    /// Which of both.
    pub step: QuestionStep,
    /// Why it was closed.
    pub why: Option<CloseReason>,
    /// The asker's own words about it.
    pub reason: String,
    /// When.
    pub at: Timestamp,
    /// By whom; always the asker.
    pub by: String,
}

/// What askers did with their questions, oldest first: of questions this reader
/// may read.
///
/// # Errors
/// When the database fails.
pub async fn steps(snapshot: &mut Snapshot, access: &Access<Thread, impl Reads>) -> Result<Vec<Step>> {
    let limits = access.limits();
    let rows = query(
        "select s.post_id, s.step, s.why, s.reason, s.at, a.name
         from question_step s join post p on p.id = s.post_id and p.student_id = s.student_id join account a on a.id = s.account_id
         where s.student_id = $1 and p.state = 'entered' and (p.account_id = $2 or (
           ($3 = 0 or ($4 = 1 and p.to_role = $5)) and ($6 = 0 or p.acting_role <> 'clinician')))
         order by s.at, s.id",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.or_addressed))
    .bind(access.actor().role.map_or("", Role::code).to_owned())
    .bind(i64::from(limits.without_clinic_posts))
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Step {
                question: row.parsed("post_id")?,
                step: row.parsed("step")?,
                why: row.opt_parsed("why")?,
                reason: row.text("reason")?,
                at: row.instant("at")?,
                by: row.text("name")?,
            })
        })
        .collect()
}

/// Of which students there is an open question to this person's role, or of
/// their own: whose threads are worth opening. Tells nothing of what is asked.
///
/// # Errors
/// When the database fails.
pub async fn students(snapshot: &mut Snapshot, actor: &Actor) -> Result<BTreeSet<StudentId>> {
    let Some(role) = actor.role else { return Ok(BTreeSet::new()) };
    let today = snapshot.today().to_string();
    let rows = query(
        "select distinct p.student_id from post p join membership m on m.student_id = p.student_id
         where m.account_id = $1 and m.role = $2 and m.starts_on <= $3 and (m.ends_on is null or m.ends_on > $3)
         and p.kind = 'question' and p.state = 'entered' and p.closed_at is null and (p.to_role = $2 or p.account_id = $1)",
    )
    .bind(actor.account.to_string())
    .bind(role.code().to_owned())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok(row.parsed("student_id")?)).collect()
}
