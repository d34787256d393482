//! The red flag: what to do now before anything else, raising one, who has seen
//! it, and a clinician's clearing (G9).
//!
//! One page in several widths: whoever may read a flag reads all of it, a
//! clinician before a consent its kind and date, a classroom teacher her own and
//! whether training is paused, a records officer that alone. Nothing here ranks
//! a sign.

mod note;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::account::wrong_password;
use super::check::{Check, LONG_TEXT};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words::options;
use super::{attachment, steps, words};
use crate::access::action::{Create, Read, Sign as Clearing};
use crate::access::resource::{FlagKind, Pause, Resource, SafetyFlag};
use crate::access::{Access, Role};
use crate::care::flag::{self, Sign};
use crate::care::gates::{MayClear, may_clear};
use crate::care::ids::FlagId;
use crate::store::attachment::{self as stored, Parent};
use crate::store::safety::{NewFlag, Noticed, Raised};
use crate::store::{Audit, account, safety};

/// The routes of the red flag.
pub fn routes(routes: Routes) -> Routes {
    note::routes(routes)
        .get("/students/{student}/safety", page)
        .post("/students/{student}/safety", raise)
        .post("/students/{student}/safety/{record}/seen", seen)
        .get("/students/{student}/safety/{record}/clear", clear_page)
        .post("/students/{student}/safety/{record}/clear", clear)
}

#[derive(Template)]
#[template(path = "safety/page.html")]
struct SafetyPage {
    shell: Shell,
    now: Vec<&'static str>,
    emergency: String,
    harm: &'static str,
    raised: bool,
    paused: Option<&'static str>,
    form: Option<FormView>,
    signs: Vec<(&'static str, String)>,
    action: String,
    flags: Vec<FlagPart>,
    marking: FormView,
    /// Where a records officer attaches an eye doctor's written note.
    note: Option<String>,
}

struct FlagPart {
    sign: String,
    open: bool,
    noticed: String,
    raised: String,
    note: String,
    cleared: String,
    cleared_note: String,
    /// The eye doctor's written note: address and words.
    scans: Vec<(String, String)>,
    seen_by: Vec<String>,
    seen_href: String,
    clear_href: String,
}

/// The choices of a red-flag question.
pub fn signs() -> Vec<(&'static str, String)> {
    options!(Sign)
}

/// What to do now for these open flags, or for whatever may be raised next.
fn now(open: &[Sign]) -> Vec<&'static str> {
    if open.is_empty() || open.contains(&Sign::HitOrSplash) { vec![flag::SPLASH, flag::NOW] } else { vec![flag::NOW] }
}

fn by(name: &str, role: Option<Role>) -> String {
    role.map_or_else(|| name.to_owned(), |role| format!("{name}, {}", role.words()))
}

fn part_of(visit: &Visit, noticed: &Noticed, zone: &jiff::tz::TimeZone) -> FlagPart {
    let open = noticed.cleared_at.is_none();
    let may_clear = open && visit.role() == Some(Role::Clinician) && visit.may::<Pause, Clearing>();
    FlagPart {
        sign: noticed.sign.words().to_owned(),
        open,
        noticed: words::date(noticed.noticed_on),
        raised: words::instant(noticed.raised_at, zone),
        note: String::new(),
        cleared: noticed.cleared_at.map(|at| words::instant(at, zone)).unwrap_or_default(),
        cleared_note: String::new(),
        scans: Vec::new(),
        seen_by: Vec::new(),
        seen_href: if noticed.seen { String::new() } else { visit.at(&format!("/safety/{}/seen", noticed.id)) },
        clear_href: if may_clear { visit.at(&format!("/safety/{}/clear", noticed.id)) } else { String::new() },
    }
}

fn whole_part(visit: &Visit, raised: &Raised, zone: &jiff::tz::TimeZone) -> FlagPart {
    let mut part = part_of(visit, &raised.noticed, zone);
    part.raised = format!("{} by {}", part.raised, by(&raised.by, raised.by_role));
    part.note.clone_from(&raised.note);
    if !part.cleared.is_empty() {
        part.cleared = format!("{} by {}", part.cleared, raised.cleared_by);
    }
    part.cleared_note.clone_from(&raised.cleared_note);
    part.seen_by = raised
        .seen_by
        .iter()
        .map(|seen| format!("{}, {}", by(&seen.name, seen.role), words::instant(seen.at, zone)))
        .collect();
    part
}

