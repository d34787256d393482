//! The six steps of an intake as they are shown, each with its form and what is
//! entered so far.

use super::super::form::FormView;
use super::super::identity::Lists;
use super::super::page::{Context, shell_about};
use super::super::people::{self, Directions};
use super::super::state::App;
use super::super::task as task_pages;
use super::super::task::seat_form::SeatLists;
use super::super::visit::Visit;
use super::super::words;
use super::{
    ConsentStep, EyesStep, Known, PeopleStep, SchoolStep, SeatForm, StudentStep, TasksStep, address, eyes, frame,
};
use crate::access::action::Read;
use crate::access::resource::{Consents, Team, VisualTasks};
use crate::care::intake::{Period, PlanType, Step};
use crate::care::student::Student;
use crate::store::{seat, task};
use crate::web::error::Result;

pub(super) fn student(
    context: &Context,
    visit: &Visit,
    known: &Known,
    student: &Student,
    form: FormView,
) -> StudentStep {
    StudentStep {
        shell: shell_about(context, visit, "Intake: student").of_form(&form),
        frame: frame(visit, known, Step::Student),
        form,
        lists: Lists::new(&student.print_format),
        action: address(visit, Step::Student),
    }
}

pub(super) fn eyes(app: &App, context: &Context, visit: &Visit, known: &Known, form: FormView) -> EyesStep {
    EyesStep {
        shell: shell_about(context, visit, "Intake: eyes and glasses").of_form(&form),
        frame: frame(visit, known, Step::Eyes),
        form,
        lists: eyes::EyesLists::new(),
        old_report: known.eyes.report_is_old(app.store.clock().today()),
        action: address(visit, Step::Eyes),
    }
}

pub(super) async fn tasks(
    app: &App,
    context: &Context,
    visit: &Visit,
    known: &Known,
    form: FormView,
) -> Result<TasksStep> {
    let access = visit.open::<VisualTasks, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let tasks = task::tasks(&mut snapshot, &access).await?;
    drop(snapshot);
    Ok(TasksStep {
        shell: shell_about(context, visit, "Intake: what to see").of_form(&form),
        frame: frame(visit, known, Step::Tasks),
        lists: task_pages::lists_for(app, visit, &form.entry, context.imperial()).await?,
        listed: tasks
            .iter()
            .map(|task| {
                let to = visit.at(&format!("/tasks/{}", task.id));
                (task.what.name.clone(), task_pages::facts_of(task, context), to)
            })
            .collect(),
        form,
        action: address(visit, Step::Tasks),
    })
}

pub(super) async fn school(
    app: &App,
    context: &Context,
    visit: &Visit,
    known: &Known,
    form: FormView,
    seat: FormView,
) -> Result<SchoolStep> {
    let access = visit.open::<VisualTasks, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let seats = seat::seats(&mut snapshot, &access).await?;
    drop(snapshot);
    let mut shell = shell_about(context, visit, "Intake: school and seats");
    shell.has_faults = !form.faults.is_empty() || !seat.faults.is_empty();
    Ok(SchoolStep {
        shell,
        frame: frame(visit, known, Step::School),
        form,
        seat: SeatForm {
            lists: SeatLists::new(&seat, context.imperial()),
            form: seat,
            action: format!("{}/seats", address(visit, Step::School)),
        },
        plans: words::options!(PlanType),
        periods: words::options!(Period),
        listed: seats
            .iter()
            .map(|seat| {
                let to = visit.at(&format!("/seats/{}", seat.id));
                (seat.what.room.clone(), task_pages::seats::facts_of(seat, context), to)
            })
            .collect(),
        action: address(visit, Step::School),
    })
}

pub(super) async fn people(app: &App, context: &Context, visit: &Visit, known: &Known) -> Result<PeopleStep> {
    let access = visit.open::<Team, Read>().await?;
    let team = people::team(app, &access).await?;
    Ok(PeopleStep {
        shell: shell_about(context, visit, "Intake: people"),
        frame: frame(visit, known, Step::People),
        form: FormView::blank(context),
        lists: people::InviteLists::new(),
        members: team.member_lines(),
        invited: team.open_invitations(app.store.clock().now()),
        action: visit.at("/people/invitations"),
    })
}

pub(super) async fn consent(app: &App, context: &Context, visit: &Visit, known: &Known) -> Result<ConsentStep> {
    let access = visit.open::<Consents, Read>().await?;
    let team = visit.open::<Team, Read>().await?;
    let team = people::team(app, &team).await?;
    let directions = Directions::of(app, &access, &team, &context.site).await?;
    Ok(ConsentStep {
        shell: shell_about(context, visit, "Intake: consent"),
        frame: frame(visit, known, Step::Consent),
        form: FormView::blank(context),
        directions: directions.lines(visit),
        people: visit.at("/people"),
    })
}
