//! Accounts: who can sign in, and the proof that somebody just re-entered the
//! password.
//!
//! Does not know students. The steward's view of accounts is at the end.

use jiff::{SignedDuration, Timestamp};
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Audit, Result, Snapshot, Store, StoreError, Tx, met, setting};
use crate::access::action::{Create, Edit, Reads};
use crate::access::resource::{AccessLimits, Accounts};
use crate::access::{Access, Actor, Office, Role};
use crate::care::ids::AccountId;
use crate::db::column::{Columns, flag, stamp};
use crate::password::Passwords;

/// Failures after which an account waits.
const FAILURES_ALLOWED: i64 = 10;
/// How long it then waits.
const WAIT: SignedDuration = SignedDuration::from_mins(15);

/// An account as its owner and the steward see it.
#[derive(Clone)]
pub struct Account {
    /// Its id.
    pub id: AccountId,
    /// Its role, unless it is only a steward's.
    pub role: Option<Role>,
    /// Whether it manages the site.
    pub steward: bool,
    /// Whether the vision teacher is a mobility specialist.
    pub mobility: bool,
    /// The person's name.
    pub name: String,
    /// What is typed to sign in: an e-mail address or a name the steward gave.
    pub sign_in: String,
    /// The clinic or service the person works for.
    pub clinic: Option<String>,
    /// The clinician's credential, for example OD.
    pub credential: Option<String>,
    /// The clinician's licence line.
    pub licence: Option<String>,
    /// Metric or imperial.
    pub units: String,
    /// The language of pages.
    pub language: String,
    /// Light, dark or as the machine says.
    pub appearance: String,
    /// Body text in CSS pixels.
    pub text_size: i64,
    /// When it was closed.
    pub disabled_at: Option<Timestamp>,
    /// For edits by two people.
    pub version: i64,
}

/// A new account, checked.
pub struct NewAccount {
    /// Its role, unless it is only a steward's.
    pub role: Option<Role>,
    /// Whether it manages the site.
    pub steward: bool,
    /// Whether the vision teacher is a mobility specialist.
    pub mobility: bool,
    /// The person's name.
    pub name: String,
    /// What is typed to sign in.
    pub sign_in: String,
    /// The hash of the first password.
    pub password_hash: String,
    /// The clinic or service.
    pub clinic: Option<String>,
    /// The clinician's credential.
    pub credential: Option<String>,
    /// The clinician's licence line.
    pub licence: Option<String>,
    /// The language of pages.
    pub language: String,
}

/// What a person chose for the pages they see.
pub struct Preferences {
    /// Metric or imperial.
    pub units: String,
    /// Light, dark or as the machine says.
    pub appearance: String,
    /// Body text in CSS pixels.
    pub text_size: i64,
}

/// Proof that this person just typed their password again.
#[derive(Debug)]
pub struct Reentered {
    account: AccountId,
}

impl Reentered {
    /// Whose password it was.
    pub fn account(&self) -> AccountId {
        self.account
    }
}

/// How an attempt to give a password ended.
pub enum Attempt {
    /// The password was right.
    Right(AccountId),
    /// It was not, or there is no such account.
    Wrong,
    /// Too many tries; this account waits.
    Waiting,
}

/// The form in which sign-in names are compared. No account's name holds a
/// control character, and PostgreSQL takes no NUL even to look for it.
pub fn folded(sign_in: &str) -> String {
    sign_in.trim().to_lowercase().replace(char::is_control, "\u{fffd}")
}

/// Tries a password at sign-in. Every attempt is a write with its audit line.
///
/// # Errors
/// When the database or the hash fails.
pub async fn attempt(store: &Store, passwords: &Passwords, sign_in: &str, password: &str) -> Result<Attempt> {
    let mut snapshot = store.snapshot().await?;
    let row = query("select id, password_hash, failures, locked_until, disabled_at from account where sign_in = $1")
        .bind(folded(sign_in))
        .fetch_optional(snapshot.connection())
        .await?;
    drop(snapshot);
    try_password(store, passwords, row, password).await
}

/// Asks a signed-in person for their password again, before a signature.
///
/// # Errors
/// When the database or the hash fails.
pub async fn reenter(
    store: &Store,
    passwords: &Passwords,
    actor: &Actor,
    password: &str,
) -> Result<std::result::Result<Reentered, Attempt>> {
    let mut snapshot = store.snapshot().await?;
    let row = query("select id, password_hash, failures, locked_until, disabled_at from account where id = $1")
        .bind(actor.account.to_string())
        .fetch_optional(snapshot.connection())
        .await?;
    drop(snapshot);
    Ok(match try_password(store, passwords, row, password).await? {
        Attempt::Right(account) => Ok(Reentered { account }),
        other => Err(other),
    })
}

