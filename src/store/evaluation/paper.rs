//! Transcribed reports: begun by a vision teacher, filed, confirmed by a clinician.
//!
//! The sections are those of any evaluation and are written by `draft.rs`; here is
//! what only a report on paper has. Filing takes the gate's token (G2). What was
//! filed is changed in two ways only, both with both texts kept: by its vision
//! teacher, and by the clinician who confirms it; each names the version it read.

use sqlx::query;

use super::Written;
use super::draft::{next_version, touch, write_acuity, write_answer, write_findings, write_refraction};
use crate::access::Access;
use crate::access::action::{Action, Amend, Create, Edit, Reads, Sign};
use crate::access::resource::Transcription;
use crate::care::amendment::Correction;
use crate::care::evaluation::{
    ConfirmedBy, Findings, NewAcuity, NewPaper, NewStated, Paper, Refraction, Report, Section, Stated, TrackAnswer,
};
use crate::care::gates::MayFileReport;
use crate::care::ids::{AcuityId, EvaluationId};
use crate::db::column::{Columns, json, stamp, text};
use crate::store::account::Reentered;
use crate::store::audit::fresh;
use crate::store::sending::{self, Document};
use crate::store::{Result, Snapshot, StoreError, Tx, amendment, met};

/// What a report on paper has beside its findings.
pub(super) async fn of<D: Written>(
    snapshot: &mut Snapshot,
    access: &Access<D, impl Reads>,
    id: EvaluationId,
) -> Result<Paper> {
    let row = query(
        "select e.report_kind, e.not_stated, e.confirmed_at, a.name as confirmed_name,
         (select count(*) from attachment f where f.parent_kind = 'transcription' and f.parent_id = e.id) as files
         from evaluation e left join account a on a.id = e.confirmed_by where e.id = $1 and e.student_id = $2",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .fetch_one(snapshot.connection())
    .await?;
    let rows = query(
        "select id, as_recorded, eye, correction, distance, note from stated_acuity
         where evaluation_id = $1 and student_id = $2 order by position, id",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let stated = rows
        .iter()
        .map(|row| {
            let what = NewStated {
                as_recorded: row.text("as_recorded")?,
                eye: row.opt_parsed("eye")?,
                correction: row.opt_parsed("correction")?,
                distance: row.text("distance")?,
                note: row.text("note")?,
            };
            Ok(Stated { id: row.parsed("id")?, what })
        })
        .collect::<Result<_>>()?;
    let confirmed = row.opt_text("confirmed_name")?.zip(row.opt_instant("confirmed_at")?);
    Ok(Paper {
        report: row.opt_parsed("report_kind")?,
        not_stated: row.json("not_stated")?,
        stated,
        files: usize::try_from(row.whole("files")?).unwrap_or_default(),
        confirmed: confirmed.map(|(name, at)| ConfirmedBy { name, at }),
    })
}

/// Begins a transcription as a draft of the vision teacher who asks.
///
/// # Errors
/// When the database fails.
pub async fn begin_paper(tx: &mut Tx, access: &Access<Transcription, Create>, new: &NewPaper) -> Result<EvaluationId> {
    let id = fresh(EvaluationId::of);
    let at = stamp(tx.now());
    query(
        "insert into evaluation (id, student_id, source, state, created_at, created_by) values ($1, $2, 'transcribed', 'draft', $3, $4)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    write_head(tx, access, id, new).await?;
    Ok(id)
}

/// Saves the head of a draft.
///
/// # Errors
/// [`StoreError::Missing`] when it is no draft, [`StoreError::Stale`] when
/// somebody saved meanwhile.
pub async fn save_paper(
    tx: &mut Tx,
    access: &Access<Transcription, Edit>,
    id: EvaluationId,
    paper: &NewPaper,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    write_head(tx, access, id, paper).await
}

async fn write_head<A: Action>(
    tx: &mut Tx,
    access: &Access<Transcription, A>,
    id: EvaluationId,
    paper: &NewPaper,
) -> Result<()> {
    query(
        "update evaluation set report_kind = $1, report_clinician = $2, examiner_name = $2, examined_on = $3, place = $4,
         next_due_on = $5 where id = $6 and student_id = $7",
    )
    .bind(paper.report.map_or("", Report::code).to_owned())
    .bind(paper.clinician.clone())
    .bind(text(paper.examined_on))
    .bind(paper.place.clone())
    .bind(text(paper.next_due_on))
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// Keeps which parts of a draft the report does not state; the version was just
/// taken by the section that was saved with it.
///
/// # Errors
/// When the database fails.
pub async fn save_unstated(
    tx: &mut Tx,
    access: &Access<Transcription, Edit>,
    id: EvaluationId,
    parts: &[Section],
) -> Result<()> {
    query("update evaluation set not_stated = $1 where id = $2 and student_id = $3 and state = 'draft'")
        .bind(json(&parts))
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Adds an acuity that lacks what a row needs; text, and never a figure (G2).
///
/// # Errors
/// [`StoreError::Stale`] when it is no draft any more.
pub async fn add_stated(
    tx: &mut Tx,
    access: &Access<Transcription, Edit>,
    id: EvaluationId,
    stated: &NewStated,
) -> Result<()> {
    touch(tx, access.student(), id).await?;
    query(
        "insert into stated_acuity (id, evaluation_id, student_id, position, as_recorded, eye, correction, distance, note)
         values ($1, $2, $3, (select coalesce(max(p.position), 0) + 1 from stated_acuity p where p.evaluation_id = $2),
         $4, $5, $6, $7, $8)",
    )
    .bind(fresh(AcuityId::of).to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(stated.as_recorded.clone())
    .bind(stated.eye.map_or("", |eye| eye.code()).to_owned())
    .bind(stated.correction.map_or("", |worn| worn.code()).to_owned())
    .bind(stated.distance.clone())
    .bind(stated.note.clone())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// Takes such an acuity out of a draft.
///
/// # Errors
/// [`StoreError::Stale`] or [`StoreError::Missing`].
pub async fn remove_stated(
    tx: &mut Tx,
    access: &Access<Transcription, Edit>,
    id: EvaluationId,
    stated: AcuityId,
    version: i64,
) -> Result<()> {
    next_version(tx, access, id, version).await?;
    let gone = query("delete from stated_acuity where id = $1 and evaluation_id = $2 and student_id = $3")
        .bind(stated.to_string())
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    if gone.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// Files a report (G2) and sends it to the clinic if a consent covers it; says
/// whether it went.
///
/// # Errors
/// [`StoreError::Stale`] when it changed since it was looked at.
pub async fn file(tx: &mut Tx, access: &Access<Transcription, Sign>, may: MayFileReport) -> Result<bool> {
    let at = stamp(tx.now());
    let done = query(
        "update evaluation set state = 'filed', signed_at = $1, signed_by = $2, version = version + 1
         where id = $3 and student_id = $4 and source = 'transcribed' and state = 'draft' and version = $5",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(may.evaluation().to_string())
    .bind(access.student().to_string())
    .bind(may.version())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    sending::at_signing(tx, access.student(), Document::Transcription, &may.evaluation().to_string()).await
}

/// The parts of a filed report that get other values.
#[derive(Default)]
pub struct Changes {
    /// The head.
    pub head: Option<NewPaper>,
    /// Acuity rows, each in its own place.
    pub acuities: Vec<(AcuityId, NewAcuity)>,
    /// Both refractions.
    pub refraction: Option<(Option<Refraction>, Option<Refraction>)>,
    /// The other findings.
    pub findings: Option<Box<Findings>>,
    /// Answers for the tracks.
    pub answers: Vec<TrackAnswer>,
}

/// Takes the version that a change was read at; a report that moved on since is
/// not changed (both texts are shown).
async fn take_filed<A: Action>(
    tx: &mut Tx,
    access: &Access<Transcription, A>,
    id: EvaluationId,
    version: i64,
) -> Result<()> {
    let own_only = i64::from(access.limits().own_only);
    let done = query(
        "update evaluation set version = version + 1
         where id = $1 and student_id = $2 and source = 'transcribed' and state = 'filed' and version = $3
         and ($4 = 0 or created_by = $5)",
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

async fn put<A: Action>(
    tx: &mut Tx,
    access: &Access<Transcription, A>,
    id: EvaluationId,
    changes: &Changes,
) -> Result<()> {
    let student = access.student();
    if let Some(head) = &changes.head {
        write_head(tx, access, id, head).await?;
    }
    for (row, acuity) in &changes.acuities {
        write_acuity(tx, student, id, *row, acuity).await?;
    }
    if let Some((right, left)) = &changes.refraction {
        write_refraction(tx, student, id, right.as_ref(), left.as_ref()).await?;
    }
    if let Some(findings) = &changes.findings {
        write_findings(tx, student, id, findings).await?;
    }
    for answer in &changes.answers {
        write_answer(tx, student, id, answer).await?;
    }
    Ok(())
}

/// Corrects a filed report that is not confirmed yet, both texts kept.
///
/// # Errors
/// [`StoreError::Stale`] when it changed, or was confirmed, since it was read.
pub async fn amend(
    tx: &mut Tx,
    access: &Access<Transcription, Amend>,
    id: EvaluationId,
    changes: &Changes,
    correction: &Correction,
    version: i64,
) -> Result<()> {
    take_filed(tx, access, id, version).await?;
    amendment::write(tx, access, id, correction).await?;
    put(tx, access, id, changes).await
}

/// Confirms a filed report as it stands, or with values changed, of which both
/// texts are kept.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's,
/// [`StoreError::Stale`] when it changed since it was read.
pub async fn confirm(
    tx: &mut Tx,
    access: &Access<Transcription, Sign>,
    reentered: &Reentered,
    id: EvaluationId,
    changed: Option<(&Changes, &Correction)>,
    version: i64,
) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    take_filed(tx, access, id, version).await?;
    if let Some((changes, correction)) = changed {
        amendment::write(tx, access, id, correction).await?;
        put(tx, access, id, changes).await?;
    }
    let at = stamp(tx.now());
    query("update evaluation set state = 'confirmed', confirmed_at = $1, confirmed_by = $2 where id = $3 and student_id = $4")
        .bind(at)
        .bind(access.actor().account.to_string())
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}
