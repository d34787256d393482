//! Training sessions with their exercises.
//!
//! A session is recorded with the tokens of the gates that stand before it, all
//! made for its own day, and keeps the evidence they name. Which skills are
//! steady is computed from the sessions, not stored.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, journey};
use crate::access::Access;
use crate::access::action::{Action, Create, Reads, Writes};
use crate::access::resource::{Guidance, Resource, Training};
use crate::care::flag::Sign;
use crate::care::gates::{DeviceOfTheTrack, Named, NotPaused, Ready, SafeToTrain, SkillInOrder};
use crate::care::ids::{ExerciseId, LoanId, OwnDeviceId, SessionId};
use crate::care::skill::{self, MasteryRule, Skill};
use crate::care::track::Track;
use crate::care::training::{NewExercise, NewSession, Place, Session, Symptom};
use crate::care::typed::Typed;
use crate::db::column::{Columns, flag, json, number, stamp};
use crate::vision::units::{Metres, Millimetres, Seconds};

/// How long after its entry a session can be read by those who wait for the lock.
const LOCK: SignedDuration = SignedDuration::from_hours(24);

/// What the gates said to a session, made for its day.
pub struct Through {
    /// G4 and G6: the device, or none.
    pub device: DeviceOfTheTrack,
    /// G2, G3 and G9; none for a session with eyes and glasses only.
    pub with_device: Option<WithDevice>,
    /// G5: every skill that the session trains.
    pub order: Vec<SkillInOrder>,
}

/// What stands before training with a device.
#[derive(Clone, Copy)]
pub struct WithDevice {
    /// G2.
    pub safe: SafeToTrain,
    /// G3.
    pub ready: Ready,
    /// G9.
    pub not_paused: NotPaused,
}

impl Through {
    /// Whether these tokens are those of this session.
    pub(super) fn lets(&self, new: &NewSession) -> bool {
        let (day, track) = (new.held_on, new.track);
        let device = self.device.named() == new.device && self.device.day() == day;
        let with_device = match (new.device, &self.with_device) {
            (Named::NoDevice, _) => true,
            (_, Some(with)) => {
                with.safe.track() == track
                    && with.safe.day() == day
                    && with.ready.track() == track
                    && with.not_paused.day() == day
            }
            (_, None) => false,
        };
        let skill = |wanted: Skill| self.order.iter().any(|token| token.skill() == wanted);
        device && with_device && new.exercises.iter().all(|exercise| skill(exercise.skill))
    }
}

const SESSIONS: &str = "select s.id, s.track, s.loan_id, s.own_device_id, s.baseline, s.held_on, s.minutes, s.place, s.light, s.body_position,
     s.glasses, s.comfort, s.symptoms, s.refused, s.refused_reason, s.order_reason, s.note, s.entered_at, s.entered_by,
     coalesce(a.name, '') as by_name
     from training_session s left join account a on a.id = s.entered_by
     where s.student_id = $1 and s.state = $6
     and (s.entered_by = $2 or ($3 = 0 and ($4 = 0 or s.entered_at <= $5)))
     order by s.held_on desc, s.entered_at desc, s.id desc";

/// The sessions this reader may read, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Training, impl Reads>) -> Result<Vec<Session>> {
    in_state(snapshot, access, "entered").await
}

/// The sessions entered in error, which stay listed and count nowhere.
///
/// # Errors
/// When the database fails.
pub async fn errors(snapshot: &mut Snapshot, access: &Access<Training, impl Reads>) -> Result<Vec<Session>> {
    in_state(snapshot, access, "entered_in_error").await
}

async fn in_state(
    snapshot: &mut Snapshot,
    access: &Access<Training, impl Reads>,
    state: &'static str,
) -> Result<Vec<Session>> {
    let limits = *access.limits();
    let locked = stamp(locked_before(snapshot));
    let rows = query(SESSIONS)
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .bind(flag(limits.own_only))
        .bind(flag(limits.locked_only))
        .bind(locked)
        .bind(state.to_owned())
        .fetch_all(snapshot.connection())
        .await?;
    let mut exercises = exercises(snapshot, access).await?;
    let mut sessions = Vec::new();
    for row in &rows {
        let of_session = exercises.remove(&row.text("id")?).unwrap_or_default();
        sessions.push(session(row, of_session)?);
    }
    Ok(sessions)
}

