//! One test binary; modules by capability.
//!
//! Start with `world.rs` (the service under test), `people.rs` (who uses it) and
//! `page.rs` (what came back); then any story under `capability`.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops")]

mod authz;
mod bad_input;
mod calculators;
mod calendar;
mod capability;
mod clinic;
mod closing;
mod compute;
mod consent;
mod contract;
mod corrections;
mod dates;
mod demo;
mod devices;
mod documents;
mod evidence;
mod exceptions;
mod exchange;
mod gates;
mod goals;
mod honest;
// The laps are kept in rows that read like the forms they fill in.
#[rustfmt::skip]
mod lap;
mod layers;
mod letters;
mod numbers;
mod options;
mod page;
mod pages;
mod paper;
mod people;
mod progress;
mod races;
mod recompute;
mod record;
mod room;
mod rules;
mod signed;
mod spreadsheet;
mod store;
mod thread;
mod through;
mod vision;
mod world;
