//! A table that leaves the house: typed cells, as CSV and as JSON.
//!
//! **CSV** RFC 4180: a header always, every cell quoted, CR LF, UTF-8; dates and
//! instants ISO 8601, decimals with a point, a list with `|` between its codes,
//! nothing known is nothing written. A text that a spreadsheet would take for a
//! formula gets a leading apostrophe in [`Reader::Spreadsheet`]; numbers never.
//! Does not know which tables there are; that is [`super::tables`].

use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::{Map, Value};

use super::record::Coded;

/// One value.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Not known, or does not apply.
    Empty,
    /// Words that a person typed.
    Text(String),
    /// A code, an id, a date: never typed freely.
    Code(String),
    /// A number.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// Yes or no, as 1 or 0.
    Flag(bool),
}

/// For whom a file is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reader {
    /// A spreadsheet, which must not run what somebody typed.
    Spreadsheet,
    /// A program: every text exactly as it is.
    Program,
}

/// A table with its rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Its name, which is the name of its file.
    pub name: &'static str,
    /// Its columns. They are only ever appended to, never renamed.
    pub columns: &'static [&'static str],
    /// Its rows, each as long as [`Table::columns`].
    pub rows: Vec<Vec<Cell>>,
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text.to_owned()) }
    }
}

impl From<Coded> for Cell {
    fn from(coded: Coded) -> Self {
        Self::Code(coded.code.to_owned())
    }
}

impl From<f64> for Cell {
    fn from(number: f64) -> Self {
        if number.is_finite() { Self::Number(number) } else { Self::Empty }
    }
}

impl From<i64> for Cell {
    fn from(number: i64) -> Self {
        Self::Whole(number)
    }
}

impl From<u32> for Cell {
    fn from(number: u32) -> Self {
        Self::Whole(number.into())
    }
}

impl From<u16> for Cell {
    fn from(number: u16) -> Self {
        Self::Whole(number.into())
    }
}

impl From<bool> for Cell {
    fn from(flag: bool) -> Self {
        Self::Flag(flag)
    }
}

impl From<Date> for Cell {
    fn from(date: Date) -> Self {
        Self::Code(date.to_string())
    }
}

impl From<Timestamp> for Cell {
    fn from(at: Timestamp) -> Self {
        Self::Code(at.to_string())
    }
}

impl<T: Into<Self>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Empty, Into::into)
    }
}

impl Cell {
    /// An id or another text of the program's own making.
    pub fn code(text: &str) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Code(text.to_owned()) }
    }

    /// The words of a choice.
    pub fn words(coded: Option<Coded>) -> Self {
        coded.map_or(Self::Empty, |coded| Self::Code(coded.words.to_owned()))
    }

    /// Several codes in one cell.
    pub fn list(codes: &[Coded]) -> Self {
        Self::code(&codes.iter().map(|coded| coded.code).collect::<Vec<_>>().join("|"))
    }

    fn csv(&self, reader: Reader) -> String {
        match self {
            Self::Empty => String::new(),
            Self::Text(text) if reader == Reader::Spreadsheet => harmless(text),
            Self::Text(text) | Self::Code(text) => text.clone(),
            Self::Number(number) => plain(*number),
            Self::Whole(number) => number.to_string(),
            Self::Flag(flag) => u8::from(*flag).to_string(),
        }
    }

    fn json(&self) -> Value {
        match self {
            Self::Empty => Value::Null,
            Self::Text(text) | Self::Code(text) => text.as_str().into(),
            Self::Number(number) => (*number).into(),
            Self::Whole(number) => (*number).into(),
            Self::Flag(flag) => (*flag).into(),
        }
    }
}

/// A number with a point and without an exponent. Ten places are more than any
/// tape or chart gives, and hide what binary fractions add.
fn plain(number: f64) -> String {
    let text = format!("{number:.10}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// The text so that no spreadsheet takes it for a formula.
///
/// Source: practice, CSV; the characters are those that common spreadsheets
/// read as the start of a formula, with tab and carriage return, which some
/// drop before they look. They are looked for behind white space, too.
fn harmless(text: &str) -> String {
    let first = text.trim_start_matches([' ', '\u{a0}', '\n']).chars().next();
    let risky =
        matches!(first, Some('=' | '+' | '-' | '@' | '\t' | '\r' | '\u{ff1d}' | '\u{ff0b}' | '\u{ff0d}' | '\u{ff20}'));
    if risky { format!("'{text}") } else { text.to_owned() }
}

impl Table {
    /// The table as a CSV file.
    ///
    /// # Errors
    /// None in memory; the writer's own type says so nowhere.
    pub fn csv(&self, reader: Reader) -> Result<Vec<u8>, csv::Error> {
        let mut writer = csv::WriterBuilder::new()
            .quote_style(csv::QuoteStyle::Always)
            .terminator(csv::Terminator::CRLF)
            .from_writer(Vec::new());
        writer.write_record(self.columns)?;
        for row in &self.rows {
            writer.write_record(row.iter().map(|cell| cell.csv(reader)))?;
        }
        writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
    }

    /// Every row as an object of its columns.
    #[must_use]
    pub fn json(&self) -> Value {
        let row = |row: &Vec<Cell>| {
            let named = self.columns.iter().zip(row).map(|(name, cell)| ((*name).to_owned(), cell.json()));
            Value::Object(named.collect::<Map<_, _>>())
        };
        self.rows.iter().map(row).collect()
    }

    /// What tells a row apart: its second column.
    #[must_use]
    pub fn key_of(&self, row: &[Cell]) -> String {
        row.get(1).map_or_else(String::new, |cell| cell.csv(Reader::Program))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_formula_is_told_apart_from_a_number() {
        let table = Table {
            name: "t",
            columns: &["a", "b", "c"],
            rows: vec![vec![Cell::from("=1+1"), Cell::from(-2.5), Cell::from("20/200, \"worse\"")]],
        };
        let text = |reader| String::from_utf8(table.csv(reader).expect("memory")).expect("utf-8");
        assert_eq!(text(Reader::Spreadsheet), "\"a\",\"b\",\"c\"\r\n\"'=1+1\",\"-2.5\",\"20/200, \"\"worse\"\"\"\r\n");
        assert!(text(Reader::Program).contains("\"=1+1\""));
    }

    #[test]
    fn every_start_of_a_formula_is_harmless() {
        for start in ["=", "+", "-", "@", "\t", "\r", " =", "\n@", "\u{ff1d}"] {
            let typed = format!("{start}HYPERLINK(\"x\")");
            assert_eq!(harmless(&typed), format!("'{typed}"));
        }
        for safe in ["", "3 m", "a=b", "'=1"] {
            assert_eq!(harmless(safe), safe);
        }
    }

    #[test]
    fn numbers_have_a_point_and_no_exponent() {
        for (number, text) in [(0.1 + 0.2, "0.3"), (6.0, "6"), (-0.0, "0"), (1e-7, "0.0000001"), (-1.75, "-1.75")] {
            assert_eq!(plain(number), text);
        }
    }
}
