//! The rooms the student works in, with the usual seat and the rows of seats.
//!
//! Nothing is deleted: what is no longer in use is retired. What is seen from a
//! seat is in [`super::task`].

use jiff::civil::Date;
use sqlx::any::{Any, AnyArguments, AnyRow};
use sqlx::query;
use sqlx::query::Query;

use super::audit::fresh;
use super::task::{as_typed, in_metres, typed};
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Create, Edit, Reads};
use crate::access::resource::VisualTasks;
use crate::care::ids::SeatId;
use crate::care::room::Layout;
use crate::care::task::{NewSeat, Seat};
use crate::care::typed::Typed;
use crate::db::column::{Columns, json, number, stamp, text};
use crate::vision::room::Place;
use crate::vision::units::{Lux, Metres};

/// A small count; a column that holds none is a row nobody wrote.
fn count(row: &AnyRow, column: &'static str) -> std::result::Result<Option<u32>, sqlx::Error> {
    row.opt_whole(column)?
        .map(u32::try_from)
        .transpose()
        .map_err(|error| sqlx::Error::ColumnDecode { index: column.to_owned(), source: Box::new(error) })
}

fn layout(row: &AnyRow) -> std::result::Result<Layout, sqlx::Error> {
    let length = |value, text| Ok::<_, sqlx::Error>(typed(row.opt_unit(value, Metres::new)?, row.text(text)?));
    let usual = count(row, "usual_row")?.zip(count(row, "usual_seat")?);
    Ok(Layout {
        rows: count(row, "seat_rows")?,
        row_seats: count(row, "row_seats")?,
        first_row: length("first_row_m", "first_row_typed")?,
        row_gap: length("row_gap_m", "row_gap_typed")?,
        seat_gap: length("seat_gap_m", "seat_gap_typed")?,
        board_aside: length("board_aside_m", "board_aside_typed")?.zip(row.opt_parsed("board_side")?),
        usual: usual.map(|(row, seat)| Place { row, seat }),
        window: row.opt_parsed("window_side")?,
    })
}

fn seat(row: &AnyRow) -> std::result::Result<Seat, sqlx::Error> {
    let distance_m = row.number("distance_m")?;
    let distance = Metres::new(distance_m)
        .map_err(|error| sqlx::Error::ColumnDecode { index: "distance_m".to_owned(), source: Box::new(error) })?;
    let aside = typed(row.opt_unit("aside_m", Metres::new)?, row.text("aside_typed")?);
    Ok(Seat {
        id: row.parsed("id")?,
        what: NewSeat {
            room: row.text("room")?,
            distance: Typed::new(row.text("distance_typed")?, distance),
            aside: aside.zip(row.opt_parsed("aside_side")?),
            board_width: typed(row.opt_unit("board_width_m", Metres::new)?, row.text("board_width_typed")?),
            illuminance: row.opt_unit("illuminance_lux", Lux::new)?,
            light: row.opt_parsed("light")?,
            glare: row.json("glare")?,
            layout: layout(row)?,
            note: row.text("note")?,
            confirmed: row.text("confirmed")?,
            measured_on: row.opt_date("measured_on")?,
        },
        created_by: row.parsed("created_by")?,
        retired: row.opt_text("retired_at")?.is_some(),
        version: row.whole("version")?,
    })
}

/// Every seat, those in use first.
///
/// # Errors
/// When the database fails.
pub async fn all(snapshot: &mut Snapshot, access: &Access<VisualTasks, impl Reads>) -> Result<Vec<Seat>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select id, room, distance_typed, distance_m, aside_typed, aside_m, aside_side, board_width_typed, board_width_m,
         illuminance_lux, light, glare, note, confirmed, measured_on, created_by, retired_at, version, seat_rows, row_seats,
         first_row_typed, first_row_m, row_gap_typed, row_gap_m, seat_gap_typed, seat_gap_m, board_aside_typed, board_aside_m,
         board_side, usual_row, usual_seat, window_side
         from seat where student_id = $1 and ($2 = 0 or created_by = $3)
         order by case when retired_at is null then 0 else 1 end, created_at, id",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(seat).collect::<std::result::Result<_, _>>()?)
}

/// The seats in use.
///
/// # Errors
/// When the database fails.
pub async fn seats(snapshot: &mut Snapshot, access: &Access<VisualTasks, impl Reads>) -> Result<Vec<Seat>> {
    let every = all(snapshot, access).await?;
    Ok(every.into_iter().filter(|seat| !seat.retired).collect())
}

/// One seat, in use or retired.
///
/// # Errors
/// [`StoreError::Missing`] when it is not one of this student's, or not for this reader.
pub async fn seat_of(snapshot: &mut Snapshot, access: &Access<VisualTasks, impl Reads>, id: SeatId) -> Result<Seat> {
    let every = all(snapshot, access).await?;
    every.into_iter().find(|seat| seat.id == id).ok_or(StoreError::Missing)
}

