//! Sign-in sessions: the cookie's secret is stored only as its hash.

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::{SignedDuration, Timestamp};
use sha2::{Digest, Sha256};
use sqlx::query;

use super::account::Reentered;
use super::{Result, Snapshot, Tx};
use crate::access::Actor;
use crate::access::standing::Password;
use crate::care::ids::AccountId;
use crate::clock::secret;
use crate::db::column::{Columns, stamp};

/// A session ends this long after its last use.
const IDLE: SignedDuration = SignedDuration::from_mins(30);
/// And this long after sign-in, whatever happens.
const LONGEST: SignedDuration = SignedDuration::from_hours(12);
/// A password entered again counts for this long.
const FRESH: SignedDuration = SignedDuration::from_mins(10);
/// The last use is written down at most this often.
const TOUCH: SignedDuration = SignedDuration::from_mins(1);

/// A session in use.
#[derive(Clone)]
pub struct Session {
    /// The hash that names it.
    pub token_hash: String,
    /// Who is signed in.
    pub actor: Actor,
    /// The token every form of this session carries.
    pub csrf: String,
    /// Metric or imperial.
    pub units: String,
    /// The language of pages.
    pub language: String,
    /// Light, dark or as the machine says.
    pub appearance: String,
    /// Body text in CSS pixels.
    pub text_size: i64,
    /// Whether the last use should be written down now.
    pub stale: bool,
    /// Whether the password was entered again a short while ago.
    pub password: Password,
}

/// A session as its owner sees it in the list.
pub struct Listed {
    /// The hash that names it.
    pub token_hash: String,
    /// What the browser called itself.
    pub agent: String,
    /// Signed in at.
    pub created_at: Timestamp,
    /// Last used at.
    pub seen_at: Timestamp,
}

/// The stored name of a secret.
pub fn hash_of(token: &str) -> String {
    hex::encode(Sha256::digest(token.as_bytes()))
}

/// A secret as text for a cookie, a link or a form.
pub fn fresh_token() -> String {
    URL_SAFE_NO_PAD.encode(secret())
}

/// Starts a session and gives the cookie's secret, which is not stored.
///
/// # Errors
/// When the database fails.
pub async fn start(tx: &mut Tx, account: AccountId, agent: &str) -> Result<String> {
    let token = fresh_token();
    let now = tx.now();
    let expires = now.checked_add(LONGEST).unwrap_or(now);
    query("insert into session (token_hash, account_id, csrf, agent, created_at, seen_at, expires_at) values ($1, $2, $3, $4, $5, $5, $6)")
        .bind(hash_of(&token))
        .bind(account.to_string())
        .bind(fresh_token())
        .bind(agent.chars().take(200).collect::<String>())
        .bind(stamp(now))
        .bind(stamp(expires))
        .execute(tx.connection())
        .await?;
    query("delete from session where expires_at < $1").bind(stamp(now)).execute(tx.connection()).await?;
    Ok(token)
}

/// The session a cookie names, while it lasts and its account is open.
///
/// # Errors
/// When the database fails.
pub async fn of_token(snapshot: &mut Snapshot, token: &str) -> Result<Option<Session>> {
    let now = snapshot.now();
    let idle_since = now.checked_sub(IDLE).unwrap_or(now);
    let row = query(
        "select s.token_hash, s.csrf, s.seen_at, s.reentered_at, a.id, a.role, a.steward, a.mobility, a.name, a.clinic,
                a.units, a.language, a.appearance, a.text_size
         from session s join account a on a.id = s.account_id
         where s.token_hash = $1 and s.expires_at > $2 and s.seen_at > $3 and a.disabled_at is null",
    )
    .bind(hash_of(token))
    .bind(stamp(now))
    .bind(stamp(idle_since))
    .fetch_optional(snapshot.connection())
    .await?;
    let Some(row) = row else { return Ok(None) };
    let seen = row.instant("seen_at")?;
    Ok(Some(Session {
        token_hash: row.text("token_hash")?,
        actor: Actor {
            account: row.parsed("id")?,
            name: row.text("name")?,
            role: row.opt_parsed("role")?,
            steward: row.flag("steward")?,
            mobility: row.flag("mobility")?,
            clinic: row.opt_text("clinic")?,
        },
        csrf: row.text("csrf")?,
        units: row.text("units")?,
        language: row.text("language")?,
        appearance: row.text("appearance")?,
        text_size: row.whole("text_size")?,
        stale: now.duration_since(seen) > TOUCH,
        password: match row.opt_instant("reentered_at")? {
            Some(at) if now.duration_since(at) < FRESH => Password::JustEntered,
            _ => Password::NotEntered,
        },
    }))
}

/// Writes down that a session was used. Not an event of the record, so it is
/// the one write without an audit line of its own.
///
/// # Errors
/// When the database fails.
pub async fn touch(store: &super::Store, token_hash: &str) -> Result<()> {
    let now = stamp(store.clock().now());
    let mut inner = store.db().begin_write().await?;
    query("update session set seen_at = $1 where token_hash = $2")
        .bind(now)
        .bind(token_hash.to_owned())
        .execute(&mut *inner)
        .await?;
    inner.commit().await?;
    Ok(())
}

/// Notes that the person in a session entered the password again just now.
///
/// # Errors
/// When the database fails.
pub async fn reentered(tx: &mut Tx, proof: &Reentered, token_hash: &str) -> Result<()> {
    let at = stamp(tx.now());
    query("update session set reentered_at = $1 where token_hash = $2 and account_id = $3")
        .bind(at)
        .bind(token_hash.to_owned())
        .bind(proof.account().to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// A person's own sessions, newest first.
///
/// # Errors
/// When the database fails.
pub async fn own(snapshot: &mut Snapshot, actor: &Actor) -> Result<Vec<Listed>> {
    let now = snapshot.now();
    let rows = query("select token_hash, agent, created_at, seen_at from session where account_id = $1 and expires_at > $2 order by seen_at desc")
        .bind(actor.account.to_string())
        .bind(stamp(now))
        .fetch_all(snapshot.connection())
        .await?;
    rows.iter()
        .map(|row| {
            Ok(Listed {
                token_hash: row.text("token_hash")?,
                agent: row.text("agent")?,
                created_at: row.instant("created_at")?,
                seen_at: row.instant("seen_at")?,
            })
        })
        .collect()
}

/// Ends one of a person's own sessions.
///
/// # Errors
/// When the database fails.
pub async fn end(tx: &mut Tx, actor: &Actor, token_hash: &str) -> Result<()> {
    query("delete from session where token_hash = $1 and account_id = $2")
        .bind(token_hash.to_owned())
        .bind(actor.account.to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

/// Ends all of a person's sessions but the one in use.
///
/// # Errors
/// When the database fails.
pub async fn end_others(tx: &mut Tx, actor: &Actor, kept: &str) -> Result<()> {
    query("delete from session where account_id = $1 and token_hash <> $2")
        .bind(actor.account.to_string())
        .bind(kept.to_owned())
        .execute(tx.connection())
        .await?;
    Ok(())
}
