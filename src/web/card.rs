//! The classroom card: written by a vision teacher, previewed, released, read
//! and printed; with it what to try at home.
//!
//! Everybody but vision teachers reads released editions only. The numbers come
//! from the guidance that the writer may read and are frozen in the draft, so
//! that what was previewed is what is released. Read next: `store::card`.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::check::{Check, LONG_TEXT};
use super::error::{Both, Error, Result};
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{part, words};
use crate::access::action::{Create, Edit, Export, Read, Sign};
use crate::access::resource::{
    Card, Evaluation, Glimpse, Guidance, Intake, LoanGlimpse, Loans, Pause, TryAtHome, VisualTasks,
};
use crate::access::{Access, Role};
use crate::care::card::{EXTRA_CARE, Figures, HEAD_TURN, Wording, clinical};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::flag::{PAUSED, Sign as RedFlag};
use crate::care::loan::plain_word;
use crate::care::sight::RoomLine;
use crate::care::task::Seat;
use crate::store::card::Edition;
use crate::store::sight::Parts;
use crate::store::{Audit, Snapshot, StoreError, card, loan, safety, sight, student, task};
use crate::vision::contrast::marker::MarkerTable;
use crate::vision::length::shown::Units;
use crate::vision::readable::Goals;
use crate::vision::seat_print::{Line, SeatAndPrint, SeatTold};

/// The longest line of a card, in characters: two lines of large print.
const LINE: usize = 120;

/// The routes of the card.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/card", page)
        .get("/students/{student}/card/print", print)
        .get("/students/{student}/card/edit", edit_page)
        .post("/students/{student}/card/edit", edit)
        .get("/students/{student}/card/preview", preview)
        .post("/students/{student}/card/release", release)
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
            Caution::ALWAYS.iter().chain(&kinds.cautions).collect::<BTreeSet<_>>().into_iter().map(|one| one.words()).collect()
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
    at_home: Option<String>,
    home_heading: bool,
    print_href: String,
    edit: Option<(String, &'static str)>,
    preview_href: String,
    editions: Vec<String>,
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
    let mut snapshot = app.store.snapshot().await?;
    let editions = card::editions(&mut snapshot, &access).await?;
    let kinds = cautioned(&mut snapshot, &visit).await?;
    let paused = paused(&mut snapshot, &visit).await?;
    let name = called(&mut snapshot, &visit).await?;
    let released = editions.iter().find(|edition| edition.released_at.is_some());
    let drafted = editions.iter().any(|edition| edition.released_at.is_none());
    let at_home = match visit.open_if::<TryAtHome, Read>().await? {
        Some(home) => {
            let all = card::at_home(&mut snapshot, &home).await?;
            all.into_iter().find(|one| one.released_at.is_some()).map(|one| one.words)
        }
        None => None,
    };
    let may_edit = visit.may::<Card, Edit>() && visit.may::<TryAtHome, Edit>();
    let edit = may_edit.then(|| {
        let words = if drafted { "Go on with the draft" } else { "Write a new edition" };
        (visit.at("/card/edit"), words)
    });
    let page = CardPage {
        shell: shell_about(&context, &visit, format!("Classroom card for {name}")),
        sheet: released.map(|edition| sheet(&context, &name, edition, &kinds, paused)),
        nothing: match visit.role() {
            Some(Role::VisionTeacher) => "No card is released yet. The class sees it once you release it.",
            _ => "No card is released yet. The vision teacher writes it.",
        },
        home_heading: visit.may::<TryAtHome, Read>(),
        at_home: at_home.filter(|words| !words.is_empty()),
        print_href: if released.is_some() && visit.may::<Card, Export>() { visit.at("/card/print") } else { String::new() },
        edit,
        preview_href: if drafted && may_edit { visit.at("/card/preview") } else { String::new() },
        editions: editions
            .iter()
            .filter(|_| may_edit)
            .filter_map(|edition| {
                let at = words::instant(edition.released_at?, &kinds.zone);
                Some(format!("Edition {}, released on {at} by {}", edition.number, edition.released_by))
            })
            .collect(),
    };
    Ok(Page(page).into_response())
}

