//! How to reach the family: adding and changing a contact.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::super::amend;
use super::super::check::{Check, NAME, SHORT_TEXT};
use super::super::error::{Both, Result};
use super::super::form::{Entry, Faults, FormView, Posted};
use super::super::page::{Again, Context, Page, Shell, shell_about};
use super::super::params::Record;
use super::super::routes::Routes;
use super::super::stale;
use super::super::state::App;
use super::super::task::both;
use super::super::visit::Visit;
use crate::access::Access;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Contacts, Team};
use crate::care::ids::{AccountId, ContactId};
use crate::store::contact::{self, NewContact};
use crate::store::{Audit, StoreError};

pub(super) fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/people/contacts/new", new_page)
        .post("/students/{student}/people/contacts", add)
        .get("/students/{student}/people/contacts/{record}", edit_page)
        .post("/students/{student}/people/contacts/{record}", change)
}

#[derive(Template)]
#[template(path = "people/contact.html")]
struct ContactPage {
    shell: Shell,
    heading: &'static str,
    form: FormView,
    /// Parents on the team, offered only when a contact is new.
    accounts: Vec<(String, String)>,
    action: String,
    back: String,
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    form: FormView,
    of: Option<ContactId>,
) -> Result<ContactPage> {
    let mut accounts = Vec::new();
    if of.is_none() {
        let access = visit.open::<Team, Read>().await?;
        let team = super::team(app, &access).await?;
        accounts = team.parents().iter().map(|one| (one.account.to_string(), one.name.clone())).collect();
        accounts.insert(0, (String::new(), "Not on the team here".to_owned()));
    }
    let heading = if of.is_some() { "Change a family contact" } else { "Add a family contact" };
    Ok(ContactPage {
        shell: shell_about(context, visit, heading).of_form(&form),
        heading,
        form,
        accounts,
        action: of.map_or_else(|| visit.at("/people/contacts"), |id| visit.at(&format!("/people/contacts/{id}"))),
        back: visit.at("/people"),
    })
}

fn checked(entry: &Entry) -> std::result::Result<NewContact, Faults> {
    let mut check = Check::new(entry);
    let name = check.text("name", "Name", NAME);
    let relation = check.opt_text("relation", "Relation to the student", NAME);
    let phone = check.opt_text("phone", "Telephone", NAME);
    let email = check.opt_text("email", "E-mail", SHORT_TEXT);
    let language = check.opt_text("language", "Language", NAME);
    let access_needs = check.opt_text("access_needs", "Needs", SHORT_TEXT);
    check.build(|| Some(NewContact { name, relation, phone, email, language, access_needs }))
}

fn told(contact: &NewContact) -> Vec<(&'static str, String)> {
    vec![
        ("Name", contact.name.clone()),
        ("Relation", contact.relation.clone()),
        ("Telephone", contact.phone.clone()),
        ("E-mail", contact.email.clone()),
        ("Language", contact.language.clone()),
        ("Needs", contact.access_needs.clone()),
    ]
}

fn entry_of(contact: &NewContact) -> Entry {
    Entry::default()
        .with("name", contact.name.clone())
        .with("relation", contact.relation.clone())
        .with("phone", contact.phone.clone())
        .with("email", contact.email.clone())
        .with("language", contact.language.clone())
        .with("access_needs", contact.access_needs.clone())
}

async fn new_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Contacts, Create>,
) -> Result<Response> {
    Ok(Page(build(&app, &context, &visit, FormView::blank(&context), None).await?).into_response())
}

async fn add(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Contacts, Create>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&app, &context, &visit, form, None).await?).into_response())
    };
    let new = match checked(&posted.entry) {
        Ok(new) => new,
        Err(faults) => return again(faults).await,
    };
    let mut check = Check::new(&posted.entry);
    let account: Option<AccountId> = check.opt_code("account", "Account");
    if let Err(faults) = check.build(|| Some(())) {
        return again(faults).await;
    }
    let to = visit.at("/people");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match contact::add(&mut tx, &access, &new, account).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Missing) => {
            drop(tx);
            again(Faults::one("account", "Choose one of the parents listed.")).await
        }
        Err(error) => Err(error.into()),
    }
}

async fn edit_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Contacts, Edit>,
    Record(id): Record<ContactId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let known = contact::of(&mut snapshot, &access, id).await?;
    drop(snapshot);
    let form = FormView::filled(&context, entry_of(&known.what)).at_version(known.version);
    Ok(Page(build(&app, &context, &visit, form, Some(id)).await?).into_response())
}

async fn change(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Contacts, Edit>,
    Record(id): Record<ContactId>,
    posted: Posted,
) -> Result<Response> {
    let mut tx = app.store.tx().await?;
    let known = contact::of(&mut tx, &access, id).await?;
    let new = match checked(&posted.entry) {
        Ok(new) => new,
        Err(faults) => {
            drop(tx);
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&app, &context, &visit, form, Some(id)).await?).into_response());
        }
    };
    let to = visit.at("/people");
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match contact::change(&mut tx, &access, id, &new, posted.version.unwrap_or(0)).await {
        Ok(()) => {
            amend::kept(&mut tx, &access, id, (told(&known.what), told(&new))).await?;
            tx.commit_at(Audit::by(&access).record(id), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            let mut snapshot = app.store.snapshot().await?;
            let theirs = contact::of(&mut snapshot, &access, id).await?;
            let rows = both(&told(&theirs.what), &told(&new));
            let both = Both { back: visit.at(&format!("/people/contacts/{id}")), rows };
            Err(stale::error(&mut snapshot, &access, (id, theirs.version), both).await?)
        }
        Err(error) => Err(error.into()),
    }
}
