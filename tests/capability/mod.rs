//! Stories by capability, told by people through pages.

mod account;
mod invitation;
mod pool;
mod sign_in;
mod steward;
