//! What stands beside a student's stages, for the next step: pause, hold, close,
//! an evaluation that is due, a consent that is waited for, readiness.
//!
//! Like the facts of a journey these are shared ground, opened by any proof
//! about the student; none of them is content.

use std::collections::BTreeMap;

use jiff::civil::Date;
use sqlx::query;

use super::asked::{self, asked};
use super::{Result, Snapshot, consent, safety, setting};
use crate::access::Access;
use crate::access::action::Action;
use crate::access::resource::Resource;
use crate::care::consent::{Category, Direction};
use crate::care::flag::Pause;
use crate::care::ids::StudentId;
use crate::care::journey::overlay::{Event, Overlay, evaluation_due};
use crate::care::journey::step::{Around, Purpose};
use crate::care::track::Track;
use crate::db::column::Columns;

/// What stands beside both tracks of a student today.
pub struct Beside {
    distance: Around,
    near: Around,
}

impl Beside {
    /// What stands beside one of them.
    pub fn of(&self, track: Track) -> &Around {
        match track {
            Track::Distance => &self.distance,
            Track::Near => &self.near,
        }
    }
}

/// Gathers what stands beside the tracks; `requested_on` is the day of a request
/// that is not answered yet.
///
/// # Errors
/// When the database fails.
pub async fn beside<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    requested_on: impl Fn(Track) -> Option<Date>,
) -> Result<Beside> {
    let gathered = gather(snapshot, std::slice::from_ref(access)).await?;
    Ok(gathered.of(access, requested_on))
}

/// What stands beside the tracks of a caseload, gathered in as many queries as
/// for one student.
pub struct Gathered {
    today: Date,
    of: BTreeMap<StudentId, Found>,
}

#[derive(Default)]
struct Found {
    pauses: Vec<Pause>,
    events: Vec<Event>,
    evaluation_due: Option<Date>,
    tasks: bool,
    intake_may_cross: bool,
    readiness: Vec<(Track, Date)>,
}

impl Gathered {
    /// What stands beside one student's tracks, by the proof it was gathered with.
    pub fn of<R: Resource, A: Action>(
        &self,
        access: &Access<R, A>,
        requested_on: impl Fn(Track) -> Option<Date>,
    ) -> Beside {
        let nothing = Found::default();
        let found = self.of.get(&access.student()).unwrap_or(&nothing);
        let overlay = Overlay::on(self.today, &found.events, &found.pauses, found.evaluation_due);
        let of = |track: Track| Around {
            overlay,
            purpose: if found.tasks { Purpose::Named } else { Purpose::Missing },
            waits_for_consent: requested_on(track).filter(|_| !found.intake_may_cross),
            readiness_signed: found.readiness.iter().find(|(of, _)| *of == track).map(|(_, day)| *day),
        };
        Beside { distance: of(Track::Distance), near: of(Track::Near) }
    }
}

/// Gathers what stands beside the tracks of a caseload, each student by a proof
/// of their own.
///
/// # Errors
/// When the database fails.
pub async fn gather<R: Resource, A: Action>(snapshot: &mut Snapshot, proofs: &[Access<R, A>]) -> Result<Gathered> {
    let (today, asked) = (snapshot.today(), asked::of_proofs(proofs));
    let mut of: BTreeMap<StudentId, Found> = BTreeMap::new();
    for (student, pause) in safety::pauses_of_students(snapshot, &asked).await? {
        of.entry(student).or_default().pauses.push(pause);
    }
    for (student, event) in record_events(snapshot, &asked).await? {
        of.entry(student).or_default().events.push(event);
    }
    for (student, due) in evaluations_due(snapshot, proofs).await? {
        of.entry(student).or_default().evaluation_due = Some(due);
    }
    for student in with_tasks(snapshot, &asked).await? {
        of.entry(student).or_default().tasks = true;
    }
    for (student, consent) in consent::all_of_students(snapshot, &asked).await? {
        if consent.in_force(today, Direction::SchoolToClinic, Category::Intake) {
            of.entry(student).or_default().intake_may_cross = true;
        }
    }
    for (student, track, day) in readiness_signed(snapshot, &asked).await? {
        of.entry(student).or_default().readiness.push((track, day));
    }
    Ok(Gathered { today, of })
}

async fn record_events(snapshot: &mut Snapshot, students: &str) -> Result<Vec<(StudentId, Event)>> {
    let rows = query(concat!(
        "select student_id, kind, on_date, at from record_event where student_id in ",
        asked!(),
        " order by at"
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let event = Event { on: row.date("on_date")?, entered: row.instant("at")?, change: row.parsed("kind")? };
            Ok((row.parsed("student_id")?, event))
        })
        .collect()
}

/// The day the next evaluation of each student is due, past or not: the day that
/// the clinician of the newest examination named, else so many months after it
/// as the site says.
///
/// # Errors
/// When the database fails.
pub async fn evaluations_due<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    proofs: &[Access<R, A>],
) -> Result<BTreeMap<StudentId, Date>> {
    let months = u16::try_from(setting::site(snapshot).await?.evaluation_months()).unwrap_or(12);
    let rows = query(concat!(
        "select student_id, examined_on, next_due_on from evaluation
         where signed_at is not null and state <> 'entered_in_error' and examined_on is not null and report_kind <> 'eye' and student_id in ",
        asked!(),
        " order by examined_on, signed_at"
    ))
    .bind(asked::of_proofs(proofs))
    .fetch_all(snapshot.connection())
    .await?;
    let mut due = BTreeMap::new();
    for row in &rows {
        let day = match row.opt_date("next_due_on")? {
            Some(stated) => stated,
            None => evaluation_due(row.date("examined_on")?, months),
        };
        // The newest examination comes last.
        due.insert(row.parsed("student_id")?, day);
    }
    Ok(due)
}

async fn with_tasks(snapshot: &mut Snapshot, students: &str) -> Result<Vec<StudentId>> {
    let rows = query(concat!(
        "select distinct student_id from visual_task where retired_at is null and student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok(row.parsed("student_id")?)).collect()
}

async fn readiness_signed(snapshot: &mut Snapshot, students: &str) -> Result<Vec<(StudentId, Track, Date)>> {
    let rows = query(concat!(
        "select student_id, track, signed_at from readiness
         where signed_at is not null and entered_in_error_at is null and student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let day = snapshot.date_of(row.instant("signed_at")?);
            Ok((row.parsed("student_id")?, row.parsed("track")?, day))
        })
        .collect()
}
