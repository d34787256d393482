//! Prescriptions and the decisions behind them: what leads where, and the list.
//!
//! A draft starts from the decision and the newest evaluation (`starting.rs`) and
//! is kept as typed (`drafting.rs`, its form `fields.rs`). G8 and the signature
//! are in `signing.rs`, the document as signed in `signed.rs`, its words in
//! `view.rs`; what became of it later is `correct.rs`.

mod correct;
mod drafting;
mod fields;
mod signed;
mod signing;
mod starting;
mod view;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::correct::acts;
use super::error::{Error, Result};
use super::form::FormView;
use super::page::{Context, Page, Shell, shell_about};
use super::review::{DecisionView, decision_view};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{part, words};
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::Prescription as Row;
use crate::care::ids::PrescriptionId;
use crate::care::prescription::{Prescription, State as At};
use crate::care::track::Track;
use crate::store::journey::Tracks;
use crate::store::{Snapshot, decision, journey, prescription};

pub(super) use signed::printed;
pub(super) use starting::begin_from;
pub(super) use view::cautions_of;

/// The routes of prescriptions.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/prescription", list)
        .post("/students/{student}/prescription", starting::begin)
        .get("/students/{student}/prescription/{record}", signed::page)
        .post("/students/{student}/prescription/{record}", drafting::save)
        .get("/students/{student}/prescription/{record}/preview", signing::preview)
        .post("/students/{student}/prescription/{record}/sign", signing::sign)
        .get("/students/{student}/prescription/{record}/print", signed::print)
        .get("/students/{student}/prescription/{record}/paper.pdf", signed::on_paper)
        .get("/students/{student}/prescription/{record}/correct", acts::page::<Prescription>)
        .post("/students/{student}/prescription/{record}/amend", acts::amend::<Prescription>)
        .post("/students/{student}/prescription/{record}/supersede", correct::supersede)
        .post("/students/{student}/prescription/{record}/cancel", acts::cancel::<Prescription>)
        .post("/students/{student}/prescription/{record}/error", acts::error::<Prescription>)
        .get("/students/{student}/prescription/{record}/discard", correct::discard_page)
        .post("/students/{student}/prescription/{record}/discard", correct::discard)
}

#[derive(Template)]
#[template(path = "prescription/list.html")]
struct ListPage {
    shell: Shell,
    lines: Vec<Line>,
    decisions: Vec<DecisionView>,
    base: String,
    form: Option<FormView>,
    action: String,
    finalised: Option<part::Notice>,
    cautions: part::Cautions,
}

struct Line {
    href: String,
    title: String,
    state: part::Status,
    by: String,
}

fn line(visit: &Visit, one: &Prescription) -> Line {
    let shape = match one.state {
        At::Draft => "now",
        At::Active => "done",
        At::Superseded | At::Cancelled | At::EnteredInError => "plain",
    };
    let by = match one.written_on {
        Some(day) => format!("Signed {}. {}", words::date(day), one.prescriber_line),
        None => format!("Begun by {}", one.by),
    };
    Line {
        href: visit.at(&format!("/prescription/{}", one.id)),
        title: format!("Prescription {}", one.number),
        state: part::status(&words::capital(one.state.words()), shape),
        by,
    }
}

async fn list(State(app): State<App>, context: Context, visit: Visit, access: Access<Row, Read>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let all = prescription::list(&mut snapshot, &access).await?;
    let made = decision::list(&mut snapshot, &access).await?;
    let may_begin = visit.may::<Row, Create>();
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let waiting: Vec<String> = finalising(&tracks).map(|track| format!("{} track", track.words())).collect();
    let finalised = (may_begin && !waiting.is_empty()).then(|| {
        let words = format!("Waiting for your signature: {}.", words::list(&waiting));
        part::notice("plain", "Decided: finalise", &words)
    });
    let page = ListPage {
        shell: shell_about(&context, &visit, "Prescription"),
        lines: all.iter().map(|one| line(&visit, one)).collect(),
        cautions: cautions_of(made.iter().flat_map(|made| &made.devices)),
        decisions: made.iter().map(|made| decision_view(made, &context)).collect(),
        base: visit.at(""),
        form: may_begin.then(|| FormView::blank(&context)),
        action: visit.at("/prescription"),
        finalised,
    };
    Ok(Page(page).into_response())
}

/// The tracks whose decision to finalise waits for a signature.
fn finalising(tracks: &Tracks) -> impl Iterator<Item = Track> {
    Track::ALL
        .iter()
        .copied()
        .filter(|track| tracks.of(*track).with_clinician.is_some_and(|with| with.finalising.is_some()))
}

/// The draft of that id; a signed document has no form.
async fn draft(snapshot: &mut Snapshot, access: &Access<Row, Read>, id: PrescriptionId) -> Result<Prescription> {
    let one = prescription::one(snapshot, access, id).await?;
    if one.state == At::Draft { Ok(one) } else { Err(Error::Hidden) }
}
