//! Recording a session, mostly with a thumb: what was used last stands in the
//! form already and says so; the gates are asked for the day of the session.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::{next, offered, read};
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{LoanGlimpse, SafetyFlag, Training, VisualTasks};
use crate::care::caution::Occasion;
use crate::care::flag::Sign;
use crate::care::gates::{
    Blocked, Lesson, Named, Purpose, device_of_the_track, not_paused, ready, safe_to_train, skill_in_order,
};
use crate::care::ids::SessionId;
use crate::care::loan::{InHand, code_of};
use crate::care::skill::{Prompt, Skill};
use crate::care::task::{LightLevel, VisualTask};
use crate::care::track::Track;
use crate::care::training::{Body, Comfort, Glasses, MOST_EXERCISES, NewSession, Place, Session, Symptom};
use crate::store::correct::session::Stored;
use crate::store::training::{Through, WithDevice};
use crate::store::{Audit, Snapshot, Tx, journey, loan, readiness, safety, task, training};
use crate::web::devices::{Heeded, heeded, or_usual};
use crate::web::error::{Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::part::{self, Choice, Field, Notice};
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "training/new.html")]
pub(super) struct NewPage {
    shell: Shell,
    title: &'static str,
    back: String,
    back_words: &'static str,
    amends: Option<Amends>,
    action: String,
    safety: String,
    track: &'static str,
    track_code: &'static str,
    other_track: (String, String),
    form: FormView,
    day_form: FormView,
    notices: Vec<Notice>,
    last: String,
    order: String,
    devices: Choice,
    setting: Vec<Piece>,
    exercises: Vec<ExerciseForm>,
    after: Vec<Piece>,
    signs: Choice,
    signs_open: bool,
    cautions: Heeded,
}

/// What the form says more where it amends a session.
struct Amends {
    locked: bool,
    error: String,
}

/// A control of the form.
enum Piece {
    Field(Box<Field>),
    Choice(Box<Choice>),
}

struct ExerciseForm {
    number: usize,
    open: bool,
    pieces: Vec<Piece>,
    timed: Vec<Piece>,
    timed_open: bool,
}

/// What the form needs to know of the record.
pub(super) struct Known {
    /// The session that the form amends, if it does.
    stored: Option<Stored>,
    pub(super) in_hand: Vec<InHand>,
    pub(super) tasks: Vec<VisualTask>,
    pub(super) sessions: Vec<Session>,
    last: Option<Session>,
    pub(super) steady: BTreeSet<Skill>,
    next: Option<Skill>,
    pub(super) blocked: Option<Blocked>,
}

pub(super) async fn known(
    snapshot: &mut Snapshot,
    visit: &Visit,
    access: &Access<Training, Create>,
    (track, day): (Track, Date),
    stored: Option<Stored>,
) -> Result<Known> {
    let reading = visit.open::<Training, Read>().await?;
    let glimpse = visit.open::<LoanGlimpse, Read>().await?;
    let seeing = visit.open_if::<VisualTasks, Read>().await?;
    let tasks = match &seeing {
        Some(seeing) => task::tasks_with_retired(snapshot, seeing).await?,
        None => Vec::new(),
    };
    let named = |task: &VisualTask| {
        let exercises = stored.iter().flat_map(|stored| &stored.session.entered.exercises);
        exercises.into_iter().any(|exercise| exercise.task == Some(task.id))
    };
    let tasks: Vec<VisualTask> = tasks.into_iter().filter(|task| !task.retired || named(task)).collect();
    let without = stored.as_ref().map(|stored| stored.session.id);
    let sessions = training::list(snapshot, &reading).await?;
    let steady = training::steady_without(snapshot, access, (track, day), without).await?;
    let tracks = journey::tracks_on(snapshot, access, day).await?;
    let signed = readiness::signed(snapshot, access).await?;
    let pauses = safety::pauses(snapshot, access).await?;
    let blocked = not_paused(&pauses, day, None)
        .err()
        .or_else(|| safe_to_train(tracks.of(track)).and_then(|safe| ready(safe, &signed)).err());
    Ok(Known {
        in_hand: loan::in_hand_on(snapshot, &glimpse, day).await?,
        tasks: tasks
            .into_iter()
            .filter(|task| task.what.track == track)
            .filter(|task| visit.actor().mobility || !task.what.code.for_mobility_specialist())
            .collect(),
        stored,
        last: sessions
            .iter()
            .find(|session| session.entered.track == track && !session.entered.exercises.is_empty())
            .cloned(),
        sessions,
        next: Skill::ORDER.iter().copied().find(|skill| !steady.contains(skill)),
        steady,
        blocked,
    })
}

