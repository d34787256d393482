//! Asking a clinician to allow a device that does not match (G4), the answer,
//! and the leave itself while it holds.
//!
//! Leave holds for one device under one recommendation; that it is void under
//! the next one is derived, see [`super::journey`]. Does not know the thread: a
//! question keeps the id of the post that carries it.

use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::journey::{basis, basis_columns};
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Create, Reads, Sign};
use crate::access::resource::{LoanDecision, Loans};
use crate::care::gates::AnotherDevice;
use crate::care::ids::{DeviceId, LoanAllowanceId, LoanRequestId, PostId};
use crate::care::journey::Basis;
use crate::care::track::Track;
use crate::db::column::{Columns, stamp};

/// A question to the clinician about one device.
#[derive(Clone)]
pub struct Request {
    /// Which question.
    pub id: LoanRequestId,
    /// The track the device would be for.
    pub track: Track,
    /// The pool device.
    pub device: DeviceId,
    /// Its tag.
    pub tag: String,
    /// The recommendation in force when it was asked.
    pub under: Basis,
    /// Why the vision teacher asks.
    pub reason: String,
    /// The post that carries it in the thread.
    pub post: Option<PostId>,
    /// The day.
    pub on: Date,
    /// Who asked, by name.
    pub by: String,
    /// The answer; none, it is open.
    pub answer: Option<Answered>,
}

/// What a clinician answered.
#[derive(Clone)]
pub struct Answered {
    /// Whether the device was allowed.
    pub allowed: bool,
    /// Why, or why not.
    pub reason: String,
    /// The day.
    pub on: Date,
    /// Who answered, by name.
    pub by: String,
}

/// A clinician's leave to lend one device.
#[derive(Clone)]
pub struct Allowance {
    /// Which leave.
    pub id: LoanAllowanceId,
    /// The track it is for.
    pub track: Track,
    /// The pool device.
    pub device: DeviceId,
    /// Its tag.
    pub tag: String,
    /// The recommendation it holds under.
    pub under: Basis,
    /// Why.
    pub reason: String,
    /// The day.
    pub on: Date,
    /// Who gave it, by name.
    pub by: String,
    /// That it was taken back.
    pub withdrawn: Option<Withdrawn>,
}

/// That leave was taken back.
#[derive(Clone)]
pub struct Withdrawn {
    /// The day.
    pub on: Date,
    /// Who took it back, by name.
    pub by: String,
    /// Why.
    pub reason: String,
}

fn request(snapshot: &Snapshot, row: &AnyRow) -> std::result::Result<Request, sqlx::Error> {
    let answer = match row.opt_instant("answered_at")? {
        Some(at) => Some(Answered {
            allowed: row.text("answer")? == "allowed",
            reason: row.text("answer_reason")?,
            on: snapshot.date_of(at),
            by: row.text("answered_name")?,
        }),
        None => None,
    };
    Ok(Request {
        id: row.parsed("id")?,
        track: row.parsed("track")?,
        device: row.parsed("device_id")?,
        tag: row.text("tag")?,
        under: basis(row, "under_kind", "under_id")?,
        reason: row.text("reason")?,
        post: row.opt_parsed("post_id")?,
        on: snapshot.date_of(row.instant("at")?),
        by: row.text("by_name")?,
        answer,
    })
}

