//! What a student of age lets each parent read (G10).
//!
//! A choice is added, never changed: the newest of a parent counts, the older
//! ones stay readable. That the student is of age is not stored anywhere; it
//! follows from the birth date and the day.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::query;

use super::asked::{self, asked};
use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx};
use crate::access::action::{Create, Reads};
use crate::access::resource::{AccessLimits, Team};
use crate::access::standing::Categories;
use crate::access::{Access, Actor};
use crate::care::consent::Category;
use crate::care::ids::{AccountId, ChoiceId, StudentId};
use crate::care::rights::Told;
use crate::db::column::{Columns, json, stamp};

/// A choice as checked from its form.
pub struct NewChoice {
    /// Which parent.
    pub account: AccountId,
    /// What this parent may read; empty, nothing.
    pub categories: BTreeSet<Category>,
    /// How the student said so.
    pub how: Told,
    /// In the student's own words.
    pub words: String,
    /// The day the student said it.
    pub decided_on: Date,
    /// Who was there.
    pub witness: String,
}

/// A choice as the records officer reads it.
pub struct Choice {
    /// Which.
    pub id: ChoiceId,
    /// The parent's name.
    pub parent: String,
    /// What was chosen.
    pub what: NewChoice,
    /// When it was recorded.
    pub recorded_at: Timestamp,
    /// By whom.
    pub recorded_by: String,
}

/// Records what the student said.
///
/// # Errors
/// [`StoreError::Missing`] when the account never was a parent on this team.
pub async fn record(tx: &mut Tx, access: &Access<AccessLimits, Create>, new: &NewChoice) -> Result<ChoiceId> {
    if !super::limit::is_parent(tx, access, new.account).await? {
        return Err(StoreError::Missing);
    }
    let id = fresh(ChoiceId::of);
    let at = stamp(tx.now());
    query(
        "insert into age_choice (id, student_id, account_id, categories, how, words, decided_on, witness, recorded_at, recorded_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.account.to_string())
    .bind(json(&new.categories))
    .bind(new.how.code().to_owned())
    .bind(new.words.clone())
    .bind(new.decided_on.to_string())
    .bind(new.witness.clone())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Every choice of this student, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<AccessLimits, impl Reads>) -> Result<Vec<Choice>> {
    let rows = query(
        "select c.id, c.account_id, p.name as parent, c.categories, c.how, c.words, c.decided_on, c.witness, c.recorded_at, a.name as recorder
         from age_choice c join account p on p.id = c.account_id join account a on a.id = c.recorded_by
         where c.student_id = $1 order by c.recorded_at desc, c.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    rows.iter()
        .map(|row| {
            Ok(Choice {
                id: row.parsed("id")?,
                parent: row.text("parent")?,
                what: NewChoice {
                    account: row.parsed("account_id")?,
                    categories: row.json("categories")?,
                    how: row.parsed("how")?,
                    words: row.text("words")?,
                    decided_on: row.date("decided_on")?,
                    witness: row.text("witness")?,
                },
                recorded_at: row.instant("recorded_at")?,
                recorded_by: row.text("recorder")?,
            })
        })
        .collect()
}

/// What each parent may read by the student's newest choice, for the page that
/// says what everybody on the team can see. A parent without a choice is not in it.
///
/// # Errors
/// When the database fails.
pub async fn chosen(
    snapshot: &mut Snapshot,
    access: &Access<Team, impl Reads>,
) -> Result<BTreeMap<AccountId, Categories>> {
    let rows = query("select account_id, categories from age_choice where student_id = $1 order by recorded_at, id")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    let mut chosen = BTreeMap::new();
    for row in &rows {
        chosen.insert(row.parsed("account_id")?, row.json::<BTreeSet<Category>>("categories")?.into_iter().collect());
    }
    Ok(chosen)
}

/// The newest choice of each of these students about this parent, for the standing.
pub(super) async fn chosen_by_students(
    snapshot: &mut Snapshot,
    parent: &Actor,
    students: &[StudentId],
) -> Result<BTreeMap<StudentId, Categories>> {
    let rows = query(concat!(
        "select student_id, categories from age_choice where account_id = $2 and student_id in ",
        asked!(),
        " order by recorded_at, id"
    ))
    .bind(asked::ids(students.iter().copied()))
    .bind(parent.account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut chosen = BTreeMap::new();
    for row in &rows {
        chosen.insert(row.parsed("student_id")?, row.json::<BTreeSet<Category>>("categories")?.into_iter().collect());
    }
    Ok(chosen)
}
