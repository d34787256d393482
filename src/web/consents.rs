//! Signing a consent on screen, reading one, withdrawing it (G7).
//!
//! Only a rights holder signs here. What the form says is what is stored: the
//! categories, the purpose, the two parties, start and end.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::account::wrong_password;
use super::check::{Check, LONG_TEXT, NAME};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::{Record, Word};
use super::people;
use super::routes::Routes;
use super::state::App;
use super::today::due::renewals;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::{Read, Reads, Sign};
use crate::access::resource::{Consents, Team};
use crate::access::standing::Categories;
use crate::care::consent::{Category, Direction, Party};
use crate::care::ids::ConsentId;
use crate::store::account;
use crate::store::consent::{self, Listed, NewConsent};
use crate::store::{Audit, StoreError};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/people/consent/{word}", sign_page)
        .post("/students/{student}/people/consent/{word}", sign)
        .get("/students/{student}/people/consents/{record}", page)
        .post("/students/{student}/people/consents/{record}/withdraw", withdraw)
}

/// How long a consent lasts unless its signer says otherwise, in months.
const USUAL_MONTHS: i32 = 12;
/// The longest that a consent may last, in months.
const LONGEST_MONTHS: i32 = 36;

#[derive(Template)]
#[template(path = "consents/sign.html")]
struct SignPage {
    shell: Shell,
    form: FormView,
    way: &'static str,
    categories: Vec<(&'static str, String)>,
    clinics: Vec<(String, String)>,
    /// The party that is the school's, fixed.
    owner: String,
    to_clinic: bool,
    action: String,
    back: String,
}

#[derive(Template)]
#[template(path = "consents/page.html")]
struct ConsentPage {
    shell: Shell,
    facts: Vec<(String, String)>,
    form: FormView,
    withdraw: Option<String>,
    back: String,
}

const fn purpose_of(way: Direction) -> &'static str {
    match way {
        Direction::SchoolToClinic => {
            "So that the clinic can examine and advise knowing what the school and the family see."
        }
        Direction::ClinicToSchool => "So that the school can seat, teach and train by what the clinic found.",
    }
}

/// Value of the choice that leaves the clinic to be typed.
const ANOTHER: &str = "another";

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Consents, Sign>,
    way: Direction,
    form: FormView,
) -> Result<SignPage> {
    let team_access = visit.open::<Team, Read>().await?;
    let team = people::team(app, &team_access).await?;
    let clinics = team.clinics();
    let mut offered: Vec<(String, String)> = clinics.iter().map(|clinic| (clinic.clone(), clinic.clone())).collect();
    if !offered.is_empty() {
        offered.push((ANOTHER.to_owned(), "Another clinic, written below".to_owned()));
    }
    let may_sign: Categories = access.limits().may_sign;
    Ok(SignPage {
        shell: shell_about(context, visit, "Sign a consent").of_form(&form),
        form,
        way: way.words(),
        categories: way
            .categories()
            .filter(|category| may_sign.contains(*category))
            .map(|category| (category.code(), words::capital(category.words())))
            .collect(),
        clinics: offered,
        owner: context.site.owner().to_owned(),
        to_clinic: way == Direction::SchoolToClinic,
        action: visit.at(&format!("/people/consent/{}", way.code())),
        back: visit.at("/people"),
    })
}

/// A proof to sign on screen; a witness of paper gets none here.
fn on_screen(access: &Access<Consents, Sign>) -> Result<()> {
    if access.limits().witnessed {
        return Err(Error::Forbidden(
            "A parent or guardian with full rights signs this, from an account of their own.".to_owned(),
        ));
    }
    Ok(())
}

async fn sign_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Sign>,
    Word(way): Word<Direction>,
) -> Result<Response> {
    on_screen(&access)?;
    let team_access = visit.open::<Team, Read>().await?;
    let team = people::team(&app, &team_access).await?;
    let today = app.store.clock().today();
    let relation = team
        .parents()
        .iter()
        .find(|member| member.account == visit.actor().account)
        .map_or(String::new(), |member| member.relation.clone());
    let mut entry = Entry::default()
        .with("purpose", purpose_of(way))
        .with("starts_on", today.to_string())
        .with("ends_on", last_day(today, USUAL_MONTHS).to_string())
        .with("relation", relation)
        .with("language", "English");
    if let [only] = team.clinics().as_slice() {
        entry.set("clinic", only.clone());
    }
    let form = FormView::filled(&context, entry);
    Ok(Page(build(&app, &context, &visit, &access, way, form).await?).into_response())
}

