//! Training, skill by skill: where it was, where it is, and how sure that is.
//!
//! The figures are [`crate::care::progress`]; here they are put into the
//! reader's words, `told.rs` for those who work with figures and `plain.rs` for a
//! family, with the picture in `drawing.rs` and the lines to recompute in
//! `account.rs`. A component: any page that holds the proof of the training shows
//! it. Nothing is kept between two pages, so that a session counts on the next.

mod account;
mod drawing;
pub(in crate::web) mod minutes;
mod plain;
mod told;

use askama::Template;
use askama::filters::HtmlSafe;

use super::error::Result;
use super::page::Context;
use super::part::{Cell, How, Status, Table};
use super::training::tell;
use super::visit::Visit;
use super::words;
use crate::access::Access;
use crate::access::action::Reads;
use crate::access::resource::{LoanGlimpse, Training};
use crate::care::gates::Named;
use crate::care::loan::code_of;
use crate::care::progress::band::Size;
use crate::care::progress::finding::{Finding, Verdict, finding};
use crate::care::progress::rule::{Fading, Steady, fading, steady};
use crate::care::progress::{Help, Mark, Practised, Time, practised};
use crate::care::track::Track;
use crate::care::training::Session;
use crate::store::{Snapshot, training};
use crate::vision::length::shown::Units;
pub(in crate::web) use account::Method;
use drawing::Drawing;

/// Who reads, in which units, and where a session has its page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reader {
    /// Whether plain words without figures of statistics are wanted.
    pub plain: bool,
    /// The reader's units.
    pub units: Units,
    /// The address that the id of a session is put behind.
    pub sessions: String,
}

/// The progress of one track, to be put on a page.
#[derive(Template)]
#[template(path = "progress/skills.html")]
pub struct Progress {
    skills: Vec<SkillView>,
    plain: bool,
    /// How its figures came about, for paper; none where no figure is told, or where the
    /// page says it for several tracks at once.
    method: Option<Method>,
    shown: Shown,
}

impl HtmlSafe for Progress {}

/// How much of each skill stands open on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shown {
    /// All of it, below a heading of the page.
    Whole,
    /// The finding; its picture and figures unfold. Right under a part of the page.
    Findings,
}

impl Progress {
    fn folded(&self) -> bool {
        self.shown == Shown::Findings
    }

    /// What unfolds the skills without a verdict; none where all stand open.
    fn too_early(&self) -> Option<String> {
        let skills = self.skills.iter().filter(|skill| !skill.told).count();
        let words = if self.plain { "Too early to say" } else { "Not enough yet, and what would be" };
        (self.folded() && skills > 0).then(|| format!("{words}: {}", told::counted(skills, "skill", "skills")))
    }
}

/// One skill with one device, in words.
struct SkillView {
    /// Whether there is enough for a verdict.
    told: bool,
    heading: String,
    /// The verdict with its mark.
    status: Status,
    /// Where it was, where it is.
    sentence: String,
    /// How sure, and what would be enough.
    sure: String,
    lines: Vec<String>,
    picture: Option<Drawing>,
    table: Option<Table>,
    how: Option<How>,
}

impl Progress {
    /// Whether there is nothing to show.
    pub fn is_empty(&self) -> bool {
        self.skills.is_empty()
    }

    /// How its figures came about, taken off it for a page that says so itself.
    pub(in crate::web) fn take_method(&mut self) -> Option<Method> {
        self.method.take()
    }
}

/// What is known of one skill with one device.
struct Known<'a> {
    practised: &'a Practised,
    finding: &'a Finding,
    fading: Option<Fading>,
    steady: Option<Steady>,
    device: String,
    reader: &'a Reader,
}

/// The progress on a track, from the sessions that this reader may read.
///
/// # Errors
/// When the database fails.
pub async fn of(
    snapshot: &mut Snapshot,
    (access, glimpse): (&Access<Training, impl Reads>, Option<&Access<LoanGlimpse, impl Reads>>),
    (visit, context): (&Visit, &Context),
    track: Track,
) -> Result<Progress> {
    let sessions = training::list(snapshot, access).await?;
    let errors = training::errors(snapshot, access).await?;
    let devices = match glimpse {
        Some(glimpse) => tell::devices(snapshot, glimpse, &sessions).await?,
        None => tell::Devices::default(),
    };
    Ok(Progress { shown: Shown::Findings, ..view(track, (&sessions, &errors), &devices, &reader(visit, context)) })
}

/// Who reads this page.
pub fn reader(visit: &Visit, context: &Context) -> Reader {
    Reader {
        plain: visit.role() == Some(crate::access::Role::Parent),
        units: words::units(context),
        sessions: visit.at("/training/"),
    }
}