/// One session.
///
/// # Errors
/// [`StoreError::Missing`] when it is not a session this reader may read.
pub async fn one(snapshot: &mut Snapshot, access: &Access<Training, impl Reads>, id: SessionId) -> Result<Session> {
    let all = list(snapshot, access).await?;
    all.into_iter().find(|session| session.id == id).ok_or(StoreError::Missing)
}

/// How many sessions there are, those that this reader still waits for
/// included: the lock hides what an entry says, not that it counts.
///
/// # Errors
/// When the database fails.
pub async fn count(snapshot: &mut Snapshot, access: &Access<Training, impl Reads>) -> Result<usize> {
    let rows = query("select id from training_session where student_id = $1 and state = 'entered'")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    Ok(rows.len())
}

/// Whether the time of a spotting exercise was ever taken, so that a page need
/// not open the training where there is nothing to say.
///
/// # Errors
/// When the database fails.
pub async fn spotting_was_timed(snapshot: &mut Snapshot, access: &Access<Guidance, impl Reads>) -> Result<bool> {
    let row = query(
        "select count(*) as timed from training_session s join exercise e on e.session_id = s.id
         where s.student_id = $1 and s.state = 'entered' and e.skill = 'spotting' and e.median_s is not null",
    )
    .bind(access.student().to_string())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.whole("timed")? > 0)
}

fn locked_before(snapshot: &Snapshot) -> Timestamp {
    snapshot.now().saturating_sub(LOCK).unwrap_or(Timestamp::UNIX_EPOCH)
}

fn session(row: &AnyRow, exercises: Vec<(ExerciseId, NewExercise)>) -> std::result::Result<Session, sqlx::Error> {
    let felt: Vec<String> = row.json("symptoms")?;
    let refused = row.flag("refused")?;
    let refused_reason = row.text("refused_reason")?;
    let (exercise_ids, exercises) = exercises.into_iter().unzip();
    Ok(Session {
        id: row.parsed("id")?,
        entered: NewSession {
            track: row.parsed("track")?,
            device: device(row)?,
            baseline: row.flag("baseline")?,
            held_on: row.date("held_on")?,
            minutes: row.whole("minutes")?,
            place: row.parsed("place")?,
            light: row.opt_parsed("light")?,
            body: row.parsed("body_position")?,
            glasses: row.opt_parsed("glasses")?,
            comfort: row.opt_parsed("comfort")?,
            symptoms: felt.iter().filter_map(|code| code.parse::<Symptom>().ok()).collect(),
            signs: felt.iter().filter_map(|code| code.parse::<Sign>().ok()).collect(),
            refused: refused.then_some(refused_reason),
            order_reason: row.text("order_reason")?,
            note: row.text("note")?,
            exercises,
        },
        exercise_ids,
        by: row.parsed("entered_by")?,
        by_name: row.text("by_name")?,
        entered_at: row.instant("entered_at")?,
    })
}

fn device(row: &AnyRow) -> std::result::Result<Named, sqlx::Error> {
    let loan: Option<LoanId> = row.opt_parsed("loan_id")?;
    let own: Option<OwnDeviceId> = row.opt_parsed("own_device_id")?;
    Ok(match (loan, own) {
        (Some(loan), _) => Named::Loan(loan),
        (None, Some(own)) => Named::Own(own),
        (None, None) => Named::NoDevice,
    })
}

type Exercises = BTreeMap<String, Vec<(ExerciseId, NewExercise)>>;

