//! Clinical evaluations as a reader may read them.
//!
//! What a reader reaches is in the `where` of every query: one's own drafts;
//! of others only what is signed, and without a consent in force only what was
//! sent to the reader's side. Read next: `draft.rs` for the writing.

mod columns;
mod draft;
mod paper;

pub mod correct;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::query;

use super::document::{self, After};
use super::sending::Document;
use super::spec::{self, Owner};
use super::{Result, Snapshot, StoreError, reach};
use crate::access::Access;
use crate::access::action::Reads;
use crate::access::resource::{self, Resource, Row};
use crate::care::document::{Kind, Mark};
use crate::care::evaluation::{AcuityRow, Contrast, Evaluation, Report, State, TestedEye, TrackAnswer, TrackChoice};
use crate::care::ids::{AccountId, EvaluationId};
use crate::care::journey::fact::Safe;
use crate::care::track::Track;
use crate::db::column::Columns;

pub use draft::{
    NewDraft, add_acuity, begin, change_acuity, next_version, remove_acuity, save_answer, save_exam, save_findings,
    save_refraction, sign,
};
pub use paper::{Changes, add_stated, amend, begin_paper, confirm, file, remove_stated, save_paper, save_unstated};

/// A row of the access table under which evaluations are kept, as a type.
pub trait Written: Resource {
    /// How evaluations of this row came into the record, as stored.
    const SOURCE: &'static str;
}

impl Written for resource::Evaluation {
    const SOURCE: &'static str = "clinician";
}

impl Written for resource::Transcription {
    const SOURCE: &'static str = "transcribed";
}

/// What a reader may reach of the rows called `e`: `$1` student, `$2` reader,
/// `$3` own only, `$4` released only, `$5` sent only, `$6` the reader's side,
/// `$7` the source that the proof is for.
///
/// G7: nothing newer crosses. A copy that was corrected after the consent ended is
/// not kept as it was sent, so whoever may read it only as sent reads nothing.
macro_rules! readable {
    ($before:literal, $after:literal) => {
        concat!(
            $before,
            " where e.student_id = $1 and e.source = $7 and (e.created_by = $2 or ($3 = 0
              and ($4 = 0 or e.signed_at is not null)
              and ($5 = 0 or exists (select 1 from sending s join consent c on c.id = s.consent_id
                   where s.document_kind = 'evaluation' and s.document_id = e.id and s.to_side = $6
                   and not exists (select 1 from amendment m where m.resource = 'evaluation' and m.record_id = e.id
                       and e.source = 'transcribed' and m.at > coalesce(c.withdrawn_at, c.ends_on, '9999')))))) ",
            $after
        )
    };
}

/// The limits of a proof as the seven binds of [`readable`].
struct Reach {
    student: String,
    reader: String,
    own_only: i64,
    released_only: i64,
    sent_only: i64,
    side: String,
    source: &'static str,
}

impl Reach {
    fn of<D: Written>(access: &Access<D, impl Reads>) -> Self {
        let limits = access.limits();
        Self {
            student: access.student().to_string(),
            reader: access.actor().account.to_string(),
            own_only: i64::from(limits.own_only),
            released_only: i64::from(limits.released_only),
            sent_only: i64::from(limits.sent_only),
            side: access.actor().side().code().to_owned(),
            source: D::SOURCE,
        }
    }
}

/// Binds the reach to a query made with [`readable`].
macro_rules! reaching {
    ($sql:expr, $reach:expr) => {
        query($sql)
            .bind($reach.student.clone())
            .bind($reach.reader.clone())
            .bind($reach.own_only)
            .bind($reach.released_only)
            .bind($reach.sent_only)
            .bind($reach.side.clone())
            .bind($reach.source.to_owned())
    };
}

/// An evaluation in the list.
pub struct Listed {
    /// Its id.
    pub id: EvaluationId,
    /// Where it stands.
    pub state: State,
    /// Whether a newer one has taken its place.
    pub superseded: bool,
    /// The day of the examination.
    pub examined_on: Option<Date>,
    /// Who examined.
    pub examiner: String,
    /// Who entered it.
    pub created_by: AccountId,
    /// When it was begun.
    pub created_at: Timestamp,
    /// When it was signed.
    pub signed_at: Option<Timestamp>,
    /// When it went to the school; none, not yet.
    pub sent_to_school_at: Option<Timestamp>,
    /// When the next one is due.
    pub next_due_on: Option<Date>,
    /// Which kind of paper it was transcribed from; none where it was not, or not said yet.
    pub report: Option<Report>,
}

