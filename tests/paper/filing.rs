//! From a report on paper to a device on loan, and what a report must state first
//! (G2).

use super::story::HEAD;
use crate::lap::{DISTANCE, Step, Team};
use crate::page::Page;
use crate::world::World;

const UNCONFIRMED: &str = "transcribed, not confirmed";

fn tells(page: Page) -> Page {
    let seen = page.seen().to_lowercase();
    assert!(seen.contains(UNCONFIRMED), "{}\n{}", page.asked(), page.seen());
    page
}

#[tokio::test]
async fn a_filed_report_opens_training_and_says_everywhere_that_it_is_not_confirmed() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.copies_report(&DISTANCE).await;
    // Before it is filed it is its writer's draft and opens nothing.
    for person in [&team.parent, &team.clinician] {
        person.opens(&report).await.hidden();
    }
    team.teacher.opens(&team.at("/devices/lend/distance")).await.blocked("a clinician signs an evaluation");
    let page = team.teacher.opens(&format!("{report}/filing")).await.ok();
    page.sees("Dr Anneliese Korb").sees("10/120").sees("report.pdf");
    team.files_report(&report).await;

    for person in [&team.teacher, &team.parent, &team.clinician] {
        tells(person.opens(&report).await.ok()).sees("Dr Anneliese Korb").sees("10/120").sees("report.pdf");
        tells(person.opens(&team.at("/evaluations")).await.ok());
        tells(person.opens(&team.at("")).await.ok());
        tells(person.opens(&team.at("/devices")).await.ok());
        tells(person.opens(&team.at("/tasks")).await.ok());
    }
    tells(team.clinician.opens(&team.at("/review")).await.ok());
    team.classroom.opens(&report).await.hidden();

    team.stocks_match(&world, &DISTANCE).await;
    team.lends(&DISTANCE).await;
    team.is_ready(&DISTANCE).await;
    team.trains(&DISTANCE).await;
    assert!(team.teacher.opens(&team.at("")).await.ok().stages().concat().contains("training on loan"));
    // The clinic reads it because it was sent under the consent in force.
    team.parent.opens(&team.at("/people")).await.ok();
    team.confirms(&report).await.redirected_to();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&report).await.ok().sees("confirmed by a clinician").sees(&team.clinician.name);
        assert!(!page.seen().to_lowercase().contains(UNCONFIRMED), "{}", page.seen());
        let tasks = person.opens(&team.at("/tasks")).await.ok();
        assert!(!tasks.seen().to_lowercase().contains(UNCONFIRMED), "{}", tasks.seen());
    }
}

#[tokio::test]
async fn without_a_consent_the_school_uses_its_copy_and_the_clinic_reads_nothing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let report = team.has_report_filed().await;
    team.stocks_match(&world, &DISTANCE).await;
    team.lends(&DISTANCE).await;
    for path in ["", "/confirm", "/confirm/change"] {
        team.clinician.opens(&format!("{report}{path}")).await.hidden();
    }
    assert_eq!(world.count("sending").await, 0);
    // A consent that starts later lets it go.
    world.consents(&team.parent, &team.pupil).await;
    assert_eq!(world.count("sending").await, 1);
    team.clinician.opens(&format!("{report}/confirm")).await.ok().sees("10/120");
}

#[tokio::test]
async fn an_ordinary_eye_report_is_background_and_never_opens_training() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    // Even one whose copy names a device and says yes.
    let report = team.copies_report(&DISTANCE).await;
    team.copies(&report, "exam", &[("report", "eye")]).await;
    team.teacher.opens(&format!("{report}/edit")).await.ok().sees("An ordinary eye report never opens training");
    team.files_report(&report).await;
    for person in [&team.teacher, &team.parent, &team.clinician] {
        person.opens(&report).await.ok().sees("Ordinary eye report, background");
    }
    team.teacher.opens(&team.at("/devices/lend/distance")).await.blocked("a clinician signs an evaluation");
    let page = team.teacher.opens(&team.at("/training/readiness/distance")).await.ok();
    page.sees("It can be filled in, not signed yet");
    // No figure is made of it.
    team.teacher.opens(&team.at("/tasks")).await.ok().sees("No signed evaluation is on file yet");
    // A clinician may confirm the copy; it is background all the same.
    team.confirms(&report).await.redirected_to();
    team.teacher.opens(&report).await.ok().sees("background, confirmed by a clinician");
    team.teacher.opens(&team.at("/devices/lend/distance")).await.status(409);
}

