//! Every recorded route, asked by everybody of the fixture.
//!
//! What is expected is read off the transcript of the contract's table; what
//! happened is printed to `matrix.txt`, so that a change of the policy is a
//! change of ticks that anybody can read. `UPDATE_MATRIX=1` writes the file anew.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use farpoint::access::Denied;
use farpoint::access::standing::Password;
use farpoint::web::routes::{Method, Recorded};

use super::expected::{Question, Table, VERBS, row_named};
use super::fixture::{Fixture, Walker, fixture};
use crate::page::Page;
use crate::world::World;

/// What a walker meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Cell {
    /// Nothing here for this person.
    Hidden,
    /// Known to exist, and refused.
    Refused,
    /// Sign in first.
    Outside,
    /// Allowed, and this student has no such record.
    Absent,
    /// Answered: the page, the page with faults, or the step that comes first.
    Open,
}

impl Cell {
    const fn sign(self) -> char {
        match self {
            Self::Hidden => '✗',
            Self::Refused => '·',
            Self::Outside => '→',
            Self::Absent => '–',
            Self::Open => '✓',
        }
    }
}

/// A line of `expected-routes.txt`.
struct Line {
    method: Method,
    path: String,
    /// Alternatives of what must all hold.
    asks: Vec<Vec<Ask>>,
    record: Option<String>,
    word: String,
    query: String,
    send: String,
    by: Option<String>,
    only: Option<String>,
    /// What the form itself takes besides: the password, or another's signature.
    takes: Takes,
    /// Which of several cases of one route.
    case: String,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Takes {
    Nothing,
    /// The password, so that the table is asked as if it had been entered again.
    Password,
    /// What somebody else signed, so that only a witness is let in.
    Witness,
}

enum Ask {
    Open,
    SignedIn,
    Nobody,
    Row { row: String, verb: char, kind: Option<String> },
}

fn lines() -> Vec<Line> {
    let text = include_str!("expected-routes.txt");
    text.lines().filter(|line| !line.is_empty() && !line.starts_with('#')).map(line).collect()
}

fn line(text: &str) -> Line {
    let parts: Vec<&str> = text.split('|').map(str::trim).collect();
    let (method, path) = parts[0].split_once(' ').unwrap_or_else(|| panic!("METHOD PATH: {text}"));
    let method = match method {
        "GET" => Method::Get,
        "POST" => Method::Post,
        other => panic!("{other}: {text}"),
    };
    let asks = parts[1].split(" or ").map(|all| all.split(" + ").map(|one| ask(one.trim())).collect()).collect();
    let mut line = Line {
        method,
        path: path.trim().to_owned(),
        asks,
        record: None,
        word: String::new(),
        query: String::new(),
        send: String::new(),
        by: None,
        only: None,
        takes: Takes::Nothing,
        case: String::new(),
    };
    for word in parts.get(2).copied().unwrap_or("").split_whitespace() {
        match word.split_once('=') {
            Some(("record", table)) => line.record = Some(table.to_owned()),
            Some(("word", word)) => word.clone_into(&mut line.word),
            Some(("query", query)) => line.query = format!("?{query}"),
            Some(("send", send)) => send.clone_into(&mut line.send),
            Some(("as", case)) => line.case = format!(" ({case})"),
            Some(("by", role)) => line.by = Some(role.to_owned()),
            Some(("only", role)) => line.only = Some(role.to_owned()),
            Some(("takes", "password")) => line.takes = Takes::Password,
            Some(("takes", "witness")) => line.takes = Takes::Witness,
            _ => panic!("{word}: {text}"),
        }
    }
    line
}

fn ask(text: &str) -> Ask {
    match text {
        "open" => return Ask::Open,
        "signed-in" => return Ask::SignedIn,
        "nobody" => return Ask::Nobody,
        _ => {}
    }
    let mut words = text.split_whitespace();
    let row = words.next().expect("a row").to_owned();
    let verb = words.next().and_then(|verb| verb.chars().next()).unwrap_or_else(|| panic!("no verb: {text}"));
    assert!(VERBS.iter().any(|(letter, _)| *letter == verb), "{text}");
    Ask::Row { row, verb, kind: words.next().map(str::to_owned) }
}

impl Line {
    /// What the table says to this walker.
    fn expected(&self, table: &Table, walker: &Walker) -> Cell {
        if !walker.signed_in && self.asks.iter().flatten().any(|ask| !matches!(ask, Ask::Open | Ask::Nobody)) {
            return Cell::Outside;
        }
        let role = walker.role.map_or("steward", |role| role.code());
        if self.only.as_deref().is_some_and(|only| !only.split(',').any(|one| one == role)) {
            return Cell::Hidden;
        }
        let all = |asks: &Vec<Ask>| asks.iter().map(|ask| self.one(ask, table, walker)).min();
        self.asks.iter().filter_map(all).max().unwrap_or(Cell::Hidden)
    }

