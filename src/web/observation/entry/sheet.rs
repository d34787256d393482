//! Observations from a teacher's own spreadsheet: looked at first, row by row, then
//! all added at once or none.
//!
//! Every row passes the checks of the form. A sheet with a fault anywhere adds
//! nothing; one that was taken in before adds nothing twice. Reading the text is
//! in [`read`], judging the rows in [`judged`].

mod judged;
mod read;

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};

use self::judged::{Desk, Judged, Outcome, answers_on_page};
use self::read::{LARGEST, sheet as rows_of};
use super::{Offered, beside, offered, width};
use crate::access::Access;
use crate::access::action::Create;
use crate::access::resource::ClassObservation;
use crate::care::observation::sheet::{COLUMNS, MOST_ROWS, Needed, Refused, Row};
use crate::store::{Audit, observation, sheet, suspect};
use crate::web::error::Result;
use crate::web::form::{Entry, Faults, FormView};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::part::{self, Cell};
use crate::web::state::App;
use crate::web::upload::{NotText, Upload, Uploaded};
use crate::web::visit::Visit;

#[derive(Template)]
#[template(path = "observation/sheet.html")]
struct SheetPage {
    shell: Shell,
    form: FormView,
    action: String,
    back: String,
    empty: String,
    columns: part::Table,
    most: usize,
}

#[derive(Template)]
#[template(path = "observation/preview.html")]
struct PreviewPage {
    shell: Shell,
    form: FormView,
    action: String,
    back: String,
    said: String,
    table: part::Table,
    ready: usize,
    faulty: usize,
    text: String,
}

fn sheet_page(desk: &Desk<'_>, offered: &Offered, form: FormView) -> SheetPage {
    let answers = answers_on_page(desk, offered);
    let mut columns = part::table("The columns").column("Head").column("Needed").column("What stands in it");
    for column in &COLUMNS {
        let listed = answers.iter().find(|(field, _)| *field == column.field).map(|(_, words)| words.join("; "));
        let takes = match listed.filter(|words| !words.is_empty()) {
            Some(words) => format!("{}: {words}", column.takes),
            None => column.takes.to_owned(),
        };
        let needed = match column.needed {
            Needed::Always => "Yes",
            Needed::No => "May be empty",
        };
        columns.push([column.head.to_owned(), needed.to_owned(), takes]);
    }
    SheetPage {
        shell: shell_about(desk.context, desk.visit, "Add from a spreadsheet").of_form(&form),
        form,
        action: desk.visit.at("/observations/from-spreadsheet"),
        back: desk.visit.at("/observations"),
        empty: desk.visit.at("/observations/from-spreadsheet/empty"),
        columns,
        most: MOST_ROWS,
    }
}

async fn desk<'a>(
    context: &'a Context,
    visit: &'a Visit,
    access: &'a Access<ClassObservation, Create>,
) -> Result<Desk<'a>> {
    Ok(Desk { context, visit, access, width: width(visit).await? })
}

pub(in crate::web::observation) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<ClassObservation, Create>,
) -> Result<Response> {
    let desk = desk(&context, &visit, &access).await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let offered = offered(&mut snapshot, &visit, (desk.width, &Entry::default()), today).await?;
    Ok(Page(sheet_page(&desk, &offered, FormView::blank(&context))).into_response())
}

/// The heads alone, as a file that every spreadsheet opens.
pub(in crate::web::observation) async fn empty(_access: Access<ClassObservation, Create>) -> Result<Response> {
    let heads: Vec<&str> = COLUMNS.iter().map(|column| column.head).collect();
    let body = format!("\u{feff}{}\r\n", heads.join(","));
    let kind = (header::CONTENT_TYPE, "text/csv; charset=utf-8");
    let name = (header::CONTENT_DISPOSITION, "attachment; filename=\"observations.csv\"");
    Ok(([kind, name], body).into_response())
}

/// The text of a sheet: a file that was chosen, or what was pasted.
fn text_of(file: Option<Upload>, pasted: &str) -> std::result::Result<String, (&'static str, Refused)> {
    match file.map(|file| file.text(LARGEST)) {
        Some(Ok(text)) => Ok(text),
        Some(Err(NotText::TooLarge)) => Err(("file", Refused::TooLarge)),
        Some(Err(NotText::Other)) => Err(("file", Refused::NotText)),
        None if pasted.trim().is_empty() => Err(("file", Refused::Empty)),
        None => Ok(pasted.to_owned()),
    }
}

