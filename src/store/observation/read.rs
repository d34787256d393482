//! Entries as a reader may read them, and as counts need them.
//!
//! A lock of 24 hours hides an entry's detail from others, not that it exists;
//! it hides text, not counts.

use std::collections::BTreeMap;

use sqlx::any::AnyRow;
use sqlx::query;

use super::super::{Result, Snapshot};
use super::{Counted, Detail, Entry, Fact, LOCK};
use crate::access::Access;
use crate::access::action::Reads;
use crate::access::limits::Limits;
use crate::access::resource::{ClassObservation, HomeObservation};
use crate::care::gates::Named;
use crate::care::ids::{AccountId, ObservationId, StudentId};
use crate::care::observation::suspect::Doubt;
use crate::care::observation::{Graded, Length, Outcome};
use crate::care::task::TaskCode;
use crate::db::column::{Columns, stamp};
use crate::vision::units::{Metres, Millimetres};

/// What was seen in class, as far as this reader may read it, newest first.
///
/// # Errors
/// When the database fails.
pub async fn in_class(snapshot: &mut Snapshot, access: &Access<ClassObservation, impl Reads>) -> Result<Vec<Entry>> {
    entries(snapshot, access.student(), access.actor().account, access.limits(), (IN_CLASS, ENTERED)).await
}

/// What was seen at home and in the community, as far as this reader may read
/// it, newest first.
///
/// # Errors
/// When the database fails.
pub async fn outside(snapshot: &mut Snapshot, access: &Access<HomeObservation, impl Reads>) -> Result<Vec<Entry>> {
    entries(snapshot, access.student(), access.actor().account, access.limits(), (OUTSIDE, ENTERED)).await
}

/// What was entered in error of the same settings, which stays listed and counts
/// nowhere.
///
/// # Errors
/// When the database fails.
pub async fn errors_in_class(
    snapshot: &mut Snapshot,
    access: &Access<ClassObservation, impl Reads>,
) -> Result<Vec<Entry>> {
    entries(snapshot, access.student(), access.actor().account, access.limits(), (IN_CLASS, IN_ERROR)).await
}

/// The same of home and community.
///
/// # Errors
/// When the database fails.
pub async fn errors_outside(
    snapshot: &mut Snapshot,
    access: &Access<HomeObservation, impl Reads>,
) -> Result<Vec<Entry>> {
    entries(snapshot, access.student(), access.actor().account, access.limits(), (OUTSIDE, IN_ERROR)).await
}

