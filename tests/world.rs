//! The real service over a fresh, migrated database, without a socket.
//!
//! `TEST_DATABASE_URL` chooses the engine: unset, a SQLite file of its own for
//! every world; `postgres://…`, a database of its own on that server. Either is
//! copied from one that was migrated once. The clock stands still until a test
//! moves it. Whatever is *set up* here may use the store; whatever is *tested*
//! goes through pages, by the people of `people.rs`.

mod place;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::{Mutex, OnceLock};
use std::sync::atomic::{AtomicUsize, Ordering};

use axum::Router;
use farpoint::access::action::{Action, Create, Edit, Sign};
use farpoint::access::resource::{Consents, OpenRecord, Resource, Team};
use farpoint::access::standing::Password;
use farpoint::access::{Access, Office, Role};
use farpoint::care::consent::{Direction, Party};
use farpoint::care::ids::StudentId;
use farpoint::care::student::NewStudent;
use farpoint::clock::{Clock, fresh_uuid};
use farpoint::db::Db;
use farpoint::password::{Cost, Passwords};
use farpoint::store::consent::NewConsent;
use farpoint::store::{Audit, Snapshot, Store, account, consent, invitation, setting, standing, student, team};
use farpoint::web::state::App;
use jiff::civil::{Date, time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ToSpan};
use place::Place;
use sqlx::{Executor, Row};

use super::people::{CLINIC, PASSWORD, Person};

/// A Wednesday in a school term.
pub(crate) const WEDNESDAY: &str = "2026-09-16";

/// Sign-in attempts one network address may make at once, in every world.
pub(crate) const SIGN_IN_BURST: u32 = 20;

/// Where the schools are.
const ZONE: &str = "America/Denver";

/// A state to go on from.
pub(crate) struct Frozen {
    place: Place,
    now: Timestamp,
}

impl Frozen {
    /// A world that goes on from here; another one from the same state knows
    /// nothing of it. People go over with [`Person::through`].
    pub(crate) async fn thawed(&self) -> World {
        World::over(self.place.copy(), self.now).await
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
        Self::over(Place::fresh(), now).await
    }

