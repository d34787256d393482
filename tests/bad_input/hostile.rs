//! Every form that any page shows to anybody, filled with what people and
//! programs should not send, by everybody.
//!
//! The forms are harvested by walking all links from Today, as each role, over a
//! student with every kind of record; a recorded write that no page leads to
//! fails the test. The values are drawn from a fixed seed. Every answer is held
//! against the rules of `pages/rules.rs`, which no 500 passes.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use axum::http::{HeaderMap, Method};
use farpoint::care::consent::Category;
use farpoint::web::routes::Method as Asked;
use scraper::ElementRef;
use tokio::sync::OnceCell;

use super::{Pairs, posts};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::page::{Page, css};
use crate::people::{PASSWORD, Person};
use crate::world::{Frozen, World};

/// What a field gets.
const HOSTILE: [&str; 24] = [
    "",
    " ",
    "20/0",
    "-3 m",
    "1e999",
    "0.2",
    "3",
    "-1",
    "nan",
    "inf",
    "99999999999999999999999999",
    "1890-01-01",
    "9999-12-31",
    "-9999-01-01",
    "a\0b",
    "\u{1}\u{8}\u{7f}\u{85}",
    "\u{202e}\u{5d0}\u{5d1} \u{1f9ff}\u{200d}",
    "' or 1=1; --",
    "<script>alert(1)</script>\"'>",
    "%00%ff%",
    "../../etc/passwd",
    "no_such_code",
    "0198f0a0-0000-7000-8000-000000000000",
    "line\r\nline\n\n\nline",
];

/// Numbers from a seed, so that every run sends the same (SplitMix64).
struct Seed(u64);

impl Seed {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((mixed ^ (mixed >> 31)) % most as u64).unwrap_or(0)
    }
}

/// A form as a page showed it.
#[derive(Clone)]
struct Form {
    action: String,
    /// What a browser would send of it untouched, without its token and key.
    shown: Pairs,
    /// Every name it has a control for.
    names: Vec<String>,
}

fn forms(page: &Page) -> Vec<Form> {
    let html = page.html();
    let (all, controls) = (css("form"), css("input, select, textarea"));
    let found = html.select(&all).filter(|form| form.attr("method") == Some("post")).map(|form| {
        let action = form.attr("action").filter(|action| !action.is_empty()).unwrap_or(page.path()).to_owned();
        let names: BTreeSet<String> =
            form.select(&controls).filter_map(|one| one.attr("name")).map(str::to_owned).collect();
        let names = names.into_iter().filter(|name| !["csrf", "key"].contains(&name.as_str())).collect();
        Form { action, shown: shown(form), names }
    });
    found.collect()
}

fn shown(form: ElementRef<'_>) -> Pairs {
    let mut pairs = Vec::new();
    for control in form.select(&css("input, select, textarea")) {
        let name = control.attr("name").unwrap_or("");
        if !["", "csrf", "key"].contains(&name) {
            pairs.extend(crate::page::shown(control).into_iter().map(|value| (name.to_owned(), value)));
        }
    }
    pairs
}

/// Every page that this person finds by links, and the forms on them.
async fn walks(person: &Person, start: &[String]) -> BTreeMap<String, Form> {
    let mut waiting: VecDeque<String> = start.iter().cloned().collect();
    let mut seen: BTreeSet<String> = waiting.iter().cloned().collect();
    let mut found = BTreeMap::new();
    while let Some(path) = waiting.pop_front() {
        let page = person.opens(&path).await;
        assert!(page.code() != 404, "{} leads nowhere", page.asked());
        if !page.is_html() {
            continue;
        }
        for form in forms(&page) {
            found.entry(form.action.clone()).or_insert(form);
        }
        let html = page.html();
        for link in html.select(&css("a[href]")) {
            let to = link.attr("href").unwrap_or("").split('#').next().unwrap_or("").to_owned();
            if to.starts_with('/') && seen.insert(to.clone()) {
                waiting.push_back(to);
            }
        }
        assert!(seen.len() < 400, "{} finds no end of pages", person.name);
    }
    found
}

