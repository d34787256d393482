//! A prescription as a document that is corrected, the draft that is to take its
//! place, and throwing a draft away.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::view::lines;
use super::{draft, fields};
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Read, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Mark, Worded, Wording};
use crate::care::ids::PrescriptionId;
use crate::care::prescription::{Prescription, State as At};
use crate::store::account::Reentered;
use crate::store::document::{self, After};
use crate::store::prescription::{self as stored, correct as correcting};
use crate::store::{Audit, Snapshot, StoreError, Tx};
use crate::web::correct::acts::{Corrected, signed};
use crate::web::correct::{self, Way};
use crate::web::discard;
use crate::web::error::Result;
use crate::web::form::{Faults, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

type Stored<T> = std::result::Result<T, StoreError>;

impl Corrected for Prescription {
    type Row = Row;
    type Id = PrescriptionId;
    const KIND: Kind = Kind::Prescription;
    const BASE: &'static str = "/prescription";
    const CANCELLED: Option<&'static str> = Some("cancelled");

    async fn find(snapshot: &mut Snapshot, access: &Access<Row, Read>, id: PrescriptionId) -> Stored<Self> {
        stored::one(snapshot, access, id).await
    }

    async fn after(&self, snapshot: &mut Snapshot, access: &Access<Row, Read>) -> Stored<After> {
        Ok(document::history(snapshot, access, Self::KIND).await?.of(&self.id.to_string()))
    }

    fn id(&self) -> PrescriptionId {
        self.id
    }

    fn is_signed(&self) -> bool {
        self.signed_at.is_some()
    }

    fn title(&self, _context: &Context) -> String {
        format!("Prescription {}", self.number)
    }

    fn texts(&self) -> Vec<Wording> {
        self.wordings()
    }

    fn supersedes(&self) -> Option<PrescriptionId> {
        self.supersedes
    }

    fn lines(&self, context: &Context) -> Vec<(String, String)> {
        lines(self, context)
    }

    async fn amend(
        tx: &mut Tx,
        access: &Access<Row, Amend>,
        id: PrescriptionId,
        correction: &Correction,
        seen: i64,
    ) -> Stored<()> {
        correcting::amend(tx, access, id, correction, seen).await
    }

    async fn enter_in_error(
        tx: &mut Tx,
        access: &Access<Row, Sign>,
        reentered: &Reentered,
        id: PrescriptionId,
        why: (&str, i64),
    ) -> Stored<()> {
        correcting::end(tx, access, reentered, (id, Mark::EnteredInError), why).await
    }

    async fn cancel(
        tx: &mut Tx,
        access: &Access<Row, Sign>,
        reentered: &Reentered,
        id: PrescriptionId,
        why: (&str, i64),
    ) -> Stored<()> {
        correcting::end(tx, access, reentered, (id, Mark::Cancelled), why).await
    }
}

/// Begins the draft that is to take its place.
pub(super) async fn supersede(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Create>,
    reading: Access<Row, Read>,
    Record(id): Record<PrescriptionId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let signed = signed::<Prescription>(&mut tx, &reading, id).await?;
    let again = |faults| Ok(signed.back((&context, &visit), &posted, (Way::Supersede, faults)));
    let reason = match correct::reason(&posted.entry, Way::Supersede) {
        Ok(reason) => reason,
        Err(faults) => return again(faults),
    };
    // A student has one draft at a time, so that two do not say different things.
    if let Some(begun) = stored::list(&mut tx, &reading).await?.into_iter().find(|one| one.state == At::Draft) {
        if begun.supersedes == Some(id) {
            return Ok(Redirect::to(&visit.at(&format!("/prescription/{}", begun.id))).into_response());
        }
        return again(Faults::one(
            "supersede_reason",
            "Another prescription is being drafted. Sign that draft, or throw it away, then begin the new one.",
        ));
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let entry = fields::fill(&signed.one.contents);
    let pairs: Vec<(String, String)> = entry.iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect();
    let draft = correcting::supersede(&mut tx, &access, &signed.one, &reason, &pairs)
        .await
        .map_err(|error| signed.refused((&context, &visit), error, &[]))?;
    let there = visit.at(&format!("/prescription/{draft}"));
    tx.commit_at(Audit::by(&access).record(draft), &there).await?;
    Ok(Redirect::to(&there).into_response())
}

/// Asks once more before a draft is thrown away.
pub(super) async fn discard_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let draft = draft(&mut snapshot, &access.read(), id).await?;
    let here = visit.at(&format!("/prescription/{id}"));
    let what = format!("{}, a draft.", draft.title(&context));
    if draft.author != access.actor().account {
        return Ok(Page(discard::of_somebody_else(&context, &visit, &what, &draft.by, &here)).into_response());
    }
    Ok(Page(discard::page(&context, &visit, &what, (&format!("{here}/discard"), &here), draft.version)).into_response())
}

/// Throws a draft away, as it was seen.
pub(super) async fn discard(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<PrescriptionId>,
    posted: Posted,
) -> Result<Response> {
    let list = visit.at("/prescription");
    let mut tx = app.store.tx().await?;
    let draft = draft(&mut tx, &access.read(), id).await?;
    if draft.author != access.actor().account {
        let (here, what) = (visit.at(&format!("/prescription/{id}")), format!("{}, a draft.", draft.title(&context)));
        return Ok(Again(discard::of_somebody_else(&context, &visit, &what, &draft.by, &here)).into_response());
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::discard(&mut tx, &access, (id, posted.version.unwrap_or(-1))).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("discard"), &list).await?;
    Ok(Redirect::to(&list).into_response())
}
