//! What would let this student do one task: single changes, pairs of changes,
//! and what each costs.
//!
//! The search is [`crate::care::options`]; here is decided who is shown what.
//! A family reads plain words, a vision teacher and a clinician the figures; the
//! power that would be needed is computed for a clinician's page only. Read
//! next: `told` for the words of one way.

pub(in crate::web) mod asked;
mod missing;
pub(in crate::web) mod pool;
mod told;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::error::{Error, Result};
use super::guidance::{self, Known, SeenLine};
use super::page::{Context, Page, Shell, shell_about};
use super::params::Record;
use super::part::{Empty, Figure, How};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::access::action::{Edit, Read};
use crate::access::resource::{Guidance, Thread, Training, VisualTasks};
use crate::access::{Access, Role};
use crate::care::caution::{self, Occasion};
use crate::care::gates::Named;
use crate::care::ids::VisualTaskId;
use crate::care::options::{self, Now, Options, Prescriber, Question, Way, What};
use crate::care::sight::{AtHand, NoFigure};
use crate::care::task::{Seat, VisualTask};
use crate::care::through::{self, OwnTimes};
use crate::care::track::{DeviceKind, Track};
use crate::care::training::Session;
use crate::store::{seat, task, training};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/tasks/{record}/options", page)
}

/// Pairs shown before the rest is folded away.
const FIRST_PAIRS: usize = 6;

/// One way, finished for the page.
pub(super) struct WayShown {
    title: String,
    reason: String,
    figures: Vec<Figure>,
    lines: Vec<String>,
    how: How,
}

#[derive(Template)]
#[template(path = "options/page.html")]
struct OptionsPage {
    shell: Shell,
    back: String,
    name: String,
    facts: Vec<(String, String)>,
    notes: Vec<String>,
    cautions: Vec<&'static str>,
    now: Vec<SeenLine>,
    now_how: Vec<How>,
    missing: Option<Empty>,
    verdict: Option<(&'static str, &'static str, String)>,
    singles: Vec<WayShown>,
    pairs: Vec<WayShown>,
    more_pairs: Vec<WayShown>,
    searched: bool,
    left_out: Vec<(String, String)>,
    power: Option<Power>,
    assumed: Vec<String>,
}

/// What is said about another power.
enum Power {
    /// To a clinician, with its figure.
    Figure(Figure, Box<How>),
    /// To everyone else, and where no figure can be had.
    Words(String, Option<String>),
}

/// What the page of one task is made from.
pub(super) struct Asked<'a> {
    pub(super) visit: &'a Visit,
    pub(super) context: &'a Context,
    pub(super) known: &'a Known,
    pub(super) task: &'a VisualTask,
    pub(super) seat: Option<&'a Seat>,
    pub(super) devices: &'a [pool::Candidate],
    pub(super) at_hand: &'a [AtHand],
    /// How long one look takes this student, where enough exercises were timed.
    pub(super) spotting: Option<OwnTimes>,
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access_to_figures: Access<Guidance, Read>,
    Record(id): Record<VisualTaskId>,
) -> Result<Response> {
    let access = visit.open::<VisualTasks, Read>().await?;
    let known = guidance::known(&app, &visit, &access).await?.ok_or(Error::Hidden)?;
    let mut snapshot = app.store.snapshot().await?;
    let found = task::task_of(&mut snapshot, &access, id).await?;
    if found.retired {
        return Err(Error::Hidden);
    }
    let seats = seat::seats(&mut snapshot, &access).await?;
    let devices = pool::candidates(&mut snapshot, &visit, &known, found.what.track).await?;
    let timed = found.what.track == Track::Distance
        && !devices.is_empty()
        && training::spotting_was_timed(&mut snapshot, &access_to_figures).await?;
    drop(snapshot);
    let spotting = if timed { spotting(&app, &visit).await? } else { None };
    let seat = seats.iter().find(|seat| Some(seat.id) == found.what.seat);
    let at_hand: Vec<AtHand> = devices.iter().map(|device| device.device.clone()).collect();
    let asked = Asked {
        visit: &visit,
        context: &context,
        known: &known,
        task: &found,
        seat,
        devices: &devices,
        at_hand: &at_hand,
        spotting,
    };
    Ok(Page(asked.page()).into_response())
}

/// How long one look takes this student through a device, as far as this reader
/// may read it: the rule of [`through::own_times`], over every device.
async fn spotting(app: &App, visit: &Visit) -> Result<Option<OwnTimes>> {
    let Some(access) = visit.open_if::<Training, Read>().await? else { return Ok(None) };
    let sessions = training::list(&mut app.store.snapshot().await?, &access).await?;
    let with_a_device =
        |session: &Session| session.entered.track == Track::Distance && session.entered.device != Named::NoDevice;
    Ok(through::own_times(&sessions, with_a_device).ok())
}

