//! Operations on angles and the heights of letters.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::{Input, Operation};
use crate::vision::demand::{capitals_and_small, letter_height, scale, visual_angle};
use crate::vision::units::Arcminutes;

const TOPIC: &str = "angle and size";

const DISTANCE: Input = Input::metres("distance_m", "the distance from the eye");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "visual_angle",
        topic: TOPIC,
        question: "How large does something look from this distance?",
        inputs: &[Input::metres("size_m", "the size of the target"), DISTANCE],
        answers: angle,
    },
    Operation {
        name: "letter_height",
        topic: TOPIC,
        question: "How tall is the letter whose detail has this angle, at this distance?",
        inputs: &[Input::number("mar_arcmin", "the angle of the detail", "minutes of arc"), DISTANCE],
        answers: height,
    },
    Operation {
        name: "degrees_per_mm",
        topic: TOPIC,
        question: "How wide is a millimetre at this distance, and how long a degree?",
        inputs: &[DISTANCE],
        answers: per_millimetre,
    },
    Operation {
        name: "x_height_demand",
        topic: TOPIC,
        question: "What do capitals ask for, and the small letters written with them?",
        inputs: &[
            Input::metres("cap_height_m", "the height of the capitals"),
            DISTANCE,
            Input::plain("x_to_cap_ratio", "the x-height as a part of the height of the capitals"),
        ],
        answers: small_letters,
    },
];

fn angle(inputs: &Inputs<'_>) -> Found {
    let angle = visual_angle(inputs.metres("size_m")?, inputs.metres("distance_m")?)?;
    Ok(Figures::from([
        ("angle_deg", angle.exact.get()),
        ("angle_arcmin", angle.arcminutes()),
        ("small_angle_deg", angle.small_angle.get()),
        ("small_angle_error_pct", angle.small_angle_error_percent),
    ]))
}

fn height(inputs: &Inputs<'_>) -> Found {
    let detail = inputs.typed("mar_arcmin", Arcminutes::new)?;
    let letter = letter_height(detail, inputs.metres("distance_m")?)?;
    Ok(Figures::from([
        ("letter_height_mm", letter.height.in_millimetres().get()),
        ("critical_detail_mm", letter.critical_detail.in_millimetres().get()),
    ]))
}

fn per_millimetre(inputs: &Inputs<'_>) -> Found {
    let scale = scale(inputs.metres("distance_m")?)?;
    Ok(Figures::from([
        ("deg_per_mm", scale.angle_per_millimetre.get()),
        ("mm_per_deg_centred", scale.length_per_degree.get()),
    ]))
}

fn small_letters(inputs: &Inputs<'_>) -> Found {
    let both = capitals_and_small(
        inputs.metres("cap_height_m")?,
        inputs.metres("distance_m")?,
        inputs.fraction("x_to_cap_ratio")?,
    )?;
    Ok(Figures::from([("logmar_caps", both.capitals.get()), ("logmar_lowercase", both.small.get())]))
}
