//! Training summaries: what leads where, and what all their pages share.
//!
//! | page | file |
//! |---|---|
//! | the list, a new draft | `list.rs` |
//! | a draft with its figures | `draft.rs` |
//! | preview, sign and send | `sending.rs` |
//! | a summary as sent, on screen and on paper | `sent.rs` |
//! | what happened since it was sent | `behind.rs` |
//! | what the student said, to be quoted | `quoted.rs` |
//! | amended, superseded, thrown away | `correct.rs` |

mod behind;
mod correct;
mod draft;
mod list;
mod quoted;
mod sending;
mod sent;

use jiff::ToSpan;
use jiff::civil::Date;

use super::check::Check;
use super::correct::acts;
use super::error::Result;
use super::part;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::{
    ClassObservation, Evaluation, HomeObservation, Intake, Loans, Prescription, Resource, Row as RowOf, Summary as Row,
    Training,
};
use crate::care::caution::{Occasion, cautions};
use crate::care::ids::SummaryId;
use crate::care::summary::Figures;
use crate::care::track::{DeviceKind, Track};
use crate::store::summary::{self, Destination, Sources, Summary};

pub use behind::{BehindView, behind_view};
pub(super) use sent::printed;

/// The routes of summaries.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/summaries", list::list)
        .post("/students/{student}/summaries", list::begin)
        .get("/students/{student}/summaries/{record}", sent::page)
        .post("/students/{student}/summaries/{record}", draft::save)
        .get("/students/{student}/summaries/{record}/preview", sending::preview)
        .post("/students/{student}/summaries/{record}/send", sending::send)
        .get("/students/{student}/summaries/{record}/print", sent::print)
        .get("/students/{student}/summaries/{record}/paper.pdf", sent::on_paper)
        .get("/students/{student}/summaries/{record}/correct", acts::page::<Summary>)
        .post("/students/{student}/summaries/{record}/amend", acts::amend::<Summary>)
        .post("/students/{student}/summaries/{record}/supersede", correct::supersede)
        .post("/students/{student}/summaries/{record}/error", acts::error::<Summary>)
        .get("/students/{student}/summaries/{record}/discard", correct::discard_page)
        .post("/students/{student}/summaries/{record}/discard", correct::discard)
}

/// The kinds of record that [`sources_and_since`] opens.
pub const SINCE: [RowOf; 7] = [
    Training::ROW,
    ClassObservation::ROW,
    HomeObservation::ROW,
    Loans::ROW,
    Intake::ROW,
    Evaluation::ROW,
    Prescription::ROW,
];

/// What this reader may read of a summary's ingredients; reading across is
/// written into the disclosure record here, before any transaction is open.
pub async fn sources(visit: &Visit) -> Result<Sources> {
    visit.opens_next(&[Training::ROW, ClassObservation::ROW, HomeObservation::ROW, Loans::ROW]).await?;
    Ok(Sources {
        training: visit.open_if().await?,
        class: visit.open_if().await?,
        home: visit.open_if().await?,
        loans: visit.open_if().await?,
        ..Sources::default()
    })
}

/// The same, and what tells whether a sent summary is behind.
pub async fn sources_and_since(visit: &Visit) -> Result<Sources> {
    visit.opens_next(&SINCE).await?;
    Ok(Sources {
        intake: visit.open_if().await?,
        evaluations: visit.open_if().await?,
        decisions: visit.open_if().await?,
        ..sources(visit).await?
    })
}

/// The days a summary may count: no future, no more than three years back.
fn days(today: Date) -> std::ops::RangeInclusive<Date> {
    today.saturating_sub(3.years())..=today
}

/// The cautions of the kinds of device on a track's screens.
pub fn cautions_of(track: Track) -> part::Cautions {
    let kind = match track {
        Track::Distance => DeviceKind::HandheldMonocular,
        Track::Near => DeviceKind::HandMagnifier,
    };
    let list: Vec<&str> = cautions(kind, Occasion::Screen).into_iter().map(|caution| caution.words()).collect();
    part::cautions(&list)
}

/// Where it would go, in words.
fn destination_words(destination: &Destination) -> String {
    if !destination.known {
        return "No clinician is on the team and no consent names a clinic.".to_owned();
    }
    let readers = match destination.clinicians.as_slice() {
        [] => "no clinician of this clinic is on the team yet".to_owned(),
        names => words::list(names),
    };
    format!("{} ({readers})", destination.to.name())
}

/// A draft as it stands now: figures anew, and what they rest on.
struct Opened {
    summary: Summary,
    figures: Figures,
    destination: Destination,
}

async fn open(app: &App, access: &Access<Row, Read>, sources: &Sources, id: SummaryId) -> Result<Opened> {
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let summary = summary::one(&mut snapshot, access, id).await?;
    let destination = summary::destination(&mut snapshot, access).await?;
    let days = (summary.track, summary.from, summary.to);
    let scope = destination.scope(today);
    let figures = summary::assemble(&mut snapshot, access, sources, &scope, days).await?.figures;
    Ok(Opened { summary, figures, destination })
}

/// What to look at is a question, and the power of a device is the clinician's.
fn worded_as_question(check: &mut Check<'_>, field: &str, look_at: &str) {
    if !look_at.is_empty() && !look_at.contains('?') {
        check.fault(field, "Word it as a question, for example: would another field of view help at the board?");
    }
}
