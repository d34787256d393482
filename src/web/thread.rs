//! The feedback thread of one student: what happened and what people wrote, in
//! one order, newest first.
//!
//! This file holds the page and writing into it. `kind` says who may read a line
//! about a record, `line` makes the lines, `filter` chooses among them,
//! `question` is what becomes of a question, `spoken` what the student said.

mod filter;
mod kind;
mod line;
mod question;
mod spoken;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;

use self::filter::{Cursor, Filter};
pub(super) use self::line::Line;
use self::line::Reader;
use super::check::{Check, LONG_TEXT};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::action::{Create, Read};
use crate::access::resource::{Team, Thread};
use crate::access::{Access, Role};
use crate::care::thread::{Group, Setting};
use crate::store::post::NewPost;
use crate::store::{Audit, Snapshot, post, team, thread_read};

/// The routes of the thread.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/thread", page)
        .post("/students/{student}/thread", write)
        .post("/students/{student}/thread/unread", unread)
        .get("/students/{student}/thread/words", spoken::page)
        .post("/students/{student}/thread/words", spoken::write)
        .get("/students/{student}/thread/{record}/answer", question::answer_page)
        .post("/students/{student}/thread/{record}/answer", question::answer)
        .get("/students/{student}/thread/{record}/close", question::close_page)
        .post("/students/{student}/thread/{record}/close", question::close)
        .get("/students/{student}/thread/{record}/reopen", question::reopen_page)
        .post("/students/{student}/thread/{record}/reopen", question::reopen)
}

/// How many lines the overview shows.
const NEWEST: usize = 6;

/// How many lines one page of the thread shows.
const ON_A_PAGE: usize = 50;

/// A link that chooses lines: address, words, whether it is what is shown.
type Choice = (String, String, bool);

#[derive(Template)]
#[template(path = "thread/page.html")]
struct ThreadPage {
    shell: Shell,
    form: Option<FormView>,
    action: String,
    to: Vec<(String, String)>,
    words_href: String,
    ways: Vec<Choice>,
    filter: FilterForm,
    /// What was chosen, each with the address without it.
    chosen: Vec<(String, String)>,
    shown: String,
    empty: Option<Empty>,
    lines: Vec<(String, Line)>,
    mark: FormView,
    mark_action: String,
    newest_href: String,
    older_href: String,
}

/// The choices as a form that only asks.
struct FilterForm {
    view: FormView,
    action: String,
    open: bool,
    since: String,
    kinds: Vec<(String, String)>,
    settings: Vec<(String, String)>,
    roles: Vec<(String, String)>,
    only: [(&'static str, &'static str); 1],
    only_new: [(&'static str, &'static str); 1],
}

/// What is said where nothing is left to show.
struct Empty {
    words: &'static str,
    /// Address and words of each choice whose taking away would show something.
    take_away: Vec<(String, String)>,
}

/// How many lines are new to this person, where there are any.
pub(super) async fn count_new(snapshot: &mut Snapshot, access: &Access<Thread, Read>) -> Result<usize> {
    let read = thread_read::until(snapshot, access).await?;
    line::count_new(snapshot, access, read).await
}

/// What was entered since an instant, as far as the reader of the proof may read it.
pub(super) async fn count_since(
    snapshot: &mut Snapshot,
    access: &Access<Thread, Read>,
    since: Timestamp,
) -> Result<line::New> {
    line::count_since(snapshot, access, since).await
}

/// "3 new", or nothing.
pub(super) fn new_words(count: usize) -> String {
    if count == 0 { String::new() } else { format!("{count} new") }
}

/// The newest lines, for the overview, and how many are new in all.
pub(super) async fn newest(app: &App, visit: &Visit, access: &Access<Thread, Read>) -> Result<(Vec<Line>, usize)> {
    let mut snapshot = app.store.snapshot().await?;
    let read = thread_read::until(&mut snapshot, access).await?;
    let reader = Reader { visit, access, read };
    let mut lines = line::all(&mut snapshot, reader, line::Observed::default()).await?;
    let new = lines.iter().filter(|line| line.new).count();
    lines.truncate(NEWEST);
    Ok((lines, new))
}

/// What a page is built from besides the record.
struct Asked {
    filter: Filter,
    view: FormView,
    form: Option<FormView>,
}

