//! An acuity in any notation of the trade, and what is asked back.
//!
//! Values: the definitions of the notations as in DICOM PS3.17 Annex RR;
//! 1.6 M at 10 cm = log10(1.6 / 0.10) by definition of M.

use super::setup::Team;

#[tokio::test]
async fn every_notation_is_taken_and_shown_as_typed_with_its_equivalents() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let rows = [
        ("20 ft", "20/200", "1.00", "20/200", "6/60", "0.1", "50"),
        ("6 m", "6/60", "1.00", "20/200", "6/60", "0.1", "50"),
        ("10 ft", "10/80", "0.90", "20/160", "6/48", "0.125", "54.8"),
        ("4 m", "decimal 0,1", "1.00", "20/200", "6/60", "0.1", "50"),
        ("4 m", "1.0 logMAR", "1.00", "20/200", "6/60", "0.1", "50"),
        ("4 m", "VAR 50", "1.00", "20/200", "6/60", "0.1", "50"),
        ("20 ft", "20/40-2", "0.34", "20/43.9", "6/13.2", "0.456", "82.9"),
        ("10 cm", "1.6M @ 10 cm", "1.20", "20/320", "6/95", "0.063", "39.8"),
    ];
    for (distance, value, ..) in rows {
        let fields = [("eye", "left"), ("correction", "habitual_glasses"), ("distance", distance), ("value", value)];
        team.adds_row(&draft, &fields).await.redirected_to();
    }
    let page = team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
    for (_, value, logmar, feet, metres, decimal, var) in rows {
        let seen = page.seen();
        let place = seen.find(value).unwrap_or_else(|| panic!("{value} in {seen}"));
        let after = &seen[place..];
        for figure in [logmar, feet, metres, decimal, var] {
            assert!(after.contains(figure), "{value}: {figure} in {after}");
        }
    }
    // 1.6 M at 10 cm is 1.6 M again: M = d × 10^logMAR (definition).
    assert!(page.seen().contains("1.6M @ 10 cm 1.20 1.6 20/320"), "{}", page.seen());
    page.sees("log10").sees("Arithmetic from the numbers shown");
}

#[tokio::test]
async fn a_count_of_letters_needs_its_chart() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let mut fields = vec![("eye", "right"), ("correction", "none"), ("distance", "1 m"), ("value", "20 letters")];
    team.adds_row(&draft, &fields).await.refused("chart_top");
    fields.extend([("chart_top", "1.0"), ("chart_step", "0.1"), ("chart_letters", "5"), ("chart_named_for", "4 m")]);
    team.adds_row(&draft, &fields).await.redirected_to();
    // 1.0 + 0.602 for the nearer test + 0.1 - 0.02 × 20 = 1.302 (derived).
    team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok().sees("1.30");
}

#[tokio::test]
async fn a_category_has_no_figure() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    for value in ["CF @ 1 m", "HM", "LP", "NLP"] {
        let fields = [("eye", "left"), ("correction", "none"), ("distance", "1 m"), ("value", value)];
        team.adds_row(&draft, &fields).await.redirected_to();
    }
    let page = team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
    assert_eq!(page.seen().matches("no figure").count(), 4 * 5, "{}", page.seen());
    page.lacks("Arithmetic from the numbers shown");
}

#[tokio::test]
async fn what_can_be_read_two_ways_is_asked_and_nothing_is_stored() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let before = team.world.content().await;
    let row = |distance, value| {
        [
            ("eye", "both"),
            ("correction", "best_correction"),
            ("distance", distance),
            ("value", value),
            ("note", "tired"),
        ]
    };
    for (distance, value, field) in [
        ("4 m", "0.2", "notation"),
        ("4 m", "37", "notation"),
        ("10 ft", "20/200", "notation"),
        ("5 m", "5m/125ft", "value"),
        ("3 m", "4M", "value"),
        ("40 cm", "4M @ 50 cm", "value"),
    ] {
        let page = team.adds_row(&draft, &row(distance, value)).await.refused(field);
        for (name, typed) in row(distance, value) {
            assert_eq!(page.value_of(name).as_deref(), Some(typed), "{value}: {name} is kept");
        }
    }
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn the_question_comes_with_its_answers() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let fields = [("eye", "both"), ("correction", "best_correction"), ("distance", "4 m"), ("value", "0.2")];
    let asked = team.adds_row(&draft, &fields).await.refused("notation").sees("decimal or logMAR?");
    team.clinician.presses_on(&asked, "Add this row", &[("notation", "logmar")]).await.redirected_to();
    let page = team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
    page.sees("0.2 (logMAR)").sees("20/32");
    let fields = [("eye", "both"), ("correction", "none"), ("distance", "10 ft"), ("value", "20/100")];
    let asked = team.adds_row(&draft, &fields).await.refused("notation").sees("10/100");
    team.clinician.presses_on(&asked, "Add this row", &[("notation", "printed_fraction")]).await.redirected_to();
    team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok().sees("as printed on the chart");
}

