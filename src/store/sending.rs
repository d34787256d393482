//! Documents that went to the other side: at signing, or when a consent that
//! covers them starts. Each sending names its consent and stays as sent (G7).

use std::collections::BTreeSet;

use jiff::Timestamp;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, Tx, consent};
use crate::access::Access;
use crate::access::Side;
use crate::access::action::Reads;
use crate::access::resource::{Consents, Resource};
use crate::care::consent::{Category, Consent, Direction};
use crate::care::ids::{SendingId, StudentId};
use crate::db::column::{Columns, stamp};

/// A signed document that can cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Document {
    /// An evaluation, made here or transcribed.
    Evaluation,
    /// A clinician's decision.
    Decision,
    /// A prescription.
    Prescription,
    /// A training summary.
    Summary,
}

impl Document {
    pub(super) fn code(self) -> &'static str {
        match self {
            Self::Evaluation => "evaluation",
            Self::Decision => "decision",
            Self::Prescription => "prescription",
            Self::Summary => "summary",
        }
    }

    fn category(self) -> Category {
        match self {
            Self::Evaluation => Category::Evaluation,
            Self::Decision | Self::Prescription => Category::Prescription,
            Self::Summary => Category::Summary,
        }
    }

    fn way(self) -> Direction {
        match self {
            Self::Summary => Direction::SchoolToClinic,
            Self::Evaluation | Self::Decision | Self::Prescription => Direction::ClinicToSchool,
        }
    }
}

/// One sending, as the list of what went shows it.
pub struct Sent {
    /// Which kind of document.
    pub document: String,
    /// To which side.
    pub to_side: Side,
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
    let today = tx.today();
    let consents = consent::all_of(tx, student).await?;
    let covering = consents
        .iter()
        .map(|listed| &listed.consent)
        .find(|consent| consent.in_force(today, document.way(), document.category()));
    match covering {
        Some(consent) => {
            send(tx, student, document, id, consent).await?;
            Ok(true)
        }
        None => Ok(false),
    }
}

/// Sends every signed document that a consent in force covers and that has not
/// gone yet.
pub(super) async fn of_new_consent(tx: &mut Tx, student: StudentId) -> Result<()> {
    let rows = query(
        "select 'evaluation' as kind, id from evaluation where student_id = $1 and source = 'clinician' and state = 'signed'
         union all select 'decision' as kind, id from decision where student_id = $1 and state = 'signed'
         union all select 'prescription' as kind, id from prescription where student_id = $1 and state in ('active', 'superseded')
         union all select 'summary' as kind, id from summary where student_id = $1 and state = 'sent'",
    )
    .bind(student.to_string())
    .fetch_all(tx.connection())
    .await?;
    for row in &rows {
        let document = match row.text("kind")?.as_str() {
            "evaluation" => Document::Evaluation,
            "decision" => Document::Decision,
            "prescription" => Document::Prescription,
            _ => Document::Summary,
        };
        at_signing(tx, student, document, &row.text("id")?).await?;
    }
    Ok(())
}

async fn send(tx: &mut Tx, student: StudentId, document: Document, id: &str, consent: &Consent) -> Result<()> {
    let side = if document.way() == Direction::SchoolToClinic { Side::Clinic } else { Side::School };
    let at = stamp(tx.now());
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

/// What went to the other side, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Consents, impl Reads>) -> Result<Vec<Sent>> {
    let rows = query("select document_kind, to_side, at from sending where student_id = $1 order by at desc")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    rows.iter()
        .map(|row| {
            Ok(Sent { document: row.text("document_kind")?, to_side: row.parsed("to_side")?, at: row.instant("at")? })
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
