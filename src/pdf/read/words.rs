//! How are words gathered from a page?
//!
//! White space as a browser folds it, but for what somebody typed; bold where the
//! page means it. What stands in a line and is no line is refused.

use scraper::ElementRef;
use scraper::node::Node;

use super::{Place, Reading, Unread, has, place, push};
use crate::pdf::model::{Block, Text};

/// Words of one line being gathered.
#[derive(Default)]
pub(super) struct Line {
    text: Text,
    /// Whether line feeds are kept, as in what somebody typed.
    typed: bool,
}

impl Line {
    pub(super) fn add(&mut self, words: &str, strong: bool) {
        let mut out = String::new();
        let ends = self.text.0.last().map_or(' ', |span| span.words.chars().next_back().unwrap_or(' '));
        let mut blank = ends.is_whitespace();
        for letter in words.chars() {
            if self.typed && letter == '\n' {
                out.push('\n');
                blank = true;
            } else if letter.is_whitespace() && letter != '\u{a0}' && letter != '\u{202f}' {
                if !blank {
                    out.push(' ');
                }
                blank = true;
            } else {
                out.push(letter);
                blank = false;
            }
        }
        if !out.is_empty() {
            self.text.push(&out, strong);
        }
    }

    fn ends_blank(&self) -> bool {
        self.text.0.last().is_none_or(|span| span.words.ends_with([' ', '\n', '(']))
    }

    pub(super) fn element(&mut self, element: ElementRef<'_>, strong: bool) -> Result<(), Unread> {
        let name = element.value().name();
        if name == "br" {
            self.text.push("\n", strong);
            return Ok(());
        }
        let strong = strong || matches!(name, "b" | "strong") || has(element, "caption") || has(element, "entry-title");
        if has(element, "caption-note") {
            self.text.push("\n", false);
        }
        for child in element.children() {
            match child.value() {
                Node::Text(words) => self.add(words, strong),
                Node::Element(inner) => match place(inner)? {
                    Place::Off => {}
                    Place::Inline => {
                        if let Some(child) = ElementRef::wrap(child) {
                            self.element(child, strong)?;
                        }
                    }
                    Place::Open | Place::Block => return Err(Unread::Element(format!("{name} > {}", inner.name()))),
                },
                _ => {}
            }
        }
        Ok(())
    }

    /// What was gathered.
    fn take(&mut self) -> Text {
        let mut text = std::mem::take(&mut self.text);
        if let Some(first) = text.0.first_mut() {
            first.words = first.words.trim_start().to_owned();
        }
        if let Some(last) = text.0.last_mut() {
            last.words = last.words.trim_end().to_owned();
        }
        text.0.retain(|span| !span.words.is_empty());
        text
    }

    /// Ends a line that stands in a container without a paragraph of its own.
    pub(super) fn end(&mut self, out: &mut Vec<Block>) {
        push(out, Block::Paragraph(self.take()));
    }
}

/// The words of an element, on one line or as typed.
pub(super) fn text(element: ElementRef<'_>) -> Result<Text, Unread> {
    let mut line = Line { typed: has(element, "said"), ..Line::default() };
    // The parts of such a line stand apart on the page without a sign between them.
    let apart = has(element, "entry-head");
    for child in element.children() {
        match child.value() {
            Node::Text(words) => line.add(words, false),
            Node::Element(inner) => {
                let Some(child) = ElementRef::wrap(child) else { continue };
                match place(inner)? {
                    Place::Off => {}
                    Place::Inline => {
                        if apart && !line.text.is_empty() {
                            let ended = line.take();
                            line.text = ended;
                            line.text.push(", ", false);
                        } else if inner.name() == "span" && !line.ends_blank() {
                            line.add(" ", false);
                        }
                        line.element(child, false)?;
                    }
                    Place::Open | Place::Block => {
                        return Err(Unread::Element(format!("{} > {}", element.value().name(), inner.name())));
                    }
                }
            }
            _ => {}
        }
    }
    Ok(line.take())
}

/// All words below an element, each block on a line of its own.
pub(super) fn flat(element: ElementRef<'_>) -> Result<Text, Unread> {
    let mut out = Text::default();
    for block in Reading::default().blocks(element)? {
        let words = match block {
            Block::Paragraph(text) | Block::Quote(text) | Block::Heading(_, text) => text,
            Block::List { items, .. } => {
                let mut lines = Vec::new();
                for block in items.iter().flatten() {
                    let Block::Paragraph(text) = block else {
                        return Err(Unread::Element(element.value().name().to_owned()));
                    };
                    lines.push(text.plain());
                }
                Text::of(&lines.join("\n"))
            }
            _ => return Err(Unread::Element(element.value().name().to_owned())),
        };
        if !out.0.is_empty() {
            out.push("\n", false);
        }
        for span in words.0 {
            out.push(&span.words, span.strong);
        }
    }
    Ok(out)
}
