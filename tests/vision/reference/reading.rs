//! Operations on reading, copying and the curve of speed against print size.

use farpoint::vision::acuity::LogMar;
use farpoint::vision::reading::copying::{CharactersPerMinute, Copied, board_to_desk, copy_rate};
use farpoint::vision::reading::curve::{ExponentialInMar, LogExponential, TwoLimb};
use farpoint::vision::reading::fit::{Estimate, Passage, fit_exponential, fit_two_limb};
use farpoint::vision::reading::{WordsPerMinute, passage_speed, standard_length_speed};
use farpoint::vision::units::{Arcminutes, Fraction, OutOfRange, Seconds};

use super::{Answered, Figures, Inputs, Outcome};

pub(super) fn answer(op: &str, inputs: &Inputs<'_>) -> Option<Answered> {
    let figures = match op {
        "standard_length_words_per_minute" => standard(inputs),
        "passage_reading_speed" => passage(inputs),
        "reading_curve_bilinear" => two_limb(inputs),
        "reading_speed_exponential_mar" => in_mar(inputs),
        "reading_curve_log_exponential" => in_logmar(inputs),
        "copy_rate" => copying(inputs),
        "reading_curve_fit_exponential" => fitted_exponential(inputs),
        "reading_curve_fit_two_limb" => fitted_two_limb(inputs),
        _ => return None,
    };
    Some(figures.map(Outcome::Figures))
}

type Found = Result<Figures, Box<dyn std::error::Error>>;

fn logmar(inputs: &Inputs<'_>, key: &str) -> Result<LogMar, OutOfRange> {
    LogMar::new(inputs.number(key))
}

fn speed(inputs: &Inputs<'_>, key: &str) -> Result<WordsPerMinute, OutOfRange> {
    WordsPerMinute::new(inputs.number(key))
}

fn seconds(inputs: &Inputs<'_>, key: &str) -> Result<Seconds, OutOfRange> {
    Seconds::new(inputs.number(key))
}

fn standard(inputs: &Inputs<'_>) -> Found {
    let speed = standard_length_speed(inputs.count("characters_including_spaces"), seconds(inputs, "time_s")?)?;
    Ok(vec![("wpm", speed.get())])
}

fn passage(inputs: &Inputs<'_>) -> Found {
    let words = inputs.number("standard_words");
    let speed = passage_speed(words, inputs.count("word_errors"), seconds(inputs, "reading_time_s")?)?;
    Ok(vec![("wpm", speed.get())])
}

fn two_limb(inputs: &Inputs<'_>) -> Found {
    let curve = TwoLimb {
        critical_print: logmar(inputs, "cps_logmar")?,
        greatest: speed(inputs, "max_wpm")?,
        slope: inputs.number("slope_wpm_per_log"),
    };
    Ok(vec![("wpm", curve.speed_at(logmar(inputs, "print_size_logmar")?)?.get())])
}

fn in_mar(inputs: &Inputs<'_>) -> Found {
    let curve = ExponentialInMar {
        threshold: Arcminutes::new(inputs.number("threshold_mar_arcmin"))?,
        critical: Arcminutes::new(inputs.number("critical_mar_arcmin"))?,
        greatest: speed(inputs, "max_wpm")?,
    };
    let print = Arcminutes::new(inputs.number("print_size_mar_arcmin"))?;
    Ok(vec![("wpm", curve.speed_at(print)?.get())])
}

fn in_logmar(inputs: &Inputs<'_>) -> Found {
    let curve = LogExponential {
        greatest: speed(inputs, "max_wpm")?,
        ln_rate: inputs.number("ln_rate_constant"),
        one_word_a_minute: logmar(inputs, "x_intercept_logmar")?,
    };
    let critical = curve.critical_print(Fraction::new(inputs.number("cps_criterion_fraction"))?)?;
    let speed = curve.speed_at(logmar(inputs, "print_size_logmar")?)?;
    Ok(vec![("wpm", speed.get()), ("cps_logmar", critical.get())])
}

fn copying(inputs: &Inputs<'_>) -> Found {
    let board = copy_rate(Copied {
        characters: inputs.count("characters_copied"),
        errors: inputs.count("character_errors"),
        time: seconds(inputs, "time_s")?,
    })?;
    let desk = CharactersPerMinute::new(inputs.number("desk_copy_cpm"))?;
    Ok(vec![
        ("board_cpm", board.all.get()),
        ("correct_cpm", board.correct.get()),
        ("board_to_desk_ratio", board_to_desk(board.all, desk)?.get()),
        ("error_rate", board.error_rate.get()),
    ])
}

fn passages(inputs: &Inputs<'_>) -> Result<Vec<Passage>, OutOfRange> {
    let both = inputs.numbers("x").into_iter().zip(inputs.numbers("log10_wpm"));
    both.map(|(size, log_speed)| {
        Ok(Passage { size: LogMar::new(size)?, speed: WordsPerMinute::new(10_f64.powf(log_speed))? })
    })
    .collect()
}

fn with_error(figures: &mut Figures, keys: (&'static str, &'static str), found: Estimate) {
    figures.push((keys.0, found.value));
    figures.extend(found.standard_error.map(|error| (keys.1, error)));
}

fn fitted_exponential(inputs: &Inputs<'_>) -> Found {
    let curve = fit_exponential(&passages(inputs)?)?;
    let mut figures = vec![("resid_sd", curve.residual_sd)];
    with_error(&mut figures, ("a", "se_a"), curve.log_greatest);
    with_error(&mut figures, ("b", "se_b"), curve.ln_rate);
    with_error(&mut figures, ("c", "se_c"), curve.one_word_a_minute);
    with_error(&mut figures, ("cps90_speed", "se_cps90"), curve.critical_print(Fraction::new(0.9)?)?);
    with_error(&mut figures, ("cps80_speed", "se_cps80"), curve.critical_print(Fraction::new(0.8)?)?);
    Ok(figures)
}

fn fitted_two_limb(inputs: &Inputs<'_>) -> Found {
    let limbs = fit_two_limb(&passages(inputs)?)?;
    let mut figures = vec![("sse", limbs.squares)];
    with_error(&mut figures, ("cps", "se_cps"), limbs.critical_print);
    with_error(&mut figures, ("plateau", "se_plateau"), limbs.plateau);
    with_error(&mut figures, ("slope", "se_slope"), limbs.slope);
    Ok(figures)
}
