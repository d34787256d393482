//! What has happened since a summary was sent: which of its entries were
//! corrected, what is newer, and whether evaluation, device or glasses changed.
//!
//! The summary stays as sent; this only lists. Each kind is told to a reader who
//! may read it, and to nobody else.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::query;

use super::{Sources, Summary, assemble, destination, rows};
use crate::access::Access;
use crate::access::action::{Read, Reads};
use crate::access::resource::{Resource, Summary as Row};
use crate::care::consent::Category;
use crate::care::document::{Kind, Mark};
use crate::care::ids::{DecisionId, EvaluationId, ObservationId, SessionId, StudentId};
use crate::care::journey::fact::Choice;
use crate::care::observation::Setting;
use crate::care::summary::{CountedEntry, EntryId, Scope, counted};
use crate::db::column::{Columns, stamp};
use crate::store::{Result, Snapshot, decision, document, evaluation};

/// Where what happened is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whence {
    /// A training session.
    Session(SessionId),
    /// An observation.
    Observation(ObservationId),
    /// All sessions: this one is not open to its reader yet.
    Sessions,
    /// All observations: this one is not open to its reader yet.
    Observations,
    /// An evaluation.
    Evaluation(EvaluationId),
    /// A decision.
    Decision(DecisionId),
    /// The devices.
    Devices,
    /// The intake.
    Intake,
}

/// One thing that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// What, in words.
    pub words: String,
    /// Where it is read.
    pub whence: Whence,
}

/// What has happened since a summary was sent.
#[derive(Default)]
pub struct Behind {
    /// Figures of its own days that are others now: label, as sent, now.
    pub changed: Vec<(String, String, String)>,
    /// What happened, each with its place.
    pub reasons: Vec<Reason>,
    /// Whether its figures could be compared: not where the consent now covers
    /// other settings than it did when it was sent.
    pub compared: bool,
}

impl Behind {
    /// Whether nothing happened.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.changed.is_empty() && self.reasons.is_empty()
    }
}

/// What of a sent summary is behind, as far as this reader may read what it was
/// made of; none for a draft, and for who reads it as sent alone (G7).
///
/// # Errors
/// When the database fails.
pub async fn behind(
    snapshot: &mut Snapshot,
    access: &Access<Row, impl Reads>,
    sources: &Sources,
    summary: &Summary,
) -> Result<Option<Behind>> {
    let (Some(sent), Some(sent_at)) = (&summary.figures, summary.sent_at) else { return Ok(None) };
    if access.limits().sent_only {
        return Ok(None);
    }
    let scope = destination(snapshot, access).await?.scope(snapshot.today());
    let days = (summary.track, summary.from, summary.to);
    let now = assemble(snapshot, access, sources, &scope, days).await?;
    let compared = scope.left_out() == sent.left_out;
    let mut behind = Behind { compared, ..Behind::default() };
    if compared {
        behind.changed = now.figures.changed_since(sent);
    }
    let student = access.student();
    let entries = Entries {
        sessions: sessions(snapshot, sources).await?,
        observations: observations(snapshot, sources, student).await?,
    };
    corrected(snapshot, (student, &entries), (summary, sent_at), &mut behind.reasons).await?;
    added(snapshot, access, (sources, &scope, &entries), (summary, &now.entries), &mut behind.reasons).await?;
    evaluations(snapshot, sources, sent_at, &mut behind.reasons).await?;
    decided(snapshot, sources, (summary, sent_at), &mut behind.reasons).await?;
    if sources.intake.is_some() {
        let then = summary.counted.glasses.clone();
        if then.is_some() && glasses(snapshot, student).await? != then {
            behind
                .reasons
                .push(Reason { words: "What is known about the glasses changed".to_owned(), whence: Whence::Intake });
        }
    }
    Ok(Some(behind))
}

