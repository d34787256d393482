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

/// How many letters of the document no typeface here has; each is printed as an
/// empty box.
///
/// # Errors
/// [`Unprintable`], when a typeface cannot be read.
pub fn unprintable(document: &Document) -> Result<usize, Unprintable> {
    let faces = fonts::faces()?;
    Ok(model::words(&document.blocks).map(|words| faces.boxes(words)).sum())
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::{Figure, Head, Table, Text};

    fn document(blocks: Vec<Block>) -> Document {
        Document {
            title: "A paper, L.H.".to_owned(),
            language: "en".to_owned(),
            foot: "L.H.".to_owned(),
            stamp: None,
            blocks,
            size: Size::Large,
            sheet: Sheet::A4,
            room: Room::Open,
            picture_style: String::new(),
        }
    }

    fn table(columns: usize, cell: &str) -> Block {
        let head = |at: usize| Head { words: Text::of(&format!("Head {at}")), number: at % 2 == 1 };
        Block::Table(Table {
            caption: Text::of("A table"),
            note: Text::of("Counted on one day."),
            heads: (0..columns).map(head).collect(),
            rows: (0..3).map(|_| (0..columns).map(|_| Text::of(cell)).collect()).collect(),
        })
    }

    fn everything(words: &str) -> Vec<Block> {
        let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 360 90\"><text x=\"4\" y=\"40\">3.5 cm</text></svg>";
        vec![
            Block::Heading(1, Text::of(words)),
            Block::Paragraph(Text::of(words)),
            Block::Quote(Text::of(words)),
            Block::List { ordered: true, items: vec![vec![Block::Paragraph(Text::of(words))]] },
            Block::Facts(vec![(Text::of(words), Text::of(words))]),
            table(3, words),
            table(9, words),
            Block::Heading(2, Text::of("A picture")),
            Block::Figure(Figure { svg: svg.to_owned(), alternative: "A length: 3.5 cm.".to_owned() }),
            Block::Notice(vec![Block::Paragraph(Text::strong(words)), Block::Paragraph(Text::of(words))]),
        ]
    }

    #[test]
    fn whatever_people_write_keeps_to_the_rules() {
        let long = "w".repeat(1_500);
        let many = "a word and another, ".repeat(80);
        for words in [
            "Row 2",
            "",
            " \n\n ",
            "O\u{2019}Neill & <b>\u{301}",
            "\u{5e9}\u{5dc}\u{5d5}\u{5dd} 3.5",
            "\u{1f600}\u{fe0f}\u{0}\u{7}\u{feff}",
            &long,
            &many,
        ] {
            for (size, room) in [(Size::Large, Room::Open), (Size::Standard, Room::OneSide)] {
                let stamp = Some("Cancelled. Do not use.".to_owned());
                let written = write(&Document { size, room, stamp, ..document(everything(words)) });
                assert!(written.is_ok(), "{size:?} {room:?} {:?}: {written:?}", words.get(..5));
            }
        }
    }

    #[test]
    fn the_same_document_gives_the_same_bytes() {
        let paper = document(everything("Row 2"));
        assert!(write(&paper).is_ok_and(|bytes| write(&paper) == Ok(bytes)));
    }

    #[test]
    fn what_is_longer_than_a_page_goes_on_and_large_print_takes_more() {
        let many = "a word and another, ".repeat(200);
        let large = document(vec![Block::Heading(1, Text::of("Long")), table(2, &many)]);
        let standard = Document { size: Size::Standard, ..large.clone() };
        let (large, standard) = (pages(&large).unwrap_or(0), pages(&standard).unwrap_or(0));
        assert!(standard > 2 && large > standard, "{standard} and {large} pages");
    }

    #[test]
    fn nothing_that_heads_something_stands_alone_at_the_foot_of_a_page() {
        let row = table(9, "seen");
        let paragraph = || Block::Paragraph(Text::of("Three lines of words that go on and on, ".repeat(3).trim()));
        let cautions = || {
            Block::Notice(vec![
                Block::Paragraph(Text::strong("Before you look")),
                Block::List { ordered: false, items: vec![vec![paragraph()], vec![paragraph()]] },
            ])
        };
        let followers: [&dyn Fn() -> Vec<Block>; 3] =
            [&|| vec![row.clone()], &|| vec![Block::Heading(2, Text::of("Who signed")), paragraph()], &|| {
                vec![cautions()]
            }];
        for (which, follower) in followers.iter().enumerate() {
            for filled in 8..26 {
                let mut blocks = vec![Block::Paragraph(Text::of("A line")); filled];
                blocks.extend(follower());
                let laid = flow::lay(&document(blocks), fonts::faces().expect("typefaces")).expect("laid");
                let alone = flow::heads_alone(&laid);
                assert!(alone.is_empty(), "{which} after {filled} lines: {alone:?}");
            }
        }
    }

    #[test]
    fn a_picture_that_is_none_is_refused() {
        let figure = Figure { svg: "no drawing".to_owned(), alternative: "Nothing.".to_owned() };
        assert_eq!(write(&document(vec![Block::Figure(figure)])), Err(Unprintable::Picture));
    }
}
