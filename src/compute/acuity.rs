//! Operations on acuity: fractions, logMAR, letters counted, print sizes.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::acuity::letters::Chart;
use crate::vision::acuity::near::{MUnits, x_height_of_type};
use crate::vision::acuity::notation::{Setup, parse};
use crate::vision::acuity::{AcuityError, AcuityQuestion, LogMar};
use crate::vision::length::feet;
use crate::vision::units::Metres;

const TOPIC: &str = "acuity";

const TEST_FT: Input = Input::number("test_distance_ft", "the test distance, above the line", "feet");
const LETTER_FT: Input = Input::number("letter_distance_ft", "the distance of the letter, below the line", "feet");

const ROW_STEP: Input = Input::number("row_step_log", "the step from row to row", "log units");
const LETTERS_PER_ROW: Input = Input::count("letters_per_row", "the letters in a row");
const LETTERS_CORRECT: Input =
    Input::count("letters_correct", "the letters read right, all larger rows counted as read");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "snellen_to_all",
        topic: TOPIC,
        question: "What is this fraction in the other notations?",
        inputs: &[
            TEST_FT.way("in feet"),
            LETTER_FT.way("in feet"),
            Input::metres("test_distance_m", "the test distance, above the line").way("in metres"),
            Input::metres("letter_distance_m", "the distance of the letter, below the line").way("in metres"),
        ],
        answers: snellen,
    },
    Operation {
        name: "snellen_ft_to_6m",
        topic: TOPIC,
        question: "What stands below the line of 6/x for this fraction in feet?",
        inputs: &[TEST_FT, LETTER_FT],
        answers: at_six_metres,
    },
    Operation {
        name: "logmar_to_var_and_decimal",
        topic: TOPIC,
        question: "What is this logMAR as VAR score and as decimal acuity?",
        inputs: &[Input::logmar("logmar", "the acuity")],
        answers: of_logmar,
    },
    Operation {
        name: "decimal_of_logmar",
        topic: TOPIC,
        question: "What is this logMAR as decimal acuity?",
        inputs: &[Input::logmar("logmar", "the acuity")],
        answers: of_logmar,
    },
    Operation {
        name: "letter_score_to_logmar",
        topic: TOPIC,
        question: "Which acuity is so many letters read at the distance for which the rows are named?",
        inputs: &[
            Input::logmar("largest_row_logmar_at_test_distance", "the largest row at the test distance"),
            ROW_STEP,
            LETTERS_PER_ROW,
            LETTERS_CORRECT,
        ],
        answers: letters,
    },
    Operation {
        name: "letter_score_with_distance",
        topic: TOPIC,
        question: "Which acuity is so many letters read nearer or farther than the rows are named for?",
        inputs: &[
            Input::logmar("largest_row_logmar_at_design_distance", "the largest row as it is named"),
            Input::metres("design_distance_m", "the design distance, for which the rows are named"),
            Input::metres("test_distance_m", "the test distance"),
            ROW_STEP,
            LETTERS_PER_ROW,
            LETTERS_CORRECT,
        ],
        answers: letters_elsewhere,
    },
    Operation {
        name: "m_unit_height_mm",
        topic: TOPIC,
        question: "How tall are small letters of this size in M?",
        inputs: &[Input::number("m_units", "the print size", "M")],
        answers: m_height,
    },
    Operation {
        name: "m_units_of_height",
        topic: TOPIC,
        question: "Which size in M are small letters this tall?",
        inputs: &[Input::number("height_mm", "the x-height", "millimetres")],
        answers: m_of_height,
    },
    Operation {
        name: "near_m_from_logmar",
        topic: TOPIC,
        question: "Which print does this acuity just read at this distance?",
        inputs: &[Input::logmar("logmar", "the acuity"), Input::metres("distance_m", "the reading distance")],
        answers: near_m,
    },
    Operation {
        name: "near_logmar",
        topic: TOPIC,
        question: "Which acuity reads this print at this distance?",
        inputs: &[
            Input::number("m_units", "the print size read", "M"),
            Input::metres("distance_m", "the reading distance"),
        ],
        answers: near_logmar,
    },
    Operation {
        name: "n_points_to_m",
        topic: TOPIC,
        question: "Which size in M is this N size, by the rule for its one reference face?",
        inputs: &[Input::number("n_points", "the N size", "points")],
        answers: n_points,
    },
    Operation {
        name: "point_size_to_m",
        topic: TOPIC,
        question: "Which size in M is type of so many points in this face?",
        inputs: &[
            Input::number("point_size_pt", "the size of the type", "points"),
            Input::plain("x_height_ratio", "the x-height of the face as a part of its size"),
        ],
        answers: points,
    },
    Operation {
        name: "qualitative_to_measured_acuity",
        topic: TOPIC,
        question: "Which logMAR was written, if it is a measured value and no category?",
        inputs: &[Input::text("notation", "the acuity as it was written")],
        answers: written,
    },
];

