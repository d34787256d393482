//! Who the student is: opening a record, and changing what is known.
//!
//! One form for both. The first step of an intake is this form, too.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::check::{Check, NAME, SHORT_TEXT};
use super::error::{Both, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::routes::Routes;
use super::stale;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::action::{Create, Edit};
use crate::access::resource::{Identity, OpenRecord};
use crate::access::{Access, Office};
use crate::care::student::{NewStudent, OLDEST_YEARS, Student};
use crate::store::{Audit, StoreError, student};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/new", new_page)
        .post("/students/new", open)
        .get("/students/{student}/identity", page)
        .post("/students/{student}/identity", change)
}

/// The longest student number.
const NUMBER: usize = 32;

/// What stands between two formats in a record.
const FORMAT_MARK: &str = ", ";

/// Grades, as a school says them.
const GRADES: [(&str, &str); 15] = [
    ("PK", "Pre-kindergarten"),
    ("K", "Kindergarten"),
    ("1", "Grade 1"),
    ("2", "Grade 2"),
    ("3", "Grade 3"),
    ("4", "Grade 4"),
    ("5", "Grade 5"),
    ("6", "Grade 6"),
    ("7", "Grade 7"),
    ("8", "Grade 8"),
    ("9", "Grade 9"),
    ("10", "Grade 10"),
    ("11", "Grade 11"),
    ("12", "Grade 12"),
    ("transition", "Transition"),
];

/// What a student can read best. The words are what is kept and shown.
const FORMATS: [&str; 8] = [
    "print 12 pt",
    "print 14 pt",
    "print 18 pt",
    "print 24 pt or larger",
    "enlarged copies",
    "audio",
    "braille",
    "print and braille",
];

#[derive(Template)]
#[template(path = "identity/new.html")]
struct NewStudentPage {
    shell: Shell,
    form: FormView,
    lists: Lists,
}

#[derive(Template)]
#[template(path = "identity/page.html")]
struct IdentityPage {
    shell: Shell,
    form: FormView,
    lists: Lists,
    action: String,
}

/// The closed lists of the identity form.
pub(super) struct Lists {
    /// Grades.
    pub(super) grades: Vec<(&'static str, &'static str)>,
    /// Print formats.
    pub(super) formats: Vec<(String, String)>,
}

impl Lists {
    /// `kept` is what the record says already: it stays offered.
    pub(super) fn new(kept: &str) -> Self {
        Self {
            grades: GRADES.to_vec(),
            formats: formats(kept).map(|words| (words.to_owned(), words::capital(words))).collect(),
        }
    }
}

/// The formats of the list, then those that a record holds besides.
fn formats(kept: &str) -> impl Iterator<Item = &str> {
    let besides = kept.split(FORMAT_MARK).filter(|format| !format.is_empty() && !FORMATS.contains(format));
    FORMATS.iter().copied().chain(besides)
}

/// A grade as a reader says it: "grade 4", "kindergarten".
pub fn grade_words(grade: &str) -> String {
    GRADES.iter().find(|(code, _)| *code == grade).map_or_else(|| grade.to_owned(), |(_, words)| (*words).to_owned())
}

/// The form filled with what is known.
pub(super) fn entry_of(student: &Student) -> Entry {
    let mut entry = Entry::default()
        .with("number", student.number.clone())
        .with("name", student.name.clone())
        .with("preferred_name", student.preferred_name.clone())
        .with("birth_date", student.birth_date.to_string())
        .with("school", student.school.clone())
        .with("grade", student.grade.clone())
        .with("languages", student.languages.clone())
        .with("interpreter", if student.interpreter { "yes" } else { "no" });
    for format in student.print_format.split(FORMAT_MARK) {
        entry.add("print_format", format);
    }
    entry
}

/// Reads the identity form.
pub(super) fn checked(entry: &Entry, today: Date, kept: &str) -> std::result::Result<NewStudent, Faults> {
    let mut check = Check::new(entry);
    let number = check.text("number", "Student number", NUMBER);
    let name = check.text("name", "Name", NAME);
    let preferred_name = check.opt_text("preferred_name", "Name the child is called by", NAME);
    let youngest = today.checked_sub((OLDEST_YEARS + 1).years()).unwrap_or(today);
    let youngest = youngest.tomorrow().unwrap_or(youngest);
    let birth_date = check.date("birth_date", "Date of birth", youngest..=today);
    let school = check.opt_text("school", "School", NAME);
    let grade = check.one_of("grade", "Grade", &GRADES.map(|(code, _)| code));
    let languages = check.opt_text("languages", "Languages at home", SHORT_TEXT);
    let interpreter = check.yes_no("interpreter", "An interpreter for the family");
    let chosen = entry.all("print_format");
    if chosen.iter().any(|one| formats(kept).all(|format| format != *one)) {
        check.fault("print_format", "Choose among the formats listed.");
    }
    let print_format = formats(kept).filter(|format| chosen.contains(format)).collect::<Vec<_>>().join(FORMAT_MARK);
    check.build(|| {
        Some(NewStudent {
            number,
            name,
            preferred_name,
            birth_date: birth_date?,
            school,
            grade: grade?.to_owned(),
            languages,
            interpreter: interpreter?,
            print_format,
        })
    })
}

