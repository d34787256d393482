//! What to try at home: written and released by a vision teacher, with editions
//! of its own; read by the family, who answer with a note from home.
//!
//! A released edition never changes. Does not know the card; read
//! `store::try_at_home`.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::tz::TimeZone;

use crate::access::Access;
use crate::access::action::{Create, Edit, Read, Sign};
use crate::access::resource::{Card, HomeObservation, LoanGlimpse, TaskGlimpse, TryAtHome};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::task::TaskCode;
use crate::store::try_at_home::{Edition, Wording};
use crate::store::{Audit, Snapshot, StoreError, loan, task, try_at_home};
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::stale;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

#[derive(Template)]
#[template(path = "card/home.html")]
struct HomePage {
    shell: Shell,
    /// The card, or the overview for a reader whose consent does not reach it.
    back: (String, &'static str),
    newest: Option<Shown>,
    /// The form that withdraws the newest, and its address.
    withdrawing: Option<(FormView, String)>,
    draft: Option<Draft>,
    write: Option<(String, &'static str)>,
    earlier: Vec<Shown>,
    cautions: Vec<&'static str>,
}

/// A released edition, finished.
struct Shown {
    title: String,
    body: String,
    about: String,
    /// Where the family answers it.
    tried_href: String,
    /// The notes that answered it: address and words.
    notes: Vec<(String, String)>,
}

/// What waits to be released.
struct Draft {
    body: String,
    about: String,
    form: FormView,
    release: String,
}

/// The tasks it may be about: the student's own, then the kinds of a home.
struct Tasks {
    own: Vec<(String, String)>,
}

impl Tasks {
    async fn load(snapshot: &mut Snapshot, visit: &Visit) -> Result<Self> {
        let mut own = Vec::new();
        if let Some(access) = visit.open_if::<TaskGlimpse, Read>().await? {
            for task in task::glimpses(snapshot, &access).await? {
                let name = if task.name.is_empty() { words::capital(task.code.words()) } else { task.name };
                own.push((task.id.to_string(), name));
            }
        }
        Ok(Self { own })
    }

    fn offered(&self) -> Vec<(String, String)> {
        let kinds = TaskCode::AT_HOME.iter().map(|code| (code.code().to_owned(), words::capital(code.words())));
        self.own.iter().cloned().chain(kinds).collect()
    }

    fn named(&self, edition: &Edition) -> String {
        let own = edition.task.and_then(|id| self.own.iter().find(|(known, _)| *known == id.to_string()));
        match (own, edition.code) {
            (Some((_, name)), _) => name.clone(),
            (None, Some(code)) => words::capital(code.words()),
            (None, None) => String::new(),
        }
    }
}

fn chosen(edition: &Edition) -> String {
    let task = edition.task.map(|id| id.to_string());
    task.or_else(|| edition.code.map(|code| code.code().to_owned())).unwrap_or_default()
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<TryAtHome, Read>,
) -> Result<Response> {
    Ok(Page(shown(&app, &context, &visit, &access, None).await?).into_response())
}

async fn shown(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<TryAtHome, Read>,
    withdrawing: Option<FormView>,
) -> Result<HomePage> {
    let mut snapshot = app.store.snapshot().await?;
    let editions = try_at_home::editions(&mut snapshot, access).await?;
    let mut notes = try_at_home::notes(&mut snapshot, access).await?;
    let tasks = Tasks::load(&mut snapshot, visit).await?;
    let mut told: Vec<Caution> = Vec::new();
    if let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? {
        let in_hand = loan::in_hand(&mut snapshot, &access).await?;
        told = in_hand.iter().flat_map(|one| cautions(one.kind, Occasion::Screen)).collect();
        told.sort_unstable();
        told.dedup();
    }
    let zone = app.store.clock().zone();
    let may_try = visit.may::<HomeObservation, Create>() && !visit.may::<TryAtHome, Edit>();
    let mut shown = editions.iter().filter_map(|edition| {
        let at = words::instant(edition.released_at?, zone);
        let answers = notes.remove(&edition.id).unwrap_or_default();
        Some(Shown {
            title: format!(
                "Edition {}, released by {} on {at}{}",
                edition.number,
                edition.released_by,
                gone(edition, zone)
            ),
            body: edition.body.clone(),
            about: tasks.named(edition),
            tried_href: if may_try {
                visit.at(&format!("/observations/new?home={}", edition.id))
            } else {
                String::new()
            },
            notes: answers
                .iter()
                .enumerate()
                .map(|(place, id)| (visit.at(&format!("/observations/{id}")), format!("Note {} from home", place + 1)))
                .collect(),
        })
    });
    let counts = editions.iter().find(|edition| edition.released_at.is_some()).filter(|one| one.withdrawn.is_none());
    let newest = if counts.is_some() { shown.next() } else { None };
    let earlier = shown.map(|one| Shown { tried_href: String::new(), ..one }).collect();
    let drafted = editions.iter().find(|edition| edition.released_at.is_none());
    let draft = drafted.filter(|_| visit.may::<TryAtHome, Sign>()).map(|edition| Draft {
        body: edition.body.clone(),
        about: tasks.named(edition),
        form: FormView::blank(context).at_version(edition.version),
        release: visit.at("/card/at-home/release"),
    });
    let write = visit.may::<TryAtHome, Edit>().then(|| {
        let words = match (drafted, &newest) {
            (Some(_), _) => "Change the draft",
            (None, Some(_)) => "Write a new edition",
            (None, None) => "Write what to try",
        };
        (visit.at("/card/at-home/edit"), words)
    });
    let withdrawing = counts.filter(|_| visit.may::<TryAtHome, Sign>()).map(|edition| {
        let form = withdrawing.unwrap_or_else(|| FormView::blank(context).at_version(edition.number));
        (form, visit.at("/card/at-home/withdraw"))
    });
    let mut shell = shell_about(context, visit, "What to try at home");
    shell.has_faults = withdrawing.as_ref().is_some_and(|(form, _)| !form.faults.is_empty());
    Ok(HomePage {
        shell,
        withdrawing,
        back: if visit.may::<Card, Read>() {
            (visit.at("/card"), "Classroom card")
        } else {
            (visit.at(""), "Overview")
        },
        newest,
        draft,
        write,
        earlier,
        cautions: told.into_iter().map(Caution::words).collect(),
    })
}

/// That an edition was withdrawn, and why: for those who write.
fn gone(edition: &Edition, zone: &TimeZone) -> String {
    edition.withdrawn.as_ref().map_or_else(String::new, |(at, by, reason)| {
        format!("; withdrawn by {by} on {}: {reason}", words::instant(*at, zone))
    })
}

pub(super) async fn withdraw(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<TryAtHome, Sign>,
    posted: Posted,
) -> Result<Response> {
    let mut check = Check::new(&posted.entry);
    let reason = check.text("reason", "The reason", SHORT_TEXT);
    let reason = match check.build(|| Some(reason)) {
        Ok(reason) => reason,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(shown(&app, &context, &visit, &access.read(), Some(form)).await?).into_response());
        }
    };
    let location = visit.at("/card/at-home");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match try_at_home::withdraw(&mut tx, &access, posted.version.unwrap_or(0), &reason).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id).doing("withdraw").told("withdrawn"), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => {
            let changed = "another edition was released, or it was withdrawn meanwhile".to_owned();
            let rows = vec![("What to try at home".to_owned(), changed, reason)];
            Err(Error::Stale(Box::new(Both { back: location, rows })))
        }
        Err(error) => Err(error.into()),
    }
}

