//! Sharing a note from home with the class, and taking it back: only the parent
//! who entered it, at any time.
//!
//! Does not decide who reads a shared note; that is the access table.

use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::access::action::Edit;
use crate::access::resource::HomeObservation;
use crate::access::{Access, Role};
use crate::care::ids::ObservationId;
use crate::store::observation::Entry;
use crate::store::{Audit, StoreError, shared_note};
use crate::web::error::{Error, Result};
use crate::web::form::{FormView, Posted};
use crate::web::page::Context;
use crate::web::params::Record;
use crate::web::state::App;
use crate::web::visit::Visit;

/// What a note's page says about the class, and its writer's way to change it.
pub(super) struct Sharing {
    pub(super) words: &'static str,
    /// The form, its address, what it sends and its button.
    pub(super) change: Option<(FormView, String, &'static str, &'static str)>,
}

/// What one note's page shows. To the class itself a note that it may read needs
/// no such words, and to the clinic it says nothing.
pub(super) fn shown(context: &Context, visit: &Visit, entry: &Entry, shared: bool) -> Option<Sharing> {
    if !matches!(visit.role(), Some(Role::VisionTeacher | Role::Parent)) {
        return None;
    }
    let words = if shared {
        "Shared with the class. The classroom teacher reads it 24 hours after it was entered."
    } else {
        "Not shared with the class."
    };
    let own = visit.role() == Some(Role::Parent) && entry.fact.account == visit.actor().account;
    let (share, button) =
        if shared { ("no", "Take it back from the class") } else { ("yes", "Share it with the class") };
    let action = visit.at(&format!("/observations/{}/share", entry.fact.id));
    let change =
        (own && visit.may::<HomeObservation, Edit>()).then(|| (FormView::blank(context), action, share, button));
    Some(Sharing { words, change })
}

pub(super) async fn set(
    State(app): State<App>,
    visit: Visit,
    access: Access<HomeObservation, Edit>,
    Record(id): Record<ObservationId>,
    posted: Posted,
) -> Result<Response> {
    let mut snapshot = app.store.snapshot().await?;
    if !shared_note::marks(&mut snapshot, &access).await?.contains_key(&id) {
        return Err(Error::Hidden);
    }
    drop(snapshot);
    let (sharing, told) = match posted.entry.get("share") {
        "yes" => (shared_note::Sharing::WithClass, "shared with the class"),
        "no" => (shared_note::Sharing::NotWithClass, "taken back from the class"),
        _ => return Err(Error::Unreadable),
    };
    let location = visit.at(&format!("/observations/{id}"));
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match shared_note::set(&mut tx, &access, id, sharing).await {
        Ok(()) => {
            tx.commit_at(Audit::by(&access).doing("share").record(id).told(told), &location).await?;
            Ok(Redirect::to(&location).into_response())
        }
        // It is so already: the page says so.
        Err(StoreError::Stale) => Ok(Redirect::to(&location).into_response()),
        Err(error) => Err(error.into()),
    }
}
