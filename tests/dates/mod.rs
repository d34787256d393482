//! Dates that change who may read, and dates on which something is due: coming
//! of age (G10), access limits and the two people they take, an evaluation that
//! is overdue (G11), consents and follow-ups.

mod age;
mod due;
mod limits;
mod list;
