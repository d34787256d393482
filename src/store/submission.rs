//! Keys of sent forms: a form that arrives twice is stored once.

use sqlx::Row;
use sqlx::query;

use super::{Result, Snapshot, StoreError, Tx};
use crate::care::ids::AccountId;
use crate::db::column::stamp;

pub(super) async fn claim(tx: &mut Tx, key: &str, account: Option<AccountId>) -> Result<()> {
    let account = account.map(|account| account.to_string()).unwrap_or_default();
    let at = stamp(tx.now());
    let claimed = query(
        "insert into submission (key, account_id, location, at) values ($1, $2, '', $3) on conflict (key) do nothing",
    )
    .bind(key.to_owned())
    .bind(account.clone())
    .bind(at)
    .execute(tx.connection())
    .await?;
    if claimed.rows_affected() == 1 {
        return Ok(());
    }
    let location = first_answer(tx, key, &account).await?;
    Err(StoreError::Repeated(location))
}

/// Where the first answer to a form is shown; only its own sender is told.
async fn first_answer(snapshot: &mut Snapshot, key: &str, account: &str) -> Result<String> {
    let row = query("select location from submission where key = $1 and account_id = $2")
        .bind(key.to_owned())
        .bind(account.to_owned())
        .fetch_optional(snapshot.connection())
        .await?;
    match row {
        Some(row) => Ok(row.try_get("location")?),
        None => Ok("/today".to_owned()),
    }
}

pub(super) async fn answer(tx: &mut Tx, key: &str, location: &str) -> Result<()> {
    query("update submission set location = $1 where key = $2")
        .bind(location.to_owned())
        .bind(key.to_owned())
        .execute(tx.connection())
        .await?;
    Ok(())
}
