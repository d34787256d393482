//! Which columns has a spreadsheet of observations, and what may stand in a cell?
//!
//! The heads are a contract with whoever keeps such a sheet: told on the page,
//! given as an empty sheet, and read back by the same list. A cell that a
//! spreadsheet would compute is refused, because what it shows is not what it
//! holds. Does not know how a sheet is written down.

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its head.
    pub head: &'static str,
    /// The field of the form that takes it.
    pub field: &'static str,
    /// Whether every row must say it.
    pub needed: Needed,
    /// What may stand in it.
    pub takes: &'static str,
}

/// Whether a row must say something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needed {
    /// Every row says it, and the sheet has the column.
    Always,
    /// It may be left empty, and the column may be missing.
    No,
}

const fn must(head: &'static str, field: &'static str, takes: &'static str) -> Column {
    Column { head, field, needed: Needed::Always, takes }
}

const fn may(head: &'static str, field: &'static str, takes: &'static str) -> Column {
    Column { head, field, needed: Needed::No, takes }
}

/// Every column, in the order of the empty sheet.
pub const COLUMNS: [Column; 20] = [
    must("Day", "seen_on", "The day it was seen, as 2026-09-14 or 14 September 2026"),
    must("Task", "task", "The name of one of the student's tasks, or a kind of thing as the form lists it"),
    must("Device out", "device_out", "One of the answers of the form"),
    may("Device", "device", "Which device, if several are in hand; as the form lists it"),
    may("Result", "result", "A word of the form; or leave it empty and write Right and Tried"),
    may("Right", "correct", "How many were right"),
    may("Tried", "tried", "Of how many that were tried"),
    may("Where", "place", "Empty, it was the own classroom"),
    may("Distance", "distance", "With its unit: 5.2 m or 17 ft. Empty, it is taken from the task"),
    may("Letter height", "x_height", "Of the small letters, with its unit: 3.5 cm. Empty, it is taken from the task"),
    may("Contrast", "contrast", "How it stood out"),
    may("Recognised", "target", "What had to be recognised"),
    may("Among how many", "choices", "Only for one of a few choices"),
    may("Why not out", "non_use", "If the device was not out"),
    may("Glasses", "glasses", "On or off"),
    may("Help", "help", "How much help it took"),
    may("Eyes", "comfort", "How the eyes were"),
    may("Mood", "mood", "How it felt"),
    may("Pace", "pace", "How fast it went"),
    may("Note", "note", "Anything else, about this student only"),
];

impl Column {
    /// The column of a head, whatever its capitals and spaces.
    #[must_use]
    pub fn of_head(head: &str) -> Option<&'static Self> {
        let head = plain(head);
        COLUMNS.iter().find(|column| plain(column.head) == head)
    }

    /// The column that fills a field.
    #[must_use]
    pub fn of_field(field: &str) -> Option<&'static Self> {
        COLUMNS.iter().find(|column| column.field == field)
    }
}

/// Words as two people would write the same: without capitals and double spaces.
#[must_use]
pub fn plain(words: &str) -> String {
    let words = words.to_lowercase().replace('\u{2019}', "'");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Why a cell is not taken; nothing, it may be.
#[must_use]
pub fn cell_refused(cell: &str) -> Option<&'static str> {
    let text = cell.trim_start_matches([' ', '\u{a0}']);
    let computed = text.starts_with(['=', '+', '@', '\t'])
        || text
            .strip_prefix('-')
            .is_some_and(|rest| rest.starts_with(|c: char| c.is_alphabetic() || "=+@(".contains(c)));
    if computed {
        return Some("begins like a formula. Write the value itself");
    }
    let error = text.strip_prefix('#').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_uppercase()));
    if error && text.trim_end().ends_with(['!', '?', 'A']) {
        return Some("holds an error of the spreadsheet. Write the value itself");
    }
    None
}

/// The most rows of one sheet.
pub const MOST_ROWS: usize = 300;

