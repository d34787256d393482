//! The real service over a fresh, migrated database, without a socket.
//!
//! `TEST_DATABASE_URL` chooses the engine: unset, a SQLite file of its own for
//! every world; `postgres://…`, a database of its own on that server. Either is
//! copied from one that was migrated once. The clock stands still until a test
//! moves it. Whatever is *set up* here may use the store; whatever is *tested*
//! goes through pages, by the people of `people.rs`.

mod place;
mod team;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, OnceLock};

use axum::Router;
use farpoint::care::ids::StudentId;
use farpoint::clock::Clock;
use farpoint::db::{Connections, Db};
use farpoint::password::{Cost, Passwords};
use farpoint::store::{Files, Store};
use farpoint::web::state::App;
use jiff::civil::{Date, time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ToSpan};
pub(crate) use place::Place;
use sqlx::{Executor, Row};
use tempfile::TempDir;

use super::people::Person;

/// A Wednesday in a school term.
pub(crate) const WEDNESDAY: &str = "2026-09-16";

/// Sign-in attempts one network address may make at once, in every world.
pub(crate) const SIGN_IN_BURST: u32 = 20;

/// The address people type.
pub(crate) const ADDRESS: &str = "http://farpoint.test";

/// Who sends letters. They leave only where a test delivers them.
pub(crate) const LETTERS_FROM: &str = "farpoint@schools.example";

/// Where the schools are.
const ZONE: &str = "America/Denver";

/// A state to go on from.
pub(crate) struct Frozen {
    place: Place,
    attachments: TempDir,
    now: Timestamp,
}

impl Frozen {
    /// A world that goes on from here; another one from the same state knows
    /// nothing of it. People go over with [`Person::through`].
    pub(crate) async fn thawed(&self) -> World {
        let attachments = scratch();
        for file in std::fs::read_dir(self.attachments.path()).expect("the folder of attachments") {
            let file = file.expect("a file");
            std::fs::copy(file.path(), attachments.path().join(file.file_name())).expect("room for a file");
        }
        World::over(self.place.copy(), attachments, self.now).await
    }
}

/// A running service and its database.
pub(crate) struct World {
    app: App,
    router: Router,
    signed_in: Mutex<Vec<Person>>,
    counter: AtomicUsize,
    // Dropped last: the database goes when nobody uses it any more.
    place: Place,
    attachments: TempDir,
}

/// A student whose record was opened.
#[derive(Clone)]
pub(crate) struct Pupil {
    pub(crate) id: StudentId,
    pub(crate) name: String,
}

impl Pupil {
    /// An address below this student.
    pub(crate) fn at(&self, path: &str) -> String {
        format!("/students/{}{path}", self.id)
    }
}

impl World {
    /// A Wednesday, ten in the morning.
    pub(crate) async fn new() -> Self {
        Self::on(WEDNESDAY).await
    }

    /// Ten in the morning of a day, where the schools are.
    pub(crate) async fn on(day: &str) -> Self {
        let zone = TimeZone::get(ZONE).expect("a zone of the tz database");
        let day: Date = day.parse().expect("a date");
        let now = zone.to_timestamp(day.to_datetime(time(10, 0, 0, 0))).expect("ten in the morning");
        Self::over(Place::fresh(), scratch(), now).await
    }

    /// For several people at the same moment: as many connections as a service has.
    pub(crate) async fn crowded() -> Self {
        let Self { place, attachments, app, .. } = Self::new().await;
        app.store.db().close().await;
        Self::within(Connections::USUAL, place, attachments, app.store.clock().now()).await
    }

    /// With so few connections a request that holds two of a kind is found out.
    async fn over(place: Place, attachments: TempDir, now: Timestamp) -> Self {
        Self::within(Connections::FEWEST, place, attachments, now).await
    }

