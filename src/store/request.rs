//! Requests for an evaluation, and the day the clinic will see the student.
//!
//! A request is stored at once. Until a consent lets the intake cross, nobody
//! at the clinic is given a proof to read it, so it waits (G7). Asking releases
//! the intake.

use jiff::civil::Date;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, consent, met};
use crate::access::Access;
use crate::access::action::{Action, Create, Edit, Reads, Sign};
use crate::access::resource::{EvaluationRequest, Intake, RequestDate, Resource};
use crate::care::consent::{Category, Direction};
use crate::care::gates::Purposeful;
use crate::care::ids::{RequestId, VisualTaskId};
use crate::care::request::{self, NewRequest};
use crate::db::column::{Columns, stamp, text};

/// Every request of a student, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(
    snapshot: &mut Snapshot,
    access: &Access<EvaluationRequest, impl Reads>,
) -> Result<Vec<request::EvaluationRequest>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select r.id, r.question, r.urgency, r.requested_on, r.appointment_on, r.entered_at, r.entered_by, r.withdrawn_at,
         r.version, coalesce(a.name, '') as by_name
         from evaluation_request r left join account a on a.id = r.entered_by
         where r.student_id = $1 and ($2 = 0 or r.entered_by = $3)
         order by r.requested_on desc, r.entered_at desc, r.id desc",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(request::EvaluationRequest {
                id: row.parsed("id")?,
                what: NewRequest {
                    question: row.text("question")?,
                    urgency: row.text("urgency")?,
                    requested_on: row.date("requested_on")?,
                },
                appointment_on: row.opt_date("appointment_on")?,
                entered_at: row.instant("entered_at")?,
                entered_by: row.parsed("entered_by")?,
                by: row.text("by_name")?,
                withdrawn_at: row.opt_instant("withdrawn_at")?,
                version: row.whole("version")?,
            })
        })
        .collect()
}

/// The things the student wants or needs to see, for G1: facts of a gate, not
/// content.
///
/// # Errors
/// When the database fails.
pub async fn purpose<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
) -> Result<Vec<VisualTaskId>> {
    let rows = query("select id from visual_task where student_id = $1 and retired_at is null order by position, id")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    rows.iter().map(|row| Ok(row.parsed("id")?)).collect()
}

/// Whether a request waits because no consent lets the intake go to the clinic.
///
/// # Errors
/// When the database fails.
pub async fn waits_for_consent<R: Resource, A: Action>(snapshot: &mut Snapshot, access: &Access<R, A>) -> Result<bool> {
    let today = snapshot.today();
    let consents = consent::all_of(snapshot, access.student()).await?;
    Ok(!consents.iter().any(|listed| listed.consent.in_force(today, Direction::SchoolToClinic, Category::Intake)))
}

/// Asks for an evaluation (G1) and releases the intake to those who may read it.
///
/// # Errors
/// [`StoreError::Missing`] when one of the tasks is not this student's any more,
/// [`StoreError::Taken`] when a request is open already.
pub async fn ask(
    tx: &mut Tx,
    access: &Access<EvaluationRequest, Create>,
    releasing: &Access<Intake, Sign>,
    purposeful: &Purposeful,
    new: &NewRequest,
) -> Result<RequestId> {
    if releasing.student() != access.student() {
        return Err(StoreError::Missing);
    }
    let tasks = purpose(tx, access).await?;
    if !purposeful.tasks().iter().all(|task| tasks.contains(task)) {
        return Err(StoreError::Missing);
    }
    if open_request(tx, access).await? {
        return Err(StoreError::Taken);
    }
    let id = fresh(RequestId::of);
    let (at, by) = (stamp(tx.now()), access.actor().account.to_string());
    query(
        "insert into evaluation_request (id, student_id, question, urgency, requested_on, entered_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.question.clone())
    .bind(new.urgency.clone())
    .bind(new.requested_on.to_string())
    .bind(at.clone())
    .bind(by)
    .execute(tx.connection())
    .await?;
    query("update intake set released_at = $1 where student_id = $2 and released_at is null")
        .bind(at)
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    Ok(id)
}

/// Whether a request is neither taken back nor followed by a signed evaluation.
///
/// # Errors
/// When the database fails.
pub async fn open_request<R: Resource, A: Action>(snapshot: &mut Snapshot, access: &Access<R, A>) -> Result<bool> {
    let row = query(
        "select count(*) as n from evaluation_request r where r.student_id = $1 and r.withdrawn_at is null
         and not exists (select 1 from evaluation e where e.student_id = r.student_id and e.signed_at > r.entered_at
         and e.state <> 'entered_in_error')",
    )
    .bind(access.student().to_string())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.whole("n")? > 0)
}

/// Takes a request back.
///
/// # Errors
/// [`StoreError::Missing`] when it is not one of this student's, or taken back already.
pub async fn withdraw(tx: &mut Tx, access: &Access<EvaluationRequest, Edit>, id: RequestId) -> Result<()> {
    let at = stamp(tx.now());
    let own_only = i64::from(access.limits().own_only);
    let done = query(
        "update evaluation_request set withdrawn_at = $1, version = version + 1
         where id = $2 and student_id = $3 and withdrawn_at is null and ($4 = 0 or entered_by = $5)",
    )
    .bind(at)
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// Says, or takes back, the day the clinic will see the student.
///
/// # Errors
/// [`StoreError::Missing`] when it is not an open request of this student,
/// [`StoreError::Stale`] when somebody saved it meanwhile.
pub async fn set_appointment(
    tx: &mut Tx,
    access: &Access<RequestDate, Edit>,
    id: RequestId,
    on: Option<Date>,
    version: i64,
) -> Result<()> {
    let there = query("select id from evaluation_request where id = $1 and student_id = $2 and withdrawn_at is null")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_optional(tx.connection())
        .await?;
    if there.is_none() {
        return Err(StoreError::Missing);
    }
    let done = query(
        "update evaluation_request set appointment_on = $1, version = version + 1
         where id = $2 and student_id = $3 and version = $4 and withdrawn_at is null",
    )
    .bind(text(on))
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
