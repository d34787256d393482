//! The disclosure record: what content went across, to whom, on which ground.
//!
//! A row is written before the reader gets the proof, so that nothing crosses
//! without one. The family may read it.

use std::sync::{Arc, Mutex, PoisonError};

use jiff::{SignedDuration, Timestamp};
use sqlx::query;

use super::{Audit, Result, Snapshot, Store, Tx, setting, standing};
use crate::access::action::{Action, Export, Reads, Verb};
use crate::access::limits::Basis;
use crate::access::resource::{DisclosureRecord, Resource, Row, WholeRecord};
use crate::access::standing::Standing;
use crate::access::{Access, Actor, Crossing, Side, would_cross};
use crate::care::ids::StudentId;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};

/// Writes the row of a read that takes content to the other side, and gives the
/// proof to read with; nothing when what allowed the read is gone by now.
///
/// G7: a withdrawal stops what is live at once. So the policy is asked again in
/// the transaction that writes the row, after every withdrawal that was faster:
/// each read either stands in the log before the withdrawal, or is not given.
///
/// # Errors
/// When the database fails; then the content must not be shown.
pub async fn of_reading<R: Resource, A: Action>(store: &Store, access: Access<R, A>) -> Result<Option<Access<R, A>>> {
    Ok(of_readings(store, vec![access]).await?.pop())
}

/// The same for a list across students of one reader, in one transaction: gives
/// the proofs that still stand.
///
/// # Errors
/// When the database fails; then the content must not be shown.
pub async fn of_readings<R: Resource, A: Action>(
    store: &Store,
    proofs: Vec<Access<R, A>>,
) -> Result<Vec<Access<R, A>>> {
    let (crossing, mut given): (Vec<_>, Vec<_>) = proofs.into_iter().partition(|access| access.crossing().is_some());
    let Some(first) = crossing.first() else { return Ok(given) };
    let students: Vec<StudentId> = crossing.iter().map(Access::student).collect();
    let mut tx = store.tx().await?;
    tx.take_turn().await?;
    let site = setting::site(&mut tx).await?;
    let standings = standing::of_all(&mut tx, &site, first.actor(), &students, first.password()).await?;
    let mut logged = Vec::new();
    for (access, standing) in crossing.iter().zip(&standings) {
        let Ok(access) = access.again(standing) else { continue };
        match access.crossing() {
            Some(crossing) => {
                read(&mut tx, access.actor(), access.student(), (R::ROW, channel_of::<A>()), crossing).await?;
                logged.push(access);
            }
            None => given.push(access),
        }
    }
    let Some((last, others)) = logged.split_last() else { return Ok(given) };
    for access in others {
        tx.also(Audit::by(access).doing("read")).await?;
    }
    tx.commit(Audit::by(last).doing("read")).await?;
    given.extend(logged);
    Ok(given)
}

/// Kinds of record of one student that one request reads, as they stand in the
/// disclosure record: each kind, on which ground, and the facts that were asked.
///
/// A page reads a kind for several of its parts; it is one reading, written once.
#[derive(Clone, Default)]
pub struct Written(Arc<Mutex<Vec<(Row, Crossing, Standing)>>>);

impl Written {
    /// The proof on the facts it was written down on; none, this reading is not
    /// among those written.
    pub fn again<R: Resource, A: Action>(&self, access: &Access<R, A>) -> Option<Access<R, A>> {
        let found = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        found.iter().filter(|(row, ..)| *row == R::ROW).find_map(|(_, crossing, standing)| {
            access.again(standing).ok().filter(|again| again.crossing() == Some(crossing))
        })
    }

    /// Remembers what a proof was written down for.
    pub fn remember<R: Resource, A: Action>(&self, access: &Access<R, A>) {
        if let Some(crossing) = access.crossing() {
            self.push(R::ROW, *crossing, access.standing());
        }
    }

    /// Remembers what [`of_taking`] wrote down, so that the papers of the same record,
    /// taken by the same request, are not written down once more as printed.
    pub fn taken(&self, access: &Access<WholeRecord, Export>, kinds: &[Row]) {
        for row in kinds {
            if let Ok(Some(crossing)) = would_cross(access.actor(), access.standing(), *row) {
                self.push(*row, crossing, access.standing());
            }
        }
    }

    fn push(&self, row: Row, crossing: Crossing, standing: &Standing) {
        let mut found = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        found.push((row, crossing, standing.clone()));
    }

