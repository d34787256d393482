//! Entries whose writer is asked about a length: 5 mm or 5 cm?
//!
//! What makes a length odd is a rule of [`crate::care::observation::suspect`];
//! here are the entries it is held against, the questions as they are kept, and
//! the answer, which is an act of the writer alone and leaves its trace as an
//! amendment. Until then the entry is in no figure.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::correct::Outcome;
use super::correct::observation::{Amended, Stored, amend};
use super::observation::{IN_CLASS, LOCK, OUTSIDE, Settings, length, outcome};
use super::{Result, Snapshot, StoreError, Tx, amendment, met};
use crate::access::action::{Amend, Reads, Writes};
use crate::access::resource::{Resource, Row};
use crate::access::{Access, Actor, Role};
use crate::care::amendment::{Change, Correction};
use crate::care::ids::{AccountId, ObservationId, StudentId};
use crate::care::observation::suspect::{Doubt, Known, Lengths, Question, Which, questions};
use crate::care::observation::{Length, NewObservation, Seen, Setting};
use crate::care::task::TaskCode;
use crate::care::track::Track;
use crate::db::column::{Columns, json, stamp};
use crate::vision::units::{Metres, Millimetres};

/// An entry about the same thing as another.
struct Alike {
    id: ObservationId,
    lengths: Lengths,
    doubt: Doubt,
}

const fn settings(row: Row) -> Option<Settings> {
    match row {
        Row::ClassObservation => Some(IN_CLASS),
        Row::HomeObservation => Some(OUTSIDE),
        _ => None,
    }
}

/// Every entry about one thing that the proof reaches: the student's own task, or
/// what has the same name.
async fn alike<R: Resource, A: Writes>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    seen: Seen,
    what: &str,
    track: Track,
) -> Result<Vec<Alike>> {
    let Some(settings) = settings(R::ROW) else { return Ok(Vec::new()) };
    let (task, what) = match seen {
        Seen::Task(id) => (id.to_string(), String::new()),
        Seen::Kind(code) if what.is_empty() => (String::new(), code.code().to_owned()),
        Seen::Kind(_) => (String::new(), what.to_owned()),
    };
    let rows = query(
        "select id, distance_typed, distance_m, distance_from_task, x_height_typed, x_height_mm, x_height_from_task, correct, tried,
         graded, asked
         from observation
         where student_id = $1 and setting in ($2, $3) and state = 'entered' and ($4 = 0 or entered_by = $5)
         and (visual_task_id = $6 or ($6 = '' and visual_task_id is null and what = $7))
         order by entered_at, id",
    )
    .bind(access.student().to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .bind(task)
    .bind(what)
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(|row| one_alike(row, track)).collect::<std::result::Result<_, _>>()?)
}

fn one_alike(row: &AnyRow, track: Track) -> std::result::Result<Alike, sqlx::Error> {
    Ok(Alike {
        id: row.parsed("id")?,
        lengths: Lengths {
            track,
            distance: length(
                row.opt_unit("distance_m", Metres::new)?,
                row.text("distance_typed")?,
                row.flag("distance_from_task")?,
            ),
            x_height: length(
                row.opt_unit("x_height_mm", Millimetres::new)?,
                row.text("x_height_typed")?,
                row.flag("x_height_from_task")?,
            ),
            outcome: outcome(row)?,
        },
        doubt: Doubt { questions: row.json("asked")? },
    })
}

/// The thing an entry is about, as the question needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct About {
    /// Its track.
    pub track: Track,
    /// Its own distance, for one of the student's tasks.
    pub distance: Option<Metres>,
    /// Its own letter height.
    pub x_height: Option<Metres>,
}

impl About {
    /// A kind of thing, of which nothing was measured.
    #[must_use]
    pub const fn kind(code: TaskCode) -> Self {
        Self { track: code.usual_track(), distance: None, x_height: None }
    }

    fn known(&self, others: &[Alike], but: ObservationId) -> Known {
        let mut known = Known { task_distance: self.distance, task_x_height: self.x_height, ..Known::default() };
        others.iter().filter(|one| one.id != but && !one.doubt.waits()).for_each(|one| known.add(&one.lengths));
        known
    }
}

