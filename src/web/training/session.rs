//! One session as it is kept: first what comes next if something was wrong,
//! then what each exercise says, then everything that was entered.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::tell;
use crate::access::action::{Amend, Create, Read};
use crate::access::resource::{LoanGlimpse, Resource, SafetyFlag, Training, VisualTasks};
use crate::care::amendment::Kind;
use crate::care::caution::Occasion;
use crate::care::gates::Named;
use crate::care::ids::SessionId;
use crate::care::task::VisualTask;
use crate::care::training::{NewExercise, Session};
use crate::store::{amendment, loan, task, training};
use crate::vision::units::Seconds;
use crate::web::amend::{shown, why};
use crate::web::devices::{Heeded, heeded, stated};
use crate::web::error::Result;
use crate::web::page::{Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::{self, Facts, How, Notice};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

#[derive(Template)]
#[template(path = "training/session.html")]
struct SessionPage {
    shell: Shell,
    back: String,
    title: String,
    stop: Option<Notice>,
    sentences: Vec<String>,
    how: Option<How>,
    facts: Facts,
    exercises: Vec<ExercisePart>,
    next: String,
    cautions: Option<Heeded>,
    error: Option<String>,
    amended: part::Amended,
    amend: String,
    mark: String,
}

struct ExercisePart {
    title: String,
    facts: Facts,
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<SessionId>,
) -> Result<Response> {
    visit.opens_with::<Training>(&[LoanGlimpse::ROW, VisualTasks::ROW]).await?;
    let access = visit.open::<Training, Read>().await?;
    let glimpse = visit.open_if::<LoanGlimpse, Read>().await?;
    let seeing = visit.open_if::<VisualTasks, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let mut errors = training::errors(&mut snapshot, &access).await?;
    let (session, in_error) = match errors.iter().position(|session| session.id == id) {
        Some(place) => (errors.swap_remove(place), true),
        None => (training::one(&mut snapshot, &access, id).await?, false),
    };
    let amended = shown(&amendment::of_record(&mut snapshot, &access, id).await?, snapshot.zone());
    let error = match in_error {
        true => {
            let mut all = amendment::in_error(&mut snapshot, &access, Kind::Session).await?;
            let told = all.remove(&id.to_string()).map(|error| why(&error, snapshot.zone()));
            Some(told.unwrap_or_default())
        }
        false => None,
    };
    let may_amend = visit.may::<Training, Amend>();
    let day = session.entered.held_on;
    let (devices, in_hand) = match &glimpse {
        Some(glimpse) => (
            tell::devices(&mut snapshot, glimpse, std::slice::from_ref(&session)).await?,
            loan::in_hand_on(&mut snapshot, glimpse, day).await?,
        ),
        None => (tell::Devices::default(), Vec::new()),
    };
    let tasks = match &seeing {
        Some(seeing) => task::tasks_with_retired(&mut snapshot, seeing).await?,
        None => Vec::new(),
    };
    drop(snapshot);
    let used =
        in_hand.iter().filter(|device| device.named == session.entered.device).map(|device| device.kind).collect();
    // What was entered in error says nothing.
    let sentences: Vec<String> = session.entered.exercises.iter().filter(|_| !in_error).map(tell::sentence).collect();
    let counted = session.entered.exercises.iter().any(|exercise| exercise.tries.is_some());
    let told = session.entered.exercises.iter().filter(|_| !in_error);
    let counts: Vec<_> = told.filter_map(|exercise| exercise.right.zip(exercise.tries)).collect();
    let title = format!("Session of {}", words::date(day));
    let page = SessionPage {
        shell: shell_about(&context, &visit, title.clone()),
        back: visit.at("/training"),
        title,
        error,
        amended,
        amend: if may_amend && !in_error { visit.at(&format!("/training/{id}/amend")) } else { String::new() },
        mark: if may_amend { visit.at(&format!("/training/{id}/error")) } else { String::new() },
        stop: stop(&visit, &session),
        how: counted.then(|| tell::how_rates(&counts)),
        sentences,
        facts: facts(&session, &devices),
        exercises: session.entered.exercises.iter().map(|exercise| part_of(exercise, &tasks, &context)).collect(),
        next: if visit.may::<Training, Create>() {
            visit.at(&format!("/training/new?track={}", session.entered.track.code()))
        } else {
            String::new()
        },
        cautions: (session.entered.device != Named::NoDevice).then(|| heeded(&used, Occasion::Session)),
    };
    Ok(Page(page).into_response())
}

/// What to do now when a red flag came up.
fn stop(visit: &Visit, session: &Session) -> Option<Notice> {
    let first = session.entered.signs.first()?;
    let now = first.now().join(" ");
    let notice = part::notice("stop", "A red flag was ticked", &now);
    Some(if visit.may::<SafetyFlag, Create>() {
        notice.link(&visit.at("/safety"), "Raise the red flag, so that everybody knows and training pauses")
    } else {
        notice
    })
}

fn facts(session: &Session, devices: &tell::Devices) -> Facts {
    let entered = &session.entered;
    let felt: Vec<&str> = entered.symptoms.iter().map(|symptom| symptom.words()).collect();
    let signs: Vec<&str> = entered.signs.iter().map(|sign| sign.words()).collect();
    let refused = entered
        .refused
        .as_ref()
        .map(|reason| if reason.is_empty() { "yes".to_owned() } else { format!("yes: {reason}") });
    stated([
        ("Track", entered.track.words().to_owned()),
        ("Device", devices.words(entered.device)),
        ("Baseline probe", if entered.baseline { "yes, no teaching".to_owned() } else { String::new() }),
        ("Minutes", entered.minutes.to_string()),
        ("Place", entered.place.words().to_owned()),
        ("Light", entered.light.map_or("", |light| light.words()).to_owned()),
        ("Position", entered.body.words().to_owned()),
        ("Glasses", entered.glasses.map_or("", |glasses| glasses.words()).to_owned()),
        ("Comfort", entered.comfort.map_or("", |comfort| comfort.words()).to_owned()),
        ("Symptoms", felt.join(", ")),
        ("Red flags", signs.join("; ")),
        ("Refused", refused.unwrap_or_default()),
        ("Why a later skill came first", entered.order_reason.clone()),
        ("Note", entered.note.clone()),
        ("Entered by", session.by_name.clone()),
    ])
}

fn part_of(exercise: &NewExercise, tasks: &[VisualTask], context: &Context) -> ExercisePart {
    let task = tasks.iter().find(|task| Some(task.id) == exercise.task).map(|task| task.what.name.clone());
    let with_unit = |typed: &str, shown: String| if typed == shown { shown } else { format!("{typed} ({shown})") };
    let seconds = |value: Option<f64>| value.map(|value| format!("{value} s")).unwrap_or_default();
    let counted = |value: Option<u32>| value.map(|value| value.to_string()).unwrap_or_default();
    let distance =
        exercise.distance.as_ref().map(|typed| with_unit(&typed.typed, words::distance(typed.value, context)));
    let height = exercise.x_height.as_ref().map(|typed| with_unit(&typed.typed, words::height(typed.value, context)));
    let facts = part::facts::<&str, String>(&[])
        .fact("What was done", &exercise.item)
        .fact("Practises", &task.unwrap_or_default())
        .fact("Distance", &distance.unwrap_or_default())
        .fact("Small letters, tall", &height.unwrap_or_default())
        .fact("Tried", &counted(exercise.tries))
        .fact("Right", &counted(exercise.right))
        .fact("Median time", &seconds(exercise.median.map(Seconds::get)))
        .fact("Went on for", &seconds(exercise.shown.map(Seconds::get)))
        .fact("Of that, in view", &seconds(exercise.in_view.map(Seconds::get)))
        .fact("Lost", &counted(exercise.losses))
        .fact("Help", &format!("{}: {}", exercise.prompt.level(), exercise.prompt.words()))
        .fact("Times helped", &counted(exercise.prompt_count))
        .fact("Self-corrected", if exercise.self_corrected { "yes" } else { "" });
    ExercisePart { title: words::capital(exercise.skill.words()), facts }
}