    fn has(&self, row: Row) -> bool {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).iter().any(|(written, ..)| *written == row)
    }
}

/// The kinds of record that a page puts together.
pub struct Together<'a> {
    /// What there is no page without; none where any part will do.
    pub needed: Option<Row>,
    /// All of them.
    pub kinds: &'a [Row],
}

impl Written {
    /// Writes the rows of all that one request is about to read of one student,
    /// in one transaction, as [`of_reading`] does for one kind. Gives no proof:
    /// whoever reads asks for it, and finds it written.
    ///
    /// # Errors
    /// When the database fails; then the content must not be shown.
    pub async fn ahead(&self, store: &Store, actor: &Actor, standing: &Standing, parts: &Together<'_>) -> Result<()> {
        if self.crossing(actor, standing, parts).is_empty() {
            return Ok(());
        }
        let mut tx = store.tx().await?;
        tx.take_turn().await?;
        let site = setting::site(&mut tx).await?;
        let found = standing::of_all(&mut tx, &site, actor, &[standing.student()], standing.password()).await?;
        let Some(now) = found.first() else { return Ok(()) };
        // G7: what was withdrawn in between is not among them.
        let crossing = self.crossing(actor, now, parts);
        let Some(((last, _), others)) = crossing.split_last() else { return Ok(()) };
        for (row, crossing) in &crossing {
            read(&mut tx, actor, now.student(), (*row, "screen"), crossing).await?;
        }
        for (row, _) in others {
            tx.also(Audit::read(actor, now.student(), *row)).await?;
        }
        tx.commit(Audit::read(actor, now.student(), *last)).await?;
        for (row, crossing) in crossing {
            self.push(row, crossing, now);
        }
        Ok(())
    }

    /// What of the parts would cross on these facts and is not written yet;
    /// nothing where there will be no page.
    fn crossing(&self, actor: &Actor, standing: &Standing, parts: &Together<'_>) -> Vec<(Row, Crossing)> {
        if parts.needed.is_some_and(|row| would_cross(actor, standing, row).is_err()) {
            return Vec::new();
        }
        let fresh = parts.kinds.iter().filter(|row| !self.has(**row));
        fresh.filter_map(|row| Some((*row, would_cross(actor, standing, *row).ok().flatten()?))).collect()
    }
}

/// How what was asked for reaches its reader.
fn channel_of<A: Action>() -> &'static str {
    if A::VERB == Verb::Export { "print" } else { "screen" }
}

/// Writes down that a reader takes the record along, kind by kind where content
/// crosses, and gives the proof on the facts of this transaction, so that what is
/// read in it is what was allowed in it (G7). A parent's copy is one line, on
/// the parent's own right; what a side takes of its own crosses nothing.
///
/// # Errors
/// [`super::StoreError::Missing`] when what allowed it is gone by now.
pub async fn of_taking(
    tx: &mut Tx,
    access: &Access<WholeRecord, Export>,
    kinds: &[Row],
) -> Result<Access<WholeRecord, Export>> {
    tx.take_turn().await?;
    let site = setting::site(tx).await?;
    let found = standing::of_all(tx, &site, access.actor(), &[access.student()], access.password()).await?;
    let now = found.first().ok_or(super::StoreError::Missing)?;
    let access = access.again(now).map_err(|_| super::StoreError::Missing)?;
    let actor = access.actor();
    for row in kinds {
        if let Ok(Some(crossing)) = would_cross(actor, now, *row) {
            write(tx, (actor, access.student()), row.name(), Ground::of(&crossing), "export").await?;
        }
    }
    if actor.side() == Side::Family {
        let ground = Ground { basis: "rights_holder", consent: None };
        write(tx, (actor, access.student()), "record", ground, "export").await?;
    }
    Ok(access)
}

/// What a row names as its ground.
struct Ground {
    basis: &'static str,
    consent: Option<String>,
}

impl Ground {
    fn of(crossing: &Crossing) -> Self {
        let basis = match crossing.basis {
            Basis::Consent(_) => "consent",
            Basis::Emergency(_) => "emergency",
            Basis::AsSent => "sent",
            Basis::Safety => "none",
        };
        Self { basis, consent: crossing.consent().map(|id| id.to_string()) }
    }
}

