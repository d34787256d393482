//! A summary as a document that is corrected, the draft that is to take its place,
//! and throwing a draft away.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::{sources, worded_as_question};
use crate::access::Access;
use crate::access::action::{Amend, Create, Edit, Read, Sign};
use crate::access::resource::Summary as Row;
use crate::care::amendment::Correction;
use crate::care::document::{Kind, Worded, Wording};
use crate::care::ids::SummaryId;
use crate::care::track::Track;
use crate::store::account::Reentered;
use crate::store::document::After;
use crate::store::summary::{self as stored, Summary, correct as correcting};
use crate::store::{Audit, Snapshot, StoreError, Tx};
use crate::web::check::Check;
use crate::web::correct::acts::{Corrected, signed};
use crate::web::correct::{self, Way};
use crate::web::discard;
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, Posted};
use crate::web::page::{Again, Context, Page};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

type Stored<T> = std::result::Result<T, StoreError>;

fn title(summary: &Summary) -> String {
    let days = format!("{} to {}", words::date(summary.from), words::date(summary.to));
    format!("Training summary, {} track, {days}", summary.track.words())
}

impl Corrected for Summary {
    type Row = Row;
    type Id = SummaryId;
    const KIND: Kind = Kind::Summary;
    const BASE: &'static str = "/summaries";

    async fn find(snapshot: &mut Snapshot, access: &Access<Row, Read>, id: SummaryId) -> Stored<Self> {
        stored::one(snapshot, access, id).await
    }

    async fn after(&self, _snapshot: &mut Snapshot, _access: &Access<Row, Read>) -> Stored<After> {
        Ok(self.after.clone())
    }

    fn id(&self) -> SummaryId {
        self.id
    }

    fn is_signed(&self) -> bool {
        self.sent_at.is_some()
    }

    fn title(&self, _context: &Context) -> String {
        title(self)
    }

    fn texts(&self) -> Vec<Wording> {
        self.texts.wordings()
    }

    fn supersedes(&self) -> Option<SummaryId> {
        self.supersedes
    }

    fn lines(&self, _context: &Context) -> Vec<(String, String)> {
        let mut lines = vec![("From".to_owned(), words::date(self.from)), ("To".to_owned(), words::date(self.to))];
        lines.extend(self.texts.wordings().into_iter().map(|one| (one.label, one.text)));
        lines.extend(self.figures.as_ref().map(|figures| figures.lines()).unwrap_or_default());
        lines.retain(|(_, value)| !value.is_empty());
        lines
    }

    fn track(&self) -> Option<Track> {
        Some(self.track)
    }

    /// What to look at stays a question when it is amended.
    fn still_holds(posted: &Posted) -> std::result::Result<(), Faults> {
        let mut check = Check::new(&posted.entry);
        let typed = check.typed("text_look_at");
        worded_as_question(&mut check, "text_look_at", typed);
        check.build(|| Some(()))
    }

    async fn amend(
        tx: &mut Tx,
        access: &Access<Row, Amend>,
        id: SummaryId,
        correction: &Correction,
        seen: i64,
    ) -> Stored<()> {
        correcting::amend(tx, access, id, correction, seen).await
    }

    async fn enter_in_error(
        tx: &mut Tx,
        access: &Access<Row, Sign>,
        reentered: &Reentered,
        id: SummaryId,
        why: (&str, i64),
    ) -> Stored<()> {
        correcting::enter_in_error(tx, access, reentered, id, why).await
    }
}

/// Begins the draft that is to take its place.
pub(super) async fn supersede(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Create>,
    reading: Access<Row, Read>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let sources = sources(&visit).await?;
    let mut tx = app.store.tx().await?;
    let sent = signed::<Summary>(&mut tx, &reading, id).await?;
    let summary = &sent.one;
    let again = |faults| Ok(sent.back((&context, &visit), &posted, (Way::Supersede, faults)));
    let reason = match correct::reason(&posted.entry, Way::Supersede) {
        Ok(reason) => reason,
        Err(faults) => return again(faults),
    };
    let all = stored::list(&mut tx, &reading).await?;
    if let Some(begun) = all.iter().find(|one| one.track == summary.track && one.sent_at.is_none()) {
        if begun.supersedes == Some(id) {
            return Ok(Redirect::to(&visit.at(&format!("/summaries/{}", begun.id))).into_response());
        }
        return again(Faults::one(
            "supersede_reason",
            "A summary of this track is being drafted. Send that draft, or throw it away, then begin the new one.",
        ));
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let today = tx.today();
    let scope = stored::destination(&mut tx, &reading).await?.scope(today);
    let days = (summary.track, summary.from, summary.to);
    let figures = stored::assemble(&mut tx, &reading, &sources, &scope, days).await?.figures;
    let draft = correcting::supersede(&mut tx, &access, summary, &figures, &reason)
        .await
        .map_err(|error| sent.refused((&context, &visit), error, &[]))?;
    let there = visit.at(&format!("/summaries/{draft}"));
    tx.commit_at(Audit::by(&access).record(draft), &there).await?;
    Ok(Redirect::to(&there).into_response())
}

async fn own_draft(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    access: &Access<Row, Edit>,
    id: SummaryId,
) -> Result<std::result::Result<Summary, discard::DiscardPage>> {
    let draft = stored::one(snapshot, access, id).await?;
    if draft.sent_at.is_some() {
        return Err(Error::Hidden);
    }
    if draft.author == access.actor().account {
        return Ok(Ok(draft));
    }
    let here = visit.at(&format!("/summaries/{id}"));
    Ok(Err(discard::of_somebody_else(context, visit, &drafted(&draft), &draft.by, &here)))
}

fn drafted(draft: &Summary) -> String {
    format!("{}, a draft.", title(draft))
}

/// Asks once more before a draft is thrown away.
pub(super) async fn discard_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<SummaryId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let here = visit.at(&format!("/summaries/{id}"));
    Ok(match own_draft(&mut snapshot, (&context, &visit), &access, id).await? {
        Err(others) => Page(others).into_response(),
        Ok(draft) => {
            let at = (format!("{here}/discard"), here);
            Page(discard::page(&context, &visit, &drafted(&draft), (&at.0, &at.1), draft.version)).into_response()
        }
    })
}

/// Throws a draft away, as it was seen.
pub(super) async fn discard(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let list = visit.at("/summaries");
    let mut tx = app.store.tx().await?;
    if let Err(others) = own_draft(&mut tx, (&context, &visit), &access, id).await? {
        return Ok(Again(others).into_response());
    }
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    correcting::discard(&mut tx, &access, (id, posted.version.unwrap_or(-1))).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("discard"), &list).await?;
    Ok(Redirect::to(&list).into_response())
}
