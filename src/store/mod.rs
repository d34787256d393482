//! All SQL, one file per record family, beside the function that binds it.
//!
//! A function that touches a student's record takes an `Access` proof, reads
//! from a [`Snapshot`] and writes through a [`Tx`]; it puts the proof's limits
//! into its `where` clause. Does not know HTTP, pages or who may do what.
//! Start with `tx.rs`, then `standing.rs`, then any family.

mod tx;

pub mod account;
pub mod age;
pub mod allowance;
pub mod amendment;
pub mod around;
mod asked;
pub mod attachment;
pub mod audit;
pub mod calendar;
pub mod card;
pub mod caseload;
pub mod consent;
pub mod contact;
pub mod correct;
pub mod decision;
pub mod disclosure;
pub mod document;
pub mod duties;
pub mod emergency;
pub mod evaluation;
pub mod event;
pub mod evidence;
pub mod extension;
mod files;
pub mod goal;
pub mod handover;
pub mod installation;
pub mod intake;
pub mod invitation;
pub mod journey;
pub mod limit;
pub mod loan;
pub mod mail;
pub mod observation;
pub mod own_device;
pub mod pool;
pub mod post;
pub mod prescription;
pub mod question;
mod reach;
pub mod readiness;
pub mod repair;
pub mod request;
pub mod safety;
pub mod seat;
pub mod sending;
pub mod service;
pub mod session;
pub mod setting;
pub mod shared_note;
pub mod sheet;
pub mod sight;
mod spec;
pub mod standing;
pub mod student;
pub mod student_words;
pub mod submission;
pub mod summary;
pub mod suspect;
pub mod task;
pub mod team;
pub mod thread_read;
pub mod training;
pub mod try_at_home;

pub use audit::Audit;
pub use files::{Files, Laid};
pub use tx::{Snapshot, Store, Tx};

/// Why the store could not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The row named does not exist, or not for this reader.
    #[error("no such record")]
    Missing,
    /// Something that may exist once exists already.
    #[error("that is taken already")]
    Taken,
    /// Somebody else saved the same record in between.
    #[error("the record changed meanwhile")]
    Stale,
    /// This very form was sent before; the first answer lies there.
    #[error("sent before")]
    Repeated(String),
    /// A file could not be written or read back.
    #[error("the folder of attachments failed")]
    File(#[source] std::io::Error),
    /// The engine failed.
    #[error("the database failed")]
    Broken(#[source] sqlx::Error),
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        // Constraint names differ between the engines, so the kind decides.
        match &error {
            sqlx::Error::Database(found) if found.is_unique_violation() => Self::Taken,
            _ => Self::Broken(error),
        }
    }
}

/// What a store function gives.
pub type Result<T> = std::result::Result<T, StoreError>;

/// Requires that an update with a version in its `where` met its row.
fn met(rows: u64) -> Result<()> {
    if rows == 1 { Ok(()) } else { Err(StoreError::Stale) }
}
