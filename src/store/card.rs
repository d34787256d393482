//! The classroom card.
//!
//! A draft has one row and a version; releasing it freezes the row, and the next
//! draft starts as a copy with the next edition. What to try at home has editions
//! of its own, in [`super::try_at_home`].

use std::collections::BTreeMap;

use jiff::Timestamp;
use sqlx::any::AnyRow;
use sqlx::query;

use super::asked::{self, asked};
use super::audit::fresh;
use super::document::{self, Marked, NewMark};
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Edit, Reads, Sign};
use crate::access::resource::Card;
use crate::care::card::{Figures, Wording};
use crate::care::document::{Kind, Mark};
use crate::care::ids::{CardId, StudentId};
use crate::db::column::{Columns, flag, stamp, text};

/// One edition of the card.
#[derive(Clone)]
pub struct Edition {
    /// Which.
    pub id: CardId,
    /// Counted from 1.
    pub number: i64,
    /// What it says.
    pub wording: Wording,
    /// The figures behind it.
    pub figures: Figures,
    /// When it was last changed.
    pub changed_at: Timestamp,
    /// When it was released; none, a draft.
    pub released_at: Option<Timestamp>,
    /// Who released it.
    pub released_by: String,
    /// When, by whom and why it was withdrawn; none, it was not.
    pub withdrawn: Option<Marked>,
    /// For edits by two people.
    pub version: i64,
}

fn edition(row: &AnyRow) -> std::result::Result<Edition, sqlx::Error> {
    Ok(Edition {
        id: row.parsed("id")?,
        number: row.whole("edition")?,
        wording: Wording {
            seat: row.text("seat")?,
            board: row.text("board")?,
            letters: row.text("letters")?,
            light: row.text("light")?,
            print_size: row.text("print_size")?,
            device: row.text("device")?,
            device_when: row.text("device_when")?,
            glasses: row.text("glasses")?,
            head_turn: row.text("head_turn")?,
            rest: row.text("rest")?,
            tests: row.text("tests")?,
            call: row.text("call")?,
            extra_care: row.flag("extra_care")?,
            review_on: row.opt_date("review_on")?,
        },
        figures: row.json("figures")?,
        changed_at: row.instant("changed_at")?,
        released_at: row.opt_instant("released_at")?,
        released_by: row.text("released_name")?,
        withdrawn: None,
        version: row.whole("version")?,
    })
}

/// Every edition that this reader may read, newest first. A draft is read by
/// those who may change the card only: a reader limited to what is released
/// never wrote one.
///
/// # Errors
/// When the database fails.
pub async fn editions(snapshot: &mut Snapshot, access: &Access<Card, impl Reads>) -> Result<Vec<Edition>> {
    let released_only = i64::from(access.limits().released_only);
    let found = editions_of(snapshot, access.student().to_string(), released_only).await?;
    let history = document::history(snapshot, access, Kind::Card).await?;
    let ended = |edition: &Edition| history.of(&edition.id.to_string()).ended;
    let told = |(_, edition, _): (StudentId, Edition, bool)| Edition {
        withdrawn: ended(&edition).filter(|ended| ended.mark == Mark::Withdrawn),
        ..edition
    };
    Ok(found.into_iter().map(told).collect())
}

async fn editions_of(
    snapshot: &mut Snapshot,
    students: String,
    released_only: i64,
) -> Result<Vec<(StudentId, Edition, bool)>> {
    let rows = query(concat!(
        "select c.student_id, c.id, c.edition, c.seat, c.board, c.letters, c.light, c.print_size, c.device, c.device_when, c.glasses, c.head_turn,
         c.rest, c.tests, c.call, c.extra_care, c.review_on, c.figures, c.changed_at, c.released_at, c.version,
         coalesce(a.name, '') as released_name,
         (select count(*) from document_mark m where m.document_kind = 'card' and m.document_id = c.id and m.mark = 'withdrawn') as withdrawn
         from card c left join account a on a.id = c.released_by
         where ($2 = 0 or c.state = 'released') and c.student_id in ",
        asked!(),
        " order by c.edition desc"
    ))
    .bind(students)
    .bind(released_only)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok((row.parsed("student_id")?, edition(row)?, row.whole("withdrawn")? > 0))).collect()
}

/// The edition released last of each student of a caseload, and whether it was
/// withdrawn.
///
/// # Errors
/// When the database fails.
pub async fn newest_all(
    snapshot: &mut Snapshot,
    proofs: &[Access<Card, impl Reads>],
) -> Result<BTreeMap<StudentId, (Edition, bool)>> {
    // Only what is released is asked for, whatever else a proof would reach.
    let found = editions_of(snapshot, asked::of_proofs(proofs), 1).await?;
    // Newest first, and the last one put in stays.
    Ok(found.into_iter().rev().map(|(student, edition, withdrawn)| (student, (edition, withdrawn))).collect())
}

/// The edition released last, withdrawn or not.
///
/// # Errors
/// When the database fails.
pub async fn newest(snapshot: &mut Snapshot, access: &Access<Card, impl Reads>) -> Result<Option<Edition>> {
    Ok(editions(snapshot, access).await?.into_iter().find(|edition| edition.released_at.is_some()))
}

