//! Corrections: both texts of each field, kept beside the record that took the
//! new ones.
//!
//! A correction is read with the proof of the record it corrects, and reaches no
//! further than that proof: what a reader may not read of the record, they do
//! not read of its corrections. Does not change the record itself; its own file
//! does, in the same transaction.

use std::collections::BTreeMap;

use jiff::Timestamp;
use sqlx::query;

use super::audit::fresh;
use super::sending::Document;
use super::{Result, Snapshot, StoreError, Tx, observation, reach};
use crate::access::action::{Action, Reads, Writes};
use crate::access::resource::{Resource, Row};
use crate::access::{Access, Role};
use crate::care::amendment::{Amendment, COUNTS, Correction, Kind, Subject};
use crate::care::ids::AccountId;
use crate::db::column::{Columns, stamp};

/// Keeps a correction of one record of this student.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such record in this student's file,
/// or the proof is for records of another kind.
pub async fn write<R: Resource, A: Writes>(
    tx: &mut Tx,
    access: &Access<R, A>,
    subject: impl Into<Subject>,
    correction: &Correction,
) -> Result<()> {
    let subject = subject.into();
    standing_of(tx, access, &subject).await?.ok_or(StoreError::Missing)?;
    let at = stamp(tx.now());
    for change in correction.changes() {
        query(
            "insert into amendment (id, student_id, resource, record_id, field, before_text, after_text, reason, at, account_id)
             values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        )
        .bind(fresh(|id| id).to_string())
        .bind(access.student().to_string())
        .bind(subject.kind().code().to_owned())
        .bind(subject.to_string())
        .bind(change.field.clone())
        .bind(change.before.clone())
        .bind(change.after.clone())
        .bind(correction.reason().to_owned())
        .bind(at.clone())
        .bind(access.actor().account.to_string())
        .execute(tx.connection())
        .await?;
    }
    Ok(())
}

/// The corrections of one record, newest first, the fields of one act in the
/// order of their form. None for a record that the proof does not reach.
///
/// # Errors
/// When the database fails.
pub async fn of_record<R: Resource, A: Reads>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    subject: impl Into<Subject>,
) -> Result<Vec<Amendment>> {
    let subject = subject.into();
    let Some(record) = standing_of(snapshot, access, &subject).await? else { return Ok(Vec::new()) };
    if !reached(snapshot, access, &subject, &record).await? {
        return Ok(Vec::new());
    }
    let until = if access.limits().sent_only { record.sent_at } else { None };
    // What its writer changed while it was locked is the writer's own affair; others
    // were shown the entry as it stood when the lock opened.
    let others_from = record
        .entered_at
        .filter(|_| access.limits().locked_only && record.author != access.actor().account)
        .and_then(|at| at.checked_add(observation::LOCK).ok());
    let rows = query(
        "select m.field, m.before_text, m.after_text, m.reason, m.at, a.name as by_name
         from amendment m join account a on a.id = m.account_id
         where m.student_id = $1 and m.resource = $2 and m.record_id = $3
         order by m.at desc, m.id",
    )
    .bind(access.student().to_string())
    .bind(subject.kind().code().to_owned())
    .bind(subject.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        let at = row.instant("at")?;
        // G7: a document read as it was sent is read without what was corrected since.
        if until.is_some_and(|until| at > until) || others_from.is_some_and(|from| at < from) {
            continue;
        }
        found.push(Amendment {
            field: row.text("field")?,
            before: row.text("before_text")?,
            after: row.text("after_text")?,
            reason: row.text("reason")?,
            at,
            by: row.text("by_name")?,
        });
    }
    Ok(found)
}

/// When each record of a kind was last corrected with a reason, for lists: the
/// caller says it of those records only that its reader is shown.
///
/// # Errors
/// When the database fails.
pub async fn latest<R: Resource, A: Reads>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    kind: Kind,
) -> Result<BTreeMap<String, Timestamp>> {
    if !rows_of(kind).contains(&R::ROW) {
        return Ok(BTreeMap::new());
    }
    let rows = query(
        "select record_id, max(at) as at from amendment where student_id = $1 and resource = $2 and reason <> ''
         group by record_id",
    )
    .bind(access.student().to_string())
    .bind(kind.code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok((row.text("record_id")?, row.instant("at")?))).collect()
}

/// Why a record counts nowhere.
#[derive(Clone)]
pub struct InError {
    /// When it was marked.
    pub at: Timestamp,
    /// By whom.
    pub by: String,
    /// Why.
    pub reason: String,
}