impl Known {
    /// The session that the form amends, if it does.
    pub(super) fn stored(&self) -> Option<&Stored> {
        self.stored.as_ref()
    }
}

/// What was used last, as a form; counts are never filled in.
pub(super) fn from_last(known: &Known, track: Track, day: Date) -> Entry {
    let mut entry = Entry::default().with("track", track.code()).with("held_on", day.to_string());
    let Some(last) = known.last.as_ref().map(|last| &last.entered) else { return entry };
    let usable = |named| {
        named == Named::NoDevice
            || known.in_hand.iter().any(|device| device.named == named && device.against(Purpose::Session).is_none())
    };
    if usable(last.device) {
        entry.set("device", code_of(last.device));
    }
    entry.set("minutes", last.minutes.to_string());
    entry.set("place", last.place.code());
    entry.set("body", last.body.code());
    entry.set("light", last.light.map_or("", |light| light.code()));
    entry.set("glasses", last.glasses.map_or("", |glasses| glasses.code()));
    if let Some(first) = last.exercises.first() {
        entry.set(read::name(1, "skill"), first.skill.code());
        entry.set(read::name(1, "task"), first.task.map(|task| task.to_string()).unwrap_or_default());
        entry.set(
            read::name(1, "distance"),
            first.distance.as_ref().map(|typed| typed.typed.clone()).unwrap_or_default(),
        );
        entry
            .set(read::name(1, "height"), first.x_height.as_ref().map(|typed| typed.typed.clone()).unwrap_or_default());
    }
    entry
}

