//! Reading goals of one student: what counts, on whose word, and the form by
//! which the vision teacher sets what was measured.
//!
//! Also the words by which every figure names the origin of its reserve. Which
//! reserve counts is [`crate::store::goal`].

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use super::super::amend;
use super::super::check::{Check, SHORT_TEXT};
use super::super::error::{Both, Error, Result};
use super::super::form::{Entry, Faults, FormView, Posted};
use super::super::page::{Again, Context};
use super::super::part::Amended;
use super::super::routes::Routes;
use super::super::stale;
use super::super::state::App;
use super::super::visit::Visit;
use super::super::words;
use super::both;
use crate::access::action::{Edit, Read};
use crate::access::resource::VisualTasks;
use crate::access::{Access, Role};
use crate::care::amendment::Subject;
use crate::care::goal::{InUse, Origin, size_told};
use crate::care::task::Goal as TaskGoal;
use crate::care::typed::Typed;
use crate::store::goal::{self, Set, Wanted};
use crate::store::{Audit, Snapshot, StoreError, amendment};
use crate::vision::readable::Goal;
use crate::vision::units::Ratio;

/// Acuity reserves that make sense: children with low vision needed 2.5 to 7
/// times (Lovie-Kitchin, Bevan and Hein 2001, abstract seen); the ends of the
/// range are common practice.
pub(in crate::web) const ACUITY: std::ops::RangeInclusive<f64> = 1.0..=10.0;
/// What a reserve is counted in.
pub(in crate::web) const ACUITY_UNIT: &str = "times the threshold size";

/// The routes of this part.
pub(in crate::web) fn routes(routes: Routes) -> Routes {
    routes.post("/students/{student}/tasks/goals", save)
}

/// On whose word a figure stands, in words.
pub(in crate::web) fn said(origin: &Origin) -> String {
    match origin {
        Origin::CommonPractice => "default, common practice".to_owned(),
        Origin::Site => "site's setting".to_owned(),
        Origin::Student { by, on, source } => {
            format!("goal of this student, set by {by} on {}: {source}", words::date(*on))
        }
    }
}

/// The acuity reserve of a goal with its origin.
pub(in crate::web) fn size_needed(in_use: &InUse, goal: Goal) -> String {
    let reserve = size_told(in_use.goals().needed(goal).acuity);
    format!("{reserve} times the threshold size ({})", said(&in_use.acuity_origin(goal)))
}

/// The same as a ratio.
pub(in crate::web) fn ratio_needed(in_use: &InUse, goal: Goal) -> String {
    format!("{}:1 ({})", in_use.goals().needed(goal).acuity.get(), said(&in_use.acuity_origin(goal)))
}

/// Both reserves of a goal with their origin.
pub(in crate::web) fn needed(in_use: &InUse, goal: Goal) -> String {
    let reserves = in_use.goals().needed(goal);
    format!(
        "{} times the size ({}) and {} times the contrast ({})",
        size_told(reserves.acuity),
        said(&in_use.acuity_origin(goal)),
        reserves.contrast.get(),
        said(&in_use.contrast_origin(goal)),
    )
}

/// The section of the page, for readers of figures.
pub(super) struct Section {
    pub(super) facts: Vec<(String, String)>,
    pub(super) form: Option<GoalForm>,
    pub(super) amended: Amended,
}

/// The form by which a vision teacher sets them.
pub(super) struct GoalForm {
    pub(super) form: FormView,
    pub(super) action: String,
    pub(super) fields: Vec<Line>,
}

/// The two fields of one goal.
pub(super) struct Line {
    pub(super) name: &'static str,
    pub(super) label: String,
    pub(super) source: String,
    pub(super) source_label: String,
}

fn source_of(goal: TaskGoal) -> String {
    format!("{}_source", goal.code())
}

/// The section as it stands, or with the form that came back.
pub(super) async fn section(
    snapshot: &mut Snapshot,
    context: &Context,
    visit: &Visit,
    access: &Access<VisualTasks, Read>,
    came_back: Option<FormView>,
) -> Result<Section> {
    let in_use = goal::of(snapshot, access).await?;
    let set = goal::of_student(snapshot, access).await?;
    let changed = amendment::of_record(snapshot, access, Subject::goals_of(access.student())).await?;
    let facts = TaskGoal::ALL
        .iter()
        .map(|goal| (words::capital(goal.words()), words::capital(&needed(&in_use, (*goal).into()))))
        .collect();
    let form = may_set(visit).then(|| GoalForm {
        form: came_back.unwrap_or_else(|| FormView::filled(context, entry_of(&set)).at_version(set.version())),
        action: visit.at("/tasks/goals"),
        fields: TaskGoal::ALL
            .iter()
            .map(|goal| Line {
                name: goal.code(),
                label: label_of(*goal),
                source: source_of(*goal),
                source_label: source_label_of(*goal),
            })
            .collect(),
    });
    Ok(Section { facts, form, amended: amend::shown(&changed, snapshot.zone()) })
}

