//! Bad input, one kind after the other: the error names the key and what would be right.

use serde_json::json;

use super::error;

#[test]
fn an_unknown_operation_is_refused_with_the_nearest_names() {
    let why = error("visual_angel", &json!({}));
    assert!(why.starts_with("op: visual_angel is no operation; the nearest are visual_angle,"), "{why}");
    let why = error(&"x".repeat(100_000), &json!({}));
    assert!(why.len() < 300, "{why}");
}

#[test]
fn a_missing_key_is_named_with_what_it_is() {
    let why = error("visual_angle", &json!({"size_m": 0.02}));
    assert_eq!(why, "distance_m: missing; give the distance from the eye, a number in metres");
    let why = error("visual_angle", &json!({"size_m": 0.02, "distance_m": null}));
    assert!(why.starts_with("distance_m: missing"), "{why}");
}

#[test]
fn a_key_in_another_unit_is_answered_with_the_key_it_knows() {
    let why = error("near_logmar", &json!({"m_units": 1, "distance_cm": 40}));
    assert_eq!(why, "distance_cm: give distance_m instead: the reading distance, a number in metres");
    let why = error("exit_pupil", &json!({"objective_diameter_m": 0.02, "power": 8}));
    assert!(why.starts_with("objective_diameter_m: give objective_diameter_mm instead"), "{why}");
    let why = error("transpose", &json!({"sphere": -2, "cylinder_D": -1, "axis_deg": 90}));
    assert!(why.starts_with("sphere: give sphere_D instead"), "{why}");
}

#[test]
fn an_unknown_key_is_refused() {
    let why = error("visual_angle", &json!({"size_m": 0.02, "distance_m": 3, "colour": "red"}));
    assert!(why.starts_with("colour: this operation takes no such input"), "{why}");
}

#[test]
fn what_is_no_number_is_refused() {
    for wrong in [json!("3"), json!("NaN"), json!("Infinity"), json!(true), json!([3]), json!({"m": 3})] {
        let why = error("visual_angle", &json!({"size_m": 0.02, "distance_m": wrong}));
        assert!(why.starts_with("distance_m: give the distance from the eye, a number in metres, not "), "{why}");
    }
    for wrong in [json!(4.5), json!(-1), json!(1e300), json!("4")] {
        let why = error("success_rate_interval95", &json!({"successes": wrong, "trials": 5}));
        assert!(why.starts_with("successes: give the right ones, a whole number of 0 or more, not "), "{why}");
    }
}

#[test]
fn lists_are_checked_item_by_item() {
    let why = error("median_time", &json!({"times_s": [], "cutoff_s": 30}));
    assert!(why.starts_with("times_s: ") && why.ends_with("not an empty list"), "{why}");
    let why = error("median_time", &json!({"times_s": [3, null], "cutoff_s": 30}));
    assert!(why.ends_with("not null at place 2"), "{why}");
    let why = error("median_time", &json!({"times_s": [3, 31], "cutoff_s": 30}));
    assert!(why.starts_with("times_s: time must be at least 0 s and at most 30 s"), "{why}");
    let why = error("wcag_ratio", &json!({"foreground_rgb8": [0, 0, 256], "background_rgb8": [0, 0, 0]}));
    assert!(why.starts_with("foreground_rgb8: give three whole numbers"), "{why}");
    let why = error("wcag_ratio", &json!({"foreground_rgb8": [0, 0, 0], "background_rgb8": [0, 0]}));
    assert!(why.starts_with("background_rgb8: give three whole numbers"), "{why}");
}