#[derive(Template)]
#[template(path = "card/print.html")]
struct PrintPage {
    shell: Shell,
    sheet: Sheet,
    back: String,
}

async fn print(State(app): State<App>, context: Context, visit: Visit, access: Access<Card, Export>) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let edition = card::released(&mut snapshot, &access).await?.ok_or(Error::Hidden)?;
    let kinds = cautioned(&mut snapshot, &visit).await?;
    let paused = paused(&mut snapshot, &visit).await?;
    let name = called(&mut snapshot, &visit).await?;
    let sheet = sheet(&context, &name, &edition, &kinds, paused);
    let shell = shell_about(&context, &visit, format!("Classroom card for {name}, for printing"));
    Ok(Page(PrintPage { shell, sheet, back: visit.at("/card") }).into_response())
}

/// The numbers of one room, or why there are none.
struct Room {
    id: String,
    name: String,
    figures: Figures,
    words: Vec<(String, String)>,
    why: String,
    how: Option<part::How>,
}

/// The line of every room, computed from what this writer may read.
async fn rooms(snapshot: &mut Snapshot, context: &Context, visit: &Visit) -> Result<Vec<Room>> {
    let guidance = visit.open::<Guidance, Read>().await?;
    let evaluation = guidance.part::<Evaluation>().ok();
    let intake = guidance.part::<Intake>().ok();
    let loans = guidance.part::<Loans>().ok();
    let Ok(tasks_access) = guidance.part::<VisualTasks>() else { return Ok(Vec::new()) };
    let parts = Parts { evaluation: evaluation.as_ref(), intake: intake.as_ref(), loans: loans.as_ref() };
    let known = sight::of(snapshot, &parts).await?;
    let tasks = task::tasks(snapshot, &tasks_access).await?;
    let seats = task::seats(snapshot, &tasks_access).await?;
    let (goals, table) = (Goals::default(), MarkerTable::default());
    Ok(seats
        .iter()
        .map(|seat| match known.seat_line(seat, &tasks, &goals, &table) {
            Ok(line) => room(context, seat, &line),
            Err(why) => Room {
                id: seat.id.to_string(),
                name: seat.what.room.clone(),
                figures: Figures::default(),
                words: Vec::new(),
                why: words::capital(why.words()),
                how: None,
            },
        })
        .collect())
}

fn room(context: &Context, seat: &Seat, found: &RoomLine) -> Room {
    let units = words::units(context);
    let mut figures = Figures {
        size_mm: Some(found.writing.x_height.get() * 1_000.0),
        usual_m: Some(seat.what.distance.value.get()),
        ..Figures::default()
    };
    let mut why = String::new();
    match &found.line {
        SeatAndPrint::Advice(advice) => {
            figures.seat_m = reachable(&advice.unaided, units);
            figures.letter_mm = Some(advice.unaided.letter.get() * 1_000.0);
            if advice.seen_from_the_side.is_some() {
                "The usual seat is far to the side, so the numbers are too hopeful.".clone_into(&mut why);
            }
        }
        SeatAndPrint::MendContrastFirst { .. } => {
            "The writing is too faint. Mend the contrast first: no seat and no size does.".clone_into(&mut why);
        }
        SeatAndPrint::MoveTheSeat { .. } => {
            "The usual seat is too far to the side. Move the seat first.".clone_into(&mut why);
        }
    }
    let with = found.with.iter().find_map(|(_, used, line)| match line {
        SeatAndPrint::Advice(advice) => Some((used, advice.with_device?)),
        _ => None,
    });
    if let Some((_, line)) = &with {
        figures.with_device_seat_m = reachable(line, units);
        figures.with_device_letter_mm = Some(line.letter.get() * 1_000.0);
    }
    let needed = Goals::default().needed(found.writing.goal).acuity;
    let mut how = part::how(&[
        "Farthest seat: where the smallest measured writing keeps the acuity reserve of its goal, seen straight on.",
        "Letter height: what keeps that reserve from the usual seat.",
        "Seats are rounded down, letters up. With the device the acuity is the one through it.",
    ])
    .input("Small letters measured", &words::height(found.writing.x_height, context))
    .input("Usual seat", &words::distance(seat.what.distance.value, context))
    .input("Reserve needed", &format!("{}:1", needed.get()))
    .input(
        "Acuity without device",
        &format!("{} at {} ({})", found.used.as_recorded, found.used.at, found.used.acuity.basis),
    );
    if let Some((used, _)) = &with {
        let told = format!("{:.2} logMAR, from {} at {} ({})", used.acuity.acuity.get(), used.as_recorded, used.at, used.acuity.basis);
        how = how.input("Acuity with the device", &told);
    }
    how = how.source("Definition of visual angle and acuity reserve; the reserves and roundings are common practice.");
    let told = [("Without a device", false), ("With the device", true)]
        .into_iter()
        .filter_map(|(label, with_device)| Some((label.to_owned(), figures.words(with_device, units)?)))
        .collect();
    Room { id: seat.id.to_string(), name: seat.what.room.clone(), figures, words: told, why, how: Some(how) }
}

