//! Operations on counts, trends, overlap, mastery, searches and the model of
//! one observation.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::skill::{Level, success_rate};
use crate::vision::stats::better::{Count, compare};
use crate::vision::stats::growth::{RateOnDay, autocorrelation, weekly_growth, widened_slopes};
use crate::vision::stats::mastery::{Practice, Rule, chances, mastery as mastered};
use crate::vision::stats::observing::{
    Course, Overdispersion, Tally, Word, delivered, effective_sessions, field_demand, items_of_word, of_tally, of_word,
};
use crate::vision::stats::overlap::{Better, Overlap, all_pairs};
use crate::vision::stats::rate::per_minute;
use crate::vision::stats::spotting::{Search, time_to_spot};
use crate::vision::stats::trend::{Point, kendall, theil_sen};
use crate::vision::units::{Fraction, OutOfRange, Seconds, count};

const OBSERVING: &str = "observations";
const PROGRESS: &str = "progress";
const COMPARING: &str = "comparison";

pub(super) const WORDS: &[&str] = &["none", "some", "most", "all"];

const RATE: Input = Input::plain("p", "the true success rate");
const RHO: Input = Input::plain("rho", "how alike the items of a tally are");
const LEVEL: Input = Input::plain("level", "how sure the interval is, 0.9 or 0.95");
const BEFORE: Input = Input::numbers("A", "the values before", "");
const DURING: Input = Input::numbers("B", "the values during training", "");
const TIMES: Input = Input::numbers("x", "the times", "");
const VALUES: Input = Input::numbers("y", "the values", "");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "field_demand",
        topic: OBSERVING,
        question: "Which demand does a target in the field show?",
        inputs: &[Input::metres("letter_height_m", "the letter height"), Input::metres("distance_m", "the distance")],
        answers: demand,
    },
    Operation {
        name: "tally_likelihood",
        topic: OBSERVING,
        question: "How likely is this tally at a true rate?",
        inputs: &[Input::count("k", "the right ones"), Input::count("n", "the items tried"), RATE, RHO],
        answers: tally,
    },
    Operation {
        name: "word_likelihood",
        topic: OBSERVING,
        question: "How likely is this word at a true rate?",
        inputs: &[
            Input::word("word", "how much was read", WORDS),
            Input::count("n", "the items it is about").optional(),
            RATE,
            RHO,
        ],
        answers: word_said,
    },
    Operation {
        name: "effective_sessions",
        topic: OBSERVING,
        question: "How many sessions is this worth, when some were shorter than others?",
        inputs: &[Input::numbers("items_per_session", "the items of each session", "")],
        answers: sessions,
    },
    Operation {
        name: "size_for_success",
        topic: OBSERVING,
        question: "At which size does success reach four of five, if the course were known?",
        inputs: &[
            Input::logmar("theta", "the threshold"),
            Input::number("sigma", "the spread of the course", "logMAR"),
            Input::plain("lapse", "the lapse rate"),
            Input::plain("guess", "the guess rate"),
        ],
        answers: size,
    },
    Operation {
        name: "effective_magnification",
        topic: OBSERVING,
        question: "How much does a telescope give, if both thresholds were known?",
        inputs: &[
            Input::logmar("theta_unaided", "the threshold without it"),
            Input::logmar("theta_aided", "the threshold with it"),
            Input::plain("nominal", "the power of the device"),
        ],
        answers: effective,
    },
    Operation {
        name: "wilson_interval90",
        topic: PROGRESS,
        question: "Which true success rates fit so many right of so many, 90 in 100?",
        inputs: &[Input::count("k", "the right ones"), Input::count("n", "the trials")],
        answers: wilson,
    },
    Operation {
        name: "rate_interval90",
        topic: PROGRESS,
        question: "How many a minute, and which true rates fit, 90 in 100?",
        inputs: &[Input::count("correct", "the count"), Input::number("minutes", "the time", "minutes")],
        answers: rate,
    },
    Operation {
        name: "theil_sen",
        topic: PROGRESS,
        question: "How much does the value change per unit of time, whatever one odd value says?",
        inputs: &[TIMES, VALUES, LEVEL],
        answers: slope,
    },
    Operation {
        name: "kendall_tau_b",
        topic: PROGRESS,
        question: "Do the values go steadily up or down?",
        inputs: &[TIMES, VALUES],
        answers: concord,
    },
    Operation {
        name: "weekly_growth",
        topic: PROGRESS,
        question: "By what factor does the rate grow in a week?",
        inputs: &[
            Input::numbers("days", "the day of each session", "days"),
            Input::numbers("rate", "the rate of each session", "a minute"),
        ],
        answers: growth,
    },
    Operation {
        name: "residual_autocorrelation",
        topic: PROGRESS,
        question: "How much do sessions that follow one another resemble one another?",
        inputs: &[VALUES, Input::word("detrend", "what is taken off before", &["OLS on index"]).optional()],
        answers: neighbours,
    },
    Operation {
        name: "nap",
        topic: PROGRESS,
        question: "In what share of pairs is the session during training the better one?",
        inputs: &[BEFORE, DURING],
        answers: overlap,
    },
    Operation {
        name: "nap_interval",
        topic: PROGRESS,
        question: "Which shares of better pairs fit?",
        inputs: &[BEFORE, DURING, LEVEL],
        answers: overlap_interval,
    },
    Operation {
        name: "mastery_rule",
        topic: PROGRESS,
        question: "How often does a student of this true rate meet the rule within so many sessions?",
        inputs: &[
            Input::plain("true_rate", "the true success rate"),
            Input::count("items", "the items of a session"),
            Input::plain("criterion", "the share to be right"),
            Input::count("consecutive", "the sessions running"),
            Input::count("sessions", "the sessions there are"),
            RHO.optional(),
            Input::numbers("right", "the right ones of the sessions held, in order", "").optional(),
            Input::numbers("tried", "the items of the sessions held", "").optional(),
        ],
        answers: mastery,
    },
    Operation {
        name: "time_to_spot",
        topic: COMPARING,
        question: "How long does the student search, with failed searches counted as such?",
        inputs: &[
            Input::numbers("seconds", "the time of each search", "seconds"),
            Input::numbers("found", "1 for each that was found, 0 for each that was stopped", ""),
            Input::number("cap", "the longest time given", "seconds"),
        ],
        answers: spotting,
    },
    Operation {
        name: "probability_better",
        topic: COMPARING,
        question: "How probable is it that the true rate behind the first count is higher?",
        inputs: &[
            Input::count("k1", "the right ones of the first"),
            Input::count("n1", "the items of the first"),
            Input::count("k2", "the right ones of the second"),
            Input::count("n2", "the items of the second"),
            Input::word("prior", "the prior", &["Jeffreys"]).optional(),
        ],
        answers: better,
    },
];

