//! The sight arithmetic, through its public interface only.

mod acuities;
mod laws;
mod lengths;
mod looks;
mod reference;
mod seats;
mod telescopes;
