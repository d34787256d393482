//! Correcting what somebody saw.
//!
//! Read in full as it is stored, for the form that amends it, and written back
//! with both texts. A row of the table keeps its settings: what was seen in class
//! does not become a note from home.

use jiff::Timestamp;
use sqlx::any::AnyRow;
use sqlx::query;

use super::super::observation::{LOCK, device, length, outcome, own_task};
use super::super::{Result, Snapshot, StoreError, Tx, amendment, met};
use super::{Outcome, device_words};
use crate::access::Access;
use crate::access::action::Amend;
use crate::access::resource::{Resource, Row};
use crate::care::amendment::{Correction, changes};
use crate::care::gates::{DeviceOfTheTrack, Named};
use crate::care::ids::ObservationId;
use crate::care::observation::suspect::Doubt;
use crate::care::observation::texts::texts;
use crate::care::observation::{NewObservation, Outcome as Right, Place, Seen, Setting};
use crate::care::task::{TaskCode, TaskGlimpse};
use crate::db::column::{Columns, flag, number};
use crate::vision::units::{Metres, Millimetres};

/// An entry as it is stored, for the form that amends it.
pub struct Stored {
    /// Which.
    pub id: ObservationId,
    /// What it says.
    pub entered: NewObservation,
    /// The device it names.
    pub named: Named,
    /// The student's own task it names, in use still or not.
    pub task: Option<TaskGlimpse>,
    /// When it was entered.
    pub entered_at: Timestamp,
    /// Whether it is marked as entered in error.
    pub in_error: bool,
    /// How often it was changed.
    pub version: i64,
    /// What its writer was asked about its lengths.
    pub doubt: Doubt,
}

impl Stored {
    /// Whether a change of it is an amendment that says why.
    #[must_use]
    pub fn locked(&self, now: Timestamp) -> bool {
        self.entered_at.checked_add(LOCK).is_ok_and(|opens| opens <= now)
    }
}

