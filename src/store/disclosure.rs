//! The disclosure record: what content went across, to whom, on which ground.
//!
//! A row is written before the reader gets the proof, so that nothing crosses
//! without one. The family may read it.

use jiff::Timestamp;
use sqlx::query;

use super::{Audit, Result, Snapshot, Store, standing};
use crate::access::action::{Action, Reads};
use crate::access::limits::Basis;
use crate::access::resource::{DisclosureRecord, Resource};
use crate::access::{Access, Side};
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};

/// Writes the row of a read that takes content to the other side, and gives the
/// proof to read with; nothing when what allowed the read is gone by now.
///
/// G7: a withdrawal stops what is live at once. So the policy is asked again in
/// the transaction that writes the row, after every withdrawal that was faster:
/// each read either stands in the log before the withdrawal, or is not given.
///
/// # Errors
/// When the database fails; then the content must not be shown.
pub async fn of_reading<R: Resource, A: Action>(store: &Store, access: Access<R, A>) -> Result<Option<Access<R, A>>> {
    if access.crossing().is_none() {
        return Ok(Some(access));
    }
    let mut tx = store.tx().await?;
    tx.take_turn().await?;
    let standing = standing::of(&mut tx, access.actor(), access.student(), access.password()).await?;
    let Ok(access) = access.again(&standing) else { return Ok(None) };
    let Some(crossing) = access.crossing() else { return Ok(Some(access)) };
    let basis = match crossing.basis {
        Basis::Consent(_) => "consent",
        Basis::Emergency(_) => "emergency",
        Basis::AsSent => "sent",
        Basis::Safety => "none",
    };
    let at = stamp(tx.now());
    query(
        "insert into disclosure (id, student_id, at, account_id, recipient, organisation, to_side, what, basis, consent_id, channel)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, 'screen')",
    )
    .bind(fresh_uuid().to_string())
    .bind(access.student().to_string())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(access.actor().name.clone())
    .bind(access.actor().clinic.clone().unwrap_or_default())
    .bind(access.actor().side().code().to_owned())
    .bind(R::ROW.name().to_owned())
    .bind(basis.to_owned())
    .bind(crossing.consent().map(|id| id.to_string()))
    .execute(tx.connection())
    .await?;
    tx.commit(Audit::by(&access).doing("read")).await?;
    Ok(Some(access))
}

/// One row as the family reads it.
pub struct Disclosure {
    /// When.
    pub at: Timestamp,
    /// Who received it.
    pub recipient: String,
    /// For whom that person works.
    pub organisation: String,
    /// To which side it went.
    pub to_side: Side,
    /// Which kind of record.
    pub what: String,
    /// On which ground.
    pub basis: String,
    /// By which way.
    pub channel: String,
}

/// The disclosure record of a student, newest first; a reader limited to their
/// own sees only what they received.
///
/// # Errors
/// When the database fails.
pub async fn of_student(
    snapshot: &mut Snapshot,
    access: &Access<DisclosureRecord, impl Reads>,
) -> Result<Vec<Disclosure>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select at, recipient, organisation, to_side, what, basis, channel from disclosure
         where student_id = $1 and ($2 = 0 or account_id = $3)
         order by at desc, id desc limit 500",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Disclosure {
                at: row.instant("at")?,
                recipient: row.text("recipient")?,
                organisation: row.text("organisation")?,
                to_side: row.parsed("to_side")?,
                what: row.text("what")?,
                basis: row.text("basis")?,
                channel: row.text("channel")?,
            })
        })
        .collect()
}
