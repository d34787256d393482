//! What the records office has to do, across students: limits that wait for a
//! second person, rights that pass to a student, consents that ended, records
//! without a lead, drafts that nobody took over.
//!
//! Names and dates only. The proof is that of the site's own page; each list is
//! one query.

use jiff::civil::Date;
use sqlx::query;

use super::{Result, Snapshot};
use crate::access::action::Reads;
use crate::access::resource::Accounts;
use crate::access::{Actor, Office};
use crate::care::consent::Direction;
use crate::care::ids::{AccountId, StudentId};
use crate::db::column::Columns;

/// A proposal that waits for a second records officer.
pub struct Waiting {
    /// About whose record.
    pub student: StudentId,
    /// The student's name.
    pub name: String,
    /// Who proposed it.
    pub proposed_by: String,
    /// Whether it is to lift a limit.
    pub lifts: bool,
    /// Whether this reader proposed it, and so cannot confirm it.
    pub own: bool,
}

/// Every limit, and every lifting of one, that waits for confirmation; oldest first.
///
/// # Errors
/// When the database fails.
pub async fn limits_waiting(snapshot: &mut Snapshot, office: &Office<Accounts, impl Reads>) -> Result<Vec<Waiting>> {
    let rows = query(
        "select w.student_id, s.name, a.name as proposer, w.proposed_by, w.lifts from (
           select student_id, proposed_by, proposed_at, cast(0 as bigint) as lifts from access_limit
           where confirmed_at is null and withdrawn_at is null
           union all
           select student_id, proposed_by, proposed_at, cast(1 as bigint) as lifts from limit_lift
           where confirmed_at is null and withdrawn_at is null) w
         join student s on s.id = w.student_id join account a on a.id = w.proposed_by order by w.proposed_at",
    )
    .fetch_all(snapshot.connection())
    .await?;
    let actor = office.actor().account;
    rows.iter()
        .map(|row| {
            Ok(Waiting {
                student: row.parsed("student_id")?,
                name: row.text("name")?,
                proposed_by: row.text("proposer")?,
                lifts: row.flag("lifts")?,
                own: row.parsed::<AccountId>("proposed_by")? == actor,
            })
        })
        .collect()
}

/// Whether a proposal of somebody else waits for this records officer. Not about
/// any one student.
///
/// # Errors
/// When the database fails.
pub async fn something_waits(snapshot: &mut Snapshot, actor: &Actor) -> Result<bool> {
    if !actor.steward {
        return Ok(false);
    }
    let row = query(
        "select (select count(*) from access_limit where confirmed_at is null and withdrawn_at is null and proposed_by <> $1)
         + (select count(*) from limit_lift where confirmed_at is null and withdrawn_at is null and proposed_by <> $1) as n
         from audit_head",
    )
    .bind(actor.account.to_string())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(row.whole("n")? > 0)
}

/// A student who is of age, or will be within the year.
pub struct Coming {
    /// Who.
    pub student: StudentId,
    /// The name.
    pub name: String,
    /// The date of birth.
    pub born: Date,
    /// Parents on the team now.
    pub parents: i64,
    /// Of these, how many the student said something about.
    pub chosen: i64,
}

/// Every student born until a day, by birth date.
///
/// # Errors
/// When the database fails.
pub async fn born_until(
    snapshot: &mut Snapshot,
    _office: &Office<Accounts, impl Reads>,
    day: Date,
) -> Result<Vec<Coming>> {
    let today = snapshot.today().to_string();
    let rows = query(
        "select s.id, s.name, s.birth_date,
         (select count(*) from membership m where m.student_id = s.id and m.role = 'parent' and m.starts_on <= $2
          and (m.ends_on is null or m.ends_on > $2)) as parents,
         (select count(distinct c.account_id) from age_choice c join membership m on m.student_id = c.student_id and m.account_id = c.account_id
          where c.student_id = s.id and m.role = 'parent' and m.starts_on <= $2 and (m.ends_on is null or m.ends_on > $2)) as chosen
         from student s where s.birth_date <= $1 order by s.birth_date, s.name",
    )
    .bind(day.to_string())
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Coming {
                student: row.parsed("id")?,
                name: row.text("name")?,
                born: row.date("birth_date")?,
                parents: row.whole("parents")?,
                chosen: row.whole("chosen")?,
            })
        })
        .collect()
}

