//! A whole installation, table by table, for the operator who moves it.
//!
//! No proof is asked for: whoever has the disk has all of it anyway, and the
//! commands that come here are the operator's, logged as such. Each table is
//! lines of JSON: the names of its columns, then its rows. Does not know how the
//! tables are packed, nor what any of them means.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value as Json;
use sha2::{Digest, Sha256};
use sqlx::query;

use super::{Result, Snapshot, Store, StoreError, Tx};
use crate::care::ids::AttachmentId;
use crate::db::Engine;
use crate::db::column::Columns;
use crate::db::table::{self, Kind, Table, Value};

/// Tables that stay where they are, and why.
pub const LEFT_OUT: [(&str, &str); 2] =
    [("session", "sign-ins: everybody signs in again"), ("submission", "keys of forms that were sent a moment ago")];

/// A table as lines.
pub struct Dumped {
    /// Its name.
    pub name: String,
    /// The columns, then a row a line.
    pub lines: Vec<u8>,
    /// How many rows.
    pub rows: usize,
}

/// An attached file.
pub struct Attached {
    /// Its id.
    pub id: AttachmentId,
    sha256: String,
}

impl Attached {
    /// Its content, if it is still what was stored.
    ///
    /// # Errors
    /// [`StoreError::File`].
    pub async fn content(&self, store: &Store) -> Result<Vec<u8>> {
        store.files().read(self.id, self.sha256.clone()).await
    }
}

/// Why an installation cannot be filled.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// Somebody works here already.
    #[error("this installation is not empty: its table {0} has rows. Import into one that was only just made.")]
    NotEmpty(String),
    /// A table that this program does not know.
    #[error("the archive holds a table {0} that this program does not know")]
    UnknownTable(String),
    /// A table that should be there.
    #[error("the archive holds no table {0}")]
    NoTable(String),
    /// Columns that are not ours.
    #[error("the columns of table {0} are not those of this program")]
    Columns(String),
    /// A line that is no row.
    #[error("line {1} of table {0} is no row")]
    Line(String, usize),
    /// A row that points at one that is not there.
    #[error("a row of table {0} points at a row that is not in the archive")]
    Dangling(String),
    /// A file without a row, or a row without its file.
    #[error("the attached file {0} and its row do not fit together")]
    File(String),
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl From<sqlx::Error> for LoadError {
    fn from(error: sqlx::Error) -> Self {
        Self::Store(error.into())
    }
}

/// The newest change of the tables.
///
/// # Errors
/// When the database fails.
pub async fn version(snapshot: &mut Snapshot) -> Result<i64> {
    Ok(table::version(snapshot.connection()).await?)
}

async fn travelling(snapshot: &mut Snapshot, engine: Engine) -> std::result::Result<Vec<Table>, sqlx::Error> {
    let mut tables = table::all(snapshot.connection(), engine).await?;
    tables.retain(|table| LEFT_OUT.iter().all(|(name, _)| table.name != *name));
    Ok(tables)
}

/// Every table that travels, in the order in which they can be filled.
///
/// # Errors
/// When the database fails.
pub async fn dump(snapshot: &mut Snapshot, engine: Engine) -> Result<Vec<Dumped>> {
    let mut dumped = Vec::new();
    for table in travelling(snapshot, engine).await? {
        let rows = table::rows(snapshot.connection(), &table).await?;
        let head: Vec<&str> = table.columns.iter().map(|(name, _)| name.as_str()).collect();
        let mut lines = Json::from(head).to_string().into_bytes();
        lines.push(b'\n');
        for row in &rows {
            let row: Vec<Json> = row.iter().map(json).collect();
            lines.extend(Json::from(row).to_string().into_bytes());
            lines.push(b'\n');
        }
        dumped.push(Dumped { name: table.name, lines, rows: rows.len() });
    }
    Ok(dumped)
}

/// Every attached file.
///
/// # Errors
/// When the database fails.
pub async fn attached(snapshot: &mut Snapshot) -> Result<Vec<Attached>> {
    let rows = query("select id, sha256 from attachment order by id").fetch_all(snapshot.connection()).await?;
    rows.iter().map(|row| Ok(Attached { id: row.parsed("id")?, sha256: row.text("sha256")? })).collect()
}

