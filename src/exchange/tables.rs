//! Which tables a record becomes, and which columns each has.
//!
//! The columns are a contract, written out in `docs/export.md`: they are only
//! ever appended to, and a test holds both lists against each other. The first
//! column is the version of the contract, the second tells the row apart.

use super::record::{Coded, Detail, Named, Record, Refraction};
use super::table::{Cell, Table};

/// The version of the contract that every row carries.
pub const SCHEMA: i64 = 1;

macro_rules! row {
    ($($cell:expr),* $(,)?) => { vec![Cell::Whole(SCHEMA), $(Cell::from($cell)),*] };
}

/// Every table of a record, with or without rows.
#[must_use]
pub fn all(record: &Record) -> Vec<Table> {
    vec![
        student(record),
        people(record),
        evaluations(record),
        acuity(record),
        refraction(record),
        recommendations(record),
        prescriptions(record),
        devices(record),
        loans(record),
        sessions(record),
        observations(record),
        tasks(record),
        goals(record),
        summaries(record),
        decisions(record),
        consents(record),
        posts(record),
        disclosures(record),
    ]
}

/// An id, a code or anything else that nobody typed freely.
fn code(text: &str) -> Cell {
    Cell::code(text)
}

fn opt_code(text: Option<&str>) -> Cell {
    text.map_or(Cell::Empty, Cell::code)
}

fn text(words: &str) -> Cell {
    Cell::from(words)
}

fn student(record: &Record) -> Table {
    let one = &record.student;
    Table {
        name: "student",
        columns: &[
            "schema",
            "student_id",
            "number",
            "name",
            "initials_only",
            "birth_date",
            "languages",
            "record_owner",
        ],
        rows: vec![row![
            code(&one.id),
            one.number.as_deref().map_or(Cell::Empty, text),
            text(&one.name),
            one.initials_only,
            one.birth_date,
            text(&one.languages),
            text(&record.owner),
        ]],
    }
}

fn people(record: &Record) -> Table {
    let row = |one: &super::record::Person| {
        row![
            code(&one.id),
            code(&record.student.id),
            text(&one.name),
            one.role,
            Cell::words(Some(one.role)),
            text(&one.relation),
            text(&one.organisation),
            one.from,
            one.to,
        ]
    };
    Table {
        name: "people",
        columns: &[
            "schema",
            "account_id",
            "student_id",
            "name",
            "role",
            "role_label",
            "relation",
            "organisation",
            "from_on",
            "to_on",
        ],
        rows: record.people.iter().map(row).collect(),
    }
}

fn evaluations(record: &Record) -> Table {
    let row = |one: &super::record::Evaluation| {
        row![
            code(&one.id),
            code(&record.student.id),
            one.examined_on,
            text(&one.examiner),
            opt_code(one.examiner_id.as_deref()),
            code(one.standing.code()),
            text(&one.diagnosis),
            one.signed_at,
            one.version,
        ]
    };
    Table {
        name: "evaluations",
        columns: &[
            "schema",
            "evaluation_id",
            "student_id",
            "date",
            "examiner",
            "examiner_id",
            "standing",
            "diagnosis",
            "signed_at",
            "version",
        ],
        rows: record.evaluations.iter().map(row).collect(),
    }
}

