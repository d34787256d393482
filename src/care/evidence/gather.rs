//! Which entries count, and what goes into the model?
//!
//! One pool for each track: the axis of the distance track is the angle of the
//! letters from where the student stands, that of the near track the size of the
//! print. What is told of one entry is in `seen.rs`, how entries are put together
//! in `lines.rs`, what the tasks ask in `tasks.rs`.

mod lines;
mod seen;
mod tasks;

use std::collections::BTreeMap;

use jiff::civil::Date;

use self::seen::Kept;
use super::assumed::{Assumed, assumed};
use super::{Contrast, Device, DeviceKey, Entry, Known, Left, Source, left_out};
use crate::care::ids::VisualTaskId;
use crate::care::observation::{DeviceOut, NonUse, Setting};
use crate::care::sight::Sight;
use crate::care::task::{self, VisualTask};
use crate::care::track::Track;
use crate::vision::stats::Refused;
use crate::vision::stats::everyday::task::Task;
use crate::vision::stats::everyday::{self, Observation, Posterior, Prior, Saw};
use crate::vision::units::Metres;

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
    /// The entries that say how it felt.
    pub felt: Vec<Source>,
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

/// What was counted of one task with one device.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Tallied {
    /// Right ones.
    pub right: u32,
    /// Of so many tried.
    pub tried: u32,
    /// The entries behind it.
    pub entries: Vec<Source>,
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
    /// What was counted of each task in each column, whatever size was entered.
    pub tallies: BTreeMap<(VisualTaskId, usize), Tallied>,
    /// How often each answer to "device out?" was not "yes".
    pub not_out: BTreeMap<DeviceOut, usize>,
    /// Why it stayed away, each apart.
    pub reasons: BTreeMap<NonUse, usize>,
    /// Sessions that the student refused.
    pub refused_sessions: usize,
    /// The distance of the usual seat, or the middle one of the entries that count.
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
                .and_then(|column| seen::seen(track, entry).map(|seen| Kept { entry, column, seen })),
        };
        match why {
            Ok(one) => kept.push(one),
            Err(why) => left.entry(why).or_default().push(entry.source),
        }
    }
    let held = middle(kept.iter().filter(|one| one.column == 0).filter_map(|one| one.entry.distance).collect());
    let mut columns: Vec<Column> = std::iter::once(None)
        .chain(devices.iter().cloned().map(Some))
        .map(|device| Column {
            assumed: match device.as_ref().map(Device::in_hand) {
                None => assumed(track, None, question.sight, held),
                Some(Some(in_hand)) => assumed(track, Some(&in_hand), question.sight, held),
                // What it is may not be read here.
                Some(None) => Assumed::nothing(),
            },
            device,
            comfort: BTreeMap::new(),
            felt: Vec::new(),
        })
        .collect();
    for entry in mine.iter().filter(|entry| !entry.in_error) {
        if let Some((words, column)) = entry.comfort.zip(of_device(entry.device)) {
            *columns[column].comfort.entry(words).or_default() += 1;
            columns[column].felt.push(entry.source);
        }
    }
    let (sized, unsized_tasks) = tasks::sized(question);
    let lines = lines::lines(&columns, &kept, &sized);
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
        usual: usual(question, &mine, &kept),
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

/// Devices of the track that were used or are at hand: lent, then own, by the
/// day they came.
fn devices(question: &Question<'_>, mine: &[&Entry]) -> Vec<Device> {
    let last = |key: DeviceKey| {
        let used = mine.iter().filter(|entry| entry.device == Some(key) && !entry.in_error);
        used.map(|entry| entry.on).max()
    };
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

fn middle(mut lengths: Vec<Metres>) -> Option<Metres> {
    lengths.sort();
    lengths.get(lengths.len() / 2).copied()
}

/// The first seat; without one the middle of what counts, so that what stands in
/// no figure moves no height that is told.
fn usual(question: &Question<'_>, mine: &[&Entry], kept: &[Kept<'_>]) -> Option<Metres> {
    let seat = question.seats.first().map(|seat| seat.what.distance.value);
    let seat = seat.filter(|_| question.track == Track::Distance);
    let of_kept = || middle(kept.iter().filter_map(|one| one.entry.distance).collect());
    seat.or_else(of_kept).or_else(|| middle(mine.iter().filter_map(|entry| entry.distance).collect()))
}

fn tallies(kept: &[Kept<'_>]) -> BTreeMap<(VisualTaskId, usize), Tallied> {
    let mut found: BTreeMap<(VisualTaskId, usize), Tallied> = BTreeMap::new();
    for one in kept {
        if let (Some(task), Saw::Tally(tally)) = (one.entry.task, one.seen.saw) {
            let sum = found.entry((task, one.column)).or_default();
            sum.right += tally.right();
            sum.tried += tally.tried();
            sum.entries.push(one.entry.source);
        }
    }
    found
}