/// The card that counts: the edition released last, unless it was withdrawn. An
/// earlier one never comes back.
///
/// # Errors
/// When the database fails.
pub async fn released(snapshot: &mut Snapshot, access: &Access<Card, impl Reads>) -> Result<Option<Edition>> {
    Ok(newest(snapshot, access).await?.filter(|edition| edition.withdrawn.is_none()))
}

/// The draft, if one is being written.
///
/// # Errors
/// When the database fails.
pub async fn draft(snapshot: &mut Snapshot, access: &Access<Card, impl Reads>) -> Result<Option<Edition>> {
    Ok(editions(snapshot, access).await?.into_iter().find(|edition| edition.released_at.is_none()))
}

/// Saves the draft; makes it, as the next edition, when there is none.
///
/// # Errors
/// [`StoreError::Stale`] when somebody else saved the draft or released it
/// meanwhile.
pub async fn save_draft(
    tx: &mut Tx,
    access: &Access<Card, Edit>,
    wording: &Wording,
    figures: &Figures,
    version: Option<i64>,
) -> Result<CardId> {
    let drafted = draft(tx, access).await?;
    match (drafted, version) {
        (Some(drafted), Some(version)) => {
            update(tx, access, drafted.id, wording, figures, version).await?;
            Ok(drafted.id)
        }
        (None, None) => insert(tx, access, wording, figures).await,
        (Some(_), None) | (None, Some(_)) => Err(StoreError::Stale),
    }
}

async fn insert(tx: &mut Tx, access: &Access<Card, Edit>, wording: &Wording, figures: &Figures) -> Result<CardId> {
    let id = fresh(CardId::of);
    let at = stamp(tx.now());
    query(
        "insert into card (id, student_id, edition, state, seat, board, letters, light, print_size, device, device_when, glasses,
         head_turn, rest, tests, call, extra_care, review_on, figures, changed_at, changed_by)
         values ($1, $2, (select coalesce(max(edition), 0) + 1 from card where student_id = $2), 'draft', $3, $4, $5, $6, $7, $8, $9,
         $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(wording.seat.clone())
    .bind(wording.board.clone())
    .bind(wording.letters.clone())
    .bind(wording.light.clone())
    .bind(wording.print_size.clone())
    .bind(wording.device.clone())
    .bind(wording.device_when.clone())
    .bind(wording.glasses.clone())
    .bind(wording.head_turn.clone())
    .bind(wording.rest.clone())
    .bind(wording.tests.clone())
    .bind(wording.call.clone())
    .bind(flag(wording.extra_care))
    .bind(text(wording.review_on))
    .bind(figures_text(figures))
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

async fn update(
    tx: &mut Tx,
    access: &Access<Card, Edit>,
    id: CardId,
    wording: &Wording,
    figures: &Figures,
    version: i64,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update card set seat = $1, board = $2, letters = $3, light = $4, print_size = $5, device = $6, device_when = $7, glasses = $8,
         head_turn = $9, rest = $10, tests = $11, call = $12, extra_care = $13, review_on = $14, figures = $15,
         changed_at = $16, changed_by = $17, version = version + 1
         where id = $18 and student_id = $19 and state = 'draft' and version = $20",
    )
    .bind(wording.seat.clone())
    .bind(wording.board.clone())
    .bind(wording.letters.clone())
    .bind(wording.light.clone())
    .bind(wording.print_size.clone())
    .bind(wording.device.clone())
    .bind(wording.device_when.clone())
    .bind(wording.glasses.clone())
    .bind(wording.head_turn.clone())
    .bind(wording.rest.clone())
    .bind(wording.tests.clone())
    .bind(wording.call.clone())
    .bind(flag(wording.extra_care))
    .bind(text(wording.review_on))
    .bind(figures_text(figures))
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Six optional numbers: serialising them cannot fail.
fn figures_text(figures: &Figures) -> String {
    serde_json::to_string(figures).unwrap_or_else(|_| "{}".to_owned())
}

/// Releases the draft as it was previewed: from now on it never changes.
///
/// # Errors
/// [`StoreError::Stale`] when it was changed or released meanwhile.
pub async fn release(tx: &mut Tx, access: &Access<Card, Sign>, id: CardId, version: i64) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update card set state = 'released', released_at = $1, released_by = $2, version = version + 1
         where id = $3 and student_id = $4 and state = 'draft' and version = $5",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Withdraws the edition released last, what to try at home with it.
///
/// # Errors
/// [`StoreError::Stale`] when another edition was released, or this one was
/// withdrawn, meanwhile.
pub async fn withdraw(tx: &mut Tx, access: &Access<Card, Sign>, number: i64, reason: &str) -> Result<CardId> {
    let edition = newest(tx, access).await?.filter(|edition| edition.number == number).ok_or(StoreError::Stale)?;
    let new = NewMark { mark: Mark::Withdrawn, reason, next: None, seen: None };
    document::mark(tx, access, (Kind::Card, &edition.id.to_string()), &new).await?;
    Ok(edition.id)
}

/// Throws the draft away; nothing that was released.
///
/// # Errors
/// [`StoreError::Stale`] when it changed or was released meanwhile.
pub async fn discard(tx: &mut Tx, access: &Access<Card, Edit>, id: CardId, version: i64) -> Result<()> {
    let done = query("delete from card where id = $1 and student_id = $2 and state = 'draft' and version = $3")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(version)
        .execute(tx.connection())
        .await?;
    met(done.rows_affected())
}