    fn one(&self, ask: &Ask, table: &Table, walker: &Walker) -> Cell {
        let (row, verb, kind) = match ask {
            Ask::Open | Ask::SignedIn => return Cell::Open,
            Ask::Nobody => return Cell::Hidden,
            Ask::Row { row, verb, kind } => (row_named(row), *verb, kind),
        };
        let mut facts = walker.facts.clone();
        if self.takes == Takes::Password {
            facts.password = Password::JustEntered;
        }
        let question = Question {
            clauses: &table.spoken_to(row, walker.role, walker.steward, verb),
            reading: &table.spoken_to(row, walker.role, walker.steward, 'R'),
            role: walker.role,
            world: &facts,
            row,
            verb,
        };
        match question.answer() {
            Err(Denied::Hidden) => Cell::Hidden,
            Err(Denied::Forbidden(_)) => Cell::Refused,
            // Signing on screen and recording what somebody else signed are two pages.
            Ok(grant) if grant.witnessed != (self.takes == Takes::Witness) => Cell::Refused,
            Ok(grant) => match kind {
                Some(kind) if (grant.reach >> self.kind(kind, walker)) & 1 == 0 => Cell::Hidden,
                _ => Cell::Open,
            },
        }
    }

    /// The kind of the entry, as a number of the bits in `expected.rs`.
    fn kind(&self, letters: &str, walker: &Walker) -> u32 {
        let author = self.by.as_deref() == walker.role.map(|role| role.code()) && walker.author;
        letters.chars().fold(0, |kind, letter| {
            kind | match letter {
                'o' => u32::from(author),
                'z' => 0,
                'm' => 1 << 1,
                'r' => 1 << 2,
                'l' => 1 << 3,
                's' => 1 << 4,
                't' => 1 << 5,
                'c' => 1 << 6,
                unknown => panic!("no kind of entry {unknown}"),
            }
        })
    }

    /// The address that this walker asks for and the form that is sent there;
    /// nothing when the student has no such record.
    async fn request(&self, world: &World, walker: &Walker) -> Option<(String, Vec<(String, String)>)> {
        let mut path = self.path.replace("{student}", &walker.pupil.id.to_string());
        let word = match self.word.strip_suffix(":id") {
            Some(table) => world.newest(table, &walker.pupil).await?,
            None => self.word.clone(),
        };
        path = path.replace("{word}", &word).replace("{*path}", &word);
        if let Some(record) = &self.record {
            path = path.replace("{record}", &world.newest(record, &walker.pupil).await?);
        }
        assert!(!path.contains('{') && !path.contains("//"), "{}: no value for {path}", self.path);
        let (query, send) = (with_ids(&self.query, world, walker).await?, with_ids(&self.send, world, walker).await?);
        Some((path + &query, form_urlencoded::parse(send.as_bytes()).into_owned().collect()))
    }
}

/// Puts the id of a row in place of `[TABLE:COLUMN:VALUE]`.
async fn with_ids(text: &str, world: &World, walker: &Walker) -> Option<String> {
    let Some((before, rest)) = text.split_once('[') else { return Some(text.to_owned()) };
    let (what, after) = rest.split_once(']').unwrap_or_else(|| panic!("no end: {text}"));
    let id = world.newest(what, &walker.pupil).await?;
    Some(format!("{before}{id}{after}"))
}

fn met(page: &Page, walker: &Walker) -> Cell {
    match page.code() {
        404 => Cell::Hidden,
        403 if walker.signed_in => Cell::Refused,
        303 if page.redirected_to() == "/sign-in" && !page.asked().contains("/sign-out") => Cell::Outside,
        403 => Cell::Outside,
        _ => Cell::Open,
    }
}

async fn asks(world: &World, walker: &Walker, line: &Line) -> Cell {
    let person = walker.person.through(world.router());
    let Some((address, fields)) = line.request(world, walker).await else { return Cell::Absent };
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let page = match line.method {
        Method::Get => person.opens(&address).await,
        Method::Post => person.submits(&address, &fields).await,
    };
    met(&page, walker)
}

/// The fixture's state, and what it held when it was last looked at.
struct State {
    world: World,
    content: BTreeMap<String, u64>,
    sessions: usize,
}

impl State {
    async fn of(fixture: &Fixture) -> Self {
        let world = fixture.state.thawed().await;
        let (content, sessions) = (world.content().await, world.count("session").await);
        Self { world, content, sessions }
    }

