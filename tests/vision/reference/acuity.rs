//! Operations on acuity, size, demand and reserve.

use farpoint::vision::acuity::letters::Chart;
use farpoint::vision::acuity::near::{MUnits, x_height_of_type};
use farpoint::vision::acuity::notation::{Setup, parse};
use farpoint::vision::acuity::{AcuityError, LogMar};
use farpoint::vision::contrast::{LogContrastSensitivity, Weber};
use farpoint::vision::demand::{
    Seat, capitals_and_small, focusing_demand, letter_height, letter_seen, scale, visual_angle,
};
use farpoint::vision::length::feet;
use farpoint::vision::reserve::{
    Placed, acuity_needed, contrast_reserve, farthest_seat, power_needed, size_check, smallest_letter,
    total_magnification,
};
use farpoint::vision::units::{Arcminutes, Fraction, Magnification, Metres, Millimetres, OutOfRange, Ratio};

use super::{Answered, Figures, Inputs, Outcome};

pub(super) fn answer(op: &str, inputs: &Inputs<'_>) -> Option<Answered> {
    let figures = match op {
        "qualitative_to_measured_acuity" => return Some(category(inputs)),
        "snellen_to_all" => snellen(inputs),
        "snellen_ft_to_6m" => at_six_metres(inputs),
        "logmar_to_var_and_decimal" | "decimal_of_logmar" => of_logmar(inputs),
        "letter_score_to_logmar" => letters(inputs),
        "letter_score_with_distance" => letters_elsewhere(inputs),
        "m_unit_height_mm" => m_height(inputs),
        "m_units_of_height" => m_of_height(inputs),
        "near_m_from_logmar" => near_m(inputs),
        "near_logmar" => near_logmar(inputs),
        "n_points_to_m" => n_points(inputs),
        "point_size_to_m" => points(inputs),
        "visual_angle" => angle(inputs),
        "letter_height" => height(inputs),
        "degrees_per_mm" => per_millimetre(inputs),
        "x_height_demand" => small_letters(inputs),
        "board_letter_demand" => board_letter(inputs),
        "acuity_reserve" => reserve(inputs),
        "demand_with_reserve" => with_reserve(inputs),
        "accommodative_demand" => focusing(inputs),
        "contrast_reserve" => contrast(inputs),
        "total_magnification" => total(inputs),
        "required_power_distance_height" => required(inputs),
        "farthest_seat_with_power" => farthest(inputs),
        "smallest_letter_with_power" => smallest(inputs),
        _ => return None,
    };
    Some(figures.map(Outcome::Figures))
}

type Found = Result<Figures, Box<dyn std::error::Error>>;

fn metres(inputs: &Inputs<'_>, key: &str) -> Result<Metres, OutOfRange> {
    Metres::new(inputs.number(key))
}

fn logmar(inputs: &Inputs<'_>, key: &str) -> Result<LogMar, OutOfRange> {
    LogMar::new(inputs.number(key))
}

fn ratio(inputs: &Inputs<'_>, key: &str) -> Result<Ratio, OutOfRange> {
    Ratio::new(inputs.number(key))
}

/// A category is typed, taken as what it is, and gives no number.
fn category(inputs: &Inputs<'_>) -> Answered {
    let taken = parse(inputs.word("notation"), Setup::at(Metres::new(1.0)?))?;
    Ok(match taken.acuity.logmar() {
        None => Outcome::Refused("a category has no measured value".into()),
        Some(value) => Outcome::Figures(vec![("logmar", value.get())]),
    })
}

fn snellen(inputs: &Inputs<'_>) -> Found {
    let value = if inputs.has("test_distance_ft") {
        LogMar::from_fraction(feet(inputs.number("test_distance_ft"))?, feet(inputs.number("letter_distance_ft"))?)?
    } else if inputs.has("letter_distance_m") {
        LogMar::from_fraction(metres(inputs, "test_distance_m")?, metres(inputs, "letter_distance_m")?)?
    } else {
        let distance = inputs.number("test_distance_m");
        let typed = format!("{distance} m/{} ft", inputs.number("letter_distance_ft"));
        let taken = parse(&typed, Setup::at(Metres::new(distance)?))?;
        taken.acuity.logmar().ok_or(AcuityError::Unreadable)?
    };
    Ok(vec![
        ("mar_arcmin", value.mar_arcminutes()),
        ("logmar", value.get()),
        ("decimal", value.decimal()),
        ("var_score", value.var_score()),
        ("cycles_per_degree", value.cycles_per_degree()),
    ])
}

