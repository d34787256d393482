//! Files that hang on another record: kept with it, read as it is read (8).
//!
//! An attachment has no row in the access table. It is kept under the proof that
//! writes its parent and read under the proof that reads its parent, limits
//! included. How a file comes here is told in [`crate::care::attachment`]; how
//! it lies on the disk in `files.rs`.

use jiff::Timestamp;
use sqlx::query;

use super::files::Laid;
use super::sending::Document;
use super::{Result, Snapshot, Store, StoreError, Tx, reach};
use crate::access::Access;
use crate::access::action::{Action, Reads};
use crate::access::resource::{Consents, Resource, SafetyFlag, Transcription};
use crate::care::attachment::FileKind;
use crate::care::ids::{AttachmentId, ConsentId, EvaluationId, FlagId, StudentId};
use crate::db::column::{Columns, stamp};

/// What a file hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parent {
    /// A transcribed report: the paper itself.
    Transcription(EvaluationId),
    /// A consent: the signed paper.
    Consent(ConsentId),
    /// A red flag: the eye doctor's written note.
    Flag(FlagId),
}

impl Parent {
    fn kind(self) -> ParentKind {
        match self {
            Self::Transcription(_) => ParentKind::Transcription,
            Self::Consent(_) => ParentKind::Consent,
            Self::Flag(_) => ParentKind::Flag,
        }
    }

    fn id(self) -> String {
        match self {
            Self::Transcription(id) => id.to_string(),
            Self::Consent(id) => id.to_string(),
            Self::Flag(id) => id.to_string(),
        }
    }
}

/// Which kind of record a file hangs on, and so which proof reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ParentKind {
    /// A transcribed report.
    Transcription,
    /// A consent.
    Consent,
    /// A red flag.
    Flag,
}

impl ParentKind {
    const fn code(self) -> &'static str {
        match self {
            Self::Transcription => "transcription",
            Self::Consent => "consent",
            Self::Flag => "flag",
        }
    }
}

/// A file as a page names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Its id.
    pub id: AttachmentId,
    /// The name it came with.
    pub name: String,
    /// What it is.
    pub kind: FileKind,
    /// How many bytes it has.
    pub bytes: u64,
    /// When it was stored.
    pub stored_at: Timestamp,
    sha256: String,
}

impl Attachment {
    /// Its content.
    ///
    /// # Errors
    /// [`StoreError::File`] when it is gone or is not what was stored.
    pub async fn content(&self, store: &Store) -> Result<Vec<u8>> {
        store.files().read(self.id, self.sha256.clone()).await
    }
}

