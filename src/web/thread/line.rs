//! The lines of a thread, finished: what people wrote and what happened, in one
//! order, newest first.
//!
//! Everything is loaded with one query for each kind, never one for each line.
//! Does not know the filters; read `kind` for who may read a line about a
//! record, and `store::post` for who may read a post.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::kind::{Kind, Reached, happened, kind_of, within};
use crate::access::action::{Create, Read};
use crate::access::resource::{ClassObservation, HomeObservation, Thread};
use crate::access::{Access, Role};
use crate::care::amendment::Amendment;
use crate::care::ids::{AccountId, ObservationId, PostId};
use crate::care::post::{CloseReason, PostKind, QuestionStep};
use crate::care::thread::{Group, Setting};
use crate::store::event::Event;
use crate::store::post::{Post, Which};
use crate::store::question::Step;
use crate::store::student_words::Kept;
use crate::store::suspect::Waiting;
use crate::store::{Snapshot, event, post, question, student_words, suspect};
use crate::web::error::Result;
use crate::web::part::{self, Mark};
use crate::web::visit::Visit;
use crate::web::words;

/// One line of the thread, finished.
pub(in crate::web) struct Line {
    // What filters and order need.
    pub(super) at: Timestamp,
    pub(super) id: String,
    pub(super) day: Date,
    pub(super) group: Group,
    pub(super) setting: Option<Setting>,
    pub(super) role: Option<Role>,
    pub(super) open: bool,
    pub(super) said: bool,
    pub(super) own: bool,
    // What is shown.
    pub(in crate::web) new: bool,
    pub(in crate::web) title: String,
    pub(in crate::web) href: String,
    pub(in crate::web) when: String,
    pub(super) mark: Option<Mark>,
    /// The question that an answer answers.
    pub(super) asked: String,
    pub(in crate::web) body: String,
    /// What the student said, beside the words: the two answers by choice.
    pub(super) answers_by_choice: String,
    /// The student's words where the line itself has none of its own.
    pub(super) words: String,
    pub(super) state: String,
    pub(super) answers: Vec<Answer>,
    pub(super) steps: Vec<String>,
    pub(super) amended: Vec<Amended>,
    pub(super) in_error: bool,
    pub(super) acts: Vec<(String, &'static str)>,
}

impl Line {
    /// Whether the line is of a kind. What the student said is that also where it
    /// stands in an observation.
    pub(super) fn is_of(&self, group: Group) -> bool {
        self.group == group || (self.said && group == Group::StudentWords)
    }
}

/// One corrected field of a post, with both texts.
pub(super) struct Amended {
    pub(super) head: String,
    pub(super) before: String,
    pub(super) after: String,
    pub(super) reason: String,
}

/// An answer as it stands under its question.
pub(super) struct Answer {
    pub(super) by: String,
    pub(super) body: String,
}

/// What is loaded once for all lines.
struct Loaded {
    posts: Vec<Post>,
    steps: Vec<Step>,
    amended: BTreeMap<PostId, Vec<Amendment>>,
    spoken: BTreeMap<PostId, Kept>,
    observed: Observed,
}

/// What is known of observations beside their lines, as far as this reader may
/// read those.
#[derive(Default)]
pub(super) struct Observed {
    /// What the student said.
    said: BTreeMap<ObservationId, Kept>,
    /// What their writers are asked and have not answered.
    waiting: BTreeMap<ObservationId, Waiting>,
}

/// Who reads, and what is new to them.
#[derive(Clone, Copy)]
pub(super) struct Reader<'a> {
    pub(super) visit: &'a Visit,
    pub(super) access: &'a Access<Thread, Read>,
    /// What was entered by others after this is new; none, everything is.
    pub(super) read: Option<Timestamp>,
}

impl Reader<'_> {
    fn is_new(&self, at: Timestamp, account: Option<AccountId>) -> bool {
        account != Some(self.access.actor().account) && self.read.is_none_or(|read| at > read)
    }
}

