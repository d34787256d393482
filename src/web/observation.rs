//! What people saw: the list, one entry with what it means, and the form in
//! `entry`.
//!
//! Nothing is computed here: the sentence of meaning is in `meaning.rs`, the
//! form in `entry.rs`, the question about a length in `asked.rs`.

mod asked;
mod entry;
mod meaning;
mod share;

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use jiff::ToSpan;
use jiff::tz::TimeZone;

use super::amend;
use super::error::{Error, Result};
use super::page::{Context, Page, Shell, shell_about};
use super::params::Record;
use super::part::{self, Mark};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{student_words as words_of_student, words};
use crate::access::action::{Amend, Create, Read};
use crate::access::resource::{ClassObservation, HomeObservation, LoanGlimpse, Resource};
use crate::access::{Access, Role};
use crate::care::amendment::Kind;
use crate::care::caution::{Occasion, cautions};
use crate::care::gates::Named;
use crate::care::ids::ObservationId;
use crate::care::observation::{Graded, Length, Outcome, Setting};
use crate::store::amendment::InError;
use crate::store::observation::{Detail, Entry};
use crate::store::shared_note::{self, Sharing};
use crate::store::student_words::{self, Kept};
use crate::store::{Snapshot, amendment, loan, observation};
use crate::vision::units::{Metres, Millimetres};
use meaning::{Meaning, meaning_of};

/// The routes of observations.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/observations", list)
        .get("/students/{student}/observations/new", entry::page)
        .post("/students/{student}/observations/new", entry::record)
        .get("/students/{student}/observations/from-spreadsheet", entry::sheet::page)
        .upload("/students/{student}/observations/from-spreadsheet", entry::sheet::preview)
        .get("/students/{student}/observations/from-spreadsheet/empty", entry::sheet::empty)
        .upload("/students/{student}/observations/from-spreadsheet/add", entry::sheet::add)
        .get("/students/{student}/observations/{record}", one)
        .post("/students/{student}/observations/{record}/share", share::set)
        .post("/students/{student}/observations/{record}/answer", asked::answer)
        .get("/students/{student}/observations/{record}/amend", entry::amend::page)
        .post("/students/{student}/observations/{record}/amend", entry::amend::save)
        .get("/students/{student}/observations/{record}/error", entry::amend::error_page)
        .post("/students/{student}/observations/{record}/error", entry::amend::error)
}

/// What this reader may read, and what was corrected of it.
struct Found {
    class: Option<Access<ClassObservation, Read>>,
    outside: Option<Access<HomeObservation, Read>>,
    /// Newest first, those entered in error among them.
    entries: Vec<Entry>,
    amended: BTreeMap<String, jiff::Timestamp>,
    errors: BTreeMap<String, InError>,
    /// Whether a note is shared with the class.
    marks: BTreeMap<ObservationId, shared_note::Mark>,
    /// What the student said.
    said: BTreeMap<ObservationId, Kept>,
}

/// Every entry this reader may read; none may be read: hidden.
async fn entries(snapshot: &mut Snapshot, visit: &Visit) -> Result<Found> {
    visit.opens_next(&[ClassObservation::ROW, HomeObservation::ROW]).await?;
    let class = visit.open_if::<ClassObservation, Read>().await?;
    let outside = visit.open_if::<HomeObservation, Read>().await?;
    let mut found = Found {
        class,
        outside,
        entries: Vec::new(),
        amended: BTreeMap::new(),
        errors: BTreeMap::new(),
        marks: BTreeMap::new(),
        said: BTreeMap::new(),
    };
    if found.class.is_none() && found.outside.is_none() {
        return Err(Error::Hidden);
    }
    if let Some(access) = &found.class {
        found.entries.extend(observation::in_class(snapshot, access).await?);
        found.entries.extend(observation::errors_in_class(snapshot, access).await?);
        found.said.extend(student_words::in_class(snapshot, access).await?);
        found.amended.extend(amendment::latest(snapshot, access, Kind::Observation).await?);
        found.errors.extend(amendment::in_error(snapshot, access, Kind::Observation).await?);
    }
    if let Some(access) = &found.outside {
        found.entries.extend(observation::outside(snapshot, access).await?);
        found.entries.extend(observation::errors_outside(snapshot, access).await?);
        found.said.extend(student_words::outside(snapshot, access).await?);
        found.marks = shared_note::marks(snapshot, access).await?;
        found.amended.extend(amendment::latest(snapshot, access, Kind::Observation).await?);
        found.errors.extend(amendment::in_error(snapshot, access, Kind::Observation).await?);
    }
    found.entries.sort_by_key(|entry| std::cmp::Reverse((entry.fact.seen_on, entry.fact.entered_at)));
    Ok(found)
}