/// Every question about a student's devices, newest first.
///
/// # Errors
/// When the database fails.
pub async fn requests(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<Request>> {
    let rows = query(
        "select r.id, r.track, r.device_id, r.under_kind, r.under_id, r.reason, r.post_id, r.at, r.answer, r.answer_reason,
         r.answered_at, d.tag, a.name as by_name, coalesce(b.name, '') as answered_name
         from loan_request r join device d on d.id = r.device_id join account a on a.id = r.account_id
         left join account b on b.id = r.answered_by
         where r.student_id = $1 order by r.at desc, r.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(|row| request(snapshot, row)).collect::<std::result::Result<_, _>>()?)
}

/// Every leave a clinician gave, newest first, those taken back too.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<Allowance>> {
    let rows = query(
        "select l.id, l.track, l.device_id, l.under_kind, l.under_id, l.reason, l.at, l.withdrawn_at, l.withdrawn_reason,
         d.tag, a.name as by_name, coalesce(b.name, '') as withdrawn_name
         from loan_allowance l join device d on d.id = l.device_id join account a on a.id = l.account_id
         left join account b on b.id = l.withdrawn_by
         where l.student_id = $1 order by l.at desc, l.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut given = Vec::new();
    for row in &rows {
        let withdrawn = match row.opt_instant("withdrawn_at")? {
            Some(at) => Some(Withdrawn {
                on: snapshot.date_of(at),
                by: row.text("withdrawn_name")?,
                reason: row.text("withdrawn_reason")?,
            }),
            None => None,
        };
        given.push(Allowance {
            id: row.parsed("id")?,
            track: row.parsed("track")?,
            device: row.parsed("device_id")?,
            tag: row.text("tag")?,
            under: basis(row, "under_kind", "under_id")?,
            reason: row.text("reason")?,
            on: snapshot.date_of(row.instant("at")?),
            by: row.text("by_name")?,
            withdrawn,
        });
    }
    Ok(given)
}

/// Asks a clinician about a device; the post carries the question.
///
/// # Errors
/// [`StoreError::Taken`] when the same question is open.
pub async fn ask(
    tx: &mut Tx,
    access: &Access<Loans, Create>,
    another: &AnotherDevice,
    reason: &str,
    post: PostId,
) -> Result<LoanRequestId> {
    let id = fresh(LoanRequestId::of);
    let (kind, under) = basis_columns(another.under());
    let at = stamp(tx.now());
    query(
        "insert into loan_request (id, student_id, track, device_id, under_kind, under_id, reason, post_id, at, account_id)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(another.track().code().to_owned())
    .bind(another.device().to_string())
    .bind(kind.to_owned())
    .bind(under)
    .bind(reason.to_owned())
    .bind(post.to_string())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Allows the device that was asked about.
///
/// # Errors
/// [`StoreError::Stale`] when the question was answered meanwhile,
/// [`StoreError::Taken`] when leave for the device holds already.
pub async fn allow(
    tx: &mut Tx,
    access: &Access<LoanDecision, Create>,
    id: LoanRequestId,
    another: &AnotherDevice,
    reason: &str,
) -> Result<LoanAllowanceId> {
    answer(tx, access, id, "allowed", reason).await?;
    let given = fresh(LoanAllowanceId::of);
    let (kind, under) = basis_columns(another.under());
    let at = stamp(tx.now());
    query(
        "insert into loan_allowance (id, student_id, track, device_id, under_kind, under_id, reason, at, account_id)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(given.to_string())
    .bind(access.student().to_string())
    .bind(another.track().code().to_owned())
    .bind(another.device().to_string())
    .bind(kind.to_owned())
    .bind(under)
    .bind(reason.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(given)
}

/// Leaves it at what is recommended.
///
/// # Errors
/// [`StoreError::Stale`] when the question was answered meanwhile.
pub async fn leave(tx: &mut Tx, access: &Access<LoanDecision, Create>, id: LoanRequestId, reason: &str) -> Result<()> {
    answer(tx, access, id, "left", reason).await
}

async fn answer(
    tx: &mut Tx,
    access: &Access<LoanDecision, Create>,
    id: LoanRequestId,
    answer: &str,
    reason: &str,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update loan_request set answer = $1, answer_reason = $2, answered_at = $3, answered_by = $4
         where id = $5 and student_id = $6 and answered_at is null",
    )
    .bind(answer.to_owned())
    .bind(reason.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Takes leave back. A loan that rested on it is due back.
///
/// # Errors
/// [`StoreError::Stale`] when it was taken back before.
pub async fn withdraw(
    tx: &mut Tx,
    access: &Access<LoanDecision, Sign>,
    id: LoanAllowanceId,
    reason: &str,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update loan_allowance set withdrawn_at = $1, withdrawn_by = $2, withdrawn_reason = $3
         where id = $4 and student_id = $5 and withdrawn_at is null",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(reason.to_owned())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// The question of this student with that id.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn request_of(
    snapshot: &mut Snapshot,
    access: &Access<Loans, impl Reads>,
    id: LoanRequestId,
) -> Result<Request> {
    requests(snapshot, access).await?.into_iter().find(|asked| asked.id == id).ok_or(StoreError::Missing)
}
