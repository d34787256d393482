//! A signed evaluation: its words amended, a new one in its place, or marked
//! entered in error; stage, gates and figures follow.

use super::{AMEND, ANEW, corrects, errs, evaluates_anew, evaluation};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

#[tokio::test]
async fn amended_words_stand_in_their_place_with_both_texts_and_why() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let signed = evaluation(&world, &team).await;
    let row = world.content().await["evaluation"];
    let fields = [("text_place", "Harbour Lane, room 4"), ("amend_reason", "The room was wrong.")];
    corrects(&team.clinician, &signed, AMEND, &fields).await.redirected_to();
    for person in [&team.clinician, &team.teacher, &team.parent] {
        let page = person.opens(&signed).await.ok();
        page.sees("What was amended")
            .sees("Harbour Lane, room 4")
            .sees("Harbour Lane Low Vision")
            .sees("The room was wrong.")
            .sees(&team.clinician.name);
    }
    // The row stays as it was signed, and the thread tells of it.
    assert_eq!(world.content().await["evaluation"], row);
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Evaluation amended");
    // Amended again, both corrections stay.
    let fields = [("text_place", "Harbour Lane, room 5"), ("amend_reason", "It moved that day.")];
    corrects(&team.clinician, &signed, AMEND, &fields).await.redirected_to();
    team.parent.opens(&signed).await.ok().sees("room 4").sees("room 5").sees("It moved that day.");
    assert_eq!(world.count("amendment").await, 2);
}

#[tokio::test]
async fn a_new_one_takes_its_place_and_shows_both_texts_of_what_changed() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let old = evaluation(&world, &team).await;
    // A draft changes nothing yet.
    let why = [("supersede_reason", "The device was written down wrong.")];
    let hub = corrects(&team.clinician, &old, ANEW, &why).await.redirected_to();
    team.clinician.opens(&hub).await.ok().sees("This will take the place of a signed evaluation");
    team.teacher.opens(&old).await.ok().lacks("Superseded");
    assert_eq!(corrects(&team.clinician, &old, ANEW, &why).await.redirected_to(), hub, "one draft, not two");
    let draft = hub.strip_suffix("/edit").unwrap();
    let page = team.clinician.opens(&format!("{draft}/edit/distance")).await.ok();
    assert_eq!(page.value_of("device_1_power").as_deref(), Some("6"), "it starts as a copy");
    // The loan of a 6x does not match a 10x.
    let wider = [("device_1_power", "10"), ("device_1_objective", "25"), ("device_1_field", "5")];
    team.clinician.presses(&format!("{draft}/edit/distance"), "Save and go on", &wider).await.redirected_to();
    team.signs_evaluation(draft).await;
    for person in [&team.clinician, &team.teacher, &team.parent] {
        person.opens(&old).await.ok().sees("Superseded").sees("The device was written down wrong.").sees("6×");
        let page = person.opens(draft).await.ok().sees("It takes the place of an earlier one");
        let told = page.table("What changed");
        assert!(told.rows.iter().any(|row| row[1].contains("6×") && row[2].contains("10×")), "{:?}", told.rows);
    }
    let stage = team.teacher.opens(&team.at("")).await.ok().stages();
    assert_eq!(stage, ["Distance: waiting for a loan", "Near: awaiting evaluation"]);
    team.teacher.opens(&team.at("/devices")).await.ok().sees("It is due back and takes no session");
}

