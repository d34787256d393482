//! Who goes on with the drafts of somebody whose membership ends (G15).
//!
//! The author of a draft stays its author; a handover says who goes on with it.
//! Without a taker it lies with the records officer. Where nobody leads a record
//! any more, it lies there as a whole.

use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx};
use crate::access::Access;
use crate::access::action::{Edit, Reads};
use crate::access::resource::Team;
use crate::care::ids::{AccountId, MembershipId};
use crate::db::column::{Columns, stamp};

/// A draft that somebody began and nobody signed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// Its kind, as the handover stores it.
    pub kind: String,
    /// Which.
    pub record: String,
}

/// The drafts that this account began for the student, or took over.
///
/// # Errors
/// When the database fails.
pub async fn drafts(
    snapshot: &mut Snapshot,
    access: &Access<Team, impl Reads>,
    account: AccountId,
) -> Result<Vec<Draft>> {
    let rows = query(
        "select d.kind, d.id from (
           select case when source = 'transcribed' then 'transcription' else 'evaluation' end as kind, id, created_by as author
           from evaluation where student_id = $1 and state = 'draft'
           union all select 'summary' as kind, id, created_by as author from summary where student_id = $1 and state = 'draft'
           union all select 'card' as kind, id, changed_by as author from card where student_id = $1 and state = 'draft'
           union all select 'prescription' as kind, id, created_by as author from prescription
           where student_id = $1 and state = 'draft') d
         left join handover h on h.record_id = d.id and h.student_id = $1
           and h.at = (select max(k.at) from handover k where k.record_id = d.id)
         where coalesce(h.to_account, d.author) = $2 and (h.id is null or h.to_account is not null)
         order by d.kind, d.id",
    )
    .bind(access.student().to_string())
    .bind(account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter().map(|row| Ok(Draft { kind: row.text("kind")?, record: row.text("id")? })).collect()
}

/// A draft that changed hands and is still one.
pub struct Handed {
    /// Its kind.
    pub kind: String,
    /// Who had it.
    pub from: String,
    /// Who goes on with it; nobody, it lies with the records officer.
    pub to: Option<String>,
}

/// The drafts that changed hands and are still drafts, newest first.
///
/// # Errors
/// When the database fails.
pub async fn open(snapshot: &mut Snapshot, access: &Access<Team, impl Reads>) -> Result<Vec<Handed>> {
    let rows = query(
        "select h.kind, f.name as from_name, t.name as to_name
         from handover h join account f on f.id = h.from_account left join account t on t.id = h.to_account
         where h.student_id = $1 and h.at = (select max(k.at) from handover k where k.record_id = h.record_id)
           and (h.record_id in (select id from evaluation where student_id = $1 and state = 'draft')
             or h.record_id in (select id from summary where student_id = $1 and state = 'draft')
             or h.record_id in (select id from card where student_id = $1 and state = 'draft')
             or h.record_id in (select id from prescription where student_id = $1 and state = 'draft'))
         order by h.at desc, h.id",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| Ok(Handed { kind: row.text("kind")?, from: row.text("from_name")?, to: row.opt_text("to_name")? }))
        .collect()
}

/// What happens to what a leaving member has in hand.
pub struct Leaving {
    /// The membership that ends.
    pub membership: MembershipId,
    /// Whose it is.
    pub account: AccountId,
    /// Whether it leads the record.
    pub leads: bool,
    /// Who goes on: with the lead, and with every draft. Nobody, and both lie
    /// with the records officer.
    pub taker: Option<AccountId>,
}

/// Hands the drafts and the lead over and ends the membership today: from the
/// answer on the record does not exist for that person.
///
/// # Errors
/// [`StoreError::Missing`] when it is not a present membership of this team, or
/// the taker is nobody of the same role on it.
pub async fn leave(tx: &mut Tx, access: &Access<Team, Edit>, leaving: &Leaving) -> Result<Vec<Draft>> {
    let (today, at) = (tx.today().to_string(), stamp(tx.now()));
    let done = query(
        "update membership set ends_on = $1, ended_at = $2, ended_by = $3, lead = 0
         where id = $4 and student_id = $5 and account_id = $6 and ends_on is null and lead = $7",
    )
    .bind(today.clone())
    .bind(at.clone())
    .bind(access.actor().account.to_string())
    .bind(leaving.membership.to_string())
    .bind(access.student().to_string())
    .bind(leaving.account.to_string())
    .bind(i64::from(leaving.leads))
    .execute(tx.connection())
    .await?;
    if done.rows_affected() != 1 {
        return Err(StoreError::Missing);
    }
    if let Some(taker) = leaving.taker {
        // Leading is the vision teacher's; the taker stands in the same role.
        let done = query(
            "update membership set lead = case when $1 = 1 then 1 else lead end
             where student_id = $2 and account_id = $3 and starts_on <= $4 and (ends_on is null or ends_on > $4)
             and role = (select m.role from membership m where m.id = $5)",
        )
        .bind(i64::from(leaving.leads))
        .bind(access.student().to_string())
        .bind(taker.to_string())
        .bind(today)
        .bind(leaving.membership.to_string())
        .execute(tx.connection())
        .await?;
        if done.rows_affected() == 0 {
            return Err(StoreError::Missing);
        }
    }
    let drafts = drafts(tx, access, leaving.account).await?;
    for draft in &drafts {
        query(
            "insert into handover (id, student_id, kind, record_id, from_account, to_account, at, by_account)
             values ($1, $2, $3, $4, $5, $6, $7, $8)",
        )
        .bind(fresh(|id| id).to_string())
        .bind(access.student().to_string())
        .bind(draft.kind.clone())
        .bind(draft.record.clone())
        .bind(leaving.account.to_string())
        .bind(leaving.taker.map(|taker| taker.to_string()))
        .bind(at.clone())
        .bind(access.actor().account.to_string())
        .execute(tx.connection())
        .await?;
    }
    Ok(drafts)
}
