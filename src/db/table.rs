//! Whole tables, as a copy of an installation needs them: which there are, in
//! which order they may be filled, and every row of each.
//!
//! Asks the engine's own catalogue, so that a table nobody thought of is not
//! forgotten. Knows no table by name but the one that counts migrations.

#![expect(
    clippy::disallowed_types,
    reason = "a name of the engine's catalogue cannot be bound; each is held to be plain first"
)]

use std::collections::BTreeSet;

use sqlx::any::AnyRow;
use sqlx::{AnyConnection, AssertSqlSafe, Error, Row, query};

use super::Engine;
use super::column::number;

/// What a column holds; there are no others (see DEVELOPERS.md, "One SQL text").
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// `text`.
    Text,
    /// `bigint`.
    Whole,
    /// `double precision`.
    Number,
}

/// One value of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing.
    Null,
    /// Text.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number.
    Number(f64),
}

/// A table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its columns, in the order they were made.
    pub columns: Vec<(String, Kind)>,
    /// The other tables that its rows point at.
    pub points_at: BTreeSet<String>,
    /// Its columns that point at rows of its own.
    pub at_itself: Vec<String>,
}

/// A name of the catalogue as it may stand in a statement.
fn plain(name: &str) -> Result<&str, Error> {
    let sound =
        !name.is_empty() && name.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'_');
    if sound { Ok(name) } else { Err(Error::Protocol("a table or column with an unusual name".to_owned())) }
}

/// Every table, each after those that its rows point at.
///
/// # Errors
/// When the engine fails, or holds a table that this program cannot copy.
pub async fn all(connection: &mut AnyConnection, engine: Engine) -> Result<Vec<Table>, Error> {
    let names = match engine {
        Engine::Sqlite => {
            "select cast(name as text) as name from sqlite_master
             where type = 'table' and name not like 'sqlite_%' and name <> '_sqlx_migrations' order by name"
        }
        Engine::Postgres => {
            "select cast(table_name as text) as name from information_schema.tables
             where table_schema = current_schema() and table_type = 'BASE TABLE' and table_name <> '_sqlx_migrations'
             order by table_name"
        }
    };
    let mut found = Vec::new();
    for row in query(names).fetch_all(&mut *connection).await? {
        found.push(one(&mut *connection, engine, row.try_get("name")?).await?);
    }
    in_order(found)
}

async fn one(connection: &mut AnyConnection, engine: Engine, name: String) -> Result<Table, Error> {
    let (columns, pointers) = match engine {
        Engine::Sqlite => (
            "select cast(name as text) as name, lower(cast(type as text)) as kind from pragma_table_info($1) order by cid",
            "select cast(\"table\" as text) as target, cast(\"from\" as text) as source from pragma_foreign_key_list($1)",
        ),
        Engine::Postgres => (
            "select cast(column_name as text) as name, cast(data_type as text) as kind from information_schema.columns
             where table_schema = current_schema() and table_name = $1 order by ordinal_position",
            "select cast(t.relname as text) as target, cast(a.attname as text) as source from pg_constraint c
             join pg_class t on t.oid = c.confrelid
             join pg_class f on f.oid = c.conrelid and f.relnamespace = cast(current_schema() as regnamespace)
             join pg_attribute a on a.attrelid = c.conrelid and a.attnum = c.conkey[1]
             where c.contype = 'f' and f.relname = $1",
        ),
    };
    let mut table = Table {
        columns: Vec::new(),
        points_at: BTreeSet::new(),
        at_itself: Vec::new(),
        name: plain(&name)?.to_owned(),
    };
    for row in query(columns).bind(name.clone()).fetch_all(&mut *connection).await? {
        let kind = match row.try_get::<String, _>("kind")?.as_str() {
            "text" => Kind::Text,
            "bigint" => Kind::Whole,
            "double precision" => Kind::Number,
            _ => return Err(Error::Protocol(format!("table {name} has a column of a kind that is not copied"))),
        };
        table.columns.push((plain(&row.try_get::<String, _>("name")?)?.to_owned(), kind));
    }
    for row in query(pointers).bind(name.clone()).fetch_all(&mut *connection).await? {
        let target: String = row.try_get("target")?;
        if target == name {
            table.at_itself.push(row.try_get("source")?);
        } else {
            table.points_at.insert(target);
        }
    }
    Ok(table)
}

