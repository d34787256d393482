//! How is a document taken from its page?
//!
//! A page is the one place where its values are worded. So its paper is read from the
//! page itself, as rendered: what the style sheet hides on paper is left out, what is
//! folded away on a screen is unfolded, and everything else becomes a block. What this
//! reader does not know it refuses, so that nothing is lost in silence. Read next:
//! `read/words.rs` for a line, `read/table.rs` and `read/figure.rs` for the rest.

mod figure;
mod table;
mod words;

use scraper::node::{Element, Node};
use scraper::{ElementRef, Html, Selector};

use self::words::{Line, text};
use super::model::Block;

/// What keeps a page from being read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unread {
    /// The page has no main part.
    #[error("the page has no main part")]
    NoMain,
    /// An element that this reader does not know, by its name.
    #[error("<{0}> has no place on paper")]
    Element(String),
    /// A picture without words.
    #[error("a picture has no title and description")]
    Wordless,
}

/// What a page says on paper.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Read {
    /// The title of the page.
    pub title: String,
    /// Its language.
    pub language: String,
    /// What the document has become, where the page says so.
    pub stamp: Option<String>,
    /// Everything in reading order.
    pub blocks: Vec<Block>,
}

/// Reads the main part of a rendered page.
///
/// # Errors
/// [`Unread`], with what has no place on paper.
///
/// ```
/// use farpoint::pdf::{model::{Block, Text}, read::read};
/// let page = "<html lang=en><title>A note</title><main><h1>A note</h1><p class=no-print>Print</p><p>Sit in row 2.</p></main>";
/// let note = read(page)?;
/// assert_eq!(note.blocks, [Block::Heading(1, Text::of("A note")), Block::Paragraph(Text::of("Sit in row 2."))]);
/// # Ok::<(), farpoint::pdf::read::Unread>(())
/// ```
pub fn read(page: &str) -> Result<Read, Unread> {
    let html = Html::parse_document(page);
    let find = |name: &str| Selector::parse(name).ok().and_then(|selector| html.select(&selector).next());
    let main = find("main").ok_or(Unread::NoMain)?;
    let mut reading = Reading::default();
    let mut blocks = reading.blocks(main)?;
    // What is said over every page of this student, below the heading; a card of one
    // side says it itself.
    if find("main .sheet").is_none() {
        for over in [".student .overdue", ".student .paused"] {
            if let Some(words) = find(over) {
                let said = Block::Notice(vec![Block::Paragraph(text(words)?)]);
                blocks.insert(1.min(blocks.len()), said);
            }
        }
    }
    Ok(Read {
        title: find("title").map(|title| title.text().collect::<String>().trim().to_owned()).unwrap_or_default(),
        language: html.root_element().attr("lang").unwrap_or("en").to_owned(),
        stamp: reading.stamp,
        blocks,
    })
}

#[derive(Default)]
struct Reading {
    stamp: Option<String>,
}

/// Where an element belongs.
enum Place {
    /// Left out on paper.
    Off,
    /// Part of a line.
    Inline,
    /// A container whose content counts, not itself.
    Open,
    /// A block of its own.
    Block,
}

/// The classes that the style sheet hides on paper.
const OFF: [&str; 7] = ["no-print", "button", "crumbs", "flash", "red-flag", "section-nav", "step-button"];

fn place(element: &Element) -> Result<Place, Unread> {
    let off = element.classes().any(|class| OFF.contains(&class)) || element.attr("hidden").is_some();
    if off {
        return Ok(Place::Off);
    }
    Ok(match element.name() {
        "script" | "style" | "template" | "form" | "button" | "nav" | "input" | "title" | "desc" => Place::Off,
        // A mark beside a word that says the same.
        "svg" if element.attr("aria-hidden") == Some("true") => Place::Off,
        "a" | "abbr" | "b" | "br" | "code" | "em" | "i" | "q" | "small" | "span" | "strong" | "sub" | "sup"
        | "time" | "wbr" => Place::Inline,
        "article" | "aside" | "div" | "figcaption" | "footer" | "header" | "main" | "section" => Place::Open,
        "blockquote" | "details" | "dl" | "figure" | "h1" | "h2" | "h3" | "h4" | "h5" | "h6" | "ol" | "p"
        | "summary" | "svg" | "table" | "ul" => Place::Block,
        other => return Err(Unread::Element(other.to_owned())),
    })
}

fn has(element: ElementRef<'_>, class: &str) -> bool {
    element.value().has_class(class, scraper::CaseSensitivity::CaseSensitive)
}

impl Reading {
    /// The blocks of a container.
    fn blocks(&mut self, parent: ElementRef<'_>) -> Result<Vec<Block>, Unread> {
        let mut out = Vec::new();
        let mut line = Line::default();
        for child in parent.children() {
            match child.value() {
                Node::Text(words) => line.add(words, false),
                Node::Element(element) => {
                    let Some(child) = ElementRef::wrap(child) else { continue };
                    match place(element)? {
                        Place::Off => {}
                        Place::Inline => line.element(child, false)?,
                        Place::Open => {
                            line.end(&mut out);
                            self.open(child, &mut out)?;
                        }
                        Place::Block => {
                            line.end(&mut out);
                            self.block(child, &mut out)?;
                        }
                    }
                }
                _ => {}
            }
        }
        line.end(&mut out);
        Ok(out)
    }

    fn open(&mut self, element: ElementRef<'_>, out: &mut Vec<Block>) -> Result<(), Unread> {
        let blocks = self.blocks(element)?;
        if blocks.is_empty() {
            return Ok(());
        }
        if has(element, "notice") || has(element, "cautions") {
            out.push(Block::Notice(blocks));
        } else {
            out.extend(blocks);
        }
        Ok(())
    }

