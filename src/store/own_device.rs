//! The student's own devices: what arrived on which prescription.
//!
//! Whether it is what was prescribed is computed from the two specifications
//! (G6), never taken from the person who unpacks it. What follows for the track
//! and its loans is derived; see [`super::journey`].

use std::collections::BTreeMap;

use jiff::civil::Date;
use sqlx::query;

use super::audit::fresh;
use super::spec::{self, Owner};
use super::{Result, Snapshot, StoreError, Tx, journey, met};
use crate::access::Access;
use crate::access::action::{Create, Reads};
use crate::access::resource::{LoanDecision, Loans, Prescription, Receipt};
use crate::care::device::{Condition, Difference, apart, receipt_differences};
use crate::care::gates::MaySettle;
use crate::care::ids::{AccountId, OwnDeviceId, PrescriptionId};
use crate::care::journey::fact::Verdict;
use crate::care::named_device::NamedDevice;
use crate::care::track::Track;
use crate::db::column::{Columns, flag, json, stamp};

/// A device as it is unpacked.
#[derive(Clone)]
pub struct NewReceipt {
    /// The prescription it came on.
    pub prescription: PrescriptionId,
    /// The track.
    pub track: Track,
    /// What arrived.
    pub device: NamedDevice,
    /// Its serial number or tag.
    pub tag: String,
    /// The day it arrived.
    pub received_on: Date,
    /// Who received it, by name or relation.
    pub received_by: String,
    /// Its condition.
    pub condition: Condition,
}

/// An own device as it is kept.
#[derive(Clone)]
pub struct Kept {
    /// Which device.
    pub id: OwnDeviceId,
    /// The prescription it came on; none, it was brought along.
    pub prescription: Option<PrescriptionId>,
    /// The track.
    pub track: Track,
    /// What it is.
    pub device: NamedDevice,
    /// Its serial number or tag.
    pub tag: String,
    /// The day it arrived.
    pub received_on: Date,
    /// Who received it.
    pub received_by: String,
    /// Its condition on that day.
    pub condition: Condition,
    /// What is not as prescribed; empty, it matches.
    pub differs: Vec<Difference>,
    /// How a clinician settled the difference.
    pub verdict: Option<Settled>,
    /// Who entered it, by name.
    pub entered_by: String,
    /// Who entered it.
    pub author: AccountId,
}

/// A clinician's word on a device that is not as prescribed.
#[derive(Clone)]
pub struct Settled {
    /// Accepted as it is, or refused.
    pub verdict: Verdict,
    /// The day.
    pub on: Date,
    /// Who settled it, by name.
    pub by: String,
    /// Why.
    pub reason: String,
}

/// Every own device of a student that counts, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<Kept>> {
    of_student(snapshot, access, 0).await
}

