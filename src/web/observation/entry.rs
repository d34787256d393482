//! The form for what somebody saw: one page, another width for each role.
//!
//! A classroom teacher enters for her class, a family for home and community, a
//! vision teacher for any place, seen or told by. Nothing needs typing: what is
//! left empty is taken from the task, and marked so. A family is asked for red
//! flags first.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::Adding;
use crate::access::action::{Create, Read};
use crate::access::resource::{ClassObservation, HomeObservation, LoanGlimpse, SafetyFlag, TaskGlimpse};
use crate::access::{Actor, Role};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::flag::Sign;
use crate::care::gates::{DeviceOfTheTrack, Named, Purpose, device_of_the_track};
use crate::care::ids::VisualTaskId;
use crate::care::loan::{InHand, named_of, plain_word};
use crate::care::observation::{
    Band, Comfort, DeviceOut, Glasses, Graded, Help, Length, Mood, NewObservation, NonUse, Outcome, Pace, Place, Seen,
    Setting, Suggested, Tired,
};
use crate::care::task::{ContrastClass, TargetClass, TaskCode, TaskGlimpse as Task};
use crate::care::track::Track;
use crate::store::journey::Tracks;
use crate::store::safety::NewFlag;
use crate::store::{Audit, Snapshot, journey, loan, observation, safety, task};
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::error::Result;
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::safety::{noticed_days, signs};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::{steps, words};

/// Whose form it is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Width {
    Class,
    Family,
    Teacher,
}

type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "observation/form.html")]
struct FormPage {
    shell: Shell,
    title: &'static str,
    width: Width,
    form: FormView,
    action: String,
    back: String,
    flags: Options,
    places: Options,
    informants: Options,
    tasks: Options,
    outs: Options,
    devices: Options,
    results: Options,
    reasons: Options,
    glasses: Options,
    helps: Options,
    comforts: Options,
    moods: Options,
    paces: Options,
    bands: Options,
    tired: Options,
    suggested: Options,
    contrasts: Options,
    targets: Options,
    went_open: bool,
    more_open: bool,
    cautions: Vec<&'static str>,
}

impl FormPage {
    fn family(&self) -> bool {
        self.width == Width::Family
    }

    fn teacher(&self) -> bool {
        self.width == Width::Teacher
    }
}

macro_rules! choices {
    ($list:expr) => {
        $list.iter().map(|one| (one.code().to_owned(), words::capital(one.words()))).collect::<Options>()
    };
}

/// What the form offers, from what its writer may read.
struct Offered {
    width: Width,
    tasks: Vec<Task>,
    kinds: Vec<TaskCode>,
    places: Vec<Place>,
    in_hand: Vec<InHand>,
}

/// How far back a device that was in hand is still offered.
const BACK_DAYS: i32 = 14;

async fn width(visit: &Visit) -> Result<Width> {
    match visit.role() {
        Some(Role::Parent) => visit.open::<HomeObservation, Create>().await.map(|_| Width::Family),
        Some(Role::VisionTeacher) => visit.open::<HomeObservation, Create>().await.map(|_| Width::Teacher),
        _ => visit.open::<ClassObservation, Create>().await.map(|_| Width::Class),
    }
}

/// Street and crossing tasks are for the mobility specialist; "walking" is no task.
fn offered_to(actor: &Actor, code: TaskCode) -> bool {
    actor.mobility || !code.for_mobility_specialist()
}

/// What is seldom met in this setting stands last; it is offered all the same.
fn unlikely(width: Width, code: TaskCode) -> bool {
    match width {
        Width::Class => code.is_of_home(),
        Width::Family => code.is_of_school(),
        Width::Teacher => false,
    }
}

