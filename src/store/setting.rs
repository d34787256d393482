//! The installation's own settings, each with a default.

use std::collections::BTreeMap;

use sqlx::query;

use super::{Result, Snapshot, Tx};
use crate::access::Office;
use crate::access::action::Edit;
use crate::access::resource::Settings;
use crate::db::column::{Columns, stamp};

/// Years a record is kept after the student leaves, where the site says nothing
/// (common practice).
pub const RETENTION_YEARS: i64 = 5;

/// The site's settings as stored; unset ones have their default.
#[derive(Debug, Clone, Default)]
pub struct Site(BTreeMap<String, String>);

impl Site {
    /// The service that owns the record, for example a school district.
    pub fn owner(&self) -> &str {
        self.0.get("owner").map_or("this school service", String::as_str)
    }

    /// Whom to call for help with the program.
    pub fn help(&self) -> &str {
        self.0.get("help").map_or("your records officer", String::as_str)
    }

    /// The emergency number of the place.
    pub fn emergency_number(&self) -> &str {
        self.0.get("emergency_number").map_or("your emergency number", String::as_str)
    }

    /// Months between evaluations, 12 by default (common practice).
    pub fn evaluation_months(&self) -> i64 {
        self.0.get("evaluation_months").and_then(|text| text.parse().ok()).unwrap_or(12)
    }

    /// The age in years at which rights pass to the student, 18 by default (G10).
    pub fn transfer_age(&self) -> i16 {
        self.0.get("transfer_age").and_then(|text| text.parse().ok()).unwrap_or(18)
    }

    /// Years a record is kept after the student leaves, 5 by default (common
    /// practice). It is shown; nothing is deleted by itself.
    pub fn retention_years(&self) -> i64 {
        self.0.get("retention_years").and_then(|text| text.parse().ok()).unwrap_or(RETENTION_YEARS)
    }

    /// The units a new account starts with, metric by default.
    pub fn units(&self) -> &str {
        self.0.get("units").map_or("metric", String::as_str)
    }

    /// Whether the site holds a licence for SNOMED CT, so that its codes may be written.
    pub fn snomed(&self) -> bool {
        self.value("snomed") == Some("yes")
    }

    /// A setting as it is stored.
    pub fn value(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// Whether invented people are inside.
    pub fn demo(&self) -> bool {
        self.0.contains_key("demo")
    }
}

/// All settings. They are about the site, not about a student: no proof needed.
///
/// # Errors
/// When the database fails.
pub async fn site(snapshot: &mut Snapshot) -> Result<Site> {
    let rows = query("select name, value from setting").fetch_all(snapshot.connection()).await?;
    let mut site = BTreeMap::new();
    for row in &rows {
        site.insert(row.text("name")?, row.text("value")?);
    }
    Ok(Site(site))
}

/// The steward changes a setting.
///
/// # Errors
/// When the database fails.
pub async fn change(tx: &mut Tx, office: &Office<Settings, Edit>, name: &str, value: &str) -> Result<()> {
    let by = office.actor().account.to_string();
    put(tx, name, value, Some(by)).await
}

/// The steward goes back to the default of a setting.
///
/// # Errors
/// When the database fails.
pub async fn unset(tx: &mut Tx, _office: &Office<Settings, Edit>, name: &str) -> Result<()> {
    query("delete from setting where name = $1").bind(name.to_owned()).execute(tx.connection()).await?;
    Ok(())
}

/// The operator sets a value from the command line or the demo.
///
/// # Errors
/// When the database fails.
pub async fn put_by_operator(tx: &mut Tx, name: &str, value: &str) -> Result<()> {
    put(tx, name, value, None).await
}

async fn put(tx: &mut Tx, name: &str, value: &str, by: Option<String>) -> Result<()> {
    let at = stamp(tx.now());
    query(
        "insert into setting (name, value, changed_at, changed_by) values ($1, $2, $3, $4)
         on conflict (name) do update set value = excluded.value, changed_at = excluded.changed_at, changed_by = excluded.changed_by",
    )
    .bind(name.to_owned())
    .bind(value.to_owned())
    .bind(at)
    .bind(by)
    .execute(tx.connection())
    .await?;
    Ok(())
}
