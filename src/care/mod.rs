//! Records and rules as plain data: what the team writes down, in which stage a
//! track is, and what has to come first.
//!
//! Depends on [`crate::vision`] and nothing else. Does not know SQL, HTTP, the
//! time of day or who is asking: instants and dates arrive as arguments.

pub mod amendment;
pub mod attachment;
pub mod card;
pub mod caution;
pub mod codes;
pub mod consent;
pub mod device;
pub mod device_words;
pub mod document;
pub mod due;
pub mod evaluation;
pub mod flag;
pub mod gates;
pub mod goal;
pub mod ids;
pub mod intake;
pub mod journey;
pub mod loan;
pub mod mail;
pub mod meaning;
pub mod named_device;
pub mod observation;
pub mod options;
pub mod post;
pub mod prescription;
pub mod progress;
pub mod readiness;
pub mod request;
pub mod rights;
pub mod room;
pub mod sight;
pub mod skill;
pub mod student;
pub mod student_words;
pub mod summary;
pub mod task;
pub mod thread;
pub mod through;
pub mod track;
pub mod training;
pub mod typed;
