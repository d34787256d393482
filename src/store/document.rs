//! What became of signed documents: amended, superseded, cancelled, withdrawn,
//! entered in error. The rows of the documents stay as they were signed (G8).
//!
//! G7: a mark is newer than the document that crossed, so it crosses only while
//! a consent is in force, or once one starts; a reader who has the document as
//! sent alone is shown what had crossed. Does not know what a document says.

use std::collections::BTreeSet;

use jiff::Timestamp;
use sqlx::query;

use super::sending::Document;
use super::{Result, Snapshot, StoreError, Tx, amendment, consent};
use crate::access::Access;
use crate::access::action::{Action, Amend, Reads, Writes};
use crate::access::resource::Resource;
use crate::care::amendment::{Amendment, Correction, Subject};
use crate::care::document::{Kind, Mark, Worded};
use crate::care::ids::StudentId;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};

/// A mark on a document.
#[derive(Clone)]
pub struct Marked {
    /// What became of it.
    pub mark: Mark,
    /// Why.
    pub reason: String,
    /// The document that took its place.
    pub next: Option<String>,
    /// When.
    pub at: Timestamp,
    /// Who, by name.
    pub by: String,
}

/// What became of one document, as far as its reader may know.
#[derive(Clone, Default)]
pub struct After {
    /// What ended it; none, it stands.
    pub ended: Option<Marked>,
    /// What was amended, oldest first.
    pub amended: Vec<Amendment>,
    /// How many marks it has, for marks by two people.
    pub seen: i64,
}

impl After {
    /// Whether it ended that way.
    #[must_use]
    pub fn is(&self, mark: Mark) -> bool {
        self.ended.as_ref().is_some_and(|ended| ended.mark == mark)
    }

    /// Puts the amended texts into the document as it was signed.
    pub fn reword(&self, document: &mut impl Worded) {
        for amended in &self.amended {
            document.reword(&amended.field, &amended.after);
        }
    }
}

/// What became of all documents of one kind.
#[derive(Default)]
pub struct History {
    marks: Vec<(String, Marked)>,
    amended: Vec<(String, Amendment)>,
}

impl History {
    /// What became of one of them.
    #[must_use]
    pub fn of(&self, id: &str) -> After {
        let mut after = After::default();
        for (_, marked) in self.marks.iter().filter(|(document, _)| document == id) {
            after.seen += 1;
            if marked.mark.ends() {
                after.ended = Some(marked.clone());
            }
        }
        after.amended =
            self.amended.iter().filter(|(document, _)| document == id).map(|(_, amended)| amended.clone()).collect();
        after
    }

    /// The documents that ended that way.
    #[must_use]
    pub fn ended(&self, mark: Mark) -> BTreeSet<String> {
        self.marks.iter().filter(|(_, marked)| marked.mark == mark).map(|(document, _)| document.clone()).collect()
    }
}

/// What this reader may know of what became of documents of that kind. The
/// caller holds the proof for the documents themselves.
///
/// # Errors
/// When the database fails.
pub async fn history<R: Resource, A: Reads>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    kind: Kind,
) -> Result<History> {
    let as_sent = i64::from(access.limits().sent_only);
    let rows = query(
        "select m.document_id, m.mark, m.reason, m.next_id, m.at, a.name as by_name
         from document_mark m join account a on a.id = m.account_id
         where m.student_id = $1 and m.document_kind = $2 and ($3 = 0 or m.crossed_at is not null or m.account_id = $4)
         order by m.document_id, m.seq",
    )
    .bind(access.student().to_string())
    .bind(kind.code().to_owned())
    .bind(as_sent)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut history = History::default();
    for row in &rows {
        let marked = Marked {
            mark: row.parsed("mark")?,
            reason: row.text("reason")?,
            next: row.opt_text("next_id")?,
            at: row.instant("at")?,
            by: row.text("by_name")?,
        };
        history.marks.push((row.text("document_id")?, marked));
    }
    let rows = query(
        "select t.record_id, t.field, t.before_text, t.after_text, t.reason, t.at, a.name as by_name
         from amendment t join account a on a.id = t.account_id
         where t.student_id = $1 and t.resource = $2 and ($3 = 0 or t.account_id = $4 or t.record_id in
           (select m.document_id from document_mark m where m.document_kind = $2 and m.mark = 'amended'
            and m.at = t.at and m.crossed_at is not null))
         order by t.at, t.id",
    )
    .bind(access.student().to_string())
    .bind(kind.code().to_owned())
    .bind(as_sent)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let amended = Amendment {
            field: row.text("field")?,
            before: row.text("before_text")?,
            after: row.text("after_text")?,
            reason: row.text("reason")?,
            at: row.instant("at")?,
            by: row.text("by_name")?,
        };
        history.amended.push((row.text("record_id")?, amended));
    }
    Ok(history)
}

