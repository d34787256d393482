//! What happened since a summary was sent, each with a link to where it is read.
//!
//! Shown on the summary and on the review alike.

use askama::Template;
use askama::filters::HtmlSafe;

use crate::store::summary::{Behind, Whence};
use crate::web::visit::Visit;
use crate::web::{part, words};

/// The list, ready to be printed into a page.
#[derive(Template)]
#[template(path = "summaries/behind.html")]
pub struct BehindView {
    behind: bool,
    compared: bool,
    reasons: Vec<(String, String)>,
    changed: Option<part::Table>,
}

impl HtmlSafe for BehindView {}

/// The most reasons listed one by one; a long term has hundreds of new entries.
const MOST: usize = 12;

/// Words what happened for this reader.
pub fn behind_view(visit: &Visit, behind: &Behind) -> BehindView {
    let href = |whence: Whence| match whence {
        Whence::Session(id) => visit.at(&format!("/training/{id}")),
        Whence::Observation(id) => visit.at(&format!("/observations/{id}")),
        Whence::Sessions => visit.at("/training"),
        Whence::Observations => visit.at("/observations"),
        Whence::Evaluation(id) => visit.at(&format!("/evaluations/{id}")),
        Whence::Decision(id) => visit.at(&format!("/decisions/{id}")),
        Whence::Devices => visit.at("/devices"),
        Whence::Intake => visit.at("/intake"),
    };
    let mut reasons: Vec<(String, String)> =
        behind.reasons.iter().take(MOST).map(|reason| (href(reason.whence), reason.words.clone())).collect();
    let more = behind.reasons.len().saturating_sub(MOST);
    if more > 0 {
        reasons.push((visit.at("/thread"), format!("And {more} more, in the thread")));
    }
    BehindView { behind: !behind.is_empty(), compared: behind.compared, reasons, changed: changed(&behind.changed) }
}

fn changed(lines: &[(String, String, String)]) -> Option<part::Table> {
    if lines.is_empty() {
        return None;
    }
    let mut table =
        part::table("Figures of these days that are others now").column("Figure").column("As sent").column("Now");
    let shown = |value: &str| if value.is_empty() { "not there".to_owned() } else { value.to_owned() };
    for (label, then, now) in lines {
        table.push([words::capital(label), shown(then), shown(now)]);
    }
    Some(table)
}
