//! The intake: six steps that save as they go, and the page that reads them.
//!
//! A step can be left and taken up again. Two people on the same step: the
//! second is shown both texts. Once an evaluation is requested the intake is
//! released; a change then asks for its reason and keeps what stood before.

mod eyes;
mod saving;
mod steps;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::error::{Error, Result};
use super::form::{FormView, Posted};
use super::identity::{self, Lists};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Word;
use super::part::{Steps, steps};
use super::people::{self, Directions};
use super::routes::Routes;
use super::state::App;
use super::task as task_pages;
use super::task::form::TaskLists;
use super::task::seat_form::SeatLists;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::{Create, Edit, Read};
use crate::access::resource::{Consents, Identity, Intake, Resource, Team, VisualTasks};
use crate::care::intake::{self as care, Step};
use crate::care::student::Student;
use crate::store::{Audit, intake, student, task};
use saving::{fingerprint, plan_entry, save_eyes, save_plan};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes
        .get("/students/{student}/intake", page)
        .get("/students/{student}/intake/{word}", step_page)
        .post("/students/{student}/intake/{word}", save)
        .post("/students/{student}/intake/{word}/seats", add_seat)
        .post("/students/{student}/intake/{word}/done", finish)
}

/// What every step's page has: where it stands among the steps.
struct Frame {
    steps: Steps,
    /// Whether the intake is released, so that a change asks for its reason.
    released: bool,
    /// Where a step is marked as finished.
    done_action: String,
    /// The next step in words.
    next: &'static str,
}

/// Something entered on a step: its name, its facts, and where it is changed.
type Listed = (String, Vec<(String, String)>, String);

