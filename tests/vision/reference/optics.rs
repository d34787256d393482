//! Operations on telescopes, magnifiers and refraction.

use farpoint::vision::acuity::LogMar;
use farpoint::vision::acuity::near::MUnits;
use farpoint::vision::demand::Seat;
use farpoint::vision::magnifier::{
    Equivalent, ReadAt, add_for, hand_field, kestenbaum, label_readings, of_enlargement, power_for, stand, with_add,
    working_distance,
};
use farpoint::vision::refraction::{Axis, Lens, PowerVector, accommodation_by_age, at_other_distance, check};
use farpoint::vision::telescope::coverage::{Board, board_coverage, scan_time, views_from_the_side};
use farpoint::vision::telescope::field::{HalfField, left_behind_exit_pupil};
use farpoint::vision::telescope::near::{nearest_focus, reading_cap};
use farpoint::vision::telescope::optics::{Afocal, OpticsError};
use farpoint::vision::telescope::{FarWidth, apparent_field, brightness, exit_pupil, field_width};
use farpoint::vision::units::{
    Degrees, Dioptres, Fraction, Magnification, Metres, Millimetres, OutOfRange, Ratio, Seconds,
};

use super::{Answered, Figures, Inputs, Outcome};

pub(super) fn answer(op: &str, inputs: &Inputs<'_>) -> Option<Answered> {
    let figures = match op {
        "afocal_telescope" => afocal(inputs),
        "telescope_ametropia_by_tube_length" => ametropia(inputs),
        "telescope_finite_focus" => finite_focus(inputs),
        "telescope_near_focus_limit" => near_limit(inputs),
        "afocal_exit_vergence" => exit_vergence(inputs),
        "afocal_vergence_at_eye" => at_eye(inputs),
        "linear_field" => linear(inputs),
        "field_deg_from_linear" => from_linear(inputs),
        "apparent_field" => apparent(inputs),
        "exit_pupil" => pupil(inputs),
        "relative_retinal_illuminance" => light(inputs),
        "telemicroscope" => capped(inputs),
        "board_coverage" => coverage(inputs),
        "board_views_oblique" => oblique(inputs),
        "scan_time_budget" => scanning(inputs),
        "equivalent_power" => two_lenses(inputs),
        "trade_magnification" => labels(inputs),
        "stand_magnifier" => stand_magnifier(inputs),
        "hand_magnifier_field" => hand_magnifier(inputs),
        "kestenbaum_add_for_1M" => old_rule(inputs),
        "add_for_goal" => for_goal(inputs),
        "required_evd" | "required_equivalent_power" => required(inputs),
        "evd_from_enlargement" => enlarged(inputs),
        "working_distance" => working(inputs),
        "transpose" => transpose(inputs),
        "power_vector" => vector(inputs),
        "power_vector_to_rx" => of_vector(inputs),
        "vertex_compensate" => vertex(inputs),
        "vertex_compensate_toric" => vertex_toric(inputs),
        "accommodation_by_age" => by_age(inputs),
        "apparent_field_limit_eye_behind_exit_pupil" => behind_exit_pupil(inputs),
        "normalise_axis" => axis_only(inputs),
        "parse_rx" => typed(inputs),
        "galilean_field" => galilean(inputs),
        "keplerian_field_no_stop" => keplerian(inputs),
        "keplerian_field_stop" => with_stop(inputs),
        "exit_pupil_focused_near" => pupil_near(inputs),
        "cap_vs_tube_equivalent_power" => cap_or_tube(inputs),
        _ => return None,
    };
    Some(figures.map(Outcome::Figures))
}

type Found = Result<Figures, Box<dyn std::error::Error>>;

fn metres(inputs: &Inputs<'_>, key: &str) -> Result<Metres, OutOfRange> {
    Metres::new(inputs.number(key))
}

fn dioptres(inputs: &Inputs<'_>, key: &str) -> Result<Dioptres, OutOfRange> {
    Dioptres::new(inputs.number(key))
}

