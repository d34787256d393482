//! How does a document fill its pages?
//!
//! Blocks are set one after the other into one column. A heading stays with what it
//! heads, a row of a table is not split unless it is longer than a page, no line of a
//! paragraph stands alone. What comes out is marks on pages and a tree of what they
//! mean; the number of pages is known before a word is drawn.
//! Read next: `table.rs` for tables, `draw.rs` for what becomes of the marks.

use std::ops::Range;
use std::rc::Rc;

use super::fonts::Faces;
use super::model::{Block, Figure, Text};
use super::text::{Manner, Set, Setter};
use super::{Document, Room, Size, Unprintable, svg};

/// Sizes and distances, in points.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    pub(super) body: f32,
    pub(super) leading: f32,
    pub(super) gap: f32,
    pub(super) margin: f32,
    pub(super) foot: f32,
    heads: [f32; 6],
}

impl Style {
    fn of(size: Size, room: Room) -> Self {
        let (body, mut heads) = match size {
            Size::Standard => (12.0, [18.0, 15.0, 13.0, 12.0, 12.0, 12.0]),
            Size::Large => (18.0, [26.0, 22.0, 20.0, 18.0, 18.0, 18.0]),
        };
        if room == Room::OneSide {
            heads[0] = body * 1.15;
        }
        match room {
            Room::Open => Self { body, leading: 1.36, gap: body * 0.55, margin: 70.87, foot: body * 0.78, heads },
            Room::OneSide => Self { body, leading: 1.16, gap: body * 0.22, margin: 28.35, foot: body * 0.6, heads },
        }
    }

    /// The manner of running text.
    pub(super) const fn text(&self) -> Manner {
        Manner { size: self.body, leading: self.leading, strong: false, right: false }
    }

    fn heading(&self, level: u8) -> Manner {
        let size = self.heads.get(usize::from(level.clamp(1, 6)) - 1).copied().unwrap_or(self.body);
        Manner { size, leading: 1.2, strong: true, right: false }
    }

    /// Whether the letters are those of large print.
    pub(super) fn large(&self) -> bool {
        self.body > 15.0
    }

    fn line(&self) -> f32 {
        self.body * self.leading
    }
}

/// What a part of the document is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Kind {
    Heading { level: u8, title: String },
    Paragraph,
    Quote,
    Part,
    List { ordered: bool },
    Terms,
    Item,
    Label,
    Body,
    Table,
    Caption,
    Head,
    Rows,
    Row,
    ColumnHead { across: u32 },
    RowHead { across: u32 },
    Cell,
    Figure { alternative: String },
}

/// A part of the document and what it holds, in reading order.
#[derive(Debug)]
pub(super) struct Node {
    pub(super) kind: Kind,
    pub(super) children: Vec<Child>,
}

/// What a part holds.
#[derive(Debug, Clone, Copy)]
pub(super) enum Child {
    Node(NodeId),
    Mark { page: usize, mark: usize },
}

/// The place of a part in the list of parts.
pub(super) type NodeId = usize;

/// Something drawn. Without a part it is for the eye alone.
pub(super) enum Mark {
    Lines { set: Rc<Set>, lines: Range<usize>, at: (f32, f32), real: bool },
    Rule { from: (f32, f32), to: (f32, f32), width: f32 },
    Picture { tree: Box<usvg::Tree>, at: (f32, f32), size: (f32, f32) },
}

/// A document on its pages.
pub(super) struct Laid {
    pub(super) pages: Vec<Vec<Mark>>,
    pub(super) nodes: Vec<Node>,
    /// What the document holds at its top.
    pub(super) top: Vec<NodeId>,
    /// Its headings: level, words, page, height on the page.
    pub(super) headings: Vec<(u8, String, usize, f32)>,
}

/// The pages being filled.
pub(super) struct Flow<'d> {
    pub(super) setter: Setter,
    pub(super) style: Style,
    document: &'d Document,
    faces: &'static Faces,
    laid: Laid,
    pub(super) y: f32,
    pub(super) left: f32,
    pub(super) right: f32,
    top: f32,
    bottom: f32,
    open: Vec<NodeId>,
}

