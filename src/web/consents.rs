//! Consents: one signed on screen by a rights holder, here; and below it one
//! given on paper or in person, one read, renewed or withdrawn, all of them with
//! what was sent, and emergency access (G7).
//!
//! What the form says is what is stored: the categories, the purpose, the two
//! parties, start and end.

mod all;
mod emergency;
mod one;
pub(super) mod terms;
mod witnessed;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::account::wrong_password;
use super::check::{Check, NAME};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Word;
use super::people;
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use crate::access::Access;
use crate::access::action::{Read, Sign};
use crate::access::resource::{Consents, Team};
use crate::access::standing::Categories;
use crate::care::consent::Direction;
use crate::store::consent::{self, NewConsent};
use crate::store::{Audit, account};
use terms::{Asked, TermsFields};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    let routes = routes
        .get("/students/{student}/people/consent/{word}", sign_page)
        .post("/students/{student}/people/consent/{word}", sign);
    [one::routes, all::routes, witnessed::routes, emergency::routes].iter().fold(routes, |routes, add| add(routes))
}

pub(super) use all::{notes, notes_all};

#[derive(Template)]
#[template(path = "consents/sign.html")]
struct SignPage {
    shell: Shell,
    form: FormView,
    way: &'static str,
    terms: TermsFields,
    action: String,
    back: String,
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Consents, Sign>,
    way: Direction,
    form: FormView,
) -> Result<SignPage> {
    let team_access = visit.open::<Team, Read>().await?;
    let clinics = people::team(app, &team_access).await?.clinics();
    Ok(SignPage {
        shell: shell_about(context, visit, "Sign a consent").of_form(&form),
        form,
        way: way.words(),
        terms: TermsFields::new(way, access.limits().may_sign, &clinics, context.site.owner()),
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
    RawQuery(query): RawQuery,
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
    let renewed = terms::renewed(&app, &access.read(), query.as_deref(), way).await?;
    let mut entry = terms::start(way, &team.clinics(), renewed.as_ref(), today);
    entry.set("relation", relation);
    let form = FormView::filled(&context, entry);
    Ok(Page(build(&app, &context, &visit, &access, way, form).await?).into_response())
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
    let first_days = today..=terms::last_day(today, terms::USUAL_MONTHS);
    let read = terms::read(&mut check, &Asked { way, may_sign, clinics, owner, today, first_days });
    let relation = check.text("relation", "How you are related to the student", NAME);
    if !check.ticked("read") {
        check.fault("read", "Tick this once you have read the three statements.");
    }
    check.build(|| read?.with_relation(relation))
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

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use terms::{USUAL_MONTHS, last_day};

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