fn preview_page(desk: &Desk<'_>, judged: &[Judged], text: String) -> PreviewPage {
    let count = |wanted: fn(&Outcome) -> bool| judged.iter().filter(|row| wanted(&row.outcome)).count();
    let ready = count(|outcome| matches!(outcome, Outcome::Ready(_)));
    let there = count(|outcome| matches!(outcome, Outcome::There));
    let faulty = count(|outcome| matches!(outcome, Outcome::Faulty(_)));
    let mut table = part::table("The rows of your sheet")
        .number("Row")
        .column("Day")
        .column("Task")
        .column("Result")
        .column("What becomes of it");
    for row in judged {
        let outcome: Cell = match &row.outcome {
            Outcome::Ready(_) => Cell::status("Can be added", "good"),
            Outcome::There => Cell::status("Added before, not added again", "plain"),
            Outcome::Faulty(faults) => faults.join(" ").into(),
        };
        table.push([
            row.line.to_string().into(),
            row.day.clone().into(),
            row.task.clone().into(),
            row.result.clone().into(),
            outcome,
        ]);
    }
    let said = match (ready, there, faulty) {
        (0, _, 0) => "Every row was added before. Nothing is added again.".to_owned(),
        (_, _, 0) => format!("{} can be added. {}Nothing is stored yet.", rows_words(ready), there_words(there)),
        _ => format!(
            "{} to mend. Nothing is stored. Mend it in your spreadsheet and take it in again.",
            rows_words(faulty)
        ),
    };
    PreviewPage {
        shell: shell_about(desk.context, desk.visit, "Your sheet, before it is added"),
        form: FormView::blank(desk.context),
        action: desk.visit.at("/observations/from-spreadsheet/add"),
        back: desk.visit.at("/observations/from-spreadsheet"),
        said,
        table,
        ready: if faulty == 0 { ready } else { 0 },
        faulty,
        text,
    }
}

fn rows_words(count: usize) -> String {
    if count == 1 { "1 row".to_owned() } else { format!("{count} rows") }
}

fn there_words(count: usize) -> String {
    match count {
        0 => String::new(),
        1 => "1 row was added before and is not added again. ".to_owned(),
        count => format!("{count} rows were added before and are not added again. "),
    }
}

/// The sheet as it was sent, its rows, or the page that says why there are none.
enum Sent {
    Read(String, Vec<Row>),
    Refused(Box<Response>),
}

async fn sent(app: &App, desk: &Desk<'_>, uploaded: Uploaded, field: &str) -> Result<Sent> {
    let Uploaded { posted, file } = uploaded;
    let found = text_of(file, posted.entry.get(field)).and_then(|text| match rows_of(&text) {
        Ok(rows) => Ok((text, rows)),
        Err(refused) => Err(("pasted", refused)),
    });
    let (at, refused) = match found {
        Ok((text, rows)) => return Ok(Sent::Read(text, rows)),
        Err(refused) => refused,
    };
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let offered = offered(&mut snapshot, desk.visit, (desk.width, &Entry::default()), today).await?;
    let form = FormView::again(desk.context, &posted, Faults::one(at, refused.to_string()));
    Ok(Sent::Refused(Box::new(Again(sheet_page(desk, &offered, form)).into_response())))
}

pub(in crate::web::observation) async fn preview(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<ClassObservation, Create>,
    uploaded: Uploaded,
) -> Result<Response> {
    let desk = desk(&context, &visit, &access).await?;
    let (text, rows) = match sent(&app, &desk, uploaded, "pasted").await? {
        Sent::Read(text, rows) => (text, rows),
        Sent::Refused(page) => return Ok(*page),
    };
    let mut snapshot = app.store.snapshot().await?;
    let judged = desk.judge(&mut snapshot, &rows).await?;
    let page = preview_page(&desk, &judged, text);
    Ok(if page.faulty > 0 { Again(page).into_response() } else { Page(page).into_response() })
}

/// Adds all rows in one transaction; what was shown before is not believed but
/// judged again.
pub(in crate::web::observation) async fn add(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<ClassObservation, Create>,
    uploaded: Uploaded,
) -> Result<Response> {
    let desk = desk(&context, &visit, &access).await?;
    let key = uploaded.posted.key.clone();
    let (text, rows) = match sent(&app, &desk, uploaded, "sheet").await? {
        Sent::Read(text, rows) => (text, rows),
        Sent::Refused(page) => return Ok(*page),
    };
    let mut tx = app.store.tx().await?;
    tx.claim(&key, Some(visit.actor().account)).await?;
    let judged = desk.judge(&mut tx, &rows).await?;
    let page = preview_page(&desk, &judged, text);
    if page.faulty > 0 {
        return Ok(Again(page).into_response());
    }
    if page.ready == 0 {
        return Ok(Page(page).into_response());
    }
    let mut last = None;
    for row in judged {
        let Outcome::Ready(row) = row.outcome else { continue };
        if let Some(audit) = last.take() {
            tx.also(audit).await?;
        }
        let new = &row.checked.new;
        let id = observation::record_in_class(&mut tx, &access, row.device, new).await?;
        beside::said(&mut tx, &access, id, &row.checked).await?;
        sheet::came_from(&mut tx, &access, id, &row.digest).await?;
        suspect::ask(&mut tx, &access, id, (new, row.about)).await?;
        last = Some(Audit::by(&access).record(id).told("recorded").on(new.seen_on));
    }
    let location = visit.at("/observations");
    if let Some(audit) = last {
        tx.commit_at(audit, &location).await?;
    }
    Ok(Redirect::to(&location).into_response())
}
