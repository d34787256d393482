//! The room plan of one task: from which seats it can be read, without a device
//! and with it.
//!
//! The judging is [`crate::care::room::plan`], seat by seat the question of the
//! task itself. Here is decided how it is told: the finding first, then the best
//! seats in words, then the drawing, then its table. A family reads plain words.
//! Read next: `drawn` for the drawing, `told` for the words.

mod drawn;
mod told;

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect, Response};

use super::error::{Error, Result};
use super::form::{Entry, Faults, FormView};
use super::guidance::{self, Known};
use super::options;
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::part::{self, Empty, How};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::action::{Edit, Read};
use crate::access::resource::{Guidance, VisualTasks};
use crate::access::{Access, Role};
use crate::care::caution::{self, Occasion};
use crate::care::ids::VisualTaskId;
use crate::care::room::plan::{self, NoPlan, Plan, Question};
use crate::care::sight::{AtHand, NoFigure};
use crate::care::task::{Seat, VisualTask};
use crate::care::track::Track;
use crate::store::{seat, task};
use drawn::RoomPicture;

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/tasks/{record}/room", page)
}

/// Where a task's plan is, if it is seen from a seat of a room.
pub(super) fn href(visit: &Visit, task: &VisualTask) -> Option<String> {
    has_seats(task).then(|| visit.at(&format!("/tasks/{}/room", task.id)))
}

/// Whether a row of seats belongs to this task.
fn has_seats(task: &VisualTask) -> bool {
    task.what.track == Track::Distance && task.what.seat.is_some() && task.what.own_distance.is_none()
}

#[derive(Template)]
#[template(path = "room/page.html")]
struct RoomPage {
    shell: Shell,
    back: String,
    name: String,
    room: String,
    verdict: Option<(&'static str, String, String)>,
    lines: Vec<String>,
    missing: Option<Empty>,
    best: Vec<String>,
    picture: Option<RoomPicture>,
    how: Option<How>,
    cautions: Vec<&'static str>,
    notes: Vec<String>,
    form: FormView,
    action: String,
    tasks: Vec<(String, String)>,
    devices: Vec<(String, String)>,
    options: String,
}

/// What a plan is told from.
pub(super) struct Asked<'a> {
    visit: &'a Visit,
    context: &'a Context,
    known: &'a Known,
    task: &'a VisualTask,
    room: Option<&'a Seat>,
    device: Option<&'a AtHand>,
}

/// The word for looking without any device.
const NO_DEVICE: &str = "none";

/// The devices a plan can be drawn for, with the code of each.
fn devices(known: &Known) -> Vec<(String, &AtHand)> {
    let far = known.sight.devices.iter().filter(|device| device.track == Track::Distance);
    far.zip(1..).map(|(device, number)| (number.to_string(), device)).collect()
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    _access: Access<Guidance, Read>,
    Record(id): Record<VisualTaskId>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let access = visit.open::<VisualTasks, Read>().await?;
    let known = guidance::known(&app, &visit, &access).await?.ok_or(Error::Hidden)?;
    let mut snapshot = app.store.snapshot().await?;
    let all = task::tasks(&mut snapshot, &access).await?;
    let seats = seat::seats(&mut snapshot, &access).await?;
    drop(snapshot);
    let found = all.iter().find(|task| task.id == id).ok_or(Error::Hidden)?;
    let offered = devices(&known);
    let asked = Entry::of_query(query.as_deref());
    let mut faults = Faults::default();
    let other = match asked.get("task") {
        "" => None,
        typed => match all.iter().find(|task| task.id.to_string() == typed) {
            Some(task) => Some(task).filter(|task| task.id != id),
            None => {
                faults.add("task", "Choose one of the tasks listed.");
                None
            }
        },
    };
    let device = match asked.get("device") {
        NO_DEVICE => None,
        "" => offered.first(),
        typed => {
            let found = offered.iter().find(|(code, _)| code == typed);
            if found.is_none() {
                faults.add("device", "Choose one of the devices listed.");
            }
            found
        }
    };
    if let Some(other) = other.filter(|_| faults.is_empty()) {
        let with = device.map_or(NO_DEVICE, |(code, _)| code);
        return Ok(Redirect::to(&visit.at(&format!("/tasks/{}/room?device={with}", other.id))).into_response());
    }
    let told = Asked {
        visit: &visit,
        context: &context,
        known: &known,
        task: found,
        room: seats.iter().find(|seat| Some(seat.id) == found.what.seat),
        device: device.map(|(_, device)| *device),
    };
    let mut page = told.page();
    let faulty = !faults.is_empty();
    page.form = FormView::filled(
        &context,
        match faulty {
            true => asked,
            false => {
                Entry::default().with("task", id.to_string()).with("device", device.map_or(NO_DEVICE, |(code, _)| code))
            }
        },
    );
    page.form.faults = faults;
    page.tasks = choices(&all, found);
    page.devices = offered.iter().map(|(code, device)| (code.clone(), words::capital(&known.named(device)))).collect();
    if !page.devices.is_empty() {
        page.devices.push((NO_DEVICE.to_owned(), "No device".to_owned()));
    }
    page.shell = page.shell.of_form(&page.form);
    Ok(if faulty { Again(page).into_response() } else { Page(page).into_response() })
}