impl Asked {
    /// The whole thread, with the form of a post that came back.
    fn everything(context: &Context, form: FormView) -> Self {
        Self { filter: Filter::default(), view: FormView::blank(context), form: Some(form) }
    }
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Thread, Read>,
    asked: Asked,
) -> Result<ThreadPage> {
    let Asked { mut filter, view, form } = asked;
    let mut snapshot = app.store.snapshot().await?;
    let read = thread_read::until(&mut snapshot, access).await?;
    let observed = line::observed(&mut snapshot, visit).await?;
    let reader = Reader { visit, access, read: filter.since.or(read) };
    let lines = line::all(&mut snapshot, reader, observed).await?;
    let to = roles(&mut snapshot, access).await?;
    drop(snapshot);
    // The mark moves only when there is something behind it, and only by looking
    // at all there is.
    let newest = lines.first().map(|line| line.at).filter(|newest| read.is_none_or(|read| *newest > read));
    if let Some(newest) = newest.filter(|_| filter.shows_all() && view.faults.is_empty()) {
        let mut tx = app.store.tx().await?;
        thread_read::mark(&mut tx, access, newest).await?;
        tx.commit(Audit::by(access).doing("mark as read")).await?;
    }
    // What is new on this page stays so on the pages that it leads to.
    if filter.since.is_none() && lines.iter().any(|line| line.new) {
        filter.since = Some(read.unwrap_or(Timestamp::UNIX_EPOCH));
    }
    let form = visit
        .may::<Thread, Create>()
        .then(|| form.unwrap_or_else(|| FormView::filled(context, Entry::default().with("to", "note"))));
    let mut shell = shell_about(context, visit, "Thread");
    shell.has_faults = form.as_ref().is_some_and(|form| !form.faults.is_empty()) || !view.faults.is_empty();
    let at = |filter: &Filter| visit.at(&format!("/thread{}", filter.query()));
    let total = filter.count(&lines);
    let ways = ways(&filter, &lines, &at);
    let chosen = filter.chosen();
    let empty = (total == 0).then(|| empty(&filter, &lines, &at));
    let filter_form = filter_form(view, &filter, &lines, visit.at("/thread"));
    let (lines, before, more) = a_page(lines, &filter);
    let older = lines.last().filter(|_| more).map(|last| Filter { older: Some(Cursor::of(last)), ..filter.clone() });
    Ok(ThreadPage {
        shell,
        form,
        action: visit.at("/thread"),
        to,
        words_href: if spoken::may_add(visit) { visit.at("/thread/words") } else { String::new() },
        ways,
        filter: filter_form,
        chosen: chosen.iter().map(|(words, without)| (words.clone(), at(without))).collect(),
        shown: if lines.is_empty() {
            String::new()
        } else {
            format!("Lines {} to {} of {total}, newest first", before + 1, before + lines.len())
        },
        empty,
        newest_href: if before == 0 { String::new() } else { at(&filter.newest()) },
        older_href: older.map(|older| at(&older)).unwrap_or_default(),
        lines: lines.into_iter().map(|line| (Cursor::of(&line).code(), line)).collect(),
        mark: FormView::blank(context),
        mark_action: visit.at("/thread/unread"),
    })
}

/// The lines of one page, how many come before them and whether more follow. The
/// place is named by a line, so what is added later moves nothing.
fn a_page(lines: Vec<Line>, filter: &Filter) -> (Vec<Line>, usize, bool) {
    let kept: Vec<Line> = lines.into_iter().filter(|line| filter.keeps(line)).collect();
    let before = match &filter.older {
        Some(cursor) => kept.iter().filter(|line| Cursor::of(line) >= *cursor).count(),
        None => 0,
    };
    let more = kept.len() > before + ON_A_PAGE;
    (kept.into_iter().skip(before).take(ON_A_PAGE).collect(), before, more)
}

/// The ways through a thread that are taken most, with how much each shows.
fn ways(filter: &Filter, lines: &[Line], at: &impl Fn(&Filter) -> String) -> Vec<Choice> {
    let all = filter.cleared();
    let open = Filter { open: true, ..filter.cleared() };
    let new = Filter { new: true, ..filter.cleared() };
    [(all, "Everything"), (open, "Open questions"), (new, "New to you")]
        .into_iter()
        .map(|(way, words)| {
            let here = way == *filter;
            (at(&way), format!("{words} ({})", way.count(lines)), here)
        })
        .collect()
}

fn empty(filter: &Filter, lines: &[Line], at: &impl Fn(&Filter) -> String) -> Empty {
    if lines.is_empty() {
        return Empty { words: "Nothing here yet that you may read.", take_away: Vec::new() };
    }
    let mut take_away: Vec<(String, String)> = filter
        .chosen()
        .into_iter()
        .map(|(words, without)| (without.count(lines), words, without))
        .filter(|(count, ..)| *count > 0)
        .map(|(count, words, without)| (at(&without), format!("Take away \u{201c}{words}\u{201d} ({count})")))
        .collect();
    take_away.push((at(&filter.cleared()), format!("Show everything ({})", lines.len())));
    Empty { words: "Nothing here fits all of these choices.", take_away }
}