/// Fills an empty installation: every table from its lines, every attached file.
/// Nothing of it is kept unless the transaction is.
///
/// # Errors
/// [`LoadError`]; then the transaction must be dropped.
pub async fn load(
    tx: &mut Tx,
    store: &Store,
    mut tables: BTreeMap<String, Vec<u8>>,
    mut files: BTreeMap<String, Vec<u8>>,
) -> std::result::Result<(), LoadError> {
    let engine = store.db().engine();
    for known in table::all(tx.connection(), engine).await? {
        // The end of the log stands in every installation, at the beginning.
        if known.name != "audit_head" && table::count(tx.connection(), &known).await? > 0 {
            return Err(LoadError::NotEmpty(known.name));
        }
    }
    let known = travelling(tx, engine).await?;
    let names: BTreeSet<&str> = known.iter().map(|table| table.name.as_str()).collect();
    if let Some(stranger) = tables.keys().find(|name| !names.contains(name.as_str())) {
        return Err(LoadError::UnknownTable(stranger.clone()));
    }
    for table in known.iter().rev() {
        table::clear(tx.connection(), table).await?;
    }
    for table in &known {
        let lines = tables.remove(&table.name).ok_or_else(|| LoadError::NoTable(table.name.clone()))?;
        fill(tx, table, read(table, &lines)?).await?;
    }
    for one in attached(tx).await? {
        let id = one.id.to_string();
        let content = files.remove(&id).ok_or_else(|| LoadError::File(id.clone()))?;
        if hex::encode(Sha256::digest(&content)) != one.sha256 {
            return Err(LoadError::File(id));
        }
        let file = store.files().put(one.id, content).await?;
        tx.ties(file);
    }
    match files.into_keys().next() {
        Some(stranger) => Err(LoadError::File(stranger)),
        None => Ok(()),
    }
}

/// Rows that point at rows of their own table come after them.
async fn fill(tx: &mut Tx, table: &Table, rows: Vec<Vec<Value>>) -> std::result::Result<(), LoadError> {
    let pointers: Vec<usize> = table
        .columns
        .iter()
        .enumerate()
        .filter(|(_, (name, _))| table.at_itself.contains(name))
        .map(|(place, _)| place)
        .collect();
    let mut there: BTreeSet<String> = BTreeSet::new();
    let mut left = rows;
    while !left.is_empty() {
        let before = left.len();
        let mut waiting = Vec::new();
        for row in left {
            let ready = pointers.iter().all(|place| match &row[*place] {
                Value::Text(target) => there.contains(target),
                _ => true,
            });
            if !ready {
                waiting.push(row);
                continue;
            }
            table::insert(tx.connection(), table, &row).await?;
            if let (false, Some(Value::Text(id))) = (pointers.is_empty(), row.first()) {
                there.insert(id.clone());
            }
        }
        if waiting.len() == before {
            return Err(LoadError::Dangling(table.name.clone()));
        }
        left = waiting;
    }
    Ok(())
}

fn json(value: &Value) -> Json {
    match value {
        Value::Null => Json::Null,
        Value::Text(text) => Json::from(text.as_str()),
        Value::Whole(whole) => Json::from(*whole),
        Value::Number(number) => Json::from(*number),
    }
}

fn read(table: &Table, lines: &[u8]) -> std::result::Result<Vec<Vec<Value>>, LoadError> {
    let wrong = |number: usize| LoadError::Line(table.name.clone(), number + 1);
    let mut lines = lines.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()).enumerate();
    let (_, head) = lines.next().ok_or_else(|| wrong(0))?;
    let head: Vec<String> = serde_json::from_slice(head).map_err(|_| wrong(0))?;
    if head.iter().ne(table.columns.iter().map(|(name, _)| name)) {
        return Err(LoadError::Columns(table.name.clone()));
    }
    let mut rows = Vec::new();
    for (number, line) in lines {
        let cells: Vec<Json> = serde_json::from_slice(line).map_err(|_| wrong(number))?;
        if cells.len() != table.columns.len() {
            return Err(wrong(number));
        }
        let row: Option<Vec<Value>> =
            cells.iter().zip(&table.columns).map(|(cell, (_, kind))| cell_of(cell, *kind)).collect();
        rows.push(row.ok_or_else(|| wrong(number))?);
    }
    Ok(rows)
}

fn cell_of(cell: &Json, kind: Kind) -> Option<Value> {
    match (cell, kind) {
        (Json::Null, _) => Some(Value::Null),
        (Json::String(text), Kind::Text) => Some(Value::Text(text.clone())),
        (Json::Number(_), Kind::Whole) => cell.as_i64().map(Value::Whole),
        (Json::Number(_), Kind::Number) => cell.as_f64().map(Value::Number),
        _ => None,
    }
}