/// The seat of a line in metres, where there is one to tell.
fn reachable(line: &Line, units: Units) -> Option<f64> {
    matches!(line.seat(units), SeatTold::Within(_)).then(|| line.farthest_seat.get())
}

#[derive(Template)]
#[template(path = "card/edit.html")]
struct EditPage {
    shell: Shell,
    form: FormView,
    action: String,
    back: String,
    rooms: Vec<Room>,
    choices: Vec<(String, String)>,
    head_turn: [(&'static str, &'static str); 1],
    extra_care: [(&'static str, &'static str); 1],
}

const NO_ROOM: &str = "none";

fn entry_of(wording: &Wording, at_home: &str) -> Entry {
    Entry::default()
        .with("seat", wording.seat.as_str())
        .with("board", wording.board.as_str())
        .with("letters", wording.letters.as_str())
        .with("light", wording.light.as_str())
        .with("print_size", wording.print_size.as_str())
        .with("device", wording.device.as_str())
        .with("device_when", wording.device_when.as_str())
        .with("glasses", wording.glasses.as_str())
        .with("head_turn", if wording.head_turn.is_empty() { "" } else { "yes" })
        .with("rest", wording.rest.as_str())
        .with("tests", wording.tests.as_str())
        .with("call", wording.call.as_str())
        .with("extra_care", if wording.extra_care { "yes" } else { "" })
        .with("review_on", wording.review_on.map(|day| day.to_string()).unwrap_or_default())
        .with("try_at_home", at_home)
}

/// What a first draft starts from besides the computed numbers: their room, the
/// print format, the device in hand and the writer's own name to call.
async fn first_draft(snapshot: &mut Snapshot, visit: &Visit, rooms: &[Room]) -> Result<Entry> {
    let mut wording = Wording {
        device_when: "The student chooses when.".to_owned(),
        tests: "Enlarged, with extra time.".to_owned(),
        call: visit.actor().name.clone(),
        review_on: snapshot.today().checked_add(6.months()).ok(),
        ..Wording::default()
    };
    let first = rooms.iter().find(|room| !room.words.is_empty());
    if let Some(room) = first {
        wording.seat = format!("{}, facing the board.", room.name);
    }
    if let Some(access) = visit.open_if::<Glimpse, Read>().await? {
        wording.print_size = student::glimpse(snapshot, &access).await?.print_format;
    }
    if let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? {
        let named: BTreeSet<&str> =
            loan::in_hand(snapshot, &access).await?.iter().map(|device| plain_word(device.kind)).collect();
        wording.device = words::capital(&words::list(&named.into_iter().collect::<Vec<_>>()));
    }
    Ok(entry_of(&wording, ""))
}

