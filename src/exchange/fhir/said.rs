//! Which resource says a row of a table, or why none does.
//!
//! A file of this goes with every archive, so that nobody takes the FHIR part
//! for the whole record.

use super::{derived, device, entries, sight, url};
use crate::exchange::table::{Cell, Table};

/// How a row is told in FHIR.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// The table.
    pub table: &'static str,
    /// Which row of it, from 1.
    pub row: usize,
    /// The address of its resource, or why it has none.
    pub by: Result<String, &'static str>,
}

/// How every row of these tables is told.
#[must_use]
pub fn said(tables: &[Table]) -> Vec<Said> {
    let of = |table: &Table| -> Vec<Said> {
        let one =
            |(place, row): (usize, &Vec<Cell>)| Said { table: table.name, row: place + 1, by: of_row(table, row) };
        table.rows.iter().enumerate().map(one).collect()
    };
    tables.iter().flat_map(of).collect()
}

fn of_row(table: &Table, row: &[Cell]) -> Result<String, &'static str> {
    let text = |column: &str| {
        let place = table.columns.iter().position(|name| *name == column);
        match place.and_then(|place| row.get(place)) {
            Some(Cell::Text(text) | Cell::Code(text)) => text.clone(),
            Some(Cell::Whole(number)) => number.to_string(),
            _ => String::new(),
        }
    };
    let place = |column: &str| text(column).parse::<usize>().unwrap_or(0);
    let key = || table.key_of(row);
    match table.name {
        "sessions" if !text("exercise_id").is_empty() => Ok(url(&text("exercise_id"))),
        "refraction" => Ok(derived(&text("evaluation_id"), sight::refraction_part(text("eye") == "right"))),
        "recommendations" if text("device_kind").is_empty() => {
            Err("an answer that recommends no device asks for none; its words are in the tables")
        }
        "recommendations" => {
            Ok(derived(&text("evaluation_id"), &device::recommended_part(&text("track"), place("device_place"))))
        }
        "prescriptions" if text("item") == "device" => {
            Ok(derived(&text("prescription_id"), &device::prescribed_part(place("device_place"))))
        }
        "prescriptions" => Ok(url(&text("prescription_id"))),
        "goals" => Ok(derived(&text("student_id"), &entries::goal_part(&text("goal")))),
        "summaries" => Ok(derived(&key(), "composition")),
        "tasks" => Err("a thing to be seen from a seat is no finding about the student, and R4 has no resource for it"),
        "posts" => Err("the team's conversation is not part of what another system is to act on"),
        "amendments" => Err("the resource says the words in force; what stood there before is in the tables"),
        "disclosures" => Err("the disclosure record is given as an AuditEvent only where it is asked for"),
        "texts" => Err("the words of a form that no resource of R4 is made for; they are in the tables"),
        "attachments" => Err("a file goes along as it is; a copy inside the bundle would be a second one"),
        "student" | "people" | "evaluations" | "acuity" | "devices" | "loans" | "sessions" | "observations"
        | "consents" | "decisions" => Ok(url(&key())),
        _ => Err("no resource was chosen for this table"),
    }
}

/// The table that says it, for whoever reads the tables.
#[must_use]
pub fn said_table(tables: &[Table]) -> Table {
    let row = |one: Said| {
        let (resource, reason) = match one.by {
            Ok(url) => (Cell::code(&url), Cell::Empty),
            Err(reason) => (Cell::Empty, Cell::code(reason)),
        };
        vec![Cell::Whole(1), Cell::code(one.table), Cell::from(u32::try_from(one.row).ok()), resource, reason]
    };
    Table {
        name: "rows",
        columns: &["schema", "table", "row", "resource", "reason"],
        rows: said(tables).into_iter().map(row).collect(),
    }
}
