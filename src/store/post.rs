//! What people write in the thread, as far as its reader may read it.
//!
//! Limited to what is addressed, a reader gets the notes and questions to their
//! role and the answers to their own questions. What becomes of a question is in
//! [`super::question`]; how far somebody has read, in [`super::thread_read`].

use std::collections::BTreeMap;

use jiff::Timestamp;
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, Tx};
use crate::access::action::{Create, Reads};
use crate::access::resource::Thread;
use crate::access::{Access, Role};
use crate::care::amendment::Amendment;
use crate::care::ids::{AccountId, PostId};
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
    /// When a question was answered, or closed without an answer.
    pub closed_at: Option<Timestamp>,
    /// Whether its asker closed it without an answer.
    pub closed_without_answer: bool,
    /// When a question was asked again.
    pub reopened_at: Option<Timestamp>,
    /// Whether it was entered in error: it stays listed, and counts nowhere.
    pub in_error: bool,
}

impl Post {
    /// Whether this is a question that waits for an answer.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        matches!(self.kind, PostKind::Question) && self.closed_at.is_none() && !self.in_error
    }

    /// Since when an open question waits.
    #[must_use]
    pub fn waits_since(&self) -> Timestamp {
        self.reopened_at.unwrap_or(self.at)
    }
}

/// A post as checked from its form.
pub enum NewPost {
    /// For everybody who may read it.
    Note(String),
    /// For a role.
    Question(Role, String),
}

/// Which posts are asked for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Every post that counts.
    All,
    /// Those entered in error, too.
    Listed,
    /// Written after this instant.
    After(Timestamp),
    /// Questions that wait for an answer.
    OpenQuestions,
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
        closed_without_answer: row.flag("closed_without_answer")?,
        reopened_at: row.opt_instant("reopened_at")?,
        in_error: row.text("state")? == "entered_in_error",
    })
}

/// Every post this reader may read, newest first.
///
/// # Errors
/// When the database fails.
pub async fn of_student(snapshot: &mut Snapshot, access: &Access<Thread, impl Reads>) -> Result<Vec<Post>> {
    some_of_student(snapshot, access, Which::All).await
}

/// Those of a student's posts that are asked for, as far as this reader may read
/// them, newest first.
///
/// # Errors
/// When the database fails.
pub async fn some_of_student(
    snapshot: &mut Snapshot,
    access: &Access<Thread, impl Reads>,
    which: Which,
) -> Result<Vec<Post>> {
    let limits = access.limits();
    let role = access.actor().role.map_or("", Role::code).to_owned();
    let after = match which {
        Which::After(at) => stamp(at),
        Which::All | Which::Listed | Which::OpenQuestions => String::new(),
    };
    let rows = query(
        "select p.id, p.kind, p.to_role, p.answers_id, p.body, p.at, p.account_id, p.acting_role, p.closed_at,
         p.closed_without_answer, p.reopened_at, p.state, a.name
         from post p join account a on a.id = p.account_id left join post q on q.id = p.answers_id and q.student_id = p.student_id
         where p.student_id = $1 and (p.state = 'entered' or $9 = 1) and (p.account_id = $2 or (
           ($3 = 0 or ($4 = 1 and ((p.kind <> 'answer' and p.to_role = $5) or q.account_id = $2)))
           and ($6 = 0 or p.acting_role <> 'clinician')))
         and p.at > $7 and ($8 = 0 or (p.kind = 'question' and p.closed_at is null))
         order by p.at desc, p.id desc",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.or_addressed))
    .bind(role)
    .bind(i64::from(limits.without_clinic_posts))
    .bind(after)
    .bind(i64::from(which == Which::OpenQuestions))
    .bind(i64::from(which == Which::Listed))
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(post).collect::<std::result::Result<_, _>>()?)
}

/// The corrections of posts this reader may read, newest first, by the post.
///
/// # Errors
/// When the database fails.
pub async fn amendments(
    snapshot: &mut Snapshot,
    access: &Access<Thread, impl Reads>,
) -> Result<BTreeMap<PostId, Vec<Amendment>>> {
    let limits = access.limits();
    let rows = query(
        "select m.record_id, m.field, m.before_text, m.after_text, m.reason, m.at, a.name as by_name
         from amendment m join account a on a.id = m.account_id join post p on p.id = m.record_id and p.student_id = m.student_id
         left join post q on q.id = p.answers_id and q.student_id = p.student_id
         where m.student_id = $1 and m.resource = 'post' and (p.account_id = $2 or (
           ($3 = 0 or ($4 = 1 and ((p.kind <> 'answer' and p.to_role = $5) or q.account_id = $2)))
           and ($6 = 0 or p.acting_role <> 'clinician')))
         order by m.at desc, m.id",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.or_addressed))
    .bind(access.actor().role.map_or("", Role::code).to_owned())
    .bind(i64::from(limits.without_clinic_posts))
    .fetch_all(snapshot.connection())
    .await?;
    let mut found: BTreeMap<PostId, Vec<Amendment>> = BTreeMap::new();
    for row in &rows {
        found.entry(row.parsed("record_id")?).or_default().push(Amendment {
            field: row.text("field")?,
            before: row.text("before_text")?,
            after: row.text("after_text")?,
            reason: row.text("reason")?,
            at: row.instant("at")?,
            by: row.text("by_name")?,
        });
    }
    Ok(found)
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

pub(super) async fn insert(
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