/// The evaluations this reader may read, newest examination first, drafts before all.
///
/// # Errors
/// When the database fails.
pub async fn list<D: Written>(snapshot: &mut Snapshot, access: &Access<D, impl Reads>) -> Result<Vec<Listed>> {
    let reach = Reach::of(access);
    let rows = reaching!(
        readable!(
            "select e.id, e.state, e.examined_on, e.examiner_name, e.created_by, e.created_at, e.signed_at, e.next_due_on, e.report_kind,
             (select max(w.at) from sending w where w.document_kind = 'evaluation' and w.document_id = e.id
              and w.to_side = 'school') as sent_at
             from evaluation e",
            "order by case when e.signed_at is null then 0 else 1 end, e.examined_on desc, e.created_at desc, e.id desc"
        ),
        reach
    )
    .fetch_all(snapshot.connection())
    .await?;
    let history = document::history(snapshot, access, Kind::Evaluation).await?;
    // G7: what went to one clinic stays readable there, and at no other.
    let reached = reach::of(snapshot, access, Document::Evaluation).await?;
    let listed: Result<Vec<Listed>> = rows
        .iter()
        .map(|row| {
            let after = history.of(&row.text("id")?);
            Ok(Listed {
                id: row.parsed("id")?,
                state: known(row.parsed("state")?, &after),
                superseded: after.is(Mark::Superseded),
                examined_on: row.opt_date("examined_on")?,
                examiner: row.text("examiner_name")?,
                created_by: row.parsed("created_by")?,
                created_at: row.instant("created_at")?,
                signed_at: row.opt_instant("signed_at")?,
                sent_to_school_at: row.opt_instant("sent_at")?,
                next_due_on: row.opt_date("next_due_on")?,
                report: row.opt_parsed("report_kind")?,
            })
        })
        .collect();
    let mut listed = listed?;
    listed.retain(|one| reached.allows(&one.id.to_string(), one.created_by, one.signed_at.is_some()));
    Ok(listed)
}

/// One evaluation, whole.
///
/// # Errors
/// [`StoreError::Missing`] when it is not one of this student's, or not for this reader.
pub async fn one<D: Written>(
    snapshot: &mut Snapshot,
    access: &Access<D, impl Reads>,
    id: EvaluationId,
) -> Result<Evaluation> {
    let reach = Reach::of(access);
    let row = reaching!(
        readable!(
            "select e.id, e.state, e.examined_on, e.examiner_name, e.place, e.created_by, e.created_at, e.next_due_on, e.signed_at,
             e.version, e.diagnosis, e.course, e.contrast_typed, e.contrast_log, e.contrast_eye, e.contrast_method,
             e.field_method, e.field_pattern, e.field_note, e.field_right_deg, e.field_right_vertical_deg, e.field_left_deg,
             e.field_left_vertical_deg, e.field_both_deg, e.field_both_vertical_deg, e.colour, e.glare_indoor, e.glare_outdoor,
             e.filter_note, e.filter_transmission, e.alignment, e.alignment_note, e.nystagmus, e.nystagmus_onset, e.best_gaze,
             e.best_gaze_deg, e.preferred_eye, e.pupil_mm, e.accommodation_d, e.lighting_advice, e.lighting_lux,
             e.seating_advice, e.other_advice, e.other_advice_note, e.supersedes_id
             from evaluation e",
            "and e.id = $8"
        ),
        reach
    )
    .bind(id.to_string())
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    let mut evaluation = columns::evaluation(&row)?;
    let reached = reach::of(snapshot, access, Document::Evaluation).await?;
    if !reached.allows(&id.to_string(), evaluation.created_by, evaluation.signed_at.is_some()) {
        return Err(StoreError::Missing);
    }
    evaluation.acuities = rows_of(snapshot, &reach.student, id).await?;
    let refractions = query(
        "select eye, sphere_d, cylinder_d, axis_deg, add_d, prism_d, prism_base, method, typed, confirmed
         from refraction where evaluation_id = $1 and student_id = $2",
    )
    .bind(id.to_string())
    .bind(reach.student.clone())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &refractions {
        match row.parsed::<TestedEye>("eye")? {
            TestedEye::Right => evaluation.right = columns::refraction(row)?,
            _ => evaluation.left = columns::refraction(row)?,
        }
    }
    evaluation.answers = answers_of(snapshot, access, id).await?;
    let after = document::history(snapshot, access, Kind::Evaluation).await?.of(&id.to_string());
    evaluation.state = known(evaluation.state, &after);
    after.reword(&mut evaluation);
    if D::ROW == Row::Transcription {
        evaluation.paper = Some(paper::of(snapshot, access, id).await?);
    }
    Ok(evaluation)
}

/// What came later than the document crosses like the document itself (G7):
/// without that, it reads as it was sent.
fn known(state: State, after: &After) -> State {
    if state == State::EnteredInError && !after.is(Mark::EnteredInError) { State::Signed } else { state }
}

async fn answers_of<D: Written>(
    snapshot: &mut Snapshot,
    access: &Access<D, impl Reads>,
    id: EvaluationId,
) -> Result<Vec<TrackAnswer>> {
    let specs = spec::of_student(snapshot, access.student()).await?;
    let rows = query(
        "select track, answer, safe, limits, training_tasks from track_answer
         where evaluation_id = $1 and student_id = $2 order by track",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let track: Track = row.parsed("track")?;
            Ok(TrackAnswer {
                track,
                choice: row.parsed::<TrackChoice>("answer")?,
                safe: row.parsed::<Safe>("safe")?,
                limits: row.text("limits")?,
                training_tasks: row.text("training_tasks")?,
                devices: spec::of_document(&specs, Owner::Evaluation, &id.to_string(), track),
            })
        })
        .collect()
}