async fn build_edit(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Card, Edit>,
    home: &Access<TryAtHome, Edit>,
    form: Option<FormView>,
) -> Result<EditPage> {
    let mut snapshot = app.store.snapshot().await?;
    let rooms = rooms(&mut snapshot, context, visit).await?;
    let mut choices: Vec<(String, String)> = rooms
        .iter()
        .filter(|room| !room.words.is_empty())
        .map(|room| (room.id.clone(), format!("The numbers of {}", room.name)))
        .collect();
    let default_room = choices.first().map_or(NO_ROOM, |(id, _)| id.as_str()).to_owned();
    choices.push((NO_ROOM.to_owned(), "No numbers".to_owned()));
    let form = match form {
        Some(form) => form,
        None => {
            let editions = card::editions(&mut snapshot, access).await?;
            let at_home = card::at_home(&mut snapshot, home).await?;
            let words = at_home.first().map_or("", |one| one.words.as_str());
            match editions.first() {
                // The next edition starts as a copy of the last.
                Some(edition) => {
                    let room = if edition.figures.is_empty() { NO_ROOM.to_owned() } else { default_room };
                    let form = FormView::filled(context, entry_of(&edition.wording, words).with("room", room));
                    if edition.released_at.is_none() { form.at_version(edition.version) } else { form }
                }
                None => {
                    let entry = first_draft(&mut snapshot, visit, &rooms).await?;
                    FormView::filled(context, entry.with("room", default_room))
                }
            }
        }
    };
    Ok(EditPage {
        shell: shell_about(context, visit, "Write the classroom card").of_form(&form),
        form,
        action: visit.at("/card/edit"),
        back: visit.at("/card"),
        rooms,
        choices,
        head_turn: [("yes", HEAD_TURN)],
        extra_care: [("yes", EXTRA_CARE)],
    })
}

async fn edit_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
    home: Access<TryAtHome, Edit>,
) -> Result<Response> {
    Ok(Page(build_edit(&app, &context, &visit, &access, &home, None).await?).into_response())
}

/// The lines of a card: field, label.
const LINES: [(&str, &str); 11] = [
    ("seat", "Seat"),
    ("board", "Board"),
    ("letters", "Letters"),
    ("print_size", "Print"),
    ("light", "Light"),
    ("device", "Device"),
    ("device_when", "When to use it"),
    ("glasses", "Glasses"),
    ("rest", "Breaks"),
    ("tests", "Tests"),
    ("call", "Whom to call"),
];

fn wording(entry: &Entry, today: Date) -> std::result::Result<(Wording, String), Faults> {
    let mut check = Check::new(entry);
    let mut line = |name: &str| {
        let label = LINES.iter().find(|(field, _)| *field == name).map_or("This line", |(_, label)| label);
        let text = check.opt_text(name, label, LINE);
        if let Some(found) = clinical(&text) {
            check.fault(
                name,
                format!("\u{201c}{found}\u{201d} reads like an acuity, a strength or a diagnosis. Say it in seats and letters; write a date in words."),
            );
        }
        text.replace('\n', " ")
    };
    let mut wording = Wording {
        seat: line("seat"),
        board: line("board"),
        letters: line("letters"),
        light: line("light"),
        print_size: line("print_size"),
        device: line("device"),
        device_when: line("device_when"),
        glasses: line("glasses"),
        rest: line("rest"),
        tests: line("tests"),
        call: line("call"),
        ..Wording::default()
    };
    wording.head_turn = if check.ticked("head_turn") { HEAD_TURN.to_owned() } else { String::new() };
    wording.extra_care = check.ticked("extra_care");
    wording.review_on = check.opt_date("review_on", "Look at it again on", today..=today.saturating_add(2.years()));
    wording.try_at_home = check.opt_text("try_at_home", "What to try at home", LONG_TEXT);
    let room = check.typed("room").to_owned();
    check.build(|| Some((wording, room)))
}

async fn edit(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
    home: Access<TryAtHome, Edit>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build_edit(&app, &context, &visit, &access, &home, Some(form)).await?).into_response())
    };
    let mut snapshot = app.store.snapshot().await?;
    let (wording, room) = match wording(&posted.entry, snapshot.today()) {
        Ok(checked) => checked,
        Err(faults) => return again(faults).await,
    };
    let rooms = rooms(&mut snapshot, &context, &visit).await?;
    drop(snapshot);
    let figures = match rooms.iter().find(|one| one.id == room) {
        Some(found) => found.figures,
        None if room == NO_ROOM || room.is_empty() => Figures::default(),
        None => return again(Faults::one("room", "Choose one of the rooms listed.")).await,
    };
    let location = visit.at("/card/preview");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match card::save_draft(&mut tx, &access, &home, &wording, &figures, posted.version).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            Err(stale(&app, &visit, &access, &home, &wording).await?)
        }
        Err(error) => Err(error.into()),
    }
}