/// The last day of so many months that begin on a day.
fn last_day(start: Date, months: i32) -> Date {
    let end = start.checked_add(months.months()).unwrap_or(start);
    end.yesterday().unwrap_or(end)
}

/// Reads the form. The school's own party is not the signer's to choose.
fn checked(
    entry: &Entry,
    way: Direction,
    may_sign: Categories,
    clinics: &[String],
    owner: &str,
    today: Date,
) -> std::result::Result<NewConsent, Faults> {
    let mut check = Check::new(entry);
    let categories: Vec<Category> = check.codes("categories", "What may go across");
    if categories.iter().any(|category| !category.goes(way) || !may_sign.contains(*category)) {
        check.fault("categories", "Choose among the kinds of record listed.");
    }
    if categories.is_empty() {
        check.fault("categories", "Choose at least one kind of record.");
    }
    let purpose = check.text("purpose", "What for", LONG_TEXT);
    let chosen = check.typed("clinic");
    let clinic = if clinics.iter().any(|clinic| clinic == chosen) {
        chosen.to_owned()
    } else if !clinics.is_empty() && chosen != ANOTHER {
        check.fault("clinic", "Choose the clinic.");
        String::new()
    } else {
        check.text("clinic_named", "Name of the clinic", NAME)
    };
    let start = check.date("starts_on", "First day", today..=last_day(today, USUAL_MONTHS));
    let latest = last_day(start.unwrap_or(today), LONGEST_MONTHS);
    let end = check.date("ends_on", "Last day", start.unwrap_or(today)..=latest);
    let relation = check.text("relation", "How you are related to the student", NAME);
    let language = check.text("language", "Language", NAME);
    if !check.ticked("read") {
        check.fault("read", "Tick this once you have read the three statements.");
    }
    let parties = Party::new(owner).ok().zip(Party::new(&clinic).ok());
    check.build(|| {
        let (school, clinic) = parties?;
        let (from, to) = match way {
            Direction::SchoolToClinic => (school, clinic),
            Direction::ClinicToSchool => (clinic, school),
        };
        let categories: BTreeSet<Category> = categories.into_iter().collect();
        Some(NewConsent { direction: way, categories, purpose, from, to, start: start?, end: end?, relation, language })
    })
}