async fn exercises<A: Action>(snapshot: &mut Snapshot, access: &Access<Training, A>) -> Result<Exercises> {
    let rows = query(
        "select id, session_id, skill, item, visual_task_id, tries, correct, median_s, seconds_in_view, seconds_shown, losses,
         distance_typed, distance_m, x_height_typed, x_height_mm, prompt_level, prompt_count, self_corrected
         from exercise where student_id = $1 order by session_id, position",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Exercises::new();
    for row in &rows {
        let (id, exercise) = exercise(row)?;
        found.entry(row.text("session_id")?).or_default().push((id, exercise));
    }
    Ok(found)
}

fn exercise(row: &AnyRow) -> std::result::Result<(ExerciseId, NewExercise), sqlx::Error> {
    let distance = row.opt_unit("distance_m", Metres::new)?;
    let height = row.opt_unit("x_height_mm", Millimetres::new)?.map(Millimetres::in_metres);
    let (distance_typed, height_typed) = (row.text("distance_typed")?, row.text("x_height_typed")?);
    let counted = |column| row.opt_whole(column).map(|number| number.and_then(|number| u32::try_from(number).ok()));
    let level = row.opt_whole("prompt_level")?.unwrap_or(0).to_string();
    let entered = NewExercise {
        skill: row.parsed("skill")?,
        item: row.text("item")?,
        task: row.opt_parsed("visual_task_id")?,
        distance: distance.map(|value| Typed::new(distance_typed, value)),
        x_height: height.map(|value| Typed::new(height_typed, value)),
        tries: counted("tries")?,
        right: counted("correct")?,
        median: row.opt_unit("median_s", Seconds::new)?,
        in_view: row.opt_unit("seconds_in_view", Seconds::new)?,
        shown: row.opt_unit("seconds_shown", Seconds::new)?,
        losses: counted("losses")?,
        prompt: level.parse().map_err(|_| sqlx::Error::ColumnNotFound("prompt_level".to_owned()))?,
        prompt_count: counted("prompt_count")?,
        self_corrected: row.flag("self_corrected")?,
    };
    Ok((row.parsed("id")?, entered))
}

/// The skills that the sessions up to that day made steady on this track, for G5.
///
/// Sessions without a device do not count: with it the skill is another.
///
/// # Errors
/// When the database fails.
pub async fn steady<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    track: Track,
    day: Date,
) -> Result<BTreeSet<Skill>> {
    steady_without(snapshot, access, (track, day), None).await
}

/// The same as if one session were not there: the one that is being amended.
///
/// # Errors
/// When the database fails.
pub async fn steady_without<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    (track, day): (Track, Date),
    without: Option<SessionId>,
) -> Result<BTreeSet<Skill>> {
    let rows = query(
        "select s.id, s.held_on, s.place, e.skill, e.prompt_level, e.tries, e.correct
         from training_session s join exercise e on e.session_id = s.id
         where s.student_id = $1 and s.track = $2 and s.held_on <= $3 and s.state = 'entered'
         and (s.loan_id is not null or s.own_device_id is not null)
         and e.tries is not null and e.correct is not null and e.prompt_level is not null and s.id <> $4",
    )
    .bind(access.student().to_string())
    .bind(track.code().to_owned())
    .bind(day.to_string())
    .bind(without.map(|id| id.to_string()).unwrap_or_default())
    .fetch_all(snapshot.connection())
    .await?;
    let mut exercises = Vec::new();
    for row in &rows {
        let Ok(prompt) = row.whole("prompt_level")?.to_string().parse() else { continue };
        exercises.push(skill::Exercise {
            session: row.parsed("id")?,
            on: row.date("held_on")?,
            place: row.parsed::<Place>("place")?,
            skill: row.parsed("skill")?,
            prompt,
            tried: u32::try_from(row.whole("tries")?).unwrap_or(0),
            right: u32::try_from(row.whole("correct")?).unwrap_or(0),
        });
    }
    Ok(MasteryRule::default().steady(&exercises))
}

