//! What becomes of a question: answering it, closing one's own without an
//! answer, asking one's own again.
//!
//! Whatever was typed for a question that somebody closed meanwhile is shown on
//! the page that says so. Does not decide who may; read `store::question`.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::line::{step_words, who};
use crate::access::action::{Create, Read};
use crate::access::resource::Thread;
use crate::access::{Access, Actor};
use crate::care::ids::PostId;
use crate::care::post::CloseReason;
use crate::store::post::Post;
use crate::store::{Audit, StoreError, post, question};
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

/// What is done with a question.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Act {
    Answer,
    Close,
    Reopen,
}

impl Act {
    const fn path(self) -> &'static str {
        match self {
            Self::Answer => "answer",
            Self::Close => "close",
            Self::Reopen => "reopen",
        }
    }

    const fn title(self) -> &'static str {
        match self {
            Self::Answer => "Answer a question",
            Self::Close => "Close your question without an answer",
            Self::Reopen => "Ask your question again",
        }
    }

    fn may(self, question: &Post, actor: &Actor) -> bool {
        match self {
            Self::Answer => question::may_answer(question, actor),
            Self::Close => question::may_close(question, actor),
            Self::Reopen => question::may_reopen(question, actor),
        }
    }

    /// Whether it was this person's to do, whatever became of the question.
    fn was_theirs(self, question: &Post, actor: &Actor) -> bool {
        let own = question.account == actor.account;
        own || (self == Self::Answer && actor.role.is_some() && question.to == actor.role)
    }
}

#[derive(Template)]
#[template(path = "thread/question.html")]
struct QuestionPage {
    shell: Shell,
    title: &'static str,
    act: Act,
    form: FormView,
    asked: String,
    by: String,
    /// Answers given so far: by whom, and the words.
    answers: Vec<(String, String)>,
    steps: Vec<String>,
    reasons: Vec<(&'static str, String)>,
    action: String,
    back: String,
}

impl QuestionPage {
    fn answering(&self) -> bool {
        self.act == Act::Answer
    }

    fn closing(&self) -> bool {
        self.act == Act::Close
    }
}

async fn shown(
    app: &App,
    context: &Context,
    visit: &Visit,
    (act, id): (Act, PostId),
    form: FormView,
) -> Result<QuestionPage> {
    let access = visit.unshown::<Thread>().ok_or(Error::Hidden)?;
    let mut snapshot = app.store.snapshot().await?;
    let posts = post::of_student(&mut snapshot, &access).await?;
    let asked = posts.iter().find(|post| post.id == id).ok_or(Error::Hidden)?;
    if !act.may(asked, visit.actor()) {
        return Err(changed_or_hidden(visit, act, asked, Vec::new()));
    }
    let access = visit.open::<Thread, Read>().await?;
    let steps = question::steps(&mut snapshot, &access).await?;
    let zone = app.store.clock().zone();
    let signed = |post: &Post| format!("{}, {}", who(&post.by, post.role), words::instant(post.at, zone));
    Ok(QuestionPage {
        shell: shell_about(context, visit, act.title()).of_form(&form),
        title: act.title(),
        act,
        form,
        by: signed(asked),
        asked: asked.body.clone(),
        answers: posts
            .iter()
            .rev()
            .filter(|answer| answer.answers == Some(id))
            .map(|answer| (signed(answer), answer.body.clone()))
            .collect(),
        steps: steps.iter().filter(|step| step.question == id).map(|step| step_words(step, zone)).collect(),
        reasons: options!(CloseReason),
        action: visit.at(&format!("/thread/{id}/{}", act.path())),
        back: visit.at("/thread"),
    })
}

/// To whom the act belonged the page says what became of the question; to others
/// there is nothing here.
fn changed_or_hidden(visit: &Visit, act: Act, asked: &Post, typed: Vec<(String, String, String)>) -> Error {
    if act.was_theirs(asked, visit.actor()) {
        Error::Stale(Box::new(Both { back: visit.at("/thread"), rows: typed }))
    } else {
        Error::Hidden
    }
}

/// What a question became, beside what was typed for it.
async fn overtaken(app: &App, visit: &Visit, (act, id): (Act, PostId), typed: (&str, &str)) -> Result<Error> {
    let access = visit.unshown::<Thread>().ok_or(Error::Hidden)?;
    let mut snapshot = app.store.snapshot().await?;
    let asked = question::one(&mut snapshot, &access, id).await?;
    let zone = app.store.clock().zone();
    let now = match asked.closed_at {
        Some(at) if asked.closed_without_answer => format!("Closed without an answer, {}", words::instant(at, zone)),
        Some(at) => format!("Answered, {}", words::instant(at, zone)),
        None => "Open".to_owned(),
    };
    let (label, text) = typed;
    Ok(changed_or_hidden(visit, act, &asked, vec![(label.to_owned(), now, text.to_owned())]))
}

pub(super) async fn answer_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Thread, Create>,
    Record(id): Record<PostId>,
) -> Result<Response> {
    Ok(Page(shown(&app, &context, &visit, (Act::Answer, id), FormView::blank(&context)).await?).into_response())
}