/// The forms under a sheet that was looked at, for whoever may bring one.
async fn the_sheet(person: &Person, path: &str) -> Vec<Form> {
    let page = person.opens(path).await;
    if page.code() != 200 {
        return Vec::new();
    }
    let rows = "Result,Device out,Task,Day\nAll of it,not_needed,Worksheet,2026-09-16\n";
    forms(&person.presses_on(&page, "Look at the rows", &[("pasted", rows)]).await.ok())
}

/// A student with every kind of record, drafts included, and everybody around.
struct Fixture {
    state: Frozen,
    people: Vec<Person>,
    starts: Vec<String>,
    /// Where a spreadsheet comes in: its second form follows only on the first.
    sheet: String,
}

/// It is made once; each test goes on from a copy.
async fn fixture() -> &'static Fixture {
    static MADE: OnceCell<Fixture> = OnceCell::const_new();
    MADE.get_or_init(made).await
}

async fn made() -> Fixture {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    // Reports on paper: one filed, one that may be filed, one with rows of both kinds.
    let report = team.copies_eye_report().await;
    team.files_report(&report).await;
    team.copies_eye_report().await;
    team.begins_unfinished_report().await;
    an_entry_asks_its_writer(&world, &team).await;
    a_letter_waits(&world, &team).await;
    team.wants_to_see(&NEAR).await;
    team.releases_card().await;
    team.drafts_card().await;
    team.releases_try_at_home(&DISTANCE).await;
    team.drafts_try_at_home(&DISTANCE).await;
    team.drafts_summary(&DISTANCE).await;
    team.drafts_prescription(&world).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let evaluation = team.evaluates(&NEAR).await;
    team.asks().await;
    team.stocks_match(&world, &DISTANCE).await;
    crate::exceptions::everything_waits(&world, &team).await;
    let spare = [("room", "Hall"), ("distance", "9 m")];
    team.teacher.presses(&team.at("/seats/new"), "Add", &spare).await.redirected_to();
    team.parent.presses(&team.at("/safety"), "Send the red flag", &[("sign", "rf3")]).await.redirected_to();
    let question = [("to", "clinician"), ("body", "Which eye?")];
    team.teacher.presses(&team.at("/thread"), "Send", &question).await.redirected_to();
    let close = team.teacher.opens(&team.at("/thread")).await.ok().link("Close it without an answer");
    team.teacher.presses(&close, "Close the question", &[("why", "no_longer_needed")]).await.redirected_to();
    world.passes(jiff::SignedDuration::from_mins(1));
    team.teacher.presses(&team.at("/thread"), "Send", &question).await.redirected_to();
    let contact = [("name", "Gran"), ("account", &team.parent.actor().account.to_string())];
    team.teacher.presses(&team.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
    let link = world.link(&team.teacher, &team.pupil, farpoint::access::Role::ClassroomTeacher).await;
    let post = world.newest("post", &team.pupil).await.expect("the question");
    the_office_is_busy(&world, &team).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    // No consent names her clinic, so that an emergency is hers to open.
    let unnamed = world.clinician_of("Another Clinic").await;
    world.joins(&unnamed, &team.pupil, &team.teacher).await;
    let emergency = [("category", "training"), ("reason", "Hurt on a trip"), ("password", PASSWORD)];
    let path = team.at("/people/emergency");
    unnamed.presses(&path, "Open it for 24 hours", &emergency).await.redirected_to();
    let people = vec![team.teacher, team.classroom, team.parent, team.clinician, steward, world.stranger(), unnamed];
    // An address for a calendar program, so that there is one to take back.
    people[0].presses("/account", "Make an address", &[]).await.ok();
    for person in &people[..5] {
        // Signed in somewhere else, too, so that there is something to end.
        person.at_another_browser().signs_in().await;
        person.opens("/account").await;
    }
    // The screens that other pages do not lead to once something is done.
    let at = |path: &str| team.pupil.at(path);
    let starts = vec![
        link,
        evaluation,
        at("/training/readiness/near"),
        at("/devices/lend/distance"),
        at("/people/consent/school_to_clinic"),
        at("/evaluations/request"),
        at("/intake/school"),
        at(&format!("/thread/{post}/amend")),
        "/confirm".to_owned(),
        "/students/new".to_owned(),
    ];
    let sheet = at("/observations/from-spreadsheet");
    Fixture { state: world.frozen().await, people, starts, sheet }
}

/// The small letters of a board at 3.5 mm: the writer is asked about the unit.
async fn an_entry_asks_its_writer(world: &World, team: &Team) {
    let task = world.newest("visual_task", &team.pupil).await.expect("what the student wants to see");
    let entry = [("task", task.as_str()), ("device_out", "not_needed"), ("correct", "3"), ("tried", "8")];
    let fields = [&entry[..], &[("x_height", "3.5 mm"), ("help", "none")]].concat();
    let saved = team.classroom.presses(&team.at("/observations/new"), "Save", &fields).await.redirected_to();
    team.classroom.opens(&saved).await.ok().sees("3.5 mm or 3.5 cm?");
}

/// Something is new to the vision teacher, who is told by a letter.
async fn a_letter_waits(world: &World, team: &Team) {
    let choice = [("often", "at_once"), ("address", "teacher@people.example")];
    team.teacher.presses("/account", "Save how often", &choice).await.redirected_to();
    world.passes(jiff::SignedDuration::from_mins(11));
    team.parent.presses(&team.at("/thread"), "Send", &[("to", "note"), ("body", "She waved.")]).await.redirected_to();
    assert_eq!(farpoint::web::telling::gather(world.app()).await.expect("it is counted"), 1);
}

/// The student is of age and lets the parent read everything; one access limit
/// waits, one is in force, and one is to be lifted.
async fn the_office_is_busy(world: &World, team: &Team) {
    let officer = world.steward().await;
    officer.enters_password_again().await;
    world.turns(18, &team.pupil, &team.teacher).await;
    world.lets(&officer, &team.parent, &team.pupil, Category::ALL).await;
    let [lifted, ordered, waiting] = [world.parent().await, world.parent().await, world.parent().await];
    for parent in [&lifted, &ordered, &waiting] {
        world.joins(parent, &team.pupil, &team.teacher).await;
    }
    world.limits(&lifted, &team.pupil).await;
    let limit = world.newest("access_limit", &team.pupil).await.unwrap();
    let lift = team.at(&format!("/people/limits/{limit}/lift"));
    officer.presses(&lift, "Propose to lift it", &[("document", "Order 52")]).await.redirected_to();
    world.limits(&ordered, &team.pupil).await;
    let (adult, today) = (waiting.actor().account.to_string(), world.day(0));
    let fields =
        [("account", adult.as_str()), ("rights", "contact_only"), ("document", "Order 60"), ("starts_on", &today)];
    officer.presses(&team.at("/people/limits"), "Propose this limit", &fields).await.redirected_to();
}

/// Ends what this person could still do, so it is sent last.
fn ends_something(action: &str) -> bool {
    ["/end", "/withdraw", "/retire", "/remove", "/sessions", "/password"].iter().any(|end| action.ends_with(end))
}

/// Whether an address is one of this pattern.
fn is_of(pattern: &str, action: &str) -> bool {
    let path = action.split('?').next().unwrap_or(action);
    let (pattern, path): (Vec<&str>, Vec<&str>) = (pattern.split('/').collect(), path.split('/').collect());
    pattern.len() == path.len() && pattern.iter().zip(&path).all(|(one, other)| one.starts_with('{') || one == other)
}

async fn throws(person: &Person, form: &Form, pairs: Pairs) -> u16 {
    let mut sent = pairs;
    if let Some(csrf) = person.known_csrf() {
        sent.push(("csrf".to_owned(), csrf));
    }
    posts(person, &form.action, &sent).await.code()
}

/// The form with one value everywhere.
fn everywhere(form: &Form, value: &str) -> Pairs {
    form.names.iter().filter(|name| *name != "version").map(|name| (name.clone(), value.to_owned())).collect()
}

/// The form with something different in each field: left, gone, doubled, bent.
fn mixed(form: &Form, seed: &mut Seed, long: &str) -> Pairs {
    let mut pairs = Vec::new();
    for name in &form.names {
        let known: Vec<&(String, String)> = form.shown.iter().filter(|(one, _)| one == name).collect();
        match seed.below(8) {
            0 => {}
            1..=3 => pairs.extend(known.into_iter().cloned()),
            4 => {
                for _ in 0..2 {
                    pairs.push((name.clone(), HOSTILE[seed.below(HOSTILE.len())].to_owned()));
                }
            }
            5 if seed.below(6) == 0 => pairs.push((name.clone(), long.to_owned())),
            _ => pairs.push((name.clone(), HOSTILE[seed.below(HOSTILE.len())].to_owned())),
        }
    }
    pairs
}

#[tokio::test]
async fn every_form_of_every_page_survives_everything_by_everybody() {
    let fixture = fixture().await;
    let long = "n".repeat(10_000);
    let mut seed = Seed(20_261_125);
    let mut harvested: BTreeMap<String, (usize, Form)> = BTreeMap::new();
    let world = fixture.state.thawed().await;
    for (place, person) in fixture.people.iter().enumerate() {
        let person = person.through(world.router());
        let mut starts = vec!["/today".to_owned(), "/account".to_owned(), "/sign-in".to_owned()];
        for start in &fixture.starts {
            if person.opens(start).await.code() == 200 {
                starts.push(start.clone());
            }
        }
        for (action, form) in walks(&person, &starts).await {
            harvested.entry(action).or_insert((place, form));
        }
        for form in the_sheet(&person, &fixture.sheet).await {
            harvested.entry(form.action.clone()).or_insert((place, form));
        }
    }
    let recorded: BTreeSet<&str> = writes(world.app());
    let missed: Vec<&&str> =
        recorded.iter().filter(|pattern| !harvested.keys().any(|action| is_of(pattern, action))).collect();
    assert!(missed.is_empty(), "no page leads to a form for {missed:?}");
    drop(world);

    harvested.remove("/sign-out");
    let mut order: Vec<&(usize, Form)> = harvested.values().collect();
    order.sort_by_key(|(_, form)| ends_something(&form.action));
    let mut codes: BTreeMap<u16, usize> = BTreeMap::new();
    for (place, person) in fixture.people.iter().enumerate() {
        let world = fixture.state.thawed().await;
        let person = person.through(world.router());
        for (number, (owner, form)) in order.iter().enumerate() {
            let own = *owner == place;
            // Every other value here, the rest in the next form.
            let values = HOSTILE.iter().skip(number % 2).step_by(2).take(if own { HOSTILE.len() } else { 1 });
            for value in values {
                *codes.entry(throws(&person, form, everywhere(form, value)).await).or_default() += 1;
            }
            for _ in 0..if own { 6 } else { 1 } {
                *codes.entry(throws(&person, form, mixed(form, &mut seed, &long)).await).or_default() += 1;
            }
        }
    }
    // It is a proof only if forms were read and found fault with, not turned away.
    let of = |code: u16| codes.get(&code).copied().unwrap_or(0);
    assert!(of(422) > 500 && of(303) > 50 && of(404) > 100, "{codes:?}");
    assert!(codes.keys().all(|code| *code < 500), "{codes:?}");
}

fn writes(app: &farpoint::web::state::App) -> BTreeSet<&'static str> {
    let recorded = farpoint::web::routes(app);
    recorded.recorded().iter().filter(|one| one.method == Asked::Post).map(|one| one.path).collect()
}

#[tokio::test]
async fn a_page_that_takes_a_query_survives_any() {
    let fixture = fixture().await;
    let world = fixture.state.thawed().await;
    let mut seed = Seed(7);
    for person in &fixture.people[..4] {
        let person = person.through(world.router());
        for path in ["/training/new", "/thread", "/devices/receipt/new", "/observations/new"] {
            let path = format!("{}{path}", fixture.starts[2].split("/training").next().unwrap_or(""));
            for _ in 0..12 {
                let names = ["track", "on", "kind", "setting", "from", "since", "older", "home", "prescription", "x"];
                let query = form_urlencoded::Serializer::new(String::new())
                    .extend_pairs(names.map(|name| (name, HOSTILE[seed.below(HOSTILE.len())])))
                    .finish();
                person.sends(Method::GET, &format!("{path}?{query}"), &[], HeaderMap::new()).await;
            }
        }
    }
}
