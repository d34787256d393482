//! Which entries count, and what goes into the model?
//!
//! One pool for each track: the axis of the distance track is the angle of the
//! letters from where the student stands, that of the near track the size of the
//! print. A device in one contrast is a line of its own, each setting in it a
//! cell. Two adults who tallied the same task at the same size on one day saw one
//! session: each counts half.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::assumed::{Assumed, assumed};
use super::{Contrast, Device, DeviceKey, Entry, Known, Left, Source, left_out};
use crate::care::ids::VisualTaskId;
use crate::care::observation::{DeviceOut, Graded, NonUse, Outcome, Setting};
use crate::care::sight::{Sight, board_across, looked_from};
use crate::care::task::{self, ContrastClass, TargetClass, VisualTask};
use crate::care::track::Track;
use crate::vision::acuity::LogMar;
use crate::vision::acuity::near::MUnits;
use crate::vision::demand::{BoardDemand, on_board};
use crate::vision::stats::Refused;
use crate::vision::stats::everyday::task::Task;
use crate::vision::stats::everyday::{self, Guess, Observation, Posterior, Prior, Saw, print_demand};
use crate::vision::stats::observing::{Tally, Word, field_demand};
use crate::vision::units::{Metres, Millimetres};

/// How many items make one go at a task, where nobody says. Common practice.
pub const WANTED_ITEMS: u32 = 10;

/// The devices that are compared, the last ones used; "none" is one more.
const MOST_DEVICES: usize = 11;

/// What is asked about one track.
pub struct Question<'a> {
    /// The track.
    pub track: Track,
    /// What is known.
    pub known: &'a Known,
    /// How the student sees, by the clinic.
    pub sight: &'a Sight,
    /// What the student must see.
    pub tasks: &'a [VisualTask],
    /// The seats.
    pub seats: &'a [task::Seat],
}

/// Looking without a device, or with one.
#[derive(Clone, PartialEq)]
pub struct Column {
    /// The device; none, without.
    pub device: Option<Device>,
    /// What is assumed of it for high contrast.
    pub assumed: Assumed,
    /// How it felt: the words, and how often.
    pub comfort: BTreeMap<&'static str, usize>,
}

impl Column {
    /// The device's key; none, without a device.
    #[must_use]
    pub fn key(&self) -> Option<DeviceKey> {
        self.device.as_ref().map(|device| device.key)
    }
}

/// A device in one contrast: what the model calls a device.
#[derive(Clone, PartialEq)]
pub struct Line {
    /// The place of its column.
    pub column: usize,
    /// Which contrast.
    pub contrast: Contrast,
    /// What is assumed.
    pub prior: Prior,
    /// Its cells: settings with entries, settings of tasks, and one of no setting.
    pub cells: Vec<Cell>,
    /// How it is called in the lines to recompute.
    pub name: String,
}

/// One setting of a line.
#[derive(Clone, PartialEq)]
pub struct Cell {
    /// The setting; none, any that was never seen.
    pub setting: Option<Setting>,
    /// What was seen.
    pub observations: Vec<Observation>,
    /// The entries behind it, in the same order.
    pub entries: Vec<Source>,
}

impl Line {
    /// How a cell is called in the lines to recompute.
    #[must_use]
    pub fn cell_name(&self, cell: usize) -> String {
        let setting = self.cells.get(cell).and_then(|cell| cell.setting).map_or("elsewhere", Setting::code);
        format!("{}/{setting}", self.name)
    }

    /// The place of a setting's cell.
    #[must_use]
    pub fn place(&self, setting: Option<Setting>) -> Option<usize> {
        self.cells.iter().position(|cell| cell.setting == setting)
    }

    /// Whether anything was seen.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        self.cells.iter().any(|cell| !cell.entries.is_empty())
    }
}

/// A task that has a size.
#[derive(Clone, PartialEq)]
pub struct Sized {
    /// Which, in the list of tasks.
    pub task: usize,
    /// What it asks.
    pub asks: Task,
    /// Which contrast it is judged in.
    pub contrast: Contrast,
    /// Where it is met; none, in several places.
    pub setting: Option<Setting>,
}