fn millimetres(inputs: &Inputs<'_>, key: &str) -> Result<Millimetres, OutOfRange> {
    Millimetres::new(inputs.number(key))
}

fn degrees(inputs: &Inputs<'_>, key: &str) -> Result<Degrees, OutOfRange> {
    Degrees::new(inputs.number(key))
}

fn power(inputs: &Inputs<'_>, key: &str) -> Result<Magnification, OutOfRange> {
    Magnification::new(inputs.number(key))
}

fn device(inputs: &Inputs<'_>) -> Result<Afocal, OpticsError> {
    Afocal::new(dioptres(inputs, "objective_power_D")?, dioptres(inputs, "ocular_power_D")?)
}

fn lens(inputs: &Inputs<'_>) -> Result<Lens, OutOfRange> {
    Ok(Lens {
        sphere: dioptres(inputs, "sphere_D")?,
        cylinder: dioptres(inputs, "cylinder_D")?,
        axis: Axis::typed(degrees(inputs, "axis_deg")?)?,
    })
}

fn told(lens: Lens) -> Figures {
    vec![("sphere_D", lens.sphere.get()), ("cylinder_D", lens.cylinder.get()), ("axis_deg", lens.axis.get())]
}

fn both(equivalent: Equivalent) -> Figures {
    vec![
        ("equivalent_power_D", equivalent.power.get()),
        ("equivalent_viewing_distance_m", equivalent.viewing_distance.get()),
    ]
}

fn edges(field: HalfField) -> Figures {
    let mut figures = vec![
        ("half_field_deg_chief_ray", field.central_ray.get()),
        ("half_field_deg_any_light", field.last_light.get()),
    ];
    figures.extend(field.full_light.map(|full| ("half_field_deg_unvignetted", full.get())));
    figures
}

fn afocal(inputs: &Inputs<'_>) -> Found {
    let device = device(inputs)?;
    Ok(vec![
        ("power_signed", device.signed_power()),
        ("tube_length_m", device.tube_length()?.get()),
        ("exit_pupil_m", device.exit_pupil(metres(inputs, "objective_diameter_m")?)?.get()),
        ("exit_pupil_position_behind_ocular_m", device.exit_pupil_position()?.get()),
    ])
}

fn ametropia(inputs: &Inputs<'_>) -> Found {
    let set = device(inputs)?.for_ametropia(dioptres(inputs, "refractive_error_at_ocular_D")?)?;
    Ok(vec![("power_signed", set.signed_power), ("tube_length_m", set.tube.get()), ("tube_change_m", set.change.get())])
}

fn finite_focus(inputs: &Inputs<'_>) -> Found {
    let near = device(inputs)?.focused_for(metres(inputs, "object_distance_from_objective_m")?)?;
    Ok(vec![
        ("tube_length_m", near.tube.get()),
        ("tube_extension_m", near.extension.get()),
        ("power_re_objective", near.power_at_objective.get()),
        ("power_re_eye_at_ocular", near.power_at_ocular.get()),
        ("equivalent_power_D", near.equivalent.get()),
    ])
}

fn near_limit(inputs: &Inputs<'_>) -> Found {
    let focal = metres(inputs, "objective_focal_m")?;
    let nearest = nearest_focus(focal, metres(inputs, "max_tube_extension_m")?)?;
    Ok(vec![("nearest_object_from_objective_m", nearest.get())])
}

fn exit_vergence(inputs: &Inputs<'_>) -> Found {
    let leaving = device(inputs)?.exit_vergence(metres(inputs, "object_distance_from_objective_m")?)?;
    Ok(vec![
        ("exit_vergence_D", leaving.exact.get()),
        ("approx_M2U_D", leaving.approximate.get()),
        ("accommodation_at_ocular_D", -leaving.exact.get()),
    ])
}

