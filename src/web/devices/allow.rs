//! The clinician's answer on another device (G4): what was asked beside what is
//! recommended, allowed with a reason or left; and leave taken back.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::ask::for_this_eye;
use super::compare;
use crate::access::action::{Create, Read, Sign};
use crate::access::resource::{LoanDecision, Loans, Pool, Thread};
use crate::access::{Access, Office};
use crate::care::caution::Occasion;
use crate::care::device::Match;
use crate::care::gates::{Blocked, another_device, nearest, safe_to_train};
use crate::care::ids::{LoanAllowanceId, LoanRequestId, PostId};
use crate::care::journey::{Journey, Recommendation};
use crate::care::loan::short_words;
use crate::care::named_device::NamedDevice;
use crate::store::allowance::{Allowance, Request};
use crate::store::{Audit, StoreError, Tx, allowance, journey, pool, question};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::{self, Notice, Table};
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words;

#[derive(Template)]
#[template(path = "devices/allow.html")]
struct AllowPage {
    shell: Shell,
    back: String,
    action: String,
    device: String,
    track: &'static str,
    asked: String,
    reason: String,
    state: String,
    blocked: Option<Notice>,
    tables: Vec<Table>,
    answers: [(&'static str, &'static str); 2],
    form: FormView,
    cautions: super::Heeded,
}

fn build(
    (context, visit): (&Context, &Visit),
    (journey, readable): (&Journey, Option<&Recommendation>),
    asked: &Request,
    device: &pool::Kept,
    form: FormView,
) -> AllowPage {
    let lent = for_this_eye(journey, device);
    let mut tables = Vec::new();
    let several = readable.is_some_and(|now| now.devices.len() > 1);
    for (place, wanted) in readable.iter().flat_map(|now| &now.devices).enumerate() {
        let differs = match crate::care::device::matches(journey.track, wanted, &lent.spec, &[]) {
            Match::Differs(parts) => parts,
            Match::Matches(_) => Vec::new(),
        };
        let caption = match several {
            true => format!("{} beside recommended device {}", asked.tag, place + 1),
            false => format!("{} beside the recommended device", asked.tag),
        };
        let other = NamedDevice { spec: lent.spec.clone(), ..device.entered.device.clone() };
        let pair = (&NamedDevice::of(wanted.clone()), &other);
        tables.push(compare::table(&caption, ("Recommended", "Asked for"), pair, &differs, context));
    }
    let state = asked.answer.as_ref().map_or_else(String::new, |answer| {
        let said = if answer.allowed { "Allowed" } else { "Left as recommended" };
        format!("{said} by {} on {}: {}", answer.by, words::date(answer.on), answer.reason)
    });
    let blocked = match gate(journey, asked, device) {
        Err(blocked) if asked.answer.is_none() => {
            Some(part::notice("plain", "It cannot be allowed now", &blocked.to_string()))
        }
        _ => None,
    };
    AllowPage {
        shell: shell_about(context, visit, "Another device is asked for").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/requests/{}", asked.id)),
        device: format!("{}, {}", asked.tag, short_words(&device.entered.device.spec)),
        track: journey.track.words(),
        asked: format!("{}, {}", asked.by, words::date(asked.on)),
        reason: asked.reason.clone(),
        state,
        blocked,
        tables,
        answers: [("allow", "Allow this device"), ("leave", "Leave it at what is recommended")],
        cautions: super::heeded(&[device.entered.device.spec.kind].into(), Occasion::Loan),
        form,
    }
}