/// What is known of one thing before an entry about it is written, as far as the
/// proof reaches; nothing of it is shown.
///
/// # Errors
/// When the database fails.
pub async fn known<R: Resource, A: Writes>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    (entry, about): (&NewObservation, About),
) -> Result<Known> {
    let all = alike(snapshot, access, entry.seen, &entry.what, about.track).await?;
    Ok(about.known(&all, ObservationId::of(uuid::Uuid::nil())))
}

/// Asks about an entry just written, and about those before it that now differ
/// from the rest. Says whether its writer has something to answer.
///
/// What is compared reaches as far as the proof does; nothing of it is shown.
///
/// # Errors
/// When the database fails.
pub async fn ask<R: Resource, A: Writes>(
    tx: &mut Tx,
    access: &Access<R, A>,
    id: ObservationId,
    (entry, about): (&NewObservation, About),
) -> Result<Doubt> {
    let all = alike(tx, access, entry.seen, &entry.what, about.track).await?;
    let mut own = Doubt::default();
    for one in &all {
        let found = questions(&one.lengths, &about.known(&all, one.id));
        if one.id == id {
            own = one.doubt.renewed(found);
            if own != one.doubt {
                keep(tx, access, id, &own).await?;
            }
        } else if one.doubt.questions.is_empty() && !found.is_empty() {
            keep(tx, access, one.id, &Doubt { questions: found }).await?;
        }
    }
    Ok(own)
}

async fn keep<R: Resource, A: Writes>(
    tx: &mut Tx,
    access: &Access<R, A>,
    id: ObservationId,
    doubt: &Doubt,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update observation set asked = $1, asked_state = $2, asked_at = $3
         where id = $4 and student_id = $5 and ($6 = 0 or entered_by = $7)",
    )
    .bind(json(&doubt.questions))
    .bind(state(doubt).to_owned())
    .bind(at)
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

fn state(doubt: &Doubt) -> &'static str {
    match doubt.questions.as_slice() {
        [] => "",
        _ if doubt.waits() => "waits",
        _ => "answered",
    }
}

/// What the writer of an entry answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// It is right as it stands.
    Stands,
    /// It was this instead, one of those that were offered.
    Was(String),
}

/// The entry with one of its lengths in other words; nothing when they are no
/// length.
fn changed(entry: &NewObservation, which: Which, typed: &str) -> Option<NewObservation> {
    let metres = crate::vision::length::parse(typed).ok()?;
    let mut entry = entry.clone();
    let typed = typed.to_owned();
    match which {
        Which::Distance => entry.distance = Some(Length { typed, value: metres, from_task: false }),
        Which::XHeight => {
            entry.x_height = Some(Length { typed, value: metres.in_millimetres(), from_task: false });
        }
    }
    Some(entry)
}

/// Answers one question about one's own entry. Either answer leaves its trace: the
/// length as it was and as it is, or the question and that it stands.
///
/// # Errors
/// [`StoreError::Missing`] when the entry is somebody else's, or the answer is none
/// that was offered;
/// [`StoreError::Stale`] when it was changed or answered meanwhile.
pub async fn answer<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Amend>,
    stored: &Stored,
    version: Option<i64>,
    (which, answer): (Which, &Answer),
) -> Result<Outcome> {
    if !is_own(tx, access, stored.id).await? {
        return Err(StoreError::Missing);
    }
    if stored.in_error || version != Some(stored.version) {
        return Err(StoreError::Stale);
    }
    let asked = stored.doubt.open().find(|question| question.which == which).ok_or(StoreError::Stale)?;
    let reason = format!("Answer to the question: {}", asked.words());
    match answer {
        Answer::Was(typed) => {
            let offered = asked.others.contains(typed);
            let entered = changed(&stored.entered, which, typed).filter(|_| offered).ok_or(StoreError::Missing)?;
            let new = Amended { entered: &entered, named: stored.named, device: None, reason: Some(&reason) };
            let outcome = amend(tx, access, stored, version, &new).await?;
            if outcome != Outcome::Kept {
                return Ok(outcome);
            }
        }
        Answer::Stands => stands(tx, access, stored, asked, &reason).await?,
    }
    keep(tx, access, stored.id, &stored.doubt.answering(which)).await?;
    Ok(Outcome::Kept)
}

async fn is_own<R: Resource>(tx: &mut Tx, access: &Access<R, Amend>, id: ObservationId) -> Result<bool> {
    let row = query("select count(*) as n from observation where id = $1 and student_id = $2 and entered_by = $3")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .fetch_one(tx.connection())
        .await?;
    Ok(row.whole("n")? == 1)
}

