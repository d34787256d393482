//! The facts a student's two tracks are derived from, gathered from the records.
//!
//! Facts are the shared ground of gates and stages, not content: any proof about
//! the student opens them to a gate. What a reader is shown of them goes through
//! [`shown`], which needs the stage's own proof and honours its limits.

mod gather;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use sqlx::any::AnyRow;

use super::asked::{self};
use super::{Result, Snapshot, StoreError};
use crate::access::Access;
use crate::access::action::{Action, Reads};
use crate::access::resource::{Resource, Stage};
use crate::care::ids::StudentId;
use crate::care::journey::fact::{Answer, Choice, Fact, Safe, Source, What};
use crate::care::journey::{Basis, Journey, journey};
use crate::care::track::Track;
use crate::db::column::Columns;

const BOTH: [Track; 2] = [Track::Distance, Track::Near];

/// Both tracks of a student, as they stood at the end of a day.
pub struct Tracks {
    /// The distance track.
    pub distance: Journey,
    /// The near track.
    pub near: Journey,
}

impl Tracks {
    /// One of them.
    pub fn of(&self, track: Track) -> &Journey {
        match track {
            Track::Distance => &self.distance,
            Track::Near => &self.near,
        }
    }
}

/// A track as a reader of the stage is shown it.
#[derive(Clone)]
pub struct Shown {
    /// The track, as far as this reader's side was sent what it rests on.
    pub journey: Journey,
    /// Whether more has happened than this reader's side was sent.
    pub waiting_for_consent: bool,
}

/// Both tracks today, for a gate: whoever has a proof about the student may be
/// told whether a step is open.
///
/// # Errors
/// When the database fails.
pub async fn tracks<R: Resource, A: Action>(snapshot: &mut Snapshot, access: &Access<R, A>) -> Result<Tracks> {
    let today = snapshot.today();
    tracks_on(snapshot, access, today).await
}

/// The same at the end of another day, for entries dated back.
///
/// # Errors
/// When the database fails.
pub async fn tracks_on<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    day: Date,
) -> Result<Tracks> {
    let gathered = one(snapshot, access).await?;
    let of = |track| journey(track, &gathered.of(track, day, Known::Whole), day);
    Ok(Tracks { distance: of(Track::Distance), near: of(Track::Near) })
}

/// Both tracks as this reader is shown them.
///
/// # Errors
/// When the database fails.
pub async fn shown(snapshot: &mut Snapshot, access: &Access<Stage, impl Reads>) -> Result<Vec<Shown>> {
    let found = shown_all(snapshot, std::slice::from_ref(access)).await?;
    found.into_values().next().ok_or(StoreError::Missing)
}

/// The same for a whole caseload, in as many queries as for one student; each
/// student by a proof of their own.
///
/// # Errors
/// When the database fails.
pub async fn shown_all(
    snapshot: &mut Snapshot,
    proofs: &[Access<Stage, impl Reads>],
) -> Result<BTreeMap<StudentId, Vec<Shown>>> {
    let today = snapshot.today();
    let gathered = gather::all(snapshot, &asked::of_proofs(proofs)).await?;
    let mut found = BTreeMap::new();
    for access in proofs {
        let gathered = gathered.get(&access.student()).ok_or(StoreError::Missing)?;
        found.insert(access.student(), gathered.shown(access, today));
    }
    Ok(found)
}

async fn one<R: Resource, A: Action>(snapshot: &mut Snapshot, access: &Access<R, A>) -> Result<Gathered> {
    let mut gathered = gather::all(snapshot, &asked::of_proofs(std::slice::from_ref(access))).await?;
    gathered.remove(&access.student()).ok_or(StoreError::Missing)
}

/// The facts of one student.
#[derive(Default)]
struct Gathered {
    facts: Vec<(Track, Fact)>,
    sent_to_school: BTreeSet<String>,
    /// What took the place of a document, and on which day.
    superseded: BTreeMap<String, (String, Date)>,
    /// Documents whose end is not known at school: no consent let it across.
    end_unknown: BTreeSet<String>,
}

/// As far as whom a track is told.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Known {
    Whole,
    AtSchool,
}

