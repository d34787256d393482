//! The rows a summary's figures are drafted from: sessions with their exercises,
//! observations, and the devices that both name.
//!
//! Each kind is read under its own proof; where the reader has none, there are
//! no such rows. What a proof keeps back until the lock is marked, not dropped:
//! a young entry counts and is not quoted.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use sqlx::any::AnyRow;
use sqlx::query;

use crate::access::Access;
use crate::access::action::{Read, Reads};
use crate::access::resource::{
    ClassObservation, Evaluation, HomeObservation, Intake, Loans, Prescription, Summary, Training,
};
use crate::care::device::DeviceSpec;
use crate::care::device_words;
use crate::care::ids::SessionId;
use crate::care::observation::suspect::Doubt;
use crate::care::summary::{DeviceRow, ExerciseRow, ObservationRow, Rows, SessionRow, Setting, Speaker};
use crate::care::task::TaskCode;
use crate::care::track::{Eye, Track};
use crate::db::column::{Columns, stamp};
use crate::store::{Result, Snapshot, spec};

/// How long an entry's text is only its author's. Source: the access table, l.
pub(super) const LOCK: SignedDuration = SignedDuration::from_hours(24);

/// What the reader may read of the ingredients.
#[derive(Default)]
pub struct Sources {
    /// Sessions.
    pub training: Option<Access<Training, Read>>,
    /// Observations in class.
    pub class: Option<Access<ClassObservation, Read>>,
    /// Observations at home and in the community.
    pub home: Option<Access<HomeObservation, Read>>,
    /// Loans and own devices: their tags.
    pub loans: Option<Access<Loans, Read>>,
    /// The intake: its glasses.
    pub intake: Option<Access<Intake, Read>>,
    /// Evaluations: whether one is newer.
    pub evaluations: Option<Access<Evaluation, Read>>,
    /// Decisions: whether one changed the device.
    pub decisions: Option<Access<Prescription, Read>>,
}

impl Sources {
    pub(super) fn reads(&self, setting: Setting) -> bool {
        match setting {
            Setting::Classroom => self.class.is_some(),
            Setting::Home | Setting::Community => self.home.is_some(),
            Setting::Training => self.training.is_some(),
        }
    }
}

/// Every row of one track and range of days that the reader may read.
///
/// # Errors
/// When the database fails.
pub async fn read(
    snapshot: &mut Snapshot,
    access: &Access<Summary, impl Reads>,
    sources: &Sources,
    (track, from, to): (Track, Date, Date),
) -> Result<Rows> {
    let student = access.student().to_string();
    let mut devices = loans(snapshot, &student, track).await?;
    devices.extend(own_devices(snapshot, &student, track).await?);
    if sources.loans.is_none() {
        for device in &mut devices {
            device.tag.clear();
        }
    }
    let range = (student.as_str(), from, to);
    let sessions = match &sources.training {
        Some(_) => sessions(snapshot, range, track).await?,
        None => Vec::new(),
    };
    let mut observations = observations(snapshot, range).await?;
    observations.retain(|row| sources.reads(row.setting) && row.track.is_none_or(|of| of == track));
    Ok(Rows { devices, sessions, observations })
}

fn device_row(row: &AnyRow, spec: DeviceSpec, own: bool) -> std::result::Result<DeviceRow, sqlx::Error> {
    let id = row.text("id")?;
    Ok(DeviceRow {
        key: if own { format!("own:{id}") } else { format!("loan:{id}") },
        short: device_words::short(&spec),
        line: device_words::line(&spec),
        tag: row.text("tag")?,
        eye: spec.eye.map(Eye::words).unwrap_or_default().to_owned(),
        spec,
        own,
        from: row.date("from_on")?,
        to: row.opt_date("to_on")?,
    })
}

