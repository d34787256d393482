//! One decision: read, amended, superseded by another, marked entered in error.
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
use super::part;
use super::review::decision_view;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::{Amend, Read, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Worded, Wording};
use crate::care::ids::DecisionId;
use crate::care::track::Track;
use crate::store::account::Reentered;
use crate::store::decision::{self as stored, Decision, correct as correcting};
use crate::store::document::After;
use crate::store::{Snapshot, StoreError, Tx};

type Stored<T> = std::result::Result<T, StoreError>;

/// The routes of single decisions.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/decisions/{record}", read)
        .get("/students/{student}/decisions/{record}/correct", acts::page::<Decision>)
        .post("/students/{student}/decisions/{record}/amend", acts::amend::<Decision>)
        .post("/students/{student}/decisions/{record}/error", acts::error::<Decision>)
}

#[derive(Template)]
#[template(path = "decisions/page.html")]
struct DecisionPage {
    shell: Shell,
    crumbs: part::Crumbs,
    title: String,
    after: AfterView,
    facts: Vec<(String, String)>,
}

async fn read(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Read>,
    Record(id): Record<DecisionId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let one = acts::signed::<Decision>(&mut snapshot, &access, id).await?.one;
    let view = decision_view(&one, &context);
    let page = DecisionPage {
        shell: shell_about(&context, &visit, "Decision"),
        crumbs: part::crumbs(&[(visit.at("/prescription"), "Prescription and decisions".to_owned())]),
        title: view.title,
        after: acts::shown(&mut snapshot, (&context, &visit), &access, &one).await?,
        facts: view.facts,
    };
    Ok(Page(page).into_response())
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