/// Every own device that was entered in error: it counts as never received.
///
/// # Errors
/// When the database fails.
pub async fn errors(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<Kept>> {
    of_student(snapshot, access, 1).await
}

/// Whether this person entered the device; told before anything of it is read.
///
/// # Errors
/// When the database fails.
pub async fn is_own(snapshot: &mut Snapshot, access: &Access<Receipt, Create>, id: OwnDeviceId) -> Result<bool> {
    let row = query("select count(*) as n from own_device where id = $1 and student_id = $2 and entered_by = $3")
        .bind(id.to_string())
        .bind(access.student().to_string())
        .bind(access.actor().account.to_string())
        .fetch_one(snapshot.connection())
        .await?;
    Ok(row.whole("n")? > 0)
}

async fn of_student(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>, in_error: i64) -> Result<Vec<Kept>> {
    let specs = spec::of_student(snapshot, access.student()).await?;
    let rows = query(
        "select o.id, o.prescription_id, o.track, o.tag, o.received_on, o.received_by, o.condition, o.differs, o.verdict,
         o.settled_at, o.settled_reason, o.entered_by, coalesce(a.name, '') as by_name, coalesce(s.name, '') as settled_name
         from own_device o left join account a on a.id = o.entered_by left join account s on s.id = o.settled_by
         where o.student_id = $1 and case when o.entered_in_error_at is null then 0 else 1 end = $2
         order by o.received_on desc, o.entered_at desc",
    )
    .bind(access.student().to_string())
    .bind(in_error)
    .fetch_all(snapshot.connection())
    .await?;
    let mut devices = Vec::new();
    for row in &rows {
        let (id, track) = (row.text("id")?, row.parsed("track")?);
        let Some(device) = spec::of_document(&specs, Owner::OwnDevice, &id, track).into_iter().next() else { continue };
        let differs = row.text("differs")?;
        devices.push(Kept {
            id: row.parsed("id")?,
            prescription: row.opt_parsed("prescription_id")?,
            track,
            device,
            tag: row.text("tag")?,
            received_on: row.date("received_on")?,
            received_by: row.text("received_by")?,
            condition: row.parsed("condition")?,
            differs: if differs.is_empty() { Vec::new() } else { row.json("differs")? },
            verdict: match (row.opt_parsed("verdict")?, row.opt_instant("settled_at")?) {
                (Some(verdict), Some(at)) => Some(Settled {
                    verdict,
                    on: snapshot.date_of(at),
                    by: row.text("settled_name")?,
                    reason: row.text("settled_reason")?,
                }),
                _ => None,
            },
            entered_by: row.text("by_name")?,
            author: row.parsed("entered_by")?,
        });
    }
    Ok(devices)
}

/// The devices of each track that a prescription names, as far as this reader
/// may read it.
///
/// # Errors
/// When the database fails.
pub async fn prescribed(
    snapshot: &mut Snapshot,
    access: &Access<Prescription, impl Reads>,
    id: PrescriptionId,
) -> Result<BTreeMap<Track, Vec<NamedDevice>>> {
    let limits = access.limits();
    let own = access.actor().account.to_string();
    let rows = query(
        "select id from prescription where id = $1 and student_id = $2 and signed_at is not null
         and ($3 = 0 or id in (select document_id from sending where student_id = $2 and to_side = $4))
         and ($5 = 0 or created_by = $6)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(flag(limits.sent_only))
    .bind(access.actor().side().code().to_owned())
    .bind(flag(limits.own_only))
    .bind(own)
    .fetch_all(snapshot.connection())
    .await?;
    let mut devices = BTreeMap::new();
    if rows.is_empty() {
        return Ok(devices);
    }
    let specs = spec::of_student(snapshot, access.student()).await?;
    for track in Track::ALL {
        devices.insert(*track, spec::of_document(&specs, Owner::Prescription, &id.to_string(), *track));
    }
    Ok(devices)
}

/// Records that a device arrived, and whether it is what was prescribed.
///
/// Gives what differs; nothing, and it is the device of the track from the day
/// it was received.
///
/// # Errors
/// [`StoreError::Missing`] when the prescription is not the one in force on
/// this track on that day.
pub async fn receive(
    tx: &mut Tx,
    access: &Access<Receipt, Create>,
    new: &NewReceipt,
) -> Result<(OwnDeviceId, Vec<Difference>)> {
    let tracks = journey::tracks_on(tx, access, new.received_on).await?;
    let prescription = tracks
        .of(new.track)
        .prescription
        .as_ref()
        .filter(|now| now.id == new.prescription)
        .ok_or(StoreError::Missing)?;
    // With several prescribed, what arrived is compared with the one it is nearest to.
    let differs = prescription
        .devices
        .iter()
        .map(|wanted| receipt_differences(new.track, wanted, &new.device.spec))
        .min_by_key(|differs| apart(differs))
        .ok_or(StoreError::Missing)?;
    let arrived = Arrived {
        prescription: Some(new.prescription),
        track: new.track,
        device: &new.device,
        tag: &new.tag,
        on: new.received_on,
        by: &new.received_by,
        condition: new.condition,
        differs: &differs,
    };
    let id = insert(tx, access, arrived).await?;
    Ok((id, differs))
}

/// A device the student had before the record was opened.
#[derive(Clone)]
pub struct Brought {
    /// The track.
    pub track: Track,
    /// What it is.
    pub device: NamedDevice,
    /// Its serial number or tag.
    pub tag: String,
    /// Since when the student has it.
    pub had_since: Date,
    /// Where it came from, as far as known.
    pub received_by: String,
    /// Its condition.
    pub condition: Condition,
}

/// Records a device that came on no prescription in here. It is the device of
/// the track once an evaluation says to keep the own device.
///
/// # Errors
/// When the database fails.
pub async fn bring(tx: &mut Tx, access: &Access<Receipt, Create>, new: &Brought) -> Result<OwnDeviceId> {
    let arrived = Arrived {
        prescription: None,
        track: new.track,
        device: &new.device,
        tag: &new.tag,
        on: new.had_since,
        by: &new.received_by,
        condition: new.condition,
        differs: &[],
    };
    insert(tx, access, arrived).await
}

/// One row to be kept.
struct Arrived<'a> {
    prescription: Option<PrescriptionId>,
    track: Track,
    device: &'a NamedDevice,
    tag: &'a str,
    on: Date,
    by: &'a str,
    condition: Condition,
    differs: &'a [Difference],
}

async fn insert(tx: &mut Tx, access: &Access<Receipt, Create>, arrived: Arrived<'_>) -> Result<OwnDeviceId> {
    let id = fresh(OwnDeviceId::of);
    let at = stamp(tx.now());
    let device = std::slice::from_ref(arrived.device);
    let specs = spec::replace(tx, access.student(), Owner::OwnDevice, &id.to_string(), arrived.track, device).await?;
    let spec_id = specs.into_iter().next().ok_or(StoreError::Missing)?;
    query(
        "insert into own_device (id, student_id, prescription_id, spec_id, track, tag, received_on, received_by, condition, matches,
         differs, entered_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(arrived.prescription.map(|id| id.to_string()))
    .bind(spec_id)
    .bind(arrived.track.code().to_owned())
    .bind(arrived.tag.to_owned())
    .bind(arrived.on.to_string())
    .bind(arrived.by.to_owned())
    .bind(arrived.condition.code().to_owned())
    .bind(flag(arrived.differs.is_empty()))
    .bind(json(&arrived.differs))
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Settles a device that is not as prescribed.
///
/// # Errors
/// [`StoreError::Stale`] when it was settled meanwhile.
pub async fn settle(
    tx: &mut Tx,
    access: &Access<LoanDecision, Create>,
    may: MaySettle,
    verdict: Verdict,
    reason: &str,
) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update own_device set verdict = $1, settled_at = $2, settled_by = $3, settled_reason = $4, version = version + 1
         where id = $5 and student_id = $6 and verdict is null and entered_in_error_at is null",
    )
    .bind(verdict.code().to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(reason.to_owned())
    .bind(may.own_device().to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