async fn loans(snapshot: &mut Snapshot, student: &str, track: Track) -> Result<Vec<DeviceRow>> {
    let rows = query(
        "select l.id, l.lent_on as from_on, l.returned_on as to_on, l.eye, d.tag, d.kind, d.power, d.objective_mm, d.field_deg,
         d.near_focus_m, d.reading_cap_d, d.equivalent_power_d, d.lens_mm, d.stand_height_mm, d.light, d.over_glasses
         from loan l join device d on d.id = l.device_id where l.student_id = $1 and l.track = $2
         and l.entered_in_error_at is null order by l.lent_on, l.id",
    )
    .bind(student.to_owned())
    .bind(track.code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(|row| device_row(row, spec::spec(row)?, false)).collect::<std::result::Result<_, _>>()?)
}

async fn own_devices(snapshot: &mut Snapshot, student: &str, track: Track) -> Result<Vec<DeviceRow>> {
    let rows = query(
        "select o.id, o.received_on as from_on, cast(null as text) as to_on, o.tag, d.kind, d.power, d.objective_mm, d.field_deg,
         d.near_focus_m, d.reading_cap_d, d.equivalent_power_d, d.lens_mm, d.stand_height_mm, d.light, d.over_glasses, d.eye
         from own_device o join device_spec d on d.id = o.spec_id
         where o.student_id = $1 and o.track = $2 and o.entered_in_error_at is null order by o.received_on, o.id",
    )
    .bind(student.to_owned())
    .bind(track.code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(|row| device_row(row, spec::spec(row)?, true)).collect::<std::result::Result<_, _>>()?)
}

/// The device an entry names, as the key of its row.
fn device_key(row: &AnyRow) -> std::result::Result<Option<String>, sqlx::Error> {
    let own = row.opt_text("own_device_id")?.map(|id| format!("own:{id}"));
    let lent = row.opt_text("loan_id")?.map(|id| format!("loan:{id}"));
    Ok(own.or(lent))
}

fn small(number: Option<i64>) -> Option<u32> {
    number.and_then(|number| u32::try_from(number).ok())
}

type Days<'a> = (&'a str, Date, Date);

async fn sessions(snapshot: &mut Snapshot, (student, from, to): Days<'_>, track: Track) -> Result<Vec<SessionRow>> {
    let mut practised = exercises(snapshot, (student, from, to), track).await?;
    let rows = query(
        "select id, version, held_on, minutes, place, light, loan_id, own_device_id, baseline, comfort, symptoms, refused, refused_reason,
         order_reason from training_session
         where student_id = $1 and track = $2 and state = 'entered' and held_on >= $3 and held_on <= $4 order by held_on, id",
    )
    .bind(student.to_owned())
    .bind(track.code().to_owned())
    .bind(from.to_string())
    .bind(to.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        let id: SessionId = row.parsed("id")?;
        found.push(SessionRow {
            id,
            version: row.whole("version")?,
            on: row.date("held_on")?,
            minutes: small(Some(row.whole("minutes")?)).unwrap_or(0),
            place: row.text("place")?,
            light: row.text("light")?,
            device: device_key(row)?,
            baseline: row.flag("baseline")?,
            comfort: felt(&row.text("comfort")?).to_owned(),
            symptoms: row.json("symptoms")?,
            refused: row.flag("refused")?,
            refused_reason: row.text("refused_reason")?,
            order_reason: row.text("order_reason")?,
            exercises: practised.remove(&id).unwrap_or_default(),
        });
    }
    Ok(found)
}

/// Sessions keep comfort as 0 to 3, observations in words; a summary tells both
/// in words.
fn felt(code: &str) -> &str {
    match code {
        "0" => "fine",
        "1" => "a_bit_tired",
        "2" => "tired",
        "3" => "wanted_to_stop",
        other => other,
    }
}