/// What the student said in observations, and what waits for their writers.
pub(super) async fn observed(snapshot: &mut Snapshot, visit: &Visit) -> Result<Observed> {
    let mut observed = Observed::default();
    let mut waiting = Vec::new();
    if let Some(class) = visit.open_if::<ClassObservation, Read>().await? {
        observed.said.extend(student_words::in_class(snapshot, &class).await?);
        waiting.extend(suspect::waiting(snapshot, &class).await?);
    }
    if let Some(home) = visit.open_if::<HomeObservation, Read>().await? {
        observed.said.extend(student_words::outside(snapshot, &home).await?);
        waiting.extend(suspect::waiting(snapshot, &home).await?);
    }
    observed.waiting = waiting.into_iter().map(|one| (one.id, one)).collect();
    Ok(observed)
}

/// Whose answer a line waits for, and since when.
fn waits_for(one: &Waiting, reader: Reader<'_>, zone: &TimeZone) -> String {
    let asked = if one.words.is_empty() { String::new() } else { format!(": {}", one.words) };
    if one.account == reader.access.actor().account {
        return format!("Waits for your answer{asked}");
    }
    let since = words::date(one.since.to_zoned_datetime(zone.clone()).date());
    format!("Waits for {} since {since}, in no figure until then{asked}", one.by)
}

/// Every post and event this reader may read, newest first.
pub(super) async fn all(snapshot: &mut Snapshot, reader: Reader<'_>, observed: Observed) -> Result<Vec<Line>> {
    let access = reader.access;
    let zone = snapshot.zone().clone();
    let loaded = Loaded {
        posts: post::some_of_student(snapshot, access, Which::Listed).await?,
        amended: post::amendments(snapshot, access).await?,
        steps: question::steps(snapshot, access).await?,
        spoken: student_words::of_posts(snapshot, access).await?,
        observed,
    };
    let mut lines: Vec<Line> = loaded.posts.iter().map(|post| post_line(reader, post, &loaded, &zone)).collect();
    let reached = Reached::load(snapshot, access).await?;
    for event in event::of_student(snapshot, access, None).await? {
        if let Some(kind) = readable(&event, access, &reached) {
            lines.push(event_line(reader, &event, (&kind, &reached), &loaded, &zone));
        }
    }
    lines.sort_by(|one, other| (other.at, &other.id).cmp(&(one.at, &one.id)));
    Ok(lines)
}

/// How many lines by others this reader has not seen: a number, and nothing of
/// what the lines say.
pub(super) async fn count_new(
    snapshot: &mut Snapshot,
    access: &Access<Thread, Read>,
    read: Option<Timestamp>,
) -> Result<usize> {
    let which = read.map_or(Which::All, Which::After);
    let me = access.actor().account;
    let posts = post::some_of_student(snapshot, access, which).await?;
    let events = event::of_student(snapshot, access, read).await?;
    let reached = Reached::load(snapshot, access).await?;
    let told = events.iter().filter(|event| event.account != Some(me) && readable(event, access, &reached).is_some());
    Ok(posts.iter().filter(|post| post.account != me).count() + told.count())
}

/// What is new to a reader in one thread.
pub(in crate::web) struct New {
    /// Entries by others that they may read.
    pub(in crate::web) entries: usize,
    /// How many of them are questions that wait for this reader.
    pub(in crate::web) questions: usize,
}

/// How much was entered since an instant, and how many questions to this
/// reader's role among it still wait.
pub(super) async fn count_since(
    snapshot: &mut Snapshot,
    access: &Access<Thread, Read>,
    since: Timestamp,
) -> Result<New> {
    let entries = count_new(snapshot, access, Some(since)).await?;
    let open = post::some_of_student(snapshot, access, Which::OpenQuestions).await?;
    let waits = |asked: &&Post| asked.waits_since() > since && question::may_answer(asked, access.actor());
    let me = access.actor().account;
    let questions = open.iter().filter(waits).filter(|asked| asked.account != me).count();
    // An old question asked again is no new line, and still something to tell.
    Ok(New { entries: entries.max(questions), questions })
}

fn readable(event: &Event, access: &Access<Thread, Read>, reached: &Reached) -> Option<Kind> {
    kind_of(access, event).filter(|kind| within(event, &kind.limits, access, reached))
}

