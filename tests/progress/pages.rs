//! What each reader sees on the page of the training, at once after a session is
//! saved, and the proposal that fills in the next form.

use crate::lap::{DISTANCE, Step, Team};
use crate::page::{Page, css, words};
use crate::people::Person;
use crate::recompute::same_as_computed;
use crate::world::World;

/// What a family is spared.
const CLINICAL: [&str; 22] = [
    "interval",
    "median",
    "trend",
    "slope",
    "probability",
    "probe",
    "baseline",
    "logmar",
    "threshold",
    "acuity",
    "percentage",
    "autocorrelation",
    "prompt",
    "wilson",
    "theil",
    "growth",
    "mastery",
    "criterion",
    "series",
    "90 %",
    "accuracy",
    "session",
];

/// A team with a device on loan and the readiness list signed.
async fn ready(world: &World) -> Team {
    Team::up_to(world, &DISTANCE, Step::Ready).await
}

/// A session of one exercise in focusing with the device in hand.
async fn trains(team: &Team, changes: &[(&str, &str)]) -> String {
    let page = team.teacher.opens(&team.at("/training/new?track=distance")).await.ok();
    let device = page.choices_of("device").into_iter().find(|value| value != "none").expect("a device in hand");
    let mut fields = vec![
        ("device", device.as_str()),
        ("minutes", "20"),
        ("place", "quiet_room"),
        ("body", "seated"),
        ("e1_skill", "focusing"),
        ("e1_distance", "4 m"),
        ("e1_height", "4 cm"),
        ("e1_tries", "10"),
        ("e1_right", "10"),
        ("e1_prompt", "5"),
    ];
    for (field, value) in changes {
        fields.retain(|(name, _)| name != field);
        fields.push((field, value));
    }
    team.teacher.presses_on(&page, "Save the session", &fields).await.redirected_to()
}

/// Six sessions five days apart, each faster than the one before.
async fn trained(world: &World) -> Team {
    let team = ready(world).await;
    for time in ["12", "11", "9.5", "8.5", "7", "6.5"] {
        trains(&team, &[("e1_median", time)]).await;
        world.days_later(5).await;
    }
    team
}

/// The words of the progress parts, without what is folded away to recompute.
fn told(page: &Page) -> String {
    let html = page.html();
    let mut all = String::new();
    for section in html.select(&css("section.section")) {
        let mut text = words(section);
        for panel in section.select(&css(".asked, .how-body")) {
            text = text.replace(&words(panel), " ");
        }
        all.push_str(&text);
        all.push('\n');
    }
    all
}

#[tokio::test]
async fn a_saved_session_changes_the_next_view_and_every_figure_is_what_the_program_answers() {
    let world = World::new().await;
    let team = trained(&world).await;
    for person in [&team.teacher, &team.clinician] {
        let page = person.opens(&team.at("/training")).await.ok();
        // Wilson at 90 %: 10 of 10 from 10/(10 + 1.645²) = 79 %, 30 of 30 from 30/32.71 = 92 %.
        // The middle of 8.5, 7 and 6.5 s is 7 s.
        let page = page
            .sees("10 of 10 right (79 % to 100 %), typically 12 s a try")
            .sees("30 of 30 right (92 % to 100 %), typically 7 s a try")
            .sees("It gets better, from 6 sessions without help")
            .sees("Weekly growth: The pace (tries a minute at the typical time) changes \u{d7}");
        // Two stands with two ends and a time each, growth, slope, mastery, the rule.
        assert!(same_as_computed(&page) >= 15, "{}", same_as_computed(&page));
        // The same finding stands with the evidence.
        let evidence = person.opens(&team.at("/evidence")).await.ok();
        same_as_computed(
            &evidence.sees("Progress in training, distance track").sees("It gets better, from 6 sessions without help"),
        );
    }
    trains(&team, &[("e1_median", "2"), ("e1_right", "4")]).await;
    let page = team.teacher.opens(&team.at("/training")).await.ok();
    // Four of ten: no typical time, so the share takes the place of the seconds.
    let page =
        page.sees("24 of 30 right").lacks("It gets better, from 6 sessions").sees("Right of tried; higher is better");
    same_as_computed(&page);
}

/// How often words stand on the paper of the progress report.
async fn on_paper(person: &Person, team: &Team, said: &str) -> usize {
    let page = person.opens(&team.at("/training/report")).await.ok();
    let paper = farpoint::pdf::read::read(page.source()).expect("a page that has a place on paper");
    format!("{:?}", paper.blocks).matches(said).count()
}

#[tokio::test]
async fn on_paper_it_is_said_once_how_the_figures_came_about() {
    let world = World::new().await;
    let team = trained(&world).await;
    let page = team.teacher.opens(&team.at("/training/report")).await.ok();
    assert!(page.source().matches("How this was computed").count() >= 1, "each skill says it on a screen");
    assert_eq!(on_paper(&team.teacher, &team, "How this was computed").await, 0);
    assert_eq!(on_paper(&team.teacher, &team, "How the figures were computed").await, 1);
    assert_eq!(on_paper(&team.parent, &team, "How we got the seconds").await, 1);
    assert!(on_paper(&team.parent, &team, "Arithmetic from the numbers shown").await >= 1);
}

