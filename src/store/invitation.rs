//! Links that let one person join one team in one role, once, for seven days.
//!
//! The link's secret is stored only as its hash.

use jiff::{SignedDuration, Timestamp};
use sqlx::query;

use super::audit::fresh;
use super::session::{fresh_token, hash_of};
use super::{Result, Snapshot, StoreError, Tx};
use crate::access::action::{Create, Edit, Reads};
use crate::access::resource::Team;
use crate::access::{Access, Actor, Role};
use crate::care::ids::{AccountId, InvitationId, MembershipId, StudentId};
use crate::care::student::initials;
use crate::db::column::{Columns, stamp};

/// How long a link works.
const LASTS: SignedDuration = SignedDuration::from_hours(7 * 24);

/// An invitation as checked from a form.
pub struct NewInvitation {
    /// The role it gives.
    pub role: Role,
    /// Who is meant, for the list.
    pub name: String,
    /// How a parent is related.
    pub relation: String,
}

/// An invitation in the team's list.
pub struct Listed {
    /// Its id.
    pub id: InvitationId,
    /// The role it gives.
    pub role: Role,
    /// Who is meant.
    pub name: String,
    /// When it ends.
    pub expires_at: Timestamp,
    /// When it was used.
    pub used_at: Option<Timestamp>,
    /// When it was withdrawn.
    pub withdrawn_at: Option<Timestamp>,
}

/// A link that still works, opened by whoever holds it.
pub struct Opened {
    id: InvitationId,
    student: StudentId,
    /// The role it gives.
    pub role: Role,
    /// Who is meant.
    pub name: String,
    relation: String,
    invited_by: AccountId,
    /// The student's initials: all that the link shows.
    pub initials: String,
    /// Who sent it.
    pub inviter: String,
}

impl Opened {
    /// Whose team it leads to.
    pub fn student(&self) -> StudentId {
        self.student
    }
}

/// Makes a link and gives its secret, which is not stored.
///
/// # Errors
/// When the database fails.
pub async fn create(tx: &mut Tx, access: &Access<Team, Create>, new: &NewInvitation) -> Result<(InvitationId, String)> {
    let (id, token) = (fresh(InvitationId::of), fresh_token());
    let now = tx.now();
    query(
        "insert into invitation (id, student_id, role, name, relation, token_hash, created_at, created_by, expires_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.role.code().to_owned())
    .bind(new.name.clone())
    .bind(new.relation.clone())
    .bind(hash_of(&token))
    .bind(stamp(now))
    .bind(access.actor().account.to_string())
    .bind(stamp(ends(now)))
    .execute(tx.connection())
    .await?;
    Ok((id, token))
}

/// When a link made at that instant ends.
pub fn ends(made: Timestamp) -> Timestamp {
    made.checked_add(LASTS).unwrap_or(made)
}

/// The links of a team, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Team, impl Reads>) -> Result<Vec<Listed>> {
    let rows = query(
        "select id, role, name, expires_at, used_at, withdrawn_at from invitation where student_id = $1 order by created_at desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Listed {
                id: row.parsed("id")?,
                role: row.parsed("role")?,
                name: row.text("name")?,
                expires_at: row.instant("expires_at")?,
                used_at: row.opt_instant("used_at")?,
                withdrawn_at: row.opt_instant("withdrawn_at")?,
            })
        })
        .collect()
}

/// Withdraws a link that was not used.
///
/// # Errors
/// [`StoreError::Missing`] when it is not an unused link of this team.
pub async fn withdraw(tx: &mut Tx, access: &Access<Team, Edit>, id: InvitationId) -> Result<()> {
    let at = stamp(tx.now());
    let done = query("update invitation set withdrawn_at = $1 where id = $2 and student_id = $3 and used_at is null and withdrawn_at is null")
        .bind(at)
        .bind(id.to_string())
        .bind(access.student().to_string())
        .execute(tx.connection())
        .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}

/// What a link leads to, while it works. Holding the link is the permission, so
/// there is no proof to ask for; it shows initials only.
///
/// # Errors
/// [`StoreError::Missing`] when it was used, withdrawn, or is too old.
pub async fn opened(snapshot: &mut Snapshot, token: &str) -> Result<Opened> {
    let now = stamp(snapshot.now());
    let row = query(
        "select i.id, i.student_id, i.role, i.name, i.relation, i.created_by, s.name as student_name, a.name as inviter
         from invitation i join student s on s.id = i.student_id join account a on a.id = i.created_by
         where i.token_hash = $1 and i.used_at is null and i.withdrawn_at is null and i.expires_at > $2",
    )
    .bind(hash_of(token))
    .bind(now)
    .fetch_optional(snapshot.connection())
    .await?
    .ok_or(StoreError::Missing)?;
    Ok(Opened {
        id: row.parsed("id")?,
        student: row.parsed("student_id")?,
        role: row.parsed("role")?,
        name: row.text("name")?,
        relation: row.text("relation")?,
        invited_by: row.parsed("created_by")?,
        initials: initials(&row.text("student_name")?),
        inviter: row.text("inviter")?,
    })
}

/// Uses a link up: `account` joins the team.
///
/// # Errors
/// [`StoreError::Missing`] when somebody used it meanwhile.
pub async fn accept(tx: &mut Tx, link: &Opened, account: AccountId) -> Result<()> {
    let (at, today) = (stamp(tx.now()), tx.today().to_string());
    let done = query(
        "update invitation set used_at = $1, used_by = $2 where id = $3 and used_at is null and withdrawn_at is null",
    )
    .bind(at.clone())
    .bind(account.to_string())
    .bind(link.id.to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() != 1 {
        return Err(StoreError::Missing);
    }
    query(
        // A record that nobody leads any more is led by the next vision teacher who joins.
        "insert into membership (id, student_id, account_id, role, relation, starts_on, added_at, added_by, lead)
         values ($1, $2, $3, $4, $5, $6, $7, $8, case when $4 = 'vision_teacher' and not exists (
           select 1 from membership m where m.student_id = $2 and m.lead = 1 and (m.ends_on is null or m.ends_on > $6))
         then 1 else 0 end)",
    )
    .bind(fresh(MembershipId::of).to_string())
    .bind(link.student.to_string())
    .bind(account.to_string())
    .bind(link.role.code().to_owned())
    .bind(link.relation.clone())
    .bind(today)
    .bind(at)
    .bind(link.invited_by.to_string())
    .execute(tx.connection())
    .await?;
    Ok(())
}

/// Whether this person is on that team already.
///
/// # Errors
/// When the database fails.
pub async fn is_member(snapshot: &mut Snapshot, link: &Opened, actor: &Actor) -> Result<bool> {
    let today = snapshot.today().to_string();
    let row = query(
        "select count(*) as n from membership where student_id = $1 and account_id = $2 and starts_on <= $3 and (ends_on is null or ends_on > $3)",
    )
    .bind(link.student.to_string())
    .bind(actor.account.to_string())
    .bind(today)
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.whole("n")? > 0)
}
