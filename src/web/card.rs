//! The classroom card: written by a vision teacher, previewed, released, read
//! and printed; beside it, in `home`, what to try at home.
//!
//! Everybody but vision teachers reads released editions only. The numbers come
//! from the guidance that the writer may read and are frozen in the draft, so
//! that what was previewed is what is released. Read next: `store::card`.

mod editions;
mod home;
mod numbers;
mod writing;

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use numbers::rooms;

use super::error::{Both, Error, Result};
use super::form::{FormView, Posted};
use super::page::{Context, Page, Shell, shell_about};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{part, pdf, words};
use crate::access::action::{Create, Edit, Export, Read, Sign};
use crate::access::resource::{Card, Glimpse, LoanGlimpse, Pause, Resource, TryAtHome};
use crate::access::{Access, Role};
use crate::care::card::{EXTRA_CARE, Figures};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::flag::{PAUSED, Sign as RedFlag};
use crate::pdf::Room;
use crate::store::card::Edition;
use crate::store::{Audit, Snapshot, StoreError, card, loan, safety, student, try_at_home};
use crate::vision::length::shown::Units;

/// The routes of the card.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/card", page)
        .get("/students/{student}/card/print", print)
        .get("/students/{student}/card/paper.pdf", on_paper)
        .get("/students/{student}/card/edit", writing::edit_page)
        .post("/students/{student}/card/edit", writing::edit)
        .get("/students/{student}/card/preview", preview)
        .post("/students/{student}/card/release", release)
        .get("/students/{student}/card/at-home", home::page)
        .get("/students/{student}/card/at-home/edit", home::edit_page)
        .post("/students/{student}/card/at-home/edit", home::edit)
        .post("/students/{student}/card/at-home/release", home::release)
        .post("/students/{student}/card/at-home/withdraw", home::withdraw)
        .get("/students/{student}/card/withdraw", editions::withdraw_page)
        .post("/students/{student}/card/withdraw", editions::withdraw)
        .get("/students/{student}/card/discard", editions::discard_page)
        .post("/students/{student}/card/discard", editions::discard)
        .get("/students/{student}/card/editions/{record}", editions::read)
}