fn event_line(
    reader: Reader<'_>,
    event: &Event,
    (kind, reached): (&Kind, &Reached),
    loaded: &Loaded,
    zone: &TimeZone,
) -> Line {
    let track = event.track.map(|track| format!(", {}", track.words())).unwrap_or_default();
    let entered = event.at.to_zoned_datetime(zone.clone()).date();
    let about = if entered == event.on { String::new() } else { format!(", about {}", words::date(event.on)) };
    let setting = kind.setting.or_else(|| reached.setting(event));
    let observation = (kind.group == Group::Observations).then_some(event.record.as_ref()).flatten();
    let href = match observation {
        Some(record) => reader.visit.at(&format!("{}/{record}", kind.path)),
        None => reader.visit.at(kind.path),
    };
    let recorded = event.verb == "recorded";
    let id: Option<ObservationId> = observation.filter(|_| recorded).and_then(|record| record.parse().ok());
    let kept = id.and_then(|id| loaded.observed.said.get(&id));
    let waiting = id.and_then(|id| loaded.observed.waiting.get(&id));
    let mine = waiting.is_some_and(|one| one.account == reader.access.actor().account);
    let shared = if recorded && reached.is_shared(event) { "Shared with the class" } else { "" };
    Line {
        at: event.at,
        id: event.id.clone(),
        day: entered,
        group: kind.group,
        setting,
        role: event.role,
        open: waiting.is_some(),
        said: kept.is_some(),
        own: event.account == Some(reader.access.actor().account),
        new: reader.is_new(event.at, event.account),
        title: format!("{}{track}", happened(event, kind, setting)),
        acts: if mine { vec![(href.clone(), "Answer")] } else { Vec::new() },
        href,
        when: format!("{}, {}{about}", event.by, words::instant(event.at, zone)),
        mark: setting.map(|setting| part::mark(setting.code())),
        asked: String::new(),
        body: String::new(),
        answers_by_choice: kept.map(|kept| kept.said.answers()).unwrap_or_default(),
        words: kept.map(|kept| kept.said.words.clone()).unwrap_or_default(),
        state: waiting.map_or_else(|| shared.to_owned(), |one| waits_for(one, reader, zone)),
        answers: Vec::new(),
        steps: Vec::new(),
        amended: Vec::new(),
        in_error: false,
    }
}

/// A name with the role in which somebody wrote.
pub(super) fn who(name: &str, role: Option<Role>) -> String {
    role.map_or_else(|| name.to_owned(), |role| format!("{name}, {}", role.words()))
}

fn post_line(reader: Reader<'_>, post: &Post, loaded: &Loaded, zone: &TimeZone) -> Line {
    let kept = loaded.spoken.get(&post.id);
    let asked = post.answers.and_then(|id| loaded.posts.iter().find(|asked| asked.id == id));
    let day = |at: Timestamp| at.to_zoned_datetime(zone.clone()).date();
    let title = match (post.kind, kept) {
        (_, Some(kept)) => spoken_title(kept, day(post.at)),
        (PostKind::Note, None) => "Note".to_owned(),
        (PostKind::Question, None) => format!("Question to the {}", post.to.map_or("", Role::words)),
        (PostKind::Answer, None) => "Answer".to_owned(),
    };
    let mut answers: Vec<&Post> =
        loaded.posts.iter().filter(|answer| answer.answers == Some(post.id) && !answer.in_error).collect();
    // The newest stands first in the thread; under its question the order is that of a talk.
    answers.reverse();
    Line {
        at: post.at,
        id: post.id.to_string(),
        day: day(post.at),
        group: match (kept, post.kind) {
            (Some(_), _) => Group::StudentWords,
            (None, PostKind::Note) => Group::Notes,
            (None, PostKind::Question | PostKind::Answer) => Group::Questions,
        },
        setting: None,
        role: post.role,
        open: post.is_open(),
        said: kept.is_some(),
        own: post.account == reader.access.actor().account,
        new: reader.is_new(post.at, Some(post.account)),
        title,
        href: String::new(),
        when: match kept {
            Some(_) => format!("Written down by {}, {}", who(&post.by, post.role), words::instant(post.at, zone)),
            None => format!("{}, {}", who(&post.by, post.role), words::instant(post.at, zone)),
        },
        mark: None,
        asked: asked.map(|asked| asked.body.clone()).unwrap_or_default(),
        body: post.body.clone(),
        answers_by_choice: kept.map(|kept| kept.said.answers()).unwrap_or_default(),
        words: String::new(),
        state: if post.in_error { "Entered in error".to_owned() } else { state(post, &answers, &day) },
        answers: answers
            .into_iter()
            .map(|answer| Answer {
                by: format!("Answer by {}, {}", who(&answer.by, answer.role), words::instant(answer.at, zone)),
                body: answer.body.clone(),
            })
            .collect(),
        steps: loaded.steps.iter().filter(|step| step.question == post.id).map(|step| step_words(step, zone)).collect(),
        amended: loaded.amended.get(&post.id).into_iter().flatten().map(|one| amended(one, zone)).collect(),
        in_error: post.in_error,
        acts: acts(reader, post),
    }
}

