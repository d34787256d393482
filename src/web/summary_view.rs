//! The figures of a summary as tables, in the reader's units: used by the draft,
//! the preview, the sent summary and the review alike.
//!
//! Every rate stands with its count and interval, or says why there is none.
//! Does not know who reads; nothing is shown that the figures do not hold.

use askama::Template;
use askama::filters::HtmlSafe;
use jiff::civil::Date;

use super::outside::{self, Asked};
use super::page::Context;
use super::{part, words};
use crate::care::observation::{Comfort, DeviceOut, NonUse};
use crate::care::summary::{
    Counts, ENOUGH, Figures, LEAST_DATES, LEAST_SESSIONS, PROMPT_SESSIONS, Range, Setting, Tally, TaskFigures,
    Unanswered,
};
use crate::care::training::Symptom;
use crate::vision::units::Metres;

/// The figures of a summary, ready to be printed into a page.
#[derive(Template)]
#[template(path = "summaries/figures.html")]
pub struct FiguresView {
    totals: Vec<(String, String)>,
    few: bool,
    left_out: String,
    devices: part::Table,
    tasks: part::Table,
    skills: part::Table,
    prompts: String,
    outside: Vec<(String, String)>,
    reasons: part::Table,
    comfort: part::Table,
    changes: part::Table,
    quotes: Vec<QuoteLine>,
    quotes_more: String,
    sessions: part::Table,
    without_track: String,
    unanswered: Vec<String>,
    how: part::How,
}

impl HtmlSafe for FiguresView {}

struct QuoteLine {
    who: String,
    mark: part::Mark,
    words: String,
}

/// Prepares figures for a reader.
pub fn view(figures: &Figures, context: &Context) -> FiguresView {
    FiguresView {
        totals: totals(figures),
        few: figures.few(),
        left_out: words::list(&figures.left_out),
        devices: devices(figures),
        tasks: tasks(figures, context),
        skills: skills(figures),
        prompts: prompts(figures),
        outside: outside(figures),
        reasons: reasons(figures, "Why the device was not used"),
        comfort: comfort(figures, "Comfort and symptoms"),
        changes: changes(figures, "Changes tried"),
        quotes: figures
            .quotes
            .iter()
            .map(|quote| QuoteLine {
                who: format!("{}, {}", words::capital(quote.by.words()), words::date(quote.on)),
                mark: part::mark(quote.setting.code()),
                words: quote.words.clone(),
            })
            .collect(),
        quotes_more: quotes_more(figures.quotes_more),
        sessions: sessions(figures),
        without_track: without_track(figures),
        unanswered: unanswered(figures),
        how: how(figures),
    }
}

