//! All consents of a student on one page: what is in force, what ends soon,
//! emergencies past and present with who and why, and every document that was
//! sent, to whom and under which consent (G7).
//!
//! Does not show what a document says: its link leads there for whoever may read it.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;

use super::{emergency as opening, witnessed};
use crate::access::action::Read;
use crate::access::resource::{Consents, Evaluation, Prescription, Summary, Team, Transcription};
use crate::access::{Access, Side};
use crate::care::consent::{Consent, Direction, Due};
use crate::care::ids::StudentId;
use crate::store::emergency::{self, Opened};
use crate::store::sending::{self, Sent};
use crate::store::{Snapshot, consent};
use crate::web::error::Result;
use crate::web::page::{Context, Page, Shell, shell_about};
use crate::web::part::{Cell, Table, table};
use crate::web::people::{self, DirectionLine, Directions};
use crate::web::routes::Routes;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

pub(super) fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/consents", page)
}

#[derive(Template)]
#[template(path = "consents/all.html")]
struct AllPage {
    shell: Shell,
    directions: Vec<DirectionLine>,
    due: Vec<DueLine>,
    /// Emergencies open now: title and body of a notice, and its page.
    open: Vec<(String, String, String)>,
    consents: Table,
    emergencies: Table,
    sent: Table,
    /// Where a consent is recorded that was given in person or on paper.
    record: Vec<(String, String)>,
    emergency: Option<String>,
    history: String,
    back: String,
}

/// A consent that ends soon or has ended, and where this reader renews it.
struct DueLine {
    title: String,
    body: String,
    renew: Option<(String, String)>,
}

/// What is to be said of a consent in one line.
fn due_words(consent: &Consent, due: Due) -> String {
    let way = words::capital(consent.direction.words());
    match due {
        Due::EndsSoon(end) => format!("{way}: the consent ends on {}", words::date(end)),
        Due::Ended(end) => format!("{way}: the consent ended on {}", words::date(end)),
    }
}

async fn due_lines(visit: &Visit, found: Vec<(Consent, Due)>) -> Result<Vec<DueLine>> {
    let (signs, witnesses) = (people::signs_on_screen(visit), witnessed::witnesses(visit).await?);
    let line = |(consent, due): (Consent, Due)| {
        let way = consent.direction.code();
        let covers: Vec<&str> = consent.categories.iter().map(|one| one.words()).collect();
        let then = match due {
            Due::EndsSoon(_) => "After that day nothing new goes across",
            Due::Ended(_) => "Since then nothing new has gone across",
        };
        DueLine {
            title: due_words(&consent, due),
            body: format!("{then}. It covers: {}.", covers.join("; ")),
            renew: if signs {
                let to = visit.at(&format!("/people/consent/{way}?from={}", consent.id));
                Some((to, format!("Renew it, {}", consent.direction.words())))
            } else if witnesses {
                let to = visit.at(&format!("/people/consent/{way}/in-person?from={}", consent.id));
                Some((to, format!("Record its renewal, {}", consent.direction.words())))
            } else {
                None
            },
        }
    };
    Ok(found.into_iter().map(line).collect())
}

/// Where a document is read, for a reader who may read such documents.
fn document_href(visit: &Visit, sent: &Sent) -> Option<String> {
    let (may, path) = match sent.document.as_str() {
        // A report that went to the clinic is the school's copy of a paper.
        "evaluation" if sent.to_side == Side::Clinic => {
            (visit.may::<Transcription, Read>(), format!("/evaluations/paper/{}", sent.id))
        }
        "evaluation" => (visit.may::<Evaluation, Read>(), format!("/evaluations/{}", sent.id)),
        "prescription" => (visit.may::<Prescription, Read>(), format!("/prescription/{}", sent.id)),
        "decision" => (visit.may::<Prescription, Read>(), "/prescription".to_owned()),
        "summary" => (visit.may::<Summary, Read>(), format!("/summaries/{}", sent.id)),
        _ => (false, String::new()),
    };
    may.then(|| visit.at(&path))
}

/// What was sent: each document, when, to whom, under which consent.
pub(super) fn sent_table(app: &App, visit: &Visit, sent: &[Sent], caption: &str) -> Table {
    let clock = app.store.clock();
    let mut rows = table(caption)
        .column("Document")
        .column("Sent")
        .column("To whom")
        .column("Under which consent")
        .none("No signed document has gone across.");
    for one in sent {
        let kind = match one.document.as_str() {
            "summary" => "Training summary".to_owned(),
            other => words::capital(other),
        };
        let title = one.signed_on.map_or(kind.clone(), |day| format!("{kind} signed on {}", words::date(day)));
        let document = match document_href(visit, one) {
            Some(href) => Cell::link(&href, &title),
            None => Cell::from(title),
        };
        let way = if one.to_side == Side::Clinic { Direction::SchoolToClinic } else { Direction::ClinicToSchool };
        let signed = format!("{}, signed on {}", way.words(), words::date(clock.date_of(one.consented_at)));
        rows.push([
            document,
            Cell::from(words::instant(one.at, clock.zone())),
            Cell::from(one.to.clone()),
            Cell::link(&visit.at(&format!("/people/consents/{}", one.consent)), &signed),
        ]);
    }
    rows
}

