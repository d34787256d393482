//! What people saw the student do, in class, at home and in the community.
//!
//! Two rows of the access table share one table: entries of the classroom, and
//! entries of home and community. A lock of 24 hours hides an entry's detail
//! from others, not that it exists. A device is stored from the token of its
//! gate, so that no entry names a device that was not in hand (G6).

mod read;

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use sqlx::query;

use super::audit::fresh;
use super::{Result, StoreError, Tx};
use crate::access::action::Create;
use crate::access::resource::{ClassObservation, HomeObservation, Resource};
use crate::access::{Access, Role};
use crate::care::gates::{DeviceOfTheTrack, Named};
use crate::care::ids::{AccountId, ObservationId, StudentId, VisualTaskId};
use crate::care::observation::suspect::Doubt;
use crate::care::observation::{
    Band, Comfort, DeviceOut, Glasses, Help, Length, Mood, NewObservation, NonUse, Outcome, Pace, Place, Seen, Setting,
    Suggested, Tired,
};
use crate::care::task::{ContrastClass, TargetClass};
use crate::db::column::{Columns, flag, number, stamp};
use crate::vision::units::{Metres, Millimetres};

pub(super) use read::{IN_CLASS, OUTSIDE, Settings, device, length, outcome};
pub use read::{counted_in_class, counted_outside, errors_in_class, errors_outside, in_class, outside};

/// How long an entry is its writer's alone. Source: condition l of the access table.
pub const LOCK: SignedDuration = SignedDuration::from_hours(24);

/// That an entry exists: what even a reader before the lock is told.
#[derive(Clone)]
pub struct Fact {
    /// Which.
    pub id: ObservationId,
    /// Where in the student's life.
    pub setting: Setting,
    /// The day it was seen.
    pub seen_on: Date,
    /// When it was entered.
    pub entered_at: Timestamp,
    /// Whose entry.
    pub account: AccountId,
    /// By whom.
    pub by: String,
    /// In which role.
    pub by_role: Option<Role>,
    /// Whether it was entered in error: listed, and counted nowhere.
    pub in_error: bool,
    /// Whether its writer was asked about a length and has not answered: listed,
    /// and in no figure.
    pub waits: bool,
}

/// An entry in full.
#[derive(Clone)]
pub struct Detail {
    /// The task, if it is one of the student's own.
    pub task: Option<VisualTaskId>,
    /// The task's name as it is now, or the kind of thing, or the writer's words.
    pub what: String,
    /// Who told of it, as a relation; empty, the writer saw it.
    pub informant: String,
    /// Where.
    pub place: Option<Place>,
    /// Device out?
    pub device_out: DeviceOut,
    /// The device named.
    pub device: Named,
    /// Why not.
    pub non_use: Option<NonUse>,
    /// Glasses.
    pub glasses: Option<Glasses>,
    /// From how far.
    pub distance: Option<Length<Metres>>,
    /// About how far.
    pub band: Option<Band>,
    /// How tall the small letters were.
    pub x_height: Option<Length<Millimetres>>,
    /// How strongly it stood out.
    pub contrast: Option<ContrastClass>,
    /// What had to be recognised.
    pub target: Option<TargetClass>,
    /// Among how many.
    pub choices: Option<i64>,
    /// How much was right.
    pub outcome: Outcome,
    /// How much help.
    pub help: Option<Help>,
    /// How fast.
    pub pace: Option<Pace>,
    /// How the eyes felt.
    pub comfort: Option<Comfort>,
    /// How the student felt.
    pub mood: Option<Mood>,
    /// How long before tired.
    pub tired: Option<Tired>,
    /// Whose idea.
    pub suggested: Option<Suggested>,
    /// Anything else.
    pub note: String,
    /// What its writer was asked about its lengths.
    pub doubt: Doubt,
    /// How often it was changed.
    pub version: i64,
}

/// One entry as this reader is shown it.
#[derive(Clone)]
pub struct Entry {
    /// That it exists.
    pub fact: Fact,
    /// What it says; none, it is locked to its writer still.
    pub detail: Option<Detail>,
}

/// One entry as a count needs it: what the lock never hides.
pub struct Counted {
    /// Where in the student's life.
    pub setting: Setting,
    /// The day.
    pub seen_on: Date,
    /// Whose entry.
    pub account: AccountId,
    /// The task.
    pub task: Option<VisualTaskId>,
    /// Device out?
    pub device_out: DeviceOut,
    /// The device named.
    pub device: Named,
    /// Why not.
    pub non_use: Option<NonUse>,
    /// From how far.
    pub distance: Option<Metres>,
    /// How tall the small letters were.
    pub x_height: Option<Millimetres>,
    /// How strongly it stood out.
    pub contrast: Option<ContrastClass>,
    /// What had to be recognised.
    pub target: Option<TargetClass>,
    /// Among how many.
    pub choices: Option<i64>,
    /// How much was right.
    pub outcome: Outcome,
    /// How much help.
    pub help: Option<Help>,
    /// How the eyes felt.
    pub comfort: Option<Comfort>,
}

