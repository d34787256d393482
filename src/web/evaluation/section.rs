//! What a section of the evaluation form is made of.
//!
//! Which sections there are stands in [`crate::care::evaluation::Section`].

use crate::web::device_fields::DeviceFields;
use crate::web::part::{Cautions, Choice, Field};

/// What stands in a section.
pub(super) enum Piece {
    /// A heading.
    Head(String),
    /// A sentence.
    Words(String),
    /// Something typed.
    Field(Box<Field>),
    /// Something chosen.
    Choice(Box<Choice>),
    /// A device.
    Device(Box<DeviceFields>),
    /// A device that is folded away, with the words on the fold.
    Folded(String, Box<DeviceFields>),
    /// What to heed.
    Cautions(Cautions),
}

impl Piece {
    pub(super) fn head(words: impl Into<String>) -> Self {
        Self::Head(words.into())
    }

    pub(super) fn words(words: impl Into<String>) -> Self {
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
