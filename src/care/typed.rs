//! A measurement as somebody typed it, beside the value it was read as.
//!
//! The typed text is the record; the value is derived and never replaces it.

/// What was typed and what it was read as.
#[derive(Debug, Clone, PartialEq)]
pub struct Typed<T> {
    /// The text as typed, unit included.
    pub typed: String,
    /// The value it was read as.
    pub value: T,
}

impl<T> Typed<T> {
    /// Keeps both.
    pub fn new(typed: impl Into<String>, value: T) -> Self {
        Self { typed: typed.into(), value }
    }
}