/// Records what was seen in class.
///
/// # Errors
/// [`StoreError::Missing`] when the task is not one of this student's or the
/// token is of another day.
pub async fn record_in_class(
    tx: &mut Tx,
    access: &Access<ClassObservation, Create>,
    device: DeviceOfTheTrack,
    new: &NewObservation,
) -> Result<ObservationId> {
    record(tx, access, Setting::Classroom, device, new).await
}

/// Records what was seen at home, or in the community.
///
/// # Errors
/// As [`record_in_class`].
pub async fn record_outside(
    tx: &mut Tx,
    access: &Access<HomeObservation, Create>,
    device: DeviceOfTheTrack,
    new: &NewObservation,
) -> Result<ObservationId> {
    let setting = match new.place.map(Place::setting) {
        Some(Setting::Home) => Setting::Home,
        _ => Setting::Community,
    };
    record(tx, access, setting, device, new).await
}

async fn record<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Create>,
    setting: Setting,
    device: DeviceOfTheTrack,
    new: &NewObservation,
) -> Result<ObservationId> {
    if device.day() != new.seen_on {
        return Err(StoreError::Missing);
    }
    let (task, what) = match new.seen {
        Seen::Task(id) => {
            own_task(tx, access.student(), id).await?;
            (Some(id), new.what.clone())
        }
        Seen::Kind(code) => (None, if new.what.is_empty() { code.code().to_owned() } else { new.what.clone() }),
    };
    let (loan, own) = match device.named() {
        Named::NoDevice => (None, None),
        Named::Loan(id) => (Some(id.to_string()), None),
        Named::Own(id) => (None, Some(id.to_string())),
    };
    let (right, tried, graded) = match new.outcome {
        Outcome::Counted { right, tried } => (Some(right), Some(tried), ""),
        Outcome::Graded(graded) => (None, None, graded.code()),
    };
    let id = fresh(ObservationId::of);
    let at = stamp(tx.now());
    query(
        "insert into observation (id, student_id, setting, seen_on, informant, visual_task_id, what, place, loan_id, own_device_id,
         device_out, non_use_reason, glasses, distance_typed, distance_m, distance_from_task, distance_band, x_height_typed, x_height_mm,
         x_height_from_task, contrast, target_class, choices, correct, tried, graded, help, pace, comfort, mood, minutes_before_tired,
         suggested_by, language, note, entered_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25, $26,
         $27, $28, $29, $30, $31, $32, $33, $34, $35, $36)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(setting.code().to_owned())
    .bind(new.seen_on.to_string())
    .bind(new.informant.clone())
    .bind(task.map(|task| task.to_string()))
    .bind(what)
    .bind(new.place.map_or("", Place::code).to_owned())
    .bind(loan)
    .bind(own)
    .bind(new.device_out.code().to_owned())
    .bind(new.non_use.map_or("", NonUse::code).to_owned())
    .bind(new.glasses.map_or("", Glasses::code).to_owned())
    .bind(new.distance.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(new.distance.as_ref().map(|length| length.value.get())))
    .bind(flag(new.distance.as_ref().is_some_and(|length| length.from_task)))
    .bind(new.band.map_or("", Band::code).to_owned())
    .bind(new.x_height.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(new.x_height.as_ref().map(|length| length.value.get())))
    .bind(flag(new.x_height.as_ref().is_some_and(|length| length.from_task)))
    .bind(new.contrast.map_or("", ContrastClass::code).to_owned())
    .bind(new.target.map_or("", TargetClass::code).to_owned())
    .bind(new.choices)
    .bind(right)
    .bind(tried)
    .bind(graded.to_owned())
    .bind(new.help.map_or("", Help::code).to_owned())
    .bind(new.pace.map_or("", Pace::code).to_owned())
    .bind(new.comfort.map_or("", Comfort::code).to_owned())
    .bind(new.mood.map_or("", Mood::code).to_owned())
    .bind(new.tired.map_or("", Tired::code).to_owned())
    .bind(new.suggested.map_or("", Suggested::code).to_owned())
    .bind(new.language.clone())
    .bind(new.note.clone())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

pub(super) async fn own_task(tx: &mut Tx, student: StudentId, task: VisualTaskId) -> Result<()> {
    let row = query("select count(*) as n from visual_task where id = $1 and student_id = $2")
        .bind(task.to_string())
        .bind(student.to_string())
        .fetch_one(tx.connection())
        .await?;
    if row.whole("n")? == 1 { Ok(()) } else { Err(StoreError::Missing) }
}
