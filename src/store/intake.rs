//! The intake: saved step by step, released with the request for an evaluation.
//!
//! A released intake still changes; then what stood before is kept beside the
//! reason.

use std::collections::BTreeSet;

use sqlx::any::AnyRow;
use sqlx::query;

use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Edit, Reads, Sign};
use crate::access::resource::Intake as IntakeRow;
use crate::care::ids::StudentId;
use crate::care::intake::{Change, Eyes, Intake, Plan, Step};
use crate::care::typed::Typed;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, json, number, stamp, text};
use crate::vision::units::Metres;

fn intake(row: &AnyRow) -> std::result::Result<Intake, sqlx::Error> {
    let near = row.opt_unit("near_distance_m", Metres::new)?;
    let near_typed = row.text("near_distance_typed")?;
    Ok(Intake {
        eyes: Eyes {
            referral_source: row.opt_parsed("referral_source")?,
            referral_on: row.opt_date("referral_on")?,
            referral_reason: row.text("referral_reason")?,
            concerns: row.json("concerns")?,
            eye_report_on: row.opt_date("eye_report_on")?,
            eye_report_note: row.text("eye_report_note")?,
            glasses: row.opt_parsed("glasses")?,
            glasses_note: row.text("glasses_note")?,
            other_aids: row.json("other_aids")?,
            medical_alerts: row.json("medical_alerts")?,
            medical_note: row.text("medical_note")?,
            other_needs: row.text("other_needs")?,
            near_distance: near.map(|metres| Typed::new(near_typed, metres)),
            smallest_print: row.text("smallest_print_typed")?,
            reads_up_close: row.opt_parsed("reads_up_close")?,
            head_turn: row.opt_parsed("head_turn")?,
            head_turn_degrees: row.opt_whole("head_turn_degrees")?,
            tires_after: row.opt_whole("tires_after_min")?,
            mobility_note: row.text("mobility_note")?,
            student_words: row.text("student_words")?,
        },
        plan: Plan {
            plan_type: row.opt_parsed("plan_type")?,
            service_minutes: row.opt_whole("service_minutes")?,
            period: row.opt_parsed("service_period")?,
        },
        done: row.json("steps_done")?,
        released_at: row.opt_instant("released_at")?,
        changed_at: row.instant("changed_at")?,
        changed_by: row.text("changed_by_name")?,
        version: row.whole("version")?,
    })
}

/// The intake, unless this reader sees it only once it is released.
///
/// # Errors
/// When the database fails.
pub async fn of(snapshot: &mut Snapshot, access: &Access<IntakeRow, impl Reads>) -> Result<Option<Intake>> {
    let released_only = i64::from(access.limits().released_only);
    let row = query(
        "select i.referral_source, i.referral_on, i.referral_reason, i.concerns, i.eye_report_on, i.eye_report_note, i.glasses,
         i.glasses_note, i.other_aids, i.medical_alerts, i.medical_note, i.other_needs, i.plan_type, i.service_minutes,
         i.service_period, i.near_distance_typed, i.near_distance_m, i.smallest_print_typed, i.reads_up_close, i.head_turn,
         i.head_turn_degrees, i.tires_after_min, i.mobility_note, i.student_words, i.steps_done, i.released_at, i.changed_at,
         i.version, a.name as changed_by_name
         from intake i join account a on a.id = i.changed_by
         where i.student_id = $1 and ($2 = 0 or i.released_at is not null)",
    )
    .bind(access.student().to_string())
    .bind(released_only)
    .fetch_optional(snapshot.connection())
    .await?;
    Ok(row.as_ref().map(intake).transpose()?)
}