/// The tasks that a plan can be drawn for, and the one that is shown.
fn choices(all: &[VisualTask], shown: &VisualTask) -> Vec<(String, String)> {
    all.iter()
        .filter(|task| has_seats(task) || task.id == shown.id)
        .map(|task| {
            let place = task.place();
            let at = if place.is_empty() { String::new() } else { format!(", {place}") };
            (task.id.to_string(), format!("{}{at}", task.what.name))
        })
        .collect()
}

impl Asked<'_> {
    fn question(&self) -> Question<'_> {
        Question {
            task: self.task,
            room: self.room,
            sight: &self.known.sight,
            device: self.device,
            goals: self.known.in_use.goals(),
            table: self.known.in_use.markers(),
        }
    }

    fn page(&self) -> RoomPage {
        let task = self.task;
        let mut page = RoomPage {
            shell: shell_about(self.context, self.visit, "Room plan"),
            back: self.visit.at("/tasks"),
            name: task.what.name.clone(),
            room: self.room.map_or(String::new(), |room| room.what.room.clone()),
            verdict: None,
            lines: Vec::new(),
            missing: None,
            best: Vec::new(),
            picture: None,
            how: None,
            cautions: Vec::new(),
            notes: self.known.notes(),
            form: FormView::filled(self.context, Entry::default()),
            action: self.visit.at(&format!("/tasks/{}/room", task.id)),
            tasks: Vec::new(),
            devices: Vec::new(),
            options: self.visit.at(&format!("/tasks/{}/options", task.id)),
        };
        match plan::of(&self.question()) {
            Ok(plan) => self.fill(&mut page, &plan),
            Err(why) => {
                // What is missing is said once, with who can add it.
                page.notes.retain(|_| why != NoPlan::Figure(NoFigure::NoEvaluation));
                page.missing = Some(self.missing(&why));
            }
        }
        page
    }

    fn fill(&self, page: &mut RoomPage, plan: &Plan) {
        page.verdict = Some(self.verdict(plan));
        page.lines = self.lines(plan);
        page.best = self.best(plan);
        page.how = Some(self.how(plan));
        page.cautions = self.device.map_or_else(Vec::new, |device| {
            caution::cautions(device.spec.kind, Occasion::Screen).iter().map(|one| one.words()).collect()
        });
        page.picture = Some(self.drawn(plan));
    }

    fn may_edit(&self) -> bool {
        self.visit.may::<VisualTasks, Edit>() && self.visit.role() == Some(Role::VisionTeacher)
    }

    /// What has to be there first, and the way to add it where this reader may.
    fn missing(&self, why: &NoPlan) -> Empty {
        let task = self.visit.at(&format!("/tasks/{}", self.task.id));
        match why {
            NoPlan::AtTheDesk => part::empty(
                "This is near: it lies on the desk or in the hand, wherever the seat is. A plan of the room says nothing of it.",
            ),
            NoPlan::NotFromASeat => {
                let empty = part::empty(
                    "This is looked at from a distance of its own, not from a seat of a room that is listed, so there are no rows to draw.",
                );
                if self.may_edit() { empty.action(&task, "Choose a seat for it") } else { empty }
            }
            NoPlan::Rows(missing) => {
                let wanted: Vec<&str> = missing.iter().map(|one| one.words()).collect();
                let room = self.room.map_or("", |room| room.what.room.as_str());
                let who = if self.may_edit() { "Enter" } else { "The vision teacher can enter" };
                let empty = part::empty(&format!(
                    "Where the seats of {room} stand is not known yet, and nothing is drawn from guesses. {who} {}.",
                    words::list(&wanted)
                ));
                match self.room.filter(|_| self.may_edit()) {
                    Some(room) => {
                        empty.action(&self.visit.at(&format!("/seats/{}", room.id)), "Enter the rows of seats")
                    }
                    None => empty,
                }
            }
            NoPlan::Figure(why) => options::Asked {
                visit: self.visit,
                context: self.context,
                known: self.known,
                task: self.task,
                seat: self.room,
                devices: &[],
                at_hand: &[],
                spotting: None,
            }
            .missing(*why),
        }
    }
}