    fn block(&mut self, element: ElementRef<'_>, out: &mut Vec<Block>) -> Result<(), Unread> {
        match element.value().name() {
            "p" if has(element, "stamp") => {
                self.stamp = Some(text(element)?.plain());
            }
            "p" if has(element, "said") => push(out, Block::Quote(text(element)?)),
            "blockquote" => push(out, Block::Quote(text(element)?)),
            // Both head what follows without being a heading, and stay with it.
            "p" if has(element, "how-head") => push(out, Block::Paragraph(text(element)?.bold())),
            "p" => push(out, Block::Paragraph(text(element)?)),
            "summary" => push(out, Block::Paragraph(text(element)?.bold())),
            "dl" => out.push(Block::Facts(table::facts(element)?)),
            "details" | "figure" => out.extend(self.blocks(element)?),
            "svg" => out.push(Block::Figure(figure::figure(element)?)),
            "table" => out.push(Block::Table(table::table(element)?)),
            name @ ("ul" | "ol") => {
                let mut items = Vec::new();
                for item in elements(element, &["li"])? {
                    items.push(self.blocks(item)?);
                }
                if !items.is_empty() {
                    out.push(Block::List { ordered: name == "ol", items });
                }
            }
            heading => {
                // The only names left are h1 to h6.
                let level = heading.as_bytes().get(1).map_or(1, |digit| digit.saturating_sub(b'0'));
                push(out, Block::Heading(level, text(element)?));
            }
        }
        Ok(())
    }
}

/// Keeps a block that says something.
fn push(out: &mut Vec<Block>, block: Block) {
    let empty = match &block {
        Block::Heading(_, text) | Block::Paragraph(text) | Block::Quote(text) => text.is_empty(),
        _ => false,
    };
    if !empty {
        out.push(block);
    }
}

/// The children that are elements of these names; another element is refused.
fn elements<'h>(parent: ElementRef<'h>, names: &[&str]) -> Result<Vec<ElementRef<'h>>, Unread> {
    let mut found = Vec::new();
    for child in parent.children().filter_map(ElementRef::wrap) {
        let name = child.value().name();
        if !names.contains(&name) {
            return Err(Unread::Element(format!("{} > {name}", parent.value().name())));
        }
        if !matches!(place_or_block(child.value()), Place::Off) {
            found.push(child);
        }
    }
    Ok(found)
}

/// The same for the parts of lists and tables, which stand only there.
fn place_or_block(element: &Element) -> Place {
    place(element).unwrap_or(Place::Block)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pdf::model::Text;

    fn main_of(inner: &str) -> Result<Read, Unread> {
        read(&format!("<!doctype html><html lang=\"en\"><title>T</title><main>{inner}</main></html>"))
    }

    #[test]
    fn what_has_no_place_on_paper_is_refused_and_not_lost() {
        assert_eq!(main_of("<h1>A</h1><video></video>"), Err(Unread::Element("video".to_owned())));
        assert_eq!(main_of("<svg role=\"img\"><path d=\"M0 0\"/></svg>"), Err(Unread::Wordless));
        assert!(main_of("<table><tr><td><ul><li><table></table></li></ul></td></tr></table>").is_err());
        assert_eq!(read("<p>no main</p>"), Err(Unread::NoMain));
    }

    #[test]
    fn what_paper_hides_is_left_out_and_what_a_screen_folds_is_unfolded() {
        let page = "<nav>Up</nav><p class=\"no-print\">Print</p><form><button>Send</button></form><a class=\"button\" href=\"/\">Go</a>\
            <details><summary>How</summary><p>By hand.</p><p class=\"how-head\">What went in</p></details><p class=\"stamp only-print\">Cancelled</p>";
        let found = main_of(page).expect("a page");
        let [how, by, what] =
            [Text::strong("How"), Text::of("By hand."), Text::strong("What went in")].map(Block::Paragraph);
        assert_eq!(found.blocks, [how, by, what]);
        assert_eq!(found.stamp.as_deref(), Some("Cancelled"));
    }

    #[test]
    fn what_was_typed_keeps_its_lines_and_words_never_run_together() {
        let found = main_of("<p class=\"said\">one\n two</p><p>three\n  four</p><p class=\"entry-head\"><span>Mon</span><span>Ann</span></p>").expect("a page");
        assert_eq!(found.blocks[0], Block::Quote(Text::of("one\ntwo")));
        assert_eq!(found.blocks[1], Block::Paragraph(Text::of("three four")));
        assert_eq!(found.blocks[2], Block::Paragraph(Text::of("Mon, Ann")));
    }

    #[test]
    fn a_table_keeps_its_caption_its_heads_and_its_numbers() {
        let found = main_of(
            "<table><caption><span class=\"caption\">Seats</span><span class=\"caption-note\">One day.</span></caption>\
             <thead><tr><th>Row</th><th class=\"number\">m</th></tr></thead><tbody><tr><th>1</th><td><span>2.5</span></td></tr></tbody></table>",
        )
        .expect("a page");
        let [Block::Table(table)] = found.blocks.as_slice() else { panic!("{:?}", found.blocks) };
        assert_eq!((table.caption.plain(), table.note.plain()), ("Seats".to_owned(), "One day.".to_owned()));
        assert!(table.heads[1].number && !table.heads[0].number);
        assert_eq!(table.rows, [[Text::of("1"), Text::of("2.5")]]);
    }
}
