//! Access limits: what an order leaves to one adult. One records officer puts it
//! down, a second confirms it; lifting it takes two as well.
//!
//! The adult it is about sees a neutral page and no more, from the moment of the
//! confirmation on. Whoever may not confirm is told so here, and the store holds it.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::super::check::{Check, SHORT_TEXT};
use super::super::error::{Error, Result};
use super::super::form::{Entry, Faults, FormView, Posted};
use super::super::page::{Again, Context, Page, Shell, shell_about};
use super::super::params::Record;
use super::super::part::{self, Facts, Status};
use super::super::routes::Routes;
use super::super::state::App;
use super::super::visit::Visit;
use super::super::words::{self, options};
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{AccessLimits, Team};
use crate::access::{Access, Role};
use crate::care::ids::{AccountId, LimitId};
use crate::care::rights::{LimitState, Ordered};
use crate::store::limit::{self, By, Limit, NewLimit};
use crate::store::{Audit, StoreError, account, team};

pub(super) fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/people/limits", page)
        .post("/students/{student}/people/limits", propose)
        .post("/students/{student}/people/limits/{record}/confirm", confirm)
        .post("/students/{student}/people/limits/{record}/withdraw", withdraw)
        .get("/students/{student}/people/limits/{record}/lift", lift_page)
        .post("/students/{student}/people/limits/{record}/lift", propose_lift)
        .post("/students/{student}/people/limits/{record}/lift/confirm", confirm_lift)
        .post("/students/{student}/people/limits/{record}/lift/withdraw", withdraw_lift)
}

/// The longest an order may lie back or reach ahead, in years: a childhood.
const YEARS: i32 = 25;

/// What is said to somebody who would confirm what they proposed, or decide
/// about themselves.
const NOT_YOURS: &str =
    "Nobody confirms what they proposed, or decides about themselves: another records officer does.";

