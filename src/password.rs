//! Password hashes: argon2id, made off the request workers, a few at a time.
//!
//! Does not know accounts. The cost is a setting, so tests can be quick without
//! a second code path.

use std::sync::Arc;

use argon2::password_hash::phc::PasswordHash;
use argon2::{Algorithm, Argon2, Params, PasswordHasher, PasswordVerifier, Version};
use tokio::sync::Semaphore;

/// How dear a hash is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cost {
    /// Memory in KiB.
    pub memory_kib: u32,
    /// Passes over it.
    pub passes: u32,
}

impl Cost {
    /// 19 MiB and two passes: the minimum OWASP's password storage cheat sheet
    /// names for argon2id.
    pub const STRONG: Self = Self { memory_kib: 19 * 1024, passes: 2 };
}

/// The hash could not be made or checked.
#[derive(Debug, thiserror::Error)]
#[error("the password could not be hashed")]
pub struct HashFailed;

/// Makes and checks password hashes.
#[derive(Clone)]
pub struct Passwords {
    argon: Argon2<'static>,
    slots: Arc<Semaphore>,
    decoy: Arc<str>,
}

impl Passwords {
    /// Hashes at `cost`, at most two at a time.
    ///
    /// # Errors
    /// [`HashFailed`] when the cost is outside what argon2 accepts.
    pub fn new(cost: Cost) -> Result<Self, HashFailed> {
        let params = Params::new(cost.memory_kib, cost.passes, 1, None).map_err(|_| HashFailed)?;
        let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let decoy = hash(&argon, "no account has this password")?;
        Ok(Self { argon, slots: Arc::new(Semaphore::new(2)), decoy: decoy.into() })
    }

    /// Hashes a new password with a fresh salt.
    ///
    /// # Errors
    /// [`HashFailed`].
    pub async fn hash(&self, password: &str) -> Result<String, HashFailed> {
        let _slot = self.slots.acquire().await.map_err(|_| HashFailed)?;
        let (argon, password) = (self.argon.clone(), password.to_owned());
        tokio::task::spawn_blocking(move || hash(&argon, &password)).await.map_err(|_| HashFailed)?
    }

    /// Checks a password; without a stored hash it takes as long and says no,
    /// so that nobody learns which accounts exist.
    ///
    /// # Errors
    /// [`HashFailed`] when the check could not run.
    pub async fn verify(&self, password: &str, stored: Option<&str>) -> Result<bool, HashFailed> {
        let _slot = self.slots.acquire().await.map_err(|_| HashFailed)?;
        let known = stored.is_some();
        let stored = stored.unwrap_or(&self.decoy).to_owned();
        let (argon, password) = (self.argon.clone(), password.to_owned());
        let right = tokio::task::spawn_blocking(move || {
            PasswordHash::new(&stored).is_ok_and(|parsed| argon.verify_password(password.as_bytes(), &parsed).is_ok())
        })
        .await
        .map_err(|_| HashFailed)?;
        Ok(right && known)
    }
}

fn hash(argon: &Argon2<'_>, password: &str) -> Result<String, HashFailed> {
    argon.hash_password(password.as_bytes()).map(|hash| hash.to_string()).map_err(|_| HashFailed)
}
