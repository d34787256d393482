//! Finalising and prescribing: G8, the signature, and what stands afterwards.

use super::TEXTS;
use crate::clinic::setup::Team;
use crate::people::PASSWORD;

/// The clinician begins a draft; gives its address.
async fn begins(team: &Team) -> String {
    team.clinician.presses(&team.at("/prescription"), "Draft the prescription", &[]).await.redirected_to()
}

#[tokio::test]
async fn finalising_a_device_needs_a_summary_about_it_or_a_written_reason() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    // Sent, but about no device: nobody has trained with one.
    team.summed().await;
    let before = team.documents().await;
    let fields = [("choice", "finalise"), ("reason", "it reads the board")];
    team.decides(&fields).await.blocked("No training summary about this device");
    assert_eq!(team.documents().await, before);
    let why = [("no_summary_reason", "Tried for an hour in the clinic.")];
    team.decides(&[&fields[..], &why].concat()).await.redirected_to();
    team.clinician.opens(&team.at("/prescription")).await.ok().sees(why[0].1).sees("Waiting for your signature");

    // The draft brings the reason along; without it the signature is refused.
    let draft = begins(&team).await;
    let review = team.world.day(90);
    let fields = [("no_summary_reason", ""), ("review_on", review.as_str())];
    team.clinician.presses(&draft, "Save the draft", &fields).await.redirected_to();
    team.clinician.opens(&format!("{draft}/preview")).await.ok().sees("It cannot be signed yet");
    let before = team.documents().await;
    let straight = [("version", "2"), ("password", PASSWORD)];
    team.clinician.submits(&format!("{draft}/sign"), &straight).await.blocked("No training summary about this device");
    assert_eq!(team.documents().await, before);
    team.clinician.presses(&draft, "Save the draft", &why).await.redirected_to();
    let page = team.clinician.presses(&format!("{draft}/preview"), "Sign the prescription", &straight[1..]).await;
    page.redirected_to();
    team.clinician.opens(&draft).await.ok().sees("In force").sees("Licence: Invented licence 77").sees(why[0].1);
    team.teacher.opens(&team.at("")).await.ok().sees("Prescribed, awaiting the device");
}

#[tokio::test]
async fn lenses_alone_need_no_summary_and_are_checked() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    let draft = begins(&team).await;
    let lenses =
        |sphere, cylinder, axis| [("right_sphere", sphere), ("right_cylinder", cylinder), ("right_axis", axis)];
    for (fields, at) in [
        (lenses("3.00", "", ""), "right_sphere"),
        (lenses("-3.00", "-2.00", ""), "right_axis"),
        (lenses("-3.00", "", "90"), "right_axis"),
        (lenses("-3.00", "-2.00", "200"), "right_axis"),
        (lenses("-90.00", "", ""), "right_sphere"),
    ] {
        let page = team.clinician.presses(&draft, "Save the draft", &fields).await.refused(at);
        assert_eq!(page.value_of("right_sphere").as_deref(), Some(fields[0].1), "what was typed stays");
    }
    let without_device: Vec<(&str, &str)> =
        ["kind", "power", "objective", "field", "near_focus", "eye", "purpose", "limits"]
            .map(|part| match part {
                "kind" => ("distance_first_kind", ""),
                "power" => ("distance_first_power", ""),
                "objective" => ("distance_first_objective", ""),
                "field" => ("distance_first_field", ""),
                "near_focus" => ("distance_first_near_focus", ""),
                "eye" => ("distance_first_eye", ""),
                "purpose" => ("distance_first_purpose", ""),
                _ => ("distance_first_limits", ""),
            })
            .to_vec();
    let review = team.world.day(90);
    let whole = [&lenses("-3.00", "-2.00", "0")[..], &without_device, &[("review_on", review.as_str())]].concat();
    team.clinician.presses(&draft, "Save the draft", &whole).await.redirected_to();
    // Written 180, with its other form and its equivalent (vision-science.md, T09-transpose-a).
    let page = team.clinician.opens(&format!("{draft}/preview")).await.ok();
    page.sees("-3.00 / -2.00 \u{d7} 180").sees("-5.00 / +2.00 \u{d7} 90").sees("-4.00");
    let fields = [("password", PASSWORD)];
    team.clinician.presses(&format!("{draft}/preview"), "Sign the prescription", &fields).await.redirected_to();
    assert_eq!(team.world.count("device_spec").await, 1, "only the evaluation names a device");
}

