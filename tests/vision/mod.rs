//! The sight arithmetic, through its public interface only.

mod acuities;
mod laws;
mod lengths;
<<<<<<< HEAD
pub(crate) mod reference;
=======
mod reading;
mod reference;
>>>>>>> main
mod seats;
mod telescopes;
