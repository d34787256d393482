//! Correcting a signed prescription: amended, superseded, cancelled, entered in
//! error; and throwing a draft away.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::view::lines;
use super::{draft, fields};
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Read, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::document::{Kind, Mark, Worded, differences};
use crate::care::ids::PrescriptionId;
use crate::care::prescription::{Prescription, State as At};
use crate::store::document::{self, After};
use crate::store::prescription::{self as stored, correct as correcting};
use crate::store::{Audit, Snapshot, account};
use crate::web::account::wrong_password;
use crate::web::correct::{self, AfterView, Subject, Way, after_view};
use crate::web::discard;
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

/// A signed prescription with what became of it.
struct Signed {
    one: Prescription,
    after: After,
}

async fn signed(snapshot: &mut Snapshot, access: &Access<Row, Read>, id: PrescriptionId) -> Result<Signed> {
    let one = stored::one(snapshot, access, id).await?;
    if one.signed_at.is_none() {
        return Err(Error::Hidden);
    }
    let after = document::history(snapshot, access, Kind::Prescription).await?.of(&id.to_string());
    Ok(Signed { one, after })
}

fn title(one: &Prescription) -> String {
    format!("Prescription {}", one.number)
}

fn subject<'a>(visit: &Visit, signed: &'a Signed) -> Subject<'a> {
    let stands = signed.after.ended.is_none();
    Subject {
        kind: Kind::Prescription,
        title: title(&signed.one),
        href: visit.at(&format!("/prescription/{}", signed.one.id)),
        wordings: signed.one.wordings(),
        after: &signed.after,
        ways: if stands { vec![Way::Amend, Way::Supersede, Way::Cancel, Way::Error] } else { Vec::new() },
        anew: None,
    }
}

/// The ways to correct it.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Amend>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let signed = signed(&mut snapshot, &access.read(), id).await?;
    Ok(Page(correct::page(&context, &visit, &subject(&visit, &signed), None)).into_response())
}

fn back(context: &Context, visit: &Visit, signed: &Signed, form: (Way, FormView)) -> Response {
    Again(correct::page(context, visit, &subject(visit, signed), Some(form))).into_response()
}

/// Amends its words.
pub(super) async fn amend(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Amend>,
    Record(id): Record<PrescriptionId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let signed = signed(&mut tx, &access.read(), id).await?;
    let changes = match correct::changes(&posted.entry, &signed.one.wordings()) {
        Ok(read) => read,
        Err(faults) => {
            return Ok(back(&context, &visit, &signed, correct::again(&context, &posted, Way::Amend, faults)));
        }
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::amend(&mut tx, &access, id, &changes, posted.version.unwrap_or(-1))
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &signed), changes.changes()))?;
    let here = visit.at(&format!("/prescription/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("amended"), &here).await?;
    Ok(Redirect::to(&here).into_response())
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
    let signed = signed(&mut tx, &reading, id).await?;
    let again = |faults| Ok(back(&context, &visit, &signed, correct::again(&context, &posted, Way::Supersede, faults)));
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
        .map_err(|error| correct::refused(error, &subject(&visit, &signed), &[]))?;
    let there = visit.at(&format!("/prescription/{draft}"));
    tx.commit_at(Audit::by(&access).record(draft), &there).await?;
    Ok(Redirect::to(&there).into_response())
}

/// Cancels it.
pub(super) async fn cancel(
    app: State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Sign>,
    id: Record<PrescriptionId>,
    posted: Posted,
) -> Result<Response> {
    end(app, (context, visit, access), id, (Way::Cancel, Mark::Cancelled, "cancelled"), posted).await
}

/// Marks it entered in error.
pub(super) async fn error(
    app: State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Sign>,
    id: Record<PrescriptionId>,
    posted: Posted,
) -> Result<Response> {
    end(app, (context, visit, access), id, (Way::Error, Mark::EnteredInError, "entered in error"), posted).await
}

/// Takes it out of force, with the password entered again.
async fn end(
    State(app): State<App>,
    (context, visit, access): (Context, Visit, Access<Row, Sign>),
    Record(id): Record<PrescriptionId>,
    (way, mark, told): (Way, Mark, &'static str),
    posted: Posted,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let signed = signed(&mut snapshot, &access.read(), id).await?;
    drop(snapshot);
    let again = |faults| Ok(back(&context, &visit, &signed, correct::again(&context, &posted, way, faults)));
    let reason = match correct::reason(&posted.entry, way) {
        Ok(reason) => reason,
        Err(faults) => return again(faults),
    };
    let (typed, field) = correct::password(&posted, way);
    let reentered = match account::reenter(&app.store, &app.passwords, access.actor(), typed).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return again(wrong_password(&field, &attempt)),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let why = (reason.as_str(), posted.version.unwrap_or(-1));
    correcting::end(&mut tx, &access, &reentered, (id, mark), why)
        .await
        .map_err(|error| correct::refused(error, &subject(&visit, &signed), &[]))?;
    let here = visit.at(&format!("/prescription/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told(told), &here).await?;
    Ok(Redirect::to(&here).into_response())
}

/// What became of a prescription, for the page it is read on.
pub(super) async fn shown(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    access: &Access<Row, Read>,
    one: &Prescription,
) -> Result<AfterView> {
    let after = document::history(snapshot, access, Kind::Prescription).await?.of(&one.id.to_string());
    let here = |id: &str| visit.at(&format!("/prescription/{id}"));
    let zone = snapshot.zone().clone();
    let open = visit.may::<Row, Amend>() && one.signed_at.is_some() && after.ended.is_none();
    let shown = after_view(Kind::Prescription, &after, here, &zone)
        .correct_at(open.then(|| here(&format!("{}/correct", one.id))));
    let Some(old) = one.supersedes else { return Ok(shown) };
    // Where the older one never went, nothing is told of it.
    let Ok(old) = stored::one(snapshot, access, old).await else { return Ok(shown) };
    let changed = differences(&lines(&old, context), &lines(one, context));
    Ok(shown.replacing((here(&old.id.to_string()), title(&old)), &changed))
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
    let what = format!("{}, a draft.", title(&draft));
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
        let (here, what) = (visit.at(&format!("/prescription/{id}")), format!("{}, a draft.", title(&draft)));
        return Ok(Again(discard::of_somebody_else(&context, &visit, &what, &draft.by, &here)).into_response());
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::discard(&mut tx, &access, (id, posted.version.unwrap_or(-1))).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("discard"), &list).await?;
    Ok(Redirect::to(&list).into_response())
}
