//! Farpoint: one shared record for the eye-care team around one school student
//! with low vision.
//!
//! In reading order: [`vision`] computes, [`compute`] answers its questions by
//! name, [`care`] holds records and rules, [`access`] decides who may do what,
//! [`store`] keeps it all, [`web`] shows it.
//!
//! ```text
//! vision <- care <- access <- store <- web
//!    ^                 db  <----'       |
//!    '---- compute <--------------------'
//! ```
//!
//! A lower layer never names a higher one; `tests/layers.rs` holds the arrow.

pub mod access;
pub mod care;
pub mod clock;
pub mod compute;
pub mod config;
pub mod db;
pub mod demo;
pub mod mail;
pub mod password;
pub mod run;
pub mod store;
pub mod vision;
pub mod web;
