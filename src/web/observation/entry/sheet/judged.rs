//! Each row of a sheet held against what the form holds an entry against, and said
//! in words of the sheet: which row, which column, what would be right.
//!
//! A row in which a length is in doubt is refused here: who has the sheet before
//! them can mend the cell. Nothing is stored in this file.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use jiff::civil::Date;

use super::super::checked::{Checked, checked};
use super::super::{Offered, Options, Width, build, gate, offered};
use crate::access::Access;
use crate::access::action::Create;
use crate::access::resource::ClassObservation;
use crate::care::gates::DeviceOfTheTrack;
use crate::care::observation::sheet::{Column, Row, plain};
use crate::care::observation::suspect::{Lengths, Which, questions};
use crate::care::observation::{Place, Seen, Setting};
use crate::store::suspect::About;
use crate::store::{Snapshot, journey, sheet, suspect};
use crate::web::error::Result;
use crate::web::form::{Entry as Typed, FormView};
use crate::web::page::Context;
use crate::web::visit::Visit;
use crate::web::words;

/// One row, judged.
pub(super) struct Judged {
    pub(super) line: u64,
    pub(super) day: String,
    pub(super) task: String,
    pub(super) result: String,
    pub(super) outcome: Outcome,
}

/// What becomes of a row.
pub(super) enum Outcome {
    /// It can be added.
    Ready(Box<Ready>),
    /// It is in the record already.
    There,
    /// It needs mending.
    Faulty(Vec<String>),
}

/// What is needed to store a row.
pub(super) struct Ready {
    pub(super) checked: Checked,
    pub(super) device: DeviceOfTheTrack,
    pub(super) about: About,
    pub(super) digest: String,
}

/// A sheet in the hands of one reader.
pub(super) struct Desk<'a> {
    pub(super) context: &'a Context,
    pub(super) visit: &'a Visit,
    pub(super) access: &'a Access<ClassObservation, Create>,
    pub(super) width: Width,
}

/// What the form offers on one day, with its answers by the words people use.
struct Day {
    offered: Offered,
    answers: BTreeMap<&'static str, Options>,
}