fn label_of(goal: TaskGoal) -> String {
    format!("Acuity reserve to {}", goal.words())
}

fn source_label_of(goal: TaskGoal) -> String {
    format!("Where the reserve to {} is from", goal.words())
}

/// The vision teacher sets them, for the whole team.
fn may_set(visit: &Visit) -> bool {
    visit.may::<VisualTasks, Edit>() && visit.role() == Some(Role::VisionTeacher)
}

fn entry_of(set: &Set) -> Entry {
    set.own.iter().fold(Entry::default(), |entry, own| {
        entry.with(own.goal.code(), own.reserve.typed.clone()).with(source_of(own.goal), own.source.clone())
    })
}

fn checked(entry: &Entry) -> std::result::Result<Vec<Wanted>, Faults> {
    let mut check = Check::new(entry);
    let mut wanted = Vec::new();
    for goal in TaskGoal::ALL.iter().copied() {
        let (label, source_name) = (label_of(goal), source_of(goal));
        let value = check.opt_number(goal.code(), &label, ACUITY_UNIT, ACUITY);
        let source = check.opt_text(&source_name, &source_label_of(goal), SHORT_TEXT);
        let typed = check.typed(goal.code());
        if typed.is_empty() && !source.is_empty() {
            check.fault(goal.code(), "Write the reserve that this is about, or leave both open for the site's.");
        }
        if !typed.is_empty() && source.is_empty() {
            check.fault(source_name, "Say where this reserve is from, for example how it was measured.");
        }
        let reserve = value.and_then(|value| Ratio::new(value).ok());
        wanted.push(Wanted { goal, reserve: reserve.map(|reserve| (Typed::new(typed, reserve), source)) });
    }
    check.build(|| Some(wanted))
}

/// The texts of a set, before and after a change.
fn told(set: &Set) -> Vec<(String, String)> {
    TaskGoal::ALL
        .iter()
        .map(|goal| {
            let own = set.of(*goal).map(|own| (own.reserve.typed.as_str(), own.source.as_str()));
            (label_of(*goal), words_of(own))
        })
        .collect()
}

fn told_wanted(wanted: &[Wanted]) -> Vec<(String, String)> {
    wanted
        .iter()
        .map(|one| {
            let new = one.reserve.as_ref().map(|(reserve, source)| (reserve.typed.as_str(), source.as_str()));
            (label_of(one.goal), words_of(new))
        })
        .collect()
}

fn words_of(reserve: Option<(&str, &str)>) -> String {
    reserve.map_or_else(|| "as the site".to_owned(), |(typed, source)| format!("{typed} {ACUITY_UNIT}: {source}"))
}

async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<VisualTasks, Edit>,
    posted: Posted,
) -> Result<Response> {
    if !may_set(&visit) {
        return Err(Error::Hidden);
    }
    let wanted = match checked(&posted.entry) {
        Ok(wanted) => wanted,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(super::list(&app, &context, &visit, Some(form)).await?).into_response());
        }
    };
    let to = visit.at("/tasks");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match goal::set(&mut tx, &access, &wanted, posted.version.unwrap_or(0)).await {
        Ok(before) => {
            let subject = Subject::goals_of(access.student());
            let texts = (told(&before), told_wanted(&wanted));
            amend::kept(&mut tx, &access, subject.clone(), texts).await?;
            tx.commit_at(Audit::by(&access).record(&subject).doing("set reading goals"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Stale) => {
            drop(tx);
            let mut snapshot = app.store.snapshot().await?;
            let theirs = goal::of_student(&mut snapshot, &access).await?;
            let rows = both(&told(&theirs), &told_wanted(&wanted));
            let subject = Subject::goals_of(access.student());
            Err(stale::error(&mut snapshot, &access, (subject, theirs.version()), Both { back: to, rows }).await?)
        }
        Err(error) => Err(error.into()),
    }
}
