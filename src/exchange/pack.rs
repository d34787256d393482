//! The gathered record as files in one zip, with what is left out said inside.
//!
//! Every FHIR file is held against our own rules before it goes in; one that
//! breaks a rule stays out, and the manifest names the rule.

use std::io::Cursor;

use jiff::Timestamp;
use serde_json::json;

use super::archive::{Kind, Manifest, Pack, PackError};
use super::fhir::{self, Bundle, Terms, check};
use super::record::Record;
use super::table::{Cell, Reader, Table};
use super::tables;
use crate::care::attachment::FileKind;

/// A file that hangs on a record of the archive.
pub struct Attached {
    /// Its id.
    pub id: String,
    /// What it hangs on: the kind and the id.
    pub parent: (&'static str, String),
    /// What it is called.
    pub name: String,
    /// What it is.
    pub kind: FileKind,
    /// When it was stored.
    pub stored_at: Timestamp,
    /// Its bytes.
    pub content: Vec<u8>,
}

/// A paper as its page gives it.
pub struct Paper {
    /// Which: the kind and, where there are several of it, the id.
    pub name: String,
    /// The PDF.
    pub content: Vec<u8>,
}

/// All that goes into one zip.
pub struct Packing {
    /// The record.
    pub record: Record,
    /// Words of forms that have no table of their own.
    pub texts: Table,
    /// Papers; none, nobody wanted them.
    pub papers: Vec<Paper>,
    /// Files.
    pub attached: Vec<Attached>,
    /// How codes are written.
    pub terms: Terms,
    /// For whom the tables are.
    pub reader: Reader,
    /// When it is made.
    pub now: Timestamp,
}

const READ_ME: &str = "This file holds what one person may read of one student's record.\r\n\
\r\n\
csv/            tables for a spreadsheet; what each column means is in csv/COLUMNS.txt\r\n\
json/           the same tables for a program\r\n\
fhir/           HL7 FHIR R4 (4.0.1): collection.json, and a document for each summary that was sent;\r\n\
                rows.csv says for each row of the tables which resource says it, or why none does\r\n\
papers/         what was signed, sent or released, as tagged PDF to read and to print\r\n\
attachments/    files that hang on a record; csv/attachments.csv says on which\r\n\
manifest.json   every file with its length and SHA-256, and what is left out\r\n\
\r\n\
What people entered is not a test result. Figures are arithmetic from the numbers shown; the clinician decides.\r\n\
Whoever has this file can read it: keep it safe, and delete it when it has done its work.\r\n";

/// What every archive of a reader leaves out, in words.
const LEFT_OUT: [&str; 2] = [
    "drafts: what is not signed, sent or released is not taken along",
    "figures computed from entries: they are computed anew from the rows, with their intervals",
];

/// Packs it all.
///
/// # Errors
/// When memory is short.
pub fn zip(packing: &Packing) -> Result<Vec<u8>, PackError> {
    let mut left_out: Vec<String> = LEFT_OUT.iter().map(|words| (*words).to_owned()).collect();
    if packing.papers.is_empty() {
        left_out.push("papers (PDF): none was wanted or none is there; what they say is in the tables".to_owned());
    }
    let manifest = Manifest::new(Kind::Reader, packing.now.to_string(), 0, left_out);
    let mut pack = Pack::new(Cursor::new(Vec::new()), manifest);
    pack.add("README.txt", READ_ME.as_bytes())?;
    let mut all = tables::all(&packing.record);
    all.push(packing.texts.clone());
    all.push(attachments(packing));
    let mut columns = String::new();
    for table in &all {
        columns.push_str(&format!("{}.csv: {}\r\n", table.name, table.columns.join(", ")));
        pack.add(&format!("csv/{}.csv", table.name), &csv(table, packing.reader)?)?;
    }
    pack.add("csv/COLUMNS.txt", columns.as_bytes())?;
    let by_name: serde_json::Map<String, serde_json::Value> =
        all.iter().map(|table| (table.name.to_owned(), table.json())).collect();
    let whole = json!({ "schema": tables::SCHEMA, "made_at": packing.now.to_string(), "tables": by_name });
    pack.add("json/record.json", &serde_json::to_vec_pretty(&whole)?)?;
    let collection = fhir::collection(&packing.record, &packing.terms, packing.now);
    add_fhir(&mut pack, "fhir/collection.json", &collection)?;
    for summary in &packing.record.summaries {
        let document = fhir::document(&packing.record, summary, &packing.terms);
        add_fhir(&mut pack, &format!("fhir/summary-{}.json", summary.id), &document)?;
    }
    pack.add("fhir/rows.csv", &csv(&fhir::said_table(&all), Reader::Program)?)?;
    for one in &packing.papers {
        pack.add(&format!("papers/{}.pdf", one.name), &one.content)?;
    }
    for one in &packing.attached {
        pack.add(&path(one), &one.content)?;
    }
    Ok(pack.finish()?.into_inner())
}

fn csv(table: &Table, reader: Reader) -> Result<Vec<u8>, PackError> {
    Ok(table.csv(reader).map_err(std::io::Error::other)?)
}

/// A file whose rules hold goes in; one that breaks a rule is named instead.
fn add_fhir(pack: &mut Pack<Cursor<Vec<u8>>>, path: &str, bundle: &Bundle) -> Result<(), PackError> {
    let text = fhir::text(bundle)?;
    let faults = check::faults(&serde_json::from_slice(&text)?);
    match faults.first() {
        None => pack.add(path, &text),
        Some(fault) => {
            pack.leave_out(format!("{path}: {} ({}), and {} more", fault.rule, fault.at, faults.len() - 1));
            Ok(())
        }
    }
}

fn path(one: &Attached) -> String {
    format!("attachments/{}.{}", one.id, one.kind.ending())
}

fn attachments(packing: &Packing) -> Table {
    let row = |one: &Attached| {
        vec![
            Cell::Whole(tables::SCHEMA),
            Cell::code(&one.id),
            Cell::code(&packing.record.student.id),
            Cell::code(one.parent.0),
            Cell::code(&one.parent.1),
            Cell::from(one.name.as_str()),
            Cell::code(&path(one)),
            Cell::code(one.kind.media()),
            Cell::from(one.stored_at),
        ]
    };
    Table {
        name: "attachments",
        columns: &[
            "schema",
            "attachment_id",
            "student_id",
            "parent_kind",
            "parent_id",
            "name",
            "path",
            "media",
            "stored_at",
        ],
        rows: packing.attached.iter().map(row).collect(),
    }
}
