//! The evidence: what the pooled entries say, for whoever may read some of them.
//!
//! The arithmetic is [`crate::care::evidence`]. Computed on each view from what
//! this reader may read; what is left out is named. A family reads plain words,
//! a vision teacher and a clinician the figures with their intervals.
//!
//! | what | file |
//! |---|---|
//! | findings in words | `told.rs` |
//! | what each device gives, in words | `gains.rs` |
//! | the table of thresholds, how they came about | `table.rs` |
//! | what can be read from where, drawn | `reach.rs`, `axis.rs` |
//! | devices by tasks | `matrix.rs` |
//! | the entries behind a figure | `behind.rs` |
//! | what other pages show of it | `elsewhere.rs` |
//! | the line to recompute | `asked.rs` |
//!
//! `load` and `Track` serve every page that tells of the evidence.

mod asked;
mod axis;
mod behind;
mod elsewhere;
mod gains;
mod matrix;
mod reach;
mod table;
mod told;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::error::Result;
use super::page::{Context, Page, Shell, shell_about};
use super::part::{self, Empty, How, Table};
use super::progress::{self, Progress};
use super::routes::Routes;
use super::state::App;
use super::visit::Visit;
use super::{guidance, words};
use crate::access::action::{Create, Read};
use crate::access::resource::{
    ClassObservation, Evaluation, Guidance, HomeObservation, LoanGlimpse, Loans, Resource, Training, VisualTasks,
};
use crate::access::{Access, Role};
use crate::care::caution::{self, Occasion};
use crate::care::evidence::{Apart, Column, Contrast, Gain, Gathered, Known, Matrix, Overall, Question, Row, gather};
use crate::care::observation::Setting;
use crate::care::sight::Sight;
use crate::care::task::{Seat, VisualTask};
use crate::care::track;
use crate::store::evidence::{self as kept, Parts};
use crate::store::{seat, task};
pub(super) use elsewhere::{ForReview, for_review, picture};
use matrix::MatrixView;
pub(super) use reach::ReachPicture;

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/evidence", page).get("/students/{student}/evidence/entries", behind::page)
}

/// What this reader's evidence is computed from.
pub(super) struct Loaded {
    known: Known,
    sight: Sight,
    tasks: Vec<VisualTask>,
    seats: Vec<Seat>,
    /// Whether the reader gets plain words without clinical figures.
    plain: bool,
    /// What this reader may not read, in words.
    left_out: Vec<&'static str>,
    /// Whether an evaluation is kept from the reader.
    sight_kept_back: bool,
    /// Whether there is training that this reader may read.
    trained: bool,
}

/// Loads it, each part under its own proof.
pub(super) async fn load(app: &App, visit: &Visit, access: &Access<Guidance, Read>) -> Result<Loaded> {
    let there_is = kept::there_is(&mut app.store.snapshot().await?, access).await?;
    let next = [
        (there_is.class, ClassObservation::ROW),
        (there_is.home, HomeObservation::ROW),
        (there_is.training, Training::ROW),
        (there_is.devices, Loans::ROW),
        (true, VisualTasks::ROW),
    ];
    let next: Vec<_> = next.into_iter().filter_map(|(there, row)| there.then_some(row)).collect();
    visit.opens_next(&next).await?;
    let mut parts = Parts::default();
    if there_is.class {
        parts.class = visit.open_if().await?;
    }
    if there_is.home {
        parts.home = visit.open_if().await?;
    }
    if there_is.training {
        parts.training = visit.open_if().await?;
    }
    if there_is.devices {
        parts.loans = visit.open_if().await?;
    }
    let tasks_access = visit.open_if::<VisualTasks, Read>().await?;
    let seen = guidance::sight_of(app, visit, access).await?;
    let mut snapshot = app.store.snapshot().await?;
    let known = kept::known(&mut snapshot, &parts).await?;
    let (mut tasks, mut seats) = (Vec::new(), Vec::new());
    if let Some(access) = &tasks_access {
        tasks = task::tasks(&mut snapshot, access).await?;
        seats = seat::seats(&mut snapshot, access).await?;
    }
    Ok(Loaded {
        known,
        sight: seen.sight,
        tasks,
        seats,
        plain: access.limits().plain_words,
        left_out: left_out(visit),
        sight_kept_back: !seen.evaluations,
        trained: parts.training.is_some(),
    })
}