pub(super) fn word_of(word: &str) -> Option<Word> {
    Some(match word {
        "none" => Word::None,
        "some" => Word::Some,
        "most" => Word::Most,
        "all" => Word::All,
        _ => return None,
    })
}

fn alike(inputs: &Inputs<'_>) -> Result<Overdispersion, Fault> {
    inputs.typed("rho", Overdispersion::new)
}

fn level(inputs: &Inputs<'_>) -> Result<Level, Fault> {
    let share = inputs.number("level")?;
    [Level::Ninety, Level::NinetyFive]
        .into_iter()
        .find(|level| (level.share() - share).abs() < 1e-9)
        .ok_or_else(|| Fault::at("level", "give 0.9 or 0.95"))
}

/// Two lists that belong together, one to one.
fn pairs(inputs: &Inputs<'_>, one: &'static str, other: &'static str) -> Result<Vec<(f64, f64)>, Fault> {
    let (first, second) = (inputs.numbers(one)?, inputs.numbers(other)?);
    if first.len() != second.len() {
        let why = format!("give as many as in {one}: {}, not {}", first.len(), second.len());
        return Err(Fault::at(other, why));
    }
    Ok(first.into_iter().zip(second).collect())
}

fn points(inputs: &Inputs<'_>) -> Result<Vec<Point>, Fault> {
    let all = pairs(inputs, "x", "y")?;
    Ok(all.into_iter().map(|(at, value)| Point::new(at, value)).collect::<Result<_, OutOfRange>>()?)
}

