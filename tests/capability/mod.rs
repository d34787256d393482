//! Stories by capability, told by people through pages.

mod account;
pub(crate) mod around;
mod card;
mod installation;
mod invitation;
mod observation;
mod pool;
mod safety;
mod sign_in;
mod steward;