fn at_eye(inputs: &Inputs<'_>) -> Found {
    let vergence = device(inputs)?
        .vergence_at_eye(metres(inputs, "object_distance_from_objective_m")?, metres(inputs, "eye_behind_ocular_m")?)?;
    Ok(vec![("vergence_at_eye_D", vergence.get())])
}

fn linear(inputs: &Inputs<'_>) -> Found {
    let field = degrees(inputs, "true_field_deg")?;
    let mut figures = vec![
        ("m_at_1000m", FarWidth::MetresAt1000Metres.of(field)?),
        ("ft_at_1000yd", FarWidth::FeetAt1000Yards.of(field)?),
    ];
    if inputs.has("distance_m") {
        let width = field_width(field, metres(inputs, "distance_m")?)?;
        figures.push(("field_width_m", width.get()));
    }
    Ok(figures)
}

fn from_linear(inputs: &Inputs<'_>) -> Found {
    let field = if inputs.has("m_at_1000m") {
        FarWidth::MetresAt1000Metres.true_field(inputs.number("m_at_1000m"))?
    } else {
        FarWidth::FeetAt1000Yards.true_field(inputs.number("ft_at_1000yd"))?
    };
    Ok(vec![("true_field_deg", field.get())])
}

fn apparent(inputs: &Inputs<'_>) -> Found {
    let seen = apparent_field(power(inputs, "power")?, degrees(inputs, "true_field_deg")?)?;
    Ok(vec![("apparent_deg_tangent", seen.by_tangent.get()), ("apparent_deg_simple", seen.simple.get())])
}

fn pupil(inputs: &Inputs<'_>) -> Found {
    let pupil = exit_pupil(millimetres(inputs, "objective_diameter_mm")?, power(inputs, "power")?)?;
    Ok(vec![("exit_pupil_mm", pupil.get())])
}

fn light(inputs: &Inputs<'_>) -> Found {
    let ratio = brightness(
        millimetres(inputs, "exit_pupil_mm")?,
        millimetres(inputs, "eye_pupil_mm")?,
        Fraction::new(inputs.number("transmittance"))?,
    )?;
    Ok(vec![("ratio", ratio.get())])
}

fn capped(inputs: &Inputs<'_>) -> Found {
    let capped = reading_cap(power(inputs, "telescope_power")?, dioptres(inputs, "cap_power_D")?)?;
    Ok(vec![
        ("equivalent_power_D", capped.equivalent.get()),
        ("working_distance_from_cap_m", capped.working_distance.get()),
        ("equivalent_viewing_distance_m", capped.viewing_distance.get()),
    ])
}

fn coverage(inputs: &Inputs<'_>) -> Found {
    let board = Board { width: metres(inputs, "board_width_m")?, height: metres(inputs, "board_height_m")? };
    let looks = board_coverage(
        board,
        metres(inputs, "distance_m")?,
        degrees(inputs, "true_field_deg")?,
        Fraction::new(inputs.number("overlap_fraction"))?,
        Fraction::new(inputs.number("strip_height_factor"))?,
    )?;
    Ok(vec![
        ("field_width_m", looks.field_width.get()),
        ("views_across", f64::from(looks.views_across)),
        ("views_across_full_cover", f64::from(looks.views_across_full)),
        ("strips_down", f64::from(looks.strips_down)),
        ("fraction_of_board_in_view", looks.seen_at_once.get()),
    ])
}

fn oblique(inputs: &Inputs<'_>) -> Found {
    let seat = Seat {
        to_the_board: metres(inputs, "perpendicular_distance_m")?,
        aside: metres(inputs, "offset_to_board_centre_m")?,
    };
    let looks = views_from_the_side(
        metres(inputs, "board_width_m")?,
        seat,
        degrees(inputs, "true_field_deg")?,
        Fraction::new(inputs.number("overlap_fraction"))?,
    )?;
    Ok(vec![("board_angle_deg", looks.board.get()), ("views_across", f64::from(looks.views_across))])
}

