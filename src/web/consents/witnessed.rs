//! A consent that somebody else gave, recorded by a vision teacher: in person
//! with a witness named, or on paper with its scan (G7). The signer is named with
//! relation and right.
//!
//! Who may sign is not the recorder's to say: a parent whose rights a court
//! narrowed signs nothing here either, and a student only once of age.

use askama::Template;
use axum::extract::{FromRequestParts, RawQuery, State};
use axum::http::request::Parts;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::terms::{self, Asked, TermsFields};
use crate::access::Access;
use crate::access::action::{Read, Sign};
use crate::access::resource::{Consents, Contacts, Identity, Team};
use crate::access::standing::Categories;
use crate::care::attachment::{Checked, Refused};
use crate::care::consent::{Direction, SignerKind};
use crate::care::ids::AccountId;
use crate::store::consent::NewConsent;
use crate::store::consent::witnessed::{self as store, Evidence, Recorded, Signer};
use crate::store::setting::Site;
use crate::store::{Audit, account, contact, student};
use crate::web::account::wrong_password;
use crate::web::check::{Check, NAME};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Word;
use crate::web::people;
use crate::web::routes::Routes;
use crate::web::state::App;
use crate::web::upload::{Upload, Uploaded};
use crate::web::visit::Visit;

pub(super) fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/people/consent/{word}/in-person", in_person_page)
        .post("/students/{student}/people/consent/{word}/in-person", in_person)
        .get("/students/{student}/people/consent/{word}/paper", paper_page)
        .upload("/students/{student}/people/consent/{word}/paper", paper)
}

/// Value of the choice that leaves the signer to be typed.
const ANOTHER: &str = "another";
/// Value of the choice that the student signs.
const STUDENT: &str = "student";

/// A proof to witness; who signs on screen gets none here.
pub(super) fn witnessing(access: &Access<Consents, Sign>) -> Result<()> {
    if access.limits().witnessed {
        return Ok(());
    }
    Err(Error::Forbidden("You sign and withdraw on screen, from this account. Nobody witnesses it for you.".to_owned()))
}

/// The same as a part of a request, so that it is asked before a file is taken in.
struct Witnessing(Access<Consents, Sign>);

impl FromRequestParts<App> for Witnessing {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        let access = Access::from_request_parts(parts, state).await?;
        witnessing(&access)?;
        Ok(Self(access))
    }
}

/// Whether this person records what others sign.
pub(super) async fn witnesses(visit: &Visit) -> Result<bool> {
    let access = visit.open_if::<Consents, Sign>().await?;
    Ok(access.is_some_and(|access| access.limits().witnessed))
}

/// One who may be chosen as the signer.
struct Choice {
    value: String,
    name: String,
    relation: String,
    account: Option<AccountId>,
}

/// Who may be chosen, and who may not.
pub(super) struct Signers {
    choices: Vec<Choice>,
    /// Parents whose rights are narrowed, by name.
    limited: Vec<String>,
    student: String,
    age: i64,
    /// The age at which the rights are the student's own.
    of_age: i64,
}

/// The age of transfer of the site, 18 by default (G10).
fn transfer_age(site: &Site) -> i64 {
    site.value("transfer_age").and_then(|text| text.parse().ok()).unwrap_or(18)
}

impl Signers {
    pub(super) async fn of(app: &App, context: &Context, visit: &Visit) -> Result<Self> {
        let team = people::team(app, &visit.open::<Team, Read>().await?).await?;
        let identity = visit.open::<Identity, Read>().await?;
        let mut snapshot = app.store.snapshot().await?;
        let student = student::identity(&mut snapshot, &identity).await?;
        let mut choices = Vec::new();
        let mut limited = Vec::new();
        let mut accounts = Vec::new();
        for member in team.parents() {
            accounts.push(member.account);
            if member.full_rights {
                choices.push(Choice {
                    value: format!("account:{}", member.account),
                    name: member.name.clone(),
                    relation: relation_or(&member.relation, "parent or guardian"),
                    account: Some(member.account),
                });
            } else {
                limited.push(member.name.clone());
            }
        }
        if let Some(contacts) = visit.open_if::<Contacts, Read>().await? {
            let mut unlisted = contact::list(&mut snapshot, &contacts).await?;
            // A contact with an account is on the list already, or must not be.
            unlisted.retain(|one| one.account.is_none_or(|account| !accounts.contains(&account)));
            unlisted.retain(|one| !limited.iter().any(|name| same_name(name, &one.what.name)));
            choices.extend(unlisted.into_iter().map(|one| Choice {
                value: format!("contact:{}", one.id),
                name: one.what.name,
                relation: relation_or(&one.what.relation, "family contact"),
                account: None,
            }));
        }
        Ok(Self {
            choices,
            limited,
            age: student.age_on(snapshot.today()),
            student: student.name,
            of_age: transfer_age(&context.site),
        })
    }

