//! Who may do what.
//!
//! A handler asks for a proof by naming it in its signature, say
//! `Access<Evaluation, Sign>`. The proof is made in one place, from an
//! [`Actor`] and a [`Standing`](standing::Standing), by the table in
//! [`policy`]; every function of `store` that touches a record demands one. So a
//! forgotten check does not compile, and a changed rule is a changed cell.
//!
//! Say Ms Ferris is on Mia's team as a classroom teacher. `Access<Glimpse, Read>`
//! is granted and gives name, age and grade. `Access<Evaluation, Read>` is
//! [`Denied::Hidden`]: her cell is a dash, and the page answers as if no
//! evaluation existed. `Access<ClassObservation, Read>` is granted with
//! [`Limits::own_only`], which the query must honour.
//!
//! Does not know how the facts were loaded, nor which page asks. Given a
//! `Standing` it is a total function: no clock, no database, no panic.
//!
//! In reading order: [`role`], [`resource`], [`action`], [`standing`],
//! [`policy`] (the table), [`limits`], [`proof`].

pub mod action;
pub mod limits;
mod notation;
pub mod policy;
pub mod proof;
pub mod resource;
pub mod role;
pub mod standing;

pub use limits::{Basis, Crossing, Denied, Limits, Reason};
pub use proof::{Access, Office, would_cross};
pub use role::{Actor, Role, Side};
