//! Correcting a decision: words amended, superseded by another, entered in error.

use sqlx::query;

use super::Decision;
use crate::access::Access;
use crate::access::action::{Amend, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Look, Mark, Worded};
use crate::care::ids::DecisionId;
use crate::care::journey::fact::Choice;
use crate::care::track::Track;
use crate::store::account::Reentered;
use crate::store::document::{self, NewMark};
use crate::store::{Result, StoreError, Tx, met};

impl Worded for Decision {
    /// What was chosen is never amended: for that another decision is made.
    fn each_text(&mut self, look: &mut Look<'_>) {
        look("reason", "Why", true, &mut self.reason);
        if self.choice == Choice::ChangeMaterial {
            look("filter", "Filter", false, &mut self.material.filter);
        }
        if self.choice == Choice::Finalise && !self.no_summary_reason.is_empty() {
            look("no_summary_reason", "Finalised without a summary because", true, &mut self.no_summary_reason);
        }
    }
}

/// Amends words of a decision.
///
/// # Errors
/// [`StoreError::Missing`] when there is none, [`StoreError::Stale`] when it has
/// ended or was amended meanwhile.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Row, Amend>,
    id: DecisionId,
    correction: &Correction,
    seen: i64,
) -> Result<()> {
    let row = query("select id from decision where id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_optional(tx.connection())
        .await?;
    row.ok_or(StoreError::Missing)?;
    document::amend(tx, access, (Kind::Decision, id.into()), correction, seen).await
}

/// Marks a decision entered in error: it counts as never made.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's,
/// [`StoreError::Stale`] when it has ended or was marked meanwhile.
pub async fn enter_in_error(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    reentered: &Reentered,
    id: DecisionId,
    (reason, seen): (&str, i64),
) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let new = NewMark { mark: Mark::EnteredInError, reason, next: None, seen: Some(seen) };
    document::mark(tx, access, (Kind::Decision, &id.to_string()), &new).await?;
    let done =
        query("update decision set state = 'entered_in_error' where id = $1 and student_id = $2 and state = 'signed'")
            .bind(id.to_string())
            .bind(access.student().to_string())
            .execute(tx.connection())
            .await?;
    met(done.rows_affected())
}

/// Marks what a decision just signed takes the place of.
pub(super) async fn take_place(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    (old, track): (DecisionId, Track),
    (id, reason): (DecisionId, &str),
) -> Result<()> {
    let row = query("select id from decision where id = $1 and student_id = $2 and track = $3 and state = 'signed'")
        .bind(old.to_string())
        .bind(access.student().to_string())
        .bind(track.code().to_owned())
        .fetch_optional(tx.connection())
        .await?;
    row.ok_or(StoreError::Stale)?;
    let new = NewMark { mark: Mark::Superseded, reason, next: Some(id.to_string()), seen: None };
    document::mark(tx, access, (Kind::Decision, &old.to_string()), &new).await
}
