//! What leaves the house in formats that others read, and comes back.
//!
//! [`record`] is a student's record as rows, as far as its reader may read it.
//! From it, and from nothing else, come the [`tables`] (CSV and JSON), the
//! [`fhir`] resources, and for each row the resource that says it or the reason
//! why none does. [`feed`] is dates for a calendar program. [`pack`] puts all of it into one zip; [`archive`] writes the
//! manifest of its hashes, and opens such a zip with suspicion.
//!
//! Pure: knows no SQL, no HTTP, no clock, and not who is asking. The rows are
//! gathered under their reader's proofs in `web::export`.

pub mod archive;
pub mod feed;
pub mod fhir;
pub mod pack;
pub mod record;
pub mod table;
pub mod tables;