impl Desk<'_> {
    /// Judges every row of a sheet.
    pub(super) async fn judge(&self, snapshot: &mut Snapshot, rows: &[Row]) -> Result<Vec<Judged>> {
        let today = snapshot.today();
        let taken = sheet::taken(snapshot, self.access).await?;
        let mut days: BTreeMap<Date, Day> = BTreeMap::new();
        let mut alike: BTreeMap<String, usize> = BTreeMap::new();
        let mut judged = Vec::new();
        for row in rows {
            let day = day_of(row.cell("seen_on")).filter(|day| *day <= today).unwrap_or(today);
            if let Entry::Vacant(first) = days.entry(day) {
                first.insert(self.day(snapshot, day).await?);
            }
            let text = row.text();
            let before = alike.entry(text.clone()).or_insert(0);
            let digest = sheet::digest(&text, *before);
            *before += 1;
            let outcome = match (taken.contains(&digest), days.get(&day)) {
                (true, _) | (_, None) => Outcome::There,
                (false, Some(on)) => self.outcome(snapshot, row, (on, today), digest).await?,
            };
            let short = |field: &str| row.cell(field).chars().take(60).collect::<String>();
            let counted = format!("{} of {}", short("correct"), short("tried"));
            judged.push(Judged {
                line: row.line,
                day: short("seen_on"),
                task: short("task"),
                result: if row.cell("tried").is_empty() { short("result") } else { counted },
                outcome,
            });
        }
        self.doubt(snapshot, &mut judged).await?;
        Ok(judged)
    }

    async fn day(&self, snapshot: &mut Snapshot, day: Date) -> Result<Day> {
        let offered = offered(snapshot, self.visit, (self.width, &Typed::default()), day).await?;
        let form = build(self.context, self.visit, &offered, FormView::default());
        let mut tasks: Options = offered.tasks.iter().map(|task| (task.id.to_string(), task.name.clone())).collect();
        tasks.extend(form.tasks);
        let answers = BTreeMap::from([
            ("task", tasks),
            ("device_out", form.outs),
            ("device", form.devices),
            ("result", form.results),
            ("place", form.places),
            ("contrast", form.contrasts),
            ("target", form.targets),
            ("non_use", form.reasons),
            ("glasses", form.glasses),
            ("help", form.helps),
            ("comfort", form.comforts),
            ("mood", form.moods),
            ("pace", form.paces),
        ]);
        Ok(Day { offered, answers })
    }

    async fn outcome(
        &self,
        snapshot: &mut Snapshot,
        row: &Row,
        (on, today): (&Day, Date),
        digest: String,
    ) -> Result<Outcome> {
        let mut faults: Vec<(Option<&'static Column>, String)> = row.faults.clone();
        let entry = entry(row, on, &mut faults);
        let found = checked(&entry, &on.offered, (today, words::units(self.context)));
        let checked = match found {
            Ok(checked) if faults.is_empty() => checked,
            found => {
                if let Err(said) = found {
                    for (field, words) in said.iter() {
                        let column = Column::of_field(field);
                        // A cell that was refused as such is not told twice.
                        if !faults.iter().any(|(known, _)| known.is_some() && *known == column) {
                            faults.push((column, words.to_owned()));
                        }
                    }
                }
                return Ok(Outcome::Faulty(told(faults)));
            }
        };
        if checked.new.place.map(Place::setting) != Some(Setting::Classroom) {
            let words = "Only what was seen at school can be taken from a sheet. Add the others through the form.";
            return Ok(Outcome::Faulty(told(vec![(Column::of_field("place"), words.to_owned())])));
        }
        let tracks = journey::tracks_on(snapshot, self.access, checked.new.seen_on).await?;
        Ok(match gate(&tracks, checked.named) {
            Ok(device) => {
                let about = on.offered.about(checked.new.seen);
                Outcome::Ready(Box::new(Ready { checked, device, about, digest }))
            }
            Err(blocked) => Outcome::Faulty(told(vec![(Column::of_field("device"), blocked.message)])),
        })
    }

    /// Lengths that may carry another unit, held against the record and against the
    /// other rows of the sheet.
    async fn doubt(&self, snapshot: &mut Snapshot, judged: &mut [Judged]) -> Result<()> {
        let mut doubts: Vec<(usize, Vec<String>)> = Vec::new();
        for (at, one) in judged.iter().enumerate() {
            let Outcome::Ready(ready) = &one.outcome else { continue };
            let new = &ready.checked.new;
            let mut known = suspect::known(snapshot, self.access, (new, ready.about)).await?;
            let others = judged.iter().enumerate().filter(|(other, _)| *other != at);
            for (_, other) in others {
                if let Outcome::Ready(other) = &other.outcome
                    && same_thing((new.seen, &new.what), (other.checked.new.seen, &other.checked.new.what))
                {
                    known.add(&Lengths::of(&other.checked.new, other.about.track));
                }
            }
            let asked: Vec<String> = questions(&Lengths::of(new, ready.about.track), &known)
                .iter()
                .map(|question| {
                    let head = head_of(question.which);
                    format!("{head}: {} The units seem mixed. Write the one that is meant; if it is right as it stands, add this entry through the form.", question.words())
                })
                .collect();
            if !asked.is_empty() {
                doubts.push((at, asked));
            }
        }
        for (at, words) in doubts {
            judged[at].outcome = Outcome::Faulty(words);
        }
        Ok(())
    }
}

fn head_of(which: Which) -> &'static str {
    match which {
        Which::Distance => "Distance",
        Which::XHeight => "Letter height",
    }
}

fn same_thing(one: (Seen, &str), other: (Seen, &str)) -> bool {
    match (one.0, other.0) {
        (Seen::Task(one), Seen::Task(other)) => one == other,
        (Seen::Kind(_), Seen::Kind(_)) => one == other,
        _ => false,
    }
}

