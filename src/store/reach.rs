//! Which signed documents does a proof reach?
//!
//! The author's own, drafts too; the released ones where the proof says so; and
//! where no consent is in force now, only those with a sending to the reader's
//! clinic or service (G7). Two spellings of one clinic are one party, which SQL
//! cannot say, so the sendings are read once and the rows are asked one by one.

use std::collections::BTreeSet;

use sqlx::query;

use super::sending::Document;
use super::{Result, Snapshot, setting};
use crate::access::action::Action;
use crate::access::resource::Resource;
use crate::access::{Access, Side};
use crate::care::consent::Party;
use crate::care::ids::AccountId;
use crate::db::column::Columns;

/// What a proof reaches among documents of one kind.
pub(super) struct Reach {
    actor: AccountId,
    released_only: bool,
    /// The only documents reached, where the proof is for sent ones alone.
    sent: Option<BTreeSet<String>>,
}

impl Reach {
    /// Whether a document of this author, released or not, is reached.
    pub(super) fn allows(&self, id: &str, author: AccountId, released: bool) -> bool {
        author == self.actor
            || ((released || !self.released_only) && self.sent.as_ref().is_none_or(|sent| sent.contains(id)))
    }
}

/// What this proof reaches among documents of that kind.
pub(super) async fn of<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    document: Document,
) -> Result<Reach> {
    let limits = access.limits();
    let sent = if limits.sent_only { Some(sent(snapshot, access, document).await?) } else { None };
    Ok(Reach { actor: access.actor().account, released_only: limits.released_only, sent })
}

async fn sent<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    document: Document,
) -> Result<BTreeSet<String>> {
    let actor = access.actor();
    let reader = if actor.side() == Side::Clinic {
        actor.clinic.clone().unwrap_or_default()
    } else {
        setting::site(snapshot).await?.owner().to_owned()
    };
    let Ok(reader) = Party::new(&reader) else { return Ok(BTreeSet::new()) };
    let rows = query(
        "select s.document_id, c.to_party from sending s join consent c on c.id = s.consent_id
         where s.student_id = $1 and s.document_kind = $2 and s.to_side = $3",
    )
    .bind(access.student().to_string())
    .bind(document.code().to_owned())
    .bind(actor.side().code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = BTreeSet::new();
    for row in &rows {
        if Party::new(&row.text("to_party")?).is_ok_and(|party| party == reader) {
            found.insert(row.text("document_id")?);
        }
    }
    Ok(found)
}
