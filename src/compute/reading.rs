//! Operations on reading aloud, its curve over print size, and copying.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::acuity::LogMar;
use crate::vision::reading::copying::{CharactersPerMinute, Copied, board_to_desk, copy_rate};
use crate::vision::reading::curve::{ExponentialInMar, LogExponential, TwoLimb};
use crate::vision::reading::fit::{Estimate, Passage, fit_exponential, fit_two_limb};
use crate::vision::reading::{WordsPerMinute, passage_speed, standard_length_speed};
use crate::vision::units::{Arcminutes, Fraction};

const TOPIC: &str = "reading and copying";

const PRINT: Input = Input::logmar("print_size_logmar", "the print size");
const GREATEST: Input = Input::number("max_wpm", "the greatest speed", "words a minute");
const PASSAGES: &[Input] = &[
    Input::numbers("x", "the print size of each passage", "logMAR"),
    Input::numbers("log10_wpm", "the speed of each passage, as the logarithm of words a minute", "log units"),
];

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "passage_reading_speed",
        topic: TOPIC,
        question: "How fast was a passage read aloud, when words missed or misread do not count?",
        inputs: &[
            Input::number("reading_time_s", "the reading time", "seconds"),
            Input::count("word_errors", "the word errors"),
            Input::plain("standard_words", "the standard words of the passage"),
        ],
        answers: passage,
    },
    Operation {
        name: "standard_length_words_per_minute",
        topic: TOPIC,
        question: "How fast was a text of so many characters read?",
        inputs: &[
            Input::count("characters_including_spaces", "the characters with spaces"),
            Input::number("time_s", "the reading time", "seconds"),
        ],
        answers: standard,
    },
    Operation {
        name: "reading_speed_exponential_mar",
        topic: TOPIC,
        question: "How fast is this print read, by the curve over the minimum angle?",
        inputs: &[
            Input::number("print_size_mar_arcmin", "the print size", "minutes of arc"),
            Input::number("threshold_mar_arcmin", "the threshold size", "minutes of arc"),
            Input::number("critical_mar_arcmin", "the critical size", "minutes of arc"),
            GREATEST,
        ],
        answers: in_mar,
    },
    Operation {
        name: "reading_curve_log_exponential",
        topic: TOPIC,
        question: "How fast is this print read, and which print is critical, by the curve over logMAR?",
        inputs: &[
            GREATEST,
            Input::plain("ln_rate_constant", "the natural logarithm of the rate constant"),
            Input::logmar("x_intercept_logmar", "the print size read at one word a minute"),
            Input::plain("cps_criterion_fraction", "the part of the greatest speed that counts as fast"),
            PRINT,
        ],
        answers: in_logmar,
    },
    Operation {
        name: "reading_curve_bilinear",
        topic: TOPIC,
        question: "How fast is this print read, by two straight limbs?",
        inputs: &[
            PRINT,
            Input::logmar("cps_logmar", "the critical print size"),
            GREATEST,
            Input::number("slope_wpm_per_log", "the slope below it", "words a minute in a log unit"),
        ],
        answers: two_limb,
    },
    Operation {
        name: "copy_rate",
        topic: TOPIC,
        question: "How fast is it copied from the board, and how does that compare with the desk?",
        inputs: &[
            Input::count("characters_copied", "the characters copied"),
            Input::number("time_s", "the time it took", "seconds"),
            Input::count("character_errors", "the errors among them"),
            Input::number("desk_copy_cpm", "the rate at the desk", "characters a minute").optional(),
        ],
        answers: copying,
    },
    Operation {
        name: "reading_curve_fit_exponential",
        topic: TOPIC,
        question: "Which curve over logMAR fits these passages best?",
        inputs: PASSAGES,
        answers: fitted_exponential,
    },
    Operation {
        name: "reading_curve_fit_two_limb",
        topic: TOPIC,
        question: "Which two limbs fit these passages best?",
        inputs: PASSAGES,
        answers: fitted_two_limb,
    },
];

fn speed(inputs: &Inputs<'_>, key: &'static str) -> Result<WordsPerMinute, Fault> {
    inputs.typed(key, WordsPerMinute::new)
}

fn standard(inputs: &Inputs<'_>) -> Found {
    let speed = standard_length_speed(inputs.count("characters_including_spaces")?, inputs.seconds("time_s")?)?;
    Ok(Figures::from([("wpm", speed.get())]))
}

fn passage(inputs: &Inputs<'_>) -> Found {
    let (words, errors) = (inputs.number("standard_words")?, inputs.count("word_errors")?);
    let speed = passage_speed(words, errors, inputs.seconds("reading_time_s")?)?;
    Ok(Figures::from([("wpm", speed.get())]))
}

