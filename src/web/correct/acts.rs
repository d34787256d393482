//! The acts of correcting, once for every kind of document: its words amended,
//! called off, marked entered in error, and what a reader sees of that.
//!
//! A kind says where it lies, what it is called and how it is stored. Beginning
//! the draft that takes its place stays with each kind, because each starts from
//! something else. Read next: `evaluation/correct.rs` for the shortest.

use std::fmt::Display;
use std::str::FromStr;

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{AfterView, Subject, Way, after_view, again, changes, password, reason, refused};
use crate::access::Access;
use crate::access::action::{Amend, Create, Read, Sign};
use crate::access::resource::Resource;
use crate::care::amendment::{Change, Correction};
use crate::care::document::{Kind, Wording, differences};
use crate::care::track::Track;
use crate::store::account::{self, Reentered};
use crate::store::document::After;
use crate::store::{Audit, Snapshot, StoreError, Tx};
use crate::web::account::wrong_password;
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

type Stored<T> = std::result::Result<T, StoreError>;

/// A kind of document, as its correction needs it.
pub(in crate::web) trait Corrected: Send + Sync + Sized + 'static {
    /// The row of the table that says who may.
    type Row: Resource;
    /// Its id.
    type Id: Display + FromStr + Copy + Send + Sync + 'static;
    /// The kind its marks are kept under.
    const KIND: Kind;
    /// Where such documents lie, below the student.
    const BASE: &'static str;
    /// Whether it can be called off.
    const CANCELLED: Option<&'static str> = None;
    /// What the thread says of amended words.
    const AMENDED: &'static str = "amended";
    /// What the thread says of one entered in error.
    const IN_ERROR: &'static str = "entered in error";

    /// The document of that id, as far as the proof reaches.
    fn find(
        snapshot: &mut Snapshot,
        access: &Access<Self::Row, Read>,
        id: Self::Id,
    ) -> impl Future<Output = Stored<Self>> + Send;

    /// What became of it.
    fn after(
        &self,
        snapshot: &mut Snapshot,
        access: &Access<Self::Row, Read>,
    ) -> impl Future<Output = Stored<After>> + Send;

    /// Its id.
    fn id(&self) -> Self::Id;
    /// Whether it was signed or sent; a draft is edited, not corrected.
    fn is_signed(&self) -> bool;
    /// What it is called on a page.
    fn title(&self, context: &Context) -> String;
    /// Its texts as they read now.
    fn texts(&self) -> Vec<Wording>;
    /// The one whose place it took.
    fn supersedes(&self) -> Option<Self::Id>;
    /// Everything it says, line by line, so that two can be compared.
    fn lines(&self, context: &Context) -> Vec<(String, String)>;

    /// The track it belongs to, if it is one of a track.
    fn track(&self) -> Option<Track> {
        None
    }

    /// Where a new one is written, if that is a page of its own.
    fn anew(&self, _visit: &Visit) -> Option<String> {
        None
    }

    /// What else the amended words must keep to.
    fn still_holds(_posted: &Posted) -> std::result::Result<(), Faults> {
        Ok(())
    }

    /// Keeps amended words.
    fn amend(
        tx: &mut Tx,
        access: &Access<Self::Row, Amend>,
        id: Self::Id,
        correction: &Correction,
        seen: i64,
    ) -> impl Future<Output = Stored<()>> + Send;

    /// Marks it entered in error.
    fn enter_in_error(
        tx: &mut Tx,
        access: &Access<Self::Row, Sign>,
        reentered: &Reentered,
        id: Self::Id,
        why: (&str, i64),
    ) -> impl Future<Output = Stored<()>> + Send;

    /// Calls it off; a kind that knows no such end has none to call off.
    fn cancel(
        _tx: &mut Tx,
        _access: &Access<Self::Row, Sign>,
        _reentered: &Reentered,
        _id: Self::Id,
        _why: (&str, i64),
    ) -> impl Future<Output = Stored<()>> + Send {
        async { Err(StoreError::Missing) }
    }
}

/// Where a document is read.
fn at<D: Corrected>(visit: &Visit, id: impl Display) -> String {
    visit.at(&format!("{}/{id}", D::BASE))
}

/// A signed document with what became of it.
pub(in crate::web) struct Signed<D> {
    pub(in crate::web) one: D,
    after: After,
}

/// The signed document of that id; a draft is hidden.
pub(in crate::web) async fn signed<D: Corrected>(
    snapshot: &mut Snapshot,
    access: &Access<D::Row, Read>,
    id: D::Id,
) -> Result<Signed<D>> {
    let one = D::find(snapshot, access, id).await?;
    if !one.is_signed() {
        return Err(Error::Hidden);
    }
    let after = one.after(snapshot, access).await?;
    Ok(Signed { one, after })
}