async fn stands<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Amend>,
    stored: &Stored,
    asked: &Question,
    reason: &str,
) -> Result<()> {
    let (before, after) = (asked.words(), format!("{}, right as it stands", asked.typed));
    let change = Change::of(crate::care::observation::texts::label(asked.which), before, after);
    // Before and after differ, and the reason is the question: nothing is refused.
    let Ok(correction) = Correction::because([change], reason) else { return Err(StoreError::Stale) };
    let done = query(
        "update observation set version = version + 1
         where id = $1 and student_id = $2 and version = $3 and state = 'entered' and entered_by = $4",
    )
    .bind(stored.id.to_string())
    .bind(access.student().to_string())
    .bind(stored.version)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    amendment::write(tx, access, stored.id, &correction).await
}

/// An entry that waits for its writer's answer, as its reader may know it.
#[derive(Debug, Clone)]
pub struct Waiting {
    /// Which.
    pub id: ObservationId,
    /// Where it was seen.
    pub setting: Setting,
    /// The day.
    pub seen_on: Date,
    /// Whose entry.
    pub account: AccountId,
    /// By whom.
    pub by: String,
    /// In which role.
    pub by_role: Option<Role>,
    /// Since when it waits.
    pub since: Timestamp,
    /// What is asked; empty where its reader may not read the entry yet.
    pub words: String,
}

/// The entries of one row of the table that are in no figure until their writers
/// answer, as far as the proof reaches, oldest first.
///
/// # Errors
/// When the database fails.
pub async fn waiting<R: Resource, A: Reads>(snapshot: &mut Snapshot, access: &Access<R, A>) -> Result<Vec<Waiting>> {
    let Some(settings) = settings(R::ROW) else { return Ok(Vec::new()) };
    let rows = query(
        "select o.id, o.setting, o.seen_on, o.entered_at, o.entered_by, o.asked, o.asked_at, a.name as by_name, a.role as by_role
         from observation o join account a on a.id = o.entered_by
         where o.student_id = $1 and o.setting in ($2, $3) and o.state = 'entered' and o.asked_state = 'waits'
         and (o.entered_by = $4 or ($5 = 0 and ($6 = 0 or o.shared_with_class = 1)))
         order by o.asked_at, o.id",
    )
    .bind(access.student().to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(access.actor().account.to_string())
    .bind(i64::from(access.limits().own_only))
    .bind(i64::from(access.limits().shared_only))
    .fetch_all(snapshot.connection())
    .await?;
    let (me, now) = (access.actor().account, snapshot.now());
    let unlocked = now.checked_sub(LOCK).unwrap_or(now);
    rows.iter()
        .map(|row| {
            let (account, entered): (AccountId, Timestamp) = (row.parsed("entered_by")?, row.instant("entered_at")?);
            let open = account == me || !access.limits().locked_only || entered <= unlocked;
            let doubt = Doubt { questions: row.json("asked")? };
            Ok(Waiting {
                id: row.parsed("id")?,
                setting: row.parsed("setting")?,
                seen_on: row.date("seen_on")?,
                account,
                by: row.text("by_name")?,
                by_role: row.opt_parsed("by_role")?,
                since: row.opt_instant("asked_at")?.unwrap_or(entered),
                words: if open { doubt.words() } else { String::new() },
            })
        })
        .collect()
}

/// Of which students an entry of this person's waits for their answer, and how
/// many: whose records are worth opening. Tells nothing of what is asked.
///
/// # Errors
/// When the database fails.
pub async fn students(snapshot: &mut Snapshot, actor: &Actor) -> Result<BTreeMap<StudentId, i64>> {
    let Some(role) = actor.role else { return Ok(BTreeMap::new()) };
    let today = snapshot.today().to_string();
    let rows = query(
        "select o.student_id, count(*) as n from observation o join membership m on m.student_id = o.student_id
         where m.account_id = $1 and m.role = $2 and m.starts_on <= $3 and (m.ends_on is null or m.ends_on > $3)
         and o.entered_by = $1 and o.state = 'entered' and o.asked_state = 'waits' group by o.student_id",
    )
    .bind(actor.account.to_string())
    .bind(role.code().to_owned())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok((row.parsed("student_id")?, row.whole("n")?))).collect()
}