/// A card as it is shown, finished.
struct Sheet {
    name: String,
    edition: String,
    lines: Vec<(&'static str, String)>,
    numbers: Vec<(&'static str, String)>,
    how: Option<part::How>,
    head_turn: String,
    extra_care: Option<&'static str>,
    paused: Option<&'static str>,
    cautions: Vec<&'static str>,
    red_flags: String,
}

fn sheet(context: &Context, name: &str, edition: &Edition, kinds: &Cautioned, paused: bool) -> Sheet {
    let wording = &edition.wording;
    let device = match (wording.device.as_str(), wording.device_when.as_str()) {
        ("", when) => when.to_owned(),
        (device, "") => device.to_owned(),
        (device, when) => format!("{device}. {when}"),
    };
    let lines = [
        ("Seat", wording.seat.clone()),
        ("Board", wording.board.clone()),
        ("Letters", wording.letters.clone()),
        ("Print", wording.print_size.clone()),
        ("Light", wording.light.clone()),
        ("Device", device),
        ("Glasses", wording.glasses.clone()),
        ("Breaks", wording.rest.clone()),
        ("Tests", wording.tests.clone()),
        ("Call", wording.call.clone()),
        ("Review", wording.review_on.map(words::date).unwrap_or_default()),
    ];
    let units = words::units(context);
    let numbers: Vec<_> = [("Seat, print", false), ("With device", true)]
        .into_iter()
        .filter_map(|(label, with_device)| Some((label, edition.figures.words(with_device, units)?)))
        .collect();
    let released = edition.released_at.map(|at| words::instant(at, &kinds.zone));
    Sheet {
        name: name.to_owned(),
        edition: match released {
            Some(at) => format!("Edition {}, released by {} on {at}", edition.number, edition.released_by),
            None => format!("Edition {}, a draft", edition.number),
        },
        lines: lines.into_iter().filter(|(_, text)| !text.is_empty()).collect(),
        how: (!numbers.is_empty()).then(|| how(&edition.figures, units)),
        numbers,
        head_turn: wording.head_turn.clone(),
        extra_care: wording.extra_care.then_some(EXTRA_CARE),
        paused: paused.then_some(PAUSED),
        cautions: if wording.device.is_empty() && kinds.cautions.is_empty() {
            Vec::new()
        } else {
            Caution::ALWAYS
                .iter()
                .chain(&kinds.cautions)
                .collect::<BTreeSet<_>>()
                .into_iter()
                .map(|one| one.words())
                .collect()
        },
        red_flags: RedFlag::ALL.iter().map(|sign| sign.on_a_card()).collect::<Vec<_>>().join("; "),
    }
}

/// How the card's numbers came about, in the inputs that a class may read.
fn how(figures: &Figures, units: Units) -> part::How {
    let metres = |value: Option<f64>| value.and_then(|value| crate::vision::units::Metres::new(value).ok());
    let size = metres(figures.size_mm.map(|mm| mm / 1_000.0));
    let usual = metres(figures.usual_m);
    let mut how = part::how(&[
        "The seat is the farthest from which the smallest writing measured on the board is large enough.",
        "The letter height is what is large enough from the usual seat. Both hold for looking straight at the board.",
        "Seats are rounded down and letters up.",
    ]);
    if let Some(size) = size {
        let told = crate::vision::length::shown::letter_height(size, units);
        how = how.input("Small letters measured on the board", &told);
    }
    if let Some(usual) = usual {
        how = how.input("Usual seat", &crate::vision::length::shown::distance(usual, units));
    }
    how.source("Definition of visual angle; what the clinic measured is with the vision teacher.")
}

/// The cautions that the devices in hand bring to a card, and the zone to date it in.
struct Cautioned {
    cautions: Vec<Caution>,
    zone: jiff::tz::TimeZone,
}

async fn cautioned(snapshot: &mut Snapshot, visit: &Visit) -> Result<Cautioned> {
    let mut found = Vec::new();
    if let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? {
        for device in loan::in_hand(snapshot, &access).await? {
            // The card has room for the two rules and the fire; the rest is told at the loan.
            found.extend(cautions(device.kind, Occasion::Screen));
        }
    }
    Ok(Cautioned { cautions: found, zone: snapshot.zone().clone() })
}

#[derive(Template)]
#[template(path = "card/page.html")]
struct CardPage {
    shell: Shell,
    sheet: Option<Sheet>,
    nothing: &'static str,
    withdrawn: Option<part::Notice>,
    withdraw_href: String,
    discard_href: String,
    at_home: Option<String>,
    home_href: String,
    print_href: String,
    pdf: pdf::Links,
    edit: Option<(String, &'static str)>,
    preview_href: String,
    editions: Vec<(String, String)>,
}

async fn paused(snapshot: &mut Snapshot, visit: &Visit) -> Result<bool> {
    Ok(match visit.open_if::<Pause, Read>().await? {
        Some(access) => safety::is_paused(snapshot, &access).await?,
        None => false,
    })
}

/// The name a card is headed by.
async fn called(snapshot: &mut Snapshot, visit: &Visit) -> Result<String> {
    Ok(match visit.open_if::<Glimpse, Read>().await? {
        Some(access) => student::glimpse(snapshot, &access).await?.name,
        None => visit.name().to_owned(),
    })
}

async fn page(State(app): State<App>, context: Context, visit: Visit, access: Access<Card, Read>) -> Result<Response> {
    visit.opens_next(&[LoanGlimpse::ROW, Pause::ROW, Glimpse::ROW, TryAtHome::ROW]).await?;
    let mut snapshot = app.store.snapshot().await?;
    let editions = card::editions(&mut snapshot, &access).await?;
    let kinds = cautioned(&mut snapshot, &visit).await?;
    let paused = paused(&mut snapshot, &visit).await?;
    let name = called(&mut snapshot, &visit).await?;
    let newest = editions.iter().find(|edition| edition.released_at.is_some());
    let released = newest.filter(|edition| edition.withdrawn.is_none());
    let drafted = editions.iter().any(|edition| edition.released_at.is_none());
    let at_home = match visit.open_if::<TryAtHome, Read>().await? {
        Some(home) => {
            let newest = try_at_home::released(&mut snapshot, &home).await?;
            newest.map(|edition| edition.body)
        }
        None => None,
    };
    let may_edit = visit.may::<Card, Edit>();
    let edit = may_edit.then(|| {
        let words = if drafted { "Go on with the draft" } else { "Write a new edition" };
        (visit.at("/card/edit"), words)
    });
    let page = CardPage {
        shell: shell_about(&context, &visit, "Classroom card"),
        sheet: released.map(|edition| sheet(&context, &name, edition, &kinds, paused)),
        nothing: match visit.role() {
            _ if newest.is_some() => "The card is not released now.",
            Some(Role::VisionTeacher) => "No card is released yet. The class sees it once you release it.",
            _ => "No card is released yet. The vision teacher writes it.",
        },
        home_href: if visit.may::<TryAtHome, Read>() { visit.at("/card/at-home") } else { String::new() },
        at_home,
        withdrawn: newest.filter(|_| may_edit).and_then(|edition| editions::withdrawn(edition, &kinds.zone)),
        withdraw_href: if released.is_some() && may_edit && visit.may::<Card, Sign>() {
            visit.at("/card/withdraw")
        } else {
            String::new()
        },
        discard_href: if drafted && may_edit { visit.at("/card/discard") } else { String::new() },
        print_href: if released.is_some() && visit.may::<Card, Export>() {
            visit.at("/card/print")
        } else {
            String::new()
        },
        pdf: if released.is_some() && visit.may::<Card, Export>() {
            pdf::links(&visit.at("/card/paper.pdf"))
        } else {
            pdf::Links::default()
        },
        edit,
        preview_href: if drafted && may_edit { visit.at("/card/preview") } else { String::new() },
        editions: editions
            .iter()
            .filter(|_| may_edit)
            .filter_map(|edition| {
                let at = words::instant(edition.released_at?, &kinds.zone);
                let withdrawn = if edition.withdrawn.is_some() { ", withdrawn" } else { "" };
                let told =
                    format!("Edition {}, released on {at} by {}{withdrawn}", edition.number, edition.released_by);
                Some((visit.at(&format!("/card/editions/{}", edition.id)), told))
            })
            .collect(),
    };
    Ok(Page(page).into_response())
}

/// The title of the card as it is printed.
const PRINTED: &str = "Classroom card, for printing";

#[derive(Template)]
#[template(path = "card/print.html")]
struct PrintPage {
    shell: Shell,
    sheet: Sheet,
    back: String,
}

async fn print(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Export>,
) -> Result<Response> {
    Ok(Page(printed(&app, &context, &visit, &access).await?).into_response())
}

async fn on_paper(State(app): State<App>, paper: pdf::Paper<Card>) -> Result<Response> {
    let page = printed(&app, &paper.context, &paper.visit, &paper.access).await?;
    paper.answer(&page, Room::OneSide).await
}

/// The card as it is printed: the edition in force, and no other.
pub(super) async fn printed(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Card, Export>,
) -> Result<impl Template> {
    let mut snapshot = app.store.snapshot().await?;
    let edition = card::released(&mut snapshot, access).await?.ok_or(Error::Hidden)?;
    let kinds = cautioned(&mut snapshot, visit).await?;
    let paused = paused(&mut snapshot, visit).await?;
    let name = called(&mut snapshot, visit).await?;
    let sheet = sheet(context, &name, &edition, &kinds, paused);
    let shell = shell_about(context, visit, PRINTED);
    Ok(PrintPage { shell, sheet, back: visit.at("/card") })
}

#[derive(Template)]
#[template(path = "card/preview.html")]
struct PreviewPage {
    shell: Shell,
    sheet: Sheet,
    changed: bool,
    /// What is said of a card that takes more than one side; none, it fits.
    long: Option<String>,
    form: FormView,
    release_href: String,
    edit_href: String,
    back: String,
}

async fn preview(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let Some(draft) = card::draft(&mut snapshot, &access).await? else {
        return Ok(Redirect::to(&visit.at("/card")).into_response());
    };
    let rooms = rooms(&mut snapshot, &context, &visit).await?;
    let kinds = cautioned(&mut snapshot, &visit).await?;
    let paused = paused(&mut snapshot, &visit).await?;
    let name = called(&mut snapshot, &visit).await?;
    drop(snapshot);
    let sheet = sheet(&context, &name, &draft, &kinds, paused);
    let paper = PrintPage { shell: shell_about(&context, &visit, PRINTED), sheet, back: visit.at("/card") };
    let sides = pdf::sides(&context, &paper, Room::OneSide).await?;
    let page = PreviewPage {
        shell: shell_about(&context, &visit, "Preview of the classroom card"),
        changed: !draft.figures.is_empty() && !rooms.iter().any(|room| room.figures.same(&draft.figures)),
        long: (sides > 1).then(|| format!("In large print it takes {sides} sides. Shorten some lines.")),
        sheet: paper.sheet,
        form: FormView::blank(&context).at_version(draft.version),
        release_href: if visit.may::<Card, Sign>() { visit.at("/card/release") } else { String::new() },
        edit_href: visit.at("/card/edit"),
        back: visit.at("/card"),
    };
    Ok(Page(page).into_response())
}

async fn release(
    State(app): State<App>,
    visit: Visit,
    access: Access<Card, Sign>,
    _making: Access<Card, Create>,
    posted: Posted,
) -> Result<Response> {
    let location = visit.at("/card");
    let stale = || Error::Stale(Box::new(Both { back: visit.at("/card/preview"), rows: Vec::new() }));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let draft = card::draft(&mut tx, &access).await?.ok_or_else(stale)?;
    match card::release(&mut tx, &access, draft.id, posted.version.unwrap_or(0)).await {
        Err(StoreError::Stale) => return Err(stale()),
        done => done?,
    }
    tx.commit_at(Audit::by(&access).record(draft.id).told("released"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
