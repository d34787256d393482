//! What stands beside a student's stages, for the next step: pause, hold, close,
//! an evaluation that is due, a consent that is waited for, readiness.
//!
//! Like the facts of a journey these are shared ground, opened by any proof
//! about the student; none of them is content.

use jiff::civil::Date;
use sqlx::query;

use super::{Result, Snapshot, consent, safety, setting};
use crate::access::Access;
use crate::access::action::Action;
use crate::access::resource::Resource;
use crate::care::consent::{Category, Direction};
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
    let (today, student) = (snapshot.today(), access.student());
    let months = setting::site(snapshot).await?.evaluation_months();
    let pauses = safety::pauses(snapshot, access).await?;
    let events = record_events(snapshot, &student.to_string()).await?;
    let examined = last_examined(snapshot, &student.to_string()).await?;
    let due = examined
        .map(|(day, stated)| stated.unwrap_or_else(|| evaluation_due(day, u16::try_from(months).unwrap_or(12))));
    let overlay = Overlay::on(today, &events, &pauses, due);
    let purpose =
        if count_tasks(snapshot, &student.to_string()).await? > 0 { Purpose::Named } else { Purpose::Missing };
    let intake_may_cross = consent::all_of(snapshot, student)
        .await?
        .iter()
        .any(|listed| listed.consent.in_force(today, Direction::SchoolToClinic, Category::Intake));
    let readiness = readiness_signed(snapshot, &student.to_string()).await?;
    let of = |track: Track| Around {
        overlay,
        purpose,
        waits_for_consent: requested_on(track).filter(|_| !intake_may_cross),
        readiness_signed: readiness.iter().find(|(of, _)| *of == track).map(|(_, day)| *day),
    };
    Ok(Beside { distance: of(Track::Distance), near: of(Track::Near) })
}

async fn record_events(snapshot: &mut Snapshot, student: &str) -> Result<Vec<Event>> {
    let rows = query("select kind, on_date, at from record_event where student_id = $1 order by at")
        .bind(student.to_owned())
        .fetch_all(snapshot.connection())
        .await?;
    rows.iter()
        .map(|row| Ok(Event { on: row.date("on_date")?, entered: row.instant("at")?, change: row.parsed("kind")? }))
        .collect()
}

/// The newest examination and the day its clinician named for the next one.
async fn last_examined(snapshot: &mut Snapshot, student: &str) -> Result<Option<(Date, Option<Date>)>> {
    let row = query(
        "select examined_on, next_due_on from evaluation
         where student_id = $1 and signed_at is not null and state <> 'entered_in_error' and examined_on is not null
         and report_kind <> 'eye'
         order by examined_on desc limit 1",
    )
    .bind(student.to_owned())
    .fetch_optional(snapshot.connection())
    .await?;
    row.map(|row| Ok((row.date("examined_on")?, row.opt_date("next_due_on")?))).transpose()
}

async fn count_tasks(snapshot: &mut Snapshot, student: &str) -> Result<i64> {
    let row = query("select count(*) as n from visual_task where student_id = $1 and retired_at is null")
        .bind(student.to_owned())
        .fetch_one(snapshot.connection())
        .await?;
    Ok(row.whole("n")?)
}

async fn readiness_signed(snapshot: &mut Snapshot, student: &str) -> Result<Vec<(Track, Date)>> {
    let rows = query("select track, signed_at from readiness where student_id = $1 and signed_at is not null")
        .bind(student.to_owned())
        .fetch_all(snapshot.connection())
        .await?;
    rows.iter().map(|row| Ok((row.parsed("track")?, snapshot.date_of(row.instant("signed_at")?)))).collect()
}
