//! Documents that went to the other side: at signing, or when a consent that
//! covers them starts. Each sending names its consent and stays as sent (G7).

use std::collections::BTreeSet;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::query;

use super::asked::{self, asked};
use super::audit::fresh;
use super::{Result, Snapshot, Tx, consent, document};
use crate::access::Access;
use crate::access::Side;
use crate::access::action::Reads;
use crate::access::resource::{Consents, Resource};
use crate::care::consent::{Category, Consent, Direction};
use crate::care::document::Kind;
use crate::care::ids::{ConsentId, SendingId, StudentId};
use crate::db::column::{Columns, stamp};

/// A signed document that can cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Document {
    /// An evaluation made here.
    Evaluation,
    /// A report that the school transcribed: it goes the other way.
    Transcription,
    /// A clinician's decision.
    Decision,
    /// A prescription.
    Prescription,
    /// A training summary.
    Summary,
}

impl Document {
    /// The document of that kind, if it is one that crosses.
    pub(super) fn of(kind: Kind) -> Option<Self> {
        match kind {
            Kind::Evaluation => Some(Self::Evaluation),
            Kind::Decision => Some(Self::Decision),
            Kind::Prescription => Some(Self::Prescription),
            Kind::Summary => Some(Self::Summary),
            Kind::Card => None,
        }
    }

    pub(super) fn code(self) -> &'static str {
        match self {
            Self::Evaluation | Self::Transcription => "evaluation",
            Self::Decision => "decision",
            Self::Prescription => "prescription",
            Self::Summary => "summary",
        }
    }

    pub(super) fn category(self) -> Category {
        match self {
            Self::Evaluation | Self::Transcription => Category::Evaluation,
            Self::Decision | Self::Prescription => Category::Prescription,
            Self::Summary => Category::Summary,
        }
    }

    pub(super) fn way(self) -> Direction {
        match self {
            Self::Summary | Self::Transcription => Direction::SchoolToClinic,
            Self::Evaluation | Self::Decision | Self::Prescription => Direction::ClinicToSchool,
        }
    }
}

/// One sending, as the list of what went shows it.
pub struct Sent {
    /// Which kind of document.
    pub document: String,
    /// Which document.
    pub id: String,
    /// The day it was signed.
    pub signed_on: Option<Date>,
    /// To which side.
    pub to_side: Side,
    /// To which clinic or service.
    pub to: String,
    /// Under which consent.
    pub consent: ConsentId,
    /// When that consent was signed.
    pub consented_at: Timestamp,
    /// When.
    pub at: Timestamp,
}

/// Sends a document just signed, if a consent covers it; says whether it went.
///
/// # Errors
/// When the database fails.
pub(super) async fn at_signing(tx: &mut Tx, student: StudentId, document: Document, id: &str) -> Result<bool> {
    // G7: nothing newer crosses after a withdrawal, also not one of this moment.
    tx.take_turn().await?;
    let (today, at) = (tx.today(), tx.now());
    let consents = consent::all_of(tx, student).await?;
    let covering = consents
        .iter()
        .map(|listed| &listed.consent)
        .find(|consent| consent.in_force(today, document.way(), document.category()));
    match covering {
        Some(consent) => {
            send(tx, student, (document, id), consent, at).await?;
            Ok(true)
        }
        None => Ok(false),
    }
}

/// The students of a caseload of whom a consent has started whose documents were
/// not sent yet: one signed ahead of its first day.
///
/// # Errors
/// When the database fails.
pub async fn waiting(snapshot: &mut Snapshot, proofs: &[Access<Consents, impl Reads>]) -> Result<BTreeSet<StudentId>> {
    let today = snapshot.today().to_string();
    let rows = query(concat!(
        "select distinct student_id from consent
         where how <> 'emergency' and withdrawn_at is null and documents_sent_at is null and starts_on <= $2 and student_id in ",
        asked!()
    ))
    .bind(asked::of_proofs(proofs))
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok(row.parsed("student_id")?)).collect()
}

/// Sends what the consents that have started meanwhile cover.
///
/// Nobody watches the clock here, so this is done by the first person of the
/// team who comes to the record after the first day began, before anything is
/// shown. Each document is dated at the moment it went by the consent: its first
/// day, or its signature where that is later. Nobody can have read it earlier.
///
/// # Errors
/// When the database fails.
pub async fn catch_up(tx: &mut Tx, access: &Access<Consents, impl Reads>) -> Result<()> {
    tx.take_turn().await?;
    of_started_consents(tx, access.student()).await
}

/// The same inside the write that records a consent.
pub(super) async fn of_started_consents(tx: &mut Tx, student: StudentId) -> Result<()> {
    let (today, now) = (tx.today(), stamp(tx.now()));
    let started: Vec<String> = query(
        "select id from consent
         where student_id = $1 and how <> 'emergency' and withdrawn_at is null and documents_sent_at is null and starts_on <= $2",
    )
    .bind(student.to_string())
    .bind(today.to_string())
    .fetch_all(tx.connection())
    .await?
    .iter()
    .map(|row| row.text("id"))
    .collect::<std::result::Result<_, _>>()?;
    if started.is_empty() {
        return Ok(());
    }
    let signed = signed_documents(tx, student).await?;
    for listed in consent::all_of(tx, student).await? {
        let consent = &listed.consent;
        if !started.contains(&consent.id.to_string()) {
            continue;
        }
        let begins = tx.start_of(consent.start).max(listed.signed_at);
        for (document, id, at) in &signed {
            let signed_on = tx.date_of(*at);
            // One that ended before anybody looked took what was signed by then.
            let day = consent.end.map_or(today, |end| end.min(today));
            if signed_on <= day && consent.in_force(day, document.way(), document.category()) {
                send(tx, student, (*document, id), consent, begins.max(*at)).await?;
            }
        }
        query(
            "update consent set documents_sent_at = $1 where id = $2 and student_id = $3 and documents_sent_at is null",
        )
        .bind(now.clone())
        .bind(consent.id.to_string())
        .bind(student.to_string())
        .execute(tx.connection())
        .await?;
    }
    document::of_new_consent(tx, student).await
}