/// Why records of a kind are marked as entered in error; said, as [`latest`], of
/// those records only that are marked now and that its reader is shown.
///
/// # Errors
/// When the database fails.
pub async fn in_error<R: Resource, A: Reads>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    kind: Kind,
) -> Result<BTreeMap<String, InError>> {
    if !rows_of(kind).contains(&R::ROW) {
        return Ok(BTreeMap::new());
    }
    let (field, _, after) = COUNTS;
    let rows = query(
        "select m.record_id, m.reason, m.at, a.name as by_name from amendment m join account a on a.id = m.account_id
         where m.student_id = $1 and m.resource = $2 and m.field = $3 and m.after_text = $4 order by m.at, m.id",
    )
    .bind(access.student().to_string())
    .bind(kind.code().to_owned())
    .bind(field.to_owned())
    .bind(after.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let why = InError { at: row.instant("at")?, by: row.text("by_name")?, reason: row.text("reason")? };
            Ok((row.text("record_id")?, why))
        })
        .collect()
}

/// What the limits of a proof are held against.
struct Standing {
    author: AccountId,
    /// Signed, filed, sent or released; an entry without a signature counts as both.
    released: bool,
    /// When it was entered, where a lock follows.
    entered_at: Option<Timestamp>,
    /// Shared with the classroom; of a post: that a clinician wrote it.
    shared: bool,
    /// What it belongs to; of a post: the role or the account it is addressed to.
    belongs: String,
    sent_at: Option<Timestamp>,
}

/// The rows of the access table under which a record of this kind is read and
/// written.
const fn rows_of(kind: Kind) -> &'static [Row] {
    match kind {
        Kind::Intake => &[Row::Intake],
        Kind::Contact => &[Row::Contacts],
        Kind::Request => &[Row::EvaluationRequest, Row::RequestDate],
        Kind::Task | Kind::Seat | Kind::Goal => &[Row::VisualTasks],
        Kind::Observation => &[Row::ClassObservation, Row::HomeObservation],
        Kind::Loan => &[Row::Loans],
        Kind::OwnDevice => &[Row::Loans, Row::Receipt],
        Kind::Readiness | Kind::Session => &[Row::Training],
        Kind::Post => &[Row::Thread],
        Kind::Evaluation => &[Row::Evaluation, Row::Transcription],
        Kind::Summary => &[Row::Summary],
        Kind::Decision | Kind::Prescription => &[Row::Prescription],
        Kind::Card => &[Row::Card],
    }
}

/// One statement for each kind: who wrote it, whether it is signed, from when a
/// lock counts, whether it is shared, and which row of the table it belongs to.
const fn statement(kind: Kind) -> &'static str {
    match kind {
        Kind::Intake => {
            "select changed_by as author, coalesce(released_at, '') as released_at, '' as entered_at, 0 as shared, '' as belongs
             from intake where student_id = $1 and student_id = $2"
        }
        Kind::Contact => {
            "select coalesce(account_id, created_by) as author, created_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from contact where id = $1 and student_id = $2"
        }
        Kind::Request => {
            "select entered_by as author, entered_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from evaluation_request where id = $1 and student_id = $2"
        }
        Kind::Task => {
            "select created_by as author, created_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from visual_task where id = $1 and student_id = $2"
        }
        Kind::Seat => {
            "select created_by as author, created_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from seat where id = $1 and student_id = $2"
        }
        Kind::Goal => {
            "select set_by as author, set_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from reading_goal where student_id = $1 and student_id = $2 order by set_at limit 1"
        }
        Kind::Observation => {
            "select entered_by as author, entered_at as released_at, entered_at, shared_with_class as shared, setting as belongs
             from observation where id = $1 and student_id = $2"
        }
        Kind::Loan => {
            "select entered_by as author, entered_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from loan where id = $1 and student_id = $2"
        }
        Kind::OwnDevice => {
            "select entered_by as author, entered_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from own_device where id = $1 and student_id = $2"
        }
        Kind::Readiness => {
            "select changed_by as author, coalesce(signed_at, '') as released_at, '' as entered_at, 0 as shared, '' as belongs
             from readiness where id = $1 and student_id = $2"
        }
        Kind::Session => {
            "select entered_by as author, entered_at as released_at, entered_at, 0 as shared, '' as belongs
             from training_session where id = $1 and student_id = $2"
        }
        Kind::Post => {
            "select p.account_id as author, p.at as released_at, '' as entered_at,
             case when p.acting_role = 'clinician' then 1 else 0 end as shared,
             case when p.kind = 'answer' then coalesce(q.account_id, '') else p.to_role end as belongs
             from post p left join post q on q.id = p.answers_id and q.student_id = p.student_id
             where p.id = $1 and p.student_id = $2"
        }
        Kind::Evaluation => {
            "select created_by as author, coalesce(signed_at, '') as released_at, '' as entered_at, 0 as shared, source as belongs
             from evaluation where id = $1 and student_id = $2"
        }
        Kind::Summary => {
            "select created_by as author, coalesce(sent_at, '') as released_at, '' as entered_at, 0 as shared, '' as belongs
             from summary where id = $1 and student_id = $2"
        }
        Kind::Decision => {
            "select signed_by as author, signed_at as released_at, '' as entered_at, 0 as shared, '' as belongs
             from decision where id = $1 and student_id = $2"
        }
        Kind::Prescription => {
            "select created_by as author, coalesce(signed_at, '') as released_at, '' as entered_at, 0 as shared, '' as belongs
             from prescription where id = $1 and student_id = $2"
        }
        Kind::Card => {
            "select changed_by as author, coalesce(released_at, '') as released_at, '' as entered_at, 0 as shared, '' as belongs
             from card where id = $1 and student_id = $2"
        }
    }
}