#[tokio::test]
async fn a_lens_off_the_steps_or_out_of_the_ordinary_is_confirmed() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    let draft = begins(&team).await;
    // Powers come in quarters and eighths; -3.10 is neither, and -22 D is rare.
    for sphere in ["-3.10", "-22.00"] {
        let page = team.clinician.presses(&draft, "Save the draft", &[("right_sphere", sphere)]).await;
        let page = page.refused("right_confirmed");
        let asked = page.error_for("right_confirmed").expect("what is unusual");
        assert!(asked.contains(sphere), "{asked}");
        let yes = [("right_confirmed", asked.as_str())];
        team.clinician.presses_on(&page, "Save the draft", &yes).await.redirected_to();
        let said = format!("right eye {sphere}");
        team.clinician.opens(&format!("{draft}/preview")).await.ok().sees("unusual and confirmed").sees(&said);
    }
    // An eighth is written with or without its third decimal.
    team.clinician.presses(&draft, "Save the draft", &[("right_sphere", "-3.12")]).await.redirected_to();
}

#[tokio::test]
async fn the_draft_shows_each_lens_as_saved_in_its_other_form() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    let draft = begins(&team).await;
    let lens = [("right_sphere", "-3.00"), ("right_cylinder", "-2.00"), ("right_axis", "180")];
    team.clinician.presses(&draft, "Save the draft", &lens).await.redirected_to();
    // By hand: -3 + -2; the other sign; 180 - 90; -3 + half of -2.
    let told = "-3.00 / -2.00 \u{d7} 180 D. Transposed: -5.00 / +2.00 \u{d7} 90. Spherical equivalent: -4.00 D.";
    team.clinician.opens(&draft).await.ok().sees(told);
    // Beside what is typed now and wrong, the lens saved before would be another one.
    let wrong = [("right_axis", "200")];
    team.clinician.presses(&draft, "Save the draft", &wrong).await.refused("right_axis").lacks("Transposed: -5.00");
}

#[tokio::test]
async fn a_signed_prescription_never_changes_and_has_its_readers() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    let draft = begins(&team).await;
    for person in [&team.teacher, &team.parent] {
        person.opens(&draft).await.hidden();
        person.submits(&draft, &[("limits", "mine"), ("version", "1")]).await.forbidden();
    }
    let review = team.world.day(90);
    let fields = [("no_summary_reason", "Used for years elsewhere."), ("review_on", review.as_str())];
    team.clinician.presses(&draft, "Save the draft", &fields).await.redirected_to();
    let wrong = [("password", "a wrong guess")];
    let before = team.documents().await;
    team.clinician.presses(&format!("{draft}/preview"), "Sign the prescription", &wrong).await.refused("password");
    assert_eq!(team.documents().await, before);
    let right = [("password", PASSWORD)];
    team.clinician.presses(&format!("{draft}/preview"), "Sign the prescription", &right).await.redirected_to();
    let before = team.documents().await;
    for path in [draft.clone(), format!("{draft}/sign")] {
        team.clinician.submits(&path, &[("limits", "other"), ("version", "3"), ("password", PASSWORD)]).await.hidden();
    }
    assert_eq!(team.documents().await, before);
    for person in [&team.teacher, &team.parent] {
        person.opens(&draft).await.ok().sees("6\u{d7} handheld telescope, monocular").sees("Never look at the sun");
    }
    team.parent.opens(&format!("{draft}/print")).await.ok().sees("Licence: Invented licence 77");
    team.teacher.opens(&format!("{draft}/print")).await.forbidden();
    team.parent.opens(&team.at("/thread")).await.ok().sees("Prescription signed").lacks(TEXTS[0].1);
}
