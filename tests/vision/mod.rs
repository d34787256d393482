//! The sight arithmetic, through its public interface only.

mod acuities;
mod documented;
mod laws;
mod lengths;
mod limits;
mod looks;
mod odd_numbers;
mod reading;
pub(crate) mod reference;
mod rooms;
mod seats;
mod statistics;
mod telescopes;
