//! The progress report: what was trained between two days, on one sheet for a
//! meeting or for home.
//!
//! Holds only what its reader may print: a family's report leaves out sessions that
//! can still be changed, and says how many. Without days it covers the last three
//! months. The days stand in the address, so that its PDF is the same report.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::tell;
use crate::access::Access;
use crate::access::action::{Export, Read};
use crate::access::resource::{LoanGlimpse, Resource, Training};
use crate::care::caution::Occasion;
use crate::care::gates::Named;
use crate::care::track::Track;
use crate::care::training::Session;
use crate::pdf::Room;
use crate::store::{Snapshot, loan, training};
use crate::web::check::Check;
use crate::web::devices::{Heeded, heeded};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::part;
use crate::web::progress::{self, Method, Progress, Reader};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::{pdf, words};

#[derive(Template)]
#[template(path = "training/report.html")]
struct ReportPage {
    shell: Shell,
    crumbs: part::Crumbs,
    form: FormView,
    action: String,
    pdf: pdf::Links,
    facts: Vec<(String, String)>,
    withheld: String,
    tracks: Vec<TrackReport>,
    /// How the figures of all tracks came about, for paper.
    method: Option<Method>,
    cautions: Heeded,
}

/// One track of it.
struct TrackReport {
    title: String,
    facts: Vec<(String, String)>,
    progress: Progress,
}

/// The days asked for; the last three months unless said.
fn days(entry: &Entry, today: Date) -> (Date, Date, Faults) {
    let usual = today.saturating_sub(3.months());
    let range = today.saturating_sub(5.years())..=today;
    let mut check = Check::new(entry);
    let from = check.opt_date("from", "From", range.clone());
    let to = check.opt_date("to", "To", range).unwrap_or(today);
    let from = from.unwrap_or(usual.min(to));
    if from > to {
        check.fault("from", "From must not be later than to.");
    }
    match check.build(|| Some((from, to))) {
        Ok((from, to)) => (from, to, Faults::default()),
        Err(faults) => (usual, today, faults),
    }
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Training, Export>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let (page, faulty) = report(&app, &context, &visit, &access, query.as_deref()).await?;
    Ok(if faulty { Again(page).into_response() } else { Page(page).into_response() })
}

pub(super) async fn on_paper(
    State(app): State<App>,
    paper: pdf::Paper<Training>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access, query.as_deref()).await?;
    paper.answer(&page, Room::Open).await
}

/// The report of these days as it is printed; of other days than those asked for it
/// would be another report.
pub(in crate::web) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Training, Export>,
    query: Option<&str>,
) -> Result<impl Template> {
    let (page, faulty) = report(app, context, visit, access, query).await?;
    if faulty { Err(Error::Hidden) } else { Ok(page) }
}

async fn report(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Training, Export>,
    query: Option<&str>,
) -> Result<(ReportPage, bool)> {
    let entry = Entry::of_query(query);
    visit.opens_next(&[LoanGlimpse::ROW]).await?;
    let glimpse = visit.open_if::<LoanGlimpse, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let (from, to, faults) = days(&entry, snapshot.today());
    let all = training::list(&mut snapshot, access).await?;
    let withheld = training::count(&mut snapshot, access).await?.saturating_sub(all.len());
    let sessions: Vec<Session> =
        all.into_iter().filter(|session| (from..=to).contains(&session.entered.held_on)).collect();
    let mut errors = training::errors(&mut snapshot, access).await?;
    errors.retain(|session| (from..=to).contains(&session.entered.held_on));
    let (devices, cautions) = with_devices(&mut snapshot, glimpse.as_ref(), &sessions).await?;
    drop(snapshot);
    let faulty = !faults.is_empty();
    let mut form = if faulty {
        FormView::filled(context, entry)
    } else {
        let typed = Entry::default().with("from", from.to_string()).with("to", to.to_string());
        FormView::filled(context, typed)
    };
    form.faults = faults;
    let base = visit.at("/training/report");
    let reader = progress::reader(visit, context);
    let tracks = Track::ALL.iter().filter_map(|track| track_report(*track, (&sessions, &errors), &devices, &reader));
    let mut tracks: Vec<TrackReport> = tracks.collect();
    let methods: Vec<Method> = tracks.iter_mut().filter_map(|track| track.progress.take_method()).collect();
    let page = ReportPage {
        shell: shell_about(context, visit, "Progress report").of_form(&form),
        crumbs: part::crumbs(&[(visit.at("/training"), "Training".to_owned())]),
        action: base.clone(),
        pdf: pdf::links((!faulty).then(|| format!("{base}/paper.pdf?from={from}&to={to}"))),
        form,
        facts: vec![
            ("Student".to_owned(), visit.name().to_owned()),
            ("Days".to_owned(), format!("{} to {}", words::date(from), words::date(to))),
            ("Sessions".to_owned(), told(&sessions.iter().collect::<Vec<_>>())),
        ],
        withheld: match withheld {
            0 => String::new(),
            1 => "One session is left out: it can still be changed.".to_owned(),
            more => format!("{more} sessions are left out: they can still be changed."),
        },
        tracks,
        method: methods.into_iter().next(),
        cautions,
    };
    Ok((page, faulty))
}

/// The words for the devices used, and the cautions of those in hand.
async fn with_devices(
    snapshot: &mut Snapshot,
    glimpse: Option<&Access<LoanGlimpse, Read>>,
    sessions: &[Session],
) -> Result<(tell::Devices, Heeded)> {
    let Some(glimpse) = glimpse else {
        return Ok((tell::Devices::default(), heeded(&BTreeSet::new(), Occasion::Session)));
    };
    let devices = tell::devices(snapshot, glimpse, sessions).await?;
    let kinds = loan::in_hand(snapshot, glimpse).await?.into_iter().map(|device| device.kind).collect();
    Ok((devices, heeded(&kinds, Occasion::Session)))
}

/// "9 on 7 days, 175 minutes together".
fn told(sessions: &[&Session]) -> String {
    if sessions.is_empty() {
        return "none in these days".to_owned();
    }
    let dates: BTreeSet<Date> = sessions.iter().map(|session| session.entered.held_on).collect();
    let minutes: i64 = sessions.iter().map(|session| session.entered.minutes).sum();
    let days = if dates.len() == 1 { "1 day".to_owned() } else { format!("{} days", dates.len()) };
    format!("{} on {days}, {minutes} minutes together", sessions.len())
}

/// What was trained on a track; none where nothing was.
fn track_report(
    track: Track,
    (all, errors): (&[Session], &[Session]),
    devices: &tell::Devices,
    reader: &Reader,
) -> Option<TrackReport> {
    let sessions: Vec<&Session> = all.iter().filter(|session| session.entered.track == track).collect();
    if sessions.is_empty() {
        return None;
    }
    let mut with: Vec<String> = Vec::new();
    for session in sessions.iter().filter(|session| session.entered.device != Named::NoDevice) {
        let device = words::capital(&devices.words(session.entered.device));
        if !with.contains(&device) {
            with.push(device);
        }
    }
    let refused = sessions.iter().filter(|session| session.entered.refused.is_some()).count();
    let mut facts = vec![("Sessions".to_owned(), told(&sessions))];
    if !with.is_empty() {
        facts.push(("Devices".to_owned(), with.join("; ")));
    }
    if refused > 0 {
        facts.push(("Refused".to_owned(), format!("{refused} of them. A refusal is data, not a failure.")));
    }
    Some(TrackReport {
        title: format!("{} track", words::capital(track.words())),
        facts,
        progress: progress::view(track, (all, errors), devices, reader),
    })
}
