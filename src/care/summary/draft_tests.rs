//! What counts in a summary, told on a few rows.

use jiff::civil::{Date, date};
use uuid::Uuid;

use super::draft;
use crate::care::consent::Category;
use crate::care::device::DeviceSpec;
use crate::care::ids::{ObservationId, SessionId};
use crate::care::skill::{Prompt, Skill};
use crate::care::summary::{
    DeviceRow, ExerciseRow, ObservationRow, Rows, Scope, SessionRow, Setting, Speaker, rate_words,
};
use crate::care::track::{DeviceKind, Track};

const FROM: Date = date(2026, 3, 1);
const TO: Date = date(2026, 3, 31);

fn everything() -> Scope {
    Scope(Category::ALL.iter().copied().collect())
}

fn device() -> DeviceRow {
    DeviceRow {
        key: "loan:1".to_owned(),
        short: "handheld telescope, monocular, 4\u{d7}".to_owned(),
        line: "handheld telescope, monocular, 4\u{d7}, right eye".to_owned(),
        tag: "T-014".to_owned(),
        eye: "right eye".to_owned(),
        spec: DeviceSpec::of(DeviceKind::HandheldMonocular),
        own: false,
        from: FROM,
        to: None,
    }
}

fn session(number: u128, day: i8, prompt: Prompt, right: u32) -> SessionRow {
    SessionRow {
        version: 1,
        id: SessionId::of(Uuid::from_u128(number)),
        on: date(2026, 3, day),
        minutes: 20,
        place: "quiet_room".to_owned(),
        light: String::new(),
        device: Some("loan:1".to_owned()),
        baseline: false,
        comfort: String::new(),
        symptoms: Vec::new(),
        refused: false,
        refused_reason: String::new(),
        order_reason: String::new(),
        exercises: vec![ExerciseRow {
            skill: Skill::Spotting,
            task: Some("Board".to_owned()),
            tried: Some(5),
            right: Some(right),
            prompt: Some(prompt),
            distance_m: Some(5.0),
            x_height_mm: Some(40.0),
        }],
    }
}

fn seen(setting: Setting, help: &str, right: u32, tried: u32) -> ObservationRow {
    ObservationRow {
        id: ObservationId::of(Uuid::from_u128(9)),
        version: 1,
        on: date(2026, 3, 10),
        setting,
        task: "Board".to_owned(),
        track: Some(Track::Distance),
        device: Some("loan:1".to_owned()),
        device_out: "yes".to_owned(),
        non_use_reason: String::new(),
        distance_m: Some(5.2),
        x_height_mm: Some(35.0),
        contrast: "high".to_owned(),
        right: Some(right),
        tried: Some(tried),
        graded: String::new(),
        help: help.to_owned(),
        comfort: "fine".to_owned(),
        note: "Read the date.".to_owned(),
        by: Speaker::ClassroomTeacher,
        locked: true,
        asked: String::new(),
    }
}

fn rows(sessions: Vec<SessionRow>, observations: Vec<ObservationRow>) -> Rows {
    Rows { devices: vec![device()], sessions, observations }
}

#[test]
fn an_entry_that_waits_for_its_writer_is_named_and_in_no_result() {
    let sure = seen(Setting::Classroom, "none", 4, 5);
    let mut waits = seen(Setting::Classroom, "none", 1, 5);
    (waits.x_height_mm, waits.asked) = (Some(3.5), "3.5 mm or 3.5 cm?".to_owned());
    waits.comfort = "headache".to_owned();
    let rows = rows(Vec::new(), vec![sure.clone(), waits]);
    let scope = Scope([Category::ClassObservations].into());
    let found = draft(Track::Distance, date(2026, 3, 1), date(2026, 3, 31), &rows, &scope);
    let alone = draft(
        Track::Distance,
        date(2026, 3, 1),
        date(2026, 3, 31),
        &Rows { observations: vec![sure], ..rows.clone() },
        &scope,
    );
    assert_eq!((&found.tasks, &found.changes), (&alone.tasks, &alone.changes));
    assert_eq!(found.unanswered.len(), 1);
    assert_eq!(found.unanswered[0].asked, "3.5 mm or 3.5 cm?");
    // How the eyes felt rests on no length.
    assert!(found.comfort.iter().any(|one| one.what == "headache"));
}

#[test]
fn help_refusal_and_doubt_are_use_only() {
    let mut refused = seen(Setting::Classroom, "none", 4, 5);
    refused.device_out = "chose_not".to_owned();
    refused.non_use_reason = "embarrassed".to_owned();
    let mut unsure = seen(Setting::Classroom, "none", 4, 5);
    (unsure.right, unsure.tried, unsure.graded) = (None, None, "not_sure".to_owned());
    let observations = vec![
        seen(Setting::Classroom, "none", 3, 8),
        seen(Setting::Classroom, "told_once", 8, 8),
        seen(Setting::Classroom, "", 8, 8),
        refused,
        unsure,
    ];
    let figures = draft(Track::Distance, FROM, TO, &rows(Vec::new(), observations), &everything());
    let board = figures.tasks.first().expect("one task");
    assert_eq!((board.counts.right, board.counts.tried, board.counts.entries), (3, 8, 1));
    assert_eq!(board.use_only, 4);
    assert_eq!(figures.outside.reasons.len(), 1);
    assert_eq!(figures.outside.reasons[0].what, "embarrassed");
}

