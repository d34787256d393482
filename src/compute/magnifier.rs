//! Operations on magnifiers and reading adds.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::acuity::LogMar;
use crate::vision::magnifier::{
    Equivalent, ReadAt, StandError, add_for, hand_field, kestenbaum, label_readings, of_enlargement, power_for,
    power_for_height, stand, window_field, with_add, working_distance,
};

const TOPIC: &str = "magnifiers";

const EYE_TO_LENS: Input = Input::metres("eye_to_lens_m", "the distance from the eye to the lens");
const GOAL: Input = Input::number("goal_m_units", "the print size to be read, the goal", "M");
const POWER: Input = Input::dioptres("power_D", "the power of the magnifier");
const READ_AND_GOAL: &[Input] = &[
    Input::number("read_m_units", "the smallest print read", "M"),
    Input::metres("at_distance_m", "the reading distance"),
    GOAL,
    Input::plain("reserve_ratio", "the reserve over the smallest print"),
];

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "equivalent_power",
        topic: TOPIC,
        question: "What do a magnifier and a reading add, or accommodation, make together?",
        inputs: &[
            Input::dioptres("magnifier_power_D", "the power of the magnifier"),
            Input::dioptres("add_or_accommodation_D", "the add or the accommodation"),
            Input::metres("separation_m", "the separation of the two"),
        ],
        answers: two_lenses,
    },
    Operation {
        name: "trade_magnification",
        topic: TOPIC,
        question: "Which labels may a lens of this power carry?",
        inputs: &[POWER],
        answers: labels,
    },
    Operation {
        name: "stand_magnifier",
        topic: TOPIC,
        question: "How does a stand magnifier work at this eye distance?",
        inputs: &[
            Input::dioptres("lens_power_D", "the power of the magnifier's lens"),
            Input::metres("stand_height_m", "the height of the stand, from the page to the lens"),
            EYE_TO_LENS,
        ],
        answers: stand_magnifier,
    },
    Operation {
        name: "hand_magnifier_field",
        topic: TOPIC,
        question: "How wide a strip of the page does a hand magnifier show?",
        inputs: &[Input::metres("lens_diameter_m", "the diameter of the lens"), POWER, EYE_TO_LENS],
        answers: hand_magnifier,
    },
    Operation {
        name: "kestenbaum_add_for_1M",
        topic: TOPIC,
        question: "Which add reads 1 M at threshold, by the old rule?",
        inputs: &[Input::plain("decimal_acuity", "the decimal acuity")],
        answers: old_rule,
    },
    Operation {
        name: "add_for_goal",
        topic: TOPIC,
        question: "Which add reads this size, if that one reads 1 M?",
        inputs: &[Input::dioptres("add_for_1M_D", "the add that reads 1 M"), GOAL],
        answers: for_goal,
    },
    Operation {
        name: "required_evd",
        topic: TOPIC,
        question: "Which equivalent viewing distance reads the goal with this reserve?",
        inputs: READ_AND_GOAL,
        answers: required,
    },
    Operation {
        name: "evd_from_enlargement",
        topic: TOPIC,
        question: "What equivalent viewing distance does an enlarged picture give?",
        inputs: &[
            Input::plain("enlargement", "the enlargement of the picture"),
            Input::metres("viewing_distance_m", "the viewing distance, from the eye to the picture"),
        ],
        answers: enlarged,
    },
    Operation {
        name: "required_equivalent_power",
        topic: TOPIC,
        question: "Which equivalent power reads the goal with this reserve?",
        inputs: READ_AND_GOAL,
        answers: required,
    },
    Operation {
        name: "equivalent_power_for_height",
        topic: TOPIC,
        question: "Which equivalent power shows small letters of this height with this reserve?",
        inputs: &[
            Input::logmar("threshold_logmar", "the acuity"),
            Input::metres("letter_height_m", "the height of the small letters"),
            Input::plain("required_reserve_ratio", "the reserve needed"),
        ],
        answers: for_height,
    },
    Operation {
        name: "window_magnifier_field",
        topic: TOPIC,
        question: "How wide a strip of print shows through a lens on a stand, by its equivalent power?",
        inputs: &[
            Input::metres("lens_diameter_m", "the diameter of the lens"),
            Input::dioptres("equivalent_power_D", "the equivalent power at this distance of the eye"),
            EYE_TO_LENS,
        ],
        answers: window,
    },
    Operation {
        name: "working_distance",
        topic: TOPIC,
        question: "How near does this eye hold the page?",
        inputs: &[
            Input::dioptres("add_D", "the reading add"),
            Input::dioptres("accommodation_D", "the accommodation used"),
            Input::dioptres("uncorrected_refraction_D", "the refraction left uncorrected, minus for a myope"),
        ],
        answers: working,
    },
];