/// The document a fact is of.
fn document(what: &What) -> Option<String> {
    match what {
        What::EvaluationAnswered { evaluation, .. } => Some(evaluation.to_string()),
        What::Decided { decision, .. } => Some(decision.to_string()),
        What::PrescriptionSigned { prescription, .. } | What::PrescriptionVoided { prescription } => {
            Some(prescription.to_string())
        }
        What::SummarySent { summary, .. } => Some(summary.to_string()),
        _ => None,
    }
}

/// Whether a fact leaves nothing of what the one before it said of a track.
fn replaces(what: &What) -> bool {
    match what {
        What::EvaluationAnswered { safe, answer, .. } => {
            *answer == Answer::NoDevice || (*answer != Answer::NotLookedAt && *safe != Safe::NotStated)
        }
        What::Decided { choice, .. } => *choice == Choice::ChangeDevice,
        _ => false,
    }
}

impl Gathered {
    fn shown(&self, access: &Access<Stage, impl Reads>, today: Date) -> Vec<Shown> {
        let mut tracks = Vec::new();
        for track in BOTH {
            let whole = journey(track, &self.of(track, today, Known::Whole), today);
            if access.limits().unsent_waits {
                let sent = journey(track, &self.of(track, today, Known::AtSchool), today);
                let waiting = sent.stage != whole.stage || sent.recommendation != whole.recommendation;
                tracks.push(Shown { journey: sent, waiting_for_consent: waiting });
            } else {
                tracks.push(Shown { journey: whole, waiting_for_consent: false });
            }
        }
        tracks
    }

    fn of(&self, track: Track, day: Date, known: Known) -> Vec<Fact> {
        let told: Vec<Fact> = self
            .facts
            .iter()
            .filter(|(of, fact)| *of == track && (known == Known::Whole || self.reached_school(&fact.what)))
            .map(|(_, fact)| {
                let unknown =
                    known == Known::AtSchool && document(&fact.what).is_some_and(|id| self.end_unknown.contains(&id));
                Fact { entered_in_error: fact.entered_in_error && !unknown, ..fact.clone() }
            })
            .collect();
        told.iter().filter_map(|fact| self.standing(fact, &told, day)).collect()
    }

    /// A fact as it counts once a newer document has taken the place of its own.
    ///
    /// Whatever the dates on the two, the newer one has the last word: the older
    /// stays in the history, just before it, where the newer says all that it
    /// said, and otherwise counts no longer. It never comes back, also not when
    /// the newer one is marked entered in error. Before the newer one was signed
    /// it stood.
    fn standing(&self, fact: &Fact, told: &[Fact], day: Date) -> Option<Fact> {
        let next = document(&fact.what)
            .and_then(|id| self.superseded.get(&id))
            .filter(|(_, since)| *since <= day)
            .and_then(|(next, _)| told.iter().find(|other| document(&other.what).as_ref() == Some(next)));
        let Some(next) = next else { return Some(fact.clone()) };
        if next.entered_in_error || !replaces(&next.what) {
            return None;
        }
        let next = self.standing(next, told, day)?;
        Some(Fact { on: fact.on.min(next.on), ..fact.clone() })
    }

    /// Whether what a clinician did is known at school: its document went there.
    fn reached_school(&self, what: &What) -> bool {
        match what {
            What::EvaluationAnswered { source: Source::Signed, .. }
            | What::Decided { .. }
            | What::PrescriptionSigned { .. } => {
                document(what).is_some_and(|document| self.sent_to_school.contains(&document))
            }
            What::PrescriptionVoided { prescription } => !self.end_unknown.contains(&prescription.to_string()),
            _ => true,
        }
    }
}

pub(super) fn basis(row: &AnyRow, kind: &'static str, id: &'static str) -> std::result::Result<Basis, sqlx::Error> {
    Ok(if row.text(kind)? == "decision" {
        Basis::Decision(row.parsed(id)?)
    } else {
        Basis::Evaluation(row.parsed(id)?)
    })
}

/// A document as two columns.
pub(super) fn basis_columns(basis: Basis) -> (&'static str, String) {
    match basis {
        Basis::Evaluation(id) => ("evaluation", id.to_string()),
        Basis::Decision(id) => ("decision", id.to_string()),
    }
}