#[test]
fn numbers_out_of_range_say_what_would_be_right() {
    let asked = [
        ("visual_angle", json!({"size_m": 0.02, "distance_m": 0}), "distance_m: "),
        ("visual_angle", json!({"size_m": -0.02, "distance_m": 3}), "size_m: "),
        ("visual_angle", json!({"size_m": 0, "distance_m": 0}), "size_m: "),
        ("snellen_to_all", json!({"test_distance_ft": 20, "letter_distance_ft": 0}), "letter_distance_ft: "),
        ("snellen_to_all", json!({"test_distance_m": -6, "letter_distance_m": 60}), "test_distance_m: "),
        ("exit_pupil", json!({"objective_diameter_mm": 20, "power": -8}), "power: "),
        ("transpose", json!({"sphere_D": -2, "cylinder_D": -1, "axis_deg": 181}), "axis_deg: "),
        ("transpose", json!({"sphere_D": -2, "cylinder_D": 0, "axis_deg": 181}), "axis_deg: "),
        ("transpose", json!({"sphere_D": -2, "cylinder_D": -1}), "axis_deg: "),
        ("parse_rx", json!({"sphere_D": -2, "cylinder_D": -1, "axis_deg": null}), "axis_deg: "),
        ("success_rate_interval95", json!({"successes": 6, "trials": 5}), "successes: "),
        ("success_rate_interval95", json!({"successes": 0, "trials": 0}), "trials: "),
        ("scan_time_budget", json!({"views": 1_000_000, "dwell_s": 9e5, "move_s": 1}), "views, dwell_s, move_s: "),
        (
            "afocal_telescope",
            json!({"objective_power_D": -8, "ocular_power_D": 64, "objective_diameter_m": 0.02}),
            "objective_power_D: ",
        ),
        (
            "afocal_telescope",
            json!({"objective_power_D": 8, "ocular_power_D": 4, "objective_diameter_m": 0.02}),
            "ocular_power_D: ",
        ),
        (
            "stand_magnifier",
            json!({"lens_power_D": 20, "stand_height_m": 0.05, "eye_to_lens_m": 0.2}),
            "stand_height_m: ",
        ),
        ("accommodation_by_age", json!({"age_years": 61}), "age_years: "),
        ("letter_height", json!({"mar_arcmin": 1e308, "distance_m": 3}), "mar_arcmin: "),
        ("recommended_illuminance", json!({"surface": "floor"}), "surface: "),
    ];
    for (op, inputs, start) in asked {
        let why = error(op, &inputs);
        assert!(why.starts_with(start) && why.len() > start.len() + 10, "{op} {inputs}: {why}");
        assert!(why.len() < 250, "{op} {inputs}: {why}");
    }
}

#[test]
fn units_are_never_mixed() {
    let why = error("snellen_to_all", &json!({"test_distance_m": 5, "letter_distance_ft": 125}));
    assert!(why.starts_with("letter_distance_ft, test_distance_m: given in two ways"), "{why}");
    let why = error("snellen_to_all", &json!({"test_distance_m": 5}));
    assert!(why.starts_with("letter_distance_m: missing"), "{why}");
    let why = error("contrast_reserve", &json!({"target_weber": 0.8}));
    assert!(why.starts_with("log_cs: missing; give log_cs (from a contrast sensitivity), or threshold_weber"), "{why}");
}

#[test]
fn a_category_has_no_value_and_a_doubt_is_asked_about() {
    for category in ["NLP", "LP", "HM", "CF @ 1 m", "no light perception", "counting fingers at 2 ft"] {
        let why = error("qualitative_to_measured_acuity", &json!({"notation": category}));
        assert!(why.starts_with("notation: a category has no measured value"), "{category}: {why}");
    }
    for doubtful in ["0.1", "6 m/20 ft", "37 letters", "N8", "", "20/0", "seven", "20/200x"] {
        let why = error("qualitative_to_measured_acuity", &json!({"notation": doubtful}));
        assert!(why.starts_with("notation: "), "{doubtful}: {why}");
    }
    for (written, logmar) in
        [("20/200", 1.0), ("6/60", 1.0), ("decimal 0.1", 1.0), ("1.3 logMAR", 1.3), ("4M @ 40 cm", 1.0)]
    {
        let inputs = json!({"notation": written});
        let found = farpoint::compute::answer("qualitative_to_measured_acuity", inputs.as_object().unwrap());
        let found = found.unwrap_or_else(|refusal| panic!("{written}: {refusal}"));
        assert!((found["logmar"].as_f64().unwrap() - logmar).abs() < 1e-9, "{written}: {found:?}");
    }
}
