//! What becomes of a document after it was signed: amended with a reason,
//! superseded, cancelled, withdrawn, or marked entered in error. The document
//! itself never changes (G8), and nothing newer crosses without a consent (G7).

mod afterwards;
mod bad;
mod card;
mod decision;
mod drafts;
mod evaluation;
mod prescription;
mod printed;
mod summary;

use std::collections::BTreeMap;

use crate::lap::Team;
use crate::page::Page;
use crate::people::{PASSWORD, Person};
use crate::world::World;

const AMEND: &str = "Amend it";
const ANEW: &str = "Write the new one";
const CANCEL: &str = "Cancel it";
const ERROR: &str = "Mark it entered in error";

/// The address of the newest row of a table.
async fn newest(world: &World, team: &Team, (path, what): (&str, &str)) -> String {
    let id = world.newest(what, &team.pupil).await.expect("there is one");
    team.at(&format!("{path}/{id}"))
}

/// The signed evaluation.
async fn evaluation(world: &World, team: &Team) -> String {
    newest(world, team, ("/evaluations", "evaluation:state:signed")).await
}

/// The sent summary.
async fn summary(world: &World, team: &Team) -> String {
    newest(world, team, ("/summaries", "summary:state:sent")).await
}

/// The prescription in force.
async fn prescription(world: &World, team: &Team) -> String {
    newest(world, team, ("/prescription", "prescription:state:active")).await
}

/// The newest decision.
async fn decision(world: &World, team: &Team) -> String {
    newest(world, team, ("/decisions", "decision")).await
}

/// Somebody corrects a document one way.
async fn corrects(person: &Person, document: &str, button: &str, fields: &[(&str, &str)]) -> Page {
    person.presses(&format!("{document}/correct"), button, fields).await
}

/// Somebody marks a document entered in error.
async fn errs(person: &Person, document: &str) -> Page {
    let fields = [("error_reason", "It is about another student."), ("error_password", PASSWORD)];
    corrects(person, document, ERROR, &fields).await
}

/// The clinician writes the evaluation anew and signs it; gives its address.
async fn evaluates_anew(team: &Team, old: &str, changes: &[(&str, &[(&str, &str)])]) -> String {
    let why = [("supersede_reason", "The device was written down wrong.")];
    let hub = corrects(&team.clinician, old, ANEW, &why).await.redirected_to();
    let draft = hub.strip_suffix("/edit").expect("the sections of the draft").to_owned();
    for (section, fields) in changes {
        team.clinician.presses(&format!("{draft}/edit/{section}"), "Save and go on", fields).await.redirected_to();
    }
    team.signs_evaluation(&draft).await;
    draft
}

/// The rows that hold what was signed.
async fn signed_rows(world: &World) -> BTreeMap<String, u64> {
    let kept = ["evaluation", "acuity", "track_answer", "device_spec", "sending", "document_mark", "amendment"];
    let more = ["decision", "prescription", "summary", "card", "event"];
    let mut content = world.content().await;
    content.retain(|table, _| kept.contains(&table.as_str()) || more.contains(&table.as_str()));
    assert_eq!(content.len(), kept.len() + more.len());
    content
}
