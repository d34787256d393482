//! A draft with its figures, drafted anew whenever it is opened, and its saving.
//!
//! What changed in the record since the draft was saved is marked.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::{Opened, cautions_of, days, destination_words, open, quoted, sources, worded_as_question};
use crate::access::Access;
use crate::access::action::Edit;
use crate::access::resource::Summary as Row;
use crate::care::ids::SummaryId;
use crate::care::summary::Figures;
use crate::store::summary::{self, Summary, Texts};
use crate::store::{Audit, StoreError};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::summary_view::{FiguresView, view};
use crate::web::visit::Visit;
use crate::web::{part, stale, words};

#[derive(Template)]
#[template(path = "summaries/draft.html")]
pub(super) struct DraftPage {
    shell: Shell,
    crumbs: part::Crumbs,
    track: String,
    form: FormView,
    action: String,
    preview: String,
    discard: Option<String>,
    replaces: Option<part::Notice>,
    destination: String,
    blocked: String,
    people: String,
    changed: Option<part::Table>,
    figures: FiguresView,
    /// What the student said in these days, to be quoted.
    quoted: Vec<String>,
    cautions: part::Cautions,
}

fn entry_of(summary: &Summary) -> Entry {
    Entry::default()
        .with("from", summary.from.to_string())
        .with("to", summary.to.to_string())
        .with("words", summary.texts.words.clone())
        .with("student_words", summary.texts.student_words.clone())
        .with("questions", summary.texts.questions.clone())
        .with("look_at", summary.texts.look_at.clone())
        .with("few_reason", summary.texts.few_reason.clone())
}

/// What changed between the saved figures and those of now.
fn changed(saved: Option<&Figures>, now: &Figures) -> Option<part::Table> {
    let changed = now.changed_since(saved?);
    if changed.is_empty() {
        return None;
    }
    let mut table = part::table("Figures that changed since this draft was saved")
        .column("Figure")
        .column("When saved")
        .column("Now");
    let shown = |value: String| if value.is_empty() { "not there".to_owned() } else { value };
    for (label, then, now) in changed {
        table.push([words::capital(&label), shown(then), shown(now)]);
    }
    Some(table)
}

/// The page of a draft; with the form that came back, if one did.
pub(super) async fn draft_page(
    app: &App,
    context: &Context,
    visit: &Visit,
    opened: &Opened,
    form: Option<FormView>,
) -> Result<DraftPage> {
    let quoted = quoted::proposed(app, visit, opened).await?;
    let summary = &opened.summary;
    let form = form.unwrap_or_else(|| FormView::filled(context, entry_of(summary)).at_version(summary.version));
    let clock = app.store.clock();
    let blocked = opened.destination.may_send(clock.today(), clock.now()).err();
    let title = format!("Training summary, {} track", summary.track.words());
    Ok(DraftPage {
        shell: shell_about(context, visit, &title).of_form(&form),
        crumbs: part::crumbs(&[(visit.at("/summaries"), "Training summaries".to_owned())]),
        track: summary.track.words().to_owned(),
        form,
        action: visit.at(&format!("/summaries/{}", summary.id)),
        preview: visit.at(&format!("/summaries/{}/preview", summary.id)),
        discard: (summary.author == visit.actor().account)
            .then(|| visit.at(&format!("/summaries/{}/discard", summary.id))),
        replaces: summary.supersedes.map(|old| {
            let said = "Its words start as a copy of those sent. Once this is sent, that one counts no longer.";
            part::notice("plain", "This will take the place of a summary that was sent", said)
                .link(&visit.at(&format!("/summaries/{old}")), "Open the one that was sent")
        }),
        destination: destination_words(&opened.destination),
        blocked: blocked.map(|blocked| blocked.message).unwrap_or_default(),
        people: visit.at("/people"),
        changed: changed(summary.figures.as_ref(), &opened.figures),
        figures: view(&opened.figures, context),
        quoted,
        cautions: cautions_of(summary.track),
    })
}

fn texts(check: &mut Check<'_>) -> Texts {
    Texts {
        words: check.opt_text("words", "Your account", 2 * LONG_TEXT),
        student_words: check.opt_text("student_words", "The student\u{2019}s words", LONG_TEXT),
        questions: check.opt_text("questions", "Questions to the clinician", LONG_TEXT),
        look_at: check.opt_text("look_at", "What to look at", LONG_TEXT),
        few_reason: check.opt_text("few_reason", "Why so few sessions", LONG_TEXT),
    }
}

fn checked(entry: &Entry, today: Date) -> std::result::Result<(Date, Date, Texts), Faults> {
    let mut check = Check::new(entry);
    let from = check.date("from", "From", days(today));
    let to = check.date("to", "To", days(today));
    if from.zip(to).is_some_and(|(from, to)| from > to) {
        check.fault("from", "From must not be later than to.");
    }
    let texts = texts(&mut check);
    worded_as_question(&mut check, "look_at", &texts.look_at);
    check.build(|| Some((from?, to?, texts)))
}

/// Saves a draft, and goes on to its preview where that was asked for.
pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Row, Edit>,
    Record(id): Record<SummaryId>,
    posted: Posted,
) -> Result<Response> {
    let reading = access.read();
    let sources = sources(&visit).await?;
    let today = app.store.clock().today();
    let (from, to, texts) = match checked(&posted.entry, today) {
        Ok(checked) => checked,
        Err(faults) => {
            let opened = open(&app, &reading, &sources, id).await?;
            if opened.summary.sent_at.is_some() {
                return Err(Error::Hidden);
            }
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(draft_page(&app, &context, &visit, &opened, Some(form)).await?).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let saved = summary::one(&mut tx, &reading, id).await?;
    let scope = summary::destination(&mut tx, &reading).await?.scope(today);
    let days = (saved.track, from, to);
    let figures = summary::assemble(&mut tx, &reading, &sources, &scope, days).await?.figures;
    let here = visit.at(&format!("/summaries/{id}"));
    match summary::change(&mut tx, &access, id, &texts, &figures, posted.version.unwrap_or(0)).await {
        Ok(()) => {}
        Err(StoreError::Stale) => {
            let both = both(here, &saved, &posted.entry);
            // What was sent meanwhile is saved over by nobody.
            return match saved.sent_at {
                None => Err(stale::error(&mut tx, &access, (id, saved.version), both).await?),
                Some(_) => Err(Error::Stale(Box::new(both))),
            };
        }
        Err(error) => return Err(error.into()),
    }
    let next = if posted.entry.get("then") == "preview" { format!("{here}/preview") } else { here };
    tx.commit_at(Audit::by(&access).record(id), &next).await?;
    Ok(Redirect::to(&next).into_response())
}

/// What stands in the record and what was sent, field by field.
fn both(back: String, saved: &Summary, sent: &Entry) -> Both {
    let theirs = entry_of(saved);
    let labels = [
        ("from", "From"),
        ("to", "To"),
        ("words", "Your account"),
        ("student_words", "The student\u{2019}s words"),
        ("questions", "Questions to the clinician"),
        ("look_at", "What to look at"),
        ("few_reason", "Why so few sessions"),
    ];
    let rows = labels
        .into_iter()
        .map(|(name, label)| (label.to_owned(), theirs.get(name).to_owned(), sent.get(name).replace("\r\n", "\n")))
        .filter(|(_, theirs, yours)| theirs.trim() != yours.trim())
        .collect();
    Both { back, rows }
}