async fn read(
    tx: &mut Tx,
    actor: &Actor,
    student: StudentId,
    (row, channel): (Row, &'static str),
    crossing: &Crossing,
) -> Result<()> {
    write(tx, (actor, student), row.name(), Ground::of(crossing), channel).await
}

async fn write(
    tx: &mut Tx,
    (actor, student): (&Actor, StudentId),
    what: &str,
    ground: Ground,
    channel: &'static str,
) -> Result<()> {
    let at = stamp(tx.now());
    query(
        "insert into disclosure (id, student_id, at, account_id, recipient, organisation, to_side, what, basis, consent_id, channel)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(fresh_uuid().to_string())
    .bind(student.to_string())
    .bind(at)
    .bind(actor.account.to_string())
    .bind(actor.name.clone())
    .bind(actor.clinic.clone().unwrap_or_default())
    .bind(actor.side().code().to_owned())
    .bind(what.to_owned())
    .bind(ground.basis.to_owned())
    .bind(ground.consent)
    .bind(channel.to_owned())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// One row for each quarter of an hour in which somebody was refused, so that
/// pressing reload does not push the record's own lines off its page.
const REFUSED_ONCE_IN: SignedDuration = SignedDuration::from_mins(15);

/// Writes down that a parent from whom these records are kept asked for them.
///
/// There is no proof to take, since nothing was granted; the standings are the
/// evidence, and those that withhold nothing write nothing.
///
/// # Errors
/// When the database fails.
pub async fn of_refusals(store: &Store, actor: &Actor, standings: &[Standing]) -> Result<()> {
    let mut snapshot = store.snapshot().await?;
    let since = stamp(snapshot.now().checked_sub(REFUSED_ONCE_IN).unwrap_or(snapshot.now()));
    let mut fresh = Vec::new();
    for standing in standings.iter().filter(|standing| standing.account() == actor.account) {
        if standing.withheld().is_some() && !refused_since(&mut snapshot, standing, &since).await? {
            fresh.push(standing.student());
        }
    }
    drop(snapshot);
    let Some((last, others)) = fresh.split_last() else { return Ok(()) };
    let mut tx = store.tx().await?;
    for student in &fresh {
        refuse(&mut tx, actor, *student).await?;
    }
    for student in others {
        tx.also(Audit::refused(actor, *student)).await?;
    }
    tx.commit(Audit::refused(actor, *last)).await
}

async fn refused_since(snapshot: &mut Snapshot, standing: &Standing, since: &str) -> Result<bool> {
    let row = query(
        "select count(*) as n from disclosure where student_id = $1 and account_id = $2 and refused = 1 and at > $3",
    )
    .bind(standing.student().to_string())
    .bind(standing.account().to_string())
    .bind(since.to_owned())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.whole("n")? > 0)
}

async fn refuse(tx: &mut Tx, actor: &Actor, student: StudentId) -> Result<()> {
    let at = stamp(tx.now());
    query(
        "insert into disclosure (id, student_id, at, account_id, recipient, to_side, what, basis, channel, refused)
         values ($1, $2, $3, $4, $5, $6, 'record', 'none', 'screen', 1)",
    )
    .bind(fresh_uuid().to_string())
    .bind(student.to_string())
    .bind(at)
    .bind(actor.account.to_string())
    .bind(actor.name.clone())
    .bind(actor.side().code().to_owned())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// One row as the family reads it.
pub struct Disclosure {
    /// When.
    pub at: Timestamp,
    /// Who received it.
    pub recipient: String,
    /// For whom that person works.
    pub organisation: String,
    /// To which side it went.
    pub to_side: Side,
    /// Which kind of record.
    pub what: String,
    /// On which ground.
    pub basis: String,
    /// By which way.
    pub channel: String,
    /// Whether it was asked for and refused.
    pub refused: bool,
}

/// The newest lines of a student's disclosure record, so many at most; a reader
/// limited to their own sees only what they received.
///
/// # Errors
/// When the database fails.
pub async fn of_student(
    snapshot: &mut Snapshot,
    access: &Access<DisclosureRecord, impl Reads>,
    most: i64,
) -> Result<Vec<Disclosure>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select at, recipient, organisation, to_side, what, basis, channel, refused from disclosure
         where student_id = $1 and ($2 = 0 or account_id = $3)
         order by at desc, id desc limit $4",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .bind(most)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Disclosure {
                at: row.instant("at")?,
                recipient: row.text("recipient")?,
                organisation: row.text("organisation")?,
                to_side: row.parsed("to_side")?,
                what: row.text("what")?,
                basis: row.text("basis")?,
                channel: row.text("channel")?,
                refused: row.flag("refused")?,
            })
        })
        .collect()
}