async fn build(app: &App, context: &Context, visit: &Visit, form: Option<FormView>) -> Result<SafetyPage> {
    let may_raise = visit.may::<SafetyFlag, Create>();
    if may_raise {
        visit.opens_next(&[Pause::ROW, SafetyFlag::ROW]).await?;
    } else {
        visit.opens_with::<Pause>(&[SafetyFlag::ROW]).await?;
    }
    let pause = visit.open_if::<Pause, Read>().await?;
    if !may_raise && pause.is_none() {
        return Err(Error::Hidden);
    }
    let whole = visit.open_if::<SafetyFlag, Read>().await?;
    // Kind and date add something only for who does not read every flag whole.
    let kinds = match &whole {
        Some(access) if !access.limits().own_only => None,
        _ => visit.open_if::<FlagKind, Read>().await?,
    };
    let attaches = note::attaches(visit).await?;
    let zone = app.store.clock().zone();
    let mut snapshot = app.store.snapshot().await?;
    let (mut flags, mut open, mut known) = (Vec::new(), Vec::new(), Vec::new());
    if let Some(access) = &whole {
        for raised in safety::flags(&mut snapshot, access).await? {
            known.push(raised.noticed.id);
            if raised.noticed.cleared_at.is_none() {
                open.push(raised.noticed.sign);
            }
            let mut part = whole_part(visit, &raised, zone);
            if raised.by_note {
                let files = stored::of_parent(&mut snapshot, access, Parent::Flag(raised.noticed.id)).await?;
                part.scans =
                    files.iter().map(|file| (attachment::href(visit, file), attachment::link_words(file))).collect();
            }
            flags.push(part);
        }
    }
    if let Some(access) = &kinds {
        for noticed in safety::kinds(&mut snapshot, access).await? {
            if known.contains(&noticed.id) {
                continue;
            }
            if noticed.cleared_at.is_none() {
                open.push(noticed.sign);
            }
            flags.push(part_of(visit, &noticed, zone));
        }
    }
    flags.sort_by_key(|part| !part.open);
    let paused = match &pause {
        Some(access) => safety::is_paused(&mut snapshot, access).await?,
        None => false,
    };
    let blank = || FormView::filled(context, Entry::default().with("noticed_on", snapshot.today().to_string()));
    let form = may_raise.then(|| form.unwrap_or_else(blank));
    let mut shell = shell_about(context, visit, "Red flag");
    shell.has_faults = form.as_ref().is_some_and(|form| !form.faults.is_empty());
    let number = context.site.emergency_number();
    Ok(SafetyPage {
        shell,
        now: now(&open),
        emergency: if number.chars().any(|c| c.is_ascii_digit()) { number.to_owned() } else { String::new() },
        harm: flag::HARM,
        raised: !open.is_empty(),
        paused: paused.then_some(flag::PAUSED),
        form,
        signs: signs(),
        action: visit.at("/safety"),
        flags,
        marking: FormView::blank(context),
        note: (paused && attaches).then(|| visit.at("/safety/note")),
    })
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    Ok(Page(build(&app, &context, &visit, None).await?).into_response())
}

/// The days on which something may have been noticed: the last year until today.
pub fn noticed_days(today: Date) -> std::ops::RangeInclusive<Date> {
    today.saturating_sub(1.year())..=today
}

fn new_flag(entry: &Entry, today: Date) -> std::result::Result<NewFlag, Faults> {
    let mut check = Check::new(entry);
    let sign = check.code("sign", "What did you notice");
    let noticed_on = check.date("noticed_on", "When", noticed_days(today));
    let note = check.opt_text("note", "Anything else", LONG_TEXT);
    check.build(|| Some(NewFlag { sign: sign?, noticed_on: noticed_on?, note }))
}

async fn raise(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<SafetyFlag, Create>,
    posted: Posted,
) -> Result<Response> {
    let new = match new_flag(&posted.entry, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&app, &context, &visit, Some(form)).await?).into_response());
        }
    };
    let location = visit.at("/safety");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = safety::raise(&mut tx, &access, &new).await?;
    let audit = Audit::by(&access).record(id).told("raised").on(new.noticed_on);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}

async fn seen(
    State(app): State<App>,
    visit: Visit,
    access: Access<FlagKind, Read>,
    Record(id): Record<FlagId>,
    posted: Posted,
) -> Result<Response> {
    let location = visit.at("/safety");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    safety::seen(&mut tx, &access, id).await?;
    tx.commit_at(Audit::by(&access).doing("mark as seen").record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

#[derive(Template)]
#[template(path = "safety/clear.html")]
struct ClearPage {
    shell: Shell,
    form: FormView,
    sign: String,
    noticed: String,
    raised: String,
    action: String,
    back: String,
}

/// On which ground this person clears: a clinician has seen to it; a records
/// officer needs an eye doctor's written note.
fn ground(visit: &Visit) -> Result<MayClear> {
    let clearing = match visit.role() {
        Some(Role::Clinician) => flag::Clearing::ByClinician,
        _ => flag::Clearing::BySteward(flag::Note::Missing),
    };
    may_clear(clearing).map_err(|blocked| steps::blocked(visit.student(), blocked))
}

async fn clear_form(app: &App, context: &Context, visit: &Visit, id: FlagId, form: FormView) -> Result<ClearPage> {
    let kinds = visit.open::<FlagKind, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let noticed = safety::kinds(&mut snapshot, &kinds).await?;
    let noticed = noticed.into_iter().find(|one| one.id == id && one.cleared_at.is_none()).ok_or(Error::Hidden)?;
    Ok(ClearPage {
        shell: shell_about(context, visit, "Clear the red flag").of_form(&form),
        form,
        sign: noticed.sign.words().to_owned(),
        noticed: words::date(noticed.noticed_on),
        raised: words::instant(noticed.raised_at, app.store.clock().zone()),
        action: visit.at(&format!("/safety/{id}/clear")),
        back: visit.at("/safety"),
    })
}

async fn clear_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Pause, Clearing>,
    Record(id): Record<FlagId>,
) -> Result<Response> {
    ground(&visit)?;
    let form = FormView::blank(&context);
    Ok(Page(clear_form(&app, &context, &visit, id, form).await?).into_response())
}

async fn clear(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Pause, Clearing>,
    Record(id): Record<FlagId>,
    posted: Posted,
) -> Result<Response> {
    let may = ground(&visit)?;
    let again = async |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry.set("password", "");
        Ok(Again(clear_form(&app, &context, &visit, id, form).await?).into_response())
    };
    let mut check = Check::new(&posted.entry);
    let note = check.text("note", "What you found", LONG_TEXT);
    let note = match check.build(|| Some(note)) {
        Ok(note) => note,
        Err(faults) => return again(faults).await,
    };
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => return again(wrong_password("password", &attempt)).await,
        };
    let access = visit.open_reentered::<Pause, Clearing>(&reentered).await?;
    let location = visit.at("/safety");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    safety::clear(&mut tx, &access, &reentered, may, id, &note).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("clear").told("cleared"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