pub(super) fn build(
    context: &Context,
    visit: &Visit,
    known: &Known,
    (track, day): (Track, Date),
    form: Option<FormView>,
) -> NewPage {
    let prefilled = form.is_none() && known.last.is_some();
    let form = form.unwrap_or_else(|| FormView::filled(context, from_last(known, track, day)));
    let as_last = |name: &str| {
        if prefilled && !form.entry.get(name).is_empty() { "As last time. Change it if it differs." } else { "" }
    };
    let (mut offers, refused) = offered(track, &known.in_hand);
    if let Some(code) = known.stored.as_ref().map(|stored| code_of(stored.session.entered.device))
        && !offers.iter().any(|(offered, _)| *offered == code)
    {
        offers.push((code, "The device that is stored".to_owned()));
    }
    let mut notices = Vec::new();
    if let Some(blocked) = &known.blocked {
        let href = steps::address(visit.student(), blocked.first);
        notices.push(
            part::notice("caution", "With no device only", &blocked.to_string())
                .link(&href, "Go to the step that comes first"),
        );
    }
    for (device, why) in &refused {
        notices.push(part::notice("caution", &format!("Not for this session: {device}"), why));
    }
    let places: Vec<_> = Place::ALL
        .iter()
        .filter(|place| visit.actor().mobility || !place.for_mobility_only())
        .map(|place| (place.code(), words::capital(place.words())))
        .collect();
    let field = |field: Field| Piece::Field(Box::new(field));
    let choice = |choice: Choice| Piece::Choice(Box::new(choice));
    let setting = vec![
        choice(
            form.checks("baseline", "Baseline probe", &[("yes", "A probe: no teaching, to compare with later")])
                .optional(),
        ),
        field(form.date("held_on", "Date")),
        field(form.whole("minutes", "Minutes").hint(as_last("minutes")).steps_of(5)),
        field(form.select("place", "Place", &places).hint(as_last("place"))),
        field(
            form.select("light", "Light", &options!(LightLevel)).hint(as_last("light")).blank("Not noted").optional(),
        ),
        choice(form.radios("body", "Position", &options!(Body)).hint(as_last("body")).chips()),
        choice(form.radios("glasses", "Glasses", &options!(Glasses)).hint(as_last("glasses")).chips().optional()),
    ];
    let after = vec![
        choice(form.radios("comfort", "How did it feel?", &options!(Comfort)).chips().optional()),
        choice(form.checks("symptoms", "Symptoms", &options!(Symptom)).chips().optional()),
        choice(form.checks("refused", "Refused", &[("yes", "The student did not want to, or stopped")]).optional()),
        field(form.text("refused_reason", "Why, in the student\u{2019}s words").optional().wide()),
        field(form.text("order_reason", "Why a later skill comes first").hint(&not_steady(known)).optional().wide()),
        field(form.area("note", "Note").rows(3).optional()),
    ];
    let at = |stored: &Stored, path: &str| visit.at(&format!("/training/{}{path}", stored.session.id));
    let locked = known.stored.as_ref().is_some_and(|stored| stored.locked(visit.store().clock().now()));
    let title = match &known.stored {
        None => "Record a session",
        Some(_) if locked => "Amend this session",
        Some(_) => "Change this session",
    };
    let other = if track == Track::Distance { Track::Near } else { Track::Distance };
    let kinds = known.in_hand.iter().filter(|device| device.track == track).map(|device| device.kind).collect();
    NewPage {
        shell: shell_about(context, visit, title).of_form(&form),
        title,
        back: known.stored.as_ref().map_or_else(|| visit.at("/training"), |stored| at(stored, "")),
        back_words: if known.stored.is_some() { "The session" } else { "Training" },
        action: known.stored.as_ref().map_or_else(|| visit.at("/training/new"), |stored| at(stored, "/amend")),
        amends: known.stored.as_ref().map(|stored| Amends { locked, error: at(stored, "/error") }),
        safety: if visit.may::<SafetyFlag, Create>() { visit.at("/safety") } else { String::new() },
        track: track.words(),
        track_code: track.code(),
        other_track: (visit.at(&format!("/training/new?track={}", other.code())), other.words().to_owned()),
        notices,
        last: match &known.last {
            Some(last) if prefilled => format!(
                "Filled in from the session of {}: device, minutes, place, light, position, glasses, and skill, distance and size of exercise 1. Change what differs.",
                words::date(last.entered.held_on)
            ),
            _ => String::new(),
        },
        order: order(known),
        devices: form.radios("device", "Device used", &offers).hint(as_last("device")),
        setting,
        exercises: (1..=MOST_EXERCISES).map(|number| exercise(&form, number, track, &known.tasks, prefilled)).collect(),
        after,
        signs: form.checks("signs", "Red flags", &options!(Sign)).optional(),
        signs_open: !form.entry.all("signs").is_empty(),
        cautions: heeded(&or_usual(track, kinds), Occasion::Session),
        day_form: FormView::filled(context, Entry::default().with("on", day.to_string())),
        form,
    }
}

/// Which skills are steady and which comes next, by the mastery rule.
fn order(known: &Known) -> String {
    let next = known.next.map_or(String::new(), |next| format!(" Next in order: {}.", next.words()));
    let rule =
        "Steady means 4 of 5 right with a hint at most, in 3 sessions, 2 places and on 2 dates (common practice).";
    if known.steady.is_empty() {
        format!("No skill has met the rule yet.{next} {rule}")
    } else {
        let steady: Vec<&str> = known.steady.iter().map(|skill| skill.words()).collect();
        format!("Met the rule: {}.{next} {rule}", words::list(&steady))
    }
}

/// What the reason is asked for: the skills that come before another one and
/// are not steady yet (G5).
fn not_steady(known: &Known) -> String {
    let before = Skill::ORDER.split_last().map_or(&[][..], |(_, before)| before);
    let open: Vec<&str> =
        before.iter().filter(|skill| !known.steady.contains(skill)).map(|skill| skill.words()).collect();
    if open.is_empty() {
        return "Every earlier skill is steady, so no reason is asked for.".to_owned();
    }
    format!("Only when you skip a skill that is not steady yet: {}. The reason is kept.", words::list(&open))
}

