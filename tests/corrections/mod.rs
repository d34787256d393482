//! Corrections: what was entered is amended, marked as an error, handed over or
//! closed, and both texts stay.

mod contacts;
mod core;
mod entries;
mod leaving;
mod loans;
mod office;
mod posts;
mod readiness;
mod receipts;
mod service;
mod two;
