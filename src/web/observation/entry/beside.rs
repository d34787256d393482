//! What is kept beside an entry: what the student said, and which edition of
//! what to try at home it answers.

use super::Width;
use super::checked::Checked;
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{Resource, TryAtHome};
use crate::care::ids::ObservationId;
use crate::store::try_at_home::{self, Edition};
use crate::store::{Snapshot, Tx, student_words};
use crate::web::error::Result;
use crate::web::form::Entry;
use crate::web::visit::Visit;

/// The released edition of what to try at home that a family's note answers.
/// What is no such edition is left alone: a note is worth more than its link.
pub(super) async fn tried(
    snapshot: &mut Snapshot,
    visit: &Visit,
    width: Width,
    asked: &Entry,
) -> Result<Option<Edition>> {
    let Some(id) = asked.get("home").parse().ok().filter(|_| width == Width::Family) else { return Ok(None) };
    let Some(access) = visit.open_if::<TryAtHome, Read>().await? else { return Ok(None) };
    let editions = try_at_home::editions(snapshot, &access).await?;
    Ok(editions.into_iter().find(|edition| edition.id == id && edition.released_at.is_some()))
}

/// Keeps what the student said with the entry, if anything was.
pub(super) async fn said<R: Resource>(
    tx: &mut Tx,
    access: &Access<R, Create>,
    id: ObservationId,
    checked: &Checked,
) -> Result<()> {
    if !checked.said.is_empty() {
        student_words::with_observation(tx, access, id, checked.new.seen_on, &checked.said).await?;
    }
    Ok(())
}
