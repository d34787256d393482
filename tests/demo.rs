//! The demo: it fills once, everybody can sign in, and each student is where the
//! README says.

use std::collections::BTreeSet;

use farpoint::demo::{PASSWORD, fill, sign_ins};
use farpoint::store::{Audit, setting};
use tokio::sync::OnceCell;

use crate::page::Page;
use crate::people::Person;
use crate::world::{Frozen, World};

/// Everybody, by what they type to sign in.
const PEOPLE: [&str; 15] = [
    "marisol", "dev", "lucille", "petra", "ambrose", "noor", "chiamaka", "rosalba", "thandeka", "hanae", "niamh",
    "benedita", "gideon", "thaddeus", "ines",
];

/// A world in which the demo was started; it is filled once, and each gets a copy.
pub(crate) async fn filled() -> World {
    static FILLED: OnceCell<Frozen> = OnceCell::const_new();
    let fill_one = async || {
        let world = World::new().await;
        fill(world.app()).await.unwrap_or_else(|error| panic!("{error:#}"));
        world.frozen().await
    };
    FILLED.get_or_init(fill_one).await.thawed().await
}

pub(crate) async fn signed_in(world: &World, sign_in: &str) -> Person {
    let person = world.stranger();
    let to =
        person.presses("/sign-in", "Sign in", &[("sign_in", sign_in), ("password", PASSWORD)]).await.redirected_to();
    assert_eq!(to, "/today", "{sign_in}");
    person
}

/// What Today says of one student: from the name to the links that name it again.
fn row(today: &Page, name: &str) -> String {
    let seen = today.seen();
    let end = format!("Record a session for {name}");
    let (before, _) = seen.split_once(&end).unwrap_or_else(|| panic!("{name} is not on Today: {seen}"));
    before.rsplit_once(name).unwrap_or_else(|| panic!("{name}: {seen}")).1.to_owned()
}

#[tokio::test]
async fn each_student_is_at_the_stage_that_the_demo_promises() {
    let world = filled().await;
    let marisol = signed_in(&world, "marisol").await;
    let today = marisol.opens("/today").await.ok();
    for (name, stages, says) in [
        ("Lucia Quintanar", ["Distance: awaiting evaluation", "Near: awaiting evaluation"], "sign the consent"),
        (
            "Kwame Adeyinka-Voss",
            ["Distance: no device advised", "Near: summary with clinician"],
            "decide on the training summary",
        ),
        (
            "Ifeoma Tamsin-Okafor",
            ["Distance: own device", "Near: no device advised"],
            "Train with the student\u{2019}s own device",
        ),
        (
            "Saoirse Lindqvist",
            ["Distance: waiting for a loan", "Near: summary with clinician"],
            "Lend a matching device",
        ),
        ("Mateus Oduya", ["Distance: own device", "Near: own device"], "back from repair"),
        ("Jonah Farrow-Ito", ["Distance: training on loan", "Near: no device advised"], "Paused for safety"),
    ] {
        let row = row(&today, name);
        assert!(row.contains(says), "{name}: {says} is not in: {row}");
        let shown = marisol.opens(&today.link(name)).await.ok().stages();
        for stage in stages {
            assert!(shown.iter().any(|one| one == stage), "{name}: {stage} is not in {shown:?}");
        }
    }
}

#[tokio::test]
async fn everybody_signs_in_and_whoever_is_printed_is_somebody() {
    let world = filled().await;
    for sign_in in PEOPLE {
        signed_in(&world, sign_in).await.opens("/today").await.ok();
    }
    let printed: Vec<String> = sign_ins()
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().last().map(str::to_owned))
        .collect();
    assert_eq!(printed.len(), 5, "one for each role: {printed:?}");
    assert!(printed.iter().all(|sign_in| PEOPLE.contains(&sign_in.as_str())), "{printed:?}");
}

#[tokio::test]
async fn a_parent_under_a_court_order_is_sent_to_the_office_and_the_team_sees_a_flag() {
    let world = filled().await;
    let today = signed_in(&world, "gideon").await.opens("/today").await.ok();
    today.sees("Please ask the school office").lacks("Jonah").lacks("/students/");
    let marisol = signed_in(&world, "marisol").await;
    let jonah = marisol.opens("/today").await.ok().link("Jonah Farrow-Ito");
    marisol.opens(&jonah).await.ok().sees("An access limit is on file");
    let hanae = signed_in(&world, "hanae").await;
    hanae.opens(&jonah).await.ok().sees("Jonah").lacks("limit is on file");
}