/// Everything of one track, and what the model makes of it.
pub struct Gathered {
    /// The track.
    pub track: Track,
    /// Without a device, then lent ones, then own ones.
    pub columns: Vec<Column>,
    /// The lines of the model.
    pub lines: Vec<Line>,
    /// The posterior; none where the model refuses.
    pub posterior: Result<Posterior, Refused>,
    /// Tasks with a size.
    pub sized: Vec<Sized>,
    /// Tasks without one, by place in the list of tasks.
    pub unsized_tasks: Vec<usize>,
    /// Entries that count nowhere, by reason.
    pub left: BTreeMap<Left, Vec<Source>>,
    /// Entries that stand in a figure.
    pub counted: usize,
    /// Right of tried, by task and column, whatever size was entered.
    pub tallies: BTreeMap<(VisualTaskId, usize), (u32, u32)>,
    /// How often each answer to "device out?" was not "yes".
    pub not_out: BTreeMap<DeviceOut, usize>,
    /// Why it stayed away, each apart.
    pub reasons: BTreeMap<NonUse, usize>,
    /// Sessions that the student refused.
    pub refused_sessions: usize,
    /// The distance of the usual seat, or the middle one of the entries.
    pub usual: Option<Metres>,
}

/// Gathers one track.
#[must_use]
pub fn gather(question: &Question<'_>) -> Gathered {
    let track = question.track;
    let mine: Vec<&Entry> = question.known.entries.iter().filter(|entry| entry.track == Some(track)).collect();
    let devices = devices(question, &mine);
    let of_device = |key: Option<DeviceKey>| match key {
        None => Some(0),
        Some(key) => devices.iter().position(|device| device.key == key).map(|place| place + 1),
    };
    let mut left: BTreeMap<Left, Vec<Source>> = BTreeMap::new();
    let mut kept: Vec<Kept<'_>> = Vec::new();
    for entry in &mine {
        let why = match left_out(entry) {
            Some(why) => Err(why),
            None => of_device(entry.device)
                .ok_or(Left::OlderDevice)
                .and_then(|column| seen(track, entry).map(|seen| Kept { entry, column, seen })),
        };
        match why {
            Ok(one) => kept.push(one),
            Err(why) => left.entry(why).or_default().push(entry.source),
        }
    }
    let held = middle(kept.iter().filter(|one| one.column == 0).filter_map(|one| one.entry.distance).collect());
    let columns: Vec<Column> = std::iter::once(None)
        .chain(devices.iter().cloned().map(Some))
        .enumerate()
        .map(|(place, device)| Column {
            assumed: assumed(track, device.as_ref(), question.sight, held),
            device,
            comfort: comfort(&mine, |entry| of_device(entry.device) == Some(place)),
        })
        .collect();
    let (sized, unsized_tasks) = sized(question);
    let lines = lines(&columns, &kept, &sized);
    let model: Vec<everyday::Device> = lines
        .iter()
        .map(|line| everyday::Device {
            prior: line.prior,
            settings: line.cells.iter().map(|cell| cell.observations.clone()).collect(),
        })
        .collect();
    let mut gathered = Gathered {
        track,
        posterior: everyday::everyday(&model),
        columns,
        lines,
        sized,
        unsized_tasks,
        left,
        counted: kept.len(),
        tallies: tallies(&kept),
        not_out: BTreeMap::new(),
        reasons: BTreeMap::new(),
        refused_sessions: question.known.refused.iter().filter(|refused| refused.track == track).count(),
        usual: usual(question, &mine),
    };
    for entry in mine.iter().filter(|entry| !entry.in_error) {
        if !matches!(entry.device_out, DeviceOut::Yes | DeviceOut::NotNeeded) {
            *gathered.not_out.entry(entry.device_out).or_default() += 1;
        }
        if let Some(reason) = entry.non_use {
            *gathered.reasons.entry(reason).or_default() += 1;
        }
    }
    gathered
}

