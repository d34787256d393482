//! One decision: read, printed, amended, superseded by another, marked entered in
//! error.
//!
//! Decisions are made on the review; one that takes the place of another is made
//! there too, on the newest summary. Read next: `review.rs`.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::correct::{AfterView, acts};
use super::error::Result;
use super::page::{Context, Page, Shell, shell_about};
use super::params::Record;
use super::prescription::cautions_of;
use super::review::decision_view;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{part, pdf, words};
use crate::access::Access;
use crate::access::action::{Amend, Export, Read, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Worded, Wording};
use crate::care::ids::DecisionId;
use crate::care::track::Track;
use crate::pdf::Room;
use crate::store::account::Reentered;
use crate::store::decision::{self as stored, Decision, correct as correcting};
use crate::store::document::After;
use crate::store::{Snapshot, StoreError, Tx};

type Stored<T> = std::result::Result<T, StoreError>;

/// The routes of single decisions.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/decisions/{record}", read)
        .get("/students/{student}/decisions/{record}/print", print)
        .get("/students/{student}/decisions/{record}/paper.pdf", on_paper)
        .get("/students/{student}/decisions/{record}/correct", acts::page::<Decision>)
        .post("/students/{student}/decisions/{record}/amend", acts::amend::<Decision>)
        .post("/students/{student}/decisions/{record}/error", acts::error::<Decision>)
}

#[derive(Template)]
#[template(path = "decisions/page.html")]
struct DecisionPage {
    shell: Shell,
    crumbs: Option<part::Crumbs>,
    title: String,
    print: String,
    pdf: pdf::Links,
    after: AfterView,
    facts: Vec<(String, String)>,
    cautions: part::Cautions,
}

/// What the page is for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Use {
    Screen,
    Paper,
}

async fn build(
    app: &App,
    (context, visit): (&Context, &Visit),
    access: &Access<Row, Read>,
    id: DecisionId,
    of: Use,
) -> Result<DecisionPage> {
    let mut snapshot = app.store.snapshot().await?;
    let one = acts::signed::<Decision>(&mut snapshot, access, id).await?.one;
    let after = acts::shown(&mut snapshot, (context, visit), access, &one).await?;
    let view = decision_view(&one, context);
    let mut facts = vec![("For".to_owned(), visit.name().to_owned())];
    facts.extend(view.facts);
    let screen = of == Use::Screen;
    let offered = screen && visit.may::<Row, Export>();
    let at = |what: &str| visit.at(&format!("/decisions/{id}/{what}"));
    Ok(DecisionPage {
        shell: shell_about(context, visit, "Decision"),
        crumbs: screen.then(|| part::crumbs(&[(visit.at("/prescription"), "Prescription and decisions".to_owned())])),
        title: view.title,
        print: if offered { at("print") } else { String::new() },
        pdf: pdf::links(offered.then(|| at("paper.pdf"))),
        after: if screen { after } else { after.on_paper() },
        facts,
        cautions: cautions_of(one.devices.iter()),
    })
}

async fn read(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
    Record(id): Record<DecisionId>,
) -> Result<Response> {
    Ok(Page(build(&app, (&context, &visit), &access, id, Use::Screen).await?).into_response())
}

async fn print(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Export>,
    Record(id): Record<DecisionId>,
) -> Result<Response> {
    Ok(Page(printed(&app, &context, &visit, &access, id).await?).into_response())
}

async fn on_paper(State(app): State<App>, paper: pdf::Paper<Row>, Record(id): Record<DecisionId>) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, id).await?;
    paper.answer(&page, Room::Open).await
}

/// The decision as it is printed.
pub(super) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Row, Export>,
    id: DecisionId,
) -> Result<impl Template> {
    build(app, (context, visit), &access.read(), id, Use::Paper).await
}

impl acts::Corrected for Decision {
    type Row = Row;
    type Id = DecisionId;
    const KIND: Kind = Kind::Decision;
    const BASE: &'static str = "/decisions";
    const AMENDED: &'static str = "decided, then amended";
    const IN_ERROR: &'static str = "decided in error";

    async fn find(snapshot: &mut Snapshot, access: &Access<Row, Read>, id: DecisionId) -> Stored<Self> {
        let all = stored::list(snapshot, access).await?;
        all.into_iter().find(|one| one.id == id).ok_or(StoreError::Missing)
    }

    async fn after(&self, _snapshot: &mut Snapshot, _access: &Access<Row, Read>) -> Stored<After> {
        Ok(self.after.clone())
    }

    fn id(&self) -> DecisionId {
        self.id
    }

    /// A decision is signed as it is made.
    fn is_signed(&self) -> bool {
        true
    }

    fn title(&self, context: &Context) -> String {
        decision_view(self, context).title
    }

    fn texts(&self) -> Vec<Wording> {
        self.wordings()
    }

    fn supersedes(&self) -> Option<DecisionId> {
        self.supersedes
    }

    fn lines(&self, context: &Context) -> Vec<(String, String)> {
        let mut lines = vec![("Decision".to_owned(), words::capital(self.choice.words()))];
        let facts = decision_view(self, context).facts;
        lines.extend(facts.into_iter().filter(|(label, _)| label != "State"));
        lines
    }

    fn track(&self) -> Option<Track> {
        Some(self.track)
    }

    /// On the review, with the newest summary.
    fn anew(&self, visit: &Visit) -> Option<String> {
        Some(visit.at(&format!("/review/{}?supersedes={}", self.track.code(), self.id)))
    }

    async fn amend(
        tx: &mut Tx,
        access: &Access<Row, Amend>,
        id: DecisionId,
        correction: &Correction,
        seen: i64,
    ) -> Stored<()> {
        correcting::amend(tx, access, id, correction, seen).await
    }

    async fn enter_in_error(
        tx: &mut Tx,
        access: &Access<Row, Sign>,
        reentered: &Reentered,
        id: DecisionId,
        why: (&str, i64),
    ) -> Stored<()> {
        correcting::enter_in_error(tx, access, reentered, id, why).await
    }
}
