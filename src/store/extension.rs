//! What becomes of a loan while it is out: a later due date, which stands beside
//! the one it had, and a device lost or broken, which ends it.

use jiff::civil::Date;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, Tx, loan, met};
use crate::access::Access;
use crate::access::action::{Edit, Reads};
use crate::access::resource::Loans;
use crate::care::device::Condition;
use crate::care::gates::MayExtend;
use crate::care::ids::{LoanExtensionId, LoanId, LoanReportId};
use crate::care::loan::LoanRecord;
use crate::db::column::{Columns, stamp};

/// A later due date.
#[derive(Clone)]
pub struct Extension {
    /// The loan.
    pub loan: LoanId,
    /// The day it was due before.
    pub before: Date,
    /// The day it is due after.
    pub after: Date,
    /// Why.
    pub reason: String,
    /// The day this was entered.
    pub on: Date,
    /// Who entered it, by name.
    pub by: String,
}

/// A device lost or broken while it was out.
#[derive(Clone)]
pub struct Report {
    /// The loan.
    pub loan: LoanId,
    /// Who told of it.
    pub told_by: String,
    /// What happened.
    pub words: String,
    /// Who entered it, by name.
    pub by: String,
}

/// Every later due date of a student's loans, oldest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<Extension>> {
    let rows = query(
        "select e.loan_id, e.due_before, e.due_after, e.reason, e.at, a.name as by_name
         from loan_extension e join account a on a.id = e.account_id where e.student_id = $1 order by e.at, e.id",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Extension {
                loan: row.parsed("loan_id")?,
                before: row.date("due_before")?,
                after: row.date("due_after")?,
                reason: row.text("reason")?,
                on: snapshot.date_of(row.instant("at")?),
                by: row.text("by_name")?,
            })
        })
        .collect()
}

/// Every report of a device lost or broken on loan.
///
/// # Errors
/// When the database fails.
pub async fn reports(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<Report>> {
    let rows = query(
        "select r.loan_id, r.told_by, r.words, a.name as by_name
         from loan_report r join account a on a.id = r.account_id where r.student_id = $1 order by r.at desc, r.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Report {
                loan: row.parsed("loan_id")?,
                told_by: row.text("told_by")?,
                words: row.text("words")?,
                by: row.text("by_name")?,
            })
        })
        .collect()
}

/// Gives a loan a later due date.
///
/// # Errors
/// [`super::StoreError::Stale`] when somebody saved the loan meanwhile.
pub async fn extend(
    tx: &mut Tx,
    access: &Access<Loans, Edit>,
    may: MayExtend,
    loan: &LoanRecord,
    due: Date,
    reason: &str,
) -> Result<LoanExtensionId> {
    let id = fresh(LoanExtensionId::of);
    let at = stamp(tx.now());
    let done = query(
        "update loan set due_on = $1, version = version + 1
         where id = $2 and student_id = $3 and version = $4 and returned_on is null and due_on < $1",
    )
    .bind(due.to_string())
    .bind(may.loan().to_string())
    .bind(access.student().to_string())
    .bind(loan.version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    query(
        "insert into loan_extension (id, student_id, loan_id, due_before, due_after, reason, at, account_id)
         values ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(may.loan().to_string())
    .bind(loan.entered.due_on.to_string())
    .bind(due.to_string())
    .bind(reason.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// What is said of a device lost or broken.
pub struct NewReport {
    /// Lost, or broken.
    pub condition: Condition,
    /// The day.
    pub on: Date,
    /// Who told of it.
    pub told_by: String,
    /// What happened.
    pub words: String,
}

/// Records a device lost or broken: the loan ends that day, and the device of
/// the pool is in that condition.
///
/// # Errors
/// As [`loan::give_back`].
pub async fn report(
    tx: &mut Tx,
    access: &Access<Loans, Edit>,
    loan: &LoanRecord,
    new: &NewReport,
) -> Result<LoanReportId> {
    loan::give_back(tx, access, loan.id, loan.version, new.on, new.condition).await?;
    let id = fresh(LoanReportId::of);
    let at = stamp(tx.now());
    query(
        "insert into loan_report (id, student_id, loan_id, told_by, words, at, account_id)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(loan.id.to_string())
    .bind(new.told_by.clone())
    .bind(new.words.clone())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}
