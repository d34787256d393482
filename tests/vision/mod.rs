//! The sight arithmetic, through its public interface only.

mod acuities;
mod documented;
mod laws;
mod lengths;
mod limits;
mod odd_numbers;
mod looks;
mod reading;
pub(crate) mod reference;
mod seats;
mod statistics;
mod telescopes;