async fn rows_of(snapshot: &mut Snapshot, student: &str, id: EvaluationId) -> Result<Vec<AcuityRow>> {
    let rows = query(
        "select a.id, a.evaluation_id, e.examined_on, a.eye, a.correction, a.distance_typed, a.distance_m, a.notation, a.as_recorded,
         a.logmar, a.category, a.target, a.effort, a.light, a.device_kind, a.device_power, a.device_equivalent_d, a.chart, a.note,
         a.confirmed
         from acuity a join evaluation e on e.id = a.evaluation_id
         where a.evaluation_id = $1 and a.student_id = $2 order by a.position, a.id",
    )
    .bind(id.to_string())
    .bind(student.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(columns::acuity).collect::<std::result::Result<_, _>>()?)
}

/// Every acuity row of the signed evaluations this reader may read, newest
/// examination first; through-device and near rows among them.
///
/// # Errors
/// When the database fails.
pub async fn acuities<D: Written>(snapshot: &mut Snapshot, access: &Access<D, impl Reads>) -> Result<Vec<AcuityRow>> {
    let reach = Reach::of(access);
    let rows = reaching!(
        readable!(
            "select a.id, a.evaluation_id, e.examined_on, a.eye, a.correction, a.distance_typed, a.distance_m, a.notation,
             a.as_recorded, a.logmar, a.category, a.target, a.effort, a.light, a.device_kind, a.device_power,
             a.device_equivalent_d, a.chart, a.note, a.confirmed
             from acuity a join evaluation e on e.id = a.evaluation_id and e.student_id = a.student_id",
            "and e.signed_at is not null and e.state <> 'entered_in_error' and e.report_kind <> 'eye'
             and e.id not in (select m.document_id from document_mark m where m.student_id = $1
                 and m.document_kind = 'evaluation' and m.mark = 'superseded')
             order by e.examined_on desc, e.signed_at desc, a.position, a.id"
        ),
        reach
    )
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(columns::acuity).collect::<std::result::Result<_, _>>()?)
}

/// The rows that stand now: of each eye, correction, device and side of the
/// near limit, those of its newest signed evaluation.
///
/// # Errors
/// When the database fails.
pub async fn newest_acuities<D: Written>(
    snapshot: &mut Snapshot,
    access: &Access<D, impl Reads>,
) -> Result<Vec<AcuityRow>> {
    let mut kept: Vec<AcuityRow> = Vec::new();
    for row in acuities(snapshot, access).await? {
        let same = |other: &&AcuityRow| {
            other.row.eye == row.row.eye
                && other.row.correction == row.row.correction
                && other.row.is_near() == row.row.is_near()
                && other.row.device == row.row.device
        };
        if kept.iter().find(same).is_none_or(|newest| newest.evaluation == row.evaluation) {
            kept.push(row);
        }
    }
    Ok(kept)
}

/// The newest signed evaluation this reader may read, whole.
///
/// # Errors
/// When the database fails.
pub async fn newest<D: Written>(snapshot: &mut Snapshot, access: &Access<D, impl Reads>) -> Result<Option<Evaluation>> {
    let signed = list(snapshot, access)
        .await?
        .into_iter()
        .find(|listed| listed.signed_at.is_some() && listed.state != State::EnteredInError && !listed.superseded);
    match signed {
        Some(listed) => one(snapshot, access, listed.id).await.map(Some),
        None => Ok(None),
    }
}

/// The newest contrast sensitivity in a signed evaluation this reader may read,
/// with the day it was measured.
///
/// # Errors
/// When the database fails.
pub async fn contrast<D: Written>(
    snapshot: &mut Snapshot,
    access: &Access<D, impl Reads>,
) -> Result<Option<(Contrast, Option<Date>)>> {
    let reach = Reach::of(access);
    let row = reaching!(
        readable!(
            "select e.examined_on, e.contrast_typed, e.contrast_log, e.contrast_eye, e.contrast_method from evaluation e",
            "and e.signed_at is not null and e.state <> 'entered_in_error' and e.contrast_log is not null
             and e.id not in (select m.document_id from document_mark m where m.student_id = $1
                 and m.document_kind = 'evaluation' and m.mark = 'superseded')
             order by e.examined_on desc, e.signed_at desc limit 1"
        ),
        reach
    )
    .fetch_optional(snapshot.connection())
    .await?;
    let Some(row) = row else { return Ok(None) };
    let day = row.opt_date("examined_on")?;
    Ok(columns::contrast(&row)?.map(|contrast| (contrast, day)))
}

/// Whether an evaluation went to the school.
///
/// # Errors
/// When the database fails.
pub async fn sent_to_school<D: Written>(
    snapshot: &mut Snapshot,
    access: &Access<D, impl Reads>,
    id: EvaluationId,
) -> Result<Option<Timestamp>> {
    Ok(list(snapshot, access)
        .await?
        .into_iter()
        .find(|listed| listed.id == id)
        .and_then(|listed| listed.sent_to_school_at))
}
