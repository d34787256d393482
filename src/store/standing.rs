//! How a person stands to a student today: the facts the policy needs.
//!
//! The only place that builds a [`Standing`]. Does not know the policy.

use std::collections::BTreeSet;

use sqlx::query;

use super::{Result, Snapshot};
use crate::access::standing::{Facts, Given, InForce, Password, Rights, Sent, Standing, Tie, Transfer};
use crate::access::{Actor, Role, Side};
use crate::care::consent::{Category, Direction, Party};
use crate::care::ids::StudentId;
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
    let tie = tie(snapshot, actor, student).await?;
    let (mut consents, mut sent) = (Vec::new(), Vec::new());
    if matches!(actor.side(), Side::School | Side::Clinic) && tie != Tie::None {
        let owner = super::setting::site(snapshot).await?.owner().to_owned();
        let reader = if actor.side() == Side::Clinic { actor.clinic.clone().unwrap_or_default() } else { owner };
        consents = in_force(snapshot, student, &reader).await?;
        sent = sendings(snapshot, student, actor.side(), &reader).await?;
    }
    Ok(Standing::of(Facts { account: actor.account, student, tie, consents, sent, password }))
}

async fn tie(snapshot: &mut Snapshot, actor: &Actor, student: StudentId) -> Result<Tie> {
    let Some(role) = actor.role else { return Ok(Tie::None) };
    let today = snapshot.today().to_string();
    let row = query(
        "select rights from membership
         where student_id = $1 and account_id = $2 and role = $3 and starts_on <= $4 and (ends_on is null or ends_on > $4)
         order by added_at desc limit 1",
    )
    .bind(student.to_string())
    .bind(actor.account.to_string())
    .bind(role.code().to_owned())
    .bind(today)
    .fetch_optional(snapshot.connection())
    .await?;
    Ok(match row {
        None => Tie::None,
        Some(row) if role == Role::Parent => {
            let rights = if row.text("rights")? == "full" { Rights::Full } else { Rights::Limited };
            Tie::Parent { rights, transfer: Transfer::NotYet }
        }
        Some(_) => Tie::OnTeam,
    })
}

async fn in_force(snapshot: &mut Snapshot, student: StudentId, reader: &str) -> Result<Vec<InForce>> {
    let (today, now) = (snapshot.today().to_string(), stamp(snapshot.now()));
    // A consent counts by its days, an emergency until its instant.
    let rows = query(
        "select id, direction, categories, to_party, how from consent
         where student_id = $1 and starts_on <= $2 and ends_on >= $2 and withdrawn_at is null
           and (expires_at is null or expires_at > $3) and (how <> 'emergency' or expires_at is not null)
         order by signed_at desc",
    )
    .bind(student.to_string())
    .bind(today)
    .bind(now)
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        if !same_party(&row.text("to_party")?, reader) {
            continue;
        }
        let categories: BTreeSet<Category> = categories_of(row)?;
        found.push(InForce {
            direction: row.parsed::<Direction>("direction")?,
            categories: categories.into_iter().collect(),
            consent: row.parsed("id")?,
            kind: if row.text("how")? == "emergency" { Given::Emergency } else { Given::Consent },
        });
    }
    Ok(found)
}

async fn sendings(snapshot: &mut Snapshot, student: StudentId, side: Side, reader: &str) -> Result<Vec<Sent>> {
    let rows = query(
        "select distinct s.category, c.direction, c.to_party from sending s join consent c on c.id = s.consent_id
         where s.student_id = $1 and s.to_side = $2",
    )
    .bind(student.to_string())
    .bind(side.code().to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        if same_party(&row.text("to_party")?, reader) {
            found.push(Sent { direction: row.parsed("direction")?, category: row.parsed("category")? });
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
