//! What the student must see.
//!
//! Two widths of the same rows: all of it, and what a classroom teacher may
//! know. Nothing is deleted: what is no longer in use is retired. The seats are in
//! [`super::seat`].

use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Create, Edit, Reads};
use crate::access::resource::{TaskGlimpse, VisualTasks};
use crate::care::ids::{SeatId, StudentId, VisualTaskId};
use crate::care::task::{self, NewTask, ScreenLight, VisualTask};
use crate::care::typed::Typed;
use crate::db::column::{Columns, flag, number, stamp, text};
use crate::vision::units::{Lux, Metres, Millimetres};

/// A length as typed beside its value, from two columns.
pub(super) fn typed<T>(value: Option<T>, typed: String) -> Option<Typed<T>> {
    value.map(|value| Typed::new(typed, value))
}

pub(super) fn as_typed<T>(length: Option<&Typed<T>>) -> String {
    length.map_or(String::new(), |length| length.typed.clone())
}

pub(super) fn in_metres(length: Option<&Typed<Metres>>) -> Option<f64> {
    length.map(|length| length.value.get())
}

/// The readings on a screen: all three, or none.
fn screen(row: &AnyRow) -> std::result::Result<Option<ScreenLight>, sqlx::Error> {
    let read = |value, text| Ok::<_, sqlx::Error>(typed(row.opt_unit(value, Lux::new)?, row.text(text)?));
    let white = read("screen_white_lux", "screen_white_typed")?;
    let black = read("screen_black_lux", "screen_black_typed")?;
    let off = read("screen_off_lux", "screen_off_typed")?;
    Ok(white.zip(black).zip(off).map(|((white, black), off)| ScreenLight { white, black, off }))
}

/// One reading of a screen, or none.
fn reading(new: &NewTask, of: fn(&ScreenLight) -> &Typed<Lux>) -> (String, Option<f64>) {
    let read = new.screen.as_ref().map(of);
    (as_typed(read), read.map(|read| read.value.get()))
}

fn task(row: &AnyRow) -> std::result::Result<VisualTask, sqlx::Error> {
    Ok(VisualTask {
        id: row.parsed("id")?,
        what: NewTask {
            code: row.parsed("code")?,
            name: row.text("name")?,
            place: row.text("place")?,
            seat: row.opt_parsed("seat_id")?,
            track: row.parsed("track")?,
            goal: row.parsed("goal")?,
            own_distance: typed(row.opt_unit("distance_m", Metres::new)?, row.text("distance_typed")?),
            x_height: typed(row.opt_unit("x_height_mm", Millimetres::new)?, row.text("x_height_typed")?),
            display: row.opt_parsed("display")?,
            marker: row.opt_parsed("marker")?,
            light: row.opt_parsed("light")?,
            screen: screen(row)?,
            target: row.parsed("target_class")?,
            choices: row.opt_whole("choices")?,
            measured: row.flag("measured")?,
            wanted_by: row.text("wanted_by")?,
        },
        room: row.opt_text("room")?,
        seat_distance: typed(row.opt_unit("seat_m", Metres::new)?, row.opt_text("seat_typed")?.unwrap_or_default()),
        created_by: row.parsed("created_by")?,
        retired: row.opt_text("retired_at")?.is_some(),
        version: row.whole("version")?,
    })
}

/// Everything the student must see, in the team's order; what is retired comes last.
///
/// # Errors
/// When the database fails.
pub async fn tasks_with_retired(
    snapshot: &mut Snapshot,
    access: &Access<VisualTasks, impl Reads>,
) -> Result<Vec<VisualTask>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select t.id, t.seat_id, t.code, t.name, t.place, t.track, t.goal, t.distance_typed, t.distance_m, t.x_height_typed,
         t.x_height_mm, t.display, t.marker, t.light, t.screen_white_typed, t.screen_white_lux, t.screen_black_typed, t.screen_black_lux,
         t.screen_off_typed, t.screen_off_lux, t.target_class, t.choices, t.measured, t.wanted_by, t.created_by,
         t.retired_at, t.version, s.room, s.distance_typed as seat_typed, s.distance_m as seat_m
         from visual_task t left join seat s on s.id = t.seat_id and s.student_id = t.student_id
         where t.student_id = $1 and ($2 = 0 or t.created_by = $3)
         order by case when t.retired_at is null then 0 else 1 end, t.position, t.created_at, t.id",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(task).collect::<std::result::Result<_, _>>()?)
}