fn acuity(record: &Record) -> Table {
    let mut rows = Vec::new();
    for evaluation in &record.evaluations {
        for one in &evaluation.acuities {
            let through = one.through.map(|device| device.kind);
            rows.push(row![
                code(&one.id),
                code(&record.student.id),
                evaluation.examined_on,
                one.eye,
                one.correction,
                one.distance_m,
                code(if one.near { "near" } else { "far" }),
                one.notation,
                text(&one.as_recorded),
                one.logmar,
                one.target,
                one.light,
                one.effort,
                Cell::Empty,
                opt_code(evaluation.examiner_id.as_deref()),
                evaluation.signed_at,
                evaluation.version,
                code(&evaluation.id),
                one.category,
                code(evaluation.standing.code()),
                through.map_or(Cell::Empty, |kind| code(kind.code())),
                one.through.and_then(|device| device.power),
                one.through.and_then(|device| device.equivalent_d),
                text(&one.distance_typed),
                text(&one.note),
                Cell::words(Some(one.eye)),
                Cell::words(Some(one.correction)),
            ]);
        }
    }
    Table {
        name: "acuity",
        columns: &[
            "schema",
            "row_id",
            "student_id",
            "date",
            "eye",
            "correction",
            "distance_m",
            "near_far",
            "notation",
            "as_recorded",
            "logmar",
            "target",
            "light",
            "effort",
            "device_tag",
            "examiner_id",
            "signed_at",
            "version",
            "evaluation_id",
            "category",
            "standing",
            "device_kind",
            "device_power_x",
            "device_equivalent_d",
            "distance_typed",
            "note",
            "eye_label",
            "correction_label",
        ],
        rows,
    }
}

fn eye(right: bool) -> Cell {
    code(if right { "right" } else { "left" })
}

/// The figures of a lens, in the order of the columns.
fn lens(one: &Refraction) -> Vec<Cell> {
    vec![
        Cell::from(one.sphere_d),
        Cell::from(one.cylinder_d),
        Cell::from(one.axis_deg),
        Cell::from(one.add_d),
        Cell::from(one.prism_d),
        Cell::from(one.prism_base),
    ]
}

fn refraction(record: &Record) -> Table {
    let mut rows = Vec::new();
    for evaluation in &record.evaluations {
        for one in &evaluation.refractions {
            let key = format!("{}-{}", evaluation.id, if one.right { "right" } else { "left" });
            let mut row = row![
                code(&key),
                code(&record.student.id),
                code(&evaluation.id),
                evaluation.examined_on,
                eye(one.right)
            ];
            row.extend(lens(one));
            row.extend([Cell::from(one.method), text(&one.typed), Cell::from(evaluation.signed_at)]);
            rows.push(row);
        }
    }
    Table {
        name: "refraction",
        columns: &[
            "schema",
            "row_id",
            "student_id",
            "evaluation_id",
            "date",
            "eye",
            "sphere_d",
            "cylinder_d",
            "axis_deg",
            "add_d",
            "prism_d",
            "prism_base",
            "method",
            "typed",
            "signed_at",
        ],
        rows,
    }
}

/// The parts of a specification, in the order of the columns.
fn spec(named: Option<&Named>) -> Vec<Cell> {
    let Some(named) = named else { return vec![Cell::Empty; 14] };
    let spec = &named.spec;
    vec![
        code(spec.kind.code()),
        code(spec.kind.words()),
        Cell::from(spec.power.map(|value| value.get())),
        Cell::from(spec.objective.map(|value| value.get())),
        Cell::from(spec.true_field.map(|value| value.get())),
        Cell::from(spec.near_focus.map(|value| value.get())),
        Cell::from(spec.reading_cap.map(|value| value.get())),
        Cell::from(spec.equivalent_power.map(|value| value.get())),
        Cell::from(spec.lens_diameter.map(|value| value.get())),
        Cell::from(spec.stand_height.map(|value| value.get())),
        spec.light.map_or(Cell::Empty, |one| code(one.code())),
        spec.with_glasses.map_or(Cell::Empty, |one| code(one.code())),
        spec.eye.map_or(Cell::Empty, |one| code(one.code())),
        text(&named.label),
    ]
}

