//! The form for what somebody saw: one page, another width for each role.
//!
//! A classroom teacher enters for her class, a family for home and community, a
//! vision teacher for any place, seen or told by. Nothing needs typing: what is
//! left empty is taken from the task, and marked so. A family is asked for red
//! flags first.

pub(super) mod amend;
mod beside;
mod checked;
pub(super) mod sheet;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::ToSpan;
use jiff::civil::Date;

use super::Adding;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{ClassObservation, HomeObservation, LoanGlimpse, SafetyFlag, TaskGlimpse};
use crate::access::{Actor, Role};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::gates::{DeviceOfTheTrack, Named, Purpose, device_of_the_track};
use crate::care::loan::{InHand, plain_word};
use crate::care::observation::{
    Band, Comfort, DeviceOut, Glasses, Graded, Help, Mood, NonUse, Pace, Place, Seen, Setting, Suggested, Tired,
};
use crate::care::task::{ContrastClass, TargetClass, TaskCode, TaskGlimpse as Task};
use crate::care::track::Track;
use crate::store::correct::observation::Stored;
use crate::store::journey::Tracks;
use crate::store::safety::NewFlag;
use crate::store::shared_note::{self, Sharing};
use crate::store::suspect::{self, About};
use crate::store::try_at_home::{self, Edition};
use crate::store::{Audit, Snapshot, journey, loan, observation, safety, task};
use crate::web::error::Result;
use crate::web::form::{Entry, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::safety::{noticed_days, signs};
use crate::web::state::App;
use crate::web::student_words as words_of_student;
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
    back_words: &'static str,
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
    said: words_of_student::Fields,
    said_open: bool,
    share: Options,
    /// What to try at home, where the note answers it: its id and its words.
    tried: Option<(String, String)>,
    went_open: bool,
    more_open: bool,
    cautions: Vec<&'static str>,
    amends: Option<Amends>,
}

/// What the form says more where it amends an entry.
struct Amends {
    locked: bool,
    lede: &'static str,
    error: String,
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
    /// What to try at home, where the note answers it.
    tried: Option<Edition>,
    /// How many of them, from the first, may be named on the day of the entry.
    that_day: usize,
    /// The entry that the form amends, if it does.
    stored: Option<Stored>,
}

impl Offered {
    /// The device that may be named on the day of the entry, if it is the only one.
    fn only(&self) -> Option<&InHand> {
        self.in_hand.first().filter(|_| self.that_day == 1)
    }

    /// What is known of the thing an entry is about, for a doubt about its lengths.
    fn about(&self, seen: Seen) -> About {
        match seen {
            Seen::Task(id) => {
                self.tasks.iter().find(|task| task.id == id).map_or(About::kind(TaskCode::HobbyOther), |task| About {
                    track: task.track,
                    distance: task.distance.as_ref().map(|typed| typed.value),
                    x_height: task.x_height.as_ref().map(|typed| typed.value.in_metres()),
                })
            }
            Seen::Kind(code) => About::kind(code),
        }
    }