fn demand(inputs: &Inputs<'_>) -> Found {
    let found = field_demand(inputs.metres("letter_height_m")?, inputs.metres("distance_m")?)?;
    Ok(Figures::from([("logMAR", found.get())]))
}

fn tally(inputs: &Inputs<'_>) -> Found {
    let tally = Tally::new(inputs.count("k")?, inputs.count("n")?)?;
    let found = of_tally(tally, inputs.fraction("p")?, alike(inputs)?);
    Ok(Figures::from([("pmf", found.chance), ("robust_loglik", found.robust_log)]))
}

fn word_said(inputs: &Inputs<'_>) -> Found {
    let word = word_of(inputs.text("word")?).ok_or_else(|| Fault::at("word", "give one of none, some, most, all"))?;
    let items = if inputs.has("n") { Some(inputs.count("n")?) } else { None };
    let found = of_word(word, items, inputs.fraction("p")?, alike(inputs)?)?;
    let counts: Vec<u32> = word.counts(items_of_word(items)).collect();
    Ok(Figures::from([("prob", found.chance), ("robust_loglik", found.robust_log)]).value("set", counts.into()))
}

fn sessions(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("S_eff", effective_sessions(&inputs.numbers("items_per_session")?)?)]))
}

fn size(inputs: &Inputs<'_>) -> Found {
    let course = Course {
        threshold: inputs.logmar("theta")?,
        spread: inputs.number("sigma")?,
        lapse: inputs.fraction("lapse")?,
        guess: inputs.fraction("guess")?,
    };
    let found = course.size_for(Fraction::literal(0.8))?;
    Ok(Figures::default().and_if("x80", found.map(|size| size.get())).value("reachable", found.is_some().into()))
}

fn effective(inputs: &Inputs<'_>) -> Found {
    let (without, with) = (inputs.logmar("theta_unaided")?, inputs.logmar("theta_aided")?);
    let found = delivered(without, with, inputs.power("nominal")?)?;
    Ok(Figures::from([("M_eff", found.effective.get()), ("ratio", found.ratio)])
        .and_if("log_efficiency", found.log_efficiency))
}

fn wilson(inputs: &Inputs<'_>) -> Found {
    let found = success_rate(inputs.count("k")?, inputs.count("n")?, Level::Ninety)?;
    Ok(Figures::from([("rate", found.rate.get()), ("lo", found.low.get()), ("hi", found.high.get())]))
}

fn rate(inputs: &Inputs<'_>) -> Found {
    let time = inputs.typed("minutes", |minutes| Seconds::new(60.0 * minutes))?;
    let found = per_minute(inputs.count("correct")?, time, Level::Ninety)?;
    Ok(Figures::from([("per_min", found.rate), ("lo", found.interval.low), ("hi", found.interval.high)]))
}

fn slope(inputs: &Inputs<'_>) -> Found {
    let points = points(inputs)?;
    let found = theil_sen(&points, level(inputs)?)?;
    let widened = widened_slopes(&points, &found)?;
    Ok(Figures::from([
        ("slope", found.slope),
        ("intercept", found.intercept),
        ("lo", found.interval.low),
        ("hi", found.interval.high),
        ("lo_widened", widened.low),
        ("hi_widened", widened.high),
    ]))
}

fn concord(inputs: &Inputs<'_>) -> Found {
    let found = kendall(&points(inputs)?)?;
    Ok(Figures::from([("tau_b", found.tau_b), ("p_two_sided", found.p_two_sided)]).value("S", found.score.into()))
}

