//! Taking the record along: all that this reader may read, as one zip.
//!
//! The password is asked for on the page itself, with a reason; both stand in
//! the log, and what crosses stands in the disclosure record before a line of it
//! is read. Nothing is kept of the file, so pressing twice makes it twice.
//! What goes in is gathered in `gather.rs`, row by row under its own proof, and set on
//! paper in `papers.rs`.

mod gather;
mod papers;

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::account::wrong_password;
use super::attachment::disposition;
use super::check::{Check, SHORT_TEXT};
use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use crate::access::Role;
use crate::access::action::Export;
use crate::access::resource::WholeRecord;
use crate::exchange::fhir::Terms;
use crate::exchange::pack::{self, Attached, Packing};
use crate::exchange::table::Reader;
use crate::pdf::Size;
use crate::store::{Audit, account, disclosure};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/export", page).post("/students/{student}/export", take)
}

/// Whether this person may take the record along, the password entered again.
///
/// # Errors
/// When the database fails.
pub async fn may_take(visit: &Visit) -> Result<bool> {
    match visit.allows_with_password::<WholeRecord, Export>().await {
        Ok(()) => Ok(true),
        Err(Error::Hidden | Error::Forbidden(_) | Error::PasswordNeeded) => Ok(false),
        Err(error) => Err(error),
    }
}

#[derive(Template)]
#[template(path = "export/page.html")]
struct ExportPage {
    shell: Shell,
    form: FormView,
    logged: &'static str,
    texts: Vec<(&'static str, &'static str)>,
    papers: Vec<(&'static str, &'static str)>,
    action: String,
    back: String,
}

fn build(context: &Context, visit: &Visit, form: FormView) -> ExportPage {
    ExportPage {
        shell: shell_about(context, visit, "Take the record along").of_form(&form),
        form,
        logged: match visit.role() {
            Some(Role::Parent) => {
                "That you took it along stands in the record of what went across, which you may read."
            }
            Some(Role::Clinician) => {
                "Each kind of record in it stands in the record of what went across, which the family reads."
            }
            _ => "It is logged with your name and the reason.",
        },
        texts: vec![
            ("spreadsheet", "a spreadsheet: what somebody typed is never run as a formula"),
            ("program", "a program: every text exactly as it was typed"),
        ],
        papers: vec![
            ("large", "in large print, 18 pt"),
            ("standard", "in standard print, 12 pt"),
            ("none", "not at all: the tables are enough"),
        ],
        action: visit.at("/export"),
        back: visit.at("/people"),
    }
}

async fn page(context: Context, visit: Visit) -> Result<Response> {
    visit.allows_with_password::<WholeRecord, Export>().await?;
    let form = FormView::filled(&context, Entry::default().with("text", "spreadsheet").with("papers", "large"));
    Ok(Page(build(&context, &visit, form)).into_response())
}

async fn take(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    visit.allows_with_password::<WholeRecord, Export>().await?;
    let again = |faults: Faults| {
        let mut form = FormView::again(&context, &posted, faults);
        form.entry.set("password", "");
        Ok(Again(build(&context, &visit, form)).into_response())
    };
    let mut check = Check::new(&posted.entry);
    let reason = check.text("reason", "Why you take it along", SHORT_TEXT);
    let reader = check.one_of("text", "The tables are for", &["spreadsheet", "program"]);
    let papers = check.one_of("papers", "The papers (PDF) are in it", &["large", "standard", "none"]);
    let (reason, reader, papers) = match check.build(|| Some((reason, reader?, papers?))) {
        Ok(asked) => asked,
        Err(faults) => return again(faults),
    };
    let reader = if reader == "program" { Reader::Program } else { Reader::Spreadsheet };
    let reentered =
        match account::reenter(&app.store, &app.passwords, visit.actor(), posted.entry.get("password")).await? {
            Ok(reentered) => reentered,
            Err(attempt) => return again(wrong_password("password", &attempt)),
        };
    let access = visit.open_reentered::<WholeRecord, Export>(&reentered).await?;
    let mut tx = app.store.tx().await?;
    let access = disclosure::of_taking(&mut tx, &access, gather::KINDS).await?;
    let found = gather::record(&mut tx, &access, &context.site).await?;
    let now = tx.now();
    tx.commit(Audit::by(&access).because(reason)).await?;
    visit.took(&access, gather::KINDS);
    let papers = match Size::named(papers) {
        Some(size) => papers::all(&app, &context, &visit, size).await?,
        None => Vec::new(),
    };
    let mut attached = Vec::new();
    for (parent, file) in found.attachments {
        let content = file.content(&app.store).await?;
        let (id, name, kind, stored_at) = (file.id.to_string(), file.name, file.kind, file.stored_at);
        attached.push(Attached { id, parent, name, kind, stored_at, content });
    }
    // Codes under the address of the installation; SNOMED where the site has a licence.
    let terms = Terms { base: app.address.to_string(), snomed: context.site.snomed() };
    let packing = Packing { record: found.record, texts: found.texts, papers, attached, terms, reader, now };
    // Packing takes long enough to be in the way of other requests.
    let zip = tokio::task::spawn_blocking(move || pack::zip(&packing))
        .await
        .map_err(|error| Error::broken(&error))?
        .map_err(|error| Error::broken(&error))?;
    let day = app.store.clock().today();
    Ok((
        [
            (header::CONTENT_TYPE, "application/zip".to_owned()),
            (header::CONTENT_DISPOSITION, disposition(&format!("farpoint-record-{day}.zip"))),
            (header::CONTENT_SECURITY_POLICY, "sandbox; default-src 'none'; frame-ancestors 'none'".to_owned()),
            (header::CACHE_CONTROL, "no-store".to_owned()),
        ],
        zip,
    )
        .into_response())
}