fn counted(number: u32, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

fn totals(figures: &Figures) -> Vec<(String, String)> {
    // G5: how often the order was left, and why, stands in the list of sessions.
    let out_of_order = figures.session_list.iter().filter(|session| !session.order_reason.is_empty()).count();
    let mut totals = vec![
        ("Track".to_owned(), words::capital(figures.track.words())),
        ("Days counted".to_owned(), range_of_days(figures.from, Some(figures.to))),
        (
            "Sessions".to_owned(),
            format!(
                "{} on {}, {} minutes together",
                counted(figures.sessions, "session", "sessions"),
                counted(figures.session_dates, "date", "dates"),
                figures.minutes
            ),
        ),
    ];
    if out_of_order > 0 {
        let sessions = counted(u32::try_from(out_of_order).unwrap_or(u32::MAX), "session", "sessions");
        totals.push(("A later skill first, with a reason".to_owned(), sessions));
    }
    totals
}

fn range_of_days(from: Date, to: Option<Date>) -> String {
    match to {
        Some(to) if to == from => words::date(from),
        Some(to) => format!("{} to {}", words::date(from), words::date(to)),
        None => format!("since {}", words::date(from)),
    }
}

fn devices(figures: &Figures) -> part::Table {
    let mut table = part::table("Devices used")
        .column("Device")
        .column("Tag")
        .column("Whose")
        .column("With the student")
        .number("Sessions")
        .number("Minutes")
        .none("No device was used on these days.");
    for device in &figures.devices {
        let tag = if device.tag.is_empty() { "none shown".to_owned() } else { device.tag.clone() };
        let whose = if device.own { "the student\u{2019}s own" } else { "on loan" };
        table.push([
            words::capital(&device.device),
            tag,
            whose.to_owned(),
            range_of_days(device.from, device.to),
            device.sessions.to_string(),
            device.minutes.to_string(),
        ]);
    }
    table
}

/// The counts and the rate with its interval.
pub fn rate(counts: &Counts) -> String {
    match (counts.tried, counts.interval_95) {
        (0, _) => "none counted".to_owned(),
        (tried, Some((low, high))) => format!(
            "{} of {tried} right, {:.0}\u{a0}% ({:.0} to {:.0}\u{a0}%)",
            counts.right,
            // A half goes up, as people round; printing alone would round it to even.
            (100.0 * f64::from(counts.right) / f64::from(tried)).round(),
            (100.0 * low).round(),
            (100.0 * high).round()
        ),
        (tried, None) => format!("{} of {tried} right; not enough yet for a rate", counts.right),
    }
}

/// The line to recompute a rate and its interval, where they are told.
fn rate_asked(counts: &Counts) -> Option<Asked> {
    let (low, high) = counts.interval_95?;
    let told = |share: f64| format!("{:.0}", (100.0 * share).round());
    let (low, high) = (told(low), told(high));
    let rate = (100.0 * f64::from(counts.right) / f64::from(counts.tried)).round();
    let asked = outside::success(counts.right, counts.tried, &format!("{low} to {high} %"), &format!("{high} %"));
    Some(asked.gives("rate", &format!("{rate:.0} %")))
}

/// How the rates that stand side by side came about, each with its line.
pub fn matrix_how(figures: &Figures) -> part::How {
    part::how(&[
        "Right of tried, without help, as the summary froze it. The interval is Wilson's, 95 in 100; below 5 tried no rate is told (common practice). Items of one day are not independent, so the true interval is wider.",
    ])
    .source("Wilson 1927 (from memory), recomputed independently")
    .asks_all(figures.tasks.iter().filter_map(|task| rate_asked(&task.counts)))
}

/// What a device is called in a table; without one, that.
pub fn with(device: &str) -> String {
    if device.is_empty() { "Without a device".to_owned() } else { words::capital(device) }
}

fn lengths(range: Option<Range>, told: impl Fn(f64) -> String) -> String {
    match range {
        None => "not said".to_owned(),
        Some(range) if range.is_one() => told(range.low),
        Some(range) => format!("{} to {}", told(range.low), told(range.high)),
    }
}

fn told_distance(metres: f64, context: &Context) -> String {
    Metres::new(metres).map_or_else(|_| "not said".to_owned(), |metres| words::distance(metres, context))
}

fn told_height(millimetres: f64, context: &Context) -> String {
    Metres::new(millimetres / 1_000.0).map_or_else(|_| "not said".to_owned(), |height| words::height(height, context))
}

fn tasks(figures: &Figures, context: &Context) -> part::Table {
    let mut table = part::table("Tasks, by setting, with and without a device")
        .note("Without help only. What people entered. Not a test result.")
        .column("Task")
        .column("Where")
        .column("Device")
        .column("Right of tried (95 % interval)")
        .number("Entries")
        .column("Not in the rate")
        .column("Distance")
        .column("Small letters")
        .none("Nothing was entered about a task of this track on these days.");
    for task in &figures.tasks {
        table.push([
            part::Cell::from(words::capital(&task.task)),
            part::Cell::mark(task.setting.code()),
            with(&task.device).into(),
            rate(&task.counts).into(),
            task.counts.entries.to_string().into(),
            beside(task).into(),
            lengths(task.distance_m, |metres| told_distance(metres, context)).into(),
            lengths(task.x_height_mm, |height| told_height(height, context)).into(),
        ]);
    }
    table
}

fn skills(figures: &Figures) -> part::Table {
    let mut table = part::table("Skills in training")
        .column("Skill")
        .column("How")
        .column("Without a prompt, right of tried (95 % interval)")
        .number("Exercises")
        .column("Found with help")
        .none("No exercises on these days.");
    for skill in &figures.skills {
        let helped = if skill.helped_tried == 0 {
            "none".to_owned()
        } else {
            format!("{} of {}", skill.helped_right, skill.helped_tried)
        };
        table.push([
            words::capital(skill.skill.words()),
            skill.trial.words().to_owned(),
            rate(&skill.unprompted),
            skill.unprompted.entries.to_string(),
            helped,
        ]);
    }
    table
}

fn prompts(figures: &Figures) -> String {
    let prompts = &figures.prompts;
    let n = counted(prompts.sessions, "session", "sessions");
    match (prompts.median_first_3, prompts.median_last_3, prompts.median_all) {
        (Some(first), Some(last), _) => format!(
            "Median prompt level {first} in the first {PROMPT_SESSIONS} sessions and {last} in the last {PROMPT_SESSIONS}, of {n}. 0 is hand over hand, 5 is no prompt."
        ),
        (_, _, Some(all)) => format!(
            "Median prompt level {all} in {n}. 0 is hand over hand, 5 is no prompt. Not enough yet to compare the first {PROMPT_SESSIONS} with the last {PROMPT_SESSIONS}: that needs {} sessions.",
            2 * PROMPT_SESSIONS
        ),
        _ => "No prompt level was entered.".to_owned(),
    }
}

fn outside(figures: &Figures) -> Vec<(String, String)> {
    let outside = &figures.outside;
    let of = |out: u32, all: u32, unit: &str| {
        if all == 0 { "nothing entered".to_owned() } else { format!("out on {out} of {all} {unit}") }
    };
    let in_entries = |out: u32, all: u32| {
        if all == 0 {
            "nothing entered".to_owned()
        } else {
            format!("{}, device out in {out}", counted(all, "entry", "entries"))
        }
    };
    vec![
        ("In class".to_owned(), of(outside.class_days_out, outside.class_days_asked, "days asked about")),
        ("At home".to_owned(), in_entries(outside.home_out, outside.home_entries)),
        ("In the community".to_owned(), in_entries(outside.community_out, outside.community_entries)),
    ]
}

fn tally_rows(table: &mut part::Table, kind: &str, tallies: &[Tally], told: impl Fn(&str) -> Option<&'static str>) {
    for tally in tallies {
        let answer = told(&tally.what).map_or_else(|| tally.words(), str::to_owned);
        table.push([kind.to_owned(), answer, tally.times.to_string()]);
    }
}

/// Why the device was not used, each reason apart. The caption names the table on
/// its page, so a page that shows it twice gives each its own.
pub fn reasons(figures: &Figures, caption: &str) -> part::Table {
    let mut table = part::table(caption)
        .note("Each reason apart. A refusal is data, not a failure.")
        .column("Asked")
        .column("Answer")
        .number("Times")
        .none("No reason was entered.");
    tally_rows(&mut table, "Device out?", &figures.outside.not_out, |code| code.parse().ok().map(DeviceOut::words));
    tally_rows(&mut table, "Why not?", &figures.outside.reasons, |code| code.parse().ok().map(NonUse::words));
    // In the words of whoever entered the session.
    tally_rows(&mut table, "Session refused, because", &figures.outside.refused_sessions, |_| None);
    table
}

/// How it felt; a page that shows it twice gives each its own caption.
pub fn comfort(figures: &Figures, caption: &str) -> part::Table {
    let mut table =
        part::table(caption).column("Kind").column("Answer").number("Times").none("Nothing was entered about comfort.");
    tally_rows(&mut table, "Comfort", &figures.comfort, |code| code.parse().ok().map(Comfort::words));
    tally_rows(&mut table, "Symptom in a session", &figures.symptoms, |code| code.parse().ok().map(Symptom::words));
    table
}

/// What was changed, and how it went at each value; a page that shows it twice
/// gives each its own caption.
pub fn changes(figures: &Figures, caption: &str) -> part::Table {
    let mut table = part::table(caption)
        .note("Without help, all tasks of the track together. More than one thing may have changed at once.")
        .column("Changed")
        .column("To")
        .column("Device")
        .column("Right of tried (95 % interval)")
        .number("Entries")
        .none("No seat, letter size, contrast or light differed between entries with one device.");
    for change in &figures.changes {
        table.push([
            words::capital(change.changed.words()),
            change.to.clone(),
            with(&change.device),
            rate(&change.counts),
            change.counts.entries.to_string(),
        ]);
    }
    table
}

fn quotes_more(more: u32) -> String {
    match more {
        0 => String::new(),
        1 => "1 more note is not quoted: it is younger than 24 hours, or its writer is quoted often enough.".to_owned(),
        more => format!(
            "{more} more notes are not quoted: younger than 24 hours, or their writers are quoted often enough."
        ),
    }
}

/// The entries that are left out of results and sizes, each by its day.
fn unanswered(figures: &Figures) -> Vec<String> {
    let line =
        |one: &Unanswered| format!("{}, {}: {}", words::capital(one.setting.words()), words::date(one.on), one.asked);
    figures.unanswered.iter().map(line).collect()
}

fn without_track(figures: &Figures) -> String {
    match figures.without_track {
        0 => String::new(),
        1 => "1 entry names no task or device of a track; it counts as use only.".to_owned(),
        many => format!("{many} entries name no task or device of a track; they count as use only."),
    }
}

fn sessions(figures: &Figures) -> part::Table {
    let mut table = part::table("Every session")
        .column("Day")
        .number("Minutes")
        .column("Device")
        .column("Skills")
        .column("Without a prompt")
        .column("Kind")
        .none("No sessions on these days.");
    for session in &figures.session_list {
        let kind = match (session.refused, session.baseline) {
            (true, _) => "refused",
            (false, true) => "baseline, no teaching",
            (false, false) => "training",
        };
        let right = if session.counts.tried == 0 {
            "none counted".to_owned()
        } else {
            format!("{} of {} right", session.counts.right, session.counts.tried)
        };
        let mut skills = if session.skills.is_empty() { "none".to_owned() } else { session.skills.clone() };
        if !session.order_reason.is_empty() {
            skills = format!("{skills} (out of order: {})", session.order_reason);
        }
        table.push([
            words::date(session.on),
            session.minutes.to_string(),
            with(&session.device),
            skills,
            right,
            kind.to_owned(),
        ]);
    }
    table
}

fn how(figures: &Figures) -> part::How {
    part::how(&[
        "Right of tried: the sum of right items over the sum of tried items, of entries made without help. Entries with help, refused, not sure, or where help is not stated count as use only; answers in words are counted apart.".to_owned(),
        format!("Interval: Wilson's score interval, 95 in 100. It takes every item as independent; items of one day are not, so the true interval is wider. Below {ENOUGH} tried no rate is told (common practice)."),
        format!("Prompt level: the median of the exercises of the first and of the last {PROMPT_SESSIONS} sessions with teaching."),
        format!("A summary from fewer than {LEAST_SESSIONS} sessions on {LEAST_DATES} dates says why (common practice)."),
        "A change of seat is told to half a metre, of letters to a centimetre.".to_owned(),
    ])
    .input("Days", &range_of_days(figures.from, Some(figures.to)))
    .input("Sessions", &figures.sessions.to_string())
    .input("Entries about a task", &figures.tasks.iter().map(|task| task.counts.entries + task.use_only).sum::<u32>().to_string())
    .source("Wilson 1927 (from memory), recomputed independently")
    .asks_all(figures.tasks.iter().filter_map(|task| rate_asked(&task.counts)))
}

/// Device by task: every cell right of tried, its interval and its count.
pub fn matrix(figures: &Figures) -> part::Table {
    let devices = devices_of(figures);
    let mut table = part::table("Device by task")
        .note("All settings of a task apart. Without help only. What people entered. Not a test result.")
        .column("Task and setting")
        .none("No task of this track has an entry in the summary.");
    for device in &devices {
        table = table.column(&with(device));
    }
    let mut keys: Vec<(&str, Setting)> = figures.tasks.iter().map(|task| (task.task.as_str(), task.setting)).collect();
    keys.dedup();
    for (name, setting) in keys {
        let mut cells = vec![part::Cell::from(words::capital(&format!("{name}, {}", setting.words())))];
        for device in &devices {
            let found = figures
                .tasks
                .iter()
                .find(|task| task.task == name && task.setting == setting && task.device == *device);
            cells.push(found.map_or_else(|| "no entry".to_owned(), cell).into());
        }
        table.push(cells);
    }
    table
}

/// What was entered and stands in no rate: answers in words, and use only.
fn beside(task: &TaskFigures) -> String {
    let mut parts = Vec::new();
    let graded = task.graded.words();
    if !graded.is_empty() {
        parts.push(format!("in words: {graded}"));
    }
    if task.use_only > 0 {
        parts.push(format!("use only: {}", task.use_only));
    }
    if parts.is_empty() { "nothing".to_owned() } else { parts.join("; ") }
}

fn cell(task: &TaskFigures) -> String {
    let mut said = Vec::new();
    if task.counts.entries > 0 {
        said.push(rate(&task.counts));
        said.push(counted(task.counts.entries, "entry", "entries"));
    }
    if !task.graded.is_empty() || task.use_only > 0 {
        said.push(beside(task));
    }
    if said.is_empty() { "none counted".to_owned() } else { said.join("; ") }
}

fn devices_of(figures: &Figures) -> Vec<String> {
    let mut devices: Vec<String> = figures.tasks.iter().map(|task| task.device.clone()).collect();
    devices.sort();
    devices.dedup();
    devices
}

/// The settings of each task side by side.
pub fn settings(figures: &Figures) -> part::Table {
    let (seen, unseen): (Vec<Setting>, Vec<Setting>) =
        Setting::ALL.iter().partition(|setting| figures.tasks.iter().any(|task| task.setting == **setting));
    let mut note = "The same task with the same device, where it was seen.".to_owned();
    if !unseen.is_empty() {
        // An empty column would take the room of one that says something.
        let unseen: Vec<String> = unseen.iter().map(|setting| setting.words().to_owned()).collect();
        note.push_str(&format!(" No entry from: {}.", words::list(&unseen)));
    }
    let mut table = part::table("Settings side by side")
        .note(&note)
        .column("Task and device")
        .none("No task of this track has an entry in the summary.");
    for setting in &seen {
        table = table.column(&words::capital(setting.words()));
    }
    let mut keys: Vec<(&str, &str)> =
        figures.tasks.iter().map(|task| (task.task.as_str(), task.device.as_str())).collect();
    keys.sort_unstable();
    keys.dedup();
    for (name, device) in keys {
        let mut cells = vec![part::Cell::from(words::capital(&format!("{name}. {}", with(device))))];
        for setting in &seen {
            let found = figures
                .tasks
                .iter()
                .find(|task| task.task == name && task.setting == *setting && task.device == device);
            cells.push(found.map_or_else(|| "no entry".to_owned(), cell).into());
        }
        table.push(cells);
    }
    table
}
