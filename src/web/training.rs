//! A student's training: readiness of each track, the sessions, and progress
//! skill by skill.
//!
//! Rates stand with their interval and their count, and help stands beside
//! them, never blended into one number; progress is [`super::progress`]. The
//! readiness list is in `readiness.rs` and, signed again, in `resign.rs`, what
//! could come next in `next.rs`, the form of a session in `new.rs`, one session
//! in `session.rs`.

mod amend;
mod new;
mod next;
mod read;
mod readiness;
pub(super) mod report;
mod resign;
mod session;
pub(super) mod tell;

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::amend as correction;
use super::devices::{Heeded, heeded};
use super::error::Result;
use super::page::{Context, Page, Shell, shell_about};
use super::part::{self, Cell, Notice, Table};
use super::progress::{self, Progress};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{steps, words};
use crate::access::action::{Create, Edit, Export, Read};
use crate::access::resource::{LoanGlimpse, Resource, Training};
use crate::care::amendment::Kind;
use crate::care::caution::Occasion;
use crate::care::gates::{Named, Purpose, not_paused, safe_to_train};
use crate::care::loan::InHand;
use crate::care::track::Track;
use crate::care::training::Session;
use crate::store::amendment::InError;
use crate::store::{amendment, journey, loan, safety, training};

/// The routes of training.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/training", page)
        .get("/students/{student}/training/readiness/{word}", readiness::form)
        .post("/students/{student}/training/readiness/{word}", readiness::save)
        .get("/students/{student}/training/readiness/{word}/amend", resign::form)
        .post("/students/{student}/training/readiness/{word}/amend", resign::save)
        .get("/students/{student}/training/readiness/{word}/error", resign::error_page)
        .post("/students/{student}/training/readiness/{word}/error", resign::error)
        .get("/students/{student}/training/report", report::page)
        .get("/students/{student}/training/report/paper.pdf", report::on_paper)
        .get("/students/{student}/training/new", new::form)
        .post("/students/{student}/training/new", new::save)
        .get("/students/{student}/training/{record}", session::page)
        .get("/students/{student}/training/{record}/amend", amend::page)
        .post("/students/{student}/training/{record}/amend", amend::save)
        .get("/students/{student}/training/{record}/error", amend::error_page)
        .post("/students/{student}/training/{record}/error", amend::error)
}

#[derive(Template)]
#[template(path = "training/page.html")]
struct TrainingPage {
    shell: Shell,
    tracks: Vec<TrackPart>,
    /// Where the report between two days is, for who may print it.
    report: String,
    withheld: String,
    may_record: bool,
    cautions: Heeded,
}

/// One track of the page.
struct TrackPart {
    title: String,
    notices: Vec<Notice>,
    readiness: String,
    readiness_href: String,
    readiness_words: &'static str,
    new_href: String,
    sessions: Table,
    /// Address, words and reason of each session entered in error.
    errors: Vec<(String, String, String)>,
    next: next::Part,
    progress: Progress,
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    visit.opens_with::<Training>(&[LoanGlimpse::ROW]).await?;
    let access = visit.open::<Training, Read>().await?;
    let glimpse = visit.open_if::<LoanGlimpse, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let sessions = training::list(&mut snapshot, &access).await?;
    let withheld = training::count(&mut snapshot, &access).await?.saturating_sub(sessions.len());
    let errors = training::errors(&mut snapshot, &access).await?;
    let why = amendment::in_error(&mut snapshot, &access, Kind::Session).await?;
    let amended = amendment::latest(&mut snapshot, &access, Kind::Session).await?;
    let lists = crate::store::readiness::lists(&mut snapshot, &access).await?;
    let tracks = journey::tracks(&mut snapshot, &access).await?;
    let pauses = safety::pauses(&mut snapshot, &access).await?;
    let devices = match &glimpse {
        Some(glimpse) => tell::devices(&mut snapshot, glimpse, &sessions).await?,
        None => tell::Devices::default(),
    };
    let in_hand = match &glimpse {
        Some(glimpse) => loan::in_hand(&mut snapshot, glimpse).await?,
        None => Vec::new(),
    };
    let zone = snapshot.zone().clone();
    drop(snapshot);
    let may_record = visit.may::<Training, Create>();
    let mut coming = next::parts(&app, &visit, &context, today).await?;
    let reader = progress::reader(&visit, &context);
    let mut parts = Vec::new();
    for track in Track::ALL {
        let list = lists.iter().find(|list| list.track == *track);
        let signed = list.and_then(|list| list.signed.as_ref());
        let readiness = match (signed, list) {
            (Some((at, by)), _) => {
                let passed = list.map(readiness::passed_words).filter(|passed| !passed.is_empty());
                let passed = passed.map(|passed| format!(" {passed}")).unwrap_or_default();
                format!("Signed on {} by {by}.{passed}", words::date(at.to_zoned_datetime(zone.clone()).date()))
            }
            (None, Some(list)) => format!(
                "Begun: {} of {} items have a mark. Not signed yet.",
                list.marks.len(),
                crate::care::readiness::Item::list(*track).len()
            ),
            (None, None) => "Not signed yet.".to_owned(),
        };
        let mut notices = Vec::new();
        if may_record && let Err(blocked) = safe_to_train(tracks.of(*track)) {
            let href = steps::address(visit.student(), blocked.first);
            notices.push(
                part::notice("plain", "No training with a device yet", &blocked.to_string())
                    .link(&href, "Go to the step that comes first"),
            );
        }
        let readiness_href = visit.at(&format!("/training/readiness/{}", track.code()));
        let of_track: Vec<&Session> = sessions.iter().filter(|session| session.entered.track == *track).collect();
        parts.push(TrackPart {
            title: format!("{} track", words::capital(track.words())),
            notices,
            readiness,
            readiness_words: match (signed, list) {
                (Some(_), _) => "See the readiness list",
                _ if !visit.may::<Training, Edit>() => "See the readiness list",
                (None, Some(_)) => "Go on with the readiness list",
                (None, None) => "Start the readiness list",
            },
            readiness_href: if may_record || signed.is_some() { readiness_href } else { String::new() },
            new_href: if may_record {
                visit.at(&format!("/training/new?track={}", track.code()))
            } else {
                String::new()
            },
            sessions: session_table(&visit, *track, (&of_track, &amended), &devices),
            errors: error_list(&visit, *track, (&errors, &why)),
            next: coming.remove(track).unwrap_or_default(),
            progress: progress::view(*track, (&sessions, &errors), &devices, &reader),
        });
    }
    let mut shell = shell_about(&context, &visit, "Training");
    if not_paused(&pauses, today, None).is_err() {
        shell.title = shell.title.replacen("Training", "Training (paused)", 1);
    }
    let kinds = in_hand.iter().map(|device| device.kind).collect();
    let page = TrainingPage {
        shell,
        tracks: parts,
        report: if visit.may::<Training, Export>() { visit.at("/training/report") } else { String::new() },
        withheld: match withheld {
            0 => String::new(),
            1 => "One session more was held. What it says can be read 24 hours after it was entered.".to_owned(),
            more => {
                format!("{more} sessions more were held. What they say can be read 24 hours after they were entered.")
            }
        },
        may_record,
        cautions: heeded(&kinds, Occasion::Session),
    };
    Ok(Page(page).into_response())
}