impl Asked<'_> {
    /// Given for those who prescribe: the eye and the glasses of the first
    /// device that is recommended now.
    pub(super) fn prescriber(&self) -> Option<Prescriber> {
        let recommended = self
            .visit
            .tracks()
            .iter()
            .filter(|shown| shown.journey.track == self.task.what.track)
            .find_map(|shown| shown.journey.recommendation.as_ref()?.devices.first());
        self.for_a_clinician().then(|| Prescriber {
            eye: recommended.and_then(|device| device.eye),
            glasses: recommended.and_then(|device| device.with_glasses),
        })
    }

    fn question(&self) -> Question<'_> {
        Question {
            task: self.task,
            seat: self.seat,
            sight: &self.known.sight,
            devices: self.at_hand,
            goals: self.known.in_use.goals(),
            table: self.known.in_use.markers(),
            units: words::units(self.context),
            look: self.spotting.map(|own| own.median),
            prescriber: self.prescriber(),
        }
    }

    fn page(&self) -> OptionsPage {
        let found = options::of(&self.question());
        let seen = self.known.task(self.task, self.seat, self.context);
        let mut page = OptionsPage {
            shell: shell_about(self.context, self.visit, "Options for a task"),
            back: self.visit.at("/tasks"),
            name: self.task.what.name.clone(),
            facts: super::task::facts_of(self.task, self.context),
            notes: self.known.notes(),
            cautions: Vec::new(),
            now: seen.lines,
            now_how: seen.how,
            missing: None,
            verdict: None,
            singles: Vec::new(),
            pairs: Vec::new(),
            more_pairs: Vec::new(),
            searched: false,
            left_out: Vec::new(),
            power: None,
            assumed: Vec::new(),
        };
        match found {
            Err(why) => {
                page.missing = Some(self.missing(why));
                // What is missing is said once, with who can add it.
                page.now.clear();
                page.now_how.clear();
                page.notes.retain(|_| why != NoFigure::NoEvaluation);
            }
            Ok(options) => self.fill(&mut page, &options),
        }
        page
    }

    fn fill(&self, page: &mut OptionsPage, options: &Options) {
        page.verdict = Some(self.verdict(options));
        let show = |ways: &[Way]| ways.iter().map(|way| self.way(way, options)).collect::<Vec<_>>();
        page.singles = show(&options.singles);
        page.pairs = show(&options.pairs);
        page.more_pairs = page.pairs.split_off(page.pairs.len().min(FIRST_PAIRS));
        page.searched = matches!(options.now, Now::Short(_));
        page.left_out = options.left_out.iter().map(|left| self.left_out(left)).collect();
        page.cautions = self.cautions(options);
        page.assumed = self.assumed(options);
        if matches!(options.now, Now::Short(_)) {
            page.power = Some(self.power());
        }
    }

    /// The cautions of the devices that this page speaks of.
    fn cautions(&self, options: &Options) -> Vec<&'static str> {
        let ways = options.singles.iter().chain(&options.pairs).filter_map(|way| way.view.as_ref());
        let left = options.left_out.iter().filter_map(|left| match left.what {
            What::Device(index) => Some(index),
            _ => None,
        });
        let of_track = self.at_hand.iter().filter(|device| device.track == self.task.what.track);
        let mut kinds: Vec<DeviceKind> = ways
            .filter_map(|view| view.device)
            .chain(left)
            .filter_map(|index| self.at_hand.get(index))
            .chain(of_track)
            .map(|device| device.spec.kind)
            .collect();
        // A power that nobody has here is held to the same rules.
        if self.for_a_clinician() {
            kinds.push(if self.near() { DeviceKind::HandMagnifier } else { DeviceKind::HandheldMonocular });
        }
        kinds.dedup();
        let mut cautions = Vec::new();
        for caution in kinds.into_iter().flat_map(|kind| caution::cautions(kind, Occasion::Screen)) {
            if !cautions.contains(&caution.words()) {
                cautions.push(caution.words());
            }
        }
        cautions
    }

    /// What is said about another power: a figure for one who prescribes, and a
    /// question to ask for everybody else.
    fn power(&self) -> Power {
        if let Some(prescriber) = self.prescriber() {
            return self.power_for_a_clinician(prescriber);
        }
        let who = if self.known.plain { "A stronger or weaker device" } else { "Another power" };
        Power::Words(
            format!("{who} is a question for the clinician."),
            self.visit.may::<Thread, crate::access::action::Create>().then(|| self.visit.at("/thread")),
        )
    }

    fn may_edit(&self) -> bool {
        self.visit.may::<VisualTasks, Edit>() && self.visit.role() == Some(Role::VisionTeacher)
    }

    fn near(&self) -> bool {
        self.task.what.track == Track::Near
    }
}