/// Short words on what an exercise of a track may be.
const fn ideas(track: Track) -> &'static str {
    match track {
        Track::Distance => {
            "For example: land on one target among three; follow the top edge of the board; a walking person from a safe place"
        }
        Track::Near => "For example: land on a word; cover the page in rows; follow a line and find the next one",
    }
}

fn exercise(form: &FormView, number: usize, track: Track, tasks: &[VisualTask], prefilled: bool) -> ExerciseForm {
    let at = |field: &str| read::name(number, field);
    let as_last = |field: &str| {
        if prefilled && !form.entry.get(&at(field)).is_empty() { "As last time. Change it if it differs." } else { "" }
    };
    let or = |last: &'static str, other: &'static str| if last.is_empty() { other } else { last };
    let field = |field: Field| Piece::Field(Box::new(field));
    let choice = |choice: Choice| Piece::Choice(Box::new(choice));
    let tasks: Vec<_> = tasks.iter().map(|task| (task.id.to_string(), task.what.name.clone())).collect();
    let prompts: Vec<_> = Prompt::ALL
        .iter()
        .rev()
        .map(|prompt| (prompt.code(), format!("{} {}", prompt.level(), words::capital(prompt.words()))))
        .collect();
    let mut pieces = vec![
        field(form.select(&at("skill"), "Skill", &options!(Skill)).hint(as_last("skill")).blank("Choose a skill")),
        field(form.text(&at("item"), "What was done").hint(ideas(track)).optional().wide()),
    ];
    if !tasks.is_empty() {
        pieces.push(field(
            form.select(&at("task"), "What it practises", &tasks)
                .hint(as_last("task"))
                .blank("Nothing in particular")
                .optional(),
        ));
    }
    pieces.extend([
        field(
            form.decimal(&at("distance"), "Distance, with its unit")
                .hint(or(as_last("distance"), "For example 3 m or 10 ft"))
                .optional(),
        ),
        field(
            form.decimal(&at("height"), "Height of the small letters, with its unit")
                .hint(or(as_last("height"), "For example 4 cm or 1 1/2 in"))
                .optional(),
        ),
        field(form.whole(&at("tries"), "Tried").stepper().optional()),
        field(form.whole(&at("right"), "Right").hint("Of those tried").stepper().optional()),
        choice(form.radios(&at("prompt"), "Help it took", &prompts).chips()),
        field(form.whole(&at("prompts"), "Times helped").stepper().optional()),
        choice(form.checks(&at("self"), "Self-corrected", &[("yes", "Noticed and mended a mistake alone")]).optional()),
        field(form.decimal(&at("median"), "Median time of one try").unit("s").timer().optional()),
    ]);
    let timed = vec![
        field(
            form.decimal(&at("shown"), "Time it went on")
                .unit("s")
                .hint("The whole exercise: what was right, or lost, is counted a minute of it")
                .timer()
                .optional(),
        ),
        field(form.whole(&at("losses"), "Times lost").hint("Tracing and tracking").stepper().optional()),
        field(
            form.decimal(&at("view"), "Of that time, in view")
                .unit("s")
                .hint("Tracking: how long the moving target stayed in view")
                .timer()
                .optional(),
        ),
    ];
    let timed_open = ["view", "shown", "losses"].iter().any(|one| !form.entry.get(&at(one)).is_empty());
    let faulty = read::EXERCISE_FIELDS.iter().any(|one| form.faults.of(&at(one)).is_some());
    ExerciseForm {
        number,
        open: number == 1 || faulty || read::is_used(&form.entry, number),
        pieces,
        timed,
        timed_open,
    }
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let access = visit.open::<Training, Create>().await?;
    let mut snapshot = app.store.snapshot().await?;
    // Which track, and on which day, where that is not today.
    let asked = Entry::of_query(query.as_deref());
    let track = asked.get("track").parse().unwrap_or(Track::Distance);
    let today = snapshot.today();
    let day = asked.get("on").parse().ok().filter(|day: &Date| *day <= today).unwrap_or(today);
    let known = known(&mut snapshot, &visit, &access, (track, day), None).await?;
    drop(snapshot);
    // What was proposed is made anew: nothing of it stands in the address.
    let taken = match asked.get("next").parse::<usize>().ok().and_then(|number| number.checked_sub(1)) {
        Some(place) => next::taken_over(&app, &visit, &context, (&known, track, day), place).await?,
        None => None,
    };
    let was_taken = taken.is_some();
    let mut page = build(&context, &visit, &known, (track, day), taken.map(|entry| FormView::filled(&context, entry)));
    if was_taken {
        page.last = next::TAKEN_OVER.to_owned();
    }
    Ok(Page(page).into_response())
}