async fn offered(snapshot: &mut Snapshot, visit: &Visit, width: Width, day: Date) -> Result<Offered> {
    let tasks = match visit.open_if::<TaskGlimpse, Read>().await? {
        Some(access) => task::glimpses(snapshot, &access).await?,
        None => Vec::new(),
    };
    let mut tasks: Vec<Task> = tasks.into_iter().filter(|task| offered_to(visit.actor(), task.code)).collect();
    tasks.sort_by_key(|task| unlikely(width, task.code));
    let mut kinds: Vec<TaskCode> = match width {
        Width::Class => TaskCode::IN_CLASS.to_vec(),
        Width::Family => TaskCode::AT_HOME.to_vec(),
        Width::Teacher => {
            let street: &[TaskCode] = if visit.actor().mobility { &[TaskCode::StreetName, TaskCode::TrafficSignalWatch] } else { &[] };
            let rest = TaskCode::AT_HOME.iter().filter(|code| !TaskCode::IN_CLASS.contains(code));
            TaskCode::IN_CLASS.iter().chain(rest).chain(street).copied().collect()
        }
    };
    kinds.retain(|code| !tasks.iter().any(|task| task.code == *code));
    kinds.sort_by_key(|code| *code == TaskCode::HobbyOther);
    let places = Place::ALL
        .iter()
        .copied()
        .filter(|place| match width {
            Width::Class => place.setting() == Setting::Classroom,
            Width::Family => place.setting() != Setting::Classroom,
            Width::Teacher => true,
        })
        .filter(|place| *place != Place::Street || visit.actor().mobility)
        .collect();
    let in_hand = in_hand(snapshot, visit, day).await?;
    Ok(Offered { width, tasks, kinds, places, in_hand })
}

/// What is in hand on the day of the entry, and what was a short while before,
/// so that an entry dated back can still name it. The gate decides by the day.
async fn in_hand(snapshot: &mut Snapshot, visit: &Visit, day: Date) -> Result<Vec<InHand>> {
    let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? else { return Ok(Vec::new()) };
    let mut found: Vec<InHand> = Vec::new();
    for day in [day, snapshot.today(), snapshot.today().saturating_sub(BACK_DAYS.days())] {
        for one in loan::in_hand_on(snapshot, &access, day).await? {
            if one.against_observation.is_none() && !found.iter().any(|known| known.named == one.named) {
                found.push(one);
            }
        }
    }
    Ok(found)
}

/// Who may have told of it, as relations.
const INFORMANTS: [&str; 8] = [
    "a parent",
    "a grandparent",
    "a brother or sister",
    "a classroom teacher",
    "another adult at school",
    "a coach or club leader",
    "a friend of the student",
    "the student",
];

fn task_words(task: &Task, context: &Context) -> String {
    let mut told = task.name.clone();
    if told.is_empty() {
        told = words::capital(task.code.words());
    }
    if let Some(far) = &task.distance {
        told.push_str(&format!(", from {}", words::distance(far.value, context)));
    }
    if let Some(tall) = &task.x_height {
        told.push_str(&format!(", {} tall", words::height(tall.value.in_metres(), context)));
    }
    told
}

/// A family reads the everyday word; where that would name two, the words of the loan.
fn device_words(one: &InHand, offered: &Offered) -> String {
    let back = one.returned_on.map(|day| format!(", returned {}", words::date(day))).unwrap_or_default();
    let alike = offered.in_hand.iter().filter(|other| other.kind == one.kind).count() > 1;
    let told = match (offered.width, one.named) {
        (Width::Family, Named::Own(_)) if !alike => format!("own {}", plain_word(one.kind)),
        (Width::Family, _) if !alike => format!("{} on loan", plain_word(one.kind)),
        _ => one.words.clone(),
    };
    format!("{}{back}", words::capital(&told))
}

fn build(context: &Context, visit: &Visit, offered: &Offered, form: FormView) -> FormPage {
    let width = offered.width;
    let only_for = |wanted: bool, options: Options| if wanted { options } else { Vec::new() };
    let (family, teacher) = (width == Width::Family, width == Width::Teacher);
    let mut tasks: Options =
        offered.tasks.iter().map(|task| (task.id.to_string(), task_words(task, context))).collect();
    tasks.extend(choices!(offered.kinds));
    let mut flags = vec![("no".to_owned(), "No, none of these".to_owned())];
    flags.extend(signs().into_iter().map(|(code, words)| (code.to_owned(), words)));
    let went: &[&str] = &["glasses", "help", "band", "comfort", "mood", "pace", "tired", "suggested"];
    let more: &[&str] =
        &["what", "seen_on", "distance", "x_height", "contrast", "target", "choices", "correct", "tried", "place"];
    let mut told: Vec<Caution> =
        offered.in_hand.iter().flat_map(|one| cautions(one.kind, Occasion::Screen)).collect();
    told.sort_unstable();
    told.dedup();
    FormPage {
        shell: shell_about(context, visit, title(width)).of_form(&form),
        title: title(width),
        width,
        action: visit.at("/observations/new"),
        back: visit.at("/observations"),
        flags: only_for(family, flags),
        places: choices!(offered.places),
        informants: INFORMANTS.iter().map(|one| ((*one).to_owned(), words::capital(one))).collect(),
        tasks,
        outs: choices!(DeviceOut::ALL),
        devices: offered.in_hand.iter().map(|one| (one.code(), device_words(one, offered))).collect(),
        results: choices!(Graded::ALL),
        reasons: choices!(NonUse::ALL),
        glasses: choices!(Glasses::ALL),
        helps: choices!(Help::ALL),
        comforts: choices!(Comfort::ALL),
        moods: match width {
            Width::Class => choices!(Mood::IN_CLASS),
            Width::Family => choices!(Mood::AT_HOME),
            Width::Teacher => choices!(Mood::ALL),
        },
        paces: only_for(!family, choices!(Pace::ALL)),
        bands: only_for(family || teacher, choices!(Band::ALL)),
        tired: only_for(family || teacher, choices!(Tired::ALL)),
        suggested: only_for(family || teacher, choices!(Suggested::ALL)),
        contrasts: choices!(ContrastClass::ALL),
        targets: choices!(TargetClass::ALL),
        went_open: went.iter().any(|field| !form.entry.get(field).is_empty()),
        more_open: more.iter().any(|field| form.faults.of(field).is_some()),
        cautions: told.into_iter().map(Caution::words).collect(),
        form,
    }
}