fn at_six_metres(inputs: &Inputs<'_>) -> Found {
    let value =
        LogMar::from_fraction(feet(inputs.number("test_distance_ft"))?, feet(inputs.number("letter_distance_ft"))?)?;
    Ok(vec![("letter_distance_m_at_6m", value.below_the_line(6.0)?)])
}

fn of_logmar(inputs: &Inputs<'_>) -> Found {
    let value = logmar(inputs, "logmar")?;
    Ok(vec![("var_score", value.var_score()), ("decimal", value.decimal())])
}

fn letters(inputs: &Inputs<'_>) -> Found {
    let chart = Chart::new(
        logmar(inputs, "largest_row_logmar_at_test_distance")?,
        inputs.number("row_step_log"),
        inputs.count("letters_per_row"),
    )?;
    let score = chart.score(inputs.count("letters_correct"), Metres::new(4.0)?)?;
    Ok(vec![("logmar", score.get()), ("var_score", score.var_score())])
}

fn letters_elsewhere(inputs: &Inputs<'_>) -> Found {
    let chart = Chart::new(
        logmar(inputs, "largest_row_logmar_at_design_distance")?,
        inputs.number("row_step_log"),
        inputs.count("letters_per_row"),
    )?
    .designed_for(metres(inputs, "design_distance_m")?);
    let score = chart.score(inputs.count("letters_correct"), metres(inputs, "test_distance_m")?)?;
    Ok(vec![("logmar", score.get())])
}

fn m_height(inputs: &Inputs<'_>) -> Found {
    let print = MUnits::new(inputs.number("m_units"))?;
    Ok(vec![("height_mm", print.height()?.get())])
}

fn m_of_height(inputs: &Inputs<'_>) -> Found {
    let print = MUnits::of_height(Millimetres::new(inputs.number("height_mm"))?)?;
    Ok(vec![("m_units", print.get())])
}

fn near_m(inputs: &Inputs<'_>) -> Found {
    let print = MUnits::just_read_by(logmar(inputs, "logmar")?, metres(inputs, "distance_m")?)?;
    Ok(vec![("m_units", print.get())])
}

fn near_logmar(inputs: &Inputs<'_>) -> Found {
    let print = MUnits::new(inputs.number("m_units"))?;
    let value = print.read_at(metres(inputs, "distance_m")?)?;
    Ok(vec![
        ("logmar", value.get()),
        ("snellen_20_denominator", value.below_the_line(20.0)?),
        ("inverse_V", value.mar_arcminutes()),
    ])
}

fn n_points(inputs: &Inputs<'_>) -> Found {
    Ok(vec![("m_units", MUnits::of_n_points(inputs.number("n_points"))?.get())])
}

fn points(inputs: &Inputs<'_>) -> Found {
    let face = Fraction::new(inputs.number("x_height_ratio"))?;
    let height = x_height_of_type(inputs.number("point_size_pt"), face)?;
    Ok(vec![("x_height_mm", height.get()), ("m_units", MUnits::of_height(height)?.get())])
}

fn angle(inputs: &Inputs<'_>) -> Found {
    let angle = visual_angle(metres(inputs, "size_m")?, metres(inputs, "distance_m")?)?;
    Ok(vec![
        ("angle_deg", angle.exact.get()),
        ("angle_arcmin", angle.arcminutes()),
        ("small_angle_deg", angle.small_angle.get()),
        ("small_angle_error_pct", angle.small_angle_error_percent),
    ])
}

fn height(inputs: &Inputs<'_>) -> Found {
    let detail = Arcminutes::new(inputs.number("mar_arcmin"))?;
    let letter = letter_height(detail, metres(inputs, "distance_m")?)?;
    Ok(vec![
        ("letter_height_mm", letter.height.in_millimetres().get()),
        ("critical_detail_mm", letter.critical_detail.in_millimetres().get()),
    ])
}

fn per_millimetre(inputs: &Inputs<'_>) -> Found {
    let scale = scale(metres(inputs, "distance_m")?)?;
    Ok(vec![("deg_per_mm", scale.angle_per_millimetre.get()), ("mm_per_deg_centred", scale.length_per_degree.get())])
}

