//! Sight arithmetic.
pub mod acuity;
pub mod length;
pub mod units;