const fn title(width: Width) -> &'static str {
    match width {
        Width::Family => "Add a note from home",
        Width::Class | Width::Teacher => "Add an observation",
    }
}

pub(super) async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    let width = width(&visit).await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let offered = offered(&mut snapshot, &visit, width, today).await?;
    let mut entry = Entry::default().with("seen_on", today.to_string());
    let out_now: Vec<&InHand> = offered.in_hand.iter().filter(|one| one.returned_on.is_none()).collect();
    if let [only] = out_now.as_slice() {
        entry.set("device", only.code());
    }
    match width {
        Width::Class => entry.set("place", Place::OwnClass.code()),
        Width::Family | Width::Teacher => {}
    }
    let form = FormView::filled(&context, entry);
    Ok(Page(build(&context, &visit, &offered, form)).into_response())
}

/// What the form says, checked: the entry, the device it names and the red flag.
struct Checked {
    new: NewObservation,
    named: Named,
    flag: Option<Sign>,
}

fn seen(check: &mut Check<'_>, offered: &Offered) -> Option<Seen> {
    let typed = check.typed("task");
    let own = typed.parse::<VisualTaskId>().ok().filter(|id| offered.tasks.iter().any(|task| task.id == *id));
    let kind = typed.parse::<TaskCode>().ok().filter(|code| offered.kinds.contains(code));
    let found = own.map(Seen::Task).or(kind.map(Seen::Kind));
    if found.is_none() {
        check.fault("task", if typed.is_empty() { "Choose what was looked at." } else { "Choose one of the things listed." });
    }
    found
}

fn outcome(check: &mut Check<'_>) -> Option<Outcome> {
    let graded: Option<Graded> = check.opt_code("result", "How much was right");
    let (right, tried) = (check.typed("correct"), check.typed("tried"));
    match (right.is_empty(), tried.is_empty()) {
        (true, true) => {
            if graded.is_none() && check.typed("result").is_empty() {
                check.fault("result", "Choose how much was right, or write how many of how many.");
            }
            graded.map(Outcome::Graded)
        }
        (false, true) => {
            check.fault("tried", "Write how many were tried, too.");
            None
        }
        (true, false) => {
            check.fault("correct", "Write how many of them were right, too.");
            None
        }
        (false, false) => {
            let right = check.opt_whole("correct", "Right", 0..=999);
            let tried = check.opt_whole("tried", "Tried", 1..=999);
            if graded.is_some() {
                check.fault("result", "Choose a word or write a count, not both. Clear the count, or leave the word as the count says.");
            }
            let (right, tried) = (right?, tried?);
            let counted = Outcome::counted(right, tried);
            if counted.is_none() {
                check.fault("correct", format!("No more can be right than were tried: {tried}."));
            }
            counted
        }
    }
}

