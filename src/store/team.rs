//! Who is on a student's team, from when to when.

use jiff::civil::Date;
use sqlx::query;

use super::{Result, Snapshot};
use crate::access::action::Reads;
use crate::access::resource::Team;
use crate::access::{Access, Role};
use crate::care::ids::{AccountId, MembershipId};
use crate::db::column::Columns;

/// One person's place on a team.
pub struct Member {
    /// The membership.
    pub id: MembershipId,
    /// The person.
    pub account: AccountId,
    /// The person's name.
    pub name: String,
    /// The role on this team.
    pub role: Role,
    /// How a parent is related, in words.
    pub relation: String,
    /// The clinic or service the person works for.
    pub clinic: Option<String>,
    /// Whether this vision teacher leads the record.
    pub lead: bool,
    /// Whether this parent's rights are full.
    pub full_rights: bool,
    /// The first day.
    pub starts_on: Date,
    /// The day it ends: that day it no longer counts.
    pub ends_on: Option<Date>,
}

/// Everybody who is or was on the team; present members first.
///
/// # Errors
/// When the database fails.
pub async fn members(snapshot: &mut Snapshot, access: &Access<Team, impl Reads>) -> Result<Vec<Member>> {
    let today = snapshot.today().to_string();
    let rows = query(
        "select m.id, m.account_id, a.name, m.role, m.relation, a.clinic, m.lead, m.rights, m.starts_on, m.ends_on,
         (select count(*) from access_limit l where l.student_id = m.student_id and l.account_id = m.account_id
          and l.confirmed_at is not null and l.lifted_at is null and l.starts_on <= $2
          and (l.ends_on is null or l.ends_on >= $2)) as limited
         from membership m join account a on a.id = m.account_id
         where m.student_id = $1
         order by case when m.ends_on is null then 0 else 1 end, m.lead desc, m.role, a.name",
    )
    .bind(access.student().to_string())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Member {
                id: row.parsed("id")?,
                account: row.parsed("account_id")?,
                name: row.text("name")?,
                role: row.parsed("role")?,
                relation: row.text("relation")?,
                clinic: row.opt_text("clinic")?,
                lead: row.flag("lead")?,
                full_rights: row.text("rights")? == "full" && row.whole("limited")? == 0,
                starts_on: row.date("starts_on")?,
                ends_on: row.opt_date("ends_on")?,
            })
        })
        .collect()
}