#[tokio::test]
async fn a_family_reads_the_same_finding_in_plain_words_once_the_entry_is_locked() {
    let world = World::new().await;
    let team = trained(&world).await;
    let page = team.parent.opens(&team.at("/training")).await.ok();
    let page = page
        .sees("Making it sharp")
        .sees("It is getting better")
        .sees("At first: 10 of 10 right, about 12 seconds each.")
        .sees("In the last 3 practices without help: 30 of 30 right, about 7 seconds each.");
    let said = told(&page).to_lowercase();
    let clinical: Vec<&str> = CLINICAL.into_iter().filter(|word| said.contains(word)).collect();
    assert!(clinical.is_empty(), "{clinical:?} in {said}");
    assert!(same_as_computed(&page) >= 2);
    assert!(page.links().iter().all(|(to, _)| !to.contains("next=")));
    // A new entry says nothing to a family before its lock.
    trains(&team, &[("e1_median", "2"), ("e1_right", "4")]).await;
    team.parent.opens(&team.at("/training")).await.ok().sees("30 of 30 right").lacks("24 of 30");
    team.clinician.opens(&team.at("/training")).await.ok().sees("30 of 30 right").lacks("24 of 30");
}

#[tokio::test]
async fn what_would_be_enough_is_said_and_drawn_before_there_is_a_trend() {
    let world = World::new().await;
    let team = ready(&world).await;
    team.teacher.opens(&team.at("/training")).await.ok().lacks("Progress by skill");
    trains(&team, &[("baseline", "yes"), ("e1_right", "3"), ("e1_median", "19")]).await;
    world.days_later(3).await;
    trains(&team, &[("e1_prompt", "3"), ("e1_median", "12")]).await;
    world.days_later(4).await;
    trains(&team, &[("e1_right", "8"), ("e1_median", "9")]).await;
    let page = team.teacher.opens(&team.at("/training")).await.ok();
    let page = page
        .sees("before training (1 probe) 3 of 10 right (13 % to 56 %), no typical time, for half or more was not right")
        .sees("it needs 6 sessions (there are 1) and 21 days from the first to the last (there are 0)")
        .sees("it needs 3 sessions before (there are 1) and 3 sessions during (there are 1)")
        .sees("training begins")
        .sees("no trend yet")
        .sees("Exercises counted apart, in no figure: 1 with help.");
    let table = page.table("Focusing, 6");
    assert_eq!(table.rows.len(), 3, "{table:?}");
    assert!(table.rows[0][0].ends_with("(probe)") && table.rows[0][2] == "half or more not right", "{table:?}");
    same_as_computed(&page);
}

#[tokio::test]
async fn the_proposal_fills_in_the_form_and_stores_nothing_by_itself() {
    let world = World::new().await;
    let team = ready(&world).await;
    trains(&team, &[("e1_right", "3"), ("e1_median", "9")]).await;
    trains(&team, &[("e1_right", "4"), ("e1_median", "9")]).await;
    let stored = async || {
        let mut content = world.content().await;
        // Reading is written down; nothing else is.
        content.remove("disclosure");
        content
    };
    let before = stored().await;
    let page = team.teacher.opens(&team.at("/training")).await.ok();
    let page = page
        .sees("For the next session")
        .sees("Focusing is the first skill of the order that is not steady yet.")
        .sees("Larger than last time, because less than four of five is expected there.")
        .sees("A proposal. Nothing is recorded before you save the form");
    same_as_computed(&page);
    let form = team.teacher.opens(&page.link("Take focusing over into a new session")).await.ok();
    let form = form.sees("Filled in from the proposal");
    assert_eq!(stored().await, before);
    let typed = form.values();
    assert_eq!(typed["e1_skill"], "focusing");
    assert_eq!((typed["e1_distance"].as_str(), typed["e1_tries"].as_str()), ("4 m", "10"));
    let tall: f64 = typed["e1_height"].strip_suffix(" cm").expect("centimetres").parse().expect("a number");
    assert!(tall > 4.0 && page.seen().contains(&format!("small letters {tall} cm tall from 4 m")), "{tall}");
    assert!(typed["device"].starts_with("loan:"));
    // Nothing was tried yet, so the count asks for what was right; all of it can be changed.
    team.teacher.presses_on(&form, "Save the session", &[("e1_prompt", "5")]).await.refused("e1_right");
    let fields = [("e1_prompt", "5"), ("e1_tries", "6"), ("e1_right", "5"), ("e1_height", "5 cm")];
    let place = team.teacher.presses_on(&form, "Save the session", &fields).await.redirected_to();
    team.teacher.opens(&place).await.ok().sees("5 of 6 right");
    // An address with a number that is no proposal is an ordinary form.
    for odd in ["9", "0", "x"] {
        team.teacher
            .opens(&team.at(&format!("/training/new?track=distance&next={odd}")))
            .await
            .ok()
            .lacks("Filled in from the proposal");
    }
}

#[tokio::test]
async fn where_a_gate_stands_nothing_is_proposed_and_only_the_teacher_is_offered_anything() {
    let world = World::new().await;
    let team = ready(&world).await;
    trains(&team, &[]).await;
    world.days_later(2).await;
    for person in [&team.clinician, &team.parent] {
        let page = person.opens(&team.at("/training")).await.ok().lacks("For the next session");
        assert!(page.links().iter().all(|(to, _)| !to.contains("next=")));
    }
    team.teacher.opens(&team.at("/training")).await.ok().sees("Take focusing over into a new session");
    team.parent.presses(&team.at("/safety"), "Send the red flag", &[("sign", "rf1")]).await.redirected_to();
    let paused = team.teacher.opens(&team.at("/training")).await.ok();
    let paused = paused.sees("For the next session").lacks("Take focusing over");
    assert!(paused.links().iter().all(|(to, _)| !to.contains("next=")));
    let form = team.teacher.opens(&team.at("/training/new?track=distance&next=1")).await.ok();
    form.lacks("Filled in from the proposal");
}
