//! What the review shows, worded: the summary under review, the acuities as they
//! stand, open questions, and a decision as everybody reads it.

use super::super::evaluation::view::{acuity_how, acuity_table};
use super::super::page::Context;
use super::super::summaries::BehindView;
use super::super::summary_view::{self, FiguresView};
use super::super::visit::Visit;
use super::super::{part, words};
use crate::access::action::Read;
use crate::access::resource::{Evaluation, Thread, Transcription};
use crate::access::{Access, Role};
use crate::care::device_words;
use crate::care::document::Mark;
use crate::care::evaluation::State as At;
use crate::care::post::PostKind;
use crate::store::summary::{Summary, Texts};
use crate::store::{Snapshot, decision, evaluation, post};
use crate::web::error::Result;
use crate::web::state::App;

/// An open question of the thread.
pub(super) struct Asked {
    pub(super) who: String,
    pub(super) words: String,
    pub(super) answer: String,
}

/// The summary under review.
pub(super) struct SentPart {
    pub(super) summary: String,
    pub(super) sent: String,
    pub(super) texts: Texts,
    pub(super) matrix: part::Table,
    pub(super) settings: part::Table,
    pub(super) reasons: part::Table,
    pub(super) comfort: part::Table,
    pub(super) changes: part::Table,
    pub(super) how: Option<part::How>,
    pub(super) figures: Option<FiguresView>,
    pub(super) behind: Option<BehindView>,
}

/// A decision, in words.
pub struct DecisionView {
    /// Where it is read, below its student.
    pub path: String,
    /// What was decided, on which track, when.
    pub title: String,
    /// What it says.
    pub facts: Vec<(String, String)>,
}

/// A decision as a reader sees it.
pub fn decision_view(made: &decision::Decision, context: &Context) -> DecisionView {
    let mut facts = Vec::new();
    for device in &made.devices {
        facts.push(("Device".to_owned(), words::capital(&device_words::line(&device.spec))));
    }
    if let Some(seat) = &made.seat {
        facts.push(("Seat".to_owned(), with_typed(&seat.typed, &words::distance(seat.value, context))));
    }
    if let Some(height) = &made.material.x_height {
        let shown = words::height(height.value.in_metres(), context);
        facts.push(("Small letters".to_owned(), with_typed(&height.typed, &shown)));
    }
    let material = &made.material;
    facts.extend(material.contrast.map(|contrast| ("Contrast".to_owned(), words::capital(contrast.words()))));
    facts.extend(material.light.map(|light| ("Light".to_owned(), words::capital(light.words()))));
    if !material.filter.is_empty() {
        facts.push(("Filter".to_owned(), material.filter.clone()));
    }
    facts.push(("Why".to_owned(), made.reason.clone()));
    if !made.no_summary_reason.is_empty() {
        facts.push(("Finalised without a summary because".to_owned(), made.no_summary_reason.clone()));
    }
    facts.extend(made.next_on.map(|day| ("Next look".to_owned(), words::date(day))));
    facts.push(("Signed by".to_owned(), made.by.clone()));
    match made.after.ended.as_ref().map(|ended| ended.mark) {
        Some(Mark::EnteredInError) => {
            facts.push(("State".to_owned(), "entered in error: counts as never made".to_owned()));
        }
        Some(_) => facts.push(("State".to_owned(), "superseded by a newer decision".to_owned())),
        None if !made.after.amended.is_empty() => facts.push(("State".to_owned(), "amended".to_owned())),
        None => {}
    }
    let title = format!(
        "{}, {} track, {}",
        words::capital(made.choice.words()),
        made.track.words(),
        words::date(made.decided_on)
    );
    DecisionView { path: format!("/decisions/{}", made.id), title, facts }
}

/// What was typed, with the reader's own unit behind it where that differs.
fn with_typed(typed: &str, shown: &str) -> String {
    if typed.is_empty() || typed == shown { shown.to_owned() } else { format!("{typed} ({shown})") }
}

/// An earlier summary: where it is read, and its days.
pub(super) fn earlier(visit: &Visit, summary: &Summary) -> (String, String) {
    let days = format!("{} to {}", words::date(summary.from), words::date(summary.to));
    (
        visit.at(&format!("/summaries/{}", summary.id)),
        match summary.after.ended.as_ref() {
            Some(ended) => format!("{days}, {}", ended.mark.words()),
            None => days,
        },
    )
}

/// The summary under review, its figures as tables.
pub(super) fn sent_part(app: &App, context: &Context, summary: &Summary, behind: Option<BehindView>) -> SentPart {
    let zone = app.store.clock().zone();
    let empty = || part::table("Figures").none("No figures were drafted.");
    let figures = summary.figures.as_ref();
    SentPart {
        summary: format!("{} to {}", words::date(summary.from), words::date(summary.to)),
        sent: summary
            .sent_at
            .map_or_else(String::new, |at| format!("Sent by {}, {}", summary.sent_by, words::instant(at, zone))),
        texts: summary.texts.clone(),
        matrix: figures.map_or_else(empty, summary_view::matrix),
        settings: figures.map_or_else(empty, summary_view::settings),
        reasons: figures
            .map_or_else(empty, |figures| summary_view::reasons(figures, "Reasons for not using the device")),
        comfort: figures.map_or_else(empty, |figures| summary_view::comfort(figures, "How it felt")),
        changes: figures
            .map_or_else(empty, |figures| summary_view::changes(figures, "What was changed, and how it went then")),
        how: figures.map(summary_view::matrix_how),
        figures: figures.map(|figures| summary_view::view(figures, context)),
        behind,
    }
}

/// The acuities of each eye, and how they came about.
pub(super) async fn acuities(
    snapshot: &mut Snapshot,
    access: Option<&Access<Evaluation, Read>>,
    paper: Option<&Access<Transcription, Read>>,
) -> Result<(part::Table, Option<part::How>)> {
    let mut rows = match access {
        Some(access) => evaluation::newest_acuities(snapshot, access).await?,
        None => Vec::new(),
    };
    let mut unconfirmed = "";
    if let Some(access) = paper {
        let copied = evaluation::newest_acuities(snapshot, access).await?;
        if evaluation::list(snapshot, access).await?.iter().any(|one| one.state == At::Filed) && !copied.is_empty() {
            unconfirmed = " Those of a report on paper are transcribed, not confirmed.";
        }
        rows.extend(copied);
    }
    let shown: Vec<_> = rows.iter().collect();
    let measured: Vec<_> = rows.iter().map(|row| &row.row).collect();
    let table = acuity_table("Acuities as they stand", &shown)
        .note(&format!("Of each eye, correction and device, those of its newest signed evaluation.{unconfirmed}"));
    Ok((table, acuity_how(&measured)))
}

/// Open questions to the clinician in the thread.
pub(super) async fn questions(
    snapshot: &mut Snapshot,
    access: Option<&Access<Thread, Read>>,
    visit: &Visit,
) -> Result<Vec<Asked>> {
    let Some(access) = access else { return Ok(Vec::new()) };
    let zone = snapshot.zone().clone();
    let today = snapshot.today();
    let posts = post::of_student(snapshot, access).await?;
    let open = posts
        .into_iter()
        .filter(|post| post.kind == PostKind::Question && post.closed_at.is_none() && post.to == Some(Role::Clinician));
    Ok(open
        .map(|post| {
            let since = post.waits_since().to_zoned_datetime(zone.clone()).date();
            Asked {
                who: format!("{}, since {} ({})", post.by, words::date(since), words::since(since, today)),
                answer: visit.at(&format!("/thread/{}/answer", post.id)),
                words: post.body,
            }
        })
        .collect())
}
