//! How a person stands to a student today: the facts the policy needs.
//!
//! The only place that builds a [`Standing`]. Does not know the policy.
//! Access limits are in [`super::limit`], a student's choice in [`super::age`].

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::asked::{self, asked};
use super::setting::Site;
use super::{Result, Snapshot, age};
use crate::access::standing::{Categories, Facts, Given, InForce, Password, Rights, Sent, Standing, Tie, Transfer};
use crate::access::{Actor, Role, Side};
use crate::care::consent::{Category, Direction, Party};
use crate::care::ids::StudentId;
use crate::care::student::of_age_on;
use crate::db::column::{Columns, stamp};
use crate::store::consent::categories_of;

/// How `actor` stands to `student` now.
///
/// A student who does not exist gives the standing of a stranger: both answer
/// alike.
///
/// # Errors
/// When the database fails.
pub async fn of(snapshot: &mut Snapshot, actor: &Actor, student: StudentId, password: Password) -> Result<Standing> {
    let site = super::setting::site(snapshot).await?;
    let found = of_all(snapshot, &site, actor, &[student], password).await?;
    let stranger =
        || Facts { account: actor.account, student, tie: Tie::None, consents: vec![], sent: vec![], password };
    Ok(found.into_iter().next().unwrap_or_else(|| Standing::of(stranger())))
}

/// How `actor` stands to each of these students now, in their order and in as
/// many queries as for one.
///
/// # Errors
/// When the database fails.
pub async fn of_all(
    snapshot: &mut Snapshot,
    site: &Site,
    actor: &Actor,
    students: &[StudentId],
    password: Password,
) -> Result<Vec<Standing>> {
    let ties = ties(snapshot, site, actor, students).await?;
    let crosses = matches!(actor.side(), Side::School | Side::Clinic);
    let known = asked::ids(ties.keys().copied());
    let (mut consents, mut sent) = (BTreeMap::new(), BTreeMap::new());
    if crosses && !known.is_empty() {
        let reader = reader(actor, site);
        consents = in_force(snapshot, &known, &reader).await?;
        sent = sendings(snapshot, &known, actor.side(), &reader).await?;
    }
    let facts = |student: &StudentId| Facts {
        account: actor.account,
        student: *student,
        tie: ties.get(student).copied().unwrap_or(Tie::None),
        consents: consents.remove(student).unwrap_or_default(),
        sent: sent.remove(student).unwrap_or_default(),
        password,
    };
    Ok(students.iter().map(facts).map(Standing::of).collect())
}

/// The clinic or service as which this person reads.
fn reader(actor: &Actor, site: &Site) -> String {
    if actor.side() == Side::Clinic { actor.clinic.clone().unwrap_or_default() } else { site.owner().to_owned() }
}

async fn ties(
    snapshot: &mut Snapshot,
    site: &Site,
    actor: &Actor,
    students: &[StudentId],
) -> Result<BTreeMap<StudentId, Tie>> {
    let Some(role) = actor.role else { return Ok(BTreeMap::new()) };
    let today = snapshot.today();
    let rows = query(concat!(
        "select m.student_id, m.rights, s.birth_date,
         (select count(*) from access_limit l where l.student_id = m.student_id and l.account_id = m.account_id
          and l.confirmed_at is not null and l.lifted_at is null and l.starts_on <= $4
          and (l.ends_on is null or l.ends_on >= $4)) as limited
         from membership m join student s on s.id = m.student_id
         where m.account_id = $2 and m.role = $3 and m.starts_on <= $4 and (m.ends_on is null or m.ends_on > $4)
         and m.student_id in ",
        asked!(),
        " order by m.added_at"
    ))
    .bind(asked::ids(students.iter().copied()))
    .bind(actor.account.to_string())
    .bind(role.code().to_owned())
    .bind(today.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut chosen = BTreeMap::new();
    if role == Role::Parent {
        chosen = age::chosen_by_students(snapshot, actor, students).await?;
    }
    let mut ties = BTreeMap::new();
    for row in &rows {
        let student: StudentId = row.parsed("student_id")?;
        let tie = if role == Role::Parent {
            parents(row, site, today, chosen.get(&student).copied().unwrap_or_default())?
        } else {
            Tie::OnTeam
        };
        // Of two memberships the one added last counts.
        ties.insert(student, tie);
    }
    Ok(ties)
}

/// How a parent stands. Nothing of it is stored: a clock that runs ahead for a
/// while hands the rights over for just as long.
fn parents(row: &AnyRow, site: &Site, today: Date, chosen: Categories) -> std::result::Result<Tie, sqlx::Error> {
    let limited = row.text("rights")? != "full" || row.whole("limited")? > 0;
    // G10: from this day on the rights are the student's.
    let of_age = of_age_on(row.date("birth_date")?, site.transfer_age()) <= today;
    Ok(Tie::Parent {
        rights: if limited { Rights::Limited } else { Rights::Full },
        transfer: if of_age { Transfer::OfAge { chosen } } else { Transfer::NotYet },
    })
}

async fn in_force(snapshot: &mut Snapshot, students: &str, reader: &str) -> Result<BTreeMap<StudentId, Vec<InForce>>> {
    let (today, now) = (snapshot.today().to_string(), stamp(snapshot.now()));
    // A consent counts by its days, an emergency until its instant.
    let rows = query(concat!(
        "select student_id, id, direction, categories, to_party, how from consent
         where starts_on <= $2 and ends_on >= $2 and withdrawn_at is null
           and (expires_at is null or expires_at > $3) and (how <> 'emergency' or expires_at is not null)
           and student_id in ",
        asked!(),
        " order by signed_at desc"
    ))
    .bind(students.to_owned())
    .bind(today)
    .bind(now)
    .fetch_all(snapshot.connection())
    .await?;
    let mut found: BTreeMap<StudentId, Vec<InForce>> = BTreeMap::new();
    for row in &rows {
        if !same_party(&row.text("to_party")?, reader) {
            continue;
        }
        let categories: BTreeSet<Category> = categories_of(row)?;
        found.entry(row.parsed("student_id")?).or_default().push(InForce {
            direction: row.parsed::<Direction>("direction")?,
            categories: categories.into_iter().collect(),
            consent: row.parsed("id")?,
            kind: if row.text("how")? == "emergency" { Given::Emergency } else { Given::Consent },
        });
    }
    Ok(found)
}

async fn sendings(
    snapshot: &mut Snapshot,
    students: &str,
    side: Side,
    reader: &str,
) -> Result<BTreeMap<StudentId, Vec<Sent>>> {
    let rows = query(concat!(
        "select distinct s.student_id, s.category, c.direction, c.to_party from sending s join consent c on c.id = s.consent_id
         where s.to_side = $2 and s.student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .bind(side.code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found: BTreeMap<StudentId, Vec<Sent>> = BTreeMap::new();
    for row in &rows {
        if same_party(&row.text("to_party")?, reader) {
            let sent = Sent { direction: row.parsed("direction")?, category: row.parsed("category")? };
            found.entry(row.parsed("student_id")?).or_default().push(sent);
        }
    }
    Ok(found)
}

/// Whether a consent names this reader's clinic or service.
pub(super) fn same_party(named: &str, reader: &str) -> bool {
    match (Party::new(named), Party::new(reader)) {
        (Ok(named), Ok(reader)) => named == reader,
        _ => false,
    }
}
