//! The papers in the file that is taken along: those that its reader may print, each
//! the one that its own page gives.

use axum::body::Body;
use axum::http::{Request, header};
use sqlx::Row;
use tower::ServiceExt;

use super::pages::{Zip, takes};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

/// The bytes behind an address.
async fn fetched(world: &World, person: &Person, path: &str) -> Vec<u8> {
    let request = Request::builder().uri(path).header(header::COOKIE, person.cookie_line());
    let answer = world.router().oneshot(request.body(Body::empty()).expect("a request")).await.expect("an answer");
    assert_eq!(answer.status(), 200, "{path}");
    axum::body::to_bytes(answer.into_body(), 64 << 20).await.expect("a body").to_vec()
}

/// Where the page of a paper is, by the name of the paper in the file.
fn address(team: &Team, name: &str, size: &str) -> String {
    let (kind, id) = name.split_once('-').unwrap_or((name, ""));
    team.at(&match kind {
        "evaluation" => format!("/evaluations/{id}/paper.pdf?size={size}"),
        "report" => format!("/evaluations/paper/{id}/paper.pdf?size={size}"),
        "prescription" => format!("/prescription/{id}/paper.pdf?size={size}"),
        "summary" => format!("/summaries/{id}/paper.pdf?size={size}"),
        "card" => format!("/card/paper.pdf?size={size}"),
        "disclosures" => format!("/history/paper.pdf?size={size}"),
        other => panic!("a paper of kind {other}"),
    })
}

/// The papers of a file: the name of each, without its folder and its ending.
fn names(zip: &Zip) -> Vec<String> {
    let paths = zip.manifest().files.iter().map(|file| file.path.as_str());
    let within = paths.filter_map(|path| path.strip_prefix("papers/")?.strip_suffix(".pdf"));
    within.map(str::to_owned).collect()
}

/// How many papers there are of each kind.
fn kinds(names: &[String]) -> Vec<(&str, usize)> {
    let mut all: Vec<(&str, usize)> = Vec::new();
    for name in names {
        let kind = name.split('-').next().expect("a kind");
        match all.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, count)) => *count += 1,
            None => all.push((kind, 1)),
        }
    }
    all
}

async fn channels(world: &World) -> Vec<String> {
    let mut view = world.store().db().begin_read().await.expect("a view");
    let rows = sqlx::query("select channel from disclosure order by at, id").fetch_all(&mut *view).await;
    rows.expect("the record").iter().map(|row| row.get(0)).collect()
}

#[tokio::test]
async fn each_paper_in_the_file_is_the_one_that_its_page_gives() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    team.drafts_card().await;
    team.releases_card().await;
    // A day on, what was entered is no longer its writer's alone.
    world.days_later(1).await;
    team.parent.signs_in().await;
    let mut zip = takes(&world, &team.parent, &team.at("/export"), &[]).await;
    let found = names(&zip);
    assert_eq!(
        kinds(&found),
        [("evaluation", 1), ("prescription", 1), ("summary", 1), ("progress", 1), ("card", 1), ("disclosures", 1)]
    );
    for name in &found {
        let within = zip.read(&format!("papers/{name}.pdf")).expect("the paper");
        let path = match name.as_str() {
            "progress" => {
                let days = format!("from={}&to={}&size=large", world.day(-2), world.today());
                team.at(&format!("/training/report/paper.pdf?{days}"))
            }
            _ => address(&team, name, "large"),
        };
        let alone = fetched(&world, &team.parent, &path).await;
        assert!(within.starts_with(b"%PDF-1.7"), "{name}");
        assert!(within == alone, "{name}: {} bytes in the file, {} alone", within.len(), alone.len());
    }
    // In standard print they are other papers; and nobody has to take any.
    let mut standard = takes(&world, &team.parent, &team.at("/export"), &[("papers", "standard")]).await;
    let path = format!("papers/{}.pdf", found[1]);
    assert!(standard.read(&path).expect("the paper") != zip.read(&path).expect("the paper"));
    let none = takes(&world, &team.parent, &team.at("/export"), &[("papers", "none")]).await;
    assert_eq!(names(&none), Vec::<String>::new());
    assert!(none.manifest().not_included.iter().any(|words| words.starts_with("papers (PDF): none was wanted")));
}

#[tokio::test]
async fn nobody_finds_a_paper_that_they_could_not_print_and_each_kind_is_written_down_once() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let before = channels(&world).await;
    let clinic = takes(&world, &team.clinician, &team.at("/export"), &[]).await;
    assert_eq!(kinds(&names(&clinic)), [("evaluation", 1), ("prescription", 1), ("summary", 1)]);
    let after = channels(&world).await;
    let new: Vec<&String> = after.iter().skip(before.len()).collect();
    assert!(!new.is_empty() && new.iter().all(|channel| *channel == "export"), "{new:?}");
    // The school prints no prescription, and the draft of a card is no card.
    team.drafts_card().await;
    let school = takes(&world, &team.teacher, &team.at("/export"), &[]).await;
    assert_eq!(kinds(&names(&school)), [("summary", 1), ("progress", 1)]);
    for name in names(&school) {
        if name != "progress" {
            fetched(&world, &team.teacher, &address(&team, &name, "large")).await;
        }
    }
    // Withdrawn: what was sent while it was in force stays, and nothing newer comes.
    world.withdraws(&team.parent, &team.pupil).await;
    let clinic = takes(&world, &team.clinician, &team.at("/export"), &[]).await;
    assert!(names(&clinic).iter().all(|name| !name.starts_with("progress")), "{:?}", names(&clinic));
}

#[tokio::test]
async fn a_transcribed_report_is_among_the_papers() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    team.has_report_filed().await;
    let zip = takes(&world, &team.parent, &team.at("/export"), &[]).await;
    assert_eq!(kinds(&names(&zip)), [("report", 1), ("disclosures", 1)]);
    let name = names(&zip).remove(0);
    fetched(&world, &team.parent, &address(&team, &name, "standard")).await;
}
