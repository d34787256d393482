//! What an operation found, key by key.
//!
//! A figure that is no number cannot get into a result: it becomes a refusal.

use serde_json::{Map, Number, Value};

use super::refusal::Fault;

/// What an operation found, or why it found nothing.
pub(super) type Found = Result<Figures, Fault>;

/// The result of an operation while it is put together.
#[derive(Debug, Default)]
pub(super) struct Figures {
    found: Map<String, Value>,
    /// The first key whose figure came out infinite or undefined.
    undefined: Option<&'static str>,
}

impl<const N: usize> From<[(&'static str, f64); N]> for Figures {
    fn from(figures: [(&'static str, f64); N]) -> Self {
        figures.into_iter().fold(Self::default(), |found, (key, figure)| found.and(key, figure))
    }
}

impl Figures {
    /// One more figure.
    pub(super) fn and(mut self, key: &'static str, figure: f64) -> Self {
        // A negative zero would be printed as one.
        match Number::from_f64(figure + 0.0) {
            Some(number) => drop(self.found.insert(key.to_owned(), Value::Number(number))),
            None => self.undefined = self.undefined.or(Some(key)),
        }
        self
    }

    /// One more figure, if it can be computed; otherwise its key is left out.
    pub(super) fn and_if(self, key: &'static str, figure: Option<f64>) -> Self {
        match figure {
            Some(figure) => self.and(key, figure),
            None => self,
        }
    }

    /// A count.
    pub(super) fn count(mut self, key: &'static str, count: u32) -> Self {
        self.found.insert(key.to_owned(), count.into());
        self
    }

    /// A word.
    pub(super) fn word(mut self, key: &'static str, word: &'static str) -> Self {
        self.found.insert(key.to_owned(), word.into());
        self
    }

    /// A figure, list or set of figures of a key that the inputs name.
    pub(super) fn value(mut self, key: impl Into<String>, value: Value) -> Self {
        self.found.insert(key.into(), value);
        self
    }

    /// The result, if every figure in it is a number.
    pub(super) fn finished(self) -> Result<Map<String, Value>, Fault> {
        match self.undefined {
            Some(key) => Err(Fault::words(format!("{key} has no value for these inputs"))),
            None => Ok(self.found),
        }
    }
}