fn small_letters(inputs: &Inputs<'_>) -> Found {
    let both = capitals_and_small(
        metres(inputs, "cap_height_m")?,
        metres(inputs, "distance_m")?,
        Fraction::new(inputs.number("x_to_cap_ratio"))?,
    )?;
    Ok(vec![("logmar_caps", both.capitals.get()), ("logmar_lowercase", both.small.get())])
}

fn board_letter(inputs: &Inputs<'_>) -> Found {
    let seat =
        Seat { to_the_board: metres(inputs, "perpendicular_distance_m")?, aside: metres(inputs, "lateral_offset_m")? };
    let letter = letter_seen(metres(inputs, "letter_height_m")?, metres(inputs, "letter_width_m")?, seat)?;
    Ok(vec![
        ("sight_distance_m", letter.sight_distance.get()),
        ("obliquity_deg", letter.obliquity.get()),
        ("vertical_arcmin", letter.height.get()),
        ("horizontal_arcmin", letter.width.get()),
        ("logmar_vertical", letter.height_demand.get()),
        ("logmar_horizontal", letter.width_demand.get()),
    ])
}

fn reserve(inputs: &Inputs<'_>) -> Found {
    let check = size_check(
        logmar(inputs, "demand_logmar")?,
        logmar(inputs, "threshold_logmar")?,
        ratio(inputs, "required_reserve_ratio")?,
    )?;
    Ok(vec![
        ("reserve_ratio", check.reserve.get()),
        ("reserve_log", check.reserve_log),
        ("magnification_needed", check.magnification_needed.get()),
        ("threshold_needed_logmar", check.acuity_needed.get()),
    ])
}

fn with_reserve(inputs: &Inputs<'_>) -> Found {
    let needed = acuity_needed(logmar(inputs, "demand_logmar")?, ratio(inputs, "reserve_ratio")?)?;
    Ok(vec![("threshold_needed_logmar", needed.get())])
}

fn focusing(inputs: &Inputs<'_>) -> Found {
    Ok(vec![("demand_D", focusing_demand(metres(inputs, "distance_m")?)?.get())])
}

fn contrast(inputs: &Inputs<'_>) -> Found {
    let threshold = if inputs.has("log_cs") {
        LogContrastSensitivity::new(inputs.number("log_cs"))?.threshold()?
    } else {
        Weber::new(inputs.number("threshold_weber"))?
    };
    let reserve = contrast_reserve(Weber::new(inputs.number("target_weber"))?, threshold)?;
    Ok(vec![("threshold_weber", threshold.get()), ("contrast_reserve_ratio", reserve.get())])
}

fn total(inputs: &Inputs<'_>) -> Found {
    let before =
        Placed { distance: metres(inputs, "reference_distance_m")?, height: metres(inputs, "reference_height_m")? };
    let after = Placed { distance: metres(inputs, "new_distance_m")?, height: metres(inputs, "new_height_m")? };
    let device = Magnification::new(inputs.number("angular_power"))?;
    let larger = total_magnification(before, after, device)?;
    Ok(vec![
        ("relative_distance", larger.relative_distance.get()),
        ("relative_size", larger.relative_size.get()),
        ("total", larger.total.get()),
    ])
}

fn required(inputs: &Inputs<'_>) -> Found {
    let acuity = logmar(inputs, "threshold_logmar")?;
    let height = metres(inputs, "letter_height_m")?;
    let distance = metres(inputs, "distance_m")?;
    let needed = ratio(inputs, "required_reserve_ratio")?;
    let none = Magnification::new(1.0)?;
    Ok(vec![
        ("power_needed", power_needed(acuity, height, distance, needed)?.get()),
        ("seat_distance_m_no_device", farthest_seat(acuity, height, needed, none)?.get()),
        ("letter_height_m_no_device", smallest_letter(acuity, distance, needed, none)?.get()),
    ])
}

fn farthest(inputs: &Inputs<'_>) -> Found {
    let seat = farthest_seat(
        logmar(inputs, "threshold_logmar")?,
        metres(inputs, "letter_height_m")?,
        ratio(inputs, "required_reserve_ratio")?,
        Magnification::new(inputs.number("angular_power"))?,
    )?;
    Ok(vec![("distance_m", seat.get())])
}

fn smallest(inputs: &Inputs<'_>) -> Found {
    let letter = smallest_letter(
        logmar(inputs, "threshold_logmar")?,
        metres(inputs, "distance_m")?,
        ratio(inputs, "required_reserve_ratio")?,
        Magnification::new(inputs.number("angular_power"))?,
    )?;
    Ok(vec![("letter_height_m", letter.get())])
}
