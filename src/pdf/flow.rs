//! How does a document fill its pages?
//!
//! Into one column, line by line; no line of a paragraph stands alone. What comes out
//! is marks on pages and a tree of what they mean, so that the number of pages is known
//! before a word is drawn. Does not know the kinds of block.
//! Read next: `flow/blocks.rs` for those, `table.rs` for tables, `draw.rs` for what
//! becomes of the marks.

mod blocks;

use std::ops::Range;
use std::rc::Rc;

use super::fonts::Faces;
use super::model::Text;
use super::text::{Manner, Set, Setter};
use super::{Document, Room, Size, Unprintable};

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

/// The captions, headings and labels after which nothing else that is read stands on
/// their page, though it does on the next; in a test.
#[cfg(test)]
pub(super) fn heads_alone(laid: &Laid) -> Vec<String> {
    let last_page = laid.pages.len().saturating_sub(1);
    let mut alone = Vec::new();
    for (id, node) in laid.nodes.iter().enumerate() {
        let heads = matches!(node.kind, Kind::Heading { .. } | Kind::Caption | Kind::Label);
        let Some(Child::Mark { page, mark }) = node.children.last().filter(|_| heads) else { continue };
        let more = laid.pages[*page].iter().skip(mark + 1).any(|other| matches!(other, Mark::Lines { real: true, .. }));
        if !more && *page < last_page {
            alone.push(format!("{:?}, part {id}", node.kind));
        }
    }
    alone
}
