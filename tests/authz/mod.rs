//! Who may do what: the policy against the table that was typed by hand.

mod expected;
mod fixture;
mod matrix;
mod policy;
mod promises;
mod worlds;