/// Lays a document out.
pub(super) fn lay(document: &Document, faces: &'static Faces) -> Result<Laid, Unprintable> {
    let style = Style::of(document.size, document.room);
    let (width, height) = document.sheet.points();
    let mut flow = Flow {
        setter: Setter::new(faces),
        style,
        document,
        faces,
        laid: Laid { pages: vec![Vec::new()], nodes: Vec::new(), top: Vec::new(), headings: Vec::new() },
        y: style.margin,
        left: style.margin,
        right: width - style.margin,
        top: style.margin,
        // The foot stands in the margin; where that is narrow, above it is kept free.
        bottom: height - style.margin.max(style.foot * 3.2),
        open: Vec::new(),
    };
    flow.stamp();
    flow.blocks(&document.blocks)?;
    flow.feet(height);
    Ok(flow.laid)
}

impl Flow<'_> {
    /// The width of the column.
    pub(super) fn column(&self) -> f32 {
        self.right - self.left
    }

    fn page(&self) -> usize {
        self.laid.pages.len() - 1
    }

    /// Whether nothing stands on this page yet.
    pub(super) fn fresh(&self) -> bool {
        self.y <= self.top + 0.1
    }

    /// The room left on this page.
    pub(super) fn room(&self) -> f32 {
        self.bottom - self.y
    }

    /// The room on a page of its own.
    pub(super) fn whole_page(&self) -> f32 {
        self.bottom - self.top
    }

    /// Goes on to the next page.
    pub(super) fn turn(&mut self) {
        self.laid.pages.push(Vec::new());
        self.y = self.top;
        if let Some(words) = self.document.stamp.clone() {
            // Nobody who holds a later page alone may take it for one that counts.
            let set =
                self.setter.set(&Text::strong(&words), Manner { leading: 1.2, ..self.style.text() }, self.column());
            let height = set.whole();
            self.mark(Mark::Lines {
                lines: 0..set.lines(),
                set,
                at: (self.left, self.style.margin - height - 4.0),
                real: false,
            });
        }
    }

    /// Goes on to the next page unless so much fits on this one.
    pub(super) fn need(&mut self, height: f32) {
        if height > self.room() && !self.fresh() {
            self.turn();
        }
    }

    /// Leaves room before the next block; not at the head of a page.
    pub(super) fn space(&mut self, height: f32) {
        if !self.fresh() {
            self.y += height;
        }
    }

    /// Opens a part; everything drawn until it is closed belongs to it.
    pub(super) fn open(&mut self, kind: Kind) {
        let id = self.laid.nodes.len();
        self.laid.nodes.push(Node { kind, children: Vec::new() });
        match self.open.last().and_then(|parent| self.laid.nodes.get_mut(*parent)) {
            Some(parent) => parent.children.push(Child::Node(id)),
            None => self.laid.top.push(id),
        }
        self.open.push(id);
    }

    /// Closes the part opened last.
    pub(super) fn close(&mut self) {
        self.open.pop();
    }

    /// Draws something on this page.
    pub(super) fn mark(&mut self, mark: Mark) {
        let page = self.page();
        self.mark_on(page, mark);
    }

    fn mark_on(&mut self, page: usize, mark: Mark) {
        let real = match &mark {
            Mark::Lines { real, .. } => *real,
            Mark::Picture { .. } => true,
            Mark::Rule { .. } => false,
        };
        let Some(marks) = self.laid.pages.get_mut(page) else { return };
        let at = marks.len();
        marks.push(mark);
        if real && let Some(node) = self.open.last().and_then(|id| self.laid.nodes.get_mut(*id)) {
            node.children.push(Child::Mark { page, mark: at });
        }
    }

    /// Sets lines over as many pages as they take.
    pub(super) fn lines(&mut self, set: &Rc<Set>, x: f32) {
        let count = set.lines();
        let mut from = 0;
        while from < count {
            let mut to = from;
            while to < count && set.height(from..to + 1) <= self.room() {
                to += 1;
            }
            if to < count && !self.fresh() {
                // No first line alone at the foot, no last line alone at the head.
                if count - to < 2 {
                    to = to.saturating_sub(1).max(from);
                }
                if from == 0 && to < 2 {
                    to = 0;
                }
            }
            if to == from && self.fresh() {
                to += 1;
            }
            if to > from {
                let height = set.height(from..to);
                self.mark(Mark::Lines { set: Rc::clone(set), lines: from..to, at: (x, self.y), real: true });
                self.y += height;
                from = to;
            }
            if from < count {
                self.turn();
            }
        }
    }

    /// A text in the column.
    pub(super) fn words(&mut self, text: &Text, manner: Manner) {
        let width = self.column();
        let set = self.setter.set(text, manner, width);
        self.lines(&set, self.left);
    }

    /// A rule across the column at this height, for the eye alone.
    pub(super) fn rule(&mut self, width: f32) {
        self.mark(Mark::Rule { from: (self.left, self.y), to: (self.right, self.y), width });
    }

    fn blocks(&mut self, blocks: &[Block]) -> Result<(), Unprintable> {
        for (at, block) in blocks.iter().enumerate() {
            self.block(block, blocks.get(at + 1))?;
        }
        Ok(())
    }

    fn block(&mut self, block: &Block, next: Option<&Block>) -> Result<(), Unprintable> {
        match block {
            Block::Heading(level, text) => self.heading(*level, text, next)?,
            Block::Paragraph(text) => {
                self.space(self.style.gap);
                if text.is_strong() {
                    // It heads what follows, without being a heading.
                    let lines = if matches!(next, Some(Block::Table(_))) { 7.0 } else { 3.5 };
                    self.need(self.style.line() * lines);
                }
                self.open(Kind::Paragraph);
                self.words(text, self.style.text());
                self.close();
            }
            Block::Quote(text) => {
                self.space(self.style.gap);
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
                self.need(self.style.line() * 3.0);
                self.beside(Kind::Part, 3.0, |flow| flow.blocks(blocks))?;
                self.space(self.style.gap * 0.4);
            }
        }
        Ok(())
    }

    fn heading(&mut self, level: u8, text: &Text, next: Option<&Block>) -> Result<(), Unprintable> {
        let manner = self.style.heading(level);
        let width = self.column();
        let set = self.setter.set(text, manner, width);
        self.space(self.style.gap + manner.size * if level == 1 { 0.2 } else { 0.7 });
        let follows = match next {
            Some(Block::Figure(figure)) => self.picture(figure)?.1.1 + self.style.gap,
            Some(Block::Table(_)) => self.style.line() * 6.0,
            Some(Block::Heading(..)) => self.style.line() * 5.0,
            Some(_) => self.style.line() * 2.5,
            None => 0.0,
        };
        self.need(set.whole() + follows.min(self.whole_page() * 0.8));
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
            self.need(self.style.line() * 2.0);
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
                    block => self.block(block, blocks.get(place + 1))?,
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
    fn stamp(&mut self) {
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

    /// The foot of every page: whose it is, and which page of how many.
    fn feet(&mut self, height: f32) {
        let pages = self.laid.pages.len();
        let manner = Manner { size: self.style.foot, leading: 1.2, strong: false, right: false };
        let foot = Text::of(&self.document.foot);
        let width = self.column();
        for at in 0..pages {
            let number = Text::of(&format!("Page {} of {pages}", at + 1));
            let right = self.setter.set(&number, Manner { right: true, ..manner }, width);
            let left = self.setter.set(&foot, manner, width - right.width() - self.style.foot);
            let top = height - self.style.margin.min(40.0) * 0.55 - left.whole().max(right.whole());
            for set in [left, right] {
                let lines = 0..set.lines();
                self.mark_on(at, Mark::Lines { set, lines, at: (self.left, top), real: false });
            }
        }
    }
}