/// Records a session.
///
/// # Errors
/// [`StoreError::Missing`] when the tokens are not those of this session, or an
/// exercise names a task that is not this student's.
pub async fn record(
    tx: &mut Tx,
    access: &Access<Training, Create>,
    through: &Through,
    new: &NewSession,
) -> Result<SessionId> {
    if !through.lets(new) {
        return Err(StoreError::Missing);
    }
    let id = fresh(SessionId::of);
    let (loan, own) = match new.device {
        Named::NoDevice => (None, None),
        Named::Loan(loan) => (Some(loan.to_string()), None),
        Named::Own(own) => (None, Some(own.to_string())),
    };
    let evidence = through.with_device.map(|with| journey::basis_columns(with.safe.basis()));
    let ready = through.with_device.map(|with| with.ready.readiness().to_string());
    let felt: Vec<&str> =
        new.symptoms.iter().map(|one| one.code()).chain(new.signs.iter().map(|one| one.code())).collect();
    let at = stamp(tx.now());
    query(
        "insert into training_session (id, student_id, track, loan_id, own_device_id, baseline, held_on, minutes, place, light,
         body_position, glasses, comfort, symptoms, refused, refused_reason, order_reason, note, evidence_kind, evidence_id,
         readiness_id, entered_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.track.code().to_owned())
    .bind(loan)
    .bind(own)
    .bind(flag(new.baseline))
    .bind(new.held_on.to_string())
    .bind(new.minutes)
    .bind(new.place.code().to_owned())
    .bind(new.light.map_or("", |light| light.code()).to_owned())
    .bind(new.body.code().to_owned())
    .bind(new.glasses.map_or("", |glasses| glasses.code()).to_owned())
    .bind(new.comfort.map_or("", |comfort| comfort.code()).to_owned())
    .bind(json(&felt))
    .bind(flag(new.refused.is_some()))
    .bind(new.refused.clone().unwrap_or_default())
    .bind(new.order_reason.clone())
    .bind(new.note.clone())
    .bind(evidence.as_ref().map(|(kind, _)| (*kind).to_owned()))
    .bind(evidence.map(|(_, id)| id))
    .bind(ready)
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    for (position, exercise) in (0_i64..).zip(&new.exercises) {
        add_exercise(tx, access, id, position, exercise).await?;
    }
    Ok(id)
}

/// Keeps what the gates rested on for a session that was amended.
pub(super) async fn keep_evidence<A: Writes>(
    tx: &mut Tx,
    access: &Access<Training, A>,
    id: SessionId,
    through: &Through,
) -> Result<()> {
    let evidence = through.with_device.map(|with| journey::basis_columns(with.safe.basis()));
    query(
        "update training_session set evidence_kind = $1, evidence_id = $2, readiness_id = $3 where id = $4 and student_id = $5",
    )
    .bind(evidence.as_ref().map(|(kind, _)| (*kind).to_owned()))
    .bind(evidence.map(|(_, id)| id))
    .bind(through.with_device.map(|with| with.ready.readiness().to_string()))
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    Ok(())
}

pub(super) async fn add_exercise<A: Writes>(
    tx: &mut Tx,
    access: &Access<Training, A>,
    session: SessionId,
    position: i64,
    new: &NewExercise,
) -> Result<()> {
    let student = access.student().to_string();
    if let Some(task) = new.task {
        query("select id from visual_task where id = $1 and student_id = $2")
            .bind(task.to_string())
            .bind(student.clone())
            .fetch_optional(tx.connection())
            .await?
            .ok_or(StoreError::Missing)?;
    }
    query(
        "insert into exercise (id, session_id, student_id, position, skill, item, visual_task_id, tries, correct, median_s,
         seconds_in_view, seconds_shown, losses, distance_typed, distance_m, x_height_typed, x_height_mm, prompt_level, prompt_count,
         self_corrected)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20)",
    )
    .bind(fresh(ExerciseId::of).to_string())
    .bind(session.to_string())
    .bind(student)
    .bind(position)
    .bind(new.skill.code().to_owned())
    .bind(new.item.clone())
    .bind(new.task.map(|task| task.to_string()))
    .bind(new.tries.map(i64::from))
    .bind(new.right.map(i64::from))
    .bind(number(new.median.map(Seconds::get)))
    .bind(number(new.in_view.map(Seconds::get)))
    .bind(number(new.shown.map(Seconds::get)))
    .bind(new.losses.map(i64::from))
    .bind(new.distance.as_ref().map_or(String::new(), |distance| distance.typed.clone()))
    .bind(number(new.distance.as_ref().map(|distance| distance.value.get())))
    .bind(new.x_height.as_ref().map_or(String::new(), |height| height.typed.clone()))
    .bind(number(new.x_height.as_ref().map(|height| height.value.in_millimetres().get())))
    .bind(i64::from(new.prompt.level()))
    .bind(new.prompt_count.map(i64::from))
    .bind(flag(new.self_corrected))
    .execute(tx.connection())
    .await?;
    Ok(())
}
