//! The evidence: what pooled entries say of a student, on its pages and in the
//! pure functions behind them. What `farpoint compute` answers from the same
//! numbers is what stands on the page.

mod demo;
mod pages;
mod pure;