/// The record, if it is one of this student's and of a row the proof is for.
async fn standing_of<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    subject: &Subject,
) -> Result<Option<Standing>> {
    if !rows_of(subject.kind()).contains(&R::ROW) {
        return Ok(None);
    }
    let row = query(statement(subject.kind()))
        .bind(subject.to_string())
        .bind(access.student().to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    let Some(row) = row else { return Ok(None) };
    let belongs = row.text("belongs")?;
    let of_the_row = match belongs.as_str() {
        _ if subject.kind() == Kind::Post => true,
        "classroom" => R::ROW == Row::ClassObservation,
        "home" | "community" => R::ROW == Row::HomeObservation,
        "clinician" => R::ROW == Row::Evaluation,
        "transcribed" => R::ROW == Row::Transcription,
        _ => true,
    };
    if !of_the_row {
        return Ok(None);
    }
    let sent_at = match document_of(subject.kind()) {
        Some(document) => sent_at(snapshot, access, document, subject).await?,
        None => None,
    };
    Ok(Some(Standing {
        author: row.parsed("author")?,
        released: !row.text("released_at")?.is_empty(),
        entered_at: row.opt_instant("entered_at")?,
        shared: row.flag("shared")?,
        belongs,
        sent_at,
    }))
}

const fn document_of(kind: Kind) -> Option<Document> {
    match kind {
        Kind::Evaluation => Some(Document::Evaluation),
        Kind::Decision => Some(Document::Decision),
        Kind::Prescription => Some(Document::Prescription),
        Kind::Summary => Some(Document::Summary),
        _ => None,
    }
}

async fn sent_at<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    document: Document,
    subject: &Subject,
) -> Result<Option<Timestamp>> {
    let row = query(
        "select max(at) as at from sending where student_id = $1 and document_kind = $2 and document_id = $3 and to_side = $4",
    )
    .bind(access.student().to_string())
    .bind(document.code().to_owned())
    .bind(subject.to_string())
    .bind(access.actor().side().code().to_owned())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.opt_instant("at")?)
}

/// Whether the limits of the proof let its holder read the record in full.
async fn reached<R: Resource, A: Reads>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    subject: &Subject,
    record: &Standing,
) -> Result<bool> {
    let limits = access.limits();
    if record.author == access.actor().account {
        return Ok(true);
    }
    if let Some(document) = document_of(subject.kind()) {
        let reach = reach::of(snapshot, access, document).await?;
        return Ok(reach.allows(&subject.to_string(), record.author, record.released));
    }
    if subject.kind() == Kind::Post {
        let (role, account) = (access.actor().role.map_or("", Role::code), access.actor().account.to_string());
        let addressed = record.belongs == role || record.belongs == account;
        return Ok((!limits.own_only || (limits.or_addressed && addressed))
            && (!limits.without_clinic_posts || !record.shared));
    }
    let unlocked = snapshot.now().checked_sub(observation::LOCK).unwrap_or(snapshot.now());
    Ok(!limits.own_only
        && (!limits.released_only || record.released)
        && (!limits.shared_only || record.shared)
        && (!limits.locked_only || record.entered_at.is_none_or(|at| at <= unlocked)))
}