#[test]
fn prompted_items_stand_apart_and_a_few_tries_give_no_rate() {
    let few = draft(Track::Distance, FROM, TO, &rows(vec![session(1, 3, Prompt::Hint, 5)], Vec::new()), &everything());
    let spotting = &few.skills[0];
    assert_eq!((spotting.unprompted.tried, spotting.helped_right, spotting.helped_tried), (0, 5, 5));
    let figures = draft(
        Track::Distance,
        FROM,
        TO,
        &rows(vec![session(1, 3, Prompt::None, 4)], vec![seen(Setting::Home, "none", 2, 3)]),
        &everything(),
    );
    // Wilson 1927, check value T11-success-4of5.
    let (low, high) = figures.skills[0].unprompted.interval_95.expect("five tries");
    assert!((low - 0.375_534_63).abs() < 1e-6 && (high - 0.963_775_89).abs() < 1e-6);
    let home = figures.tasks.iter().find(|task| task.setting == Setting::Home).expect("home");
    assert_eq!(home.counts.interval_95, None);
    assert!(rate_words(&home.counts).contains("not enough yet"), "{}", rate_words(&home.counts));
}

#[test]
fn prompt_levels_are_compared_only_between_six_sessions() {
    let five: Vec<_> =
        (1..=5_u8).map(|n| session(u128::from(n), n.try_into().expect("small"), Prompt::Told, 3)).collect();
    let figures = draft(Track::Distance, FROM, TO, &rows(five.clone(), Vec::new()), &everything());
    assert_eq!((figures.prompts.median_first_3, figures.prompts.median_last_3), (None, None));
    let mut six = five;
    six.extend([session(6, 6, Prompt::None, 3), session(7, 7, Prompt::None, 3)]);
    let figures = draft(Track::Distance, FROM, TO, &rows(six, Vec::new()), &everything());
    assert_eq!((figures.prompts.median_first_3, figures.prompts.median_last_3), (Some(3.0), Some(5.0)));
}

#[test]
fn what_the_consent_does_not_cover_is_left_out_and_named() {
    let scope = Scope([Category::Summary, Category::Training].into_iter().collect());
    let given = rows(
        vec![session(1, 3, Prompt::None, 4)],
        vec![seen(Setting::Classroom, "none", 3, 8), seen(Setting::Home, "none", 2, 3)],
    );
    let figures = draft(Track::Distance, FROM, TO, &given, &scope);
    assert!(figures.tasks.iter().all(|task| task.setting == Setting::Training));
    assert!(figures.quotes.is_empty() && figures.quotes_more == 0);
    assert_eq!(figures.devices[0].tag, "");
    assert_eq!(figures.left_out.len(), 3);
}

#[test]
fn a_note_younger_than_the_lock_is_counted_and_not_quoted() {
    let mut young = seen(Setting::Classroom, "none", 3, 8);
    young.locked = false;
    let figures = draft(
        Track::Distance,
        FROM,
        TO,
        &rows(Vec::new(), vec![young, seen(Setting::Home, "none", 1, 2)]),
        &everything(),
    );
    assert_eq!((figures.quotes.len(), figures.quotes_more), (1, 1));
    assert_eq!(figures.tasks.len(), 2);
}

#[test]
fn what_changed_since_the_last_draft_is_named() {
    let before =
        draft(Track::Distance, FROM, TO, &rows(vec![session(1, 3, Prompt::None, 4)], Vec::new()), &everything());
    let after = draft(
        Track::Distance,
        FROM,
        TO,
        &rows(vec![session(1, 3, Prompt::None, 4), session(2, 4, Prompt::None, 5)], Vec::new()),
        &everything(),
    );
    assert!(before.changed_since(&before).is_empty());
    let changed = after.changed_since(&before);
    assert!(changed.iter().any(|(label, then, now)| label == "Sessions" && then != now));
    let back: crate::care::summary::Figures =
        serde_json::from_str(&serde_json::to_string(&after).expect("plain figures")).expect("its own JSON");
    assert!(back == after);
}

#[test]
fn a_change_is_told_per_device_and_only_where_something_changed() {
    let mut nearer = seen(Setting::Classroom, "none", 6, 8);
    nearer.distance_m = Some(4.1);
    let mut without = seen(Setting::Classroom, "none", 1, 8);
    without.device = None;
    let given = rows(Vec::new(), vec![seen(Setting::Classroom, "none", 3, 8), nearer, without]);
    let figures = draft(Track::Distance, FROM, TO, &given, &everything());
    let told: Vec<_> = figures
        .changes
        .iter()
        .map(|change| (change.to.as_str(), change.device.is_empty(), change.counts.right, change.counts.tried))
        .collect();
    assert_eq!(told, [("about 4 m", false, 6, 8), ("about 5 m", false, 3, 8)]);
}