    fn offered(&self) -> Vec<(String, String)> {
        let mut offered: Vec<(String, String)> =
            self.choices.iter().map(|one| (one.value.clone(), format!("{}, {}", one.name, one.relation))).collect();
        if self.age >= self.of_age {
            offered.push((STUDENT.to_owned(), format!("{}, {}", self.student, SignerKind::StudentOfAge.words())));
        }
        offered.push((ANOTHER.to_owned(), "Somebody else, named below".to_owned()));
        offered
    }

    /// Who signed, as the form says.
    fn read(&self, check: &mut Check<'_>) -> Option<Signer> {
        let chosen = check.typed("signer").to_owned();
        if let Some(one) = self.choices.iter().find(|one| one.value == chosen) {
            return Some(Signer {
                name: one.name.clone(),
                relation: one.relation.clone(),
                kind: SignerKind::ParentOrGuardian,
                account: one.account,
            });
        }
        match chosen.as_str() {
            STUDENT if self.age >= self.of_age => Some(Signer {
                name: self.student.clone(),
                relation: "the student".to_owned(),
                kind: SignerKind::StudentOfAge,
                account: None,
            }),
            STUDENT => {
                let (age, of_age) = (self.age, self.of_age);
                check.fault(
                    "signer",
                    format!("The student is {age} years old. Until {of_age}, a parent or guardian signs."),
                );
                None
            }
            ANOTHER => {
                let name = check.text("signer_name", "Name of the signer", NAME);
                let relation = check.text("signer_relation", "Relation to the student", NAME);
                if self.limited.iter().any(|limited| same_name(limited, &name)) {
                    check.fault("signer_name", "An access limit is on file. This person signs no consent.");
                }
                (!name.is_empty()).then_some(Signer {
                    name,
                    relation,
                    kind: SignerKind::ParentOrGuardian,
                    account: None,
                })
            }
            _ => {
                check.fault("signer", "Choose who signed.");
                None
            }
        }
    }
}

fn relation_or(relation: &str, otherwise: &str) -> String {
    if relation.is_empty() { otherwise.to_owned() } else { relation.to_owned() }
}

/// Whether two spellings are one name: letter case and spacing do not count.
fn same_name(one: &str, other: &str) -> bool {
    let plain = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    plain(one) == plain(other)
}

/// Which of the two ways it was given.
#[derive(Clone, Copy, PartialEq, Eq)]
enum How {
    InPerson,
    Paper,
}

#[derive(Template)]
#[template(path = "consents/witnessed.html")]
struct WitnessedPage {
    shell: Shell,
    form: FormView,
    way: &'static str,
    terms: TermsFields,
    signers: Vec<(String, String)>,
    in_person: bool,
    action: String,
    back: String,
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    (way, how): (Direction, How),
    form: FormView,
) -> Result<WitnessedPage> {
    let team = people::team(app, &visit.open::<Team, Read>().await?).await?;
    let signers = Signers::of(app, context, visit).await?;
    let (title, path) = match how {
        How::InPerson => ("Record a consent given in person", "in-person"),
        How::Paper => ("Record a consent on paper", "paper"),
    };
    Ok(WitnessedPage {
        shell: shell_about(context, visit, title).of_form(&form),
        form,
        way: way.words(),
        terms: TermsFields::new(way, Categories::all(), &team.clinics(), context.site.owner()),
        signers: signers.offered(),
        in_person: how == How::InPerson,
        action: visit.at(&format!("/people/consent/{}/{path}", way.code())),
        back: visit.at("/consents"),
    })
}

/// What the form starts from.
async fn started(
    app: &App,
    visit: &Visit,
    access: &Access<Consents, Sign>,
    way: Direction,
    query: Option<&str>,
) -> Result<Entry> {
    let team = people::team(app, &visit.open::<Team, Read>().await?).await?;
    let today = app.store.clock().today();
    let renewed = terms::renewed(app, &access.read(), query, way).await?;
    let entry = terms::start(way, &team.clinics(), renewed.as_ref(), today);
    Ok(entry.with("signed_on", today.to_string()))
}

/// The first day that something recorded today may name: a year ago.
fn year_back(today: Date) -> Date {
    today.saturating_sub(1.year())
}

/// What the form says, checked, but for the password and where a scan is laid.
struct Fields {
    terms: NewConsent,
    signer: Signer,
    signed_on: Date,
    witness: String,
    scan: Option<Checked>,
}

/// A file as a form brought it.
type Scan = Option<std::result::Result<Checked, Refused>>;

