//! Which tables a record becomes, and which columns each has.
//!
//! The columns are a contract, written out in `docs/export.md`: they are only
//! ever appended to, and a test holds both lists against each other. The first
//! column is the version of the contract, the second tells the row apart.

use super::record::{Named, Record};
use super::table::{Cell, Table};

/// The version of the contract that every row carries.
pub const SCHEMA: i64 = 1;

macro_rules! row {
    ($($cell:expr),* $(,)?) => { vec![Cell::Whole(SCHEMA), $(Cell::from($cell)),*] };
}

/// Columns around those of a device by specification, which [`spec`] fills.
macro_rules! around_spec {
    ([$($before:literal),* $(,)?], [$($after:literal),* $(,)?]) => {
        &[
            $($before,)*
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
            $($after,)*
        ]
    };
}

mod clinic;
mod entries;

/// Every table of a record, with or without rows.
#[must_use]
pub fn all(record: &Record) -> Vec<Table> {
    vec![
        student(record),
        people(record),
        clinic::evaluations(record),
        clinic::acuity(record),
        clinic::refraction(record),
        clinic::recommendations(record),
        clinic::prescriptions(record),
        devices(record),
        loans(record),
        entries::sessions(record),
        entries::observations(record),
        entries::tasks(record),
        entries::goals(record),
        entries::summaries(record),
        entries::decisions(record),
        consents(record),
        posts(record),
        amendments(record),
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
        columns: around_spec!(
            ["schema", "device_id", "student_id", "device_owner", "device_tag"],
            ["received_on", "condition", "prescription_id", "in_error"]
        ),
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

fn amendments(record: &Record) -> Table {
    let row = |(place, one): (usize, &super::record::Amended)| {
        row![
            code(&format!("{}-amendment-{}", record.student.id, place + 1)),
            code(&record.student.id),
            one.kind,
            code(&one.record_id),
            code(&one.field),
            text(&one.before),
            text(&one.after),
            text(&one.reason),
            one.at,
            text(&one.by),
            Cell::words(Some(one.kind)),
        ]
    };
    Table {
        name: "amendments",
        columns: &[
            "schema",
            "row_id",
            "student_id",
            "record_kind",
            "record_id",
            "field",
            "before",
            "after",
            "reason",
            "at",
            "by",
            "record_kind_label",
        ],
        rows: record.amendments.iter().enumerate().map(row).collect(),
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