#[tokio::test]
async fn a_row_without_eye_correction_distance_or_notation_is_no_row() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let before = team.world.content().await;
    let whole = [("eye", "right"), ("correction", "none"), ("distance", "6 m"), ("value", "6/60")];
    for (missing, _) in whole {
        let fields: Vec<_> = whole.into_iter().filter(|(name, _)| *name != missing).collect();
        team.adds_row(&draft, &fields).await.refused(missing);
    }
    for (field, bad) in [
        ("value", "20/0"),
        ("value", "0/20"),
        ("value", "1e999"),
        ("value", "J3"),
        ("value", "-3 m"),
        ("value", "\u{202e}06/6"),
        ("distance", "-3 m"),
        ("distance", "3"),
        ("distance", "60 m"),
    ] {
        let fields: Vec<_> =
            whole.into_iter().map(|(name, value)| (name, if name == field { bad } else { value })).collect();
        team.adds_row(&draft, &fields).await.refused(field);
    }
    let long = "9".repeat(10_000);
    let fields: Vec<_> =
        whole.into_iter().map(|(name, value)| (name, if name == "value" { &*long } else { value })).collect();
    team.adds_row(&draft, &fields).await.refused("value");
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn a_row_through_a_device_names_its_kind_and_power() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let through = |more: &[(&'static str, &'static str)]| {
        let mut fields =
            vec![("eye", "right"), ("correction", "through_device"), ("distance", "3 m"), ("value", "3/6")];
        fields.extend(more);
        fields
    };
    team.adds_row(&draft, &through(&[])).await.refused("device_kind");
    team.adds_row(&draft, &through(&[("device_kind", "handheld_monocular")])).await.refused("device_power");
    team.adds_row(&draft, &through(&[("device_kind", "hand_magnifier"), ("device_power", "5")]))
        .await
        .refused("device_equivalent");
    team.adds_row(&draft, &through(&[("device_kind", "handheld_monocular"), ("device_power", "6")]))
        .await
        .redirected_to();
    team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok().sees("through a 6× handheld telescope, monocular");
    let mut worn = through(&[("device_kind", "handheld_monocular"), ("device_power", "6")]);
    worn[1].1 = "none";
    team.adds_row(&draft, &worn).await.refused("correction");
}

#[tokio::test]
async fn better_than_nearly_every_eye_is_confirmed_first() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let fields = [("eye", "right"), ("correction", "none"), ("distance", "4 m"), ("value", "-0.4 logMAR")];
    let asked = team.adds_row(&draft, &fields).await.refused("confirmed");
    let words = asked.error_for("confirmed").expect("what is unusual");
    let words = words.trim_start_matches("Error:").trim().to_owned();
    team.clinician.presses_on(&asked, "Add this row", &[("confirmed", &words)]).await.redirected_to();
    team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok().sees("confirmed: -0.4 logMAR");
}

#[tokio::test]
async fn a_row_is_changed_and_taken_out() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    let fields = [("eye", "right"), ("correction", "none"), ("distance", "4 m"), ("value", "0.3 logMAR")];
    team.adds_row(&draft, &fields).await.redirected_to();
    let page = team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
    let change = page.links().into_iter().find(|(href, _)| href.contains("/acuity/")).expect("a way to change it").0;
    team.clinician.presses(&change, "Save this row", &[("value", "0.4 logMAR")]).await.redirected_to();
    let page = team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
    let page = page.sees("0.4 logMAR").lacks("0.3 logMAR");
    // The first page still knows the old version: nothing is lost.
    let remove = format!("{change}/remove");
    team.clinician.submits(&remove, &[("version", "1")]).await.status(409);
    assert_eq!(team.world.count("acuity").await, 1);
    let version = page.value_near(&remove, "version").expect("the version it was read at");
    team.clinician.submits(&remove, &[("version", &version)]).await.redirected_to();
    assert_eq!(team.world.count("acuity").await, 0);
    team.clinician.submits(&remove, &[("version", &version)]).await.status(409);
}