    /// The tables that changed since; a session more or less counts.
    async fn changed(&self) -> Vec<String> {
        let now = self.world.content().await;
        let mut changed: Vec<String> =
            now.keys().filter(|table| now[*table] != self.content[*table]).cloned().collect();
        if self.world.count("session").await != self.sessions {
            changed.push("session".to_owned());
        }
        changed
    }
}

#[test]
fn every_recorded_route_is_in_the_table_and_every_line_is_a_route() {
    let recorded: BTreeSet<(Method, String)> = recorded().iter().map(|one| (one.method, one.path.to_owned())).collect();
    let typed: BTreeSet<(Method, String)> = lines().into_iter().map(|line| (line.method, line.path)).collect();
    let missing: Vec<_> = recorded.difference(&typed).collect();
    let stale: Vec<_> = typed.difference(&recorded).collect();
    assert!(missing.is_empty(), "say in expected-routes.txt what these ask for: {missing:#?}");
    assert!(stale.is_empty(), "no such routes any more: {stale:#?}");
    // Signing in, an invitation and a calendar program each show a secret of
    // their own; the other pages say nothing about anybody.
    let reasoned = [
        "Get /",
        "Get /sign-in",
        "Post /sign-in",
        "Get /invite/{word}",
        "Post /invite/{word}",
        "Get /static/{*path}",
        "Get /help",
        "Get /calendar/{word}",
    ];
    assert_eq!(recorded_open(), reasoned, "a route that answers without sign-in needs a reason");
}

fn recorded() -> Vec<Recorded> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(async { farpoint::web::routes(World::new().await.app()).recorded().to_vec() })
}

fn recorded_open() -> Vec<String> {
    recorded().iter().filter(|one| one.open).map(|one| format!("{:?} {}", one.method, one.path)).collect()
}

#[tokio::test]
async fn every_route_answers_everybody_as_the_table_says_and_a_denial_changes_nothing() {
    let table = Table::read();
    let fixture = fixture().await;
    let (mut rows, mut broken) = (Vec::new(), Vec::new());
    let mut state = State::of(fixture).await;
    for line in lines() {
        let expected: Vec<Cell> = fixture.walkers.iter().map(|walker| line.expected(&table, walker)).collect();
        let mut cells = expected.clone();
        let (open, denied): (Vec<usize>, Vec<usize>) =
            (0..expected.len()).partition(|number| expected[*number] == Cell::Open);
        for number in denied {
            cells[number] = asks(&state.world, &fixture.walkers[number], &line).await;
        }
        let mut changed = state.changed().await;
        // A page that hides one record may have noted that it opened the family of records.
        changed.retain(|table| line.method == Method::Post || table != "disclosure");
        if !changed.is_empty() {
            broken.push(format!("{:?} {}: a denial changed {changed:?}", line.method, line.path));
            state = State::of(fixture).await;
        }
        for number in open {
            cells[number] = asks(&state.world, &fixture.walkers[number], &line).await;
            // Whoever comes next is to find what this one found.
            if line.method == Method::Post && !state.changed().await.is_empty() {
                state = State::of(fixture).await;
            }
        }
        // A page that takes content across notes it.
        state.content = state.world.content().await;
        for (number, walker) in fixture.walkers.iter().enumerate() {
            let (wanted, met) = (expected[number], cells[number]);
            if wanted != met && met != Cell::Absent {
                broken.push(format!(
                    "{:?} {}{} by {}: {wanted:?} expected, {met:?} met",
                    line.method, line.path, line.case, walker.title
                ));
            }
        }
        rows.push((line, cells));
    }
    let printed = print(fixture, &rows);
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/authz/matrix.txt");
    if std::env::var_os("UPDATE_MATRIX").is_some() {
        std::fs::write(file, &printed).expect("the file can be written");
    }
    let kept = std::fs::read_to_string(file).unwrap_or_default();
    assert!(broken.is_empty(), "{} cells are not as the contract says:\n{}", broken.len(), broken.join("\n"));
    assert!(kept == printed, "matrix.txt has changed; read it after UPDATE_MATRIX=1:\n{}", difference(&kept, &printed));
}