/// The entry, if this person may correct it.
///
/// # Errors
/// [`StoreError::Missing`] otherwise.
pub async fn stored<R: Resource>(
    snapshot: &mut Snapshot,
    access: &Access<R, Amend>,
    id: ObservationId,
) -> Result<Stored> {
    let settings = match R::ROW {
        Row::ClassObservation => ["classroom", "classroom"],
        Row::HomeObservation => ["home", "community"],
        _ => return Err(StoreError::Missing),
    };
    let row = query(
        "select o.id, o.seen_on, o.informant, o.visual_task_id, o.what, o.place, o.device_out, o.loan_id, o.own_device_id,
         o.non_use_reason, o.glasses, o.distance_typed, o.distance_m, o.distance_from_task, o.distance_band, o.x_height_typed,
         o.x_height_mm, o.x_height_from_task, o.contrast, o.target_class, o.choices, o.correct, o.tried, o.graded, o.help, o.pace,
         o.comfort, o.mood, o.minutes_before_tired, o.suggested_by, o.note, o.language, o.entered_at, o.state, o.version, o.asked,
         t.code as task_code, coalesce(t.name, '') as task_name, t.track as task_track, t.target_class as task_target
         from observation o left join visual_task t on t.id = o.visual_task_id and t.student_id = o.student_id
         where o.id = $1 and o.student_id = $2 and o.setting in ($3, $4) and ($5 = 0 or o.entered_by = $6)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    Ok(read(&row)?)
}

/// The setting of an entry of this student, whoever's it is: no content, so that a
/// refusal can say which.
///
/// # Errors
/// When the database fails.
pub async fn stands_in<R: Resource>(
    snapshot: &mut Snapshot,
    access: &Access<R, Amend>,
    id: ObservationId,
) -> Result<Option<Setting>> {
    let row = query("select setting from observation where id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    Ok(row.map(|row| row.parsed("setting")).transpose()?)
}

fn read(row: &AnyRow) -> std::result::Result<Stored, sqlx::Error> {
    let task = match row.opt_parsed("visual_task_id")? {
        Some(id) => Some(TaskGlimpse {
            id,
            code: row.parsed("task_code")?,
            name: row.text("task_name")?,
            place: String::new(),
            track: row.parsed("task_track")?,
            // What it asks for now is not what it asked for then, so nothing of it is copied.
            distance: None,
            x_height: None,
            marker: None,
            target: row.parsed("task_target")?,
            choices: None,
        }),
        None => None,
    };
    let what = row.text("what")?;
    // A kind of thing is stored by its code; in somebody's own words it is any other thing.
    let (seen, what) = match (&task, what.parse::<TaskCode>()) {
        (Some(task), _) => (Seen::Task(task.id), what),
        (None, Ok(code)) => (Seen::Kind(code), String::new()),
        (None, Err(_)) => (Seen::Kind(TaskCode::HobbyOther), what),
    };
    Ok(Stored {
        id: row.parsed("id")?,
        named: device(row)?,
        entered_at: row.instant("entered_at")?,
        in_error: row.text("state")? == "entered_in_error",
        version: row.whole("version")?,
        doubt: Doubt { questions: row.json("asked")? },
        entered: NewObservation {
            seen_on: row.date("seen_on")?,
            informant: row.text("informant")?,
            seen,
            what,
            place: row.opt_parsed("place")?,
            device_out: row.parsed("device_out")?,
            non_use: row.opt_parsed("non_use_reason")?,
            glasses: row.opt_parsed("glasses")?,
            distance: length(
                row.opt_unit("distance_m", Metres::new)?,
                row.text("distance_typed")?,
                row.flag("distance_from_task")?,
            ),
            band: row.opt_parsed("distance_band")?,
            x_height: length(
                row.opt_unit("x_height_mm", Millimetres::new)?,
                row.text("x_height_typed")?,
                row.flag("x_height_from_task")?,
            ),
            contrast: row.opt_parsed("contrast")?,
            target: row.opt_parsed("target_class")?,
            choices: row.opt_whole("choices")?,
            outcome: outcome(row)?,
            help: row.opt_parsed("help")?,
            pace: row.opt_parsed("pace")?,
            comfort: row.opt_parsed("comfort")?,
            mood: row.opt_parsed("mood")?,
            tired: row.opt_parsed("minutes_before_tired")?,
            suggested: row.opt_parsed("suggested_by")?,
            note: row.text("note")?,
            language: row.text("language")?,
        },
        task,
    })
}

/// What an amendment puts in place of what is stored.
pub struct Amended<'a> {
    /// What the entry says from now on.
    pub entered: &'a NewObservation,
    /// The device it names.
    pub named: Named,
    /// The gate's token; none where day and device stay as they are.
    pub device: Option<DeviceOfTheTrack>,
    /// Why; none before the lock.
    pub reason: Option<&'a str>,
}

/// Amends an entry that is locked, or changes one that is not; both texts stay.
///
/// # Errors
/// [`StoreError::Missing`] when the token is not that of the new day and device,
/// when the task is not this student's, or when the entry would become one of
/// another row; [`StoreError::Stale`] when it was changed or marked meanwhile.
pub async fn amend<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Amend>,
    stored: &Stored,
    version: Option<i64>,
    new: &Amended<'_>,
) -> Result<Outcome> {
    let entered = new.entered;
    let as_before = entered.seen_on == stored.entered.seen_on && new.named == stored.named;
    let let_through = new.device.is_some_and(|token| token.day() == entered.seen_on && token.named() == new.named);
    let setting = setting_of(R::ROW, entered.place).ok_or(StoreError::Missing)?;
    if !(as_before || let_through) {
        return Err(StoreError::Missing);
    }
    if stored.in_error || version != Some(stored.version) {
        return Err(StoreError::Stale);
    }
    let reason = match new.reason {
        None if stored.locked(tx.now()) => return Ok(Outcome::NoReason),
        reason => reason,
    };
    let (task, what) = match entered.seen {
        Seen::Task(id) => {
            own_task(tx, access.student(), id).await?;
            (Some(id), entered.what.clone())
        }
        Seen::Kind(code) => (None, if entered.what.is_empty() { code.code().to_owned() } else { entered.what.clone() }),
    };
    let before = texts_of(tx, access, &stored.entered, stored.named).await?;
    let after = texts_of(tx, access, entered, new.named).await?;
    let correction = match Correction::asked(changes(before, after), reason) {
        Ok(correction) => correction,
        Err(refused) => return Ok(refused.into()),
    };
    let (loan, own) = match new.named {
        Named::NoDevice => (None, None),
        Named::Loan(id) => (Some(id.to_string()), None),
        Named::Own(id) => (None, Some(id.to_string())),
    };
    let (right, tried, graded) = match entered.outcome {
        Right::Counted { right, tried } => (Some(right), Some(tried), ""),
        Right::Graded(graded) => (None, None, graded.code()),
    };
    let done = query(
        "update observation set setting = $1, seen_on = $2, informant = $3, visual_task_id = $4, what = $5, place = $6,
         loan_id = $7, own_device_id = $8, device_out = $9, non_use_reason = $10, glasses = $11, distance_typed = $12,
         distance_m = $13, distance_from_task = $14, distance_band = $15, x_height_typed = $16, x_height_mm = $17,
         x_height_from_task = $18, contrast = $19, target_class = $20, choices = $21, correct = $22, tried = $23, graded = $24,
         help = $25, pace = $26, comfort = $27, mood = $28, minutes_before_tired = $29, suggested_by = $30, note = $31,
         version = version + 1
         where id = $32 and student_id = $33 and version = $34 and state = 'entered' and ($35 = 0 or entered_by = $36)",
    )
    .bind(setting.code().to_owned())
    .bind(entered.seen_on.to_string())
    .bind(entered.informant.clone())
    .bind(task.map(|task| task.to_string()))
    .bind(what)
    .bind(entered.place.map_or("", Place::code).to_owned())
    .bind(loan)
    .bind(own)
    .bind(entered.device_out.code().to_owned())
    .bind(entered.non_use.map_or("", |one| one.code()).to_owned())
    .bind(entered.glasses.map_or("", |one| one.code()).to_owned())
    .bind(entered.distance.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(entered.distance.as_ref().map(|length| length.value.get())))
    .bind(flag(entered.distance.as_ref().is_some_and(|length| length.from_task)))
    .bind(entered.band.map_or("", |one| one.code()).to_owned())
    .bind(entered.x_height.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(entered.x_height.as_ref().map(|length| length.value.get())))
    .bind(flag(entered.x_height.as_ref().is_some_and(|length| length.from_task)))
    .bind(entered.contrast.map_or("", |one| one.code()).to_owned())
    .bind(entered.target.map_or("", |one| one.code()).to_owned())
    .bind(entered.choices)
    .bind(right)
    .bind(tried)
    .bind(graded.to_owned())
    .bind(entered.help.map_or("", |one| one.code()).to_owned())
    .bind(entered.pace.map_or("", |one| one.code()).to_owned())
    .bind(entered.comfort.map_or("", |one| one.code()).to_owned())
    .bind(entered.mood.map_or("", |one| one.code()).to_owned())
    .bind(entered.tired.map_or("", |one| one.code()).to_owned())
    .bind(entered.suggested.map_or("", |one| one.code()).to_owned())
    .bind(entered.note.clone())
    .bind(stored.id.to_string())
    .bind(access.student().to_string())
    .bind(stored.version)
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    amendment::write(tx, access, stored.id, &correction).await?;
    Ok(Outcome::Kept)
}

