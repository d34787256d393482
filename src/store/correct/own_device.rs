//! Correcting what was written of a device of the student's own, received on a
//! prescription or had before.
//!
//! What it is compared with is the prescription it came on, whatever became of
//! that since; a clinician's word was about the device as it was written before,
//! so it does not outlive another specification (G6).

use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::super::own_device::{self, Brought, Kept};
use super::super::spec::{self, Owner};
use super::super::{Result, Snapshot, StoreError, Tx, amendment, journey, met};
use super::Outcome;
use crate::access::Access;
use crate::access::action::{Amend, Read};
use crate::access::resource::{Loans, Receipt};
use crate::care::amendment::{Correction, changes};
use crate::care::device::{Difference, apart, receipt_differences};
use crate::care::device_words;
use crate::care::ids::OwnDeviceId;
use crate::care::journey::fact::Verdict;
use crate::care::named_device::NamedDevice;
use crate::db::column::{Columns, flag, json};

/// An own device as it is stored, for the form that amends it.
pub struct Stored {
    /// The device.
    pub kept: Kept,
    /// Whether it is marked as entered in error.
    pub in_error: bool,
    /// How often it was changed.
    pub version: i64,
}

async fn row(snapshot: &mut Snapshot, access: &Access<Receipt, Amend>, id: OwnDeviceId) -> Result<AnyRow> {
    query(
        "select entered_in_error_at, version from own_device where id = $1 and student_id = $2 and ($3 = 0 or entered_by = $4)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)
}

/// The device, if this person may correct it.
///
/// # Errors
/// [`StoreError::Missing`] otherwise.
pub async fn stored(
    snapshot: &mut Snapshot,
    (access, reading): (&Access<Receipt, Amend>, &Access<Loans, Read>),
    id: OwnDeviceId,
) -> Result<Stored> {
    let row = row(snapshot, access, id).await?;
    let in_error = row.opt_instant("entered_in_error_at")?.is_some();
    let all = if in_error {
        own_device::errors(snapshot, reading).await?
    } else {
        own_device::list(snapshot, reading).await?
    };
    let kept = all.into_iter().find(|kept| kept.id == id).ok_or(StoreError::Missing)?;
    Ok(Stored { kept, in_error, version: row.whole("version")? })
}

/// Since when the prescription it came on was in force on the day it was
/// received; nothing, it came on none or on one that counts no longer.
///
/// # Errors
/// When the database fails.
pub async fn prescribed_since(
    snapshot: &mut Snapshot,
    access: &Access<Receipt, Amend>,
    (kept, day): (&Kept, Date),
) -> Result<Option<Date>> {
    let tracks = journey::tracks_on(snapshot, access, day).await?;
    let now = tracks.of(kept.track).prescription.as_ref();
    Ok(now.filter(|now| Some(now.id) == kept.prescription).map(|now| now.since))
}

/// The first day on which a session or an observation names it.
///
/// # Errors
/// When the database fails.
pub async fn first_used(
    snapshot: &mut Snapshot,
    access: &Access<Receipt, Amend>,
    id: OwnDeviceId,
) -> Result<Option<Date>> {
    let row = query(
        "select min(u.day) as first_day from (
           select held_on as day from training_session where own_device_id = $1 and student_id = $2 and state = 'entered'
           union all
           select seen_on as day from observation where own_device_id = $1 and student_id = $2 and state = 'entered') u",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.opt_date("first_day")?)
}

/// What is written of a device, field by field.
#[must_use]
pub fn texts(new: &Brought) -> Vec<(&'static str, String)> {
    let spec = &new.device.spec;
    let said = |words: Option<&'static str>| words.unwrap_or_default().to_owned();
    vec![
        ("Device", device_words::line(spec)),
        ("Eye", said(spec.eye.map(|one| one.words()))),
        ("With glasses", said(spec.with_glasses.map(|one| one.words()))),
        ("Built-in light", said(spec.light.map(|one| one.words()))),
        ("Nearest focus, as written", new.device.near_focus_typed.clone()),
        ("Printed on it", new.device.label.clone()),
        ("Filter", new.device.filter.clone()),
        ("Serial number or tag", new.tag.clone()),
        ("Received on", new.had_since.strftime("%-d %B %Y").to_string()),
        ("Received by", new.received_by.clone()),
        ("Condition", new.condition.words().to_owned()),
    ]
}

/// What is stored, as it would be written anew.
#[must_use]
pub fn written(kept: &Kept) -> Brought {
    Brought {
        track: kept.track,
        device: kept.device.clone(),
        tag: kept.tag.clone(),
        had_since: kept.received_on,
        received_by: kept.received_by.clone(),
        condition: kept.condition,
    }
}

fn compared(on_prescription: bool, differs: &[Difference]) -> String {
    let parts: Vec<&str> = differs.iter().map(|part| part.words()).collect();
    match (on_prescription, parts.is_empty()) {
        (false, _) => String::new(),
        (true, true) => "as prescribed".to_owned(),
        (true, false) => format!("not as prescribed: {}", parts.join("; ")),
    }
}

fn settled(kept: &Kept) -> String {
    kept.verdict.as_ref().map_or_else(String::new, |settled| {
        let said = match settled.verdict {
            Verdict::Accepted => "accepted as it is",
            Verdict::Refused => "refused",
        };
        format!("{said} by {} on {}: {}", settled.by, settled.on.strftime("%-d %B %Y"), settled.reason)
    })
}

/// Amends what is written of a device; both texts stay, and it is compared anew.
/// Gives what differs from the prescription now.
///
/// # Errors
/// [`StoreError::Missing`] when its prescription was not in force on another day,
/// or an entry names it before it came; [`StoreError::Stale`] when it was changed,
/// settled or marked meanwhile.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Receipt, Amend>,
    (stored, version): (&Stored, Option<i64>),
    (new, reason): (&Brought, &str),
) -> Result<(Outcome, Vec<Difference>)> {
    let kept = &stored.kept;
    if new.track != kept.track {
        return Err(StoreError::Missing);
    }
    if stored.in_error || version != Some(stored.version) {
        return Err(StoreError::Stale);
    }
    if new.had_since != kept.received_on {
        let in_force = prescribed_since(tx, access, (kept, new.had_since)).await?.is_some();
        let used = first_used(tx, access, kept.id).await?;
        if (kept.prescription.is_some() && !in_force) || used.is_some_and(|used| used < new.had_since) {
            return Err(StoreError::Missing);
        }
    }
    let differs = differences(tx, access, kept, &new.device).await?;
    let was = written(kept);
    let another = new.device.spec != was.device.spec;
    let mut all = changes(texts(&was), texts(new));
    if all.iter().any(|one| one.before != one.after) {
        let on_prescription = kept.prescription.is_some();
        let (before, after) = (compared(on_prescription, &kept.differs), compared(on_prescription, &differs));
        let word = settled(kept);
        let stays = if another { String::new() } else { word.clone() };
        all.extend(changes(
            vec![("Compared with the prescription", before), ("The clinician\u{2019}s word", word)],
            vec![("Compared with the prescription", after), ("The clinician\u{2019}s word", stays)],
        ));
    }
    let correction = match Correction::because(all, reason) {
        Ok(correction) => correction,
        Err(refused) => return Ok((refused.into(), differs)),
    };
    let spec_id =
        spec::put_in_place(tx, access.student(), (Owner::OwnDevice, &kept.id.to_string()), kept.track, &new.device)
            .await?;
    let done = query(
        "update own_device set spec_id = $1, tag = $2, received_on = $3, received_by = $4, condition = $5, matches = $6,
         differs = $7, verdict = case when $8 = 1 then null else verdict end,
         settled_at = case when $8 = 1 then null else settled_at end,
         settled_by = case when $8 = 1 then null else settled_by end,
         settled_reason = case when $8 = 1 then '' else settled_reason end, version = version + 1
         where id = $9 and student_id = $10 and version = $11 and entered_in_error_at is null and ($12 = 0 or entered_by = $13)",
    )
    .bind(spec_id.0)
    .bind(new.tag.clone())
    .bind(new.had_since.to_string())
    .bind(new.received_by.clone())
    .bind(new.condition.code().to_owned())
    .bind(flag(differs.is_empty()))
    .bind(json(&differs))
    .bind(flag(another))
    .bind(kept.id.to_string())
    .bind(access.student().to_string())
    .bind(stored.version)
    .bind(i64::from(access.limits().own_only))
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    spec::forget(tx, access.student(), &spec_id.1).await?;
    amendment::write(tx, access, kept.id, &correction).await?;
    Ok((Outcome::Kept, differs))
}

/// How it differs from the nearest device of the prescription it came on.
async fn differences(
    snapshot: &mut Snapshot,
    access: &Access<Receipt, Amend>,
    kept: &Kept,
    device: &NamedDevice,
) -> Result<Vec<Difference>> {
    let Some(prescription) = kept.prescription else { return Ok(Vec::new()) };
    let specs = spec::of_student(snapshot, access.student()).await?;
    spec::of_document(&specs, Owner::Prescription, &prescription.to_string(), kept.track)
        .iter()
        .map(|wanted| receipt_differences(kept.track, &wanted.spec, &device.spec))
        .min_by_key(|differs| apart(differs))
        .ok_or(StoreError::Missing)
}
