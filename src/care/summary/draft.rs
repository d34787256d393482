//! From rows to figures: what counts as a try, and where?
//!
//! Only unprompted tries stand in a rate. Entries with help, refused, not sure
//! or without a result are use only; answers in words are counted apart. What
//! the scope does not cover is passed over before anything is counted. An entry
//! whose writer was asked about a length counts as use, and is named.
//! Does not know how a figure is shown.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::{
    ChangeFigures, Changed, Counts, DeviceFigures, ExerciseRow, Figures, Graded, MOST_QUOTES, ObservationRow,
    PROMPT_SESSIONS, Prompts, Quote, Range, Rows, Scope, SessionFigures, SessionRow, Setting, SkillFigures, Speaker,
    Tally, TaskFigures, Trial, Unanswered, UseOutside,
};
use crate::care::consent::Category;
use crate::care::skill::{Prompt, Skill};
use crate::care::track::Track;

/// Drafts the figures of one track and range of days.
#[must_use]
pub fn draft(track: Track, from: Date, to: Date, rows: &Rows, scope: &Scope) -> Figures {
    let within = |on: Date| from <= on && on <= to;
    let sessions: Vec<_> = rows.sessions.iter().filter(|row| within(row.on) && scope.has(Category::Training)).collect();
    let readable: Vec<_> =
        rows.observations.iter().filter(|row| within(row.on) && scope.has(category(row.setting))).collect();
    // An entry that names no track tells of use, but of no task of this one.
    let (placed, unplaced): (Vec<_>, Vec<_>) =
        readable.iter().partition::<Vec<&ObservationRow>, _>(|row| row.track == Some(track));
    let unplaced: Vec<_> = unplaced.into_iter().filter(|row| row.track.is_none()).collect();
    let heard: Vec<_> = placed.iter().chain(&unplaced).copied().collect();
    let (quotes, quotes_more) = quotes(&heard);
    // Nothing that rests on a length or a result is told of an entry in doubt.
    let (in_doubt, sure): (Vec<_>, Vec<_>) = placed.iter().partition::<Vec<&ObservationRow>, _>(|row| row.waits());
    let dates: BTreeSet<_> = sessions.iter().map(|session| session.on).collect();
    Figures {
        track,
        from,
        to,
        sessions: count(sessions.len()),
        session_dates: count(dates.len()),
        minutes: sessions.iter().map(|session| session.minutes).sum(),
        devices: devices(rows, &sessions, &placed, scope),
        tasks: tasks(rows, &sessions, &sure),
        skills: skills(&sessions),
        prompts: prompts(&sessions),
        outside: outside(&heard, &sessions),
        comfort: tally(
            heard.iter().map(|row| row.comfort.as_str()).chain(sessions.iter().map(|row| row.comfort.as_str())),
        ),
        symptoms: tally(sessions.iter().flat_map(|row| row.symptoms.iter().map(String::as_str))),
        changes: changes(rows, &sessions, &sure),
        quotes,
        quotes_more,
        session_list: session_list(rows, &sessions),
        without_track: count(unplaced.len()),
        unanswered: in_doubt
            .iter()
            .map(|row| Unanswered { on: row.on, setting: row.setting, asked: row.asked.clone() })
            .collect(),
        left_out: scope.left_out(),
    }
}

pub(super) const fn category(setting: Setting) -> Category {
    match setting {
        Setting::Classroom => Category::ClassObservations,
        Setting::Home | Setting::Community => Category::HomeObservations,
        Setting::Training => Category::Training,
    }
}

fn count(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

fn short<'a>(rows: &'a Rows, key: Option<&String>) -> &'a str {
    key.and_then(|key| rows.devices.iter().find(|device| device.key == *key)).map_or("", |device| device.short.as_str())
}

