//! Requests and evaluations, as the people of a team use them.

mod acuity;
mod reading;
mod request;
mod setup;
mod signing;
mod writing;
