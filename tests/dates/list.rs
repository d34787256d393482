//! The first screen gathers for the whole list at once, and still shows each
//! student what is theirs, each by a proof of their own.

use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::people::Person;
use crate::world::{Pupil, World};

/// A second student on the same people's list, at another place of the way.
async fn another(world: &World, team: &Team) -> Pupil {
    let pupil = world.student_of(&team.teacher).await;
    for person in [&team.classroom, &team.parent, &team.clinician] {
        world.joins(person, &pupil, &team.teacher).await;
    }
    pupil
}

/// The words of the list about one student.
async fn about(person: &Person, pupil: &Pupil) -> String {
    let html = person.opens("/today").await.ok().html();
    let (entry, link) = (crate::page::css("ul.entries > li"), crate::page::css("a[href]"));
    let href = pupil.at("");
    let found = html
        .select(&entry)
        .find(|entry| entry.select(&link).any(|one| one.attr("href").is_some_and(|to| to.starts_with(&href))));
    found.map(crate::page::words).unwrap_or_else(|| panic!("{} is not on the list of {}", pupil.id, person.name))
}

#[tokio::test]
async fn every_line_is_about_its_own_student() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let fresh = another(&world, &team).await;
    let (trained, new) = (about(&team.teacher, &team.pupil).await, about(&team.teacher, &fresh).await);
    assert!(trained.contains("Training on loan") && trained.contains("Classroom:"), "{trained}");
    assert!(new.contains("Intake") && !new.contains("Classroom:") && !new.contains("Training"), "{new}");

    let flag = [("sign", "rf4"), ("note", "")];
    team.parent.presses(&fresh.at("/safety"), "Send the red flag", &flag).await.redirected_to();
    assert!(about(&team.teacher, &fresh).await.contains("Paused for safety"));
    assert!(!about(&team.teacher, &team.pupil).await.contains("Paused for safety"));

    // Both lines say what the overviews say.
    for pupil in [&team.pupil, &fresh] {
        let overview = team.teacher.opens(&pupil.at("")).await.ok();
        let line = about(&team.teacher, pupil).await;
        for stage in overview.stages() {
            let stage = stage.rsplit(": ").next().unwrap_or(&stage).to_lowercase();
            let nobody_looked = stage == "intake" && !line.contains("Intake");
            assert!(nobody_looked || line.to_lowercase().contains(&stage), "{stage} is not in {line}");
        }
    }
}

#[tokio::test]
async fn a_clinician_sees_initials_on_the_line_without_a_consent_and_the_name_on_the_other() {
    let world = World::new().await;
    let team = Team::up_to(&world, &NEAR, Step::Consented).await;
    let fresh = another(&world, &team).await;
    let named = about(&team.clinician, &team.pupil).await;
    assert!(named.contains(&team.pupil.name), "{named}");
    let waiting = about(&team.clinician, &fresh).await;
    assert!(!waiting.contains("Wren") && waiting.contains("Waiting for consent"), "{waiting}");
}

#[tokio::test]
async fn what_a_list_takes_across_is_written_down_for_each_student() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let fresh = another(&world, &team).await;
    world.consents(&team.parent, &fresh).await;
    let third = another(&world, &team).await;
    let rows = async |pupil: &Pupil| {
        let page = team.parent.opens(&pupil.at("/history")).await.ok();
        page.seen().matches(" Stage ").count()
    };
    let before = [rows(&team.pupil).await, rows(&fresh).await, rows(&third).await];
    team.clinician.opens("/today").await.ok();
    let after = [rows(&team.pupil).await, rows(&fresh).await, rows(&third).await];
    assert_eq!(after, [before[0] + 1, before[1] + 1, before[2]]);
}

#[tokio::test]
async fn one_record_kept_from_a_parent_leaves_the_others_on_the_list() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    let kept = another(&world, &team).await;
    world.limits(&team.parent, &kept).await;
    let page = team.parent.opens("/today").await.ok().sees("Please ask the school office");
    page.lacks(&kept.id.to_string()).sees(&team.pupil.name);
    // A question about the record that is kept is not on the list either.
    let question = [("to", "parent"), ("body", "Does she squint at the television?")];
    team.teacher.presses(&kept.at("/thread"), "Send", &question).await.redirected_to();
    team.parent.opens("/today").await.ok().lacks("squint");
    let about_other = [("to", "parent"), ("body", "Where does she sit at home?")];
    team.teacher.presses(&team.at("/thread"), "Send", &about_other).await.redirected_to();
    team.parent.opens("/today").await.ok().sees("Where does she sit at home?");
}

#[tokio::test]
async fn a_question_to_the_parents_waits_with_their_access() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let question = [("to", "parent"), ("body", "Does she squint at the television?")];
    team.teacher.presses(&team.at("/thread"), "Send", &question).await.redirected_to();
    team.parent.opens("/today").await.ok().sees("squint");
    world.turns(18, &team.pupil, &team.teacher).await;
    team.parent.opens("/today").await.ok().lacks("squint");
}
