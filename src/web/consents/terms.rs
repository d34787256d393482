//! What every consent names, however it is given: the fields of the form, what
//! they start from, and how they are read.
//!
//! Does not know who signs.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use jiff::ToSpan;
use jiff::civil::Date;

use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::Consents;
use crate::access::standing::Categories;
use crate::care::consent::{Category, Consent, Direction, Party};
use crate::care::ids::ConsentId;
use crate::store::consent::{self, NewConsent};
use crate::web::check::{Check, LONG_TEXT, NAME};
use crate::web::error::{Error, Result};
use crate::web::form::Entry;
use crate::web::state::App;
use crate::web::words;

/// How long a consent lasts unless its signer says otherwise, in months.
pub(in crate::web) const USUAL_MONTHS: i32 = 12;
/// The longest that a consent may last, in months.
const LONGEST_MONTHS: i32 = 36;
/// Value of the choice that leaves the clinic to be typed.
const ANOTHER: &str = "another";

const fn purpose_of(way: Direction) -> &'static str {
    match way {
        Direction::SchoolToClinic => {
            "So that the clinic can examine and advise knowing what the school and the family see."
        }
        Direction::ClinicToSchool => "So that the school can seat, teach and train by what the clinic found.",
    }
}

/// The fields as a form shows them.
pub(super) struct TermsFields {
    pub(super) categories: Vec<(&'static str, String)>,
    pub(super) clinics: Vec<(String, String)>,
    /// The party that is the school's, fixed.
    pub(super) owner: String,
    pub(super) to_clinic: bool,
}

impl TermsFields {
    pub(super) fn new(way: Direction, may_sign: Categories, clinics: &[String], owner: &str) -> Self {
        let mut offered: Vec<(String, String)> =
            clinics.iter().map(|clinic| (clinic.clone(), clinic.clone())).collect();
        if !offered.is_empty() {
            offered.push((ANOTHER.to_owned(), "Another clinic, written below".to_owned()));
        }
        Self {
            categories: way
                .categories()
                .filter(|category| may_sign.contains(*category))
                .map(|category| (category.code(), words::capital(category.words())))
                .collect(),
            clinics: offered,
            owner: owner.to_owned(),
            to_clinic: way == Direction::SchoolToClinic,
        }
    }
}

/// The last day of so many months that begin on a day.
pub(in crate::web) fn last_day(start: Date, months: i32) -> Date {
    let end = start.checked_add(months.months()).unwrap_or(start);
    end.yesterday().unwrap_or(end)
}

/// The consent that `?from=` names, to be carried on: one of this student and
/// this direction.
///
/// # Errors
/// [`Error::Hidden`] when it is not.
pub(super) async fn renewed(
    app: &App,
    access: &Access<Consents, Read>,
    query: Option<&str>,
    way: Direction,
) -> Result<Option<Consent>> {
    let asked = Entry::of_query(query);
    if asked.get("from").is_empty() {
        return Ok(None);
    }
    let id: ConsentId = asked.get("from").parse().map_err(|_| Error::Hidden)?;
    let mut snapshot = app.store.snapshot().await?;
    let found = consent::list(&mut snapshot, access).await?.into_iter().map(|listed| listed.consent);
    let mut found = found.filter(|consent| consent.id == id && consent.direction == way);
    found.next().map(Some).ok_or(Error::Hidden)
}

/// What the form starts from: what is usual, or the consent to be carried on,
/// from the day after its last.
pub(super) fn start(way: Direction, clinics: &[String], renewed: Option<&Consent>, today: Date) -> Entry {
    let latest = last_day(today, USUAL_MONTHS);
    let follows = renewed
        .filter(|old| old.withdrawn.is_none())
        .and_then(|old| old.end)
        .and_then(|end| end.tomorrow().ok())
        .filter(|day| (today..=latest).contains(day));
    let first = follows.unwrap_or(today);
    let mut entry = Entry::default()
        .with("purpose", purpose_of(way))
        .with("starts_on", first.to_string())
        .with("ends_on", last_day(first, USUAL_MONTHS).to_string())
        .with("language", "English");
    if let Some(old) = renewed {
        for category in &old.categories {
            entry.add("categories", category.code());
        }
        entry.set("purpose", old.purpose.clone());
        entry.set("language", old.language.clone());
        let clinic = match way {
            Direction::SchoolToClinic => old.to.name(),
            Direction::ClinicToSchool => old.from.name(),
        };
        if clinics.iter().any(|known| known == clinic) {
            entry.set("clinic", clinic);
        } else {
            entry.set("clinic", ANOTHER);
            entry.set("clinic_named", clinic);
        }
    } else if let [only] = clinics {
        entry.set("clinic", only.clone());
    }
    entry
}

/// What a form is read against.
pub(super) struct Asked<'a> {
    pub(super) way: Direction,
    pub(super) may_sign: Categories,
    pub(super) clinics: &'a [String],
    pub(super) owner: &'a str,
    pub(super) today: Date,
    /// The days on which it may start.
    pub(super) first_days: RangeInclusive<Date>,
}

/// Terms without the signer.
pub(super) struct ReadTerms(NewConsent);

impl ReadTerms {
    pub(super) fn with_relation(self, relation: String) -> Option<NewConsent> {
        Some(NewConsent { relation, ..self.0 })
    }

    pub(super) fn start(&self) -> Date {
        self.0.start
    }
}

/// Reads the fields; nothing when one of them is at fault.
pub(super) fn read(check: &mut Check<'_>, asked: &Asked<'_>) -> Option<ReadTerms> {
    let categories: Vec<Category> = check.codes("categories", "What may go across");
    if categories.iter().any(|category| !category.goes(asked.way) || !asked.may_sign.contains(*category)) {
        check.fault("categories", "Choose among the kinds of record listed.");
    }
    if categories.is_empty() {
        check.fault("categories", "Choose at least one kind of record.");
    }
    let purpose = check.text("purpose", "What for", LONG_TEXT);
    let clinic = clinic(check, asked.clinics);
    let start = check.date("starts_on", "First day", asked.first_days.clone());
    let earliest = start.unwrap_or(asked.today);
    let end = check.date("ends_on", "Last day", earliest.max(asked.today)..=last_day(earliest, LONGEST_MONTHS));
    let language = check.text("language", "Language", NAME);
    let (school, clinic) = Party::new(asked.owner).ok().zip(Party::new(&clinic).ok())?;
    let (from, to) = match asked.way {
        Direction::SchoolToClinic => (school, clinic),
        Direction::ClinicToSchool => (clinic, school),
    };
    Some(ReadTerms(NewConsent {
        direction: asked.way,
        categories: categories.into_iter().collect::<BTreeSet<_>>(),
        purpose,
        from,
        to,
        start: start?,
        end: end?,
        relation: String::new(),
        language,
    }))
}

fn clinic(check: &mut Check<'_>, clinics: &[String]) -> String {
    let chosen = check.typed("clinic");
    if clinics.iter().any(|clinic| clinic == chosen) {
        chosen.to_owned()
    } else if !clinics.is_empty() && chosen != ANOTHER {
        check.fault("clinic", "Choose the clinic.");
        String::new()
    } else {
        check.text("clinic_named", "Name of the clinic", NAME)
    }
}
