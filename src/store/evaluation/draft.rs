//! Writing an evaluation: begun by a clinician, saved section by section,
//! signed once, never changed after. The same sections hold a transcribed report;
//! its own head, its filing and its confirming are in `paper.rs`.
//!
//! Every write names the draft state in its `where`: a signed evaluation is out
//! of reach here, whoever asks.

use jiff::civil::Date;
use sqlx::query;

use super::Written;
use super::correct::take_place;
use crate::access::Access;
use crate::access::action::{Create, Edit, Sign};
use crate::access::resource;
use crate::care::evaluation::{Complete, Extent, Finding, Findings, NewAcuity, Refraction, TestedEye, TrackAnswer};
use crate::care::ids::{AcuityId, EvaluationId, StudentId};
use crate::db::column::{Columns, json, number, stamp, text};
use crate::store::account::Reentered;
use crate::store::audit::fresh;
use crate::store::sending::{self, Document};
use crate::store::spec::{self, Owner};
use crate::store::{Result, StoreError, Tx, met};
use crate::vision::units::{Degrees, Dioptres, Magnification, Millimetres, count};

/// The head of an evaluation.
#[derive(Clone, PartialEq)]
pub struct NewDraft {
    /// The day of the examination.
    pub examined_on: Date,
    /// Where.
    pub place: String,
    /// When the next evaluation is due.
    pub next_due_on: Option<Date>,
}

/// Begins an evaluation as a draft of the clinician who asks.
///
/// # Errors
/// When the database fails.
pub async fn begin(tx: &mut Tx, access: &Access<resource::Evaluation, Create>, new: &NewDraft) -> Result<EvaluationId> {
    let id = fresh(EvaluationId::of);
    let at = stamp(tx.now());
    query(
        "insert into evaluation (id, student_id, source, state, examined_on, examiner_account, examiner_name, place, next_due_on,
         created_at, created_by)
         values ($1, $2, 'clinician', 'draft', $3, $4, $5, $6, $7, $8, $4)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.examined_on.to_string())
    .bind(access.actor().account.to_string())
    .bind(access.actor().name.clone())
    .bind(new.place.clone())
    .bind(text(new.next_due_on))
    .bind(at)
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Requires a draft of this student, of the source that the proof is for.
async fn is_draft<D: Written>(tx: &mut Tx, student: StudentId, id: EvaluationId) -> Result<()> {
    let row = query("select id from evaluation where id = $1 and student_id = $2 and source = $3 and state = 'draft'")
        .bind(id.to_string())
        .bind(student.to_string())
        .bind(D::SOURCE.to_owned())
        .fetch_optional(tx.connection())
        .await?;
    row.map(|_| ()).ok_or(StoreError::Missing)
}

