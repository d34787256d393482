//! How do several fields stand together in a form?
//!
//! A [`Group`] prints headings, sentences, fields and folded groups in order,
//! so that a form put together in Rust needs no template of its own. A piece
//! may carry a tag, by which a page leaves it out. It knows no field's meaning.
//! Read next: [`super::field`] and [`super::choice`].

use askama::Template;
use askama::filters::HtmlSafe;

use super::{Cautions, Choice, Field};

/// What stands in a group.
#[derive(Debug, Clone)]
pub enum Piece {
    /// A heading.
    Head(String),
    /// A sentence.
    Words(String),
    /// Something typed.
    Field(Box<Field>),
    /// Something chosen.
    Choice(Box<Choice>),
    /// Another group.
    Group(Group),
    /// A group folded away, with the words on the fold.
    Folded(String, Group),
    /// What to heed.
    Cautions(Cautions),
}

impl Piece {
    /// A heading.
    pub fn head(words: impl Into<String>) -> Self {
        Self::Head(words.into())
    }

    /// A sentence.
    pub fn words(words: impl Into<String>) -> Self {
        Self::Words(words.into())
    }
}

impl From<Field> for Piece {
    fn from(field: Field) -> Self {
        Self::Field(Box::new(field))
    }
}

impl From<Choice> for Piece {
    fn from(choice: Choice) -> Self {
        Self::Choice(Box::new(choice))
    }
}

/// Fields and what stands between them.
#[derive(Debug, Clone, Default, Template)]
#[template(path = "part/group.html")]
pub struct Group {
    nested: bool,
    pieces: Vec<(&'static str, Piece)>,
}

impl HtmlSafe for Group {}

impl Group {
    /// One more piece.
    pub fn push(&mut self, piece: impl Into<Piece>) {
        self.tagged("", piece);
    }

    /// One more piece, with a tag by which it can be left out.
    pub fn tagged(&mut self, tag: &'static str, piece: impl Into<Piece>) {
        self.pieces.push((tag, piece.into()));
    }

    /// Without the pieces of this tag.
    pub fn without(mut self, tag: impl Into<&'static str>) -> Self {
        let tag = tag.into();
        self.pieces.retain(|(of, _)| *of != tag);
        self
    }

    /// With headings one level down, for a group inside a section.
    pub fn nested(mut self) -> Self {
        self.nested = true;
        self
    }

    fn is_top(&self) -> bool {
        !self.nested
    }
}

impl FromIterator<Piece> for Group {
    fn from_iter<I: IntoIterator<Item = Piece>>(pieces: I) -> Self {
        Self { nested: false, pieces: pieces.into_iter().map(|piece| ("", piece)).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::form::FormView;

    #[test]
    fn a_piece_is_left_out_by_its_tag_and_text_is_escaped() {
        let form = FormView::default();
        let mut group = Group::default();
        group.push(Piece::head("<Head>"));
        group.tagged("eye", form.text("eye", "Eye"));
        group.push(form.text("power", "Power"));
        let page = group.clone().to_string();
        assert!(page.contains("<h2>&#60;Head&#62;</h2>"), "{page}");
        assert!(page.contains("name=\"eye\"") && page.contains("name=\"power\""), "{page}");
        let page = group.nested().without("eye").to_string();
        assert!(page.contains("<h3>") && !page.contains("name=\"eye\"") && page.contains("name=\"power\""), "{page}");
    }
}