/// A record that no vision teacher leads.
pub struct WithoutLead {
    /// Whose.
    pub student: StudentId,
    /// The name.
    pub name: String,
    /// The day the last vision teacher left.
    pub since: Option<Date>,
}

/// Records that nobody leads today, by name.
///
/// # Errors
/// When the database fails.
pub async fn without_lead(snapshot: &mut Snapshot, _office: &Office<Accounts, impl Reads>) -> Result<Vec<WithoutLead>> {
    let today = snapshot.today().to_string();
    let rows = query(
        "select s.id, s.name, (select max(m.ends_on) from membership m where m.student_id = s.id and m.role = 'vision_teacher') as since
         from student s where s.id not in (select student_id from membership where lead = 1 and starts_on <= $1
           and (ends_on is null or ends_on > $1)) order by s.name, s.id",
    )
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(WithoutLead { student: row.parsed("id")?, name: row.text("name")?, since: row.opt_date("since")? })
        })
        .collect()
}

/// A draft that nobody took over.
pub struct LeftDraft {
    /// About whom.
    pub student: StudentId,
    /// The student's name.
    pub name: String,
    /// Its kind, as the handover stores it.
    pub kind: String,
    /// Who had it, by name.
    pub from: String,
    /// The day it was left.
    pub since: Date,
}

/// Drafts that lie with the records office, the oldest first.
///
/// # Errors
/// When the database fails.
pub async fn drafts_left(snapshot: &mut Snapshot, _office: &Office<Accounts, impl Reads>) -> Result<Vec<LeftDraft>> {
    let rows = query(
        "select h.student_id, s.name, h.kind, h.at, f.name as from_name
         from handover h join student s on s.id = h.student_id join account f on f.id = h.from_account
         where h.to_account is null and h.at = (select max(k.at) from handover k where k.record_id = h.record_id)
           and (h.record_id in (select id from evaluation where state = 'draft')
             or h.record_id in (select id from summary where state = 'draft')
             or h.record_id in (select id from card where state = 'draft')
             or h.record_id in (select id from prescription where state = 'draft'))
         order by h.at, h.id",
    )
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(LeftDraft {
                student: row.parsed("student_id")?,
                name: row.text("name")?,
                kind: row.text("kind")?,
                from: row.text("from_name")?,
                since: snapshot.date_of(row.instant("at")?),
            })
        })
        .collect()
}

/// A consent after which none of its kind was signed.
pub struct Ended {
    /// Whose.
    pub student: StudentId,
    /// The name.
    pub name: String,
    /// Which way.
    pub direction: Direction,
    /// The last day.
    pub on: Date,
}

/// Ways between school and clinic on which the newest consent ended before today
/// and was not withdrawn; the one that ended last first.
///
/// # Errors
/// When the database fails.
pub async fn consents_ended(snapshot: &mut Snapshot, _office: &Office<Accounts, impl Reads>) -> Result<Vec<Ended>> {
    let today = snapshot.today().to_string();
    let rows = query(
        "select c.student_id, s.name, c.direction, max(c.ends_on) as ended from consent c join student s on s.id = c.student_id
         where c.withdrawn_at is null and c.how <> 'emergency' and c.ends_on is not null
         group by c.student_id, s.name, c.direction, lower(c.from_party), lower(c.to_party)
         having max(c.ends_on) < $1 order by ended desc, s.name",
    )
    .bind(today)
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Ended {
                student: row.parsed("student_id")?,
                name: row.text("name")?,
                direction: row.parsed("direction")?,
                on: row.date("ended")?,
            })
        })
        .collect()
}