impl<D: Corrected> Signed<D> {
    fn subject(&self, context: &Context, visit: &Visit) -> Subject<'_> {
        let open = |way: &Way| match way {
            Way::Amend => visit.may::<D::Row, Amend>(),
            Way::Supersede => visit.may::<D::Row, Create>(),
            Way::Cancel => D::CANCELLED.is_some() && visit.may::<D::Row, Sign>(),
            Way::Error => visit.may::<D::Row, Sign>(),
        };
        let ways = [Way::Amend, Way::Supersede, Way::Cancel, Way::Error];
        let stands = self.after.ended.is_none();
        Subject {
            kind: D::KIND,
            title: self.one.title(context),
            href: at::<D>(visit, self.one.id()),
            wordings: self.one.texts(),
            after: &self.after,
            ways: ways.into_iter().filter(|way| stands && open(way)).collect(),
            anew: self.one.anew(visit),
        }
    }

    /// The page again, with a form that came back.
    pub(in crate::web) fn back(
        &self,
        (context, visit): (&Context, &Visit),
        posted: &Posted,
        (way, faults): (Way, Faults),
    ) -> Response {
        let form = again(context, posted, way, faults);
        Again(super::page(context, visit, &self.subject(context, visit), Some(form))).into_response()
    }

    /// What a refused write shows.
    pub(in crate::web) fn refused(
        &self,
        (context, visit): (&Context, &Visit),
        error: StoreError,
        yours: &[Change],
    ) -> Error {
        refused(error, &self.subject(context, visit), yours)
    }
}

/// The ways to correct it.
pub(in crate::web) async fn page<D: Corrected>(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<D::Row, Amend>,
    Record(id): Record<D::Id>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let signed = signed::<D>(&mut snapshot, &access.read(), id).await?;
    Ok(Page(super::page(&context, &visit, &signed.subject(&context, &visit), None)).into_response())
}

/// Amends its words.
pub(in crate::web) async fn amend<D: Corrected>(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<D::Row, Amend>,
    Record(id): Record<D::Id>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let signed = signed::<D>(&mut tx, &access.read(), id).await?;
    let read = changes(&posted.entry, &signed.one.texts());
    let correction = match read.and_then(|read| D::still_holds(&posted).map(|()| read)) {
        Ok(correction) => correction,
        Err(faults) => return Ok(signed.back((&context, &visit), &posted, (Way::Amend, faults))),
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    D::amend(&mut tx, &access, id, &correction, posted.version.unwrap_or(-1))
        .await
        .map_err(|error| signed.refused((&context, &visit), error, correction.changes()))?;
    finish::<D>(tx, &visit, Audit::by(&access).told(D::AMENDED), &signed.one).await
}

/// Calls it off, with the password entered again.
pub(in crate::web) async fn cancel<D: Corrected>(
    app: State<App>,
    context: Context,
    visit: Visit,
    access: Access<D::Row, Sign>,
    id: Record<D::Id>,
    posted: Posted,
) -> Result<Response> {
    end::<D>(app, (context, visit, access), id, Way::Cancel, posted).await
}

/// Marks it entered in error, with the password entered again.
pub(in crate::web) async fn error<D: Corrected>(
    app: State<App>,
    context: Context,
    visit: Visit,
    access: Access<D::Row, Sign>,
    id: Record<D::Id>,
    posted: Posted,
) -> Result<Response> {
    end::<D>(app, (context, visit, access), id, Way::Error, posted).await
}

async fn end<D: Corrected>(
    State(app): State<App>,
    (context, visit, access): (Context, Visit, Access<D::Row, Sign>),
    Record(id): Record<D::Id>,
    way: Way,
    posted: Posted,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let signed = signed::<D>(&mut snapshot, &access.read(), id).await?;
    drop(snapshot);
    let back = |faults| Ok(signed.back((&context, &visit), &posted, (way, faults)));
    let reason = match reason(&posted.entry, way) {
        Ok(reason) => reason,
        Err(faults) => return back(faults),
    };
    let (typed, field) = password(&posted, way);
    let reentered = match account::reenter(&app.store, &app.passwords, access.actor(), typed).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return back(wrong_password(&field, &attempt)),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let why = (reason.as_str(), posted.version.unwrap_or(-1));
    let (done, told) = match (way, D::CANCELLED) {
        (Way::Cancel, Some(told)) => (D::cancel(&mut tx, &access, &reentered, id, why).await, told),
        _ => (D::enter_in_error(&mut tx, &access, &reentered, id, why).await, D::IN_ERROR),
    };
    done.map_err(|error| signed.refused((&context, &visit), error, &[]))?;
    finish::<D>(tx, &visit, Audit::by(&access).told(told), &signed.one).await
}

/// Stores it and goes to the document.
async fn finish<D: Corrected>(tx: Tx, visit: &Visit, audit: Audit, one: &D) -> Result<Response> {
    let here = at::<D>(visit, one.id());
    let audit = match one.track() {
        Some(track) => audit.track(track),
        None => audit,
    };
    tx.commit_at(audit.record(one.id()), &here).await?;
    Ok(Redirect::to(&here).into_response())
}

/// What became of a document, for the page it is read on.
pub(in crate::web) async fn shown<D: Corrected>(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    access: &Access<D::Row, Read>,
    one: &D,
) -> Result<AfterView> {
    let after = one.after(snapshot, access).await?;
    let here = |id: &str| at::<D>(visit, id);
    let zone = snapshot.zone().clone();
    let open = visit.may::<D::Row, Amend>() && one.is_signed() && after.ended.is_none();
    let shown =
        after_view(D::KIND, &after, here, &zone).correct_at(open.then(|| here(&format!("{}/correct", one.id()))));
    let Some(old) = one.supersedes() else { return Ok(shown) };
    // Where the older one never went, nothing is told of it.
    let Ok(old) = D::find(snapshot, access, old).await else { return Ok(shown) };
    let changed = differences(&old.lines(context), &one.lines(context));
    Ok(shown.replacing((here(&old.id().to_string()), old.title(context)), &changed))
}