/// The setting that a place makes of an entry of this row; none for a place that
/// belongs to the other row.
#[must_use]
pub fn setting_of(row: Row, place: Option<Place>) -> Option<Setting> {
    match (row, place.map(Place::setting)) {
        (Row::ClassObservation, None | Some(Setting::Classroom)) => Some(Setting::Classroom),
        (Row::HomeObservation, Some(Setting::Home)) => Some(Setting::Home),
        (Row::HomeObservation, None | Some(Setting::Community)) => Some(Setting::Community),
        _ => None,
    }
}

/// An entry field by field, its task and device in words.
async fn texts_of<R: Resource>(
    snapshot: &mut Snapshot,
    access: &Access<R, Amend>,
    entered: &NewObservation,
    named: Named,
) -> Result<Vec<(&'static str, String)>> {
    let task = match entered.seen {
        Seen::Task(id) => query("select name from visual_task where id = $1 and student_id = $2")
            .bind(id.to_string())
            .bind(access.student().to_string())
            .fetch_optional(snapshot.connection())
            .await?
            .map_or(Ok(String::new()), |row| row.text("name"))?,
        Seen::Kind(code) => code.words().to_owned(),
    };
    let device = device_words(snapshot, access, named).await?;
    Ok(texts(entered, &task, &device))
}