fn named(check: &mut Check<'_>, offered: &Offered, out: DeviceOut) -> Option<Named> {
    if out != DeviceOut::Yes {
        return Some(Named::NoDevice);
    }
    let typed = check.typed("device");
    if typed.is_empty() {
        let mut now = offered.in_hand.iter().filter(|one| one.returned_on.is_none());
        return match (now.next(), now.next()) {
            (Some(only), None) => Some(only.named),
            (None, _) => {
                check.fault("device_out", "No device is in hand that day. Choose another answer, or ask the vision teacher to enter the loan.");
                None
            }
            (Some(_), Some(_)) => {
                check.fault("device", "Choose which device was out.");
                None
            }
        };
    }
    // A device that is not offered is left to the gate, which says what comes first.
    let found = named_of(typed).filter(|named| *named != Named::NoDevice);
    if found.is_none() {
        check.fault("device", "Choose one of the devices listed.");
    }
    found
}

/// A length typed here, or the one of the task, marked so.
fn copied<T: Clone>(typed: Option<Length<T>>, of_task: Option<(String, T)>) -> Option<Length<T>> {
    typed.or_else(|| of_task.map(|(typed, value)| Length { typed, value, from_task: true }))
}

fn checked(entry: &Entry, offered: &Offered, today: Date) -> std::result::Result<Checked, Faults> {
    let width = offered.width;
    let mut check = Check::new(entry);
    let flag = if width == Width::Family { red_flag(&mut check) } else { Some(None) };
    let place: Option<Place> = match width {
        Width::Class => check.opt_code("place", "Where").or(Some(Place::OwnClass)),
        Width::Family | Width::Teacher => check.code("place", "Where"),
    };
    if place.is_some_and(|place| !offered.places.contains(&place)) {
        check.fault("place", "Choose one of the places listed.");
    }
    let informant = informant(&mut check, width);
    let seen = seen(&mut check, offered);
    let device_out: Option<DeviceOut> = check.code("device_out", "Was the device out");
    let named = device_out.and_then(|out| named(&mut check, offered, out));
    let outcome = outcome(&mut check);
    let task = match seen {
        Some(Seen::Task(id)) => offered.tasks.iter().find(|task| task.id == id),
        _ => None,
    };
    let band: Option<Band> = check.opt_code("band", "About how far");
    let distance = check
        .opt_length("distance", "From how far", 0.02..=500.0)
        .map(|typed| Length { typed: typed.typed, value: typed.value, from_task: false });
    // Who says "across the room" has seen it from there, not from the task's place.
    let of_task = task.filter(|_| band.is_none()).and_then(|task| task.distance.as_ref());
    let distance = copied(distance, of_task.map(|length| (length.typed.clone(), length.value)));
    let x_height = check
        .opt_length("x_height", "Height of the small letters", 0.001..=3.0)
        .map(|typed| Length { typed: typed.typed, value: typed.value.in_millimetres(), from_task: false });
    let of_task = task.and_then(|task| task.x_height.as_ref());
    let x_height = copied(x_height, of_task.map(|length| (length.typed.clone(), length.value)));
    let contrast: Option<ContrastClass> = check.opt_code("contrast", "How it stood out");
    let target: Option<TargetClass> = check.opt_code("target", "What had to be recognised");
    let choices = check.opt_whole("choices", "Among how many", 2..=99);
    let new = NewObservationParts {
        seen_on: check.date("seen_on", "The day", noticed_days(today)),
        what: check.opt_text("what", "What it was", SHORT_TEXT),
        non_use: check.opt_code("non_use", "Why it was not out"),
        glasses: check.opt_code("glasses", "Glasses"),
        help: check.opt_code("help", "Help"),
        pace: check.opt_code("pace", "Pace"),
        comfort: check.opt_code("comfort", "Eyes"),
        mood: check.opt_code("mood", "Mood"),
        tired: check.opt_code("tired", "Tired after"),
        suggested: check.opt_code("suggested", "Whose idea"),
        note: check.opt_text("note", "Note", LONG_TEXT),
    };
    check.build(|| {
        let device_out = device_out?;
        Some(Checked {
            flag: flag?,
            named: named?,
            new: NewObservation {
                seen_on: new.seen_on?,
                informant,
                seen: seen?,
                what: new.what,
                place,
                device_out,
                non_use: new.non_use.filter(|_| !matches!(device_out, DeviceOut::Yes | DeviceOut::NotNeeded)),
                glasses: new.glasses,
                distance,
                band,
                x_height,
                contrast: contrast.or(task.and_then(|task| Some(task.marker?.contrast_class()))),
                target: target.or(task.map(|task| task.target)),
                choices: choices.or(task.filter(|_| target.is_none()).and_then(|task| task.choices)),
                outcome: outcome?,
                help: new.help,
                pace: new.pace,
                comfort: new.comfort,
                mood: new.mood,
                tired: new.tired,
                suggested: new.suggested,
                note: new.note,
                language: "en".to_owned(),
            },
        })
    })
}

