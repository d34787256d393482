//! Signing a readiness list again after a change: the earlier list's texts stay.
//!
//! It counts from the day it was first signed; a list that should not have been
//! signed then is marked as entered in error instead.

use sqlx::query;

use super::super::readiness::List;
use super::super::{Result, StoreError, Tx, amendment, met};
use super::Outcome;
use crate::access::Access;
use crate::access::action::Amend;
use crate::access::resource::Training;
use crate::care::amendment::{Change, Correction, changes};
use crate::care::gates::MaySignReadiness;
use crate::care::readiness::texts;
use crate::db::column::{json, stamp};

/// Signs a list again; the token says that every item is there.
///
/// # Errors
/// [`StoreError::Missing`] when the token is for another track,
/// [`StoreError::Stale`] when the list is not signed, or was changed or marked
/// meanwhile.
pub async fn sign_again(
    tx: &mut Tx,
    access: &Access<Training, Amend>,
    (list, version): (&List, Option<i64>),
    (may, agreed_words): (&MaySignReadiness, &str),
    reason: &str,
) -> Result<Outcome> {
    if may.track() != list.track {
        return Err(StoreError::Missing);
    }
    let Some((first, by)) = list.signed.as_ref().filter(|_| version == Some(list.version)) else {
        return Err(StoreError::Stale);
    };
    let passed = may.passed();
    let was = list.passed.as_ref().map(|(item, reason)| (*item, reason.as_str()));
    let mut all = changes(
        texts(list.track, &list.marks, &list.agreed_words, was),
        texts(list.track, may.marks(), agreed_words, passed),
    );
    if all.iter().any(|one| one.before != one.after) {
        let date = |day: jiff::civil::Date| day.strftime("%-d %B %Y").to_string();
        let before = format!("first signed on {} by {by}", date(tx.date_of(*first)));
        let after = format!("signed again on {} by {}", date(tx.today()), access.actor().name);
        all.push(Change::of("Signature", before, after));
    }
    let correction = match Correction::because(all, reason) {
        Ok(correction) => correction,
        Err(refused) => return Ok(refused.into()),
    };
    let (item, why) =
        passed.map_or((String::new(), String::new()), |(item, why)| (item.code().to_owned(), why.to_owned()));
    let at = stamp(tx.now());
    let done = query(
        "update readiness set items = $1, agreed_words = $2, passed_item = $3, passed_reason = $4, evidence_kind = 'evaluation',
         evidence_id = $5, changed_at = $6, changed_by = $7, version = version + 1
         where id = $8 and student_id = $9 and version = $10 and signed_at is not null and entered_in_error_at is null",
    )
    .bind(json(may.marks()))
    .bind(agreed_words.to_owned())
    .bind(item)
    .bind(why)
    .bind(may.evaluation().to_string())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(list.id.to_string())
    .bind(access.student().to_string())
    .bind(list.version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    amendment::write(tx, access, list.id, &correction).await?;
    Ok(Outcome::Kept)
}
