//! An evaluation as a document that is corrected, and the draft that is to take
//! its place.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::view;
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Read, Sign};
use crate::access::resource;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Worded, Wording};
use crate::care::evaluation::Evaluation;
use crate::care::ids::EvaluationId;
use crate::store::account::Reentered;
use crate::store::document::{self, After};
use crate::store::evaluation::{self as stored, correct as correcting};
use crate::store::{Audit, Snapshot, StoreError, Tx};
use crate::web::correct::acts::{Corrected, signed};
use crate::web::correct::{self, Way};
use crate::web::error::Result;
use crate::web::form::Posted;
use crate::web::page::Context;
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

type Stored<T> = std::result::Result<T, StoreError>;

impl Corrected for Evaluation {
    type Row = resource::Evaluation;
    type Id = EvaluationId;
    const KIND: Kind = Kind::Evaluation;
    const BASE: &'static str = "/evaluations";

    async fn find(snapshot: &mut Snapshot, access: &Access<Self::Row, Read>, id: EvaluationId) -> Stored<Self> {
        stored::one(snapshot, access, id).await
    }

    async fn after(&self, snapshot: &mut Snapshot, access: &Access<Self::Row, Read>) -> Stored<After> {
        Ok(document::history(snapshot, access, Self::KIND).await?.of(&self.id.to_string()))
    }

    fn id(&self) -> EvaluationId {
        self.id
    }

    fn is_signed(&self) -> bool {
        self.signed_at.is_some()
    }

    fn title(&self, _context: &Context) -> String {
        format!("Evaluation of {}", self.examined_on.map(words::date).unwrap_or_default())
    }

    fn texts(&self) -> Vec<Wording> {
        self.wordings()
    }

    fn supersedes(&self) -> Option<EvaluationId> {
        self.supersedes
    }

    fn lines(&self, context: &Context) -> Vec<(String, String)> {
        view::lines(self, context)
    }

    async fn amend(
        tx: &mut Tx,
        access: &Access<Self::Row, Amend>,
        id: EvaluationId,
        correction: &Correction,
        seen: i64,
    ) -> Stored<()> {
        correcting::amend(tx, access, id, correction, seen).await
    }

    async fn enter_in_error(
        tx: &mut Tx,
        access: &Access<Self::Row, Sign>,
        reentered: &Reentered,
        id: EvaluationId,
        why: (&str, i64),
    ) -> Stored<()> {
        correcting::enter_in_error(tx, access, reentered, id, why).await
    }
}

/// Begins the draft that is to take its place.
pub(super) async fn supersede(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<resource::Evaluation, Create>,
    editing: Access<resource::Evaluation, Edit>,
    Record(id): Record<EvaluationId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let signed = signed::<Evaluation>(&mut tx, &editing.read(), id).await?;
    let reason = match correct::reason(&posted.entry, Way::Supersede) {
        Ok(reason) => reason,
        Err(faults) => {
            return Ok(signed.back((&context, &visit), &posted, (Way::Supersede, faults)));
        }
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let draft = correcting::supersede(&mut tx, (&access, &editing), &signed.one, &reason)
        .await
        .map_err(|error| signed.refused((&context, &visit), error, &[]))?;
    let hub = visit.at(&format!("/evaluations/{draft}/edit"));
    tx.commit_at(Audit::by(&access).record(draft), &hub).await?;
    Ok(Redirect::to(&hub).into_response())
}