/// An entry that counts, and what the model is told of it.
struct Kept<'a> {
    entry: &'a Entry,
    column: usize,
    seen: Seen,
}

#[derive(Clone, Copy)]
struct Seen {
    size: LogMar,
    guess: Guess,
    saw: Saw,
    contrast: Contrast,
}

/// Where a print size, or letters at a distance, stand on the axis of a track.
fn size(track: Track, x_height: Millimetres, distance: Metres) -> Option<LogMar> {
    let found = match track {
        Track::Distance => field_demand(x_height.in_metres(), distance),
        Track::Near => MUnits::of_height(x_height).and_then(print_demand),
    };
    found.ok()
}

/// How often a guess is right; none where it depends on a number nobody gave.
fn guess(target: Option<TargetClass>, choices: Option<i64>) -> Option<Guess> {
    match target {
        Some(TargetClass::Letters) => Some(Guess::LETTERS),
        Some(TargetClass::Digits) => Some(Guess::DIGITS),
        Some(TargetClass::Choice) => {
            choices.and_then(|choices| u32::try_from(choices).ok()).and_then(|m| Guess::one_of(m).ok())
        }
        // Nobody guesses a word or a face; what was not said is taken for words.
        Some(TargetClass::Words | TargetClass::Pictures) | None => Some(Guess::OPEN),
    }
}

const fn contrast(class: Option<ContrastClass>) -> Contrast {
    match class {
        Some(ContrastClass::Medium | ContrastClass::Low) => Contrast::Lower,
        Some(ContrastClass::High) | None => Contrast::High,
    }
}

fn seen(track: Track, entry: &Entry) -> Result<Seen, Left> {
    let (tall, far) = entry.x_height.zip(entry.distance).ok_or(Left::NoSize)?;
    let size = size(track, tall, far).ok_or(Left::OffScale)?;
    let guess = guess(entry.target, entry.choices).ok_or(Left::NoChoices)?;
    let saw = match entry.outcome {
        Outcome::Counted { right, tried } => {
            let counts = u32::try_from(right).ok().zip(u32::try_from(tried).ok()).ok_or(Left::OffScale)?;
            Saw::Tally(Tally::new(counts.0, counts.1).map_err(|_| Left::OffScale)?)
        }
        Outcome::Graded(Graded::All) => Saw::Word(Word::All, None),
        Outcome::Graded(Graded::Most) => Saw::Word(Word::Most, None),
        Outcome::Graded(Graded::Some) => Saw::Word(Word::Some, None),
        Outcome::Graded(Graded::None) => Saw::Word(Word::None, None),
        Outcome::Graded(Graded::NotSure) => return Err(Left::NotSure),
        Outcome::Graded(Graded::DidNotTry) => return Err(Left::Refused),
    };
    // Off the scale of the model is off the scale of what can be right.
    Observation::new(size, guess, 0, saw).map_err(|_| Left::OffScale)?;
    Ok(Seen { size, guess, saw, contrast: contrast(entry.contrast) })
}

/// Devices of the track that were used or are at hand: lent, then own, by the
/// day they came.
fn devices(question: &Question<'_>, mine: &[&Entry]) -> Vec<Device> {
    let last = |key: DeviceKey| mine.iter().filter(|entry| entry.device == Some(key)).map(|entry| entry.on).max();
    let mut found: Vec<(Option<Date>, Device)> = question
        .known
        .devices
        .iter()
        .filter(|device| device.track == question.track)
        .map(|device| (last(device.key), device.clone()))
        .filter(|(used, device)| used.is_some() || device.at_hand)
        .collect();
    // The last ones used, and what is at hand now.
    found.sort_by_key(|(used, device)| std::cmp::Reverse((device.at_hand, *used, device.key)));
    found.truncate(MOST_DEVICES);
    let mut devices: Vec<Device> = found.into_iter().map(|(_, device)| device).collect();
    devices.sort_by_key(|device| (matches!(device.key, DeviceKey::Own(_)), device.from, device.key));
    devices
}