pub(super) async fn save(State(app): State<App>, context: Context, visit: Visit, posted: Posted) -> Result<Response> {
    let access = visit.open::<Training, Create>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let today = tx.today();
    let track = read::track(&posted.entry).ok_or(Error::Hidden)?;
    let day = posted.entry.get("held_on").parse().ok().filter(|day: &Date| *day <= today).unwrap_or(today);
    let known = known(&mut tx, &visit, &access, (track, day), None).await?;
    let again = |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        Ok(Again(build(&context, &visit, &known, (track, day), Some(form))).into_response())
    };
    let new = match read::session(&posted.entry, today, visit.actor().mobility) {
        Ok(new) => new,
        Err(faults) => return again(faults),
    };
    if let Some(faults) = unknown_task(&posted.entry, &known) {
        return again(faults);
    }
    let through = match through(&mut tx, &visit, &access, &new, None).await? {
        Ok(through) => through,
        Err(blocked) => return again(Faults::one("order_reason", words::capital(&blocked.to_string()))),
    };
    let id = training::record(&mut tx, &access, &through, &new).await?;
    let location = visit.at(&format!("/training/{id}"));
    tx.commit_at(Audit::by(&access).record(id).told("recorded").on(new.held_on).track(track), &location).await?;
    Ok(Redirect::to(&location).into_response())
}

/// A fault beside the first exercise that names a task which this person is not
/// offered.
pub(super) fn unknown_task(entry: &Entry, known: &Known) -> Option<Faults> {
    let unknown = |number: &usize| {
        let typed = entry.get(&read::name(*number, "task"));
        !typed.is_empty() && known.tasks.iter().all(|task| task.id.to_string() != typed)
    };
    let number = (1..=MOST_EXERCISES).find(unknown)?;
    Some(Faults::one(read::name(number, "task"), "Choose one of the things listed."))
}

/// Asks the gates for the day of the session: G9, G2, G3, then G4 and G6, then
/// the order of skills (G5), which alone a reason may pass.
pub(super) async fn through(
    tx: &mut Tx,
    visit: &Visit,
    access: &Access<Training, Create>,
    new: &NewSession,
    amended: Option<SessionId>,
) -> Result<std::result::Result<Through, Blocked>> {
    let closed = |blocked| steps::blocked(visit.student(), blocked);
    let tracks = journey::tracks_on(tx, access, new.held_on).await?;
    let journey = tracks.of(new.track);
    let with_device = if new.device == Named::NoDevice {
        None
    } else {
        let pauses = safety::pauses(tx, access).await?;
        let not_paused = not_paused(&pauses, new.held_on, None).map_err(closed)?;
        let safe = safe_to_train(journey).map_err(closed)?;
        let signed = readiness::signed(tx, access).await?;
        let ready = ready(safe, &signed).map_err(closed)?;
        Some(WithDevice { safe, ready, not_paused })
    };
    let device = device_of_the_track(journey, new.device, Purpose::Session).map_err(closed)?;
    let lesson = match with_device {
        None => Lesson::WithoutDevice,
        Some(with) if new.baseline => Lesson::Baseline(with.ready),
        Some(_) => Lesson::WithDevice,
    };
    let steady = training::steady_without(tx, access, (new.track, new.held_on), amended).await?;
    let reason = Some(new.order_reason.as_str());
    let order: std::result::Result<Vec<_>, Blocked> =
        new.exercises.iter().map(|exercise| skill_in_order(exercise.skill, lesson, &steady, reason)).collect();
    Ok(order.map(|order| Through { device, with_device, order }))
}