#[derive(Template)]
#[template(path = "people/limits.html")]
struct LimitsPage {
    shell: Shell,
    form: FormView,
    acts: FormView,
    adults: Vec<(String, String)>,
    ordered: Vec<(&'static str, String)>,
    limits: Vec<LimitPart>,
    /// Whether there is another records officer who could confirm.
    second: bool,
    action: String,
    back: String,
}

struct LimitPart {
    title: String,
    status: Status,
    facts: Facts,
    note: &'static str,
    /// What may be done: where, and the words of the button.
    acts: Vec<(String, &'static str)>,
    lift: Option<String>,
}

#[derive(Template)]
#[template(path = "people/lift.html")]
struct LiftPage {
    shell: Shell,
    form: FormView,
    title: String,
    facts: Facts,
    action: String,
    back: String,
}

fn by_words(by: &By, visit: &Visit) -> String {
    format!("{}, {}", by.name, words::instant(by.at, visit.store().clock().zone()))
}

fn title(limit: &Limit) -> String {
    format!("{}: {}", limit.adult, limit.what.ordered.words())
}

fn facts(limit: &Limit, visit: &Visit) -> Facts {
    let zone = visit.store().clock().zone();
    let instant = |at: Option<jiff::Timestamp>| at.map(|at| words::instant(at, zone)).unwrap_or_default();
    let pairs: [(&str, &str); 0] = [];
    part::facts(&pairs)
        .fact("Document", &limit.what.document)
        .fact("First day", &words::date(limit.what.starts_on))
        .fact("Last day", &limit.what.ends_on.map_or_else(|| "until it is lifted".to_owned(), words::date))
        .fact("Proposed by", &by_words(&limit.proposed, visit))
        .fact("Confirmed by", &limit.confirmed.as_ref().map(|by| by_words(by, visit)).unwrap_or_default())
        .fact("Withdrawn", &instant(limit.withdrawn_at))
        .fact("Lifted", &instant(limit.lifted_at))
        .fact(
            "Lifting proposed by",
            &limit.lift.as_ref().map(|lift| by_words(&lift.proposed, visit)).unwrap_or_default(),
        )
        .fact("Document for lifting", limit.lift.as_ref().map_or("", |lift| lift.document.as_str()))
}

fn limit_part(limit: &Limit, visit: &Visit, today: Date) -> LimitPart {
    let state = limit.span.on(today);
    let me = visit.actor().account;
    let about_me = limit.what.account == me;
    let at = |act: &str| visit.at(&format!("/people/limits/{}{act}", limit.id));
    let (mut acts, mut note, mut lift) = (Vec::new(), "", None);
    let kind = match state {
        LimitState::Waiting => {
            note = "Until it is confirmed nothing changes for this person.";
            if about_me || limit.proposed.account == me {
                note = "Until another records officer confirms it nothing changes for this person. You cannot confirm it yourself.";
            } else {
                acts.push((at("/confirm"), "Confirm this limit"));
            }
            if !about_me {
                acts.push((at("/withdraw"), "Withdraw this proposal"));
            }
            "caution"
        }
        LimitState::InForce | LimitState::StartsLater => {
            match &limit.lift {
                None if about_me => {}
                None => lift = Some(at("/lift")),
                Some(waiting) => {
                    note = "It stays in force until another records officer confirms that it is lifted.";
                    if waiting.proposed.account != me && !about_me {
                        acts.push((at("/lift/confirm"), "Confirm that it is lifted"));
                    }
                    if !about_me {
                        acts.push((at("/lift/withdraw"), "Withdraw the proposal to lift it"));
                    }
                }
            }
            if state == LimitState::InForce { "stop" } else { "caution" }
        }
        LimitState::Withdrawn | LimitState::Ended | LimitState::Lifted => "plain",
    };
    LimitPart {
        title: title(limit),
        status: part::status(&words::capital(state.words()), kind),
        facts: facts(limit, visit),
        note,
        acts,
        lift,
    }
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<AccessLimits, Read>,
    form: FormView,
) -> Result<LimitsPage> {
    let team_access = visit.open::<Team, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let limits = limit::list(&mut snapshot, access).await?;
    let adults = parents(&team::members(&mut snapshot, &team_access).await?, visit.actor().account);
    let second = account::other_stewards(&mut snapshot, access).await? > 0;
    drop(snapshot);
    Ok(LimitsPage {
        shell: shell_about(context, visit, "Access limits").of_form(&form),
        form,
        acts: FormView::blank(context),
        adults,
        ordered: options!(Ordered),
        limits: limits.iter().map(|one| limit_part(one, visit, today)).collect(),
        second,
        action: visit.at("/people/limits"),
        back: visit.at("/people"),
    })
}

/// Parents who are or were on the team, each once, without the reader.
pub(super) fn parents(members: &[team::Member], reader: AccountId) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = Vec::new();
    for member in members.iter().filter(|one| one.role == Role::Parent && one.account != reader) {
        let id = member.account.to_string();
        if !found.iter().any(|(known, _)| *known == id) {
            found.push((id, super::with_relation(&member.name, &member.relation)));
        }
    }
    found
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<AccessLimits, Read>,
) -> Result<Response> {
    Ok(Page(build(&app, &context, &visit, &access, FormView::blank(&context)).await?).into_response())
}

fn checked(entry: &Entry, today: Date) -> std::result::Result<NewLimit, Faults> {
    let mut check = Check::new(entry);
    let account: Option<AccountId> = check.code("account", "Which adult");
    let ordered: Option<Ordered> = check.code("rights", "What the order leaves");
    let document = check.text("document", "Document", SHORT_TEXT);
    let (first, last) = (today.saturating_sub(YEARS.years()), today.saturating_add(YEARS.years()));
    let starts_on = check.date("starts_on", "First day", first..=today.saturating_add(1.year()));
    let earliest = starts_on.map_or(today, |start| start.max(today));
    let ends_on = check.opt_date("ends_on", "Last day", earliest..=last);
    check.build(|| Some(NewLimit { account: account?, ordered: ordered?, document, starts_on: starts_on?, ends_on }))
}

async fn propose(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<AccessLimits, Create>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        let reading = visit.open::<AccessLimits, Read>().await?;
        Ok(Again(build(&app, &context, &visit, &reading, form).await?).into_response())
    };
    let new = match checked(&posted.entry, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => return again(faults).await,
    };
    let to = visit.at("/people/limits");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match limit::propose(&mut tx, &access, &new).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id).doing("propose limit"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Missing) => {
            drop(tx);
            again(Faults::one("account", "Choose one of the parents listed.")).await
        }
        Err(error) => Err(error.into()),
    }
}

/// The limit that an address names, for whoever may change it.
async fn known(app: &App, access: &Access<AccessLimits, Edit>, id: LimitId) -> Result<Limit> {
    let mut snapshot = app.store.snapshot().await?;
    let all = limit::list(&mut snapshot, access).await?;
    all.into_iter().find(|limit| limit.id == id).ok_or(Error::Hidden)
}

