//! Reading goals and marker contrasts as settings: the site's, and what was
//! measured with one student. Figures by hand beside each check.

use std::path::Path;

use crate::lap::{DISTANCE, Step, Team};
use crate::page::Page;
use crate::people::Person;
use crate::world::World;

const MEASURED: &str = "measured ratio of comfortable to threshold print";

async fn sets(steward: &Person, fields: &[(&str, &str)]) {
    steward.enters_password_again().await;
    steward.presses("/steward", "Save the settings", fields).await.redirected_to();
}

async fn measures(team: &Team, copy: &str, source: &str) -> Page {
    let fields = [("copy", copy), ("copy_source", source)];
    team.teacher.presses(&team.at("/tasks"), "Save the reading goals", &fields).await.redirected_to();
    team.teacher.opens(&team.at("/tasks")).await.ok()
}

/// The classroom teacher saw it read without a device; gives the entry's address.
async fn looks_without_a_device(team: &Team) -> String {
    let page = team.classroom.opens(&team.at("/observations/new")).await.ok();
    let task = page.choices_of("task").into_iter().next().expect("something to look at");
    let fields = [("device_out", "not_needed"), ("correct", "3"), ("tried", "8"), ("task", task.as_str())];
    team.classroom.presses_on(&page, "Save", &fields).await.redirected_to()
}

/// Every page whose figure rests on the reserve to copy.
async fn figures(team: &Team, seen: &str) -> [Page; 4] {
    let tasks = team.teacher.opens(&team.at("/tasks")).await.ok();
    let (options, _) = tasks.links().into_iter().find(|(to, _)| to.ends_with("/options")).expect("the options");
    let options = team.teacher.opens(&options).await.ok();
    let observation = team.teacher.opens(seen).await.ok();
    let card = team.teacher.opens(&team.at("/card/edit")).await.ok();
    [tasks, options, observation, card]
}

#[tokio::test]
async fn the_sites_goal_and_then_the_students_reach_every_figure() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let seen = looks_without_a_device(&team).await;
    let steward = world.steward().await;
    let [tasks, options, observation, card] = figures(&team, &seen).await;
    tasks.sees("2.5 needed").sees("2.5 times the size (default, common practice)");
    options.sees("2.5 times the size (default, common practice)");
    observation.sees("the 2.5:1 for").sees("2.5:1 (default, common practice)");
    card.sees("2.5:1 (default, common practice)");

    sets(&steward, &[("goal_copy_acuity", "3")]).await;
    let [tasks, options, observation, card] = figures(&team, &seen).await;
    tasks.sees("3.0 needed").sees("3.0 times the size (site's setting)").lacks("2.5 needed");
    options.sees("3.0 times the size (site's setting)");
    observation.sees("the 3.0:1 for").sees("3:1 (site's setting)");
    card.sees("3:1 (site's setting)");

    measures(&team, "3,25", MEASURED).await;
    let own = "goal of this student, set by";
    let [tasks, options, observation, card] = figures(&team, &seen).await;
    tasks.sees("3.25 needed").sees(&format!("3.25 times the size ({own}")).sees(MEASURED).lacks("3.0 needed");
    options.sees(&format!("3.25 times the size ({own}"));
    observation.sees("the 3.25:1 for").sees(&format!("3.25:1 ({own}"));
    card.sees(&format!("3.25:1 ({own}"));
    // Plain words for a family, no reserve.
    team.parent.opens(&team.at("/tasks")).await.ok().lacks("Reading goals of this student").lacks("3.25");
}

#[tokio::test]
async fn the_sites_contrast_of_a_marker_reaches_the_figure() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let steward = world.steward().await;
    // 0.90 over 6 %: 15 times; 0.5 over 6 %: 8.3 times.
    team.teacher.opens(&team.at("/tasks")).await.ok().sees("contrast 15.0 times the threshold, 10 needed");
    sets(&steward, &[("marker_black_on_white", "0.5"), ("goal_copy_contrast", "7.5")]).await;
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    page.sees("contrast 8.3 times the threshold, 7.5 needed")
        .sees("0.50 Weber, from the table of markers (site's setting)")
        .sees("7.5 times the contrast (site's setting)");
}

