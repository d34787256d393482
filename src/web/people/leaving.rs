//! Ending a membership: who goes on with what the leaving person has in hand
//! (G15).
//!
//! Drafts and the lead go to somebody of the same role, or lie with the records
//! officer. Authors stay authors; open questions to the role stay open. From the
//! answer on the record does not exist for the person who left.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::access::Access;
use crate::access::Role;
use crate::access::action::Edit;
use crate::access::resource::Team as TeamRow;
use crate::care::ids::{AccountId, MembershipId};
use crate::store::handover::{self, Draft, Leaving};
use crate::store::team::Member;
use crate::store::{Audit, Snapshot, team};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::service::draft_words;
use crate::web::state::App;
use crate::web::visit::Visit;

/// The choice that leaves drafts and lead to the records officer.
const OFFICE: &str = "office";

#[derive(Template)]
#[template(path = "people/leaving.html")]
struct LeavingPage {
    shell: Shell,
    back: String,
    action: String,
    name: String,
    leads: bool,
    drafts: Vec<&'static str>,
    takers: Vec<(String, String)>,
    form: FormView,
}

/// Who leaves, what is in hand, and who could go on with it.
struct Asked {
    member: Member,
    drafts: Vec<Draft>,
    takers: Vec<(AccountId, String)>,
}

impl Asked {
    fn has_something(&self) -> bool {
        self.member.lead || !self.drafts.is_empty()
    }
}

async fn asked(snapshot: &mut Snapshot, access: &Access<TeamRow, Edit>, id: MembershipId) -> Result<Asked> {
    let today = snapshot.today();
    let present = |member: &Member| member.starts_on <= today && member.ends_on.is_none();
    let mut members = team::members(snapshot, access).await?;
    let place = members.iter().position(|member| member.id == id && present(member)).ok_or(Error::Hidden)?;
    let member = members.swap_remove(place);
    let drafts = handover::drafts(snapshot, access, member.account).await?;
    let takers = members
        .iter()
        .filter(|other| present(other) && other.role == member.role && other.account != member.account)
        .filter(|other| other.role != Role::Clinician || other.clinic == member.clinic)
        .map(|other| (other.account, other.name.clone()))
        .collect();
    Ok(Asked { member, drafts, takers })
}

fn build(context: &Context, visit: &Visit, asked: &Asked, form: FormView) -> LeavingPage {
    let mut takers: Vec<(String, String)> =
        asked.takers.iter().map(|(account, name)| (account.to_string(), name.clone())).collect();
    takers.push((OFFICE.to_owned(), "Nobody here yet: the records officer sees to it".to_owned()));
    LeavingPage {
        shell: shell_about(context, visit, "End a membership").of_form(&form),
        back: visit.at("/people"),
        action: visit.at(&format!("/people/members/{}/end", asked.member.id)),
        name: asked.member.name.clone(),
        leads: asked.member.lead,
        drafts: asked.drafts.iter().map(|draft| draft_words(&draft.kind)).collect(),
        takers: if asked.has_something() { takers } else { Vec::new() },
        form,
    }
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<TeamRow, Edit>,
    Record(id): Record<MembershipId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let asked = asked(&mut snapshot, &access, id).await?;
    Ok(Page(build(&context, &visit, &asked, FormView::blank(&context))).into_response())
}

/// Who goes on; a fault where somebody has to be named and is not.
fn taker(entry: &Entry, asked: &Asked) -> std::result::Result<Option<AccountId>, Faults> {
    if !asked.has_something() {
        return Ok(None);
    }
    match entry.get("taker") {
        "" => Err(Faults::one("taker", "Choose who goes on with it.")),
        OFFICE => Ok(None),
        typed => {
            let found = asked.takers.iter().find(|(account, _)| account.to_string() == typed);
            let fault = || Faults::one("taker", "Choose one of those listed.");
            found.map(|(account, _)| Some(*account)).ok_or_else(fault)
        }
    }
}

pub(super) async fn end(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<TeamRow, Edit>,
    Record(id): Record<MembershipId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let asked = asked(&mut tx, &access, id).await?;
    let taker = match taker(&posted.entry, &asked) {
        Ok(taker) => taker,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&context, &visit, &asked, form)).into_response());
        }
    };
    let own = asked.member.account == access.actor().account;
    let leaving = Leaving { membership: id, account: asked.member.account, leads: asked.member.lead, taker };
    let handed = handover::leave(&mut tx, &access, &leaving).await?;
    if !handed.is_empty() {
        tx.also(Audit::by(&access).record(id).doing("hand over drafts").told("handed drafts over")).await?;
    }
    // Who ended their own membership has no page here any more.
    let to = if own { "/today".to_owned() } else { visit.at("/people") };
    tx.commit_at(Audit::by(&access).record(id).doing("end membership").told("ended"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}
