//! Reading goals and marker contrasts: the site's settings, and the reserves
//! measured with one student.
//!
//! [`of`] is what every figure rests on; nothing else decides which reserve
//! counts. The merging is [`crate::care::goal`].

use sqlx::query;

use super::setting::{self, Site};
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Edit, Reads};
use crate::access::resource::VisualTasks;
use crate::care::goal::{InUse, Own};
use crate::care::task::{Goal, Marker};
use crate::care::typed::Typed;
use crate::db::column::{Columns, number, stamp};
use crate::vision::contrast::Weber;
use crate::vision::units::Ratio;

/// The name of the setting of a goal's acuity reserve.
pub fn acuity_setting(goal: Goal) -> String {
    format!("goal_{}_acuity", goal.code())
}

/// The name of the setting of a goal's contrast reserve.
pub fn contrast_setting(goal: Goal) -> String {
    format!("goal_{}_contrast", goal.code())
}

/// The name of the setting of a marker's contrast.
pub fn marker_setting(marker: Marker) -> String {
    format!("marker_{}", marker.code())
}

/// The reserves and contrasts of the site; what is not set is common practice.
pub fn of_site(site: &Site) -> InUse {
    let set = |name: String| site.value(&name).and_then(|text| text.parse::<f64>().ok());
    let mut found = InUse::default();
    for goal in Goal::ALL.iter().copied() {
        if let Some(reserve) = set(acuity_setting(goal)).and_then(|value| Ratio::new(value).ok()) {
            found = found.with_acuity(goal, reserve);
        }
        if let Some(reserve) = set(contrast_setting(goal)).and_then(|value| Ratio::new(value).ok()) {
            found = found.with_contrast(goal, reserve);
        }
    }
    for marker in Marker::ALL.iter().copied() {
        if let Some(contrast) = set(marker_setting(marker)).and_then(|value| Weber::new(value).ok()) {
            found = found.with_marker(marker, contrast);
        }
    }
    found
}

/// The reserves and contrasts that count for this student.
///
/// # Errors
/// When the database fails.
pub async fn of(snapshot: &mut Snapshot, access: &Access<VisualTasks, impl Reads>) -> Result<InUse> {
    let site = of_site(&setting::site(snapshot).await?);
    let own = of_student(snapshot, access).await?;
    Ok(own.own.iter().fold(site, InUse::with_own))
}

/// What was set for one student.
#[derive(Clone, Default)]
pub struct Set {
    /// The reserves in force.
    pub own: Vec<Own>,
    versions: Vec<(Goal, i64)>,
}

impl Set {
    /// The reserve for a goal.
    #[must_use]
    pub fn of(&self, goal: Goal) -> Option<&Own> {
        self.own.iter().find(|own| own.goal == goal)
    }

    /// How often anything of it was changed; 0, nothing was ever set.
    #[must_use]
    pub fn version(&self) -> i64 {
        self.versions.iter().map(|(_, version)| version).sum()
    }

    fn version_of(&self, goal: Goal) -> i64 {
        self.versions.iter().find(|(of, _)| *of == goal).map_or(0, |(_, version)| *version)
    }
}

/// The reserves set for this student.
///
/// # Errors
/// When the database fails.
pub async fn of_student(snapshot: &mut Snapshot, access: &Access<VisualTasks, impl Reads>) -> Result<Set> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select g.goal, g.reserve, g.typed, g.source, g.set_at, g.version, a.name as by_name
         from reading_goal g join account a on a.id = g.set_by
         where g.student_id = $1 and ($2 = 0 or g.set_by = $3) order by g.goal",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut set = Set::default();
    for row in &rows {
        let goal: Goal = row.parsed("goal")?;
        set.versions.push((goal, row.whole("version")?));
        let Some(reserve) = row.opt_unit("reserve", Ratio::new)? else { continue };
        set.own.push(Own {
            goal,
            reserve: Typed::new(row.text("typed")?, reserve),
            source: row.text("source")?,
            by: row.text("by_name")?,
            on: snapshot.date_of(row.instant("set_at")?),
        });
    }
    Ok(set)
}

/// One reserve as a form gives it; none, the site's counts again.
pub struct Wanted {
    /// For what.
    pub goal: Goal,
    /// The reserve as typed, with where it is from.
    pub reserve: Option<(Typed<Ratio>, String)>,
}

/// Sets the reserves of this student, each under the name of whoever changed it,
/// and gives what stood there before.
///
/// # Errors
/// [`StoreError::Missing`] for somebody who may change their own entries only,
/// [`StoreError::Stale`] when somebody saved meanwhile.
pub async fn set(tx: &mut Tx, access: &Access<VisualTasks, Edit>, wanted: &[Wanted], version: i64) -> Result<Set> {
    if access.limits().own_only {
        return Err(StoreError::Missing);
    }
    let before = of_student(tx, access).await?;
    if before.version() != version {
        return Err(StoreError::Stale);
    }
    for one in wanted {
        let known = before.of(one.goal).map(|own| (own.reserve.typed.as_str(), own.source.as_str()));
        let new = one.reserve.as_ref().map(|(reserve, source)| (reserve.typed.as_str(), source.as_str()));
        if known != new {
            put(tx, access, one, before.version_of(one.goal)).await?;
        }
    }
    Ok(before)
}

async fn put(tx: &mut Tx, access: &Access<VisualTasks, Edit>, one: &Wanted, known: i64) -> Result<()> {
    let at = stamp(tx.now());
    let (typed, source) =
        one.reserve.as_ref().map_or_else(Default::default, |(reserve, source)| (reserve.typed.clone(), source.clone()));
    let done = query(
        "insert into reading_goal (student_id, goal, reserve, typed, source, set_at, set_by) values ($1, $2, $3, $4, $5, $6, $7)
         on conflict (student_id, goal) do update set reserve = excluded.reserve, typed = excluded.typed, source = excluded.source,
         set_at = excluded.set_at, set_by = excluded.set_by, version = reading_goal.version + 1
         where reading_goal.version = $8",
    )
    .bind(access.student().to_string())
    .bind(one.goal.code().to_owned())
    .bind(number(one.reserve.as_ref().map(|(reserve, _)| reserve.value.get())))
    .bind(typed)
    .bind(source)
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(known)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
