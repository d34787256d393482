//! What other pages show of the evidence: the picture on the overview, the matrix
//! and the settings on the review. Computed as the page itself computes it.

use askama::Template;
use askama::filters::HtmlSafe;

use super::super::error::Result;
use super::super::page::Context;
use super::super::part::{self, How};
use super::super::state::App;
use super::super::visit::Visit;
use super::asked::Lines;
use super::matrix::MatrixView;
use super::reach::ReachPicture;
use super::{FindingView, Track, left_out_notice, load};
use crate::access::action::Read;
use crate::access::resource::Guidance;
use crate::care::track;

/// The picture of one track, for a page that shows it beside other things: none
/// where the reader has no part in it or nothing counts yet.
pub(in crate::web) async fn picture(app: &App, visit: &Visit, context: &Context) -> Result<Vec<ReachPicture>> {
    let Some(access) = visit.open_if::<Guidance, Read>().await? else { return Ok(Vec::new()) };
    let loaded = load(app, visit, &access).await?;
    let mut pictures = Vec::new();
    for track in track::Track::ALL {
        let told = Track::of(visit, context, &loaded, *track)?;
        pictures.extend(told.drawn());
    }
    Ok(pictures)
}

/// The matrix and the settings of one track, for the review.
#[derive(Template)]
#[template(path = "evidence/review.html")]
pub(in crate::web) struct ForReview {
    matrix: Option<MatrixView>,
    apart: Vec<FindingView>,
    asked_pairs: String,
    left_out: Option<part::Notice>,
    counted: String,
    all: String,
    how: Option<How>,
}

impl HtmlSafe for ForReview {}

impl ForReview {
    /// Whether it has the table of devices by tasks.
    pub(in crate::web) const fn has_matrix(&self) -> bool {
        self.matrix.is_some()
    }
}

/// What the review shows of the evidence; none where nothing counts yet.
pub(in crate::web) async fn for_review(
    app: &App,
    visit: &Visit,
    context: &Context,
    track: track::Track,
) -> Result<Option<ForReview>> {
    let Some(access) = visit.open_if::<Guidance, Read>().await? else { return Ok(None) };
    let loaded = load(app, visit, &access).await?;
    let told = Track::of(visit, context, &loaded, track)?;
    if !told.is_seen() {
        return Ok(None);
    }
    let mut lines = Lines::default();
    let matrix = told.matrix_view(&mut lines);
    let (apart, asked_pairs) = told.apart(&mut lines);
    Ok(Some(ForReview {
        matrix,
        apart,
        asked_pairs,
        left_out: left_out_notice(&loaded),
        counted: told.counted_alone(),
        all: visit.at("/evidence"),
        how: told.how(lines),
    }))
}