fn growth(inputs: &Inputs<'_>) -> Found {
    let all = pairs(inputs, "days", "rate")?;
    let rates: Vec<RateOnDay> =
        all.into_iter().map(|(day, rate)| RateOnDay::new(day, rate)).collect::<Result<_, OutOfRange>>()?;
    let found = weekly_growth(&rates, Level::Ninety)?;
    Ok(Figures::from([
        ("x_per_week", found.per_week),
        ("lo90", found.interval.low),
        ("hi90", found.interval.high),
        ("x_per_week_theil_sen", found.per_week_by_median),
        ("lo90_widened", found.widened.low),
        ("hi90_widened", found.widened.high),
    ]))
}

fn neighbours(inputs: &Inputs<'_>) -> Found {
    let found = autocorrelation(&inputs.numbers("y")?)?;
    Ok(Figures::from([("r1", found.r1), ("r1_plus_1_over_n", found.shifted), ("widening", found.widening)]))
}

fn all(inputs: &Inputs<'_>, level: Level) -> Result<Overlap, Fault> {
    Ok(all_pairs(&inputs.numbers("A")?, &inputs.numbers("B")?, Better::Higher, level)?)
}

fn overlap(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("NAP", all(inputs, Level::Ninety)?.share)]))
}

fn overlap_interval(inputs: &Inputs<'_>) -> Found {
    let found = all(inputs, level(inputs)?)?;
    // As other programs print it, and as it is told here: at complete separation they differ.
    Ok(Figures::from([
        ("NAP", found.share),
        ("lo", found.as_published.low),
        ("hi", found.as_published.high),
        ("lo_told", found.interval.low),
        ("hi_told", found.interval.high),
    ])
    .and_if("SE", found.error))
}

fn mastery(inputs: &Inputs<'_>) -> Found {
    let rule = Rule {
        items: inputs.count("items")?,
        criterion: inputs.fraction("criterion")?,
        running: inputs.count("consecutive")?,
        days: 1,
    };
    let alike = if inputs.has("rho") { Some(alike(inputs)?) } else { None };
    let found = chances(rule, inputs.fraction("true_rate")?, alike, inputs.count("sessions")?)?;
    // How sure it is of the student at hand, where the sessions are given.
    let held = inputs.has("right") || inputs.has("tried");
    let sure = if held { Some(mastered(&practices(inputs)?, rule)?.sure) } else { None };
    Ok(Figures::from([
        ("p_one_session", found.one_session),
        ("p_mastered_by_N", found.within_sessions),
        ("p_met_in_any_order", found.in_any_order),
    ])
    .and_if("p_criterion_reached", sure))
}

/// The sessions held so far, by their counts.
fn practices(inputs: &Inputs<'_>) -> Result<Vec<Practice>, Fault> {
    let whole = |key, number: f64| count(number).ok_or_else(|| Fault::at(key, "give whole numbers"));
    (0..)
        .zip(pairs(inputs, "right", "tried")?)
        .map(|(day, (right, tried))| Ok(Practice { day, right: whole("right", right)?, tried: whole("tried", tried)? }))
        .collect()
}

fn spotting(inputs: &Inputs<'_>) -> Found {
    let cap = inputs.seconds("cap")?;
    let mut searches = Vec::new();
    for (time, found) in pairs(inputs, "seconds", "found")? {
        let time = Seconds::new(time)?;
        searches.push(match found {
            1.0 => Search::Found(time),
            0.0 => Search::Stopped(time),
            other => return Err(Fault::at("found", format!("give 1 or 0, not {other}"))),
        });
    }
    let found = time_to_spot(&searches, cap, Level::Ninety)?;
    Ok(Figures::from([("rmst", found.mean_to_cap.get())])
        .and_if("km_median", found.median.map(Seconds::get))
        .and_if("rmst_lo90", found.interval.map(|interval| interval.low))
        .and_if("rmst_hi90", found.interval.map(|interval| interval.high)))
}

fn better(inputs: &Inputs<'_>) -> Found {
    let count = |right, tried| -> Result<Count, Fault> { Ok(Count::new(inputs.count(right)?, inputs.count(tried)?)?) };
    let found = compare(count("k1", "n1")?, count("k2", "n2")?);
    Ok(Figures::from([("P_p1_gt_p2", found.first_higher)]))
}
