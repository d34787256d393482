//! Correcting what was agreed about a loan: when it went out and is due, in which
//! condition, who holds it.
//!
//! The device stays the one that was lent: another one is another loan.

use jiff::civil::Date;
use sqlx::query;

use super::super::{Result, Snapshot, StoreError, Tx, amendment, journey, loan, met, pool};
use super::Outcome;
use crate::access::Access;
use crate::access::action::{Amend, Edit};
use crate::access::resource::Loans;
use crate::care::amendment::{Change, Correction, changes};
use crate::care::gates::SafeToTrain;
use crate::care::ids::LoanId;
use crate::care::loan::texts::{Returned, texts};
use crate::care::loan::{LoanRecord, NewLoan};
use crate::db::column::{Columns, flag, text};

/// A loan as it is stored, for the form that amends it.
pub struct Stored {
    /// The loan.
    pub loan: LoanRecord,
    /// Whether it is marked as entered in error.
    pub in_error: bool,
    /// Kind and id of the recommendation it was lent under.
    basis: (String, String),
}

impl Stored {
    /// The day it came back, and in which condition.
    #[must_use]
    pub fn returned(&self) -> Option<Returned> {
        self.loan.returned_on.map(|day| (day, self.loan.condition_in))
    }

    /// Whether this is the recommendation that it was lent under.
    #[must_use]
    pub fn rests_on(&self, safe: SafeToTrain) -> bool {
        let (kind, evidence) = journey::basis_columns(safe.basis());
        self.basis.0 == kind && self.basis.1 == evidence
    }
}

/// The loan, if this person may correct it.
///
/// # Errors
/// [`StoreError::Missing`] otherwise.
pub async fn stored(snapshot: &mut Snapshot, access: &Access<Loans, Amend>, id: LoanId) -> Result<Stored> {
    let row = query(
        "select entered_in_error_at, evidence_kind, evidence_id from loan
         where id = $1 and student_id = $2 and ($3 = 0 or entered_by = $4)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    let in_error = row.opt_instant("entered_in_error_at")?.is_some();
    let reading = access.read();
    let all = if in_error { loan::errors(snapshot, &reading).await? } else { loan::list(snapshot, &reading).await? };
    let loan = all.into_iter().find(|loan| loan.id == id).ok_or(StoreError::Missing)?;
    Ok(Stored { loan, in_error, basis: (row.text("evidence_kind")?, row.text("evidence_id")?) })
}

/// What stands against other days of a loan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    /// A session or an observation of this day names it, before it went out.
    UsedBefore(Date),
    /// A session or an observation of this day names it, after it came back.
    UsedAfter(Date),
    /// The device was out on another loan within these days.
    OutThen,
}

/// What stands against these days, if anything does.
///
/// # Errors
/// When the database fails.
pub async fn against(
    snapshot: &mut Snapshot,
    access: &Access<Loans, Amend>,
    stored: &Stored,
    (lent, returned): (Date, Option<Date>),
) -> Result<Option<Against>> {
    let used = query(
        "select min(u.day) as first_day, max(u.day) as last_day from (
           select held_on as day from training_session where loan_id = $1 and student_id = $2 and state = 'entered'
           union all
           select seen_on as day from observation where loan_id = $1 and student_id = $2 and state = 'entered') u",
    )
    .bind(stored.loan.id.to_string())
    .bind(access.student().to_string())
    .fetch_one(snapshot.connection())
    .await?;
    if let Some(first) = used.opt_date("first_day")?.filter(|first| *first < lent) {
        return Ok(Some(Against::UsedBefore(first)));
    }
    let last = used.opt_date("last_day")?;
    if let Some(last) = last.filter(|last| returned.is_some_and(|returned| returned < *last)) {
        return Ok(Some(Against::UsedAfter(last)));
    }
    // Whose loan that was is nobody's affair here.
    let other = query(
        "select count(*) as n from loan where device_id = $1 and id <> $2 and entered_in_error_at is null
         and ($3 = '' or lent_on < $3) and (returned_on is null or returned_on > $4)",
    )
    .bind(stored.loan.device.to_string())
    .bind(stored.loan.id.to_string())
    .bind(returned.map(|day| day.to_string()).unwrap_or_default())
    .bind(lent.to_string())
    .fetch_one(snapshot.connection())
    .await?;
    Ok((other.whole("n")? > 0).then_some(Against::OutThen))
}

