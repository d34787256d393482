//! What the student said, with the observation or the post it stands in.
//!
//! There is no proof for these words alone: whoever may read the entry may read
//! them, and nobody else. So they are asked for with the entry's proof and kept
//! back by the entry's limits, the lock too.

use std::collections::BTreeMap;

use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::observation::LOCK;
use super::{Result, Snapshot, StoreError, Tx, post};
use crate::access::action::{Create, Read, Reads};
use crate::access::resource::{ClassObservation, HomeObservation, Resource, Thread};
use crate::access::{Access, Role};
use crate::care::ids::{AccountId, ObservationId, PostId, StudentId, StudentWordsId};
use crate::care::post::PostKind;
use crate::care::student_words::{NewWords, Said};
use crate::db::column::{Columns, stamp};

/// What the student said, and what it was about.
#[derive(Clone)]
pub struct Kept {
    /// The day.
    pub on: Date,
    /// What it was about; empty where the entry itself says so.
    pub about: String,
    /// What was said.
    pub said: Said,
    /// Who wrote it down.
    pub by: String,
    /// In which role.
    pub by_role: Option<Role>,
}

fn kept(row: &AnyRow) -> std::result::Result<Kept, sqlx::Error> {
    Ok(Kept {
        on: row.date("said_on")?,
        about: row.text("about")?,
        said: Said {
            worked: row.opt_parsed("worked")?,
            would_use: row.opt_parsed("would_use")?,
            words: row.text("words")?,
        },
        by: row.text("by_name")?,
        by_role: row.opt_parsed("by_role")?,
    })
}

/// Keeps what the student said with an observation just recorded by the same
/// person.
///
/// # Errors
/// [`StoreError::Missing`] when it is not this person's own entry.
pub async fn with_observation<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Create>,
    observation: ObservationId,
    on: Date,
    said: &Said,
) -> Result<()> {
    let own = query("select count(*) as n from observation where id = $1 and student_id = $2 and entered_by = $3")
        .bind(observation.to_string())
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .fetch_one(tx.connection())
        .await?;
    if own.whole("n")? != 1 {
        return Err(StoreError::Missing);
    }
    let row = Row { student: access.student(), account: access.actor().account, on, about: "", said };
    insert(tx, row, Some(observation), None).await
}

/// Keeps what the student said as a post of its own.
///
/// # Errors
/// When the database fails.
pub async fn as_post(tx: &mut Tx, access: &Access<Thread, Create>, new: &NewWords) -> Result<PostId> {
    let id = post::insert(tx, access, PostKind::Note, "", None, &new.said.words).await?;
    let row = Row {
        student: access.student(),
        account: access.actor().account,
        on: new.on,
        about: &new.about,
        said: &new.said,
    };
    insert(tx, row, None, Some(id)).await?;
    Ok(id)
}

struct Row<'a> {
    student: StudentId,
    account: AccountId,
    on: Date,
    about: &'a str,
    said: &'a Said,
}

async fn insert(tx: &mut Tx, row: Row<'_>, observation: Option<ObservationId>, post: Option<PostId>) -> Result<()> {
    let at = stamp(tx.now());
    query(
        "insert into student_words (id, student_id, observation_id, post_id, said_on, about, worked, would_use, words, entered_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(super::audit::fresh(StudentWordsId::of).to_string())
    .bind(row.student.to_string())
    .bind(observation.map(|id| id.to_string()))
    .bind(post.map(|id| id.to_string()))
    .bind(row.on.to_string())
    .bind(row.about.to_owned())
    .bind(row.said.worked.map_or("", |one| one.code()).to_owned())
    .bind(row.said.would_use.map_or("", |one| one.code()).to_owned())
    .bind(row.said.words.clone())
    .bind(at)
    .bind(row.account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// What the student said in posts of its own, by the post.
///
/// # Errors
/// When the database fails.
pub async fn of_posts(snapshot: &mut Snapshot, access: &Access<Thread, impl Reads>) -> Result<BTreeMap<PostId, Kept>> {
    let limits = access.limits();
    let rows = query(
        "select w.post_id, w.said_on, w.about, w.worked, w.would_use, p.body as words, a.name as by_name, a.role as by_role
         from student_words w join post p on p.id = w.post_id and p.student_id = w.student_id join account a on a.id = w.entered_by
         where w.student_id = $1 and p.state = 'entered'
         and (p.account_id = $2 or ($3 = 0 and ($4 = 0 or p.acting_role <> 'clinician')))",
    )
    .bind(access.student().to_string())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.without_clinic_posts))
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok((row.parsed("post_id")?, kept(row)?))).collect()
}

/// What the student said in class, by the observation, as far as this reader may
/// read its detail.
///
/// # Errors
/// When the database fails.
pub async fn in_class(
    snapshot: &mut Snapshot,
    access: &Access<ClassObservation, impl Reads>,
) -> Result<BTreeMap<ObservationId, Kept>> {
    of_observations(snapshot, &access.read(), ["classroom", "classroom"]).await
}

/// The same at home and in the community.
///
/// # Errors
/// When the database fails.
pub async fn outside(
    snapshot: &mut Snapshot,
    access: &Access<HomeObservation, impl Reads>,
) -> Result<BTreeMap<ObservationId, Kept>> {
    of_observations(snapshot, &access.read(), ["home", "community"]).await
}

async fn of_observations<R: Resource>(
    snapshot: &mut Snapshot,
    access: &Access<R, Read>,
    settings: [&'static str; 2],
) -> Result<BTreeMap<ObservationId, Kept>> {
    let limits = access.limits();
    let unlocked = stamp(snapshot.now().checked_sub(LOCK).unwrap_or(snapshot.now()));
    let rows = query(
        "select w.observation_id, w.said_on, w.about, w.worked, w.would_use, w.words, a.name as by_name, a.role as by_role
         from student_words w join observation o on o.id = w.observation_id and o.student_id = w.student_id
         join account a on a.id = w.entered_by
         where w.student_id = $1 and o.setting in ($2, $3) and o.state = 'entered'
         and (o.entered_by = $4 or ($5 = 0 and ($6 = 0 or o.shared_with_class = 1) and ($7 = 0 or o.entered_at <= $8)))",
    )
    .bind(access.student().to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(access.actor().account.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.shared_only))
    .bind(i64::from(limits.locked_only))
    .bind(unlocked)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok((row.parsed("observation_id")?, kept(row)?))).collect()
}

/// What this reader may read of the entries that words may stand in.
pub struct Sources {
    /// Posts.
    pub thread: Option<Access<Thread, Read>>,
    /// Observations in class.
    pub class: Option<Access<ClassObservation, Read>>,
    /// Observations at home and in the community.
    pub home: Option<Access<HomeObservation, Read>>,
}

/// What the student said in a range of days, oldest first: to be quoted.
///
/// # Errors
/// When the database fails.
pub async fn of_range(snapshot: &mut Snapshot, sources: &Sources, from: Date, to: Date) -> Result<Vec<Kept>> {
    let mut found: Vec<Kept> = Vec::new();
    if let Some(access) = &sources.thread {
        found.extend(of_posts(snapshot, access).await?.into_values());
    }
    if let Some(access) = &sources.class {
        found.extend(in_class(snapshot, access).await?.into_values());
    }
    if let Some(access) = &sources.home {
        found.extend(outside(snapshot, access).await?.into_values());
    }
    found.retain(|kept| (from..=to).contains(&kept.on) && !kept.said.words.is_empty());
    found.sort_by_key(|kept| kept.on);
    Ok(found)
}