#[tokio::test]
async fn a_room_plan_shows_seats_of_all_three_kinds() {
    let world = filled().await;
    let marisol = signed_in(&world, "marisol").await;
    let jonah = marisol.opens("/today").await.ok().link("Jonah Farrow-Ito");
    let tasks = marisol.opens(&format!("{jonah}/tasks")).await.ok();
    let page = marisol.opens(&tasks.link("Room plan for Sentences in English")).await.ok();
    // 10/60 and, through the telescope, 10/20: a phrase needs 60 and 20 minutes of arc.
    // 48 mm at the far edge of 8 ft: 62 from the middle of the first row, 6 ft away, and
    // 20 or more in four rows and in the middle of the fifth.
    page.sees("of 30 seats: 1 without a device, 22 more with the lent 4× monocular handheld telescope, 7 not.").sees(
        "Quiet side: right of the middle, facing the board. Why: the better eye and the side away from the windows.",
    );
}

#[tokio::test]
async fn a_second_start_keeps_what_was_entered() {
    let world = filled().await;
    let dev = signed_in(&world, "dev").await;
    let links = dev.opens("/today").await.ok().links();
    let (ifeoma, _) = links.iter().find(|(_, words)| words == "Ifeoma Tamsin-Okafor").unwrap();
    dev.presses(&format!("{ifeoma}/thread"), "Send", &[("to", "note"), ("body", "She chose row 4 today.")])
        .await
        .redirected_to();
    let before = world.content().await;
    fill(world.app()).await.unwrap();
    assert_eq!(world.content().await, before);
    dev.opens(&format!("{ifeoma}/thread")).await.ok().sees("She chose row 4 today.");
}

#[tokio::test]
async fn no_session_of_the_stories_outlives_them_and_the_clock_is_the_services_own() {
    let world = filled().await;
    assert_eq!(world.count("session").await, 0);
    // A Wednesday: the stories end on the Monday before it.
    let marisol = signed_in(&world, "marisol").await;
    marisol.opens("/today").await.ok().sees("Wednesday 16 September").lacks("17 September").lacks("18 September");
}

#[tokio::test]
async fn a_filling_that_was_interrupted_is_noticed() {
    let world = World::new().await;
    let mut tx = world.store().tx().await.unwrap();
    setting::put_by_operator(&mut tx, "demo", "filling").await.unwrap();
    tx.commit(Audit::operator("begin the demo")).await.unwrap();
    let before = world.content().await;
    let error = fill(world.app()).await.unwrap_err().to_string();
    assert!(error.contains("interrupted") && error.contains("Delete the data folder"), "{error}");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn an_installation_is_never_filled() {
    let world = World::new().await;
    world.steward().await;
    let before = world.content().await;
    let error = fill(world.app()).await.unwrap_err().to_string();
    assert!(error.contains("an installation") && error.contains("--data"), "{error}");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn every_link_that_a_person_is_shown_leads_to_a_page() {
    let world = filled().await;
    for (sign_in, fewest) in [("marisol", 200), ("dev", 15), ("chiamaka", 40), ("noor", 150)] {
        let person = signed_in(&world, sign_in).await;
        let mut met = BTreeSet::new();
        let mut ahead = vec!["/today".to_owned()];
        while let Some(path) = ahead.pop() {
            if !met.insert(path.clone()) {
                continue;
            }
            let page = person.opens(&path).await;
            // The address of the site leads on to Today.
            if path != "/" {
                let page = page.ok();
                let below = page.links().into_iter().filter_map(|(to, _)| to.split('#').next().map(str::to_owned));
                ahead.extend(below.filter(|to| to.starts_with('/')));
            }
        }
        assert!(met.len() > fewest, "{sign_in} met {} pages", met.len());
    }
}

/// The clinic's words that no page of a classroom teacher may hold, not even
/// where nobody looks: the card has what she needs.
const CLINICAL: [&str; 8] =
    ["acuity", "logmar", "reserve", "power", "magnification", "dioptre", "refraction", "diagnosis"];

#[tokio::test]
async fn no_page_of_a_classroom_teacher_holds_a_clinical_word_anywhere_in_its_source() {
    let world = filled().await;
    for (sign_in, fewest) in [("dev", 15), ("lucille", 15), ("petra", 15), ("ambrose", 15)] {
        let person = signed_in(&world, sign_in).await;
        let mut met = BTreeSet::new();
        let mut ahead = vec!["/today".to_owned()];
        while let Some(path) = ahead.pop() {
            if path == "/" || !met.insert(path.clone()) {
                continue;
            }
            let page = person.opens(&path).await.ok();
            let source = page.source().to_lowercase();
            let words: Vec<&str> = source.split(|c: char| !c.is_ascii_alphanumeric()).collect();
            let found: Vec<_> = CLINICAL.iter().filter(|word| words.contains(word)).collect();
            assert!(found.is_empty(), "{sign_in} finds {found:?} on {path}");
            let below = page.links().into_iter().filter_map(|(to, _)| to.split('#').next().map(str::to_owned));
            ahead.extend(below.filter(|to| to.starts_with('/') && !to.starts_with("/static/")));
        }
        assert!(met.len() > fewest, "{sign_in} met {} pages", met.len());
    }
}
