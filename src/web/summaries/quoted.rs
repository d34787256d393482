//! What the student said in the days of a summary, proposed as quotations: the
//! writer takes what belongs in, and nothing goes in by itself.
//!
//! Proposed is only what the clinic could read where it was said.

use super::Opened;
use crate::access::action::Read;
use crate::access::resource::{ClassObservation, HomeObservation, Thread};
use crate::care::consent::Category;
use crate::store::student_words::{Kept, Sources, of_range};
use crate::web::error::Result;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

pub(super) async fn proposed(app: &App, visit: &Visit, opened: &Opened) -> Result<Vec<String>> {
    let scope = opened.destination.scope(app.store.clock().today());
    let mut sources = Sources { thread: None, class: None, home: None };
    if !scope.0.is_empty() {
        sources.thread = visit.open_if::<Thread, Read>().await?;
    }
    if scope.has(Category::ClassObservations) {
        sources.class = visit.open_if::<ClassObservation, Read>().await?;
    }
    if scope.has(Category::HomeObservations) {
        sources.home = visit.open_if::<HomeObservation, Read>().await?;
    }
    let mut snapshot = app.store.snapshot().await?;
    let found = of_range(&mut snapshot, &sources, opened.summary.from, opened.summary.to).await?;
    Ok(found.iter().map(quotation).collect())
}

fn quotation(kept: &Kept) -> String {
    let about = if kept.about.is_empty() { String::new() } else { format!(", about {}", kept.about) };
    format!("\u{201c}{}\u{201d} ({}{about})", kept.said.words, words::date(kept.on))
}