/// What an amendment puts in place of what is stored.
pub struct Amended<'a> {
    /// What was agreed.
    pub entered: &'a NewLoan,
    /// When it came back; none while it is out.
    pub returned: Option<Returned>,
    /// G2 on the day it went out; none where that day stays as it is.
    pub safe: Option<SafeToTrain>,
    /// Why.
    pub reason: &'a str,
}

/// Amends a loan; both texts stay.
///
/// # Errors
/// [`StoreError::Missing`] when the gate was not asked for another day, or
/// something stands [`against`] the days; [`StoreError::Stale`] when it was
/// changed, given back or marked meanwhile.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Loans, Amend>,
    (stored, version): (&Stored, Option<i64>),
    new: &Amended<'_>,
) -> Result<Outcome> {
    let (was, entered) = (&stored.loan.entered, new.entered);
    let passed = new
        .safe
        .is_some_and(|safe| safe.track() == was.track && safe.day() == entered.lent_on && stored.rests_on(safe));
    let same_loan = entered.track == was.track && entered.eye == was.eye;
    if !same_loan || !(passed || entered.lent_on == was.lent_on) {
        return Err(StoreError::Missing);
    }
    if stored.in_error || version != Some(stored.loan.version) {
        return Err(StoreError::Stale);
    }
    let back = new.returned.map(|(day, _)| day);
    if back.is_some() != stored.loan.returned_on.is_some() {
        return Err(StoreError::Stale);
    }
    let days = (entered.lent_on, back);
    if days != (was.lent_on, stored.loan.returned_on) && against(tx, access, stored, days).await?.is_some() {
        return Err(StoreError::Missing);
    }
    let (before, after) = (texts(was, stored.returned()), texts(entered, new.returned));
    let correction = match Correction::because(changes(before, after), new.reason) {
        Ok(correction) => correction,
        Err(refused) => return Ok(refused.into()),
    };
    let done = query(
        "update loan set lent_on = $1, due_on = $2, condition_out = $3, strap = $4, carry_case = $5, home_use = $6,
         agreement_by = $7, held_by = $8, purpose = $9, returned_on = $10, condition_in = $11, version = version + 1
         where id = $12 and student_id = $13 and version = $14 and entered_in_error_at is null and ($15 = 0 or entered_by = $16)",
    )
    .bind(entered.lent_on.to_string())
    .bind(entered.due_on.to_string())
    .bind(entered.condition_out.code().to_owned())
    .bind(flag(entered.strap))
    .bind(flag(entered.carry_case))
    .bind(flag(entered.home_use))
    .bind(entered.agreement_by.code().to_owned())
    .bind(entered.held_by.code().to_owned())
    .bind(entered.purpose.code().to_owned())
    .bind(text(back))
    .bind(new.returned.and_then(|(_, condition)| condition).map_or("", |one| one.code()).to_owned())
    .bind(stored.loan.id.to_string())
    .bind(access.student().to_string())
    .bind(stored.loan.version)
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    if back.is_none() && entered.condition_out != was.condition_out {
        pool::went_out(tx, stored.loan.device, entered.condition_out).await?;
    }
    amendment::write(tx, access, stored.loan.id, &correction).await?;
    Ok(Outcome::Kept)
}

/// Has every loan that is still out due back by that day at the latest; a loan
/// due sooner keeps its day.
///
/// # Errors
/// When the database fails.
pub async fn due_back(tx: &mut Tx, access: &Access<Loans, Edit>, by: Date, reason: &str) -> Result<()> {
    let rows = query(
        "select id, due_on, version from loan where student_id = $1 and returned_on is null and due_on > $2 order by id",
    )
    .bind(access.student().to_string())
    .bind(by.to_string())
    .fetch_all(tx.connection())
    .await?;
    for row in &rows {
        let (id, due): (LoanId, Date) = (row.parsed("id")?, row.date("due_on")?);
        let words = |day: Date| day.strftime("%-d %B %Y").to_string();
        let done = query(
            "update loan set due_on = $1, version = version + 1 where id = $2 and student_id = $3 and version = $4",
        )
        .bind(by.to_string())
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(row.whole("version")?)
        .execute(tx.connection())
        .await?;
        met(done.rows_affected())?;
        if let Ok(correction) = Correction::because([Change::of("Due back", words(due), words(by))], reason) {
            amendment::write(tx, access, id, &correction).await?;
        }
    }
    Ok(())
}