async fn try_password(store: &Store, passwords: &Passwords, row: Option<AnyRow>, password: &str) -> Result<Attempt> {
    let now = store.clock().now();
    let known = match &row {
        Some(row) => {
            let open = row.opt_text("disabled_at")?.is_none();
            Some((row.parsed::<AccountId>("id")?, row.text("password_hash")?, row.opt_instant("locked_until")?, open))
        }
        None => None,
    };
    let waiting = known.as_ref().is_some_and(|(_, _, until, _)| until.is_some_and(|until| until > now));
    let stored = known.as_ref().filter(|(_, _, _, open)| *open).map(|(_, hash, _, _)| hash.as_str());
    // The hash is checked even when the answer is known: the same time for all.
    let right = passwords.verify(password, stored).await.map_err(|_| StoreError::Missing)? && !waiting;
    let account = known.as_ref().map(|(id, ..)| *id);
    let mut tx = store.tx().await?;
    if right {
        query("update account set failures = 0, locked_until = null where id = $1")
            .bind(account.map(|id| id.to_string()))
            .execute(tx.connection())
            .await?;
    } else if !waiting {
        let until = stamp(now.checked_add(WAIT).unwrap_or(now));
        query(
            "update account set failures = failures + 1,
             locked_until = case when failures + 1 >= $1 then $2 else locked_until end where id = $3",
        )
        .bind(FAILURES_ALLOWED)
        .bind(until)
        .bind(account.map(|id| id.to_string()))
        .execute(tx.connection())
        .await?;
    }
    let said = if right { "password right" } else { "password wrong" };
    tx.commit(Audit::own(account, said)).await?;
    Ok(match account {
        Some(account) if right => Attempt::Right(account),
        Some(_) if waiting => Attempt::Waiting,
        _ => Attempt::Wrong,
    })
}

const COLUMNS_OF_ONE: &str = "select id, role, steward, mobility, name, sign_in, clinic, credential, licence, units, language, appearance, text_size, disabled_at, version from account where id = $1";

fn account(row: &AnyRow) -> std::result::Result<Account, sqlx::Error> {
    Ok(Account {
        id: row.parsed("id")?,
        role: row.opt_parsed("role")?,
        steward: row.flag("steward")?,
        mobility: row.flag("mobility")?,
        name: row.text("name")?,
        sign_in: row.text("sign_in")?,
        clinic: row.opt_text("clinic")?,
        credential: row.opt_text("credential")?,
        licence: row.opt_text("licence")?,
        units: row.text("units")?,
        language: row.text("language")?,
        appearance: row.text("appearance")?,
        text_size: row.whole("text_size")?,
        disabled_at: row.opt_instant("disabled_at")?,
        version: row.whole("version")?,
    })
}

/// A person's own account.
///
/// # Errors
/// [`StoreError::Missing`] when it is gone.
pub async fn own(snapshot: &mut Snapshot, actor: &Actor) -> Result<Account> {
    let row = query(COLUMNS_OF_ONE)
        .bind(actor.account.to_string())
        .fetch_optional(snapshot.connection())
        .await?
        .ok_or(StoreError::Missing)?;
    Ok(account(&row)?)
}

/// Keeps what a person chose for the pages they see.
///
/// # Errors
/// [`StoreError::Stale`] when the account changed meanwhile.
pub async fn prefer(tx: &mut Tx, actor: &Actor, chosen: &Preferences, version: i64) -> Result<()> {
    let done = query("update account set units = $1, appearance = $2, text_size = $3, version = version + 1 where id = $4 and version = $5")
        .bind(chosen.units.clone())
        .bind(chosen.appearance.clone())
        .bind(chosen.text_size)
        .bind(actor.account.to_string())
        .bind(version)
        .execute(tx.connection())
        .await?;
    met(done.rows_affected())
}

/// Changes a person's own password.
///
/// # Errors
/// When the database fails.
pub async fn change_password(tx: &mut Tx, reentered: &Reentered, hash: String) -> Result<()> {
    query("update account set password_hash = $1, version = version + 1 where id = $2")
        .bind(hash)
        .bind(reentered.account.to_string())
        .execute(tx.connection())
        .await?;
    Ok(())
}