#[tokio::test]
async fn the_record_of_another_student_is_not_found_under_ones_own() {
    let fixture = fixture().await;
    let world = fixture.state.thawed().await;
    let titled = |title: &str| fixture.walkers.iter().find(|walker| walker.title == title).expect("a walker");
    let others = titled("vision teacher, consent withdrawn").pupil.clone();
    let before = world.content().await;
    let mut broken = Vec::new();
    let mut walked = 0;
    for title in ["vision teacher", "classroom teacher", "parent", "clinician"] {
        let walker = titled(title);
        for line in lines().iter().filter(|line| line.path.contains("{student}") && line.path.contains("{record}")) {
            let record = line.record.as_deref().expect("a table for the record");
            let id = world.newest(record, &others).await.expect("the other student has one, too");
            let word = match line.word.strip_suffix(":id") {
                Some(table) => world.newest(table, &others).await.expect("a row below it"),
                None => line.word.clone(),
            };
            let path = line.path.replace("{student}", &walker.pupil.id.to_string());
            let path = path.replace("{record}", &id).replace("{word}", &word);
            let person = walker.person.through(world.router());
            let page = match line.method {
                Method::Get => person.opens(&path).await,
                Method::Post => person.submits(&path, &[("version", "1")]).await,
            };
            walked += 1;
            if !matches!(met(&page, walker), Cell::Hidden | Cell::Refused) {
                broken.push(format!("{:?} {} by {title}: {}", line.method, line.path, page.code()));
            }
        }
    }
    assert!(walked > 100, "only {walked}");
    let after = world.content().await;
    let changed: Vec<_> =
        after.keys().filter(|table| before[*table] != after[*table] && *table != "disclosure").collect();
    assert!(changed.is_empty(), "changed: {changed:?}");
    assert!(broken.is_empty(), "found under another student:\n{}", broken.join("\n"));
}

fn print(fixture: &Fixture, rows: &[(Line, Vec<Cell>)]) -> String {
    let mut text = String::from(
        "Every route asked by everybody: ✓ answered, ✗ as if it did not exist (404), · known and refused (403),\n\
         → sent to sign in, – no such record of this student. Each ✗, · and → of a form also left every table as it was. Made by matrix.rs.\n\n",
    );
    for (number, walker) in fixture.walkers.iter().enumerate() {
        let _ = writeln!(text, "{} {}", letter(number), walker.title);
    }
    let title = |line: &Line| format!("{}{}", line.path, line.case);
    let width = rows.iter().map(|(line, _)| title(line).len()).max().unwrap_or(0);
    let heads: String = (0..fixture.walkers.len()).map(letter).collect();
    let _ = writeln!(text, "\n{:width$}{heads}", "", width = width + 6);
    for (line, cells) in rows {
        let method = if line.method == Method::Get { "GET " } else { "POST" };
        let signs: String = cells.iter().map(|cell| cell.sign()).collect();
        let _ = writeln!(text, "{method} {:width$} {signs}", title(line));
    }
    text
}

fn letter(number: usize) -> char {
    let letters = "abcdefghijklmnopqrstuvwxyz";
    letters.chars().nth(number).expect("fewer walkers than letters")
}

fn difference(kept: &str, printed: &str) -> String {
    let kept: BTreeSet<&str> = kept.lines().collect();
    printed.lines().filter(|line| !kept.contains(line)).collect::<Vec<_>>().join("\n")
}
