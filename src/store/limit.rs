//! Access limits: what an order leaves to an adult, and the two records officers
//! it takes to put one down or to lift it.
//!
//! Nobody confirms what they proposed, nor decides about themselves; both stand
//! in the `where` of every write here, whatever a page says. A proposal that was
//! withdrawn stays in the list.

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Action, Create, Edit, Reads};
use crate::access::resource::{AccessLimitFlag, AccessLimits, Resource};
use crate::care::ids::{AccountId, LimitId};
use crate::care::rights::{Ordered, Span};
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, stamp, text};

/// A limit as checked from its form.
pub struct NewLimit {
    /// The adult.
    pub account: AccountId,
    /// What is left to them.
    pub ordered: Ordered,
    /// Which document says so, and where it lies.
    pub document: String,
    /// The first day.
    pub starts_on: Date,
    /// The last day, if the document names one.
    pub ends_on: Option<Date>,
}

/// Who did something, and when.
pub struct By {
    /// The account.
    pub account: AccountId,
    /// The name.
    pub name: String,
    /// When.
    pub at: Timestamp,
}

/// A limit as records officers read it.
pub struct Limit {
    /// Which.
    pub id: LimitId,
    /// The adult's name.
    pub adult: String,
    /// What it says.
    pub what: NewLimit,
    /// What decides where it stands.
    pub span: Span,
    /// Who proposed it.
    pub proposed: By,
    /// Who confirmed it.
    pub confirmed: Option<By>,
    /// When it was withdrawn.
    pub withdrawn_at: Option<Timestamp>,
    /// When it was lifted.
    pub lifted_at: Option<Timestamp>,
    /// A proposal to lift it that waits.
    pub lift: Option<Lift>,
}

/// A proposal to lift a limit.
pub struct Lift {
    /// Which document says so.
    pub document: String,
    /// Who proposed it.
    pub proposed: By,
}

fn by(
    row: &AnyRow,
    account: &'static str,
    name: &'static str,
    at: &'static str,
) -> std::result::Result<Option<By>, sqlx::Error> {
    let (Some(account), Some(at)) = (row.opt_parsed(account)?, row.opt_instant(at)?) else { return Ok(None) };
    Ok(Some(By { account, name: row.opt_text(name)?.unwrap_or_default(), at }))
}

fn limit(row: &AnyRow) -> std::result::Result<Limit, sqlx::Error> {
    let proposed =
        By { account: row.parsed("proposed_by")?, name: row.text("proposer")?, at: row.instant("proposed_at")? };
    let confirmed = by(row, "confirmed_by", "confirmer", "confirmed_at")?;
    let (withdrawn_at, lifted_at) = (row.opt_instant("withdrawn_at")?, row.opt_instant("lifted_at")?);
    let what = NewLimit {
        account: row.parsed("account_id")?,
        ordered: row.parsed("rights")?,
        document: row.text("document")?,
        starts_on: row.date("starts_on")?,
        ends_on: row.opt_date("ends_on")?,
    };
    let span = Span {
        starts_on: what.starts_on,
        ends_on: what.ends_on,
        confirmed: confirmed.is_some(),
        withdrawn: withdrawn_at.is_some(),
        lifted: lifted_at.is_some(),
    };
    let lift = by(row, "lift_by", "lifter", "lift_at")?
        .map(|proposed| Ok::<_, sqlx::Error>(Lift { document: row.text("lift_document")?, proposed }))
        .transpose()?;
    Ok(Limit {
        id: row.parsed("id")?,
        adult: row.text("adult")?,
        what,
        span,
        proposed,
        confirmed,
        withdrawn_at,
        lifted_at,
        lift,
    })
}

/// Every limit of this student, newest first, with the proposal to lift it.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<AccessLimits, impl Reads>) -> Result<Vec<Limit>> {
    let rows = query(
        "select l.id, l.account_id, p.name as adult, l.rights, l.document, l.starts_on, l.ends_on,
         l.proposed_at, l.proposed_by, a.name as proposer, l.confirmed_at, l.confirmed_by, c.name as confirmer,
         l.withdrawn_at, l.lifted_at, f.document as lift_document, f.proposed_at as lift_at, f.proposed_by as lift_by, b.name as lifter
         from access_limit l join account p on p.id = l.account_id join account a on a.id = l.proposed_by
         left join account c on c.id = l.confirmed_by
         left join limit_lift f on f.limit_id = l.id and f.confirmed_at is null and f.withdrawn_at is null
         left join account b on b.id = f.proposed_by
         where l.student_id = $1 order by l.proposed_at desc, l.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(limit).collect::<std::result::Result<_, _>>()?)
}

/// Whether this adult is or was on the team as a parent.
pub(super) async fn is_parent<R: Resource, A: Action>(
    snapshot: &mut Snapshot,
    access: &Access<R, A>,
    account: AccountId,
) -> Result<bool> {
    let row =
        query("select count(*) as n from membership where student_id = $1 and account_id = $2 and role = 'parent'")
            .bind(access.student().to_string())
            .bind(account.to_string())
            .fetch_one(snapshot.connection())
            .await?;
    Ok(row.whole("n")? > 0)
}

