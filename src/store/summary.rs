//! Training summaries: drafted from the record, sent once, frozen as sent.
//!
//! A draft holds the teacher's words and the figures as they stood when it was
//! last saved. Sending drafts the figures anew in the same transaction, from
//! what the clinic may read then, and keeps the devices they are about.
//! The rows behind the figures are read in `rows`.

mod behind;
mod rows;

pub mod correct;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::account::Reentered;
use super::audit::fresh;
use super::document::{self, After};
use super::sending::{self, Document};
use super::spec::{self, Owner};
use super::{Result, Snapshot, StoreError, Tx, consent, met, reach};
use crate::access::Access;
use crate::access::action::{Create, Edit, Reads, Sign};
use crate::access::resource::Summary as Row;
use crate::care::consent::{Category, Consent, Direction, Party};
use crate::care::document::{Kind, Look, Worded};
use crate::care::gates::{Blocked, Crossing, MayCross, may_cross};
use crate::care::ids::{AccountId, SummaryId};
use crate::care::named_device::NamedDevice;
use crate::care::summary::{Counted, EntryId, Figures, Scope, counted, draft};
use crate::care::track::Track;
use crate::db::column::{Columns, json, stamp};

pub use behind::{Behind, Reason, Whence, behind};
pub use rows::{Sources, read as read_rows};

/// A summary, as its reader is shown it.
#[derive(Clone)]
pub struct Summary {
    /// Which summary.
    pub id: SummaryId,
    /// The track.
    pub track: Track,
    /// The first day counted.
    pub from: Date,
    /// The last day counted.
    pub to: Date,
    /// The teacher's words and questions.
    pub texts: Texts,
    /// The figures as last saved or, once sent, as sent; none can be read from
    /// a draft that was never assembled.
    pub figures: Option<Figures>,
    /// Entries entered later are not counted.
    pub counted_through: Option<Timestamp>,
    /// Who began it.
    pub author: AccountId,
    /// Who began it, by name.
    pub by: String,
    /// When it was begun.
    pub created_at: Timestamp,
    /// When it was sent.
    pub sent_at: Option<Timestamp>,
    /// Who signed and sent it, by name.
    pub sent_by: String,
    /// The one sent earlier whose place it takes.
    pub supersedes: Option<SummaryId>,
    /// What it was made of, once sent.
    pub counted: Counted,
    /// What became of it.
    pub after: After,
    /// For edits by two people.
    pub version: i64,
}

/// What people write into a summary.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Texts {
    /// The teacher's account.
    pub words: String,
    /// The student's words, as said.
    pub student_words: String,
    /// Questions to the clinician.
    pub questions: String,
    /// What the teacher suggests looking at, as a question.
    pub look_at: String,
    /// Why there are so few sessions.
    pub few_reason: String,
}

impl Worded for Texts {
    /// Figures and days are never amended: for those another summary is sent.
    fn each_text(&mut self, look: &mut Look<'_>) {
        look("words", "Your account", true, &mut self.words);
        look("student_words", "The student\u{2019}s words", false, &mut self.student_words);
        look("questions", "Questions to the clinician", true, &mut self.questions);
        look("look_at", "What to look at", false, &mut self.look_at);
        look("few_reason", "Why so few sessions", !self.few_reason.is_empty(), &mut self.few_reason);
    }
}

/// Where a summary would go, and what lets it.
pub struct Destination {
    /// The clinic that would receive it.
    pub to: Party,
    /// Whether anybody named that clinic: a consent, or a clinician of the team.
    pub known: bool,
    /// Every consent of the student.
    pub consents: Vec<Consent>,
    /// Clinicians of that clinic who are on the team, by name.
    pub clinicians: Vec<String>,
}

impl Destination {
    /// What the clinic may read on a day.
    #[must_use]
    pub fn scope(&self, on: Date) -> Scope {
        Scope::toward(&self.consents, Some(&self.to), on)
    }

    /// G7: may a summary go there now?
    ///
    /// # Errors
    /// No consent in force covers training summaries.
    pub fn may_send(&self, on: Date, at: Timestamp) -> std::result::Result<MayCross, Blocked> {
        let crossing = Crossing {
            direction: Direction::SchoolToClinic,
            category: Some(Category::Summary),
            to: self.to.clone(),
            on,
            at,
        };
        may_cross(&self.consents, &[], crossing)
    }
}

