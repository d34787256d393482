//! What the team writes down, as tables.

use super::{SCHEMA, code, opt_code, text};
use crate::exchange::record::{self, Coded, Detail, Record};
use crate::exchange::table::{Cell, Table};

pub(super) fn sessions(record: &Record) -> Table {
    let mut rows = Vec::new();
    for one in &record.sessions {
        let device = one.device_id.as_deref().and_then(|id| record.device(id));
        let role = record.person(&one.author_id).map(|person| person.role);
        let exercises: Vec<_> =
            if one.exercises.is_empty() { vec![None] } else { one.exercises.iter().map(Some).collect() };
        for exercise in exercises {
            let task = exercise.and_then(|exercise| exercise.task_id.as_deref());
            rows.push(row![
                code(&one.id),
                code(&record.student.id),
                one.on,
                one.minutes,
                one.place,
                device.map_or(Cell::Empty, |device| text(&device.tag)),
                device.map_or(Cell::Empty, |device| code(device.named.spec.kind.code())),
                device.map_or(Cell::Empty, |device| code(if device.own { "own" } else { "pool" })),
                exercise.map(|exercise| exercise.skill),
                task.and_then(|id| record.task(id)).map_or(Cell::Empty, |task| text(&task.name)),
                exercise.and_then(|exercise| exercise.distance_m),
                exercise.and_then(|exercise| exercise.x_height_mm),
                one.light,
                exercise.and_then(|exercise| exercise.tries),
                exercise.and_then(|exercise| exercise.right),
                exercise.and_then(|exercise| exercise.median_s),
                exercise.map(|exercise| exercise.prompt),
                exercise.and_then(|exercise| exercise.prompt_count),
                one.comfort,
                Cell::list(&one.symptoms),
                one.refused.is_some(),
                one.refused.as_deref().map_or(Cell::Empty, text),
                text(&one.note),
                role,
                code(&one.author_id),
                one.entered_at,
                locked(one.entered_at),
                exercise.map_or(Cell::Empty, |exercise| code(&exercise.id)),
                code(one.track.code()),
                one.baseline,
                one.in_error,
                exercise.map_or(Cell::Empty, |exercise| text(&exercise.item)),
                Cell::words(Some(one.place)),
                Cell::words(exercise.map(|exercise| exercise.skill)),
            ]);
        }
    }
    Table {
        name: "sessions",
        columns: &[
            "schema",
            "session_id",
            "student_id",
            "date",
            "minutes",
            "place",
            "device_tag",
            "device_kind",
            "device_owner",
            "skill",
            "task",
            "distance_m",
            "target_mm",
            "light",
            "tries",
            "right",
            "median_s",
            "prompt_level",
            "prompt_count",
            "comfort",
            "symptoms",
            "refused",
            "refused_reason",
            "note",
            "author_role",
            "author_id",
            "entered_at",
            "locked_at",
            "exercise_id",
            "track",
            "baseline",
            "in_error",
            "item",
            "place_label",
            "skill_label",
        ],
        rows,
    }
}

/// An entry is its writer's alone for 24 hours. Source: condition l of the access table.
fn locked(entered_at: jiff::Timestamp) -> Cell {
    Cell::from(entered_at.checked_add(jiff::SignedDuration::from_hours(24)).ok())
}