impl Found {
    fn is_shared(&self, entry: &Entry) -> Option<bool> {
        self.marks.get(&entry.fact.id).map(|mark| mark.sharing == Sharing::WithClass)
    }

    /// Why an entry counts nowhere; to a reader its words are locked to, only that
    /// it does.
    fn error(&self, entry: &Entry, zone: &TimeZone) -> Option<String> {
        let why = || self.errors.get(&entry.fact.id.to_string()).map(|error| amend::why(error, zone));
        entry.fact.in_error.then(|| entry.detail.as_ref().and_then(|_| why()).unwrap_or_default())
    }

    fn amended_on(&self, entry: &Entry, zone: &TimeZone) -> String {
        let at = self.amended.get(&entry.fact.id.to_string()).filter(|_| !entry.fact.in_error);
        at.map(|at| words::capital(&amend::on(*at, zone))).unwrap_or_default()
    }

    /// What was corrected of an entry, as far as this reader may read it.
    async fn corrections(&self, snapshot: &mut Snapshot, entry: &Entry) -> Result<part::Amended> {
        let found = match (entry.fact.setting, &self.class, &self.outside) {
            (Setting::Classroom, Some(access), _) => amendment::of_record(snapshot, access, entry.fact.id).await?,
            (Setting::Home | Setting::Community, _, Some(access)) => {
                amendment::of_record(snapshot, access, entry.fact.id).await?
            }
            _ => Vec::new(),
        };
        Ok(amend::shown(&found, snapshot.zone()))
    }
}

/// Whether this is an entry that its reader may correct.
fn may_amend(visit: &Visit, entry: &Entry) -> bool {
    entry.fact.account == visit.actor().account
        && match entry.fact.setting {
            Setting::Classroom => visit.may::<ClassObservation, Amend>(),
            _ => visit.may::<HomeObservation, Amend>(),
        }
}

/// Whether this person may add an entry.
fn may_add(visit: &Visit) -> bool {
    visit.may::<ClassObservation, Create>() || visit.may::<HomeObservation, Create>()
}