/// Saves eyes and glasses over the version read.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved meanwhile.
pub async fn save_eyes(tx: &mut Tx, access: &Access<IntakeRow, Edit>, eyes: &Eyes, version: i64) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update intake set referral_source = $1, referral_on = $2, referral_reason = $3, concerns = $4, eye_report_on = $5,
         eye_report_note = $6, glasses = $7, glasses_note = $8, other_aids = $9, medical_alerts = $10, medical_note = $11,
         other_needs = $12, near_distance_typed = $13, near_distance_m = $14, smallest_print_typed = $15, reads_up_close = $16,
         head_turn = $17, head_turn_degrees = $18, tires_after_min = $19, mobility_note = $20, student_words = $21,
         changed_at = $22, changed_by = $23, version = version + 1
         where student_id = $24 and version = $25",
    )
    .bind(eyes.referral_source.map_or("", |one| one.code()).to_owned())
    .bind(text(eyes.referral_on))
    .bind(eyes.referral_reason.clone())
    .bind(json(&eyes.concerns))
    .bind(text(eyes.eye_report_on))
    .bind(eyes.eye_report_note.clone())
    .bind(eyes.glasses.map_or("", |one| one.code()).to_owned())
    .bind(eyes.glasses_note.clone())
    .bind(json(&eyes.other_aids))
    .bind(json(&eyes.medical_alerts))
    .bind(eyes.medical_note.clone())
    .bind(eyes.other_needs.clone())
    .bind(eyes.near_distance.as_ref().map_or(String::new(), |near| near.typed.clone()))
    .bind(number(eyes.near_distance.as_ref().map(|near| near.value.get())))
    .bind(eyes.smallest_print.clone())
    .bind(eyes.reads_up_close.map_or("", |one| one.code()).to_owned())
    .bind(eyes.head_turn.map_or("", |one| one.code()).to_owned())
    .bind(eyes.head_turn_degrees)
    .bind(eyes.tires_after)
    .bind(eyes.mobility_note.clone())
    .bind(eyes.student_words.clone())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Saves the plan over the version read.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved meanwhile.
pub async fn save_plan(tx: &mut Tx, access: &Access<IntakeRow, Edit>, plan: &Plan, version: i64) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update intake set plan_type = $1, service_minutes = $2, service_period = $3, changed_at = $4, changed_by = $5,
         version = version + 1 where student_id = $6 and version = $7",
    )
    .bind(plan.plan_type.map_or("", |one| one.code()).to_owned())
    .bind(plan.service_minutes)
    .bind(plan.period.map_or("", |one| one.code()).to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Marks a step as finished. It changes nothing that two people could both
/// have typed, so it asks for no version.
///
/// # Errors
/// [`StoreError::Missing`] without an intake.
pub async fn finish(tx: &mut Tx, access: &Access<IntakeRow, Edit>, step: Step) -> Result<()> {
    let row = query("select steps_done from intake where student_id = $1")
        .bind(access.student().to_string())
        .fetch_optional(tx.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    let mut done: BTreeSet<Step> = row.json("steps_done")?;
    done.insert(step);
    query("update intake set steps_done = $1 where student_id = $2")
        .bind(json(&done))
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Releases the intake to the family and, with consent, to the clinic. A
/// second release changes nothing.
///
/// # Errors
/// When the database fails.
pub async fn release(tx: &mut Tx, access: &Access<IntakeRow, Sign>) -> Result<()> {
    let at = stamp(tx.now());
    query("update intake set released_at = $1 where student_id = $2 and released_at is null")
        .bind(at)
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Keeps what a released intake said before a change.
///
/// # Errors
/// When the database fails.
pub async fn amended(tx: &mut Tx, access: &Access<IntakeRow, Edit>, changes: &[Change], reason: &str) -> Result<()> {
    let at = stamp(tx.now());
    for (field, before, after) in changes {
        query(
            "insert into amendment (id, student_id, resource, record_id, field, before_text, after_text, reason, at, account_id)
             values ($1, $2, 'Intake', $2, $3, $4, $5, $6, $7, $8)",
        )
        .bind(fresh_uuid().to_string())
        .bind(access.student().to_string())
        .bind((*field).to_owned())
        .bind(before.clone())
        .bind(after.clone())
        .bind(reason.to_owned())
        .bind(at.clone())
        .bind(access.actor().account.to_string())
        .execute(tx.connection())
        .await?;
    }
    Ok(())
}

/// One change to a released intake.
pub struct Amended {
    /// The field.
    pub field: String,
    /// What stood there.
    pub before: String,
    /// What stands now.
    pub after: String,
    /// Why.
    pub reason: String,
    /// When.
    pub at: jiff::Timestamp,
    /// By whom.
    pub by: String,
}

/// The changes to a released intake, newest first.
///
/// # Errors
/// When the database fails.
pub async fn amendments(snapshot: &mut Snapshot, access: &Access<IntakeRow, impl Reads>) -> Result<Vec<Amended>> {
    let student: StudentId = access.student();
    let rows = query(
        "select m.field, m.before_text, m.after_text, m.reason, m.at, a.name from amendment m join account a on a.id = m.account_id
         where m.student_id = $1 and m.resource = 'Intake' order by m.at desc, m.id desc",
    )
    .bind(student.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Amended {
                field: row.text("field")?,
                before: row.text("before_text")?,
                after: row.text("after_text")?,
                reason: row.text("reason")?,
                at: row.instant("at")?,
                by: row.text("name")?,
            })
        })
        .collect()
}