fn filter_form(mut view: FormView, filter: &Filter, lines: &[Line], action: String) -> FilterForm {
    if view.faults.is_empty() {
        for kind in &filter.kinds {
            view.entry.add("kind", kind.code());
        }
        let mut set = |name: &str, value: Option<String>| view.entry.set(name, value.unwrap_or_default());
        set("open", filter.open.then(|| "yes".to_owned()));
        set("new", filter.new.then(|| "yes".to_owned()));
        set("setting", filter.setting.map(|one| one.code().to_owned()));
        set("role", filter.role.map(|one| one.code().to_owned()));
        set("from", filter.from.map(|day| day.to_string()));
        set("until", filter.until.map(|day| day.to_string()));
    }
    let count = |way: Filter| way.count(lines);
    let named =
        |code: &str, words: &str, count: usize| (code.to_owned(), format!("{} ({count})", words::capital(words)));
    let beside = filter.newest();
    // A kind, a setting or a role that no line of this reader has is not offered.
    let kinds =
        Group::ALL.iter().filter(|one| filter.kinds.contains(one) || lines.iter().any(|line| line.is_of(**one)));
    let kinds = kinds.map(|one| {
        let way = Filter { kinds: [*one].into_iter().collect(), ..beside.clone() };
        named(one.code(), one.words(), count(way))
    });
    let settings = Setting::ALL
        .iter()
        .filter(|one| filter.setting == Some(**one) || lines.iter().any(|line| line.setting == Some(**one)))
        .map(|one| named(one.code(), one.words(), count(Filter { setting: Some(*one), ..beside.clone() })));
    let roles = Role::ALL
        .iter()
        .filter(|one| filter.role == Some(**one) || lines.iter().any(|line| line.role == Some(**one)))
        .map(|one| named(one.code(), one.words(), count(Filter { role: Some(*one), ..beside.clone() })));
    FilterForm {
        open: !view.faults.is_empty() || !filter.chosen().is_empty(),
        action,
        since: filter.since.map(|at| at.as_millisecond().to_string()).unwrap_or_default(),
        kinds: kinds.collect(),
        settings: settings.collect(),
        roles: roles.collect(),
        only: [("yes", "Open questions only")],
        only_new: [("yes", "New to you only")],
        view,
    }
}

/// To whom something may be written: everybody, or one role of the present team.
async fn roles(snapshot: &mut Snapshot, access: &Access<Thread, Read>) -> Result<Vec<(String, String)>> {
    let mut offered = vec![("note".to_owned(), "A note for everybody who may read this thread".to_owned())];
    if let Ok(part) = access.part::<Team>() {
        let today = snapshot.today();
        let members = team::members(snapshot, &part).await?;
        for role in Role::ALL {
            let present =
                members.iter().any(|member| member.role == *role && member.ends_on.is_none_or(|end| end > today));
            if present && access.actor().role != Some(*role) {
                offered.push((role.code().to_owned(), format!("A question to the {}", role.words())));
            }
        }
    }
    Ok(offered)
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Read>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let entry = Entry::of_query(query.as_deref());
    let (filter, faults) = Filter::read(&entry);
    let faulty = !faults.is_empty();
    let mut view = FormView::filled(&context, if faulty { entry } else { Entry::default() });
    view.faults = faults;
    let page = build(&app, &context, &visit, &access, Asked { filter, view, form: None }).await?;
    Ok(if faulty { Again(page).into_response() } else { Page(page).into_response() })
}

fn new_post(entry: &Entry, offered: &[(String, String)]) -> std::result::Result<NewPost, Faults> {
    let mut check = Check::new(entry);
    let to = match check.typed("to") {
        "note" => Some(None),
        _ => check.code::<Role>("to", "To whom").map(Some),
    };
    let nobody = to.flatten().filter(|role| offered.iter().all(|(code, _)| code != role.code()));
    if let Some(role) = nobody {
        check.fault(
            "to",
            format!(
                "Nobody whom you could ask is on this team as {}. Choose another role, or write a note.",
                role.words()
            ),
        );
    }
    let body = check.text("body", "What you write", LONG_TEXT);
    check.build(|| {
        Some(match to? {
            None => NewPost::Note(body),
            Some(role) => NewPost::Question(role, body),
        })
    })
}

async fn write(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Create>,
    posted: Posted,
) -> Result<Response> {
    let reading = visit.open::<Thread, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let offered = roles(&mut snapshot, &reading).await?;
    drop(snapshot);
    let new = match new_post(&posted.entry, &offered) {
        Ok(new) => new,
        Err(faults) => {
            let asked = Asked::everything(&context, FormView::again(&context, &posted, faults));
            return Ok(Again(build(&app, &context, &visit, &reading, asked).await?).into_response());
        }
    };
    let location = visit.at("/thread");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = post::write(&mut tx, &access, &new).await?;
    tx.commit_at(Audit::by(&access).record(id), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// Takes the reader's own mark back; the overview then says how much is new.
async fn unread(
    State(app): State<App>,
    visit: Visit,
    access: Access<Thread, Read>,
    posted: Posted,
) -> Result<Response> {
    let from = Cursor::read(posted.entry.get("from")).ok_or(Error::Unreadable)?;
    let location = visit.at("");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    thread_read::unread_from(&mut tx, &access, from.at()).await?;
    tx.commit_at(Audit::by(&access).doing("mark as unread"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
