//! The loan pool: the devices themselves, whoever has them.
//!
//! Which student has a device is not known here: a device is in, or it is out.
//! Loans are read with the proof about the student; see [`super::loan`].

use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, met, spec};
use crate::access::Office;
use crate::access::action::{Create, Edit, Reads};
use crate::access::resource::Pool;
use crate::care::device::Condition;
use crate::care::gates::PoolDevice;
use crate::care::ids::{DeviceId, LoanId};
use crate::care::loan::NewDevice;
use crate::care::named_device::NamedDevice;
use crate::care::track::Eye;
use crate::db::column::{Columns, flag, number, stamp, text};
use crate::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres};

/// A device of the pool as it is kept.
#[derive(Clone)]
pub struct Kept {
    /// Which device.
    pub id: DeviceId,
    /// What was entered.
    pub entered: NewDevice,
    /// The day it last came back.
    pub last_returned: Option<Date>,
    /// Its open loan.
    pub out: Option<Out>,
    /// How often it was saved.
    pub version: i64,
}

/// That a device is out.
#[derive(Clone)]
pub struct Out {
    /// Which loan.
    pub loan: LoanId,
    /// Since when.
    pub since: Date,
}

impl Kept {
    /// The device as the gate judges it, lent for this eye.
    #[must_use]
    pub fn for_gate(&self, eye: Eye) -> PoolDevice {
        let mut spec = self.entered.device.spec.clone();
        spec.eye = Some(eye);
        PoolDevice {
            id: self.id,
            spec,
            condition: self.entered.condition,
            cleaned_on: self.entered.cleaned_on,
            last_returned: self.last_returned,
            open_loan: self.out.as_ref().map(|out| out.loan),
        }
    }

    /// Whether it was cleaned since it last came back.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.for_gate(Eye::Either).is_clean()
    }
}

/// All devices, or the one whose id is given.
const DEVICES: &str = "select d.id, d.tag, d.owner, d.kind, d.power, d.objective_mm, d.field_deg, d.near_focus_typed, d.near_focus_m,
     d.reading_cap_d, d.equivalent_power_d, d.lens_mm, d.stand_height_mm, d.label, d.light, d.over_glasses, d.eye, d.filter,
     d.weight_g, d.strap, d.carry_case, d.condition, d.cleaned_on, d.note, d.confirmed, d.version,
     (select max(r.returned_on) from loan r where r.device_id = d.id and r.entered_in_error_at is null) as last_returned,
     l.id as loan_id, l.lent_on
     from device d left join loan l on l.device_id = d.id and l.returned_on is null
     where d.retired_at is null and ($1 = '' or d.id = $1) order by d.tag";

fn kept(row: &AnyRow) -> std::result::Result<Kept, sqlx::Error> {
    let device = NamedDevice {
        near_focus_typed: row.text("near_focus_typed")?,
        label: row.text("label")?,
        filter: row.text("filter")?,
        note: row.text("note")?,
        confirmed: row.text("confirmed")?,
        ..NamedDevice::of(spec::spec(row)?)
    };
    let out = match row.opt_parsed("loan_id")? {
        Some(loan) => Some(Out { loan, since: row.date("lent_on")? }),
        None => None,
    };
    Ok(Kept {
        id: row.parsed("id")?,
        entered: NewDevice {
            tag: row.text("tag")?,
            owner: row.parsed("owner")?,
            device,
            weight_g: row.opt_whole("weight_g")?,
            strap: row.flag("strap")?,
            carry_case: row.flag("carry_case")?,
            condition: row.parsed("condition")?,
            cleaned_on: row.opt_date("cleaned_on")?,
        },
        last_returned: row.opt_date("last_returned")?,
        out,
        version: row.whole("version")?,
    })
}

/// Every device of the pool, by tag.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, _office: &Office<Pool, impl Reads>) -> Result<Vec<Kept>> {
    let rows = query(DEVICES).bind(String::new()).fetch_all(snapshot.connection()).await?;
    Ok(rows.iter().map(kept).collect::<std::result::Result<_, _>>()?)
}

/// One device of the pool.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn one(snapshot: &mut Snapshot, office: &Office<Pool, impl Reads>, id: DeviceId) -> Result<Kept> {
    let all = list(snapshot, office).await?;
    all.into_iter().find(|device| device.id == id).ok_or(StoreError::Missing)
}

/// A device as G4 judges it for a loan of that day; a loan of it that ended
/// later stands in the way as an open one does.
pub(super) async fn of_gate(snapshot: &mut Snapshot, id: DeviceId, eye: Eye, day: Date) -> Result<PoolDevice> {
    let row =
        query(DEVICES).bind(id.to_string()).fetch_optional(snapshot.connection()).await?.ok_or(StoreError::Missing)?;
    let mut device = kept(&row)?.for_gate(eye);
    if device.open_loan.is_none() {
        device.open_loan =
            query("select id from loan where device_id = $1 and returned_on > $2 and entered_in_error_at is null order by returned_on desc")
                .bind(id.to_string())
                .bind(day.to_string())
                .fetch_optional(snapshot.connection())
                .await?
                .map(|row| row.parsed("id"))
                .transpose()?;
    }
    Ok(device)
}

/// The same for a handler that asks the gate before it writes.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn to_lend(
    snapshot: &mut Snapshot,
    _office: &Office<Pool, impl Reads>,
    id: DeviceId,
    eye: Eye,
    day: Date,
) -> Result<PoolDevice> {
    of_gate(snapshot, id, eye, day).await
}

