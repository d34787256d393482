//! The review: the question first, the decision in place, per track.

use farpoint::care::consent::Direction;

use super::TEXTS;
use crate::clinic::setup::Team;
use crate::people::PASSWORD;

#[tokio::test]
async fn only_a_clinician_reviews() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let before = team.documents().await;
    let fields = [("choice", "stop"), ("reason", "not mine to say"), ("password", PASSWORD)];
    for person in [&team.teacher, &team.parent] {
        for path in ["/review", "/review/distance"] {
            let page = person.opens(&team.at(path)).await;
            assert!([403, 404].contains(&page.code()), "{}", page.code());
        }
        let page = person.submits(&team.at("/review/distance"), &fields).await;
        assert!([403, 404].contains(&page.code()), "{}", page.code());
    }
    assert_eq!(team.documents().await, before);
    team.clinician.opens(&team.at("/review")).await.ok().sees(TEXTS[1].1);
    team.clinician.opens(&team.at("/review/sideways")).await.hidden();
}

#[tokio::test]
async fn each_choice_needs_what_it_is_made_of() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let before = team.documents().await;
    let next = team.world.day(60);
    let why = [("reason", "as the trials show"), ("next_on", next.as_str())];
    let cases: [(&[(&str, &str)], &str); 7] = [
        (&[], "choice"),
        (&[("choice", "change_device")], "first_kind"),
        (&[("choice", "change_device"), ("first_kind", "hand_magnifier")], "first_kind"),
        (&[("choice", "change_seat"), ("seat", "near")], "seat"),
        (&[("choice", "change_seat"), ("seat", "-3 m")], "seat"),
        (&[("choice", "change_material")], "x_height"),
        (&[("choice", "keep_going"), ("next_on", "1890-01-01")], "next_on"),
    ];
    for (fields, at) in cases {
        team.decides(&[fields, &why[..]].concat()).await.refused(at);
    }
    team.decides(&[("choice", "keep_going"), ("reason", "")]).await.refused("reason");
    assert_eq!(team.documents().await, before);
}

#[tokio::test]
async fn a_decision_moves_the_stage_and_reaches_school_and_family() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let next = team.world.day(60);
    let fields = [
        ("choice", "change_seat"),
        ("seat", "8 ft 6 in"),
        ("reason", "Closer does more than a stronger device."),
        ("next_on", next.as_str()),
    ];
    team.decides(&fields).await.redirected_to();
    for person in [&team.teacher, &team.parent, &team.clinician] {
        person.opens(&team.at("/prescription")).await.ok().sees("Change seat").sees("8 ft 6 in");
    }
    team.teacher.opens(&team.at("")).await.ok().sees("Waiting for a loan");
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Decision made, distance");
}

#[tokio::test]
async fn a_change_of_device_becomes_the_recommendation() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let next = team.world.day(60);
    let fields = [
        ("choice", "change_device"),
        ("first_kind", "handheld_monocular"),
        ("first_power", "4"),
        ("reason", "A wider field."),
        ("next_on", next.as_str()),
    ];
    team.decides(&fields).await.redirected_to();
    let page = team.clinician.opens(&team.at("/review/distance")).await.ok();
    assert!(page.seen().contains("Handheld telescope, monocular, 4\u{d7}"), "{}", page.seen());
}

#[tokio::test]
async fn a_decision_is_made_on_the_summary_that_was_on_the_screen() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    team.summed().await;
    let open = team.clinician.opens(&team.at("/review/distance")).await.ok();
    team.summed().await;
    let before = team.documents().await;
    let fields = [("choice", "stop"), ("reason", "nothing helps"), ("password", PASSWORD)];
    team.clinician.presses_on(&open, "Sign the decision", &fields).await.status(409).sees("meanwhile");
    assert_eq!(team.documents().await, before);
}

#[tokio::test]
async fn without_consent_to_the_school_a_decision_stays_in_the_clinic() {
    let team = Team::new().await;
    team.consents(Direction::SchoolToClinic).await;
    team.evaluated().await;
    team.summed().await;
    team.decides(&[("choice", "stop"), ("reason", "no device helps")]).await.redirected_to();
    team.teacher.opens(&team.at("/prescription")).await.hidden();
    team.parent.opens(&team.at("/prescription")).await.ok().sees("Stop");
    team.consents(Direction::ClinicToSchool).await;
    team.teacher.opens(&team.at("/prescription")).await.ok().sees("Stop").sees("no device helps");
}
