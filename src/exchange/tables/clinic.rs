//! What the clinic finds, recommends and prescribes, as tables.

use super::{SCHEMA, code, opt_code, spec, text};
use crate::exchange::record::{self, Named, Record, Refraction};
use crate::exchange::table::{Cell, Table};

pub(super) fn evaluations(record: &Record) -> Table {
    let row = |one: &record::Evaluation| {
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

pub(super) fn acuity(record: &Record) -> Table {
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

pub(super) fn refraction(record: &Record) -> Table {
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

pub(super) fn recommendations(record: &Record) -> Table {
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
        columns: around_spec!(
            [
                "schema",
                "row_id",
                "student_id",
                "evaluation_id",
                "track",
                "answer",
                "safe_to_train",
                "limits",
                "device_place"
            ],
            ["purpose", "device_limits"]
        ),
        rows,
    }
}

pub(super) fn prescriptions(record: &Record) -> Table {
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
        columns: around_spec!(
            [
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
                "track"
            ],
            ["purpose", "typed", "note"]
        ),
        rows,
    }
}
