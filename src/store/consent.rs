//! Consents in both directions, and what they let cross.
//!
//! Signing one sends at once every signed document it covers; withdrawing one
//! stops what is new and leaves what was sent.

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::account::Reentered;
use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, sending};
use crate::access::Access;
use crate::access::action::{Reads, Sign};
use crate::access::resource::Consents;
use crate::care::consent::{Category, Consent, Direction, Given, Party};
use crate::care::ids::{AccountId, ConsentId};
use crate::db::column::{Columns, json, stamp};

/// A consent as it is about to be signed.
pub struct NewConsent {
    /// Which way.
    pub direction: Direction,
    /// What it covers.
    pub categories: BTreeSet<Category>,
    /// What for.
    pub purpose: String,
    /// Who gives.
    pub from: Party,
    /// Who receives.
    pub to: Party,
    /// The first day.
    pub start: Date,
    /// The last day.
    pub end: Date,
    /// How the signer is related to the student.
    pub relation: String,
    /// The language it was given in.
    pub language: String,
}

/// A consent in the list.
pub struct Listed {
    /// What was agreed.
    pub consent: Consent,
    /// When it was signed.
    pub signed_at: Timestamp,
    /// Who signed it on screen.
    pub signer_account: Option<AccountId>,
    /// How the signer is related.
    pub relation: String,
    /// When it was withdrawn.
    pub withdrawn_at: Option<Timestamp>,
}

/// The categories column of a row.
pub(super) fn categories_of(row: &AnyRow) -> std::result::Result<BTreeSet<Category>, sqlx::Error> {
    row.json("categories")
}

fn listed(row: &AnyRow, snapshot_zone: impl Fn(Timestamp) -> Date) -> std::result::Result<Listed, sqlx::Error> {
    let withdrawn_at = row.opt_instant("withdrawn_at")?;
    let party = |column| {
        row.text(column).and_then(|name| {
            Party::new(&name)
                .map_err(|error| sqlx::Error::ColumnDecode { index: String::from(column), source: Box::new(error) })
        })
    };
    Ok(Listed {
        consent: Consent {
            id: row.parsed("id")?,
            direction: row.parsed("direction")?,
            categories: categories_of(row)?,
            purpose: row.text("purpose")?,
            from: party("from_party")?,
            to: party("to_party")?,
            start: row.date("starts_on")?,
            end: row.opt_date("ends_on")?,
            signer: row.text("signer_name")?,
            given: row.parsed("how").unwrap_or(Given::OnScreen),
            language: row.text("language")?,
            withdrawn: withdrawn_at.map(snapshot_zone),
        },
        signed_at: row.instant("signed_at")?,
        signer_account: row.opt_parsed("signer_account")?,
        relation: row.text("signer_relation")?,
        withdrawn_at,
    })
}

const OF_STUDENT: &str = "select id, direction, categories, purpose, from_party, to_party, starts_on, ends_on, signer_account, signer_name, signer_relation, how, language, signed_at, withdrawn_at from consent where student_id = $1 order by signed_at desc";

/// Every consent of a student, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Consents, impl Reads>) -> Result<Vec<Listed>> {
    all_of(snapshot, access.student()).await
}

/// The same, for gates and sendings inside the store.
pub(super) async fn all_of(snapshot: &mut Snapshot, student: crate::care::ids::StudentId) -> Result<Vec<Listed>> {
    let rows = query(OF_STUDENT).bind(student.to_string()).fetch_all(snapshot.connection()).await?;
    let zone = snapshot.zone().clone();
    let day = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
    Ok(rows.iter().map(|row| listed(row, day)).collect::<std::result::Result<_, _>>()?)
}

/// A rights holder signs on screen, having entered the password again.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's, or when the
/// actor may only witness a consent given on paper, or names what is not the
/// actor's to name.
pub async fn sign(
    tx: &mut Tx,
    access: &Access<Consents, Sign>,
    reentered: &Reentered,
    new: &NewConsent,
) -> Result<ConsentId> {
    let limits = access.limits();
    let named = new.categories.iter().all(|one| limits.may_sign.contains(*one) && one.goes(new.direction));
    if reentered.account() != access.actor().account || limits.witnessed || new.categories.is_empty() || !named {
        return Err(StoreError::Missing);
    }
    let id = fresh(ConsentId::of);
    let at = stamp(tx.now());
    let by = access.actor().account.to_string();
    query(
        "insert into consent (id, student_id, direction, categories, purpose, from_party, to_party, starts_on, ends_on,
         signer_account, signer_name, signer_relation, how, language, signed_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, 'on_screen', $13, $14, $10)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.direction.code().to_owned())
    .bind(json(&new.categories))
    .bind(new.purpose.clone())
    .bind(new.from.name().to_owned())
    .bind(new.to.name().to_owned())
    .bind(new.start.to_string())
    .bind(new.end.to_string())
    .bind(by)
    .bind(access.actor().name.clone())
    .bind(new.relation.clone())
    .bind(new.language.clone())
    .bind(at)
    .execute(tx.connection())
    .await?;
    sending::of_new_consent(tx, access.student()).await?;
    Ok(id)
}

/// A rights holder withdraws a consent, having entered the password again: from
/// now on nothing new crosses.
///
/// # Errors
/// [`StoreError::Missing`] when it is not a consent of this student that was
/// not withdrawn, or as [`sign`].
pub async fn withdraw(
    tx: &mut Tx,
    access: &Access<Consents, Sign>,
    reentered: &Reentered,
    id: ConsentId,
) -> Result<()> {
    if reentered.account() != access.actor().account || access.limits().witnessed {
        return Err(StoreError::Missing);
    }
    // A read that is being logged at this moment comes before or after, whole.
    tx.take_turn().await?;
    let at = stamp(tx.now());
    let done = query("update consent set withdrawn_at = $1, withdrawn_by = $2 where id = $3 and student_id = $4 and withdrawn_at is null")
        .bind(at)
        .bind(access.actor().account.to_string())
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}