/// Where a summary of this student would go today: the clinic of a consent that
/// covers summaries, one with a clinician on the team first; else the clinic of
/// a clinician on the team.
///
/// # Errors
/// When the database fails.
pub async fn destination(snapshot: &mut Snapshot, access: &Access<Row, impl Reads>) -> Result<Destination> {
    let today = snapshot.today();
    let consents: Vec<Consent> =
        consent::all_of(snapshot, access.student()).await?.into_iter().map(|listed| listed.consent).collect();
    let clinicians = clinicians(snapshot, access).await?;
    let covering: Vec<&Consent> = consents
        .iter()
        .filter(|consent| consent.in_force(today, Direction::SchoolToClinic, Category::Summary))
        .collect();
    let staffed = |party: &Party| clinicians.iter().any(|(_, clinic)| clinic == party);
    let named = covering
        .iter()
        .find(|consent| staffed(&consent.to))
        .or_else(|| covering.first())
        .map(|consent| consent.to.clone())
        .or_else(|| clinicians.first().map(|(_, clinic)| clinic.clone()));
    let known = named.is_some();
    let to = match named {
        Some(to) => to,
        None => Party::new("the clinic").map_err(|_| StoreError::Missing)?,
    };
    let clinicians = clinicians.into_iter().filter(|(_, clinic)| *clinic == to).map(|(name, _)| name).collect();
    Ok(Destination { to, known, consents, clinicians })
}

async fn clinicians(snapshot: &mut Snapshot, access: &Access<Row, impl Reads>) -> Result<Vec<(String, Party)>> {
    let today = snapshot.today().to_string();
    let rows = query(
        "select a.name, a.clinic from membership m join account a on a.id = m.account_id
         where m.student_id = $1 and m.role = 'clinician' and m.starts_on <= $2 and (m.ends_on is null or m.ends_on > $2)
         and a.clinic is not null order by m.added_at, a.name",
    )
    .bind(access.student().to_string())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        if let Ok(clinic) = Party::new(&row.text("clinic")?) {
            found.push((row.text("name")?, clinic));
        }
    }
    Ok(found)
}

fn summary(row: &AnyRow) -> std::result::Result<Summary, sqlx::Error> {
    // A draft holds `{}` until it is first assembled.
    let figures = row.text("figures")?;
    let figures = if figures == "{}" { None } else { Some(row.json("figures")?) };
    Ok(Summary {
        id: row.parsed("id")?,
        track: row.parsed("track")?,
        from: row.date("from_on")?,
        to: row.date("to_on")?,
        texts: Texts {
            words: row.text("words")?,
            student_words: row.text("student_words")?,
            questions: row.text("questions")?,
            look_at: row.text("look_at")?,
            few_reason: row.text("few_reason")?,
        },
        figures,
        counted_through: row.opt_instant("counted_through")?,
        author: row.parsed("created_by")?,
        by: row.text("by_name")?,
        created_at: row.instant("created_at")?,
        sent_at: row.opt_instant("sent_at")?,
        sent_by: row.text("sent_by_name")?,
        supersedes: row.opt_parsed("supersedes_id")?,
        counted: row.json("counted")?,
        after: After::default(),
        version: row.whole("version")?,
    })
}

/// Every summary this reader reaches, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Row, impl Reads>) -> Result<Vec<Summary>> {
    let reach = reach::of(snapshot, access, Document::Summary).await?;
    let history = document::history(snapshot, access, Kind::Summary).await?;
    let rows = query(
        "select s.id, s.track, s.from_on, s.to_on, s.words, s.student_words, s.questions, s.look_at, s.few_reason, s.figures,
         s.counted_through, s.created_at, s.created_by, s.sent_at, s.supersedes_id, s.counted, s.version, a.name as by_name, coalesce(b.name, '') as sent_by_name
         from summary s join account a on a.id = s.created_by left join account b on b.id = s.sent_by
         where s.student_id = $1 order by coalesce(s.sent_at, s.created_at) desc, s.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        let author: AccountId = row.parsed("created_by")?;
        let id = row.text("id")?;
        if reach.allows(&id, author, row.opt_instant("sent_at")?.is_some()) {
            let (mut one, after) = (summary(row)?, history.of(&id));
            after.reword(&mut one.texts);
            one.after = after;
            found.push(one);
        }
    }
    Ok(found)
}

/// One summary, if this reader reaches it.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn one(snapshot: &mut Snapshot, access: &Access<Row, impl Reads>, id: SummaryId) -> Result<Summary> {
    let all = list(snapshot, access).await?;
    all.into_iter().find(|summary| summary.id == id).ok_or(StoreError::Missing)
}