/// Moves a draft to its next version, if it is still at this one.
///
/// # Errors
/// [`StoreError::Missing`] when it is no draft, [`StoreError::Stale`] when
/// somebody saved meanwhile.
pub async fn next_version<D: Written>(
    tx: &mut Tx,
    access: &Access<D, Edit>,
    id: EvaluationId,
    version: i64,
) -> Result<()> {
    is_draft::<D>(tx, access.student(), id).await?;
    let own_only = i64::from(access.limits().own_only);
    let done = query(
        "update evaluation set version = version + 1
         where id = $1 and student_id = $2 and state = 'draft' and version = $3 and ($4 = 0 or created_by = $5)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Saves when, where, and when again.
///
/// # Errors
/// [`StoreError::Missing`] when it is no draft, [`StoreError::Stale`] when
/// somebody saved meanwhile.
pub async fn save_exam(
    tx: &mut Tx,
    access: &Access<resource::Evaluation, Edit>,
    id: EvaluationId,
    exam: &NewDraft,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    query("update evaluation set examined_on = $1, place = $2, next_due_on = $3 where id = $4 and student_id = $5 and state = 'draft'")
        .bind(exam.examined_on.to_string())
        .bind(exam.place.clone())
        .bind(text(exam.next_due_on))
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Saves all findings beside acuity and refraction.
///
/// # Errors
/// As [`save_exam`].
pub async fn save_findings<D: Written>(
    tx: &mut Tx,
    access: &Access<D, Edit>,
    id: EvaluationId,
    findings: &Findings,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    write_findings(tx, access.student(), id, findings).await
}

/// Puts findings into an evaluation whose version was just taken.
pub(super) async fn write_findings(
    tx: &mut Tx,
    student: StudentId,
    id: EvaluationId,
    findings: &Findings,
) -> Result<()> {
    let code = |code: Option<&'static str>| code.unwrap_or_default().to_owned();
    let across = |extent: Extent| extent.across.map(Degrees::get);
    let upright = |extent: Extent| extent.upright.map(Degrees::get);
    let contrast = findings.contrast.as_ref();
    query(
        "update evaluation set contrast_typed = $1, contrast_log = $2, contrast_eye = $3, contrast_method = $4, field_method = $5,
         field_pattern = $6, field_note = $7, field_right_deg = $8, field_right_vertical_deg = $9, field_left_deg = $10,
         field_left_vertical_deg = $11, field_both_deg = $12, field_both_vertical_deg = $13, colour = $14, glare_indoor = $15,
         glare_outdoor = $16, filter_note = $17, filter_transmission = $18, alignment = $19, alignment_note = $20,
         nystagmus = $21, nystagmus_onset = $22, best_gaze = $23, best_gaze_deg = $24, preferred_eye = $25, pupil_mm = $26,
         accommodation_d = $27, diagnosis = $28, course = $29, lighting_advice = $30, lighting_lux = $31, seating_advice = $32,
         other_advice = $33, other_advice_note = $34
         where id = $35 and student_id = $36",
    )
    .bind(contrast.map(|contrast| contrast.typed.clone()).unwrap_or_default())
    .bind(number(contrast.map(|contrast| contrast.log)))
    .bind(code(contrast.and_then(|contrast| contrast.eye).map(|eye| eye.code())))
    .bind(code(contrast.and_then(|contrast| contrast.method).map(|method| method.code())))
    .bind(code(findings.field_method.map(|method| method.code())))
    .bind(json(&findings.field_pattern))
    .bind(findings.field_note.clone())
    .bind(number(across(findings.field_right)))
    .bind(number(upright(findings.field_right)))
    .bind(number(across(findings.field_left)))
    .bind(number(upright(findings.field_left)))
    .bind(number(across(findings.field_both)))
    .bind(number(upright(findings.field_both)))
    .bind(code(findings.colour.map(|colour| colour.code())))
    .bind(findings.glare_indoor.map(|glare| glare.level()))
    .bind(findings.glare_outdoor.map(|glare| glare.level()))
    .bind(findings.filter_note.clone())
    .bind(findings.filter_transmission)
    .bind(code(findings.alignment.map(|alignment| alignment.code())))
    .bind(findings.alignment_note.clone())
    .bind(code(findings.nystagmus.map(|nystagmus| nystagmus.code())))
    .bind(code(findings.nystagmus_onset.map(|onset| onset.code())))
    .bind(code(findings.best_gaze.map(|gaze| gaze.code())))
    .bind(findings.best_gaze_degrees)
    .bind(code(findings.preferred_eye.map(|eye| eye.code())))
    .bind(number(findings.pupil.map(Millimetres::get)))
    .bind(number(findings.accommodation.map(Dioptres::get)))
    .bind(findings.diagnosis.clone())
    .bind(code(findings.course.map(|course| course.code())))
    .bind(findings.lighting_advice.clone())
    .bind(findings.lighting_lux)
    .bind(findings.seating_advice.clone())
    .bind(json(&findings.other_advice))
    .bind(findings.other_advice_note.clone())
    .bind(id.to_string())
    .bind(student.to_string())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// Saves the refraction of both eyes; none takes an eye's refraction out.
///
/// # Errors
/// As [`save_exam`].
pub async fn save_refraction<D: Written>(
    tx: &mut Tx,
    access: &Access<D, Edit>,
    id: EvaluationId,
    right: Option<&Refraction>,
    left: Option<&Refraction>,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    write_refraction(tx, access.student(), id, right, left).await
}

/// Puts both refractions into an evaluation whose version was just taken.
pub(super) async fn write_refraction(
    tx: &mut Tx,
    student: StudentId,
    id: EvaluationId,
    right: Option<&Refraction>,
    left: Option<&Refraction>,
) -> Result<()> {
    query("delete from refraction where evaluation_id = $1 and student_id = $2")
        .bind(id.to_string())
        .bind(student.to_string())
        .execute(tx.connection())
        .await?;
    for (eye, found) in [(TestedEye::Right, right), (TestedEye::Left, left)] {
        let Some(found) = found else { continue };
        let cylinder = found.lens.cylinder.get();
        let has_cylinder = cylinder.abs() >= f64::MIN_POSITIVE;
        query(
            "insert into refraction (evaluation_id, student_id, eye, sphere_d, cylinder_d, axis_deg, add_d, prism_d, prism_base,
             method, typed, confirmed)
             values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)",
        )
        .bind(id.to_string())
        .bind(student.to_string())
        .bind(eye.code().to_owned())
        .bind(found.lens.sphere.get())
        .bind(number(has_cylinder.then_some(cylinder)))
        .bind(count(found.lens.axis.get().round()).filter(|_| has_cylinder).map(i64::from))
        .bind(number(found.add.map(Dioptres::get)))
        .bind(number(found.prism.map(|(amount, _)| amount)))
        .bind(found.prism.map(|(_, base)| base.code()).unwrap_or_default().to_owned())
        .bind(found.method.map(|method| method.code()).unwrap_or_default().to_owned())
        .bind(found.typed.clone())
        .bind(found.confirmed.clone())
        .execute(tx.connection())
        .await?;
    }
    Ok(())
}

/// Saves the answer for one track, with its devices.
///
/// # Errors
/// As [`save_exam`].
pub async fn save_answer<D: Written>(
    tx: &mut Tx,
    access: &Access<D, Edit>,
    id: EvaluationId,
    answer: &TrackAnswer,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    write_answer(tx, access.student(), id, answer).await
}

/// Puts the answer for a track into an evaluation whose version was just taken.
pub(super) async fn write_answer(
    tx: &mut Tx,
    student: StudentId,
    id: EvaluationId,
    answer: &TrackAnswer,
) -> Result<()> {
    query("delete from track_answer where evaluation_id = $1 and student_id = $2 and track = $3")
        .bind(id.to_string())
        .bind(student.to_string())
        .bind(answer.track.code().to_owned())
        .execute(tx.connection())
        .await?;
    query(
        "insert into track_answer (evaluation_id, student_id, track, answer, safe, limits, training_tasks)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(id.to_string())
    .bind(student.to_string())
    .bind(answer.track.code().to_owned())
    .bind(answer.choice.code().to_owned())
    .bind(answer.safe.code().to_owned())
    .bind(answer.limits.clone())
    .bind(answer.training_tasks.clone())
    .execute(tx.connection())
    .await?;
    spec::replace(tx, student, Owner::Evaluation, &id.to_string(), answer.track, &answer.devices).await?;
    Ok(())
}

/// Adds an acuity row. Adding overwrites nothing, so it needs no version.
///
/// # Errors
/// [`StoreError::Missing`] when it is no draft of this student.
pub async fn add_acuity<D: Written>(
    tx: &mut Tx,
    access: &Access<D, Edit>,
    id: EvaluationId,
    row: &NewAcuity,
) -> Result<AcuityId> {
    is_draft::<D>(tx, access.student(), id).await?;
    let acuity = fresh(AcuityId::of);
    insert(tx, access.student(), id, acuity, row).await?;
    touch(tx, access.student(), id).await?;
    Ok(acuity)
}

/// Puts another acuity row in the place of one.
///
/// # Errors
/// As [`save_exam`]; also [`StoreError::Missing`] when there is no such row.
pub async fn change_acuity<D: Written>(
    tx: &mut Tx,
    access: &Access<D, Edit>,
    id: EvaluationId,
    acuity: AcuityId,
    row: &NewAcuity,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    write_acuity(tx, access.student(), id, acuity, row).await
}

/// Puts another row in the place of one, in an evaluation whose version was just taken.
pub(super) async fn write_acuity(
    tx: &mut Tx,
    student: StudentId,
    id: EvaluationId,
    acuity: AcuityId,
    row: &NewAcuity,
) -> Result<()> {
    let position = take_out(tx, student, id, acuity).await?;
    insert(tx, student, id, acuity, row).await?;
    query("update acuity set position = $1 where id = $2 and student_id = $3")
        .bind(position)
        .bind(acuity.to_string())
        .bind(student.to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Takes an acuity row out.
///
/// # Errors
/// As [`change_acuity`].
pub async fn remove_acuity<D: Written>(
    tx: &mut Tx,
    access: &Access<D, Edit>,
    id: EvaluationId,
    acuity: AcuityId,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    take_out(tx, access.student(), id, acuity).await?;
    Ok(())
}

/// Deletes a row and gives the place it had.
async fn take_out(tx: &mut Tx, student: StudentId, id: EvaluationId, acuity: AcuityId) -> Result<i64> {
    let row = query("delete from acuity where id = $1 and evaluation_id = $2 and student_id = $3 returning position")
        .bind(acuity.to_string())
        .bind(id.to_string())
        .bind(student.to_string())
        .fetch_optional(tx.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    Ok(row.whole("position")?)
}

pub(super) async fn touch(tx: &mut Tx, student: StudentId, id: EvaluationId) -> Result<()> {
    let done =
        query("update evaluation set version = version + 1 where id = $1 and student_id = $2 and state = 'draft'")
            .bind(id.to_string())
            .bind(student.to_string())
            .execute(tx.connection())
            .await?;
    met(done.rows_affected())
}

async fn insert(tx: &mut Tx, student: StudentId, id: EvaluationId, acuity: AcuityId, row: &NewAcuity) -> Result<()> {
    let (logmar, category) = match row.finding {
        Finding::Measured(logmar) => (Some(logmar.get()), None),
        Finding::Category(category) => (None, Some(category.code().to_owned())),
    };
    let code = |code: Option<&'static str>| code.unwrap_or_default().to_owned();
    query(
        "insert into acuity (id, evaluation_id, student_id, position, eye, correction, distance_typed, distance_m, notation,
         as_recorded, logmar, category, target, effort, light, device_kind, device_power, device_equivalent_d, chart, note,
         confirmed)
         values ($1, $2, $3, (select coalesce(max(p.position), 0) + 1 from acuity p where p.evaluation_id = $2), $4, $5, $6, $7, $8,
         $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20)",
    )
    .bind(acuity.to_string())
    .bind(id.to_string())
    .bind(student.to_string())
    .bind(row.eye.code().to_owned())
    .bind(row.correction.code().to_owned())
    .bind(row.distance.typed.clone())
    .bind(row.distance.value.get())
    .bind(row.notation.code().to_owned())
    .bind(row.as_recorded.clone())
    .bind(number(logmar))
    .bind(category)
    .bind(code(row.chart.map(|chart| chart.code())))
    .bind(code(row.effort.map(|effort| effort.code())))
    .bind(code(row.light.map(|light| light.code())))
    .bind(row.device.map(|device| device.kind.code().to_owned()))
    .bind(number(row.device.and_then(|device| device.power).map(Magnification::get)))
    .bind(number(row.device.and_then(|device| device.equivalent).map(Dioptres::get)))
    .bind(row.rows.map(|rows| json(&rows)))
    .bind(row.note.clone())
    .bind(row.confirmed.clone())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// Signs a complete draft and sends it to the school if a consent covers it;
/// says whether it went. From now on it never changes.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's or it is no
/// draft, [`StoreError::Stale`] when it changed since it was found complete.
pub async fn sign(
    tx: &mut Tx,
    access: &Access<resource::Evaluation, Sign>,
    reentered: &Reentered,
    complete: &Complete,
) -> Result<bool> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let (id, student) = (complete.evaluation(), access.student());
    is_draft::<resource::Evaluation>(tx, student, id).await?;
    let at = stamp(tx.now());
    let done = query(
        "update evaluation set state = 'signed', signed_at = $1, signed_by = $2, version = version + 1
         where id = $3 and student_id = $4 and state = 'draft' and version = $5",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(student.to_string())
    .bind(complete.version())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    take_place(tx, access, id).await?;
    sending::at_signing(tx, student, Document::Evaluation, &id.to_string()).await
}