/// Binds what a form says of a seat, in the order of its columns.
fn described_by<'q>(query: Query<'q, Any, AnyArguments>, new: &NewSeat) -> Query<'q, Any, AnyArguments> {
    query
        .bind(new.room.clone())
        .bind(new.distance.typed.clone())
        .bind(new.distance.value.get())
        .bind(new.aside.as_ref().map_or(String::new(), |(length, _)| length.typed.clone()))
        .bind(number(new.aside.as_ref().map(|(length, _)| length.value.get())))
        .bind(new.aside.as_ref().map_or("", |(_, side)| side.code()).to_owned())
        .bind(new.board_width.as_ref().map_or(String::new(), |length| length.typed.clone()))
        .bind(number(new.board_width.as_ref().map(|length| length.value.get())))
        .bind(number(new.illuminance.map(Lux::get)))
        .bind(new.light.map_or("", |light| light.code()).to_owned())
        .bind(json(&new.glare))
        .bind(new.note.clone())
        .bind(new.confirmed.clone())
        .bind(text::<Date>(new.measured_on))
        .bind(new.layout.rows.map(i64::from))
        .bind(new.layout.row_seats.map(i64::from))
        .bind(as_typed(new.layout.first_row.as_ref()))
        .bind(number(in_metres(new.layout.first_row.as_ref())))
        .bind(as_typed(new.layout.row_gap.as_ref()))
        .bind(number(in_metres(new.layout.row_gap.as_ref())))
        .bind(as_typed(new.layout.seat_gap.as_ref()))
        .bind(number(in_metres(new.layout.seat_gap.as_ref())))
        .bind(as_typed(new.layout.board_aside.as_ref().map(|(length, _)| length)))
        .bind(number(in_metres(new.layout.board_aside.as_ref().map(|(length, _)| length))))
        .bind(new.layout.board_aside.as_ref().map_or("", |(_, side)| side.code()).to_owned())
        .bind(new.layout.usual.map(|place| i64::from(place.row)))
        .bind(new.layout.usual.map(|place| i64::from(place.seat)))
        .bind(new.layout.window.map_or("", |side| side.code()).to_owned())
}

/// Adds a room with its usual seat.
///
/// # Errors
/// When the database fails.
pub async fn add(tx: &mut Tx, access: &Access<VisualTasks, Create>, new: &NewSeat) -> Result<SeatId> {
    let id = fresh(SeatId::of);
    let described = query(
        "insert into seat (room, distance_typed, distance_m, aside_typed, aside_m, aside_side, board_width_typed, board_width_m,
         illuminance_lux, light, glare, note, confirmed, measured_on, seat_rows, row_seats, first_row_typed, first_row_m,
         row_gap_typed, row_gap_m, seat_gap_typed, seat_gap_m, board_aside_typed, board_aside_m, board_side, usual_row,
         usual_seat, window_side, id, student_id, created_at, created_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24,
         $25, $26, $27, $28, $29, $30, $31, $32)",
    );
    described_by(described, new)
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(stamp(tx.now()))
        .bind(access.actor().account.to_string())
        .execute(tx.connection())
        .await?;
    Ok(id)
}

/// Changes a seat in use.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved meanwhile or it is not the actor's to change.
pub async fn change(
    tx: &mut Tx,
    access: &Access<VisualTasks, Edit>,
    id: SeatId,
    new: &NewSeat,
    version: i64,
) -> Result<()> {
    let own_only = i64::from(access.limits().own_only);
    let described = query(
        "update seat set room = $1, distance_typed = $2, distance_m = $3, aside_typed = $4, aside_m = $5, aside_side = $6,
         board_width_typed = $7, board_width_m = $8, illuminance_lux = $9, light = $10, glare = $11, note = $12,
         confirmed = $13, measured_on = $14, seat_rows = $15, row_seats = $16, first_row_typed = $17, first_row_m = $18,
         row_gap_typed = $19, row_gap_m = $20, seat_gap_typed = $21, seat_gap_m = $22, board_aside_typed = $23,
         board_aside_m = $24, board_side = $25, usual_row = $26, usual_seat = $27, window_side = $28, version = version + 1
         where id = $29 and student_id = $30 and version = $31 and retired_at is null and ($32 = 0 or created_by = $33)",
    );
    let done = described_by(described, new)
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(version)
        .bind(own_only)
        .bind(access.actor().account.to_string())
        .execute(tx.connection())
        .await?;
    met(done.rows_affected())
}

/// Takes a seat out of use.
///
/// # Errors
/// [`StoreError::Taken`] while a task in use is seen from it, [`StoreError::Stale`]
/// as [`change`].
pub async fn retire(tx: &mut Tx, access: &Access<VisualTasks, Edit>, id: SeatId, version: i64) -> Result<()> {
    let used =
        query("select count(*) as n from visual_task where student_id = $1 and seat_id = $2 and retired_at is null")
            .bind(access.student().to_string())
            .bind(id.to_string())
            .fetch_one(tx.connection())
            .await?;
    if used.whole("n")? > 0 {
        return Err(StoreError::Taken);
    }
    let at = stamp(tx.now());
    let own_only = i64::from(access.limits().own_only);
    let done = query(
        "update seat set retired_at = $1, version = version + 1
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
