//! Device specifications as columns: the same fields wherever a device is named.

use std::collections::BTreeMap;

use sqlx::any::AnyRow;
use sqlx::{Error, query};

use super::asked::asked;
use super::{Result, Snapshot, StoreError, Tx};
use crate::care::device::DeviceSpec;
use crate::care::ids::StudentId;
use crate::care::named_device::NamedDevice;
use crate::care::track::Track;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, number};
use crate::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres};

/// The document a specification stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Owner {
    Evaluation,
    Decision,
    Summary,
    Prescription,
    OwnDevice,
}

impl Owner {
    pub(super) fn code(self) -> &'static str {
        match self {
            Self::Evaluation => "evaluation",
            Self::Decision => "decision",
            Self::Summary => "summary",
            Self::Prescription => "prescription",
            Self::OwnDevice => "own_device",
        }
    }
}

/// The specification in a row that has its columns.
pub(super) fn spec(row: &AnyRow) -> std::result::Result<DeviceSpec, Error> {
    Ok(DeviceSpec {
        kind: row.parsed("kind")?,
        power: row.opt_unit("power", Magnification::new)?,
        objective: row.opt_unit("objective_mm", Millimetres::new)?,
        true_field: row.opt_unit("field_deg", Degrees::new)?,
        near_focus: row.opt_unit("near_focus_m", Metres::new)?,
        reading_cap: row.opt_unit("reading_cap_d", Dioptres::new)?,
        equivalent_power: row.opt_unit("equivalent_power_d", Dioptres::new)?,
        lens_diameter: row.opt_unit("lens_mm", Millimetres::new)?,
        stand_height: row.opt_unit("stand_height_mm", Millimetres::new)?,
        light: row.opt_parsed("light")?,
        with_glasses: row.opt_parsed("over_glasses")?,
        eye: row.opt_parsed("eye")?,
    })
}

fn named(row: &AnyRow) -> std::result::Result<NamedDevice, Error> {
    Ok(NamedDevice {
        spec: spec(row)?,
        near_focus_typed: row.text("near_focus_typed")?,
        label: row.text("label")?,
        filter: row.text("filter")?,
        purpose: row.text("purpose")?,
        limits: row.text("limits")?,
        note: row.text("note")?,
        confirmed: row.text("confirmed")?,
    })
}

/// All specifications in a student's documents: by kind of document, its id and
/// track, in order.
pub(super) type OfDocuments = BTreeMap<(String, String, Track), Vec<NamedDevice>>;

/// Everything named in a student's documents. The caller holds the proof for
/// the documents themselves.
pub(super) async fn of_student(snapshot: &mut Snapshot, student: StudentId) -> Result<OfDocuments> {
    of_students(snapshot, &student.to_string()).await
}

/// The same for several students at once.
pub(super) async fn of_students(snapshot: &mut Snapshot, students: &str) -> Result<OfDocuments> {
    let rows = query(concat!(
        "select owner_kind, owner_id, track, kind, power, objective_mm, field_deg, near_focus_typed, near_focus_m, reading_cap_d,
         equivalent_power_d, lens_mm, stand_height_mm, label, light, over_glasses, eye, filter, purpose, limits, note, confirmed
         from device_spec where student_id in ",
        asked!(),
        " order by owner_kind, owner_id, track, position"
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = OfDocuments::new();
    for row in &rows {
        let key = (row.text("owner_kind")?, row.text("owner_id")?, row.parsed("track")?);
        found.entry(key).or_default().push(named(row)?);
    }
    Ok(found)
}

/// The devices one document names for a track.
pub(super) fn of_document(all: &OfDocuments, owner: Owner, id: &str, track: Track) -> Vec<NamedDevice> {
    all.get(&(owner.code().to_owned(), id.to_owned(), track)).cloned().unwrap_or_default()
}

/// Puts a document's devices of one track in place of those it had.
pub(super) async fn replace(
    tx: &mut Tx,
    student: StudentId,
    owner: Owner,
    id: &str,
    track: Track,
    devices: &[NamedDevice],
) -> Result<Vec<String>> {
    query("delete from device_spec where student_id = $1 and owner_kind = $2 and owner_id = $3 and track = $4")
        .bind(student.to_string())
        .bind(owner.code().to_owned())
        .bind(id.to_owned())
        .bind(track.code().to_owned())
        .execute(tx.connection())
        .await?;
    let mut ids = Vec::new();
    for (position, device) in (0_i64..).zip(devices) {
        ids.push(insert(tx, student, (owner, id), (track, position), device).await?);
    }
    Ok(ids)
}

/// Writes the one device of a document anew: gives the id of the new
/// specification, which the document then names, and that of the old, which it
/// then can [`forget`].
pub(super) async fn put_in_place(
    tx: &mut Tx,
    student: StudentId,
    (owner, id): (Owner, &str),
    track: Track,
    device: &NamedDevice,
) -> Result<(String, String)> {
    let row = query(
        "select id, position from device_spec where student_id = $1 and owner_kind = $2 and owner_id = $3 order by position desc",
    )
    .bind(student.to_string())
    .bind(owner.code().to_owned())
    .bind(id.to_owned())
    .fetch_optional(tx.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    let place = row.whole("position")?.saturating_add(1);
    let new = insert(tx, student, (owner, id), (track, place), device).await?;
    Ok((new, row.text("id")?))
}

/// Removes a specification that no document names any more.
pub(super) async fn forget(tx: &mut Tx, student: StudentId, id: &str) -> Result<()> {
    query("delete from device_spec where student_id = $1 and id = $2")
        .bind(student.to_string())
        .bind(id.to_owned())
        .execute(tx.connection())
        .await?;
    Ok(())
}

async fn insert(
    tx: &mut Tx,
    student: StudentId,
    (owner, id): (Owner, &str),
    (track, position): (Track, i64),
    device: &NamedDevice,
) -> Result<String> {
    let spec_id = fresh_uuid().to_string();
    let spec = &device.spec;
    query(
            "insert into device_spec (id, student_id, owner_kind, owner_id, track, position, kind, power, objective_mm, field_deg,
             near_focus_typed, near_focus_m, reading_cap_d, equivalent_power_d, lens_mm, stand_height_mm, label, light, over_glasses,
             eye, filter, purpose, limits, note, confirmed)
             values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25)",
        )
        .bind(spec_id.clone())
        .bind(student.to_string())
        .bind(owner.code().to_owned())
        .bind(id.to_owned())
        .bind(track.code().to_owned())
        .bind(position)
        .bind(spec.kind.code().to_owned())
        .bind(number(spec.power.map(Magnification::get)))
        .bind(number(spec.objective.map(Millimetres::get)))
        .bind(number(spec.true_field.map(Degrees::get)))
        .bind(device.near_focus_typed.clone())
        .bind(number(spec.near_focus.map(Metres::get)))
        .bind(number(spec.reading_cap.map(Dioptres::get)))
        .bind(number(spec.equivalent_power.map(Dioptres::get)))
        .bind(number(spec.lens_diameter.map(Millimetres::get)))
        .bind(number(spec.stand_height.map(Millimetres::get)))
        .bind(device.label.clone())
        .bind(spec.light.map_or("", |light| light.code()).to_owned())
        .bind(spec.with_glasses.map_or("", |glasses| glasses.code()).to_owned())
        .bind(spec.eye.map_or("", |eye| eye.code()).to_owned())
        .bind(device.filter.clone())
        .bind(device.purpose.clone())
        .bind(device.limits.clone())
        .bind(device.note.clone())
        .bind(device.confirmed.clone())
        .execute(tx.connection())
        .await?;
    Ok(spec_id)
}
