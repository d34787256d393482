//! The real service over a fresh, migrated database, without a socket.
//!
//! `TEST_DATABASE_URL` chooses the engine: unset, a SQLite file of its own for
//! every world; `postgres://…`, a database of its own on that server. Either is
//! copied from one that was migrated once. The clock stands still until a test
//! moves it. Whatever is *set up* here may use the store; whatever is *tested*
//! goes through pages, by the people of `people.rs`.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, OnceLock};

use axum::Router;
use farpoint::access::action::Create;
use farpoint::access::resource::{OpenRecord, Team};
use farpoint::access::standing::Password;
use farpoint::access::{Access, Office, Role};
use farpoint::care::ids::StudentId;
use farpoint::care::student::NewStudent;
use farpoint::clock::Clock;
use farpoint::db::Db;
use farpoint::password::{Cost, Passwords};
use farpoint::store::{Audit, Store, invitation, standing, student};
use farpoint::web::state::App;
use jiff::civil::{Date, time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, ToSpan};
use sqlx::postgres::PgConnectOptions;
use sqlx::{ConnectOptions, Executor, Row};
use tempfile::TempDir;

use super::people::Person;

/// A Wednesday in a school term.
pub(crate) const WEDNESDAY: &str = "2026-09-16";

/// Sign-in attempts one network address may make at once, in every world.
pub(crate) const SIGN_IN_BURST: u32 = 20;

/// A running service and its database.
pub(crate) struct World {
    app: App,
    router: Router,
    signed_in: Mutex<Vec<Person>>,
    counter: AtomicUsize,
    // Dropped last: the database goes when nobody uses it any more.
    place: Place,
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
        let zone = TimeZone::get("America/Denver").expect("a zone of the tz database");
        let day: Date = day.parse().expect("a date");
        let now = zone.to_timestamp(day.to_datetime(time(10, 0, 0, 0))).expect("ten in the morning");
        let place = Place::fresh();
        let db = Db::open(&place.url()).await.expect("a fresh database opens");
        let app = App {
            store: Store::over(db, Clock::fixed(zone, now)),
            passwords: passwords(),
            address: "http://farpoint.test".into(),
            secure: false,
            sign_in_burst: SIGN_IN_BURST,
        };
        let router = farpoint::web::app(app.clone());
        Self { app, router, signed_in: Mutex::default(), counter: AtomicUsize::new(0), place }
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

    /// Setup: a record opened and led by this vision teacher.
    pub(crate) async fn student_of(&self, teacher: &Person) -> Pupil {
        let number = self.next();
        let new = NewStudent {
            number: format!("S-{number:04}"),
            name: "Wren Ashdown-Lal".to_owned(),
            preferred_name: String::new(),
            birth_date: self.today().checked_sub(11.years()).expect("eleven years ago"),
            school: "Kestrel Ridge Middle School".to_owned(),
            grade: "6".to_owned(),
            languages: "English".to_owned(),
            interpreter: false,
            print_format: "large print".to_owned(),
        };
        let office = Office::<OpenRecord, Create>::grant(teacher.actor(), Password::NotEntered)
            .expect("vision teachers open records");
        let mut tx = self.store().tx().await.expect("a transaction");
        let id = student::open(&mut tx, &office, &new).await.expect("the record opens");
        tx.commit(Audit::office(&office).record(id)).await.expect("it is kept");
        Pupil { id, name: new.name }
    }

    /// Setup: the address of a link by which somebody may join this team.
    pub(crate) async fn link(&self, teacher: &Person, pupil: &Pupil, role: Role) -> String {
        let mut tx = self.store().tx().await.expect("a transaction");
        let standing =
            standing::of(&mut tx, teacher.actor(), pupil.id, Password::NotEntered).await.expect("a standing");
        let access = Access::<Team, Create>::grant(teacher.actor(), pupil.id, &standing).expect("the leader invites");
        let relation = if role == Role::Parent { "mother" } else { "" };
        let new =
            invitation::NewInvitation { role, name: "whoever holds it".to_owned(), relation: relation.to_owned() };
        let (id, token) = invitation::create(&mut tx, &access, &new).await.expect("a link");
        tx.commit(Audit::by(&access).record(id)).await.expect("it is kept");
        format!("/invite/{token}")
    }

    /// Setup: a person who has an account joins a team by a link.
    pub(crate) async fn joins(&self, person: &Person, pupil: &Pupil, invited_by: &Person) {
        let role = person.actor().role.expect("a steward joins no team");
        let link = self.link(invited_by, pupil, role).await;
        person.presses(&link, "Join this team", &[]).await.redirected_to();
    }