/// By kind, whether there is any of it or not: what exists is not told.
fn left_out(visit: &Visit) -> Vec<&'static str> {
    [
        (visit.may::<ClassObservation, Read>(), "what is seen in class"),
        (visit.may::<HomeObservation, Read>(), "what is seen at home and in the community"),
        (visit.may::<Training, Read>(), "exercises of the training"),
        (visit.may::<Loans, Read>(), "what the devices are"),
        (visit.may::<VisualTasks, Read>(), "what the student must see"),
        (visit.may::<Evaluation, Read>(), "the clinic\u{2019}s evaluation"),
    ]
    .into_iter()
    .filter_map(|(may, words)| (!may).then_some(words))
    .collect()
}

impl Loaded {
    fn question(&self, track: track::Track) -> Question<'_> {
        Question { track, known: &self.known, sight: &self.sight, tasks: &self.tasks, seats: &self.seats }
    }
}

/// One track of the evidence, computed for one reader.
pub(super) struct Track<'a> {
    visit: &'a Visit,
    context: &'a Context,
    loaded: &'a Loaded,
    gathered: Gathered,
    rows: Vec<Row>,
    gains: Vec<Gain>,
    overall: Vec<Overall>,
    apart: Vec<Apart>,
    matrix: Matrix,
}

impl<'a> Track<'a> {
    /// Computes it.
    pub(super) fn of(visit: &'a Visit, context: &'a Context, loaded: &'a Loaded, track: track::Track) -> Result<Self> {
        let question = loaded.question(track);
        let gathered = gather(&question);
        let broken = |fault: crate::vision::units::OutOfRange| super::error::Error::broken(&fault);
        Ok(Self {
            rows: gathered.rows().map_err(broken)?,
            gains: gathered.gains().map_err(broken)?,
            overall: gathered.overall().map_err(broken)?,
            apart: gathered.apart().map_err(broken)?,
            matrix: gathered.matrix(&question).map_err(broken)?,
            visit,
            context,
            loaded,
            gathered,
        })
    }

    /// Whether any entry of this track stands in a figure.
    pub(super) const fn is_seen(&self) -> bool {
        self.gathered.is_seen()
    }

    const fn plain(&self) -> bool {
        self.loaded.plain
    }

    fn column(&self, place: usize) -> Option<&Column> {
        self.gathered.columns.get(place)
    }

    /// Where the entries behind a threshold are listed.
    fn behind(&self, row: &Row) -> String {
        self.cell_at(row.column, Some(row.setting), row.contrast)
    }

    /// The same of a device in one setting, or in all of them.
    fn cell_at(&self, column: usize, setting: Option<Setting>, contrast: Contrast) -> String {
        let setting = setting.map_or(behind::ALL, Setting::code);
        self.entries_at(column, &format!("setting={setting}&contrast={}", contrast.code()))
    }

    /// The entries of a column that something else rests on.
    fn entries_at(&self, column: usize, which: &str) -> String {
        let device = self.column(column).and_then(Column::key).map_or("none".to_owned(), |key| key.to_string());
        let track = self.gathered.track.code();
        self.visit.at(&format!("/evidence/entries?track={track}&device={device}&{which}"))
    }

    fn cautions(&self) -> Vec<&'static str> {
        let mut told = Vec::new();
        for kind in self.gathered.columns.iter().filter_map(|column| Some(column.device.as_ref()?.spec.as_ref()?.kind))
        {
            for caution in caution::cautions(kind, Occasion::Screen) {
                if !told.contains(&caution.words()) {
                    told.push(caution.words());
                }
            }
        }
        told
    }
}

/// A finding: what it says, and where the entries behind it are.
struct FindingView {
    words: String,
    links: Vec<(String, String)>,
    more: Vec<String>,
}

/// Findings, those that cannot be told yet apart: what would be enough is an
/// answer, and not the first one that is looked for.
struct Findings {
    told: Vec<FindingView>,
    not_yet: Vec<FindingView>,
    /// What unfolds the others.
    summary: String,
}

impl Findings {
    /// Each with whether it is told.
    fn of(all: Vec<(bool, FindingView)>) -> Self {
        let (told, not_yet): (Vec<_>, Vec<_>) = all.into_iter().partition(|(told, _)| *told);
        let bare = |all: Vec<(bool, FindingView)>| all.into_iter().map(|(_, finding)| finding).collect();
        let summary = format!("Not enough yet, and what would be: {}", not_yet.len());
        Self { told: bare(told), not_yet: bare(not_yet), summary }
    }

    const fn is_empty(&self) -> bool {
        self.told.is_empty() && self.not_yet.is_empty()
    }
}

/// How the findings came about, for a family.
const WORKED_OUT: &[&str] = &[
    "Each note says how large the letters looked and how much was read. All notes without help are taken together: the more notes, days and sizes, the narrower the answer.",
    "What the clinic measured is where it starts from, and the notes move it. Notes with help, or where the device stayed away, are counted apart and never as a failure.",
];