/// The sessions of a track that were entered in error, with why.
fn error_list(
    visit: &Visit,
    track: Track,
    (errors, why): (&[Session], &BTreeMap<String, InError>),
) -> Vec<(String, String, String)> {
    let zone = visit.store().clock().zone();
    errors
        .iter()
        .filter(|session| session.entered.track == track)
        .map(|session| {
            let id = session.id.to_string();
            let told = why.get(&id).map(|error| correction::why(error, zone)).unwrap_or_default();
            (visit.at(&format!("/training/{id}")), words::date(session.entered.held_on), told)
        })
        .collect()
}

fn session_table(
    visit: &Visit,
    track: Track,
    (sessions, amended): (&[&Session], &BTreeMap<String, jiff::Timestamp>),
    devices: &tell::Devices,
) -> Table {
    let mut table = part::table(&format!("Sessions, {} track", track.words()))
        .column("Date")
        .column("Device")
        .column("Place")
        .column("What was done")
        .column("Entered by")
        .none("No session is recorded yet.");
    for session in sessions {
        let entered = &session.entered;
        let mut skills: Vec<&str> = Vec::new();
        for exercise in &entered.exercises {
            if !skills.contains(&exercise.skill.words()) {
                skills.push(exercise.skill.words());
            }
        }
        let mut done = match (&entered.refused, skills.is_empty()) {
            (Some(_), true) => "refused".to_owned(),
            (Some(_), false) => format!("{}, then refused", words::list(&skills)),
            (None, _) => words::list(&skills),
        };
        if entered.baseline {
            done = format!("baseline probe: {done}");
        }
        if !entered.order_reason.is_empty() {
            done = format!("{done} (out of order: {})", entered.order_reason);
        }
        if let Some(at) = amended.get(&session.id.to_string()) {
            done = format!("{done}; {}", correction::on(*at, visit.store().clock().zone()));
        }
        table.push([
            Cell::link(&visit.at(&format!("/training/{}", session.id)), &words::date(entered.held_on)),
            devices.words(entered.device).into(),
            entered.place.words().into(),
            done.into(),
            session.by_name.as_str().into(),
        ]);
    }
    table
}

/// Pairs of a code or a device, and words.
type Pairs = Vec<(String, String)>;

/// The devices a form of that day may offer, and those it refuses with why.
fn offered(track: Track, in_hand: &[InHand]) -> (Pairs, Pairs) {
    let mut offers = Vec::new();
    let mut refused = Vec::new();
    for device in in_hand.iter().filter(|device| device.track == track) {
        match device.against(Purpose::Session) {
            None => offers.push((device.code(), words::capital(&device.words))),
            Some(blocked) => refused.push((words::capital(&device.words), blocked.to_string())),
        }
    }
    offers.push((crate::care::loan::code_of(Named::NoDevice), "No device: eyes and glasses only".to_owned()));
    (offers, refused)
}