    /// Every row of every table, as one number per table: equal numbers, equal
    /// content. The tables that record the attempt itself are left out.
    pub(crate) async fn content(&self) -> BTreeMap<String, u64> {
        const OF_THE_ATTEMPT: [&str; 4] = ["audit", "audit_head", "session", "submission"];
        let mut content = BTreeMap::new();
        for table in tables() {
            if !OF_THE_ATTEMPT.contains(&table.as_str()) {
                let rows = self.rows(&table).await;
                content.insert(table, fingerprint(&rows));
            }
        }
        content
    }

    /// How many rows a table holds.
    pub(crate) async fn count(&self, table: &str) -> usize {
        self.rows(table).await.len()
    }

    /// The rows of a table, each as text; in the order of that text.
    async fn rows(&self, table: &str) -> Vec<String> {
        let mut view = self.store().db().begin_read().await.expect("a view");
        let rows = view.fetch_all(built(format!("select * from {table}"))).await.expect("a table of ours");
        let mut texts: Vec<String> = rows
            .iter()
            .map(|row| (0..row.len()).map(|place| cell(row, place)).collect::<Vec<_>>().join("\u{1f}"))
            .collect();
        texts.sort();
        texts
    }

    /// Which engine this world runs on.
    pub(crate) fn url(&self) -> String {
        self.place.url()
    }
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
pub(crate) fn tables() -> Vec<String> {
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

/// Where a world's database lies.
enum Place {
    File(TempDir),
    Server { server: String, name: String },
}

impl Place {
    fn fresh() -> Self {
        match std::env::var("TEST_DATABASE_URL") {
            Ok(server) if !server.is_empty() => {
                static COUNT: AtomicUsize = AtomicUsize::new(0);
                let template = server_template(&server);
                let name = format!("farpoint_test_{}_{}", std::process::id(), COUNT.fetch_add(1, Ordering::SeqCst));
                on_server(&server, vec![format!("create database {name} template {template}")]);
                Self::Server { server, name }
            }
            _ => {
                let folder = TempDir::new().expect("a scratch folder");
                std::fs::write(folder.path().join("farpoint.db"), file_template()).expect("room for a database");
                Self::File(folder)
            }
        }
    }

    fn url(&self) -> String {
        match self {
            Self::File(folder) => format!("sqlite:{}", folder.path().join("farpoint.db").display()),
            Self::Server { server, name } => database_on(server, name),
        }
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        if let Self::Server { server, name } = self {
            on_server(server, vec![format!("drop database if exists {name} with (force)")]);
        }
    }
}

/// The address of another database on the same server.
fn database_on(server: &str, name: &str) -> String {
    let (address, query) = server.split_once('?').map_or((server, None), |(address, query)| (address, Some(query)));
    let (host, _) = address.rsplit_once('/').expect("postgres://host:port/database");
    query.map_or_else(|| format!("{host}/{name}"), |query| format!("{host}/{name}?{query}"))
}

/// A migrated SQLite file, made once.
fn file_template() -> &'static [u8] {
    static TEMPLATE: OnceLock<Vec<u8>> = OnceLock::new();
    TEMPLATE.get_or_init(|| {
        let folder = TempDir::new().expect("a scratch folder");
        let file = folder.path().join("farpoint.db");
        let url = format!("sqlite:{}", file.display());
        aside(async move {
            let db = Db::open(&url).await.expect("a new file");
            db.migrate().await.expect("the migrations run on SQLite");
            db.close().await;
        });
        std::fs::read(file).expect("the file that was made")
    })
}

/// A migrated PostgreSQL database, made once.
fn server_template(server: &str) -> &'static str {
    static TEMPLATE: OnceLock<String> = OnceLock::new();
    TEMPLATE.get_or_init(|| {
        let name = format!("farpoint_template_{}", std::process::id());
        on_server(server, vec![format!("drop database if exists {name}"), format!("create database {name}")]);
        let url = database_on(server, &name);
        aside(async move {
            let db = Db::open(&url).await.expect("TEST_DATABASE_URL names a server that answers");
            db.migrate().await.expect("the migrations run on PostgreSQL");
            db.close().await;
        });
        name
    })
}

fn on_server(server: &str, statements: Vec<String>) {
    let options: PgConnectOptions = server.parse().expect("TEST_DATABASE_URL is postgres://…");
    aside(async move {
        let mut connection = options.connect().await.expect("TEST_DATABASE_URL names a server that answers");
        for statement in statements {
            connection.execute(built(statement)).await.expect("a role that may make databases");
        }
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
