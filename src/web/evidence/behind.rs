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
use super::told::{at, at_contrast};
use super::{Track, is_specialist, load};
use crate::access::Access;
use crate::access::action::Read;
use crate::access::resource::{ClassObservation, Guidance, HomeObservation, Training};
use crate::care::evidence::{Column, Contrast, Drill, Entry, Left, Row, Source};
use crate::care::ids::{ObservationId, SessionId, VisualTaskId};
use crate::care::observation::{Graded, Outcome, Setting};
use crate::care::skill::Skill;
use crate::care::track;
use crate::store::observation::{self, Detail};
use crate::store::training;
use crate::vision::units::Seconds;

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

/// In the place of a setting: the device in all of them.
pub(super) const ALL: &str = "all";

/// Which entries are asked for: left out for a reason, or of a column.
enum Asked {
    Left(Left),
    Of(Option<String>, Which),
}

/// Which entries of a column.
enum Which {
    /// Behind a threshold, or behind all settings of a device together.
    Cell(Option<Setting>, Contrast),
    /// Behind what was counted of one task.
    Task(VisualTaskId),
    /// Exercises without help, behind times and losses.
    Skill(Skill),
    /// Those that say how it felt.
    Felt,
}

fn asked(query: &Query) -> Option<(track::Track, Asked)> {
    let track = query.get("track").parse().ok()?;
    let given = |name: &str| Some(query.get(name)).filter(|value| !value.is_empty());
    if let Some(left) = given("left") {
        return Some((track, Asked::Left(left.parse().ok()?)));
    }
    let device = given("device").filter(|device| *device != "none").map(str::to_owned);
    let which = if let Some(task) = given("task") {
        Which::Task(task.parse().ok()?)
    } else if let Some(skill) = given("skill") {
        Which::Skill(skill.parse().ok()?)
    } else if given("felt").is_some() {
        Which::Felt
    } else {
        let setting = match query.get("setting") {
            ALL => None,
            setting => Some(setting.parse().ok()?),
        };
        Which::Cell(setting, query.get("contrast").parse().ok()?)
    };
    Some((track, Asked::Of(device, which)))
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
        if let Some(entry) = loaded.known.entries.iter().find(|entry| entry.source == *source) {
            lines.push((entry.on, told.line(entry, &opened)));
        } else if let Some(drill) = loaded.known.drills.iter().find(|drill| drill.source == *source) {
            lines.extend(told.drilled(drill, &opened).map(|line| (drill.on, line)));
        }
    }
    lines.sort_by_key(|(on, _)| std::cmp::Reverse(*on));
    let lede = match &asked {
        Asked::Of(..) => "Exactly these entries stand behind the figure.",
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
            Asked::Of(device, which) => {
                let key = |column: &Column| column.key().map(|key| key.to_string());
                let place = self.gathered.columns.iter().position(|column| key(column) == *device)?;
                self.of_column(place, which)
            }
        }
    }

    fn of_column(&self, place: usize, which: &Which) -> Option<(String, Vec<Source>)> {
        let with = self.with(place);
        let (title, sources) = match which {
            Which::Cell(setting, contrast) => {
                let of = |row: &&Row| {
                    row.column == place && row.contrast == *contrast && setting.is_none_or(|one| row.setting == one)
                };
                let sources: Vec<Source> = self.rows.iter().filter(of).flat_map(|row| row.entries.clone()).collect();
                let place = setting.map_or("in all settings", at);
                (format!("Entries {place}, {with}{}", at_contrast(*contrast)), sources)
            }
            Which::Task(task) => {
                let name = self.loaded.tasks.iter().find(|known| known.id == *task)?.what.name.as_str();
                (format!("Entries of {name}, {with}"), self.gathered.tallies.get(&(*task, place))?.entries.clone())
            }
            Which::Skill(skill) => {
                let foot = self.matrix.feet.get(place).filter(|_| is_specialist(self.visit.role()))?;
                let sources = match skill {
                    Skill::Spotting => &foot.spotted,
                    Skill::Tracking => &foot.followed,
                    _ => return None,
                };
                (format!("Exercises in {}, {with}", skill.words()), sources.clone())
            }
            Which::Felt => (format!("Entries that say how it felt, {with}"), self.column(place)?.felt.clone()),
        };
        (!sources.is_empty()).then_some((title, sources))
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

    /// An exercise that was timed or followed, and not counted.
    fn drilled(&self, drill: &Drill, opened: &Opened) -> Option<Line> {
        let Source::Exercise(session, _) = drill.source else { return None };
        let is_open = opened.open.contains(&session);
        let seconds = |time: Option<Seconds>| time.map(|time| format!("{} s", time.get()));
        let losses =
            drill.losses.zip(seconds(drill.in_view)).map(|(lost, time)| format!("lost {lost} times in {time}"));
        let time = seconds(drill.median).map(|time| format!("{time} a try"));
        let told: Vec<String> = [time, losses].into_iter().flatten().collect();
        Some(Line {
            href: if is_open { self.visit.at(&format!("/training/{session}")) } else { String::new() },
            title: "An exercise of a session".to_owned(),
            mark: part::mark(Setting::Training.code()),
            result: words::capital(&told.join(", ")),
            who: words::date(drill.on),
            locked: !is_open,
        })
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
