//! Where the databases of tests lie: copies of one that was migrated once.

use std::path::PathBuf;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

use farpoint::db::Db;
use sqlx::postgres::PgConnectOptions;
use sqlx::{ConnectOptions, Executor};
use tempfile::TempDir;

use super::built;

/// A database of its own; it goes with its last user.
pub(crate) enum Place {
    File(TempDir),
    Server { server: String, name: String },
}

impl Place {
    /// A copy of the migrated, empty database.
    pub(super) fn fresh() -> Self {
        static EMPTY: OnceLock<Place> = OnceLock::new();
        EMPTY.get_or_init(Self::migrated).copy()
    }

    /// A copy of this database, which nobody may be using.
    pub(super) fn copy(&self) -> Self {
        match self {
            Self::File(_) => {
                let folder = TempDir::new().expect("a scratch folder");
                std::fs::copy(self.file(), folder.path().join("farpoint.db")).expect("room for a database");
                Self::File(folder)
            }
            Self::Server { server, name } => {
                let copy = fresh_name();
                on_server(server, format!("create database {copy} template {name}"));
                Self::Server { server: server.clone(), name: copy }
            }
        }
    }

    /// A database without tables.
    pub(super) fn empty() -> Self {
        match std::env::var("TEST_DATABASE_URL") {
            Ok(server) if !server.is_empty() => {
                let name = fresh_name();
                on_server(&server, format!("create database {name}"));
                Self::Server { server, name }
            }
            _ => Self::File(TempDir::new().expect("a scratch folder")),
        }
    }

    fn migrated() -> Self {
        let place = Self::empty();
        let url = place.url();
        aside(async move {
            let db = Db::open(&url).await.expect("the database that TEST_DATABASE_URL names, or a new file");
            db.migrate().await.expect("the migrations run");
            db.close().await;
        });
        place
    }

    pub(crate) fn url(&self) -> String {
        match self {
            Self::File(_) => format!("sqlite:{}", self.file().display()),
            Self::Server { server, name } => database_on(server, name),
        }
    }

    fn file(&self) -> PathBuf {
        match self {
            Self::File(folder) => folder.path().join("farpoint.db"),
            Self::Server { name, .. } => panic!("{name} is no file"),
        }
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        if let Self::Server { server, name } = self {
            on_server(server, format!("drop database if exists {name} with (force)"));
        }
    }
}

fn fresh_name() -> String {
    static COUNT: AtomicUsize = AtomicUsize::new(0);
    format!("farpoint_test_{}_{}", std::process::id(), COUNT.fetch_add(1, Ordering::SeqCst))
}

/// The address of another database on the same server.
fn database_on(server: &str, name: &str) -> String {
    let (address, query) = server.split_once('?').map_or((server, None), |(address, query)| (address, Some(query)));
    let (host, _) = address.rsplit_once('/').expect("postgres://host:port/database");
    query.map_or_else(|| format!("{host}/{name}"), |query| format!("{host}/{name}?{query}"))
}

fn on_server(server: &str, statement: String) {
    let options: PgConnectOptions = server.parse().expect("TEST_DATABASE_URL is postgres://…");
    aside(async move {
        let mut connection = options.connect().await.expect("TEST_DATABASE_URL names a server that answers");
        connection.execute(built(statement)).await.expect("a role that may make databases");
    });
}

/// Runs to the end on a thread and a runtime of its own, so that what one test
/// sets up for all does not live in that test's runtime.
fn aside(work: impl Future<Output = ()> + Send + 'static) {
    let thread = std::thread::spawn(|| {
        tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime").block_on(work);
    });
    if let Err(panic) = thread.join() {
        std::panic::resume_unwind(panic);
    }
}