/// Both texts of the lines that differ, when somebody else saved meanwhile.
async fn stale(
    app: &App,
    visit: &Visit,
    access: &Access<Card, Edit>,
    home: &Access<TryAtHome, Edit>,
    yours: &Wording,
) -> Result<Error> {
    let mut snapshot = app.store.snapshot().await?;
    let edition = card::editions(&mut snapshot, access).await?.into_iter().next();
    let at_home = card::at_home(&mut snapshot, home).await?.into_iter().next();
    let theirs = entry_of(
        &edition.map(|edition| edition.wording).unwrap_or_default(),
        at_home.as_ref().map_or("", |one| one.words.as_str()),
    );
    let yours = entry_of(yours, &yours.try_at_home);
    let more = [
        ("head_turn", "Head turn is helpful"),
        ("extra_care", "Extra care"),
        ("review_on", "Look at it again on"),
        ("try_at_home", "What to try at home"),
    ];
    let rows = LINES
        .iter()
        .chain(&more)
        .filter(|(field, _)| theirs.get(field) != yours.get(field))
        .map(|(field, label)| ((*label).to_owned(), theirs.get(field).to_owned(), yours.get(field).to_owned()))
        .collect();
    Ok(Error::Stale(Box::new(Both { back: visit.at("/card/edit"), rows })))
}

#[derive(Template)]
#[template(path = "card/preview.html")]
struct PreviewPage {
    shell: Shell,
    sheet: Sheet,
    at_home: String,
    changed: bool,
    long: bool,
    form: FormView,
    release_href: String,
    edit_href: String,
    back: String,
}

/// More characters than one side of large print holds, with its cautions and
/// signs. Measured on paper at 18 pt with the print style.
const ONE_SIDE: usize = 620;

async fn preview(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
    home: Access<TryAtHome, Edit>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let Some(draft) = card::draft(&mut snapshot, &access).await? else {
        return Ok(Redirect::to(&visit.at("/card")).into_response());
    };
    let at_home = card::at_home(&mut snapshot, &home).await?;
    let rooms = rooms(&mut snapshot, &context, &visit).await?;
    let kinds = cautioned(&mut snapshot, &visit).await?;
    let paused = paused(&mut snapshot, &visit).await?;
    let name = called(&mut snapshot, &visit).await?;
    let sheet = sheet(&context, &name, &draft, &kinds, paused);
    let characters: usize = sheet.lines.iter().map(|(label, text)| label.len() + text.chars().count()).sum();
    let page = PreviewPage {
        shell: shell_about(&context, &visit, "Preview of the classroom card"),
        at_home: at_home
            .into_iter()
            .find(|one| one.released_at.is_none())
            .map(|one| one.words)
            .unwrap_or_default(),
        changed: !draft.figures.is_empty() && !rooms.iter().any(|room| room.figures.same(&draft.figures)),
        long: characters > ONE_SIDE,
        sheet,
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
    home: Access<TryAtHome, Sign>,
    _making: Access<Card, Create>,
    posted: Posted,
) -> Result<Response> {
    let location = visit.at("/card");
    let stale = || Error::Stale(Box::new(Both { back: visit.at("/card/preview"), rows: Vec::new() }));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let draft = card::draft(&mut tx, &access).await?.ok_or_else(stale)?;
    match card::release(&mut tx, &access, &home, draft.id, posted.version.unwrap_or(0)).await {
        Err(StoreError::Stale) => return Err(stale()),
        done => done?,
    }
    tx.also(Audit::by(&home).record(draft.id).told("released")).await?;
    tx.commit_at(Audit::by(&access).record(draft.id).told("released"), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
