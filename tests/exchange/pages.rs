//! Taking the record along, by the people who may and those who may not.

use std::io::Cursor;

use axum::body::Body;
use axum::http::{HeaderMap, Method, Request, header};
use farpoint::exchange::archive::{MOST_BYTES, Opened};
use farpoint::exchange::fhir::check;
use serde_json::Value;
use sqlx::Row;
use tower::ServiceExt;

use crate::lap::{DISTANCE, Step, Team};
use crate::people::{PASSWORD, Person};
use crate::world::World;

const REASON: &str = "we move to another district";
/// Tables for a program, and no papers: those are in `papers.rs`.
const PROGRAM: [(&str, &str); 2] = [("text", "program"), ("papers", "none")];

pub(super) type Zip = Opened<Cursor<Vec<u8>>>;

/// Presses the button and keeps what comes down.
pub(super) async fn taken(world: &World, person: &Person, path: &str, wanted: &[(&str, &str)]) -> Vec<u8> {
    let page = person.opens(path).await.ok();
    let fields = [&[("reason", REASON), ("password", PASSWORD)], wanted].concat();
    let (action, pairs) = page.filled("Make the file", &fields);
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(pairs).finish();
    let request = Request::builder()
        .method(Method::POST)
        .uri(action)
        .header(header::COOKIE, person.cookie_line())
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .body(Body::from(body))
        .expect("a request");
    let answer = world.router().oneshot(request).await.expect("an answer");
    assert_eq!(answer.status(), 200);
    assert_eq!(answer.headers()[header::CONTENT_TYPE], "application/zip");
    assert_eq!(answer.headers()[header::CACHE_CONTROL], "no-store");
    let named = answer.headers()[header::CONTENT_DISPOSITION].to_str().expect("text").to_owned();
    assert!(named.starts_with("attachment; filename=\"farpoint-record-"), "{named}");
    let bytes = axum::body::to_bytes(answer.into_body(), 64 << 20).await.expect("a body");
    bytes.to_vec()
}

/// The same, opened.
pub(super) async fn takes(world: &World, person: &Person, path: &str, wanted: &[(&str, &str)]) -> Zip {
    let bytes = taken(world, person, path, wanted).await;
    let mut opened = Opened::open(Cursor::new(bytes), MOST_BYTES).expect("an archive of ours");
    opened.check_all().expect("every hash");
    opened
}

fn table(zip: &mut Zip, name: &str) -> Vec<Vec<String>> {
    let bytes = zip.read(&format!("csv/{name}.csv")).expect("the table");
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    reader.records().map(|row| row.expect("a row").iter().map(str::to_owned).collect()).collect()
}

fn json(zip: &mut Zip, path: &str) -> Value {
    serde_json::from_slice(&zip.read(path).expect("the file")).expect("JSON")
}

#[tokio::test]
async fn a_vision_teacher_takes_along_what_she_may_read() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let mut zip = takes(&world, &team.teacher, &team.at("/export"), &[("papers", "none")]).await;
    for (name, least) in [
        ("student", 1),
        ("people", 4),
        ("evaluations", 1),
        ("acuity", 1),
        ("refraction", 2),
        ("recommendations", 2),
        ("prescriptions", 1),
        ("devices", 2),
        ("loans", 1),
        ("sessions", 3),
        ("observations", 2),
        ("tasks", 1),
        ("summaries", 1),
        ("decisions", 1),
        ("consents", 2),
        ("disclosures", 1),
        ("texts", 5),
    ] {
        let rows = table(&mut zip, name);
        assert!(rows.len() >= least, "{name}: {} rows", rows.len());
    }
    let collection = json(&mut zip, "fhir/collection.json");
    assert_eq!(check::faults(&collection), []);
    // Every row is said by a resource that is there, or has its reason.
    let mut addresses: Vec<String> = addresses(&collection);
    let summaries: Vec<String> = zip
        .manifest()
        .files
        .iter()
        .map(|file| file.path.clone())
        .filter(|path| path.starts_with("fhir/summary-"))
        .collect();
    assert_eq!(summaries.len(), 1);
    let document = json(&mut zip, &summaries[0]);
    assert_eq!(check::faults(&document), []);
    addresses.extend(self::addresses(&document));
    let bytes = zip.read("fhir/rows.csv").expect("the list");
    let mut said = csv::Reader::from_reader(bytes.as_slice());
    let mut rows = 0;
    for row in said.records() {
        let row = row.expect("a row");
        rows += 1;
        let (resource, reason) = (&row[3], &row[4]);
        assert!(resource.is_empty() != reason.is_empty(), "{row:?}");
        assert!(resource.is_empty() || addresses.iter().any(|url| url == resource), "{row:?}");
    }
    let whole = json(&mut zip, "json/record.json");
    let tables = whole["tables"].as_object().expect("tables");
    assert_eq!(rows, tables.values().map(|table| table.as_array().expect("rows").len()).sum::<usize>());
    let left_out = zip.manifest().not_included.join("\n");
    assert!(left_out.contains("papers (PDF): none") && left_out.contains("drafts"), "{left_out}");
    // It is logged with its reason, and crosses nothing: it is the school's own.
    let account = team.teacher.actor().account.to_string();
    assert_eq!(world.logged("WholeRecord").await, [("export".to_owned(), account)]);
    let mut view = world.store().db().begin_read().await.expect("a view");
    let kept = sqlx::query("select outcome from audit where resource = 'WholeRecord'").fetch_one(&mut *view).await;
    assert_eq!(kept.expect("the line").get::<String, _>(0), REASON);
}