fn comfort(mine: &[&Entry], is_of: impl Fn(&Entry) -> bool) -> BTreeMap<&'static str, usize> {
    let mut felt = BTreeMap::new();
    for words in mine.iter().filter(|entry| !entry.in_error && is_of(entry)).filter_map(|entry| entry.comfort) {
        *felt.entry(words).or_default() += 1;
    }
    felt
}

fn middle(mut lengths: Vec<Metres>) -> Option<Metres> {
    lengths.sort();
    lengths.get(lengths.len() / 2).copied()
}

fn usual(question: &Question<'_>, mine: &[&Entry]) -> Option<Metres> {
    let seat = question.seats.first().map(|seat| seat.what.distance.value);
    let seat = seat.filter(|_| question.track == Track::Distance);
    seat.or_else(|| middle(mine.iter().filter_map(|entry| entry.distance).collect()))
}

fn tallies(kept: &[Kept<'_>]) -> BTreeMap<(VisualTaskId, usize), (u32, u32)> {
    let mut found: BTreeMap<(VisualTaskId, usize), (u32, u32)> = BTreeMap::new();
    for one in kept {
        if let (Some(task), Saw::Tally(tally)) = (one.entry.task, one.seen.saw) {
            let sum = found.entry((task, one.column)).or_default();
            sum.0 += tally.right();
            sum.1 += tally.tried();
        }
    }
    found
}

/// Where a task is met, as far as its kind or its seat says.
fn met_in(task: &VisualTask) -> Option<Setting> {
    use crate::care::task::TaskCode as Kind;
    if task.what.seat.is_some() || task.what.code.is_of_school() {
        return Some(Setting::Classroom);
    }
    match task.what.code {
        Kind::BusNumber
        | Kind::BusStopSign
        | Kind::StreetName
        | Kind::TrafficSignalWatch
        | Kind::ShopAisleSign
        | Kind::ShopMenuBoard
        | Kind::PriceLabel => Some(Setting::Community),
        code if code.is_of_home() => Some(Setting::Home),
        _ => None,
    }
}

/// The tasks that have a size on the axis, and those that have none.
fn sized(question: &Question<'_>) -> (Vec<Sized>, Vec<usize>) {
    let (mut found, mut without) = (Vec::new(), Vec::new());
    for (place, task) in question.tasks.iter().enumerate().filter(|(_, task)| task.what.track == question.track) {
        match asks(question, task) {
            Some(asks) => found.push(Sized {
                task: place,
                asks,
                contrast: contrast(task.what.marker.map(task::Marker::contrast_class)),
                setting: met_in(task),
            }),
            None => without.push(place),
        }
    }
    (found, without)
}

fn asks(question: &Question<'_>, task: &VisualTask) -> Option<Task> {
    let tall = task.what.x_height.as_ref()?.value;
    let size = match question.track {
        Track::Near => print_demand(MUnits::of_height(tall).ok()?).ok()?,
        Track::Distance => {
            let seat = question.seats.iter().find(|seat| Some(seat.id) == task.what.seat);
            let from = looked_from(task, seat).ok()?;
            match on_board(tall.in_metres(), from, board_across(task, seat)).ok()? {
                BoardDemand::Seen(letter) => letter.working_demand(),
                BoardDemand::MoveTheSeat { .. } => return None,
            }
        }
    };
    let guess = guess(Some(task.what.target), task.what.choices)?;
    let asks = Task { size, guess, items: WANTED_ITEMS, wanted: super::WANTED };
    // A size off the scale of the model is told as none.
    Observation::new(size, guess, 0, Saw::Word(Word::All, None)).ok().map(|_| asks)
}

/// Numbers the sessions: one day, setting and observer each.
#[derive(Default)]
struct Sessions(BTreeMap<(Date, Setting, String), u64>);

impl Sessions {
    fn number(&mut self, entry: &Entry) -> u64 {
        let who = match entry.source {
            Source::Observation(_) => entry.by.to_string(),
            Source::Exercise(session, _) => session.to_string(),
        };
        let next = self.0.len() as u64 + 1;
        *self.0.entry((entry.on, entry.setting, who)).or_insert(next)
    }
}

/// How many adults tallied the same task at the same size on the same day.
fn observers(kept: &[Kept<'_>], one: &Kept<'_>) -> usize {
    let Some(task) = one.entry.task.filter(|_| matches!(one.entry.source, Source::Observation(_))) else { return 1 };
    let same = |other: &&Kept<'_>| {
        other.entry.task == Some(task)
            && other.entry.on == one.entry.on
            && other.entry.setting == one.entry.setting
            && other.column == one.column
            && other.seen.size == one.seen.size
            && matches!(other.entry.source, Source::Observation(_))
    };
    kept.iter().filter(same).map(|other| other.entry.by).collect::<BTreeSet<_>>().len().max(1)
}

fn lines(columns: &[Column], kept: &[Kept<'_>], sized: &[Sized]) -> Vec<Line> {
    let mut sessions = Sessions::default();
    let mut found: BTreeMap<(usize, Contrast, Setting), Vec<(Observation, Source)>> = BTreeMap::new();
    let by_task = same_day(kept);
    for one in kept {
        let weight = match by_task.contains(&one.entry.source) {
            true => 1.0 / observers(kept, one) as f64,
            false => 1.0,
        };
        let session = sessions.number(one.entry);
        let seen = Observation::new(one.seen.size, one.seen.guess, session, one.seen.saw)
            .and_then(|seen| if weight < 1.0 { seen.weighing(weight) } else { Ok(seen) });
        if let Ok(seen) = seen {
            let cell = (one.column, one.seen.contrast, one.entry.setting);
            found.entry(cell).or_default().push((seen, one.entry.source));
        }
    }
    let mut lines = Vec::new();
    for (place, column) in columns.iter().enumerate() {
        for contrast in Contrast::ALL {
            let asked: BTreeSet<Option<Setting>> =
                sized.iter().filter(|task| task.contrast == *contrast).map(|task| task.setting).collect();
            let mut cells: Vec<Cell> = Vec::new();
            for setting in Setting::ALL {
                let seen = found.remove(&(place, *contrast, *setting)).unwrap_or_default();
                if !seen.is_empty() || asked.contains(&Some(*setting)) {
                    let (observations, entries) = seen.into_iter().unzip();
                    cells.push(Cell { setting: Some(*setting), observations, entries });
                }
            }
            if asked.contains(&None) || (cells.is_empty() && *contrast == Contrast::High) {
                cells.push(Cell { setting: None, observations: Vec::new(), entries: Vec::new() });
            }
            if !cells.is_empty() {
                lines.push(line(place, column, *contrast, cells));
            }
        }
    }
    lines
}

fn line(place: usize, column: &Column, contrast: Contrast, cells: Vec<Cell>) -> Line {
    let (prior, faint) = match contrast {
        Contrast::High => (column.assumed.prior, ""),
        Contrast::Lower => (column.assumed.prior.at_low_contrast().unwrap_or(column.assumed.prior), "-lower"),
    };
    let name = if place == 0 { format!("none{faint}") } else { format!("device-{place}{faint}") };
    Line { column: place, contrast, prior, cells, name }
}

/// Entries of a day on which another adult saw the same task, so that only these
/// are held against each other: the list stays linear in the entries.
fn same_day(kept: &[Kept<'_>]) -> BTreeSet<Source> {
    let mut by: BTreeMap<(Date, VisualTaskId), BTreeSet<crate::care::ids::AccountId>> = BTreeMap::new();
    let key = |one: &Kept<'_>| Some((one.entry.on, one.entry.task?));
    for one in kept {
        if let Some(key) = key(one) {
            by.entry(key).or_default().insert(one.entry.by);
        }
    }
    let several = |one: &&Kept<'_>| key(one).and_then(|key| by.get(&key)).is_some_and(|who| who.len() > 1);
    kept.iter().filter(several).map(|one| one.entry.source).collect()
}
