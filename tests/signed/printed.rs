//! A document as PDF: who takes it, what its name says, and what is written down.
//!
//! What stands in it, and how it is tagged, is read by other programs: `run.py` beside
//! this file, started by `./tests/run pdf`.

use super::{decision, errs, prescription, summary};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

#[tokio::test]
async fn a_prescription_is_taken_in_both_sizes_under_initials_alone() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let signed = prescription(&world, &team).await;
    let page = team.parent.opens(&signed).await.ok();
    assert_eq!(page.link("PDF (large print)"), format!("{signed}/paper.pdf?size=large"));
    for size in ["large", "standard"] {
        let paper = team.parent.opens(&format!("{signed}/paper.pdf?size={size}")).await;
        assert_eq!(paper.code(), 200, "{size}");
        assert!(paper.source().starts_with("%PDF-1.7"), "{size}");
        assert_eq!(paper.header("content-type"), "application/pdf");
        assert_eq!(paper.header("cache-control"), "no-store");
        let name = paper.header("content-disposition");
        assert!(name.starts_with("attachment; filename=\"") && name.contains(".pdf"), "{name}");
        for word in ["prescription", "evaluation", "card", "summary"] {
            assert!(!name.to_lowercase().contains(word), "{name}");
        }
    }
    team.parent.opens(&format!("{signed}/paper.pdf?size=huge")).await.hidden();
    // The school reads it and does not print it; the class knows nothing of it.
    team.teacher.opens(&signed).await.ok().lacks("PDF (large print)");
    team.teacher.opens(&format!("{signed}/paper.pdf")).await.status(403);
    team.classroom.opens(&format!("{signed}/paper.pdf")).await.hidden();
}

#[tokio::test]
async fn what_counts_no_longer_says_so_before_anything_else() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let signed = prescription(&world, &team).await;
    let printed = team.parent.opens(&format!("{signed}/print")).await.ok();
    let read = farpoint::pdf::read::read(printed.source()).expect("a page that has a place on paper");
    assert_eq!(read.stamp, None);
    errs(&team.clinician, &signed).await;
    let printed = team.parent.opens(&format!("{signed}/print")).await.ok();
    let read = farpoint::pdf::read::read(printed.source()).expect("a page that has a place on paper");
    assert_eq!(read.stamp.as_deref(), Some("Entered in error. Do not use."));
}

#[tokio::test]
async fn a_decision_has_a_paper_and_says_on_it_that_another_took_its_place() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let next = world.day(60);
    let changed = [
        ("choice", "change_device"),
        ("first_kind", "handheld_monocular"),
        ("first_power", "10"),
        ("reason", "The line is too small."),
        ("next_on", next.as_str()),
        ("password", PASSWORD),
    ];
    team.clinician.presses(&team.at("/review/distance"), "Sign the decision", &changed).await.redirected_to();
    let made = decision(&world, &team).await;
    let page = team.parent.opens(&made).await.ok().sees("The line is too small.").sees("Never look at the sun");
    assert_eq!(page.link("PDF (large print)"), format!("{made}/paper.pdf?size=large"));
    let paper = team.parent.opens(&format!("{made}/paper.pdf?size=standard")).await;
    assert!(paper.code() == 200 && paper.source().starts_with("%PDF-1.7"));
    // The school reads it and does not print it; the class knows nothing of it.
    team.teacher.opens(&made).await.ok().lacks("PDF (large print)").lacks("Print view");
    team.teacher.opens(&format!("{made}/print")).await.forbidden();
    team.classroom.opens(&format!("{made}/print")).await.hidden();
    let page = team.clinician.opens(&format!("{made}/correct")).await.ok();
    world.passes(jiff::SignedDuration::from_mins(1));
    let keep = [
        ("choice", "keep_going"),
        ("reason", "It was right before."),
        ("supersede_reason", "It was about another device."),
        ("next_on", next.as_str()),
        ("password", PASSWORD),
    ];
    team.clinician.presses(&page.link("Write the new one"), "Sign the decision", &keep).await.redirected_to();
    let printed = team.parent.opens(&format!("{made}/print")).await.ok().lacks("Correct this");
    let read = farpoint::pdf::read::read(printed.source()).expect("a page that has a place on paper");
    assert_eq!(read.stamp.as_deref(), Some("Superseded. Do not use."));
}

#[tokio::test]
async fn each_paper_that_goes_across_is_written_down() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let sent = summary(&world, &team).await;
    let before = world.count("disclosure").await;
    assert_eq!(team.clinician.opens(&format!("{sent}/paper.pdf?size=standard")).await.code(), 200);
    assert_eq!(world.count("disclosure").await, before + 1);
    let mut view = world.store().db().begin_read().await.expect("a view");
    let newest = "select what || ' by ' || channel from disclosure order by id desc limit 1";
    let row: String = sqlx::query_scalar(newest).fetch_one(&mut *view).await.expect("the record");
    assert_eq!(row, "Summary by print");
}
