//! Readiness lists: one for each track, filled as the student gets there, and
//! signed (G3). A signed list changes by an amendment only; see
//! [`super::correct::readiness`].

use jiff::Timestamp;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Action, Edit, Reads, Sign};
use crate::access::resource::{Resource, Training};
use crate::care::gates::MaySignReadiness;
use crate::care::ids::ReadinessId;
use crate::care::readiness::{Item, Marks, SignedReadiness};
use crate::care::track::Track;
use crate::db::column::{Columns, flag, json, stamp};

/// A readiness list as it is kept.
#[derive(Clone)]
pub struct List {
    /// Which list.
    pub id: ReadinessId,
    /// Its track.
    pub track: Track,
    /// The marks so far.
    pub marks: Marks,
    /// How the student said that he or she agrees to try.
    pub agreed_words: String,
    /// The item passed over, and why (G3).
    pub passed: Option<(Item, String)>,
    /// When it was signed, and by whom.
    pub signed: Option<(Timestamp, String)>,
    /// How often it was saved.
    pub version: i64,
}

/// The lists of both tracks, as far as they were begun.
///
/// A reader who waits for the lock sees signed lists only.
///
/// # Errors
/// When the database fails.
pub async fn lists(snapshot: &mut Snapshot, access: &Access<Training, impl Reads>) -> Result<Vec<List>> {
    of_student(snapshot, access, 0).await
}

/// Signed lists that were entered in error: they count as never signed.
///
/// # Errors
/// When the database fails.
pub async fn errors(snapshot: &mut Snapshot, access: &Access<Training, impl Reads>) -> Result<Vec<List>> {
    of_student(snapshot, access, 1).await
}

async fn of_student(
    snapshot: &mut Snapshot,
    access: &Access<Training, impl Reads>,
    in_error: i64,
) -> Result<Vec<List>> {
    let rows = query(
        "select r.id, r.track, r.items, r.agreed_words, r.passed_item, r.passed_reason, r.signed_at, r.version, coalesce(a.name, '') as signer
         from readiness r left join account a on a.id = r.signed_by
         where r.student_id = $1 and ($2 = 0 or r.signed_at is not null)
         and case when r.entered_in_error_at is null then 0 else 1 end = $3 order by r.track, r.signed_at",
    )
    .bind(access.student().to_string())
    .bind(flag(access.limits().locked_only || access.limits().released_only))
    .bind(in_error)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let signer = row.text("signer")?;
            Ok(List {
                id: row.parsed("id")?,
                track: row.parsed("track")?,
                marks: row.json("items")?,
                agreed_words: row.text("agreed_words")?,
                passed: match row.opt_parsed("passed_item")? {
                    Some(item) => Some((item, row.text("passed_reason")?)),
                    None => None,
                },
                signed: row.opt_instant("signed_at")?.map(|at| (at, signer)),
                version: row.whole("version")?,
            })
        })
        .collect()
}

/// Every signed list, for a gate.
///
/// # Errors
/// When the database fails.
pub async fn signed<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
) -> Result<Vec<SignedReadiness>> {
    let rows = query(
        "select id, track, signed_at from readiness
         where student_id = $1 and signed_at is not null and entered_in_error_at is null",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(SignedReadiness {
                id: row.parsed("id")?,
                track: row.parsed("track")?,
                signed_on: snapshot.date_of(row.instant("signed_at")?),
            })
        })
        .collect()
}

/// Saves the marks so far.
///
/// # Errors
/// [`StoreError::Stale`] or [`StoreError::Taken`] when somebody saved or signed
/// it meanwhile.
pub async fn save(
    tx: &mut Tx,
    access: &Access<Training, Edit>,
    track: Track,
    version: Option<i64>,
    marks: &Marks,
    agreed_words: &str,
) -> Result<ReadinessId> {
    let id = row_to_write(tx, access, track, version).await?;
    write(tx, access, id, version, marks, agreed_words).await?;
    Ok(id)
}

/// Signs the list; the token says that every item is there.
///
/// # Errors
/// As [`save`].
pub async fn sign(
    tx: &mut Tx,
    access: &Access<Training, Sign>,
    may: &MaySignReadiness,
    version: Option<i64>,
    agreed_words: &str,
) -> Result<ReadinessId> {
    let id = row_to_write(tx, access, may.track(), version).await?;
    write(tx, access, id, version, may.marks(), agreed_words).await?;
    let (passed_item, passed_reason) = may
        .passed()
        .map_or((String::new(), String::new()), |(item, reason)| (item.code().to_owned(), reason.to_owned()));
    let at = stamp(tx.now());
    let done = query(
        "update readiness set signed_at = $1, signed_by = $2, evidence_kind = 'evaluation', evidence_id = $3, passed_item = $4,
         passed_reason = $5 where id = $6 and student_id = $7 and signed_at is null",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(may.evaluation().to_string())
    .bind(passed_item)
    .bind(passed_reason)
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    Ok(id)
}

/// The list of the track; one that was not begun is begun.
async fn row_to_write<A: Action>(
    tx: &mut Tx,
    access: &Access<Training, A>,
    track: Track,
    version: Option<i64>,
) -> Result<ReadinessId> {
    let found = query("select id from readiness where student_id = $1 and track = $2 and entered_in_error_at is null")
        .bind(access.student().to_string())
        .bind(track.code().to_owned())
        .fetch_optional(tx.connection())
        .await?;
    match (found, version) {
        (Some(row), Some(_)) => Ok(row.parsed("id")?),
        // Begun by somebody else since this form was opened.
        (Some(_), None) => Err(StoreError::Stale),
        (None, _) => {
            let id = fresh(ReadinessId::of);
            let at = stamp(tx.now());
            query(
                "insert into readiness (id, student_id, track, items, changed_at, changed_by, version)
                 values ($1, $2, $3, '{}', $4, $5, 0)",
            )
            .bind(id.to_string())
            .bind(access.student().to_string())
            .bind(track.code().to_owned())
            .bind(at)
            .bind(access.actor().account.to_string())
            .execute(tx.connection())
            .await?;
            Ok(id)
        }
    }
}

async fn write<A: Action>(
    tx: &mut Tx,
    access: &Access<Training, A>,
    id: ReadinessId,
    version: Option<i64>,
    marks: &Marks,
    agreed_words: &str,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update readiness set items = $1, agreed_words = $2, changed_at = $3, changed_by = $4, version = version + 1
         where id = $5 and student_id = $6 and version = $7 and signed_at is null",
    )
    .bind(json(marks))
    .bind(agreed_words.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version.unwrap_or(0))
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