/// Proposes a limit. It changes nothing until somebody else confirms it.
///
/// # Errors
/// [`StoreError::Missing`] when the adult never was a parent on this team, or is
/// the one who proposes.
pub async fn propose(tx: &mut Tx, access: &Access<AccessLimits, Create>, new: &NewLimit) -> Result<LimitId> {
    if new.account == access.actor().account || !is_parent(tx, access, new.account).await? {
        return Err(StoreError::Missing);
    }
    let id = fresh(LimitId::of);
    let at = stamp(tx.now());
    query(
        "insert into access_limit (id, student_id, account_id, rights, document, starts_on, ends_on, proposed_at, proposed_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.account.to_string())
    .bind(new.ordered.code().to_owned())
    .bind(new.document.clone())
    .bind(new.starts_on.to_string())
    .bind(text(new.ends_on))
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Confirms a limit that somebody else proposed: in force from now on.
///
/// # Errors
/// [`StoreError::Stale`] when it does not wait any more, or is not this
/// person's to confirm.
pub async fn confirm(tx: &mut Tx, access: &Access<AccessLimits, Edit>, id: LimitId) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update access_limit set confirmed_at = $1, confirmed_by = $2
         where id = $3 and student_id = $4 and confirmed_at is null and withdrawn_at is null
         and proposed_by <> $2 and account_id <> $2",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Withdraws a limit that nobody confirmed.
///
/// # Errors
/// [`StoreError::Stale`] when it does not wait any more, or is about this person.
pub async fn withdraw(tx: &mut Tx, access: &Access<AccessLimits, Edit>, id: LimitId) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update access_limit set withdrawn_at = $1, withdrawn_by = $2
         where id = $3 and student_id = $4 and confirmed_at is null and withdrawn_at is null and account_id <> $2",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Proposes to lift a confirmed limit. It stays in force until somebody else
/// confirms that.
///
/// # Errors
/// [`StoreError::Stale`] when the limit is not one that can be lifted, a proposal
/// waits already, or it is about this person.
pub async fn propose_lift(tx: &mut Tx, access: &Access<AccessLimits, Edit>, id: LimitId, document: &str) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "insert into limit_lift (id, student_id, limit_id, document, proposed_at, proposed_by)
         select $1, l.student_id, l.id, $2, $3, $4 from access_limit l
         where l.id = $5 and l.student_id = $6 and l.confirmed_at is not null and l.lifted_at is null and l.account_id <> $4
         and not exists (select 1 from limit_lift f where f.limit_id = l.id and f.confirmed_at is null and f.withdrawn_at is null)",
    )
    .bind(fresh_uuid().to_string())
    .bind(document.to_owned())
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Confirms that a limit is lifted, as somebody else proposed.
///
/// # Errors
/// [`StoreError::Stale`] when no such proposal waits, or it is not this person's
/// to confirm.
pub async fn confirm_lift(tx: &mut Tx, access: &Access<AccessLimits, Edit>, id: LimitId) -> Result<()> {
    let at = stamp(tx.now());
    let (actor, student) = (access.actor().account.to_string(), access.student().to_string());
    let done = query(
        "update limit_lift set confirmed_at = $1, confirmed_by = $2
         where limit_id = $3 and student_id = $4 and confirmed_at is null and withdrawn_at is null and proposed_by <> $2",
    )
    .bind(at.clone())
    .bind(actor.clone())
    .bind(id.to_string())
    .bind(student.clone())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    let done = query(
        "update access_limit set lifted_at = $1
         where id = $2 and student_id = $3 and confirmed_at is not null and lifted_at is null and account_id <> $4",
    )
    .bind(at)
    .bind(id.to_string())
    .bind(student)
    .bind(actor)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Withdraws a proposal to lift a limit.
///
/// # Errors
/// [`StoreError::Stale`] when none waits.
pub async fn withdraw_lift(tx: &mut Tx, access: &Access<AccessLimits, Edit>, id: LimitId) -> Result<()> {
    let at = stamp(tx.now());
    let done = query(
        "update limit_lift set withdrawn_at = $1, withdrawn_by = $2
         where limit_id = $3 and student_id = $4 and confirmed_at is null and withdrawn_at is null",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Whether a limit on somebody's access is in force: that, and nothing of what
/// it says.
///
/// # Errors
/// When the database fails.
pub async fn is_on_file(snapshot: &mut Snapshot, access: &Access<AccessLimitFlag, impl Reads>) -> Result<bool> {
    let today = snapshot.today().to_string();
    let row = query(
        "select count(*) as n from access_limit where student_id = $1 and confirmed_at is not null and lifted_at is null
         and starts_on <= $2 and (ends_on is null or ends_on >= $2)",
    )
    .bind(access.student().to_string())
    .bind(today)
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.whole("n")? > 0)
}
