//! The two kinds of draft that share their sections: a clinician's own evaluation
//! and a report that a vision teacher transcribes.
//!
//! What differs is which head is saved and where the pages lie. Does not know
//! what is in a section.

use crate::access::Access;
use crate::access::action::Edit;
use crate::access::resource::{Evaluation, Transcription};
use crate::care::evaluation::{NewPaper, Section};
use crate::care::ids::EvaluationId;
use crate::store::evaluation::{self as stored, NewDraft, Written};
use crate::store::{Result, StoreError, Tx};

/// A kind of draft.
pub(super) trait Drafts: Written + Sized {
    /// Where its pages lie, below the student.
    const BASE: &'static str;
    /// The title of a draft.
    const DRAFT: &'static str;
    /// What it is called in the title of a section.
    const SHORT: &'static str;
    /// What the list of its sections is called.
    const SECTIONS: &'static str;

    /// Saves the head of an evaluation.
    fn save_exam(
        tx: &mut Tx,
        access: &Access<Self, Edit>,
        id: EvaluationId,
        exam: &NewDraft,
        version: i64,
    ) -> impl Future<Output = Result<()>> + Send;

    /// Saves the head of a report on paper.
    fn save_paper(
        tx: &mut Tx,
        access: &Access<Self, Edit>,
        id: EvaluationId,
        paper: &NewPaper,
        version: i64,
    ) -> impl Future<Output = Result<()>> + Send;

    /// Keeps which parts a report on paper does not state.
    fn save_unstated(
        tx: &mut Tx,
        access: &Access<Self, Edit>,
        id: EvaluationId,
        parts: &[Section],
    ) -> impl Future<Output = Result<()>> + Send;
}

impl Drafts for Evaluation {
    const BASE: &'static str = "/evaluations";
    const DRAFT: &'static str = "Evaluation, draft";
    const SHORT: &'static str = "evaluation";
    const SECTIONS: &'static str = "Sections of this evaluation";

    async fn save_exam(
        tx: &mut Tx,
        access: &Access<Self, Edit>,
        id: EvaluationId,
        exam: &NewDraft,
        version: i64,
    ) -> Result<()> {
        stored::save_exam(tx, access, id, exam, version).await
    }

    // A clinician's own evaluation has no paper: there is no such record.
    async fn save_paper(_: &mut Tx, _: &Access<Self, Edit>, _: EvaluationId, _: &NewPaper, _: i64) -> Result<()> {
        Err(StoreError::Missing)
    }

    async fn save_unstated(_: &mut Tx, _: &Access<Self, Edit>, _: EvaluationId, _: &[Section]) -> Result<()> {
        Err(StoreError::Missing)
    }
}

impl Drafts for Transcription {
    const BASE: &'static str = "/evaluations/paper";
    const DRAFT: &'static str = "Paper report, draft";
    const SHORT: &'static str = "paper report";
    const SECTIONS: &'static str = "Sections of this report";

    async fn save_exam(_: &mut Tx, _: &Access<Self, Edit>, _: EvaluationId, _: &NewDraft, _: i64) -> Result<()> {
        Err(StoreError::Missing)
    }

    async fn save_paper(
        tx: &mut Tx,
        access: &Access<Self, Edit>,
        id: EvaluationId,
        paper: &NewPaper,
        version: i64,
    ) -> Result<()> {
        stored::save_paper(tx, access, id, paper, version).await
    }

    async fn save_unstated(
        tx: &mut Tx,
        access: &Access<Self, Edit>,
        id: EvaluationId,
        parts: &[Section],
    ) -> Result<()> {
        stored::save_unstated(tx, access, id, parts).await
    }
}