/// One track as it is shown.
struct TrackView {
    id: &'static str,
    title: String,
    findings: Findings,
    picture: Option<ReachPicture>,
    thresholds: Table,
    gains_title: &'static str,
    gains: Findings,
    matrix: Option<MatrixView>,
    unsized_tasks: String,
    apart: Vec<FindingView>,
    asked_pairs: String,
    counted: String,
    left: Vec<(String, String)>,
    not_out: Option<(String, Table)>,
    how: Option<How>,
    worked_out: &'static [&'static str],
    cautions: Vec<&'static str>,
}

#[derive(Template)]
#[template(path = "evidence/page.html")]
struct EvidencePage {
    shell: Shell,
    lede: String,
    left_out: Option<part::Notice>,
    notes: Vec<String>,
    empty: Option<Empty>,
    tracks: Vec<TrackView>,
    progress: Vec<(String, Progress)>,
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Guidance, Read>,
) -> Result<Response> {
    let loaded = load(&app, &visit, &access).await?;
    let mut tracks = Vec::new();
    for track in track::Track::ALL {
        let told = Track::of(&visit, &context, &loaded, *track)?;
        if told.is_seen() || told.gathered.left.values().any(|left| !left.is_empty()) {
            tracks.push(told.view());
        }
    }
    let page = EvidencePage {
        shell: shell_about(&context, &visit, "Evidence"),
        lede: lede(&visit, &loaded),
        left_out: left_out_notice(&loaded),
        notes: notes(&loaded),
        empty: tracks.is_empty().then(|| nothing(&visit)),
        tracks,
        progress: progress_of(&app, &visit, &context, &loaded).await?,
    };
    Ok(Page(page).into_response())
}

/// The progress in training on each track, where this reader may read it.
async fn progress_of(app: &App, visit: &Visit, context: &Context, loaded: &Loaded) -> Result<Vec<(String, Progress)>> {
    let mut all = Vec::new();
    if !loaded.trained {
        return Ok(all);
    }
    let Some(access) = visit.open_if::<Training, Read>().await? else { return Ok(all) };
    let glimpse = visit.open_if::<LoanGlimpse, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    for track in track::Track::ALL {
        let found = progress::of(&mut snapshot, (&access, glimpse.as_ref()), (visit, context), *track).await?;
        if !found.is_empty() {
            all.push((format!("Progress in training, {} track", track.words()), found));
        }
    }
    Ok(all)
}

/// What these figures do without, named.
fn left_out_notice(loaded: &Loaded) -> Option<part::Notice> {
    if loaded.left_out.is_empty() {
        return None;
    }
    let body = format!(
        "These are left out, because no consent in force lets them reach you: {}. Whoever reads more may read other figures.",
        words::list(&loaded.left_out)
    );
    Some(part::notice("plain", "Not in these figures", &body))
}

fn lede(visit: &Visit, loaded: &Loaded) -> String {
    let name = visit.name();
    if loaded.plain {
        format!(
            "What the notes from school, home and training say together about what {name} can see, and how sure that is."
        )
    } else {
        format!("What all entries about {name} say together, with and without each device, and how sure that is.")
    }
}

fn notes(loaded: &Loaded) -> Vec<String> {
    let mut notes = Vec::new();
    if loaded.sight_kept_back {
        notes.push(
            "No evaluation has reached you, so nothing is assumed from the clinic before the entries.".to_owned(),
        );
    } else if loaded.sight.evaluations.is_empty() {
        notes.push(
            "No signed evaluation is on file yet, so nothing is assumed from the clinic before the entries.".to_owned(),
        );
    }
    if loaded.sight.unconfirmed() {
        notes.push("What is assumed from the clinic rests on a report copied from paper: transcribed, not confirmed by a clinician yet.".to_owned());
    }
    notes
}

/// What to note first.
fn nothing(visit: &Visit) -> Empty {
    let words = "There is nothing to pool yet. An entry counts here when it says what was looked at, from how far, how tall \
                 the small letters were, how much was right, and that it took no help. Note one with large letters and one \
                 with letters that are often missed, on two different days.";
    let empty = part::empty(words);
    let may_add = visit.may::<ClassObservation, Create>() || visit.may::<HomeObservation, Create>();
    if may_add { empty.action(&visit.at("/observations/new"), "Add the first entry") } else { empty }
}

/// Whether a reader gets the figures, not only words.
fn is_specialist(role: Option<Role>) -> bool {
    matches!(role, Some(Role::VisionTeacher | Role::Clinician))
}
