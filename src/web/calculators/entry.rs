//! What is a calculator made of?
//!
//! Declarations only: the fields in people's words, the operations of
//! [`crate::compute`] that are asked one after the other, and how each figure of
//! their answers is told. The tables stand in the files of the topics; nothing
//! here computes, and no formula stands in any of them.

/// A question for people over one or several operations.
#[derive(Debug, Clone, Copy)]
pub struct Calculator {
    /// The word of its address.
    pub word: &'static str,
    /// Its title.
    pub title: &'static str,
    /// The question in plain words.
    pub question: &'static str,
    /// What is typed, in reading order.
    pub fields: &'static [Field],
    /// The operations, in the order in which they are asked.
    pub steps: &'static [Step],
    /// The formula in words, a sentence a line.
    pub how: &'static [&'static str],
    /// Where it comes from, with its mark.
    pub source: &'static str,
    /// What stands before it.
    pub care: Care,
}

/// What somebody must know who acts on a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Care {
    /// Nothing more than with every figure.
    Plain,
    /// It names a power that nobody but a clinician may turn into a device.
    Power,
    /// It is about a telescope.
    Telescope,
    /// It is about a magnifier.
    Magnifier,
}

/// One thing to type or to choose.
#[derive(Debug, Clone, Copy)]
pub struct Field {
    /// Its name in the address.
    pub name: &'static str,
    /// Its label.
    pub label: &'static str,
    /// What it takes.
    pub takes: Takes,
    /// A value somebody would type; empty where another field is filled in instead.
    pub example: &'static str,
    /// One sentence more, or nothing.
    pub hint: &'static str,
    /// Whether it must be filled in.
    pub fill: Fill,
}

/// What is read from a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// A length across a room, with its unit.
    Far,
    /// The same, where 0 stands for straight in front.
    Aside,
    /// A length of a letter or in the hand, with its unit.
    Near,
    /// A length that the trade gives in millimetres everywhere, with its unit.
    Trade,
    /// An acuity in any notation, taken on as logMAR.
    Acuity,
    /// Text, handed on as it was typed.
    Text,
    /// A number; the unit may be typed behind it.
    Number(&'static str),
    /// A percentage, handed on as a part of one.
    Percent,
    /// A whole number of 0 or more.
    Count,
    /// One of these, each with its words.
    Choice(&'static [(&'static str, &'static str)]),
    /// Several numbers, apart by spaces.
    Numbers(&'static str),
    /// Several speeds, apart by spaces, handed on as their logarithms.
    Speeds,
    /// A screen colour such as #1a2b3c.
    Colour,
}

/// Whether a field must be filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// Always.
    Needed,
    /// It may be left out; what needs it is then not told.
    Optional,
    /// Exactly one of the fields marked so.
    OneOf,
}

/// One operation and what of its answer is told.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// Its name in [`crate::compute`].
    pub op: &'static str,
    /// Where each of its inputs comes from.
    pub gives: &'static [(&'static str, Given)],
    /// The figures told.
    pub shows: &'static [Shows],
}

/// Where an input of an operation comes from.
#[derive(Debug, Clone, Copy)]
pub enum Given {
    /// From the field of this name.
    Typed(&'static str),
    /// From the answer of an earlier step, at this key.
    Found(usize, &'static str),
    /// Always this number.
    Fixed(f64),
}

/// One figure as people read it.
#[derive(Debug, Clone, Copy)]
pub struct Shows {
    /// Its key in the answer.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// How it is told.
    pub told: Told,
}

/// How a figure is rounded and in which unit it is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// A distance, in the units of the account.
    Distance,
    /// A letter height or another small length, in the units of the account.
    Letter,
    /// A seat that is advised: rounded down.
    Seat,
    /// Writing that is advised: rounded up.
    Writing,
    /// Millimetres everywhere, as the trade gives pupils and lenses.
    Millimetres,
    /// Two decimals of logMAR.
    LogMar,
    /// The fraction over 20 feet of a logMAR.
    OverTwenty,
    /// The fraction over 6 metres of a logMAR.
    OverSix,
    /// A power to the quarter dioptre.
    Dioptres,
    /// A lens power to the quarter dioptre, with its sign.
    Lens,
    /// The power of a device, to a tenth.
    Times,
    /// A part of one as a percentage.
    Percent,
    /// A number with so many decimals and this unit.
    Number(usize, &'static str),
    /// A whole number and what is counted.
    Count(&'static str),
    /// A word of the answer with spaces for its underscores.
    Word,
}

impl Field {
    const fn of(takes: Takes, name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self { name, label, takes, example, hint: "", fill: Fill::Needed }
    }

    pub(super) const fn far(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Far, name, label, example)
    }

    pub(super) const fn near(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Near, name, label, example)
    }

    pub(super) const fn trade(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Trade, name, label, example)
    }

    pub(super) const fn number(
        name: &'static str,
        label: &'static str,
        unit: &'static str,
        example: &'static str,
    ) -> Self {
        Self::of(Takes::Number(unit), name, label, example)
    }

    pub(super) const fn dioptres(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Number("D"), name, label, example)
    }

    pub(super) const fn times(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Number("\u{d7}"), name, label, example)
    }

    pub(super) const fn percent(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Percent, name, label, example)
    }

    pub(super) const fn count(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Count, name, label, example)
    }

    pub(super) const fn acuity(name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(Takes::Acuity, name, label, example)
            .hint("In any notation: 20/200, 6/60, decimal 0.1, 1.0 logMAR, VAR 50.")
    }

    pub(super) const fn taking(takes: Takes, name: &'static str, label: &'static str, example: &'static str) -> Self {
        Self::of(takes, name, label, example)
    }

    pub(super) const fn hint(self, hint: &'static str) -> Self {
        Self { hint, ..self }
    }

    pub(super) const fn optional(self) -> Self {
        Self { fill: Fill::Optional, ..self }
    }

    pub(super) const fn one_of(self) -> Self {
        Self { fill: Fill::OneOf, ..self }
    }
}

pub(super) const fn ask(op: &'static str, gives: &'static [(&'static str, Given)], shows: &'static [Shows]) -> Step {
    Step { op, gives, shows }
}

pub(super) const fn show(key: &'static str, label: &'static str, told: Told) -> Shows {
    Shows { key, label, told }
}