fn gate(
    journey: &Journey,
    asked: &Request,
    device: &pool::Kept,
) -> std::result::Result<crate::care::gates::AnotherDevice, Blocked> {
    let safe = safe_to_train(journey)?;
    another_device(journey, safe, &for_this_eye(journey, device), Some(asked.under))
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    office: Office<Pool, Read>,
    _access: Access<LoanDecision, Create>,
    Record(id): Record<LoanRequestId>,
) -> Result<Response> {
    let reading = visit.open::<Loans, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let asked = allowance::request_of(&mut snapshot, &reading, id).await?;
    let tracks = journey::tracks(&mut snapshot, &reading).await?;
    let device = match pool::one(&mut snapshot, &office, asked.device).await {
        // It left the pool since: the list of what was asked is all there is.
        Err(StoreError::Missing) => return Ok(Redirect::to(&visit.at("/devices")).into_response()),
        found => found?,
    };
    let journey = tracks.of(asked.track);
    let readable = super::readable(&visit, journey.recommendation.as_ref()).await?;
    let form = FormView::blank(&context);
    Ok(Page(build((&context, &visit), (journey, readable), &asked, &device, form)).into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    office: Office<Pool, Read>,
    access: Access<LoanDecision, Create>,
    Record(id): Record<LoanRequestId>,
    posted: Posted,
) -> Result<Response> {
    // Taken before the write begins: a proof that takes content across writes its own line.
    let reading = visit.open::<Loans, Read>().await?;
    let answering = (visit.open::<Thread, Create>().await?, visit.open::<Thread, Read>().await?);
    let location = visit.at("/devices");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let asked = allowance::request_of(&mut tx, &reading, id).await?;
    let tracks = journey::tracks(&mut tx, &reading).await?;
    let journey = tracks.of(asked.track);
    let device = pool::one(&mut tx, &office, asked.device).await?;
    if let Some(theirs) = &asked.answer {
        let said = |allowed| if allowed { "allowed" } else { "left as recommended" }.to_owned();
        let yours = posted.entry.get("reason").to_owned();
        let rows = vec![
            ("Answer".to_owned(), said(theirs.allowed), said(posted.entry.get("answer") == "allow")),
            ("Reason".to_owned(), theirs.reason.clone(), yours),
        ];
        return Err(Error::Stale(Box::new(Both { back: location, rows })));
    }
    let mut check = Check::new(&posted.entry);
    let answer = check.one_of("answer", "Your answer", &["allow", "leave"]);
    let reason = check.text("reason", "Reason", LONG_TEXT);
    let (answer, reason) = match check.build(|| Some((answer?, reason))) {
        Ok(checked) => checked,
        Err(faults) => {
            // A proof that takes content across writes its own line.
            drop(tx);
            let readable = super::readable(&visit, journey.recommendation.as_ref()).await?;
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build((&context, &visit), (journey, readable), &asked, &device, form)).into_response());
        }
    };
    let said = if answer == "allow" {
        let another = gate(journey, &asked, &device).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
        allowance::allow(&mut tx, &access, id, &another, &reason).await?;
        format!("{} is allowed under this recommendation: {reason}", asked.tag)
    } else {
        allowance::leave(&mut tx, &access, id, &reason).await?;
        format!("{} is not allowed; it stays at what is recommended: {reason}", asked.tag)
    };
    close(&mut tx, (&answering.0, &answering.1), asked.post, &said).await?;
    let audit = Audit::by(&access).record(id).told("given").track(asked.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// Answers the question in the thread as well, unless somebody did.
async fn close(
    tx: &mut Tx,
    (writing, reading): (&Access<Thread, Create>, &Access<Thread, Read>),
    question: Option<PostId>,
    said: &str,
) -> Result<()> {
    let Some(asked) = question else { return Ok(()) };
    match question::one(tx, reading, asked).await {
        Ok(post) if post.is_open() => {}
        Ok(_) | Err(StoreError::Missing) => return Ok(()),
        Err(error) => return Err(error.into()),
    }
    match question::answer(tx, writing, reading, asked, said).await {
        Ok(id) => Ok(tx.also(Audit::by(writing).doing("answer").record(id)).await?),
        Err(StoreError::Stale | StoreError::Missing) => Ok(()),
        Err(error) => Err(error.into()),
    }
}

#[derive(Template)]
#[template(path = "devices/withdraw.html")]
struct WithdrawPage {
    shell: Shell,
    back: String,
    action: String,
    given: String,
    out: String,
    form: FormView,
}

async fn given(app: &App, visit: &Visit, id: LoanAllowanceId) -> Result<(Allowance, String)> {
    let reading = visit.open::<Loans, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let all = allowance::list(&mut snapshot, &reading).await?;
    let given = all.into_iter().find(|given| given.id == id).ok_or(Error::Hidden)?;
    let tracks = journey::tracks(&mut snapshot, &reading).await?;
    let journey = tracks.of(given.track);
    let rests = |loan: &&crate::care::journey::Loan| {
        loan.device == given.device && !matches!(nearest(journey, &loan.spec, &[]), Some((_, Match::Matches(_))))
    };
    let out = journey.open_loans().find(rests).map_or_else(String::new, |loan| {
        format!(
            "It is out on loan since {}. From today that loan is due back and takes no session.",
            words::date(loan.opened_on)
        )
    });
    Ok((given, out))
}

fn withdraw_page(context: &Context, visit: &Visit, (given, out): (&Allowance, String), form: FormView) -> WithdrawPage {
    WithdrawPage {
        shell: shell_about(context, visit, "Take leave back").of_form(&form),
        back: visit.at("/devices"),
        action: visit.at(&format!("/devices/allowances/{}/withdraw", given.id)),
        given: format!(
            "{}: allowed by {} on {}, because: {}",
            given.tag,
            given.by,
            words::date(given.on),
            given.reason
        ),
        out,
        form,
    }
}

pub(super) async fn withdraw_form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<LoanDecision, Sign>,
    Record(id): Record<LoanAllowanceId>,
) -> Result<Response> {
    let (given, out) = given(&app, &visit, id).await?;
    if given.withdrawn.is_some() {
        return Ok(Redirect::to(&visit.at("/devices")).into_response());
    }
    Ok(Page(withdraw_page(&context, &visit, (&given, out), FormView::blank(&context))).into_response())
}

pub(super) async fn withdraw(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<LoanDecision, Sign>,
    Record(id): Record<LoanAllowanceId>,
    posted: Posted,
) -> Result<Response> {
    let (given, out) = given(&app, &visit, id).await?;
    let location = visit.at("/devices");
    if let Some(theirs) = &given.withdrawn {
        let rows = vec![("Reason".to_owned(), theirs.reason.clone(), posted.entry.get("reason").to_owned())];
        return Err(Error::Stale(Box::new(Both { back: location, rows })));
    }
    let mut check = Check::new(&posted.entry);
    let reason = check.text("reason", "Reason", LONG_TEXT);
    let reason = match check.build(|| Some(reason)) {
        Ok(reason) => reason,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(withdraw_page(&context, &visit, (&given, out), form)).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    allowance::withdraw(&mut tx, &access, id, &reason).await?;
    let audit = Audit::by(&access).record(id).told("taken back").track(given.track);
    tx.commit_at(audit, &location).await?;
    Ok(Redirect::to(&location).into_response())
}
