//! The sections of a draft: what each takes, refuses and asks to confirm.
//!
//! Ranges: the reference for the computing core, sections 5, 6 and 9 (common
//! practice).

use super::setup::{TELESCOPE, Team};

#[tokio::test]
async fn sections_are_saved_as_one_goes_and_come_back_filled() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let sight = [
        ("contrast", "6 %"),
        ("contrast_eye", "both"),
        ("contrast_method", "letters"),
        ("field_pattern", "central_loss"),
        ("field_pattern", "scattered"),
        ("field_both_across", "18"),
        ("colour", "red_green"),
        ("glare_outdoor", "strong"),
        ("filter", "amber, helps outdoors"),
        ("filter_transmission", "40"),
    ];
    assert_eq!(team.saves(&draft, "sight", &sight).await.redirected_to(), format!("{draft}/edit/eyes"));
    let eyes = [
        ("diagnosis", "Albinism O'Neil <i>\u{1F441}</i>"),
        ("nystagmus", "horizontal"),
        ("nystagmus_onset", "later"),
        ("best_gaze", "left"),
        ("best_gaze_degrees", "15"),
        ("pupil", "3.5"),
        ("accommodation", "8"),
    ];
    team.saves(&draft, "eyes", &eyes).await.redirected_to();
    let advice = [("lighting", "from the left"), ("lux", "400"), ("advice", "contrast"), ("seating", "second row")];
    team.saves(&draft, "advice", &advice).await.redirected_to();
    for (section, fields) in [("sight", &sight[..]), ("eyes", &eyes[..]), ("advice", &advice[..])] {
        let page = team.clinician.opens(&format!("{draft}/edit/{section}")).await.ok();
        for (name, value) in fields.iter().filter(|(name, _)| *name != "field_pattern" && *name != "advice") {
            assert_eq!(page.value_of(name).as_deref(), Some(*value), "{section}: {name}");
        }
    }
    let page = team.clinician.opens(&format!("{draft}/preview")).await.ok();
    // -log10 of 0.06 is 1.22 (definition of log contrast sensitivity).
    page.sees("6 % = 1.22 log units")
        .sees("Narrow field")
        .sees("Nystagmus that began later")
        .sees("Albinism O'Neil <i>");
}

#[tokio::test]
async fn a_refraction_keeps_its_sign_its_axis_and_its_other_form() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let fields = [
        ("right_sphere", "-3,00"),
        ("right_cylinder", "-2.00"),
        ("right_axis", "0"),
        ("right_add", "+4"),
        ("left_sphere", "plano"),
    ];
    team.saves(&draft, "refraction", &fields).await.redirected_to();
    let page = team.clinician.opens(&format!("{draft}/preview")).await.ok();
    // Transposition and spherical equivalent: check value T09-transpose-a, T09-vector-a.
    page.sees("-3.00 / -2.00 × 180").sees("-5.00 / +2.00 × 90").sees("-4.00").sees("add +4.00").sees("sphere -3,00");
}

#[tokio::test]
async fn a_refraction_that_cannot_be_is_refused_and_an_unusual_one_confirmed() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let before = team.world.content().await;
    let cases: [(&[(&str, &str)], &str); 9] = [
        (&[("right_sphere", "2.25")], "right_sphere"),
        (&[("right_sphere", "-41")], "right_sphere"),
        (&[("right_cylinder", "-1.00"), ("right_axis", "90")], "right_sphere"),
        (&[("right_sphere", "-1.00"), ("right_cylinder", "-1.00")], "right_axis"),
        (&[("right_sphere", "-1.00"), ("right_axis", "90")], "right_axis"),
        (&[("right_sphere", "-1.00"), ("right_cylinder", "1.00"), ("right_axis", "90")], "right_cylinder"),
        (&[("right_sphere", "-1.00"), ("right_cylinder", "-1.00"), ("right_axis", "181")], "right_axis"),
        (&[("right_sphere", "-1.00"), ("right_prism", "4")], "right_base"),
        (&[("left_sphere", "-1.00"), ("left_add", "-2")], "left_add"),
    ];
    for (fields, fault) in cases {
        team.saves(&draft, "refraction", fields).await.refused(fault);
    }
    assert_eq!(team.world.content().await, before);
    let asked = team.saves(&draft, "refraction", &[("left_sphere", "-22.00")]).await.refused("left_confirmed");
    let words = asked.error_for("left_confirmed").unwrap();
    let words = words.trim_start_matches("Error:").trim().to_owned();
    team.clinician.presses_on(&asked, "Save and go on", &[("left_confirmed", &words)]).await.redirected_to();
    team.clinician.opens(&format!("{draft}/preview")).await.ok().sees("confirmed: left eye -22.00");
}