fn both(equivalent: Equivalent) -> Figures {
    Figures::from([
        ("equivalent_power_D", equivalent.power.get()),
        ("equivalent_viewing_distance_m", equivalent.viewing_distance.get()),
    ])
}

fn two_lenses(inputs: &Inputs<'_>) -> Found {
    Ok(both(with_add(
        inputs.dioptres("magnifier_power_D")?,
        inputs.dioptres("add_or_accommodation_D")?,
        inputs.metres("separation_m")?,
    )?))
}

fn labels(inputs: &Inputs<'_>) -> Found {
    let readings = label_readings(inputs.dioptres("power_D")?)?;
    Ok(Figures::from([("F_over_4", readings.quarter.get()), ("F_over_4_plus_1", readings.quarter_plus_one.get())]))
}

fn stand_magnifier(inputs: &Inputs<'_>) -> Found {
    let lens = inputs.dioptres("lens_power_D")?;
    let used =
        stand(lens, inputs.metres("stand_height_m")?, inputs.metres("eye_to_lens_m")?).map_err(
            |error| match error {
                StandError::TooHigh { .. } => Fault::at("stand_height_m", error),
                StandError::OutOfRange(refused) => refused.into(),
            },
        )?;
    Ok(Figures::from([
        ("image_distance_below_lens_m", used.image_below_lens.get()),
        ("enlargement_ratio", used.enlargement.get()),
        ("eye_to_image_m", used.eye_to_image.get()),
        ("required_accommodation_D", used.focus_needed.get()),
        ("equivalent_viewing_distance_m", used.equivalent.viewing_distance.get()),
        ("equivalent_viewing_power_D", used.equivalent.power.get()),
    ]))
}

fn hand_magnifier(inputs: &Inputs<'_>) -> Found {
    let width =
        hand_field(inputs.metres("lens_diameter_m")?, inputs.dioptres("power_D")?, inputs.metres("eye_to_lens_m")?)?;
    Ok(Figures::from([("field_width_m", width.get())]))
}

fn old_rule(inputs: &Inputs<'_>) -> Found {
    let acuity = inputs.typed("decimal_acuity", LogMar::from_decimal)?;
    Ok(Figures::from([("add_D", kestenbaum(acuity)?.get())]))
}

fn for_goal(inputs: &Inputs<'_>) -> Found {
    let add = add_for(inputs.dioptres("add_for_1M_D")?, inputs.m_units("goal_m_units")?)?;
    Ok(Figures::from([("add_D", add.get())]))
}

fn required(inputs: &Inputs<'_>) -> Found {
    let read = ReadAt { print: inputs.m_units("read_m_units")?, distance: inputs.metres("at_distance_m")? };
    Ok(both(power_for(read, inputs.m_units("goal_m_units")?, inputs.ratio("reserve_ratio")?)?))
}

fn for_height(inputs: &Inputs<'_>) -> Found {
    Ok(both(power_for_height(
        inputs.logmar("threshold_logmar")?,
        inputs.metres("letter_height_m")?,
        inputs.ratio("required_reserve_ratio")?,
    )?))
}

fn window(inputs: &Inputs<'_>) -> Found {
    let width = window_field(
        inputs.metres("lens_diameter_m")?,
        inputs.dioptres("equivalent_power_D")?,
        inputs.metres("eye_to_lens_m")?,
    )?;
    Ok(Figures::from([("field_width_m", width.get())]))
}

fn enlarged(inputs: &Inputs<'_>) -> Found {
    Ok(both(of_enlargement(inputs.ratio("enlargement")?, inputs.metres("viewing_distance_m")?)?))
}

fn working(inputs: &Inputs<'_>) -> Found {
    let held = working_distance(
        inputs.dioptres("add_D")?,
        inputs.dioptres("accommodation_D")?,
        inputs.dioptres("uncorrected_refraction_D")?,
    )?;
    Ok(Figures::from([
        ("working_distance_m", held.viewing_distance.get()),
        ("equivalent_viewing_power_D", held.power.get()),
    ]))
}
