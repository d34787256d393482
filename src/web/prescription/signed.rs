//! A prescription as signed, on screen, for printing and as a PDF.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::drafting::draft_page;
use super::view::{DocumentView, document};
use crate::access::Access;
use crate::access::action::{Edit, Export, Read};
use crate::access::resource::Prescription as Row;
use crate::care::ids::PrescriptionId;
use crate::care::prescription::{Prescription, State as At};
use crate::pdf::Room;
use crate::store::{journey, prescription};
use crate::web::correct::{AfterView, acts};
use crate::web::error::{Error, Result};
use crate::web::page::{Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::{part, pdf};

#[derive(Template)]
#[template(path = "prescription/page.html")]
struct SignedPage {
    shell: Shell,
    crumbs: Option<part::Crumbs>,
    after: AfterView,
    document: DocumentView,
    print: String,
    pdf: pdf::Links,
}

fn signed_page(
    context: &Context,
    visit: &Visit,
    one: &Prescription,
    after: AfterView,
    printed: Option<&Access<Row, Export>>,
) -> SignedPage {
    let printed = printed.is_some();
    let may_print = one.signed_at.is_some() && !printed && visit.may::<Row, Export>();
    SignedPage {
        shell: shell_about(context, visit, format!("Prescription {}", one.number)),
        crumbs: (!printed).then(|| part::crumbs(&[(visit.at("/prescription"), "Prescription".to_owned())])),
        after: if printed { after.on_paper() } else { after },
        document: document(one, visit, context),
        print: if may_print { visit.at(&format!("/prescription/{}/print", one.id)) } else { String::new() },
        pdf: pdf::links(may_print.then(|| visit.at(&format!("/prescription/{}/paper.pdf", one.id)))),
    }
}

/// The document as signed; to whoever writes it, the draft.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let one = prescription::one(&mut snapshot, &access, id).await?;
    if one.state == At::Draft && visit.may::<Row, Edit>() {
        let tracks = journey::tracks(&mut snapshot, &access).await?;
        return Ok(Page(draft_page(&context, &visit, &one, &tracks, None)).into_response());
    }
    let after = acts::shown(&mut snapshot, (&context, &visit), &access, &one).await?;
    Ok(Page(signed_page(&context, &visit, &one, after, None)).into_response())
}

/// For printing.
pub(super) async fn print(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Export>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    Ok(Page(printed(&app, &context, &visit, &access, id).await?).into_response())
}

/// As a PDF.
pub(super) async fn on_paper(
    State(app): State<App>,
    paper: pdf::Paper<Row>,
    Record(id): Record<PrescriptionId>,
) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, id).await?;
    paper.answer(&page, Room::Open).await
}

/// The page as it is printed; only what was signed is.
pub(in crate::web) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Row, Export>,
    id: PrescriptionId,
) -> Result<impl Template> {
    let mut snapshot = app.store.snapshot().await?;
    let one = prescription::one(&mut snapshot, access, id).await?;
    if one.signed_at.is_none() {
        return Err(Error::Hidden);
    }
    let after = acts::shown(&mut snapshot, (context, visit), &access.read(), &one).await?;
    Ok(signed_page(context, visit, &one, after, Some(access)))
}
