//! Emergency access without a consent: one category, 24 hours, with a reason (G7).
//!
//! An emergency is kept beside the consents, as a row that ends at an instant.
//! It sends no document and opens no gate; it only lets its category be read on
//! the side that opened it, and every read is logged with it as the ground.

use jiff::Timestamp;
use sqlx::any::AnyRow;
use sqlx::query;

use super::account::Reentered;
use super::asked::{self, asked};
use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, setting};
use crate::access::action::{Create, Edit, Reads, Sign};
use crate::access::resource::{Consents, Emergency};
use crate::access::{Access, Side};
use crate::care::consent::{Category, Direction, EMERGENCY};
use crate::care::ids::{AccountId, ConsentId, StudentId};
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, json, stamp};

/// An emergency as it stands in the list.
pub struct Opened {
    /// Which.
    pub id: ConsentId,
    /// The way it lets content go.
    pub direction: Direction,
    /// The one kind of record it opens.
    pub category: Category,
    /// Why.
    pub reason: String,
    /// Who opened it.
    pub by: String,
    /// The account that opened it.
    pub account: AccountId,
    /// The clinic or service it opens it to.
    pub to: String,
    /// When it was opened.
    pub at: Timestamp,
    /// When it ends by itself.
    pub until: Timestamp,
    /// When it was ended before that.
    pub ended_at: Option<Timestamp>,
    /// Who ended it.
    pub ended_by: String,
}

impl Opened {
    /// Whether it is open at an instant.
    pub fn open_at(&self, now: Timestamp) -> bool {
        self.ended_at.is_none() && now < self.until
    }
}

fn opened(row: &AnyRow) -> std::result::Result<Opened, sqlx::Error> {
    let categories: Vec<Category> = row.json("categories")?;
    let none = || sqlx::Error::ColumnNotFound("categories".to_owned());
    Ok(Opened {
        id: row.parsed("id")?,
        direction: row.parsed("direction")?,
        category: categories.into_iter().next().ok_or_else(none)?,
        reason: row.text("purpose")?,
        by: row.text("signer_name")?,
        account: row.parsed("entered_by")?,
        to: row.text("to_party")?,
        at: row.instant("signed_at")?,
        until: row.instant("expires_at")?,
        ended_at: row.opt_instant("withdrawn_at")?,
        ended_by: row.text("ended_by")?,
    })
}

/// Every emergency of a student, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Consents, impl Reads>) -> Result<Vec<Opened>> {
    let found = of_all(snapshot, std::slice::from_ref(access)).await?;
    Ok(found.into_iter().map(|(_, opened)| opened).collect())
}

/// Every emergency of a caseload, newest first, each student by a proof of their own.
///
/// # Errors
/// When the database fails.
pub async fn of_all(
    snapshot: &mut Snapshot,
    proofs: &[Access<Consents, impl Reads>],
) -> Result<Vec<(StudentId, Opened)>> {
    let rows = query(concat!(
        "select c.student_id, c.id, c.direction, c.categories, c.purpose, c.to_party, c.signer_name, c.entered_by, c.signed_at, c.expires_at,
         c.withdrawn_at, coalesce(a.name, '') as ended_by
         from consent c left join account a on a.id = c.withdrawn_by
         where c.how = 'emergency' and c.expires_at is not null and c.student_id in ",
        asked!(),
        " order by c.signed_at desc, c.id desc"
    ))
    .bind(asked::of_proofs(proofs))
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok((row.parsed("student_id")?, opened(row)?))).collect()
}