async fn insert(tx: &mut Tx, new: &NewAccount) -> Result<AccountId> {
    let id = fresh(AccountId::of);
    let at = stamp(tx.now());
    let units = setting::site(tx).await?.units().to_owned();
    query(
        "insert into account (id, role, steward, mobility, name, sign_in, password_hash, clinic, credential, licence, language, created_at, units)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
    )
    .bind(id.to_string())
    .bind(new.role.map(|role| role.code().to_owned()))
    .bind(flag(new.steward))
    .bind(flag(new.mobility))
    .bind(new.name.clone())
    .bind(folded(&new.sign_in))
    .bind(new.password_hash.clone())
    .bind(new.clinic.clone())
    .bind(new.credential.clone())
    .bind(new.licence.clone())
    .bind(new.language.clone())
    .bind(at)
    .bind(units)
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// The steward makes an account.
///
/// # Errors
/// [`StoreError::Taken`] when the sign-in name is in use.
pub async fn create(tx: &mut Tx, _office: &Office<Accounts, Create>, new: &NewAccount) -> Result<AccountId> {
    insert(tx, new).await
}

/// An invited parent or classroom teacher makes their own account; the used
/// invitation is the ground for it.
///
/// # Errors
/// [`StoreError::Taken`] when the sign-in name is in use.
pub async fn create_invited(tx: &mut Tx, _ground: &super::invitation::Opened, new: &NewAccount) -> Result<AccountId> {
    insert(tx, new).await
}

/// The operator makes an account from the command line, for example the first
/// steward.
///
/// # Errors
/// [`StoreError::Taken`] when the sign-in name is in use.
pub async fn create_by_operator(tx: &mut Tx, new: &NewAccount) -> Result<AccountId> {
    insert(tx, new).await
}

/// The operator gives an account another password: the demo, whose people enter
/// theirs many times while it is filled, at a lower cost.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such account.
pub async fn set_password_by_operator(tx: &mut Tx, id: AccountId, hash: String) -> Result<()> {
    let done = query("update account set password_hash = $1 where id = $2")
        .bind(hash)
        .bind(id.to_string())
        .execute(tx.connection())
        .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// Whether there is any account, for the operator who is about to fill the database.
///
/// # Errors
/// When the database fails.
pub async fn any_for_operator(snapshot: &mut Snapshot) -> Result<bool> {
    let row = query("select count(*) as n from account").fetch_one(snapshot.connection()).await?;
    Ok(row.whole("n")? > 0)
}

/// Every account, for the steward.
///
/// # Errors
/// When the database fails.
pub async fn all(snapshot: &mut Snapshot, _office: &Office<Accounts, impl Reads>) -> Result<Vec<Account>> {
    let rows = query("select id, role, steward, mobility, name, sign_in, clinic, credential, licence, units, language, appearance, text_size, disabled_at, version from account order by name, id")
        .fetch_all(snapshot.connection())
        .await?;
    Ok(rows.iter().map(account).collect::<std::result::Result<_, _>>()?)
}

/// How many other records officers could confirm what this one proposes.
///
/// # Errors
/// When the database fails.
pub async fn other_stewards(snapshot: &mut Snapshot, access: &Access<AccessLimits, impl Reads>) -> Result<i64> {
    let row = query("select count(*) as n from account where steward = 1 and disabled_at is null and id <> $1")
        .bind(access.actor().account.to_string())
        .fetch_one(snapshot.connection())
        .await?;
    Ok(row.whole("n")?)
}

/// Closes or reopens an account; closing ends its sessions at once.
///
/// # Errors
/// [`StoreError::Missing`] when there is no such account, [`StoreError::Stale`]
/// when it changed meanwhile.
pub async fn set_open(
    tx: &mut Tx,
    _office: &Office<Accounts, Edit>,
    id: AccountId,
    open: bool,
    version: i64,
) -> Result<()> {
    let known =
        query("select id from account where id = $1").bind(id.to_string()).fetch_optional(tx.connection()).await?;
    known.ok_or(StoreError::Missing)?;
    let at = (!open).then(|| stamp(tx.now()));
    let done = query("update account set disabled_at = $1, version = version + 1 where id = $2 and version = $3")
        .bind(at)
        .bind(id.to_string())
        .bind(version)
        .execute(tx.connection())
        .await?;
    met(done.rows_affected())?;
    if !open {
        query("delete from session where account_id = $1").bind(id.to_string()).execute(tx.connection()).await?;
    }
    Ok(())
}
