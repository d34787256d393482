//! Loans: what went out to a student, what came back, and what is in hand.
//!
//! A loan is opened with the tokens of G2 and G4 and keeps the recommendation it
//! rests on. Which loan still stands for that recommendation is derived, not
//! stored; see [`super::journey`].

use std::collections::BTreeMap;

use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, journey, met, pool, spec};
use crate::access::Access;
use crate::access::action::{Action, Create, Edit, Reads};
use crate::access::resource::{LoanGlimpse, Loans, Resource};
use crate::care::device::{Condition, Warning};
use crate::care::gates::{Named, Purpose, RightLoan, SafeToTrain, device_of_the_track};
use crate::care::ids::{DeviceId, LoanId};
use crate::care::journey::{Journey, OwnDevice, Standing};
use crate::care::loan::{InHand, LoanRecord, NewLoan, plain_word, short_words};
use crate::care::track::Track;
use crate::db::column::{Columns, flag, json, stamp};
use crate::vision::units::Metres;

/// Every loan of a student that counts, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<LoanRecord>> {
    of_student(snapshot, access, 0).await
}

/// Every loan that was entered in error: it counts as never lent.
///
/// # Errors
/// When the database fails.
pub async fn errors(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<LoanRecord>> {
    of_student(snapshot, access, 1).await
}

async fn of_student(
    snapshot: &mut Snapshot,
    access: &Access<Loans, impl Reads>,
    in_error: i64,
) -> Result<Vec<LoanRecord>> {
    let rows = query(LIST).bind(access.student().to_string()).bind(in_error).fetch_all(snapshot.connection()).await?;
    Ok(rows.iter().map(record).collect::<std::result::Result<_, _>>()?)
}

/// One loan; none that was entered in error.
///
/// # Errors
/// [`StoreError::Missing`] when it is not a loan of this student.
pub async fn one(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>, id: LoanId) -> Result<LoanRecord> {
    let all = list(snapshot, access).await?;
    all.into_iter().find(|loan| loan.id == id).ok_or(StoreError::Missing)
}

const LIST: &str = "select l.id, l.device_id, l.track, l.eye, l.lent_on, l.due_on, l.returned_on, l.condition_out,
     l.condition_in, l.strap, l.carry_case, l.home_use, l.agreement_by, l.held_by, l.purpose, l.warnings, l.version,
     d.tag, d.kind, d.power, d.objective_mm, d.field_deg, d.near_focus_m, d.reading_cap_d, d.equivalent_power_d, d.lens_mm,
     d.stand_height_mm, d.light, d.over_glasses, coalesce(a.name, '') as by_name
     from loan l join device d on d.id = l.device_id left join account a on a.id = l.entered_by
     where l.student_id = $1 and case when l.entered_in_error_at is null then 0 else 1 end = $2
     order by l.lent_on desc, l.entered_at desc";

fn record(row: &AnyRow) -> std::result::Result<LoanRecord, sqlx::Error> {
    let warnings = row.text("warnings")?;
    Ok(LoanRecord {
        id: row.parsed("id")?,
        device: row.parsed("device_id")?,
        tag: row.text("tag")?,
        spec: spec::spec(row)?,
        entered: NewLoan {
            track: row.parsed("track")?,
            eye: row.parsed("eye")?,
            lent_on: row.date("lent_on")?,
            due_on: row.date("due_on")?,
            condition_out: row.parsed("condition_out")?,
            strap: row.flag("strap")?,
            carry_case: row.flag("carry_case")?,
            home_use: row.flag("home_use")?,
            agreement_by: row.parsed("agreement_by")?,
            held_by: row.parsed("held_by")?,
            purpose: row.parsed("purpose")?,
        },
        warnings: if warnings.is_empty() { Vec::new() } else { row.json("warnings")? },
        returned_on: row.opt_date("returned_on")?,
        condition_in: row.opt_parsed("condition_in")?,
        entered_by: row.text("by_name")?,
        version: row.whole("version")?,
    })
}

/// What the student has today, by track, and whether it may be used.
///
/// # Errors
/// When the database fails.
pub async fn in_hand(snapshot: &mut Snapshot, access: &Access<LoanGlimpse, impl Reads>) -> Result<Vec<InHand>> {
    let today = snapshot.today();
    in_hand_on(snapshot, access, today).await
}

/// The same for another day, for an entry dated back.
///
/// The figures of a device are left out for a reader who may know its name only.
///
/// # Errors
/// When the database fails.
pub async fn in_hand_on(
    snapshot: &mut Snapshot,
    access: &Access<LoanGlimpse, impl Reads>,
    day: Date,
) -> Result<Vec<InHand>> {
    let whole = access.part::<Loans>().is_ok();
    let tags = tags(snapshot, access).await?;
    let tracks = journey::tracks_on(snapshot, access, day).await?;
    let mut found = Vec::new();
    for track in Track::ALL {
        let journey = tracks.of(*track);
        found.extend(own_in_hand(journey, whole));
        found.extend(lent_in_hand(journey, whole, &tags));
    }
    tell_apart(&mut found);
    Ok(found)
}

/// Two devices of the student's own that read the same are told apart by the
/// day each came; what is written on one may be nothing.
fn tell_apart(found: &mut [InHand]) {
    let words: Vec<String> = found.iter().map(|device| device.words.clone()).collect();
    for device in found.iter_mut().filter(|device| !device.is_loan()) {
        if words.iter().filter(|other| **other == device.words).count() > 1 {
            device.words = format!("{}, received {}", device.words, device.from);
        }
    }
}

fn own_in_hand(journey: &Journey, whole: bool) -> impl Iterator<Item = InHand> {
    journey.own_devices.iter().filter(|own| own.standing != Standing::Refused).map(move |own: &OwnDevice| {
        let word = if whole { short_words(&own.spec) } else { plain_word(own.spec.kind).to_owned() };
        let named = Named::Own(own.id);
        InHand {
            track: journey.track,
            named,
            kind: own.spec.kind,
            words: format!("own {word}"),
            spec: whole.then(|| own.spec.clone()),
            from: own.received_on,
            returned_on: None,
            due_on: None,
            against_session: device_of_the_track(journey, named, Purpose::Session).err(),
            against_observation: device_of_the_track(journey, named, Purpose::Observation).err(),
        }
    })
}

type Tags = BTreeMap<LoanId, (String, Date)>;

fn lent_in_hand(journey: &Journey, whole: bool, tags: &Tags) -> impl Iterator<Item = InHand> {
    journey.loans.iter().filter(|loan| loan.covers(journey.day)).map(move |loan| {
        let word = if whole { short_words(&loan.spec) } else { plain_word(loan.spec.kind).to_owned() };
        let (tag, agreed) = tags.get(&loan.id).map_or(("", None), |(tag, due)| (tag.as_str(), Some(*due)));
        let named = Named::Loan(loan.id);
        let due_on = [agreed, loan.due].into_iter().flatten().min();
        InHand {
            track: journey.track,
            named,
            kind: loan.spec.kind,
            words: format!("{word}, loan {tag}"),
            spec: whole.then(|| loan.spec.clone()),
            from: loan.opened_on,
            returned_on: loan.returned_on,
            due_on: due_on.filter(|_| loan.returned_on.is_none()),
            against_session: device_of_the_track(journey, named, Purpose::Session).err(),
            against_observation: device_of_the_track(journey, named, Purpose::Observation).err(),
        }
    })
}

async fn tags(snapshot: &mut Snapshot, access: &Access<LoanGlimpse, impl Reads>) -> Result<Tags> {
    let rows =
        query("select l.id, l.due_on, d.tag from loan l join device d on d.id = l.device_id where l.student_id = $1")
            .bind(access.student().to_string())
            .fetch_all(snapshot.connection())
            .await?;
    let mut tags = Tags::new();
    for row in &rows {
        tags.insert(row.parsed("id")?, (row.text("tag")?, row.date("due_on")?));
    }
    Ok(tags)
}

/// The distances at which the student needs a device of this track, for the
/// warnings of G4.
///
/// # Errors
/// When the database fails.
pub async fn task_distances<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    track: Track,
) -> Result<Vec<Metres>> {
    let rows = query(
        "select coalesce(t.distance_m, s.distance_m) as distance_m from visual_task t
         left join seat s on s.id = t.seat_id and s.student_id = t.student_id
         where t.student_id = $1 and t.track = $2 and t.retired_at is null",
    )
    .bind(access.student().to_string())
    .bind(track.code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let mut distances = Vec::new();
    for row in &rows {
        distances.extend(row.opt_unit("distance_m", Metres::new)?);
    }
    Ok(distances)
}

/// Hands a loan over.
///
/// # Errors
/// [`StoreError::Missing`] when a token speaks of another day or track,
/// [`StoreError::Taken`] when the device went out meanwhile.
pub async fn open(
    tx: &mut Tx,
    access: &Access<Loans, Create>,
    safe: SafeToTrain,
    right: &RightLoan,
    new: &NewLoan,
) -> Result<LoanId> {
    if safe.track() != new.track || safe.day() != new.lent_on || safe.basis() != right.basis() {
        return Err(StoreError::Missing);
    }
    // The device as it is now, not as it was when the gate looked at it.
    let device = pool::of_gate(tx, right.device(), new.eye, new.lent_on).await?;
    if device.open_loan.is_some() || !device.condition.fit_to_lend() || !device.is_clean() {
        return Err(StoreError::Taken);
    }
    let id = fresh(LoanId::of);
    let (kind, evidence) = journey::basis_columns(safe.basis());
    let warnings: Vec<Warning> = right.warnings().to_vec();
    let at = stamp(tx.now());
    query(
        "insert into loan (id, student_id, device_id, track, evidence_kind, evidence_id, eye, lent_on, due_on, condition_out,
         strap, carry_case, home_use, agreement_by, held_by, purpose, warnings, entered_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(right.device().to_string())
    .bind(new.track.code().to_owned())
    .bind(kind.to_owned())
    .bind(evidence)
    .bind(new.eye.code().to_owned())
    .bind(new.lent_on.to_string())
    .bind(new.due_on.to_string())
    .bind(new.condition_out.code().to_owned())
    .bind(flag(new.strap))
    .bind(flag(new.carry_case))
    .bind(flag(new.home_use))
    .bind(new.agreement_by.code().to_owned())
    .bind(new.held_by.code().to_owned())
    .bind(new.purpose.code().to_owned())
    .bind(json(&warnings))
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    pool::went_out(tx, right.device(), new.condition_out).await?;
    Ok(id)
}

/// Takes a loan back. The device then counts as not cleaned.
///
/// # Errors
/// [`StoreError::Missing`] when it is no open loan of this student or would come
/// back before it went out, [`StoreError::Stale`] when somebody saved meanwhile.
pub async fn give_back(
    tx: &mut Tx,
    access: &Access<Loans, Edit>,
    id: LoanId,
    version: i64,
    returned_on: Date,
    condition: Condition,
) -> Result<()> {
    let row =
        query("select device_id from loan where id = $1 and student_id = $2 and returned_on is null and lent_on <= $3")
            .bind(id.to_string())
            .bind(access.student().to_string())
            .bind(returned_on.to_string())
            .fetch_optional(tx.connection())
            .await?
            .ok_or(StoreError::Missing)?;
    let device: DeviceId = row.parsed("device_id")?;
    let done = query(
        "update loan set returned_on = $1, condition_in = $2, version = version + 1
         where id = $3 and student_id = $4 and version = $5 and returned_on is null",
    )
    .bind(returned_on.to_string())
    .bind(condition.code().to_owned())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    pool::came_back(tx, device, condition).await
}