    /// The thing that what was tried is about, as this form offers it.
    fn of_tried(&self) -> Option<String> {
        let edition = self.tried.as_ref()?;
        let own = self.tasks.iter().find(|task| Some(task.id) == edition.task || Some(task.code) == edition.code);
        let kind = edition.code.filter(|code| self.kinds.contains(code));
        own.map(|task| task.id.to_string()).or_else(|| kind.map(|code| code.code().to_owned()))
    }
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

async fn offered(
    snapshot: &mut Snapshot,
    visit: &Visit,
    (width, asked): (Width, &Entry),
    day: Date,
) -> Result<Offered> {
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
            let street: &[TaskCode] =
                if visit.actor().mobility { &[TaskCode::StreetName, TaskCode::TrafficSignalWatch] } else { &[] };
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
    let (in_hand, that_day) = in_hand(snapshot, visit, day).await?;
    let tried = beside::tried(snapshot, visit, width, asked).await?;
    Ok(Offered { width, tasks, kinds, places, in_hand, tried, that_day, stored: None })
}

/// What is in hand on the day of the entry, and what was a short while before,
/// so that an entry dated back can still name it. The gate decides by the day.
async fn in_hand(snapshot: &mut Snapshot, visit: &Visit, day: Date) -> Result<(Vec<InHand>, usize)> {
    let Some(access) = visit.open_if::<LoanGlimpse, Read>().await? else { return Ok((Vec::new(), 0)) };
    let mut found: Vec<InHand> = Vec::new();
    let mut that_day = 0;
    let before = snapshot.today().saturating_sub(BACK_DAYS.days());
    for (place, day) in [day, snapshot.today(), before].into_iter().enumerate() {
        for one in loan::in_hand_on(snapshot, &access, day).await? {
            if one.against_observation.is_none() && !found.iter().any(|known| known.named == one.named) {
                found.push(one);
            }
        }
        if place == 0 {
            that_day = found.len();
        }
    }
    Ok((found, that_day))
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
fn device_words(one: &InHand, place: usize, offered: &Offered) -> String {
    let back = match one.returned_on {
        Some(day) => format!(", returned {}", words::date(day)),
        None if place >= offered.that_day => ", for another day only".to_owned(),
        None => String::new(),
    };
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
    let mut told: Vec<Caution> = offered.in_hand.iter().flat_map(|one| cautions(one.kind, Occasion::Screen)).collect();
    told.sort_unstable();
    told.dedup();
    let stored = offered.stored.as_ref();
    let amends = stored.map(|stored| amends(visit, stored));
    let title = amends.as_ref().map_or(title(width), |amends| amends.title());
    FormPage {
        shell: shell_about(context, visit, title).of_form(&form),
        title,
        width,
        action: stored.map_or_else(
            || visit.at("/observations/new"),
            |stored| visit.at(&format!("/observations/{}/amend", stored.id)),
        ),
        back: stored
            .map_or_else(|| visit.at("/observations"), |stored| visit.at(&format!("/observations/{}", stored.id))),
        back_words: if stored.is_some() { "The entry" } else { "Observations" },
        flags: only_for(family && stored.is_none(), flags),
        places: choices!(offered.places),
        informants: INFORMANTS.iter().map(|one| ((*one).to_owned(), words::capital(one))).collect(),
        tasks,
        outs: choices!(DeviceOut::ALL),
        devices: offered
            .in_hand
            .iter()
            .enumerate()
            .map(|(place, one)| (one.code(), device_words(one, place, offered)))
            .collect(),
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
        said: words_of_student::fields(&form),
        said_open: words_of_student::NAMES.iter().any(|field| !form.entry.get(field).is_empty()),
        share: only_for(
            family && stored.is_none(),
            vec![("yes".to_owned(), "Share this note with the class".to_owned())],
        ),
        tried: offered.tried.as_ref().map(|edition| (edition.id.to_string(), edition.body.clone())),
        went_open: went.iter().any(|field| !form.entry.get(field).is_empty()),
        more_open: stored.is_some() || more.iter().any(|field| form.faults.of(field).is_some()),
        cautions: told.into_iter().map(Caution::words).collect(),
        amends,
        form,
    }
}

fn amends(visit: &Visit, stored: &Stored) -> Amends {
    let locked = stored.locked(visit.store().clock().now());
    Amends {
        locked,
        lede: if locked {
            "It is older than 24 hours, so it is amended: both texts stay to be read, with your reason. Figures follow the new text."
        } else {
            "It is not 24 hours old yet, so you simply change it."
        },
        error: visit.at(&format!("/observations/{}/error", stored.id)),
    }
}

impl Amends {
    const fn title(&self) -> &'static str {
        if self.locked { "Amend this entry" } else { "Change this entry" }
    }
}

const fn title(width: Width) -> &'static str {
    match width {
        Width::Family => "Add a note from home",
        Width::Class | Width::Teacher => "Add an observation",
    }
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let asked = Entry::of_query(query.as_deref());
    let width = width(&visit).await?;
    let mut snapshot = app.store.snapshot().await?;
    let today = snapshot.today();
    let offered = offered(&mut snapshot, &visit, (width, &asked), today).await?;
    let mut entry = Entry::default().with("seen_on", today.to_string());
    if let Some(only) = offered.only() {
        entry.set("device", only.code());
    }
    if let Some(task) = offered.of_tried() {
        entry.set("task", task);
    }
    match width {
        Width::Class => entry.set("place", Place::OwnClass.code()),
        Width::Family | Width::Teacher => {}
    }
    let form = FormView::filled(&context, entry);
    Ok(Page(build(&context, &visit, &offered, form)).into_response())
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
    let offered = offered(&mut snapshot, &visit, (width, &posted.entry), day.unwrap_or(today)).await?;
    let checked = match checked::checked(&posted.entry, &offered, (today, words::units(&context))) {
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
    let sharing = match checked.sharing {
        Sharing::WithClass => Some(visit.open::<HomeObservation, Edit>().await?),
        Sharing::NotWithClass => None,
    };
    drop(snapshot);
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(visit.actor().account)).await?;
    let tracks = match &adding {
        Adding::Class(access) => journey::tracks_on(&mut tx, access, checked.new.seen_on).await?,
        Adding::Outside(access) => journey::tracks_on(&mut tx, access, checked.new.seen_on).await?,
    };
    let device = gate(&tracks, checked.named).map_err(|blocked| steps::blocked_for(&visit, blocked))?;
    let (id, audit) = match &adding {
        Adding::Class(access) => {
            let id = observation::record_in_class(&mut tx, access, device, &checked.new).await?;
            beside::said(&mut tx, access, id, &checked).await?;
            suspect::ask(&mut tx, access, id, (&checked.new, offered.about(checked.new.seen))).await?;
            (id, Audit::by(access))
        }
        Adding::Outside(access) => {
            let id = observation::record_outside(&mut tx, access, device, &checked.new).await?;
            beside::said(&mut tx, access, id, &checked).await?;
            suspect::ask(&mut tx, access, id, (&checked.new, offered.about(checked.new.seen))).await?;
            if let Some(edition) = &offered.tried {
                try_at_home::tried(&mut tx, access, id, edition.id).await?;
            }
            if let Some(own) = &sharing {
                shared_note::set(&mut tx, own, id, Sharing::WithClass).await?;
            }
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