#[tokio::test]
async fn a_superseded_evaluation_feeds_no_figure_and_never_comes_back() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let old = evaluation(&world, &team).await;
    team.teacher.opens(&team.at("/tasks")).await.ok();
    // The corrected one is about an earlier day than the one it replaces, so by
    // date alone the old one would have the last word.
    let earlier = world.day(-20);
    let exam = [("examined_on", earlier.as_str())];
    let none: [(&str, &str); 5] = [
        ("answer", "none"),
        ("device_1_kind", ""),
        ("device_1_power", ""),
        ("device_1_objective", ""),
        ("device_1_field", ""),
    ];
    let rest = [("device_1_near_focus", ""), ("device_1_glasses", ""), ("device_1_eye", "")];
    let none: Vec<(&str, &str)> = none.into_iter().chain(rest).collect();
    let new = evaluates_anew(&team, &old, &[("exam", &exam), ("distance", &none)]).await;
    let stages = || async { team.teacher.opens(&team.at("")).await.ok().stages() };
    // It was asked for since that day, and no answer is newer.
    assert_eq!(stages().await, ["Distance: awaiting evaluation", "Near: awaiting evaluation"]);
    // Its acuity is not one of those that stand: only the new one's row is shown.
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    assert_eq!(page.table("Acuities as they stand").rows.len(), 1);
    // The new one was an error too: neither counts, and the old one stays dead.
    errs(&team.clinician, &new).await.redirected_to();
    assert_eq!(stages().await, ["Distance: awaiting evaluation", "Near: awaiting evaluation"]);
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    assert!(page.seen().contains("None recorded."), "{}", page.seen());
    team.teacher.opens(&team.at("/devices/lend/distance")).await.status(409);
}

#[tokio::test]
async fn entered_in_error_counts_as_never_signed_and_stays_listed() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let signed = evaluation(&world, &team).await;
    let sent = world.content().await["sending"];
    errs(&team.clinician, &signed).await.redirected_to();
    for person in [&team.clinician, &team.teacher, &team.parent] {
        person.opens(&signed).await.ok().sees("Entered in error").sees("It is about another student.").sees("10/120");
        person.opens(&team.at("/evaluations")).await.ok().sees("Entered in error");
    }
    // Stage and gates as before it was signed; the loan is due and takes no session.
    assert_eq!(
        team.teacher.opens(&team.at("")).await.ok().stages(),
        ["Distance: awaiting evaluation", "Near: awaiting evaluation"]
    );
    team.teacher
        .opens(&team.at("/training/new?track=distance"))
        .await
        .ok()
        .sees("Training can start after")
        .sees("takes no session");
    team.teacher.opens(&team.at("/devices/lend/distance")).await.status(409);
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    assert!(page.seen().contains("None recorded."), "{}", page.seen());
    // What was sent stays sent.
    assert_eq!(world.content().await["sending"], sent);
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Evaluation entered in error");
}

#[tokio::test]
async fn a_summary_sent_before_the_correction_still_covers_the_device_it_names_again() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let old = evaluation(&world, &team).await;
    world.passes(jiff::SignedDuration::from_mins(5));
    let words = [("training_tasks", "Board and screen")];
    evaluates_anew(&team, &old, &[("distance", &words)]).await;
    // G8: the device was first brought into force by the one that was superseded.
    team.decides(&world, &DISTANCE, "finalise").await;
    let draft = team.drafts_prescription(&world).await;
    team.clinician.opens(&draft).await.ok().sees("A training summary covers it.");
}

#[tokio::test]
async fn only_a_clinician_of_the_team_corrects_an_evaluation() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let signed = evaluation(&world, &team).await;
    let elsewhere = world.clinician().await;
    let before = super::signed_rows(&world).await;
    let fields = [
        ("text_place", "mine"),
        ("amend_reason", "mine"),
        ("supersede_reason", "mine"),
        ("error_reason", "mine"),
        ("error_password", PASSWORD),
        ("version", "0"),
    ];
    for person in [&team.teacher, &team.parent, &team.classroom, &elsewhere] {
        team.clinician.opens(&format!("{signed}/correct")).await.ok();
        let page = person.opens(&format!("{signed}/correct")).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
        for act in ["amend", "supersede", "error"] {
            let page = person.submits(&format!("{signed}/{act}"), &fields).await;
            assert!([403, 404].contains(&page.code()), "{}", page.asked());
        }
    }
    assert_eq!(super::signed_rows(&world).await, before);
}