/// The fields that are read one by one and need nothing else.
struct NewObservationParts {
    seen_on: Option<Date>,
    what: String,
    non_use: Option<NonUse>,
    glasses: Option<Glasses>,
    help: Option<Help>,
    pace: Option<Pace>,
    comfort: Option<Comfort>,
    mood: Option<Mood>,
    tired: Option<Tired>,
    suggested: Option<Suggested>,
    note: String,
}

/// The first question of a family's form: none of these, or which.
fn red_flag(check: &mut Check<'_>) -> Option<Option<Sign>> {
    match check.typed("flag") {
        "no" => Some(None),
        "" => {
            check.fault("flag", "Answer this first. \u{201c}No, none of these\u{201d} is one tap.");
            None
        }
        _ => check.code::<Sign>("flag", "Did you notice any of these").map(Some),
    }
}

fn informant(check: &mut Check<'_>, width: Width) -> String {
    let typed = check.typed("informant");
    if width != Width::Teacher || typed.is_empty() {
        return String::new();
    }
    match INFORMANTS.iter().find(|one| **one == typed) {
        Some(known) => (*known).to_owned(),
        None => {
            check.fault("informant", "Choose who told you, as a relation.");
            String::new()
        }
    }
}

/// G6 and the loan's own days: the journey of the track that holds the device.
fn gate(tracks: &Tracks, named: Named) -> std::result::Result<DeviceOfTheTrack, crate::care::gates::Blocked> {
    let holds = |track: Track| {
        let journey = tracks.of(track);
        match named {
            Named::NoDevice => true,
            Named::Loan(id) => journey.loans.iter().any(|loan| loan.id == id),
            Named::Own(id) => journey.own_devices.iter().any(|own| own.id == id),
        }
    };
    let track = if holds(Track::Distance) || !holds(Track::Near) { Track::Distance } else { Track::Near };
    device_of_the_track(tracks.of(track), named, Purpose::Observation)
}

pub(super) async fn record(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    let width = width(&visit).await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let day = posted.entry.get("seen_on").parse::<Date>().ok().filter(|day| noticed_days(today).contains(day));
    let offered = offered(&mut snapshot, &visit, width, day.unwrap_or(today)).await?;
    let checked = match checked(&posted.entry, &offered, today) {
        Ok(checked) => checked,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&context, &visit, &offered, form)).into_response());
        }
    };
    let in_class = checked.new.place.map(Place::setting) == Some(Setting::Classroom);
    let adding = if in_class {
        Adding::Class(visit.open::<ClassObservation, Create>().await?)
    } else {
        Adding::Outside(visit.open::<HomeObservation, Create>().await?)
    };
    let raising = match checked.flag {
        Some(sign) => Some((visit.open::<SafetyFlag, Create>().await?, sign)),
        None => None,
    };
    drop(snapshot);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(visit.actor().account)).await?;
    let tracks = match &adding {
        Adding::Class(access) => journey::tracks_on(&mut tx, access, checked.new.seen_on).await?,
        Adding::Outside(access) => journey::tracks_on(&mut tx, access, checked.new.seen_on).await?,
    };
    let device = gate(&tracks, checked.named).map_err(|blocked| steps::blocked(visit.student(), blocked))?;
    let (id, audit) = match &adding {
        Adding::Class(access) => {
            let id = observation::record_in_class(&mut tx, access, device, &checked.new).await?;
            (id, Audit::by(access))
        }
        Adding::Outside(access) => {
            let id = observation::record_outside(&mut tx, access, device, &checked.new).await?;
            (id, Audit::by(access))
        }
    };
    let mut location = visit.at(&format!("/observations/{id}"));
    if let Some((access, sign)) = raising {
        let flag = NewFlag { sign, noticed_on: checked.new.seen_on, note: String::new() };
        let raised = safety::raise(&mut tx, &access, &flag).await?;
        tx.also(Audit::by(&access).record(raised).told("raised").on(checked.new.seen_on)).await?;
        // What to do now comes before what the note means.
        location = visit.at("/safety");
    }
    tx.commit_at(audit.record(id).told("recorded").on(checked.new.seen_on), &location).await?;
    Ok(Redirect::to(&location).into_response())
}
