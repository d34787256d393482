//! The entries behind one figure, or those left out for one reason: exactly
//! these, each with its own page.
//!
//! An entry within its first day is listed and its words stay closed, as on the
//! list of observations.

use std::collections::{BTreeMap, BTreeSet};

use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Response};

use super::super::error::{Error, Result};
use super::super::form::Entry as Query;
use super::super::page::{Context, Page, Shell, shell_about};
use super::super::part::{self, Mark};
use super::super::state::App;
use super::super::visit::Visit;
use super::super::words;
use super::told::at;
use super::{Track, load};
use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::{ClassObservation, Guidance, HomeObservation, Training};
use crate::care::evidence::{Column, Contrast, Entry, Left, Source};
use crate::care::ids::{ObservationId, SessionId};
use crate::care::observation::{Graded, Outcome, Setting};
use crate::care::track;
use crate::store::observation::{self, Detail};
use crate::store::training;

#[derive(Template)]
#[template(path = "evidence/behind.html")]
struct BehindPage {
    shell: Shell,
    title: String,
    lede: String,
    back: String,
    lines: Vec<Line>,
}

struct Line {
    href: String,
    title: String,
    mark: Mark,
    result: String,
    who: String,
    locked: bool,
}

/// What of the entries is open to this reader.
struct Opened {
    /// Who wrote an observation, and its words after the first day.
    details: BTreeMap<ObservationId, (String, Option<Detail>)>,
    /// Sessions that have a page for this reader.
    open: BTreeSet<SessionId>,
}

/// Which entries are asked for.
enum Asked {
    Cell(Option<String>, Setting, Contrast),
    Left(Left),
}

fn asked(query: &Query) -> Option<(track::Track, Asked)> {
    let track = query.get("track").parse().ok()?;
    if query.get("left").is_empty() {
        let device = Some(query.get("device")).filter(|device| *device != "none").map(str::to_owned);
        let cell = Asked::Cell(device, query.get("setting").parse().ok()?, query.get("contrast").parse().ok()?);
        Some((track, cell))
    } else {
        Some((track, Asked::Left(query.get("left").parse().ok()?)))
    }
}

pub(super) async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<Guidance, Read>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let (track, asked) = asked(&Query::of_query(query.as_deref())).ok_or(Error::Hidden)?;
    let loaded = load(&app, &visit, &access).await?;
    let told = Track::of(&visit, &context, &loaded, track)?;
    // What there is not for this reader is answered as what there is not at all.
    let (title, sources) = told.asked_for(&asked).unwrap_or_else(|| ("Entries".to_owned(), Vec::new()));
    let mut details: BTreeMap<ObservationId, (String, Option<Detail>)> = BTreeMap::new();
    let (class, home) =
        (visit.open_if::<ClassObservation, Read>().await?, visit.open_if::<HomeObservation, Read>().await?);
    let mut snapshot = app.store.snapshot().await?;
    let mut found = Vec::new();
    if let Some(access) = &class {
        found.extend(observation::in_class(&mut snapshot, access).await?);
        found.extend(observation::errors_in_class(&mut snapshot, access).await?);
    }
    if let Some(access) = &home {
        found.extend(observation::outside(&mut snapshot, access).await?);
        found.extend(observation::errors_outside(&mut snapshot, access).await?);
    }
    for entry in found {
        details.insert(entry.fact.id, (entry.fact.by, entry.detail));
    }
    // A session within its first day counts for a family, and is not open to it.
    let mut open = BTreeSet::new();
    if let Some(access) = &visit.open_if::<Training, Read>().await? {
        let sessions = [training::list(&mut snapshot, access).await?, training::errors(&mut snapshot, access).await?];
        open.extend(sessions.into_iter().flatten().map(|session| session.id));
    }
    let opened = Opened { details, open };
    let mut lines: Vec<(jiff::civil::Date, Line)> = Vec::new();
    for source in &sources {
        let Some(entry) = loaded.known.entries.iter().find(|entry| entry.source == *source) else { continue };
        lines.push((entry.on, told.line(entry, &opened)));
    }
    lines.sort_by_key(|(on, _)| std::cmp::Reverse(*on));
    let lede = match &asked {
        Asked::Cell(..) => "Exactly these entries stand behind the figure.",
        Asked::Left(_) => "These entries stand in no figure, and count nowhere as a failure.",
    };
    let page = BehindPage {
        shell: shell_about(&context, &visit, title.clone()),
        title,
        lede: lede.to_owned(),
        back: visit.at("/evidence"),
        lines: lines.into_iter().map(|(_, line)| line).collect(),
    };
    Ok(Page(page).into_response())
}

impl Track<'_> {
    /// The title of what is asked for, and its entries; none where there is no
    /// such figure for this reader.
    fn asked_for(&self, asked: &Asked) -> Option<(String, Vec<Source>)> {
        match asked {
            Asked::Left(left) => {
                let sources = self.gathered.left.get(left)?.clone();
                Some((format!("Left out: {}", left.words()), sources))
            }
            Asked::Cell(device, setting, contrast) => {
                let row = self.rows.iter().find(|row| {
                    let key = self.column(row.column).and_then(Column::key).map(|key| key.to_string());
                    row.setting == *setting && row.contrast == *contrast && key == *device
                })?;
                let title = format!("Entries {}, {}", at(*setting), self.with(row.column));
                Some((title, row.entries.clone()))
            }
        }
    }

    fn line(&self, entry: &Entry, opened: &Opened) -> Line {
        let mark = part::mark(entry.setting.code());
        let on = words::date(entry.on);
        match entry.source {
            Source::Observation(id) => {
                let (by, detail) =
                    opened.details.get(&id).map_or(("", None), |(by, detail)| (by.as_str(), detail.as_ref()));
                Line {
                    href: self.visit.at(&format!("/observations/{id}")),
                    title: detail.map_or("An observation".to_owned(), |detail| words::capital(&detail.what)),
                    mark,
                    result: detail.map(|detail| self.seen(entry, &result(detail.outcome))).unwrap_or_default(),
                    who: if by.is_empty() { on } else { format!("{on}, {by}") },
                    locked: detail.is_none(),
                }
            }
            Source::Exercise(session, _) => Line {
                href: if opened.open.contains(&session) {
                    self.visit.at(&format!("/training/{session}"))
                } else {
                    String::new()
                },
                title: "An exercise of a session".to_owned(),
                mark,
                result: self.seen(entry, &result(entry.outcome)),
                who: on,
                locked: !opened.open.contains(&session),
            },
        }
    }

    fn seen(&self, entry: &Entry, result: &str) -> String {
        let tall = entry.x_height.map(|tall| format!(" at {}", words::height(tall.in_metres(), self.context)));
        let far = entry.distance.map(|far| format!(" from {}", words::distance(far, self.context)));
        format!("{result}{}{}", tall.unwrap_or_default(), far.unwrap_or_default())
    }
}

fn result(outcome: Outcome) -> String {
    match outcome {
        Outcome::Counted { right, tried } => format!("{right} of {tried} right"),
        Outcome::Graded(Graded::DidNotTry) => "Did not try".to_owned(),
        Outcome::Graded(Graded::NotSure) => "Not sure how much was right".to_owned(),
        Outcome::Graded(graded) => format!("{} right", words::capital(graded.words())),
    }
}