fn scanning(inputs: &Inputs<'_>) -> Found {
    let time = scan_time(
        inputs.count("views"),
        Seconds::new(inputs.number("dwell_s"))?,
        Seconds::new(inputs.number("move_s"))?,
    )?;
    Ok(vec![("time_s", time.get())])
}

fn two_lenses(inputs: &Inputs<'_>) -> Found {
    Ok(both(with_add(
        dioptres(inputs, "magnifier_power_D")?,
        dioptres(inputs, "add_or_accommodation_D")?,
        metres(inputs, "separation_m")?,
    )?))
}

fn labels(inputs: &Inputs<'_>) -> Found {
    let readings = label_readings(dioptres(inputs, "power_D")?)?;
    Ok(vec![("F_over_4", readings.quarter.get()), ("F_over_4_plus_1", readings.quarter_plus_one.get())])
}

fn stand_magnifier(inputs: &Inputs<'_>) -> Found {
    let used =
        stand(dioptres(inputs, "lens_power_D")?, metres(inputs, "stand_height_m")?, metres(inputs, "eye_to_lens_m")?)?;
    Ok(vec![
        ("image_distance_below_lens_m", used.image_below_lens.get()),
        ("enlargement_ratio", used.enlargement.get()),
        ("eye_to_image_m", used.eye_to_image.get()),
        ("required_accommodation_D", used.focus_needed.get()),
        ("equivalent_viewing_distance_m", used.equivalent.viewing_distance.get()),
        ("equivalent_viewing_power_D", used.equivalent.power.get()),
    ])
}

fn hand_magnifier(inputs: &Inputs<'_>) -> Found {
    let width =
        hand_field(metres(inputs, "lens_diameter_m")?, dioptres(inputs, "power_D")?, metres(inputs, "eye_to_lens_m")?)?;
    Ok(vec![("field_width_m", width.get())])
}

fn old_rule(inputs: &Inputs<'_>) -> Found {
    let acuity = LogMar::from_decimal(inputs.number("decimal_acuity"))?;
    Ok(vec![("add_D", kestenbaum(acuity)?.get())])
}

fn for_goal(inputs: &Inputs<'_>) -> Found {
    let goal = MUnits::new(inputs.number("goal_m_units"))?;
    Ok(vec![("add_D", add_for(dioptres(inputs, "add_for_1M_D")?, goal)?.get())])
}

fn required(inputs: &Inputs<'_>) -> Found {
    let read =
        ReadAt { print: MUnits::new(inputs.number("read_m_units"))?, distance: metres(inputs, "at_distance_m")? };
    let goal = MUnits::new(inputs.number("goal_m_units"))?;
    Ok(both(power_for(read, goal, Ratio::new(inputs.number("reserve_ratio"))?)?))
}

fn enlarged(inputs: &Inputs<'_>) -> Found {
    let times = Ratio::new(inputs.number("enlargement"))?;
    Ok(both(of_enlargement(times, metres(inputs, "viewing_distance_m")?)?))
}

fn working(inputs: &Inputs<'_>) -> Found {
    let held = working_distance(
        dioptres(inputs, "add_D")?,
        dioptres(inputs, "accommodation_D")?,
        dioptres(inputs, "uncorrected_refraction_D")?,
    )?;
    Ok(vec![("working_distance_m", held.viewing_distance.get()), ("equivalent_viewing_power_D", held.power.get())])
}

fn transpose(inputs: &Inputs<'_>) -> Found {
    Ok(told(lens(inputs)?.transposed()))
}

fn vector(inputs: &Inputs<'_>) -> Found {
    let vector = lens(inputs)?.power_vector()?;
    Ok(vec![
        ("M_D", vector.mean.get()),
        ("J0_D", vector.straight.get()),
        ("J45_D", vector.diagonal.get()),
        ("blur_strength_D", vector.blur_strength()?.get()),
    ])
}

