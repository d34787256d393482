//! One test binary; modules by capability.
//!
//! Start with `world.rs` (the service under test), `people.rs` (who uses it) and
//! `page.rs` (what came back); then any story under `capability`.

mod authz;
mod capability;
mod clinic;
mod closing;
mod devices;
mod documents;
mod lap;
mod layers;
mod page;
mod pages;
mod people;
mod record;
mod rules;
mod vision;
mod world;
