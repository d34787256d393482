//! The sight arithmetic, through its public interface only.

mod acuities;
mod laws;
mod lengths;
mod reading;
pub(crate) mod reference;
mod seats;
mod statistics;
mod telescopes;
