//! What a classroom teacher sees of the list: names, places and sizes, and no
//! figure of the eyes.

use axum::response::{IntoResponse, Response};

use super::facts::typed_length;
use super::{TaskCard, TasksPage};
use crate::access::action::{Create, Read};
use crate::access::resource::{TaskGlimpse, VisualTasks};
use crate::store::task;
use crate::web::error::Result;
use crate::web::page::{Context, Page, shell_about};
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

/// The list as a classroom teacher reads it.
pub(super) async fn page(app: &App, context: &Context, visit: &Visit) -> Result<Response> {
    let access = visit.open::<TaskGlimpse, Read>().await?;
    let own = visit.open_if::<VisualTasks, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let found = task::glimpses(&mut snapshot, &access).await?;
    let mine = match &own {
        Some(own) => task::tasks(&mut snapshot, own).await?,
        None => Vec::new(),
    };
    drop(snapshot);
    let cards = found
        .into_iter()
        .map(|task| {
            let mut facts = Vec::new();
            let mut fact = |term: &str, value: String| {
                if !value.is_empty() {
                    facts.push((term.to_owned(), value));
                }
            };
            fact("Where", task.place.clone());
            fact(
                "How far",
                task.distance
                    .map_or(String::new(), |far| typed_length(&far.typed, words::distance(far.value, context))),
            );
            fact(
                "Small letters",
                task.x_height.map_or(String::new(), |tall| {
                    typed_length(&tall.typed, words::height(tall.value.in_metres(), context))
                }),
            );
            fact("Written", task.marker.map_or(String::new(), |marker| words::capital(marker.words())));
            fact("To recognise", words::capital(task.target.words()));
            TaskCard {
                name: task.name,
                what: words::capital(task.code.words()),
                facts,
                seen: None,
                options: None,
                through: None,
                plan: None,
                edit: mine.iter().any(|own| own.id == task.id).then(|| visit.at(&format!("/tasks/{}", task.id))),
            }
        })
        .collect();
    Ok(Page(TasksPage {
        shell: shell_about(context, visit, "What to see"),
        tasks: cards,
        seats: Vec::new(),
        cautions: Vec::new(),
        notes: Vec::new(),
        add_task: visit.may::<VisualTasks, Create>().then(|| visit.at("/tasks/new")),
        add_seat: None,
        retired: Vec::new(),
        goals: None,
    })
    .into_response())
}
