//! A records officer ends the pause on an eye doctor's written note (G9).

use super::{content, uploads};
use crate::lap::{DISTANCE, Step, Team};
use crate::paper::files::pdf;
use crate::people::PASSWORD;
use crate::world::World;

const PAUSED: &str = "Device training is paused until an eye doctor says it is safe.";
const ATTACH: &str = "Attach the note and end the pause";

async fn paused() -> (World, Team) {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    let flag = [("sign", "rf4"), ("note", "says the eye hurts")];
    team.parent.presses(&team.at("/safety"), "Send the red flag", &flag).await.redirected_to();
    (world, team)
}

fn whole(day: &str) -> Vec<(&str, &str)> {
    vec![("doctor", "Dr Imre Solanke"), ("note_on", day), ("password", PASSWORD)]
}

#[tokio::test]
async fn the_note_ends_the_pause_and_the_officer_reads_nothing_of_the_flag() {
    let (world, team) = paused().await;
    let steward = world.steward().await;
    let page = steward.opens(&team.at("/safety")).await.ok().sees(PAUSED);
    let form = page.lacks("Bad eye pain").link("Attach an eye doctor's written note");
    steward.opens(&form).await.ok().sees(PAUSED).lacks("Bad eye pain").lacks("says the eye hurts");
    let (today, scan) = (world.day(0), pdf());
    let file = Some(("scan", "note.pdf", scan.as_slice()));
    uploads(&world, &steward, (&form, ATTACH), &whole(&today), file).await.redirected_to();
    steward.opens(&team.at("/safety")).await.ok().lacks(PAUSED).lacks("Attach an eye doctor");
    let page = team.parent.opens(&team.at("/safety")).await.ok().lacks(PAUSED);
    let page = page.sees("On the written note of Dr Imre Solanke, of 2026-09-16").sees(&steward.name);
    let link = page.links().into_iter().find(|(href, _)| href.contains("/attachments/")).expect("the note").0;
    for person in [&team.parent, &team.teacher] {
        person.opens(&link).await.status(200);
    }
    // The table gives the officer the pause and no flag; the class no note; the clinic none before a consent.
    for person in [&steward, &team.classroom, &team.clinician] {
        person.opens(&link).await.hidden();
    }
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Red flag cleared");
}

#[tokio::test]
async fn one_note_ends_every_pause_raised_by_its_day() {
    let (world, team) = paused().await;
    world.days_later(2).await;
    team.teacher.presses(&team.at("/safety"), "Send the red flag", &[("sign", "rf5")]).await.redirected_to();
    let steward = world.steward().await;
    let path = team.at("/safety/note");
    let (too_old, today, scan) = (world.day(-1), world.day(0), pdf());
    let file = Some(("scan", "note.pdf", scan.as_slice()));
    let before = content(&world).await;
    let page = uploads(&world, &steward, (&path, ATTACH), &whole(&too_old), file).await.refused("note_on");
    assert_eq!(page.value_of("doctor").as_deref(), Some("Dr Imre Solanke"));
    assert_eq!(content(&world).await, before);
    uploads(&world, &steward, (&path, ATTACH), &whole(&today), file).await.redirected_to();
    team.classroom.opens(&team.at("/safety")).await.ok().lacks(PAUSED);
    assert_eq!(world.count("attachment").await, 2);
}

#[tokio::test]
async fn without_the_note_the_doctor_the_date_or_the_password_the_pause_stands() {
    let (world, team) = paused().await;
    let steward = world.steward().await;
    let path = team.at("/safety/note");
    let (today, tomorrow, scan) = (world.day(0), world.day(1), pdf());
    let before = content(&world).await;
    let file = Some(("scan", "note.pdf", scan.as_slice()));
    for (field, wrong) in
        [("doctor", ""), ("note_on", ""), ("note_on", tomorrow.as_str()), ("password", "wrong"), ("password", "")]
    {
        let mut fields = whole(&today);
        fields.retain(|(name, _)| *name != field);
        fields.push((field, wrong));
        uploads(&world, &steward, (&path, ATTACH), &fields, file).await.refused(field).refused("scan");
    }
    uploads(&world, &steward, (&path, ATTACH), &whole(&today), None).await.refused("scan");
    let letter = Some(("scan", "note.pdf", &b"Dear colleague, all is well"[..]));
    uploads(&world, &steward, (&path, ATTACH), &whole(&today), letter).await.refused("scan");
    assert_eq!(content(&world).await, before);
    assert_eq!(world.count("attachment").await, 0);
    team.parent.opens(&team.at("/safety")).await.ok().sees(PAUSED);
}

#[tokio::test]
async fn nobody_else_ends_a_pause_by_a_note() {
    let (world, team) = paused().await;
    let path = team.at("/safety/note");
    let scan = pdf();
    let before = content(&world).await;
    for person in [&team.teacher, &team.classroom, &team.parent, &team.clinician] {
        person.opens(&path).await.hidden();
        let csrf = person.known_csrf().expect("a page was seen");
        let day = world.day(0);
        let mut fields = whole(&day);
        fields.push(("csrf", &csrf));
        let pairs: Vec<(String, String)> =
            fields.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
        let file = Some(("scan", "note.pdf", scan.as_slice()));
        super::sends_file(&world, person, &path, &pairs, file).await.hidden();
    }
    assert_eq!(content(&world).await, before);
}