/// Every signed document that can cross, with the instant of its signature.
async fn signed_documents(tx: &mut Tx, student: StudentId) -> Result<Vec<(Document, String, Timestamp)>> {
    let rows = query(
        "select 'evaluation' as kind, id, signed_at as at from evaluation
         where student_id = $1 and source = 'clinician' and state = 'signed' and signed_at is not null
         union all select 'transcription' as kind, id, signed_at as at from evaluation
         where student_id = $1 and source = 'transcribed' and state in ('filed', 'confirmed') and signed_at is not null
         union all select 'decision' as kind, id, signed_at as at from decision where student_id = $1 and state = 'signed'
         union all select 'prescription' as kind, id, signed_at as at from prescription
         where student_id = $1 and state in ('active', 'superseded') and signed_at is not null
         union all select 'summary' as kind, id, sent_at as at from summary
         where student_id = $1 and state = 'sent' and sent_at is not null",
    )
    .bind(student.to_string())
    .fetch_all(tx.connection())
    .await?;
    rows.iter()
        .map(|row| {
            let document = match row.text("kind")?.as_str() {
                "evaluation" => Document::Evaluation,
                "transcription" => Document::Transcription,
                "decision" => Document::Decision,
                "prescription" => Document::Prescription,
                _ => Document::Summary,
            };
            Ok((document, row.text("id")?, row.instant("at")?))
        })
        .collect()
}

async fn send(
    tx: &mut Tx,
    student: StudentId,
    (document, id): (Document, &str),
    consent: &Consent,
    at: Timestamp,
) -> Result<()> {
    let side = if document.way() == Direction::SchoolToClinic { Side::Clinic } else { Side::School };
    let at = stamp(at);
    let done = query(
        "insert into sending (id, student_id, category, document_kind, document_id, to_side, consent_id, at)
         values ($1, $2, $3, $4, $5, $6, $7, $8) on conflict (document_kind, document_id, to_side) do nothing",
    )
    .bind(fresh(SendingId::of).to_string())
    .bind(student.to_string())
    .bind(document.category().code().to_owned())
    .bind(document.code().to_owned())
    .bind(id.to_owned())
    .bind(side.code().to_owned())
    .bind(consent.id.to_string())
    .bind(at.clone())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 {
        query(
            "insert into disclosure (id, student_id, at, recipient, organisation, to_side, what, record_id, basis, consent_id, channel)
             values ($1, $2, $3, $4, $4, $5, $6, $7, 'consent', $8, 'sending')",
        )
        .bind(crate::clock::fresh_uuid().to_string())
        .bind(student.to_string())
        .bind(at)
        .bind(consent.to.name().to_owned())
        .bind(side.code().to_owned())
        .bind(document.code().to_owned())
        .bind(id.to_owned())
        .bind(consent.id.to_string())
        .execute(tx.connection())
        .await?;
    }
    Ok(())
}

/// What went to the other side, newest first: kinds and dates, nothing of what
/// a document says.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Consents, impl Reads>) -> Result<Vec<Sent>> {
    let rows = query(
        "select s.document_kind, s.document_id, s.to_side, s.at, s.consent_id, c.to_party, c.signed_at as consented_at,
         coalesce(e.signed_at, d.signed_at, p.signed_at, y.sent_at) as signed_at
         from sending s join consent c on c.id = s.consent_id
         left join evaluation e on s.document_kind = 'evaluation' and e.id = s.document_id
         left join decision d on s.document_kind = 'decision' and d.id = s.document_id
         left join prescription p on s.document_kind = 'prescription' and p.id = s.document_id
         left join summary y on s.document_kind = 'summary' and y.id = s.document_id
         where s.student_id = $1 order by s.at desc, s.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Sent {
                document: row.text("document_kind")?,
                id: row.text("document_id")?,
                signed_on: row.opt_instant("signed_at")?.map(|at| snapshot.date_of(at)),
                to_side: row.parsed("to_side")?,
                to: row.text("to_party")?,
                consent: row.parsed("consent_id")?,
                consented_at: row.instant("consented_at")?,
                at: row.instant("at")?,
            })
        })
        .collect()
}

/// Every document that went to this reader's side, naming the reader's clinic or
/// service, by its id: what stays readable there as sent.
///
/// # Errors
/// When the database fails.
pub async fn reached<R: Resource, A: Reads>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
) -> Result<BTreeSet<String>> {
    let actor = access.actor();
    let reader = match &actor.clinic {
        Some(clinic) if actor.side() == Side::Clinic => clinic.clone(),
        _ => super::setting::site(snapshot).await?.owner().to_owned(),
    };
    let rows = query(
        "select s.document_id, c.to_party from sending s join consent c on c.id = s.consent_id
         where s.student_id = $1 and s.to_side = $2",
    )
    .bind(access.student().to_string())
    .bind(actor.side().code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let mut reached = BTreeSet::new();
    for row in &rows {
        if super::standing::same_party(&row.text("to_party")?, &reader) {
            reached.insert(row.text("document_id")?);
        }
    }
    Ok(reached)
}
