//! What must hold for every page, whatever it is about.

mod bytes;
pub(crate) mod rules;
mod templates;