fn of_vector(inputs: &Inputs<'_>) -> Found {
    let vector = PowerVector {
        mean: dioptres(inputs, "M_D")?,
        straight: dioptres(inputs, "J0_D")?,
        diagonal: dioptres(inputs, "J45_D")?,
    };
    Ok(told(vector.lens()?))
}

fn vertex(inputs: &Inputs<'_>) -> Found {
    let moved = metres(inputs, "moved_toward_eye_m")?;
    Ok(vec![("power_D", at_other_distance(dioptres(inputs, "power_D")?, moved)?.get())])
}

fn vertex_toric(inputs: &Inputs<'_>) -> Found {
    Ok(told(lens(inputs)?.moved_toward_eye(metres(inputs, "moved_toward_eye_m")?)?))
}

fn by_age(inputs: &Inputs<'_>) -> Found {
    let able = accommodation_by_age(inputs.number("age_years"))?;
    Ok(vec![("minimum_D", able.minimum.get()), ("average_D", able.average.get()), ("maximum_D", able.maximum.get())])
}

fn behind_exit_pupil(inputs: &Inputs<'_>) -> Found {
    let left = left_behind_exit_pupil(
        metres(inputs, "exit_pupil_m")?,
        metres(inputs, "eye_pupil_m")?,
        metres(inputs, "eye_pupil_behind_exit_pupil_m")?,
    )?;
    Ok(vec![
        ("half_field_deg_any_light", left.last_light.get()),
        ("half_field_deg_pupil_centre_lit", left.pupil_centre.get()),
    ])
}

fn axis_only(inputs: &Inputs<'_>) -> Found {
    Ok(vec![("axis_deg", Axis::typed(degrees(inputs, "axis_deg")?)?.get())])
}

fn typed(inputs: &Inputs<'_>) -> Found {
    let axis = if inputs.has("axis_deg") { Some(degrees(inputs, "axis_deg")?) } else { None };
    let sphere = dioptres(inputs, "sphere_D")?;
    let (lens, _) = check::lens(sphere, dioptres(inputs, "cylinder_D")?, axis)?;
    Ok(told(lens))
}

fn galilean(inputs: &Inputs<'_>) -> Found {
    Ok(edges(device(inputs)?.galilean_field(
        metres(inputs, "objective_diameter_m")?,
        metres(inputs, "eye_pupil_behind_ocular_m")?,
        metres(inputs, "eye_pupil_m")?,
    )?))
}

fn keplerian(inputs: &Inputs<'_>) -> Found {
    Ok(edges(
        device(inputs)?
            .keplerian_field(metres(inputs, "objective_diameter_m")?, metres(inputs, "ocular_diameter_m")?)?,
    ))
}

fn with_stop(inputs: &Inputs<'_>) -> Found {
    let (seen, looks) = device(inputs)?.field_through_stop(metres(inputs, "field_stop_m")?)?;
    Ok(vec![("true_field_deg", seen.get()), ("apparent_field_deg", looks.get())])
}

fn pupil_near(inputs: &Inputs<'_>) -> Found {
    let (wide, behind) = device(inputs)?.exit_pupil_focused_for(
        metres(inputs, "objective_diameter_m")?,
        metres(inputs, "object_distance_from_objective_m")?,
    )?;
    Ok(vec![("exit_pupil_m", wide.get()), ("exit_pupil_position_behind_ocular_m", behind.get())])
}

fn cap_or_tube(inputs: &Inputs<'_>) -> Found {
    let (device, distance) = (device(inputs)?, metres(inputs, "object_distance_m")?);
    let times = Magnification::new(device.signed_power().abs())?;
    Ok(vec![
        ("cap_equivalent_power_D", reading_cap(times, distance.vergence()?)?.equivalent.get()),
        ("tube_equivalent_power_D", device.focused_for(distance)?.equivalent.get()),
    ])
}