fn recommendations(record: &Record) -> Table {
    let mut rows = Vec::new();
    for evaluation in &record.evaluations {
        for answer in &evaluation.answers {
            let named: Vec<Option<&Named>> =
                if answer.devices.is_empty() { vec![None] } else { answer.devices.iter().map(Some).collect() };
            for (place, named) in named.into_iter().enumerate() {
                let key = format!("{}-{}-{place}", evaluation.id, answer.track.code());
                let mut row = row![
                    code(&key),
                    code(&record.student.id),
                    code(&evaluation.id),
                    code(answer.track.code()),
                    answer.choice,
                    answer.safe,
                    text(&answer.limits),
                    i64::try_from(place).unwrap_or(0),
                ];
                row.extend(spec(named));
                row.extend([
                    named.map_or(Cell::Empty, |named| text(&named.purpose)),
                    named.map_or(Cell::Empty, |named| text(&named.limits)),
                ]);
                rows.push(row);
            }
        }
    }
    Table {
        name: "recommendations",
        columns: &[
            "schema",
            "row_id",
            "student_id",
            "evaluation_id",
            "track",
            "answer",
            "safe_to_train",
            "limits",
            "device_place",
            "device_kind",
            "device_kind_label",
            "power_x",
            "objective_mm",
            "true_field_deg",
            "near_focus_m",
            "reading_cap_d",
            "equivalent_power_d",
            "lens_mm",
            "stand_height_mm",
            "device_light",
            "with_glasses",
            "device_eye",
            "label",
            "purpose",
            "device_limits",
        ],
        rows,
    }
}

fn prescriptions(record: &Record) -> Table {
    let mut rows = Vec::new();
    for one in &record.prescriptions {
        let head = |item: &str, place: usize| {
            row![
                code(&format!("{}-{item}-{place}", one.id)),
                code(&record.student.id),
                code(&one.id),
                text(&one.number),
                code(one.state.code()),
                one.written_on,
                one.signed_at,
                one.review_on,
                one.expires_on,
                code(&one.prescriber_id),
                text(&one.prescriber_line),
                opt_code(one.supersedes.as_deref()),
                code(item),
            ]
        };
        for (place, found) in one.lenses.iter().enumerate() {
            let mut row = head("lens", place);
            row.push(eye(found.right));
            row.extend(lens(found));
            row.extend([Cell::Empty, Cell::Empty]);
            row.extend(spec(None));
            row.extend([Cell::Empty, text(&found.typed), text(&one.lens_note)]);
            rows.push(row);
        }
        for (place, (track, named)) in one.devices.iter().enumerate() {
            let mut row = head("device", place);
            row.extend(vec![Cell::Empty; 7]);
            row.extend([Cell::from(i64::try_from(place).unwrap_or(0)), code(track.code())]);
            row.extend(spec(Some(named)));
            let limits = [one.limits.as_str(), named.limits.as_str()].join("\n");
            row.extend([text(&named.purpose), Cell::Empty, text(limits.trim())]);
            rows.push(row);
        }
    }
    Table {
        name: "prescriptions",
        columns: &[
            "schema",
            "row_id",
            "student_id",
            "prescription_id",
            "number",
            "state",
            "written_on",
            "signed_at",
            "review_on",
            "expires_on",
            "prescriber_id",
            "prescriber",
            "supersedes_id",
            "item",
            "eye",
            "sphere_d",
            "cylinder_d",
            "axis_deg",
            "add_d",
            "prism_d",
            "prism_base",
            "device_place",
            "track",
            "device_kind",
            "device_kind_label",
            "power_x",
            "objective_mm",
            "true_field_deg",
            "near_focus_m",
            "reading_cap_d",
            "equivalent_power_d",
            "lens_mm",
            "stand_height_mm",
            "device_light",
            "with_glasses",
            "device_eye",
            "label",
            "purpose",
            "typed",
            "note",
        ],
        rows,
    }
}

fn devices(record: &Record) -> Table {
    let row = |one: &super::record::Device| {
        let mut row =
            row![code(&one.id), code(&record.student.id), code(if one.own { "own" } else { "pool" }), text(&one.tag),];
        row.extend(spec(Some(&one.named)));
        row.extend(
            row![one.received_on, one.condition, opt_code(one.prescription_id.as_deref()), one.in_error]
                .into_iter()
                .skip(1),
        );
        row
    };
    Table {
        name: "devices",
        columns: &[
            "schema",
            "device_id",
            "student_id",
            "device_owner",
            "device_tag",
            "device_kind",
            "device_kind_label",
            "power_x",
            "objective_mm",
            "true_field_deg",
            "near_focus_m",
            "reading_cap_d",
            "equivalent_power_d",
            "lens_mm",
            "stand_height_mm",
            "device_light",
            "with_glasses",
            "device_eye",
            "label",
            "received_on",
            "condition",
            "prescription_id",
            "in_error",
        ],
        rows: record.devices.iter().map(row).collect(),
    }
}

