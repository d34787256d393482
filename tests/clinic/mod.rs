//! Requests and evaluations, as the people of a team use them.

mod acuity;
mod reading;
mod request;
pub(crate) mod setup;
mod signing;
mod writing;