async fn exercises(
    snapshot: &mut Snapshot,
    (student, from, to): Days<'_>,
    track: Track,
) -> Result<BTreeMap<SessionId, Vec<ExerciseRow>>> {
    let rows = query(
        "select e.session_id, e.skill, t.name as task, e.tries, e.correct, e.prompt_level, e.distance_m, e.x_height_mm
         from exercise e join training_session s on s.id = e.session_id left join visual_task t on t.id = e.visual_task_id
         where e.student_id = $1 and s.track = $2 and s.state = 'entered' and s.held_on >= $3 and s.held_on <= $4
         order by e.session_id, e.position",
    )
    .bind(student.to_owned())
    .bind(track.code().to_owned())
    .bind(from.to_string())
    .bind(to.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found: BTreeMap<SessionId, Vec<ExerciseRow>> = BTreeMap::new();
    for row in &rows {
        found.entry(row.parsed("session_id")?).or_default().push(ExerciseRow {
            skill: row.parsed("skill")?,
            task: row.opt_text("task")?,
            tried: small(row.opt_whole("tries")?),
            right: small(row.opt_whole("correct")?),
            prompt: row.opt_whole("prompt_level")?.and_then(|level| level.to_string().parse().ok()),
            distance_m: row.opt_number("distance_m")?,
            x_height_mm: row.opt_number("x_height_mm")?,
        });
    }
    Ok(found)
}

async fn observations(snapshot: &mut Snapshot, (student, from, to): Days<'_>) -> Result<Vec<ObservationRow>> {
    let locked_since = stamp(snapshot.now().checked_sub(LOCK).unwrap_or(Timestamp::MIN));
    let rows = query(
        "select o.id, o.version, o.setting, o.seen_on, t.name as task, o.what, coalesce(t.track, l.track, w.track) as track, o.loan_id,
         o.own_device_id, o.device_out, o.non_use_reason, o.distance_m, o.x_height_mm, o.contrast, o.correct, o.tried, o.graded,
         o.help, o.comfort, o.note, o.informant, o.asked, a.role, cast(case when o.entered_at <= $4 then 1 else 0 end as bigint) as locked
         from observation o join account a on a.id = o.entered_by
         left join visual_task t on t.id = o.visual_task_id left join loan l on l.id = o.loan_id
         left join own_device w on w.id = o.own_device_id
         where o.student_id = $1 and o.state = 'entered' and o.seen_on >= $2 and o.seen_on <= $3 order by o.seen_on, o.id",
    )
    .bind(student.to_owned())
    .bind(from.to_string())
    .bind(to.to_string())
    .bind(locked_since)
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(observation).collect::<std::result::Result<_, _>>()?)
}

fn observation(row: &AnyRow) -> std::result::Result<ObservationRow, sqlx::Error> {
    let informant = row.text("informant")?;
    let by = match row.opt_text("role")?.as_deref() {
        _ if informant.eq_ignore_ascii_case("student") => Speaker::Student,
        Some("parent") => Speaker::Parent,
        Some("classroom_teacher") => Speaker::ClassroomTeacher,
        _ => Speaker::VisionTeacher,
    };
    let note = row.text("note")?;
    let (what, named) = (row.text("what")?, row.opt_text("task")?);
    let kind: Option<TaskCode> = what.parse().ok();
    // Without a task or a device of the record, the kind of thing says the track.
    let track = row.opt_parsed("track")?.or_else(|| kind.map(TaskCode::usual_track));
    let task = named.unwrap_or_else(|| kind.map_or(what, |kind| kind.words().to_owned()));
    let told = by == Speaker::VisionTeacher && !informant.is_empty() && !note.is_empty();
    Ok(ObservationRow {
        id: row.parsed("id")?,
        version: row.whole("version")?,
        on: row.date("seen_on")?,
        setting: row.parsed("setting")?,
        task,
        track,
        device: device_key(row)?,
        device_out: row.text("device_out")?,
        non_use_reason: row.text("non_use_reason")?,
        distance_m: row.opt_number("distance_m")?,
        x_height_mm: row.opt_number("x_height_mm")?,
        contrast: row.text("contrast")?,
        right: small(row.opt_whole("correct")?),
        tried: small(row.opt_whole("tried")?),
        graded: row.text("graded")?,
        help: row.text("help")?,
        comfort: row.text("comfort")?,
        note: if told { format!("{note} (told by: {informant})") } else { note },
        by,
        locked: row.flag("locked")?,
        asked: Doubt { questions: row.json("asked")? }.words(),
    })
}