fn loans(record: &Record) -> Table {
    let row = |one: &super::record::Loan| {
        row![
            code(&one.id),
            code(&record.student.id),
            code(&one.device_id),
            text(&one.tag),
            code(one.track.code()),
            one.eye,
            one.lent_on,
            one.due_on,
            one.returned_on,
            one.condition_out,
            one.condition_in,
            one.purpose,
            one.held_by,
            one.agreed_by,
            one.home_use,
            one.in_error,
            one.version,
        ]
    };
    Table {
        name: "loans",
        columns: &[
            "schema",
            "loan_id",
            "student_id",
            "device_id",
            "device_tag",
            "track",
            "eye",
            "lent_on",
            "due_on",
            "returned_on",
            "condition_out",
            "condition_in",
            "purpose",
            "held_by",
            "agreed_by",
            "home_use",
            "in_error",
            "version",
        ],
        rows: record.loans.iter().map(row).collect(),
    }
}

fn sessions(record: &Record) -> Table {
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
                Cell::Empty,
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
                Cell::Empty,
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
            "start",
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
            "version",
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

fn observations(record: &Record) -> Table {
    let row = |one: &super::record::Observation| {
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
            Cell::Empty,
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

fn tasks(record: &Record) -> Table {
    let row = |one: &super::record::Task| {
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

fn goals(record: &Record) -> Table {
    let row = |one: &super::record::Goal| {
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

fn summaries(record: &Record) -> Table {
    let row = |one: &super::record::Summary| {
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

fn decisions(record: &Record) -> Table {
    let row = |one: &super::record::Decision| {
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

fn consents(record: &Record) -> Table {
    let row = |one: &super::record::Consent| {
        row![
            code(&one.id),
            code(&record.student.id),
            one.direction,
            Cell::list(&one.categories),
            text(&one.purpose),
            text(&one.from),
            text(&one.to),
            one.start,
            one.end,
            one.withdrawn,
            text(&one.signer),
            one.given,
            text(&one.language),
            one.signed_at,
        ]
    };
    Table {
        name: "consents",
        columns: &[
            "schema",
            "consent_id",
            "student_id",
            "direction",
            "categories",
            "purpose",
            "from_party",
            "to_party",
            "starts_on",
            "ends_on",
            "withdrawn_on",
            "signer",
            "how",
            "language",
            "signed_at",
        ],
        rows: record.consents.iter().map(row).collect(),
    }
}

fn posts(record: &Record) -> Table {
    let row = |one: &super::record::Post| {
        row![
            code(&one.id),
            code(&record.student.id),
            one.kind,
            one.to,
            opt_code(one.answers.as_deref()),
            text(&one.body),
            one.at,
            code(&one.author_id),
            one.in_error,
        ]
    };
    Table {
        name: "posts",
        columns: &[
            "schema",
            "post_id",
            "student_id",
            "kind",
            "to_role",
            "answers_id",
            "body",
            "at",
            "author_id",
            "in_error",
        ],
        rows: record.posts.iter().map(row).collect(),
    }
}

fn disclosures(record: &Record) -> Table {
    let row = |(place, one): (usize, &super::record::Disclosure)| {
        row![
            code(&format!("{}-{}", record.student.id, place + 1)),
            code(&record.student.id),
            one.at,
            text(&one.recipient),
            text(&one.organisation),
            one.to_side,
            code(&one.what),
            code(&one.basis),
            code(&one.channel),
            one.refused,
        ]
    };
    Table {
        name: "disclosures",
        columns: &[
            "schema",
            "row_id",
            "student_id",
            "at",
            "recipient",
            "organisation",
            "to_side",
            "what",
            "basis",
            "channel",
            "refused",
        ],
        rows: record.disclosures.iter().enumerate().map(row).collect(),
    }
}