    async fn over(place: Place, now: Timestamp) -> Self {
        let zone = TimeZone::get(ZONE).expect("a zone of the tz database");
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

    /// Ends this world and keeps its state, to go on from there several times.
    pub(crate) async fn frozen(self) -> Frozen {
        let now = self.store().clock().now();
        self.store().db().close().await;
        Frozen { place: self.place, now }
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
        let access = self.proof::<Team, Create>(&mut tx, teacher, pupil, Password::NotEntered).await;
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

    /// Setup: a parent signs both consents on screen, for everything and a year,
    /// between the site's record owner and the clinic of [`super::people`].
    pub(crate) async fn consents(&self, parent: &Person, pupil: &Pupil) {
        let reentered = account::reenter(self.store(), &self.app.passwords, parent.actor(), PASSWORD).await;
        let reentered = reentered.expect("the database answers").unwrap_or_else(|_| panic!("the right password"));
        for direction in [Direction::SchoolToClinic, Direction::ClinicToSchool] {
            let mut tx = self.store().tx().await.expect("a transaction");
            let owner = setting::site(&mut tx).await.expect("the settings").owner().to_owned();
            let access = self.proof::<Consents, Sign>(&mut tx, parent, pupil, Password::JustEntered).await;
            let parties = [Party::new(&owner).expect("a name"), Party::new(CLINIC).expect("a name")];
            let [school, clinic] = parties;
            let (from, to) = if direction == Direction::SchoolToClinic { (school, clinic) } else { (clinic, school) };
            let new = NewConsent {
                direction,
                categories: direction.categories().collect(),
                purpose: "Choosing and training a device".to_owned(),
                from,
                to,
                start: self.today(),
                end: self.today().checked_add(1.years()).expect("next year"),
                relation: "mother".to_owned(),
                language: "en".to_owned(),
            };
            let id = consent::sign(&mut tx, &access, &reentered, &new).await.expect("a rights holder signs");
            tx.commit(Audit::by(&access).record(id)).await.expect("it is kept");
        }
    }

    /// Setup: a parent withdraws every consent.
    pub(crate) async fn withdraws(&self, parent: &Person, pupil: &Pupil) {
        let mut tx = self.store().tx().await.expect("a transaction");
        let access = self.proof::<Consents, Sign>(&mut tx, parent, pupil, Password::JustEntered).await;
        for listed in consent::list(&mut tx, &access.read()).await.expect("the consents") {
            consent::withdraw(&mut tx, &access, listed.consent.id).await.expect("a rights holder withdraws");
        }
        tx.commit(Audit::by(&access).doing("withdraw")).await.expect("it is kept");
    }

    /// Setup: a membership ends today.
    pub(crate) async fn leaves(&self, person: &Person, pupil: &Pupil, ended_by: &Person) {
        let mut tx = self.store().tx().await.expect("a transaction");
        let access = self.proof::<Team, Edit>(&mut tx, ended_by, pupil, Password::NotEntered).await;
        let members = team::members(&mut tx, &access.read()).await.expect("the team");
        let member = members.iter().find(|member| member.account == person.actor().account).expect("on the team");
        team::end(&mut tx, &access, member.id).await.expect("it ends");
        tx.commit(Audit::by(&access).record(member.id)).await.expect("it is kept");
    }

    /// Setup: a court order leaves a parent no more than contact.
    pub(crate) async fn limits(&self, parent: &Person, pupil: &Pupil) {
        let mut write = self.store().db().begin_write().await.expect("a transaction");
        let done = sqlx::query("update membership set rights = 'contact_only' where account_id = $1 and student_id = $2")
            .bind(parent.actor().account.to_string())
            .bind(pupil.id.to_string())
            .execute(&mut *write)
            .await
            .expect("the membership");
        assert_eq!(done.rows_affected(), 1);
        write.commit().await.expect("it is kept");
    }

    async fn proof<R: Resource, A: Action>(
        &self,
        snapshot: &mut Snapshot,
        person: &Person,
        pupil: &Pupil,
        password: Password,
    ) -> Access<R, A> {
        let standing = standing::of(snapshot, person.actor(), pupil.id, password).await.expect("a standing");
        Access::grant(person.actor(), pupil.id, &standing).expect("setup does what the person may do")
    }

    /// The newest row of a table that belongs to a student; of a table that
    /// belongs to none, the oldest, which is nobody's own by chance.
    pub(crate) async fn newest(&self, table: &str, pupil: &Pupil) -> String {
        let mut view = self.store().db().begin_read().await.expect("a view");
        let of_student = table != "account" && table != "device";
        let which = if of_student {
            format!("where student_id = '{}' order by id desc", pupil.id)
        } else {
            "order by id".to_owned()
        };
        let rows = view.fetch_all(built(format!("select id from {table} {which} limit 1"))).await;
        let rows = rows.unwrap_or_else(|error| panic!("{table}: {error}"));
        // A student without one is asked for a record that is not there.
        rows.first().map_or_else(|| fresh_uuid().to_string(), |row| row.get(0))
    }

    /// Every row of every table, as one number per table: equal numbers, equal
    /// content. The tables that record the attempt itself are left out.
    pub(crate) async fn content(&self) -> BTreeMap<String, u64> {
        const OF_THE_ATTEMPT: [&str; 4] = ["audit", "audit_head", "session", "submission"];
        let mut content = BTreeMap::new();
        let mut view = self.store().db().begin_read().await.expect("a view");
        for table in tables().iter().filter(|table| !OF_THE_ATTEMPT.contains(&table.as_str())) {
            content.insert(table.clone(), fingerprint(&rows(&mut view, table).await));
        }
        content
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
