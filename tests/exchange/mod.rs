//! Formats that others read: FHIR, tables, the archive, and what comes back.

mod archive;
mod broken;
mod pages;
mod rows;
pub(crate) mod sample;
mod travel;