fn devices(
    rows: &Rows,
    sessions: &[&SessionRow],
    observations: &[&ObservationRow],
    scope: &Scope,
) -> Vec<DeviceFigures> {
    let mut figures: Vec<_> = rows
        .devices
        .iter()
        .filter_map(|device| {
            let with: Vec<_> = sessions.iter().filter(|session| session.device.as_ref() == Some(&device.key)).collect();
            let seen = observations.iter().any(|row| row.device.as_ref() == Some(&device.key));
            if with.is_empty() && !seen {
                return None;
            }
            let tag = if scope.has(Category::Devices) { device.tag.clone() } else { String::new() };
            Some(DeviceFigures {
                key: device.key.clone(),
                short: device.short.clone(),
                device: device.line.clone(),
                tag,
                eye: device.eye.clone(),
                own: device.own,
                from: device.from,
                to: device.to,
                sessions: count(with.len()),
                minutes: with.iter().map(|session| session.minutes).sum(),
            })
        })
        .collect();
    figures.sort_by(|a, b| (a.from, &a.device).cmp(&(b.from, &b.device)));
    figures
}

impl ExerciseRow {
    /// Right and tried, where both are stated.
    fn result(&self) -> Option<(u32, u32)> {
        Some((self.right?, self.tried?)).filter(|(_, tried)| *tried > 0)
    }

    fn unprompted(&self) -> bool {
        self.prompt == Some(Prompt::None)
    }
}

impl ObservationRow {
    /// Whether the result may stand in a rate: no help, no refusal, sure.
    ///
    /// Help that is not stated is not "no help".
    fn counts(&self) -> bool {
        self.help == "none" && !self.refused() && self.graded != "not_sure"
    }

    fn waits(&self) -> bool {
        !self.asked.is_empty()
    }

    fn refused(&self) -> bool {
        self.device_out.starts_with("chose_not")
    }

    fn result(&self) -> Option<(u32, u32)> {
        Some((self.right?, self.tried?)).filter(|(_, tried)| *tried > 0)
    }

    fn out(&self) -> bool {
        self.device_out == "yes"
    }

    fn asked(&self) -> bool {
        !self.device_out.is_empty() && self.device_out != "not_needed"
    }
}

#[derive(Default)]
struct Range1(Option<Range>);

impl Range1 {
    fn add(&mut self, value: Option<f64>) {
        let Some(value) = value else { return };
        self.0 = Some(match self.0 {
            None => Range { low: value, high: value },
            Some(range) => Range { low: range.low.min(value), high: range.high.max(value) },
        });
    }
}

#[derive(Default)]
struct Task {
    counts: Counts,
    graded: Graded,
    use_only: u32,
    distance: Range1,
    height: Range1,
}

fn tasks(rows: &Rows, sessions: &[&SessionRow], observations: &[&ObservationRow]) -> Vec<TaskFigures> {
    let mut found: BTreeMap<(String, Setting, String), Task> = BTreeMap::new();
    for row in observations {
        let device = short(rows, row.device.as_ref()).to_owned();
        let task = found.entry((row.task.clone(), row.setting, device)).or_default();
        task.distance.add(row.distance_m);
        task.height.add(row.x_height_mm);
        match (row.counts(), row.result(), row.graded.as_str()) {
            (true, Some((right, tried)), _) => task.counts.add(right, tried),
            (true, None, "none") => task.graded.none += 1,
            (true, None, "some") => task.graded.some += 1,
            (true, None, "most") => task.graded.most += 1,
            (true, None, "all") => task.graded.all += 1,
            _ => task.use_only += 1,
        }
    }
    for session in sessions {
        let device = short(rows, session.device.as_ref());
        for exercise in &session.exercises {
            let Some(name) = &exercise.task else { continue };
            let key = (name.clone(), Setting::Training, device.to_owned());
            let task = found.entry(key).or_default();
            task.distance.add(exercise.distance_m);
            task.height.add(exercise.x_height_mm);
            match exercise.result() {
                Some((right, tried)) if exercise.unprompted() => task.counts.add(right, tried),
                _ => task.use_only += 1,
            }
        }
    }
    found
        .into_iter()
        .map(|((task, setting, device), one)| TaskFigures {
            task,
            setting,
            device,
            counts: one.counts,
            graded: one.graded,
            use_only: one.use_only,
            distance_m: one.distance.0,
            x_height_mm: one.height.0,
        })
        .collect()
}

const fn trial(session: &SessionRow) -> Trial {
    match (session.baseline, session.device.is_some()) {
        (true, _) => Trial::Baseline,
        (false, true) => Trial::WithDevice,
        (false, false) => Trial::WithoutDevice,
    }
}

