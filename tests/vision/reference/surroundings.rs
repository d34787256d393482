//! Operations on contrast, light and skill.

use farpoint::vision::contrast::screen::{Projector, colour_pair, ratio_as_weber};
use farpoint::vision::contrast::{
    Contrasts, LogContrastSensitivity, Polarity, below_full, contrasts, contrasts_of_surfaces, root_mean_square,
    weber_of_michelson,
};
use farpoint::vision::light::{Surface, from_lamp, illuminance, luminance, lux_of_footcandles, recommended};
use farpoint::vision::skill::{
    Level, image_speed, median_time, scan_score, success_rate, target_speed, time_gain, tracking_score,
};
use farpoint::vision::units::{Degrees, Fraction, Luminance, Lux, Magnification, Metres, OutOfRange, Ratio, Seconds};

use super::{Answered, Figures, Inputs, Outcome};

pub(super) fn answer(op: &str, inputs: &Inputs<'_>) -> Option<Answered> {
    let figures = match op {
        "contrasts" => return Some(contrast(inputs)),
        "contrast_from_reflectance" => surfaces(inputs),
        "michelson_to_weber" => to_weber(inputs),
        "projector_contrast" => projected(inputs),
        "max_ambient_for_ratio" => most_ambient(inputs),
        "log_cs_to_threshold" => threshold(inputs),
        "log_cs_from_letters" => letters(inputs),
        "wcag_ratio" => colours(inputs),
        "wcag_to_weber" => ratio_to_weber(inputs),
        "log_units_below_full_contrast" => below(inputs),
        "luminance_from_illuminance" => bright(inputs),
        "footcandle_to_lux" => footcandles(inputs),
        "point_source_illuminance" => lamp(inputs),
        "illuminance_for_luminance" => light_for(inputs),
        "recommended_illuminance" => level(inputs),
        "success_rate_interval95" => success(inputs),
        "median_time" => median(inputs),
        "scan_score" => scan(inputs),
        "tracking_score" => tracking(inputs),
        "log_time_gain" => gain(inputs),
        "apparent_image_speed" => shake(inputs),
        "apparent_target_speed" => crossing(inputs),
        _ => return None,
    };
    Some(figures.map(Outcome::Figures))
}

type Found = Result<Figures, Box<dyn std::error::Error>>;

fn lux(inputs: &Inputs<'_>, key: &str) -> Result<Lux, OutOfRange> {
    Lux::new(inputs.number(key))
}

fn fraction(inputs: &Inputs<'_>, key: &str) -> Result<Fraction, OutOfRange> {
    Fraction::new(inputs.number(key))
}

fn seconds(inputs: &Inputs<'_>, key: &str) -> Result<Seconds, OutOfRange> {
    Seconds::new(inputs.number(key))
}

fn measures(found: Contrasts) -> Figures {
    vec![("weber_magnitude", found.weber.get()), ("michelson", found.michelson.get())]
}

fn contrast(inputs: &Inputs<'_>) -> Answered {
    let target = Luminance::new(inputs.number("target_luminance_cd_m2"))?;
    let ground = Luminance::new(inputs.number("background_luminance_cd_m2"))?;
    let found = contrasts(target, ground)?;
    let mut figures = measures(found);
    let inked = fraction(inputs, "target_area_fraction")?;
    figures.push(("rms", root_mean_square(target, ground, inked)?));
    figures.extend(found.luminance_ratio.map(|ratio| ("luminance_ratio", ratio)));
    let word = match found.polarity {
        Polarity::DarkOnLight => "dark_on_light",
        Polarity::LightOnDark => "light_on_dark",
    };
    Ok(Outcome::WithWord(figures, "polarity", word))
}

fn surfaces(inputs: &Inputs<'_>) -> Found {
    Ok(measures(contrasts_of_surfaces(
        fraction(inputs, "target_reflectance")?,
        fraction(inputs, "background_reflectance")?,
    )?))
}

fn to_weber(inputs: &Inputs<'_>) -> Found {
    let polarity = match inputs.word("polarity") {
        "dark_on_light" => Polarity::DarkOnLight,
        "light_on_dark" => Polarity::LightOnDark,
        other => panic!("{other} is no polarity"),
    };
    let weber = weber_of_michelson(fraction(inputs, "michelson")?, polarity)?;
    Ok(vec![("weber_magnitude", weber.get())])
}

fn projector(inputs: &Inputs<'_>) -> Result<Projector, OutOfRange> {
    Ok(Projector { white: lux(inputs, "projector_white_lux")?, black: lux(inputs, "projector_black_lux")? })
}

fn projected(inputs: &Inputs<'_>) -> Found {
    let gain = Ratio::new(inputs.number("screen_reflectance_or_gain"))?;
    let left = projector(inputs)?.in_room(lux(inputs, "ambient_on_screen_lux")?, gain)?;
    Ok(vec![
        ("white_cd_m2", left.white.get()),
        ("black_cd_m2", left.black.get()),
        ("system_ratio", left.system_ratio),
        ("weber_dark_text", left.dark_text.get()),
        ("michelson", left.michelson.get()),
    ])
}

fn most_ambient(inputs: &Inputs<'_>) -> Found {
    let ratio = Ratio::new(inputs.number("system_ratio"))?;
    Ok(vec![("max_ambient_lux", projector(inputs)?.most_ambient(ratio)?.get())])
}

fn threshold(inputs: &Inputs<'_>) -> Found {
    let eye = LogContrastSensitivity::new(inputs.number("log_cs"))?;
    Ok(vec![("threshold_weber", eye.threshold()?.get())])
}