/// What a draft of a range of days is now.
pub struct Assembled {
    /// The figures.
    pub figures: Figures,
    /// The specifications of the devices they are about.
    pub covered: Vec<NamedDevice>,
    /// The entries they count.
    pub entries: Vec<(EntryId, Date, i64)>,
}

/// The figures of a range of days as they stand now, and what they are made of.
///
/// # Errors
/// When the database fails.
pub async fn assemble(
    snapshot: &mut Snapshot,
    access: &Access<Row, impl Reads>,
    sources: &Sources,
    scope: &Scope,
    (track, from, to): (Track, Date, Date),
) -> Result<Assembled> {
    let rows = rows::read(snapshot, access, sources, (track, from, to)).await?;
    let figures = draft(track, from, to, &rows, scope);
    let covered = figures.covered(&rows).into_iter().map(NamedDevice::of).collect();
    let entries = counted(&rows, scope, (from, to));
    Ok(Assembled { figures, covered, entries })
}

/// Begins a draft of a track and a range of days.
///
/// # Errors
/// When the database fails.
pub async fn begin(tx: &mut Tx, access: &Access<Row, Create>, figures: &Figures) -> Result<SummaryId> {
    let id = fresh(SummaryId::of);
    let at = stamp(tx.now());
    query(
        "insert into summary (id, student_id, track, from_on, to_on, state, figures, counted_through, created_at, created_by)
         values ($1, $2, $3, $4, $5, 'draft', $6, $7, $7, $8)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(figures.track.code().to_owned())
    .bind(figures.from.to_string())
    .bind(figures.to.to_string())
    .bind(json(figures))
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Saves a draft: its words, and its figures as they stand now.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved or sent it meanwhile.
pub async fn change(
    tx: &mut Tx,
    access: &Access<Row, Edit>,
    id: SummaryId,
    texts: &Texts,
    figures: &Figures,
    version: i64,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update summary set words = $1, student_words = $2, questions = $3, look_at = $4, few_reason = $5, from_on = $6, to_on = $7,
         figures = $8, counted_through = $9, version = version + 1
         where id = $10 and student_id = $11 and state = 'draft' and version = $12",
    )
    .bind(texts.words.clone())
    .bind(texts.student_words.clone())
    .bind(texts.questions.clone())
    .bind(texts.look_at.clone())
    .bind(texts.few_reason.clone())
    .bind(figures.from.to_string())
    .bind(figures.to.to_string())
    .bind(json(figures))
    .bind(at)
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// What a sending freezes.
pub struct Frozen<'a> {
    /// The figures, drafted in this transaction.
    pub figures: &'a Figures,
    /// The devices they are about.
    pub covered: &'a [NamedDevice],
    /// The entries they count.
    pub entries: &'a [(EntryId, Date, i64)],
}

/// Signs a draft and sends it to the clinic. G7: the token names the consent.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's, or when the
/// consent no longer covers it; [`StoreError::Stale`] when the draft changed or
/// was sent meanwhile.
pub async fn send(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    reentered: &Reentered,
    may: &MayCross,
    (id, version): (SummaryId, i64),
    frozen: &Frozen<'_>,
) -> Result<()> {
    let covers = may.crossing().category == Some(Category::Summary)
        && may.crossing().direction == Direction::SchoolToClinic
        && may.crossing().on == tx.today();
    if reentered.account() != access.actor().account || !covers {
        return Err(StoreError::Missing);
    }
    let at = stamp(tx.now());
    let done = query(
        "update summary set state = 'sent', figures = $1, counted_through = $2, sent_at = $2, sent_by = $3, counted = $4,
         version = version + 1 where id = $5 and student_id = $6 and state = 'draft' and version = $7",
    )
    .bind(json(frozen.figures))
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(json(&Counted::of(frozen.entries, behind::glasses(tx, access.student()).await?)))
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    correct::take_place(tx, access, id).await?;
    let (student, track) = (access.student(), frozen.figures.track);
    spec::replace(tx, student, Owner::Summary, &id.to_string(), track, frozen.covered).await?;
    // Sent means sent: a summary that nobody receives is not signed.
    let went = sending::at_signing(tx, student, Document::Summary, &id.to_string()).await?;
    if went { Ok(()) } else { Err(StoreError::Missing) }
}
