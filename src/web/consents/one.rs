//! One consent: what it says, what went under it, renewing and withdrawing it.
//!
//! A rights holder withdraws on screen; what was told in person a vision teacher
//! records, with a witness. Either way nothing newer crosses from then on.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::{all, on_screen, witnessed};
use crate::access::Access;
use crate::access::action::{Read, Reads, Sign};
use crate::access::resource::Consents;
use crate::care::consent::{Given, SignerKind};
use crate::care::ids::ConsentId;
use crate::store::account::{self, Reentered};
use crate::store::attachment::{self as stored, Parent};
use crate::store::consent::{self, Listed, witnessed as given};
use crate::store::{Audit, StoreError, sending};
use crate::web::account::wrong_password;
use crate::web::attachment;
use crate::web::check::{Check, NAME};
use crate::web::error::{Error, Result};
use crate::web::form::{Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::Table;
use crate::web::people;
use crate::web::routes::Routes;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

pub(super) fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/people/consents/{record}", page)
        .post("/students/{student}/people/consents/{record}/withdraw", withdraw)
        .post("/students/{student}/people/consents/{record}/withdrawn", withdrawn)
}

#[derive(Template)]
#[template(path = "consents/page.html")]
struct ConsentPage {
    shell: Shell,
    facts: Vec<(String, String)>,
    form: FormView,
    /// Its scan: address and words.
    scans: Vec<(String, String)>,
    sent: Table,
    /// Where and in which words this reader carries it on.
    renew: Option<(String, &'static str)>,
    withdraw: Option<String>,
    withdrawn: Option<String>,
    back: String,
    all: String,
}

async fn listed(app: &App, access: &Access<Consents, impl Reads>, id: ConsentId) -> Result<Listed> {
    let mut snapshot = app.store.snapshot().await?;
    let all = consent::list(&mut snapshot, access).await?;
    all.into_iter().find(|listed| listed.consent.id == id).ok_or(Error::Hidden)
}

/// Whether there is something to withdraw.
fn is_open(listed: &Listed, today: Date) -> bool {
    listed.withdrawal.is_none() && listed.consent.end.is_none_or(|end| end >= today)
}

fn facts_of(app: &App, listed: &Listed) -> Vec<(String, String)> {
    let consent = &listed.consent;
    let zone = app.store.clock().zone();
    let today = app.store.clock().today();
    let covers: Vec<&str> = consent.categories.iter().map(|category| category.words()).collect();
    let day = listed.signed_on.map_or_else(|| words::instant(listed.signed_at, zone), words::date);
    let mut signer = format!("{}, {}", consent.signer, listed.relation);
    if listed.kind == SignerKind::StudentOfAge {
        signer = format!("{}, {}", consent.signer, listed.kind.words());
    }
    let mut facts = vec![
        ("State".to_owned(), words::capital(people::state_of(listed, today))),
        ("Direction".to_owned(), words::capital(consent.direction.words())),
        ("From".to_owned(), consent.from.name().to_owned()),
        ("To".to_owned(), consent.to.name().to_owned()),
        ("Covers".to_owned(), covers.join("; ")),
        ("What for".to_owned(), consent.purpose.clone()),
        ("First day".to_owned(), words::date(consent.start)),
        ("Last day".to_owned(), consent.end.map_or_else(|| "until withdrawn".to_owned(), words::date)),
        ("Signed by".to_owned(), signer),
        ("Signed".to_owned(), format!("{day}, {}", consent.given.words())),
        ("Language".to_owned(), consent.language.clone()),
    ];
    if !listed.witness.is_empty() {
        facts.push(("Witness".to_owned(), listed.witness.clone()));
    }
    if consent.given != Given::OnScreen {
        let at = words::instant(listed.signed_at, zone);
        facts.push(("Recorded".to_owned(), format!("{at}, by {}", listed.entered_by)));
    }
    if let Some(back) = &listed.withdrawal {
        let at = words::instant(back.at, zone);
        let how = if back.told_by.is_empty() {
            format!("{at}, by {}", back.by)
        } else {
            format!("{at}, told in person by {} before {}, recorded by {}", back.told_by, back.witness, back.by)
        };
        facts.push(("Withdrawn".to_owned(), how));
    }
    facts
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Consents, impl Reads>,
    (listed, form): (&Listed, FormView),
) -> Result<ConsentPage> {
    let consent = &listed.consent;
    let today = app.store.clock().today();
    let mut snapshot = app.store.snapshot().await?;
    let mut sent = sending::list(&mut snapshot, access).await?;
    drop(snapshot);
    sent.retain(|sent| sent.consent == consent.id);
    // The table gives a records officer consents and no attachments.
    let mut scans = Vec::new();
    if consent.given == Given::Paper && visit.role().is_some() {
        let mut snapshot = app.store.snapshot().await?;
        let files = stored::of_parent(&mut snapshot, access, Parent::Consent(consent.id)).await?;
        scans = files.iter().map(|file| (attachment::href(visit, file), attachment::link_words(file))).collect();
    }
    let open = is_open(listed, today);
    let at = |path: &str| visit.at(&format!("/people/consents/{}{path}", consent.id));
    let (signs, witnesses) = (people::signs_on_screen(visit), witnessed::witnesses(visit).await?);
    let way = consent.direction.code();
    let renew = if signs {
        Some((visit.at(&format!("/people/consent/{way}?from={}", consent.id)), "Renew it: sign one that carries on"))
    } else if witnesses {
        let path = if consent.given == Given::Paper { "paper" } else { "in-person" };
        let to = visit.at(&format!("/people/consent/{way}/{path}?from={}", consent.id));
        Some((to, "Record its renewal"))
    } else {
        None
    };
    Ok(ConsentPage {
        shell: shell_about(context, visit, "Consent").of_form(&form),
        facts: facts_of(app, listed),
        form,
        scans,
        sent: all::sent_table(app, visit, &sent, "What was sent under it"),
        renew,
        withdraw: (open && signs).then(|| at("/withdraw")),
        withdrawn: (open && witnesses).then(|| at("/withdrawn")),
        back: visit.at("/people"),
        all: visit.at("/consents"),
    })
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Read>,
    Record(id): Record<ConsentId>,
) -> Result<Response> {
    let listed = listed(&app, &access, id).await?;
    let form = FormView::blank(&context);
    Ok(Page(build(&app, &context, &visit, &access, (&listed, form)).await?).into_response())
}

/// The password of whoever withdraws, or the page again.
async fn reentered(app: &App, visit: &Visit, posted: &Posted) -> Result<std::result::Result<Reentered, Faults>> {
    let answer = account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await?;
    Ok(answer.map_err(|attempt| wrong_password("password", &attempt)))
}

async fn withdraw(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Sign>,
    Record(id): Record<ConsentId>,
    posted: Posted,
) -> Result<Response> {
    on_screen(&access)?;
    let known = listed(&app, &access, id).await?;
    let to = visit.at(&format!("/people/consents/{id}"));
    if !is_open(&known, app.store.clock().today()) {
        // Somebody withdrew it meanwhile, or it ended: that is what was wanted.
        return Ok(Redirect::to(&to).into_response());
    }
    let reentered = match reentered(&app, &visit, &posted).await? {
        Ok(reentered) => reentered,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&app, &context, &visit, &access, (&known, form)).await?).into_response());
        }
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match consent::withdraw(&mut tx, &access, &reentered, id).await {
        // The other parent was a moment faster.
        Err(StoreError::Missing) => Ok(Redirect::to(&to).into_response()),
        done => {
            done?;
            tx.commit_at(Audit::by(&access).record(id).doing("withdraw").told("withdrawn"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
    }
}

/// What was told in person, checked.
fn told(posted: &Posted) -> std::result::Result<given::Told, Faults> {
    let mut check = Check::new(&posted.entry);
    let by = check.text("told_by", "Who withdrew it", NAME);
    let witness = check.text("witness", "Witness", NAME);
    if !by.is_empty() && by.to_lowercase().starts_with(&witness.to_lowercase()) && !witness.is_empty() {
        check.fault("witness", "Name somebody else than the person who withdrew it.");
    }
    check.build(|| Some(given::Told { by, witness }))
}

async fn withdrawn(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Sign>,
    Record(id): Record<ConsentId>,
    posted: Posted,
) -> Result<Response> {
    witnessed::witnessing(&access)?;
    let known = listed(&app, &access, id).await?;
    let to = visit.at(&format!("/people/consents/{id}"));
    if !is_open(&known, app.store.clock().today()) {
        return Ok(Redirect::to(&to).into_response());
    }
    let again = async |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry.set("password", "");
        Ok(Again(build(&app, &context, &visit, &access, (&known, form)).await?).into_response())
    };
    let told = match told(&posted) {
        Ok(told) => told,
        Err(faults) => return again(faults).await,
    };
    let reentered = match reentered(&app, &visit, &posted).await? {
        Ok(reentered) => reentered,
        Err(faults) => return again(faults).await,
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match given::withdraw(&mut tx, &access, &reentered, id, &told).await {
        Err(StoreError::Missing) => Ok(Redirect::to(&to).into_response()),
        done => {
            done?;
            tx.commit_at(Audit::by(&access).record(id).doing("withdraw").told("withdrawn"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
    }
}