fn may_decide(limit: &Limit, proposed_by: Option<AccountId>, visit: &Visit) -> Result<()> {
    let me = visit.actor().account;
    if limit.what.account == me || proposed_by == Some(me) {
        return Err(Error::Forbidden(NOT_YOURS.to_owned()));
    }
    Ok(())
}

async fn confirm(
    State(app): State<App>,
    visit: Visit,
    access: Access<AccessLimits, Edit>,
    Record(id): Record<LimitId>,
    posted: Posted,
) -> Result<Response> {
    let limit = known(&app, &access, id).await?;
    may_decide(&limit, Some(limit.proposed.account), &visit)?;
    let to = visit.at("/people/limits");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    limit::confirm(&mut tx, &access, id).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("confirm limit"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}

async fn withdraw(
    State(app): State<App>,
    visit: Visit,
    access: Access<AccessLimits, Edit>,
    Record(id): Record<LimitId>,
    posted: Posted,
) -> Result<Response> {
    may_decide(&known(&app, &access, id).await?, None, &visit)?;
    let to = visit.at("/people/limits");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    limit::withdraw(&mut tx, &access, id).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("withdraw limit"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}

fn lift_form(context: &Context, visit: &Visit, limit: &Limit, form: FormView) -> LiftPage {
    LiftPage {
        shell: shell_about(context, visit, "Lift an access limit").of_form(&form),
        form,
        title: title(limit),
        facts: facts(limit, visit),
        action: visit.at(&format!("/people/limits/{}/lift", limit.id)),
        back: visit.at("/people/limits"),
    }
}

async fn lift_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<AccessLimits, Edit>,
    Record(id): Record<LimitId>,
) -> Result<Response> {
    let limit = known(&app, &access, id).await?;
    Ok(Page(lift_form(&context, &visit, &limit, FormView::blank(&context))).into_response())
}

async fn propose_lift(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<AccessLimits, Edit>,
    Record(id): Record<LimitId>,
    posted: Posted,
) -> Result<Response> {
    let limit = known(&app, &access, id).await?;
    may_decide(&limit, None, &visit)?;
    let mut check = Check::new(&posted.entry);
    let document = check.text("document", "Document", SHORT_TEXT);
    let document = match check.build(|| Some(document)) {
        Ok(document) => document,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(lift_form(&context, &visit, &limit, form)).into_response());
        }
    };
    let to = visit.at("/people/limits");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    limit::propose_lift(&mut tx, &access, id, &document).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("propose to lift limit"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}

async fn confirm_lift(
    State(app): State<App>,
    visit: Visit,
    access: Access<AccessLimits, Edit>,
    Record(id): Record<LimitId>,
    posted: Posted,
) -> Result<Response> {
    let limit = known(&app, &access, id).await?;
    may_decide(&limit, limit.lift.as_ref().map(|lift| lift.proposed.account), &visit)?;
    let to = visit.at("/people/limits");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    limit::confirm_lift(&mut tx, &access, id).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("lift limit"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}

async fn withdraw_lift(
    State(app): State<App>,
    visit: Visit,
    access: Access<AccessLimits, Edit>,
    Record(id): Record<LimitId>,
    posted: Posted,
) -> Result<Response> {
    may_decide(&known(&app, &access, id).await?, None, &visit)?;
    let to = visit.at("/people/limits");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    limit::withdraw_lift(&mut tx, &access, id).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("withdraw lifting"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    const TODAY: Date = date(2026, 11, 25);

    fn whole() -> Entry {
        Entry::default()
            .with("account", "0198f0a0-0000-7000-8000-000000000000")
            .with("rights", "contact_only")
            .with("document", "Order 41 of the county court, in the office safe")
            .with("starts_on", "2026-11-25")
            .with("ends_on", "")
    }

    #[test]
    fn each_missing_part_is_said_beside_its_field() {
        assert!(checked(&whole(), TODAY).is_ok());
        for (field, typed) in [
            ("account", ""),
            ("account", "everybody"),
            ("rights", ""),
            ("rights", "full"),
            ("document", " "),
            ("starts_on", ""),
            ("starts_on", "1890-01-01"),
            ("starts_on", "2029-01-01"),
            ("ends_on", "2026-11-24"),
            ("ends_on", "soon"),
        ] {
            let faults = checked(&whole().with(field, typed), TODAY).err();
            assert!(faults.is_some_and(|faults| faults.of(field).is_some()), "{field} {typed}");
        }
    }
}