#[tokio::test]
async fn a_change_keeps_both_texts_and_an_emptied_reserve_is_the_sites_again() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    measures(&team, "3.2", MEASURED).await;
    let page = measures(&team, "4", "measured again in spring").await;
    page.sees("What was amended").sees(&format!("3.2 times the threshold size: {MEASURED}")).sees("4.0 needed");
    let page = measures(&team, "", "").await;
    page.sees("2.5 needed").sees("4 times the threshold size: measured again in spring").sees("as the site");
    // A page from before somebody else's change does not undo it.
    let old = team.teacher.opens(&team.at("/tasks")).await.ok();
    measures(&team, "5", MEASURED).await;
    let late = [("copy", "6"), ("copy_source", "another")];
    team.teacher.presses_on(&old, "Save the reading goals", &late).await.status(409);
    team.teacher.opens(&team.at("/tasks")).await.ok().sees("5.0 needed");
}

#[tokio::test]
async fn a_reserve_that_cannot_be_or_has_no_source_is_refused_beside_its_field() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    for (copy, source, field) in [
        ("0.5", MEASURED, "copy"),
        ("11", MEASURED, "copy"),
        ("1e999", MEASURED, "copy"),
        ("NaN", MEASURED, "copy"),
        ("much", MEASURED, "copy"),
        ("", MEASURED, "copy"),
        ("3.2", "", "copy_source"),
    ] {
        let fields = [("copy", copy), ("copy_source", source)];
        let page = team.teacher.presses(&team.at("/tasks"), "Save the reading goals", &fields).await.refused(field);
        assert_eq!(page.value_of("copy").unwrap_or_default(), copy);
        assert_eq!(page.value_of("copy_source").unwrap_or_default(), source);
    }
    // Opening the page is told in the disclosure record; nothing else is written.
    assert_eq!([world.count("reading_goal").await, world.count("amendment").await], [0, 0]);
}

#[tokio::test]
async fn only_a_vision_teacher_of_the_team_sets_the_goals_of_a_student() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let stranger = world.vision_teacher().await;
    let before = world.content().await;
    let fields = [("copy", "3"), ("copy_source", MEASURED), ("version", "0")];
    for person in [&team.classroom, &team.parent, &team.clinician, &stranger] {
        let code = person.submits(&team.at("/tasks/goals"), &fields).await.code();
        assert!([403, 404].contains(&code), "{code}");
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_setting_out_of_its_range_is_refused_and_a_default_is_not_stored() {
    let world = World::new().await;
    let steward = world.steward().await;
    sets(&steward, &[]).await;
    let stored = world.count("setting").await;
    let before = world.content().await;
    for (field, value) in [
        ("goal_copy_acuity", "0.9"),
        ("goal_name_it_acuity", "10.5"),
        ("goal_phrase_contrast", "31"),
        ("marker_faint", "0.04"),
        ("marker_red_on_white", "1.01"),
        ("marker_red_on_white", "sixty"),
        ("retention_years", "0"),
        ("retention_years", "forever"),
    ] {
        let page = steward.presses("/steward", "Save the settings", &[(field, value)]).await.refused(field);
        assert_eq!(page.value_of(field).as_deref(), Some(value));
    }
    assert_eq!(world.content().await, before);

    let defaults = [("goal_copy_acuity", "2.5"), ("marker_faint", "0.30"), ("retention_years", "5")];
    sets(&steward, &defaults).await;
    assert_eq!(world.count("setting").await, stored);
    sets(&steward, &[("goal_copy_acuity", "3"), ("retention_years", "7"), ("units", "imperial")]).await;
    assert_eq!(world.count("setting").await, stored + 3);
    let page = steward.opens("/steward").await.ok();
    assert_eq!(page.value_of("retention_years").as_deref(), Some("7"));
    sets(&steward, &[("goal_copy_acuity", ""), ("retention_years", ""), ("units", "metric")]).await;
    assert_eq!(world.count("setting").await, stored);
}

#[test]
fn no_page_brings_goals_or_markers_of_its_own() {
    fn walk(folder: &Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(&path, found);
            } else {
                let text = std::fs::read_to_string(&path).expect("a source");
                if ["Goals::default()", "MarkerTable::default()"].iter().any(|own| text.contains(own)) {
                    found.push(path.display().to_string());
                }
            }
        }
    }
    let mut found = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/web"), &mut found);
    assert!(found.is_empty(), "store::goal::of says which reserves count: {found:?}");
}
