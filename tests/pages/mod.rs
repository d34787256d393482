//! What must hold for every page, whatever it is about.

pub(crate) mod rules;
mod templates;
