//! Stories by capability, told by people through pages.

mod account;
mod around;
mod card;
mod installation;
mod invitation;
mod observation;
mod pool;
mod safety;
mod sign_in;
mod steward;
mod thread;
