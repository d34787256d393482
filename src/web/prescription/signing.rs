//! The draft as it would be signed, and the signature.
//!
//! G8 is asked for every track whose devices the draft names, before the
//! password and again inside the transaction; the tokens go to the store.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::draft;
use super::view::{DocumentView, document};
use crate::access::Access;
use crate::access::action::{Edit, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::gates::{Blocked, MayFinalise, may_finalise};
use crate::care::ids::PrescriptionId;
use crate::care::prescription::{Contents, Prescription};
use crate::care::track::Track;
use crate::store::journey::Tracks;
use crate::store::{Audit, StoreError, account, journey, prescription};
use crate::web::account::wrong_password;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part;
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "prescription/preview.html")]
struct PreviewPage {
    shell: Shell,
    crumbs: part::Crumbs,
    document: DocumentView,
    missing: Vec<&'static str>,
    blocked: String,
    no_licence: bool,
    line: String,
    back: String,
    form: FormView,
    action: String,
}

/// G8 for every track whose devices are named.
fn tokens(tracks: &Tracks, contents: &Contents) -> std::result::Result<BTreeMap<Track, MayFinalise>, Blocked> {
    contents
        .devices
        .iter()
        .map(|(track, devices)| {
            let specs: Vec<_> = devices.iter().map(|device| device.spec.clone()).collect();
            may_finalise(tracks.of(*track), &specs, Some(&contents.no_summary_reason)).map(|may| (*track, may))
        })
        .collect()
}

/// The draft and what its signature would rest on.
struct Opened {
    draft: Prescription,
    tracks: Tracks,
    line: Option<String>,
}

async fn open(app: &App, access: &Access<Row, crate::access::action::Read>, id: PrescriptionId) -> Result<Opened> {
    let mut snapshot = app.store.snapshot().await?;
    let draft = draft(&mut snapshot, access, id).await?;
    let tracks = journey::tracks(&mut snapshot, access).await?;
    let line = prescription::prescriber_line(&mut snapshot, access).await?;
    Ok(Opened { draft, tracks, line })
}

fn build(context: &Context, visit: &Visit, opened: &Opened, form: Option<FormView>) -> PreviewPage {
    let draft = &opened.draft;
    let form = form.unwrap_or_else(|| FormView::blank(context).at_version(draft.version));
    let back = visit.at(&format!("/prescription/{}", draft.id));
    PreviewPage {
        shell: shell_about(context, visit, "Preview: prescription").of_form(&form),
        crumbs: part::crumbs(&[
            (visit.at("/prescription"), "Prescription".to_owned()),
            (back.clone(), "The draft".to_owned()),
        ]),
        document: document(draft, visit, context),
        missing: draft.contents.missing().into_iter().map(|(_, words)| words).collect(),
        blocked: tokens(&opened.tracks, &draft.contents).err().map(|blocked| blocked.message).unwrap_or_default(),
        no_licence: opened.line.is_none(),
        line: opened.line.clone().unwrap_or_default(),
        action: format!("{back}/sign"),
        back,
        form,
    }
}

/// The draft as it would be signed.
pub(super) async fn preview(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    let opened = open(&app, &access.read(), id).await?;
    Ok(Page(build(&context, &visit, &opened, None)).into_response())
}

/// Signs, with the password entered again.
pub(super) async fn sign(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Sign>,
    Record(id): Record<PrescriptionId>,
    posted: Posted,
) -> Result<Response> {
    let reading = access.read();
    let opened = open(&app, &reading, id).await?;
    let again = |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry = Entry::default();
        Ok(Again(build(&context, &visit, &opened, Some(form))).into_response())
    };
    tokens(&opened.tracks, &opened.draft.contents).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    if let Some((_, words)) = opened.draft.contents.missing().into_iter().next() {
        return again(Faults::one("", words));
    }
    if opened.line.is_none() {
        return again(Faults::one("", "Your account has no credential or licence. The records officer adds them."));
    }
    let password = posted.entry.get("password");
    let reentered = match account::reenter(&app.store, &app.passwords, access.actor(), password).await? {
        Ok(reentered) => reentered,
        Err(attempt) => return again(wrong_password("password", &attempt)),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let tracks = journey::tracks(&mut tx, &access).await?;
    let now = draft(&mut tx, &reading, id).await?;
    let tokens = tokens(&tracks, &now.contents).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let here = visit.at(&format!("/prescription/{id}"));
    match prescription::sign(&mut tx, &access, &reentered, &tokens, (id, posted.version.unwrap_or(0))).await {
        Ok(()) => {}
        Err(StoreError::Stale) => return Err(Error::Stale(Box::new(Both { back: here, rows: Vec::new() }))),
        Err(error) => return Err(error.into()),
    }
    tx.commit_at(Audit::by(&access).record(id).told("signed"), &here).await?;
    Ok(Redirect::to(&here).into_response())
}