fn letters(inputs: &Inputs<'_>) -> Found {
    let read = LogContrastSensitivity::from_letters(
        inputs.count("letters_read"),
        inputs.count("letters_in_full_contrast_row"),
        inputs.number("log_per_letter"),
    )?;
    Ok(vec![("log_cs", read.get())])
}

fn colours(inputs: &Inputs<'_>) -> Found {
    let colour = |key: &str| -> [u8; 3] {
        let channels: Vec<u8> = inputs
            .numbers(key)
            .iter()
            .map(|channel| (0..=255).find(|byte| f64::from(*byte) >= *channel).expect("8 bits"))
            .collect();
        channels.try_into().expect("three channels")
    };
    let pair = colour_pair(colour("foreground_rgb8"), colour("background_rgb8"))?;
    let mut figures = vec![
        ("ratio", pair.ratio),
        ("relative_luminance_high", pair.lighter.get()),
        ("relative_luminance_low", pair.darker.get()),
    ];
    figures.extend(pair.michelson_no_flare.map(|m| ("michelson_no_flare", m.get())));
    Ok(figures)
}

fn ratio_to_weber(inputs: &Inputs<'_>) -> Found {
    let ground = fraction(inputs, "background_relative_luminance")?;
    let text = ratio_as_weber(Ratio::new(inputs.number("ratio"))?, ground)?;
    Ok(vec![
        ("text_relative_luminance", text.text.get()),
        ("weber_no_flare", text.no_flare.get()),
        ("weber_with_5pct_flare", text.with_flare.get()),
    ])
}

fn below(inputs: &Inputs<'_>) -> Found {
    let weber = below_full(inputs.number("log_units_below_full_contrast"))?;
    Ok(vec![("weber", weber.get())])
}

fn bright(inputs: &Inputs<'_>) -> Found {
    let surface = luminance(lux(inputs, "illuminance_lux")?, fraction(inputs, "reflectance")?)?;
    Ok(vec![("luminance_cd_m2", surface.get())])
}

fn footcandles(inputs: &Inputs<'_>) -> Found {
    Ok(vec![("lux", lux_of_footcandles(inputs.number("footcandles"))?.get())])
}

fn lamp(inputs: &Inputs<'_>) -> Found {
    let light = from_lamp(
        inputs.number("intensity_cd"),
        Metres::new(inputs.number("distance_m"))?,
        Degrees::new(inputs.number("incidence_deg"))?,
    )?;
    Ok(vec![("lux", light.get())])
}

fn light_for(inputs: &Inputs<'_>) -> Found {
    let wanted = Luminance::new(inputs.number("luminance_cd_m2"))?;
    let light = illuminance(wanted, fraction(inputs, "reflectance")?)?;
    Ok(vec![("illuminance_lux", light.get())])
}

fn level(inputs: &Inputs<'_>) -> Found {
    let surface = match inputs.word("surface") {
        "board_vertical" => Surface::Board,
        other => panic!("{other} is no surface of the files"),
    };
    Ok(vec![("lux", recommended(surface).get())])
}

fn success(inputs: &Inputs<'_>) -> Found {
    let found = success_rate(inputs.count("successes"), inputs.count("trials"), Level::NinetyFive)?;
    Ok(vec![("rate", found.rate.get()), ("wilson_low", found.low.get()), ("wilson_high", found.high.get())])
}

fn median(inputs: &Inputs<'_>) -> Found {
    let times: Vec<Seconds> =
        inputs.numbers("times_s").iter().map(|time| Seconds::new(*time)).collect::<Result<_, _>>()?;
    let found = median_time(&times, seconds(inputs, "cutoff_s")?)?;
    let mut figures = vec![("censored", f64::from(found.cut_off))];
    figures.extend(found.median.map(|median| ("median_s", median.get())));
    Ok(figures)
}

fn scan(inputs: &Inputs<'_>) -> Found {
    let score = scan_score(
        inputs.count("targets"),
        inputs.count("omitted"),
        inputs.count("counted_twice"),
        seconds(inputs, "time_s")?,
    )?;
    Ok(vec![
        ("omission_rate", score.omission_rate.get()),
        ("repetition_rate", score.repetition_rate),
        ("targets_per_min", score.targets_per_minute),
    ])
}

fn tracking(inputs: &Inputs<'_>) -> Found {
    let score =
        tracking_score(seconds(inputs, "duration_s")?, inputs.count("losses"), seconds(inputs, "time_lost_s")?)?;
    Ok(vec![("losses_per_min", score.losses_per_minute), ("time_on_target_fraction", score.on_target.get())])
}

fn gain(inputs: &Inputs<'_>) -> Found {
    let gain = time_gain(seconds(inputs, "baseline_median_s")?, seconds(inputs, "current_median_s")?)?;
    Ok(vec![("log10_ratio", gain.log10_ratio), ("percent_faster", gain.percent_faster)])
}

fn shake(inputs: &Inputs<'_>) -> Found {
    let power = Magnification::new(inputs.number("power"))?;
    let speed = image_speed(power, inputs.number("hand_tremor_deg_per_s"))?;
    Ok(vec![("image_speed_deg_per_s", speed)])
}

fn crossing(inputs: &Inputs<'_>) -> Found {
    let speed = target_speed(
        Magnification::new(inputs.number("power"))?,
        inputs.number("target_speed_m_s"),
        Metres::new(inputs.number("distance_m"))?,
    )?;
    Ok(vec![("unaided_deg_per_s", speed.unaided), ("through_device_deg_per_s", speed.through_device)])
}