fn amended(one: &Amendment, zone: &TimeZone) -> Amended {
    Amended {
        head: format!("{} amended by {}, {}", one.field, one.by, words::instant(one.at, zone)),
        before: one.before.clone(),
        after: one.after.clone(),
        reason: one.reason.clone(),
    }
}

fn spoken_title(kept: &Kept, entered: Date) -> String {
    let about = if kept.about.is_empty() { String::new() } else { format!(" about {}", kept.about) };
    let on = if kept.on == entered { String::new() } else { format!(", on {}", words::date(kept.on)) };
    format!("The student\u{2019}s own words{about}{on}")
}

fn state(post: &Post, answers: &[&Post], day: &impl Fn(Timestamp) -> Date) -> String {
    let to = post.to.map_or("", Role::words);
    match (post.kind, post.closed_at) {
        (PostKind::Question, None) => {
            format!("Open since {}, waiting for the {to}", words::date(day(post.waits_since())))
        }
        (PostKind::Question, Some(at)) if post.closed_without_answer => {
            format!("Closed without an answer on {}", words::date(day(at)))
        }
        (PostKind::Question, Some(at)) => {
            let by = answers.first().map(|answer| format!(" by {}", answer.by)).unwrap_or_default();
            format!("Answered{by} on {}", words::date(day(at)))
        }
        _ => String::new(),
    }
}

/// What an asker did with a question, and why.
pub(super) fn step_words(step: &Step, zone: &TimeZone) -> String {
    let did = match step.step {
        QuestionStep::Closed => "Closed without an answer",
        QuestionStep::Reopened => "Asked again",
    };
    let why = step.why.filter(|why| *why != CloseReason::Other).map_or("", CloseReason::words);
    let said = [why, step.reason.as_str()].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(". ");
    let said = if said.is_empty() { String::new() } else { format!(": {said}") };
    format!("{did} by {}, {}{said}", step.by, words::instant(step.at, zone))
}

/// What this reader may do with a post.
fn acts(reader: Reader<'_>, post: &Post) -> Vec<(String, &'static str)> {
    let visit = reader.visit;
    if !visit.may::<Thread, Create>() {
        return Vec::new();
    }
    let (actor, at) = (visit.actor(), |act: &str| visit.at(&format!("/thread/{}/{act}", post.id)));
    let own = post.account == actor.account;
    let mut acts = Vec::new();
    if post.in_error {
        // What was entered in error waits for nothing; its writer may say it was none.
        return if own { vec![(at("error"), "It was no error after all")] } else { acts };
    }
    if question::may_answer(post, actor) && (post.is_open() || !own) {
        let words = match (own, post.is_open()) {
            (true, _) => "Close it with your own answer",
            (false, true) => "Answer",
            (false, false) => "Add an answer",
        };
        acts.push((at("answer"), words));
    }
    if question::may_close(post, actor) {
        acts.push((at("close"), "Close it without an answer"));
    }
    if question::may_reopen(post, actor) {
        acts.push((at("reopen"), "Ask it again"));
    }
    if own {
        acts.push((at("amend"), "Amend"));
    }
    acts
}
