//! Formats that others read: FHIR, tables, the archive, and what comes back.

mod archive;
mod broken;
mod commands;
mod handed;
mod pages;
mod papers;
mod rows;
pub(crate) mod sample;
mod travel;