async fn sign(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Sign>,
    Word(way): Word<Direction>,
    posted: Posted,
) -> Result<Response> {
    on_screen(&access)?;
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&app, &context, &visit, &access, way, form).await?).into_response())
    };
    let team_access = visit.open::<Team, Read>().await?;
    let clinics = people::team(&app, &team_access).await?.clinics();
    let today = app.store.clock().today();
    let may_sign = access.limits().may_sign;
    let new = match checked(&posted.entry, way, may_sign, &clinics, context.site.owner(), today) {
        Ok(new) => new,
        Err(faults) => return again(faults).await,
    };
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => return again(wrong_password("password", &attempt)).await,
        };
    let to = visit.at("/people");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let id = consent::sign(&mut tx, &access, &reentered, &new).await?;
    tx.commit_at(Audit::by(&access).record(id).told("signed"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}

async fn listed(app: &App, access: &Access<Consents, impl Reads>, id: ConsentId) -> Result<Listed> {
    let mut snapshot = app.store.snapshot().await?;
    let all = consent::list(&mut snapshot, access).await?;
    all.into_iter().find(|listed| listed.consent.id == id).ok_or(Error::Hidden)
}

/// Whether there is still something to withdraw.
fn runs(listed: &Listed, today: Date) -> bool {
    listed.withdrawn_at.is_none() && listed.consent.end.is_none_or(|end| end >= today)
}

fn consent_page(app: &App, context: &Context, visit: &Visit, listed: &Listed, form: FormView) -> ConsentPage {
    let consent = &listed.consent;
    let zone = app.store.clock().zone();
    let today = app.store.clock().today();
    let covers: Vec<&str> = consent.categories.iter().map(|category| category.words()).collect();
    let mut facts = vec![
        ("State".to_owned(), words::capital(people::state_of(listed, today))),
        ("Direction".to_owned(), words::capital(consent.direction.words())),
        ("From".to_owned(), consent.from.name().to_owned()),
        ("To".to_owned(), consent.to.name().to_owned()),
        ("Covers".to_owned(), covers.join("; ")),
        ("What for".to_owned(), consent.purpose.clone()),
        ("First day".to_owned(), words::date(consent.start)),
        ("Last day".to_owned(), consent.end.map_or_else(|| "until withdrawn".to_owned(), words::date)),
        ("Signed by".to_owned(), format!("{}, {}", consent.signer, listed.relation)),
        ("Signed".to_owned(), format!("{}, {}", words::instant(listed.signed_at, zone), consent.given.words())),
        ("Language".to_owned(), consent.language.clone()),
    ];
    if let Some(at) = listed.withdrawn_at {
        facts.push(("Withdrawn".to_owned(), words::instant(at, zone)));
    }
    facts.extend(renewals([consent].into_iter(), today).iter().map(|one| ("Due".to_owned(), one.words())));
    let open = runs(listed, today);
    ConsentPage {
        shell: shell_about(context, visit, "Consent").of_form(&form),
        facts,
        form,
        withdraw: (open && people::signs_on_screen(visit))
            .then(|| visit.at(&format!("/people/consents/{}/withdraw", consent.id))),
        back: visit.at("/people"),
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Read>,
    Record(id): Record<ConsentId>,
) -> Result<Response> {
    let listed = listed(&app, &access, id).await?;
    Ok(Page(consent_page(&app, &context, &visit, &listed, FormView::blank(&context))).into_response())
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
    if !runs(&known, app.store.clock().today()) {
        // Withdrawn or over already: that is what was wanted.
        return Ok(Redirect::to(&visit.at("/people")).into_response());
    }
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => {
                let form = FormView::again(&context, &posted, wrong_password("password", &attempt));
                return Ok(Again(consent_page(&app, &context, &visit, &known, form)).into_response());
            }
        };
    let to = visit.at("/people");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match consent::withdraw(&mut tx, &access, &reentered, id).await {
        // Somebody withdrew it meanwhile: that is what was wanted.
        Err(StoreError::Missing) if known.withdrawn_at.is_some() => Ok(Redirect::to(&to).into_response()),
        done => {
            done?;
            tx.commit_at(Audit::by(&access).record(id).doing("withdraw").told("withdrew"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    const TODAY: Date = date(2026, 11, 25);

    fn whole() -> Entry {
        Entry::default()
            .with("categories", "intake")
            .with("purpose", "To plan together")
            .with("clinic", "Saltgrass Clinic")
            .with("starts_on", "2026-11-25")
            .with("ends_on", "2027-11-24")
            .with("relation", "mother")
            .with("language", "Somali")
            .with("read", "yes")
    }

    fn read(entry: &Entry, way: Direction, may: Categories) -> std::result::Result<NewConsent, Faults> {
        checked(entry, way, may, &["Saltgrass Clinic".to_owned()], "Brindle Flats", TODAY)
    }

    #[test]
    fn the_parties_follow_the_direction() {
        let to_clinic =
            read(&whole(), Direction::SchoolToClinic, Categories::all()).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert_eq!((to_clinic.from.name(), to_clinic.to.name()), ("Brindle Flats", "Saltgrass Clinic"));
        let back = whole().with("categories", "prescription");
        let to_school =
            read(&back, Direction::ClinicToSchool, Categories::all()).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert_eq!((to_school.from.name(), to_school.to.name()), ("Saltgrass Clinic", "Brindle Flats"));
    }

    #[test]
    fn nothing_is_signed_that_does_not_go_this_way_or_is_not_the_signers() {
        let wrong_way = read(&whole(), Direction::ClinicToSchool, Categories::all()).err();
        assert!(wrong_way.is_some_and(|faults| faults.of("categories").is_some()));
        let not_hers = read(&whole(), Direction::SchoolToClinic, Categories::NONE).err();
        assert!(not_hers.is_some_and(|faults| faults.of("categories").is_some()));
    }

    #[test]
    fn each_missing_part_is_said_beside_its_field() {
        for (field, typed) in [
            ("purpose", ""),
            ("clinic", "Elsewhere"),
            ("starts_on", "1890-01-01"),
            ("ends_on", "2026-11-24"),
            ("relation", ""),
            ("read", ""),
        ] {
            let faults = read(&whole().with(field, typed), Direction::SchoolToClinic, Categories::all()).err();
            assert!(faults.is_some_and(|faults| faults.of(field).is_some()), "{field}");
        }
    }

    #[test]
    fn a_usual_consent_lasts_twelve_months_less_a_day() {
        assert_eq!(last_day(TODAY, USUAL_MONTHS), date(2027, 11, 24));
        assert_eq!(last_day(date(2028, 2, 29), USUAL_MONTHS), date(2029, 2, 27));
    }
}