#[derive(Template)]
#[template(path = "card/home_edit.html")]
struct EditPage {
    shell: Shell,
    form: FormView,
    tasks: Vec<(String, String)>,
    action: String,
    back: String,
}

fn entry_of(body: &str, task: &str) -> Entry {
    Entry::default().with("body", body).with("task", task)
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<TryAtHome, Edit>,
    form: Option<FormView>,
) -> Result<EditPage> {
    let mut snapshot = app.store.snapshot().await?;
    let tasks = Tasks::load(&mut snapshot, visit).await?;
    let form = match form {
        Some(form) => form,
        // The next edition starts as a copy of the last.
        None => match try_at_home::editions(&mut snapshot, access).await?.first() {
            Some(edition) => {
                let form = FormView::filled(context, entry_of(&edition.body, &chosen(edition)));
                if edition.released_at.is_none() { form.at_version(edition.version) } else { form }
            }
            None => FormView::blank(context),
        },
    };
    Ok(EditPage {
        shell: shell_about(context, visit, "Write what to try at home").of_form(&form),
        form,
        tasks: tasks.offered(),
        action: visit.at("/card/at-home/edit"),
        back: visit.at("/card/at-home"),
    })
}

pub(super) async fn edit_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<TryAtHome, Edit>,
) -> Result<Response> {
    Ok(Page(build(&app, &context, &visit, &access, None).await?).into_response())
}

fn checked(entry: &Entry, offered: &[(String, String)]) -> std::result::Result<Wording, Faults> {
    let mut check = Check::new(entry);
    let body = check.text("body", "What to try", LONG_TEXT);
    let task = check.typed("task");
    if !task.is_empty() && offered.iter().all(|(code, _)| code != task) {
        check.fault("task", "Choose one of the things listed, or leave it open.");
    }
    check.build(|| Some(Wording { body, task: task.parse().ok(), code: task.parse().ok() }))
}

pub(super) async fn edit(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<TryAtHome, Edit>,
    posted: Posted,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let offered = Tasks::load(&mut snapshot, &visit).await?.offered();
    drop(snapshot);
    let wording = match checked(&posted.entry, &offered) {
        Ok(wording) => wording,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&app, &context, &visit, &access, Some(form)).await?).into_response());
        }
    };
    let location = visit.at("/card/at-home");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match try_at_home::save_draft(&mut tx, &access, &wording, posted.version).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            let mut snapshot = app.store.snapshot().await?;
            let theirs = try_at_home::editions(&mut snapshot, &access).await?.into_iter().next();
            let body = theirs.as_ref().map(|edition| edition.body.clone()).unwrap_or_default();
            let rows = vec![("What to try".to_owned(), body, wording.body)];
            let both = Both { back: visit.at("/card/at-home/edit"), rows };
            // What was released meanwhile is saved over by nobody.
            match theirs.filter(|edition| edition.released_at.is_none()) {
                Some(draft) => Err(stale::error(&mut snapshot, &access, (draft.id, draft.version), both).await?),
                None => Err(Error::Stale(Box::new(both))),
            }
        }
        Err(error) => Err(error.into()),
    }
}

pub(super) async fn release(
    State(app): State<App>,
    visit: Visit,
    access: Access<TryAtHome, Sign>,
    posted: Posted,
) -> Result<Response> {
    let location = visit.at("/card/at-home");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match try_at_home::release(&mut tx, &access, posted.version.unwrap_or(0)).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id).told("released"), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => Err(Error::Stale(Box::new(Both { back: location, rows: Vec::new() }))),
        Err(error) => Err(error.into()),
    }
}
