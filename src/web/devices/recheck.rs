//! Open loans that are due back because of what was recommended, prescribed or
//! received since: said wherever somebody would otherwise go on with them.

use crate::access::Access;
use crate::access::action::{Action, Read};
use crate::access::resource::{Loans, Resource};
use crate::care::journey::{Fit, Journey, Loan};
use crate::care::loan::short_words;
use crate::care::track::Track;
use crate::store::{Snapshot, journey, loan};
use crate::web::error::Result;
use crate::web::part::{self, Notice};
use crate::web::visit::Visit;
use crate::web::words;

/// The loans of a track that the rules call back.
fn due_back(journey: &Journey) -> impl Iterator<Item = &Loan> {
    journey.open_loans().filter(|loan| loan.replaced.is_some() || loan.fit == Fit::Not)
}

/// Why a loan is due back, and by when.
fn why(loan: &Loan) -> String {
    let due = loan.due.map(words::date).unwrap_or_default();
    if loan.replaced.is_some() {
        format!("the own device takes its place, due back by {due}")
    } else {
        format!("it does not match what is recommended now, due back since {due}, takes no session")
    }
}

/// The same in a line each, for a list of students.
pub(in crate::web) fn lines(journey: &Journey) -> Vec<String> {
    due_back(journey).map(|loan| format!("On loan, {}: {}", short_words(&loan.spec), why(loan))).collect()
}

/// A notice for each open loan that is due back, for a reader of loans.
///
/// The proof at hand opens the facts; what a loan is, is read with its own, and
/// only when there is one to tell of.
pub(in crate::web) async fn notices<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    visit: &Visit,
    access: &Access<R, A>,
) -> Result<Vec<Notice>> {
    let tracks = journey::tracks(snapshot, access).await?;
    if Track::ALL.iter().all(|track| due_back(tracks.of(*track)).next().is_none()) {
        return Ok(Vec::new());
    }
    let Some(reading) = visit.open_if::<Loans, Read>().await? else { return Ok(Vec::new()) };
    let kept = loan::list(snapshot, &reading).await?;
    let mut notices = Vec::new();
    for track in Track::ALL {
        for due in due_back(tracks.of(*track)) {
            let tag = kept.iter().find(|one| one.id == due.id).map_or("", |one| one.tag.as_str());
            let body = format!("{tag}, {}, {} track: {}.", short_words(&due.spec), track.words(), why(due));
            notices.push(
                part::notice("caution", "A loan is due back", &body).link(&visit.at("/devices"), "Go to the devices"),
            );
        }
    }
    Ok(notices)
}
