//! The pure rules: stages derived from facts, and the gates G1 to G9, each
//! allowed and refused.
//!
//! The rules are the project's own (product contract, section 3); where a number
//! comes from elsewhere, the test says so.

mod choices;
mod exception;
mod finalise;
mod lesson;
mod loan;
mod matching;
mod next;
mod own_device;
mod random;
mod sharing;
mod sight;
mod stage;
mod start;
mod story;
mod suspect;
