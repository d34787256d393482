//! The disclosure record: what went across, to whom, when, on which ground.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::error::Result;
use super::page::{Context, Page, Shell, shell_about};
use super::part::{Table, table};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{pdf, words};
use crate::access::action::{Export, Read};
use crate::access::resource::DisclosureRecord;
use crate::access::{Access, Side};
use crate::pdf::Room;
use crate::store::disclosure;

/// Lines on one page; all of them are in what is taken along.
const SHOWN: i64 = 500;

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/history", page).get("/students/{student}/history/paper.pdf", on_paper)
}

#[derive(Template)]
#[template(path = "history/page.html")]
struct HistoryPage {
    shell: Shell,
    own_only: bool,
    rows: Table,
    pdf: pdf::Links,
    back: String,
}

/// The name of a row of the access table or of a document, as people say it.
fn what_words(what: &str) -> String {
    let known = match what {
        "Identity" | "Glimpse" => "who the student is",
        "Initials" => "initials",
        "Contacts" => "family contacts",
        "Intake" => "intake",
        "EvaluationRequest" | "RequestDate" => "request for an evaluation",
        "VisualTasks" | "TaskGlimpse" => "what to see, and seats",
        "ClassObservation" => "what was seen in class",
        "HomeObservation" => "what was seen at home",
        "Evaluation" | "evaluation" | "Transcription" => "evaluation",
        "Loans" | "Receipt" | "Repair" | "LoanDecision" | "LoanGlimpse" => "devices and loans",
        "Training" => "readiness and training",
        "Guidance" => "figures for tasks and seats",
        "Card" => "classroom card",
        "TryAtHome" => "what to try at home",
        "Summary" | "summary" => "training summary",
        "Prescription" | "prescription" => "decisions and prescription",
        "decision" => "decision",
        "Thread" => "thread",
        "SafetyFlag" | "FlagKind" | "Pause" => "red flag",
        "Visits" | "VisitTimes" => "visits",
        "Stage" => "stage",
        "record" => "the record",
        "Emergency" => "emergency access opened",
        other => other,
    };
    words::capital(known)
}

fn basis_words(basis: &str) -> &str {
    match basis {
        "consent" => "consent",
        "rights_holder" => "asked by a rights holder",
        "school_official" => "school official",
        "emergency" => "emergency",
        "sent" => "sent while a consent was in force",
        "none" => "safety, without consent",
        other => other,
    }
}

fn channel_words(channel: &str) -> &str {
    match channel {
        "screen" => "read on screen",
        "print" => "printed",
        "export" => "taken away",
        "sending" => "sent",
        other => other,
    }
}

const fn side_words(side: Side) -> &'static str {
    match side {
        Side::School => "school",
        Side::Clinic => "clinic",
        Side::Family => "family",
        Side::Office => "records office",
    }
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<DisclosureRecord, Read>,
) -> Result<Response> {
    Ok(Page(read(&app, &context, &visit, &access).await?).into_response())
}

async fn on_paper(State(app): State<App>, paper: pdf::Paper<DisclosureRecord>) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access).await?;
    paper.answer(&page, Room::Open).await
}

/// The record as it is printed.
pub(super) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<DisclosureRecord, Export>,
) -> Result<impl Template> {
    read(app, context, visit, &access.read()).await
}

async fn read(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<DisclosureRecord, Read>,
) -> Result<HistoryPage> {
    let mut snapshot = app.store.snapshot().await?;
    let zone = snapshot.zone().clone();
    let found = disclosure::of_student(&mut snapshot, access, SHOWN).await?;
    drop(snapshot);
    let mut rows = table("What went across")
        .column("When")
        .column("What")
        .column("To whom")
        .column("How and on which ground")
        .none("Nothing has crossed between school and clinic.");
    for one in found {
        let organisation = if one.organisation.is_empty() || one.organisation == one.recipient {
            side_words(one.to_side).to_owned()
        } else {
            format!("{}, {}", one.organisation, side_words(one.to_side))
        };
        let how = if one.refused {
            "Asked for on screen and refused: nothing was shown".to_owned()
        } else {
            format!("{}: {}", words::capital(channel_words(&one.channel)), basis_words(&one.basis))
        };
        rows.push([
            words::instant(one.at, &zone),
            what_words(&one.what),
            format!("{} ({organisation})", one.recipient),
            how,
        ]);
    }
    Ok(HistoryPage {
        shell: shell_about(context, visit, "What went across"),
        own_only: access.limits().own_only,
        rows,
        pdf: if visit.may::<DisclosureRecord, Export>() {
            pdf::links(&visit.at("/history/paper.pdf"))
        } else {
            pdf::Links::default()
        },
        back: visit.at("/people"),
    })
}