/// The settings of a row of the access table.
pub(in crate::store) type Settings = [&'static str; 2];
pub(in crate::store) const IN_CLASS: Settings = ["classroom", "classroom"];
pub(in crate::store) const OUTSIDE: Settings = ["home", "community"];

const ENTERED: &str = "entered";
const IN_ERROR: &str = "entered_in_error";

/// Two queries, so that the detail of a locked entry never leaves the database.
async fn entries(
    snapshot: &mut Snapshot,
    student: StudentId,
    actor: AccountId,
    limits: &Limits,
    (settings, state): (Settings, &'static str),
) -> Result<Vec<Entry>> {
    let facts = query(
        "select o.id, o.setting, o.seen_on, o.entered_at, o.entered_by, o.asked_state, a.name as by_name, a.role as by_role
         from observation o join account a on a.id = o.entered_by
         where o.student_id = $1 and o.setting in ($2, $3) and o.state = $7
         and (o.entered_by = $4 or ($5 = 0 and ($6 = 0 or o.shared_with_class = 1)))
         order by o.seen_on desc, o.entered_at desc, o.id desc",
    )
    .bind(student.to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(actor.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.shared_only))
    .bind(state.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let unlocked = stamp(snapshot.now().checked_sub(LOCK).unwrap_or(snapshot.now()));
    let details = query(
        "select o.id, o.visual_task_id, o.what, coalesce(t.name, '') as task_name, o.informant, o.place, o.device_out, o.loan_id,
         o.own_device_id, o.non_use_reason, o.glasses, o.distance_typed, o.distance_m, o.distance_from_task, o.distance_band,
         o.x_height_typed, o.x_height_mm, o.x_height_from_task, o.contrast, o.target_class, o.choices, o.correct, o.tried, o.graded,
         o.help, o.pace, o.comfort, o.mood, o.minutes_before_tired, o.suggested_by, o.note, o.asked, o.version
         from observation o left join visual_task t on t.id = o.visual_task_id and t.student_id = o.student_id
         where o.student_id = $1 and o.setting in ($2, $3) and o.state = $9
         and (o.entered_by = $4 or ($5 = 0 and ($6 = 0 or o.shared_with_class = 1) and ($7 = 0 or o.entered_at <= $8)))",
    )
    .bind(student.to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(actor.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.shared_only))
    .bind(i64::from(limits.locked_only))
    .bind(unlocked)
    .bind(state.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let mut open = BTreeMap::new();
    for row in &details {
        open.insert(row.parsed::<ObservationId>("id")?, detail(row)?);
    }
    facts
        .iter()
        .map(|row| {
            let fact = Fact {
                id: row.parsed("id")?,
                setting: row.parsed("setting")?,
                seen_on: row.date("seen_on")?,
                entered_at: row.instant("entered_at")?,
                account: row.parsed("entered_by")?,
                by: row.text("by_name")?,
                by_role: row.opt_parsed("by_role")?,
                in_error: state == IN_ERROR,
                waits: row.text("asked_state")? == "waits",
            };
            let detail = open.remove(&fact.id);
            Ok(Entry { fact, detail })
        })
        .collect()
}

pub(in crate::store) fn outcome(row: &AnyRow) -> std::result::Result<Outcome, sqlx::Error> {
    let counted = row.opt_whole("correct")?.zip(row.opt_whole("tried")?);
    Ok(match counted.and_then(|(right, tried)| Outcome::counted(right, tried)) {
        Some(counted) => counted,
        None => Outcome::Graded(row.opt_parsed("graded")?.unwrap_or(Graded::NotSure)),
    })
}

pub(in crate::store) fn device(row: &AnyRow) -> std::result::Result<Named, sqlx::Error> {
    Ok(match (row.opt_parsed("loan_id")?, row.opt_parsed("own_device_id")?) {
        (Some(loan), _) => Named::Loan(loan),
        (None, Some(own)) => Named::Own(own),
        (None, None) => Named::NoDevice,
    })
}

pub(in crate::store) fn length<T>(value: Option<T>, typed: String, from_task: bool) -> Option<Length<T>> {
    value.map(|value| Length { typed, value, from_task })
}

fn detail(row: &AnyRow) -> std::result::Result<Detail, sqlx::Error> {
    let (task_name, what) = (row.text("task_name")?, row.text("what")?);
    let what = match what.parse::<TaskCode>() {
        Ok(code) => code.words().to_owned(),
        Err(_) if what.is_empty() => task_name,
        Err(_) if task_name.is_empty() => what,
        Err(_) => format!("{task_name}: {what}"),
    };
    Ok(Detail {
        task: row.opt_parsed("visual_task_id")?,
        what,
        informant: row.text("informant")?,
        place: row.opt_parsed("place")?,
        device_out: row.parsed("device_out")?,
        device: device(row)?,
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
        doubt: Doubt { questions: row.json("asked")? },
        version: row.whole("version")?,
    })
}

/// What was seen in class, as counts need it. The lock hides text, not counts;
/// an entry whose writer was asked about a length and has not answered is not
/// among them (see [`crate::store::suspect::waiting`]).
///
/// # Errors
/// When the database fails.
pub async fn counted_in_class(
    snapshot: &mut Snapshot,
    access: &Access<ClassObservation, impl Reads>,
) -> Result<Vec<Counted>> {
    counted(snapshot, access.student(), access.actor().account, access.limits(), IN_CLASS).await
}

/// What was seen at home and in the community, as counts need it; those that wait
/// for an answer are not among them.
///
/// # Errors
/// When the database fails.
pub async fn counted_outside(
    snapshot: &mut Snapshot,
    access: &Access<HomeObservation, impl Reads>,
) -> Result<Vec<Counted>> {
    counted(snapshot, access.student(), access.actor().account, access.limits(), OUTSIDE).await
}

async fn counted(
    snapshot: &mut Snapshot,
    student: StudentId,
    actor: AccountId,
    limits: &Limits,
    settings: Settings,
) -> Result<Vec<Counted>> {
    let rows = query(
        "select setting, seen_on, entered_by, visual_task_id, device_out, loan_id, own_device_id, non_use_reason, distance_m,
         x_height_mm, contrast, target_class, choices, correct, tried, graded, help, comfort
         from observation
         where student_id = $1 and setting in ($2, $3) and state = 'entered' and asked_state <> 'waits'
         and (entered_by = $4 or ($5 = 0 and ($6 = 0 or shared_with_class = 1)))
         order by seen_on, entered_at, id",
    )
    .bind(student.to_string())
    .bind(settings[0].to_owned())
    .bind(settings[1].to_owned())
    .bind(actor.to_string())
    .bind(i64::from(limits.own_only))
    .bind(i64::from(limits.shared_only))
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Counted {
                setting: row.parsed("setting")?,
                seen_on: row.date("seen_on")?,
                account: row.parsed("entered_by")?,
                task: row.opt_parsed("visual_task_id")?,
                device_out: row.parsed("device_out")?,
                device: device(row)?,
                non_use: row.opt_parsed("non_use_reason")?,
                distance: row.opt_unit("distance_m", Metres::new)?,
                x_height: row.opt_unit("x_height_mm", Millimetres::new)?,
                contrast: row.opt_parsed("contrast")?,
                target: row.opt_parsed("target_class")?,
                choices: row.opt_whole("choices")?,
                outcome: outcome(row)?,
                help: row.opt_parsed("help")?,
                comfort: row.opt_parsed("comfort")?,
            })
        })
        .collect()
}