fn addresses(bundle: &Value) -> Vec<String> {
    let entries = bundle["entry"].as_array().expect("entries");
    entries.iter().map(|entry| entry["fullUrl"].as_str().expect("an address").to_owned()).collect()
}

#[tokio::test]
async fn a_clinician_takes_along_what_consents_cover_and_the_family_reads_so() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let mut zip = takes(&world, &team.clinician, &team.at("/export"), &PROGRAM).await;
    assert_eq!(table(&mut zip, "sessions").len(), 2, "the third is its writer's alone for a day");
    assert_eq!(check::faults(&json(&mut zip, "fhir/collection.json")), []);
    team.parent.opens(&team.at("/history")).await.ok().sees("Taken away: consent");
    // The consent is withdrawn: from then on nothing newer is in the file.
    world.withdraws(&team.parent, &team.pupil).await;
    let mut after = takes(&world, &team.clinician, &team.at("/export"), &PROGRAM).await;
    assert_eq!(table(&mut after, "sessions").len(), 0, "training is the school's again");
    assert_eq!(table(&mut after, "student")[0][4], "1", "and the name is initials");
}

#[tokio::test]
async fn a_parent_takes_it_along_on_a_right_of_their_own() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let mut zip = takes(&world, &team.parent, &team.at("/export"), &[("papers", "none")]).await;
    assert!(!table(&mut zip, "observations").is_empty());
    team.parent.opens(&team.at("/history")).await.ok().sees("Taken away: asked by a rights holder");
}

#[tokio::test]
async fn without_reason_or_password_nothing_leaves_and_what_was_typed_stays() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    let path = team.at("/export");
    let before = world.content().await;
    let page = team.teacher.presses(&path, "Make the file", &[("reason", ""), ("password", PASSWORD)]).await;
    page.refused("reason");
    let wrong = [("reason", REASON), ("text", "program"), ("password", "not this one")];
    let page = team.teacher.presses(&path, "Make the file", &wrong).await.refused("password");
    assert_eq!(page.value_of("reason").as_deref(), Some(REASON));
    assert_eq!(page.value_of("password").unwrap_or_default(), "");
    assert_eq!(world.content().await["disclosure"], before["disclosure"]);
    team.classroom.opens(&path).await.hidden();
    world.steward().await.opens(&path).await.hidden();
    let asked = [("reason", REASON), ("text", "program"), ("papers", "large"), ("password", PASSWORD)];
    team.classroom.submits(&path, &asked).await.hidden();
    let answer = team.teacher.opens(&team.at("/people")).await.ok();
    assert!(answer.links().iter().any(|(href, _)| *href == path), "a link leads there");
    let page = team.classroom.sends(Method::GET, &team.at("/people"), &[], HeaderMap::new()).await;
    assert!(!page.source().contains("/export"));
}

#[tokio::test]
async fn what_was_amended_is_there_with_both_texts_and_a_code_of_snomed_only_with_a_licence() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let signed = world.newest("prescription:state:active", &team.pupil).await.expect("a prescription");
    let amended = [("text_limits", "Sitting only."), ("amend_reason", "Standing was not meant.")];
    let correct = team.at(&format!("/prescription/{signed}/correct"));
    team.clinician.presses(&correct, "Amend it", &amended).await.redirected_to();
    let mut zip = takes(&world, &team.clinician, &team.at("/export"), &PROGRAM).await;
    let rows = table(&mut zip, "amendments");
    let row = rows.iter().find(|row| row[4] == signed).expect("the amendment of the prescription");
    assert_eq!((row[3].as_str(), row[7].as_str(), row[8].as_str()), ("prescription", "Sitting only.", amended[1].1));
    assert_ne!(row[6], row[7], "what stood there before is kept");
    let fhir = |zip: &mut Zip| json(zip, "fhir/collection.json").to_string();
    assert!(!fhir(&mut zip).contains("http://snomed.info/sct"));
    let steward = world.steward().await;
    steward.enters_password_again().await;
    steward.presses("/steward", "Save the settings", &[("snomed", "yes")]).await.redirected_to();
    let mut licensed = takes(&world, &team.clinician, &team.at("/export"), &PROGRAM).await;
    assert!(fhir(&mut licensed).contains("http://snomed.info/sct"));
}

#[tokio::test]
async fn seats_and_what_an_evaluation_found_besides_are_in_words() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::OwnDevice).await;
    let mut zip = takes(&world, &team.teacher, &team.at("/export"), &PROGRAM).await;
    let texts = table(&mut zip, "texts");
    let told = |kind: &str, field: &str| {
        texts.iter().find(|row| row[3] == kind && row[6] == field).map(|row| row[7].clone()).unwrap_or_default()
    };
    assert_eq!(told("evaluation", "Advice: Light"), "a lamp from the left");
    assert_eq!(told("evaluation", "Advice: Seat"), "second row");
    assert!(told("evaluation", "Contrast sensitivity").contains("6 %"), "{texts:?}");
    assert!(!told("seat", "Seat to board").is_empty(), "{texts:?}");
}
