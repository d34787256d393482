//! What every request can reach.

use std::sync::Arc;

use crate::password::Passwords;
use crate::store::Store;

/// The running service.
#[derive(Clone)]
pub struct App {
    /// Records.
    pub store: Store,
    /// Password hashes.
    pub passwords: Passwords,
    /// The address people type, for links.
    pub address: Arc<str>,
    /// Whether cookies travel over https only.
    pub secure: bool,
    /// Sign-in attempts one network address may make at once.
    pub sign_in_burst: u32,
    /// The sender of letters; none, this site sends no e-mail.
    pub letters_from: Option<Arc<str>>,
}
