//! Emergency access without a consent: opening one kind of record for 24 hours,
//! reading what is open, and ending it early (G7).
//!
//! It opens toward the side of the person who asks. The form asks for the
//! password itself, so nothing else stands between an emergency and the page.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::all;
use crate::access::action::{Create, Edit, Read, Reads, Sign};
use crate::access::resource::{Consents, Emergency};
use crate::access::{Access, Side};
use crate::care::consent::{Category, Direction, EMERGENCY, Party};
use crate::care::ids::ConsentId;
use crate::store::emergency::{self, Opened};
use crate::store::{Audit, StoreError, account, consent};
use crate::web::account::wrong_password;
use crate::web::check::{Check, LONG_TEXT};
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::people;
use crate::web::routes::Routes;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

pub(super) fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/people/emergency", form_page)
        .post("/students/{student}/people/emergency", open)
        .get("/students/{student}/people/emergencies/{record}", page)
        .post("/students/{student}/people/emergencies/{record}/end", end)
}

/// Whether this person may open one, the password entered again.
pub(super) async fn may_open(visit: &Visit) -> Result<bool> {
    match visit.allows_with_password::<Emergency, Create>().await {
        Ok(()) => Ok(true),
        Err(Error::Hidden | Error::Forbidden(_) | Error::PasswordNeeded) => Ok(false),
        Err(error) => Err(error),
    }
}

#[derive(Template)]
#[template(path = "consents/emergency_form.html")]
struct EmergencyForm {
    shell: Shell,
    form: FormView,
    categories: Vec<(&'static str, String)>,
    /// For whom it opens.
    to: String,
    until: String,
    number: String,
    action: String,
    back: String,
}

/// The way content comes to this person, and the party it comes to.
fn toward(context: &Context, visit: &Visit) -> Result<(Direction, String)> {
    let actor = visit.actor();
    let way = actor.side().reached_by().ok_or(Error::Hidden)?;
    let to = match actor.side() {
        Side::Clinic => actor.clinic.clone().ok_or(Error::Hidden)?,
        _ => context.site.owner().to_owned(),
    };
    Ok((way, to))
}

/// The kinds of record that go this way and that no consent lets across today.
async fn closed(app: &App, visit: &Visit, way: Direction, to: &str) -> Result<Vec<Category>> {
    let access = visit.open::<Consents, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let consents = consent::list(&mut snapshot, &access).await?;
    let to = Party::new(to).map_err(|_| Error::Hidden)?;
    let covered = |category: Category| {
        consents.iter().any(|one| one.consent.to == to && one.consent.in_force(today, way, category))
    };
    Ok(way.categories().filter(|category| !covered(*category)).collect())
}

async fn build(app: &App, context: &Context, visit: &Visit, form: FormView) -> Result<EmergencyForm> {
    let (way, to) = toward(context, visit)?;
    let categories = closed(app, visit, way, &to).await?;
    let clock = app.store.clock();
    let until = clock.now().checked_add(EMERGENCY).unwrap_or(clock.now());
    let number = context.site.emergency_number();
    Ok(EmergencyForm {
        shell: shell_about(context, visit, "Emergency access").of_form(&form),
        form,
        categories: categories.iter().map(|one| (one.code(), words::capital(one.words()))).collect(),
        to,
        until: words::until(until, clock.zone()),
        number: if number.chars().any(|c| c.is_ascii_digit()) { number.to_owned() } else { String::new() },
        action: visit.at("/people/emergency"),
        back: visit.at("/consents"),
    })
}

async fn form_page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    visit.allows_with_password::<Emergency, Create>().await?;
    Ok(Page(build(&app, &context, &visit, FormView::blank(&context)).await?).into_response())
}

async fn open(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    visit.allows_with_password::<Emergency, Create>().await?;
    let again = async |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry.set("password", "");
        Ok(Again(build(&app, &context, &visit, form).await?).into_response())
    };
    let (way, to) = toward(&context, &visit)?;
    let closed = closed(&app, &visit, way, &to).await?;
    if closed.is_empty() {
        // There is no form then; the page says that all of it can be read.
        return Ok(Redirect::to(&visit.at("/people/emergency")).into_response());
    }
    let mut check = Check::new(&posted.entry);
    let category: Option<Category> = check.code("category", "Which kind of record");
    if let Some(category) = category
        && !closed.contains(&category)
    {
        check.fault(
            "category",
            if category.goes(way) {
                "A consent in force lets this be read already."
            } else {
                "This kind of record is your own side's already."
            },
        );
    }
    let reason = check.text("reason", "Why it cannot wait for a consent", LONG_TEXT);
    let (category, reason) = match check.build(|| Some((category?, reason))) {
        Ok(asked) => asked,
        Err(faults) => return again(faults).await,
    };
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => return again(wrong_password("password", &attempt)).await,
        };
    let access = visit.open_reentered::<Emergency, Create>(&reentered).await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = match emergency::open(&mut tx, &access, &reentered, category, &reason).await {
        Err(StoreError::Taken) => {
            drop(tx);
            let open = "This kind of record is open already. The page of consents says until when.";
            return again(Faults::one("category", open)).await;
        }
        opened => opened?,
    };
    let location = visit.at(&format!("/people/emergencies/{id}"));
    // The reason stands with the emergency; the technical log keeps no content.
    tx.commit_at(
        Audit::by(&access).record(id).doing("open in an emergency").told("emergency access opened"),
        &location,
    )
    .await?;
    Ok(Redirect::to(&location).into_response())
}