/// Each table after those it points at.
fn in_order(mut left: Vec<Table>) -> Result<Vec<Table>, Error> {
    let mut ordered: Vec<Table> = Vec::new();
    while !left.is_empty() {
        let done: BTreeSet<String> = ordered.iter().map(|table| table.name.clone()).collect();
        let (ready, waiting): (Vec<_>, Vec<_>) = left.into_iter().partition(|table| table.points_at.is_subset(&done));
        if ready.is_empty() {
            return Err(Error::Protocol("tables that point at each other in a ring".to_owned()));
        }
        ordered.extend(ready);
        left = waiting;
    }
    Ok(ordered)
}

fn value(row: &AnyRow, place: usize, kind: Kind) -> Result<Value, Error> {
    Ok(match kind {
        Kind::Text => row.try_get::<Option<String>, _>(place)?.map_or(Value::Null, Value::Text),
        Kind::Whole => row.try_get::<Option<i64>, _>(place)?.map_or(Value::Null, Value::Whole),
        Kind::Number => row.try_get::<Option<f64>, _>(place)?.map_or(Value::Null, Value::Number),
    })
}

fn listed(table: &Table) -> String {
    table.columns.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", ")
}

/// Every row of a table, in an order that does not change.
///
/// # Errors
/// When the engine fails.
pub async fn rows(connection: &mut AnyConnection, table: &Table) -> Result<Vec<Vec<Value>>, Error> {
    let order: Vec<String> = (1..=table.columns.len()).map(|place| place.to_string()).collect();
    let sql = format!("select {} from {} order by {}", listed(table), table.name, order.join(", "));
    let found = query(AssertSqlSafe(sql)).fetch_all(connection).await?;
    let of =
        |row: &AnyRow| table.columns.iter().enumerate().map(|(place, (_, kind))| value(row, place, *kind)).collect();
    found.iter().map(of).collect()
}

/// How many rows a table has.
///
/// # Errors
/// When the engine fails.
pub async fn count(connection: &mut AnyConnection, table: &Table) -> Result<i64, Error> {
    let sql = format!("select count(*) as n from {}", table.name);
    query(AssertSqlSafe(sql)).fetch_one(connection).await?.try_get("n")
}

/// Takes every row out of a table.
///
/// # Errors
/// When the engine fails.
pub async fn clear(connection: &mut AnyConnection, table: &Table) -> Result<(), Error> {
    query(AssertSqlSafe(format!("delete from {}", table.name))).execute(connection).await?;
    Ok(())
}

/// Puts a row into a table; its values stand in the order of the columns.
///
/// # Errors
/// When the engine refuses it.
pub async fn insert(connection: &mut AnyConnection, table: &Table, row: &[Value]) -> Result<(), Error> {
    let places: Vec<String> = (1..=table.columns.len()).map(|place| format!("${place}")).collect();
    let sql = format!("insert into {} ({}) values ({})", table.name, listed(table), places.join(", "));
    let mut statement = query(AssertSqlSafe(sql));
    for ((_, kind), value) in table.columns.iter().zip(row) {
        statement = match (kind, value) {
            (Kind::Text, Value::Text(text)) => statement.bind(Some(text.clone())),
            (Kind::Text, _) => statement.bind(None::<String>),
            (Kind::Whole, Value::Whole(whole)) => statement.bind(Some(*whole)),
            (Kind::Whole, _) => statement.bind(None::<i64>),
            (Kind::Number, Value::Number(value)) => statement.bind(number(Some(*value))),
            (Kind::Number, _) => statement.bind(number(None)),
        };
    }
    statement.execute(connection).await?;
    Ok(())
}

/// The newest change of the tables.
///
/// # Errors
/// When the engine fails.
pub async fn version(connection: &mut AnyConnection) -> Result<i64, Error> {
    let row =
        query("select cast(max(version) as bigint) as version from _sqlx_migrations").fetch_one(connection).await?;
    row.try_get("version")
}