fn skills(sessions: &[&SessionRow]) -> Vec<SkillFigures> {
    let mut found: BTreeMap<(Skill, Trial), SkillFigures> = BTreeMap::new();
    for session in sessions {
        for exercise in &session.exercises {
            let (skill, trial) = (exercise.skill, trial(session));
            let one = found.entry((skill, trial)).or_insert(SkillFigures {
                skill,
                trial,
                unprompted: Counts::default(),
                helped_right: 0,
                helped_tried: 0,
            });
            match exercise.result() {
                Some((right, tried)) if exercise.unprompted() => one.unprompted.add(right, tried),
                Some((right, tried)) => {
                    one.helped_right += right.min(tried);
                    one.helped_tried += tried;
                }
                None => {}
            }
        }
    }
    found.into_values().collect()
}

fn levels(session: &SessionRow) -> impl Iterator<Item = f64> {
    session.exercises.iter().filter_map(|exercise| exercise.prompt).map(|prompt| f64::from(prompt.level()))
}

/// Prompt levels of exercises with teaching; a baseline probe has none to fade.
fn prompts(sessions: &[&SessionRow]) -> Prompts {
    let mut prompted: Vec<_> =
        sessions.iter().filter(|session| !session.baseline && levels(session).next().is_some()).copied().collect();
    prompted.sort_by_key(|session| (session.on, session.id));
    let of = |part: &[&SessionRow]| median(part.iter().flat_map(|session| levels(session)).collect());
    let apart = prompted.len() >= 2 * PROMPT_SESSIONS;
    let end = prompted.len().saturating_sub(PROMPT_SESSIONS);
    Prompts {
        sessions: count(prompted.len()),
        median_all: of(&prompted),
        median_first_3: prompted.get(..PROMPT_SESSIONS).filter(|_| apart).and_then(of),
        median_last_3: prompted.get(end..).filter(|_| apart).and_then(of),
    }
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    if values.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = *values.get(middle.checked_sub(1)?)?;
    Some((lower + upper) / 2.0)
}

fn outside(observations: &[&ObservationRow], sessions: &[&SessionRow]) -> UseOutside {
    let of = |setting: Setting| observations.iter().filter(move |row| row.setting == setting);
    let days = |out: bool| {
        let on: BTreeSet<_> =
            of(Setting::Classroom).filter(|row| row.asked() && (!out || row.out())).map(|row| row.on).collect();
        count(on.len())
    };
    let out = |setting| count(of(setting).filter(|row| row.out()).count());
    UseOutside {
        class_days_asked: days(false),
        class_days_out: days(true),
        home_entries: count(of(Setting::Home).count()),
        home_out: out(Setting::Home),
        community_entries: count(of(Setting::Community).count()),
        community_out: out(Setting::Community),
        not_out: tally(observations.iter().filter(|row| !row.out()).map(|row| row.device_out.as_str())),
        reasons: tally(observations.iter().map(|row| row.non_use_reason.as_str())),
        refused_sessions: tally(
            sessions
                .iter()
                .filter(|row| row.refused)
                .map(|row| if row.refused_reason.is_empty() { "not_said" } else { row.refused_reason.as_str() }),
        ),
    }
}

fn tally<'a>(codes: impl Iterator<Item = &'a str>) -> Vec<Tally> {
    let mut found: BTreeMap<&str, u32> = BTreeMap::new();
    for code in codes.filter(|code| !code.is_empty()) {
        *found.entry(code).or_default() += 1;
    }
    let mut tallies: Vec<_> = found.into_iter().map(|(what, times)| Tally { what: what.to_owned(), times }).collect();
    tallies.sort_by(|a, b| (b.times, &a.what).cmp(&(a.times, &b.what)));
    tallies
}

