//! Correcting what was agreed about a loan: when it is due, who holds it.

use jiff::civil::Date;
use sqlx::query;

use super::super::{Result, Tx, amendment, met};
use crate::access::Access;
use crate::access::action::Edit;
use crate::access::resource::Loans;
use crate::care::amendment::{Change, Correction};
use crate::care::ids::LoanId;
use crate::db::column::Columns;

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
