//! How are the same facts about many things shown?
//!
//! A [`Table`] has a caption, headers with their scope, and cells that carry
//! their header's words along, so that on a narrow screen each row becomes
//! labelled lines. Numbers are right-aligned; they arrive rounded to the same
//! number of decimals. The table does not sort, filter or sum.
//! Read next: `templates/part/table.html`.

use askama::Template;
use askama::filters::HtmlSafe;

use super::shape::{self, Mark, Status};

/// What stands in one cell.
#[derive(Debug, Clone)]
pub enum Cell {
    /// Words or a number.
    Text(String),
    /// A link: address and words.
    Link(String, String),
    /// A state with its mark.
    Status(Status),
    /// A setting with its shape.
    Mark(Mark),
}

impl Cell {
    /// A link.
    pub fn link(href: &str, words: &str) -> Self {
        Self::Link(href.to_owned(), words.to_owned())
    }

    /// A state in words with its mark.
    pub fn status(words: &str, shape: impl Into<shape::Shape>) -> Self {
        Self::Status(shape::status(words, shape))
    }

    /// A setting.
    pub fn mark(setting: &str) -> Self {
        Self::Mark(shape::mark(setting))
    }
}

impl From<&str> for Cell {
    fn from(words: &str) -> Self {
        Self::Text(words.to_owned())
    }
}

impl From<String> for Cell {
    fn from(words: String) -> Self {
        Self::Text(words)
    }
}

impl From<Status> for Cell {
    fn from(status: Status) -> Self {
        Self::Status(status)
    }
}

impl From<Mark> for Cell {
    fn from(mark: Mark) -> Self {
        Self::Mark(mark)
    }
}

#[derive(Debug, Clone)]
struct Column {
    head: String,
    number: bool,
}

/// A table with its caption.
#[derive(Debug, Clone, Template)]
#[template(path = "part/table.html")]
pub struct Table {
    caption: String,
    note: Option<String>,
    id: String,
    columns: Vec<Column>,
    rows: Vec<Vec<Cell>>,
    scrolls: bool,
    none: String,
}

impl HtmlSafe for Table {}

impl Table {
    /// A column of words.
    pub fn column(mut self, head: &str) -> Self {
        self.columns.push(Column { head: head.to_owned(), number: false });
        self
    }

    /// A column of numbers; its head names the unit.
    pub fn number(mut self, head: &str) -> Self {
        self.columns.push(Column { head: head.to_owned(), number: true });
        self
    }

    /// A row. Its first cell is the row's header. Cells beyond the last column
    /// are not shown.
    pub fn row<C: Into<Cell>>(mut self, cells: impl IntoIterator<Item = C>) -> Self {
        self.push(cells);
        self
    }

    /// A row, added in a loop.
    pub fn push<C: Into<Cell>>(&mut self, cells: impl IntoIterator<Item = C>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }

    /// The source, the dates or the count, under the caption.
    pub fn note(mut self, words: &str) -> Self {
        self.note = Some(words.to_owned());
        self
    }

    /// Stays a table on a narrow screen and scrolls sideways in its own
    /// region; for matrices that only make sense as a whole.
    pub fn scrolls(mut self) -> Self {
        self.scrolls = true;
        self
    }

    /// The sentence shown instead of a table without rows.
    pub fn none(mut self, words: &str) -> Self {
        self.none = words.to_owned();
        self
    }

    /// Every cell with its column, row by row.
    fn lines(&self) -> impl Iterator<Item = Vec<(&Column, &Cell)>> {
        self.rows.iter().map(|row| self.columns.iter().zip(row).collect())
    }

    /// More columns than fit on paper in large print.
    fn many(&self) -> bool {
        self.columns.len() > 4
    }
}

/// A table with this caption, to be filled with columns and rows. The caption
/// is unique on its page.
pub fn table(caption: &str) -> Table {
    Table {
        caption: caption.to_owned(),
        note: None,
        id: super::id_of(caption).replacen("f-", "t-", 1),
        columns: Vec::new(),
        rows: Vec::new(),
        scrolls: false,
        none: "Nothing yet.".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_cell_carries_the_words_of_its_column() {
        let page = table("Entries")
            .column("Task")
            .number("Distance (m)")
            .row([Cell::link("/a?b=1&c", "<Words>"), "5.2".into()])
            .to_string();
        assert!(page.contains("<th scope=\"col\" role=\"columnheader\">Task</th>"), "{page}");
        assert!(page.contains("<th scope=\"row\" role=\"rowheader\" data-label=\"Task\">"), "{page}");
        assert!(page.contains("data-label=\"Distance (m)\" class=\"number\""), "{page}");
        assert!(page.contains("<a href=\"/a?b=1&#38;c\">&#60;Words&#62;</a>"), "{page}");
    }

    #[test]
    fn a_table_without_rows_says_so() {
        let page = table("Loans").column("Device").none("No loan is open.").to_string();
        assert!(!page.contains("<table"), "{page}");
        assert!(page.contains("No loan is open."), "{page}");
    }
}
