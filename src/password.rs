//! Password hashes: argon2id, made off the request workers, one at a time, so
//! that the memory of one hash is the most that is ever held.
//!
//! Does not know accounts. The cost is a setting, so tests can be quick without
//! a second code path.

use std::sync::Arc;

use argon2::password_hash::phc::{Output, ParamsString, PasswordHash, Salt};
use argon2::password_hash::try_generate_salt;
use argon2::{Algorithm, Argon2, Block, Params, Version};
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
    /// Hashes at `cost`, one at a time: some thirty sign-ins a second.
    ///
    /// # Errors
    /// [`HashFailed`] when the cost is outside what argon2 accepts.
    pub fn new(cost: Cost) -> Result<Self, HashFailed> {
        let params = Params::new(cost.memory_kib, cost.passes, 1, None).map_err(|_| HashFailed)?;
        let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let decoy = hash(&argon, "no account has this password")?;
        Ok(Self { argon, slots: Arc::new(Semaphore::new(1)), decoy: decoy.into() })
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
        let password = password.to_owned();
        let right = tokio::task::spawn_blocking(move || matches(&stored, &password)).await.map_err(|_| HashFailed)?;
        Ok(right && known)
    }
}

fn hash(argon: &Argon2<'_>, password: &str) -> Result<String, HashFailed> {
    let salt = try_generate_salt().map_err(|_| HashFailed)?;
    let salt = Salt::new(&salt).map_err(|_| HashFailed)?;
    let output = output(argon, password, &salt, Params::DEFAULT_OUTPUT_LEN)?;
    let made = PasswordHash {
        algorithm: Algorithm::Argon2id.ident(),
        version: Some(Version::V0x13.into()),
        params: ParamsString::try_from(argon.params()).map_err(|_| HashFailed)?,
        salt: Some(salt),
        hash: Some(output),
    };
    Ok(made.to_string())
}

/// Whether this is the password of a stored hash, at the cost it was made with.
fn matches(stored: &str, password: &str) -> bool {
    let Ok(parsed) = PasswordHash::new(stored) else { return false };
    let (Ok(params), Some(version)) = (Params::try_from(&parsed), parsed.version) else { return false };
    let (Ok(algorithm), Ok(version)) = (Algorithm::try_from(parsed.algorithm.as_str()), Version::try_from(version))
    else {
        return false;
    };
    let (Some(salt), Some(hash)) = (parsed.salt, parsed.hash) else { return false };
    let argon = Argon2::new(algorithm, version, params);
    // Two outputs are compared in constant time.
    output(&argon, password, &salt, hash.len()).is_ok_and(|found| found == hash)
}

/// The largest piece of memory that glibc may keep for itself when it is freed:
/// its `DEFAULT_MMAP_THRESHOLD_MAX`, on 64 bits.
const KEPT_BY_THE_ALLOCATOR: usize = 32 * 1024 * 1024;

/// The hash itself, in memory that goes back to the system at once.
///
/// A hash takes 19 MiB. Freed pieces of that size are otherwise kept for the
/// next one, in an arena for each thread that ever made a hash: after a dozen
/// sign-ins the server held five times what it needs. Asking for more than the
/// allocator ever keeps makes it a mapping of its own; what is beyond the blocks
/// in use is never touched and so never becomes memory.
fn output(argon: &Argon2<'_>, password: &str, salt: &Salt, length: usize) -> Result<Output, HashFailed> {
    let blocks = argon.params().block_count();
    let mut memory = Vec::with_capacity(blocks.max(KEPT_BY_THE_ALLOCATOR / Block::SIZE + 1));
    memory.resize(blocks, Block::new());
    let mut bytes = [0; Output::MAX_LENGTH];
    let out = bytes.get_mut(..length).ok_or(HashFailed)?;
    argon.hash_password_into_with_memory(password.as_bytes(), salt, out, &mut memory).map_err(|_| HashFailed)?;
    Output::new(out).map_err(|_| HashFailed)
}

#[cfg(test)]
mod tests {
    use argon2::{PasswordHasher, PasswordVerifier};

    use super::*;

    const LEAST: Cost = Cost { memory_kib: 8, passes: 1 };

    fn argon() -> Argon2<'static> {
        Argon2::new(Algorithm::Argon2id, Version::V0x13, Params::new(LEAST.memory_kib, LEAST.passes, 1, None).unwrap())
    }

    #[test]
    fn a_hash_is_the_one_that_argon2_itself_makes_and_takes() {
        let ours = hash(&argon(), "a heron stands still").unwrap();
        let parsed = PasswordHash::new(&ours).unwrap();
        assert!(argon().verify_password(b"a heron stands still", &parsed).is_ok());
        let theirs = argon().hash_password(b"a heron stands still").unwrap().to_string();
        assert!(matches(&theirs, "a heron stands still"));
        assert!(!matches(&theirs, "a heron stands stil"));
        assert_ne!(ours, hash(&argon(), "a heron stands still").unwrap(), "each has a salt of its own");
    }

    #[test]
    fn a_hash_is_checked_at_the_cost_it_was_made_with_and_nonsense_is_no_password() {
        let dearer = Argon2::new(Algorithm::Argon2id, Version::V0x13, Params::new(16, 2, 1, None).unwrap());
        let stored = hash(&dearer, "a heron stands still").unwrap();
        assert!(stored.starts_with("$argon2id$v=19$m=16,t=2,p=1$"), "{stored}");
        assert!(matches(&stored, "a heron stands still"));
        for nonsense in ["", "plain", "$argon2id$v=19$m=16,t=2,p=1", "$sha256$v=1$m=8$YWJjZGVmZ2g$YWJjZGVmZ2g"] {
            assert!(!matches(nonsense, ""), "{nonsense}");
        }
    }
}
