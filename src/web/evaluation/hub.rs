//! The sections of a draft: what is filled in, what is missing, what was asked.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};

use super::edit::{draft, section_href};
use super::findings;
use super::kind::Drafts;
use crate::access::action::{Edit, Read};
use crate::access::resource;
use crate::care::evaluation::{Evaluation, Findings, Section};
use crate::care::ids::EvaluationId;
use crate::care::track::Track;
use crate::store::request;
use crate::web::error::Result;
use crate::web::form::Entry;
use crate::web::page::{Context, Page, Shell, shell_about};
use crate::web::params::Record;
use crate::web::part::{self, Steps};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words::capital;

#[derive(Template)]
#[template(path = "evaluation/hub.html")]
struct HubPage {
    shell: Shell,
    head: String,
    questions: Vec<(String, String)>,
    steps: Steps,
    missing: Vec<&'static str>,
    preview_href: String,
    discard_href: Option<String>,
    replaces: Option<part::Notice>,
    back: String,
}

/// The sections of a draft, and what is missing.
pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Record(id): Record<EvaluationId>,
) -> Result<Response> {
    let access = visit.open::<resource::Evaluation, Edit>().await?;
    let evaluation = draft(&app, &access, id).await?;
    let mut questions = Vec::new();
    if let Some(reading) = visit.open_if::<resource::EvaluationRequest, Read>().await? {
        let mut snapshot = app.store.snapshot().await?;
        let asked = request::list(&mut snapshot, &reading).await?;
        questions = asked
            .into_iter()
            .filter(|asked| asked.withdrawn_at.is_none())
            .map(|asked| (asked.what.question, asked.what.urgency))
            .collect();
    }
    let page = HubPage {
        shell: shell_about(&context, &visit, "Evaluation, draft"),
        head: head_words(&evaluation),
        questions,
        steps: steps::<resource::Evaluation>(&visit, &evaluation),
        missing: evaluation.missing(),
        preview_href: visit.at(&format!("/evaluations/{id}/preview")),
        discard_href: (evaluation.created_by == access.actor().account)
            .then(|| visit.at(&format!("/evaluations/{id}/discard"))),
        replaces: evaluation.supersedes.map(|old| {
            let said = "It starts as a copy of the signed one. Once this is signed, that one counts no longer.";
            part::notice("plain", "This will take the place of a signed evaluation", said)
                .link(&visit.at(&format!("/evaluations/{old}")), "Open the signed one")
        }),
        back: visit.at("/evaluations"),
    };
    Ok(Page(page).into_response())
}

pub(super) fn head_words(evaluation: &Evaluation) -> String {
    let day = evaluation.examined_on.map(crate::web::words::date).unwrap_or_else(|| "no day yet".to_owned());
    format!("{day}, {}", evaluation.examiner)
}

fn filled(evaluation: &Evaluation, section: Section) -> bool {
    let findings = &evaluation.findings;
    let none = Findings::default();
    let says = |entry: fn(&Findings) -> Entry| {
        let nothing: Vec<String> = entry(&none).iter().map(|(name, value)| format!("{name}={value}")).collect();
        entry(findings).iter().any(|(name, value)| !nothing.contains(&format!("{name}={value}")))
    };
    match section {
        Section::Exam => evaluation.examined_on.is_some() && evaluation.next_due_on.is_some(),
        Section::Acuity => !evaluation.acuities.is_empty(),
        Section::Refraction => evaluation.right.is_some() || evaluation.left.is_some(),
        Section::Sight => says(findings::sight_entry),
        Section::Eyes => says(findings::eyes_entry),
        Section::Advice => says(findings::advice_entry),
        Section::Distance => evaluation.answer(Track::Distance).is_some(),
        Section::Near => evaluation.answer(Track::Near).is_some(),
    }
}

pub(super) fn steps<D: Drafts>(visit: &Visit, evaluation: &Evaluation) -> Steps {
    let mut steps = part::steps();
    let mut now = false;
    for section in Section::ALL {
        let words = capital(section.words());
        let unstated = evaluation.paper.as_ref().is_some_and(|paper| paper.not_stated.contains(section));
        steps = if unstated {
            steps.done(&words).note("Not stated on the report")
        } else if filled(evaluation, *section) {
            steps.done(&words)
        } else if now {
            steps.later(&words)
        } else {
            now = true;
            steps.now(&words)
        };
        steps = steps.to(&section_href::<D>(visit, evaluation.id, *section));
    }
    steps
}