/// Faults in the order of the columns, each below the head of its own.
fn told(faults: Vec<(Option<&'static Column>, String)>) -> Vec<String> {
    let many = faults.iter().filter(|(column, _)| column.is_some()).count();
    let mut told: Vec<String> = faults
        .into_iter()
        .map(|(column, words)| column.map_or_else(|| words.clone(), |column| format!("{}: {words}", column.head)))
        .collect();
    if many > 2 {
        told.push("Several cells of this row do not fit their columns. They may be shifted.".to_owned());
    }
    told
}

/// The fields of the form from the cells of a row.
fn entry(row: &Row, on: &Day, faults: &mut Vec<(Option<&'static Column>, String)>) -> Typed {
    let mut entry = Typed::default();
    for (column, text) in &row.cells {
        match on.answers.get(column.field) {
            Some(answers) => match answer(answers, text) {
                Some(code) => entry.set(column.field, code),
                None => faults.push((Some(column), none_of(answers, text))),
            },
            None if column.field == "seen_on" => {
                let day = day_of(text).map_or_else(|| text.clone(), |day| day.to_string());
                entry.set("seen_on", day);
            }
            None => entry.set(column.field, text.clone()),
        }
    }
    if entry.get("seen_on").is_empty() && !faults.iter().any(|(of, _)| of.is_some_and(|of| of.field == "seen_on")) {
        faults.push((Column::of_field("seen_on"), "Write the day, for example 2026-09-14.".to_owned()));
    }
    if entry.get("place").is_empty() {
        entry.set("place", Place::OwnClass.code());
    }
    entry
}

/// The answer that a cell names: its code, its words, or their beginning up to the
/// first comma where only one begins so.
fn answer(answers: &Options, text: &str) -> Option<String> {
    let said = plain(text);
    let head = |words: &str| plain(words.split(',').next().unwrap_or_default());
    let exact =
        answers.iter().find(|(code, words)| *code == said || plain(words) == said || code.replace('_', " ") == said);
    let mut begins = answers.iter().filter(|(_, words)| head(words) == said);
    let only = begins.next().filter(|_| begins.next().is_none());
    exact.or(only).map(|(code, _)| code.clone())
}

/// No more answers than these are told; more are on the page.
const TOLD: usize = 8;

fn none_of(answers: &Options, text: &str) -> String {
    let short: String = text.chars().take(60).collect();
    let listed: Vec<&str> = answers.iter().map(|(_, words)| words.as_str()).take(TOLD).collect();
    let more = if answers.len() > TOLD { ", or another one that the form lists" } else { "" };
    if listed.is_empty() {
        return format!("\u{201c}{short}\u{201d} is not in hand that day.");
    }
    format!("\u{201c}{short}\u{201d} is none of: {}{more}.", listed.join("; "))
}

/// A day as 2026-09-14 or 14 September 2026; with slashes it could be two days, so
/// it is none.
fn day_of(text: &str) -> Option<Date> {
    let text = text.trim();
    let iso = (text.len() == 10).then(|| text.parse().ok()).flatten();
    let written = |form: &str| Date::strptime(form, text).ok();
    iso.or_else(|| written("%d %B %Y")).or_else(|| written("%d %b %Y")).or_else(|| written("%d.%m.%Y"))
}

/// The answers that the form lists for each column, for the page.
pub(super) fn answers_on_page(desk: &Desk<'_>, offered: &Offered) -> Vec<(&'static str, Vec<String>)> {
    let form = build(desk.context, desk.visit, offered, FormView::default());
    let words = |options: Options| options.into_iter().map(|(_, words)| words).collect::<Vec<_>>();
    let names = offered.tasks.iter().map(|task| task.name.clone()).filter(|name| !name.is_empty());
    let kinds = offered.kinds.iter().map(|code| words::capital(code.words()));
    vec![
        ("task", names.chain(kinds).collect()),
        ("device_out", words(form.outs)),
        ("device", words(form.devices)),
        ("result", words(form.results)),
        (
            "place",
            offered
                .places
                .iter()
                .filter(|place| place.setting() == Setting::Classroom)
                .map(|place| words::capital(place.words()))
                .collect(),
        ),
        ("contrast", words(form.contrasts)),
        ("target", words(form.targets)),
        ("non_use", words(form.reasons)),
        ("glasses", words(form.glasses)),
        ("help", words(form.helps)),
        ("comfort", words(form.comforts)),
        ("mood", words(form.moods)),
        ("pace", words(form.paces)),
    ]
}