/// The answer of the intake on glasses, a code.
pub(super) async fn glasses(snapshot: &mut Snapshot, student: StudentId) -> Result<Option<String>> {
    let row = query("select glasses from intake where student_id = $1")
        .bind(student.to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    Ok(row.map(|row| row.text("glasses")).transpose()?)
}

/// An entry as it stands now.
struct Now {
    on: Date,
    version: i64,
    counts: bool,
    readable: bool,
    /// Whether its own page is open to this reader: a young entry's is its author's.
    opens: bool,
}

struct Entries {
    sessions: BTreeMap<String, Now>,
    observations: BTreeMap<String, Now>,
}

impl Entries {
    fn session(&self, id: SessionId) -> Whence {
        let opens = self.sessions.get(&id.to_string()).is_some_and(|now| now.opens);
        if opens { Whence::Session(id) } else { Whence::Sessions }
    }

    fn observation(&self, id: ObservationId) -> Whence {
        let opens = self.observations.get(&id.to_string()).is_some_and(|now| now.opens);
        if opens { Whence::Observation(id) } else { Whence::Observations }
    }
}

/// Whether the text of an entry is open to who holds this proof.
fn opens<R: Resource>(access: Option<&Access<R, Read>>, author: &str, entered: Timestamp, now: Timestamp) -> bool {
    access.is_some_and(|access| {
        let unlocked = now.checked_sub(rows::LOCK).unwrap_or(now);
        !access.limits().locked_only || entered <= unlocked || access.actor().account.to_string() == author
    })
}

/// Entries that were counted and are amended, or count no longer.
async fn corrected(
    snapshot: &mut Snapshot,
    (student, entries): (StudentId, &Entries),
    (summary, sent_at): (&Summary, Timestamp),
    reasons: &mut Vec<Reason>,
) -> Result<()> {
    let rows = query(
        "select record_id from amendment where student_id = $1 and resource in ('training_session', 'observation') and at > $2",
    )
    .bind(student.to_string())
    .bind(stamp(sent_at))
    .fetch_all(snapshot.connection())
    .await?;
    let amended: BTreeSet<String> =
        rows.iter().map(|row| row.text("record_id")).collect::<std::result::Result<_, _>>()?;
    let told = |entries: &[CountedEntry], now: &BTreeMap<String, Now>, what: &str| -> Vec<(String, String)> {
        let mut told = Vec::new();
        for entry in entries {
            let Some(now) = now.get(&entry.id).filter(|now| now.readable) else { continue };
            let said = if !now.counts {
                "was marked entered in error"
            } else if amended.contains(&entry.id) || now.version != entry.version {
                "was amended"
            } else {
                continue;
            };
            told.push((entry.id.clone(), format!("The {what} of {} {said}", now.on.strftime("%-d %B %Y"))));
        }
        told
    };
    if let Some(counted) = &summary.counted.sessions {
        for (id, words) in told(counted, &entries.sessions, "training session") {
            reasons.extend(id.parse().ok().map(|id| Reason { words, whence: entries.session(id) }));
        }
    }
    if let Some(counted) = &summary.counted.observations {
        for (id, words) in told(counted, &entries.observations, "observation") {
            reasons.extend(id.parse().ok().map(|id| Reason { words, whence: entries.observation(id) }));
        }
    }
    Ok(())
}

async fn sessions(snapshot: &mut Snapshot, sources: &Sources) -> Result<BTreeMap<String, Now>> {
    let Some(access) = &sources.training else { return Ok(BTreeMap::new()) };
    let rows =
        query("select id, held_on, version, state, entered_at, entered_by from training_session where student_id = $1")
            .bind(access.student().to_string())
            .fetch_all(snapshot.connection())
            .await?;
    let at = snapshot.now();
    rows.iter()
        .map(|row| {
            let now = Now {
                on: row.date("held_on")?,
                version: row.whole("version")?,
                counts: row.text("state")? == "entered",
                readable: true,
                opens: opens(Some(access), &row.text("entered_by")?, row.instant("entered_at")?, at),
            };
            Ok((row.text("id")?, now))
        })
        .collect()
}

async fn observations(snapshot: &mut Snapshot, sources: &Sources, student: StudentId) -> Result<BTreeMap<String, Now>> {
    let rows = query(
        "select id, seen_on, setting, version, state, entered_at, entered_by from observation where student_id = $1",
    )
    .bind(student.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let at = snapshot.now();
    rows.iter()
        .map(|row| {
            let setting: Setting = row.parsed("setting")?;
            let (author, entered) = (row.text("entered_by")?, row.instant("entered_at")?);
            let now = Now {
                on: row.date("seen_on")?,
                version: row.whole("version")?,
                counts: row.text("state")? == "entered",
                readable: sources.reads(setting),
                opens: match setting {
                    Setting::Classroom => opens(sources.class.as_ref(), &author, entered, at),
                    Setting::Home | Setting::Community => opens(sources.home.as_ref(), &author, entered, at),
                    Setting::Training => opens(sources.training.as_ref(), &author, entered, at),
                },
            };
            Ok((row.text("id")?, now))
        })
        .collect()
}

/// Entries about its days that came later, entries about later days, and
/// devices that came or went.
async fn added(
    snapshot: &mut Snapshot,
    access: &Access<Row, impl Reads>,
    (sources, scope, entries): (&Sources, &Scope, &Entries),
    (summary, now): (&Summary, &[(EntryId, Date, i64)]),
    reasons: &mut Vec<Reason>,
) -> Result<()> {
    let today = snapshot.today();
    let then = |entries: &Option<Vec<CountedEntry>>, id: &str| {
        entries.as_ref().is_none_or(|entries| entries.iter().any(|entry| entry.id == id))
    };
    let mut newer: Vec<(EntryId, Date)> = now
        .iter()
        .filter(|(id, ..)| match id {
            EntryId::Session(id) => !then(&summary.counted.sessions, &id.to_string()),
            EntryId::Observation(id) => !then(&summary.counted.observations, &id.to_string()),
        })
        .map(|(id, on, _)| (*id, *on))
        .collect();
    let after = summary.to.tomorrow().unwrap_or(today);
    if after <= today {
        let later = rows::read(snapshot, access, sources, (summary.track, after, today)).await?;
        newer.extend(counted(&later, scope, (after, today)).into_iter().map(|(id, on, _)| (id, on)));
    }
    for (id, on) in newer {
        let (what, whence) = match id {
            EntryId::Session(id) => ("A training session", entries.session(id)),
            EntryId::Observation(id) => ("An observation", entries.observation(id)),
        };
        let more = if on > summary.to { "after its last day" } else { "entered since it was sent" };
        reasons.push(Reason { words: format!("{what} of {}, {more}", on.strftime("%-d %B %Y")), whence });
    }
    let Some(sent_on) = summary.sent_at.map(|at| snapshot.date_of(at)) else { return Ok(()) };
    let held = rows::read(snapshot, access, sources, (summary.track, today, today)).await?;
    let moved = held.devices.iter().any(|device| device.from > sent_on || device.to.is_some_and(|back| back > sent_on));
    if moved && sources.loans.is_some() && scope.has(Category::Devices) {
        reasons.push(Reason { words: "A device came or went".to_owned(), whence: Whence::Devices });
    }
    Ok(())
}

/// Evaluations that were signed, amended or ended since.
async fn evaluations(
    snapshot: &mut Snapshot,
    sources: &Sources,
    sent_at: Timestamp,
    reasons: &mut Vec<Reason>,
) -> Result<()> {
    let Some(access) = &sources.evaluations else { return Ok(()) };
    let history = document::history(snapshot, access, Kind::Evaluation).await?;
    for one in evaluation::list(snapshot, access).await? {
        let after = history.of(&one.id.to_string());
        let day = one.examined_on.map(|day| format!(" of {}", day.strftime("%-d %B %Y"))).unwrap_or_default();
        let mut say = |words: &str| {
            let words = format!("The evaluation{day} {words}");
            reasons.push(Reason { words, whence: Whence::Evaluation(one.id) });
        };
        match &after.ended {
            Some(ended) if ended.at > sent_at => say(match ended.mark {
                Mark::Superseded => "was superseded",
                _ => "was marked entered in error",
            }),
            Some(_) => {}
            None if one.signed_at.is_some_and(|at| at > sent_at) => say("was signed"),
            None if after.amended.iter().any(|amended| amended.at > sent_at) => say("was amended"),
            None => {}
        }
    }
    Ok(())
}

/// Decisions that changed the device since.
async fn decided(
    snapshot: &mut Snapshot,
    sources: &Sources,
    (summary, sent_at): (&Summary, Timestamp),
    reasons: &mut Vec<Reason>,
) -> Result<()> {
    let Some(access) = &sources.decisions else { return Ok(()) };
    for made in decision::list(snapshot, access).await? {
        let changed = made.track == summary.track && made.choice == Choice::ChangeDevice && made.signed_at > sent_at;
        if changed && made.after.ended.is_none() {
            let words = format!("The device was changed by the decision of {}", made.decided_on.strftime("%-d %B %Y"));
            reasons.push(Reason { words, whence: Whence::Decision(made.id) });
        }
    }
    Ok(())
}
