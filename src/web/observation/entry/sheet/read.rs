//! From a file or pasted rows to the cells of a sheet: commas, semicolons or tabs,
//! whichever the heads are parted by.
//!
//! Does not know what may stand in a cell; read `care::observation::sheet`.

use crate::care::observation::sheet::{Refused, Row, rows};

/// The most bytes of one sheet.
pub(super) const LARGEST: usize = 200 * 1024;

/// How a text file of the kind begins, and what it is no part of.
const BYTE_ORDER_MARK: char = '\u{feff}';

/// The rows of a text.
///
/// # Errors
/// [`Refused`], when the sheet as a whole cannot be read.
pub(super) fn sheet(text: &str) -> Result<Vec<Row>, Refused> {
    let text = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
    if text.len() > LARGEST {
        return Err(Refused::TooLarge);
    }
    if text.contains('\0') {
        return Err(Refused::NotText);
    }
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter(text))
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes());
    if let Some(line) = unclosed(text) {
        return Err(Refused::Unreadable(line));
    }
    let mut lines = Vec::new();
    for (at, record) in reader.records().enumerate() {
        let at = u64::try_from(at).unwrap_or(u64::MAX).saturating_add(1);
        let record = record.map_err(|_| Refused::Unreadable(at))?;
        let line = record.position().map_or(at, csv::Position::line);
        lines.push((line, record.iter().map(str::to_owned).collect()));
    }
    rows(&lines)
}

/// What parts the heads: a tab where rows were pasted, a semicolon where a comma
/// marks decimals, a comma otherwise.
fn delimiter(text: &str) -> u8 {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or_default();
    let count = |mark: char| first.matches(mark).count();
    match (count('\t'), count(';'), count(',')) {
        (tabs, semicolons, commas) if tabs > 0 && tabs >= semicolons.max(commas) => b'\t',
        (_, semicolons, commas) if semicolons > commas => b';',
        _ => b',',
    }
}

/// The line on which a quotation mark is opened and never closed: everything after
/// it would be one cell.
fn unclosed(text: &str) -> Option<u64> {
    let (mut open, mut line, mut opened) = (false, 1, 1);
    let mut fresh = true;
    let mark = char::from(delimiter(text));
    for c in text.chars() {
        match c {
            '"' if open => open = false,
            // A quotation mark inside a cell that has none before it is a sign, as in 3".
            '"' if fresh => (open, opened) = (true, line),
            _ => {}
        }
        // A doubled mark closes and opens again.
        fresh = if open { false } else { c == '\n' || c == mark || (c == '"' && !fresh) };
        line += u64::from(c == '\n');
    }
    open.then_some(opened)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADS: &str = "Day,Task,Device out,Result,Note\r\n";

    #[test]
    fn commas_semicolons_and_tabs_are_told_apart_by_the_heads() {
        for mark in [",", ";", "\t"] {
            let text =
                format!("\u{feff}{HEADS}2026-09-14,worksheet,yes,all,\"a, b; c\"\r\n\r\n").replace("\",", "\"\u{1}");
            let text = text.replace("a, b; c", "\u{2}").replace(',', mark).replace('\u{2}', "a, b; c");
            let found = sheet(&text).expect("a sheet");
            assert_eq!((found.len(), found[0].line, found[0].cell("note")), (1, 2, "a, b; c"), "{mark:?}");
        }
    }

    #[test]
    fn a_cell_of_two_lines_keeps_the_count_of_lines() {
        let text =
            format!("{HEADS}2026-09-14,worksheet,yes,all,\"one\ntwo \"\"three\"\"\"\n2026-09-15,worksheet,yes,all,\n");
        let found = sheet(&text).expect("a sheet");
        assert_eq!(found[0].cell("note"), "one\ntwo \"three\"");
        assert_eq!(found[1].line, 4);
    }

    #[test]
    fn what_is_no_such_text_is_refused_with_its_reason() {
        assert_eq!(sheet("PK\u{3}\u{4}\0\0"), Err(Refused::NotText));
        assert_eq!(sheet(""), Err(Refused::Empty));
        assert_eq!(sheet(&"x".repeat(LARGEST + 1)), Err(Refused::TooLarge));
        let open = format!("{HEADS}2026-09-14,worksheet,yes,all,\"never closed\n2026-09-15,worksheet,yes,all,\n");
        assert_eq!(sheet(&open), Err(Refused::Unreadable(2)));
        // An inch is no quotation mark that was left open.
        let inch = format!("{HEADS}2026-09-14,worksheet,yes,all,about 3\" tall\n");
        assert_eq!(sheet(&inch).map(|rows| rows.len()), Ok(1));
    }
}
