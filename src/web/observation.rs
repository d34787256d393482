//! What people saw: the list, one entry with what it means, and the form in
//! `entry`.
//!
//! The sentence of meaning is made of what its reader may read: a classroom
//! teacher's of her own numbers and the released card's. Does not compute;
//! read `care::meaning`.

mod asked;
mod entry;
mod share;

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use jiff::ToSpan;
use jiff::tz::TimeZone;

use super::amend;
use super::error::{Error, Result};
use super::outside;
use super::page::{Context, Page, Shell, shell_about};
use super::params::Record;
use super::part::{self, Mark};
use super::routes::Routes;
use super::state::App;
use super::task::goals;
use super::visit::Visit;
use super::{student_words as words_of_student, words};
use crate::access::action::{Amend, Create, Read};
use crate::access::resource::{
    Card, ClassObservation, Evaluation, Guidance, HomeObservation, Intake, LoanGlimpse, Loans, Resource, Transcription,
    VisualTasks,
};
use crate::access::{Access, Role};
use crate::care::amendment::Kind;
use crate::care::card::Figures;
use crate::care::caution::{Occasion, cautions};
use crate::care::gates::Named;
use crate::care::ids::ObservationId;
use crate::care::meaning::{self, Expected, Silent};
use crate::care::observation::{DeviceOut, Graded, Length, Outcome, Setting};
use crate::care::sight::{AtHand, AtHandAs, NoFigure};
use crate::care::track::Track;
use crate::store::amendment::InError;
use crate::store::observation::{Detail, Entry};
use crate::store::shared_note::{self, Sharing};
use crate::store::sight::Parts;
use crate::store::student_words::{self, Kept};
use crate::store::{Snapshot, amendment, card, goal, loan, observation, sight, task};
use crate::vision::demand::{VisualAngle, straight_on, visual_angle};
use crate::vision::length::shown::{Units, letter_height, letter_rounded_up};
use crate::vision::reserve::acuity_reserve;
use crate::vision::units::{Metres, Millimetres};

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

/// The parts of an entry that its sentence is made of.
fn said(detail: &Detail) -> meaning::Entry {
    meaning::Entry {
        outcome: detail.outcome,
        x_height: detail.x_height.as_ref().map(|length| length.value),
        distance: detail.distance.as_ref().map(|length| length.value),
        device_out: detail.device_out,
        help: detail.help,
    }
}

/// A sentence, and how it came about.
type Meaning = (String, Option<part::How>);

async fn meaning_of(snapshot: &mut Snapshot, context: &Context, visit: &Visit, entry: &Entry) -> Result<Meaning> {
    let Some(detail) = &entry.detail else { return Ok(Meaning::default()) };
    let own = entry.fact.account == visit.actor().account;
    match visit.role() {
        Some(Role::ClassroomTeacher) if own => {
            let card = match visit.open_if::<Card, Read>().await? {
                Some(access) => card::released(snapshot, &access).await?.map(|edition| edition.figures),
                None => None,
            };
            Ok(for_classroom(context, detail, card))
        }
        Some(Role::Parent) if own => Ok((meaning::for_family(&said(detail), detail.place, detail.band), None)),
        Some(Role::VisionTeacher | Role::Clinician) => {
            let expected = expected(snapshot, visit, entry, detail).await?;
            Ok(for_specialist(context, detail, &expected))
        }
        _ => Ok(Meaning::default()),
    }
}

fn for_classroom(context: &Context, detail: &Detail, figures: Option<Figures>) -> Meaning {
    let units = words::units(context);
    let said = said(detail);
    let card = figures.map_or(meaning::Card::NotReleased, meaning::Card::Released);
    let sentence = meaning::for_classroom(&said, card, units);
    let with_device = detail.device_out == DeviceOut::Yes;
    let how = figures.zip(said.x_height).zip(said.distance).and_then(|((figures, height), from)| {
        let letter = Metres::new(figures.letter(with_device)? / 1_000.0).ok()?;
        let usual = Metres::new(figures.usual_m?).ok()?;
        let how = part::how(&[
            "The card's letter height holds for its usual seat. From farther away letters must be taller by as much as the distance grows.",
            "The seat is where your letters look as tall as the card asks. Seats are rounded down and letters up.",
        ])
        .input("Your letters", &words::height(height.in_metres(), context))
        .input("Your distance", &words::distance(from, context))
        .input("The card's letters", &words::height(letter, context))
        .input("The card's usual seat", &words::distance(usual, context))
        .inputs(&visual_angle(letter, usual).map_or(Vec::new(), |angle| vec![("From there they look", angle_told(angle))]))
        .source("Definition of visual angle.");
        Some(how.asks_all(card_asked(&sentence, (letter, usual), from, units)))
    });
    (sentence, how)
}

/// What the card asks for there: the letter that looks as tall as the card's from
/// its seat. The operation that gives a seat speaks of acuity and power, which a
/// class does not read, so the seat has no line.
fn card_asked(sentence: &str, card: (Metres, Metres), from: Metres, units: Units) -> Vec<outside::Asked> {
    let Ok(angle) = visual_angle(card.0, card.1) else { return Vec::new() };
    let looks = outside::ask("visual_angle")
        .with("size_m", card.0.get())
        .with("distance_m", card.1.get())
        .gives("angle_arcmin", &angle_told(angle));
    let needed =
        Metres::new(card.0.get() * from.get() / card.1.get()).and_then(|least| letter_rounded_up(least, units));
    let told = needed.ok().map(|letter| letter_height(letter, units)).filter(|told| sentence.contains(told));
    let letter = told.map(|told| {
        outside::ask("letter_height")
            .with("mar_arcmin", angle.arcminutes() / 5.0)
            .with("distance_m", from.get())
            .gives_up("letter_height_mm", &told)
    });
    std::iter::once(looks).chain(letter).collect()
}