#[derive(Template)]
#[template(path = "observation/list.html")]
struct ListPage {
    shell: Shell,
    add: Option<(String, &'static str)>,
    from_sheet: Option<String>,
    lines: Vec<Line>,
    nothing: &'static str,
}

struct Line {
    href: String,
    title: String,
    mark: Mark,
    result: String,
    who: String,
    locked: bool,
    shared: bool,
    said: String,
    /// What its writer is asked; empty, nothing waits.
    asked: String,
    error: Option<String>,
    amended: String,
}

fn result(detail: &Detail) -> String {
    match detail.outcome {
        Outcome::Counted { right, tried } => format!("{right} of {tried} right"),
        Outcome::Graded(Graded::DidNotTry) => "Did not try".to_owned(),
        Outcome::Graded(Graded::NotSure) => "Not sure how much was right".to_owned(),
        Outcome::Graded(graded) => format!("{} right", words::capital(graded.words())),
    }
}

fn by(entry: &Entry) -> String {
    let role = entry.fact.by_role.map(|role| format!(", {}", role.words())).unwrap_or_default();
    format!("{}{role}", entry.fact.by)
}

async fn list(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let found = entries(&mut snapshot, &visit).await?;
    let zone = snapshot.zone().clone();
    let lines = found
        .entries
        .iter()
        .map(|entry| Line {
            href: visit.at(&format!("/observations/{}", entry.fact.id)),
            title: entry
                .detail
                .as_ref()
                .map_or_else(|| "An observation".to_owned(), |detail| words::capital(&detail.what)),
            mark: part::mark(entry.fact.setting.code()),
            result: entry.detail.as_ref().map(result).unwrap_or_default(),
            who: format!("{}, {}", words::date(entry.fact.seen_on), by(entry)),
            locked: entry.detail.is_none(),
            shared: found.is_shared(entry) == Some(true),
            said: found.said.get(&entry.fact.id).map(|kept| kept.said.words.clone()).unwrap_or_default(),
            asked: asked::in_a_line(&visit, entry),
            error: found.error(entry, &zone),
            amended: found.amended_on(entry, &zone),
        })
        .collect();
    let family = visit.role() == Some(Role::Parent);
    let add = may_add(&visit)
        .then(|| (visit.at("/observations/new"), if family { "Add a note from home" } else { "Add observation" }));
    let page = ListPage {
        shell: shell_about(&context, &visit, "Observations"),
        add,
        from_sheet: visit.may::<ClassObservation, Create>().then(|| visit.at("/observations/from-spreadsheet")),
        lines,
        nothing: "Nothing is entered yet that you may read.",
    };
    Ok(Page(page).into_response())
}

#[derive(Template)]
#[template(path = "observation/one.html")]
struct OnePage {
    shell: Shell,
    title: String,
    mark: Mark,
    who: String,
    meaning: String,
    how: Option<part::How>,
    facts: part::Facts,
    note: String,
    said: Option<(part::Facts, String)>,
    asked: Option<asked::Asked>,
    waits: String,
    sharing: Option<share::Sharing>,
    locked: bool,
    fresh: String,
    cautions: Vec<&'static str>,
    back: String,
    add: Option<String>,
    enough: bool,
    error: Option<String>,
    amended: part::Amended,
    amend: Option<String>,
    mark_error: Option<String>,
}

fn length<T: Copy>(length: Option<&Length<T>>, told: impl Fn(T) -> String) -> String {
    length.map_or_else(String::new, |length| {
        let from = if length.from_task { " (from the task)" } else { "" };
        let read = told(length.value);
        let typed = if length.typed.is_empty() || length.typed == read {
            String::new()
        } else {
            format!(", typed {}", length.typed)
        };
        format!("{read}{typed}{from}")
    })
}

fn facts(context: &Context, detail: &Detail, device: &str) -> part::Facts {
    let code = |words: Option<&'static str>| words.map(words::capital).unwrap_or_default();
    part::facts::<&str, &str>(&[])
        .fact("Result", &result(detail))
        .fact("Device out?", &words::capital(detail.device_out.words()))
        .fact("Device", device)
        .fact("Why not", &code(detail.non_use.map(|one| one.words())))
        .fact("Glasses", &code(detail.glasses.map(|one| one.words())))
        .fact("Where", &code(detail.place.map(|one| one.words())))
        .fact("From how far", &length(detail.distance.as_ref(), |far: Metres| words::distance(far, context)))
        .fact("About how far", &code(detail.band.map(|one| one.words())))
        .fact(
            "Small letters",
            &length(detail.x_height.as_ref(), |tall: Millimetres| words::height(tall.in_metres(), context)),
        )
        .fact("How it stood out", &code(detail.contrast.map(|one| one.words())))
        .fact("What had to be recognised", &code(detail.target.map(|one| one.words())))
        .fact("Among how many", &detail.choices.map(|choices| choices.to_string()).unwrap_or_default())
        .fact("Help", &code(detail.help.map(|one| one.words())))
        .fact("Pace", &code(detail.pace.map(|one| one.words())))
        .fact("Eyes", &code(detail.comfort.map(|one| one.words())))
        .fact("Mood", &code(detail.mood.map(|one| one.words())))
        .fact("Tired after", &code(detail.tired.map(|one| one.words())))
        .fact("Whose idea", &code(detail.suggested.map(|one| one.words())))
        .fact("Told by", &words::capital(&detail.informant))
}

/// The device of an entry in the words its reader may have, and its cautions.
async fn device_of(snapshot: &mut Snapshot, visit: &Visit, entry: &Entry) -> Result<(String, Vec<&'static str>)> {
    let Some(detail) = entry.detail.as_ref().filter(|detail| detail.device != Named::NoDevice) else {
        return Ok((String::new(), Vec::new()));
    };
    let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? else { return Ok((String::new(), Vec::new())) };
    let in_hand = loan::in_hand_on(snapshot, &access, entry.fact.seen_on).await?;
    let found = in_hand.into_iter().find(|one| one.named == detail.device);
    Ok(found.map_or_else(Default::default, |one| {
        let list = cautions(one.kind, Occasion::Screen).into_iter().map(|caution| caution.words()).collect();
        (words::capital(&one.words), list)
    }))
}

/// Three entries in seven days are plenty. Source: `practice.md` 2.6.
const ENOUGH: usize = 3;

async fn one(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<ObservationId>,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    let mut found = entries(&mut snapshot, &visit).await?;
    let said = found.said.remove(&id).map(|kept| (words_of_student::facts(&kept), kept.said.words));
    let entry = found.entries.iter().find(|entry| entry.fact.id == id).ok_or(Error::Hidden)?;
    let own = entry.fact.account == visit.actor().account;
    // What was entered in error means nothing, and a length in doubt nothing yet.
    let (meaning, how) = match entry.fact.in_error || entry.fact.waits {
        true => Meaning::default(),
        false => meaning_of(&mut snapshot, &context, &visit, entry).await?,
    };
    let amended = found.corrections(&mut snapshot, entry).await?;
    let (device, cautions) = device_of(&mut snapshot, &visit, entry).await?;
    let week_ago = snapshot.today().saturating_sub(7.days());
    let counts =
        |one: &&Entry| !one.fact.in_error && one.fact.account == visit.actor().account && one.fact.seen_on > week_ago;
    let recent = found.entries.iter().filter(counts).count();
    let may_amend = may_amend(&visit, entry);
    let zone = app.store.clock().zone();
    let title =
        entry.detail.as_ref().map_or_else(|| "An observation".to_owned(), |detail| words::capital(&detail.what));
    let page = OnePage {
        shell: shell_about(&context, &visit, title.clone()),
        title,
        mark: part::mark(entry.fact.setting.code()),
        who: format!(
            "Seen on {}, entered by {} on {}",
            words::date(entry.fact.seen_on),
            by(entry),
            words::instant(entry.fact.entered_at, zone)
        ),
        meaning,
        how,
        facts: entry
            .detail
            .as_ref()
            .map_or_else(|| part::facts::<&str, &str>(&[]), |detail| facts(&context, detail, &device)),
        note: entry.detail.as_ref().map(|detail| detail.note.clone()).unwrap_or_default(),
        said,
        asked: asked::own(&context, &visit, entry),
        waits: asked::of_another(&visit, entry),
        sharing: found.is_shared(entry).and_then(|shared| share::shown(&context, &visit, entry, shared)),
        locked: entry.detail.is_none(),
        fresh: if own { opens(entry, zone, snapshot.now()) } else { String::new() },
        cautions,
        back: visit.at("/observations"),
        add: (own && may_add(&visit)).then(|| visit.at("/observations/new")),
        error: found.error(entry, zone),
        amended,
        amend: (may_amend && !entry.fact.in_error).then(|| visit.at(&format!("/observations/{id}/amend"))),
        mark_error: may_amend.then(|| visit.at(&format!("/observations/{id}/error"))),
        enough: own && visit.role() == Some(Role::ClassroomTeacher) && recent >= ENOUGH,
    };
    Ok(Page(page).into_response())
}

/// When the words of one's own entry open to the others, while they are locked.
fn opens(entry: &Entry, zone: &TimeZone, now: jiff::Timestamp) -> String {
    let at = entry.fact.entered_at.checked_add(observation::LOCK).unwrap_or(now);
    if at > now {
        format!("The vision teacher can read it now, others from {} on.", words::instant(at, zone))
    } else {
        String::new()
    }
}

/// A proof to add an entry, in class or outside.
enum Adding {
    Class(Access<ClassObservation, Create>),
    Outside(Access<HomeObservation, Create>),
}
