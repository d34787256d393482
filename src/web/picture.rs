//! How is a picture drawn, so that it tells no more and no less than its words?
//!
//! A picture is a struct of finished values with a template below
//! `templates/picture/` that extends `picture/frame.html`: the drawing carries a
//! title and a description, the caption says the finding in words, and a table
//! of the same figures follows. Nothing is told by colour: shapes and direct
//! labels tell it, and the colours come from the classes of `.picture` in the
//! style sheet, so that dark, forced colours and paper keep them.
//!
//! A drawing is at most [`WIDE`] units wide and may grow tall. On a narrow page
//! a unit is a little less than a pixel; the style sheet sets the size of text,
//! larger on narrow pages, and a picture leaves room for the larger one.
//! Read next: the picture that is nearest to yours.

use std::fmt;

use super::part::Table;

/// The width of every drawing, in its own units.
pub const WIDE: f64 = 360.0;

/// What stands around every drawing.
#[derive(Debug, Clone)]
pub struct Frame<Id = &'static str> {
    /// Unique on the page: the title and the description hang on it.
    pub id: Id,
    /// What the picture shows, in a few words.
    pub title: String,
    /// What somebody who does not see it should know, in a sentence or two.
    pub description: String,
    /// Its height; its width is [`WIDE`].
    pub height: At,
    /// The finding, in words.
    pub caption: String,
    /// The figures of the drawing, none left out.
    pub table: Table,
}

/// A place or a length in a drawing, in its units, written to a tenth.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct At(pub f64);

impl fmt::Display for At {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Not "-0": what rounds to nothing is nothing.
        let tenths = (self.0 * 10.0).round();
        write!(out, "{}", if tenths == 0.0 { 0.0 } else { tenths / 10.0 })
    }
}

/// A word or a number at its place in a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Across.
    pub x: At,
    /// Down, to the line that letters stand on.
    pub y: At,
    /// What it says.
    pub words: String,
    /// Which part of the words stands at the place: "start", "middle" or "end".
    pub anchor: &'static str,
}

/// Words at a place.
pub fn label(x: f64, y: f64, words: impl Into<String>, anchor: &'static str) -> Label {
    Label { x: At(x), y: At(y), words: words.into(), anchor }
}

/// Words in lines of at most so many letters; a longer word has a line of its own.
pub fn wrapped(words: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split(' ') {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= letters => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_kept_whole_in_lines_that_fit() {
        assert_eq!(wrapped("one two three", 7), ["one two", "three"]);
        assert_eq!(wrapped("immeasurable is", 5), ["immeasurable", "is"]);
        assert_eq!(wrapped("", 5), [""]);
    }

    #[test]
    fn places_are_written_to_a_tenth() {
        assert_eq!(At(12.345).to_string(), "12.3");
        assert_eq!(At(-0.01).to_string(), "0");
        assert_eq!(At(7.0).to_string(), "7");
    }

    #[test]
    fn a_line_is_no_longer_than_fits_but_for_one_long_word() {
        assert_eq!(wrapped("the lent telescope, 6", 10), ["the lent", "telescope,", "6"]);
        assert_eq!(wrapped("magnification", 5), ["magnification"]);
    }
}
