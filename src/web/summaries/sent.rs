//! A summary as it was sent, on screen, for printing and as a PDF.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::draft::draft_page;
use super::{BehindView, behind_view, cautions_of, open, sources, sources_and_since};
use crate::access::Access;
use crate::access::action::{Edit, Export, Read};
use crate::access::resource::Summary as Row;
use crate::care::ids::SummaryId;
use crate::pdf::Room;
use crate::store::summary::{self, Summary, Texts};
use crate::web::correct::{AfterView, acts};
use crate::web::error::{Error, Result};
use crate::web::page::{Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::summary_view::{FiguresView, view};
use crate::web::visit::Visit;
use crate::web::{part, pdf, words};

#[derive(Template)]
#[template(path = "summaries/page.html")]
struct SentPage {
    shell: Shell,
    crumbs: Option<part::Crumbs>,
    title: String,
    facts: Vec<(String, String)>,
    after: AfterView,
    behind: Option<BehindView>,
    texts: Texts,
    figures: Option<FiguresView>,
    print: String,
    pdf: pdf::Links,
    cautions: part::Cautions,
}

fn sent_page(
    app: &App,
    (context, visit): (&Context, &Visit),
    summary: &Summary,
    (after, behind): (AfterView, Option<BehindView>),
    printed: bool,
) -> SentPage {
    let title = format!("Training summary, {} track", summary.track.words());
    let zone = app.store.clock().zone();
    let mut facts = vec![("Student".to_owned(), visit.name().to_owned())];
    match summary.sent_at {
        Some(at) => {
            facts.push(("Signed and sent".to_owned(), format!("{} by {}", words::instant(at, zone), summary.sent_by)))
        }
        None => facts.push(("State".to_owned(), "draft, not sent".to_owned())),
    }
    let may_print = summary.sent_at.is_some() && visit.may::<Row, Export>() && !printed;
    SentPage {
        shell: shell_about(context, visit, &title),
        crumbs: (!printed).then(|| part::crumbs(&[(visit.at("/summaries"), "Training summaries".to_owned())])),
        title,
        facts,
        after,
        behind,
        texts: summary.texts.clone(),
        figures: summary.figures.as_ref().map(|figures| view(figures, context)),
        print: if may_print { visit.at(&format!("/summaries/{}/print", summary.id)) } else { String::new() },
        pdf: pdf::links(may_print.then(|| visit.at(&format!("/summaries/{}/paper.pdf", summary.id)))),
        cautions: cautions_of(summary.track),
    }
}

/// The summary as sent; to whoever writes it, the draft.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let summary = summary::one(&mut snapshot, &access, id).await?;
    drop(snapshot);
    if summary.sent_at.is_some() || !visit.may::<Row, Edit>() {
        let sources = sources_and_since(&visit).await?;
        let mut snapshot = app.store.snapshot().await?;
        let after = acts::shown(&mut snapshot, (&context, &visit), &access, &summary).await?;
        // What has ended is not held against the record any more.
        let behind = match summary.after.ended {
            None => summary::behind(&mut snapshot, &access, &sources, &summary).await?,
            Some(_) => None,
        };
        let behind = behind.map(|behind| behind_view(&visit, &behind));
        return Ok(Page(sent_page(&app, (&context, &visit), &summary, (after, behind), false)).into_response());
    }
    let sources = sources(&visit).await?;
    let opened = open(&app, &access, &sources, id).await?;
    Ok(Page(draft_page(&app, &context, &visit, &opened, None).await?).into_response())
}

/// For printing.
pub(super) async fn print(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Export>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    Ok(Page(printed(&app, &context, &visit, &access, id).await?).into_response())
}

/// As a PDF.
pub(super) async fn on_paper(
    State(app): State<App>,
    paper: pdf::Paper<Row>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, id).await?;
    paper.answer(&page, Room::Open).await
}

/// The summary as it is printed; only what was sent is.
pub(in crate::web) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Row, Export>,
    id: SummaryId,
) -> Result<impl Template> {
    let mut snapshot = app.store.snapshot().await?;
    let summary = summary::one(&mut snapshot, access, id).await?;
    if summary.sent_at.is_none() {
        return Err(Error::Hidden);
    }
    let after = acts::shown(&mut snapshot, (context, visit), &access.read(), &summary).await?.on_paper();
    Ok(sent_page(app, (context, visit), &summary, (after, None), true))
}
