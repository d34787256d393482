//! Stories by capability, told by people through pages.

mod account;
mod invitation;
mod laps;
mod sign_in;
mod steward;
