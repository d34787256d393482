//! The sight arithmetic, through its public interface only.

mod acuities;
mod laws;
mod lengths;
mod reference;
mod seats;
mod statistics;
mod statistics_laws;
mod telescopes;