/// A value counts as changed when entries hold at least two of it. Seats are
/// told to half a metre and letters to a centimetre, so that two readings of one
/// seat are not two seats. With a device and without are never put together.
fn changes(rows: &Rows, sessions: &[&SessionRow], observations: &[&ObservationRow]) -> Vec<ChangeFigures> {
    let mut found: BTreeMap<(Changed, &str, Sorted), Counts> = BTreeMap::new();
    for row in observations.iter().filter(|row| row.counts()) {
        let Some((right, tried)) = row.result() else { continue };
        let seat = row.distance_m.filter(|_| row.setting == Setting::Classroom);
        let letters = row.x_height_mm.filter(|_| row.setting == Setting::Classroom);
        let values = [
            (Changed::Seat, seat.map(|metres| Sorted::of((metres * 2.0).round() / 2.0, "m"))),
            (Changed::Letters, letters.map(|mm| Sorted::of((mm / 10.0).round(), "cm"))),
            (Changed::Contrast, Some(row.contrast.as_str()).filter(|code| !code.is_empty()).map(Sorted::code)),
        ];
        for (changed, value) in values {
            if let Some(value) = value {
                let device = short(rows, row.device.as_ref());
                found.entry((changed, device, value)).or_default().add(right, tried);
            }
        }
    }
    for session in sessions.iter().filter(|session| !session.light.is_empty()) {
        for exercise in session.exercises.iter().filter(|exercise| exercise.unprompted()) {
            if let Some((right, tried)) = exercise.result() {
                let device = short(rows, session.device.as_ref());
                let key = (Changed::Light, device, Sorted::code(&session.light));
                found.entry(key).or_default().add(right, tried);
            }
        }
    }
    let several = |changed: Changed, device: &str| {
        found.keys().filter(|(one, with, _)| *one == changed && *with == device).count() > 1
    };
    found
        .iter()
        .filter(|((changed, device, _), _)| several(*changed, device))
        .map(|((changed, device, to), counts)| ChangeFigures {
            changed: *changed,
            to: to.words.clone(),
            device: (*device).to_owned(),
            counts: *counts,
        })
        .collect()
}

/// A value in words that sorts by its size.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Sorted {
    /// In tenths of the unit: enough for halves and wholes.
    tenths: u32,
    words: String,
}

impl Sorted {
    fn of(value: f64, unit: &str) -> Self {
        let mut tenths = 0_u32;
        while f64::from(tenths) < value * 10.0 && tenths < 1_000_000 {
            tenths += 1;
        }
        Self { tenths, words: format!("about {value} {unit}") }
    }

    fn code(code: &str) -> Self {
        Self { tenths: 0, words: code.replace('_', " ") }
    }
}

/// The newest words of each speaker, and how many notes are not among them.
fn quotes(observations: &[&ObservationRow]) -> (Vec<Quote>, u32) {
    let noted: Vec<_> = observations.iter().filter(|row| !row.note.trim().is_empty()).collect();
    let mut readable: Vec<_> = noted.iter().filter(|row| row.locked).collect();
    readable.sort_by_key(|one| std::cmp::Reverse(one.on));
    let mut quoted: BTreeMap<Speaker, usize> = BTreeMap::new();
    let mut quotes = Vec::new();
    for row in readable {
        let so_far = quoted.entry(row.by).or_default();
        if *so_far < MOST_QUOTES {
            *so_far += 1;
            let words = row.note.trim().to_owned();
            quotes.push(Quote { by: row.by, on: row.on, setting: row.setting, words });
        }
    }
    let more = count(noted.len().saturating_sub(quotes.len()));
    (quotes, more)
}

fn session_list(rows: &Rows, sessions: &[&SessionRow]) -> Vec<SessionFigures> {
    let mut sorted = sessions.to_vec();
    sorted.sort_by_key(|session| (session.on, session.id));
    sorted
        .into_iter()
        .map(|session| {
            let mut counts = Counts::default();
            let mut skills: Vec<&str> = Vec::new();
            for exercise in &session.exercises {
                if !skills.contains(&exercise.skill.words()) {
                    skills.push(exercise.skill.words());
                }
                if let Some((right, tried)) = exercise.result().filter(|_| exercise.unprompted()) {
                    counts.add(right, tried);
                }
            }
            SessionFigures {
                on: session.on,
                minutes: session.minutes,
                device: short(rows, session.device.as_ref()).to_owned(),
                baseline: session.baseline,
                refused: session.refused,
                skills: skills.join(", "),
                order_reason: session.order_reason.clone(),
                counts,
            }
        })
        .collect()
}

#[cfg(test)]
#[path = "draft_tests.rs"]
mod tests;