fn two_limb(inputs: &Inputs<'_>) -> Found {
    let curve = TwoLimb {
        critical_print: inputs.logmar("cps_logmar")?,
        greatest: speed(inputs, "max_wpm")?,
        slope: inputs.number("slope_wpm_per_log")?,
    };
    Ok(Figures::from([("wpm", curve.speed_at(inputs.logmar("print_size_logmar")?)?.get())]))
}

fn in_mar(inputs: &Inputs<'_>) -> Found {
    let curve = ExponentialInMar {
        threshold: inputs.typed("threshold_mar_arcmin", Arcminutes::new)?,
        critical: inputs.typed("critical_mar_arcmin", Arcminutes::new)?,
        greatest: speed(inputs, "max_wpm")?,
    };
    let print = inputs.typed("print_size_mar_arcmin", Arcminutes::new)?;
    Ok(Figures::from([("wpm", curve.speed_at(print)?.get())]))
}

fn in_logmar(inputs: &Inputs<'_>) -> Found {
    let curve = LogExponential {
        greatest: speed(inputs, "max_wpm")?,
        ln_rate: inputs.number("ln_rate_constant")?,
        one_word_a_minute: inputs.logmar("x_intercept_logmar")?,
    };
    let critical = curve.critical_print(inputs.fraction("cps_criterion_fraction")?)?;
    let speed = curve.speed_at(inputs.logmar("print_size_logmar")?)?;
    Ok(Figures::from([("wpm", speed.get()), ("cps_logmar", critical.get())]))
}

fn copying(inputs: &Inputs<'_>) -> Found {
    let board = copy_rate(Copied {
        characters: inputs.count("characters_copied")?,
        errors: inputs.count("character_errors")?,
        time: inputs.seconds("time_s")?,
    })?;
    let found = Figures::from([
        ("board_cpm", board.all.get()),
        ("correct_cpm", board.correct.get()),
        ("error_rate", board.error_rate.get()),
    ]);
    if !inputs.has("desk_copy_cpm") {
        return Ok(found);
    }
    let desk = inputs.typed("desk_copy_cpm", CharactersPerMinute::new)?;
    Ok(found.and("board_to_desk_ratio", board_to_desk(board.all, desk)?.get()))
}

fn passages(inputs: &Inputs<'_>) -> Result<Vec<Passage>, Fault> {
    let (sizes, speeds) = (inputs.numbers("x")?, inputs.numbers("log10_wpm")?);
    if sizes.len() != speeds.len() {
        let why = format!("give one speed for each print size, {} and not {}", sizes.len(), speeds.len());
        return Err(Fault::at("log10_wpm", why));
    }
    let both = sizes.into_iter().zip(speeds);
    both.map(|(size, log_speed)| {
        let size = LogMar::new(size).map_err(|refused| Fault::at("x", refused))?;
        let speed = WordsPerMinute::new(10_f64.powf(log_speed)).map_err(|refused| Fault::at("log10_wpm", refused))?;
        Ok(Passage { size, speed })
    })
    .collect()
}

/// A parameter with its standard error, if there is one.
fn estimated(found: Figures, keys: (&'static str, &'static str), estimate: Estimate) -> Figures {
    found.and(keys.0, estimate.value).and_if(keys.1, estimate.standard_error)
}

fn fitted_exponential(inputs: &Inputs<'_>) -> Found {
    let curve = fit_exponential(&passages(inputs)?)?;
    let critical = |part| curve.critical_print(Fraction::literal(part));
    let found = [
        (("a", "se_a"), curve.log_greatest),
        (("b", "se_b"), curve.ln_rate),
        (("c", "se_c"), curve.one_word_a_minute),
        (("cps90_speed", "se_cps90"), critical(0.9)?),
        (("cps80_speed", "se_cps80"), critical(0.8)?),
    ];
    let start = Figures::from([("resid_sd", curve.residual_sd)]);
    Ok(found.into_iter().fold(start, |figures, (keys, estimate)| estimated(figures, keys, estimate)))
}

fn fitted_two_limb(inputs: &Inputs<'_>) -> Found {
    let limbs = fit_two_limb(&passages(inputs)?)?;
    let found = estimated(Figures::from([("sse", limbs.squares)]), ("cps", "se_cps"), limbs.critical_print);
    let found = estimated(found, ("plateau", "se_plateau"), limbs.plateau);
    Ok(estimated(found, ("slope", "se_slope"), limbs.slope))
}
