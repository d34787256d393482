//! How are facts and tables taken from a page?
//!
//! A cell is its words; whatever else stands in one is refused.

use scraper::ElementRef;

use super::words::flat;
use super::{Unread, elements, has};
use crate::pdf::model::{Head, Table, Text};

/// Terms and what is said of them.
pub(super) fn facts(list: ElementRef<'_>) -> Result<Vec<(Text, Text)>, Unread> {
    let mut found: Vec<(Text, Text)> = Vec::new();
    let mut parts = Vec::new();
    for child in elements(list, &["div", "dt", "dd"])? {
        if child.value().name() == "div" {
            parts.extend(elements(child, &["dt", "dd"])?);
        } else {
            parts.push(child);
        }
    }
    for part in parts {
        let words = flat(part)?;
        match (part.value().name(), found.last_mut()) {
            ("dd", Some((_, value))) => {
                if !value.0.is_empty() {
                    value.push("\n", false);
                }
                value.0.extend(words.0);
            }
            _ => found.push((words, Text::default())),
        }
    }
    Ok(found)
}

/// A table with its caption and its heads.
pub(super) fn table(element: ElementRef<'_>) -> Result<Table, Unread> {
    let mut table = Table::default();
    for part in elements(element, &["caption", "thead", "tbody"])? {
        match part.value().name() {
            "caption" => {
                for child in part.children().filter_map(ElementRef::wrap) {
                    let words = flat(child)?;
                    if has(child, "caption-note") { table.note = words } else { table.caption = words }
                }
                if table.caption.is_empty() {
                    table.caption = flat(part)?;
                }
            }
            "thead" => {
                for row in elements(part, &["tr"])? {
                    for cell in elements(row, &["th", "td"])? {
                        table.heads.push(Head { words: flat(cell)?, number: has(cell, "number") });
                    }
                }
            }
            _ => {
                for row in elements(part, &["tr"])? {
                    let cells: Result<Vec<Text>, Unread> =
                        elements(row, &["th", "td"])?.into_iter().map(flat).collect();
                    table.rows.push(cells?);
                }
            }
        }
    }
    Ok(table)
}