/// Opens one kind of record to the side of the person who asks, for 24 hours
/// from now, the password entered again.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's, the reason is
/// blank or the kind does not go this way; [`StoreError::Taken`] when an
/// emergency of this side is open for the kind already.
pub async fn open(
    tx: &mut Tx,
    access: &Access<Emergency, Create>,
    reentered: &Reentered,
    category: Category,
    reason: &str,
) -> Result<ConsentId> {
    let actor = access.actor().clone();
    let way = actor.side().reached_by().filter(|way| category.goes(*way)).ok_or(StoreError::Missing)?;
    if reentered.account() != actor.account || reason.trim().is_empty() {
        return Err(StoreError::Missing);
    }
    let owner = setting::site(tx).await?.owner().to_owned();
    let (from, to) = match actor.side() {
        Side::Clinic => (owner, actor.clinic.clone().ok_or(StoreError::Missing)?),
        _ => ("the clinic".to_owned(), owner),
    };
    // Two at the same moment: the second finds the first.
    tx.take_turn().await?;
    let now = tx.now();
    let open = query(
        "select to_party from consent
         where student_id = $1 and how = 'emergency' and direction = $2 and categories = $3
           and withdrawn_at is null and expires_at > $4",
    )
    .bind(access.student().to_string())
    .bind(way.code().to_owned())
    .bind(json(&[category]))
    .bind(stamp(now))
    .fetch_all(tx.connection())
    .await?;
    for row in &open {
        if super::standing::same_party(&row.text("to_party")?, &to) {
            return Err(StoreError::Taken);
        }
    }
    let id = fresh(ConsentId::of);
    let until = now.checked_add(EMERGENCY).unwrap_or(now);
    let (first, last) = (tx.today().to_string(), tx.date_of(until).to_string());
    query(
        "insert into consent (id, student_id, direction, categories, purpose, from_party, to_party, starts_on, ends_on,
         signer_account, signer_name, signer_relation, how, language, signed_at, entered_by, expires_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, 'emergency', '', $13, $10, $14)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(way.code().to_owned())
    .bind(json(&[category]))
    .bind(reason.to_owned())
    .bind(from)
    .bind(to.clone())
    .bind(first)
    .bind(last)
    .bind(actor.account.to_string())
    .bind(actor.name.clone())
    .bind(actor.role.map_or("", |role| role.code()).to_owned())
    .bind(stamp(now))
    .bind(stamp(until))
    .execute(tx.connection())
    .await?;
    // The family reads it where it reads everything that went across.
    query(
        "insert into disclosure (id, student_id, at, account_id, recipient, organisation, to_side, what, record_id, basis, consent_id, channel)
         values ($1, $2, $3, $4, $5, $6, $7, 'Emergency', $8, 'emergency', $8, 'screen')",
    )
    .bind(fresh_uuid().to_string())
    .bind(access.student().to_string())
    .bind(stamp(now))
    .bind(actor.account.to_string())
    .bind(actor.name.clone())
    .bind(to)
    .bind(actor.side().code().to_owned())
    .bind(id.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Whoever opened it ends it before its time.
///
/// # Errors
/// [`StoreError::Missing`] when it is not an open emergency of this student, or
/// somebody else's.
pub async fn end(tx: &mut Tx, access: &Access<Emergency, Edit>, reentered: &Reentered, id: ConsentId) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let own_only = i64::from(access.limits().own_only);
    tx.take_turn().await?;
    let now = stamp(tx.now());
    let done = query(
        "update consent set withdrawn_at = $1, withdrawn_by = $2
         where id = $3 and student_id = $4 and how = 'emergency' and withdrawn_at is null and expires_at > $1
           and ($5 = 0 or entered_by = $2)",
    )
    .bind(now)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(own_only)
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// A rights holder stops it, as a consent is withdrawn.
///
/// # Errors
/// [`StoreError::Missing`] when it is not an open emergency of this student, or
/// the actor only witnesses what a rights holder signs.
pub async fn stop(tx: &mut Tx, access: &Access<Consents, Sign>, reentered: &Reentered, id: ConsentId) -> Result<()> {
    if reentered.account() != access.actor().account || access.limits().witnessed {
        return Err(StoreError::Missing);
    }
    tx.take_turn().await?;
    let now = stamp(tx.now());
    let done = query(
        "update consent set withdrawn_at = $1, withdrawn_by = $2
         where id = $3 and student_id = $4 and how = 'emergency' and withdrawn_at is null and expires_at > $1",
    )
    .bind(now)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}