fn fields(
    entry: &Entry,
    asked: &Asked<'_>,
    signers: &Signers,
    (how, scan): (How, Scan),
) -> std::result::Result<Fields, Faults> {
    let mut check = Check::new(entry);
    let signer = signers.read(&mut check);
    let signed_on = check.date("signed_on", "Day it was signed", year_back(asked.today)..=asked.today);
    let read = terms::read(&mut check, asked);
    if let (Some(read), Some(signed_on)) = (&read, signed_on)
        && read.start() < signed_on
    {
        check.fault("starts_on", "It cannot start before the day it was signed.");
    }
    let mut witness = String::new();
    if how == How::InPerson {
        witness = check.text("witness", "Witness", NAME);
        if signer.as_ref().is_some_and(|signer| same_name(&signer.name, &witness)) {
            check.fault("witness", "Name somebody else than the signer.");
        }
    }
    let scan = match (how, scan) {
        (How::InPerson, _) => None,
        (How::Paper, None) => {
            check.fault("scan", "Choose the scan of the signed paper: a PDF, JPEG or PNG.");
            None
        }
        (How::Paper, Some(Err(refused))) => {
            check.fault("scan", refused.to_string());
            None
        }
        (How::Paper, Some(Ok(scan))) => Some(scan),
    };
    if !check.ticked("read") {
        check.fault("read", "Tick this once the three statements were read to the signer.");
    }
    check.build(|| {
        let signer = signer?;
        let terms = read?.with_relation(signer.relation.clone())?;
        Some(Fields { terms, signer, signed_on: signed_on?, witness, scan })
    })
}

async fn form_page(
    (app, context, visit): (&App, &Context, &Visit),
    access: &Access<Consents, Sign>,
    (way, how): (Direction, How),
    query: Option<&str>,
) -> Result<Response> {
    witnessing(access)?;
    let entry = started(app, visit, access, way, query).await?;
    let form = FormView::filled(context, entry);
    Ok(Page(build(app, context, visit, (way, how), form).await?).into_response())
}

async fn in_person_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Sign>,
    Word(way): Word<Direction>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    form_page((&app, &context, &visit), &access, (way, How::InPerson), query.as_deref()).await
}

async fn paper_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Sign>,
    Word(way): Word<Direction>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    form_page((&app, &context, &visit), &access, (way, How::Paper), query.as_deref()).await
}

async fn in_person(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Sign>,
    Word(way): Word<Direction>,
    posted: Posted,
) -> Result<Response> {
    record((&app, &context, &visit), &access, (way, How::InPerson), posted, None).await
}

async fn paper(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Witnessing(access): Witnessing,
    Word(way): Word<Direction>,
    Uploaded { posted, file }: Uploaded,
) -> Result<Response> {
    let scan = file.map(Upload::check);
    record((&app, &context, &visit), &access, (way, How::Paper), posted, scan).await
}

async fn record(
    (app, context, visit): (&App, &Context, &Visit),
    access: &Access<Consents, Sign>,
    (way, how): (Direction, How),
    posted: Posted,
    scan: Scan,
) -> Result<Response> {
    witnessing(access)?;
    let scanned = matches!(scan, Some(Ok(_)));
    let again = async |mut faults: Faults| {
        if scanned {
            faults.add("scan", "Choose the scan again: a file is not kept when the form comes back.");
        }
        let mut form = FormView::again(context, &posted, faults);
        form.entry.set("password", "");
        Ok(Again(build(app, context, visit, (way, how), form).await?).into_response())
    };
    let clinics = people::team(app, &visit.open::<Team, Read>().await?).await?.clinics();
    let signers = Signers::of(app, context, visit).await?;
    let today = app.store.clock().today();
    let asked = Asked {
        way,
        may_sign: Categories::all(),
        clinics: &clinics,
        owner: context.site.owner(),
        today,
        first_days: year_back(today)..=terms::last_day(today, terms::USUAL_MONTHS),
    };
    let Fields { terms, signer, signed_on, witness, scan } = match fields(&posted.entry, &asked, &signers, (how, scan))
    {
        Ok(fields) => fields,
        Err(faults) => return again(faults).await,
    };
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => return again(wrong_password("password", &attempt)).await,
        };
    let (evidence, doing, told) = match scan {
        // Laid before the transaction: what is not kept by its commit goes again.
        Some(scan) => (Evidence::Scan(app.store.files().lay(scan).await?), "record on paper", "given on paper"),
        None => (Evidence::Witness(witness), "record in person", "given in person"),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let new = Recorded { terms, signer, signed_on, evidence };
    let id = store::record(&mut tx, access, &reentered, new).await?;
    let to = visit.at(&format!("/people/consents/{id}"));
    tx.commit_at(Audit::by(access).record(id).doing(doing).told(told), &to).await?;
    Ok(Redirect::to(&to).into_response())
}