#[tokio::test]
async fn a_track_answer_says_what_and_whether_it_is_safe() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let before = team.world.content().await;
    let without =
        |name: &str| -> Vec<(&str, &str)> { TELESCOPE.into_iter().filter(|(field, _)| *field != name).collect() };
    team.saves(&draft, "distance", &[]).await.refused("answer");
    team.saves(&draft, "distance", &without("safe")).await.refused("safe");
    team.saves(&draft, "distance", &without("limits")).await.refused("limits");
    team.saves(&draft, "distance", &without("device_1_power")).await.refused("device_1_power");
    team.saves(&draft, "distance", &without("device_1_kind")).await.refused("device_1_kind");
    team.saves(&draft, "near", &TELESCOPE).await.refused("device_1_cap");
    team.saves(&draft, "distance", &[("answer", "keep_own_device")]).await.refused("safe");
    team.saves(&draft, "distance", &[("answer", "none"), ("device_1_kind", "handheld_monocular")])
        .await
        .refused("answer");
    team.clinician
        .submits(&format!("{draft}/edit/distance"), &[("answer", "none"), ("safe", "not_stated"), ("version", "1")])
        .await
        .refused("safe");
    assert_eq!(team.world.content().await, before);
    team.saves(&draft, "distance", &TELESCOPE).await.redirected_to();
    let page = team.clinician.opens(&format!("{draft}/edit/distance")).await.ok();
    for (name, value) in TELESCOPE.into_iter().filter(|(name, _)| *name != "answer" && *name != "safe") {
        assert_eq!(page.value_of(name).as_deref(), Some(value), "{name}");
    }
    page.sees("Never look at the sun").sees("Stand still or sit down");
    // An answer changed to none takes its devices out.
    team.clinician
        .submits(&format!("{draft}/edit/distance"), &[("answer", "none"), ("version", "2")])
        .await
        .redirected_to();
    assert_eq!(team.world.count("device_spec").await, 0);
}

#[tokio::test]
async fn several_devices_may_do() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let mut fields = TELESCOPE.to_vec();
    fields.extend([
        ("device_2_kind", "spectacle_telescope"),
        ("device_2_power", "3"),
        ("device_3_kind", "handheld_monocular"),
        ("device_3_power", "8"),
    ]);
    team.saves(&draft, "distance", &fields).await.redirected_to();
    assert_eq!(team.world.count("device_spec").await, 3);
    let page = team.clinician.opens(&format!("{draft}/preview")).await.ok();
    page.sees("6× handheld telescope, monocular").sees("3× spectacle-mounted telescope").sees("8× handheld telescope");
}

#[tokio::test]
async fn a_day_that_cannot_be_is_refused() {
    let team = Team::with_consents().await;
    let address = team.at("/evaluations/new");
    let before = team.world.content().await;
    let (tomorrow, soon, late) = (team.world.day(1), team.world.day(30), team.world.day(800));
    for (field, value) in [
        ("examined_on", tomorrow.as_str()),
        ("examined_on", "1890-02-03"),
        ("examined_on", "3/4/26"),
        ("next_due_on", &soon),
        ("next_due_on", &late),
    ] {
        let page = team.clinician.presses(&address, "Begin", &[(field, value)]).await.refused(field);
        assert_eq!(page.value_of(field).as_deref(), Some(value));
    }
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn two_who_save_one_section_see_both_texts() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let colleague = team.world.clinician().await;
    team.world.joins(&colleague, &team.pupil, &team.teacher).await;
    let advice = format!("{draft}/edit/advice");
    let old = colleague.opens(&advice).await.ok();
    team.saves(&draft, "advice", &[("seating", "first row, left")]).await.redirected_to();
    let page = colleague.presses_on(&old, "Save and go on", &[("seating", "second row")]).await;
    page.status(409).sees("first row, left").sees("second row");
    let page = team.clinician.opens(&advice).await.ok();
    assert_eq!(page.value_of("seating").as_deref(), Some("first row, left"));
}

#[tokio::test]
async fn the_same_form_sent_twice_is_stored_once() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let page = team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
    for _ in 0..2 {
        let answer = team.clinician.presses_on(&page, "Add this row", &super::setup::FAR).await;
        assert_eq!(answer.redirected_to(), format!("{draft}/edit/acuity"));
    }
    assert_eq!(team.world.count("acuity").await, 1);
}