/// Keeps a file with its parent: the row is written here, the commit makes row
/// and file last, and a transaction that is dropped takes the file away.
///
/// The proof is the one that writes the parent; that the parent is one of this
/// student is required in the same statement.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such parent.
pub async fn keep<R: Resource, A: Action>(
    tx: &mut Tx,
    access: &Access<R, A>,
    parent: Parent,
    laid: Laid,
) -> Result<AttachmentId> {
    let Laid { id, file, name, media, bytes, sha256 } = laid;
    let at = stamp(tx.now());
    let there = match parent {
        Parent::Transcription(_) => {
            "select id from evaluation where id = $1 and student_id = $2 and source = 'transcribed'"
        }
        Parent::Consent(_) => "select id from consent where id = $1 and student_id = $2",
        Parent::Flag(_) => "select id from flag where id = $1 and student_id = $2",
    };
    query(there)
        .bind(parent.id())
        .bind(access.student().to_string())
        .fetch_optional(tx.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    query(
        "insert into attachment (id, student_id, parent_kind, parent_id, name, media, bytes, sha256, stored_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(parent.kind().code().to_owned())
    .bind(parent.id())
    .bind(name)
    .bind(media.to_owned())
    .bind(bytes)
    .bind(sha256)
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    tx.ties(file);
    Ok(id)
}

/// Takes every file of a parent out, to put another in its place; the files go
/// when the transaction is kept. For drafts only: what was filed stays.
///
/// # Errors
/// When the database fails.
pub async fn take_out<R: Resource, A: Action>(
    tx: &mut Tx,
    store: &Store,
    access: &Access<R, A>,
    parent: Parent,
) -> Result<()> {
    let rows =
        query("delete from attachment where student_id = $1 and parent_kind = $2 and parent_id = $3 returning id")
            .bind(access.student().to_string())
            .bind(parent.kind().code().to_owned())
            .bind(parent.id())
            .fetch_all(tx.connection())
            .await?;
    for row in &rows {
        tx.takes_away(store.files().of(row.parsed("id")?));
    }
    Ok(())
}

/// Which proof a file asks for; tells nothing else. The reader is not yet known
/// to be anybody, so this is not shown.
///
/// # Errors
/// [`StoreError::Missing`] when this student has no such file.
pub async fn asks_for(snapshot: &mut Snapshot, student: StudentId, id: AttachmentId) -> Result<ParentKind> {
    let row = query("select parent_kind from attachment where id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(student.to_string())
        .fetch_optional(snapshot.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    match row.text("parent_kind")?.as_str() {
        "transcription" => Ok(ParentKind::Transcription),
        "consent" => Ok(ParentKind::Consent),
        _ => Ok(ParentKind::Flag),
    }
}

/// A file of a transcribed report, within what this reader reaches of reports.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn of_transcription(
    snapshot: &mut Snapshot,
    access: &Access<Transcription, impl Reads>,
    id: AttachmentId,
) -> Result<Attachment> {
    let row = query(
        "select a.id, a.name, a.media, a.bytes, a.stored_at, a.sha256, e.id as report, e.created_by, e.signed_at from attachment a
         join evaluation e on e.id = a.parent_id and e.student_id = a.student_id and e.source = 'transcribed'
         where a.id = $1 and a.student_id = $2 and a.parent_kind = 'transcription'",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    let released = row.opt_instant("signed_at")?.is_some();
    let reach = reach::of(snapshot, access, Document::Transcription).await?;
    if reach.allows(&row.text("report")?, row.parsed("created_by")?, released) {
        attachment(&row)
    } else {
        Err(StoreError::Missing)
    }
}

/// The scan of a consent. Whoever reads consents reads all of a student's.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn of_consent(
    snapshot: &mut Snapshot,
    access: &Access<Consents, impl Reads>,
    id: AttachmentId,
) -> Result<Attachment> {
    hanging_on(snapshot, access, ParentKind::Consent, id).await
}

/// The note that cleared a red flag. A classroom teacher reads the flags that she
/// raised, and so the notes of those.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn of_flag(
    snapshot: &mut Snapshot,
    access: &Access<SafetyFlag, impl Reads>,
    id: AttachmentId,
) -> Result<Attachment> {
    let row = query(
        "select a.id, a.name, a.media, a.bytes, a.stored_at, a.sha256 from attachment a
         join flag f on f.id = a.parent_id and f.student_id = a.student_id
         where a.id = $1 and a.student_id = $2 and a.parent_kind = 'flag' and ($3 = 0 or f.raised_by = $4)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    attachment(&row)
}

async fn hanging_on<R: Resource, A: Reads>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    kind: ParentKind,
    id: AttachmentId,
) -> Result<Attachment> {
    let row = query(
        "select id, name, media, bytes, stored_at, sha256 from attachment
         where id = $1 and student_id = $2 and parent_kind = $3",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(kind.code().to_owned())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    attachment(&row)
}

/// The files of a parent, for its page; the proof is the one that read the
/// parent, which the caller has loaded under its limits.
///
/// # Errors
/// When the database fails.
pub async fn of_parent<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    parent: Parent,
) -> Result<Vec<Attachment>> {
    let rows = query(
        "select id, name, media, bytes, stored_at, sha256 from attachment
         where student_id = $1 and parent_kind = $2 and parent_id = $3 order by stored_at, id",
    )
    .bind(access.student().to_string())
    .bind(parent.kind().code().to_owned())
    .bind(parent.id())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(attachment).collect()
}

fn attachment(row: &sqlx::any::AnyRow) -> Result<Attachment> {
    Ok(Attachment {
        id: row.parsed("id")?,
        name: row.text("name")?,
        kind: row.parsed("media")?,
        bytes: u64::try_from(row.whole("bytes")?).unwrap_or_default(),
        stored_at: row.instant("stored_at")?,
        sha256: row.text("sha256")?,
    })
}

/// Takes away the files that a crash left without a row; at every start.
///
/// # Errors
/// When the folder or the database fails.
pub async fn sweep(store: &Store) -> Result<usize> {
    let mut snapshot = store.snapshot().await?;
    let rows = query("select id from attachment").fetch_all(snapshot.connection()).await?;
    drop(snapshot);
    let known = rows.iter().map(|row| row.text("id")).collect::<std::result::Result<_, _>>()?;
    store.files().keep_only(known).await
}