pub(super) async fn answer(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Create>,
    Record(id): Record<PostId>,
    posted: Posted,
) -> Result<Response> {
    let act = (Act::Answer, id);
    let mut check = Check::new(&posted.entry);
    let body = check.text("body", "Your answer", LONG_TEXT);
    let body = match check.build(|| Some(body)) {
        Ok(body) => body,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(shown(&app, &context, &visit, act, form).await?).into_response());
        }
    };
    let reading = visit.unshown::<Thread>().ok_or(Error::Hidden)?;
    let location = visit.at("/thread");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match question::answer(&mut tx, &access, &reading, id, &body).await {
        Ok(answered) => {
            tx.commit_at(Audit::by(&access).doing("answer").record(answered), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            Err(overtaken(&app, &visit, act, ("Your answer", &body)).await?)
        }
        Err(error) => Err(error.into()),
    }
}

pub(super) async fn close_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Thread, Create>,
    Record(id): Record<PostId>,
) -> Result<Response> {
    Ok(Page(shown(&app, &context, &visit, (Act::Close, id), FormView::blank(&context)).await?).into_response())
}

pub(super) async fn close(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Create>,
    Record(id): Record<PostId>,
    posted: Posted,
) -> Result<Response> {
    let act = (Act::Close, id);
    let mut check = Check::new(&posted.entry);
    let why = check.code::<CloseReason>("why", "Why");
    let reason = match why {
        Some(CloseReason::Other) => check.text("reason", "The reason in your words", SHORT_TEXT),
        _ => check.opt_text("reason", "The reason in your words", SHORT_TEXT),
    };
    let (why, reason) = match check.build(|| Some((why?, reason))) {
        Ok(checked) => checked,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(shown(&app, &context, &visit, act, form).await?).into_response());
        }
    };
    let location = visit.at("/thread");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match question::close(&mut tx, &access, id, why, &reason).await {
        Ok(()) => {
            tx.commit_at(Audit::by(&access).doing("close question").record(id), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            Err(overtaken(&app, &visit, act, ("Your reason", &reason)).await?)
        }
        Err(error) => Err(error.into()),
    }
}

pub(super) async fn reopen_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Thread, Create>,
    Record(id): Record<PostId>,
) -> Result<Response> {
    Ok(Page(shown(&app, &context, &visit, (Act::Reopen, id), FormView::blank(&context)).await?).into_response())
}

pub(super) async fn reopen(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Thread, Create>,
    Record(id): Record<PostId>,
    posted: Posted,
) -> Result<Response> {
    let act = (Act::Reopen, id);
    let mut check = Check::new(&posted.entry);
    let reason = check.opt_text("reason", "What is still open", SHORT_TEXT);
    let reason = match check.build(|| Some(reason)) {
        Ok(reason) => reason,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(shown(&app, &context, &visit, act, form).await?).into_response());
        }
    };
    let location = visit.at("/thread");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match question::reopen(&mut tx, &access, id, &reason).await {
        Ok(()) => {
            tx.commit_at(Audit::by(&access).doing("reopen question").record(id), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            Err(overtaken(&app, &visit, act, ("What is still open", &reason)).await?)
        }
        Err(error) => Err(error.into()),
    }
}
