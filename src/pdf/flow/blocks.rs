//! How is each kind of block set?
//!
//! A heading stays with what it heads, and a picture, a fact or an item is not split
//! unless it is longer than a page. What stands beside a bar keeps it on every page.

use std::rc::Rc;

use super::{Flow, Kind, Mark};
use crate::pdf::model::{Block, Figure, Text};
use crate::pdf::text::Manner;
use crate::pdf::{Unprintable, svg};

impl Flow<'_> {
    pub(super) fn blocks(&mut self, blocks: &[Block]) -> Result<(), Unprintable> {
        let mut rest = blocks;
        while let [block, next @ ..] = rest {
            self.block(block, next)?;
            rest = next;
        }
        Ok(())
    }

    /// The least room that blocks begin with: what heads something never stands alone
    /// at the foot of a page, nor does a bar or a bullet.
    fn least(&mut self, blocks: &[Block]) -> Result<f32, Unprintable> {
        let [block, rest @ ..] = blocks else { return Ok(0.0) };
        let (gap, line) = (self.style.gap, self.style.line());
        Ok(match block {
            Block::Heading(level, text) => {
                let manner = self.style.heading(*level);
                gap + manner.size * 0.7 + self.first_lines(text, manner) + self.least(rest)?
            }
            Block::Paragraph(text) if text.is_strong() => {
                gap + self.first_lines(text, self.style.text()) + self.least(rest)?
            }
            Block::Paragraph(text) | Block::Quote(text) => gap + self.first_lines(text, self.style.text()),
            Block::List { items, .. } => gap * 0.7 + self.least(items.first().map_or(&[][..], Vec::as_slice))?,
            Block::Facts(_) => gap + line * 2.0,
            Block::Table(table) => self.least_of_table(table),
            Block::Figure(figure) => gap + self.picture(figure)?.1.1,
            Block::Notice(blocks) => gap * 1.4 + self.least(blocks)?,
        })
    }

    /// The room of the lines that are never parted from the first one.
    fn first_lines(&mut self, text: &Text, manner: Manner) -> f32 {
        let width = self.column();
        let set = self.setter.set(text, manner, width);
        // Of three lines none may stand alone on either page.
        let together = if set.lines() <= 3 { set.lines() } else { 2 };
        set.height(0..together)
    }

    /// Goes on to the next page unless what stays together fits on this one.
    fn keep(&mut self, height: f32) {
        self.need(height.min(self.whole_page() * 0.8));
    }

    fn block(&mut self, block: &Block, next: &[Block]) -> Result<(), Unprintable> {
        match block {
            Block::Heading(level, text) => self.heading(*level, text, next)?,
            Block::Paragraph(text) => {
                self.space(self.style.gap);
                if text.is_strong() {
                    // It heads what follows, without being a heading.
                    let height = self.first_lines(text, self.style.text()) + self.least(next)?;
                    self.keep(height);
                }
                self.open(Kind::Paragraph);
                self.words(text, self.style.text());
                self.close();
            }
            Block::Quote(text) => {
                self.space(self.style.gap);
                let height = self.first_lines(text, self.style.text());
                self.keep(height);
                self.beside(Kind::Quote, 1.0, |flow| {
                    flow.open(Kind::Paragraph);
                    flow.words(text, flow.style.text());
                    flow.close();
                    Ok(())
                })?;
            }
            Block::List { ordered, items } => self.list(*ordered, items)?,
            Block::Facts(facts) => self.facts(facts),
            Block::Table(table) => self.table(table),
            Block::Figure(figure) => self.figure(figure)?,
            Block::Notice(blocks) => {
                self.space(self.style.gap * 1.4);
                let height = self.least(blocks)?;
                self.keep(height);
                self.beside(Kind::Part, 3.0, |flow| flow.blocks(blocks))?;
                self.space(self.style.gap * 0.4);
            }
        }
        Ok(())
    }

    fn heading(&mut self, level: u8, text: &Text, next: &[Block]) -> Result<(), Unprintable> {
        if text.is_empty() {
            // A heading without words would be one that nobody can leap to.
            return Ok(());
        }
        let manner = self.style.heading(level);
        let width = self.column();
        let set = self.setter.set(text, manner, width);
        self.space(self.style.gap + manner.size * if level == 1 { 0.2 } else { 0.7 });
        let height = set.whole() + self.least(next)?;
        self.keep(height);
        self.laid.headings.push((level, text.plain(), self.page(), self.y));
        self.open(Kind::Heading { level, title: text.plain() });
        self.lines(&set, self.left);
        self.close();
        Ok(())
    }

    /// What stands beside a bar, on every page that it goes over.
    fn beside(
        &mut self,
        kind: Kind,
        bar: f32,
        content: impl FnOnce(&mut Self) -> Result<(), Unprintable>,
    ) -> Result<(), Unprintable> {
        let (page, from) = (self.page(), self.y);
        let before = self.left;
        self.left += self.style.body * 0.8;
        self.open(kind);
        let done = content(self);
        self.close();
        self.left = before;
        let last = self.page();
        for at in page..=last {
            let top = if at == page { from } else { self.top };
            let foot = if at == last { self.y } else { self.bottom };
            if foot > top + 1.0 {
                let x = before + bar / 2.0;
                self.mark_on(at, Mark::Rule { from: (x, top), to: (x, foot), width: bar });
            }
        }
        done
    }

    fn list(&mut self, ordered: bool, items: &[Vec<Block>]) -> Result<(), Unprintable> {
        self.open(Kind::List { ordered });
        let indent = self.style.body * if ordered { 1.6 } else { 1.1 };
        let before = self.left;
        for (at, blocks) in items.iter().enumerate() {
            self.space(self.style.gap * 0.7);
            self.left = before + indent;
            let height = self.least(blocks)?;
            self.left = before;
            self.keep(height);
            self.open(Kind::Item);
            let label = if ordered { format!("{}.", at + 1) } else { "\u{2022}".to_owned() };
            let set = self.setter.set(&Text::of(&label), self.style.text(), indent);
            self.open(Kind::Label);
            self.mark(Mark::Lines { lines: 0..set.lines().min(1), set, at: (before, self.y), real: true });
            self.close();
            self.left = before + indent;
            self.open(Kind::Body);
            for (place, block) in blocks.iter().enumerate() {
                match block {
                    // The first words stand beside the label.
                    Block::Paragraph(text) if place == 0 => {
                        self.open(Kind::Paragraph);
                        self.words(text, self.style.text());
                        self.close();
                    }
                    block => self.block(block, &blocks[place + 1..])?,
                }
            }
            self.close();
            self.left = before;
            self.close();
        }
        self.close();
        Ok(())
    }

    fn facts(&mut self, facts: &[(Text, Text)]) {
        self.space(self.style.gap);
        self.open(Kind::Terms);
        let gutter = self.style.body * 0.7;
        let most = self.column() * 0.36;
        let manner = self.style.text();
        let bold = Manner { strong: true, ..manner };
        let mut wide = 0.0_f32;
        for (term, _) in facts {
            wide = wide.max(self.setter.shape(term, bold).widths().1);
        }
        let wide = wide.min(most) + 1.0;
        for (at, (term, value)) in facts.iter().enumerate() {
            if at > 0 {
                self.space(self.style.gap * 0.45);
            }
            let left = self.setter.set(term, bold, wide);
            let column = self.column() - wide - gutter;
            let right = self.setter.set(value, manner, column);
            let height = left.whole().max(right.whole());
            if height > self.whole_page() * 0.6 {
                // A long answer runs below its term, over pages if need be.
                self.need(left.whole() + self.style.line() * 2.0);
                self.open(Kind::Item);
                self.open(Kind::Label);
                self.words(term, bold);
                self.close();
                self.open(Kind::Body);
                self.words(value, manner);
                self.close();
                self.close();
                continue;
            }
            self.need(height);
            let (x, y) = (self.left, self.y);
            self.open(Kind::Item);
            for (kind, set, x) in [(Kind::Label, left, x), (Kind::Body, right, x + wide + gutter)] {
                self.open(kind);
                self.mark(Mark::Lines { lines: 0..set.lines(), set, at: (x, y), real: true });
                self.close();
            }
            self.close();
            self.y += height;
        }
        self.close();
    }

    /// A picture and the size it is drawn in: its own letters come out as large as
    /// the text around, as far as the column is wide enough.
    fn picture(&self, figure: &Figure) -> Result<(usvg::Tree, (f32, f32)), Unprintable> {
        let tree = svg::tree(&figure.svg, &self.document.picture_style, self.faces)?;
        let (wide, tall) = (tree.size().width(), tree.size().height());
        let scale = (self.style.body / svg::LETTERS).min(self.column() / wide).min(self.whole_page() * 0.85 / tall);
        Ok((tree, (wide * scale, tall * scale)))
    }

    fn figure(&mut self, figure: &Figure) -> Result<(), Unprintable> {
        let (tree, size) = self.picture(figure)?;
        self.space(self.style.gap);
        self.need(size.1);
        self.open(Kind::Figure { alternative: figure.alternative.clone() });
        self.mark(Mark::Picture { tree: Box::new(tree), at: (self.left, self.y), size });
        self.close();
        self.y += size.1;
        Ok(())
    }

    /// What the document has become, large and in a frame, before anything else.
    pub(super) fn stamp(&mut self) {
        let Some(words) = self.document.stamp.clone() else { return };
        let size = self.style.body * 1.7;
        let pad = self.style.body * 0.6;
        let (left, right, top) = (self.left, self.right, self.y);
        let manner = Manner { size, leading: 1.2, strong: true, right: false };
        let set = self.setter.set(&Text::strong(&words), manner, right - left - 2.0 * pad);
        self.open(Kind::Paragraph);
        self.mark(Mark::Lines { lines: 0..set.lines(), set: Rc::clone(&set), at: (left + pad, top + pad), real: true });
        self.close();
        let foot = top + set.whole() + 2.0 * pad;
        for (from, to) in [
            ((left, top), (right, top)),
            ((right, top), (right, foot)),
            ((right, foot), (left, foot)),
            ((left, foot), (left, top)),
        ] {
            self.mark(Mark::Rule { from, to, width: 3.0 });
        }
        self.y = foot + self.style.gap;
    }
}
