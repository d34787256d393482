//! What is a document made of?
//!
//! Blocks in reading order, as a page has them: nothing here is a place or a size.

/// Some words in one weight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    /// The words; a line feed begins a new line.
    pub words: String,
    /// Bold.
    pub strong: bool,
}

/// Running text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Text(pub Vec<Span>);

impl Text {
    /// Words in the normal weight.
    pub fn of(words: &str) -> Self {
        Self(vec![Span { words: words.to_owned(), strong: false }])
    }

    /// Words in bold.
    pub fn strong(words: &str) -> Self {
        Self(vec![Span { words: words.to_owned(), strong: true }])
    }

    /// Adds words.
    pub fn push(&mut self, words: &str, strong: bool) {
        match self.0.last_mut() {
            Some(last) if last.strong == strong => last.words.push_str(words),
            _ => self.0.push(Span { words: words.to_owned(), strong }),
        }
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|span| span.words.trim().is_empty())
    }

    /// Whether all of it is bold.
    pub fn is_strong(&self) -> bool {
        !self.0.is_empty() && self.0.iter().all(|span| span.strong)
    }

    /// The words alone.
    pub fn plain(&self) -> String {
        self.0.iter().map(|span| span.words.as_str()).collect()
    }

    /// The same, all of it bold.
    #[must_use]
    pub fn bold(self) -> Self {
        Self::strong(&self.plain())
    }
}

/// A table: one row of column heads, and rows whose first cell is their head.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// What it shows.
    pub caption: Text,
    /// The source, the dates or the count.
    pub note: Text,
    /// The heads of the columns.
    pub heads: Vec<Head>,
    /// The rows; each has as many cells as there are columns.
    pub rows: Vec<Vec<Text>>,
}

/// The head of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// Its words, with the unit of a number.
    pub words: Text,
    /// Whether numbers stand below it.
    pub number: bool,
}

/// A picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// The drawing, as SVG.
    pub svg: String,
    /// What somebody who does not see it should know.
    pub alternative: String,
}

/// A piece of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// A heading and its level, 1 to 6.
    Heading(u8, Text),
    /// A paragraph.
    Paragraph(Text),
    /// What somebody said, word for word.
    Quote(Text),
    /// A list; numbered or not.
    List {
        /// Whether the order counts.
        ordered: bool,
        /// Each item with its blocks.
        items: Vec<Vec<Block>>,
    },
    /// Terms and what is said of them, side by side.
    Facts(Vec<(Text, Text)>),
    /// A table.
    Table(Table),
    /// A picture.
    Figure(Figure),
    /// What must not be overlooked: a notice, or the cautions.
    Notice(Vec<Block>),
}

fn of(text: &Text) -> impl Iterator<Item = &str> {
    text.0.iter().map(|span| span.words.as_str())
}

/// Every run of words that is set, in pictures too.
pub(super) fn words(blocks: &[Block]) -> Box<dyn Iterator<Item = &str> + '_> {
    Box::new(blocks.iter().flat_map(of_block))
}

fn of_block(block: &Block) -> Box<dyn Iterator<Item = &str> + '_> {
    match block {
        Block::Heading(_, text) | Block::Paragraph(text) | Block::Quote(text) => Box::new(of(text)),
        Block::List { items, .. } => Box::new(items.iter().flat_map(|item| words(item))),
        Block::Facts(facts) => Box::new(facts.iter().flat_map(|(term, said)| of(term).chain(of(said)))),
        Block::Table(table) => {
            let heads = table.heads.iter().map(|head| &head.words);
            let texts = [&table.caption, &table.note].into_iter().chain(heads).chain(table.rows.iter().flatten());
            Box::new(texts.flat_map(of))
        }
        // The marks of a drawing are letters that every typeface has.
        Block::Figure(figure) => Box::new(std::iter::once(figure.svg.as_str())),
        Block::Notice(blocks) => words(blocks),
    }
}