/// What the student must see now, in the team's order.
///
/// # Errors
/// When the database fails.
pub async fn tasks(snapshot: &mut Snapshot, access: &Access<VisualTasks, impl Reads>) -> Result<Vec<VisualTask>> {
    let all = tasks_with_retired(snapshot, access).await?;
    Ok(all.into_iter().filter(|task| !task.retired).collect())
}

/// One task, in use or retired.
///
/// # Errors
/// [`StoreError::Missing`] when it is not one of this student's, or not for this reader.
pub async fn task_of(
    snapshot: &mut Snapshot,
    access: &Access<VisualTasks, impl Reads>,
    id: VisualTaskId,
) -> Result<VisualTask> {
    let all = tasks_with_retired(snapshot, access).await?;
    all.into_iter().find(|task| task.id == id).ok_or(StoreError::Missing)
}

/// What a classroom teacher may know of the tasks in use.
///
/// # Errors
/// When the database fails.
pub async fn glimpses(
    snapshot: &mut Snapshot,
    access: &Access<TaskGlimpse, impl Reads>,
) -> Result<Vec<task::TaskGlimpse>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select t.id, t.code, t.name, t.track, case when t.place <> '' then t.place else coalesce(s.room, '') end as place,
         case when t.distance_m is null then coalesce(s.distance_typed, '') else t.distance_typed end as distance_typed,
         coalesce(t.distance_m, s.distance_m) as distance_m, t.x_height_typed, t.x_height_mm, t.marker, t.target_class, t.choices
         from visual_task t left join seat s on s.id = t.seat_id and s.student_id = t.student_id
         where t.student_id = $1 and t.retired_at is null and ($2 = 0 or t.created_by = $3)
         order by t.position, t.created_at, t.id",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(task::TaskGlimpse {
                id: row.parsed("id")?,
                code: row.parsed("code")?,
                name: row.text("name")?,
                place: row.text("place")?,
                track: row.parsed("track")?,
                distance: typed(row.opt_unit("distance_m", Metres::new)?, row.text("distance_typed")?),
                x_height: typed(row.opt_unit("x_height_mm", Millimetres::new)?, row.text("x_height_typed")?),
                marker: row.opt_parsed("marker")?,
                target: row.parsed("target_class")?,
                choices: row.opt_whole("choices")?,
            })
        })
        .collect()
}

