//! The address for a calendar program: made and taken back in the own account,
//! and the dates behind it.
//!
//! The feed says that something is on a day, never what or about whom, so nothing
//! of a record is shown and the disclosure record says nothing. Dates are gathered
//! as letters are counted: under the account's own proofs, without a visit. A date
//! that only a consent lets across is left out: a program that asks every hour is
//! nobody who reads.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use crate::access::action::Read;
use crate::access::resource::{Consents, EvaluationRequest, Loans, Prescription, Resource, Stage};
use crate::access::{Access, Actor, Role};
use crate::care::due;
use crate::care::prescription::State as Standing;
use crate::exchange::feed::{self, Entry, What};
use crate::store::{
    Audit, Snapshot, around, calendar, caseload, consent, decision, journey, prescription, request, setting,
};
use crate::web::error::{Error, Result};
use crate::web::form::Posted;
use crate::web::page::{Context, Page, Shell};
use crate::web::params::Word;
use crate::web::state::App;
use crate::web::visit::Unseen;
use crate::web::words;

/// Days past that a feed still holds, and days ahead. Source: `practice.md` 6.7.
const SHOWN: (i64, i64) = (30, 180);

/// What the account page says of the address; none, there is no address.
pub(super) async fn told(app: &App, snapshot: &mut Snapshot, actor: &Actor) -> Result<Option<String>> {
    let zone = app.store.clock().zone();
    Ok(calendar::own(snapshot, actor).await?.map(|feed| {
        let used = feed.used_at.map_or_else(
            || "not asked for yet".to_owned(),
            |at| format!("last asked for on {}", words::instant(at, zone)),
        );
        format!("Made on {}, {used}.", words::instant(feed.made_at, zone))
    }))
}

#[derive(Template)]
#[template(path = "account/calendar.html")]
struct MadePage {
    shell: Shell,
    link: String,
}

pub(super) async fn make(State(app): State<App>, context: Context, actor: Actor, posted: Posted) -> Result<Response> {
    // A records officer without a role has no students, so there are no dates.
    if actor.role.is_none() {
        return Err(Error::Hidden);
    }
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(actor.account)).await?;
    let token = calendar::make(&mut tx, &actor).await?;
    tx.commit_at(Audit::own(Some(actor.account), "make calendar address"), "/account").await?;
    // The secret is not stored, so the answer itself shows it; the form sent again
    // leads to the account, where it does not stand.
    let link = format!("{}/calendar/{token}", app.address);
    Ok(Page(MadePage { shell: context.shell("The calendar address is made"), link }).into_response())
}

pub(super) async fn end(State(app): State<App>, actor: Actor, posted: Posted) -> Result<Response> {
    if actor.role.is_none() {
        return Err(Error::Hidden);
    }
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(actor.account)).await?;
    calendar::revoke(&mut tx, &actor).await?;
    tx.commit_at(Audit::own(Some(actor.account), "take calendar address back"), "/account").await?;
    Ok(Redirect::to("/account").into_response())
}

/// The feed: the address itself is who asks, so nobody need be signed in.
pub(super) async fn read(State(app): State<App>, Word(token): Word<String>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let reader = calendar::reader(&mut snapshot, &token).await?.ok_or(Error::Hidden)?;
    let today = snapshot.today();
    let entries = dates(&mut snapshot, &reader.actor).await?;
    drop(snapshot);
    let (past, ahead) = (today.saturating_sub(SHOWN.0.days()), today.saturating_add(SHOWN.1.days()));
    let mut shown: Vec<Entry> = entries.into_iter().filter(|entry| (past..=ahead).contains(&entry.on)).collect();
    shown.sort_by(|a, b| (a.on, &a.key).cmp(&(b.on, &b.key)));
    if reader.stale {
        calendar::touch(&app.store, &reader).await?;
    }
    let text = feed::text(&shown, app.store.clock().now(), &app.address);
    Ok((
        [
            (header::CONTENT_TYPE, "text/calendar; charset=utf-8"),
            (header::CACHE_CONTROL, "no-store"),
            (header::CONTENT_SECURITY_POLICY, "sandbox; default-src 'none'; frame-ancestors 'none'"),
        ],
        text,
    )
        .into_response())
}

/// The proofs by which nothing crosses between school and clinic.
fn own_side<R: Resource>(unseen: &Unseen) -> Vec<Access<R, Read>> {
    unseen.proofs::<R>().into_iter().filter(|access| access.crossing().is_none()).collect()
}

/// Every date that this person may know of, of every student on whose team they are.
async fn dates(snapshot: &mut Snapshot, actor: &Actor) -> Result<Vec<Entry>> {
    if actor.role.is_none() {
        return Ok(Vec::new());
    }
    let site = setting::site(snapshot).await?;
    let students = caseload::students(snapshot, actor).await?;
    let unseen = Unseen::of(snapshot, &site, actor, &students).await?;
    let mut found = Vec::new();
    let due = |on: Date, key: String| Entry { on, what: What::Due, key };
    let stages = own_side::<Stage>(&unseen);
    for (student, on) in around::evaluations_due(snapshot, &stages).await? {
        found.push(due(on, format!("evaluation {student}")));
    }
    if actor.role == Some(Role::VisionTeacher) {
        for (student, tracks) in journey::shown_all(snapshot, &stages).await? {
            for own in tracks.iter().flat_map(|shown| shown.journey.own_in_force()) {
                for (days, on) in due::follow_ups_of(own.received_on) {
                    found.push(due(on, format!("follow-up {days} {student} {}", own.received_on)));
                }
            }
        }
    }
    let until = snapshot.today().saturating_add(SHOWN.1.days());
    for loan in caseload::loans_due(snapshot, &own_side::<Loans>(&unseen), until).await? {
        found.push(due(loan.on, format!("loan {} {}", loan.student, loan.tag)));
    }
    if matches!(actor.role, Some(Role::VisionTeacher | Role::Parent)) {
        // The last of each way: one that was renewed ends without anything to do.
        let mut ends = BTreeMap::new();
        for (student, one) in consent::of_all(snapshot, &own_side::<Consents>(&unseen)).await? {
            if let (Some(on), None) = (one.end, one.withdrawn) {
                let end = ends.entry((student, one.direction.code())).or_insert(on);
                *end = on.max(*end);
            }
        }
        found.extend(ends.into_iter().map(|((student, way), on)| due(on, format!("consent {way} {student}"))));
    }
    // These are read student by student: each has its own reach and its own marks.
    for access in own_side::<EvaluationRequest>(&unseen) {
        let asked = request::list(snapshot, &access).await?.into_iter().filter(|one| one.withdrawn_at.is_none());
        found.extend(asked.filter_map(|one| {
            Some(Entry { on: one.appointment_on?, what: What::Appointment, key: format!("request {}", one.id) })
        }));
    }
    for access in own_side::<Prescription>(&unseen) {
        let signed = prescription::list(snapshot, &access).await?;
        let active = signed.into_iter().filter(|one| one.state == Standing::Active);
        found.extend(active.filter_map(|one| Some(due(one.contents.review_on?, format!("prescription {}", one.id)))));
        let decided = decision::list(snapshot, &access).await?.into_iter().filter(|one| one.after.ended.is_none());
        found.extend(decided.filter_map(|one| Some(due(one.next_on?, format!("decision {}", one.id)))));
    }
    Ok(found)
}
