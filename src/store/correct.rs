//! What was entered is corrected: amended field by field, or marked as entered
//! in error, with both texts kept (see [`super::amendment`]).
//!
//! Each kind of entry has its own file. What a correction writes goes through
//! the same gates as the entry did, unless it leaves alone what they asked for.

pub mod loan;
pub mod observation;
pub mod own_device;
pub mod post;
pub mod readiness;
pub mod session;

use sqlx::query;

use super::{Result, Snapshot, StoreError, Tx, amendment, met};
use crate::access::Access;
use crate::access::action::{Action, Amend};
use crate::access::resource::Resource;
use crate::care::amendment::{Correction, Kind, Refused, Subject};
use crate::care::gates::Named;
use crate::care::loan::plain_word;
use crate::db::column::{Columns, stamp};

/// What came of a correction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[must_use]
pub enum Outcome {
    /// It is kept, with both texts.
    Kept,
    /// Every field says what it said before; nothing was written.
    NothingChanged,
    /// It needs a reason; nothing was written.
    NoReason,
}

impl From<Refused> for Outcome {
    fn from(refused: Refused) -> Self {
        match refused {
            Refused::Nothing => Self::NothingChanged,
            Refused::NoReason => Self::NoReason,
        }
    }
}

/// Whether an entry counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Entered in error: listed, counted nowhere.
    InError,
    /// No error after all.
    NoError,
}

const fn statement(kind: Kind) -> Option<&'static str> {
    match kind {
        Kind::Observation => Some(
            "update observation set state = $1, version = version + 1
             where id = $2 and student_id = $3 and state = $4 and ($5 = 0 or entered_by = $6)",
        ),
        Kind::Session => Some(
            "update training_session set state = $1, version = version + 1
             where id = $2 and student_id = $3 and state = $4 and ($5 = 0 or entered_by = $6)",
        ),
        Kind::Post => Some(
            "update post set state = $1, version = version + 1
             where id = $2 and student_id = $3 and state = $4 and ($5 = 0 or account_id = $6)",
        ),
        _ => None,
    }
}

/// Marks an entry as entered in error, or takes that back; either keeps a reason.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such entry that this person may
/// correct, [`StoreError::Stale`] when it is marked so already.
pub async fn mark<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Amend>,
    subject: impl Into<Subject>,
    mark: Mark,
    reason: &str,
) -> Result<Outcome> {
    let subject = subject.into();
    let correction = match mark {
        Mark::InError => Correction::in_error(reason),
        Mark::NoError => Correction::no_error(reason),
    };
    let correction = match correction {
        Ok(correction) => correction,
        Err(refused) => return Ok(refused.into()),
    };
    amendment::write(tx, access, subject.clone(), &correction).await?;
    let (from, to) = match mark {
        Mark::InError => ("entered", "entered_in_error"),
        Mark::NoError => ("entered_in_error", "entered"),
    };
    let done = query(statement(subject.kind()).ok_or(StoreError::Missing)?)
        .bind(to.to_owned())
        .bind(subject.to_string())
        .bind(access.student().to_string())
        .bind(from.to_owned())
        .bind(i64::from(access.limits().own_only))
        .bind(access.actor().account.to_string())
        .execute(tx.connection())
        .await?;
    met(done.rows_affected())?;
    Ok(Outcome::Kept)
}

const fn lasting(kind: Kind) -> Option<&'static str> {
    match kind {
        Kind::Loan => Some(
            "update loan set entered_in_error_at = $1, returned_on = coalesce(returned_on, lent_on), version = version + 1
             where id = $2 and student_id = $3 and entered_in_error_at is null and ($4 = 0 or entered_by = $5)",
        ),
        Kind::OwnDevice => Some(
            "update own_device set entered_in_error_at = $1, version = version + 1
             where id = $2 and student_id = $3 and entered_in_error_at is null and ($4 = 0 or entered_by = $5)",
        ),
        Kind::Readiness => Some(
            "update readiness set entered_in_error_at = $1, version = version + 1
             where id = $2 and student_id = $3 and entered_in_error_at is null and signed_at is not null
             and ($4 = 0 or changed_by = $5)",
        ),
        _ => None,
    }
}

/// Marks a loan, an own device or a signed readiness list as entered in error,
/// with the reason. For good: what rests on it has been looked at again since, so
/// one that was right after all is entered anew.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such record in this student's file,
/// [`StoreError::Stale`] when it is marked already or not this person's to correct.
pub async fn mark_lasting<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Amend>,
    subject: impl Into<Subject>,
    reason: &str,
) -> Result<Outcome> {
    let subject = subject.into();
    let correction = match Correction::in_error(reason) {
        Ok(correction) => correction,
        Err(refused) => return Ok(refused.into()),
    };
    let at = stamp(tx.now());
    let done = query(lasting(subject.kind()).ok_or(StoreError::Missing)?)
        .bind(at)
        .bind(subject.to_string())
        .bind(access.student().to_string())
        .bind(i64::from(access.limits().own_only))
        .bind(access.actor().account.to_string())
        .execute(tx.connection())
        .await?;
    met(done.rows_affected())?;
    amendment::write(tx, access, subject, &correction).await?;
    Ok(Outcome::Kept)
}

/// A device that an entry names, as everybody who may read the entry may know it.
async fn device_words<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    named: Named,
) -> Result<String> {
    let (statement, id) = match named {
        Named::NoDevice => return Ok("no device".to_owned()),
        Named::Loan(id) => (
            "select d.kind, d.tag from loan l join device d on d.id = l.device_id where l.id = $1 and l.student_id = $2",
            id.to_string(),
        ),
        Named::Own(id) => (
            "select s.kind, o.tag from own_device o join device_spec s on s.id = o.spec_id where o.id = $1 and o.student_id = $2",
            id.to_string(),
        ),
    };
    let row = query(statement)
        .bind(id)
        .bind(access.student().to_string())
        .fetch_optional(snapshot.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    let (word, tag) = (plain_word(row.parsed("kind")?), row.text("tag")?);
    Ok(match named {
        Named::Own(_) if tag.is_empty() => format!("own {word}"),
        Named::Own(_) => format!("own {word}, {tag}"),
        _ => format!("{word}, loan {tag}"),
    })
}