fn consent_table(visit: &Visit, listed: &[consent::Listed], today: Date) -> Table {
    let mut rows = table("All consents")
        .column("Consent")
        .column("State")
        .column("First and last day")
        .column("Covers")
        .none("No consent was signed yet.");
    for one in listed {
        let consent = &one.consent;
        let covers: Vec<&str> = consent.categories.iter().map(|category| category.words()).collect();
        let end = consent.end.map_or_else(|| "until withdrawn".to_owned(), words::date);
        let title =
            format!("{}, by {}, {}", words::capital(consent.direction.words()), consent.signer, consent.given.words());
        rows.push([
            Cell::link(&visit.at(&format!("/people/consents/{}", consent.id)), &title),
            Cell::from(words::capital(people::state_of(one, today))),
            Cell::from(format!("{} to {end}", words::date(consent.start))),
            Cell::from(words::capital(&covers.join("; "))),
        ]);
    }
    rows
}

fn emergency_table(app: &App, visit: &Visit, opened: &[Opened]) -> Table {
    let (zone, now) = (app.store.clock().zone(), app.store.clock().now());
    let mut rows = table("Emergency access, past and present")
        .column("Opened")
        .column("What it opened")
        .column("By whom, for whom")
        .column("Why")
        .column("Until")
        .none("Nobody has opened anything in an emergency.");
    for one in opened {
        let until = match one.ended_at {
            Some(at) => format!("ended early, {} by {}", words::instant(at, zone), one.ended_by),
            None if one.open_at(now) => format!("open until {}", words::until(one.until, zone)),
            None => format!("ended by itself, {}", words::instant(one.until, zone)),
        };
        rows.push([
            Cell::link(&visit.at(&format!("/people/emergencies/{}", one.id)), &words::instant(one.at, zone)),
            Cell::from(words::capital(one.category.words())),
            Cell::from(format!("{}, for {}", one.by, one.to)),
            Cell::from(one.reason.clone()),
            Cell::from(until),
        ]);
    }
    rows
}

/// What a notice says of an emergency that is open now.
pub(super) fn open_words(app: &App, one: &Opened) -> (String, String) {
    let clock = app.store.clock();
    let until = words::until(one.until, clock.zone());
    (
        format!("Emergency access is open until {until}"),
        format!(
            "{} opened one kind of record without a consent, {}, for {}. It ends by itself in {}. The reason given: {}",
            one.by,
            one.category.words(),
            one.to,
            words::left(clock.now(), one.until),
            one.reason,
        ),
    )
}

/// Lines for lists across students: an emergency of the last week is told to
/// everybody who may know of it, ended or not.
pub(in crate::web) async fn notes_all(
    snapshot: &mut Snapshot,
    proofs: &[Access<Consents, Read>],
) -> crate::store::Result<Vec<(StudentId, String)>> {
    let now = snapshot.now();
    let zone = snapshot.zone().clone();
    let found = emergency::of_all(snapshot, proofs).await?;
    let week = jiff::SignedDuration::from_hours(7 * 24);
    Ok(found
        .into_iter()
        .filter(|(_, one)| now.duration_since(one.at) < week)
        .map(|(student, one)| {
            let at = words::instant(one.at, &zone);
            (student, format!("Emergency access without a consent: opened by {} on {at}", one.by))
        })
        .collect())
}

/// The same about one student.
pub(in crate::web) async fn notes(
    snapshot: &mut Snapshot,
    access: &Access<Consents, Read>,
) -> crate::store::Result<Vec<String>> {
    let found = notes_all(snapshot, std::slice::from_ref(access)).await?;
    Ok(found.into_iter().map(|(_, line)| line).collect())
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Consents, Read>,
) -> Result<Response> {
    let today = app.store.clock().today();
    let directions = match visit.open_if::<Team, Read>().await? {
        Some(team) => {
            let team = people::team(&app, &team).await?;
            Directions::of(&app, &access, &team, &context.site).await?.lines(&visit)
        }
        None => Vec::new(),
    };
    let mut snapshot = app.store.snapshot().await?;
    let now = snapshot.now();
    let listed = consent::list(&mut snapshot, &access).await?;
    let opened = emergency::list(&mut snapshot, &access).await?;
    let sent = sending::list(&mut snapshot, &access).await?;
    let due = consent::due(&mut snapshot, &access).await?;
    drop(snapshot);
    let mut record = Vec::new();
    if witnessed::witnesses(&visit).await? {
        for way in Direction::ALL {
            let to = visit.at(&format!("/people/consent/{}/in-person", way.code()));
            record.push((to, format!("Record one given in person, {}", way.words())));
            let to = visit.at(&format!("/people/consent/{}/paper", way.code()));
            record.push((to, format!("Record one on paper with its scan, {}", way.words())));
        }
    }
    let emergency = opening::may_open(&visit).await?.then(|| visit.at("/people/emergency"));
    Ok(Page(AllPage {
        shell: shell_about(&context, &visit, "Consents"),
        directions,
        due: due_lines(&visit, due).await?,
        open: opened
            .iter()
            .filter(|one| one.open_at(now))
            .map(|one| {
                let (title, body) = open_words(&app, one);
                (title, body, visit.at(&format!("/people/emergencies/{}", one.id)))
            })
            .collect(),
        consents: consent_table(&visit, &listed, today),
        emergencies: emergency_table(&app, &visit, &opened),
        sent: sent_table(&app, &visit, &sent, "What was sent"),
        record,
        emergency,
        history: visit.at("/history"),
        back: visit.at("/people"),
    })
    .into_response())
}