#[derive(Template)]
#[template(path = "consents/emergency.html")]
struct EmergencyPage {
    shell: Shell,
    form: FormView,
    open: Option<(String, String)>,
    facts: Vec<(String, String)>,
    end: Option<String>,
    back: String,
}

async fn found(app: &App, access: &Access<Consents, impl Reads>, id: ConsentId) -> Result<Opened> {
    let mut snapshot = app.store.snapshot().await?;
    let all = emergency::list(&mut snapshot, access).await?;
    all.into_iter().find(|one| one.id == id).ok_or(Error::Hidden)
}

/// Whether this person may end it: who opened it, and every rights holder.
fn may_end(visit: &Visit, one: &Opened) -> bool {
    people::signs_on_screen(visit) || one.account == visit.actor().account
}

fn emergency_page(app: &App, context: &Context, visit: &Visit, one: &Opened, form: FormView) -> EmergencyPage {
    let (zone, now) = (app.store.clock().zone(), app.store.clock().now());
    let until = words::instant(one.until, zone);
    let mut facts = vec![
        ("What it opens".to_owned(), words::capital(one.category.words())),
        ("Direction".to_owned(), words::capital(one.direction.words())),
        ("For whom".to_owned(), one.to.clone()),
        ("Opened".to_owned(), format!("{}, by {}", words::instant(one.at, zone), one.by)),
        ("Why".to_owned(), one.reason.clone()),
        ("Ends by itself".to_owned(), until),
    ];
    if let Some(at) = one.ended_at {
        facts.push(("Ended early".to_owned(), format!("{}, by {}", words::instant(at, zone), one.ended_by)));
    }
    let open = one.open_at(now);
    EmergencyPage {
        shell: shell_about(context, visit, "Emergency access").of_form(&form),
        form,
        open: open.then(|| all::open_words(app, one)),
        facts,
        end: (open && may_end(visit, one)).then(|| visit.at(&format!("/people/emergencies/{}/end", one.id))),
        back: visit.at("/consents"),
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Read>,
    Record(id): Record<ConsentId>,
) -> Result<Response> {
    let one = found(&app, &access, id).await?;
    Ok(Page(emergency_page(&app, &context, &visit, &one, FormView::blank(&context))).into_response())
}

async fn end(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Read>,
    Record(id): Record<ConsentId>,
    posted: Posted,
) -> Result<Response> {
    let one = found(&app, &access, id).await?;
    if !may_end(&visit, &one) {
        return Err(Error::Forbidden(
            "Whoever opened it ends it, or a parent or guardian with full rights.".to_owned(),
        ));
    }
    let location = visit.at(&format!("/people/emergencies/{id}"));
    if !one.open_at(app.store.clock().now()) {
        // It is over already: that is what was wanted.
        return Ok(Redirect::to(&location).into_response());
    }
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => {
                let form = FormView::again(&context, &posted, wrong_password("password", &attempt));
                return Ok(Again(emergency_page(&app, &context, &visit, &one, form)).into_response());
            }
        };
    let stopping = match people::signs_on_screen(&visit) {
        true => Some(visit.open_reentered::<Consents, Sign>(&reentered).await?),
        false => None,
    };
    let ending = match stopping {
        Some(_) => None,
        None => Some(visit.open_reentered::<Emergency, Edit>(&reentered).await?),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let (done, audit) = match (&stopping, &ending) {
        (Some(stopping), _) => (emergency::stop(&mut tx, stopping, &reentered, id).await, Audit::by(stopping)),
        (None, Some(ending)) => (emergency::end(&mut tx, ending, &reentered, id).await, Audit::by(ending)),
        (None, None) => return Err(Error::Hidden),
    };
    match done {
        // Somebody else was a moment faster.
        Err(StoreError::Missing) => Ok(Redirect::to(&location).into_response()),
        done => {
            done?;
            let audit = audit.record(id).doing("end emergency access").told("emergency access ended");
            tx.commit_at(audit, &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
    }
}
