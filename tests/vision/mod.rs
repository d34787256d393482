//! The sight arithmetic, through its public interface only.

mod acuities;
mod laws;
mod lengths;
mod reading;
pub(crate) mod reference;
mod rooms;
mod seats;
mod telescopes;
