//! What does an operation take, and what is each input?
//!
//! Declarations only: a key, what it stands for, its unit, and whether it must
//! be there. [`super::inputs`] holds what is given against them.

/// One input of an operation.
#[derive(Debug, Clone, Copy)]
pub struct Input {
    /// The key, with its unit at the end.
    pub key: &'static str,
    /// What it is, in words: "from the eye to the board".
    pub what: &'static str,
    /// The unit in words; empty for a plain number or a word.
    pub unit: &'static str,
    /// What may stand there.
    pub kind: Kind,
    /// Whether it must be given.
    pub need: Need,
}

/// What may stand at a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number.
    Number,
    /// A whole number, zero or more.
    Count,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Free text.
    Text,
    /// A list of numbers.
    Numbers,
    /// A list or an object, of the shape these words describe.
    Nested(&'static str),
}

/// Whether an input must be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Always.
    Required,
    /// It may be left out, or be null.
    Optional,
    /// The inputs of one way are given together, and those of one way only.
    Way(&'static str),
}

impl Input {
    const fn of(kind: Kind, key: &'static str, what: &'static str, unit: &'static str) -> Self {
        Self { key, what, unit, kind, need: Need::Required }
    }

    /// A number with its unit.
    pub(super) const fn number(key: &'static str, what: &'static str, unit: &'static str) -> Self {
        Self::of(Kind::Number, key, what, unit)
    }

    /// A length in metres.
    pub(super) const fn metres(key: &'static str, what: &'static str) -> Self {
        Self::number(key, what, "metres")
    }

    /// A power in dioptres.
    pub(super) const fn dioptres(key: &'static str, what: &'static str) -> Self {
        Self::number(key, what, "dioptres")
    }

    /// An acuity or a demand.
    pub(super) const fn logmar(key: &'static str, what: &'static str) -> Self {
        Self::number(key, what, "logMAR")
    }

    /// A plain number.
    pub(super) const fn plain(key: &'static str, what: &'static str) -> Self {
        Self::number(key, what, "")
    }

    /// A whole number, zero or more.
    pub(super) const fn count(key: &'static str, what: &'static str) -> Self {
        Self::of(Kind::Count, key, what, "")
    }

    /// One of a few words.
    pub(super) const fn word(key: &'static str, what: &'static str, words: &'static [&'static str]) -> Self {
        Self::of(Kind::Word(words), key, what, "")
    }

    /// Free text.
    pub(super) const fn text(key: &'static str, what: &'static str) -> Self {
        Self::of(Kind::Text, key, what, "")
    }

    /// A list of numbers, each in this unit.
    pub(super) const fn numbers(key: &'static str, what: &'static str, unit: &'static str) -> Self {
        Self::of(Kind::Numbers, key, what, unit)
    }

    /// A list or an object of a shape told in words.
    pub(super) const fn nested(key: &'static str, what: &'static str, shape: &'static str) -> Self {
        Self::of(Kind::Nested(shape), key, what, "")
    }

    /// The same, but it may be left out.
    pub(super) const fn optional(self) -> Self {
        Self { need: Need::Optional, ..self }
    }

    /// The same as part of one way to ask, of which exactly one is taken.
    pub(super) const fn way(self, way: &'static str) -> Self {
        Self { need: Need::Way(way), ..self }
    }

    /// What would be right at this key: "the distance from the eye, a number in metres".
    pub(super) fn wanted(&self) -> String {
        let what = self.what;
        let unit = if self.unit.is_empty() { String::new() } else { format!(" in {}", self.unit) };
        match self.kind {
            Kind::Number => format!("{what}, a number{unit}"),
            Kind::Count => format!("{what}, a whole number of 0 or more"),
            Kind::Word(words) => format!("{what}, one of {}", words.join(", ")),
            Kind::Text => format!("{what}, as text"),
            Kind::Numbers => format!("{what}, a list of numbers{unit}"),
            Kind::Nested(shape) => format!("{what}, {shape}"),
        }
    }
}