async fn new_page(context: Context, _office: Office<OpenRecord, Create>) -> Page<NewStudentPage> {
    let shell = context.shell("New student");
    Page(NewStudentPage { shell, form: FormView::blank(&context), lists: Lists::new("") })
}

const NUMBER_TAKEN: &str = "This number is in use here already. Check it, or ask the records officer whose it is.";

async fn open(
    State(app): State<App>,
    context: Context,
    office: Office<OpenRecord, Create>,
    posted: Posted,
) -> Result<Response> {
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        let shell = context.shell("New student").of_form(&form);
        Ok(Again(NewStudentPage { shell, form, lists: Lists::new("") }).into_response())
    };
    let mut tx = app.store.tx().await?;
    let new = match checked(&posted.entry, tx.today(), "") {
        Ok(new) => new,
        Err(faults) => return again(faults),
    };
    tx.claim(&posted.key, Some(office.actor().account)).await?;
    match student::open(&mut tx, &office, &new).await {
        Ok(id) => {
            let to = format!("/students/{id}/intake/eyes");
            tx.commit_at(Audit::office(&office).record(id), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Taken) => again(Faults::one("number", NUMBER_TAKEN)),
        Err(error) => Err(error.into()),
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Identity, Edit>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let known = student::identity(&mut snapshot, &access).await?;
    let form = FormView::filled(&context, entry_of(&known)).at_version(known.version);
    let shell = shell_about(&context, &visit, "Who the student is");
    Ok(Page(IdentityPage { shell, form, lists: Lists::new(&known.print_format), action: visit.at("/identity") })
        .into_response())
}

async fn change(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Identity, Edit>,
    posted: Posted,
) -> Result<Response> {
    match save(&app, &visit, &access, &posted, &visit.at("/intake")).await? {
        Ok(response) => Ok(response),
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            let known = student::identity(&mut app.store.snapshot().await?, &access).await?;
            let shell = shell_about(&context, &visit, "Who the student is").of_form(&form);
            Ok(Again(IdentityPage {
                shell,
                form,
                lists: Lists::new(&known.print_format),
                action: visit.at("/identity"),
            })
            .into_response())
        }
    }
}

/// Saves the identity form and goes on to `to`, or says what is to be mended.
pub(super) async fn save(
    app: &App,
    visit: &Visit,
    access: &Access<Identity, Edit>,
    posted: &Posted,
    to: &str,
) -> Result<std::result::Result<Response, Faults>> {
    let mut tx = app.store.tx().await?;
    let kept = student::identity(&mut tx, access).await?.print_format;
    let new = match checked(&posted.entry, tx.today(), &kept) {
        Ok(new) => new,
        Err(faults) => return Ok(Err(faults)),
    };
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match student::change(&mut tx, access, &new, posted.version.unwrap_or(0)).await {
        Ok(()) => {
            tx.commit_at(Audit::by(access).record(access.student()), to).await?;
            Ok(Ok(Redirect::to(to).into_response()))
        }
        Err(StoreError::Taken) => Ok(Err(Faults::one("number", NUMBER_TAKEN))),
        Err(StoreError::Stale) => {
            drop(tx);
            let mut snapshot = app.store.snapshot().await?;
            let theirs = student::identity(&mut snapshot, access).await?;
            let both = Both { back: visit.at("/identity"), rows: both(&theirs, &new) };
            Err(stale::error(&mut snapshot, access, (access.student(), theirs.version), both).await?)
        }
        Err(error) => Err(error.into()),
    }
}

fn both(theirs: &Student, yours: &NewStudent) -> Vec<(String, String, String)> {
    let yes = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    [
        ("Student number", theirs.number.clone(), yours.number.clone()),
        ("Name", theirs.name.clone(), yours.name.clone()),
        ("Called", theirs.preferred_name.clone(), yours.preferred_name.clone()),
        ("Date of birth", theirs.birth_date.to_string(), yours.birth_date.to_string()),
        ("School", theirs.school.clone(), yours.school.clone()),
        ("Grade", grade_words(&theirs.grade), grade_words(&yours.grade)),
        ("Languages at home", theirs.languages.clone(), yours.languages.clone()),
        ("Interpreter", yes(theirs.interpreter), yes(yours.interpreter)),
        ("Reads best in", theirs.print_format.clone(), yours.print_format.clone()),
    ]
    .into_iter()
    .filter(|(_, theirs, yours)| theirs != yours)
    .map(|(label, theirs, yours)| (label.to_owned(), theirs, yours))
    .collect()
}
