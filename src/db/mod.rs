//! Two drivers behind one door: an embedded SQLite file or a PostgreSQL server.
//!
//! Knows pools, transactions, migrations and the few settings on which the two
//! engines differ. Knows no table: all SQL is in [`crate::store`]. The dialect
//! both engines accept is described in DEVELOPERS.md, "One SQL text".

pub mod column;
pub mod table;

use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;

use sqlx::any::AnyPoolOptions;
use sqlx::{Any, AnyPool, Executor, Transaction};

/// Which engine answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    /// A file beside the server.
    Sqlite,
    /// A server of its own.
    Postgres,
}

/// Why the database cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum DbError {
    /// The URL names no engine we know.
    #[error("the database address must start with sqlite: or postgres:")]
    UnknownEngine,
    /// The engine refused.
    #[error("the database did not answer: {0}")]
    Engine(#[from] sqlx::Error),
    /// A migration failed, or the database is newer than this program.
    #[error("the database could not be brought up to date: {0}")]
    Migration(#[from] sqlx::migrate::MigrateError),
}

/// How many connections are open at most.
///
/// A request holds one view at a time and begins none while it writes. So those
/// who wait to write, each with a view in hand, never keep the one who writes
/// from ending, however few connections there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Connections {
    /// For views.
    pub reading: u32,
    /// For transactions; a SQLite file has one writer whatever is said here.
    pub writing: u32,
}

impl Connections {
    /// For a service of many people.
    pub const USUAL: Self = Self { reading: 4, writing: 4 };
    /// The fewest with which everything works.
    pub const FEWEST: Self = Self { reading: 1, writing: 1 };
}

/// The open database.
#[derive(Clone)]
pub struct Db {
    read: AnyPool,
    write: AnyPool,
    engine: Engine,
    file: Option<PathBuf>,
}

impl Db {
    /// Opens the database a URL names: `sqlite:FILE` or `postgres://…`.
    ///
    /// # Errors
    /// [`DbError`] when the URL names another engine or nothing answers there.
    pub async fn open(url: &str) -> Result<Self, DbError> {
        Self::open_within(url, Connections::USUAL).await
    }

    /// The same with so many connections at most.
    ///
    /// # Errors
    /// As [`Db::open`].
    pub async fn open_within(url: &str, connections: Connections) -> Result<Self, DbError> {
        sqlx::any::install_default_drivers();
        if let Some(file) = url.strip_prefix("sqlite:") {
            let file = file.trim_start_matches("//");
            let path = PathBuf::from(file);
            let url = format!("sqlite://{file}?mode=rwc");
            // One writer that queues fairly, so no transaction fails for having
            // read before it wrote; readers never wait for it.
            let write = Self::pool(&url, 1, true).await?;
            let read = Self::pool(&url, connections.reading, true).await?;
            Ok(Self { read, write, engine: Engine::Sqlite, file: Some(path) })
        } else if url.starts_with("postgres:") || url.starts_with("postgresql:") {
            let write = Self::pool(url, connections.writing, false).await?;
            let read = Self::pool(url, connections.reading, false).await?;
            Ok(Self { read, write, engine: Engine::Postgres, file: None })
        } else {
            Err(DbError::UnknownEngine)
        }
    }

    /// Opens the embedded database in a data directory.
    ///
    /// # Errors
    /// As [`Db::open`].
    pub async fn embedded(directory: &Path) -> Result<Self, DbError> {
        Self::open(&format!("sqlite:{}", directory.join("farpoint.db").display())).await
    }

    async fn pool(url: &str, size: u32, sqlite: bool) -> Result<AnyPool, DbError> {
        let pool = AnyPoolOptions::new()
            .max_connections(size)
            .acquire_timeout(Duration::from_secs(10))
            .after_connect(move |connection, _| {
                Box::pin(async move {
                    if sqlite {
                        // FULL: an acknowledged write survives a power cut.
                        connection
                            .execute(
                                "pragma busy_timeout = 5000; pragma journal_mode = wal; \
                                 pragma synchronous = full; pragma foreign_keys = on; \
                                 pragma temp_store = memory; pragma cache_size = -4000;",
                            )
                            .await?;
                    }
                    Ok(())
                })
            })
            .connect(url)
            .await?;
        Ok(pool)
    }

    /// Brings the tables up to date; two servers may do so at once.
    ///
    /// # Errors
    /// [`DbError::Migration`] when a step fails or the database is newer.
    pub async fn migrate(&self) -> Result<(), DbError> {
        // PostgreSQL's driver takes a lock of its own; a SQLite file needs one beside it.
        let lock = match &self.file {
            Some(file) => Some(locked(file.with_extension("lock")).await.map_err(sqlx::Error::Io)?),
            None => None,
        };
        let done = sqlx::migrate!("./migrations").run(&self.write).await;
        drop(lock);
        Ok(done?)
    }

    /// One consistent view for reading.
    ///
    /// # Errors
    /// When the engine refuses.
    pub async fn begin_read(&self) -> Result<Transaction<'static, Any>, sqlx::Error> {
        match self.engine {
            Engine::Sqlite => self.read.begin().await,
            Engine::Postgres => self.read.begin_with("begin isolation level repeatable read read only").await,
        }
    }

    /// A transaction that may write from its first statement.
    ///
    /// # Errors
    /// When the engine refuses.
    pub async fn begin_write(&self) -> Result<Transaction<'static, Any>, sqlx::Error> {
        match self.engine {
            Engine::Sqlite => self.write.begin_with("begin immediate").await,
            Engine::Postgres => self.write.begin().await,
        }
    }

    /// Which engine answers.
    pub fn engine(&self) -> Engine {
        self.engine
    }

    /// Lets go of all connections; on SQLite this folds the log into the file.
    pub async fn close(&self) {
        self.read.close().await;
        self.write.close().await;
    }
}

/// Waits for the lock file; it is given back when the handle is dropped.
async fn locked(path: PathBuf) -> std::io::Result<File> {
    let wait = move || {
        let file = File::create(path)?;
        file.lock()?;
        Ok(file)
    };
    tokio::task::spawn_blocking(wait).await.map_err(std::io::Error::other)?
}
