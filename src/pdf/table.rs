//! How does a table stand on paper?
//!
//! Side by side, where its words fit; its heads again on each page that it goes over,
//! for the eye alone. Where the words do not fit, it is turned: each row becomes its
//! head and below it, line by line, the head of the column and what stands there. It
//! stays a table with header cells for who listens.

use std::rc::Rc;

use super::flow::{Flow, Kind, Mark};
use super::model::{Table, Text};
use super::text::{Manner, Set};

/// Lines of one cell beyond which a row is easier to read turned.
const TALL: usize = 5;

/// Columns beyond which large print is easier to read turned, as on the page.
const MANY: usize = 4;

/// A row, set: the left edge of each cell, and its lines.
type Cells = Vec<(f32, Rc<Set>)>;

impl Flow<'_> {
    pub(super) fn table(&mut self, table: &Table) {
        self.space(self.style.gap * 1.6);
        match self.widths(table) {
            Some(widths) => self.upright(table, &widths),
            None => self.turned(table),
        }
        self.space(self.style.gap * 0.6);
    }

    /// The least room that a table begins with: its caption, and its first row with
    /// the heads over it.
    pub(super) fn least_of_table(&mut self, table: &Table) -> f32 {
        let above = self.style.gap * 1.6 + self.caption_height(table);
        above
            + match self.widths(table) {
                Some(widths) => {
                    let heads = self.cells(table, &widths, table.heads.iter().map(|head| &head.words), true);
                    let first = table.rows.first().map(|row| self.cells(table, &widths, row.iter(), false));
                    let pad = self.style.body * 0.3;
                    tallest(&heads, pad) + first.map_or(0.0, |row| tallest(&row, pad)).min(self.whole_page() * 0.4)
                }
                None => table
                    .rows
                    .first()
                    .map_or(0.0, |row| self.turned_row(table, row).together(self.turned_pad(), self.whole_page())),
            }
    }

    fn gutter(&self) -> f32 {
        self.style.body * 0.7
    }

    fn manner(&self, table: &Table, column: usize, strong: bool) -> Manner {
        let right = table.heads.get(column).is_some_and(|head| head.number);
        Manner { leading: 1.25, strong, right, ..self.style.text() }
    }

    /// The width of each column, or none where the table has to be turned.
    fn widths(&mut self, table: &Table) -> Option<Vec<f32>> {
        let columns = table.heads.len();
        if self.style.large() && columns > MANY {
            return None;
        }
        let gutters = self.gutter() * columns.saturating_sub(1) as f32;
        let room = self.column() - gutters;
        let mut least = vec![0.0_f32; columns];
        let mut most = vec![0.0_f32; columns];
        for (at, head) in table.heads.iter().enumerate() {
            let cells = std::iter::once((&head.words, true))
                .chain(table.rows.iter().filter_map(|row| Some((row.get(at)?, at == 0))));
            for (words, strong) in cells {
                let manner = self.manner(table, at, strong);
                let (narrow, wide) = self.setter.shape(words, manner).widths();
                // A little more than the words, so that rounding breaks none of them.
                least[at] = least[at].max(narrow + 0.5);
                most[at] = most[at].max(wide + 0.5);
            }
        }
        let (needs, likes): (f32, f32) = (least.iter().sum(), most.iter().sum());
        if needs > room {
            return None;
        }
        if likes <= room {
            return Some(most);
        }
        // What is left over goes to the columns that would like more, in proportion.
        let share = (room - needs) / (likes - needs).max(1.0);
        let widths: Vec<f32> = least.iter().zip(&most).map(|(least, most)| least + (most - least) * share).collect();
        let tall = table.rows.iter().any(|row| {
            row.iter().enumerate().any(|(at, words)| {
                let manner = self.manner(table, at, at == 0);
                widths.get(at).is_some_and(|width| self.setter.set(words, manner, *width).lines() > TALL)
            })
        });
        (!tall || columns <= 2).then_some(widths)
    }

    fn caption(&mut self, table: &Table) {
        if table.caption.is_empty() && table.note.is_empty() {
            return;
        }
        self.open(Kind::Caption);
        self.words(&table.caption.clone().bold(), Manner { leading: 1.25, ..self.style.text() });
        if !table.note.is_empty() {
            self.words(&table.note, Manner { leading: 1.25, ..self.style.text() });
        }
        self.close();
        self.y += self.style.gap * 0.5;
    }

    fn caption_height(&mut self, table: &Table) -> f32 {
        let width = self.column();
        let manner = Manner { leading: 1.25, ..self.style.text() };
        let caption = self.setter.set(&table.caption.clone().bold(), manner, width).whole();
        let note = if table.note.is_empty() { 0.0 } else { self.setter.set(&table.note, manner, width).whole() };
        caption + note + self.style.gap * 0.5
    }

    fn cells<'t>(&mut self, table: &Table, widths: &[f32], words: impl Iterator<Item = &'t Text>, head: bool) -> Cells {
        let gutter = self.gutter();
        let mut x = self.left;
        let mut cells = Vec::new();
        for (at, (words, width)) in words.zip(widths).enumerate() {
            let manner = self.manner(table, at, head || at == 0);
            cells.push((x, self.setter.set(words, manner, *width)));
            x += width + gutter;
        }
        cells
    }

    fn upright(&mut self, table: &Table, widths: &[f32]) {
        let heads = self.cells(table, widths, table.heads.iter().map(|head| &head.words), true);
        let rows: Vec<Cells> = table.rows.iter().map(|row| self.cells(table, widths, row.iter(), false)).collect();
        let pad = self.style.body * 0.3;
        let height = |cells: &Cells| tallest(cells, pad);
        let caption = self.caption_height(table);
        self.need(caption + height(&heads) + rows.first().map_or(0.0, height).min(self.whole_page() * 0.4));
        self.open(Kind::Table);
        self.caption(table);
        self.open(Kind::Head);
        self.row(&heads, pad, Some(&|_| Kind::ColumnHead { across: 1 }));
        self.close();
        self.rule(1.4);
        self.open(Kind::Rows);
        for cells in &rows {
            let tall = height(cells);
            if tall > self.room() && !self.fresh() {
                self.turn();
                self.row(&heads, pad, None);
                self.rule(1.4);
            }
            self.row(cells, pad, Some(&|at| if at == 0 { Kind::RowHead { across: 1 } } else { Kind::Cell }));
            self.rule(0.6);
        }
        self.close();
        self.close();
    }

    /// A row, split over pages only where it is longer than one. Without parts it is
    /// for the eye alone.
    fn row(&mut self, cells: &Cells, pad: f32, kind: Option<&dyn Fn(usize) -> Kind>) {
        let mut done = vec![0_usize; cells.len()];
        let fits = cells.iter().all(|(_, set)| set.whole() + 2.0 * pad <= self.room());
        if fits || kind.is_none() {
            let y = self.y + pad;
            if kind.is_some() {
                self.open(Kind::Row);
            }
            let mut tall = 0.0_f32;
            for (at, (x, set)) in cells.iter().enumerate() {
                if let Some(kind) = kind {
                    self.open(kind(at));
                }
                self.mark(Mark::Lines {
                    set: Rc::clone(set),
                    lines: 0..set.lines(),
                    at: (*x, y),
                    real: kind.is_some(),
                });
                if kind.is_some() {
                    self.close();
                }
                tall = tall.max(set.whole());
            }
            if kind.is_some() {
                self.close();
            }
            self.y = y + tall + pad;
            return;
        }
        // Longer than a page: as many lines of each cell as fit, page after page. Each
        // piece is a row of its own, because a part cannot be taken up again.
        loop {
            let room = self.room() - 2.0 * pad;
            let mut tall = 0.0_f32;
            let y = self.y + pad;
            self.open(Kind::Row);
            for (at, (x, set)) in cells.iter().enumerate() {
                let from = done[at];
                let mut to = from;
                while to < set.lines() && set.height(from..to + 1) <= room {
                    to += 1;
                }
                if to == from && from < set.lines() && self.fresh() {
                    to += 1;
                }
                if let Some(kind) = kind {
                    self.open(kind(at));
                }
                let lines = if to > from { from..to } else { from.saturating_sub(1)..from };
                if to > from {
                    self.mark(Mark::Lines { set: Rc::clone(set), lines: lines.clone(), at: (*x, y), real: true });
                } else {
                    let blank = self.setter.set(&Text::default(), self.style.text(), 20.0);
                    self.mark(Mark::Lines { lines: 0..blank.lines(), set: blank, at: (*x, y), real: true });
                }
                self.close();
                tall = tall.max(set.height(from..to));
                done[at] = to;
            }
            self.close();
            self.y = y + tall + pad;
            if cells.iter().zip(&done).all(|((_, set), done)| *done >= set.lines()) {
                return;
            }
            self.turn();
        }
    }

    /// Each row as its head and, below it, a line for each further column.
    fn turned(&mut self, table: &Table) {
        let pad = self.turned_pad();
        let rows: Vec<Turned> = table.rows.iter().map(|row| self.turned_row(table, row)).collect();
        let caption = self.caption_height(table);
        // The caption never stands alone: as much of the first row goes with it as
        // stays together.
        self.need(caption + rows.first().map_or(0.0, |row| row.together(pad, self.whole_page())));
        self.open(Kind::Table);
        self.caption(table);
        self.rule(1.4);
        self.open(Kind::Rows);
        for row in &rows {
            self.need(row.together(pad, self.whole_page()));
            self.y += 2.0 * pad;
            self.row(&row.title, pad, Some(&|_| Kind::RowHead { across: 2 }));
            for cells in &row.lines {
                if tallest(cells, pad) > self.room() && !self.fresh() {
                    self.turn();
                }
                self.row(cells, pad, Some(&|at| if at == 0 { Kind::RowHead { across: 1 } } else { Kind::Cell }));
            }
            self.y += 2.0 * pad;
            self.rule(0.6);
        }
        self.close();
        self.close();
    }

    fn turned_pad(&self) -> f32 {
        self.style.body * 0.15
    }

    fn turned_row(&mut self, table: &Table, row: &[Text]) -> Turned {
        let pad = self.turned_pad();
        let gutter = self.gutter();
        let head = Manner { leading: 1.25, strong: true, ..self.style.text() };
        let plain = Manner { strong: false, ..head };
        let labels = (self.column() - gutter) * 0.4;
        let values = self.column() - gutter - labels;
        let (left, across) = (self.left, self.column());
        let first = row.first().map(|first| (left, self.setter.set(first, head, across)));
        let title: Cells = first.into_iter().collect();
        let mut lines: Vec<Cells> = Vec::new();
        for (column, words) in table.heads.iter().zip(row).skip(1) {
            let label = self.setter.set(&column.words, plain, labels);
            lines.push(vec![(left, label), (left + labels + gutter, self.setter.set(words, plain, values))]);
        }
        let tall = tallest(&title, pad) + lines.iter().map(|cells| tallest(cells, pad)).sum::<f32>() + 4.0 * pad;
        Turned { title, lines, tall }
    }
}

/// A row of a turned table.
struct Turned {
    title: Cells,
    lines: Vec<Cells>,
    tall: f32,
}

impl Turned {
    /// How much of it is kept on one page: all where a page holds it, else its head
    /// with its first line.
    fn together(&self, pad: f32, page: f32) -> f32 {
        if self.tall <= page * 0.6 {
            self.tall
        } else {
            tallest(&self.title, pad) + self.lines.first().map_or(0.0, |cells| tallest(cells, pad))
        }
    }
}

/// The height of a row, with its padding.
fn tallest(cells: &Cells, pad: f32) -> f32 {
    cells.iter().map(|(_, set)| set.whole()).fold(0.0_f32, f32::max) + 2.0 * pad
}