fn of_all_notations(value: LogMar) -> Figures {
    Figures::from([
        ("mar_arcmin", value.mar_arcminutes()),
        ("logmar", value.get()),
        ("decimal", value.decimal()),
        ("var_score", value.var_score()),
        ("cycles_per_degree", value.cycles_per_degree()),
    ])
}

fn in_feet(inputs: &Inputs<'_>) -> Result<LogMar, Fault> {
    let test = inputs.typed("test_distance_ft", feet)?;
    Ok(LogMar::from_fraction(test, inputs.typed("letter_distance_ft", feet)?)?)
}

fn snellen(inputs: &Inputs<'_>) -> Found {
    let value = if inputs.has("test_distance_ft") {
        in_feet(inputs)?
    } else {
        LogMar::from_fraction(inputs.metres("test_distance_m")?, inputs.metres("letter_distance_m")?)?
    };
    Ok(of_all_notations(value))
}

fn at_six_metres(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("letter_distance_m_at_6m", in_feet(inputs)?.below_the_line(6.0)?)]))
}

fn of_logmar(inputs: &Inputs<'_>) -> Found {
    let value = inputs.logmar("logmar")?;
    Ok(Figures::from([("var_score", value.var_score()), ("decimal", value.decimal())]))
}

/// The chart, with the logMAR of its largest row at this key.
fn chart(inputs: &Inputs<'_>, largest_row: &'static str) -> Result<Chart, Fault> {
    let top = inputs.logmar(largest_row)?;
    Ok(Chart::new(top, inputs.number("row_step_log")?, inputs.count("letters_per_row")?)?)
}

fn letters(inputs: &Inputs<'_>) -> Found {
    let chart = chart(inputs, "largest_row_logmar_at_test_distance")?;
    // Without a design distance the chart takes any distance as its own.
    let score = chart.score(inputs.count("letters_correct")?, Metres::literal(4.0))?;
    Ok(Figures::from([("logmar", score.get()), ("var_score", score.var_score())]))
}

fn letters_elsewhere(inputs: &Inputs<'_>) -> Found {
    let chart = chart(inputs, "largest_row_logmar_at_design_distance")?;
    let named = inputs.metres("design_distance_m")?;
    let score = chart.designed_for(named).score(inputs.count("letters_correct")?, inputs.metres("test_distance_m")?)?;
    Ok(Figures::from([("logmar", score.get()), ("var_score", score.var_score())]))
}

fn m_height(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("height_mm", inputs.m_units("m_units")?.height()?.get())]))
}

fn m_of_height(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("m_units", MUnits::of_height(inputs.millimetres("height_mm")?)?.get())]))
}

fn near_m(inputs: &Inputs<'_>) -> Found {
    let print = MUnits::just_read_by(inputs.logmar("logmar")?, inputs.metres("distance_m")?)?;
    Ok(Figures::from([("m_units", print.get())]))
}

fn near_logmar(inputs: &Inputs<'_>) -> Found {
    let value = inputs.m_units("m_units")?.read_at(inputs.metres("distance_m")?)?;
    Ok(Figures::from([
        ("logmar", value.get()),
        ("snellen_20_denominator", value.below_the_line(20.0)?),
        ("inverse_V", value.mar_arcminutes()),
    ]))
}

fn n_points(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("m_units", MUnits::of_n_points(inputs.number("n_points")?)?.get())]))
}

fn points(inputs: &Inputs<'_>) -> Found {
    let height = x_height_of_type(inputs.number("point_size_pt")?, inputs.fraction("x_height_ratio")?)?;
    Ok(Figures::from([("x_height_mm", height.get()), ("m_units", MUnits::of_height(height)?.get())]))
}

/// A category is taken as what it is, and gives no number.
fn written(inputs: &Inputs<'_>) -> Found {
    let text = inputs.text("notation")?;
    let at = |distance| parse(text, Setup::at(distance));
    let taken = match at(Metres::literal(1.0)) {
        // No distance stands beside the text here: the one within it counts.
        Err(AcuityError::Ask(AcuityQuestion::TwoDistances { written, .. })) => at(written),
        Err(AcuityError::Ask(AcuityQuestion::AnotherDistance { above, distance, below, likely })) => {
            let again = above.parse().ok().and_then(|above| feet(above).ok());
            let asked = AcuityQuestion::AnotherDistance { above, below, distance, likely };
            again.map_or(Err(asked.into()), at)
        }
        taken => taken,
    };
    let taken = taken.map_err(|error| Fault::at("notation", error))?;
    let none = || Fault::at("notation", "a category has no measured value; test with letters or print to get one");
    Ok(Figures::from([("logmar", taken.acuity.logmar().ok_or_else(none)?.get())]))
}
