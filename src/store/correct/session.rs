//! Correcting a training session, exercise by exercise.
//!
//! The exercises are written anew in their order; the gates are asked again
//! unless device, day, probe and skills stay as they were.

use std::collections::BTreeMap;

use jiff::Timestamp;
use sqlx::query;

use super::super::training::{self, Through, add_exercise};
use super::super::{Result, Snapshot, StoreError, Tx, amendment, met, observation};
use super::{Outcome, device_words};
use crate::access::Access;
use crate::access::action::Amend;
use crate::access::resource::Training;
use crate::care::amendment::{Correction, changes};
use crate::care::gates::Named;
use crate::care::ids::{SessionId, VisualTaskId};
use crate::care::training::texts::texts;
use crate::care::training::{NewSession, Session};
use crate::db::column::{Columns, flag, json};

/// A session as it is stored, for the form that amends it.
pub struct Stored {
    /// The session.
    pub session: Session,
    /// Whether it is marked as entered in error.
    pub in_error: bool,
    /// How often it was changed.
    pub version: i64,
}

impl Stored {
    /// Whether a change of it is an amendment that says why.
    #[must_use]
    pub fn locked(&self, now: Timestamp) -> bool {
        self.session.entered_at.checked_add(observation::LOCK).is_ok_and(|opens| opens <= now)
    }

    /// Whether a new text leaves alone what the gates were asked for.
    #[must_use]
    pub fn asks_no_gate(&self, new: &NewSession) -> bool {
        let was = &self.session.entered;
        new.device == was.device
            && new.held_on == was.held_on
            && new.baseline == was.baseline
            && (new.order_reason == was.order_reason || !new.order_reason.is_empty())
            && new.exercises.iter().all(|one| was.exercises.iter().any(|kept| kept.skill == one.skill))
    }
}

/// The session, if this person may correct it.
///
/// # Errors
/// [`StoreError::Missing`] otherwise.
pub async fn stored(snapshot: &mut Snapshot, access: &Access<Training, Amend>, id: SessionId) -> Result<Stored> {
    let row = query(
        "select state, version from training_session where id = $1 and student_id = $2 and ($3 = 0 or entered_by = $4)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    let in_error = row.text("state")? == "entered_in_error";
    let session = if in_error {
        training::errors(snapshot, access).await?.into_iter().find(|one| one.id == id).ok_or(StoreError::Missing)?
    } else {
        training::one(snapshot, access, id).await?
    };
    Ok(Stored { session, in_error, version: row.whole("version")? })
}

/// Amends a session that is locked, or changes one that is not; both texts stay.
///
/// # Errors
/// [`StoreError::Missing`] when the gates were not asked for the new text or a
/// task is not this student's, [`StoreError::Stale`] when it was changed or
/// marked meanwhile.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Training, Amend>,
    (stored, version): (&Stored, Option<i64>),
    through: Option<&Through>,
    (new, reason): (&NewSession, Option<&str>),
) -> Result<Outcome> {
    let was = &stored.session.entered;
    let passed = through.is_some_and(|through| through.lets(new)) || stored.asks_no_gate(new);
    if new.track != was.track || !passed {
        return Err(StoreError::Missing);
    }
    if stored.in_error || version != Some(stored.version) {
        return Err(StoreError::Stale);
    }
    let reason = match reason {
        None if stored.locked(tx.now()) => return Ok(Outcome::NoReason),
        reason => reason,
    };
    let tasks = task_names(tx, access).await?;
    let name = |task: VisualTaskId| tasks.get(&task).cloned().unwrap_or_default();
    let before = texts(was, &device_words(tx, access, was.device).await?, name);
    let after = texts(new, &device_words(tx, access, new.device).await?, name);
    let correction = match Correction::asked(changes(before, after), reason) {
        Ok(correction) => correction,
        Err(refused) => return Ok(refused.into()),
    };
    let (loan, own) = match new.device {
        Named::NoDevice => (None, None),
        Named::Loan(id) => (Some(id.to_string()), None),
        Named::Own(id) => (None, Some(id.to_string())),
    };
    let felt: Vec<&str> =
        new.symptoms.iter().map(|one| one.code()).chain(new.signs.iter().map(|one| one.code())).collect();
    let done = query(
        "update training_session set loan_id = $1, own_device_id = $2, baseline = $3, held_on = $4, minutes = $5, place = $6,
         light = $7, body_position = $8, glasses = $9, comfort = $10, symptoms = $11, refused = $12, refused_reason = $13,
         order_reason = $14, note = $15, version = version + 1
         where id = $16 and student_id = $17 and version = $18 and state = 'entered' and ($19 = 0 or entered_by = $20)",
    )
    .bind(loan)
    .bind(own)
    .bind(flag(new.baseline))
    .bind(new.held_on.to_string())
    .bind(new.minutes)
    .bind(new.place.code().to_owned())
    .bind(new.light.map_or("", |light| light.code()).to_owned())
    .bind(new.body.code().to_owned())
    .bind(new.glasses.map_or("", |glasses| glasses.code()).to_owned())
    .bind(new.comfort.map_or("", |comfort| comfort.code()).to_owned())
    .bind(json(&felt))
    .bind(flag(new.refused.is_some()))
    .bind(new.refused.clone().unwrap_or_default())
    .bind(new.order_reason.clone())
    .bind(new.note.clone())
    .bind(stored.session.id.to_string())
    .bind(access.student().to_string())
    .bind(stored.version)
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    query("delete from exercise where session_id = $1 and student_id = $2")
        .bind(stored.session.id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    for (position, exercise) in (0_i64..).zip(&new.exercises) {
        add_exercise(tx, access, stored.session.id, position, exercise).await?;
    }
    if let Some(through) = through {
        training::keep_evidence(tx, access, stored.session.id, through).await?;
    }
    amendment::write(tx, access, stored.session.id, &correction).await?;
    Ok(Outcome::Kept)
}

async fn task_names(
    snapshot: &mut Snapshot,
    access: &Access<Training, Amend>,
) -> Result<BTreeMap<VisualTaskId, String>> {
    let rows = query("select id, name from visual_task where student_id = $1")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    Ok(rows
        .iter()
        .map(|row| Ok((row.parsed("id")?, row.text("name")?)))
        .collect::<std::result::Result<_, sqlx::Error>>()?)
}
