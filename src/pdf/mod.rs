//! How does a document look on paper, and what does a screen reader hear of it?
//!
//! A [`Document`] goes in: headings, paragraphs, lists, tables with header cells,
//! pictures with their words. A tagged PDF comes out (PDF/UA-1, ISO 14289-1): every
//! typeface embedded, title and language said, all content in reading order, what
//! is drawn for the eye alone marked as such. Two sizes: standard, 12 pt, and large,
//! 18 pt. Pure: no time, no files, no record; the same document gives the same bytes.
//!
//! Does not know what a prescription is; the pages do, and [`read`] takes a document
//! from a page so that no figure is worded twice. Read next: [`model`] for what a
//! document is made of, `flow.rs` for how it fills pages, `draw.rs` for the tags.

mod draw;
mod flow;
mod fonts;
pub mod model;
pub mod read;
mod svg;
mod table;
mod text;

use model::Block;

/// The size of the letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Size {
    /// 12 pt.
    Standard,
    /// 18 pt, what organisations of people with low vision ask for at least.
    #[default]
    Large,
}

impl Size {
    /// The size of this name.
    pub fn named(name: &str) -> Option<Self> {
        match name {
            "standard" => Some(Self::Standard),
            "large" => Some(Self::Large),
            _ => None,
        }
    }
}

/// The sheet it is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sheet {
    /// 210 by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Sheet {
    /// Width and height in points.
    const fn points(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// How much room is left around the text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Room {
    /// Margins of 25 mm and open lines, over as many pages as it takes.
    #[default]
    Open,
    /// Margins of 12 mm and closer lines, for what has to fit one side.
    OneSide,
}

/// A document, ready to be set.
#[derive(Debug, Clone)]
pub struct Document {
    /// Its title, shown in the title bar of a reader. Initials at most.
    pub title: String,
    /// The language, as in the `lang` of a page.
    pub language: String,
    /// What stands at the foot of each page, beside its number.
    pub foot: String,
    /// What it has become, where it no longer counts: in a frame at its head, and
    /// again at the head of each further page.
    pub stamp: Option<String>,
    /// Its content.
    pub blocks: Vec<Block>,
    /// The size of the letters.
    pub size: Size,
    /// The sheet.
    pub sheet: Sheet,
    /// The room around the text.
    pub room: Room,
    /// The rules of a style sheet that the pictures are drawn by.
    pub picture_style: String,
}

/// Why there is no PDF. Never says what stood in the document.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unprintable {
    /// A typeface that the program carries could not be read.
    #[error("a typeface could not be read")]
    Typeface,
    /// A picture is no drawing.
    #[error("a picture could not be read")]
    Picture,
    /// The file would break PDF/UA-1; how many rules.
    #[error("{0} rules of PDF/UA-1 would be broken")]
    Rules(usize),
    /// The file could not be written.
    #[error("the PDF could not be written")]
    Written,
}

/// The document as a tagged PDF.
///
/// # Errors
/// [`Unprintable`], when a picture cannot be drawn or a rule of PDF/UA-1 would be broken.
///
/// ```
/// use farpoint::pdf::{self, Document, model::{Block, Text}};
/// let document = Document {
///     title: "A note, L.H.".to_owned(),
///     language: "en".to_owned(),
///     foot: "L.H.".to_owned(),
///     stamp: None,
///     blocks: vec![Block::Heading(1, Text::of("A note")), Block::Paragraph(Text::of("Sit in row 2."))],
///     size: pdf::Size::Large,
///     sheet: pdf::Sheet::A4,
///     room: pdf::Room::Open,
///     picture_style: String::new(),
/// };
/// assert!(pdf::write(&document)?.starts_with(b"%PDF-1.7"));
/// # Ok::<(), pdf::Unprintable>(())
/// ```
pub fn write(document: &Document) -> Result<Vec<u8>, Unprintable> {
    let faces = fonts::faces()?;
    let laid = flow::lay(document, faces)?;
    draw::draw(document, faces, laid)
}

/// How many pages the document takes.
///
/// # Errors
/// [`Unprintable`], when a picture cannot be drawn.
pub fn pages(document: &Document) -> Result<usize, Unprintable> {
    Ok(flow::lay(document, fonts::faces()?)?.pages.len())
}