/// Why a sheet is not read at all; its `Display` is what the person is told.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Nothing is in it.
    #[error("There is nothing in it. Choose a file, or paste the rows with their heads.")]
    Empty,
    /// It is no text.
    #[error(
        "This is not a text file. In your spreadsheet choose to save or export as CSV (UTF-8), and take that file."
    )]
    NotText,
    /// It is larger than a sheet of observations is.
    #[error("It is too large. Up to {MOST_ROWS} rows fit; take in one part after the other.")]
    TooLarge,
    /// A quotation mark is opened and never closed, or the like.
    #[error("Row {0} cannot be read: a quotation mark in it is not closed.")]
    Unreadable(u64),
    /// A column has a head that is none of the list.
    #[error(
        "Column {place} is called \u{201c}{head}\u{201d}, which is none of the columns listed here. Rename it, or take it out."
    )]
    UnknownHead {
        /// Counted from 1.
        place: usize,
        /// As written.
        head: String,
    },
    /// Two columns have one head.
    #[error("Two columns are called \u{201c}{0}\u{201d}. Keep one of them.")]
    TwiceThere(&'static str),
    /// A column that every row needs is missing.
    #[error("The column \u{201c}{0}\u{201d} is missing. The first row must hold the heads of the columns.")]
    Missing(&'static str),
    /// Only heads.
    #[error("It has heads and no rows below them.")]
    NoRows,
}

/// A row of a sheet: the number of its line, its cells by the columns of the sheet,
/// and what is wrong with it before anything is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The line it begins on, counted from 1.
    pub line: u64,
    /// The cells that are not empty.
    pub cells: Vec<(&'static Column, String)>,
    /// What is wrong with cells as such, each with its column.
    pub faults: Vec<(Option<&'static Column>, String)>,
}

impl Row {
    /// A cell by the field that it fills; empty, nothing stands there.
    #[must_use]
    pub fn cell(&self, field: &str) -> &str {
        self.cells.iter().find(|(column, _)| column.field == field).map_or("", |(_, text)| text)
    }

    /// The row in one text, which is the same for the same row, whatever the order
    /// of its columns.
    #[must_use]
    pub fn text(&self) -> String {
        COLUMNS.iter().map(|column| plain(self.cell(column.field))).collect::<Vec<_>>().join("\u{1f}")
    }
}

/// Reads the heads: which column stands at each place.
fn heads(first: &[String]) -> Result<Vec<Option<&'static Column>>, Refused> {
    let mut found: Vec<Option<&'static Column>> = Vec::new();
    for (at, head) in first.iter().enumerate() {
        let column = Column::of_head(head);
        match column {
            None if head.trim().is_empty() => found.push(None),
            None => return Err(Refused::UnknownHead { place: at + 1, head: head.trim().chars().take(60).collect() }),
            Some(column) if found.contains(&Some(column)) => return Err(Refused::TwiceThere(column.head)),
            Some(column) => found.push(Some(column)),
        }
    }
    let missing = COLUMNS.iter().find(|column| column.needed == Needed::Always && !found.contains(&Some(column)));
    missing.map_or(Ok(found), |column| Err(Refused::Missing(column.head)))
}

/// Takes the lines of a sheet apart, its heads first.
///
/// # Errors
/// [`Refused`], when the sheet as a whole cannot be read.
pub fn rows(lines: &[(u64, Vec<String>)]) -> Result<Vec<Row>, Refused> {
    let mut filled = lines.iter().filter(|(_, cells)| cells.iter().any(|cell| !cell.trim().is_empty()));
    let (_, first) = filled.next().ok_or(Refused::Empty)?;
    let heads = heads(first)?;
    let rows: Vec<Row> = filled.map(|(line, cells)| row(*line, cells, &heads)).collect();
    match rows.len() {
        0 => Err(Refused::NoRows),
        count if count > MOST_ROWS => Err(Refused::TooLarge),
        _ => Ok(rows),
    }
}

fn row(line: u64, cells: &[String], heads: &[Option<&'static Column>]) -> Row {
    let mut row = Row { line, cells: Vec::new(), faults: Vec::new() };
    let written = cells.iter().rposition(|cell| !cell.trim().is_empty()).map_or(0, |last| last + 1);
    let beyond = heads.iter().rposition(Option::is_some).map_or(0, |last| last + 1);
    if written > beyond {
        row.faults.push((None, format!("It has {written} cells where the head has {beyond}: the cells are shifted")));
    }
    for (cell, head) in cells.iter().zip(heads) {
        let Some(column) = head else {
            if !cell.trim().is_empty() {
                row.faults.push((None, "Something stands below an empty head: the cells are shifted".to_owned()));
            }
            continue;
        };
        match cell_refused(cell) {
            Some(why) => row.faults.push((Some(column), format!("The cell {why}"))),
            None if cell.trim().is_empty() => {}
            None => row.cells.push((column, cell.trim().to_owned())),
        }
    }
    row
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_and_fields_are_each_there_once() {
        for (at, one) in COLUMNS.iter().enumerate() {
            for other in &COLUMNS[at + 1..] {
                assert_ne!(plain(one.head), plain(other.head));
                assert_ne!(one.field, other.field);
            }
        }
    }

    #[test]
    fn what_a_spreadsheet_would_compute_is_no_value() {
        for formula in ["=A1", "+5", "@SUM(A1)", " =1", "\t=1", "-A1", "-(1)", "#REF!", "#N/A", "#NAME?", "#VALUE!"] {
            assert!(cell_refused(formula).is_some(), "{formula}");
        }
        for value in ["", "5 m", "- read slowly", "-3 m", "3-4 words", "#2 on the list", "a=b", "yes"] {
            assert_eq!(cell_refused(value), None, "{value}");
        }
    }

    #[test]
    fn a_shifted_row_and_strange_heads_are_told() {
        let line = |cells: &[&str]| cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>();
        let head = (1, line(&["Day", "task", " DEVICE  out", "Result"]));
        let read = |second: &[&str]| rows(&[head.clone(), (2, line(second))]);
        let found = read(&["2026-09-14", "Board words", "yes", "all", ""]).expect("a row");
        assert!(found[0].faults.is_empty() && found[0].cell("device_out") == "yes");
        let found = read(&["", "2026-09-14", "Board words", "yes", "all"]).expect("a row");
        assert!(found[0].faults[0].1.contains("5 cells where the head has 4"));
        assert_eq!(
            rows(&[(1, line(&["Day", "Colour"]))]),
            Err(Refused::UnknownHead { place: 2, head: "Colour".into() })
        );
        assert_eq!(rows(&[(1, line(&["Day", "Task", "Day"]))]), Err(Refused::TwiceThere("Day")));
        assert_eq!(rows(&[(1, line(&["Day", "Task"]))]), Err(Refused::Missing("Device out")));
        assert_eq!(rows(&[head]), Err(Refused::NoRows));
        assert_eq!(rows(&[]), Err(Refused::Empty));
    }
}
