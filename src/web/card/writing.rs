//! Writing the card: the draft's form, its checks, and both texts when two
//! people write at once.
//!
//! A first draft starts from the computed numbers and what is in hand; the next
//! edition starts as a copy of the last. Does not release; see the module above.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::numbers::{Room, rooms};
use crate::access::Access;
use crate::access::action::{Edit, Read};
use crate::access::resource::{Card, Glimpse, LoanGlimpse};
use crate::care::card::{EXTRA_CARE, Figures, HEAD_TURN, Wording, clinical};
use crate::care::loan::plain_word;
use crate::store::{Audit, Snapshot, StoreError, card, loan, student};
use crate::web::check::Check;
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::stale as over;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

/// The longest line of a card, in characters: two lines of large print.
const LINE: usize = 120;

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

fn entry_of(wording: &Wording) -> Entry {
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
    Ok(entry_of(&wording))
}

async fn build_edit(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<Card, Edit>,
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
            match editions.first() {
                // The next edition starts as a copy of the last.
                Some(edition) => {
                    let room = if edition.figures.is_empty() { NO_ROOM.to_owned() } else { default_room };
                    let form = FormView::filled(context, entry_of(&edition.wording).with("room", room));
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

pub(super) async fn edit_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
) -> Result<Response> {
    Ok(Page(build_edit(&app, &context, &visit, &access, None).await?).into_response())
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
    let room = check.typed("room").to_owned();
    check.build(|| Some((wording, room)))
}

pub(super) async fn edit(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Card, Edit>,
    posted: Posted,
) -> Result<Response> {
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build_edit(&app, &context, &visit, &access, Some(form)).await?).into_response())
    };
    let (wording, room) = match wording(&posted.entry, app.store.clock().today()) {
        Ok(checked) => checked,
        Err(faults) => return again(faults).await,
    };
    let rooms = rooms(&mut app.store.snapshot().await?, &context, &visit).await?;
    let figures = match rooms.iter().find(|one| one.id == room) {
        Some(found) => found.figures,
        None if room == NO_ROOM || room.is_empty() => Figures::default(),
        None => return again(Faults::one("room", "Choose one of the rooms listed.")).await,
    };
    let location = visit.at("/card/preview");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match card::save_draft(&mut tx, &access, &wording, &figures, posted.version).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            Err(stale(&app, &visit, &access, &wording).await?)
        }
        Err(error) => Err(error.into()),
    }
}

/// Both texts of the lines that differ, when somebody else saved meanwhile.
async fn stale(app: &App, visit: &Visit, access: &Access<Card, Edit>, yours: &Wording) -> Result<Error> {
    let mut snapshot = app.store.snapshot().await?;
    let edition = card::editions(&mut snapshot, access).await?.into_iter().next();
    let theirs = entry_of(&edition.as_ref().map(|edition| edition.wording.clone()).unwrap_or_default());
    let yours = entry_of(yours);
    let more =
        [("head_turn", "Head turn is helpful"), ("extra_care", "Extra care"), ("review_on", "Look at it again on")];
    let rows = LINES
        .iter()
        .chain(&more)
        .filter(|(field, _)| theirs.get(field) != yours.get(field))
        .map(|(field, label)| ((*label).to_owned(), theirs.get(field).to_owned(), yours.get(field).to_owned()))
        .collect();
    let both = Both { back: visit.at("/card/edit"), rows };
    // What was released meanwhile is saved over by nobody.
    match edition.filter(|edition| edition.released_at.is_none()) {
        Some(draft) => Ok(over::error(&mut snapshot, access, (draft.id, draft.version), both).await?),
        None => Ok(Error::Stale(Box::new(both))),
    }
}