/// The same from sessions that a page has read already.
pub(in crate::web) fn view(
    track: Track,
    (sessions, errors): (&[Session], &[Session]),
    devices: &tell::Devices,
    reader: &Reader,
) -> Progress {
    // Two loans of one pool device are told by the same words, tag included.
    let same = |named: Named| match devices.known(named) {
        Some(words) => words.to_owned(),
        None => code_of(named),
    };
    let all = practised(track, (sessions, errors), same);
    let skills = all.iter().enumerate().map(|(place, practised)| {
        let known = Known {
            practised,
            finding: &finding(practised),
            fading: fading(practised),
            steady: steady(track, practised.skill, sessions).filter(|_| practised.device != Named::NoDevice),
            device: devices.words(practised.device),
            reader,
        };
        known.view(place)
    });
    let skills: Vec<SkillView> = skills.collect();
    let method = skills.iter().any(|skill| skill.how.is_some()).then(|| Method::of(reader));
    Progress { skills, plain: reader.plain, method, shown: Shown::Whole }
}

impl Known<'_> {
    fn view(&self, place: usize) -> SkillView {
        let heading = self.heading();
        let (status, sentence, sure, lines) = if self.reader.plain { self.plain() } else { self.told() };
        let table = self.table(&heading);
        let id = format!("progress-{}-{}", self.practised.track.code(), place + 1);
        let drawn = drawing::of(self, id, &heading, &sure, &table);
        SkillView {
            told: !matches!(self.finding.verdict, Verdict::NotYet(_)),
            heading,
            status,
            sentence,
            sure,
            lines,
            table: if drawn.is_some() { None } else { Some(table) },
            picture: drawn,
            how: self.account(),
        }
    }

    fn heading(&self) -> String {
        let skill = if self.reader.plain { plain::skill(self.practised.skill) } else { self.practised.skill.words() };
        let skill = words::capital(skill);
        match self.practised.device {
            Named::NoDevice => format!("{skill}, no device"),
            _ => format!("{skill}, {}", self.device),
        }
    }

    /// A size in the reader's units; print of a page always in millimetres.
    fn size(&self, size: &Size) -> String {
        told::size(size, self.reader.units)
    }

    /// Whether what is counted is found, or right.
    const fn right_word(&self) -> &'static str {
        told::right_word(self.practised.skill)
    }

    fn table(&self, heading: &str) -> Table {
        let right = format!("{} of tried", words::capital(self.right_word()));
        let each = if self.reader.plain { "practice by practice" } else { "session by session" };
        let track = self.practised.track.words();
        let mut table = super::part::table(&format!("{heading}: {each}, {track} track"))
            .column("Date")
            .column(&right)
            .column("Time of one try")
            .column("Targets")
            .column("Help")
            .column("Place");
        for mark in &self.practised.marks {
            let probe =
                if mark.probe { if self.reader.plain { " (check before practice)" } else { " (probe)" } } else { "" };
            let right =
                if mark.tried == 0 { "not counted".to_owned() } else { format!("{} of {}", mark.right, mark.tried) };
            table.push([
                // Every figure is traced to its session by these links.
                Cell::link(
                    &format!("{}{}", self.reader.sessions, mark.session),
                    &format!("{}{probe}", words::date(mark.on)),
                ),
                right.into(),
                self.time(mark).into(),
                mark.size.as_ref().map_or_else(|| "not noted".to_owned(), |size| self.size(size)).into(),
                help(mark, self.reader.plain).into(),
                mark.place.words().into(),
            ]);
        }
        table
    }

    fn time(&self, mark: &Mark) -> String {
        let own = match mark.time {
            Time::NotTaken => String::new(),
            Time::NotReached => format!("half or more not {}", self.right_word()),
            Time::Typical { median, least, most } if least == most => told::seconds(median.get()),
            Time::Typical { median, least, most } => {
                format!("{} ({} to {})", told::seconds(median.get()), least.get(), most.get())
            }
        };
        let losses = mark.losses.map(|one| format!("lost {} in {} s", one.count, one.time.get()));
        let parts: Vec<String> = [Some(own).filter(|own| !own.is_empty()), losses].into_iter().flatten().collect();
        if parts.is_empty() { "not timed".to_owned() } else { parts.join(", ") }
    }
}

fn help(mark: &Mark, plain: bool) -> String {
    match (mark.help, plain) {
        (Help::Alone, true) => "none".to_owned(),
        (_, true) => mark.prompt.words().to_owned(),
        (_, false) => format!("{}: {}", mark.prompt.level(), mark.prompt.words()),
    }
}
