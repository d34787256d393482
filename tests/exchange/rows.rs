//! Every row of every table has its resource or a reason; the columns are those
//! that the contract lists.

use std::collections::BTreeSet;

use farpoint::exchange::table::{Cell, Reader};
use farpoint::exchange::{fhir, tables};

use super::broken;
use super::sample;

#[test]
fn every_row_has_its_resource_or_a_reason() {
    let bundle = broken::collection(false);
    let document = broken::document();
    let addresses: BTreeSet<String> = [&bundle, &document]
        .into_iter()
        .flat_map(|bundle| bundle["entry"].as_array().expect("entries"))
        .map(|entry| entry["fullUrl"].as_str().expect("an address").to_owned())
        .collect();
    let all = tables::all(&sample::record(1));
    let said = fhir::said(&all);
    let rows: usize = all.iter().map(|table| table.rows.len()).sum();
    assert_eq!(said.len(), rows);
    for one in &said {
        match &one.by {
            Ok(url) => assert!(addresses.contains(url), "{} row {}: {url} is not in a bundle", one.table, one.row),
            Err(reason) => assert!(reason.len() > 20 && *reason != "no resource was chosen for this table", "{one:?}"),
        }
    }
    let told: BTreeSet<&str> = said.iter().filter(|one| one.by.is_ok()).map(|one| one.table).collect();
    let not: BTreeSet<&str> = said.iter().filter(|one| one.by.is_err()).map(|one| one.table).collect();
    assert!(told.len() >= 14, "{told:?}");
    assert_eq!(not, BTreeSet::from(["amendments", "disclosures", "posts", "recommendations", "tasks"]));
}

#[test]
fn every_table_of_the_sample_has_rows_as_long_as_its_head() {
    for table in tables::all(&sample::record(2)) {
        assert!(!table.rows.is_empty(), "{} has no row", table.name);
        for row in &table.rows {
            assert_eq!(row.len(), table.columns.len(), "{}", table.name);
            assert_eq!(row[0], Cell::Whole(tables::SCHEMA), "{}", table.name);
        }
        assert_eq!(table.columns[0], "schema");
        let unique: BTreeSet<&&str> = table.columns.iter().collect();
        assert_eq!(unique.len(), table.columns.len(), "{}: a column twice", table.name);
    }
}

#[test]
fn the_columns_are_those_of_the_contract() {
    let contract = include_str!("../../docs/export.md");
    for table in tables::all(&sample::record(1)) {
        let head = format!("### {}.csv", table.name);
        let section = contract.split(&head).nth(1).unwrap_or_else(|| panic!("{head} is not in docs/export.md"));
        let line = section.lines().find(|line| line.starts_with('`')).expect("a line of columns");
        assert_eq!(line, format!("`{}`", table.columns.join(",")), "{}", table.name);
    }
}

#[test]
fn a_spreadsheet_runs_nothing_that_somebody_typed() {
    let all = tables::all(&sample::record(1));
    let sessions = all.iter().find(|table| table.name == "sessions").expect("sessions");
    let text = |reader| String::from_utf8(sessions.csv(reader).expect("memory")).expect("UTF-8");
    let typed = "=HYPERLINK(\"\"a\"\")";
    assert!(text(Reader::Spreadsheet).contains(&format!("\"'{typed}")));
    assert!(!text(Reader::Spreadsheet).contains(&format!("\"{typed}")));
    assert!(text(Reader::Program).contains(&format!("\"{typed}")));
    let prescriptions = all.iter().find(|table| table.name == "prescriptions").expect("prescriptions");
    let exact = prescriptions.csv(Reader::Spreadsheet).expect("memory");
    assert!(String::from_utf8(exact).expect("UTF-8").contains("\"-1.75\",\"175\""), "a negative number is no formula");
}

#[test]
fn a_table_reads_back_as_it_was() {
    for table in tables::all(&sample::record(1)) {
        let bytes = table.csv(Reader::Program).expect("memory");
        assert!(bytes.windows(2).filter(|pair| *pair == b"\r\n").count() > table.rows.len());
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        assert_eq!(reader.headers().expect("a head"), table.columns.to_vec());
        assert_eq!(reader.records().filter_map(Result::ok).count(), table.rows.len(), "{}", table.name);
    }
}