/// Amends texts of a signed document that the caller found to stand. `seen` is
/// how many marks it had when its reader saw it.
///
/// # Errors
/// [`StoreError::Stale`] when it was marked meanwhile.
pub(super) async fn amend<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Amend>,
    (kind, subject): (Kind, Subject),
    correction: &Correction,
    seen: i64,
) -> Result<()> {
    let new = NewMark { mark: Mark::Amended, reason: correction.reason(), next: None, seen: Some(seen) };
    mark(tx, access, (kind, &subject.to_string()), &new).await?;
    amendment::write(tx, access, subject, correction).await
}

/// A mark about to be made.
pub(super) struct NewMark<'a> {
    pub(super) mark: Mark,
    pub(super) reason: &'a str,
    pub(super) next: Option<String>,
    /// How many marks the document had when its reader saw it; none, whichever.
    pub(super) seen: Option<i64>,
}

/// Marks a document that the caller found to stand.
///
/// # Errors
/// [`StoreError::Stale`] when it has ended, or was marked meanwhile.
pub(super) async fn mark<R: Resource, A: Action + Writes>(
    tx: &mut Tx,
    access: &Access<R, A>,
    (kind, id): (Kind, &str),
    new: &NewMark<'_>,
) -> Result<()> {
    let row = query(
        "select count(*) as n, cast(coalesce(sum(case when mark = 'amended' then 0 else 1 end), 0) as bigint) as ended
         from document_mark where document_kind = $1 and document_id = $2",
    )
    .bind(kind.code().to_owned())
    .bind(id.to_owned())
    .fetch_one(tx.connection())
    .await?;
    let (count, ended) = (row.whole("n")?, row.whole("ended")?);
    if ended > 0 || new.seen.is_some_and(|seen| seen != count) {
        return Err(StoreError::Stale);
    }
    let at = stamp(tx.now());
    let crossed = crosses(tx, access.student(), kind).await?.then(|| at.clone());
    let done = query(
        "insert into document_mark (id, student_id, document_kind, document_id, seq, mark, reason, next_id, at, account_id, crossed_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(fresh_uuid().to_string())
    .bind(access.student().to_string())
    .bind(kind.code().to_owned())
    .bind(id.to_owned())
    .bind(count + 1)
    .bind(new.mark.code().to_owned())
    .bind(new.reason.to_owned())
    .bind(new.next.clone())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(crossed)
    .execute(tx.connection())
    .await;
    match done.map_err(StoreError::from) {
        // Somebody else was next at the same moment.
        Err(StoreError::Taken) => Err(StoreError::Stale),
        done => done.map(|_| ()),
    }
}

/// Whether the other side may know of a new mark today. G7.
async fn crosses(tx: &mut Tx, student: StudentId, kind: Kind) -> Result<bool> {
    let Some(document) = Document::of(kind) else { return Ok(true) };
    let today = tx.today();
    let consents = consent::all_of(tx, student).await?;
    Ok(consents.iter().any(|listed| listed.consent.in_force(today, document.way(), document.category())))
}

/// Lets the marks across that a consent in force covers and that have not yet.
pub(super) async fn of_new_consent(tx: &mut Tx, student: StudentId) -> Result<()> {
    let at = stamp(tx.now());
    for kind in Kind::ALL {
        if crosses(tx, student, *kind).await? {
            query(
                "update document_mark set crossed_at = $1 where student_id = $2 and document_kind = $3 and crossed_at is null",
            )
            .bind(at.clone())
            .bind(student.to_string())
            .bind(kind.code().to_owned())
            .execute(tx.connection())
            .await?;
        }
    }
    Ok(())
}