    async fn within(connections: Connections, place: Place, attachments: TempDir, now: Timestamp) -> Self {
        let zone = TimeZone::get(ZONE).expect("a zone of the tz database");
        let db = Db::open_within(&place.url(), connections).await.expect("a fresh database opens");
        let files = Files::at(attachments.path()).expect("a folder");
        let app = App {
            store: Store::over(db, Clock::fixed(zone, now), files),
            passwords: passwords(),
            address: ADDRESS.into(),
            secure: false,
            sign_in_burst: SIGN_IN_BURST,
            letters_from: Some(LETTERS_FROM.into()),
        };
        let router = farpoint::web::app(app.clone());
        Self { app, router, signed_in: Mutex::default(), counter: AtomicUsize::new(0), place, attachments }
    }

    /// Ends this world and keeps its state, to go on from there several times.
    pub(crate) async fn frozen(self) -> Frozen {
        let now = self.store().clock().now();
        self.store().db().close().await;
        Frozen { place: self.place, attachments: self.attachments, now }
    }

    /// A database that nobody migrated yet.
    pub(crate) fn empty_place() -> Place {
        Place::empty()
    }

    /// The same database under a service with other settings.
    pub(crate) fn router_with(&self, change: impl FnOnce(&mut App)) -> Router {
        let mut app = self.app.clone();
        change(&mut app);
        farpoint::web::app(app)
    }

    pub(crate) fn app(&self) -> &App {
        &self.app
    }

    pub(crate) fn store(&self) -> &Store {
        &self.app.store
    }

    pub(crate) fn router(&self) -> Router {
        self.router.clone()
    }

    pub(crate) fn today(&self) -> Date {
        self.store().clock().today()
    }

    /// The day so many days from today, as a form takes it.
    pub(crate) fn day(&self, from_today: i64) -> String {
        self.today().checked_add(from_today.days()).expect("a day near today").to_string()
    }

    /// How many people and things were made so far, to tell them apart.
    pub(crate) fn next(&self) -> usize {
        self.counter.fetch_add(1, Ordering::SeqCst)
    }

    /// Time passes; whoever sits idle too long is signed out by it.
    pub(crate) fn passes(&self, time: SignedDuration) {
        self.store().clock().advance(time);
    }

    /// Days pass, and everybody signs in again on the new morning.
    pub(crate) async fn days_later(&self, days: i64) {
        self.passes(SignedDuration::from_hours(24 * days));
        let everybody = self.signed_in.lock().expect("no test thread panicked").clone();
        for person in everybody {
            person.signs_in().await;
        }
    }

    /// Keeps a person in mind for the next morning.
    pub(crate) fn knows(&self, person: &Person) {
        self.signed_in.lock().expect("no test thread panicked").push(person.clone());
    }

    /// The newest row of a table that belongs to a student, `table:column:value`
    /// for one of a kind; of a table that belongs to none, the oldest, which is
    /// nobody's own by chance.
    pub(crate) async fn newest(&self, what: &str, pupil: &Pupil) -> Option<String> {
        let mut parts = what.splitn(3, ':');
        let table = parts.next().unwrap_or(what);
        let kind = parts.next().zip(parts.next()).map(|(column, value)| format!("and {column} = '{value}'"));
        let which = match table {
            "account" | "device" | "mail" => "order by id".to_owned(),
            // One that can be ended.
            "membership" => format!("where student_id = '{}' and lead = 0 and ends_on is null order by id", pupil.id),
            // One that was not used.
            "invitation" => format!("where student_id = '{}' and used_at is null order by id", pupil.id),
            _ => format!("where student_id = '{}' {} order by id desc", pupil.id, kind.unwrap_or_default()),
        };
        let mut view = self.store().db().begin_read().await.expect("a view");
        let rows = view.fetch_all(built(format!("select id from {table} {which} limit 1"))).await;
        let rows = rows.unwrap_or_else(|error| panic!("{what}: {error}"));
        rows.first().map(|row| row.get(0))
    }

    /// Every row of every table, as one number per table: equal numbers, equal
    /// content. What records the attempt itself is left out: whole tables, and of
    /// the disclosure record the lines that say somebody was refused.
    pub(crate) async fn content(&self) -> BTreeMap<String, u64> {
        const OF_THE_ATTEMPT: [&str; 4] = ["audit", "audit_head", "session", "submission"];
        let mut content = BTreeMap::new();
        let mut view = self.store().db().begin_read().await.expect("a view");
        for table in tables().iter().filter(|table| !OF_THE_ATTEMPT.contains(&table.as_str())) {
            let mut rows = rows(&mut view, table).await;
            if table == "disclosure" {
                rows.retain(|row| !is_refusal(row));
            }
            content.insert(table.clone(), fingerprint(&rows));
        }
        content
    }