pub(super) fn observations(record: &Record) -> Table {
    let row = |one: &record::Observation| {
        let nothing = Detail::default();
        let detail = one.detail.as_ref().unwrap_or(&nothing);
        let device = detail.device_id.as_deref().and_then(|id| record.device(id));
        let role: Option<Coded> = one.role;
        row![
            code(&one.id),
            code(&record.student.id),
            role,
            text(&detail.informant),
            one.on,
            text(&detail.what),
            detail.place,
            detail.distance_m,
            detail.band,
            device.map_or(Cell::Empty, |device| text(&device.tag)),
            detail.device_out,
            detail.graded,
            detail.correct,
            detail.tried,
            detail.help,
            detail.non_use,
            detail.comfort,
            detail.mood,
            detail.tired,
            detail.shared_with_class,
            text(&detail.note),
            one.entered_at,
            locked(one.entered_at),
            one.detail.as_ref().map(|detail| detail.version),
            one.setting,
            opt_code(detail.task_id.as_deref()),
            detail.x_height_mm,
            detail.contrast,
            code(&one.author_id),
            one.in_error,
            one.detail.is_none(),
            Cell::words(Some(one.setting)),
        ]
    };
    Table {
        name: "observations",
        columns: &[
            "schema",
            "obs_id",
            "student_id",
            "source_role",
            "informant",
            "seen_on",
            "task",
            "place",
            "distance_m",
            "distance_band",
            "device_tag",
            "device_out",
            "result",
            "correct",
            "of",
            "help",
            "non_use_reason",
            "comfort",
            "feeling",
            "minutes_before_tired",
            "shared_with_class",
            "note",
            "entered_at",
            "locked_at",
            "version",
            "setting",
            "task_id",
            "target_mm",
            "contrast",
            "author_id",
            "in_error",
            "not_told_yet",
            "setting_label",
        ],
        rows: record.observations.iter().map(row).collect(),
    }
}

pub(super) fn tasks(record: &Record) -> Table {
    let row = |one: &record::Task| {
        row![
            code(&one.id),
            code(&record.student.id),
            text(&one.name),
            one.kind,
            code(one.track.code()),
            one.goal,
            text(&one.place),
            one.distance_m,
            text(&one.distance_typed),
            one.x_height_mm,
            text(&one.x_height_typed),
            Cell::words(Some(one.kind)),
        ]
    };
    Table {
        name: "tasks",
        columns: &[
            "schema",
            "task_id",
            "student_id",
            "name",
            "kind",
            "track",
            "goal",
            "place",
            "distance_m",
            "distance_typed",
            "target_mm",
            "target_typed",
            "kind_label",
        ],
        rows: record.tasks.iter().map(row).collect(),
    }
}

pub(super) fn goals(record: &Record) -> Table {
    let row = |one: &record::Goal| {
        let key = format!("{}-{}", record.student.id, one.goal.code);
        row![
            code(&key),
            code(&record.student.id),
            one.goal,
            one.reserve,
            text(&one.typed),
            text(&one.source),
            text(&one.by),
            one.on,
            Cell::words(Some(one.goal)),
        ]
    };
    Table {
        name: "goals",
        columns: &[
            "schema",
            "goal_id",
            "student_id",
            "goal",
            "acuity_reserve",
            "typed",
            "source",
            "set_by",
            "set_on",
            "goal_label",
        ],
        rows: record.goals.iter().map(row).collect(),
    }
}

pub(super) fn summaries(record: &Record) -> Table {
    let row = |one: &record::Summary| {
        let words: Vec<String> = one.parts.iter().map(|(title, words)| format!("{title}: {words}")).collect();
        row![
            code(&one.id),
            code(&record.student.id),
            code(one.track.code()),
            one.from,
            one.to,
            text(&words.join("\n")),
            code(&one.author_id),
            one.sent_at,
            one.in_error,
        ]
    };
    Table {
        name: "summaries",
        columns: &[
            "schema",
            "summary_id",
            "student_id",
            "track",
            "from_on",
            "to_on",
            "words",
            "author_id",
            "sent_at",
            "in_error",
        ],
        rows: record.summaries.iter().map(row).collect(),
    }
}

pub(super) fn decisions(record: &Record) -> Table {
    let row = |one: &record::Decision| {
        row![
            code(&one.id),
            code(&record.student.id),
            code(one.track.code()),
            one.choice,
            text(&one.reason),
            one.on,
            one.next_on,
            text(&one.by),
            opt_code(one.summary_id.as_deref()),
            one.in_error,
            Cell::words(Some(one.choice)),
        ]
    };
    Table {
        name: "decisions",
        columns: &[
            "schema",
            "decision_id",
            "student_id",
            "track",
            "choice",
            "reason",
            "decided_on",
            "next_on",
            "by",
            "summary_id",
            "in_error",
            "choice_label",
        ],
        rows: record.decisions.iter().map(row).collect(),
    }
}