#[tokio::test]
async fn each_thing_that_a_report_must_state_blocks_its_filing_with_its_words() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let submit = async |report: &str, words: &str| {
        let hub = team.teacher.opens(&format!("{report}/edit")).await.ok().sees(words);
        drop(hub);
        let filing = format!("{report}/filing");
        team.teacher.opens(&filing).await.ok().sees(words).lacks("File the report");
        let before = world.content().await;
        for version in 1..12 {
            let version = version.to_string();
            let page = team.teacher.submits(&filing, &[("version", &version)]).await.blocked(words);
            assert_eq!(page.link("Go to that step"), format!("{report}/edit"));
        }
        assert_eq!(world.content().await, before, "{words}");
    };
    for (without, words) in [
        ("report", "which kind of report it is"),
        ("clinician", "the clinician\u{2019}s name"),
        ("examined_on", "the date of the examination"),
    ] {
        let report = team.copies_report(&DISTANCE).await;
        let head: Vec<(&str, &str)> = HEAD.iter().copied().filter(|(name, _)| *name != without).collect();
        let bare = team.begins_report(&head).await;
        submit(&bare, words).await;
        if without != "report" {
            team.copies(&report, "exam", &[(without, "")]).await;
            submit(&report, words).await;
        }
    }
    let report = team.begins_report(&HEAD).await;
    team.copies_answer(&report, &DISTANCE, &[]).await;
    submit(&report, "an answer for the near track").await;
    team.copies(&report, "near", &[("answer", "not_looked_at")]).await;
    submit(&report, "the report itself as a file").await;
    team.attaches(&report).await;
    team.copies_answer(&report, &DISTANCE, &[("safe", "not_stated"), ("limits", "")]).await;
    submit(&report, "an answer to \u{201c}safe to train\u{201d}, on the distance track").await;
    let silent = team.begins_report(&HEAD).await;
    for track in ["distance", "near"] {
        team.copies(&silent, track, &[("answer", "not_looked_at")]).await;
    }
    team.attaches(&silent).await;
    submit(&silent, "a recommended device, or that none is advised, on one track").await;
    team.teacher.opens(&team.at("/devices/lend/distance")).await.status(409);
    // A device without its strength is no device yet: the section says so.
    let page = format!("{report}/edit/distance");
    let fields = [("answer", "devices"), ("safe", "yes"), ("device_1_power", "")];
    team.teacher.presses(&page, "Save and go on", &fields).await.refused("device_1_power");
    // Complete again, it is filed.
    team.copies_answer(&report, &DISTANCE, &[]).await;
    team.files_report(&report).await;
    team.teacher.opens(&team.at("/devices/lend/distance")).await.ok();
}

#[tokio::test]
async fn a_part_not_stated_is_kept_as_words_and_feeds_no_figure() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.begins_report(&HEAD).await;
    let acuity = format!("{report}/edit/acuity");
    let stated = [("stated_value", "0.1 both eyes?"), ("stated_correction", "habitual_glasses")];
    team.teacher.presses(&acuity, "Add it as stated", &stated).await.redirected_to();
    team.teacher.presses(&acuity, "Add it as stated", &[("stated_value", "")]).await.refused("stated_value");
    // A row of its own still needs all four.
    let row = [("eye", "right"), ("value", "10/120"), ("distance", "10 ft")];
    team.teacher.presses(&acuity, "Add this row", &row).await.refused("correction");
    // A tick beside something filled in is asked about, and all is kept.
    let both = [("not_stated", "yes"), ("contrast", "6 %"), ("contrast_eye", "both")];
    let page = team.teacher.presses(&format!("{report}/edit/sight"), "Save and go on", &both).await;
    let page = page.refused("not_stated");
    assert!(page.source().contains("value=\"6 %\""), "{}", page.source());
    for section in ["refraction", "sight", "eyes", "advice"] {
        team.copies(&report, section, &[("not_stated", "yes")]).await;
    }
    team.teacher.presses(&acuity, "Save this tick", &[("not_stated", "yes")]).await.refused("not_stated");
    team.copies_answer(&report, &DISTANCE, &[]).await;
    team.copies(&report, "near", &[("answer", "none")]).await;
    team.attaches(&report).await;
    team.files_report(&report).await;
    let page = team.parent.opens(&report).await.ok();
    let page = page.sees("0.1 both eyes?: eye not stated, usual glasses, distance not stated");
    page.sees("Not stated on the report")
        .sees("Contrast, field, colour and glare")
        // Nobody knows whether the eyes were refracted.
        .sees("Not stated in the report.")
        .lacks("Not refracted.");
    assert_eq!(world.count("acuity").await, 0);
    team.teacher.opens(&team.at("/tasks")).await.ok().lacks("0.1 both eyes?");
}

#[tokio::test]
async fn what_was_filed_is_not_written_on_and_a_correction_keeps_both_texts() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let report = team.has_report_filed().await;
    for path in ["/edit", "/edit/sight", "/file", "/filing"] {
        team.teacher.opens(&format!("{report}{path}")).await.hidden();
    }
    let amend = format!("{report}/amend");
    let page = team.teacher.presses(&amend, "Save the correction", &[]).await.status(422);
    page.sees("Nothing is changed.");
    let change = [("exam.clinician", "Dr Annelise Korb")];
    team.teacher.presses(&amend, "Save the correction", &change).await.refused("reason");
    let before = world.content().await;
    // G2: a correction does not take out what the report was filed for.
    let gone = [("exam.clinician", ""), ("reason", "cannot be read")];
    let page = team.teacher.presses(&amend, "Save the correction", &gone).await.status(422);
    page.sees("Missing: the clinician\u{2019}s name");
    assert_eq!(world.content().await, before);
    let change = [("exam.clinician", "Dr Annelise Korb"), ("reason", "misread the letterhead")];
    team.teacher.presses(&amend, "Save the correction", &change).await.redirected_to();
    for person in [&team.teacher, &team.parent] {
        let page = person.opens(&report).await.ok().sees("misread the letterhead").sees("Dr Anneliese Korb");
        page.sees("Dr Annelise Korb");
    }
    for person in [&team.parent, &team.clinician, &team.classroom] {
        let page = person.submits(&amend, &change).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
}