/// A step as it is read: its name, its facts, and where it is changed.
type Section = (&'static str, Vec<(String, String)>, Option<String>);

#[derive(Template)]
#[template(path = "intake/student.html")]
struct StudentStep {
    shell: Shell,
    frame: Frame,
    form: FormView,
    lists: Lists,
    action: String,
}

#[derive(Template)]
#[template(path = "intake/eyes.html")]
struct EyesStep {
    shell: Shell,
    frame: Frame,
    form: FormView,
    lists: eyes::EyesLists,
    old_report: bool,
    action: String,
}

#[derive(Template)]
#[template(path = "intake/tasks.html")]
struct TasksStep {
    shell: Shell,
    frame: Frame,
    form: FormView,
    lists: TaskLists,
    listed: Vec<Listed>,
    action: String,
}

#[derive(Template)]
#[template(path = "intake/school.html")]
struct SchoolStep {
    shell: Shell,
    frame: Frame,
    form: FormView,
    seat: SeatForm,
    plans: Vec<(&'static str, String)>,
    periods: Vec<(&'static str, String)>,
    listed: Vec<Listed>,
    action: String,
}

/// The second form of the school step, in a template of its own so that its
/// fields can be called `form` there, too.
#[derive(Template)]
#[template(path = "intake/seat.html")]
struct SeatForm {
    form: FormView,
    lists: SeatLists,
    action: String,
}

impl askama::filters::HtmlSafe for SeatForm {}

#[derive(Template)]
#[template(path = "intake/people.html")]
struct PeopleStep {
    shell: Shell,
    frame: Frame,
    form: FormView,
    lists: people::InviteLists,
    members: Vec<String>,
    invited: Vec<String>,
    action: String,
}

#[derive(Template)]
#[template(path = "intake/consent.html")]
struct ConsentStep {
    shell: Shell,
    frame: Frame,
    form: FormView,
    directions: Vec<people::DirectionLine>,
    people: String,
}

#[derive(Template)]
#[template(path = "intake/page.html")]
struct IntakePage {
    shell: Shell,
    /// Only for one who may change it.
    steps: Option<Steps>,
    state: String,
    old_report: bool,
    sections: Vec<Section>,
    amendments: Vec<(String, String)>,
    request: Option<String>,
}

fn address(visit: &Visit, step: Step) -> String {
    visit.at(&format!("/intake/{}", step.code()))
}

fn after(step: Step) -> Option<Step> {
    let place = Step::ALL.iter().position(|one| *one == step)?;
    Step::ALL.get(place + 1).copied()
}

/// An intake as the pages of its steps need it: what it says, and what the
/// records that its other steps lead to hold by now.
struct Known {
    intake: care::Intake,
    /// Whether at least one task is listed.
    tasks: bool,
    /// Whether both directions of consent are in force.
    consented: bool,
    /// Who is waited for, when not.
    waiting: String,
}

impl std::ops::Deref for Known {
    type Target = care::Intake;

    fn deref(&self) -> &care::Intake {
        &self.intake
    }
}

fn progress(visit: &Visit, known: &Known, now: Option<Step>) -> Steps {
    Step::ALL.iter().fold(steps(), |list, step| {
        let words = words::capital(step.words());
        let done = match step {
            // The record itself was opened by the first step.
            Step::Student => true,
            // What is there counts, not that somebody passed by.
            Step::Tasks => known.tasks,
            Step::Consent => known.consented,
            Step::Eyes | Step::School | Step::People => known.done.contains(step),
        };
        let list = if Some(*step) == now {
            list.now(&words)
        } else if done {
            list.done(&words)
        } else if *step == Step::Consent && known.done.contains(step) {
            list.waiting(&words).note(&known.waiting)
        } else {
            list.later(&words)
        };
        list.to(&address(visit, *step))
    })
}

fn frame(visit: &Visit, known: &Known, step: Step) -> Frame {
    Frame {
        steps: progress(visit, known, Some(step)),
        released: known.released_at.is_some(),
        done_action: format!("{}/done", address(visit, step)),
        next: after(step).map_or("the whole intake", Step::words),
    }
}

async fn known(app: &App, context: &Context, visit: &Visit, access: &Access<Intake, Edit>) -> Result<Known> {
    let mut snapshot = app.store.snapshot().await?;
    let intake = intake::of(&mut snapshot, access).await?.ok_or(Error::Hidden)?;
    drop(snapshot);
    known_of(app, context, visit, intake).await
}

async fn known_of(app: &App, context: &Context, visit: &Visit, intake: care::Intake) -> Result<Known> {
    let tasks = visit.open::<VisualTasks, Read>().await?;
    let consents = visit.open::<Consents, Read>().await?;
    let team = visit.open::<Team, Read>().await?;
    let team = people::team(app, &team).await?;
    let directions = Directions::of(app, &consents, &team, &context.site).await?;
    let mut snapshot = app.store.snapshot().await?;
    Ok(Known {
        intake,
        tasks: !task::tasks(&mut snapshot, &tasks).await?.is_empty(),
        consented: directions.both_in_force(),
        waiting: directions.waiting(),
    })
}

async fn step_page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Intake, Edit>,
    Word(step): Word<Step>,
) -> Result<Response> {
    let known = known(&app, &context, &visit, &access).await?;
    match step {
        Step::Student => {
            let access = visit.open::<Identity, Edit>().await?;
            let mut snapshot = app.store.snapshot().await?;
            let student = student::identity(&mut snapshot, &access).await?;
            let form = FormView::filled(&context, identity::entry_of(&student)).at_version(student.version);
            Ok(Page(steps::student(&context, &visit, &known, &student, form)).into_response())
        }
        Step::Eyes => {
            let entry = eyes::entry_of(&known.eyes).with("was", fingerprint(&known.eyes.told()));
            let page = steps::eyes(&app, &context, &visit, &known, FormView::filled(&context, entry));
            Ok(Page(page).into_response())
        }
        Step::Tasks => {
            let page = steps::tasks(&app, &context, &visit, &known, FormView::blank(&context)).await?;
            Ok(Page(page).into_response())
        }
        Step::School => {
            let form = FormView::filled(&context, plan_entry(&known.plan));
            let seat = FormView::blank(&context);
            Ok(Page(steps::school(&app, &context, &visit, &known, form, seat).await?).into_response())
        }
        Step::People => Ok(Page(steps::people(&app, &context, &visit, &known).await?).into_response()),
        Step::Consent => Ok(Page(steps::consent(&app, &context, &visit, &known).await?).into_response()),
    }
}

async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Intake, Edit>,
    Word(step): Word<Step>,
    posted: Posted,
) -> Result<Response> {
    let now = known(&app, &context, &visit, &access).await?;
    let next = after(step).map_or_else(|| visit.at("/intake"), |next| address(&visit, next));
    match step {
        Step::Student => {
            let identity = visit.open::<Identity, Edit>().await?;
            match identity::save(&app, &visit, &identity, &posted, &next).await? {
                Ok(response) => Ok(response),
                Err(faults) => {
                    let form = FormView::again(&context, &posted, faults);
                    let student = student::identity(&mut app.store.snapshot().await?, &identity).await?;
                    Ok(Again(steps::student(&context, &visit, &now, &student, form)).into_response())
                }
            }
        }
        Step::Eyes => match save_eyes(&app, &visit, &access, &posted, &next).await? {
            Ok(response) => Ok(response),
            Err(faults) => {
                let form = FormView::again(&context, &posted, faults);
                Ok(Again(steps::eyes(&app, &context, &visit, &now, form)).into_response())
            }
        },
        Step::Tasks => {
            let creating = visit.open::<VisualTasks, Create>().await?;
            let here = address(&visit, Step::Tasks);
            match task_pages::save_new(&app, &visit, &creating, &posted, &here).await? {
                Ok(response) => Ok(response),
                Err((faults, _)) => {
                    let form = FormView::again(&context, &posted, faults);
                    Ok(Again(steps::tasks(&app, &context, &visit, &now, form).await?).into_response())
                }
            }
        }
        Step::School => match save_plan(&app, &visit, &access, &posted).await? {
            Ok(response) => Ok(response),
            Err(faults) => {
                let form = FormView::again(&context, &posted, faults);
                let seat = FormView::blank(&context);
                Ok(Again(steps::school(&app, &context, &visit, &now, form, seat).await?).into_response())
            }
        },
        // These two steps have nothing of their own to save.
        Step::People | Step::Consent => Err(Error::Hidden),
    }
}

async fn add_seat(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Intake, Edit>,
    Word(step): Word<Step>,
    posted: Posted,
) -> Result<Response> {
    if step != Step::School {
        return Err(Error::Hidden);
    }
    let creating = visit.open::<VisualTasks, Create>().await?;
    let here = address(&visit, Step::School);
    match task_pages::seats::save_new(&app, &creating, &posted, &here).await? {
        Ok(response) => Ok(response),
        Err(faults) => {
            let now = known(&app, &context, &visit, &access).await?;
            let form = FormView::filled(&context, plan_entry(&now.plan));
            let seat = FormView::again(&context, &posted, faults);
            Ok(Again(steps::school(&app, &context, &visit, &now, form, seat).await?).into_response())
        }
    }
}

async fn finish(
    State(app): State<App>,
    visit: Visit,
    access: Access<Intake, Edit>,
    Word(step): Word<Step>,
    posted: Posted,
) -> Result<Response> {
    let next = after(step).map_or_else(|| visit.at("/intake"), |next| address(&visit, next));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    intake::finish(&mut tx, &access, step).await?;
    tx.commit_at(Audit::by(&access).record(access.student()).doing("finish step"), &next).await?;
    Ok(Redirect::to(&next).into_response())
}

fn owned(told: Vec<(&'static str, String)>) -> Vec<(String, String)> {
    told.into_iter().filter(|(_, value)| !value.is_empty()).map(|(label, value)| (label.to_owned(), value)).collect()
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Intake, Read>,
) -> Result<Response> {
    visit.opens_next(&[Identity::ROW, VisualTasks::ROW]).await?;
    let identity = visit.open_if::<Identity, Read>().await?;
    let tasks_access = visit.open_if::<VisualTasks, Read>().await?;
    let may_edit = visit.may::<Intake, Edit>();
    let mut snapshot = app.store.snapshot().await?;
    let (zone, today) = (snapshot.zone().clone(), snapshot.today());
    let known = intake::of(&mut snapshot, &access).await?;
    let link = |step| may_edit.then(|| address(&visit, step));
    let mut sections = Vec::new();
    let mut amendments = Vec::new();
    if let Some(known) = &known {
        if let Some(identity) = &identity {
            let student = student::identity(&mut snapshot, identity).await?;
            sections.push(("Student", student_facts(&student, today), link(Step::Student)));
        }
        sections.push(("Eyes and glasses as known", owned(known.eyes.told()), link(Step::Eyes)));
        if let Some(tasks_access) = &tasks_access {
            let tasks = task::tasks(&mut snapshot, tasks_access).await?;
            let facts = tasks.iter().map(|task| (words::capital(task.what.code.words()), task.what.name.clone()));
            sections.push(("What the student must see", facts.collect(), link(Step::Tasks)));
        }
        sections.push(("School", owned(known.plan.told()), link(Step::School)));
        amendments = intake::amendments(&mut snapshot, &access)
            .await?
            .into_iter()
            .map(|one| {
                let before = if one.before.is_empty() { "nothing" } else { &one.before };
                let after = if one.after.is_empty() { "nothing" } else { &one.after };
                (
                    format!("{}, {} by {}", one.field, words::instant(one.at, &zone), one.by),
                    format!("Before: {before}. Now: {after}. Why: {}", one.reason),
                )
            })
            .collect();
    }
    let state = match &known {
        None => "The vision teacher has not released the intake yet. It is released when an evaluation is requested."
            .to_owned(),
        Some(known) => match known.released_at {
            Some(at) => format!(
                "Released on {}. Last change {}, by {}.",
                words::instant(at, &zone),
                words::instant(known.changed_at, &zone),
                known.changed_by
            ),
            None => format!(
                "Not released yet: requesting an evaluation releases it. Last change {}, by {}.",
                words::instant(known.changed_at, &zone),
                known.changed_by
            ),
        },
    };
    drop(snapshot);
    let steps = match &known {
        Some(known) if may_edit => {
            Some(progress(&visit, &known_of(&app, &context, &visit, known.clone()).await?, None))
        }
        _ => None,
    };
    let unreleased = known.as_ref().is_some_and(|known| known.released_at.is_none());
    Ok(Page(IntakePage {
        shell: shell_about(&context, &visit, "Intake"),
        steps,
        state,
        old_report: known.as_ref().is_some_and(|known| known.eyes.report_is_old(today)),
        sections,
        amendments,
        request: (may_edit && unreleased).then(|| visit.at("/evaluations")),
    })
    .into_response())
}

fn student_facts(student: &Student, today: jiff::civil::Date) -> Vec<(String, String)> {
    let born = format!("{}, {} years old", words::date(student.birth_date), student.age_on(today));
    let interpreter = if student.interpreter { "needed" } else { "not needed" };
    [
        ("Name", student.name.clone()),
        ("Called", student.preferred_name.clone()),
        ("Student number", student.number.clone()),
        ("Born", born),
        ("School", student.school.clone()),
        ("Grade", identity::grade_words(&student.grade)),
        ("Languages at home", student.languages.clone()),
        ("Interpreter", interpreter.to_owned()),
        ("Reads best in", student.print_format.clone()),
    ]
    .into_iter()
    .filter(|(_, value)| !value.is_empty())
    .map(|(label, value)| (label.to_owned(), value))
    .collect()
}