    /// The lines of the technical log about a row of the access table: what was
    /// done and by whom, oldest first.
    pub(crate) async fn logged(&self, resource: &str) -> Vec<(String, String)> {
        let mut view = self.store().db().begin_read().await.expect("a view");
        let logged = sqlx::query("select action, account_id from audit where resource = $1 order by seq");
        let rows = logged.bind(resource.to_owned()).fetch_all(&mut *view).await.expect("the log");
        rows.iter().map(|row| (row.get(0), row.get(1))).collect()
    }

    /// The names of the files that lie among the attachments.
    pub(crate) fn files(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.attachments.path()).expect("the folder of attachments");
        let mut names: Vec<String> =
            entries.map(|entry| entry.expect("a file").file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    /// Where attachments lie.
    pub(crate) fn attachments(&self) -> &std::path::Path {
        self.attachments.path()
    }

    /// How many rows a table holds.
    pub(crate) async fn count(&self, table: &str) -> usize {
        let mut view = self.store().db().begin_read().await.expect("a view");
        rows(&mut view, table).await.len()
    }

    /// Which engine this world runs on.
    pub(crate) fn url(&self) -> String {
        self.place.url()
    }
}

fn scratch() -> TempDir {
    TempDir::new().expect("a scratch folder")
}

/// The rows of a table, each as text; in the order of that text.
async fn rows(view: &mut sqlx::AnyConnection, table: &str) -> Vec<String> {
    let rows = view.fetch_all(built(format!("select * from {table}"))).await.expect("a table of ours");
    let mut texts: Vec<String> = rows
        .iter()
        .map(|row| (0..row.len()).map(|place| cell(row, place)).collect::<Vec<_>>().join("\u{1f}"))
        .collect();
    texts.sort();
    texts
}

/// Whether a row of the disclosure record says that somebody was refused: its
/// last column.
fn is_refusal(row: &str) -> bool {
    row.ends_with("\u{1f}Some(1)")
}

fn cell(row: &sqlx::any::AnyRow, place: usize) -> String {
    if let Ok(text) = row.try_get::<Option<String>, _>(place) {
        return format!("{text:?}");
    }
    if let Ok(whole) = row.try_get::<Option<i64>, _>(place) {
        return format!("{whole:?}");
    }
    format!("{:?}", row.try_get::<Option<f64>, _>(place).expect("text, a whole number or a double"))
}

fn fingerprint(rows: &[String]) -> u64 {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let mut hasher = DefaultHasher::new();
    rows.hash(&mut hasher);
    hasher.finish()
}

/// The tables that the migrations make.
fn tables() -> &'static [String] {
    static TABLES: OnceLock<Vec<String>> = OnceLock::new();
    TABLES.get_or_init(named_in_migrations)
}

fn named_in_migrations() -> Vec<String> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("migrations");
    let mut tables = Vec::new();
    for file in std::fs::read_dir(folder).expect("the folder of migrations") {
        let text = std::fs::read_to_string(file.expect("a file").path()).expect("a migration");
        tables.extend(text.lines().filter_map(|line| {
            line.trim().to_lowercase().strip_prefix("create table ").map(|rest| rest.trim_end_matches(" (").to_owned())
        }));
    }
    tables.sort();
    assert!(tables.len() > 10, "the migrations make tables: {tables:?}");
    tables
}

/// Hashes that cost next to nothing, so that a test spends its time elsewhere.
pub(crate) fn passwords() -> Passwords {
    Passwords::new(Cost { memory_kib: 8, passes: 1 }).expect("the least argon2 accepts")
}

#[expect(clippy::disallowed_types, reason = "a test names databases and tables, which cannot be bound")]
fn built(text: String) -> sqlx::AssertSqlSafe<String> {
    sqlx::AssertSqlSafe(text)
}