/// Notes the condition in which a device went out.
pub(super) async fn went_out(tx: &mut Tx, id: DeviceId, condition: Condition) -> Result<()> {
    query("update device set condition = $1, version = version + 1 where id = $2")
        .bind(condition.code().to_owned())
        .bind(id.to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Notes the condition in which a device came back; it counts as not cleaned.
pub(super) async fn came_back(tx: &mut Tx, id: DeviceId, condition: Condition) -> Result<()> {
    query("update device set condition = $1, cleaned_on = null, version = version + 1 where id = $2")
        .bind(condition.code().to_owned())
        .bind(id.to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Adds a device.
///
/// # Errors
/// [`StoreError::Taken`] when the tag is in use.
pub async fn add(tx: &mut Tx, office: &Office<Pool, Create>, new: &NewDevice) -> Result<DeviceId> {
    let id = fresh(DeviceId::of);
    let at = stamp(tx.now());
    let spec = &new.device.spec;
    query(
        "insert into device (id, tag, owner, kind, power, objective_mm, field_deg, near_focus_typed, near_focus_m, reading_cap_d,
         equivalent_power_d, lens_mm, stand_height_mm, label, light, over_glasses, eye, filter, weight_g, strap, carry_case,
         condition, cleaned_on, note, confirmed, created_at, created_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25, $26, $27)",
    )
    .bind(id.to_string())
    .bind(new.tag.clone())
    .bind(new.owner.code().to_owned())
    .bind(spec.kind.code().to_owned())
    .bind(number(spec.power.map(Magnification::get)))
    .bind(number(spec.objective.map(Millimetres::get)))
    .bind(number(spec.true_field.map(Degrees::get)))
    .bind(new.device.near_focus_typed.clone())
    .bind(number(spec.near_focus.map(Metres::get)))
    .bind(number(spec.reading_cap.map(Dioptres::get)))
    .bind(number(spec.equivalent_power.map(Dioptres::get)))
    .bind(number(spec.lens_diameter.map(Millimetres::get)))
    .bind(number(spec.stand_height.map(Millimetres::get)))
    .bind(new.device.label.clone())
    .bind(spec.light.map_or("", |light| light.code()).to_owned())
    .bind(spec.with_glasses.map_or("", |glasses| glasses.code()).to_owned())
    .bind(spec.eye.unwrap_or(Eye::Either).code().to_owned())
    .bind(new.device.filter.clone())
    .bind(new.weight_g)
    .bind(flag(new.strap))
    .bind(flag(new.carry_case))
    .bind(new.condition.code().to_owned())
    .bind(text(new.cleaned_on))
    .bind(new.device.note.clone())
    .bind(new.device.confirmed.clone())
    .bind(at)
    .bind(office.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Changes a device.
///
/// What it is does not change while it is out: a loan was checked against it.
///
/// # Errors
/// [`StoreError::Taken`] when the tag is in use, [`StoreError::Stale`] when
/// somebody saved or lent it meanwhile.
pub async fn change(
    tx: &mut Tx,
    office: &Office<Pool, Edit>,
    id: DeviceId,
    version: i64,
    new: &NewDevice,
) -> Result<()> {
    let spec = &new.device.spec;
    let now = one(tx, office, id).await?;
    if now.out.is_some() && now.entered.device.spec != *spec {
        return Err(StoreError::Stale);
    }
    let done = query(
        "update device set tag = $1, owner = $2, kind = $3, power = $4, objective_mm = $5, field_deg = $6, near_focus_typed = $7,
         near_focus_m = $8, reading_cap_d = $9, equivalent_power_d = $10, lens_mm = $11, stand_height_mm = $12, label = $13,
         light = $14, over_glasses = $15, eye = $16, filter = $17, weight_g = $18, strap = $19, carry_case = $20, condition = $21,
         cleaned_on = $22, note = $23, confirmed = $24, version = version + 1
         where id = $25 and version = $26 and retired_at is null",
    )
    .bind(new.tag.clone())
    .bind(new.owner.code().to_owned())
    .bind(spec.kind.code().to_owned())
    .bind(number(spec.power.map(Magnification::get)))
    .bind(number(spec.objective.map(Millimetres::get)))
    .bind(number(spec.true_field.map(Degrees::get)))
    .bind(new.device.near_focus_typed.clone())
    .bind(number(spec.near_focus.map(Metres::get)))
    .bind(number(spec.reading_cap.map(Dioptres::get)))
    .bind(number(spec.equivalent_power.map(Dioptres::get)))
    .bind(number(spec.lens_diameter.map(Millimetres::get)))
    .bind(number(spec.stand_height.map(Millimetres::get)))
    .bind(new.device.label.clone())
    .bind(spec.light.map_or("", |light| light.code()).to_owned())
    .bind(spec.with_glasses.map_or("", |glasses| glasses.code()).to_owned())
    .bind(spec.eye.unwrap_or(Eye::Either).code().to_owned())
    .bind(new.device.filter.clone())
    .bind(new.weight_g)
    .bind(flag(new.strap))
    .bind(flag(new.carry_case))
    .bind(new.condition.code().to_owned())
    .bind(text(new.cleaned_on))
    .bind(new.device.note.clone())
    .bind(new.device.confirmed.clone())
    .bind(id.to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Takes a device out of the pool. Its loans stay as they were.
///
/// # Errors
/// [`StoreError::Stale`] when it is out, or somebody saved it meanwhile.
pub async fn retire(tx: &mut Tx, office: &Office<Pool, Edit>, id: DeviceId, version: i64, reason: &str) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update device set retired_at = $1, retired_by = $2, retired_reason = $3, version = version + 1
         where id = $4 and version = $5 and retired_at is null
         and id not in (select device_id from loan where returned_on is null)",
    )
    .bind(at)
    .bind(office.actor().account.to_string())
    .bind(reason.to_owned())
    .bind(id.to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