/// The seat must be one of this student's before a task may name it.
async fn own_seat(tx: &mut Tx, student: StudentId, seat: Option<SeatId>) -> Result<()> {
    let Some(seat) = seat else { return Ok(()) };
    let row = query("select count(*) as n from seat where id = $1 and student_id = $2")
        .bind(seat.to_string())
        .bind(student.to_string())
        .fetch_one(tx.connection())
        .await?;
    if row.whole("n")? == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// Adds a task at the end of the list.
///
/// # Errors
/// [`StoreError::Missing`] when the seat is not one of this student's.
pub async fn add(tx: &mut Tx, access: &Access<VisualTasks, Create>, new: &NewTask) -> Result<VisualTaskId> {
    own_seat(tx, access.student(), new.seat).await?;
    let id = fresh(VisualTaskId::of);
    let at = stamp(tx.now());
    let (white, black, off) =
        (reading(new, |read| &read.white), reading(new, |read| &read.black), reading(new, |read| &read.off));
    query(
        "insert into visual_task (id, student_id, seat_id, code, name, place, track, goal, distance_typed, distance_m, x_height_typed,
         x_height_mm, display, marker, light, target_class, choices, measured, wanted_by, created_at, created_by,
         screen_white_typed, screen_white_lux, screen_black_typed, screen_black_lux, screen_off_typed, screen_off_lux, position)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21,
         $22, $23, $24, $25, $26, $27,
         (select coalesce(max(position), 0) + 1 from visual_task where student_id = $2))",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(text(new.seat))
    .bind(new.code.code().to_owned())
    .bind(new.name.clone())
    .bind(new.place.clone())
    .bind(new.track.code().to_owned())
    .bind(new.goal.code().to_owned())
    .bind(new.own_distance.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(new.own_distance.as_ref().map(|length| length.value.get())))
    .bind(new.x_height.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(new.x_height.as_ref().map(|length| length.value.get())))
    .bind(new.display.map_or("", |display| display.code()).to_owned())
    .bind(new.marker.map_or("", |marker| marker.code()).to_owned())
    .bind(new.light.map_or("", |light| light.code()).to_owned())
    .bind(new.target.code().to_owned())
    .bind(new.choices)
    .bind(flag(new.measured))
    .bind(new.wanted_by.clone())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(white.0)
    .bind(number(white.1))
    .bind(black.0)
    .bind(number(black.1))
    .bind(off.0)
    .bind(number(off.1))
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Changes a task in use.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved meanwhile or it is not the actor's
/// to change, [`StoreError::Missing`] when the seat is not one of this student's.
pub async fn change(
    tx: &mut Tx,
    access: &Access<VisualTasks, Edit>,
    id: VisualTaskId,
    new: &NewTask,
    version: i64,
) -> Result<()> {
    own_seat(tx, access.student(), new.seat).await?;
    let own_only = i64::from(access.limits().own_only);
    let (white, black, off) =
        (reading(new, |read| &read.white), reading(new, |read| &read.black), reading(new, |read| &read.off));
    let done = query(
        "update visual_task set seat_id = $1, code = $2, name = $3, place = $4, track = $5, goal = $6, distance_typed = $7,
         distance_m = $8, x_height_typed = $9, x_height_mm = $10, display = $11, marker = $12, light = $13, target_class = $14,
         choices = $15, measured = $16, wanted_by = $17, screen_white_typed = $18, screen_white_lux = $19, screen_black_typed = $20,
         screen_black_lux = $21, screen_off_typed = $22, screen_off_lux = $23, version = version + 1
         where id = $24 and student_id = $25 and version = $26 and retired_at is null and ($27 = 0 or created_by = $28)",
    )
    .bind(text(new.seat))
    .bind(new.code.code().to_owned())
    .bind(new.name.clone())
    .bind(new.place.clone())
    .bind(new.track.code().to_owned())
    .bind(new.goal.code().to_owned())
    .bind(new.own_distance.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(new.own_distance.as_ref().map(|length| length.value.get())))
    .bind(new.x_height.as_ref().map_or(String::new(), |length| length.typed.clone()))
    .bind(number(new.x_height.as_ref().map(|length| length.value.get())))
    .bind(new.display.map_or("", |display| display.code()).to_owned())
    .bind(new.marker.map_or("", |marker| marker.code()).to_owned())
    .bind(new.light.map_or("", |light| light.code()).to_owned())
    .bind(new.target.code().to_owned())
    .bind(new.choices)
    .bind(flag(new.measured))
    .bind(new.wanted_by.clone())
    .bind(white.0)
    .bind(number(white.1))
    .bind(black.0)
    .bind(number(black.1))
    .bind(off.0)
    .bind(number(off.1))
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Takes a task out of use; what was entered about it stays.
///
/// # Errors
/// [`StoreError::Stale`] as [`change`].
pub async fn retire(tx: &mut Tx, access: &Access<VisualTasks, Edit>, id: VisualTaskId, version: i64) -> Result<()> {
    let at = stamp(tx.now());
    let own_only = i64::from(access.limits().own_only);
    let done = query(
        "update visual_task set retired_at = $1, version = version + 1
         where id = $2 and student_id = $3 and version = $4 and retired_at is null and ($5 = 0 or created_by = $6)",
    )
    .bind(at)
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
