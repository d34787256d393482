//! The address under which a calendar program reads a person's dates.
//!
//! One at a time for each person, known only to whoever was shown it: its secret
//! is stored as a hash. Taken back, it never answers again. The address is the
//! person's own, so its functions take the actor; the dates behind it are read
//! under that person's proofs, elsewhere.

use jiff::{SignedDuration, Timestamp};
use sqlx::query;

use super::session::{fresh_token, hash_of};
use super::{Result, Snapshot, Store, Tx};
use crate::access::Actor;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp};

/// The last use is written down at most this often.
const TOUCH: SignedDuration = SignedDuration::from_hours(1);

/// The address in force.
pub struct Feed {
    /// When it was made.
    pub made_at: Timestamp,
    /// When it was last asked for.
    pub used_at: Option<Timestamp>,
}

/// A person's own address, if there is one.
///
/// # Errors
/// When the database fails.
pub async fn own(snapshot: &mut Snapshot, actor: &Actor) -> Result<Option<Feed>> {
    let row = query("select made_at, used_at from calendar_feed where account_id = $1 and revoked_at is null")
        .bind(actor.account.to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    row.map(|row| Ok(Feed { made_at: row.instant("made_at")?, used_at: row.opt_instant("used_at")? })).transpose()
}

/// Makes a new address in place of the one before, and gives its secret, which
/// is not stored.
///
/// # Errors
/// When the database fails.
pub async fn make(tx: &mut Tx, actor: &Actor) -> Result<String> {
    revoke(tx, actor).await?;
    let (token, at) = (fresh_token(), stamp(tx.now()));
    query("insert into calendar_feed (id, account_id, token_hash, made_at) values ($1, $2, $3, $4)")
        .bind(fresh_uuid().to_string())
        .bind(actor.account.to_string())
        .bind(hash_of(&token))
        .bind(at)
        .execute(tx.connection())
        .await?;
    Ok(token)
}

/// Takes the address back.
///
/// # Errors
/// When the database fails.
pub async fn revoke(tx: &mut Tx, actor: &Actor) -> Result<()> {
    let at = stamp(tx.now());
    query("update calendar_feed set revoked_at = $1 where account_id = $2 and revoked_at is null")
        .bind(at)
        .bind(actor.account.to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Who reads behind an address.
pub struct Reader {
    /// Whose dates.
    pub actor: Actor,
    /// Whether the use should be written down now.
    pub stale: bool,
    token_hash: String,
}

/// Who reads behind an address, while it is in force and the account open; nobody
/// where it was never made or is taken back.
///
/// # Errors
/// When the database fails.
pub async fn reader(snapshot: &mut Snapshot, token: &str) -> Result<Option<Reader>> {
    let now = snapshot.now();
    let row = query(
        "select f.token_hash, f.used_at, a.id, a.role, a.steward, a.mobility, a.name, a.clinic
         from calendar_feed f join account a on a.id = f.account_id
         where f.token_hash = $1 and f.revoked_at is null and a.disabled_at is null",
    )
    .bind(hash_of(token))
    .fetch_optional(snapshot.connection())
    .await?;
    let Some(row) = row else { return Ok(None) };
    Ok(Some(Reader {
        actor: Actor {
            account: row.parsed("id")?,
            name: row.text("name")?,
            role: row.opt_parsed("role")?,
            steward: row.flag("steward")?,
            mobility: row.flag("mobility")?,
            clinic: row.opt_text("clinic")?,
        },
        stale: row.opt_instant("used_at")?.is_none_or(|used| now.duration_since(used) > TOUCH),
        token_hash: row.text("token_hash")?,
    }))
}

/// Writes down that an address was asked for: no event of the record, as the use
/// of a session is none.
///
/// # Errors
/// When the database fails.
pub async fn touch(store: &Store, reader: &Reader) -> Result<()> {
    let now = stamp(store.clock().now());
    let mut inner = store.db().begin_write().await?;
    query("update calendar_feed set used_at = $1 where token_hash = $2")
        .bind(now)
        .bind(reader.token_hash.clone())
        .execute(&mut *inner)
        .await?;
    inner.commit().await?;
    Ok(())
}