fn angle_told(angle: VisualAngle) -> String {
    format!("{:.1} minutes of arc", angle.arcminutes())
}

fn for_specialist(
    context: &Context,
    detail: &Detail,
    expected: &std::result::Result<(Expected, String), Silent>,
) -> Meaning {
    let said = said(detail);
    let told = expected.as_ref().map(|(expected, _)| expected).map_err(|silent| *silent);
    let sentence = meaning::for_specialist(&said, told, words::units(context));
    let how = said.x_height.zip(said.distance).and_then(|(height, from)| {
        let demand = straight_on(height.in_metres(), from).ok()?;
        let mut how = part::how(&[
            "Demand: the logarithm of the angle of the small letters over 5 minutes of arc, seen straight on.",
            "Reserve: ten to the power of demand minus acuity.",
        ])
        .input("Small letters", &words::height(height.in_metres(), context))
        .input("Distance", &words::distance(from, context))
        .input("Demand", &format!("{:.2} logMAR", demand.get()))
        .asks(
            outside::ask("board_letter_demand")
                .with("letter_height_m", height.in_metres().get())
                .with("letter_width_m", height.in_metres().get())
                .with("perpendicular_distance_m", from.get())
                .with("lateral_offset_m", 0.0)
                .gives("logmar_vertical", &format!("{:.2} logMAR", demand.get())),
        );
        if let Ok((expected, needed)) = expected {
            let acuity = format!("{:.2} logMAR, {}", expected.acuity.get(), expected.which);
            how = how.input("Acuity", &acuity).input("Reserve needed", needed);
            if let Ok(reserve) = acuity_reserve(demand, expected.acuity) {
                how = how.asks(outside::reserve(demand, expected.acuity, reserve, expected.needed, ("", ":1")));
            }
        }
        Some(how.source("Definitions of visual angle and acuity reserve."))
    });
    (sentence, how)
}

/// What the clinic's figure lets this reader expect of the task, and the reserve
/// needed with its origin; or the reason why nothing does.
async fn expected(
    snapshot: &mut Snapshot,
    visit: &Visit,
    entry: &Entry,
    detail: &Detail,
) -> Result<std::result::Result<(Expected, String), Silent>> {
    let Some(guidance) = visit.open_if::<Guidance, Read>().await? else { return Ok(Err(Silent::NotYours)) };
    let Ok(tasks) = guidance.part::<VisualTasks>() else { return Ok(Err(Silent::NotYours)) };
    let Some(id) = detail.task else { return Ok(Err(Silent::NoTask)) };
    let task = task::task_of(snapshot, &tasks, id).await?;
    let evaluation = guidance.part::<Evaluation>().ok();
    let transcription = guidance.part::<Transcription>().ok();
    let intake = guidance.part::<Intake>().ok();
    let loans = guidance.part::<Loans>().ok();
    let parts = Parts {
        evaluation: evaluation.as_ref(),
        transcription: transcription.as_ref(),
        intake: intake.as_ref(),
        loans: loans.as_ref(),
    };
    let known = sight::of(snapshot, &parts).await?;
    let used = match detail.device {
        Named::NoDevice => known.unaided(task.what.track).map_err(|why| match why {
            NoFigure::NoEvaluation => Silent::NotYours,
            why => Silent::NoFigure(why),
        }),
        named => match device_named(snapshot, visit, entry, named).await? {
            None => Err(Silent::DeviceNotRead),
            Some(device) if device.track == Track::Near => Err(Silent::HeldToThePage),
            Some(device) => known.through(&device).map_err(|why| match why {
                NoFigure::NoEvaluation => Silent::NotYours,
                why => Silent::NotThrough(why),
            }),
        },
    };
    let in_use = goal::of(snapshot, &tasks).await?;
    let expected = used.map(|used| Expected {
        acuity: used.acuity.acuity,
        which: format!("{}{}", used.acuity.basis, used.unconfirmed()),
        needed: in_use.goals().needed(task.what.goal.into()).acuity,
        goal: task.what.goal.words().to_owned(),
    });
    Ok(expected.map(|expected| (expected, goals::ratio_needed(&in_use, task.what.goal.into()))))
}

/// The very device that an entry names, as far as its figures may be read.
async fn device_named(snapshot: &mut Snapshot, visit: &Visit, entry: &Entry, named: Named) -> Result<Option<AtHand>> {
    let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? else { return Ok(None) };
    let in_hand = loan::in_hand_on(snapshot, &access, entry.fact.seen_on).await?;
    let found = in_hand.into_iter().find(|one| one.named == named);
    let source = if matches!(named, Named::Own(_)) { AtHandAs::Own } else { AtHandAs::Loan };
    Ok(found.and_then(|one| Some(AtHand { spec: one.spec?, track: one.track, source })))
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
