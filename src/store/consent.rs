//! Consents in both directions, and what they let cross.
//!
//! Signing one sends at once every signed document it covers; withdrawing one
//! stops what is new and leaves what was sent. What somebody else gave on paper
//! or in person is recorded in [`witnessed`].

pub mod witnessed;

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::account::Reentered;
use super::asked::{self, asked};
use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, sending};
use crate::access::Access;
use crate::access::action::{Reads, Sign};
use crate::access::resource::Consents;
use crate::care::consent::{Category, Consent, Direction, Party, SignerKind};
use crate::care::consent::{Due, due as due_of};
use crate::care::ids::{AccountId, ConsentId, StudentId};
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
    /// When it was signed on screen, or entered by whoever witnessed it.
    pub signed_at: Timestamp,
    /// The day it was signed, where somebody else entered it.
    pub signed_on: Option<Date>,
    /// The account of the signer, where there is one.
    pub signer_account: Option<AccountId>,
    /// How the signer is related.
    pub relation: String,
    /// Whose right the signer used.
    pub kind: SignerKind,
    /// Who was there, of one given in person.
    pub witness: String,
    /// Who entered it, by name.
    pub entered_by: String,
    /// How it was withdrawn.
    pub withdrawal: Option<Withdrawal>,
}

/// How a consent was withdrawn.
pub struct Withdrawal {
    /// When.
    pub at: Timestamp,
    /// Who entered it, by name.
    pub by: String,
    /// Who told it in person, with the relation; empty, the one who entered it.
    pub told_by: String,
    /// Who was there when it was told.
    pub witness: String,
}

/// The categories column of a row.
pub(super) fn categories_of(row: &AnyRow) -> std::result::Result<BTreeSet<Category>, sqlx::Error> {
    row.json("categories")
}

fn listed(row: &AnyRow, day_of: impl Fn(Timestamp) -> Date) -> std::result::Result<Listed, sqlx::Error> {
    let withdrawn_at = row.opt_instant("withdrawn_at")?;
    let party = |column| {
        row.text(column).and_then(|name| {
            Party::new(&name)
                .map_err(|error| sqlx::Error::ColumnDecode { index: String::from(column), source: Box::new(error) })
        })
    };
    let withdrawal = match withdrawn_at {
        Some(at) => Some(Withdrawal {
            at,
            by: row.text("withdrawn_by_name")?,
            told_by: row.text("withdrawn_name")?,
            witness: row.text("withdrawn_witness")?,
        }),
        None => None,
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
            given: row.parsed("how")?,
            language: row.text("language")?,
            withdrawn: withdrawn_at.map(day_of),
        },
        signed_at: row.instant("signed_at")?,
        signed_on: row.opt_date("signed_on")?,
        signer_account: row.opt_parsed("signer_account")?,
        relation: row.text("signer_relation")?,
        kind: row.parsed("signer_kind")?,
        witness: row.text("witness")?,
        entered_by: row.text("entered_by_name")?,
        withdrawal,
    })
}

// Emergencies lie in the same table and are no consents: they send nothing and
// open no gate. They are read by `store::emergency`.
const OF_STUDENTS: &str = concat!(
    "select c.student_id, c.id, c.direction, c.categories, c.purpose, c.from_party, c.to_party, c.starts_on, c.ends_on,
     c.signer_account, c.signer_name, c.signer_relation, c.signer_kind, c.signed_on, c.how, c.language, c.witness,
     c.signed_at, c.withdrawn_at, c.withdrawn_name, c.withdrawn_witness,
     e.name as entered_by_name, coalesce(w.name, '') as withdrawn_by_name
     from consent c join account e on e.id = c.entered_by left join account w on w.id = c.withdrawn_by
     where c.how <> 'emergency' and c.student_id in ",
    asked!(),
    " order by c.signed_at desc, c.id desc"
);

/// Every consent of a student, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Consents, impl Reads>) -> Result<Vec<Listed>> {
    all_of(snapshot, access.student()).await
}

/// What is to be said of a student's consents today: those that end within 30
/// days, and those that ended with nothing in their place.
///
/// # Errors
/// When the database fails.
pub async fn due(snapshot: &mut Snapshot, access: &Access<Consents, impl Reads>) -> Result<Vec<(Consent, Due)>> {
    let today = snapshot.today();
    let consents: Vec<Consent> = list(snapshot, access).await?.into_iter().map(|listed| listed.consent).collect();
    Ok(due_of(&consents, today).into_iter().map(|(consent, due)| (consent.clone(), due)).collect())
}

/// The same, for gates and sendings inside the store.
pub(super) async fn all_of(snapshot: &mut Snapshot, student: StudentId) -> Result<Vec<Listed>> {
    let rows = query(OF_STUDENTS).bind(student.to_string()).fetch_all(snapshot.connection()).await?;
    let zone = snapshot.zone().clone();
    let day = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
    Ok(rows.iter().map(|row| listed(row, day)).collect::<std::result::Result<_, _>>()?)
}

/// Every consent of several students, newest first, for gates inside the store.
pub(super) async fn all_of_students(snapshot: &mut Snapshot, students: &str) -> Result<Vec<(StudentId, Consent)>> {
    let rows = query(OF_STUDENTS).bind(students.to_owned()).fetch_all(snapshot.connection()).await?;
    let zone = snapshot.zone().clone();
    let day = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
    rows.iter().map(|row| Ok((row.parsed("student_id")?, listed(row, day)?.consent))).collect()
}

/// Every consent of a caseload, each student by a proof of their own.
///
/// # Errors
/// When the database fails.
pub async fn of_all(
    snapshot: &mut Snapshot,
    proofs: &[Access<Consents, impl Reads>],
) -> Result<Vec<(StudentId, Consent)>> {
    all_of_students(snapshot, &asked::of_proofs(proofs)).await
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
    if reentered.account() != access.actor().account || access.limits().witnessed || !may_name(access, new) {
        return Err(StoreError::Missing);
    }
    tx.take_turn().await?;
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
    sending::of_started_consents(tx, access.student()).await?;
    Ok(id)
}

/// Whether the signer may name what the consent names, and all of it goes that way.
fn may_name(access: &Access<Consents, Sign>, new: &NewConsent) -> bool {
    let limits = access.limits();
    // Whoever witnesses signs nothing away: the signer's own rights count then.
    let theirs = |category: &Category| limits.witnessed || limits.may_sign.contains(*category);
    !new.categories.is_empty() && new.categories.iter().all(|one| theirs(one) && one.goes(new.direction))
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
    let done = query("update consent set withdrawn_at = $1, withdrawn_by = $2 where id = $3 and student_id = $4 and how <> 'emergency' and withdrawn_at is null")
        .bind(at)
        .bind(access.actor().account.to_string())
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}
